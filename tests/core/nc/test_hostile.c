/* Input that wants to break the reader: each ends in a finding or one clear error with the line,
 * in bounded time and memory; and what must not change a reading. */
#include <math.h>

#include "support/nc.h"
#include "support/near.h"

typedef struct seen {
  uint64_t line; /* of the first stop */
  int first;     /* its kind, -1: none */
  unsigned notes[FETTLE_NC_FINDING_KINDS];
  unsigned events, most;
  double length, dwell;
} seen;

static int note(void *context, const fettle_nc_event *event) {
  seen *s = ((nc_text *)context)->user;
  if (event->kind == FETTLE_NC_FINDING) {
    s->notes[event->finding->kind]++;
    if (event->finding->severity == FETTLE_NC_STOP_WORK && s->first < 0) {
      s->first = (int)event->finding->kind;
      s->line = event->line;
    }
    assert_true(strlen(event->finding->message) > 0);
  }
  if (event->kind <= FETTLE_NC_PROBE) {
    assert_true(event->length >= 0.0 && isfinite(event->length) && isfinite(event->feed));
    s->length += event->length;
  }
  s->dwell += event->seconds;
  for (int i = 0; i < FETTLE_NC_AXES; i++) {
    assert_true(isfinite(event->to[i]));
  }
  return s->most > 0 && ++s->events >= s->most;
}

static seen read_text(const char *text, size_t length, const fettle_nc_profile *profile,
                      fettle_status *status, fettle_nc_summary *summary,
                      fettle_diagnostic *diagnostic) {
  const fettle_nc_setup setup = {.units = FETTLE_NC_UNITS_MM, .slots = 68};
  seen s = {.first = -1};
  *status = nc_run(text, length, 0, profile, &setup, note, &s, summary, diagnostic);
  return s;
}

typedef struct hostile {
  const char *text;
  int kind; /* -1: read without an error */
  uint64_t line;
} hostile;

