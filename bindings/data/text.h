/* data/text.h - what the readers of files share: is it text, and how is a piece of it shown. */
#ifndef FETTLE_DATA_TEXT_H
#define FETTLE_DATA_TEXT_H

#include <stdbool.h>
#include <stddef.h>

/* A place in a file, from 1; columns count characters, not bytes. */
typedef struct fettle_text_place {
  size_t line, column;
} fettle_text_place;

/* Checks that `bytes` are text in UTF-8: no NUL, no other control characters than tab and line
 * ends, no malformed or overlong sequences, none of the invisible line breaks U+0085, U+2028 and
 * U+2029. Returns NULL, or what is wrong and how to mend it (static) with the place filled. */
const char *fettle_text_check(const char *bytes, size_t length, fettle_text_place *place);

/* Copies `length` bytes of `text` for use in a message: control characters become '?', what does
 * not fit in `capacity` (at least 8) is cut at a character and ends in "...". Returns `out`. */
const char *fettle_text_show(const char *text, size_t length, char *out, size_t capacity);

/* The name among `count` that is nearest to a wrong one, or NULL when none is near. */
const char *fettle_text_nearest(const char *text, size_t length, const char *const *names,
                                size_t count);

#endif
