/* nc/time.c - how long a machine takes over a stream of motions. */
#include <math.h>
#include <string.h>

#include "nc/internal.h"

enum {
  WINDOW = 8192 /* motions; 1024 mm of 0.127 mm chords, far beyond any stopping distance */
};

#define STRAIGHT_RAD 1e-6 /* a turn below it is rounding */
#define EXACT_RAD 1e-3    /* a turn that G61 does not stop at */

typedef struct planned {
  fettle_nc_motion m;
  double speed, acceleration; /* most, mm/s and mm/s2 */
  double entry2;              /* square of the most speed at its start, by the corner alone */
  double planned2;            /* the same, so that it can slow down for what follows */
  double chord2;              /* square of the speed on the curve at its start, or infinity */
  bool starved;
} planned;

struct fettle_nc_timer {
  fettle_nc_machine machine;
  fettle_nc_timing timing;
  const fettle_host *host;
  fettle_nc_times times;
  double speed2; /* square of the speed at the start of the first motion waiting */
  size_t count;
  planned queue[WINDOW];
};

double fettle_nc_ramp_time(double length, double start, double end, double most,
                           double acceleration) {
  const double peak2 = (2.0 * acceleration * length + start * start + end * end) / 2.0;
  if (peak2 <= most * most) {
    return fmax((2.0 * sqrt(peak2) - start - end) / acceleration, 0.0);
  }
  const double ramps = (2.0 * most * most - start * start - end * end) / (2.0 * acceleration);
  return (2.0 * most - start - end) / acceleration + (length - ramps) / most;
}

bool fettle_nc_motion_of(const fettle_nc_event *event, fettle_nc_motion *motion) {
  *motion = (fettle_nc_motion){.line = event->line,
                               .tool = event->state->tool,
                               .flat = 1.0,
                               .generated = event->cycle != 0,
                               .exact = event->state->path_control == 611};
  switch (event->kind) {
  case FETTLE_NC_DWELL:
    motion->pause = event->seconds;
    return true;
  case FETTLE_NC_TOOL_CHANGE:
    motion->tool_change = true;
    return true;
  case FETTLE_NC_SPINDLE:
  case FETTLE_NC_STOP:
  case FETTLE_NC_END:
    return true;
  case FETTLE_NC_RAPID:
  case FETTLE_NC_LINE:
  case FETTLE_NC_PROBE:
  case FETTLE_NC_ARC:
    break;
  default:
    return false;
  }
  if (!(event->length > 0.0)) {
    return false;
  }
  double d[3];
  for (int i = 0; i < 3; i++) {
    d[i] = event->to[i] - event->from[i];
  }
  motion->length = event->length;
  motion->feed_mm_s = event->kind == FETTLE_NC_RAPID ? 0.0 : event->feed / 60.0;
  if (event->kind == FETTLE_NC_ARC) {
    const int first = event->plane == 17 ? NC_X : event->plane == 18 ? NC_Z : NC_Y;
    const int p[3] = {first, (first + 1) % 3, (first + 2) % 3};
    const double turn = event->sweep > 0.0 ? 1.0 : -1.0;
    motion->radius = event->radius;
    motion->third = p[2];
    motion->flat = event->radius * fabs(event->sweep) / event->length;
    const double *ends[2] = {event->from, event->to};
    double *tangents[2] = {motion->start, motion->end};
    for (int i = 0; i < 2; i++) {
      const double rx = ends[i][p[0]] - event->centre[p[0]];
      const double ry = ends[i][p[1]] - event->centre[p[1]];
      const double r = i == 0 ? event->radius : event->end_radius;
      tangents[i][p[0]] = -turn * ry / r * motion->flat;
      tangents[i][p[1]] = turn * rx / r * motion->flat;
      tangents[i][p[2]] = d[p[2]] / event->length;
    }
    return true;
  }
  if (d[0] == 0.0 && d[1] == 0.0 && d[2] == 0.0) { /* rotary axes alone */
    motion->pause = motion->feed_mm_s > 0.0 ? motion->length / motion->feed_mm_s : 0.0;
    motion->length = 0.0;
    return true;
  }
  for (int i = 0; i < 3; i++) {
    motion->start[i] = motion->end[i] = d[i] / event->length;
  }
  return true;
}

