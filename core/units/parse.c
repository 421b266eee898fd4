/* Quantities as text. */
#include "units/units.h"

#include <math.h>
#include <string.h>

/* A number as the shop writes it: numerator / denominator, the denominator 1 for decimals. */
typedef struct shop_number {
  double numerator;
  double denominator;
} shop_number;

static char at_offset(const fettle_units_cursor *cursor, size_t at) {
  if (at >= cursor->length) {
    return '\0';
  }
  return cursor->text[at];
}

static bool digit(const fettle_units_cursor *cursor, size_t at) {
  const char c = at_offset(cursor, at);
  return c >= '0' && c <= '9';
}

static bool blank(const fettle_units_cursor *cursor, size_t at) {
  const char c = at_offset(cursor, at);
  return c == ' ' || c == '\t';
}

static void skip_blanks(fettle_units_cursor *cursor) {
  while (blank(cursor, cursor->at)) {
    cursor->at++;
  }
}

/* Where a fraction "a/b" starts after a whole number ("2 1/2", "2-1/2"); 0 when none follows. */
static size_t fraction_after(const fettle_units_cursor *cursor) {
  size_t at = cursor->at;
  if (at_offset(cursor, at) == '-') {
    at++;
  } else {
    while (blank(cursor, at)) {
      at++;
    }
  }
  if (at == cursor->at) {
    return 0;
  }
  const size_t start = at;
  while (digit(cursor, at)) {
    at++;
  }
  return at > start && at_offset(cursor, at) == '/' && digit(cursor, at + 1) ? start : 0;
}

/* Reads "b" of "a/b", with the cursor on the stroke. */
static fettle_status read_denominator(fettle_units_cursor *cursor, bool above_whole, double *out) {
  cursor->at++;
  const size_t at = cursor->at;
  bool whole;
  const fettle_status status = fettle_units_read_number(cursor, out, &whole);
  if (status != FETTLE_OK) {
    return status;
  }
  if (!above_whole || !whole) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, at,
                               "a fraction is written with whole numbers, as 1/2");
  }
  if (*out == 0.0) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, at, "the denominator is 0");
  }
  return FETTLE_OK;
}

static fettle_status read_shop_number(fettle_units_cursor *cursor, shop_number *out) {
  enum { EXACT_MOST = 1000000000 }; /* products of two such whole numbers are exact enough */
  const size_t start = cursor->at;
  if (at_offset(cursor, start) == '0' &&
      (at_offset(cursor, start + 1) == 'x' || at_offset(cursor, start + 1) == 'X')) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, start,
                               "hexadecimal numbers are not read");
  }
  double value = 0.0;
  bool whole = false;
  fettle_status status = fettle_units_read_number(cursor, &value, &whole);
  if (status != FETTLE_OK) {
    return status;
  }
  *out = (shop_number){value, 1.0};
  const size_t fraction = fraction_after(cursor);
  if (at_offset(cursor, cursor->at) == '/' && digit(cursor, cursor->at + 1)) {
    status = read_denominator(cursor, whole, &out->denominator);
  } else if (fraction > 0) {
    if (!whole) {
      return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, fraction,
                                 "only a whole number may stand before a fraction");
    }
    cursor->at = fraction;
    double numerator = 0.0;
    status = fettle_units_read_number(cursor, &numerator, &whole);
    if (status == FETTLE_OK) {
      status = read_denominator(cursor, whole, &out->denominator);
    }
    if (status == FETTLE_OK && numerator >= out->denominator) {
      return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, fraction,
                                 "a fraction after a whole number must be below 1");
    }
    if (status == FETTLE_OK) {
      out->numerator = value * out->denominator + numerator;
    }
  }
  if (status != FETTLE_OK) {
    return status;
  }
  if (out->denominator > EXACT_MOST || (out->denominator > 1.0 && value > EXACT_MOST)) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_RANGE, start,
                               "the numbers of the fraction are too large");
  }
  const char next = at_offset(cursor, cursor->at);
  if (next == ',') {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, cursor->at,
                               "a comma in a number: write 1.5 with a point, 1000 without a comma");
  }
  if (next == '.' || (next == '/' && out->denominator > 1.0)) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, cursor->at,
                               "a number cannot go on like this");
  }
  if (next == '-' || next == '+') {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, cursor->at,
                               "a range or a sum is not one quantity");
  }
  return FETTLE_OK;
}

