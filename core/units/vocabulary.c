/* The closed vocabulary: look-up by name and by nearness. */
#include "units/units.h"

#include <string.h>

#define RATIO(numerator, denominator) ((numerator) / (denominator))
#define PI 3.14159265358979323846
#define HABIT_NONE FETTLE_HABIT_NONE
#define HABIT_INCH FETTLE_HABIT_INCH
#define HABIT_METRIC FETTLE_HABIT_METRIC

enum { NAME_MOST = 24 }; /* bytes of the longest name */

/* Index 0 is no unit. */
static const fettle_unit vocabulary[ROW_END] = {
    {0},
#define UNIT(row, name, meaning, factor, offset, dimension, habit, lua, partner)                   \
  {name, meaning, factor, offset, dimension, HABIT_##habit, (offset) != 0.0, lua},
#include "units/vocabulary.def"
#undef UNIT
};

static const uint16_t partners[ROW_END] = {
    0,
#define UNIT(row, name, meaning, factor, offset, dimension, habit, lua, partner) partner,
#include "units/vocabulary.def"
#undef UNIT
};

typedef struct simple_spelling {
  char text[9];
  uint8_t length;
  uint16_t row;
} simple_spelling;

static const simple_spelling simple[] = {
#define SIMPLE(text, row) {text, sizeof(text) - 1, ROW_##row},
#include "units/spellings.def"
#undef SIMPLE
};

typedef struct compound_spelling {
  char text[NAME_MOST];
  uint16_t row;
} compound_spelling;

static const compound_spelling compound[] = {
#define COMPOUND(text, row) {text, ROW_##row},
#include "units/spellings.def"
#undef COMPOUND
};

enum {
  SIMPLE_COUNT = sizeof simple / sizeof simple[0],
  COMPOUND_COUNT = sizeof compound / sizeof compound[0]
};

const fettle_unit *fettle_unit_at(size_t index) {
  return index > 0 && index < ROW_END ? &vocabulary[index] : NULL;
}

size_t fettle_unit_count(void) {
  return ROW_END - 1;
}

size_t fettle_units_partner(size_t index) {
  return index < ROW_END ? partners[index] : 0;
}

size_t fettle_units_difference_row(size_t index) {
  switch (index) {
  case ROW_DEGC:
    return ROW_DC;
  case ROW_DEGF:
    return ROW_DF;
  case ROW_DC:
    return ROW_DEGC;
  case ROW_DF:
    return ROW_DEGF;
  default:
    return 0;
  }
}

uint8_t fettle_units_currency(size_t index) {
  const fettle_unit *unit = fettle_unit_at(index);
  if (!unit || !(unit->dimension & MONEY_LANE)) {
    return 0;
  }
  for (int row = ROW_USD; row <= ROW_JPY; row++) {
    if (memcmp(unit->name, vocabulary[row].name, 3) == 0) {
      return (uint8_t)row;
    }
  }
  return 0;
}

/* Up to eight bytes as a number that orders as the bytes do. */
static uint64_t key(const char *text, size_t length) {
  uint64_t packed = 0;
  for (size_t i = 0; i < 8; i++) {
    packed = packed << 8 | (i < length ? (unsigned char)text[i] : 0u);
  }
  return packed;
}

size_t fettle_units_find_simple(const char *name, size_t length) {
  if (length == 0 || length > 8) {
    return 0;
  }
  const uint64_t wanted = key(name, length);
  size_t low = 0;
  size_t high = SIMPLE_COUNT;
  while (low < high) {
    const size_t middle = (low + high) / 2;
    const uint64_t here = key(simple[middle].text, 8);
    if (here == wanted) {
      return simple[middle].length == length ? simple[middle].row : 0;
    }
    if (here < wanted) {
      low = middle + 1;
    } else {
      high = middle;
    }
  }
  return 0;
}

size_t fettle_units_find_compound(const char *name, size_t length) {
  if (length == 0 || length >= NAME_MOST) {
    return 0;
  }
  size_t low = 0;
  size_t high = COMPOUND_COUNT;
  while (low < high) {
    const size_t middle = (low + high) / 2;
    int order = memcmp(compound[middle].text, name, length);
    if (order == 0 && compound[middle].text[length] != '\0') {
      order = 1;
    }
    if (order == 0) {
      return compound[middle].row;
    }
    if (order < 0) {
      low = middle + 1;
    } else {
      high = middle;
    }
  }
  return 0;
}

size_t fettle_unit_find(const char *name, size_t length) {
  const size_t row = fettle_units_find_simple(name, length);
  return row ? row : fettle_units_find_compound(name, length);
}

static char lower(char letter) {
  return letter >= 'A' && letter <= 'Z' ? (char)(letter - 'A' + 'a') : letter;
}

static bool same_letters(const char *name, size_t length, const char *word) {
  for (size_t i = 0; i < length; i++) {
    if (word[i] == '\0' || lower(name[i]) != lower(word[i])) {
      return false;
    }
  }
  return word[length] == '\0';
}

/* Words that people write for a unit, and the name they stand for. */
static const struct {
  const char *word;
  const char *name;
} habits_of_writing[] = {
    {"inches", "in"},
    {"feet", "ft"},
    {"foot", "ft"},
    {"yard", "yd"},
    {"yards", "yd"},
    {"mils", "mil"},
    {"thous", "thou"},
    {"micron", "um"},
    {"microns", "um"},
    {"metre", "m"},
    {"meter", "m"},
    {"meters", "m"},
    {"metres", "m"},
    {"millimeter", "mm"},
    {"millimetre", "mm"},
    {"pound", "lb"},
    {"pounds", "lb"},
    {"lbs", "lb"},
    {"ounce", "oz"},
    {"ounces", "oz"},
    {"fl", "floz"},
    {"fluidounce", "floz"},
    {"gram", "g"},
    {"grams", "g"},
    {"gm", "g"},
    {"kilo", "kg"},
    {"kilogram", "kg"},
    {"kgs", "kg"},
    {"ton", "shortton"},
    {"tons", "shortton"},
    {"tonne", "t"},
    {"gallon", "gal"},
    {"gallons", "gal"},
    {"quart", "qt"},
    {"pint", "pt"},
    {"litre", "L"},
    {"liter", "L"},
    {"litres", "L"},
    {"liters", "L"},
    {"l", "L"},
    {"sec", "s"},
    {"secs", "s"},
    {"second", "s"},
    {"seconds", "s"},
    {"mins", "min"},
    {"minute", "min"},
    {"minutes", "min"},
    {"hrs", "h"},
    {"hour", "h"},
    {"hours", "h"},
    {"days", "day"},
    {"week", "wk"},
    {"weeks", "wk"},
    {"C", "degC"},
    {"F", "degF"},
    {"celsius", "degC"},
    {"fahrenheit", "degF"},
    {"kelvin", "K"},
    {"degree", "deg"},
    {"degrees", "deg"},
    {"radian", "rad"},
    {"turn", "rev"},
    {"turns", "rev"},
    {"teeth", "tooth"},
    {"flutes", "flute"},
    {"plies", "ply"},
    {"passes", "pass"},
    {"pcs", "ea"},
    {"piece", "ea"},
    {"pieces", "ea"},
    {"each", "ea"},
    {"pct", "%"},
    {"newton", "N"},
    {"watt", "W"},
    {"joule", "J"},
    {"cps", "cP"},
    {"cfs", "cfm"},
    {"mph", "ft/min"},
    {"dollar", "USD"},
    {"dollars", "USD"},
    {"$", "USD"},
    {"sqft", "ft^2"},
    {"sf", "ft^2"},
    {"cu", "ft^3"},
    {"#", "lb"},
    {"inhg", "inHg"},
    {"equiv", "eq"},
    {"moles", "mol"},
};

enum { WORD_MOST = 16 };

/* Edits (insert, drop, change, swap of neighbours) that turn one word into the other. */
static size_t distance(const char *a, size_t a_length, const char *b, size_t b_length) {
  size_t row[3][WORD_MOST + 1];
  for (size_t j = 0; j <= b_length; j++) {
    row[0][j] = j;
  }
  for (size_t i = 1; i <= a_length; i++) {
    size_t *here = row[i % 3];
    const size_t *above = row[(i + 2) % 3];
    here[0] = i;
    for (size_t j = 1; j <= b_length; j++) {
      const size_t change = above[j - 1] + (a[i - 1] != b[j - 1]);
      size_t least = above[j] + 1 < here[j - 1] + 1 ? above[j] + 1 : here[j - 1] + 1;
      least = change < least ? change : least;
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        const size_t swap = row[(i + 1) % 3][j - 2] + 1;
        least = swap < least ? swap : least;
      }
      here[j] = least;
    }
  }
  return row[a_length % 3][b_length];
}

const char *fettle_unit_nearest(const char *name, size_t length) {
  if (length == 0 || length > WORD_MOST) {
    return NULL;
  }
  for (size_t i = 0; i < sizeof habits_of_writing / sizeof habits_of_writing[0]; i++) {
    if (same_letters(name, length, habits_of_writing[i].word)) {
      return habits_of_writing[i].name;
    }
  }
  for (size_t i = 0; i < SIMPLE_COUNT; i++) {
    if (same_letters(name, length, simple[i].text)) {
      return vocabulary[simple[i].row].name;
    }
  }
  const size_t allowed = length < 2 ? 0 : length < 6 ? 1 : 2;
  size_t best = allowed + 1;
  const char *nearest = NULL;
  for (size_t i = 0; i < SIMPLE_COUNT; i++) {
    if (simple[i].length < 2 || (unsigned char)simple[i].text[0] >= 0x80) {
      continue;
    }
    const size_t edits = distance(name, length, simple[i].text, simple[i].length);
    if (edits < best) {
      best = edits;
      nearest = vocabulary[simple[i].row].name;
    }
  }
  return nearest;
}
