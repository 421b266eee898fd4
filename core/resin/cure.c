/* Degree of cure and equivalent time over a history of temperature. */
#include "fettle/cure.h"

#include <float.h>
#include <math.h>
#include <stdio.h>

#include "fettle/formula.h"
#include "numerics/ode.h"
#include "resin/kinetics.h"

enum { STEPS_MOST = 1000000, STEPS_A_POLL = 16, POINTS_A_POLL = 4096 };

static const double TOLERANCE = 1e-6;
/* Degrees near 0 grow in proportion: their error must be small against themselves. */
static const double SMALL_DEGREE = 1e-4;
static const double LONGEST = 50 * 365.25 * 86400; /* s; no shop waits longer */

/* One straight piece of a history, times from its first point. */
typedef struct piece {
  double start, end;  /* s */
  double first, last; /* K */
} piece;

static double temperature_in(const piece *p, double time) {
  if (p->first == p->last) {
    return p->first;
  }
  double share = (time - p->start) / (p->end - p->start);
  return p->first + (p->last - p->first) * share;
}

static double seconds_from_first(const fettle_cure_history *history, size_t index) {
  return history->points[index].time - history->points[0].time;
}

static bool endless(const fettle_cure_history *history) {
  return history->count == 1 || history->hold;
}

/* Piece `index`: between two points, or the hold after the last, which ends at `end`. */
static piece piece_at(const fettle_cure_history *history, size_t index, double end) {
  const fettle_cure_point *a = &history->points[index];
  piece p = {.start = seconds_from_first(history, index), .first = a->temperature};
  if (index + 1 < history->count) {
    p.end = seconds_from_first(history, index + 1);
    p.last = history->points[index + 1].temperature;
  } else {
    p.end = end;
    p.last = a->temperature;
  }
  return p;
}

static double last_time(const fettle_cure_history *history) {
  return seconds_from_first(history, history->count - 1);
}

static bool cancelled(const fettle_host *host, double fraction) {
  return host && host->poll && host->poll(host->context, fraction, "cure") != 0;
}

static fettle_status fail_cancelled(fettle_diagnostic *diagnostic) {
  return fettle_fail(diagnostic, FETTLE_ERROR_CANCELLED, NULL, "cancelled");
}

static void hours(double seconds, char *out, size_t capacity) {
  char number[40];
  fettle_number_format(seconds / 3600, 6, number, sizeof number);
  snprintf(out, capacity, "%s h", number);
}

static fettle_status check_history(const fettle_cure_history *history, const fettle_host *host,
                                   fettle_diagnostic *diagnostic) {
  if (!history->points || history->count == 0) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "history",
                       "history is empty: give a temperature, or points of time and temperature");
  }
  for (size_t i = 0; i < history->count; i++) {
    if (i % POINTS_A_POLL == 0 && cancelled(host, -1)) {
      return fail_cancelled(diagnostic);
    }
    const fettle_cure_point *p = &history->points[i];
    if (!isfinite(p->time) || !isfinite(p->temperature)) {
      return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "history",
                         "history, point %zu: time and temperature must be finite numbers", i + 1);
    }
    if (p->temperature <= 0) {
      return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "history",
                         "history, point %zu: temperature is not above absolute zero", i + 1);
    }
    if (i > 0 && p->time < history->points[i - 1].time) {
      return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "history",
                         "history, point %zu: its time is before that of point %zu; put the points "
                         "in order of time",
                         i + 1, i);
    }
  }
  if (history->count > 1 && !history->hold && last_time(history) <= 0) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "history",
                       "history takes no time: its last point is at the time of its first");
  }
  return FETTLE_OK;
}

/* --- the rate --- */

/* The degree a is carried as u = integral of da / (1 - a)^n. Then du/dt = (k1 + k2 a^m) / f has no
 * factor that vanishes: an nth-order law is a plain integral, nothing overshoots degree 1, and an
 * order below 1 is cured at the finite u = 1 / (1 - n). */
