/* Conversion factors against the definitions and against the seven printed digits of NIST Special
 * Publication 811, appendix B.8. */
#include "support/near.h"

#include <math.h>
#include <string.h>

#include "fettle/quantity.h"

#define SP811 "NIST Special Publication 811, appendix B.8"
#define EXACT "from the definitions of inch, pound, standard fall, gallon, BTU"

static double number(const char *text, fettle_role role, const char *unit) {
  fettle_quantity quantity = {0};
  fettle_diagnostic diagnostic;
  double got = (double)NAN;
  if (fettle_quantity_parse(text, strlen(text), role, &quantity, &diagnostic) != FETTLE_OK ||
      fettle_quantity_number(&quantity, unit, &got, &diagnostic) != FETTLE_OK) {
    fail_msg("%s", diagnostic.message);
  }
  return got;
}

typedef struct row {
  const char *text;
  const char *unit;
  double value;
  double relative; /* half a unit of the last digit given, relative to the value */
} row;

static void check(const row *rows, size_t count, const char *source) {
  for (size_t i = 0; i < count; i++) {
    const double got = number(rows[i].text, FETTLE_ROLE_ANY, rows[i].unit);
    if (!(fabs(got - rows[i].value) <= rows[i].relative * fabs(rows[i].value))) {
      fail_msg("%s: %.17g %s, want %.17g (%s)", rows[i].text, got, rows[i].unit, rows[i].value,
               source);
    }
  }
}

static void test_exact_factors(void **state) {
  (void)state;
  const row rows[] = {
      {"1 in", "m", 0.0254, 4e-16},
      {"1 mil", "m", 2.54e-5, 4e-16},
      {"1 thou", "m", 2.54e-5, 4e-16},
      {"1 ft", "m", 0.3048, 4e-16},
      {"1 yd", "m", 0.9144, 4e-16},
      {"1 in^2", "m^2", 6.4516e-4, 4e-16},
      {"1 ft^2", "m^2", 0.09290304, 4e-16},
      {"1 yd^2", "m^2", 0.83612736, 4e-16},
      {"1 in^3", "m^3", 1.6387064e-5, 4e-16},
      {"1 ft^3", "m^3", 0.028316846592, 4e-16},
      {"1 bdft", "m^3", 0.002359737216, 4e-16},
      {"1 gal", "m^3", 0.003785411784, 4e-16},
      {"1 qt", "m^3", 9.46352946e-4, 4e-16},
      {"1 pt", "m^3", 4.73176473e-4, 4e-16},
      {"1 cup", "m^3", 2.365882365e-4, 4e-16},
      {"1 floz", "m^3", 2.95735295625e-5, 4e-16},
      {"1 impgal", "m^3", 0.00454609, 4e-16},
      {"1 impfloz", "m^3", 2.84130625e-5, 4e-16},
      {"1 oz/yd^2", "kg/m^2", 0.03390574747, 1.5e-10},
      {"1 oz/ft^2", "kg/m^2", 0.3051517273, 1e-10},
      {"1 lb/ft^2", "kg/m^2", 4.882427636, 1e-10},
      {"1 lb/ft^3", "kg/m^3", 16.01846337, 4e-10},
      {"1 lb/gal", "kg/m^3", 119.8264273, 5e-10},
      {"1 oz/gal", "kg/m^3", 7.489151707, 1e-10},
      {"1 ft^2/gal", "m^2/L", 0.02454238675, 3e-10},
      {"1 lb", "kg", 0.45359237, 4e-16},
      {"1 oz", "kg", 0.028349523125, 4e-16},
      {"1 lbf", "N", 4.4482216152605, 4e-16},
      {"1 psi", "Pa", 6894.757293168, 1e-13},
      {"1 lbf/ft^2", "Pa", 47.88025898, 1e-10},
      {"1 inHg", "Pa", 3386.388640341, 1e-13},
      {"1 mmHg", "Pa", 133.322387415, 4e-16},
      {"1 torr", "Pa", 133.322368421, 1e-11},
      {"1 inH2O", "Pa", 249.08891, 4e-16},
      {"1 atm", "Pa", 101325, 4e-16},
      {"1 BTU", "J", 1055.05585262, 4e-16},
      {"1 BTU/h", "W", 0.29307107, 2e-8},
      {"1 hp", "W", 745.69987158, 7e-12},
      {"1 ft/min", "m/s", 0.00508, 4e-16},
      {"1 in/min", "m/s", 4.23333e-4, 2e-6},
      {"1 cfm", "m^3/s", 4.719474432e-4, 4e-16},
      {"1 lbf ft", "N m", 1.355817948, 3e-10},
      {"1 lbf in", "N m", 0.112984829, 5e-9},
      {"9 dF", "K", 5, 4e-16},
      {"1 h ft^2 degF/BTU", "m^2 K/W", 0.1761101837, 2e-10},
      {"1 BTU in/(h ft^2 degF)", "W/(m K)", 0.1442278889, 3e-10},
      {"1604.1667 ft^2/gal", "1/mil", 1, 3e-8}, /* a gallon one mil thick */
  };
  check(rows, sizeof rows / sizeof rows[0], EXACT);
}

