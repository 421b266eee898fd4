/* Unit expressions: products, quotients and powers of the names of the vocabulary. */
#include "units/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { NORMAL_CAPACITY = 24, DEPTH_MOST = 8 };

/* What has been read of an expression so far. `normal` holds it with each name as the vocabulary
 * prints it, one blank for a product and ^ for powers; it stops being kept when it is longer than
 * any name. */
typedef struct reader {
  fettle_units_cursor *cursor;
  char normal[NORMAL_CAPACITY];
  size_t normal_length;
  size_t names;
  size_t operators;
  size_t last_row;
} reader;

typedef struct measure {
  double factor;
  fettle_dimension dimension;
  uint8_t currency;
} measure;

static void normal_add(reader *reading, const char *text, size_t length) {
  if (reading->normal_length + length < NORMAL_CAPACITY) {
    memcpy(reading->normal + reading->normal_length, text, length);
    reading->normal_length += length;
  } else {
    reading->normal_length = NORMAL_CAPACITY;
  }
}

static bool at_end(const fettle_units_cursor *cursor) {
  return cursor->at >= cursor->length;
}

static char peek(const fettle_units_cursor *cursor) {
  if (at_end(cursor)) {
    return '\0';
  }
  return cursor->text[cursor->at];
}

static bool follows(const fettle_units_cursor *cursor, size_t at, const char *bytes) {
  const size_t count = strlen(bytes);
  return at + count <= cursor->length && memcmp(cursor->text + at, bytes, count) == 0;
}

static bool digit_at(const fettle_units_cursor *cursor, size_t at) {
  return at < cursor->length && cursor->text[at] >= '0' && cursor->text[at] <= '9';
}

static void skip_blanks(fettle_units_cursor *cursor) {
  while (peek(cursor) == ' ' || peek(cursor) == '\t') {
    cursor->at++;
  }
}

#define SQUARE_SIGN "\302\262"
#define CUBE_SIGN "\302\263"
#define MIDDLE_DOT "\302\267"
#define MINUS_SIGN "\342\210\222"

/* Letters, and bytes of UTF-8 other than the signs that are operators. */
static bool letter_at(const fettle_units_cursor *cursor, size_t at) {
  if (at >= cursor->length) {
    return false;
  }
  const char c = cursor->text[at];
  if ((c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_' || c == '$' || c == '#') {
    return true;
  }
  return (unsigned char)c >= 0x80 && !follows(cursor, at, SQUARE_SIGN) &&
         !follows(cursor, at, CUBE_SIGN) && !follows(cursor, at, MIDDLE_DOT) &&
         !follows(cursor, at, MINUS_SIGN);
}

static bool name_starts(const fettle_units_cursor *cursor) {
  const char c = peek(cursor);
  return c == '%' || c == '\'' || c == '"' || letter_at(cursor, cursor->at);
}

static fettle_status refuse_name(const reader *reading, size_t start, size_t end) {
  const fettle_units_cursor *cursor = reading->cursor;
  char name[32];
  fettle_units_quote(cursor->text + start, end - start, name, sizeof name);
  const char *nearest = fettle_unit_nearest(cursor->text + start, end - start);
  if (nearest) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, start,
                               "unknown unit '%s'; the nearest known one is '%s'", name, nearest);
  }
  if (end - start == 1 && (cursor->text[start] == 'V' || cursor->text[start] == 'A')) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, start,
                               "unknown unit '%s': electrical units are not in the vocabulary",
                               name);
  }
  return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, start,
                             "unknown unit '%s'; known are for example mm, in, kg, lb, min, degC",
                             name);
}

static fettle_status read_name(reader *reading, measure *out) {
  fettle_units_cursor *cursor = reading->cursor;
  const size_t start = cursor->at;
  size_t end = start;
  const char first = peek(cursor);
  if (first == '\'' || first == '"' || first == '%') {
    end = start + (follows(cursor, start, "''") ? 2 : 1);
  } else {
    while (letter_at(cursor, end)) {
      end++;
    }
  }
  size_t row = fettle_units_find_simple(cursor->text + start, end - start);
  if (digit_at(cursor, end)) {
    /* a name with a digit inside, as inches of water have */
    size_t longer = end;
    while (digit_at(cursor, longer) || letter_at(cursor, longer)) {
      longer++;
    }
    const size_t whole = fettle_units_find_simple(cursor->text + start, longer - start);
    if (whole) {
      row = whole;
      end = longer;
    }
  }
  if (!row) {
    return refuse_name(reading, start, end);
  }
  const fettle_unit *unit = fettle_unit_at(row);
  cursor->at = end;
  reading->names++;
  reading->last_row = row;
  normal_add(reading, unit->name, strlen(unit->name));
  out->factor = unit->factor;
  out->dimension = unit->dimension;
  out->currency = fettle_units_currency(row);
  return FETTLE_OK;
}

