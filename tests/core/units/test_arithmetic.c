/* Arithmetic, comparison, packed exponents, and how the core reports. */
#include "support/near.h"

#include <math.h>
#include <string.h>

#include "fettle/quantity.h"
#include "units/units.h"

static fettle_quantity make(double number, const char *unit) {
  fettle_quantity quantity = {0};
  fettle_diagnostic diagnostic;
  if (fettle_quantity_make(number, unit, FETTLE_ROLE_ANY, &quantity, &diagnostic) != FETTLE_OK) {
    fail_msg("%s", diagnostic.message);
  }
  return quantity;
}

/* Sums of lanes at once against sums lane by lane. */
static void test_lanes(void **state) {
  (void)state;
  uint64_t seed = 1;
  for (int round = 0; round < 20000; round++) {
    fettle_dimension pair[2] = {0, 0};
    int lanes[2][7];
    for (int which = 0; which < 2; which++) {
      for (unsigned base = 0; base < 7; base++) {
        seed = seed * 6364136223846793005u + 1442695040888963407u;
        lanes[which][base] = (int)(seed >> 33) % 100;
        lanes[which][base] -= seed & (1u << 20) ? 2 * lanes[which][base] : 0;
        pair[which] |= LANE(lanes[which][base], base);
      }
    }
    fettle_dimension sum;
    fettle_dimension difference;
    const bool sum_fits = fettle_units_dimension_add(pair[0], pair[1], &sum);
    const bool difference_fits = fettle_units_dimension_subtract(pair[0], pair[1], &difference);
    bool sum_wanted = true;
    bool difference_wanted = true;
    for (unsigned base = 0; base < 7; base++) {
      const int plus = lanes[0][base] + lanes[1][base];
      const int minus = lanes[0][base] - lanes[1][base];
      sum_wanted = sum_wanted && plus >= -128 && plus <= 127;
      difference_wanted = difference_wanted && minus >= -128 && minus <= 127;
      if (sum_fits) {
        assert_int_equal(fettle_dimension_twelfths(sum, (fettle_base)base), plus);
      }
      if (difference_fits) {
        assert_int_equal(fettle_dimension_twelfths(difference, (fettle_base)base), minus);
      }
    }
    assert_true(sum_fits == sum_wanted && difference_fits == difference_wanted);
  }
}

static void test_powers(void **state) {
  (void)state;
  fettle_diagnostic diagnostic;
  fettle_quantity a = make(8.0, "m^3");
  fettle_quantity root;
  assert_int_equal(fettle_quantity_power(&a, 1.0 / 3.0, &root, &diagnostic), FETTLE_OK);
  assert_true(root.dimension == make(1.0, "m").dimension);
  assert_near(root.value, 2.0, 1e-15, "cube root of 8");
  a = make(2.0, "m");
  assert_int_equal(fettle_quantity_power(&a, 0.8, &root, &diagnostic), FETTLE_ERROR_DIMENSION);
  assert_int_equal(fettle_quantity_power(&a, 11.0, &root, &diagnostic), FETTLE_ERROR_DIMENSION);
  assert_int_equal(fettle_quantity_power(&a, (double)NAN, &root, &diagnostic),
                   FETTLE_ERROR_DIMENSION);
  a = make(0.0, "m");
  assert_int_equal(fettle_quantity_power(&a, -1.0, &root, &diagnostic), FETTLE_ERROR_RANGE);
  a = make(3.0, "1");
  assert_int_equal(fettle_quantity_power(&a, 0.8, &root, &diagnostic), FETTLE_OK);
}