/* Makes the quantity of `scaled` (number times factor, without offset) in a unit. `cursor` serves
 * the messages. */
static fettle_status settle(const fettle_units_cursor *cursor, double scaled,
                            const fettle_unit_expression *unit, fettle_role role,
                            fettle_quantity *out) {
  fettle_quantity result = {.value = scaled,
                            .dimension = unit->dimension,
                            .magic = FETTLE_QUANTITY_MAGIC,
                            .unit = (uint16_t)unit->index,
                            .currency = unit->currency};
  if (unit->dimension == TEMPERATURE) {
    bool point = unit->point;
    if (role == FETTLE_ROLE_DIFFERENCE && point) {
      point = false;
      result.unit = (uint16_t)fettle_units_difference_row(unit->index);
    } else if (role == FETTLE_ROLE_POINT && !point) {
      if (unit->index != ROW_K) {
        return fettle_units_refuse(cursor, FETTLE_ERROR_DIMENSION, 0,
                                   "a temperature is due here, and this is a difference: write it "
                                   "in degC, degF or K");
      }
      point = true;
    }
    if (point) {
      result.flags = FETTLE_QUANTITY_POINT;
      result.value += unit->offset;
      if (result.value < 0.0) {
        return fettle_units_refuse(cursor, FETTLE_ERROR_RANGE, 0,
                                   "a temperature cannot be below absolute zero");
      }
    }
  }
  if (!isfinite(result.value)) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_RANGE, 0, "the value is too large");
  }
  *out = result;
  return FETTLE_OK;
}

static fettle_status read_sign(fettle_units_cursor *cursor, bool *negative) {
  static const char minus_sign[] = "\342\210\222";
  skip_blanks(cursor);
  const size_t at = cursor->at;
  const char c = at_offset(cursor, at);
  const bool long_minus = cursor->length - at >= 3 && memcmp(cursor->text + at, minus_sign, 3) == 0;
  *negative = c == '-' || long_minus;
  cursor->at += long_minus ? 3 : c == '-' || c == '+';
  skip_blanks(cursor);
  const char next = at_offset(cursor, cursor->at);
  if (!digit(cursor, cursor->at) && next != '.') {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, cursor->at,
                               "a number must come first, as in 2 1/2 in");
  }
  return FETTLE_OK;
}

