/* Whole programs: the samples of NISTIR 6556 with its figures, and real programs of a test bed. */
#include <math.h>

#include "support/nc.h"
#include "support/near.h"

#define REPORT "NISTIR 6556, appendix C"
#define SECOND "a separate reader in another language"

typedef struct totals {
  unsigned rapids, lines, arcs, findings[3], stated;
  double rapid, line, arc, dwell, seconds, low[3], high[3];
  char last[320];
} totals;

static int add(void *context, const fettle_nc_event *event) {
  totals *t = ((nc_text *)context)->user;
  assert_true(event->text_length <= FETTLE_NC_LINE_MOST);
  switch (event->kind) {
  case FETTLE_NC_RAPID:
    t->rapids++;
    t->rapid += event->length;
    break;
  case FETTLE_NC_LINE: {
    t->lines++;
    t->line += event->length;
    t->seconds += event->length / event->feed * 60.0;
    char text[128];
    snprintf(text, sizeof text, "%.*s", (int)event->text_length, event->text);
    const char *stated = strstr(text, "should be ");
    if (stated) {
      char *stop = NULL;
      const double want = strtod(stated + 10, &stop);
      const char *point = memchr(stated + 10, '.', (size_t)(stop - stated - 10));
      const double half = point ? 0.5 * pow(10.0, -(double)(stop - point - 1)) : 0.5;
      /* two lines state rounder figures than they print: 45.0000 is 44.99998, 60.0 is 60.0007 */
      assert_near(event->to[0], want, fmax(half, 1e-3) * 1.0001, REPORT ".2");
      t->stated++;
    }
    break;
  }
  case FETTLE_NC_ARC:
    t->arcs++;
    t->arc += event->length;
    t->seconds += event->length / event->feed * 60.0;
    break;
  case FETTLE_NC_DWELL:
    t->dwell += event->seconds;
    break;
  case FETTLE_NC_FINDING:
    t->findings[event->finding->severity]++;
    snprintf(t->last, sizeof t->last, "line %llu: %s", (unsigned long long)event->line,
             event->finding->message);
    break;
  default:
    break;
  }
  return 0;
}

static totals run(const char *name, const fettle_nc_profile *profile, fettle_nc_units units,
                  size_t chunk, fettle_nc_summary *summary) {
  static const fettle_nc_tool tools[2] = {{.stated = false}, {.length = 2.0, .stated = true}};
  const fettle_nc_setup setup = {.units = units, .tools = tools, .tool_count = 2, .slots = 313};
  char path[512];
  size_t length;
  totals t = {.rapids = 0};
  fettle_diagnostic diagnostic;
  snprintf(path, sizeof path, "%s/nc/%s", FETTLE_TEST_DATA, name);
  char *bytes = nc_load(path, &length);
  const fettle_status status =
      nc_run(bytes, length, chunk, profile, &setup, add, &t, summary, &diagnostic);
  if (status != FETTLE_OK) {
    fail_msg("%s: %s", name, diagnostic.message);
  }
  free(bytes);
  return t;
}

static void letters_of_the_report(void **state) {
  (void)state;
  fettle_nc_summary s;
  totals t = run("nistir6556-c1-letters.ngc", NULL, FETTLE_NC_UNITS_MM, 0, &s);
  assert_near(s.program[0], 81, 1e-9, REPORT);
  assert_near(s.program[1], 5, 1e-9, REPORT);
  assert_near(s.program[2], 50, 1e-9, REPORT);
  assert_int_equal(t.rapids, 25);
  assert_int_equal(t.lines, 29);
  assert_int_equal(t.arcs, 5);
  assert_near(t.rapid, 252.0528, 5e-5, SECOND);
  assert_near(t.line, 126.9785, 5e-5, SECOND);
  assert_near(t.arc, 56.4519, 5e-5, SECOND);
  assert_near(t.seconds, 550.29, 5e-3, SECOND);
}

static void expressions_of_the_report(void **state) {
  (void)state;
  fettle_nc_summary s;
  totals t = run("nistir6556-c2-expressions.ngc", NULL, FETTLE_NC_UNITS_MM, 0, &s);
  assert_int_equal(t.stated, 44);
  assert_near(s.program[0], 5.0, 1e-12, REPORT);
}

static void cycles_of_the_report(void **state) {
  (void)state;
  fettle_nc_summary s;
  totals t = run("nistir6556-c3-cycles.ngc", NULL, FETTLE_NC_UNITS_INCH, 0, &s);
  assert_int_equal(s.motions, 295);
  assert_near(t.rapid / 25.4, 2604.7267, 5e-5, SECOND);
  assert_near(t.line / 25.4, 305.68, 5e-3, SECOND);
  assert_near(t.dwell, 3625.1892, 5e-5, SECOND);
  assert_near(s.program[0] / 25.4, 33.8, 1e-9, SECOND);
  assert_near(s.program[1] / 25.4, 31.0, 1e-9, SECOND);
  assert_near(s.program[2] / 25.4, 33.0, 1e-9, SECOND);
}

static void real_programs_are_read(void **state) {
  (void)state;
  static const struct {
    const char *name;
    unsigned lines, arcs;
    double line, arc, seconds; /* length 0: not stated */
  } rows[] = {
      {"nist-plate-02.nc", 1495, 2223, 9522.66, 4821.50, 859.7},
      {"nist-plate-16.nc", 1495, 2223, 9522.66, 4821.50, 654.7},
      {"nist-box-op1.nc", 19642, 1837, 75859.58, 9146.42, 1338.1},
      {"nist-904-fixture.nc", 149, 40, 0, 0, 49.7},
      {"nist-904-op1.nc", 600, 197, 0, 0, 158.8},
  };
  const fettle_nc_profile shop = fettle_nc_profile_shop();
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    fettle_nc_summary s, again;
    const totals t = run(rows[i].name, &shop, FETTLE_NC_UNITS_NONE, 0, &s);
    if (s.errors != 0 || t.findings[FETTLE_NC_STOP_WORK] != 0 || !s.ended) {
      fail_msg("%s: %s", rows[i].name, t.last);
    }
    assert_int_equal(t.lines, rows[i].lines);
    assert_int_equal(t.arcs, rows[i].arcs);
    assert_near(t.seconds, rows[i].seconds, 5e-2, SECOND);
    if (rows[i].line > 0) {
      assert_near(t.line, rows[i].line, 5e-3, SECOND);
      assert_near(t.arc, rows[i].arc, 5e-3, SECOND);
    }
    const totals small = run(rows[i].name, &shop, FETTLE_NC_UNITS_NONE, 97, &again);
    assert_memory_equal(&t, &small, sizeof t);
    assert_near(s.machine[0], again.machine[0], 0.0, "the same bytes in small pieces");
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(letters_of_the_report), cmocka_unit_test(expressions_of_the_report),
      cmocka_unit_test(cycles_of_the_report), cmocka_unit_test(real_programs_are_read)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
