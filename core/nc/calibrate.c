/* nc/calibrate.c - a machine's numbers from what its programs took. */
#include <math.h>

#include "nc/internal.h"

enum { NUMBERS = 5, ROUNDS = 60 };

#define STEP 0.01        /* of a logarithm, for the slopes */
#define SETTLED 1e-7     /* relative fall of the sum of squares */
#define LONGEST_STEP 0.7 /* of a logarithm: about a factor of two a round */

typedef struct fitting {
  const fettle_nc_recording *recordings;
  size_t count;
  const fettle_host *host;
  const fettle_nc_machine *guess;
  fettle_diagnostic *diagnostic;
} fitting;

static void set_numbers(fettle_nc_machine *m, const double logs[NUMBERS]) {
  m->acceleration_mm_s2[0] = m->acceleration_mm_s2[1] = exp(logs[0]);
  m->acceleration_mm_s2[2] = exp(logs[1]);
  m->speed_mm_s[0] = m->speed_mm_s[1] = exp(logs[2]);
  m->speed_mm_s[2] = exp(logs[3]);
  m->corner_mm = exp(logs[4]);
}

/* Times every section; `fit` gets the errors. */
static fettle_status run(const fitting *f, const double logs[NUMBERS], fettle_nc_fit *fit) {
  fettle_nc_machine machine = *f->guess;
  set_numbers(&machine, logs);
  double sum = 0.0;
  fit->worst = 0.0;
  fit->sections = 0;
  for (size_t i = 0; i < f->count; i++) {
    const fettle_nc_recording *r = &f->recordings[i];
    const fettle_nc_timing timing = {1.0, 1.0, r->sections, r->section_count};
    fettle_nc_timer *timer;
    fettle_nc_times times;
    if (f->host->poll && f->host->poll(f->host->context, -1.0, "calibrating") != 0) {
      return fettle_fail(f->diagnostic, FETTLE_ERROR_CANCELLED, NULL, "cancelled");
    }
    const fettle_status status =
        fettle_nc_timer_start(&machine, &timing, f->host, &timer, f->diagnostic);
    if (status != FETTLE_OK) {
      return status;
    }
    for (size_t j = 0; j < r->motion_count; j++) {
      fettle_nc_timer_push(timer, &r->motions[j]);
    }
    fettle_nc_timer_finish(timer, &times);
    for (size_t j = 0; j < r->section_count; j++) {
      if (r->sections[j].recorded > 0.0) {
        const double error = r->sections[j].seconds / r->sections[j].recorded - 1.0;
        sum += error * error;
        fit->worst = fabs(error) > fabs(fit->worst) ? error : fit->worst;
        fit->sections++;
      }
    }
  }
  fit->residual = fit->sections > 0 ? sqrt(sum / (double)fit->sections) : 0.0;
  return FETTLE_OK;
}

static double error_of(const fettle_nc_section *s) {
  return s->seconds / s->recorded - 1.0;
}

/* Solves a x = b in place; false when a is singular. */
static bool solve(double a[NUMBERS][NUMBERS], double b[NUMBERS]) {
  for (int k = 0; k < NUMBERS; k++) {
    int pivot = k;
    for (int i = k + 1; i < NUMBERS; i++) {
      pivot = fabs(a[i][k]) > fabs(a[pivot][k]) ? i : pivot;
    }
    if (!(fabs(a[pivot][k]) > 1e-300)) {
      return false;
    }
    for (int j = 0; j < NUMBERS; j++) {
      const double kept = a[k][j];
      a[k][j] = a[pivot][j];
      a[pivot][j] = kept;
    }
    const double kept = b[k];
    b[k] = b[pivot];
    b[pivot] = kept;
    for (int i = k + 1; i < NUMBERS; i++) {
      const double share = a[i][k] / a[k][k];
      for (int j = k; j < NUMBERS; j++) {
        a[i][j] -= share * a[k][j];
      }
      b[i] -= share * b[k];
    }
  }
  for (int k = NUMBERS; k-- > 0;) {
    for (int j = k + 1; j < NUMBERS; j++) {
      b[k] -= a[k][j] * b[j];
    }
    b[k] /= a[k][k];
  }
  return true;
}

/* Slopes of every section by each number, in `slopes`: sections of all recordings one after the
 * other, NUMBERS each, then their errors. */
static fettle_status slopes_of(const fitting *f, const double logs[NUMBERS], double *slopes,
                               size_t sections) {
  for (int side = 0; side < 2 * NUMBERS + 1; side++) {
    double moved[NUMBERS];
    fettle_nc_fit fit;
    for (int i = 0; i < NUMBERS; i++) {
      moved[i] = logs[i] + (side / 2 == i && side < 2 * NUMBERS ? (side % 2 ? -STEP : STEP) : 0.0);
    }
    const fettle_status status = run(f, moved, &fit);
    if (status != FETTLE_OK) {
      return status;
    }
    size_t row = 0;
    for (size_t i = 0; i < f->count; i++) {
      for (size_t j = 0; j < f->recordings[i].section_count; j++) {
        const fettle_nc_section *s = &f->recordings[i].sections[j];
        if (!(s->recorded > 0.0)) {
          continue;
        }
        if (side == 2 * NUMBERS) {
          slopes[sections * NUMBERS + row] = error_of(s);
        } else if (side % 2 == 0) {
          slopes[row * NUMBERS + (size_t)(side / 2)] = error_of(s) / (2.0 * STEP);
        } else {
          slopes[row * NUMBERS + (size_t)(side / 2)] -= error_of(s) / (2.0 * STEP);
        }
        row++;
      }
    }
  }
  return FETTLE_OK;
}

