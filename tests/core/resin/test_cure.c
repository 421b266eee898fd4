/* Cure over a history of temperature, against closed forms and quadrature of the rate laws. */
#include "support/near.h"

#include <math.h>
#include <string.h>

#include "fettle/cure.h"

static const char HAND[] = "closed form or quadrature of the rate law, 20 digits";
static const char FROM_MEMORY[] = "parameters from memory of the named work; closed form";

static const double ZERO_C = 273.15; /* K */

/* Synthetic kinetics for tests. */
static const fettle_cure_kinetics synthetic = {.first_factor = 1e5,
                                               .first_energy = 60e3,
                                               .second_factor = 5e5,
                                               .second_energy = 52e3,
                                               .autocatalytic_order = 1,
                                               .order = 1.5};
static const fettle_cure_point oven_log[] = {{0, 295.15},    {1800, 308.15}, {3600, 321.15},
                                             {5400, 328.15}, {9000, 333.15}, {14400, 333.15}};
enum { LOG_POINTS = sizeof oven_log / sizeof *oven_log };

static fettle_cure_request at_constant(fettle_cure_kinetics kinetics,
                                       const fettle_cure_point *point) {
  return (fettle_cure_request){.kinetics = kinetics, .history = {.points = point, .count = 1}};
}

static fettle_cure_result run(const fettle_cure_request *request, double *degrees) {
  fettle_cure_result result;
  fettle_diagnostic diagnostic = {0};
  if (fettle_cure_run(request, degrees, &result, NULL, &diagnostic) != FETTLE_OK) {
    fail_msg("%s", diagnostic.message);
  }
  return result;
}

static void refuses(const fettle_cure_request *request, fettle_status status, const char *text) {
  fettle_cure_result result;
  fettle_diagnostic diagnostic = {0};
  double degrees[8];
  assert_int_equal(fettle_cure_run(request, degrees, &result, NULL, &diagnostic), status);
  if (!strstr(diagnostic.message, text)) {
    fail_msg("'%s' does not say '%s'", diagnostic.message, text);
  }
}

static void nth_order(void **state) {
  (void)state;
  const fettle_cure_point room = {0, 298.15};
  const double orders[] = {0, 0.5, 1, 1.5, 2, 2.5};
  const double degrees[] = {0.6, 0.51, 0.4511883639, 0.4082840237, 0.375, 0.3481250897};
  for (size_t i = 0; i < sizeof orders / sizeof *orders; i++) {
    fettle_cure_kinetics k = {.first_factor = 0.01, .order = orders[i]};
    fettle_cure_request request = at_constant(k, &room);
    request.duration = 60;
    assert_near(run(&request, NULL).degree, degrees[i], 1e-9, HAND);
  }
  const double times[] = {299.5732, 694.4272, 1900};
  for (size_t i = 0; i < 3; i++) {
    fettle_cure_kinetics k = {.first_factor = 0.01, .order = 1 + 0.5 * (double)i};
    fettle_cure_request request = at_constant(k, &room);
    request.until_degree = 0.95;
    assert_near(run(&request, NULL).time_to_degree, times[i], 1e-3, HAND);
  }
}

static void order_below_one_ends(void **state) {
  (void)state;
  const fettle_cure_point room = {0, 298.15};
  fettle_cure_request request =
      at_constant((fettle_cure_kinetics){.first_factor = 0.01, .order = 0.5}, &room);
  const double outputs[] = {0, 100, 199, 201, 300};
  double degrees[5];
  request.duration = 300;
  request.output_times = outputs;
  request.output_count = 5;
  fettle_cure_result result = run(&request, degrees);
  assert_true(result.finished);
  assert_near(result.time_to_finish, 200, 1e-6, HAND);
  assert_near(degrees[1], 0.75, 1e-9, HAND);
  assert_near(degrees[2], 1 - 0.005 * 0.005, 1e-9, HAND);
  assert_near(degrees[3], 1, 0, HAND);
  assert_near(result.degree, 1, 0, HAND);
}

static void autocatalytic(void **state) {
  (void)state;
  const fettle_cure_point room = {0, 298.15};
  fettle_cure_kinetics k = {
      .first_factor = 1e-4, .second_factor = 1e-3, .autocatalytic_order = 1, .order = 1};
  const double degree_1[] = {0.5773502692, 0.95};
  const double time_1[] = {2522.0271, 4861.0068};
  const double degree_2[] = {0.3, 0.57735, 0.9, 0.95};
  const double time_2[] = {1830.0809, 3534.5910, 11987.7440, 21691.8244};
  for (size_t i = 0; i < 2; i++) {
    fettle_cure_request request = at_constant(k, &room);
    request.until_degree = degree_1[i];
    assert_near(run(&request, NULL).time_to_degree, time_1[i], 1e-2, HAND);
  }
  k.order = 2;
  for (size_t i = 0; i < 4; i++) {
    fettle_cure_request request = at_constant(k, &room);
    request.until_degree = degree_2[i];
    request.tolerance = 1e-9;
    assert_near(run(&request, NULL).time_to_degree, time_2[i], 1e-3, HAND);
  }
}

