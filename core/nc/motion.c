/* nc/motion.c - straight moves, arcs and probing. */
#include <math.h>
#include <string.h>

#include "nc/internal.h"

/* Below this a full turn and no turn at all differ by one unit of the last digit. */
#define DOUBTFUL_MM 0.001
#define DOUBTFUL_INCH 0.00005
#define PROBE_LEAST_MM 0.254 /* NISTIR 6556, 3.5.9; 0.01 in is the same */

void nc_plane_axes(const nc_reader *r, int axes[3]) {
  const int first = r->state.plane == 17 ? NC_X : r->state.plane == 18 ? NC_Z : NC_Y;
  for (int i = 0; i < 3; i++) {
    axes[i] = (first + i) % 3;
  }
}

bool nc_feed_ready(nc_reader *r) {
  const fettle_nc_state *s = &r->state;
  if (s->inverse_time && !(nc_has(r, 'f') && s->feed > 0.0)) {
    return nc_find(r, FETTLE_NC_WORD_MISSING, 1, "in G93 every cut needs its own F above 0");
  }
  if (!(s->feed > 0.0)) {
    return nc_find(r, FETTLE_NC_WORD_MISSING, 1, "a cut needs a feed: F above 0 was never stated");
  }
  if (!s->inverse_time && s->feed_units != s->units && s->feed_units != FETTLE_NC_UNITS_NONE) {
    nc_find(r, FETTLE_NC_FEED_OTHER_UNITS, 1,
            "F%s was written for %s and is now read in %s: state it anew after the change of units",
            nc_show(s->feed).text, s->feed_units == FETTLE_NC_UNITS_INCH ? "in/min" : "mm/min",
            s->units == FETTLE_NC_UNITS_INCH ? "in/min" : "mm/min");
    r->state.feed_units = s->units; /* once a change */
  }
  return true;
}

static void tell_units(nc_reader *r) {
  if (!r->units_told) {
    r->units_told = true;
    if (!r->state.units_stated) {
      nc_find(r, FETTLE_NC_UNITS_NOT_STATED, 1,
              "the first motion comes before any statement of units (G20 inch, G21 mm): read in %s",
              r->state.units == FETTLE_NC_UNITS_INCH ? "inches" : "mm");
    }
  }
}

/* Fills from, to, length and feed, hands the motion out and stands at its end. */
static bool go(nc_reader *r, fettle_nc_event *event, const double target[FETTLE_NC_AXES],
               uint8_t axes, double length) {
  const fettle_nc_state *s = &r->state;
  memcpy(event->from, r->machine, sizeof event->from);
  memcpy(event->to, target, sizeof event->to);
  event->from_unknown = r->unknown;
  /* an absolute word states the axis, unless program zero itself is not known */
  const uint8_t stated = s->incremental ? 0 : axes;
  r->unknown = (uint8_t)((r->unknown & ~stated) | (stated & r->frame_unknown));
  event->to_unknown = r->unknown;
  event->length = length;
  if (event->kind != FETTLE_NC_RAPID) {
    const bool linear = target[0] != r->machine[0] || target[1] != r->machine[1] ||
                        target[2] != r->machine[2] || event->kind == FETTLE_NC_ARC;
    event->feed = s->inverse_time ? length * s->feed : s->feed * (linear ? nc_unit(r) : 1.0);
  }
  memcpy(r->machine, target, sizeof r->machine);
  nc_send(r, event);
  if (r->cycle_now != 0 && ++r->cycle_motions % NC_POLL_EVERY == 0) {
    nc_poll(r);
  }
  return r->status == FETTLE_OK;
}

bool nc_straight(nc_reader *r, fettle_nc_event_kind kind, const double target[FETTLE_NC_AXES],
                 uint8_t axes) {
  fettle_nc_event event = {.kind = kind};
  double length =
      hypot(hypot(target[0] - r->machine[0], target[1] - r->machine[1]), target[2] - r->machine[2]);
  if (length == 0.0) {
    length = hypot(hypot(target[3] - r->machine[3], target[4] - r->machine[4]),
                   target[5] - r->machine[5]);
  }
  tell_units(r);
  return go(r, &event, target, axes, length);
}

typedef struct arc {
  double centre[2]; /* in the plane */
  double radius, end_radius;
} arc;

