/* Motion time: worked examples, a fine-step integration written apart, and what machines took. */
#include <math.h>

#include "support/nc.h"
#include "support/near.h"

#define PI 3.14159265358979323846
#define WORKED "equations of even acceleration, worked by hand and by a separate planner"
#define RECORDED "NIST Smart Manufacturing Systems test bed, machine logs"

enum { NODES_MOST = 400000, TEXT_MOST = 400000, MOTIONS_MOST = 30000 };

static const fettle_host memory = {.allocate = nc_allocate};

static fettle_nc_machine machine_of(double speed, double acceleration, double corner) {
  return (fettle_nc_machine){.speed_mm_s = {speed, speed, speed},
                             .acceleration_mm_s2 = {acceleration, acceleration, acceleration},
                             .corner_mm = corner,
                             .chord_cap = true};
}

static int time_event(void *context, const fettle_nc_event *event) {
  fettle_nc_timer_add(((nc_text *)context)->user, event);
  return 0;
}

static fettle_nc_times time_text(const char *text, const fettle_nc_machine *machine,
                                 const fettle_nc_timing *timing) {
  const fettle_nc_profile profile = fettle_nc_profile_shop();
  const fettle_nc_setup setup = {.units = FETTLE_NC_UNITS_MM};
  fettle_nc_timer *timer;
  fettle_nc_times times;
  fettle_nc_summary summary;
  fettle_diagnostic diagnostic;
  assert_int_equal(fettle_nc_timer_start(machine, timing, &memory, &timer, &diagnostic), FETTLE_OK);
  assert_int_equal(
      nc_run(text, strlen(text), 0, &profile, &setup, time_event, timer, &summary, &diagnostic),
      FETTLE_OK);
  assert_int_equal(summary.errors, 0);
  fettle_nc_timer_finish(timer, &times);
  return times;
}

static void one_motion(void **state) {
  (void)state;
  assert_near(fettle_nc_ramp_time(100, 0, 0, 100, 500), 1.2, 1e-12, WORKED);
  assert_near(fettle_nc_ramp_time(5, 0, 0, 100, 500), 0.2, 1e-12, WORKED);
  assert_near(fettle_nc_ramp_time(20, 0, 0, 100, 500), 0.4, 1e-12, WORKED);
  assert_near(fettle_nc_ramp_time(30, 20, 40, 100, 500), 0.4, 1e-12, WORKED);
  assert_near(fettle_nc_ramp_time(3, 20, 40, 100, 500), 0.08, 1e-12, WORKED);
}

static void rapids(void **state) {
  (void)state;
  fettle_nc_machine m = {
      .speed_mm_s = {400, 400, 150}, .acceleration_mm_s2 = {1000, 800, 400}, .corner_mm = 0.05};
  assert_near(time_text("g21 g0 x1000 y300 z-50\nm30\n", &m, NULL).rapid, 2.9, 1e-6, WORKED);
  assert_near(time_text("g21 g0 z50\nm30\n", &m, NULL).rapid, 0.707107, 1e-6, WORKED);
  assert_near(time_text("g21 g0 x300 y300\nm30\n", &m, NULL).rapid, 1.25, 1e-6, WORKED);
  m.independent_rapids = true;
  assert_near(time_text("g21 g0 x1000 y300 z-50\nm30\n", &m, NULL).rapid, 2.9, 1e-6, WORKED);
}

static void corners(void **state) {
  (void)state;
  const fettle_nc_machine m = machine_of(1000, 500, 0.05);
  assert_near(time_text("g21 g1 f6000 x50\nx100\nm30\n", &m, NULL).total, 1.2, 1e-6, WORKED);
  assert_near(time_text("g21 g1 f6000 x50\ny50\nm30\n", &m, NULL).total, 1.370132, 1e-6, WORKED);
  assert_near(time_text("g21 g1 f6000 x50\nx0\nm30\n", &m, NULL).total, 1.4, 1e-6, WORKED);
  assert_near(time_text("g21 g1 f6000 x10\nx11\nx11.5\nm30\n", &m, NULL).total, 0.303315, 1e-6,
              WORKED);
  assert_near(time_text("g21 g61.1 g1 f6000 x50\nx100\nm30\n", &m, NULL).total, 1.4, 1e-6, WORKED);
  assert_near(time_text("g21 g0 x5\ng2 f6000 i-5\nm30\n", &m, NULL).cutting, 0.728319, 1e-6,
              WORKED);
}