static void test_printed_factors(void **state) {
  (void)state;
  const double seven = 5e-7; /* at least half a unit of the seventh digit */
  const row rows[] = {
      {"1 in", "m", 2.54e-2, seven},         {"1 mil", "m", 2.54e-5, seven},
      {"1 ft", "m", 3.048e-1, seven},        {"1 yd", "m", 9.144e-1, seven},
      {"1 gal", "m^3", 3.785412e-3, seven},  {"1 qt", "m^3", 9.463529e-4, seven},
      {"1 pt", "m^3", 4.731765e-4, seven},   {"1 cup", "m^3", 2.365882e-4, seven},
      {"1 floz", "m^3", 2.957353e-5, seven}, {"1 lb", "kg", 4.535924e-1, seven},
      {"1 oz", "kg", 2.834952e-2, seven},    {"1 lbf", "N", 4.448222, seven},
      {"1 psi", "Pa", 6.894757e3, seven},    {"1 inHg", "Pa", 3.386389e3, seven},
      {"1 mmHg", "Pa", 1.333224e2, seven},   {"1 torr", "Pa", 1.333224e2, seven},
      {"1 inH2O", "Pa", 2.490889e2, seven},  {"1 BTU", "J", 1.055056e3, seven},
      {"1 hp", "W", 7.456999e2, seven},
  };
  check(rows, sizeof rows / sizeof rows[0], SP811);
}

static void test_shop_conversions(void **state) {
  (void)state;
  const row rows[] = {
      {"1 psi", "kPa", 6.894757293, 1e-9},    {"1 inHg", "kPa", 3.386388640, 1e-9},
      {"1 atm", "kPa", 101.325, 1e-9},        {"100 dF", "K", 55.5556, 1e-6},
      {"6 oz/yd^2", "g/m^2", 203.434, 1e-5},  {"7.5 oz/yd^2", "g/m^2", 254.293, 1e-5},
      {"10 oz/yd^2", "g/m^2", 339.057, 1e-5}, {"1.5 oz/ft^2", "g/m^2", 457.728, 1e-5},
      {"2 lb/ft^3", "kg/m^3", 32.0369, 1e-5}, {"10 lb/gal", "kg/m^3", 1198.264, 1e-6},
      {"8 bdft", "m^3", 0.018877898, 3e-8},   {"3 hp", "W", 2237.0996, 1e-7},
      {"29.92 inHg", "kPa", 101.3207, 1e-5},  {"3.4e-6 1/degF", "1/K", 6.12e-6, 1e-12},
      {"1 floz", "mL", 29.5735, 1e-5},        {"1 impfloz", "mL", 28.4131, 1e-5},
      {"1 gal", "cc", 3785.411784, 1e-12},
  };
  check(rows, sizeof rows / sizeof rows[0], EXACT);
  const row temperatures[] = {
      {"68 degF", "degC", 20, 0},        {"250 degF", "degC", 121.1111, 0},
      {"350 degF", "degC", 176.6667, 0}, {"-40 degF", "degC", -40, 0},
      {"77 degF", "degC", 25, 0},        {"32 degF", "degC", 0, 0},
      {"20 degC", "degF", 68, 0},        {"75 degF", "K", 297.0388889, 0},
  };
  for (size_t i = 0; i < sizeof temperatures / sizeof temperatures[0]; i++) {
    assert_near(number(temperatures[i].text, FETTLE_ROLE_POINT, temperatures[i].unit),
                temperatures[i].value, 1e-4, temperatures[i].text);
  }
  /* one gallon at 5 mil wet without loss covers 320.833 ft^2 */
  assert_near(number("1 gal", FETTLE_ROLE_ANY, "m^3") / number("5 mil", FETTLE_ROLE_ANY, "m") /
                  number("1 ft^2", FETTLE_ROLE_ANY, "m^2"),
              320.833, 320.833e-5, EXACT);
  /* 25 inHg of vacuum below 101.325 kPa */
  assert_near(101.325 - number("25 inHg", FETTLE_ROLE_ANY, "kPa"), 16.6653, 1e-4, EXACT);
}

static void test_cutting_speed_of_half_an_inch(void **state) {
  (void)state;
  /* a revolution is 1: pi * 0.5 in * 9167 rpm is 1200 ft/min and not 7540 */
  const double speed = 3.14159265358979323846 * number("0.5 in", FETTLE_ROLE_ANY, "m") *
                       number("9167 rpm", FETTLE_ROLE_ANY, "1/s") /
                       number("1 ft/min", FETTLE_ROLE_ANY, "m/s");
  assert_near(speed, 1200.0, 0.1, "V = pi D n, common practice");
}

static void test_wrong_dimension(void **state) {
  (void)state;
  fettle_quantity quantity;
  fettle_diagnostic diagnostic;
  double got;
  assert_int_equal(fettle_quantity_make(3.0, "kg", FETTLE_ROLE_ANY, &quantity, &diagnostic),
                   FETTLE_OK);
  assert_int_equal(fettle_quantity_number(&quantity, "mm", &got, &diagnostic),
                   FETTLE_ERROR_DIMENSION);
  assert_string_equal(diagnostic.message, "3 kg (mass) cannot be given in mm (length)");
  assert_int_equal(fettle_quantity_make(3.0, "USD", FETTLE_ROLE_ANY, &quantity, &diagnostic),
                   FETTLE_OK);
  assert_int_equal(fettle_quantity_number(&quantity, "EUR", &got, &diagnostic),
                   FETTLE_ERROR_DIMENSION);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_exact_factors),    cmocka_unit_test(test_printed_factors),
      cmocka_unit_test(test_shop_conversions), cmocka_unit_test(test_cutting_speed_of_half_an_inch),
      cmocka_unit_test(test_wrong_dimension),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