/* A power below 1 has an endless slope at degree 0. */
static void root_at_the_start(void **state) {
  (void)state;
  const fettle_cure_point room = {0, 298.15};
  const fettle_cure_kinetics k = {
      .first_factor = 2e-5, .second_factor = 1.5e-3, .autocatalytic_order = 0.8, .order = 1.6};
  const double degrees[] = {0.1, 0.5, 0.9, 0.97};
  const double times[] = {953.1121766240016, 2263.5942488420205, 5596.785131113342,
                          10430.001748059249};
  for (size_t i = 0; i < 4; i++) {
    fettle_cure_request request = at_constant(k, &room);
    request.until_degree = degrees[i];
    fettle_cure_result result = run(&request, NULL);
    assert_near(result.time_to_degree, times[i], 1e-5 * times[i], HAND);
    request.tolerance = 1e-11;
    assert_near(run(&request, NULL).time_to_degree, times[i], 1e-9 * times[i], HAND);
  }
}

static void constant_temperatures(void **state) {
  (void)state;
  const double celsius[] = {20, 25, 40, 60};
  const double gel[] = {21204.50, 14679.57, 5222.76, 1519.83};
  for (size_t i = 0; i < 4; i++) {
    const fettle_cure_point point = {0, celsius[i] + ZERO_C};
    fettle_cure_request request = at_constant(synthetic, &point);
    request.until_degree = 0.57735;
    assert_near(run(&request, NULL).time_to_degree, gel[i], 0.05, HAND);
  }
  const fettle_cure_point room = {0, 25 + ZERO_C};
  const double outputs[] = {3600, 4 * 3600, 8 * 3600, 24 * 3600};
  const double expected[] = {0.023539, 0.559624, 0.930728, 0.995475};
  double degrees[4];
  fettle_cure_request request = at_constant(synthetic, &room);
  request.duration = 24 * 3600;
  request.output_times = outputs;
  request.output_count = 4;
  run(&request, degrees);
  for (size_t i = 0; i < 4; i++) {
    assert_near(degrees[i], expected[i], 2e-6, HAND);
  }
}

static void log_of_an_oven(void **state) {
  (void)state;
  const double outputs[] = {1800, 3600, 5400, 9000, 14400};
  const double expected[] = {0.012246, 0.143960, 0.751457, 0.980558, 0.996411};
  double degrees[5];
  fettle_cure_request request = {.kinetics = synthetic,
                                 .history = {.points = oven_log, .count = LOG_POINTS},
                                 .output_times = outputs,
                                 .output_count = 5};
  run(&request, degrees);
  for (size_t i = 0; i < 5; i++) {
    assert_near(degrees[i], expected[i], 2e-6, HAND);
  }
}

static void energy_over_ramps(void **state) {
  (void)state;
  fettle_cure_history history = {.points = oven_log, .count = LOG_POINTS};
  fettle_cure_rule rule = {.reference_temperature = 60 + ZERO_C, .activation_energy = 60e3};
  double equivalent;
  assert_int_equal(fettle_cure_equivalent_time(&history, 0, &rule, &equivalent, NULL, NULL),
                   FETTLE_OK);
  assert_near(equivalent / 60, 170.245, 5e-4, HAND);
  const fettle_cure_point ramp[] = {{0, 25 + ZERO_C}, {3300, 80 + ZERO_C}};
  history = (fettle_cure_history){.points = ramp, .count = 2};
  rule.reference_temperature = 80 + ZERO_C;
  fettle_cure_equivalent_time(&history, 0, &rule, &equivalent, NULL, NULL);
  assert_near(equivalent / 60, 15.53665, 5e-5, "exponential integral, 20 digits");
  rule.reference_temperature = 25 + ZERO_C;
  fettle_cure_equivalent_time(&history, 0, &rule, &equivalent, NULL, NULL);
  assert_near(equivalent / 3600, 11.22759, 1e-4, "exponential integral, 20 digits");
  /* The same integral carried by a first-order cure. */
  fettle_cure_request request = {
      .kinetics = {.first_factor = 1e6, .first_energy = 60e3, .order = 1}, .history = history};
  assert_near(run(&request, NULL).degree, 1 - exp(-1.244640209), 1e-7, HAND);
}

