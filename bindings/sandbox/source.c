#include "sandbox/source.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

/* Length of the well-formed UTF-8 character at `at`, or 0 (Unicode 15, table 3-7). */
static size_t utf8_length(const unsigned char *at, size_t left) {
  unsigned char first = at[0];
  if (first < 0x80) {
    return 1;
  }
  size_t length = first >= 0xC2 && first <= 0xDF   ? 2
                  : first >= 0xE0 && first <= 0xEF ? 3
                  : first >= 0xF0 && first <= 0xF4 ? 4
                                                   : 0;
  if (length == 0 || length > left) {
    return 0;
  }
  unsigned char low = first == 0xE0 ? 0xA0 : first == 0xF0 ? 0x90 : 0x80;
  unsigned char high = first == 0xED ? 0x9F : first == 0xF4 ? 0x8F : 0xBF;
  if (at[1] < low || at[1] > high) {
    return 0;
  }
  for (size_t i = 2; i < length; i++) {
    if ((at[i] & 0xC0) != 0x80) {
      return 0;
    }
  }
  return length;
}

bool fettle_source_check(const char *name, const char *bytes, size_t length, char *message,
                         size_t capacity) {
  if (length > FETTLE_SOURCE_BYTES_MOST) {
    snprintf(message, capacity, "%s: is larger than 1 MiB: split it, or read data as an input",
             name);
    return false;
  }
  if (length >= 4 && memcmp(bytes, "\x1bLua", 4) == 0) {
    snprintf(message, capacity, "%s:1: is a compiled chunk: only the text of a recipe is run",
             name);
    return false;
  }
  if (length >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0) {
    snprintf(message, capacity, "%s:1: starts with a byte order mark: save it as UTF-8 without one",
             name);
    return false;
  }
  if (length >= 2 && memcmp(bytes, "#!", 2) == 0) {
    snprintf(message, capacity,
             "%s:1: starts with '#!': take that line out, a recipe is run by fettle", name);
    return false;
  }
  size_t line = 1, line_start = 0;
  for (size_t at = 0; at < length;) {
    if (bytes[at] == '\0') {
      snprintf(message, capacity, "%s:%zu:%zu: holds a NUL byte: it is not a text file", name, line,
               at - line_start + 1);
      return false;
    }
    size_t step = utf8_length((const unsigned char *)bytes + at, length - at);
    if (step == 0) {
      snprintf(message, capacity, "%s:%zu:%zu: is not valid UTF-8: save it in that encoding", name,
               line, at - line_start + 1);
      return false;
    }
    if (bytes[at] == '\n') {
      line++;
      line_start = at + 1;
    }
    at += step;
  }
  return true;
}
