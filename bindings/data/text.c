/* data/text.c - what the readers of files share. */
#include "data/text.h"

#include <stdint.h>
#include <string.h>

#include "fettle/formula.h"

/* The bytes of the well-formed UTF-8 character at `bytes`, or 0. Unicode 15, table 3-7. */
static size_t character_size(const unsigned char *bytes, size_t left) {
  unsigned char low = 0x80, high = 0xBF;
  size_t size;
  if (bytes[0] < 0x80) {
    return 1;
  }
  if (bytes[0] >= 0xC2 && bytes[0] <= 0xDF) {
    size = 2;
  } else if ((bytes[0] & 0xF0) == 0xE0) {
    size = 3;
    low = bytes[0] == 0xE0 ? 0xA0 : 0x80;
    high = bytes[0] == 0xED ? 0x9F : 0xBF;
  } else if (bytes[0] >= 0xF0 && bytes[0] <= 0xF4) {
    size = 4;
    low = bytes[0] == 0xF0 ? 0x90 : 0x80;
    high = bytes[0] == 0xF4 ? 0x8F : 0xBF;
  } else {
    return 0;
  }
  if (left < size || bytes[1] < low || bytes[1] > high) {
    return 0;
  }
  for (size_t i = 2; i < size; i++) {
    if ((bytes[i] & 0xC0) != 0x80) {
      return 0;
    }
  }
  return size;
}

static const char *character_fault(const unsigned char *bytes, size_t size) {
  if (size == 0) {
    return "not UTF-8 text: save the file as UTF-8";
  }
  if (bytes[0] == 0) {
    return "a NUL byte, so this is no text file: give the text file itself";
  }
  if (bytes[0] == 0x7F ||
      (bytes[0] < 0x20 && bytes[0] != '\t' && bytes[0] != '\n' && bytes[0] != '\r')) {
    return "a control character: delete it";
  }
  if (size == 2 && bytes[0] == 0xC2 && bytes[1] < 0xA0) {
    return "an invisible control character (U+0080 to U+009F): delete it";
  }
  if (size == 3 && bytes[0] == 0xE2 && bytes[1] == 0x80 && (bytes[2] == 0xA8 || bytes[2] == 0xA9)) {
    return "an invisible line break (U+2028 or U+2029): delete it";
  }
  return NULL;
}

const char *fettle_text_check(const char *bytes, size_t length, fettle_text_place *place) {
  const unsigned char *at = (const unsigned char *)bytes;
  const unsigned char *end = at + length;
  place->line = place->column = 1;
  while (at < end) {
    size_t size = character_size(at, (size_t)(end - at));
    const char *fault = character_fault(at, size);
    if (fault) {
      return fault;
    }
    if (*at == '\n' || (*at == '\r' && (at + 1 == end || at[1] != '\n'))) {
      place->line++;
      place->column = 1;
    } else {
      place->column++;
    }
    at += size;
  }
  return NULL;
}

const char *fettle_text_show(const char *text, size_t length, char *out, size_t capacity) {
  size_t written = 0, last_start = 0;
  bool cut = length > capacity - 1;
  size_t room = cut ? capacity - 4 : capacity - 1;
  for (size_t i = 0; i < length && written < room; i++) {
    unsigned char byte = (unsigned char)text[i];
    if ((byte & 0xC0) != 0x80) {
      last_start = written;
    }
    out[written++] = byte < 0x20 || byte == 0x7F ? '?' : text[i];
  }
  if (cut) {
    /* The next byte tells whether the last character was copied whole. */
    if (((unsigned char)text[written] & 0xC0) == 0x80) {
      written = last_start;
    }
    memcpy(out + written, "...", 3);
    written += 3;
  }
  out[written] = '\0';
  return out;
}

const char *fettle_text_nearest(const char *text, size_t length, const char *const *names,
                                size_t count) {
  const char *nearest = NULL;
  size_t least = SIZE_MAX;
  for (size_t i = 0; i < count; i++) {
    size_t distance = fettle_name_distance(text, length, names[i], strlen(names[i]));
    if (distance < least) {
      nearest = names[i];
      least = distance;
    }
  }
  return nearest && fettle_name_near(least, length) ? nearest : NULL;
}
