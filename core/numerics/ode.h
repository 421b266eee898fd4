/* numerics/ode.h - one ordinary differential equation, solved to a tolerance.
 *
 * Explicit pair of orders 5 and 4 with a continuous extension of order 4: J. R. Dormand and
 * P. J. Prince, "A family of embedded Runge-Kutta formulae", Journal of Computational and Applied
 * Mathematics 6 (1980) 19-26; the extension as in E. Hairer, S. P. Norsett, G. Wanner, "Solving
 * Ordinary Differential Equations I" (1993), section II.6. Coefficients from memory; the tests
 * verify the orders by convergence. */
#ifndef FETTLE_NUMERICS_ODE_H
#define FETTLE_NUMERICS_ODE_H

#include <stddef.h>

#include "fettle/status.h"

/* Rate of change of `value` at `time`. Must be finite wherever the solution can go. */
typedef double (*fettle_ode_rate)(const void *context, double time, double value);

/* Owned by caller. `time`, `value` and `slope` are those at the end of the last accepted step. */
typedef struct fettle_ode {
  fettle_ode_rate rate;
  const void *context; /* borrowed */
  double absolute;     /* error allowed in one step: absolute + relative * |value| */
  double relative;
  double time;
  double value;
  double slope;
  double step;         /* proposed for the next step; 0: not yet known */
  double error_before; /* of the last accepted step, for the step control */
  double from;         /* where the last accepted step began */
  double size;
  double dense[5];
  size_t steps;
  size_t calls; /* of rate */
} fettle_ode;

void fettle_ode_start(fettle_ode *ode, fettle_ode_rate rate, const void *context, double time,
                      double value, double absolute, double relative);
/* To be called where the rate has a corner or a jump in time: the next step starts afresh there,
 * with the step size reached so far. */
void fettle_ode_restart(fettle_ode *ode, const void *context);
/* One accepted step that does not pass `end` (which must lie after `time`).
 * FETTLE_ERROR_CONVERGENCE when no step however small meets the tolerance. */
fettle_status fettle_ode_step(fettle_ode *ode, double end, fettle_diagnostic *diagnostic);
/* The solution at a time inside the last accepted step. */
double fettle_ode_at(const fettle_ode *ode, double time);
/* The time inside the last accepted step at which a rising solution passes `level`, which must lie
 * between the step's ends. */
double fettle_ode_crossing(fettle_ode *ode, double level);

#endif
