#include "support/near.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "fettle/formula.h"

/* ISO C has no names for these. */
static const double PI = 3.14159265358979323846;
static const double EULER = 2.71828182845904523536;
static const double LN_10 = 2.30258509299404568402;

static fettle_diagnostic diagnostic;
static double rounding;
static fettle_quantity result;

static fettle_symbol given(const char *name, double number, const char *unit) {
  fettle_symbol symbol = {.name = name, .length = strlen(name)};
  if (strcmp(unit, "1") == 0) {
    symbol.value = (fettle_quantity){.value = number, .magic = FETTLE_QUANTITY_MAGIC};
  } else {
    fettle_quantity_make(number, unit, FETTLE_ROLE_ANY, &symbol.value, NULL);
  }
  return symbol;
}

static size_t fill(fettle_symbol *symbols) {
  symbols[0] = given("a", 6, "mm");
  symbols[1] = given("b", 2, "mm");
  symbols[2] = given("n", 3, "1");
  symbols[3] = given("t", 30, "deg");
  symbols[4] = given("T", 20, "degC");
  symbols[5] = given("m", 4, "kg");
  return 6;
}

static fettle_status evaluate(const char *text) {
  fettle_symbol symbols[16];
  double roundings[16];
  size_t count = fill(symbols);
  diagnostic = (fettle_diagnostic){0};
  fettle_status status =
      fettle_expression_evaluate(text, symbols, &count, 16, roundings, &diagnostic);
  if (status == FETTLE_OK) {
    result = symbols[count - 1].value;
    rounding = roundings[count - 1];
  }
  return status;
}

static void gives(const char *text, double want, double tolerance) {
  if (evaluate(text) != FETTLE_OK) {
    fail_msg("%s: %s", text, diagnostic.message);
  }
  assert_near(result.value, want, tolerance, text);
}

static void refuses(const char *text, fettle_status status, size_t column, const char *message) {
  assert_int_equal(evaluate(text), status);
  assert_string_equal(diagnostic.message, message);
  assert_int_equal(diagnostic.column, column);
}

static void arithmetic(void **state) {
  (void)state;
  gives("x = 1 + 2 * 3 ^ 2", 19, 0);
  gives("x = -2^2", -4, 0);
  gives("x = 2^3^2", 512, 0);
  gives("x = 2^-1", 0.5, 0);
  gives("x = 8 / 4 / 2", 1, 0);
  gives("x = 7 - 2 - 1", 4, 0);
  gives("x = (1.5e1 + .5) * 2.", 31, 0);
  gives("y = a - b; x = y / b", 2, 1e-15);
  gives("x = sqrt(a^2 + b^2)", 0.006324555320336759, 1e-17);
  assert_int_equal(fettle_dimension_twelfths(result.dimension, FETTLE_BASE_LENGTH), 12);
  gives("x = sqrt(a)", sqrt(0.006), 1e-16);
  assert_int_equal(fettle_dimension_twelfths(result.dimension, FETTLE_BASE_LENGTH), 6);
  gives("x = exp(1) + ln(10) + log10(1000)", EULER + LN_10 + 3, 1e-14);
  gives("x = floor(2.7) + ceil(2.1) + abs(-1.5)", 6.5, 0);
  gives("x = min(a, b) / max(b, a, b)", 1.0 / 3, 1e-15);
  gives("x = 2 * pi", 2 * PI, 0);
}

static void angles(void **state) {
  (void)state;
  gives("x = sin(t)", 0.5, 1e-15);
  gives("x = cos(2 * t) + tan(t)^2", 0.5 + 1.0 / 3, 1e-15);
  gives("x = asin(0.5) + acos(0.5) + atan(1)", PI * 0.75, 1e-15);
  assert_int_equal(fettle_dimension_twelfths(result.dimension, FETTLE_BASE_ANGLE), 12);
  gives("x = a * radians(t)", 0.006 * PI / 6, 1e-17);
  assert_int_equal(fettle_dimension_twelfths(result.dimension, FETTLE_BASE_ANGLE), 0);
  gives("x = sin(angle(pi / 2))", 1, 0);
}

static void temperatures_are_absolute(void **state) {
  (void)state;
  gives("x = T * n", 3 * 293.15, 1e-12);
}

static void choices(void **state) {
  (void)state;
  gives("x = choose(a > b, 1, 1 / 0)", 1, 0);
  gives("x = choose(a < b, sqrt(0 - 1), choose(a == b, 1, 2))", 2, 0);
  gives("x = choose(n >= 3, a, b)", 0.006, 0);
  gives("x = choose(n != 3, a, b)", 0.002, 0);
  gives("x = choose(n <= 2, max(ln(0 - 1), 1), 5)", 5, 0);
}