/* A program of `count` lines; `point` gives where line i goes. */
static char *chain(const char *head, size_t count, void (*point)(size_t i, double xy[2])) {
  char *text = malloc(TEXT_MOST);
  assert_non_null(text);
  size_t used = (size_t)snprintf(text, TEXT_MOST, "%s\n", head);
  for (size_t i = 1; i <= count; i++) {
    double xy[2];
    point(i, xy);
    used += (size_t)snprintf(text + used, TEXT_MOST - used, "x%.8f y%.8f\n", xy[0], xy[1]);
  }
  snprintf(text + used, TEXT_MOST - used, "m30\n");
  return text;
}

static void straight(size_t i, double xy[2]) {
  xy[0] = 0.1 * (double)i;
  xy[1] = 0;
}

static void zigzag(size_t i, double xy[2]) {
  xy[0] = 0.1 * (double)i;
  xy[1] = i % 2 ? 0.05 : 0.0;
}

static void circle_10(size_t i, double xy[2]) {
  xy[0] = 10 * cos(2 * PI * (double)i / 628);
  xy[1] = 10 * sin(2 * PI * (double)i / 628);
}

static void circle_100(size_t i, double xy[2]) {
  xy[0] = 100 * cos(2 * PI * (double)i / 628);
  xy[1] = 100 * sin(2 * PI * (double)i / 628);
}

static double time_chain(const char *head, size_t count, void (*point)(size_t i, double xy[2]),
                         const fettle_nc_machine *machine) {
  char *text = chain(head, count, point);
  const fettle_nc_times times = time_text(text, machine, NULL);
  assert_int_equal(times.shortened, 0);
  free(text);
  return times.cutting;
}

static void chains(void **state) {
  (void)state;
  fettle_nc_machine m = machine_of(1000, 500, 0.01);
  assert_near(time_chain("g21 g1 f1000", 2000, straight, &m), 12.033333, 1e-6, WORKED);
  assert_near(time_chain("g21 g1 f1000", 2000, zigzag, &m), 25.7722, 5e-5, WORKED);
  m = machine_of(1000, 1000, 0.01);
  /* the other planner takes the same pull in every direction: half a thousandth of a second */
  assert_near(time_chain("g21 g0 x10\ng1 f12000", 628, circle_10, &m), 0.7283, 2e-3, WORKED);
  assert_near(time_chain("g21 g0 x100\ng1 f12000", 628, circle_100, &m), 3.3413, 2e-3, WORKED);
  m = machine_of(1000, 600, 0.01);
  assert_near(time_text("g21 g1 f15000 x4876.8\nm30\n", &m, NULL).total, 19.923867, 1e-6, WORKED);
  assert_near(time_text("g21 g1 f24000 x4876.8\nm30\n", &m, NULL).total, 12.858667, 1e-6, WORKED);
}

/* More motions without a stop than the timer holds at once. */
static void longer_than_the_window(void **state) {
  (void)state;
  const fettle_nc_machine m = machine_of(1000, 500, 0.01);
  fettle_nc_motion motion = {
      .length = 0.01, .feed_mm_s = 100, .start = {1, 0, 0}, .end = {1, 0, 0}, .flat = 1};
  fettle_nc_timer *timer;
  fettle_nc_times times;
  assert_int_equal(fettle_nc_timer_start(&m, NULL, &memory, &timer, NULL), FETTLE_OK);
  for (int i = 0; i < 100000; i++) {
    fettle_nc_timer_push(timer, &motion);
  }
  fettle_nc_timer_finish(timer, &times);
  assert_near(times.total, 1000.0 / 100 + 100.0 / 500, 1e-6, WORKED);
  assert_int_equal(times.shortened, 0);
  motion.length = 0.001; /* 10 mm to stop in, 8 mm in the window */
  assert_int_equal(fettle_nc_timer_start(&m, NULL, &memory, &timer, NULL), FETTLE_OK);
  for (int i = 0; i < 100000; i++) {
    fettle_nc_timer_push(timer, &motion);
  }
  fettle_nc_timer_finish(timer, &times);
  assert_true(times.shortened > 0 && times.total >= 1.2 - 1e-9);
}