static double carried(double degree, double order) {
  double less = 1 - order;
  if (less == 0) {
    return -log1p(-degree);
  }
  return -expm1(less * log1p(-degree)) / less;
}

static double degree_of(double u, double order) {
  if (u <= 0) {
    return 0;
  }
  double above = order - 1;
  if (above == 0) {
    return -expm1(-u);
  }
  if (above * u <= -1) {
    return 1;
  }
  return -expm1(-log1p(above * u) / above);
}

typedef struct cure_context {
  const fettle_cure_kinetics *kinetics;
  piece piece;
  double first, second; /* rate constants of a piece of constant temperature, 1/s */
} cure_context;

static double rate(const void *context, double time, double u) {
  const cure_context *c = context;
  const fettle_cure_kinetics *k = c->kinetics;
  double first = c->first;
  double second = c->second;
  double temperature = c->piece.first;
  if (c->piece.first != c->piece.last) {
    temperature = temperature_in(&c->piece, time);
    first = fettle_arrhenius(k->first_factor, k->first_energy, temperature);
    second = fettle_arrhenius(k->second_factor, k->second_energy, temperature);
  }
  double result = first;
  double degree = second > 0 || k->diffusion > 0 ? degree_of(u, k->order) : 0;
  if (second > 0) {
    result += second * pow(degree, k->autocatalytic_order);
  }
  if (k->diffusion > 0) {
    double beyond = degree - k->diffusion_degree - k->diffusion_slope * temperature;
    result /= 1 + exp(k->diffusion * beyond);
  }
  return result;
}

static void enter(cure_context *c, piece p) {
  c->piece = p;
  c->first = fettle_arrhenius(c->kinetics->first_factor, c->kinetics->first_energy, p.first);
  c->second = fettle_arrhenius(c->kinetics->second_factor, c->kinetics->second_energy, p.first);
}

/* --- the request --- */

static fettle_status check_number(double value, double low, double high, const char *name,
                                  fettle_diagnostic *diagnostic) {
  if (!isfinite(value)) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, name, "%s must be a finite number", name);
  }
  if (value >= low && value <= high) {
    return FETTLE_OK;
  }
  char shown[40];
  char limit[40];
  fettle_number_format(value, 6, shown, sizeof shown);
  fettle_number_format(value < low ? low : high, 6, limit, sizeof limit);
  return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, name, "%s = %s: must not be %s %s", name,
                     shown, value < low ? "below" : "above", limit);
}

static fettle_status check_kinetics(const fettle_cure_request *request,
                                    fettle_diagnostic *diagnostic) {
  const fettle_cure_kinetics *k = &request->kinetics;
  const struct {
    double value, low, high;
    const char *name;
  } numbers[] = {{k->first_factor, 0, DBL_MAX, "pre_exponential"},
                 {k->first_energy, 0, 1e6, "activation_energy"},
                 {k->second_factor, 0, DBL_MAX, "second_pre_exponential"},
                 {k->second_energy, 0, 1e6, "second_activation_energy"},
                 {k->autocatalytic_order, 0, 10, "autocatalytic_order"},
                 {k->order, 0, 10, "order"},
                 {k->diffusion, 0, 1e4, "diffusion"},
                 {k->diffusion_degree, -1e3, 1e3, "diffusion_degree"},
                 {k->diffusion_slope, -1, 1, "diffusion_slope"},
                 {request->starting_degree, 0, 1 - 1e-12, "starting_degree"},
                 {request->until_degree, 0, 1, "until_degree"},
                 {request->duration, 0, DBL_MAX, "duration"},
                 {request->tolerance, 0, 1e-2, "tolerance"}};
  for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
    fettle_status status = check_number(numbers[i].value, numbers[i].low, numbers[i].high,
                                        numbers[i].name, diagnostic);
    if (status != FETTLE_OK) {
      return status;
    }
  }
  if (k->first_factor == 0 && k->second_factor == 0) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "pre_exponential",
                       "pre_exponential and second_pre_exponential are both 0: nothing cures");
  }
  if (k->first_factor == 0 && k->autocatalytic_order > 0 && request->starting_degree == 0) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "starting_degree",
                       "starting_degree = 0: without pre_exponential a purely autocatalytic law "
                       "never starts; give a starting_degree such as 0.001, which the result "
                       "depends on, or a pre_exponential");
  }
  if (request->tolerance > 0 && request->tolerance < 1e-12) {
    return check_number(request->tolerance, 1e-12, 1e-2, "tolerance", diagnostic);
  }
  if (request->until_degree > 0 && request->until_degree <= request->starting_degree) {
    return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "until_degree",
                       "until_degree must be above starting_degree");
  }
  return FETTLE_OK;
}

