#include "numerics/ode.h"

#include <float.h>
#include <math.h>

/* Step control: factors and exponents as in Hairer, Norsett and Wanner, section II.4 (from memory).
 */
static const double SAFETY = 0.9;
static const double SHRINK_MOST = 0.2;
static const double GROW_MOST = 10.0;
static const double EXPONENT_NOW = 0.17; /* 1/5 - 0.75 * EXPONENT_BEFORE */
static const double EXPONENT_BEFORE = 0.04;
enum { REJECTED_MOST = 200 };
static const double ERROR_LEAST = 1e-4; /* smaller errors say nothing about the next step */

typedef struct stages {
  double slope[7];
  double value; /* at the end of the step, order 5 */
} stages;

static double call(fettle_ode *ode, double time, double value) {
  ode->calls++;
  return ode->rate(ode->context, time, value);
}

static void take(fettle_ode *ode, double h, stages *out) {
  double *k = out->slope;
  double t = ode->time;
  double y = ode->value;
  k[0] = ode->slope;
  k[1] = call(ode, t + h / 5, y + h * k[0] / 5);
  k[2] = call(ode, t + h * 3 / 10, y + h * (k[0] * (3.0 / 40.0) + k[1] * (9.0 / 40.0)));
  k[3] = call(ode, t + h * 4 / 5,
              y + h * (k[0] * (44.0 / 45.0) - k[1] * (56.0 / 15.0) + k[2] * (32.0 / 9.0)));
  k[4] = call(ode, t + h * 8 / 9,
              y + h * (k[0] * (19372.0 / 6561.0) - k[1] * (25360.0 / 2187.0) +
                       k[2] * (64448.0 / 6561.0) - k[3] * (212.0 / 729.0)));
  k[5] =
      call(ode, t + h,
           y + h * (k[0] * (9017.0 / 3168.0) - k[1] * (355.0 / 33.0) + k[2] * (46732.0 / 5247.0) +
                    k[3] * (49.0 / 176.0) - k[4] * (5103.0 / 18656.0)));
  out->value = y + h * (k[0] * (35.0 / 384.0) + k[2] * (500.0 / 1113.0) + k[3] * (125.0 / 192.0) -
                        k[4] * (2187.0 / 6784.0) + k[5] * (11.0 / 84.0));
  k[6] = call(ode, t + h, out->value);
}

/* Estimated error of the step, in units of the tolerance. */
static double error_of(const fettle_ode *ode, double h, const stages *s) {
  const double *k = s->slope;
  double error = h * (k[0] * (71.0 / 57600.0) - k[2] * (71.0 / 16695.0) + k[3] * (71.0 / 1920.0) -
                      k[4] * (17253.0 / 339200.0) + k[5] * (22.0 / 525.0) - k[6] / 40);
  double scale = ode->absolute + ode->relative * fmax(fabs(ode->value), fabs(s->value));
  return fabs(error) / scale;
}

static void keep_dense(fettle_ode *ode, double h, const stages *s) {
  const double *k = s->slope;
  double rise = s->value - ode->value;
  double bend = h * k[0] - rise;
  ode->dense[0] = ode->value;
  ode->dense[1] = rise;
  ode->dense[2] = bend;
  ode->dense[3] = rise - h * k[6] - bend;
  ode->dense[4] =
      h * (-k[0] * (12715105075.0 / 11282082432.0) + k[2] * (87487479700.0 / 32700410799.0) -
           k[3] * (10690763975.0 / 1880347072.0) + k[4] * (701980252875.0 / 199316789632.0) -
           k[5] * (1453857185.0 / 822651844.0) + k[6] * (69997945.0 / 29380423.0));
}

/* A first step from the sizes of the value, its slope and the change of its slope. */
static double first_step(fettle_ode *ode, double span) {
  double scale = ode->absolute + ode->relative * fabs(ode->value);
  double value = fabs(ode->value) / scale;
  double slope = fabs(ode->slope) / scale;
  double try = value < 1e-5 || slope < 1e-5 ? span * 1e-3 : 0.01 * value / slope;
  try = fmin(try, span);
  double ahead = call(ode, ode->time + try, ode->value + try * ode->slope);
  double bend = fabs(ahead - ode->slope) / (scale * try);
  double largest = fmax(slope, bend);
  double step = largest * span <= 1e-15 ? span : pow(0.01 / largest, 0.2);
  return fmin(fmin(100 * try, step), span);
}

