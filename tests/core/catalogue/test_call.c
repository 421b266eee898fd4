#include "support/near.h"

#include <math.h>
#include <string.h>

#include "sample.h"

static fettle_diagnostic diagnostic;
static fettle_warnings warnings;

static double call(double diameter, double stepover, double passes, double shop) {
  double height = -1;
  diagnostic = (fettle_diagnostic){0};
  warnings = (fettle_warnings){0};
  fettle_call(&cusp_formula, (double[]){diameter, stepover, passes, shop}, &height, &warnings,
              &diagnostic);
  return height;
}

static void inside_the_limits(void **state) {
  (void)state;
  assert_near(call(0.012, 0.001, NAN, NAN), 2.08696284493e-5, 1e-16,
              "derived: chord and sagitta with 50 digits");
  assert_int_equal(diagnostic.status, FETTLE_OK);
  assert_int_equal(warnings.count, 0);
}

static void on_a_limit_but_for_rounding(void **state) {
  (void)state;
  call(0.1 * (1 + 1e-15), 0.001, NAN, NAN);
  assert_int_equal(diagnostic.status, FETTLE_OK);
}

static void refused(double diameter, double stepover, double passes, double shop,
                    fettle_status status, const char *parameter, const char *message) {
  assert_near(call(diameter, stepover, passes, shop), -1, 0, "outputs stay as they were");
  assert_string_equal(diagnostic.message, message);
  assert_int_equal(diagnostic.status, status);
  assert_string_equal(diagnostic.parameter, parameter);
}

static void refusals(void **state) {
  (void)state;
  refused(0.05, 0.013, NAN, NAN, FETTLE_ERROR_RANGE, "stepover",
          "stepover = 13 mm: must not be above 12 mm");
  assert_near(diagnostic.value, 13, 1e-12, "in the parameter's unit");
  assert_near(diagnostic.limit, 12, 0, "in the parameter's unit");
  assert_string_equal(diagnostic.unit, "mm");
  refused(0.05, -0.001, NAN, NAN, FETTLE_ERROR_RANGE, "stepover",
          "stepover = -1 mm: must not be below 0 mm");
  refused(0.006, 0.007, NAN, NAN, FETTLE_ERROR_RANGE, "stepover",
          "stepover = 7 mm: must not be above cutter_diameter 6 mm");
  refused(0.05, NAN, NAN, NAN, FETTLE_ERROR_ARGUMENT, "stepover",
          "missing stepover (distance between neighbouring passes, mm)");
  refused(0.05, INFINITY, NAN, NAN, FETTLE_ERROR_ARGUMENT, "stepover",
          "stepover is infinite: give a finite number");
  refused(0.05, 0.001, 2.5, NAN, FETTLE_ERROR_ARGUMENT, "passes",
          "passes = 2.5: must be a whole number");
  refused(0.05, 0.001, NAN, -1, FETTLE_ERROR_RANGE, "shop",
          "shop = -274.15 degC: must not be below -273.15 degC");
}

static void late_digits_are_shown(void **state) {
  (void)state;
  call(0.05, 0.012000001, NAN, NAN);
  assert_string_equal(diagnostic.message, "stepover = 12.000001 mm: must not be above 12 mm");
}

static void unusual_values_warn(void **state) {
  (void)state;
  call(0.05, 0.009, NAN, 273.15);
  assert_int_equal(diagnostic.status, FETTLE_OK);
  assert_int_equal(warnings.count, 2);
  assert_string_equal(warnings.item[0].parameter, "stepover");
  assert_string_equal(warnings.item[0].message,
                      "stepover = 9 mm: outside the usual 0.1 mm to 6 mm");
  assert_string_equal(warnings.item[1].message,
                      "shop = 0 degC: outside the usual 10 degC to 35 degC");
}

static fettle_status nothing(const double *inputs, double *outputs, fettle_warnings *w,
                             fettle_diagnostic *d) {
  (void)w;
  (void)d;
  outputs[0] = 0 * inputs[0] / 0.0;
  return FETTLE_OK;
}

static void results_must_be_finite(void **state) {
  (void)state;
  fettle_formula broken = cusp_formula;
  broken.evaluate = nothing;
  double height = -1;
  assert_int_equal(
      fettle_call(&broken, (double[]){0.01, 0.001, NAN, NAN}, &height, NULL, &diagnostic),
      FETTLE_ERROR_ARGUMENT);
  assert_string_equal(diagnostic.message, "height is not a finite number for these values");
  assert_near(height, -1, 0, "outputs stay as they were");
  broken.evaluate = NULL;
  fettle_call(&broken, (double[]){0.01, 0.001, NAN, NAN}, &height, NULL, &diagnostic);
  assert_string_equal(diagnostic.message, "milling.cusp takes lists: call its own function");
}

static void workings(void **state) {
  (void)state;
  char text[400];
  double height = call(0.0127, 30 * 2.54e-5, NAN, NAN);
  size_t units[4] = {fettle_unit_find("in", 2), fettle_unit_find("thou", 4), 0, 0};
  const double inputs[] = {0.0127, 30 * 2.54e-5, NAN, NAN};
  size_t length =
      fettle_working(&cusp_formula, inputs, &height, units, FETTLE_HABIT_INCH, text, sizeof text);
  assert_string_equal(text, "R = 0.5 in / 2 = 0.25 in; q = 30 thou / 2 = 15 thou; "
                            "h = 0.25 in - sqrt((0.25 in)^2 - (15 thou)^2) = 0.450406 thou");
  assert_int_equal(length, strlen(text));
  char little[12];
  assert_int_equal(fettle_working(&cusp_formula, inputs, &height, units, FETTLE_HABIT_INCH, little,
                                  sizeof little),
                   length);
  assert_string_equal(little, "R = 0.5 in ");
  fettle_formula iterated = cusp_formula;
  iterated.kind = FETTLE_FORMULA_ITERATED;
  fettle_working(&iterated, inputs, &height, NULL, FETTLE_HABIT_METRIC, text, sizeof text);
  assert_string_equal(text, "D = 12.7 mm, s = 0.762 mm, n = 4, T = 20 degC: h = 0.0114403 mm");
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(inside_the_limits),
                                     cmocka_unit_test(on_a_limit_but_for_rounding),
                                     cmocka_unit_test(refusals),
                                     cmocka_unit_test(late_digits_are_shown),
                                     cmocka_unit_test(unusual_values_warn),
                                     cmocka_unit_test(results_must_be_finite),
                                     cmocka_unit_test(workings)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