static fettle_status fail_past_end(const char *name, double time,
                                   const fettle_cure_history *history,
                                   fettle_diagnostic *diagnostic) {
  char shown[48];
  char end[48];
  hours(time, shown, sizeof shown);
  hours(last_time(history), end, sizeof end);
  return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, name,
                     "%s = %s: the history ends at %s; add points, or let the last temperature "
                     "hold",
                     name, shown, end);
}

/* Where the calculation ends: `end`, or INFINITY when only a degree ends it. */
static fettle_status find_end(const fettle_cure_request *request, double *end,
                              fettle_diagnostic *diagnostic) {
  const fettle_cure_history *history = &request->history;
  if (request->duration > 0) {
    if (!endless(history) && request->duration > last_time(history) * (1 + 1e-12)) {
      return fail_past_end("duration", request->duration, history, diagnostic);
    }
    *end = request->duration;
  } else if (!endless(history)) {
    *end = last_time(history);
  } else if (request->until_degree > 0) {
    *end = INFINITY;
  } else {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "duration",
                       "a temperature without end needs a duration or an until_degree");
  }
  return FETTLE_OK;
}

static fettle_status check_outputs(const fettle_cure_request *request, double end,
                                   fettle_diagnostic *diagnostic) {
  double before = 0;
  for (size_t i = 0; i < request->output_count; i++) {
    double time = request->output_times[i];
    if (!isfinite(time) || time < before) {
      return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "outputs",
                         "outputs, number %zu: times must be finite and in order, from 0", i + 1);
    }
    if (time > end * (1 + 1e-12)) {
      char shown[48];
      char limit[48];
      hours(time, shown, sizeof shown);
      hours(end, limit, sizeof limit);
      return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "outputs",
                         "outputs, number %zu = %s: must not be above the end %s", i + 1, shown,
                         limit);
    }
    before = time;
  }
  return FETTLE_OK;
}

/* --- the run --- */

typedef struct run {
  const fettle_cure_request *request;
  double *degrees;
  fettle_cure_result *result;
  const fettle_host *host;
  cure_context context;
  fettle_ode ode;
  double end;     /* s, or INFINITY */
  double sought;  /* u of until_degree, or INFINITY */
  double full;    /* u of degree 1, or INFINITY */
  size_t written; /* outputs */
} run;

static void write_outputs(run *r, bool in_step) {
  const fettle_cure_request *request = r->request;
  while (r->written < request->output_count && request->output_times[r->written] <= r->ode.time) {
    double time = request->output_times[r->written];
    double u = in_step && time < r->ode.time ? fettle_ode_at(&r->ode, time) : r->ode.value;
    r->degrees[r->written++] = degree_of(u, request->kinetics.order);
  }
}

/* True when the run is over. */
static bool meet_levels(run *r) {
  fettle_cure_result *result = r->result;
  if (!result->reached && r->ode.value >= r->sought) {
    result->reached = true;
    result->time_to_degree = fettle_ode_crossing(&r->ode, r->sought);
    if (isinf(r->end)) {
      result->time = result->time_to_degree;
      result->degree = r->request->until_degree;
      return true;
    }
  }
  if (!result->finished && r->ode.value >= r->full) {
    result->finished = true;
    result->time_to_finish = fettle_ode_crossing(&r->ode, r->full);
  }
  return false;
}

