/* fettle/quantity.h - numbers that know what they measure.
 *
 * A quantity is an SI value, a packed dimension, the unit its author wants to see, and whether it
 * is a point on a temperature scale or a difference. Counts (revolution, tooth, ply, piece) are 1,
 * so that pi * diameter * spindle speed is a speed; percent is 0.01. An angle is a dimension of its
 * own: nothing becomes radians in silence. */
#ifndef FETTLE_QUANTITY_H
#define FETTLE_QUANTITY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "fettle/status.h"

/* Eight signed bytes, each twelve times the exponent, lowest byte first, in this order. Twelfths
 * hold powers of 1/2, 1/3, 1/4 and 1/6. Equal dimensions are equal integers; 0 is a plain number.
 */
typedef uint64_t fettle_dimension;
typedef enum fettle_base {
  FETTLE_BASE_LENGTH = 0,      /* metre */
  FETTLE_BASE_MASS = 1,        /* kilogram */
  FETTLE_BASE_TIME = 2,        /* second */
  FETTLE_BASE_TEMPERATURE = 3, /* kelvin */
  FETTLE_BASE_AMOUNT = 4,      /* mole; an equivalent is a mole of reactive groups */
  FETTLE_BASE_ANGLE = 5,       /* radian */
  FETTLE_BASE_MONEY = 6,       /* the one currency of the job */
  FETTLE_BASE_SPARE = 7
} fettle_base;

enum { FETTLE_QUANTITY_MAGIC = 0xF7E1, FETTLE_QUANTITY_POINT = 1 };

typedef struct fettle_quantity {
  double value; /* SI; absolute kelvin for a point of temperature */
  fettle_dimension dimension;
  uint16_t magic;   /* FETTLE_QUANTITY_MAGIC: lets a binding recognise its own objects */
  uint16_t unit;    /* preferred display unit: an index for fettle_unit_at, 0 for none */
  uint8_t flags;    /* FETTLE_QUANTITY_POINT */
  uint8_t currency; /* index of the currency's row where there is money, else 0 */
  uint8_t reserved[2];
} fettle_quantity;

/* The habit in which a shop reads numbers. */
typedef enum fettle_habit {
  FETTLE_HABIT_NONE = 0, /* for a unit: belongs to both habits */
  FETTLE_HABIT_INCH = 1,
  FETTLE_HABIT_METRIC = 2
} fettle_habit;

/* One row of the closed vocabulary: named units (mm, thou, lb) and the compound display units the
 * trade writes (oz/yd^2, in/min, kJ/mol). SI value = number * factor + offset. */
typedef struct fettle_unit {
  const char *name;    /* as printed and as read; static */
  const char *meaning; /* "thousandth of an inch" */
  double factor;
  double offset; /* non-zero for degC and degF only; these are points */
  fettle_dimension dimension;
  fettle_habit habit;
  bool point;
  const char
      *lua_name; /* global in recipes ("inch" for in), or NULL: most one-letter and compound */
} fettle_unit;

/* The vocabulary; index 0 is not a unit and gives NULL, as does an index past the end. */
const fettle_unit *fettle_unit_at(size_t index);
size_t fettle_unit_count(void); /* indices 1 .. count */
/* Exact name, or one of its spellings (`"` for in, gsm for g/m^2); 0 when unknown. */
size_t fettle_unit_find(const char *name, size_t length);
/* The known name nearest to a wrong one, or NULL when none is near. Static. */
const char *fettle_unit_nearest(const char *name, size_t length);

/* A unit expression: products, quotients and powers of named units ("W/(m K)", "oz/yd^2").
 * `index` gets the vocabulary row when the whole text is one, else 0. After a `/` only another `/`
 * may follow without brackets. Inside a product or quotient degC and degF are differences. */
typedef struct fettle_unit_expression {
  double factor;
  double offset;
  fettle_dimension dimension;
  size_t index;
  bool point;
  uint8_t currency; /* as in fettle_quantity */
} fettle_unit_expression;
fettle_status fettle_unit_parse(const char *text, size_t length, fettle_unit_expression *out,
                                fettle_diagnostic *diagnostic);

/* What a slot wants of a temperature; for other dimensions it means nothing. */
typedef enum fettle_role {
  FETTLE_ROLE_ANY = 0,
  FETTLE_ROLE_POINT = 1,     /* `300 K` is read as absolute */
  FETTLE_ROLE_DIFFERENCE = 2 /* `5 degF` is read as a step of 5 dF */
} fettle_role;

