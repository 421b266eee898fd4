/* nc/cycle.c - canned cycles, NISTIR 6556, 3.5.16, as the motions they stand for. */
#include <math.h>
#include <string.h>

#include "nc/internal.h"

#define SAME_LEVEL_MM 1e-9 /* rounding of sums of steps */

typedef struct cycle {
  nc_reader *r;
  int code;
  int p[3];                      /* axes: two of the plane, then the depth */
  double retract, bottom, clear; /* machine positions of the depth axis, mm */
  double at[2];                  /* the hole */
  double peck, dwell, lift;
  double aside[2], back; /* G87 */
} cycle;

static bool impossible(nc_reader *r, const char *why) {
  return nc_find(r, FETTLE_NC_CYCLE_IMPOSSIBLE, 1, "%s", why);
}

static bool to_depth(const cycle *c, fettle_nc_event_kind kind, double depth) {
  double target[FETTLE_NC_AXES] = {0.0};
  memcpy(target, c->r->machine, sizeof target);
  target[c->p[2]] = depth;
  return nc_straight(c->r, kind, target, (uint8_t)(1U << c->p[2]));
}

static bool to_place(const cycle *c, double first, double second) {
  double target[FETTLE_NC_AXES] = {0.0};
  memcpy(target, c->r->machine, sizeof target);
  target[c->p[0]] = first;
  target[c->p[1]] = second;
  return nc_straight(c->r, FETTLE_NC_RAPID, target, (uint8_t)(1U << c->p[0] | 1U << c->p[1]));
}

static void spindle(const cycle *c, int turns) {
  c->r->state.spindle_turns = turns;
  nc_send_kind(c->r, FETTLE_NC_SPINDLE, turns, 0.0);
}

static void dwell(const cycle *c) {
  nc_send_kind(c->r, FETTLE_NC_DWELL, 0, c->dwell);
}

static bool pecks(const cycle *c) {
  double depth = c->retract;
  while (depth - c->peck > c->bottom) {
    depth -= c->peck;
    if (!to_depth(c, FETTLE_NC_LINE, depth)) {
      return false;
    }
    if (c->code == 83) {
      if (!to_depth(c, FETTLE_NC_RAPID, c->clear) ||
          !to_depth(c, FETTLE_NC_RAPID, fmin(depth + c->lift, c->clear))) {
        return false;
      }
    } else if (!to_depth(c, FETTLE_NC_RAPID, fmin(depth + c->lift, c->retract))) {
      return false;
    }
  }
  return to_depth(c, FETTLE_NC_LINE, c->bottom) && to_depth(c, FETTLE_NC_RAPID, c->clear);
}

static bool back_bore(const cycle *c) {
  const int turns = c->r->state.spindle_turns;
  const double first = c->at[0] + c->aside[0], second = c->at[1] + c->aside[1];
  if (!to_place(c, first, second)) {
    return false;
  }
  spindle(c, 5);
  if (!to_depth(c, FETTLE_NC_RAPID, c->bottom) || !to_place(c, c->at[0], c->at[1])) {
    return false;
  }
  spindle(c, turns);
  if (!to_depth(c, FETTLE_NC_LINE, c->back) || !to_depth(c, FETTLE_NC_LINE, c->bottom)) {
    return false;
  }
  spindle(c, 5);
  if (!to_place(c, first, second) || !to_depth(c, FETTLE_NC_RAPID, c->clear) ||
      !to_place(c, c->at[0], c->at[1])) {
    return false;
  }
  spindle(c, turns);
  return true;
}