static fettle_status fail_never(const run *r, fettle_diagnostic *diagnostic) {
  char sought[40];
  char degree[40];
  fettle_number_format(r->request->until_degree, 6, sought, sizeof sought);
  fettle_number_format(degree_of(r->ode.value, r->request->kinetics.order), 4, degree,
                       sizeof degree);
  return fettle_fail(diagnostic, FETTLE_ERROR_UNREACHABLE, "until_degree",
                     "never reaches until_degree = %s: after 50 years the degree is %s; cure "
                     "warmer, or ask for less",
                     sought, degree);
}

static fettle_status run_piece(run *r, piece p, fettle_diagnostic *diagnostic) {
  double until = fmin(p.end, r->end);
  while (r->ode.time < until) {
    if (r->ode.steps % STEPS_A_POLL == 0 &&
        cancelled(r->host, isinf(r->end) ? -1 : r->ode.time / r->end)) {
      return fail_cancelled(diagnostic);
    }
    if (r->ode.steps >= STEPS_MOST) {
      return fettle_fail(diagnostic, FETTLE_ERROR_CONVERGENCE, "tolerance",
                         "a million steps did not reach the end: give a larger tolerance");
    }
    fettle_status status = fettle_ode_step(&r->ode, fmin(until, LONGEST), diagnostic);
    if (status != FETTLE_OK) {
      return status;
    }
    write_outputs(r, true);
    if (meet_levels(r)) {
      return FETTLE_OK;
    }
    if (isinf(r->end) && r->ode.time >= LONGEST) {
      return fail_never(r, diagnostic);
    }
  }
  return FETTLE_OK;
}

static fettle_status run_all(run *r, fettle_diagnostic *diagnostic) {
  const fettle_cure_history *history = &r->request->history;
  for (size_t i = 0; i < history->count; i++) {
    if (i + 1 == history->count && !endless(history)) {
      break;
    }
    piece p = piece_at(history, i, r->end);
    if (p.start >= r->end) {
      break;
    }
    if (p.end <= p.start) {
      continue;
    }
    /* At a corner the solver starts afresh: its orders hold for smooth rates only. */
    enter(&r->context, p);
    fettle_ode_restart(&r->ode, &r->context);
    fettle_status status = run_piece(r, p, diagnostic);
    if (status != FETTLE_OK) {
      return status;
    }
    if (isinf(r->end) && r->result->reached) {
      return FETTLE_OK;
    }
  }
  r->result->time = r->ode.time;
  r->result->degree = degree_of(r->ode.value, r->request->kinetics.order);
  return FETTLE_OK;
}

fettle_status fettle_cure_run(const fettle_cure_request *request, double *degrees,
                              fettle_cure_result *result, const fettle_host *host,
                              fettle_diagnostic *diagnostic) {
  *result = (fettle_cure_result){0};
  double end = 0;
  fettle_status status = check_history(&request->history, host, diagnostic);
  if (status == FETTLE_OK) {
    status = check_kinetics(request, diagnostic);
  }
  if (status == FETTLE_OK) {
    status = find_end(request, &end, diagnostic);
  }
  if (status == FETTLE_OK) {
    status = check_outputs(request, end, diagnostic);
  }
  if (status != FETTLE_OK) {
    return status;
  }
  double order = request->kinetics.order;
  /* As the error of one step this keeps the error of the whole below it: measured a tenth. */
  double step_tolerance = request->tolerance > 0 ? request->tolerance : TOLERANCE;
  run r = {.request = request,
           .degrees = degrees,
           .result = result,
           .host = host,
           .context = {.kinetics = &request->kinetics},
           .end = end,
           .sought = request->until_degree > 0 && (request->until_degree < 1 || order < 1)
                         ? carried(request->until_degree, order)
                         : (double)INFINITY,
           .full = order < 1 ? 1 / (1 - order) : (double)INFINITY};
  if (request->until_degree >= 1 && order >= 1) {
    return fettle_fail(diagnostic, FETTLE_ERROR_UNREACHABLE, "until_degree",
                       "never reaches until_degree = 1: a law of order 1 or more only comes near; "
                       "ask for less, such as 0.95");
  }
  enter(&r.context, piece_at(&request->history, 0, end));
  fettle_ode_start(&r.ode, rate, &r.context, 0, carried(request->starting_degree, order),
                   step_tolerance * SMALL_DEGREE, step_tolerance);
  write_outputs(&r, false);
  status = run_all(&r, diagnostic);
  result->steps = r.ode.steps;
  result->rate_calls = r.ode.calls;
  if (status == FETTLE_OK && r.written < request->output_count) {
    /* Rounding only: the last outputs stand at the very end. */
    while (r.written < request->output_count) {
      degrees[r.written++] = result->degree;
    }
  }
  if (status == FETTLE_OK && !isfinite(result->degree)) {
    return fettle_fail(diagnostic, FETTLE_ERROR_INTERNAL, NULL, "the degree of cure is no number");
  }
  return status;
}