/* Reads [sign] number unit {number unit}: "2 1/2 in", "5' 6 1/2\"", "3 h 20 min", "6 oz/yd^2",
 * "75 degF", "10 %", "1000 rpm", "14" (a plain number). Trailing text, decimal or thousands commas,
 * hexadecimal, nan and inf, overflow and unknown units are refused with reason, column and, where
 * one is near, the nearest name. */
fettle_status fettle_quantity_parse(const char *text, size_t length, fettle_role role,
                                    fettle_quantity *out, fettle_diagnostic *diagnostic);

/* A finite number in a unit expression, as a quantity that prefers that unit. */
fettle_status fettle_quantity_make(double number, const char *unit, fettle_role role,
                                   fettle_quantity *out, fettle_diagnostic *diagnostic);
/* The number of `quantity` in a unit expression; wrong dimension is an error. */
fettle_status fettle_quantity_number(const fettle_quantity *quantity, const char *unit, double *out,
                                     fettle_diagnostic *diagnostic);

/* Arithmetic. Each refuses unlike dimensions, the temperature mistakes (point + point, a multiple
 * of a point, point against difference), two currencies and results that are not finite, naming
 * both operands. The preferred unit survives sums and scaling by a plain number. A plain number is
 * a quantity without dimension here; bindings turn it back into their own number. */
fettle_status fettle_quantity_add(const fettle_quantity *a, const fettle_quantity *b,
                                  fettle_quantity *out, fettle_diagnostic *diagnostic);
fettle_status fettle_quantity_subtract(const fettle_quantity *a, const fettle_quantity *b,
                                       fettle_quantity *out, fettle_diagnostic *diagnostic);
fettle_status fettle_quantity_multiply(const fettle_quantity *a, const fettle_quantity *b,
                                       fettle_quantity *out, fettle_diagnostic *diagnostic);
fettle_status fettle_quantity_divide(const fettle_quantity *a, const fettle_quantity *b,
                                     fettle_quantity *out, fettle_diagnostic *diagnostic);
fettle_status fettle_quantity_negate(const fettle_quantity *a, fettle_quantity *out,
                                     fettle_diagnostic *diagnostic);
/* Exponents that leave the twelfths (a length to the 0.8) are refused, saying so. */
fettle_status fettle_quantity_power(const fettle_quantity *a, double exponent, fettle_quantity *out,
                                    fettle_diagnostic *diagnostic);
/* `order` gets -1, 0 or 1. Equal means within 1e-12 of the larger magnitude: 12 in and 1 ft are
 * equal though their doubles are not. Comparison with zero is exact. */
fettle_status fettle_quantity_compare(const fettle_quantity *a, const fettle_quantity *b,
                                      int *order, fettle_diagnostic *diagnostic);

/* "length", "areal mass", "speed", or "mass length^2/time" when it has no name of its own.
 * Returns the length written, as snprintf. */
size_t fettle_dimension_name(fettle_dimension dimension, char *out, size_t capacity);
/* Exponent of a base as twelfths. */
int fettle_dimension_twelfths(fettle_dimension dimension, fettle_base base);

/* Text of a number: at most `digits` significant digits (1..17), shortest of these, always with a
 * point whatever the locale. Returns the length, as snprintf. */
size_t fettle_number_format(double value, int digits, char *out, size_t capacity);
/* Reads a plain decimal number ("12", "1.5e3", ".5"); the whole of `length` must be used. No
 * locale, no nan, no inf, no hexadecimal. */
fettle_status fettle_number_parse(const char *text, size_t length, double *out,
                                  fettle_diagnostic *diagnostic);

/* The unit a shop of that habit reads for this quantity: its preferred unit when it has one and
 * `habit` allows it, else the habit's row for the dimension, else SI text. Returns a vocabulary
 * index or 0 (then `fettle_quantity_format` prints base units). */
size_t fettle_unit_choose(const fettle_quantity *quantity, fettle_habit habit);
/* "0.02 in", "62 degF", "1472 g": at most `digits` significant digits in unit `index` (0: SI). */
size_t fettle_quantity_format(const fettle_quantity *quantity, size_t index, int digits, char *out,
                              size_t capacity);

/* Shop fractions: `length_value` metres to the nearest 1/denominator (2, 4 .. 128) inch, reduced,
 * carried, sign once: "2 1/2 in", "-1/64 in", "0 in". `error` gets shown minus true, in metres. */
fettle_status fettle_fraction_format(double length_value, unsigned denominator, char *out,
                                     size_t capacity, double *error, fettle_diagnostic *diagnostic);

#endif