/* The most that axes limited by `most` allow along a direction. */
static double along(const double direction[3], const double most[3]) {
  double best = INFINITY;
  for (int i = 0; i < 3; i++) {
    best = fmin(best, most[i] / fabs(direction[i]));
  }
  return best;
}

/* The same along a helix: every direction of the plane, and the third axis. */
static double along_arc(const fettle_nc_motion *m, const double most[3]) {
  const double flat = fmin(most[(m->third + 1) % 3], most[(m->third + 2) % 3]);
  const double rise = fabs(m->start[m->third]);
  return fmin(flat / m->flat, most[m->third] / rise);
}

static void set_limits(const fettle_nc_timer *t, planned *q) {
  const fettle_nc_motion *m = &q->m;
  const double *speed = t->machine.speed_mm_s, *acceleration = t->machine.acceleration_mm_s2;
  double feed = m->feed_mm_s * t->timing.feed_override;
  if (m->radius > 0.0) {
    q->acceleration = along_arc(m, acceleration);
    q->speed = along_arc(m, speed);
    const double side = fmin(acceleration[(m->third + 1) % 3], acceleration[(m->third + 2) % 3]);
    q->speed = fmin(q->speed, sqrt(side * m->radius) / m->flat);
  } else {
    q->acceleration = along(m->start, acceleration);
    q->speed = along(m->start, speed);
  }
  if (feed > 0.0) {
    q->speed = fmin(q->speed, feed);
  } else {
    q->speed *= t->timing.rapid_override;
  }
  q->starved = false;
  if (t->machine.blocks_per_second > 0.0 && !m->generated) {
    const double fed = m->length * t->machine.blocks_per_second;
    q->starved = fed < q->speed;
    q->speed = fmin(q->speed, fed);
  }
}

/* Sideways acceleration on a curve that two chords follow: as on an arc, every axis that moves must
 * be able to give it. */
static double side_of(const fettle_nc_timer *t, const planned *a, const planned *b) {
  double side = INFINITY;
  for (int i = 0; i < 3; i++) {
    if (a->m.end[i] != 0.0 || b->m.start[i] != 0.0) {
      side = fmin(side, t->machine.acceleration_mm_s2[i]);
    }
  }
  return side;
}

/* Square of the most speed from one motion into the next. */
static double corner2(const fettle_nc_timer *t, planned *a, planned *b) {
  if (a->m.feed_mm_s == 0.0 || b->m.feed_mm_s == 0.0 || a->m.exact) {
    return 0.0; /* own rule: rapids start and end at rest */
  }
  double size = 0.0;
  for (int i = 0; i < 3; i++) {
    const double step = b->m.start[i] - a->m.end[i];
    size += step * step;
  }
  size = sqrt(size);
  const double most = fmin(a->speed, b->speed);
  double best2 = most * most;
  const double turn = 2.0 * asin(fmin(size / 2.0, 1.0));
  if (turn < STRAIGHT_RAD) {
    return best2;
  }
  const double acceleration = fmin(a->acceleration, b->acceleration);
  const double s = cos(turn / 2.0); /* sine of half the angle between the legs */
  best2 = fmin(best2, acceleration * t->machine.corner_mm * s / (1.0 - s));
  if (t->machine.chord_cap && a->m.radius == 0.0 && b->m.radius == 0.0) {
    const double chord2 = side_of(t, a, b) * fmin(a->m.length, b->m.length) / turn;
    if (chord2 < best2) { /* a curve rather than a corner */
      best2 = b->chord2 = chord2;
      if (isfinite(a->chord2)) { /* it goes on between its chords' ends */
        a->speed = fmin(a->speed, sqrt(fmax(a->chord2, b->chord2)));
      }
    }
  }
  return fmax(best2, 0.0);
}

