/* Quantities as a shop reads them. */
#include "support/near.h"

#include <locale.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "fettle/quantity.h"

static fettle_quantity read(const char *text) {
  fettle_quantity quantity = {0};
  fettle_diagnostic diagnostic;
  if (fettle_quantity_parse(text, strlen(text), FETTLE_ROLE_ANY, &quantity, &diagnostic) !=
      FETTLE_OK) {
    fail_msg("%s", diagnostic.message);
  }
  return quantity;
}

static void assert_shown(const fettle_quantity *quantity, fettle_habit habit, const char *want) {
  char text[200];
  fettle_quantity_format(quantity, fettle_unit_choose(quantity, habit), 6, text, sizeof text);
  assert_string_equal(text, want);
}

static void test_numbers(void **state) {
  (void)state;
  const struct {
    double value;
    int digits;
    const char *text;
  } wanted[] = {
      {0.0, 6, "0"},
      {-0.0, 6, "0"},
      {1.5, 6, "1.5"},
      {25.4, 17, "25.4"},
      {0.1, 17, "0.1"},
      {1.0 / 3.0, 6, "0.333333"},
      {1234567.0, 6, "1234570"},
      {100.0, 6, "100"},
      {1e6, 6, "1000000"},
      {-0.02, 6, "-0.02"},
      {0.00001, 6, "0.00001"},
      {6.12e-6, 6, "6.12e-6"},
      {6.02214076e23, 9, "6.02214076e23"},
      {9.9999999, 6, "10"},
      {1472.4, 4, "1472"},
      {0.1 + 0.2, 17, "0.30000000000000004"},
      {5e-324, 3, "4.94e-324"},
  };
  for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
    char text[48];
    const size_t length =
        fettle_number_format(wanted[i].value, wanted[i].digits, text, sizeof text);
    assert_string_equal(text, wanted[i].text);
    assert_int_equal(length, strlen(text));
  }
  char text[48];
  fettle_number_format((double)NAN, 6, text, sizeof text);
  assert_string_equal(text, "not a number");
}

static void test_comma_locale(void **state) {
  (void)state;
  /* only where such a locale is installed */
  static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "nl_NL.UTF-8"};
  bool set = false;
  for (size_t i = 0; i < sizeof names / sizeof names[0] && !set; i++) {
    set = setlocale(LC_NUMERIC, names[i]) != NULL;
  }
  if (!set) {
    skip();
  }
  char text[48];
  fettle_number_format(1.5, 6, text, sizeof text);
  const fettle_quantity quantity = read("1.00000000000000000000005 mm");
  setlocale(LC_NUMERIC, "C");
  assert_string_equal(text, "1.5");
  assert_near(quantity.value, 0.001, 0.0, "the same reading in every locale");
}

static void test_choice_by_habit(void **state) {
  (void)state;
  const struct {
    const char *text, *inch, *metric;
  } wanted[] = {
      {"20 mm", "0.787402 in", "20 mm"},
      {"20 thou", "20 thou", "0.508 mm"},
      {"5 mil", "5 mil", "127 um"},
      {"2 1/2 in", "2.5 in", "63.5 mm"},
      {"10 ft", "10 ft", "3.048 m"},
      {"75 degF", "75 degF", "23.8889 degC"},
      {"20 degC", "68 degF", "20 degC"},
      {"9 dF", "9 dF", "5 dC"},
      {"500 g", "500 g", "500 g"},
      {"2 kg", "4.40925 lb", "2 kg"},
      {"100 kPa", "14.5038 psi", "100 kPa"},
      {"25 inHg", "25 inHg", "84.6597 kPa"},
      {"6 oz/yd^2", "6 oz/yd^2", "203.434 g/m^2"},
      {"100 in/min", "100 in/min", "2540 mm/min"},
      {"1200 ft/min", "1200 ft/min", "365.76 m/min"},
      {"5 gal", "5 gal", "18.9271 L"},
      {"3 h 20 min", "200 min", "200 min"},
      {"1000 rpm", "1000 rpm", "1000 rpm"},
      {"40 EUR/kg", "18.1437 EUR/lb", "40 EUR/kg"},
      {"10 %", "10 %", "10 %"},
  };
  for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
    const fettle_quantity quantity = read(wanted[i].text);
    assert_shown(&quantity, FETTLE_HABIT_INCH, wanted[i].inch);
    assert_shown(&quantity, FETTLE_HABIT_METRIC, wanted[i].metric);
  }
}

