/* recipe/digest.h - SHA-256 (FIPS 180-4), by which a sheet names the files it was made from. */
#ifndef FETTLE_RECIPE_DIGEST_H
#define FETTLE_RECIPE_DIGEST_H

#include <stddef.h>

enum { FETTLE_DIGEST_TEXT = 65, FETTLE_DIGEST_SHOWN = 12 };

/* Writes 64 hexadecimal digits and a NUL. Sheets show the first FETTLE_DIGEST_SHOWN. */
void fettle_digest(const void *bytes, size_t length, char out[FETTLE_DIGEST_TEXT]);

#endif