static void letters(void **state) {
  (void)state;
  size_t length;
  char *text = nc_load(FETTLE_TEST_DATA "/nc/nistir6556-c1-letters.ngc", &length);
  const fettle_nc_machine m = {
      .speed_mm_s = {150, 150, 80}, .acceleration_mm_s2 = {500, 500, 300}, .corner_mm = 0.02};
  const fettle_nc_times t = time_text(text, &m, NULL);
  assert_near(t.cutting, 550.30, 0.005, WORKED);
  assert_near(t.rapid, 7.12, 0.005, WORKED);
  free(text);
}

static void block_rate_and_look_ahead(void **state) {
  (void)state;
  fettle_nc_machine m = machine_of(1000, 500, 0.01);
  m.blocks_per_second = 100; /* 0.1 mm at 100 a second: 10 mm/s instead of 16.7 */
  char *text = chain("g21 g1 f1000", 2000, straight);
  fettle_nc_times t = time_text(text, &m, NULL);
  assert_near(t.cutting, 200.0 / 10 + 10.0 / 500, 1e-6, WORKED);
  assert_near(t.starved_length, 200, 1e-6, WORKED);
  m.blocks_per_second = 0;
  m.look_ahead = 2; /* must stop within two lines, 0.2 mm: peak between v and 0 */
  t = time_text(text, &m, NULL);
  const double sustained = sqrt(2 * 500 * 0.1); /* enters each line with one more to stop in */
  assert_true(t.cutting > 200 / (1000.0 / 60) && t.cutting < 200 / sustained + 20);
  m.look_ahead = 0;
  const fettle_nc_timing half = {.feed_override = 0.5, .rapid_override = 1};
  t = time_text(text, &m, &half);
  assert_near(t.cutting, 200 / (500.0 / 60) + 500.0 / 60 / 500, 1e-6, WORKED);
  free(text);
}

static void sums_by_tool_and_section(void **state) {
  (void)state;
  fettle_nc_machine m = machine_of(100, 500, 0.01);
  m.tool_change_s = 7;
  fettle_nc_section sections[2] = {{2, 4, 0, 0}, {5, 7, 0, 0}};
  const fettle_nc_timing timing = {1, 1, sections, 2};
  const fettle_nc_times t =
      time_text("g21 t1 m6\ng0 x100\ng1 f6000 x0\nt2 m6\ng1 x100\ng4 p3\nm30\n", &m, &timing);
  assert_near(t.total, 3 * 1.2 + 14 + 3, 1e-9, WORKED);
  assert_near(t.tool_changes, 14, 0, WORKED);
  assert_near(sections[0].seconds, 2.4, 1e-9, WORKED);
  assert_near(sections[1].seconds, 4.2, 1e-9, WORKED);
  assert_int_equal(t.tool_count, 2);
  assert_near(t.tools[0].rapid, 1.2, 1e-9, WORKED);
  assert_near(t.tools[1].cutting, 1.2, 1e-9, WORKED);
}

/* --- fine-step integration: the path cut into steps of a micrometre's order, speed allowed at
 * each, two sweeps in small steps of v^2, sum of ds / v. Shares with the planner the rules for
 * speeds at corners and on curves, but no code and no closed form of a motion. --- */

typedef struct fine {
  double step; /* mm */
  double direction[3], length_last;
  bool any, rapid_last, arc_last;
  double chord2; /* on the curve at the start of the last motion */
  size_t first;  /* node where that starts */
  fettle_nc_machine machine;
  size_t count;
  double *cap2, *pull; /* at node i; of the step that follows it */
  double *ds;
} fine;

static double pull_along(const fettle_nc_machine *m, const double u[3]) {
  double best = 1e30;
  for (int i = 0; i < 3; i++) {
    if (fabs(u[i]) * best > m->acceleration_mm_s2[i]) {
      best = m->acceleration_mm_s2[i] / fabs(u[i]);
    }
  }
  return best;
}

