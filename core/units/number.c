/* Plain numbers as text: the same whatever the locale. */
#include "units/units.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  DIGITS_MOST = 400,    /* of one number; a longer one is no shop number */
  EXPONENT_MOST = 9999, /* beyond it the value is out of range anyway */
  DIGITS_SHOWN_MOST = 17
};

void fettle_units_quote(const char *text, size_t length, char *out, size_t capacity) {
  enum { SHOWN_MOST = 60 };
  size_t used = 0;
  size_t at = 0;
  while (at < length && at < SHOWN_MOST && used + 8 < capacity) {
    const unsigned char byte = (unsigned char)text[at];
    size_t more = byte >= 0xF0 ? 3 : byte >= 0xE0 ? 2 : byte >= 0xC2 ? 1 : 0;
    bool sound = byte >= 0x20 && byte != 0x7F && (byte < 0x80 || (more > 0 && more < 3));
    for (size_t i = 1; sound && i <= more; i++) {
      sound = at + i < length && ((unsigned char)text[at + i] & 0xC0) == 0x80;
    }
    /* surrogates and overlong forms of three bytes are no characters */
    if (sound && more == 2) {
      const unsigned char second = (unsigned char)text[at + 1];
      sound = !(byte == 0xE0 && second < 0xA0) && !(byte == 0xED && second >= 0xA0);
    }
    if (!sound) {
      out[used++] = '?';
      at++;
      continue;
    }
    memcpy(out + used, text + at, more + 1);
    used += more + 1;
    at += more + 1;
  }
  if (at < length) {
    memcpy(out + used, "...", 3);
    used += 3;
  }
  out[used] = '\0';
}

fettle_status fettle_units_refuse(const fettle_units_cursor *cursor, fettle_status status,
                                  size_t at, const char *format, ...) {
  if (!cursor->diagnostic) {
    return status;
  }
  char text[80];
  char reason[200];
  fettle_units_quote(cursor->text, cursor->length, text, sizeof text);
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(reason, sizeof reason, format, arguments);
  va_end(arguments);
  fettle_fail(cursor->diagnostic, status, NULL, "\"%s\": column %zu: %s", text, at + 1, reason);
  cursor->diagnostic->column = at + 1;
  return status;
}

static bool is_digit(const fettle_units_cursor *cursor, size_t at) {
  return at < cursor->length && cursor->text[at] >= '0' && cursor->text[at] <= '9';
}

/* Powers of ten that a double holds exactly. */
static const double exact_power[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                     1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                     1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/* Correctly rounded value of `digits` (no point) times ten to `exponent`: strtod reads a text
 * without a point the same in every locale. */
static double slow_number(const char *digits, size_t count, long exponent) {
  char text[DIGITS_MOST + 24];
  memcpy(text, digits, count);
  snprintf(text + count, sizeof text - count, "e%ld", exponent);
  return strtod(text, NULL);
}

fettle_status fettle_units_read_number(fettle_units_cursor *cursor, double *out, bool *whole) {
  const char *text = cursor->text;
  const size_t length = cursor->length;
  const size_t start = cursor->at;
  size_t at = start;
  uint64_t mantissa = 0;
  size_t significant = 0; /* digits after leading zeros */
  size_t digits = 0;
  long exponent = 0;
  bool point = false;
  for (; at < length; at++) {
    const unsigned digit = (unsigned)(unsigned char)text[at] - '0';
    if (digit <= 9) {
      digits++;
      if (significant > 0 || digit > 0) {
        significant++;
        if (significant <= 19) {
          mantissa = mantissa * 10 + digit; /* nineteen digits fit in 64 bits */
        }
      }
      exponent -= point;
    } else if (text[at] == '.' && !point) {
      point = true;
    } else {
      break;
    }
  }
  if (digits == 0) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, start, "a number is due here");
  }
  if (digits > DIGITS_MOST) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_TEXT, start,
                               "a number of more than %d digits is not read", DIGITS_MOST);
  }
  const size_t digits_end = at;
  bool written_exponent = false;
  if (at < length && (text[at] == 'e' || text[at] == 'E')) {
    size_t next = at + 1;
    const bool negative = next < length && text[next] == '-';
    next += next < length && (text[next] == '-' || text[next] == '+');
    if (is_digit(cursor, next)) {
      long power = 0;
      for (; is_digit(cursor, next); next++) {
        power = power > EXPONENT_MOST ? power : power * 10 + (text[next] - '0');
      }
      exponent += negative ? -power : power;
      at = next;
      written_exponent = true;
    }
  }
  double value;
  if (significant <= 19 && mantissa <= (UINT64_C(1) << 53) && exponent >= -22 && exponent <= 22) {
    /* both are exact doubles, so that one operation rounds once */
    value = exponent < 0 ? (double)mantissa / exact_power[-exponent]
                         : (double)mantissa * exact_power[exponent];
  } else {
    char plain[DIGITS_MOST];
    size_t count = 0;
    for (size_t i = start; i < digits_end; i++) {
      if (text[i] != '.') {
        plain[count++] = text[i];
      }
    }
    value = slow_number(plain, count, exponent);
  }
  if (!isfinite(value)) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_RANGE, start, "the number is too large");
  }
  if (value == 0.0 && significant > 0) {
    return fettle_units_refuse(cursor, FETTLE_ERROR_RANGE, start, "the number is too small");
  }
  cursor->at = at;
  *out = value;
  *whole = !point && !written_exponent;
  return FETTLE_OK;
}

