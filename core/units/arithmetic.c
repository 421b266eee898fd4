/* Arithmetic and comparison of quantities. */
#include "units/units.h"

#include <math.h>
#include <stdio.h>

enum { OPERAND_CAPACITY = 96 };

void fettle_units_describe(const fettle_quantity *quantity, char *out, size_t capacity) {
  char text[64];
  char name[64];
  fettle_quantity_format(quantity, fettle_unit_choose(quantity, FETTLE_HABIT_NONE), 6, text,
                         sizeof text);
  if (quantity->flags & FETTLE_QUANTITY_POINT) {
    snprintf(name, sizeof name, "a temperature");
  } else if (quantity->dimension == TEMPERATURE) {
    snprintf(name, sizeof name, "a difference of temperature");
  } else if (quantity->dimension == 0) {
    snprintf(name, sizeof name, "a plain number");
  } else {
    fettle_dimension_name(quantity->dimension, name, sizeof name);
  }
  snprintf(out, capacity, "%s (%s)", text, name);
}

static bool is_point(const fettle_quantity *quantity) {
  return (quantity->flags & FETTLE_QUANTITY_POINT) != 0;
}

/* "cannot add A and B: cure" with both operands described. */
static fettle_status refuse(fettle_diagnostic *diagnostic, fettle_status status, const char *verb,
                            const fettle_quantity *a, const char *joint, const fettle_quantity *b,
                            const char *cure) {
  if (!diagnostic) {
    return status;
  }
  char first[OPERAND_CAPACITY];
  char second[OPERAND_CAPACITY];
  fettle_units_describe(a, first, sizeof first);
  fettle_units_describe(b, second, sizeof second);
  return fettle_fail(diagnostic, status, NULL, "cannot %s %s %s %s: %s", verb, first, joint, second,
                     cure);
}

static bool currencies_differ(const fettle_quantity *a, const fettle_quantity *b) {
  return a->currency && b->currency && a->currency != b->currency;
}

static const char one_currency[] = "a job has one currency, and rates of exchange are inputs";
static const char too_large[] = "the result is not a finite number";

static const char *unlike(const fettle_quantity *a, const fettle_quantity *b) {
  return a->dimension == 0 || b->dimension == 0 ? "give the plain number a unit, as in 3*mm"
                                                : "they measure different things";
}

static fettle_status finish(fettle_quantity *out, double value, fettle_dimension dimension,
                            size_t unit, uint8_t flags, uint8_t currency) {
  *out = (fettle_quantity){value,
                           dimension,
                           FETTLE_QUANTITY_MAGIC,
                           (uint16_t)unit,
                           flags,
                           (dimension & MONEY_LANE) ? currency : 0,
                           {0}};
  return FETTLE_OK;
}

static uint16_t kept_unit(const fettle_quantity *a, const fettle_quantity *b) {
  return a->unit ? a->unit : b->unit;
}

static uint8_t kept_currency(const fettle_quantity *a, const fettle_quantity *b) {
  return a->currency ? a->currency : b->currency;
}

fettle_status fettle_quantity_add(const fettle_quantity *a, const fettle_quantity *b,
                                  fettle_quantity *out, fettle_diagnostic *diagnostic) {
  if (a->dimension != b->dimension) {
    return refuse(diagnostic, FETTLE_ERROR_DIMENSION, "add", a, "and", b, unlike(a, b));
  }
  if (is_point(a) && is_point(b)) {
    return refuse(diagnostic, FETTLE_ERROR_DIMENSION, "add", a, "and", b,
                  "two temperatures have no sum; use mean{}, or a difference in dC or dF");
  }
  if (currencies_differ(a, b)) {
    return refuse(diagnostic, FETTLE_ERROR_DIMENSION, "add", a, "and", b, one_currency);
  }
  const double value = a->value + b->value;
  if (!isfinite(value)) {
    return refuse(diagnostic, FETTLE_ERROR_RANGE, "add", a, "and", b, too_large);
  }
  const uint8_t flags = a->flags | b->flags;
  if (flags && value < 0.0) {
    return refuse(diagnostic, FETTLE_ERROR_RANGE, "add", a, "and", b,
                  "a temperature cannot be below absolute zero");
  }
  return finish(out, value, a->dimension, is_point(b) ? b->unit : kept_unit(a, b), flags,
                kept_currency(a, b));
}

fettle_status fettle_quantity_subtract(const fettle_quantity *a, const fettle_quantity *b,
                                       fettle_quantity *out, fettle_diagnostic *diagnostic) {
  if (a->dimension != b->dimension) {
    return refuse(diagnostic, FETTLE_ERROR_DIMENSION, "subtract from", a, "the", b, unlike(a, b));
  }
  if (is_point(b) && !is_point(a)) {
    return refuse(diagnostic, FETTLE_ERROR_DIMENSION, "subtract from", a, "the", b,
                  "a temperature cannot be taken from a difference");
  }
  if (currencies_differ(a, b)) {
    return refuse(diagnostic, FETTLE_ERROR_DIMENSION, "subtract from", a, "the", b, one_currency);
  }
  const double value = a->value - b->value;
  if (!isfinite(value)) {
    return refuse(diagnostic, FETTLE_ERROR_RANGE, "subtract from", a, "the", b, too_large);
  }
  const bool both = is_point(a) && is_point(b);
  if (is_point(a) && !both && value < 0.0) {
    return refuse(diagnostic, FETTLE_ERROR_RANGE, "subtract from", a, "the", b,
                  "a temperature cannot be below absolute zero");
  }
  size_t unit = kept_unit(a, b);
  if (both) {
    const size_t difference = fettle_units_difference_row(unit);
    unit = difference ? difference : unit;
  }
  return finish(out, value, a->dimension, unit, both ? 0 : a->flags, kept_currency(a, b));
}