/* --- equivalent time --- */

double fettle_cure_rule_rate(const fettle_cure_rule *rule, double temperature) {
  if (rule->activation_energy > 0) {
    return exp(rule->activation_energy / FETTLE_GAS_CONSTANT *
               (1 / rule->reference_temperature - 1 / temperature));
  }
  return pow(rule->factor, (temperature - rule->reference_temperature) / rule->step);
}

static fettle_status check_rule(const fettle_cure_rule *rule, fettle_diagnostic *diagnostic) {
  fettle_status status =
      check_number(rule->reference_temperature, 1, 2000, "reference_temperature", diagnostic);
  if (status == FETTLE_OK) {
    status = check_number(rule->activation_energy, 0, 1e6, "activation_energy", diagnostic);
  }
  if (status == FETTLE_OK && rule->activation_energy == 0) {
    status = check_number(rule->step, 1e-3, 1e4, "step", diagnostic);
    if (status == FETTLE_OK) {
      status = check_number(rule->factor, 1 + 1e-9, 1e4, "factor", diagnostic);
    }
  }
  return status;
}

typedef struct rule_context {
  const fettle_cure_rule *rule;
  piece piece;
} rule_context;

static double rule_rate(const void *context, double time, double value) {
  (void)value;
  const rule_context *c = context;
  return fettle_cure_rule_rate(c->rule, temperature_in(&c->piece, time));
}

static const double RULE_TOLERANCE = 1e-11; /* of a step, relative */

/* Equivalent time of one piece from its start to `until`, and, when `sought` lies inside, the time
 * at which it is met; else INFINITY. Exact for a step rule, whose rate is an exponential of time.
 */
static fettle_status pass_piece(const fettle_cure_rule *rule, piece p, double until, double sought,
                                double *equivalent, double *met, fettle_diagnostic *diagnostic) {
  double length = until - p.start;
  *met = INFINITY;
  double at_start = fettle_cure_rule_rate(rule, p.first);
  if (p.first == p.last) {
    *equivalent = at_start * length;
    if (sought <= *equivalent) {
      *met = p.start + sought / at_start;
    }
    return FETTLE_OK;
  }
  if (rule->activation_energy == 0) {
    double growth = log(rule->factor) / rule->step * (p.last - p.first) / (p.end - p.start);
    *equivalent = at_start * expm1(growth * length) / growth;
    if (sought <= *equivalent) {
      *met = p.start + log1p(sought * growth / at_start) / growth;
    }
    return FETTLE_OK;
  }
  rule_context context = {.rule = rule, .piece = p};
  fettle_ode ode;
  fettle_ode_start(&ode, rule_rate, &context, p.start, 0, RULE_TOLERANCE * at_start * length,
                   RULE_TOLERANCE);
  while (ode.time < until) {
    fettle_status status = fettle_ode_step(&ode, until, diagnostic);
    if (status != FETTLE_OK) {
      return status;
    }
    if (isinf(*met) && sought <= ode.value) {
      *met = fettle_ode_crossing(&ode, sought);
    }
  }
  *equivalent = ode.value;
  return FETTLE_OK;
}

