/* catalogue/parameter.h - what the catalogue's files know of a parameter's unit. */
#ifndef FETTLE_CATALOGUE_PARAMETER_H
#define FETTLE_CATALOGUE_PARAMETER_H

#include "fettle/formula.h"

/* SI value = number in the declared unit * factor + offset. */
typedef struct fettle_scale {
  double factor;
  double offset;
  fettle_dimension dimension;
  size_t index; /* of the unit in the vocabulary, or 0 */
} fettle_scale;

fettle_status fettle_scale_of(const char *unit, fettle_role role, fettle_scale *out,
                              fettle_diagnostic *diagnostic);

/* Significant digits in messages and workings. */
enum { FETTLE_SHOWN_DIGITS = 6 };

/* "14 mm", or "14" for unit "1". As snprintf. */
size_t fettle_show_number(double number, const char *unit, int digits, char *out, size_t capacity);

#endif
