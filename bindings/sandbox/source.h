/* sandbox/source.h - is a file plain text that may be loaded? */
#ifndef FETTLE_SANDBOX_SOURCE_H
#define FETTLE_SANDBOX_SOURCE_H

#include <stdbool.h>
#include <stddef.h>

enum { FETTLE_SOURCE_BYTES_MOST = 1 << 20 };

/* Refuses compiled chunks, a byte order mark, a "#!" line, NUL bytes, invalid UTF-8 and more than
 * 1 MiB. On refusal `message` gets one line, "NAME:LINE: what is wrong: how to mend it". */
bool fettle_source_check(const char *name, const char *bytes, size_t length, char *message,
                         size_t capacity);

#endif