/* One damped step; `next` gets the numbers to try. */
static bool step(const double *slopes, size_t sections, double damping, const double logs[NUMBERS],
                 double next[NUMBERS]) {
  double a[NUMBERS][NUMBERS] = {{0.0}}, b[NUMBERS] = {0.0};
  for (size_t row = 0; row < sections; row++) {
    for (int i = 0; i < NUMBERS; i++) {
      const double slope = slopes[row * NUMBERS + (size_t)i];
      b[i] -= slope * slopes[sections * NUMBERS + row];
      for (int j = 0; j < NUMBERS; j++) {
        a[i][j] += slope * slopes[row * NUMBERS + (size_t)j];
      }
    }
  }
  double size = 0.0;
  for (int i = 0; i < NUMBERS; i++) {
    size = fmax(size, a[i][i]);
  }
  /* a number that no section depends on stays where it is */
  for (int i = 0; i < NUMBERS; i++) {
    a[i][i] += damping * (a[i][i] + 1e-6 * size);
  }
  if (!(size > 0.0) || !solve(a, b)) {
    return false;
  }
  for (int i = 0; i < NUMBERS; i++) {
    next[i] = logs[i] + fmin(fmax(b[i], -LONGEST_STEP), LONGEST_STEP);
  }
  return true;
}

static fettle_status descend(const fitting *f, double *slopes, size_t sections,
                             double logs[NUMBERS], fettle_nc_fit *fit) {
  double damping = 1e-2;
  fettle_status status = run(f, logs, fit);
  bool fresh = false;
  for (fit->rounds = 0; status == FETTLE_OK && fit->rounds < ROUNDS && damping < 1e8;
       fit->rounds++) {
    double next[NUMBERS];
    fettle_nc_fit tried = {.rounds = fit->rounds};
    if (!fresh) {
      status = slopes_of(f, logs, slopes, sections);
      fresh = true;
    }
    if (status != FETTLE_OK) {
      break;
    }
    if (!step(slopes, sections, damping, logs, next)) {
      return fettle_fail(f->diagnostic, FETTLE_ERROR_CONVERGENCE, "sections",
                         "sections: their times do not depend on the machine's numbers");
    }
    if (run(f, next, &tried) == FETTLE_OK && tried.residual < fit->residual) {
      const double fall = 1.0 - tried.residual / fit->residual;
      for (int i = 0; i < NUMBERS; i++) {
        logs[i] = next[i];
      }
      *fit = tried;
      fresh = false;
      damping /= 5.0;
      if (fall < SETTLED) {
        break;
      }
    } else {
      damping *= 5.0;
    }
  }
  const unsigned rounds = fit->rounds;
  if (status == FETTLE_OK) {
    status = run(f, logs, fit); /* leaves the answer's seconds in the sections */
  }
  fit->rounds = rounds;
  return status;
}

fettle_status fettle_nc_calibrate(const fettle_nc_recording *recordings, size_t count,
                                  const fettle_host *host, fettle_nc_machine *machine,
                                  fettle_nc_fit *fit, fettle_diagnostic *diagnostic) {
  size_t sections = 0;
  for (size_t i = 0; i < count; i++) {
    for (size_t j = 0; j < recordings[i].section_count; j++) {
      sections += recordings[i].sections[j].recorded > 0.0;
    }
  }
  if (sections == 0 || !(machine->corner_mm > 0.0)) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "sections",
                       sections == 0 ? "sections: none has a recorded time above 0"
                                     : "machine: the first guess of corner_mm must be above 0");
  }
  const fettle_nc_machine guess = *machine;
  const fitting f = {recordings, count, host, &guess, diagnostic};
  double logs[NUMBERS] = {log(guess.acceleration_mm_s2[0]), log(guess.acceleration_mm_s2[2]),
                          log(guess.speed_mm_s[0]), log(guess.speed_mm_s[2]), log(guess.corner_mm)};
  const size_t size = sections * (NUMBERS + 1) * sizeof(double);
  double *slopes = host->allocate(host->context, NULL, 0, size);
  if (!slopes) {
    return fettle_fail(diagnostic, FETTLE_ERROR_MEMORY, NULL, "no memory to calibrate");
  }
  fettle_nc_fit found = {.rounds = 0};
  const fettle_status status = descend(&f, slopes, sections, logs, &found);
  host->allocate(host->context, slopes, size, 0);
  if (status == FETTLE_OK) {
    set_numbers(machine, logs);
    *fit = found;
  }
  return status;
}