static void give_to_sections(const fettle_nc_timer *t, uint64_t line, double seconds) {
  for (size_t i = 0; i < t->timing.section_count; i++) {
    fettle_nc_section *s = &t->timing.sections[i];
    if (line >= s->first_line && line < s->next_line) {
      s->seconds += seconds;
    }
  }
}

static void give_to_tool(fettle_nc_timer *t, const fettle_nc_motion *m, double seconds) {
  size_t i = 0;
  while (i < t->times.tool_count && t->times.tools[i].tool != m->tool) {
    i++;
  }
  if (i == FETTLE_NC_TOOL_ROWS) {
    t->times.tools_dropped++;
    return;
  }
  if (i == t->times.tool_count) {
    t->times.tools[i] = (fettle_nc_tool_time){.tool = m->tool};
    t->times.tool_count++;
  }
  if (m->feed_mm_s > 0.0) {
    t->times.tools[i].cutting += seconds;
    t->times.tools[i].length += m->length;
  } else {
    t->times.tools[i].rapid += seconds;
  }
}

static void count_motion(fettle_nc_timer *t, const planned *q, double seconds) {
  const fettle_nc_motion *m = &q->m;
  if (m->feed_mm_s > 0.0) {
    t->times.cutting += seconds;
    t->times.cutting_length += m->length;
    t->times.length_over_feed += m->length / m->feed_mm_s;
  } else {
    t->times.rapid += seconds;
    t->times.rapid_length += m->length;
  }
  t->times.starved_length += q->starved ? m->length : 0.0;
  give_to_tool(t, m, seconds);
  give_to_sections(t, m->line, seconds);
}

/* Plans all motions waiting as if the machine came to rest after the last, and counts the first
 * `leave` of them. */
static void plan(fettle_nc_timer *t, size_t leave) {
  double next2 = 0.0;
  for (size_t i = t->count; i-- > 0;) {
    planned *q = &t->queue[i];
    const double reach2 = next2 + 2.0 * q->acceleration * q->m.length;
    if (i == leave && leave < t->count && reach2 < q->entry2) {
      t->times.shortened++;
    }
    next2 = fmin(q->entry2, reach2);
    q->planned2 = next2;
  }
  if (t->machine.look_ahead > 0) {
    double sum = 0.0; /* of 2 a L over the next lines */
    size_t end = 0;
    for (size_t i = 0; i < t->count; i++) {
      while (end < t->count && end < i + t->machine.look_ahead) {
        sum += 2.0 * t->queue[end].acceleration * t->queue[end].m.length;
        end++;
      }
      t->queue[i].planned2 = fmin(t->queue[i].planned2, sum);
      sum = fmax(sum - 2.0 * t->queue[i].acceleration * t->queue[i].m.length, 0.0);
    }
  }
  for (size_t i = 0; i < leave; i++) {
    planned *q = &t->queue[i];
    const double end2 = fmin(i + 1 < t->count ? t->queue[i + 1].planned2 : 0.0,
                             t->speed2 + 2.0 * q->acceleration * q->m.length);
    count_motion(
        t, q,
        fettle_nc_ramp_time(q->m.length, sqrt(t->speed2), sqrt(end2), q->speed, q->acceleration));
    t->speed2 = end2;
  }
  memmove(t->queue, t->queue + leave, (t->count - leave) * sizeof t->queue[0]);
  t->count -= leave;
}

static void come_to_rest(fettle_nc_timer *t) {
  plan(t, t->count);
  t->speed2 = 0.0;
}

static double independent_rapid(const fettle_nc_timer *t, const fettle_nc_motion *m) {
  double longest = 0.0;
  for (int i = 0; i < 3; i++) {
    longest = fmax(longest, fettle_nc_ramp_time(fabs(m->start[i]) * m->length, 0.0, 0.0,
                                                t->machine.speed_mm_s[i] * t->timing.rapid_override,
                                                t->machine.acceleration_mm_s2[i]));
  }
  return longest;
}