static void purely_autocatalytic(void **state) {
  (void)state;
  /* m + n = 2: u = a / (1 - a), u^(1-m) = u0^(1-m) + (1 - m) k t. */
  const fettle_cure_point hot = {0, 373.15};
  fettle_cure_kinetics k = {
      .second_factor = 2.27139e-3, .autocatalytic_order = 0.524, .order = 1.476};
  fettle_cure_request request = at_constant(k, &hot);
  request.duration = 300;
  refuses(&request, FETTLE_ERROR_ARGUMENT, "never starts");
  request.starting_degree = 1e-6;
  assert_near(run(&request, NULL).degree, 0.086561, 2e-6, FROM_MEMORY);
}

/* Cure that slows as the resin turns to glass. */
static void diffusion(void **state) {
  (void)state;
  const double scale = 8.314462618 / 8.314; /* the expected values were made with R = 8.314 */
  fettle_cure_kinetics k = {.second_factor = 1.528e5,
                            .second_energy = 66.5e3 * scale,
                            .autocatalytic_order = 0.8129,
                            .order = 2.736,
                            .diffusion = 43.09,
                            .diffusion_degree = -1.684,
                            .diffusion_slope = 5.475e-3};
  const char *source = "parameters: Niaki, Haghighat, Li, Campbell, Vaziri (2020); integrated "
                       "with 20 digits";
  const fettle_cure_point hot = {0, 180 + ZERO_C};
  const double outputs[] = {600, 1800, 3600, 7200};
  const double from_05[] = {0.304592, 0.636862, 0.772394, 0.823193};
  const double from_001[] = {0.079047, 0.545051, 0.751219, 0.819950};
  double degrees[4];
  fettle_cure_request request = at_constant(k, &hot);
  request.duration = 7200;
  request.output_times = outputs;
  request.output_count = 4;
  request.starting_degree = 0.05;
  run(&request, degrees);
  for (size_t i = 0; i < 4; i++) {
    assert_near(degrees[i], from_05[i], 1e-5, source);
  }
  request.starting_degree = 0.001;
  run(&request, degrees);
  for (size_t i = 0; i < 4; i++) {
    assert_near(degrees[i], from_001[i], 1e-5, source);
  }
  request.kinetics.diffusion = 0;
  request.starting_degree = 0.05;
  assert_near(run(&request, degrees).degree, 0.862724, 1e-5, source);
}

static void step_rule_overnight(void **state) {
  (void)state;
  const double fahrenheit = 5.0 / 9;
  const double f77 = (77 + 459.67) * fahrenheit;
  const fettle_cure_point night[] = {{0, (68 + 459.67) * fahrenheit},
                                     {12 * 3600, (55 + 459.67) * fahrenheit},
                                     {15 * 3600, (60.25 + 459.67) * fahrenheit}};
  const double steps[] = {18, 10};
  const double equivalents[] = {8.100607161935162, 5.0257160012278845};
  const double ready[] = {18.620261409780607, 30.883851557997936};
  const double constants[] = {68.26231711093565, 72.14573172829758};
  for (size_t i = 0; i < 2; i++) {
    fettle_cure_rule rule = {
        .reference_temperature = f77, .step = steps[i] * fahrenheit, .factor = 2};
    fettle_cure_history history = {.points = night, .count = 3};
    double value;
    fettle_diagnostic diagnostic;
    fettle_cure_equivalent_time(&history, 0, &rule, &value, NULL, NULL);
    assert_near(value / 3600, equivalents[i], 1e-9, "Simpson's rule with 20000 parts");
    assert_int_equal(fettle_cure_ready_time(&history, 36000, &rule, &value, NULL, &diagnostic),
                     FETTLE_ERROR_UNREACHABLE);
    assert_non_null(strstr(diagnostic.message, "never reaches required = 10 h"));
    history.hold = true;
    assert_int_equal(fettle_cure_ready_time(&history, 36000, &rule, &value, NULL, NULL), FETTLE_OK);
    assert_near(value / 3600, ready[i], 1e-9, "Simpson's rule with 20000 parts");
    fettle_cure_constant_temperature(&rule, 36000, 14 * 3600, &value, NULL);
    assert_near(value / fahrenheit - 459.67, constants[i], 1e-9, "logarithm, by another program");
  }
}

static void constant_62(void **state) {
  (void)state;
  const double fahrenheit = 5.0 / 9;
  const fettle_cure_point shop = {0, (62 + 459.67) * fahrenheit};
  const fettle_cure_history history = {.points = &shop, .count = 1};
  const double steps[] = {18, 10};
  const double ready[] = {17.82, 28.28};
  for (size_t i = 0; i < 2; i++) {
    fettle_cure_rule rule = {.reference_temperature = (77 + 459.67) * fahrenheit,
                             .step = steps[i] * fahrenheit,
                             .factor = 2};
    double value;
    assert_int_equal(fettle_cure_ready_time(&history, 36000, &rule, &value, NULL, NULL), FETTLE_OK);
    assert_near(value / 3600, ready[i], 0.005, "scenario (invented)");
  }
}