fettle_status fettle_number_parse(const char *text, size_t length, double *out,
                                  fettle_diagnostic *diagnostic) {
  fettle_units_cursor cursor = {text, length, 0, diagnostic};
  const bool negative = length > 0 && text[0] == '-';
  cursor.at = length > 0 && (text[0] == '-' || text[0] == '+');
  double value = 0.0;
  bool whole = false;
  const fettle_status status = fettle_units_read_number(&cursor, &value, &whole);
  if (status != FETTLE_OK) {
    return status;
  }
  if (cursor.at < length) {
    if (text[cursor.at] == ',') {
      return fettle_units_refuse(
          &cursor, FETTLE_ERROR_TEXT, cursor.at,
          "a comma in a number: write 1.5 with a point, 1000 without a comma");
    }
    return fettle_units_refuse(&cursor, FETTLE_ERROR_TEXT, cursor.at,
                               "only a decimal number may stand here");
  }
  *out = negative ? -value : value;
  return FETTLE_OK;
}

size_t fettle_number_format(double value, int digits, char *out, size_t capacity) {
  if (isnan(value)) {
    return (size_t)snprintf(out, capacity, "not a number");
  }
  if (isinf(value)) {
    return (size_t)snprintf(out, capacity, value > 0.0 ? "infinity" : "-infinity");
  }
  if (value == 0.0) {
    return (size_t)snprintf(out, capacity, "0");
  }
  const int wanted = digits < 1 ? 1 : digits > DIGITS_SHOWN_MOST ? DIGITS_SHOWN_MOST : digits;
  /* sign, digits with the locale's point (of several bytes at most), exponent */
  char raw[64];
  int places = wanted;
  for (int fewer = 15; fewer < wanted; fewer++) {
    /* above fifteen digits the shortest text that reads back as the same value is wanted */
    snprintf(raw, sizeof raw, "%.*e", fewer - 1, value);
    if (strtod(raw, NULL) == value) {
      places = fewer;
      break;
    }
  }
  snprintf(raw, sizeof raw, "%.*e", places - 1, value);
  char mantissa[DIGITS_SHOWN_MOST + 1];
  int count = 0;
  const char *at = raw + (raw[0] == '-');
  for (; *at != 'e'; at++) {
    if (*at >= '0' && *at <= '9') {
      mantissa[count++] = *at;
    }
  }
  while (count > 1 && mantissa[count - 1] == '0') {
    count--;
  }
  mantissa[count] = '\0';
  const int exponent = (int)strtol(at + 1, NULL, 10);
  const char *sign = value < 0.0 ? "-" : "";
  /* a shop reads 1500000 and 0.00004 with ease; beyond that, powers of ten */
  enum { PLAIN_LOW = -5, PLAIN_HIGH = 14 };
  if (exponent < PLAIN_LOW || exponent > PLAIN_HIGH) {
    return (size_t)snprintf(out, capacity, "%s%c%s%se%d", sign, mantissa[0], count > 1 ? "." : "",
                            mantissa + 1, exponent);
  }
  if (exponent < 0) {
    return (size_t)snprintf(out, capacity, "%s0.%.*s%s", sign, -exponent - 1, "0000", mantissa);
  }
  if (count <= exponent + 1) {
    return (size_t)snprintf(out, capacity, "%s%s%.*s", sign, mantissa, exponent + 1 - count,
                            "00000000000000");
  }
  return (size_t)snprintf(out, capacity, "%s%.*s.%s", sign, exponent + 1, mantissa,
                          mantissa + exponent + 1);
}