static bool bore(const cycle *c) {
  const int turns = c->r->state.spindle_turns;
  if (c->code == 73 || c->code == 83) {
    return pecks(c);
  }
  if (c->code == 87) {
    return back_bore(c);
  }
  if (!to_depth(c, FETTLE_NC_LINE, c->bottom)) {
    return false;
  }
  if (c->code == 82 || c->code == 86 || c->code == 88 || c->code == 89) {
    dwell(c);
  }
  if (c->code == 84) {
    spindle(c, 4);
  } else if (c->code == 86 || c->code == 88) {
    spindle(c, 5);
  }
  const bool feed_out = c->code == 84 || c->code == 85 || c->code == 89;
  if (c->code == 88) {
    nc_send_kind(c->r, FETTLE_NC_STOP, 88, 0.0);
    c->r->machine[c->p[2]] = c->clear; /* by hand: no motion of the program */
  } else if (!to_depth(c, feed_out ? FETTLE_NC_LINE : FETTLE_NC_RAPID, c->clear)) {
    return false;
  }
  if (c->code == 84) {
    spindle(c, 3);
  } else if (c->code == 86 || c->code == 88) {
    spindle(c, turns);
  }
  return true;
}

/* A word of this line, or the one of an earlier line of the same cycle. */
static bool sticky(nc_reader *r, char letter, double *kept, bool length) {
  if (nc_has(r, letter)) {
    if (!length) {
      *kept = r->block.value[letter - 'a'];
    } else if (!nc_length_word(r, letter, kept)) {
      return false;
    }
    r->cycle_has |= NC_BIT(letter);
  }
  return true;
}

static bool kept(const nc_reader *r, char letter) {
  return (r->cycle_has & NC_BIT(letter)) != 0;
}

static bool check_machine(nc_reader *r, int code) {
  if (r->state.compensation != 40) {
    return nc_find(r, FETTLE_NC_COMPENSATION_IMPOSSIBLE, 1,
                   "a cycle may not stand while radius compensation is on");
  }
  if (nc_has(r, 'a') || nc_has(r, 'b') || nc_has(r, 'c')) {
    return impossible(r, "rotary axes may not move in a cycle");
  }
  if (r->state.inverse_time) {
    return impossible(r, "a cycle needs G94; G93 is in force");
  }
  if (!nc_has(r, 'x') && !nc_has(r, 'y') && !nc_has(r, 'z')) {
    return nc_find(r, FETTLE_NC_WORD_MISSING, 1, "a cycle needs at least one of X Y Z");
  }
  if (code == 84 && r->state.spindle_turns != 3) {
    return impossible(r, "tapping needs the spindle turning clockwise (M3)");
  }
  if ((code == 86 || code == 87 || code == 88) && r->state.spindle_turns == 5) {
    return impossible(r, "this cycle needs the spindle turning");
  }
  return true;
}