fettle_status fettle_quantity_parse(const char *text, size_t length, fettle_role role,
                                    fettle_quantity *out, fettle_diagnostic *diagnostic) {
  fettle_units_cursor cursor = {text, length, 0, diagnostic};
  while (cursor.length > 0 && blank(&cursor, cursor.length - 1)) {
    cursor.length--;
  }
  bool negative;
  fettle_status status = read_sign(&cursor, &negative);
  if (status != FETTLE_OK) {
    return status;
  }
  fettle_unit_expression unit = {1.0, 0.0, 0, 0, false, 0};
  double scaled = 0.0;
  for (size_t part = 0; part == 0 || cursor.at < cursor.length; part++) {
    const size_t start = cursor.at;
    shop_number number = {0.0, 1.0};
    status = read_shop_number(&cursor, &number);
    if (status != FETTLE_OK) {
      return status;
    }
    skip_blanks(&cursor);
    fettle_unit_expression here = {1.0, 0.0, 0, 0, false, 0};
    if (cursor.at < cursor.length) {
      if (digit(&cursor, cursor.at) &&
          !(at_offset(&cursor, cursor.at) == '1' && at_offset(&cursor, cursor.at + 1) == '/')) {
        return fettle_units_refuse(&cursor, FETTLE_ERROR_TEXT, cursor.at,
                                   "two numbers without a unit between them");
      }
      status = fettle_units_read_expression(&cursor, &here);
      if (status != FETTLE_OK) {
        return status;
      }
    } else if (part > 0) {
      return fettle_units_refuse(&cursor, FETTLE_ERROR_TEXT, start, "the last number has no unit");
    }
    if (part > 0) {
      if (here.dimension != unit.dimension || here.currency != unit.currency) {
        return fettle_units_refuse(&cursor, FETTLE_ERROR_DIMENSION, start,
                                   "the parts of one quantity must be of one kind");
      }
      if (here.point || unit.point) {
        return fettle_units_refuse(&cursor, FETTLE_ERROR_DIMENSION, start,
                                   "a temperature has one part only");
      }
      if (!(here.factor < unit.factor)) {
        return fettle_units_refuse(&cursor, FETTLE_ERROR_TEXT, start,
                                   "each part must be in a smaller unit than the one before it");
      }
    }
    scaled += number.numerator * here.factor / number.denominator;
    unit = here;
    skip_blanks(&cursor);
    if (cursor.at >= cursor.length) {
      break;
    }
    /* drawings write feet and inches as 5'-6 1/2" */
    if (at_offset(&cursor, cursor.at) == '-' && unit.index == ROW_FT &&
        text[cursor.at - 1] == '\'' && digit(&cursor, cursor.at + 1)) {
      cursor.at++;
    }
    if (!digit(&cursor, cursor.at) && at_offset(&cursor, cursor.at) != '.') {
      return fettle_units_refuse(&cursor, FETTLE_ERROR_TEXT, cursor.at,
                                 at_offset(&cursor, cursor.at) == ','
                                     ? "a comma: write the parts of a quantity with blanks"
                                     : "nothing may follow the unit but a smaller part");
    }
  }
  return settle(&cursor, negative ? -scaled : scaled, &unit, role, out);
}

fettle_status fettle_quantity_make(double number, const char *unit, fettle_role role,
                                   fettle_quantity *out, fettle_diagnostic *diagnostic) {
  if (!isfinite(number)) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, NULL,
                       "a quantity needs a finite number, this one is not");
  }
  const size_t length = strlen(unit);
  fettle_unit_expression expression;
  const fettle_status status = fettle_unit_parse(unit, length, &expression, diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  const fettle_units_cursor cursor = {unit, length, 0, diagnostic};
  return settle(&cursor, number * expression.factor, &expression, role, out);
}

fettle_status fettle_quantity_number(const fettle_quantity *quantity, const char *unit, double *out,
                                     fettle_diagnostic *diagnostic) {
  fettle_unit_expression expression;
  const fettle_status status = fettle_unit_parse(unit, strlen(unit), &expression, diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  char operand[96];
  if (expression.dimension != quantity->dimension) {
    char name[96];
    fettle_units_describe(quantity, operand, sizeof operand);
    fettle_dimension_name(expression.dimension, name, sizeof name);
    return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, NULL, "%s cannot be given in %.40s (%s)",
                       operand, unit, name);
  }
  if (expression.currency && quantity->currency && expression.currency != quantity->currency) {
    fettle_units_describe(quantity, operand, sizeof operand);
    return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, NULL,
                       "%s cannot be given in %.40s: a job has one currency, and rates of exchange "
                       "are inputs",
                       operand, unit);
  }
  double value = quantity->value;
  if (quantity->flags & FETTLE_QUANTITY_POINT) {
    if (!expression.point && expression.index != ROW_K) {
      fettle_units_describe(quantity, operand, sizeof operand);
      return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, NULL,
                         "%s is a temperature, %.40s a difference: use degC, degF or K", operand,
                         unit);
    }
    value -= expression.offset;
  }
  value /= expression.factor;
  if (!isfinite(value)) {
    return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, NULL, "the number in %.40s is too large",
                       unit);
  }
  *out = value;
  return FETTLE_OK;
}