/* Passes over the pieces until `end` or until `sought` is met. */
static fettle_status pass_history(const fettle_cure_history *history, double end,
                                  const fettle_cure_rule *rule, double sought, double *equivalent,
                                  double *met, const fettle_host *host,
                                  fettle_diagnostic *diagnostic) {
  *equivalent = 0;
  *met = INFINITY;
  for (size_t i = 0; i < history->count; i++) {
    if (i % STEPS_A_POLL == 0 && cancelled(host, (double)i / (double)history->count)) {
      return fail_cancelled(diagnostic);
    }
    if (i + 1 == history->count && !endless(history)) {
      break;
    }
    piece p = piece_at(history, i, end);
    double until = fmin(p.end, end);
    if (until <= p.start) {
      continue;
    }
    double part = 0;
    fettle_status status = pass_piece(rule, p, until, sought - *equivalent, &part, met, diagnostic);
    if (status != FETTLE_OK) {
      return status;
    }
    *equivalent += part;
    if (isfinite(*met)) {
      return FETTLE_OK;
    }
  }
  return FETTLE_OK;
}

fettle_status fettle_cure_equivalent_time(const fettle_cure_history *history, double duration,
                                          const fettle_cure_rule *rule, double *equivalent,
                                          const fettle_host *host, fettle_diagnostic *diagnostic) {
  fettle_status status = check_history(history, host, diagnostic);
  if (status == FETTLE_OK) {
    status = check_rule(rule, diagnostic);
  }
  if (status == FETTLE_OK) {
    status = check_number(duration, 0, DBL_MAX, "duration", diagnostic);
  }
  if (status != FETTLE_OK) {
    return status;
  }
  if (duration == 0 && history->count == 1) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "duration",
                       "a temperature without end needs a duration");
  }
  if (duration > 0 && !endless(history) && duration > last_time(history) * (1 + 1e-12)) {
    return fail_past_end("duration", duration, history, diagnostic);
  }
  double met;
  status = pass_history(history, duration > 0 ? duration : last_time(history), rule, INFINITY,
                        equivalent, &met, host, diagnostic);
  if (status == FETTLE_OK && !isfinite(*equivalent)) {
    return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "history",
                       "the history is so hot for this rule that its equivalent time is endless");
  }
  return status;
}

fettle_status fettle_cure_ready_time(const fettle_cure_history *history, double required,
                                     const fettle_cure_rule *rule, double *ready,
                                     const fettle_host *host, fettle_diagnostic *diagnostic) {
  fettle_status status = check_history(history, host, diagnostic);
  if (status == FETTLE_OK) {
    status = check_rule(rule, diagnostic);
  }
  if (status == FETTLE_OK) {
    status = check_number(required, 1e-9, DBL_MAX, "required", diagnostic);
  }
  if (status != FETTLE_OK) {
    return status;
  }
  double equivalent;
  /* A hold is passed in one piece of its own: it needs a length, and none is too long. */
  double end = endless(history) ? last_time(history) + LONGEST : last_time(history);
  status = pass_history(history, end, rule, required, &equivalent, ready, host, diagnostic);
  if (status != FETTLE_OK || isfinite(*ready)) {
    return status;
  }
  char comes[48];
  char wanted[48];
  char limit[48];
  hours(equivalent, comes, sizeof comes);
  hours(required, wanted, sizeof wanted);
  hours(end, limit, sizeof limit);
  return fettle_fail(diagnostic, FETTLE_ERROR_UNREACHABLE, "required",
                     "never reaches required = %s: the history of %s comes to %s at the reference "
                     "temperature; add points, or let the last temperature hold",
                     wanted, limit, comes);
}