static void refusals(void **state) {
  (void)state;
  const fettle_cure_point room = {0, 298.15};
  const fettle_cure_kinetics slow = {.first_factor = 1e-20, .order = 1};
  fettle_cure_request request = at_constant(slow, &room);
  request.until_degree = 0.9;
  refuses(&request, FETTLE_ERROR_UNREACHABLE, "never reaches until_degree = 0.9");
  request.kinetics = synthetic;
  request.until_degree = 1;
  refuses(&request, FETTLE_ERROR_UNREACHABLE, "never reaches until_degree = 1");
  request.until_degree = 0;
  refuses(&request, FETTLE_ERROR_ARGUMENT, "needs a duration");
  request.kinetics = (fettle_cure_kinetics){.order = 1};
  request.duration = 60;
  refuses(&request, FETTLE_ERROR_ARGUMENT, "nothing cures");
  request.kinetics = synthetic;
  request.kinetics.order = (double)NAN;
  refuses(&request, FETTLE_ERROR_ARGUMENT, "order must be a finite number");
  const fettle_cure_point back[] = {{0, 298.15}, {60, 300}, {30, 310}};
  request = (fettle_cure_request){.kinetics = synthetic, .history = {.points = back, .count = 3}};
  refuses(&request, FETTLE_ERROR_ARGUMENT, "point 3");
  request.history.count = 2;
  request.duration = 120;
  refuses(&request, FETTLE_ERROR_RANGE, "the history ends at");
  request.history.hold = true;
  run(&request, NULL);
  /* Not reached by the end of a history is an answer, and no error. */
  request = (fettle_cure_request){
      .kinetics = synthetic, .history = {.points = back, .count = 2}, .until_degree = 0.9};
  assert_false(run(&request, NULL).reached);
}

/* A jump is two points at one time; a log of many points agrees with its few corners. */
static void jumps_and_many_points(void **state) {
  (void)state;
  const fettle_cure_point jump[] = {{0, 298.15}, {3600, 298.15}, {3600, 333.15}, {7200, 333.15}};
  fettle_cure_request request = {
      .kinetics = {.first_factor = 1e6, .first_energy = 60e3, .order = 1},
      .history = {.points = jump, .count = 4}};
  const double extent =
      3600e6 * (exp(-60e3 / (8.314462618 * 298.15)) + exp(-60e3 / (8.314462618 * 333.15)));
  assert_near(run(&request, NULL).degree, 1 - exp(-extent), 1e-8, HAND);
  static fettle_cure_point many[2001];
  for (size_t i = 0; i < 2001; i++) {
    many[i] = (fettle_cure_point){.time = 14400.0 * (double)i / 2000};
    fettle_cure_history few = {.points = oven_log, .count = LOG_POINTS};
    many[i].temperature = fettle_cure_temperature_at(&few, many[i].time);
  }
  request =
      (fettle_cure_request){.kinetics = synthetic, .history = {.points = many, .count = 2001}};
  assert_near(run(&request, NULL).degree, 0.996411, 2e-6, HAND);
}

static int stop_at_once(void *context, double fraction, const char *stage) {
  (void)fraction;
  (void)stage;
  return ++*(int *)context > 1;
}

static void cancelling(void **state) {
  (void)state;
  int polls = 0;
  const fettle_host host = {.context = &polls, .poll = stop_at_once};
  const fettle_cure_point room = {0, 298.15};
  fettle_cure_request request = at_constant(synthetic, &room);
  fettle_cure_result result;
  request.duration = 36000;
  assert_int_equal(fettle_cure_run(&request, NULL, &result, &host, NULL), FETTLE_ERROR_CANCELLED);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(nth_order),
                                     cmocka_unit_test(order_below_one_ends),
                                     cmocka_unit_test(autocatalytic),
                                     cmocka_unit_test(root_at_the_start),
                                     cmocka_unit_test(constant_temperatures),
                                     cmocka_unit_test(log_of_an_oven),
                                     cmocka_unit_test(energy_over_ramps),
                                     cmocka_unit_test(purely_autocatalytic),
                                     cmocka_unit_test(diffusion),
                                     cmocka_unit_test(step_rule_overnight),
                                     cmocka_unit_test(constant_62),
                                     cmocka_unit_test(refusals),
                                     cmocka_unit_test(jumps_and_many_points),
                                     cmocka_unit_test(cancelling)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
