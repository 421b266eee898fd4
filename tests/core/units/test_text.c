/* Quantities as text: what is read, and what is refused where and how. */
#include "support/near.h"

#include <math.h>
#include <string.h>

#include "fettle/quantity.h"

#define DEFINITIONS "exact definitions: inch 0.0254 m, pound 0.45359237 kg, gallon 231 in^3"

typedef struct reading {
  const char *text;
  double value; /* SI */
  const char *dimension;
} reading;

static void assert_reads(const reading *wanted) {
  fettle_quantity got;
  fettle_diagnostic diagnostic = {0};
  char name[80];
  if (fettle_quantity_parse(wanted->text, strlen(wanted->text), FETTLE_ROLE_ANY, &got,
                            &diagnostic) != FETTLE_OK) {
    fail_msg("%s: %s", wanted->text, diagnostic.message);
  }
  assert_near(got.value, wanted->value, 4e-16 * fabs(wanted->value), wanted->text);
  fettle_dimension_name(got.dimension, name, sizeof name);
  assert_string_equal(name, wanted->dimension);
}

static void assert_refused(const char *text, fettle_status status, size_t column,
                           const char *part) {
  fettle_quantity got;
  fettle_diagnostic diagnostic = {0};
  const fettle_status answer =
      fettle_quantity_parse(text, strlen(text), FETTLE_ROLE_ANY, &got, &diagnostic);
  if (answer != status || diagnostic.column != column || !strstr(diagnostic.message, part)) {
    fail_msg("%s: status %d, column %zu, message %s", text, (int)answer, diagnostic.column,
             diagnostic.message);
  }
}

/* The twelve texts that common unit libraries read wrongly; what is wanted follows from the
 * definitions of the units. */
static void test_twelve_traps(void **state) {
  (void)state;
  const reading wanted[] = {
      {"2 1/2 in", 0.0635, "length"},
      {"1/2 in", 0.0127, "length"},
      {"3 ft 4 in", 40 * 0.0254, "length"},
      {"75 degF", (75 + 459.67) * 5 / 9, "temperature"},
      {"20 mil", 0.000508, "length"},
      {"6 oz/yd^2", 6 * 0.028349523125 / 0.83612736, "areal mass"},
      {"5 gal", 0.01892705892, "volume"},
      {"10 %", 0.1, "plain number"},
      {"1000 rpm", 1000.0 / 60.0, "frequency"},
  };
  for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
    assert_reads(&wanted[i]);
  }
  assert_refused("1,5 mm", FETTLE_ERROR_TEXT, 2, "point");
  assert_refused("10 W/m K", FETTLE_ERROR_TEXT, 8, "brackets");
  assert_refused("3 m/s s", FETTLE_ERROR_TEXT, 7, "brackets");
}

static void test_trade_texts(void **state) {
  (void)state;
  const double lbf = 4.4482216152605; /* N: pound times standard fall */
  const reading wanted[] = {
      {"2-1/2 in", 0.0635, "length"},
      {"-2-1/2 in", -0.0635, "length"},
      {"5' 6 1/2\"", 66.5 * 0.0254, "length"},
      {"5'-6 1/2\"", 66.5 * 0.0254, "length"},
      {"5'6\"", 66 * 0.0254, "length"},
      {"- 5' 6\"", -66 * 0.0254, "length"},
      {"5ft2in", 62 * 0.0254, "length"},
      {"6 lb 4 oz", 6.25 * 0.45359237, "mass"},
      {"3 h 20 min", 12000, "time"},
      {"1 h 2 min 3 s", 3723, "time"},
      {"1/2in", 0.0127, "length"},
      {"3/2 in", 0.0381, "length"},
      {"30thou", 0.000762, "length"},
      {"100 in/min", 2.54 / 60, "speed"},
      {"100 ipm", 2.54 / 60, "speed"},
      {"600 sfm", 600 * 0.3048 / 60, "speed"},
      {"185 g/eq", 0.185, "mass per amount"},
      {"60 kJ/mol", 60000, "energy per amount"},
      {"1/K", 1, "per temperature"},
      {"2.3e-5 1/K", 2.3e-5, "per temperature"},
      {"2.3e-5/K", 2.3e-5, "per temperature"},
      {"10 W/(m K)", 10, "thermal conductivity"},
      {"10 W/m/K", 10, "thermal conductivity"},
      {"10 W/(m*K)", 10, "thermal conductivity"},
      {"3 m^2", 3, "area"},
      {"3 m2", 3, "area"},
      {"3 m\302\262", 3, "area"},
      {"2 lb/ft^3", 2 * 0.45359237 / 0.028316846592, "density"},
      {"2 pcf", 2 * 0.45359237 / 0.028316846592, "density"},
      {"2 lb/ft3", 2 * 0.45359237 / 0.028316846592, "density"},
      {"250 ft^2/gal", 250 * 0.09290304 / 0.003785411784, "area per volume"},
      {"40 USD", 40, "money"},
      {"40 USD/kg", 40, "money per mass"},
      {"36 USD/h", 0.01, "money per time"},
      {"2 degC/min", 2.0 / 60, "rate of heating"},
      {"45 deg", 0.78539816339744831, "angle"},
      {"14.7 psi", 14.7 * lbf / 0.00064516, "pressure"},
      {"12", 12, "plain number"},
      {"1/2", 0.5, "plain number"},
      {".5 in", 0.0127, "length"},
      {"1.5e3 mm", 1.5, "length"},
      {"  5 mm  ", 0.005, "length"},
      {"5 \302\265m", 5e-6, "length"},
      {"20 \302\260C", 293.15, "temperature"},
      {"4 inH2O", 4 * 249.08891, "pressure"},
      {"100 phr", 1, "plain number"},
      {"250 ppm", 0.00025, "plain number"},
      {"3 MPa m^(1/2)", 3e6, "fracture toughness"},
  };
  for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
    assert_reads(&wanted[i]);
  }
}