static double speed_along(const fettle_nc_machine *m, const double u[3]) {
  double best = 1e30;
  for (int i = 0; i < 3; i++) {
    if (fabs(u[i]) * best > m->speed_mm_s[i]) {
      best = m->speed_mm_s[i] / fabs(u[i]);
    }
  }
  return best;
}

static void place_at(const fettle_nc_event *e, double share, double out[3]) {
  for (int i = 0; i < 3; i++) {
    out[i] = e->from[i] + share * (e->to[i] - e->from[i]);
  }
  if (e->kind == FETTLE_NC_ARC) { /* G17 programs only */
    const double a = atan2(e->from[1] - e->centre[1], e->from[0] - e->centre[0]) + share * e->sweep;
    out[0] = e->centre[0] + e->radius * cos(a);
    out[1] = e->centre[1] + e->radius * sin(a);
  }
}

static int fine_event(void *context, const fettle_nc_event *e) {
  fine *f = ((nc_text *)context)->user;
  if (e->kind > FETTLE_NC_ARC || e->length <= 0) {
    return 0;
  }
  const size_t pieces = (size_t)ceil(e->length / f->step);
  const double ds = e->length / (double)pieces;
  const bool rapid = e->kind == FETTLE_NC_RAPID, arc = e->kind == FETTLE_NC_ARC;
  for (size_t i = 0; i < pieces; i++) {
    double a[3], b[3], u[3], size = 0;
    place_at(e, (double)i / (double)pieces, a);
    place_at(e, (double)(i + 1) / (double)pieces, b);
    for (int k = 0; k < 3; k++) {
      u[k] = b[k] - a[k];
      size += u[k] * u[k];
    }
    size = sqrt(size);
    for (int k = 0; k < 3; k++) {
      u[k] /= size;
    }
    double speed = speed_along(&f->machine, u), pull = pull_along(&f->machine, u);
    if (arc) {
      const double plane = fmin(f->machine.acceleration_mm_s2[0], f->machine.acceleration_mm_s2[1]);
      const double flat = hypot(u[0], u[1]);
      pull =
          fmin(plane / flat, fabs(u[2]) > 0 ? f->machine.acceleration_mm_s2[2] / fabs(u[2]) : 1e30);
      speed = fmin(fmin(f->machine.speed_mm_s[0], f->machine.speed_mm_s[1]) / flat,
                   fabs(u[2]) > 0 ? f->machine.speed_mm_s[2] / fabs(u[2]) : 1e30);
      speed = fmin(speed, sqrt(plane * e->radius) / flat);
    }
    if (!rapid) {
      speed = fmin(speed, e->feed / 60);
    }
    double cap2 = speed * speed;
    if (i == 0) {
      double turn = 0, next2 = 0;
      for (int k = 0; k < 3; k++) {
        turn += u[k] * f->direction[k];
      }
      turn = acos(fmax(-1, fmin(1, turn)));
      if (!f->any || rapid || f->rapid_last) {
        cap2 = 0;
      } else if (turn > (arc || f->arc_last ? 2 * f->step / 5 : 1e-6)) {
        const double side = fmin(pull, f->pull[f->count - 1]), half = (PI - turn) / 2;
        cap2 = fmin(cap2, side * f->machine.corner_mm * sin(half) / (1 - sin(half)));
        if (!arc && !f->arc_last && f->machine.chord_cap) {
          double least = 1e30;
          for (int k = 0; k < 3; k++) {
            if (u[k] != 0 || f->direction[k] != 0) {
              least = fmin(least, f->machine.acceleration_mm_s2[k]);
            }
          }
          const double chord2 = least * fmin(e->length, f->length_last) / turn;
          if (chord2 < fmin(cap2, f->cap2[f->count])) {
            cap2 = next2 = chord2;
            for (size_t n = f->first; n < f->count && f->chord2 > 0; n++) {
              f->cap2[n] = fmin(f->cap2[n], fmax(chord2, f->chord2));
            }
          }
        }
      }
      cap2 = f->count > 0 ? fmin(cap2, f->cap2[f->count]) : cap2;
      f->chord2 = next2;
      f->first = f->count;
    }
    assert_true(f->count + 2 < NODES_MOST);
    f->cap2[f->count] = cap2;
    f->pull[f->count] = pull;
    f->ds[f->count] = ds;
    f->count++;
    f->cap2[f->count] = speed * speed;
    memcpy(f->direction, u, sizeof u);
  }
  f->any = true;
  f->rapid_last = rapid;
  f->arc_last = arc;
  f->length_last = e->length;
  return 0;
}