static double tolerance(const nc_reader *r) {
  return r->state.units == FETTLE_NC_UNITS_INCH ? r->profile.arc_tolerance_inch * NC_MM_PER_INCH
                                                : r->profile.arc_tolerance_mm;
}

static bool open_arc(nc_reader *r, char letter, const char *why) {
  return nc_find(r, FETTLE_NC_ARC_OPEN, r->block.column[letter - 'a'], "%s", why);
}

static bool arc_by_radius(nc_reader *r, bool clockwise, const double from[2], const double to[2],
                          arc *a) {
  double radius = 0.0;
  if (!nc_length_word(r, 'r', &radius)) {
    return false;
  }
  const double dx = to[0] - from[0], dy = to[1] - from[1];
  const double half = hypot(dx, dy) / 2.0;
  if (radius == 0.0) {
    return open_arc(r, 'r', "the radius is 0");
  }
  if (half == 0.0) {
    return open_arc(r, 'r',
                    "an arc by its radius needs an end away from its start: write the "
                    "full circle with I, J, K");
  }
  if (half - fabs(radius) > tolerance(r)) {
    return nc_find(r, FETTLE_NC_ARC_OPEN, r->block.column['r' - 'a'],
                   "radius %s mm is shorter than half the chord, %s mm: start and end lie too far "
                   "apart",
                   nc_show(fabs(radius)).text, nc_show(half).text);
  }
  const double size = fmax(fabs(radius), half);
  const double side = clockwise == (radius > 0.0) ? 1.0 : -1.0;
  const double d = sqrt(fmax(size * size - half * half, 0.0)) * side;
  a->centre[0] = (from[0] + to[0]) / 2.0 + d * dy / (2.0 * half);
  a->centre[1] = (from[1] + to[1]) / 2.0 - d * dx / (2.0 * half);
  a->radius = a->end_radius = size;
  return true;
}

static bool arc_by_centre(nc_reader *r, const char letters[3], const double from[2],
                          const double to[2], arc *a) {
  for (int i = 0; i < 2; i++) {
    double offset = 0.0;
    if (nc_has(r, letters[i]) && !nc_length_word(r, letters[i], &offset)) {
      return false;
    }
    a->centre[i] = from[i] + offset;
  }
  a->radius = hypot(from[0] - a->centre[0], from[1] - a->centre[1]);
  a->end_radius = hypot(to[0] - a->centre[0], to[1] - a->centre[1]);
  const char letter = nc_has(r, letters[0]) ? letters[0] : letters[1];
  if (a->radius <= 0.0 || a->end_radius <= 0.0) {
    return open_arc(r, letter, "the radius is 0: the centre lies on the start or the end");
  }
  if (fabs(a->radius - a->end_radius) > tolerance(r)) {
    return nc_find(r, FETTLE_NC_ARC_OPEN, r->block.column[letter - 'a'],
                   "the radius is %s mm at the start and %s mm at the end: they may differ by %s "
                   "mm",
                   nc_show(a->radius).text, nc_show(a->end_radius).text,
                   nc_show(tolerance(r)).text);
  }
  return true;
}