/* Reads the words and works the levels out; `repeats` gets L. */
static bool prepare(cycle *c, double *repeats) {
  nc_reader *r = c->r;
  const int code = c->code;
  static const char letters[3] = {'x', 'y', 'z'};
  const char depth_letter = letters[c->p[2]];
  const char back_letter = depth_letter == 'z' ? 'k' : depth_letter == 'y' ? 'j' : 'i';
  if (!sticky(r, 'r', &r->cycle_r, true) || !sticky(r, depth_letter, &r->cycle_z, true) ||
      !sticky(r, 'p', &r->cycle_p, false) || !sticky(r, 'q', &r->cycle_q, true) ||
      !sticky(r, 'i', &r->cycle_ijk[0], true) || !sticky(r, 'j', &r->cycle_ijk[1], true) ||
      !sticky(r, 'k', &r->cycle_ijk[2], true)) {
    return false;
  }
  if (!kept(r, 'r') || !kept(r, depth_letter)) {
    return impossible(r, !kept(r, 'r') ? "the retract level is not given: R"
                                       : "the depth is not given");
  }
  const bool dwells = code == 82 || code == 86 || code == 88 || code == 89;
  if (dwells && !kept(r, 'p')) {
    return impossible(r, "the dwell is not given: P");
  }
  if ((code == 83 || code == 73) && !kept(r, 'q')) {
    return impossible(r, "the peck is not given: Q");
  }
  if (code == 87 && !(kept(r, 'i') && kept(r, 'j') && kept(r, 'k'))) {
    return impossible(r, "back boring needs I, J and K");
  }
  if ((code == 83 || code == 73) && !(r->cycle_q > 0.0)) {
    return nc_find(r, FETTLE_NC_VALUE_RANGE, r->block.column['q' - 'a'],
                   "Q = %s mm: a peck must be above 0", nc_show(r->cycle_q).text);
  }
  if (dwells && !(r->cycle_p >= 0.0 && r->cycle_p <= 1e7)) {
    return nc_find(r, FETTLE_NC_VALUE_RANGE, r->block.column['p' - 'a'],
                   "P = %s s: must be 0 to 10000000", nc_show(r->cycle_p).text);
  }
  *repeats = 1.0;
  if (nc_has(r, 'l')) {
    *repeats = round(r->block.value['l' - 'a']);
    if (fabs(*repeats - r->block.value['l' - 'a']) > 1e-4 || !(*repeats >= 1.0)) {
      return impossible(r, "L must be a whole number from 1");
    }
  }
  const double zero = nc_zero(r, c->p[2]);
  const double old = r->machine[c->p[2]];
  const bool steps = r->state.incremental;
  c->retract = steps ? old + r->cycle_r : zero + r->cycle_r;
  c->bottom = steps ? c->retract + r->cycle_z : zero + r->cycle_z;
  c->clear = r->state.return_to_clear ? c->retract : fmax(c->retract, old);
  if (c->retract < c->bottom - SAME_LEVEL_MM) {
    return impossible(r, "the retract level R lies below the depth");
  }
  c->peck = r->cycle_q;
  c->dwell = r->cycle_p;
  c->lift = r->state.units == FETTLE_NC_UNITS_INCH ? r->profile.lift_inch * NC_MM_PER_INCH
                                                   : r->profile.lift_mm;
  c->aside[0] = r->cycle_ijk[c->p[0]];
  c->aside[1] = r->cycle_ijk[c->p[1]];
  c->back = r->cycle_ijk[back_letter - 'i'] + (steps ? c->bottom : zero);
  double motions = code == 87 ? 9.0 : 5.0;
  if (code == 83 || code == 73) {
    motions += 3.0 * (c->retract - c->bottom) / c->peck;
  }
  if (motions * *repeats > NC_CYCLE_MOTIONS) {
    return nc_find(r, FETTLE_NC_VALUE_RANGE, 1,
                   "this line stands for %s motions: at most %d are made of one line",
                   nc_show(motions * *repeats).text, NC_CYCLE_MOTIONS);
  }
  return true;
}

static bool run(cycle *c, long repeats) {
  nc_reader *r = c->r;
  static const char letters[3] = {'x', 'y', 'z'};
  double step[2] = {0.0, 0.0};
  for (int i = 0; i < 2; i++) {
    c->at[i] = r->machine[c->p[i]];
    if (nc_has(r, letters[c->p[i]])) {
      double value = 0.0;
      if (!nc_length_word(r, letters[c->p[i]], &value)) {
        return false;
      }
      step[i] = r->state.incremental ? value : 0.0;
      c->at[i] = r->state.incremental ? c->at[i] : nc_zero(r, c->p[i]) + value;
    }
  }
  if (r->machine[c->p[2]] < c->retract - SAME_LEVEL_MM &&
      !to_depth(c, FETTLE_NC_RAPID, c->retract)) {
    return false;
  }
  for (long i = 0; i < repeats; i++) {
    c->at[0] += step[0];
    c->at[1] += step[1];
    if (!to_place(c, c->at[0], c->at[1])) {
      return false;
    }
    if (fabs(r->machine[c->p[2]] - c->retract) > SAME_LEVEL_MM &&
        !to_depth(c, FETTLE_NC_RAPID, c->retract)) {
      return false;
    }
    if (!bore(c)) {
      return false;
    }
  }
  return true;
}

bool nc_cycle(nc_reader *r, int code) {
  cycle c = {.r = r, .code = code};
  double repeats = 0.0;
  nc_plane_axes(r, c.p);
  if (!check_machine(r, code) || !prepare(&c, &repeats) || !nc_feed_ready(r)) {
    return false;
  }
  r->cycle_now = code;
  r->cycle_motions = 0;
  const bool done = run(&c, (long)repeats);
  r->cycle_now = 0;
  return done;
}