void fettle_nc_timer_push(fettle_nc_timer *t, const fettle_nc_motion *motion) {
  if (motion->length <= 0.0) {
    come_to_rest(t);
    const double pause = motion->tool_change ? t->machine.tool_change_s : motion->pause;
    t->times.dwell += motion->tool_change ? 0.0 : pause;
    t->times.tool_changes += motion->tool_change ? pause : 0.0;
    t->times.tool_change_count += motion->tool_change;
    give_to_sections(t, motion->line, pause);
    return;
  }
  planned q = {.m = *motion, .chord2 = INFINITY};
  set_limits(t, &q);
  if (t->machine.independent_rapids && motion->feed_mm_s == 0.0) {
    come_to_rest(t);
    count_motion(t, &q, independent_rapid(t, motion));
    return;
  }
  q.entry2 = t->count > 0 ? corner2(t, &t->queue[t->count - 1], &q) : 0.0;
  if (q.entry2 <= 0.0) {
    come_to_rest(t);
  } else if (t->count == WINDOW) {
    plan(t, WINDOW / 2);
  }
  t->queue[t->count++] = q;
}

void fettle_nc_timer_add(fettle_nc_timer *timer, const fettle_nc_event *event) {
  fettle_nc_motion motion;
  if (fettle_nc_motion_of(event, &motion)) {
    fettle_nc_timer_push(timer, &motion);
  }
}

static bool bad(double value, double low, double high) {
  return !(value >= low && value <= high);
}

static fettle_status check_machine(const fettle_nc_machine *m, const fettle_nc_timing *timing,
                                   fettle_diagnostic *diagnostic) {
  for (int i = 0; i < 3; i++) {
    if (bad(m->speed_mm_s[i], 1e-3, 1e5) || bad(m->acceleration_mm_s2[i], 1e-3, 1e7)) {
      return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "machine",
                         "machine: axis %c: speed must be 0.001 to 100000 mm/s, acceleration 0.001 "
                         "to 10000000 mm/s2",
                         "XYZ"[i]);
    }
  }
  if (bad(m->corner_mm, 0.0, 10.0) || bad(m->blocks_per_second, 0.0, 1e7) ||
      bad(m->tool_change_s, 0.0, 1e5)) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "machine",
                       "machine: corner_mm must be 0 to 10, blocks_per_second 0 to 10000000, "
                       "tool_change_s 0 to 100000");
  }
  if (timing &&
      (bad(timing->feed_override, 0.01, 10.0) || bad(timing->rapid_override, 0.01, 10.0) ||
       (timing->section_count > 0 && !timing->sections))) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "timing",
                       "timing: overrides must be 0.01 to 10, and sections be given");
  }
  return FETTLE_OK;
}

fettle_status fettle_nc_timer_start(const fettle_nc_machine *machine,
                                    const fettle_nc_timing *timing, const fettle_host *host,
                                    fettle_nc_timer **timer, fettle_diagnostic *diagnostic) {
  *timer = NULL;
  const fettle_status status = check_machine(machine, timing, diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  fettle_nc_timer *t = host->allocate(host->context, NULL, 0, sizeof *t);
  if (!t) {
    return fettle_fail(diagnostic, FETTLE_ERROR_MEMORY, NULL, "no memory to time the program");
  }
  t->machine = *machine;
  t->timing = timing ? *timing : (fettle_nc_timing){.feed_override = 1.0, .rapid_override = 1.0};
  t->host = host;
  memset(&t->times, 0, sizeof t->times);
  t->speed2 = 0.0;
  t->count = 0;
  for (size_t i = 0; i < t->timing.section_count; i++) {
    t->timing.sections[i].seconds = 0.0;
  }
  *timer = t;
  return FETTLE_OK;
}

void fettle_nc_timer_finish(fettle_nc_timer *t, fettle_nc_times *times) {
  come_to_rest(t);
  *times = t->times;
  times->total = times->cutting + times->rapid + times->dwell + times->tool_changes;
  const fettle_host *host = t->host;
  host->allocate(host->context, t, sizeof *t, 0);
}