/* What multiplication and division refuse alike. */
static fettle_status check_factors(const char *verb, const char *joint, const fettle_quantity *a,
                                   const fettle_quantity *b, fettle_diagnostic *diagnostic) {
  if (is_point(a) || is_point(b)) {
    return refuse(diagnostic, FETTLE_ERROR_DIMENSION, verb, a, joint, b,
                  "a temperature has no multiples; use a difference (T2 - T1) or T:kelvin()");
  }
  if (currencies_differ(a, b)) {
    return refuse(diagnostic, FETTLE_ERROR_DIMENSION, verb, a, joint, b, one_currency);
  }
  return FETTLE_OK;
}

static const char powers_leave[] = "the powers of the result are too large";

fettle_status fettle_quantity_multiply(const fettle_quantity *a, const fettle_quantity *b,
                                       fettle_quantity *out, fettle_diagnostic *diagnostic) {
  const fettle_status status = check_factors("multiply", "by", a, b, diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  fettle_dimension dimension;
  if (!fettle_units_dimension_add(a->dimension, b->dimension, &dimension)) {
    return refuse(diagnostic, FETTLE_ERROR_RANGE, "multiply", a, "by", b, powers_leave);
  }
  const double value = a->value * b->value;
  if (!isfinite(value)) {
    return refuse(diagnostic, FETTLE_ERROR_RANGE, "multiply", a, "by", b, too_large);
  }
  size_t unit = 0;
  if (a->dimension == 0 && b->dimension == 0) {
    unit = kept_unit(a, b);
  } else if (a->dimension == 0) {
    unit = b->unit;
  } else if (b->dimension == 0) {
    unit = a->unit;
  }
  return finish(out, value, dimension, unit, 0, kept_currency(a, b));
}

fettle_status fettle_quantity_divide(const fettle_quantity *a, const fettle_quantity *b,
                                     fettle_quantity *out, fettle_diagnostic *diagnostic) {
  const fettle_status status = check_factors("divide", "by", a, b, diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  fettle_dimension dimension;
  if (!fettle_units_dimension_subtract(a->dimension, b->dimension, &dimension)) {
    return refuse(diagnostic, FETTLE_ERROR_RANGE, "divide", a, "by", b, powers_leave);
  }
  const double value = a->value / b->value;
  if (!isfinite(value)) {
    return refuse(diagnostic, FETTLE_ERROR_RANGE, "divide", a, "by", b,
                  b->value == 0.0 ? "the divisor is zero" : too_large);
  }
  return finish(out, value, dimension, b->dimension == 0 ? a->unit : 0, 0, kept_currency(a, b));
}

fettle_status fettle_quantity_negate(const fettle_quantity *a, fettle_quantity *out,
                                     fettle_diagnostic *diagnostic) {
  if (is_point(a)) {
    char text[OPERAND_CAPACITY];
    fettle_units_describe(a, text, sizeof text);
    return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, NULL,
                       "cannot negate %s: write degC(-5) for a temperature below zero", text);
  }
  *out = *a;
  out->value = -a->value;
  return FETTLE_OK;
}

fettle_status fettle_quantity_power(const fettle_quantity *a, double exponent, fettle_quantity *out,
                                    fettle_diagnostic *diagnostic) {
  char text[OPERAND_CAPACITY];
  char power[32];
  fettle_units_describe(a, text, sizeof text);
  fettle_number_format(exponent, 6, power, sizeof power);
  if (is_point(a)) {
    return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, NULL,
                       "cannot raise %s to the power %s: use T:kelvin()", text, power);
  }
  fettle_dimension dimension;
  if (!isfinite(exponent) || !fettle_units_dimension_power(a->dimension, exponent, &dimension)) {
    return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, NULL,
                       "cannot raise %s to the power %s: the powers of its units must stay whole "
                       "twelfths up to 10; divide by a reference value first",
                       text, power);
  }
  const double value = exponent == 2.0   ? a->value * a->value
                       : exponent == 0.5 ? sqrt(a->value)
                                         : pow(a->value, exponent);
  if (!isfinite(value)) {
    return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, NULL,
                       "cannot raise %s to the power %s: the result is not a finite number", text,
                       power);
  }
  return finish(out, value, dimension, dimension == a->dimension ? a->unit : 0, 0, a->currency);
}

fettle_status fettle_quantity_compare(const fettle_quantity *a, const fettle_quantity *b,
                                      int *order, fettle_diagnostic *diagnostic) {
  if (a->dimension != b->dimension) {
    return refuse(diagnostic, FETTLE_ERROR_DIMENSION, "compare", a, "with", b, unlike(a, b));
  }
  if (is_point(a) != is_point(b)) {
    return refuse(diagnostic, FETTLE_ERROR_DIMENSION, "compare", a, "with", b,
                  "a temperature and a difference are two things; subtract two temperatures first");
  }
  if (currencies_differ(a, b)) {
    return refuse(diagnostic, FETTLE_ERROR_DIMENSION, "compare", a, "with", b, one_currency);
  }
  /* 1e-12: two thousand times the worst error of two ways through the units */
  const double larger = fmax(fabs(a->value), fabs(b->value));
  if (!isfinite(a->value) || !isfinite(b->value)) {
    return refuse(diagnostic, FETTLE_ERROR_RANGE, "compare", a, "with", b,
                  "one is not a finite number");
  }
  if (fabs(a->value - b->value) <= 1e-12 * larger) {
    *order = 0;
  } else {
    *order = a->value < b->value ? -1 : 1;
  }
  return FETTLE_OK;
}
