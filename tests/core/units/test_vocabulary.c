/* The vocabulary is closed, sorted and consistent. */
#include "support/near.h"

#include <stdio.h>
#include <string.h>

#include "fettle/quantity.h"
#include "units/units.h"

static const char *const spellings[] = {
#define SIMPLE(text, row) text,
#define COMPOUND(text, row) text,
#include "units/spellings.def"
#undef SIMPLE
#undef COMPOUND
};

static void test_every_spelling_is_found(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof spellings / sizeof spellings[0]; i++) {
    if (fettle_unit_find(spellings[i], strlen(spellings[i])) == 0) {
      fail_msg("%s is not found: the list is not sorted by bytes", spellings[i]);
    }
  }
  assert_int_equal(fettle_unit_find("", 0), 0);
  assert_int_equal(fettle_unit_find("i", 1), 0);
  assert_int_equal(fettle_unit_find("oz/yd^", 6), 0);
  assert_null(fettle_unit_at(0));
  assert_null(fettle_unit_at(fettle_unit_count() + 1));
}

/* Each name, read as an expression, gives its own row; a compound's factor agrees with the product
 * of its parts, which is the second method for compound factors. */
static void test_rows_are_consistent(void **state) {
  (void)state;
  for (size_t i = 1; i <= fettle_unit_count(); i++) {
    const fettle_unit *unit = fettle_unit_at(i);
    assert_int_equal(fettle_unit_find(unit->name, strlen(unit->name)), i);
    assert_true(unit->meaning && unit->factor > 0.0);
    fettle_unit_expression read;
    fettle_diagnostic diagnostic;
    char longer[64];
    snprintf(longer, sizeof longer, "(%s)", unit->name);
    if (fettle_unit_parse(longer, strlen(longer), &read, &diagnostic) != FETTLE_OK) {
      fail_msg("%s", diagnostic.message);
    }
    assert_true(read.dimension == unit->dimension);
    assert_near(read.factor, unit->factor, 2e-15 * unit->factor, unit->name);
    const size_t partner = fettle_units_partner(i);
    if (unit->habit == FETTLE_HABIT_NONE) {
      assert_int_equal(partner, 0);
    } else {
      const fettle_unit *other = fettle_unit_at(partner);
      if (!other || other->dimension != unit->dimension || other->habit == unit->habit ||
          other->point != unit->point) {
        fail_msg("%s has no sound partner in the other habit", unit->name);
      }
    }
    if (unit->lua_name) {
      assert_int_equal(fettle_unit_find(unit->lua_name, strlen(unit->lua_name)), i);
    }
  }
}

static void test_nearest(void **state) {
  (void)state;
  static const char *const wanted[][2] = {{"tho", "thou"}, {"MM", "mm"},     {"inches", "in"},
                                          {"C", "degC"},   {"degf", "degF"}, {"gallons", "gal"},
                                          {"PSI", "psi"},  {"kpa", "kPa"},   {"hrs", "h"},
                                          {"mils", "mil"}, {"ozz", "oz"}};
  for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
    assert_string_equal(fettle_unit_nearest(wanted[i][0], strlen(wanted[i][0])), wanted[i][1]);
  }
  assert_null(fettle_unit_nearest("V", 1));
  assert_null(fettle_unit_nearest("furlong", 7));
}

/* Text of a dimension in base units is read back as the same dimension. */
static void test_base_text_is_read_back(void **state) {
  (void)state;
  for (size_t i = 1; i <= fettle_unit_count(); i++) {
    const fettle_unit *unit = fettle_unit_at(i);
    char text[160];
    fettle_units_base_text(unit->dimension, ROW_USD, text, sizeof text);
    if (text[0] == '\0') {
      continue;
    }
    fettle_unit_expression read;
    fettle_diagnostic diagnostic;
    assert_int_equal(fettle_unit_parse(text, strlen(text), &read, &diagnostic), FETTLE_OK);
    assert_true(read.dimension == unit->dimension);
    assert_near(read.factor, 1.0, 0.0, text);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_every_spelling_is_found),
      cmocka_unit_test(test_rows_are_consistent),
      cmocka_unit_test(test_nearest),
      cmocka_unit_test(test_base_text_is_read_back),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
