/* The solver of one differential equation: its orders, its tolerance, its crossings. */
#include "support/near.h"

#include <math.h>

#include "numerics/ode.h"

static double logistic(const void *context, double time, double value) {
  (void)context;
  (void)time;
  return value * (1 - value);
}

static double logistic_at(double time) {
  return 1 / (1 + 9 * exp(-time)); /* closed form from 0.1 */
}

/* Takes `steps` equal steps to time 4: with so large a tolerance every step is accepted. */
static double error_of_fixed_steps(int steps, double *dense) {
  fettle_ode ode;
  fettle_ode_start(&ode, logistic, NULL, 0, 0.1, 1e9, 0);
  *dense = 0;
  for (int i = 1; i <= steps; i++) {
    double middle = 4 * (i - 0.5) / steps;
    ode.step = 4.0 / steps;
    assert_int_equal(fettle_ode_step(&ode, 4.0 * i / steps, NULL), FETTLE_OK);
    *dense = fmax(*dense, fabs(fettle_ode_at(&ode, middle) - logistic_at(middle)));
  }
  return fabs(ode.value - logistic_at(4));
}

static void orders(void **state) {
  (void)state;
  double coarse_dense;
  double fine_dense;
  double coarse = error_of_fixed_steps(64, &coarse_dense);
  double fine = error_of_fixed_steps(128, &fine_dense);
  /* Steps small enough for the leading term of the error to stand alone, and large enough to stay
   * above rounding. A wrong coefficient anywhere brings the order down to 1 or 2. */
  assert_near(log2(coarse / fine), 5, 0.5, "order of the pair, from its definition");
  assert_near(log2(coarse_dense / fine_dense), 5, 0.7,
              "order 4 of the continuous extension: local error of order 5");
}

static void tolerance_is_met(void **state) {
  (void)state;
  for (double tolerance = 1e-3; tolerance > 1e-11; tolerance /= 10) {
    fettle_ode ode;
    fettle_ode_start(&ode, logistic, NULL, 0, 0.1, tolerance, tolerance);
    while (ode.time < 12) {
      assert_int_equal(fettle_ode_step(&ode, 12, NULL), FETTLE_OK);
      assert_near(ode.value, logistic_at(ode.time), 20 * tolerance, "closed form");
    }
    assert_near(ode.time, 12, 0, "the end is met exactly");
  }
}

static void crossings(void **state) {
  (void)state;
  fettle_ode ode;
  fettle_ode_start(&ode, logistic, NULL, 0, 0.1, 1e-9, 1e-9);
  while (ode.value < 0.5) {
    assert_int_equal(fettle_ode_step(&ode, 12, NULL), FETTLE_OK);
  }
  assert_near(fettle_ode_crossing(&ode, 0.5), log(9), 1e-7, "closed form");
}

static double never(const void *context, double time, double value) {
  (void)context;
  (void)value;
  return time > 1 ? (double)NAN : 1;
}

static void hopeless_rate(void **state) {
  (void)state;
  fettle_ode ode;
  fettle_diagnostic diagnostic;
  fettle_status status = FETTLE_OK;
  fettle_ode_start(&ode, never, NULL, 0, 0, 1e-6, 1e-6);
  for (int i = 0; i < 10000 && status == FETTLE_OK && ode.time < 2; i++) {
    status = fettle_ode_step(&ode, 2, &diagnostic);
  }
  assert_int_equal(status, FETTLE_ERROR_CONVERGENCE);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(orders), cmocka_unit_test(tolerance_is_met),
                                     cmocka_unit_test(crossings), cmocka_unit_test(hopeless_rate)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