static void test_refusals(void **state) {
  (void)state;
  assert_refused("12 V", FETTLE_ERROR_TEXT, 4, "electrical");
  assert_refused("3 tho", FETTLE_ERROR_TEXT, 3, "'thou'");
  assert_refused("3 MM", FETTLE_ERROR_TEXT, 3, "'mm'");
  assert_refused("20 F", FETTLE_ERROR_TEXT, 4, "'degF'");
  assert_refused("6 fl oz", FETTLE_ERROR_TEXT, 3, "'floz'");
  assert_refused("5 lbs", FETTLE_ERROR_TEXT, 3, "'lb'");
  assert_refused("2 3/2 in", FETTLE_ERROR_TEXT, 3, "below 1");
  assert_refused("2 1/0 in", FETTLE_ERROR_TEXT, 5, "denominator");
  assert_refused("2.5 1/2 in", FETTLE_ERROR_TEXT, 5, "whole number");
  assert_refused("0x10 mm", FETTLE_ERROR_TEXT, 1, "hexadecimal");
  assert_refused("nan mm", FETTLE_ERROR_TEXT, 1, "number must come first");
  assert_refused("inf mm", FETTLE_ERROR_TEXT, 1, "number must come first");
  assert_refused("1e999 mm", FETTLE_ERROR_RANGE, 1, "too large");
  assert_refused("1e306 km", FETTLE_ERROR_RANGE, 1, "too large");
  assert_refused("1e-999 mm", FETTLE_ERROR_RANGE, 1, "too small");
  assert_refused("1,000 mm", FETTLE_ERROR_TEXT, 2, "comma");
  assert_refused("1 000 mm", FETTLE_ERROR_TEXT, 3, "without a unit");
  assert_refused("2-3 in", FETTLE_ERROR_TEXT, 2, "range");
  assert_refused("3 mm)", FETTLE_ERROR_TEXT, 5, "nothing may follow");
  assert_refused("3 (mm", FETTLE_ERROR_TEXT, 6, "not closed");
  assert_refused("3 mm; x", FETTLE_ERROR_TEXT, 5, "nothing may follow");
  assert_refused("5 degF^2", FETTLE_ERROR_TEXT, 7, "dF");
  assert_refused("-500 degF", FETTLE_ERROR_RANGE, 1, "absolute zero");
  assert_refused("3 ft 1 kg", FETTLE_ERROR_DIMENSION, 6, "one kind");
  assert_refused("3 in 4 ft", FETTLE_ERROR_TEXT, 6, "smaller unit");
  assert_refused("3 ft 4", FETTLE_ERROR_TEXT, 6, "no unit");
  assert_refused("5 degC 3 degC", FETTLE_ERROR_DIMENSION, 8, "one part");
  assert_refused("3 USD/EUR", FETTLE_ERROR_DIMENSION, 7, "currencies");
  assert_refused("", FETTLE_ERROR_TEXT, 1, "number must come first");
  assert_refused("-", FETTLE_ERROR_TEXT, 2, "number must come first");
  assert_refused("3 m^99", FETTLE_ERROR_TEXT, 5, "exponent");
  assert_refused("3 m^0", FETTLE_ERROR_TEXT, 4, "exponent");
  assert_refused("3 in\"", FETTLE_ERROR_TEXT, 5, "nothing may follow");
}