void fettle_ode_start(fettle_ode *ode, fettle_ode_rate rate, const void *context, double time,
                      double value, double absolute, double relative) {
  *ode = (fettle_ode){.rate = rate,
                      .absolute = absolute,
                      .relative = relative,
                      .time = time,
                      .value = value,
                      .error_before = ERROR_LEAST};
  fettle_ode_restart(ode, context);
}

void fettle_ode_restart(fettle_ode *ode, const void *context) {
  ode->context = context;
  ode->slope = call(ode, ode->time, ode->value);
  ode->error_before = ERROR_LEAST;
}

static void accept(fettle_ode *ode, double h, double end, const stages *s) {
  keep_dense(ode, h, s);
  ode->from = ode->time;
  ode->size = h;
  /* A step to the end arrives there exactly, whatever the rounding of the sum. */
  ode->time =
      ode->time + h >= end || end - (ode->time + h) < DBL_EPSILON * fabs(end) ? end : ode->time + h;
  ode->value = s->value;
  ode->slope = s->slope[6];
  ode->steps++;
}

fettle_status fettle_ode_step(fettle_ode *ode, double end, fettle_diagnostic *diagnostic) {
  double span = end - ode->time;
  if (ode->step <= 0) {
    ode->step = first_step(ode, span);
  }
  for (int rejected = 0; rejected < REJECTED_MOST; rejected++) {
    double h = fmin(ode->step, span);
    /* A sliver left over would be a step lost to rounding. */
    if (span - h < 0.01 * h) {
      h = span;
    }
    if (!(ode->time + h > ode->time)) {
      break; /* no step is left that moves */
    }
    stages s;
    take(ode, h, &s);
    double error = error_of(ode, h, &s);
    if (!(error <= 1)) {
      double factor = isfinite(error) ? SAFETY / pow(error, 0.2) : SHRINK_MOST;
      ode->step = h * fmax(SHRINK_MOST, factor);
      continue;
    }
    double bounded = fmax(error, ERROR_LEAST);
    double factor = SAFETY * pow(ode->error_before, EXPONENT_BEFORE) / pow(bounded, EXPONENT_NOW);
    factor = fmin(fmax(factor, SHRINK_MOST), rejected > 0 ? 1 : GROW_MOST);
    double proposed = h * factor;
    /* A step cut short by `end` says little about how long the next may be. */
    ode->step = h < ode->step ? fmax(ode->step, proposed) : proposed;
    ode->error_before = bounded;
    accept(ode, h, end, &s);
    return FETTLE_OK;
  }
  return fettle_fail(diagnostic, FETTLE_ERROR_CONVERGENCE, NULL,
                     "no step is small enough for the tolerance: the rate changes too abruptly");
}

double fettle_ode_at(const fettle_ode *ode, double time) {
  const double *d = ode->dense;
  double a = (time - ode->from) / ode->size;
  double b = 1 - a;
  return d[0] + a * (d[1] + b * (d[2] + a * (d[3] + b * d[4])));
}

double fettle_ode_crossing(fettle_ode *ode, double level) {
  double low = ode->from;
  double high = ode->time;
  for (int i = 0; i < 100 && high - low > DBL_EPSILON * fabs(high); i++) {
    double middle = low + (high - low) / 2;
    if (fettle_ode_at(ode, middle) < level) {
      low = middle;
    } else {
      high = middle;
    }
  }
  /* The continuous extension is of a lower order than the step: one step of its own from the
   * start of this one to the place found, and a tangent from there, give the full order. */
  fettle_ode again = *ode;
  again.time = ode->from;
  again.value = ode->dense[0];
  again.slope = call(&again, again.time, again.value);
  double h = high - ode->from;
  if (h <= 0) {
    return high;
  }
  stages s;
  take(&again, h, &s);
  ode->calls = again.calls;
  double tangent = s.slope[6] > 0 ? high - (s.value - level) / s.slope[6] : high;
  return fmin(fmax(tangent, ode->from), ode->time);
}
