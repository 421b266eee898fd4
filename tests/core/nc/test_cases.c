/* Every small program of cases.tsv in the language of NISTIR 6556: end, lengths, arcs, errors. */
#include <math.h>

#include "support/nc.h"
#include "support/near.h"

enum { FIELDS = 15, ARCS_MOST = 4 };
enum {
  ID,
  START,
  DELETED,
  PROGRAM,
  RESULT,
  XYZ,
  ABSOLUTE,
  UNITS,
  MOVES,
  RAPID,
  FEED,
  ARC,
  CENTRES,
  DWELL,
  RATE
};

typedef struct seen {
  double rapid, feed, arc, dwell, rate;
  double arcs[ARCS_MOST][4];
  int plane;
  unsigned arc_count;
  bool inverse;
  fettle_nc_finding first;
  uint64_t first_line;
  bool error;
} seen;

static int note(void *context, const fettle_nc_event *event) {
  seen *s = ((nc_text *)context)->user;
  switch (event->kind) {
  case FETTLE_NC_RAPID:
    s->rapid += event->length;
    break;
  case FETTLE_NC_LINE:
    s->feed += event->length;
    s->rate = event->feed;
    break;
  case FETTLE_NC_ARC:
    s->arc += event->length;
    s->rate = event->feed;
    if (s->arc_count < ARCS_MOST) {
      const int first = event->plane == 17 ? 0 : event->plane == 18 ? 2 : 1;
      double *a = s->arcs[s->arc_count++];
      a[0] = event->centre[first];
      a[1] = event->centre[(first + 1) % 3];
      a[2] = event->radius;
      a[3] = event->sweep * 180.0 / 3.14159265358979323846;
    }
    break;
  case FETTLE_NC_DWELL:
    s->dwell += event->seconds;
    break;
  case FETTLE_NC_FINDING:
    if (event->finding->severity == FETTLE_NC_STOP_WORK && !s->error) {
      s->error = true;
      s->first = *event->finding;
      s->first_line = event->line;
    }
    break;
  default:
    break;
  }
  s->inverse = s->inverse || event->state->inverse_time;
  return 0;
}

static void check_numbers(const char *id, const char *want, const double *got, double unit,
                          size_t count) {
  char *end = NULL;
  for (size_t i = 0; i < count; i++) {
    const double value = strtod(want, &end);
    assert_ptr_not_equal(want, end);
    assert_near(got[i] / unit, value, 1.1e-6, id);
    want = *end ? end + 1 : end;
  }
}

static void check_case(char *field[FIELDS]) {
  static fettle_nc_tool tools[69];
  static const struct {
    int slot;
    double length;
  } lengths[] = {{1, 2.0}, {2, 1.0}, {5, 1.5}, {10, 2.4}, {21, 173.74}, {32, 247.615}};
  for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++) {
    tools[lengths[i].slot] = (fettle_nc_tool){.length = lengths[i].length, .stated = true};
  }
  const fettle_nc_setup setup = {.units = FETTLE_NC_UNITS_MM,
                                 .tools = tools,
                                 .tool_count = 69,
                                 .slots = 68,
                                 .block_delete = strcmp(field[DELETED], "on") == 0};
  char program[512];
  size_t length = 0;
  for (const char *at = field[PROGRAM]; *at; at++) {
    const bool line_end = at[0] == '\\' && at[1] == 'n';
    program[length++] = line_end ? '\n' : *at;
    at += line_end;
  }
  seen s = {.rapid = 0.0};
  fettle_nc_summary summary;
  fettle_diagnostic diagnostic;
  const fettle_status status =
      nc_run(program, length, 0, NULL, &setup, note, &s, &summary, &diagnostic);
  const char *id = field[ID];
  /* a program that ends in m0 is run to the end of its text */
  const bool to_text_end = strcmp(field[RESULT], "ok") == 0 && s.error &&
                           s.first.kind == FETTLE_NC_NO_END && strstr(program, "m0") != NULL;
  if (strcmp(field[RESULT], "ok") == 0 && !to_text_end) {
    if (status != FETTLE_OK) {
      fail_msg("%s: %s", id, diagnostic.message);
    }
    assert_false(s.error);
  } else if (!to_text_end) {
    char want[200];
    assert_int_equal(status, FETTLE_ERROR_TEXT);
    snprintf(want, sizeof want, "line %llu %s", (unsigned long long)s.first_line,
             fettle_nc_finding_name(s.first.kind));
    if (strncmp(want, field[RESULT], strlen(want)) != 0) {
      fail_msg("%s: \"%s\" is wanted, \"%s\" came: %s", id, field[RESULT], want,
               diagnostic.message);
    }
  }
  const double unit = strcmp(field[UNITS], "in") == 0 ? 25.4 : 1.0;
  assert_int_equal(summary.state.units, unit > 1.0 ? FETTLE_NC_UNITS_INCH : FETTLE_NC_UNITS_MM);
  check_numbers(id, field[XYZ], summary.program, unit, 3);
  check_numbers(id, field[ABSOLUTE], summary.machine, unit, 3);
  if ((unsigned long)summary.motions != strtoul(field[MOVES], NULL, 10)) {
    fail_msg("%s: %s motions are wanted, %lu came", id, field[MOVES],
             (unsigned long)summary.motions);
  }
  check_numbers(id, field[RAPID], &s.rapid, unit, 1);
  check_numbers(id, field[FEED], &s.feed, unit, 1);
  check_numbers(id, field[ARC], &s.arc, unit, 1);
  check_numbers(id, field[DWELL], &s.dwell, 1.0, 1);
  if (s.inverse) {
    check_numbers(id, field[RATE], &s.rate, unit, 1);
  } else {
    check_numbers(id, field[RATE], &summary.state.feed, 1.0, 1);
  }
  if (field[CENTRES][0] != '\0') {
    assert_int_equal(s.arc_count, 1);
    const double shown[4] = {s.arcs[0][0] / unit, s.arcs[0][1] / unit, s.arcs[0][2] / unit,
                             s.arcs[0][3]};
    check_numbers(id, field[CENTRES] + 1, shown, 1.0, 4);
  } else {
    assert_int_equal(s.arc_count, 0);
  }
}

static void every_case_has_its_result(void **state) {
  (void)state;
  size_t length;
  char *table = nc_load(FETTLE_TEST_DATA "/nc/cases.tsv", &length);
  unsigned cases = 0;
  char *line = strchr(table, '\n') + 1;
  while (*line) {
    char *end = strchr(line, '\n');
    *end = '\0';
    char *field[FIELDS] = {NULL};
    for (int i = 0; i < FIELDS; i++) {
      field[i] = i < FIELDS && line ? line : "";
      line = line ? strchr(line, '\t') : NULL;
      if (line) {
        *line++ = '\0';
      }
    }
    check_case(field);
    cases++;
    line = end + 1;
  }
  print_message("%u small programs\n", cases);
  assert_true(cases >= 99);
  free(table);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(every_case_has_its_result)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
