/* units.h - what the files of this room share. */
#ifndef FETTLE_CORE_UNITS_H
#define FETTLE_CORE_UNITS_H

#include "fettle/quantity.h"

#define LANE(twelfths, base) ((fettle_dimension)(uint8_t)(twelfths) << (8 * (base)))
#define DIMENSION(length, mass, time, temperature, amount, angle, money)                           \
  (LANE(length, FETTLE_BASE_LENGTH) | LANE(mass, FETTLE_BASE_MASS) |                               \
   LANE(time, FETTLE_BASE_TIME) | LANE(temperature, FETTLE_BASE_TEMPERATURE) |                     \
   LANE(amount, FETTLE_BASE_AMOUNT) | LANE(angle, FETTLE_BASE_ANGLE) |                             \
   LANE(money, FETTLE_BASE_MONEY))

#define TEMPERATURE LANE(12, FETTLE_BASE_TEMPERATURE)
#define MONEY_LANE LANE(0xFF, FETTLE_BASE_MONEY)

/* Row numbers of the vocabulary: ROW_MM, ROW_USD_H, ... */
enum {
  ROW_NONE = 0,
#define UNIT(row, name, meaning, factor, offset, dimension, habit, lua, partner) ROW_##row,
#include "units/vocabulary.def"
#undef UNIT
  ROW_END
};

/* Row for the same use in the other habit, or 0. */
size_t fettle_units_partner(size_t index);
/* The row of a difference for a row of points and back; 0 for others. */
size_t fettle_units_difference_row(size_t index);
/* Index of the currency in which a row is counted, 0 where there is no money. */
uint8_t fettle_units_currency(size_t index);
/* One word of the vocabulary by any spelling, and a compound in normalised form; 0 when unknown. */
size_t fettle_units_find_simple(const char *name, size_t length);
size_t fettle_units_find_compound(const char *name, size_t length);

/* Sum or difference of all exponents at once; false when one leaves its byte. */
bool fettle_units_dimension_add(fettle_dimension a, fettle_dimension b, fettle_dimension *out);
bool fettle_units_dimension_subtract(fettle_dimension a, fettle_dimension b, fettle_dimension *out);
/* Exponents times `exponent`; false when one is no whole number of twelfths or leaves its byte. */
bool fettle_units_dimension_power(fettle_dimension a, double exponent, fettle_dimension *out);
/* "kg m/s^2", empty for a plain number; as snprintf. */
size_t fettle_units_base_text(fettle_dimension dimension, uint8_t currency, char *out,
                              size_t capacity);

/* A place in a text. */
typedef struct fettle_units_cursor {
  const char *text;
  size_t length;
  size_t at;
  fettle_diagnostic *diagnostic; /* or NULL */
} fettle_units_cursor;

/* Fills the diagnostic with `"TEXT": column N: reason`; `at` counts bytes from 0. */
#if defined(__GNUC__)
__attribute__((format(printf, 4, 5)))
#endif
fettle_status
fettle_units_refuse(const fettle_units_cursor *cursor, fettle_status status, size_t at,
                    const char *format, ...);
/* Copies text for a message: shortened, control characters and broken UTF-8 replaced. */
void fettle_units_quote(const char *text, size_t length, char *out, size_t capacity);

/* Reads an unsigned decimal number at the cursor and moves past it; `whole` says that it was
 * written with digits only. */
fettle_status fettle_units_read_number(fettle_units_cursor *cursor, double *out, bool *whole);
/* Reads a unit expression at the cursor as far as it goes, at most up to the number of the next
 * part of a quantity. */
fettle_status fettle_units_read_expression(fettle_units_cursor *cursor,
                                           fettle_unit_expression *out);

/* "3 mm (length)" for messages. */
void fettle_units_describe(const fettle_quantity *quantity, char *out, size_t capacity);

#endif