static fettle_status read_small_whole(fettle_units_cursor *cursor, int *out) {
  const size_t start = cursor->at;
  if (!digit_at(cursor, start)) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, start, "an exponent is due here");
  }
  int value = 0;
  while (digit_at(cursor, cursor->at)) {
    value = value * 10 + (cursor->text[cursor->at++] - '0');
    if (value > 24) {
      return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, start, "the exponent is too large");
    }
  }
  *out = value;
  return FETTLE_OK;
}

/* "^2", "^-1", "^(1/2)", a raised 2 or 3, or a digit right behind the name ("ft2"). */
static fettle_status read_power(reader *reading, bool after_name, measure *value) {
  fettle_units_cursor *cursor = reading->cursor;
  const size_t start = cursor->at;
  int numerator = 1;
  int denominator = 1;
  bool negative = false;
  if (follows(cursor, start, SQUARE_SIGN) || follows(cursor, start, CUBE_SIGN)) {
    numerator = follows(cursor, start, SQUARE_SIGN) ? 2 : 3;
    cursor->at += 2;
  } else if (after_name && digit_at(cursor, start)) {
    const bool alone = !digit_at(cursor, start + 1) && !letter_at(cursor, start + 1) &&
                       !follows(cursor, start + 1, ".") && !follows(cursor, start + 1, "'") &&
                       !follows(cursor, start + 1, "\"") &&
                       !(follows(cursor, start + 1, "/") && digit_at(cursor, start + 2));
    const char digit = cursor->text[start];
    if (!alone || (digit != '2' && digit != '3' && digit != '4')) {
      return FETTLE_OK; /* the number of the next part, if a part may follow */
    }
    numerator = digit - '0';
    cursor->at++;
  } else if (peek(cursor) == '^') {
    cursor->at++;
    const bool bracket = peek(cursor) == '(';
    cursor->at += bracket;
    negative = peek(cursor) == '-';
    cursor->at += negative;
    fettle_status status = read_small_whole(cursor, &numerator);
    if (status == FETTLE_OK && bracket && peek(cursor) == '/') {
      cursor->at++;
      status = read_small_whole(cursor, &denominator);
    }
    if (status != FETTLE_OK) {
      return status;
    }
    if (bracket && peek(cursor) != ')') {
      return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, cursor->at,
                                 "the bracket of the exponent is not closed");
    }
    cursor->at += bracket;
  } else {
    return FETTLE_OK;
  }
  reading->operators++;
  if (numerator == 0 || denominator == 0) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, start, "an exponent must not be 0");
  }
  if (after_name && fettle_unit_at(reading->last_row)->point) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, start,
                               "a power of a temperature: write dC, dF or K");
  }
  char text[24];
  const char *sign = negative ? "-" : "";
  const int written = denominator > 1
                          ? snprintf(text, sizeof text, "^(%s%d/%d)", sign, numerator, denominator)
                          : snprintf(text, sizeof text, "^%s%d", sign, numerator);
  normal_add(reading, text, (size_t)written);
  const double exponent = (negative ? -1.0 : 1.0) * numerator / denominator;
  if (!fettle_units_dimension_power(value->dimension, exponent, &value->dimension)) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_RANGE, start,
                               "the exponent must be a twelfth or a multiple of it, up to 10");
  }
  if (denominator == 1) {
    double factor = 1.0;
    for (int i = 0; i < numerator; i++) {
      factor *= value->factor;
    }
    value->factor = negative ? 1.0 / factor : factor;
  } else {
    value->factor = pow(value->factor, exponent);
  }
  return FETTLE_OK;
}

static fettle_status combine(const reader *reading, size_t at, measure *a, const measure *b,
                             bool divide) {
  a->factor = divide ? a->factor / b->factor : a->factor * b->factor;
  const bool fits = divide
                        ? fettle_units_dimension_subtract(a->dimension, b->dimension, &a->dimension)
                        : fettle_units_dimension_add(a->dimension, b->dimension, &a->dimension);
  if (!fits || !isfinite(a->factor) || a->factor == 0.0) {
    return fettle_units_refuse(reading->cursor, FETTLE_ERROR_RANGE, at,
                               "the powers of the unit are too large");
  }
  if (a->currency && b->currency && a->currency != b->currency) {
    return fettle_units_refuse(reading->cursor, FETTLE_ERROR_DIMENSION, at,
                               "two currencies in one unit: a job has one");
  }
  a->currency = a->currency ? a->currency : b->currency;
  return FETTLE_OK;
}

static fettle_status read_quotient(reader *reading, int depth, measure *out);

static fettle_status read_factor(reader *reading, int depth, measure *out) {
  fettle_units_cursor *cursor = reading->cursor;
  bool after_name = false;
  fettle_status status;
  if (peek(cursor) == '(') {
    const size_t start = cursor->at;
    if (depth >= DEPTH_MOST) {
      return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, start, "brackets nest too deep");
    }
    cursor->at++;
    reading->operators++;
    normal_add(reading, "(", 1);
    status = read_quotient(reading, depth + 1, out);
    if (status != FETTLE_OK) {
      return status;
    }
    if (peek(cursor) != ')') {
      return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, cursor->at,
                                 at_end(cursor) ? "a bracket is not closed"
                                                : "a unit or a closing bracket is due here");
    }
    cursor->at++;
    normal_add(reading, ")", 1);
  } else if (name_starts(cursor)) {
    after_name = true;
    status = read_name(reading, out);
    if (status != FETTLE_OK) {
      return status;
    }
  } else {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, cursor->at, "a unit is due here");
  }
  return read_power(reading, after_name, out);
}