static void hostile_lines(void **state) {
  (void)state;
  static const hostile rows[] = {
      {"", FETTLE_NC_NO_END, 1},
      {"%", FETTLE_NC_NO_END, 2},
      {"  \n\t\n", FETTLE_NC_NO_END, 3},
      {"(only a comment)\n", FETTLE_NC_NO_END, 2},
      {"g0 x1\nm2", -1, 0},
      {"\xEF\xBB\xBFg0 x1\nm2\n", -1, 0},
      {"g0 x1\rm2\r", -1, 0},
      {"g0 x1 (\xE9\x80\xFF)\r\nm2\n", -1, 0},
      {"g0 x1\n\x1Am2\n", FETTLE_NC_UNREADABLE_WORD, 2},
      {"g0 x1 (never closed\nm2\n", FETTLE_NC_BAD_COMMENT, 1},
      {"g0 x########1\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"g0 xsin[sin[sin[\nm2\n", FETTLE_NC_UNREADABLE_WORD, 1},
      {"#1=#1\n#[#[#1]]=1\nm2\n", FETTLE_NC_VALUE_RANGE, 2},
      {"#1000000000=1\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"#-1=1\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"#5399.99=1\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"g0 x1e308\nm2\n", FETTLE_NC_UNREADABLE_WORD, 1},
      {"g0 x99999999999999999999\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"g0 x exp[1000]\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"g0 x[10**400]\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"g0 x[0**0]\nm2\n", -1, 0},
      {"g0 x[0/0]\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"g0 x tan[90]\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"g0 x-0\nm2\n", -1, 0},
      {"g0 x.\nm2\n", FETTLE_NC_UNREADABLE_WORD, 1},
      {"g0 x+\nm2\n", FETTLE_NC_UNREADABLE_WORD, 1},
      {"g0 x-.\nm2\n", FETTLE_NC_UNREADABLE_WORD, 1},
      {"g0 x..1\nm2\n", FETTLE_NC_UNREADABLE_WORD, 1},
      {"g0 x1.2.3\nm2\n", FETTLE_NC_UNREADABLE_WORD, 1},
      {"g0 x1-2\nm2\n", FETTLE_NC_UNREADABLE_WORD, 1},
      {"g0 x 1 2\nm2\n", -1, 0},
      {"g0 x\t1\nm2\n", -1, 0},
      {"g1.00005 x1 f10\nm2\n", -1, 0},
      {"g1.01 x1\nm2\n", FETTLE_NC_UNKNOWN_CODE, 1},
      {"g999\nm2\n", FETTLE_NC_UNKNOWN_CODE, 1},
      {"g-1\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"g1e1 x1\nm2\n", FETTLE_NC_UNREADABLE_WORD, 1},
      {"m100\nm2\n", FETTLE_NC_UNKNOWN_CODE, 1},
      {"m3.5\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"g[1/0]\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"g2 x1 i0 j0 f1\nm2\n", FETTLE_NC_ARC_OPEN, 1},
      {"g2 x1 r0 f1\nm2\n", FETTLE_NC_ARC_OPEN, 1},
      {"g2 x1 r1000000000 f1\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"g2 x1 r1000000 f1\nm2\n", -1, 0},
      {"f1 g83 x1 z-100 r0 q0.000000000001\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"f1 g81 x1 z-1 r0 l2147483647\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"f1 g91 g81 x1 z-1 r0 l1000000000\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"f1 g81 x1 z0 r0\nm2\n", -1, 0},
      {"f1 g83 x1 z-1 r0 q5\nm2\n", -1, 0},
      {"g1 x1 f0\nm2\n", FETTLE_NC_WORD_MISSING, 1},
      {"s10000000000 m3\nm2\n", FETTLE_NC_VALUE_RANGE, 1},
      {"n1 n2 g0 x1\nm2\n", FETTLE_NC_UNREADABLE_WORD, 1},
      {"g0 x1 / 2\nm2\n", FETTLE_NC_UNREADABLE_WORD, 1},
      {"g0 x1\n%\nm2\n", FETTLE_NC_UNREADABLE_WORD, 2},
  };
  const fettle_nc_profile shop = fettle_nc_profile_shop();
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    fettle_status status;
    fettle_nc_summary summary;
    fettle_diagnostic diagnostic = {.status = FETTLE_OK};
    const seen s =
        read_text(rows[i].text, strlen(rows[i].text), NULL, &status, &summary, &diagnostic);
    if (s.first != rows[i].kind || (s.first >= 0 && s.line != rows[i].line) ||
        (status == FETTLE_OK) != (rows[i].kind < 0)) {
      fail_msg("row %zu \"%s\": kind %d line %d: %s", i, rows[i].text, s.first, (int)s.line,
               diagnostic.message);
    }
    read_text(rows[i].text, strlen(rows[i].text), &shop, &status, &summary, &diagnostic);
    assert_int_equal(status, FETTLE_OK);
  }
}

/* head, `count` times middle, tail */
static char *pile(const char *head, const char *middle, size_t count, const char *tail,
                  size_t *length) {
  const size_t step = strlen(middle);
  *length = strlen(head) + step * count + strlen(tail);
  char *text = malloc(*length + 1);
  char *at = text;
  assert_non_null(text);
  memcpy(at, head, strlen(head));
  at += strlen(head);
  for (size_t i = 0; i < count; i++, at += step) {
    memcpy(at, middle, step);
  }
  memcpy(at, tail, strlen(tail) + 1);
  return text;
}

static void piles(void **state) {
  (void)state;
  static const struct {
    const char *head, *middle, *tail;
    size_t count;
    int kind;
    uint64_t line;
  } rows[] = {
      {"g0 x", "[", "\nm2\n", 200, FETTLE_NC_BAD_EXPRESSION, 1},
      {"g0 x", "[", "\nm2\n", 100000, FETTLE_NC_LINE_TOO_LONG, 1},
      {"g0 x[", "1+", "1]\nm2\n", 30000, -1, 0},
      {"g0 x[", "1+", "1]\nm2\n", 1000000, FETTLE_NC_LINE_TOO_LONG, 1},
      {"g0 x", "9", "\nm2\n", 500, FETTLE_NC_VALUE_RANGE, 1},
      {"(", "c", ")\nm2\n", 1000000, FETTLE_NC_LINE_TOO_LONG, 1},
      {"g0 x1\n", "#1=1 ", "\nm2\n", 100, FETTLE_NC_UNREADABLE_WORD, 2},
      {"g0\n", "x1\nx0\n", "m2\n", 200000, -1, 0},
      {"g0 x1\n", "q1\n", "m2\n", 100000, FETTLE_NC_WORD_UNUSED, 2},
  };
  fettle_nc_profile shop = fettle_nc_profile_shop();
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    size_t length;
    fettle_status status;
    fettle_nc_summary summary;
    fettle_diagnostic diagnostic;
    char *text = pile(rows[i].head, rows[i].middle, rows[i].count, rows[i].tail, &length);
    const seen s = read_text(text, length, &shop, &status, &summary, &diagnostic);
    assert_int_equal(status, FETTLE_OK);
    if (s.first != rows[i].kind || (s.first >= 0 && s.line != rows[i].line)) {
      fail_msg("pile %zu: kind %d line %d", i, s.first, (int)s.line);
    }
    assert_true(summary.ended); /* the line after the bad one is found again */
    assert_true(s.notes[FETTLE_NC_WORD_UNUSED] <= 100);
    if (i == 8) {
      assert_int_equal(summary.findings[FETTLE_NC_WORD_UNUSED], 100000);
    }
    free(text);
  }
}

static void bytes_that_are_no_text(void **state) {
  (void)state;
  static const char zip[] = "\x1F\x8B\x08\x00\x00\x00\x00\x00\x02\x03\x01\x02\x04";
  static const char wide[] = "\xFF\xFEg\0000\0 \0x\0001\0\n\0";
  static const char zero[] =
      "g0 x1 (a comment with \0 inside is long enough to be text)\nx\0001\nm2";
  fettle_status status;
  fettle_nc_summary summary;
  fettle_diagnostic diagnostic;
  read_text(zip, sizeof zip - 1, NULL, &status, &summary, &diagnostic);
  assert_int_equal(status, FETTLE_ERROR_TEXT);
  assert_string_equal(diagnostic.parameter, "text");
  read_text(wide, sizeof wide - 1, NULL, &status, &summary, &diagnostic);
  assert_int_equal(status, FETTLE_ERROR_TEXT);
  assert_string_equal(diagnostic.parameter, "text");
  const seen s = read_text(zero, sizeof zero - 1, NULL, &status, &summary, &diagnostic);
  assert_int_equal(s.first, FETTLE_NC_UNREADABLE_WORD);
  assert_int_equal(s.line, 2);
  assert_int_equal(diagnostic.column, 2);
}

static void calls(void **state) {
  (void)state;
  static const struct {
    const char *text;
    int kind;
    double x, feed_length;
  } rows[] = {
      {"g21 g90 g0 x0\nm98 p2 l3\nm30\no2\ng91 g1 x10 f600\ng90\nm99\n", -1, 30, 30},
      {"o1\ng21\nm98 p1\nm30\n", FETTLE_NC_NO_SUBPROGRAM, 0, 0},
      {"g21\nm98 p7\nm30\n", FETTLE_NC_NO_SUBPROGRAM, 0, 0},
      {"g21\nm98 p2 l0\nm30\no2\nm99\n", FETTLE_NC_VALUE_RANGE, 0, 0},
      {"g21\nm98 p2\nm30\no2\ng0 x1\n", FETTLE_NC_NO_END, 1, 1},
      {"g21 g0 x5\nm99\n", FETTLE_NC_NOT_FOLLOWED, 5, 5},
      {"g21\nm98 p2\nm30\no2\ng91\nm98 p3 l2\ng90\nm99\no3\ng0 x4\nm99\n", -1, 8, 8},
  };
  const fettle_nc_profile shop = fettle_nc_profile_shop();
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    fettle_status status;
    fettle_nc_summary summary;
    fettle_diagnostic diagnostic;
    const seen s =
        read_text(rows[i].text, strlen(rows[i].text), &shop, &status, &summary, &diagnostic);
    assert_int_equal(status, FETTLE_OK);
    if (s.first != rows[i].kind) {
      fail_msg("row %zu: kind %d", i, s.first);
    }
    assert_near(summary.machine[0], rows[i].x, 1e-12, "by hand");
    assert_near(s.length, rows[i].feed_length, 1e-12, "by hand");
  }
}

static void unknown_codes_do_not_change_meaning(void **state) {
  (void)state;
  const fettle_nc_profile shop = fettle_nc_profile_shop();
  fettle_status status;
  fettle_nc_summary summary;
  fettle_diagnostic diagnostic;
  static const char twice[] = "g21 g0 x1 y1 z1\ng187 x5\ng187 x6\nx2\nm30\n";
  seen s = read_text(twice, sizeof twice - 1, &shop, &status, &summary, &diagnostic);
  assert_int_equal(s.notes[FETTLE_NC_UNKNOWN_CODE], 1); /* told once, counted twice */
  assert_int_equal(summary.findings[FETTLE_NC_UNKNOWN_CODE], 2);
  assert_near(summary.machine[0], 2, 0, "by hand");
  assert_int_equal(summary.unknown & 7, 6); /* X is stated again, Y and Z are not */
  static const char turned[] = "g21 g0 x1 y1 z1\ng68 x0 y0 r30\nx2 y2 z2\nm30\n";
  read_text(turned, sizeof turned - 1, &shop, &status, &summary, &diagnostic);
  assert_int_equal(summary.unknown & 7, 7);
  static const char back[] = "g21 g0 x1 y1 z1\ng68 x0 y0 r30\nx2 y2\ng69\nx2 y2 z2\nm30\n";
  read_text(back, sizeof back - 1, &shop, &status, &summary, &diagnostic);
  assert_int_equal(summary.unknown & 7, 0);
}

static void whole_numbers_by_profile(void **state) {
  (void)state;
  fettle_nc_profile profile = fettle_nc_profile_strict();
  fettle_status status;
  fettle_nc_summary summary;
  fettle_diagnostic diagnostic;
  static const char text[] = "g21 g0 z-5000\nx5000.\nm2\n";
  seen s = read_text(text, sizeof text - 1, &profile, &status, &summary, &diagnostic);
  assert_near(summary.machine[2], -5000, 0, "the reading that is stated");
  assert_int_equal(s.notes[FETTLE_NC_WHOLE_NUMBER], 1);
  profile.whole_is_increment = true;
  s = read_text(text, sizeof text - 1, &profile, &status, &summary, &diagnostic);
  assert_near(summary.machine[2], -5, 0, "0.001 mm");
  assert_near(summary.machine[0], 5000, 0, "with its point");
  assert_int_equal(s.notes[FETTLE_NC_WHOLE_NUMBER], 1);
}

static void form_does_not_matter(void **state) {
  (void)state;
  size_t length;
  char *text = nc_load(FETTLE_TEST_DATA "/nc/nist-904-op1.nc", &length);
  char *other = malloc(length + 1);
  const fettle_nc_profile shop = fettle_nc_profile_shop();
  fettle_status status;
  fettle_nc_summary a, b;
  fettle_diagnostic diagnostic;
  const seen first = read_text(text, length, &shop, &status, &a, &diagnostic);
  assert_int_equal(status, FETTLE_OK);
  size_t count = 0;
  bool comment = false;
  for (size_t i = 0; i < length; i++) { /* LF alone, lower case, no blanks */
    char c = text[i];
    comment = c == '(' || (comment && c != ')');
    if (c == '\r' || (c == ' ' && !comment)) {
      continue;
    }
    other[count++] = c >= 'A' && c <= 'Z' ? (char)(c + 32) : c;
  }
  const seen second = read_text(other, count, &shop, &status, &b, &diagnostic);
  assert_near(first.length, second.length, 0.0, "the same program");
  assert_int_equal(a.motions, b.motions);
  assert_memory_equal(a.machine, b.machine, sizeof a.machine);
  free(text);
  free(other);
}

static void events_may_cancel(void **state) {
  (void)state;
  const fettle_nc_setup setup = {.units = FETTLE_NC_UNITS_MM};
  seen s = {.first = -1, .most = 3};
  fettle_nc_summary summary;
  fettle_diagnostic diagnostic;
  static const char text[] = "g0 x1\nx2\nx3\nx4\nx5\nm2\n";
  assert_int_equal(nc_run(text, sizeof text - 1, 0, NULL, &setup, note, &s, &summary, &diagnostic),
                   FETTLE_ERROR_CANCELLED);
  assert_true(summary.motions <= 3);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(hostile_lines),
                                     cmocka_unit_test(piles),
                                     cmocka_unit_test(bytes_that_are_no_text),
                                     cmocka_unit_test(calls),
                                     cmocka_unit_test(unknown_codes_do_not_change_meaning),
                                     cmocka_unit_test(whole_numbers_by_profile),
                                     cmocka_unit_test(form_does_not_matter),
                                     cmocka_unit_test(events_may_cancel)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