static void refusals(void **state) {
  (void)state;
  refuses("x = a + c", FETTLE_ERROR_TEXT, 9,
          "column 9: unknown symbol 'c'; the nearest known one is 'a'");
  refuses("x = a b", FETTLE_ERROR_TEXT, 7,
          "column 7: unexpected text at 'b'; a product needs * between its factors");
  refuses("x = 2a", FETTLE_ERROR_TEXT, 6, "column 6: write * between a number and a symbol");
  refuses("x = a (b)", FETTLE_ERROR_TEXT, 5,
          "column 5: unknown function 'a'; a product needs * between its factors");
  refuses("x = (a + b", FETTLE_ERROR_TEXT, 11,
          "column 11: ')' is missing after the bracket's value");
  refuses("x = ", FETTLE_ERROR_TEXT, 5, "column 5: the text ends where a value is due");
  refuses("a + b", FETTLE_ERROR_TEXT, 1, "column 1: a statement is written symbol = expression");
  refuses("x = a;", FETTLE_ERROR_TEXT, 7, "column 7: a statement is written symbol = expression");
  refuses("a = b", FETTLE_ERROR_TEXT, 1, "column 1: the symbol 'a' has a value already");
  refuses("pi = 3", FETTLE_ERROR_TEXT, 1,
          "column 1: the name 'pi' belongs to the formula language");
  refuses("x = ln(a)", FETTLE_ERROR_DIMENSION, 5,
          "column 5: ln needs a plain number and got length: divide it by a like value");
  refuses("x = sin(n)", FETTLE_ERROR_DIMENSION, 5,
          "column 5: sin needs an angle; a plain number of radians becomes one by angle(x)");
  refuses("x = 2^a", FETTLE_ERROR_DIMENSION, 6, "column 6: an exponent must be a plain number");
  refuses("x = sqrt(b - a)", FETTLE_ERROR_RANGE, 5, "column 5: sqrt of a value below 0");
  refuses("x = ln(n - 3)", FETTLE_ERROR_RANGE, 5,
          "column 5: logarithm of a value that is not above 0");
  refuses("x = n / (n - 3)", FETTLE_ERROR_RANGE, 7, "column 7: division by 0");
  refuses("x = exp(1000)", FETTLE_ERROR_RANGE, 5, "column 5: exp gives no finite number");
  refuses("x = choose(n, 1, 2)", FETTLE_ERROR_TEXT, 13,
          "column 13: the condition of choose needs one of < <= > >= == !=");
  refuses("x = min(n)", FETTLE_ERROR_TEXT, 5, "column 5: min and max need two values or more");
  refuses("x = a & b", FETTLE_ERROR_TEXT, 7, "column 7: unexpected text at '&'");
  assert_int_equal(evaluate("x = a + m"), FETTLE_ERROR_DIMENSION);
  assert_int_equal(diagnostic.column, 7);
  assert_int_equal(evaluate("x = choose(a > m, 1, 2)"), FETTLE_ERROR_DIMENSION);
}

static void depth_and_length_have_an_end(void **state) {
  (void)state;
  char text[FETTLE_EXPRESSION_MOST + 10];
  memset(text, '(', sizeof text);
  memcpy(text, "x = ", 4);
  text[400] = '\0';
  assert_int_equal(evaluate(text), FETTLE_ERROR_TEXT);
  assert_non_null(strstr(diagnostic.message, "nested too deeply"));
  memset(text, '-', 400);
  memcpy(text, "x = ", 4);
  assert_int_equal(evaluate(text), FETTLE_ERROR_TEXT);
  memset(text, ' ', sizeof text);
  text[sizeof text - 1] = '\0';
  assert_int_equal(evaluate(text), FETTLE_ERROR_TEXT);
  assert_non_null(strstr(diagnostic.message, "the text is too long"));
}

/* The text loses digits to cancellation, the second form does not; the estimate must cover the loss
 * without being wild. */
static void rounding_is_estimated(void **state) {
  (void)state;
  double exact = 0.0005 * 0.0005 / (6 + sqrt(6 * 6 - 0.0005 * 0.0005));
  gives("x = 6 - sqrt(6^2 - 0.0005^2)", exact, 1e-14);
  double error = fabs(result.value - exact);
  assert_true(error <= rounding);
  assert_true(rounding < 100 * 6 * DBL_EPSILON);
  gives("x = floor(3 * (1 / 3))", 1, 1);
  assert_true(rounding >= 1);
}

static void substitutes(const char *text, const char *want) {
  fettle_symbol symbols[16];
  char out[200];
  size_t count = fill(symbols);
  size_t length =
      fettle_expression_substitute(text, symbols, count, FETTLE_HABIT_METRIC, out, sizeof out);
  assert_string_equal(out, want);
  assert_int_equal(length, strlen(want));
}

static void values_put_in(void **state) {
  (void)state;
  substitutes("x = a^2 + b", "x = (6 mm)^2 + 2 mm");
  substitutes("x = m / a", "x = 4 kg / (6 mm)");
  substitutes("x = n^2 * a", "x = 3^2 * 6 mm");
  substitutes("a = exp(a)", "a = exp(6 mm)");
  substitutes("x = 2e3 * b; y = x / n", "x = 2e3 * 2 mm; y = x / 3");
  substitutes("x = choose(a == b, a, b)", "x = choose(6 mm == 2 mm, 6 mm, 2 mm)");
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(arithmetic),
                                     cmocka_unit_test(angles),
                                     cmocka_unit_test(temperatures_are_absolute),
                                     cmocka_unit_test(choices),
                                     cmocka_unit_test(refusals),
                                     cmocka_unit_test(depth_and_length_have_an_end),
                                     cmocka_unit_test(rounding_is_estimated),
                                     cmocka_unit_test(values_put_in)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