static double fine_time(const char *text, const fettle_nc_machine *machine, double step) {
  const fettle_nc_profile profile = fettle_nc_profile_shop();
  const fettle_nc_setup setup = {.units = FETTLE_NC_UNITS_MM};
  fettle_nc_summary summary;
  fine f = {.step = step, .machine = *machine};
  f.cap2 = malloc(NODES_MOST * sizeof(double));
  f.pull = malloc(NODES_MOST * sizeof(double));
  f.ds = malloc(NODES_MOST * sizeof(double));
  assert_true(f.cap2 && f.pull && f.ds);
  assert_int_equal(nc_run(text, strlen(text), 0, &profile, &setup, fine_event, &f, &summary, NULL),
                   FETTLE_OK);
  f.cap2[f.count] = 0;
  for (size_t i = f.count; i-- > 0;) {
    f.cap2[i] = fmin(f.cap2[i], f.cap2[i + 1] + 2 * f.pull[i] * f.ds[i]);
  }
  double time = 0;
  for (size_t i = 0; i < f.count; i++) {
    f.cap2[i + 1] = fmin(f.cap2[i + 1], f.cap2[i] + 2 * f.pull[i] * f.ds[i]);
    time += 2 * f.ds[i] / (sqrt(f.cap2[i]) + sqrt(f.cap2[i + 1]));
  }
  free(f.cap2);
  free(f.pull);
  free(f.ds);
  return time;
}

/* 0.005 in along a wave whose bends are tighter than the feed allows */
static void wave(size_t i, double xy[2]) {
  xy[0] = 0.127 * (double)i;
  xy[1] = 4 * sin(xy[0] / 3) + 0.5 * sin(xy[0]);
}

static void agrees_with_fine_steps(void **state) {
  (void)state;
  static const char *const plain[] = {
      "g21 g0 x50 y20 z-10\ng1 f4000 x80\ny45 z-14\ng3 x70 y55 i-10 f3000\ng2 x40 y55 z-20 i-15\n"
      "g1 x0 y0\nx1\ny1\nx2\ny2\ng0 z5\nx10\nm30\n",
      "g21 g0 x10\ng3 i-10 z-8 f9000\ni-10 z-16\ng1 x40 z-10\nx60 y1\nx80 y4\nx90 y30\nm30\n"};
  const fettle_nc_machine m = {.speed_mm_s = {200, 180, 70},
                               .acceleration_mm_s2 = {500, 400, 300},
                               .corner_mm = 0.02,
                               .chord_cap = true};
  for (size_t i = 0; i < sizeof plain / sizeof plain[0]; i++) {
    const double want = fine_time(plain[i], &m, 0.002);
    const double got = time_text(plain[i], &m, NULL).total;
    print_message("fine steps %.4f s, planner %.4f s\n", want, got);
    assert_near(got, want, 0.005 * want, "fine-step integration");
  }
  char *text = chain("g21 g1 f6000", 1500, wave);
  const double want = fine_time(text, &m, 0.002);
  const double got = time_text(text, &m, NULL).total;
  print_message("0.005 in chords: fine steps %.4f s, planner %.4f s\n", want, got);
  assert_near(got, want, 0.005 * want, "fine-step integration");
  free(text);
}

/* --- recorded programs --- */

typedef struct recorded {
  fettle_nc_motion *motions;
  size_t count;
  fettle_nc_section sections[16];
  size_t section_count;
} recorded;

static int keep(void *context, const fettle_nc_event *event) {
  recorded *r = ((nc_text *)context)->user;
  assert_true(r->count < MOTIONS_MOST);
  r->count += fettle_nc_motion_of(event, &r->motions[r->count]);
  return 0;
}