double fettle_cure_temperature_at(const fettle_cure_history *history, double time) {
  for (size_t i = 0; i + 1 < history->count; i++) {
    piece p = piece_at(history, i, time);
    if (time < p.end) {
      return temperature_in(&p, fmax(time, p.start));
    }
  }
  return history->points[history->count - 1].temperature;
}

fettle_status fettle_cure_constant_temperature(const fettle_cure_rule *rule, double required,
                                               double time, double *temperature,
                                               fettle_diagnostic *diagnostic) {
  fettle_status status = check_rule(rule, diagnostic);
  if (status == FETTLE_OK) {
    status = check_number(required, 1e-9, DBL_MAX, "required", diagnostic);
  }
  if (status == FETTLE_OK) {
    status = check_number(time, 1e-9, DBL_MAX, "time", diagnostic);
  }
  if (status != FETTLE_OK) {
    return status;
  }
  double speed = log(required / time);
  *temperature = rule->activation_energy > 0
                     ? 1 / (1 / rule->reference_temperature -
                            speed * FETTLE_GAS_CONSTANT / rule->activation_energy)
                     : rule->reference_temperature + rule->step * speed / log(rule->factor);
  if (!isfinite(*temperature) || *temperature <= 0) {
    return fettle_fail(diagnostic, FETTLE_ERROR_UNREACHABLE, "time",
                       "no temperature cures in that time by this rule");
  }
  return FETTLE_OK;
}

/* --- how the catalogue describes them --- */