bool nc_arc(nc_reader *r, bool clockwise, const double target[FETTLE_NC_AXES], uint8_t axes) {
  static const char offsets[3] = {'i', 'j', 'k'};
  int p[3];
  nc_plane_axes(r, p);
  const char letters[3] = {offsets[p[0]], offsets[p[1]], offsets[p[2]]};
  const bool centre = nc_has(r, letters[0]) || nc_has(r, letters[1]);
  const bool plane_word = (axes & (1U << p[0] | 1U << p[1])) != 0;
  arc a = {.radius = 0.0};
  if (nc_has(r, letters[2])) {
    return open_arc(r, letters[2], "this offset does not lie in the plane in force");
  }
  if (nc_has(r, 'r') && centre) {
    return open_arc(r, 'r', "radius and centre are both given: state one");
  }
  if (!nc_has(r, 'r') && !centre) {
    return nc_find(r, FETTLE_NC_ARC_OPEN, 1,
                   "neither a radius (R) nor a centre (two of I J K) is given");
  }
  if (!plane_word && !(r->profile.full_circle_without_axes && centre)) {
    return nc_find(r, FETTLE_NC_WORD_MISSING, 1,
                   "the end of the arc is not given: at least one axis of its plane is needed");
  }
  const double from[2] = {r->machine[p[0]], r->machine[p[1]]};
  const double to[2] = {target[p[0]], target[p[1]]};
  if (!(nc_has(r, 'r') ? arc_by_radius(r, clockwise, from, to, &a)
                       : arc_by_centre(r, letters, from, to, &a))) {
    return false;
  }
  const double start = atan2(from[1] - a.centre[1], from[0] - a.centre[0]);
  const double end = atan2(to[1] - a.centre[1], to[0] - a.centre[0]);
  double sweep = end - start;
  const double gap = hypot(to[0] - from[0], to[1] - from[1]);
  if (gap == 0.0) {
    sweep = clockwise ? -2.0 * NC_PI : 2.0 * NC_PI;
  } else if (clockwise && sweep >= 0.0) {
    sweep -= 2.0 * NC_PI;
  } else if (!clockwise && sweep <= 0.0) {
    sweep += 2.0 * NC_PI;
  }
  if (gap > 0.0 && gap < (r->state.units == FETTLE_NC_UNITS_INCH ? DOUBTFUL_INCH * NC_MM_PER_INCH
                                                                 : DOUBTFUL_MM)) {
    nc_find(r, FETTLE_NC_ARC_DOUBTFUL, 1,
            "start and end lie %s mm apart: one unit of the last digit turns this arc of %s "
            "degrees into almost none, or a full circle",
            nc_show(gap).text, nc_show(sweep * 180.0 / NC_PI).text);
  }
  fettle_nc_event event = {
      .kind = FETTLE_NC_ARC, .radius = a.radius, .end_radius = a.end_radius, .sweep = sweep};
  event.centre[p[0]] = a.centre[0];
  event.centre[p[1]] = a.centre[1];
  event.centre[p[2]] = r->machine[p[2]];
  tell_units(r);
  return go(r, &event, target, axes,
            hypot(a.radius * fabs(sweep), target[p[2]] - r->machine[p[2]]));
}

static bool probe(nc_reader *r, const double target[FETTLE_NC_AXES], uint8_t axes) {
  const double length =
      hypot(hypot(target[0] - r->machine[0], target[1] - r->machine[1]), target[2] - r->machine[2]);
  const char *why = !(axes & NC_LINEAR_AXES)   ? "it needs at least one of X Y Z"
                    : (axes & ~NC_LINEAR_AXES) ? "rotary axes may not move"
                    : r->state.inverse_time    ? "it needs G94; G93 is in force"
                    : length < PROBE_LEAST_MM  ? "the point lies nearer than 0.254 mm"
                                               : NULL;
  if (why) {
    return nc_find(r, FETTLE_NC_PROBE_IMPOSSIBLE, 1, "probing is not possible: %s", why);
  }
  const bool done = nc_straight(r, FETTLE_NC_PROBE, target, axes);
  r->unknown |= axes; /* it stops where it touches */
  return done;
}

bool nc_move(nc_reader *r, int motion) {
  double target[FETTLE_NC_AXES] = {0.0};
  uint8_t axes = 0;
  if (motion >= 730) {
    return nc_cycle(r, motion / 10);
  }
  if (motion == 382 && r->state.compensation != 40) {
    return nc_find(r, FETTLE_NC_COMPENSATION_IMPOSSIBLE, 1,
                   "probing may not stand while radius compensation is on");
  }
  const bool machine = r->block.g[NC_GROUP_NONE] == 530;
  if (machine && r->state.compensation != 40) {
    return nc_find(r, FETTLE_NC_COMPENSATION_IMPOSSIBLE, 1,
                   "G53 may not stand while radius compensation is on");
  }
  if ((motion != 0 && !nc_feed_ready(r)) || !nc_target(r, target, &axes, machine)) {
    return false;
  }
  const uint8_t frame = r->frame_unknown;
  r->frame_unknown = machine ? 0 : frame;
  const bool done = motion == 0     ? nc_straight(r, FETTLE_NC_RAPID, target, axes)
                    : motion == 10  ? nc_straight(r, FETTLE_NC_LINE, target, axes)
                    : motion == 382 ? probe(r, target, axes)
                                    : nc_arc(r, motion == 20, target, axes);
  r->frame_unknown = frame;
  return done;
}