/* Motions of a program and the sections of one run (its digits in the log's name). */
static recorded load_run(const char *name, const char *run) {
  recorded r = {.motions = malloc(MOTIONS_MOST * sizeof(fettle_nc_motion))};
  char path[512];
  size_t length;
  fettle_nc_summary summary;
  const fettle_nc_profile profile = fettle_nc_profile_shop();
  const fettle_nc_setup setup = {.units = FETTLE_NC_UNITS_NONE};
  assert_non_null(r.motions);
  snprintf(path, sizeof path, "%s/nc/%s", FETTLE_TEST_DATA, name);
  char *bytes = nc_load(path, &length);
  assert_int_equal(nc_run(bytes, length, 0, &profile, &setup, keep, &r, &summary, NULL), FETTLE_OK);
  free(bytes);
  char *table = nc_load(FETTLE_TEST_DATA "/nc/recorded-times.tsv", &length);
  for (char *line = table; line && *line;
       line = strchr(line, '\n') ? strchr(line, '\n') + 1 : NULL) {
    const char *log = strchr(line, '\t');
    const char *first = log ? strchr(log + 1, '\t') : NULL;
    if (!first || strncmp(line, name, strlen(name)) != 0 ||
        strncmp(first - 10, run, strlen(run)) != 0) {
      continue;
    }
    char *end;
    fettle_nc_section *s = &r.sections[r.section_count++];
    s->first_line = strtoul(first, &end, 10);
    s->next_line = strtoul(end, &end, 10);
    s->recorded = strtod(end, &end);
  }
  free(table);
  assert_true(r.section_count >= 4);
  return r;
}

/* Largest error of a section; `total` gets that of the sum. */
static double errors_of(recorded *r, const fettle_nc_machine *machine, double *total) {
  const fettle_nc_timing timing = {1, 1, r->sections, r->section_count};
  fettle_nc_timer *timer;
  fettle_nc_times times;
  double worst = 0, model = 0, took = 0;
  assert_int_equal(fettle_nc_timer_start(machine, &timing, &memory, &timer, NULL), FETTLE_OK);
  for (size_t i = 0; i < r->count; i++) {
    fettle_nc_timer_push(timer, &r->motions[i]);
  }
  fettle_nc_timer_finish(timer, &times);
  for (size_t i = 0; i < r->section_count; i++) {
    const double error = r->sections[i].seconds / r->sections[i].recorded - 1;
    worst = fmax(worst, fabs(error));
    model += r->sections[i].seconds;
    took += r->sections[i].recorded;
  }
  *total = model / took - 1;
  print_message("  total %+.2f %%\n", 100 * *total);
  return worst;
}

/* The five numbers were fitted to the plate runs by a separate planner. */
static fettle_nc_machine fitted(void) {
  return (fettle_nc_machine){
      .speed_mm_s = {194, 194, 61}, .acceleration_mm_s2 = {303, 303, 336}, .corner_mm = 0.0089};
}

static void recorded_programs(void **state) {
  (void)state;
  static const struct {
    const char *name, *run;
    double section;
  } rows[] = {{"nist-plate-02.nc", "02of", 0.06}, {"nist-plate-16.nc", "16of", 0.06},
              {"nist-box-op1.nc", "03of", 0.15},  {"nist-box-op1.nc", "05of", 0.15},
              {"nist-box-op1.nc", "10of", 0.15},  {"nist-box-op1.nc", "15of", 0.15}};
  const fettle_nc_machine m = fitted();
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    recorded r = load_run(rows[i].name, rows[i].run);
    double total;
    print_message("%s run %s\n", rows[i].name, rows[i].run);
    assert_near(errors_of(&r, &m, &total), 0, rows[i].section, RECORDED);
    assert_near(total, 0, 0.035, RECORDED);
    free(r.motions);
  }
}

static fettle_nc_recording recording_of(recorded *r) {
  return (fettle_nc_recording){r->motions, r->count, r->sections, r->section_count};
}

static void show_machine(const fettle_nc_machine *m, const fettle_nc_fit *fit) {
  print_message("  a %.1f %.1f, v %.1f %.1f, corner %.5f; residual %.4f worst %.4f, %u rounds\n",
                m->acceleration_mm_s2[0], m->acceleration_mm_s2[2], m->speed_mm_s[0],
                m->speed_mm_s[2], m->corner_mm, fit->residual, fit->worst, fit->rounds);
}

