/* Cost of a cure: the adaptive solver at 1e-6 against 7200 fixed steps of the classical
 * Runge-Kutta method, both over 12 h at constant temperature with 72 outputs or more. The two are
 * measured in turns in one run, and medians are taken. */
#define _POSIX_C_SOURCE 200809L

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "fettle/cure.h"

enum { REPEATS_MOST = 31, FIXED_STEPS = 7200, OUTPUTS = 72, CALLS = 50 };

/* Round constants, no resin's. */
static const fettle_cure_kinetics kinetics = {
    .first_factor = 2e-5, .second_factor = 1.5e-3, .autocatalytic_order = 0.8, .order = 1.6};
static const double DURATION = 12 * 3600; /* s */

static double seconds(void) {
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static int by_value(const void *a, const void *b) {
  const double x = *(const double *)a;
  const double y = *(const double *)b;
  return (x > y) - (x < y);
}

static double rate(double degree) {
  return (kinetics.first_factor + kinetics.second_factor * pow(degree, 0.8)) * pow(1 - degree, 1.6);
}

static double fixed_steps(void) {
  const double h = DURATION / FIXED_STEPS;
  double degree = 0;
  for (int i = 0; i < FIXED_STEPS; i++) {
    const double a = rate(degree);
    const double b = rate(degree + h / 2 * a);
    const double c = rate(degree + h / 2 * b);
    const double d = rate(degree + h * c);
    degree += h / 6 * (a + 2 * b + 2 * c + d);
  }
  return degree;
}

static double adaptive(const double *outputs, double *degrees) {
  const fettle_cure_point point = {0, 298.15};
  const fettle_cure_request request = {.kinetics = kinetics,
                                       .history = {.points = &point, .count = 1},
                                       .duration = DURATION,
                                       .tolerance = 1e-6,
                                       .output_times = outputs,
                                       .output_count = OUTPUTS};
  fettle_cure_result result;
  if (fettle_cure_run(&request, degrees, &result, NULL, NULL) != FETTLE_OK) {
    exit(70);
  }
  return result.degree;
}

int main(int argc, char **argv) {
  const size_t repeats = argc > 1 && strcmp(argv[1], "--quick") == 0 ? 5 : REPEATS_MOST;
  double outputs[OUTPUTS];
  double degrees[OUTPUTS];
  double own[REPEATS_MOST];
  double base[REPEATS_MOST];
  double sum = 0;
  for (size_t i = 0; i < OUTPUTS; i++) {
    outputs[i] = DURATION * (double)(i + 1) / OUTPUTS;
  }
  for (size_t i = 0; i < repeats; i++) {
    double start = seconds();
    for (int j = 0; j < CALLS; j++) {
      sum += adaptive(outputs, degrees);
    }
    own[i] = (seconds() - start) / CALLS;
    start = seconds();
    sum += fixed_steps();
    base[i] = seconds() - start;
  }
  qsort(own, repeats, sizeof *own, by_value);
  qsort(base, repeats, sizeof *base, by_value);
  const double value = own[repeats / 2];
  printf("cure_12h\t%.3g\tus\tfixed_runge_kutta_7200\t%.3g\n", value * 1e6,
         value / base[repeats / 2]);
  return isfinite(sum) ? 0 : 70;
}
