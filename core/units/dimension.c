/* Packed exponents: sums of all lanes at once, names, base units. */
#include "units/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LANES = 7, NAME_CAPACITY = 160 };
#define HIGH_BITS 0x8080808080808080u

bool fettle_units_dimension_add(fettle_dimension a, fettle_dimension b, fettle_dimension *out) {
  const fettle_dimension sum = ((a & ~HIGH_BITS) + (b & ~HIGH_BITS)) ^ ((a ^ b) & HIGH_BITS);
  *out = sum;
  /* a lane left its byte when both terms have the sign that the sum has not */
  return (~(a ^ b) & (a ^ sum) & HIGH_BITS) == 0;
}

bool fettle_units_dimension_subtract(fettle_dimension a, fettle_dimension b,
                                     fettle_dimension *out) {
  const fettle_dimension difference = ((a | HIGH_BITS) - (b & ~HIGH_BITS)) ^ ((a ^ ~b) & HIGH_BITS);
  *out = difference;
  return ((a ^ b) & (a ^ difference) & HIGH_BITS) == 0;
}

int fettle_dimension_twelfths(fettle_dimension dimension, fettle_base base) {
  return (int8_t)(uint8_t)(dimension >> (8 * (unsigned)base));
}

bool fettle_units_dimension_power(fettle_dimension a, double exponent, fettle_dimension *out) {
  fettle_dimension result = 0;
  for (unsigned base = 0; base < LANES; base++) {
    const double exact = fettle_dimension_twelfths(a, (fettle_base)base) * exponent;
    const double whole = nearbyint(exact);
    /* 1/3 as a double is off by 2e-17: far inside 1e-9, which no other fraction comes near */
    if (!(fabs(exact - whole) <= 1e-9) || !(fabs(whole) <= 127.0)) {
      return false;
    }
    result |= LANE((int)whole, base);
  }
  *out = result;
  return true;
}

typedef struct named_dimension {
  fettle_dimension dimension;
  const char *name;
} named_dimension;

static const named_dimension names[] = {
    {DIMENSION(0, 0, 0, 0, 0, 0, 0), "plain number"},
    {DIMENSION(12, 0, 0, 0, 0, 0, 0), "length"},
    {DIMENSION(24, 0, 0, 0, 0, 0, 0), "area"},
    {DIMENSION(36, 0, 0, 0, 0, 0, 0), "volume"},
    {DIMENSION(48, 0, 0, 0, 0, 0, 0), "second moment of area"},
    {DIMENSION(0, 12, 0, 0, 0, 0, 0), "mass"},
    {DIMENSION(0, 0, 12, 0, 0, 0, 0), "time"},
    {DIMENSION(0, 0, 0, 12, 0, 0, 0), "temperature"},
    {DIMENSION(0, 0, 0, 0, 12, 0, 0), "amount of substance"},
    {DIMENSION(0, 0, 0, 0, 0, 12, 0), "angle"},
    {DIMENSION(0, 0, 0, 0, 0, 0, 12), "money"},
    {DIMENSION(0, 0, -12, 0, 0, 0, 0), "frequency"},
    {DIMENSION(12, 0, -12, 0, 0, 0, 0), "speed"},
    {DIMENSION(12, 0, -24, 0, 0, 0, 0), "acceleration"},
    {DIMENSION(12, 0, -36, 0, 0, 0, 0), "jerk"},
    {DIMENSION(12, 12, -24, 0, 0, 0, 0), "force"},
    {DIMENSION(-12, 12, -24, 0, 0, 0, 0), "pressure"},
    {DIMENSION(24, 12, -24, 0, 0, 0, 0), "energy"},
    {DIMENSION(24, 12, -36, 0, 0, 0, 0), "power"},
    {DIMENSION(-12, 12, -12, 0, 0, 0, 0), "viscosity"},
    {DIMENSION(-24, 12, 0, 0, 0, 0, 0), "areal mass"},
    {DIMENSION(-36, 12, 0, 0, 0, 0, 0), "density"},
    {DIMENSION(36, -12, 0, 0, 0, 0, 0), "volume per mass"},
    {DIMENSION(-12, 0, 0, 0, 0, 0, 0), "area per volume"},
    {DIMENSION(24, -12, 0, 0, 0, 0, 0), "area per mass"},
    {DIMENSION(-12, 12, 0, 0, 0, 0, 0), "mass per length"},
    {DIMENSION(0, 12, -24, 0, 0, 0, 0), "force per length"},
    {DIMENSION(0, 12, -12, 0, 0, 0, 0), "mass flow"},
    {DIMENSION(36, 0, -12, 0, 0, 0, 0), "volume flow"},
    {DIMENSION(24, 0, -12, 0, 0, 0, 0), "area per time"},
    {DIMENSION(-24, 0, 12, 0, 0, 0, 0), "time per area"},
    {DIMENSION(-12, 0, 12, 0, 0, 0, 0), "time per length"},
    {DIMENSION(0, 0, -12, 12, 0, 0, 0), "rate of heating"},
    {DIMENSION(0, 0, 0, -12, 0, 0, 0), "per temperature"},
    {DIMENSION(12, 12, -36, -12, 0, 0, 0), "thermal conductivity"},
    {DIMENSION(0, 12, -36, -12, 0, 0, 0), "heat transfer coefficient"},
    {DIMENSION(0, -12, 36, 12, 0, 0, 0), "thermal resistance"},
    {DIMENSION(0, 12, -36, 0, 0, 0, 0), "heat flow per area"},
    {DIMENSION(24, 0, -24, -12, 0, 0, 0), "specific heat"},
    {DIMENSION(24, 0, -24, 0, 0, 0, 0), "energy per mass"},
    {DIMENSION(24, 0, -36, 0, 0, 0, 0), "power per mass"},
    {DIMENSION(24, 12, -24, 0, -12, 0, 0), "energy per amount"},
    {DIMENSION(24, 12, -24, -12, -12, 0, 0), "molar heat"},
    {DIMENSION(0, 12, 0, 0, -12, 0, 0), "mass per amount"},
    {DIMENSION(0, -12, 0, 0, 12, 0, 0), "amount per mass"},
    {DIMENSION(-36, 0, 0, 0, 12, 0, 0), "amount per volume"},
    {DIMENSION(0, 0, -12, 0, 0, 12, 0), "angular speed"},
    {DIMENSION(-12, 0, 0, 0, 0, 12, 0), "angle per length"},
    {DIMENSION(36, 12, -24, 0, 0, 0, 0), "bending stiffness"},
    {DIMENSION(-6, 12, -24, 0, 0, 0, 0), "fracture toughness"},
    {DIMENSION(0, 0, -12, 0, 0, 0, 12), "money per time"},
    {DIMENSION(0, -12, 0, 0, 0, 0, 12), "money per mass"},
    {DIMENSION(-36, 0, 0, 0, 0, 0, 12), "money per volume"},
    {DIMENSION(-24, 0, 0, 0, 0, 0, 12), "money per area"},
    {DIMENSION(-12, 0, 0, 0, 0, 0, 12), "money per length"},
};