/* x ft against 12 x in, x in against 25.4 x mm: equal on paper, equal here. */
static void test_tolerant_comparison(void **state) {
  (void)state;
  for (int i = 1; i < 20000; i++) {
    const double x = i / 1000.0;
    const fettle_quantity feet = make(x, "ft");
    const fettle_quantity inches = make(12.0 * x, "in");
    const fettle_quantity millimetres = make(304.8 * x, "mm");
    int order = 2;
    assert_int_equal(fettle_quantity_compare(&feet, &inches, &order, NULL), FETTLE_OK);
    assert_int_equal(order, 0);
    assert_int_equal(fettle_quantity_compare(&feet, &millimetres, &order, NULL), FETTLE_OK);
    assert_int_equal(order, 0);
  }
  const fettle_quantity zero = make(0.0, "m");
  const fettle_quantity tiny = make(1e-300, "m");
  int order = 2;
  assert_int_equal(fettle_quantity_compare(&tiny, &zero, &order, NULL), FETTLE_OK);
  assert_int_equal(order, 1); /* against zero comparison is exact */
}

static void test_temperatures(void **state) {
  (void)state;
  const fettle_quantity low = make(60.0, "degF");
  const fettle_quantity high = make(78.0, "degF");
  const fettle_quantity cold = make(500.0, "dC");
  fettle_quantity result;
  fettle_diagnostic diagnostic;
  assert_int_equal(fettle_quantity_subtract(&high, &low, &result, &diagnostic), FETTLE_OK);
  assert_int_equal(result.flags, 0);
  assert_near(result.value, 10.0, 1e-12, "18 degrees Fahrenheit are 10 K");
  assert_int_equal(fettle_quantity_add(&low, &high, &result, &diagnostic), FETTLE_ERROR_DIMENSION);
  assert_int_equal(fettle_quantity_multiply(&low, &high, &result, &diagnostic),
                   FETTLE_ERROR_DIMENSION);
  assert_int_equal(fettle_quantity_negate(&low, &result, &diagnostic), FETTLE_ERROR_DIMENSION);
  assert_int_equal(fettle_quantity_subtract(&low, &cold, &result, &diagnostic), FETTLE_ERROR_RANGE);
}

static void test_not_finite(void **state) {
  (void)state;
  const fettle_quantity huge = make(1e308, "m");
  const fettle_quantity zero = make(0.0, "m");
  fettle_quantity result;
  fettle_diagnostic diagnostic;
  assert_int_equal(fettle_quantity_add(&huge, &huge, &result, &diagnostic), FETTLE_ERROR_RANGE);
  assert_int_equal(fettle_quantity_multiply(&huge, &huge, &result, &diagnostic),
                   FETTLE_ERROR_RANGE);
  assert_int_equal(fettle_quantity_divide(&zero, &zero, &result, &diagnostic), FETTLE_ERROR_RANGE);
  assert_non_null(strstr(diagnostic.message, "divisor is zero"));
  assert_int_equal(fettle_quantity_divide(&zero, &zero, &result, NULL), FETTLE_ERROR_RANGE);
}

static void test_reports(void **state) {
  (void)state;
  fettle_diagnostic diagnostic;
  assert_int_equal(fettle_fail(&diagnostic, FETTLE_ERROR_RANGE, "stepover", "%s is %d", "it", 3),
                   FETTLE_ERROR_RANGE);
  assert_string_equal(diagnostic.message, "it is 3");
  assert_string_equal(diagnostic.parameter, "stepover");
  assert_int_equal(diagnostic.column, 0);
  assert_int_equal(fettle_fail(NULL, FETTLE_ERROR_TEXT, NULL, "x"), FETTLE_ERROR_TEXT);
  fettle_warnings warnings = {0};
  for (int i = 0; i < 10; i++) {
    fettle_warn(&warnings, "stepover", "warning %d", i);
  }
  fettle_warn(NULL, NULL, "nobody listens");
  assert_int_equal(warnings.count, 8);
  assert_int_equal(warnings.dropped, 2);
  assert_string_equal(warnings.item[7].message, "warning 7");
  assert_string_equal(fettle_status_name(FETTLE_OK), "ok");
  assert_string_equal(fettle_status_name(FETTLE_ERROR_RANGE), "range");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_lanes),
      cmocka_unit_test(test_powers),
      cmocka_unit_test(test_tolerant_comparison),
      cmocka_unit_test(test_temperatures),
      cmocka_unit_test(test_not_finite),
      cmocka_unit_test(test_reports),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
