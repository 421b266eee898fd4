/* fettle/cure.h - degree of cure and equivalent time over a history of temperature. */
#ifndef FETTLE_CURE_H
#define FETTLE_CURE_H

#include <stdbool.h>
#include <stddef.h>

#include "fettle/host.h"
#include "fettle/status.h"

/* Degree of cure a (0 to 1), rate = (k1 + k2 a^m) (1 - a)^n / f with k = factor exp(-E / (R T)).
 * With second_factor 0 it is the nth-order law; with first_factor 0 the purely autocatalytic one,
 * which never starts from degree 0. The divisor f = 1 + exp(diffusion (a - a0 - aT T)) slows the
 * last part of cure where the resin turns to glass; diffusion 0 leaves it out (f = 1). */
typedef struct fettle_cure_kinetics {
  double first_factor;        /* of k1, 1/s, not negative */
  double first_energy;        /* J/mol, not negative */
  double second_factor;       /* of k2, 1/s, not negative */
  double second_energy;       /* J/mol, not negative */
  double autocatalytic_order; /* m, not negative */
  double order;               /* n, not negative */
  double diffusion;           /* not negative; 0: no such divisor */
  double diffusion_degree;    /* a0: degree at which it sets in at 0 K; may be negative */
  double diffusion_slope;     /* aT, 1/K */
} fettle_cure_kinetics;

typedef struct fettle_cure_point {
  double time;        /* s, never going back; two points at one time are a jump */
  double temperature; /* K, absolute, above 0 */
} fettle_cure_point;

/* Straight lines between the points. Borrowed. One point is a constant temperature without end. */
typedef struct fettle_cure_history {
  const fettle_cure_point *points;
  size_t count;
  bool hold; /* the last temperature stays after the last point */
} fettle_cure_history;

typedef struct fettle_cure_request {
  fettle_cure_kinetics kinetics;
  fettle_cure_history history;
  double starting_degree;     /* 0 to below 1 */
  double until_degree;        /* above starting_degree, at most 1; 0: none sought */
  double duration;            /* s from the first point; 0: the end of the history, or where it has
                                 none, until `until_degree` is reached */
  double tolerance;           /* of the degree; 1e-12 to 1e-2, 0: 1e-6 */
  const double *output_times; /* s from the first point, never going back; borrowed, or NULL */
  size_t output_count;
} fettle_cure_request;

typedef struct fettle_cure_result {
  double time;           /* s from the first point, where the calculation ended */
  double degree;         /* there */
  bool reached;          /* `until_degree` was reached */
  double time_to_degree; /* s from the first point, when reached; else 0 */
  bool finished;         /* degree 1, which an order below 1 reaches in a finite time */
  double time_to_finish; /* s, when finished; else 0 */
  size_t steps;          /* accepted steps of the solver */
  size_t rate_calls;
} fettle_cure_result;

/* Degree of cure over a history. `degrees` has room for output_count values (NULL when 0); an
 * output after the end is refused. `host` may be NULL; its poll is called every few steps.
 * With a duration or an end of the history, a degree that is not reached is no error: `reached`
 * tells. FETTLE_ERROR_UNREACHABLE when there is no end and the degree is never reached, or not
 * within fifty years; FETTLE_ERROR_ARGUMENT for a purely autocatalytic law from degree 0;
 * FETTLE_ERROR_RANGE and _ARGUMENT for values outside the ranges above; _CANCELLED. */
fettle_status fettle_cure_run(const fettle_cure_request *request, double *degrees,
                              fettle_cure_result *result, const fettle_host *host,
                              fettle_diagnostic *diagnostic);

/* How fast cure goes against a reference temperature: `factor` times as fast for each `step` of
 * warmth, or by an activation energy (then step and factor are not read). */
typedef struct fettle_cure_rule {
  double reference_temperature; /* K */
  double step;                  /* K, above 0 */
  double factor;                /* above 1 */
  double activation_energy;     /* J/mol; 0: by step and factor */
} fettle_cure_rule;

/* Rate at `temperature` over the rate at the reference temperature. */
double fettle_cure_rule_rate(const fettle_cure_rule *rule, double temperature);

/* Time at the reference temperature that does as much as the history from its first point until
 * `duration` later (0: its last point). Exact for step and factor; by the solver to 1e-10 for an
 * activation energy. `host` may be NULL. */
fettle_status fettle_cure_equivalent_time(const fettle_cure_history *history, double duration,
                                          const fettle_cure_rule *rule, double *equivalent,
                                          const fettle_host *host, fettle_diagnostic *diagnostic);

/* Time from the first point after which the equivalent time is `required` (above 0).
 * FETTLE_ERROR_UNREACHABLE when the history ends before, saying how far it comes. */
fettle_status fettle_cure_ready_time(const fettle_cure_history *history, double required,
                                     const fettle_cure_rule *rule, double *ready,
                                     const fettle_host *host, fettle_diagnostic *diagnostic);

/* Temperature of a history `time` after its first point (which must lie inside). */
double fettle_cure_temperature_at(const fettle_cure_history *history, double time);

/* The constant temperature (K) at which `required` at the reference takes `time` (both above 0).*/
fettle_status fettle_cure_constant_temperature(const fettle_cure_rule *rule, double required,
                                               double time, double *temperature,
                                               fettle_diagnostic *diagnostic);

#endif