static void test_choice_without_a_unit(void **state) {
  (void)state;
  const struct {
    const char *text, *inch, *metric;
  } wanted[] = {
      {"0.02 in", "20 thou", "0.508 mm"},
      {"2 in", "2 in", "50.8 mm"},
      {"0 in", "0 in", "0 mm"},
      {"3 ft^2", "3 ft^2", "0.278709 m^2"},
      {"0.5 lb", "8 oz", "226.796 g"},
      {"3 lb", "3 lb", "1360.78 g"},
      {"2 gal", "2 gal", "7.57082 L"},
      {"8 floz", "8 floz", "236.588 mL"},
      {"14.7 psi", "14.7 psi", "101.353 kPa"},
      {"2 h", "2 h", "2 h"},
      {"40 min", "40 min", "40 min"},
      {"20 degC", "68 degF", "20 degC"},
      {"3 USD/h", "3 USD/h", "3 USD/h"},
      {"7 EUR", "7 EUR", "7 EUR"},
      {"7 m^5", "7 m^5", "7 m^5"},
      {"2 pcf", "2 lb/ft^3", "32.0369 kg/m^3"},
  };
  for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
    fettle_quantity quantity = read(wanted[i].text);
    quantity.unit = 0;
    assert_shown(&quantity, FETTLE_HABIT_INCH, wanted[i].inch);
    assert_shown(&quantity, FETTLE_HABIT_METRIC, wanted[i].metric);
  }
}

static void test_fractions(void **state) {
  (void)state;
  const double inch = 0.0254;
  const struct {
    double inches;
    unsigned denominator;
    const char *text;
    double error; /* inches, shown minus true */
  } wanted[] = {
      {2.5, 64, "2 1/2 in", 0.0},
      {1.999, 64, "2 in", 0.001}, /* carries */
      {-1.999, 64, "-2 in", -0.001},
      {0.02, 64, "1/64 in", -0.004375},
      {-1.0 / 64, 64, "-1/64 in", 0.0},
      {0.001, 64, "0 in", -0.001},
      {-0.001, 64, "0 in", 0.001},
      {19 / 25.4, 16, "3/4 in", 0.75 - 19 / 25.4}, /* 19 mm: +2.0 thou */
      {0.75, 64, "3/4 in", 0.0},
      {5.6875, 32, "5 11/16 in", 0.0},
      {3.34375, 128, "3 11/32 in", 0.0},
      {0.25, 2, "1/2 in", 0.25}, /* an exact half goes up */
      {48.0, 8, "48 in", 0.0},
  };
  for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
    char text[64];
    double error;
    fettle_diagnostic diagnostic;
    assert_int_equal(fettle_fraction_format(wanted[i].inches * inch, wanted[i].denominator, text,
                                            sizeof text, &error, &diagnostic),
                     FETTLE_OK);
    assert_string_equal(text, wanted[i].text);
    assert_near(error / inch, wanted[i].error, 1e-12, "shown minus true");
  }
  char text[64];
  fettle_diagnostic diagnostic;
  assert_int_equal(fettle_fraction_format(1.0, 12, text, sizeof text, NULL, &diagnostic),
                   FETTLE_ERROR_RANGE);
  assert_int_equal(fettle_fraction_format((double)NAN, 64, text, sizeof text, NULL, &diagnostic),
                   FETTLE_ERROR_ARGUMENT);
}

/* All multiples of 1/64 in up to 100 in come out as themselves through metres. */
static void test_fractions_round_trip(void **state) {
  (void)state;
  for (unsigned i = 1; i <= 6400; i++) {
    char text[64];
    double error;
    fettle_diagnostic diagnostic;
    assert_int_equal(
        fettle_fraction_format(i * 0.0254 / 64, 64, text, sizeof text, &error, &diagnostic),
        FETTLE_OK);
    const fettle_quantity back = read(text);
    assert_near(back.value, i * 0.0254 / 64, 1e-15, text);
  }
}

/* Text at seventeen digits is read back as the same value to the tolerance of comparison. */
static void test_text_round_trip(void **state) {
  (void)state;
  for (size_t i = 1; i <= fettle_unit_count(); i++) {
    fettle_quantity quantity = {0};
    fettle_quantity back;
    fettle_diagnostic diagnostic;
    assert_int_equal(fettle_quantity_make(12.3456789, fettle_unit_at(i)->name, FETTLE_ROLE_ANY,
                                          &quantity, &diagnostic),
                     FETTLE_OK);
    char text[100];
    fettle_quantity_format(&quantity, i, 12, text, sizeof text);
    back = read(text);
    assert_true(back.dimension == quantity.dimension);
    assert_near(back.value, quantity.value, 1e-11 * fabs(quantity.value), text);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_numbers),         cmocka_unit_test(test_comma_locale),
      cmocka_unit_test(test_choice_by_habit), cmocka_unit_test(test_choice_without_a_unit),
      cmocka_unit_test(test_fractions),       cmocka_unit_test(test_fractions_round_trip),
      cmocka_unit_test(test_text_round_trip),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