/* Writes powers of `words` as a product, then after a slash those with negative exponents. */
static size_t product(fettle_dimension dimension, const char *const words[LANES], char *out,
                      size_t capacity) {
  char text[NAME_CAPACITY] = "";
  size_t used = 0;
  int below = 0;
  for (unsigned base = 0; base < LANES; base++) {
    below += fettle_dimension_twelfths(dimension, (fettle_base)base) < 0;
  }
  /* mass comes first, as in kg m^2/s^2 */
  static const unsigned char order[LANES] = {1, 0, 2, 3, 4, 5, 6};
  for (int side = 1; side >= -1; side -= 2) {
    bool first = true;
    for (unsigned place = 0; place < LANES; place++) {
      const unsigned base = order[place];
      const int twelfths = side * fettle_dimension_twelfths(dimension, (fettle_base)base);
      if (twelfths <= 0) {
        continue;
      }
      const char *before = " ";
      if (first) {
        before = side > 0 ? "" : below > 1 ? "/(" : "/";
        if (side < 0 && used == 0) {
          before = below > 1 ? "1/(" : "1/";
        }
      }
      first = false;
      int numerator = twelfths;
      int denominator = 12;
      for (int divisor = 12; divisor > 1; divisor--) {
        if (numerator % divisor == 0 && denominator % divisor == 0) {
          numerator /= divisor;
          denominator /= divisor;
        }
      }
      char power[20] = "";
      if (denominator > 1) {
        snprintf(power, sizeof power, "^(%d/%d)", numerator, denominator);
      } else if (numerator > 1) {
        snprintf(power, sizeof power, "^%d", numerator);
      }
      /* seven words with powers fit: the longest line is below NAME_CAPACITY */
      used +=
          (size_t)snprintf(text + used, sizeof text - used, "%s%s%s", before, words[base], power);
    }
    if (side < 0 && below > 1) {
      used += (size_t)snprintf(text + used, sizeof text - used, ")");
    }
  }
  return (size_t)snprintf(out, capacity, "%s", text);
}

size_t fettle_dimension_name(fettle_dimension dimension, char *out, size_t capacity) {
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    if (names[i].dimension == dimension) {
      return (size_t)snprintf(out, capacity, "%s", names[i].name);
    }
  }
  static const char *const words[LANES] = {"length", "mass",  "time", "temperature",
                                           "amount", "angle", "money"};
  return product(dimension, words, out, capacity);
}

size_t fettle_units_base_text(fettle_dimension dimension, uint8_t currency, char *out,
                              size_t capacity) {
  const fettle_unit *code = fettle_unit_at(currency);
  const char *const words[LANES] = {"m", "kg", "s", "K", "mol", "rad", code ? code->name : "money"};
  return product(dimension, words, out, capacity);
}