static const fettle_parameter history_in[] = {
    {"temperature", "T", "degC", "degF", "constant temperature, instead of a history", -100, 600, 0,
     0, NAN, FETTLE_ROLE_POINT, 0},
    {"history", "h", "1", NULL,
     "list of {time, temperature}: straight lines between, two points at one time are a jump", 0, 0,
     0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"hold", "h_l", "1", NULL, "true: the last temperature stays after the last point", 0, 0, 0, 0,
     NAN, FETTLE_ROLE_ANY, 0},
    {"kinetics", "K", "1", NULL,
     "table of pre_exponential, activation_energy, order and, for autocatalytic cure, "
     "second_pre_exponential, second_activation_energy, autocatalytic_order; also diffusion, "
     "diffusion_degree, diffusion_slope",
     0, 0, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"starting_degree", "alpha_0", "1", NULL, "degree of cure at the start", 0, 1, 0, 0, 0,
     FETTLE_ROLE_ANY, 0},
    {"until_degree", "alpha_u", "1", NULL, "degree of cure whose time is sought", 0, 1, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"duration", "t_e", "h", NULL, "where the calculation ends; preset the end of the history", 0,
     INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"outputs", "n", "1", NULL, "how many points for a plot, or a list of times", 0, 10000, 0, 0, 0,
     FETTLE_ROLE_ANY, 1},
    {"tolerance", "eps", "1", NULL, "error allowed in the degree of cure", 1e-12, 1e-2, 0, 0, 1e-6,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter history_out[] = {
    {"degree", "alpha", "1", NULL, "degree of cure at the end", 0, 1, 0, 0, NAN, FETTLE_ROLE_ANY,
     0},
    {"time", "t", "h", NULL, "time of the end from the first point", 0, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"time_to_degree", "t_u", "h", NULL, "time to until_degree; nil when it is not reached", 0,
     INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

const fettle_formula fettle_formula_resin_cure_history = {
    .size = sizeof(fettle_formula),
    .kind = FETTLE_FORMULA_LISTS,
    .name = "resin.cure_history",
    .brief = "degree of cure over a history of temperature",
    .words = "kinetics kamal sourour nth order autocatalytic conversion temperature log ramp soak "
             "overnight post-cure time to gel demould",
    .text = "d alpha / d t = (k_1 + k_2 alpha^m) (1 - alpha)^n / f; k = A exp(-E / (R_g T)); "
            "f = 1 + exp(C (alpha - alpha_C - beta T)), or 1 without diffusion",
    .notes = "Solved by an explicit pair of orders 5 and 4 to the tolerance, afresh at each corner "
             "of the history. Points of a log are joined by straight lines. Without a "
             "pre_exponential the law never starts from degree 0 and is refused; with a "
             "starting_degree the result depends on it. An order below 1 is fully cured in a "
             "finite time. Far below the final glass transition cure stops short of what the law "
             "says unless diffusion is given: see resin.vitrification_degree. The resin is taken "
             "to be at the temperature given: a thick laminate heats itself.",
    .source = "M. R. Kamal and S. Sourour's rate law (1973), from memory; solver J. R. Dormand and "
              "P. J. Prince, J. Comput. Appl. Math. 6 (1980) 19",
    .inputs = history_in,
    .outputs = history_out,
    .hazards = FETTLE_HAZARD_EXOTHERM};

static const fettle_parameter equivalent_in[] = {
    {"temperature", "T", "degC", "degF", "constant temperature, instead of a history", -100, 600, 0,
     0, NAN, FETTLE_ROLE_POINT, 0},
    {"history", "h", "1", NULL,
     "list of {time, temperature}: straight lines between, two points at one time are a jump", 0, 0,
     0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"hold", "h_l", "1", NULL, "true: the last temperature stays after the last point", 0, 0, 0, 0,
     NAN, FETTLE_ROLE_ANY, 0},
    {"reference_temperature", "T_r", "degC", "degF", "temperature of the data sheet's time", -100,
     600, 0, 0, NAN, FETTLE_ROLE_POINT, 0},
    {"step", "d", "dC", "dF", "warmth that speeds cure by the factor", 1e-3, 1e4, 0, 0, NAN,
     FETTLE_ROLE_DIFFERENCE, 0},
    {"factor", "f", "1", NULL, "how many times as fast for each step of warmth", 1, 1e4, 0, 0, 2,
     FETTLE_ROLE_ANY, 0},
    {"activation_energy", "E", "kJ/mol", NULL, "activation energy, instead of step and factor", 0,
     1000, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"required", "t_q", "h", NULL, "time of the data sheet after which it is ready", 0, INFINITY, 0,
     0, NAN, FETTLE_ROLE_ANY, 0},
    {"within", "t_w", "h", NULL, "time for which a constant temperature is sought", 0, INFINITY, 0,
     0, NAN, FETTLE_ROLE_ANY, 0},
    {"duration", "t_e", "h", NULL, "where to stop counting; preset the end of the history", 0,
     INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"outputs", "n", "1", NULL, "how many points for a plot", 0, 10000, 0, 0, 0, FETTLE_ROLE_ANY,
     1},
    {.name = NULL}};
static const fettle_parameter equivalent_out[] = {
    {"equivalent", "t_q", "h", NULL, "time at the reference temperature that does as much", 0,
     INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"ready", "t", "h", NULL, "time from the first point until it is ready; nil when it never is",
     0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"constant_temperature", "T_w", "degC", "degF",
     "constant temperature that makes it ready in the time `within`", -273.15, 1e4, 0, 0, NAN,
     FETTLE_ROLE_POINT, 0},
    {.name = NULL}};

const fettle_formula fettle_formula_resin_equivalent_time = {
    .size = sizeof(fettle_formula),
    .kind = FETTLE_FORMULA_LISTS,
    .name = "resin.equivalent_time",
    .brief = "equivalent cure time over a history of temperature, and when it is ready",
    .words = "overnight shop temperature log ten degree rule Q10 ready to sand demould putty cure",
    .text = "t_q = integral of f^((T - T_r) / d) dt, or of exp(E / R_g (1 / T_r - 1 / T)) dt",
    .notes = "Exact between the points of a history, which are joined by straight lines. Published "
             "step rules disagree: run two, and plan for the later.",
    .source = "common practice, no source (step rule); S. Arrhenius's rate law, from memory",
    .inputs = equivalent_in,
    .outputs = equivalent_out};