static void calibration(void **state) {
  (void)state;
  recorded runs[2] = {load_run("nist-plate-02.nc", "02of"), load_run("nist-plate-16.nc", "16of")};
  fettle_nc_recording recordings[2] = {recording_of(&runs[0]), recording_of(&runs[1])};
  fettle_nc_fit fit;
  fettle_diagnostic diagnostic;
  double total;
  fettle_nc_machine m = machine_of(150, 500, 0.02);
  m.chord_cap = false;
  assert_int_equal(fettle_nc_calibrate(recordings, 2, &memory, &m, &fit, &diagnostic), FETTLE_OK);
  show_machine(&m, &fit);
  for (int i = 0; i < 2; i++) {
    assert_near(errors_of(&runs[i], &m, &total), 0, 0.06, RECORDED);
    assert_near(total, 0, 0.035, RECORDED);
  }
  /* one program alone foretells the other, from several first guesses */
  for (int guess = 0; guess < 3; guess++) {
    m = machine_of(guess == 0   ? 150
                   : guess == 1 ? 80
                                : 400,
                   guess == 1 ? 1500 : 400, guess == 2 ? 0.05 : 0.005);
    m.chord_cap = false;
    assert_int_equal(fettle_nc_calibrate(recordings, 1, &memory, &m, &fit, &diagnostic), FETTLE_OK);
    show_machine(&m, &fit);
    errors_of(&runs[1], &m, &total);
    assert_near(total, 0, 0.05, RECORDED);
  }
  /* known numbers are found again from the times that they give */
  const fettle_nc_machine truth = fitted();
  for (int i = 0; i < 2; i++) {
    errors_of(&runs[i], &truth, &total);
    for (size_t j = 0; j < runs[i].section_count; j++) {
      runs[i].sections[j].recorded = runs[i].sections[j].seconds;
    }
  }
  m = machine_of(150, 500, 0.02);
  m.chord_cap = false;
  assert_int_equal(fettle_nc_calibrate(recordings, 2, &memory, &m, &fit, &diagnostic), FETTLE_OK);
  show_machine(&m, &fit);
  assert_near(fit.residual, 0, 1e-3, "the times were made with these numbers");
  assert_near(m.acceleration_mm_s2[0], 303, 0.05 * 303, "the numbers that made the times");
  assert_near(m.corner_mm, 0.0089, 0.05 * 0.0089, "the numbers that made the times");
  free(runs[0].motions);
  free(runs[1].motions);
}

static void machines_that_cannot_be(void **state) {
  (void)state;
  fettle_nc_timer *timer;
  fettle_diagnostic diagnostic;
  const double wrong[] = {0, -1, NAN, INFINITY};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    fettle_nc_machine m = machine_of(100, 500, 0.01);
    m.acceleration_mm_s2[1] = wrong[i];
    assert_int_equal(fettle_nc_timer_start(&m, NULL, &memory, &timer, &diagnostic),
                     FETTLE_ERROR_ARGUMENT);
    m = machine_of(100, 500, 0.01);
    m.speed_mm_s[2] = wrong[i];
    assert_int_equal(fettle_nc_timer_start(&m, NULL, &memory, &timer, &diagnostic),
                     FETTLE_ERROR_ARGUMENT);
    assert_null(timer);
  }
  fettle_nc_machine m = machine_of(100, 500, 0.01);
  fettle_nc_fit fit;
  assert_int_equal(fettle_nc_calibrate(NULL, 0, &memory, &m, &fit, &diagnostic),
                   FETTLE_ERROR_ARGUMENT);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(one_motion),
                                     cmocka_unit_test(rapids),
                                     cmocka_unit_test(corners),
                                     cmocka_unit_test(chains),
                                     cmocka_unit_test(longer_than_the_window),
                                     cmocka_unit_test(letters),
                                     cmocka_unit_test(block_rate_and_look_ahead),
                                     cmocka_unit_test(sums_by_tool_and_section),
                                     cmocka_unit_test(agrees_with_fine_steps),
                                     cmocka_unit_test(recorded_programs),
                                     cmocka_unit_test(calibration),
                                     cmocka_unit_test(machines_that_cannot_be)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