/* Takes a product sign (a blank, * or a middle dot) when a factor follows. */
static bool take_product_sign(reader *reading) {
  fettle_units_cursor *cursor = reading->cursor;
  const size_t start = cursor->at;
  skip_blanks(cursor);
  bool found = cursor->at > start && (name_starts(cursor) || peek(cursor) == '(');
  if (peek(cursor) == '*' || follows(cursor, cursor->at, MIDDLE_DOT)) {
    cursor->at += peek(cursor) == '*' ? 1 : 2;
    skip_blanks(cursor);
    found = true;
  }
  return found;
}

static fettle_status read_quotient(reader *reading, int depth, measure *out) {
  fettle_units_cursor *cursor = reading->cursor;
  skip_blanks(cursor);
  measure total = {1.0, 0, 0};
  fettle_status status;
  const bool one = peek(cursor) == '1' && !digit_at(cursor, cursor->at + 1);
  if (one || peek(cursor) == '/') {
    cursor->at += one;
    normal_add(reading, "1", 1);
    reading->operators++;
  } else {
    status = read_factor(reading, depth, &total);
    if (status != FETTLE_OK) {
      return status;
    }
    while (take_product_sign(reading)) {
      const size_t at = cursor->at;
      reading->operators++;
      normal_add(reading, " ", 1);
      measure factor = {1.0, 0, 0};
      status = read_factor(reading, depth, &factor);
      if (status == FETTLE_OK) {
        status = combine(reading, at, &total, &factor, false);
      }
      if (status != FETTLE_OK) {
        return status;
      }
    }
  }
  skip_blanks(cursor);
  while (peek(cursor) == '/') {
    cursor->at++;
    skip_blanks(cursor);
    const size_t at = cursor->at;
    reading->operators++;
    normal_add(reading, "/", 1);
    measure factor = {1.0, 0, 0};
    status = read_factor(reading, depth, &factor);
    if (status == FETTLE_OK) {
      status = combine(reading, at, &total, &factor, true);
    }
    if (status != FETTLE_OK) {
      return status;
    }
    if (take_product_sign(reading)) {
      return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, cursor->at,
                                 "after a / only another / may follow: write brackets, as in "
                                 "W/(m K)");
    }
    skip_blanks(cursor);
  }
  *out = total;
  return FETTLE_OK;
}

static void from_row(size_t row, fettle_unit_expression *out) {
  const fettle_unit *unit = fettle_unit_at(row);
  out->factor = unit->factor;
  out->offset = unit->offset;
  out->dimension = unit->dimension;
  out->index = row;
  out->point = unit->point;
  out->currency = fettle_units_currency(row);
}

fettle_status fettle_units_read_expression(fettle_units_cursor *cursor,
                                           fettle_unit_expression *out) {
  const size_t start = cursor->at;
  const size_t rest = fettle_unit_find(cursor->text + start, cursor->length - start);
  if (rest) {
    cursor->at = cursor->length;
    from_row(rest, out);
    return FETTLE_OK;
  }
  reader reading = {.cursor = cursor};
  measure total = {1.0, 0, 0};
  const fettle_status status = read_quotient(&reading, 0, &total);
  if (status != FETTLE_OK) {
    return status;
  }
  if (reading.names == 1 && reading.operators == 0) {
    from_row(reading.last_row, out);
  } else {
    *out = (fettle_unit_expression){total.factor, 0.0, total.dimension, 0, false, total.currency};
    if (reading.normal_length < NORMAL_CAPACITY) {
      out->index = fettle_units_find_compound(reading.normal, reading.normal_length);
    }
    if (out->index) {
      out->factor = fettle_unit_at(out->index)->factor; /* rounded once, not once a name */
    }
  }
  if (!(out->dimension & MONEY_LANE)) {
    out->currency = 0;
  }
  return FETTLE_OK;
}

fettle_status fettle_unit_parse(const char *text, size_t length, fettle_unit_expression *out,
                                fettle_diagnostic *diagnostic) {
  fettle_units_cursor cursor = {text, length, 0, diagnostic};
  fettle_unit_expression result = {1.0, 0.0, 0, 0, false, 0};
  const fettle_status status = fettle_units_read_expression(&cursor, &result);
  if (status != FETTLE_OK) {
    return status;
  }
  if (cursor.at < length) {
    return fettle_units_refuse(&cursor, FETTLE_ERROR_TEXT, cursor.at,
                               "only products, quotients and powers of units may stand here");
  }
  *out = result;
  return FETTLE_OK;
}
