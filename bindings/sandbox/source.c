#include "sandbox/source.h"

#include <stdio.h>
#include <string.h>

#include "data/text.h"

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
  fettle_text_place place;
  const char *fault = fettle_text_check(bytes, length, &place);
  if (fault) {
    snprintf(message, capacity, "%s:%zu:%zu: %s", name, place.line, place.column, fault);
    return false;
  }
  return true;
}