static fettle_quantity in_role(const char *text, fettle_role role) {
  fettle_quantity got = {0};
  fettle_diagnostic diagnostic;
  if (fettle_quantity_parse(text, strlen(text), role, &got, &diagnostic) != FETTLE_OK) {
    fail_msg("%s", diagnostic.message);
  }
  return got;
}

static void test_roles_of_temperature(void **state) {
  (void)state;
  fettle_quantity got = in_role("300 K", FETTLE_ROLE_POINT);
  assert_int_equal(got.flags, FETTLE_QUANTITY_POINT);
  assert_near(got.value, 300.0, 0.0, "kelvin is absolute where a temperature is due");
  got = in_role("300 K", FETTLE_ROLE_ANY);
  assert_int_equal(got.flags, 0);
  got = in_role("9 degF", FETTLE_ROLE_DIFFERENCE);
  assert_int_equal(got.flags, 0);
  assert_near(got.value, 5.0, 1e-15, "a step of 9 degrees Fahrenheit is 5 K");
  fettle_diagnostic diagnostic;
  assert_int_equal(fettle_quantity_parse("5 dF", 4, FETTLE_ROLE_POINT, &got, &diagnostic),
                   FETTLE_ERROR_DIMENSION);
  assert_int_equal(fettle_quantity_make((double)NAN, "mm", FETTLE_ROLE_ANY, &got, &diagnostic),
                   FETTLE_ERROR_ARGUMENT);
}

static void test_numbers(void **state) {
  (void)state;
  /* halfway and long cases of decimal conversion: the compiler's own reading is the second method
   */
  const struct {
    const char *text;
    double value;
  } wanted[] = {
      {"0.1", 0.1},
      {"9007199254740993", 9007199254740993.0},
      {"1.7976931348623157e308", 1.7976931348623157e308},
      {"2.2250738585072011e-308", 2.2250738585072011e-308},
      {"123456789012345678901234567890", 123456789012345678901234567890.0},
      {"0.000000000000000000000000000001234567890123456789", 1.234567890123456789e-30},
      {"6.02214076e23", 6.02214076e23},
      {"8.31446261815324", 8.31446261815324},
      {"-12.5", -12.5},
      {"000012", 12.0},
  };
  for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
    double got = 0.0;
    fettle_diagnostic diagnostic;
    assert_int_equal(fettle_number_parse(wanted[i].text, strlen(wanted[i].text), &got, &diagnostic),
                     FETTLE_OK);
    assert_near(got, wanted[i].value, 0.0, wanted[i].text);
  }
  static const char *const refused[] = {"",    "-",  "1,5", "1.5 ", " 1",  "0x10",
                                        "nan", "1e", "1.",  "--1",  "inf", "1e999"};
  for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
    double got;
    fettle_diagnostic diagnostic;
    const fettle_status status =
        fettle_number_parse(refused[i], strlen(refused[i]), &got, &diagnostic);
    if (strcmp(refused[i], "1.") == 0) {
      assert_int_equal(status, FETTLE_OK);
    } else if (status == FETTLE_OK) {
      fail_msg("%s was read", refused[i]);
    }
  }
}

static void test_hostile_bytes(void **state) {
  (void)state;
  fettle_quantity got;
  fettle_diagnostic diagnostic;
  char text[600];
  memset(text, '9', sizeof text);
  assert_int_equal(fettle_quantity_parse(text, sizeof text, FETTLE_ROLE_ANY, &got, &diagnostic),
                   FETTLE_ERROR_TEXT);
  memset(text, '(', sizeof text);
  text[0] = '1';
  text[1] = ' ';
  assert_int_equal(fettle_quantity_parse(text, sizeof text, FETTLE_ROLE_ANY, &got, &diagnostic),
                   FETTLE_ERROR_TEXT);
  assert_int_equal(fettle_quantity_parse("5 m\0m", 5, FETTLE_ROLE_ANY, &got, &diagnostic),
                   FETTLE_ERROR_TEXT);
  assert_int_equal(fettle_quantity_parse("5 \xff\xfe", 4, FETTLE_ROLE_ANY, &got, &diagnostic),
                   FETTLE_ERROR_TEXT);
  assert_non_null(strchr(diagnostic.message, '?'));
  assert_null(strchr(diagnostic.message, '\xff'));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_twelve_traps), cmocka_unit_test(test_trade_texts),
      cmocka_unit_test(test_refusals),     cmocka_unit_test(test_roles_of_temperature),
      cmocka_unit_test(test_numbers),      cmocka_unit_test(test_hostile_bytes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
