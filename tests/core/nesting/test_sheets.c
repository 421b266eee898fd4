/* Sheets: the scenario's plug, rows worked out by exact search, and every layout checked. */
#include "support/near.h"

#include <string.h>

#include "support/nest.h"

#define DERIVED "derived: exhaustive search with exact integers"

typedef struct row {
  const char *name;
  double length, width;
  uint32_t count;
} row;

typedef struct job {
  fettle_nest_piece pieces[16];
  fettle_nest_stock stock;
  fettle_nest_request request;
} job;

static void make(job *j, double length, double width, double kerf, const row *rows, size_t count,
                 bool turn) {
  memset(j, 0, sizeof *j);
  for (size_t i = 0; i < count; i++) {
    j->pieces[i] = (fettle_nest_piece){.name = rows[i].name,
                                       .length = inches(rows[i].length),
                                       .width = inches(rows[i].width),
                                       .count = rows[i].count,
                                       .may_turn = turn};
  }
  j->stock = (fettle_nest_stock){.name = "sheet",
                                 .length = inches(length),
                                 .width = inches(width),
                                 .count = FETTLE_NEST_UNLIMITED};
  j->request = (fettle_nest_request){.pieces = j->pieces,
                                     .piece_kinds = count,
                                     .stocks = &j->stock,
                                     .stock_kinds = 1,
                                     .kerf = inches(kerf),
                                     .unit = fettle_unit_find("in", 2),
                                     .effort = 3000000};
}

/* Solves, has the layout proved, and gives the number of sheets. */
static size_t sheets_of(const job *j, fettle_nest_layout *layout) {
  fettle_diagnostic diagnostic = {0};
  fettle_status status = fettle_nest_solve(&j->request, &test_host, layout, &diagnostic);
  if (status == FETTLE_OK) {
    status = fettle_nest_check(&j->request, layout, &test_host, &diagnostic);
  }
  if (status != FETTLE_OK) {
    print_error("%s\n", diagnostic.message);
  }
  assert_int_equal(status, FETTLE_OK);
  return layout->sheet_count;
}

static size_t sheets_needed(double length, double width, double kerf, const row *rows, size_t count,
                            bool turn) {
  job j;
  fettle_nest_layout layout;
  make(&j, length, width, kerf, rows, count, turn);
  size_t sheets = sheets_of(&j, &layout);
  fettle_nest_free(&layout, &test_host);
  return sheets;
}

#define SHEETS(length, width, kerf, rows, turn)                                                    \
  sheets_needed((length), (width), (kerf), (rows), sizeof(rows) / sizeof(rows)[0], (turn))

/* The scenario's foam, J02: five layers of 2 in on 24 x 96 sheets. */
static const row plug[] = {{"A", 96, 24, 1},     {"B", 33, 24, 1},      {"C", 96, 6, 1},
                           {"D", 33, 6, 1},      {"E", 96, 22, 1},      {"F", 25.5, 22, 1},
                           {"G", 96, 17.75, 1},  {"H", 25.5, 17.75, 1}, {"I", 60, 14.5, 1},
                           {"J", 39.5, 14.5, 1}, {"K", 58.25, 9.25, 1}};

static void plug_takes_five_sheets(void **state) {
  (void)state;
  job j;
  fettle_nest_layout layout;
  make(&j, 96, 24, 0.125, plug, 11, false);
  j.request.effort = 0;
  assert_int_equal(sheets_of(&j, &layout), 5);
  assert_int_equal(layout.bound, 5);
  assert_true(layout.proved);
  assert_near(layout.area_bound, 4.636, 0.0005, "scenario J02");
  assert_near(layout.used, 0.927, 0.0005, "scenario J02");
  fettle_nest_free(&layout, &test_host);
}

/* Layer 3 widened to 18.75: C no longer fits beside G. */
static void widened_plug_takes_six(void **state) {
  (void)state;
  row wide[11];
  memcpy(wide, plug, sizeof wide);
  wide[6].width = wide[7].width = 18.75;
  assert_int_equal(SHEETS(96, 24, 0.125, wide, false), 6);
}

/* Rows G-01, G-03, G-04, G-08, G-09, G-11: what fits one sheet, and what needs a second. */
static void kerf_and_through_cuts_decide(void **state) {
  (void)state;
  const row pinwheel[] = {{"a", 3, 2, 2}, {"b", 2, 3, 2}, {"c", 1, 1, 1}};
  assert_int_equal(SHEETS(5, 5, 0, pinwheel, false), 2);
  assert_int_equal(SHEETS(5, 5, 0, pinwheel, true), 2);
  assert_int_equal(SHEETS(7, 7, 1, pinwheel, false), 1);
  assert_int_equal(SHEETS(6, 6, 1, pinwheel, false), 2);
  const row two[] = {{"a", 5, 5, 2}}, four[] = {{"a", 5, 5, 4}};
  assert_int_equal(SHEETS(10, 10, 1, two, true), 2);
  assert_int_equal(SHEETS(11, 11, 1, four, true), 1);
  const row halves3[] = {{"a", 24, 48, 3}}, halves4[] = {{"a", 24, 48, 4}};
  assert_int_equal(SHEETS(48, 96, 0.125, halves3, true), 1);
  assert_int_equal(SHEETS(48, 96, 0.125, halves4, true), 2);
  assert_int_equal(SHEETS(48, 96, 0, halves4, true), 1);
  const row n19[] = {{"a", 16, 12, 19}}, n20[] = {{"a", 16, 12, 20}};
  assert_int_equal(SHEETS(48, 96, 0.125, n19, true), 1);
  assert_int_equal(SHEETS(48, 96, 0.125, n20, true), 2);
  const row n24[] = {{"a", 15.875, 11.875, 24}};
  assert_int_equal(SHEETS(48, 96, 0.125, n24, true), 1);
}

/* Rows G-05, G-07: two and four stages of cuts. */
static void stages_are_free(void **state) {
  (void)state;
  const row two[] = {{"a", 6, 6, 1}, {"b", 4, 6, 1}, {"c", 5, 4, 1}, {"d", 5, 4, 1}};
  assert_int_equal(SHEETS(10, 10, 0, two, false), 1);
  const row deep[] = {
      {"a", 7, 4, 1}, {"b", 3, 4, 1}, {"c", 4, 6, 1}, {"d", 6, 3, 1}, {"e", 3, 3, 2}};
  assert_int_equal(SHEETS(10, 10, 0, deep, false), 1);
}

static const row f03[] = {
    {"a", 7, 11, 1}, {"b", 12, 12, 1}, {"c", 11, 10, 1}, {"d", 6, 7, 1}, {"e", 6, 12, 1}};
static const row f04[] = {{"a", 11, 8, 1}, {"b", 8, 5, 1},   {"c", 9, 12, 1},
                          {"d", 12, 5, 1}, {"e", 11, 12, 1}, {"f", 9, 4, 1}};
static const row f06[] = {{"a", 11, 6, 1},  {"b", 8, 14, 1},  {"c", 10, 5, 1},
                          {"d", 12, 10, 1}, {"e", 14, 13, 1}, {"f", 10, 8, 1}};

/* Rows F-02, F-03, F-04, F-06: sheets of the guillotine optimum. */
static void small_sets_reach_the_optimum(void **state) {
  (void)state;
  const row f02[] = {{"a", 4, 4, 5}};
  assert_int_equal(SHEETS(10, 10, 0, f02, false), 2);
  assert_int_equal(SHEETS(16, 16, 0, f03, false), 4);
  assert_int_equal(SHEETS(16, 16, 0, f04, false), 4);
  assert_int_equal(SHEETS(20, 20, 0, f06, false), 3);
}

static double largest_offcut(const fettle_nest_layout *layout) {
  double largest = 0, inch = (double)inches(1);
  for (size_t i = 0; i < layout->offcut_count; i++) {
    double area =
        (double)layout->offcuts[i].length / inch * (double)layout->offcuts[i].width / inch;
    largest = area > largest ? area : largest;
  }
  return largest;
}

/* Rows G-13, G-15: the largest offcut that any sequence of through cuts leaves. */
static void offcut_is_the_largest(void **state) {
  (void)state;
  job j;
  fettle_nest_layout layout;
  const row g13[] = {{"a", 40, 30, 1}, {"b", 30, 20, 1}, {"c", 20, 20, 1}};
  make(&j, 96, 48, 0, g13, 3, false);
  assert_int_equal(sheets_of(&j, &layout), 1);
  assert_near(largest_offcut(&layout), 1728, 1e-6, DERIVED);
  fettle_nest_free(&layout, &test_host);
  const row g15[] = {{"a", 40, 48, 1}, {"b", 30, 20, 1}};
  make(&j, 96, 48, 0, g15, 2, false);
  assert_int_equal(sheets_of(&j, &layout), 1);
  assert_near(largest_offcut(&layout), 1568, 1e-6, DERIVED);
  fettle_nest_free(&layout, &test_host);
}

static uint32_t bound_of(double length, double width, const row *rows, size_t count) {
  job j;
  uint32_t sheets = 0;
  int64_t cost = 0;
  make(&j, length, width, 0, rows, count, false);
  assert_int_equal(fettle_nest_bound(&j.request, &test_host, &sheets, &cost, NULL), FETTLE_OK);
  return sheets;
}

/* Rows F-02, F-03, F-04 and F-06: products of dual feasible functions, never above the optimum. */
static void bound_is_stronger_than_area(void **state) {
  (void)state;
  const row f02[] = {{"a", 4, 4, 5}};
  assert_int_equal(bound_of(10, 10, f02, 1), 2);
  assert_int_equal(bound_of(16, 16, f03, 5), 4);
  assert_int_equal(bound_of(16, 16, f04, 6), 3);
  assert_int_equal(bound_of(20, 20, f06, 6), 2);
}

/* Rows K-01, K-02, K-06 and K-10 as sheets of one width: bars. */
static void kerf_is_counted_once_less(void **state) {
  (void)state;
  const row seven[] = {{"a", 12, 1, 7}}, eight[] = {{"a", 12, 1, 8}};
  assert_int_equal(SHEETS(96, 1, 0.125, seven, false), 1);
  assert_int_equal(SHEETS(96, 1, 0.125, eight, false), 2);
  assert_int_equal(SHEETS(96, 1, 0, eight, false), 1);
  const row k06[] = {{"a", 31.90625, 1, 3}};
  assert_int_equal(SHEETS(96, 1, 0.125, k06, false), 1);
  const row k10[] = {{"a", 35.9375, 1, 4}}, k10b[] = {{"a", 35.90625, 1, 4}};
  assert_int_equal(SHEETS(144, 1, 0.125, k10, false), 2);
  assert_int_equal(SHEETS(144, 1, 0.125, k10b, false), 1);
}

/* Rows K-07 and K-09: several stock lengths with costs, and a rack. */
static void costs_decide(void **state) {
  (void)state;
  job j;
  fettle_nest_layout layout;
  const row rows[] = {{"a", 47.9375, 1, 4}, {"b", 35.9375, 1, 3}, {"c", 23.9375, 1, 2}};
  make(&j, 96, 1, 0.125, rows, 3, false);
  fettle_nest_stock shop[] = {{"96", inches(96), inches(1), 0, FETTLE_NEST_UNLIMITED, 10},
                              {"144", inches(144), inches(1), 0, FETTLE_NEST_UNLIMITED, 14},
                              {"240", inches(240), inches(1), 0, FETTLE_NEST_UNLIMITED, 22}};
  j.request.stocks = shop;
  j.request.stock_kinds = 3;
  j.request.costed = true;
  sheets_of(&j, &layout);
  assert_int_equal(layout.cost, 36);
  fettle_nest_free(&layout, &test_host);
  fettle_nest_stock rack[] = {{"rack 50", inches(50), inches(1), 0, 2, 0},
                              {"rack 37", inches(37), inches(1), 0, 1, 0},
                              {"96", inches(96), inches(1), 0, FETTLE_NEST_UNLIMITED, 10}};
  j.request.stocks = rack;
  sheets_of(&j, &layout);
  assert_int_equal(layout.cost, 30);
  fettle_nest_free(&layout, &test_host);
}

static void leftovers_are_listed(void **state) {
  (void)state;
  job j;
  fettle_nest_layout layout;
  const row rows[] = {{"a", 10, 10, 5}};
  make(&j, 20, 10, 0, rows, 1, false);
  j.stock.count = 2;
  assert_int_equal(sheets_of(&j, &layout), 2);
  assert_int_equal(layout.unplaced[0], 1);
  assert_false(layout.proved);
  fettle_nest_free(&layout, &test_host);
}

static void more_effort_is_never_worse(void **state) {
  (void)state;
  job j;
  fettle_nest_layout layout;
  size_t last = SIZE_MAX;
  double offcut = 0;
  make(&j, 96, 24, 0.125, plug, 11, false);
  for (uint64_t effort = 1; effort < 3000000; effort *= 5) {
    j.request.effort = effort;
    size_t sheets = sheets_of(&j, &layout);
    assert_true(sheets <= last);
    assert_true(sheets < last || largest_offcut(&layout) >= offcut);
    last = sheets;
    offcut = largest_offcut(&layout);
    fettle_nest_free(&layout, &test_host);
  }
}

static void same_request_same_layout(void **state) {
  (void)state;
  job j;
  fettle_nest_layout a, b;
  make(&j, 96, 24, 0.125, plug, 11, true);
  sheets_of(&j, &a);
  sheets_of(&j, &b);
  assert_int_equal(a.place_count, b.place_count);
  for (size_t i = 0; i < a.place_count; i++) {
    assert_int_equal(a.places[i].x, b.places[i].x);
    assert_int_equal(a.places[i].y, b.places[i].y);
    assert_int_equal(a.places[i].kind, b.places[i].kind);
  }
  fettle_nest_free(&a, &test_host);
  fettle_nest_free(&b, &test_host);
}

static void ten_thousand_pieces(void **state) {
  (void)state;
  job j;
  fettle_nest_layout layout;
  const row rows[] = {{"a", 7, 5, 4000}, {"b", 4.5, 3.25, 4000}, {"c", 12, 9, 2000}};
  make(&j, 96, 48, 0.125, rows, 3, true);
  sheets_of(&j, &layout);
  assert_int_equal(layout.place_count, 10000);
  fettle_nest_free(&layout, &test_host);
}

static void trim_is_cut_first(void **state) {
  (void)state;
  job j;
  fettle_nest_layout layout;
  const row rows[] = {{"a", 46, 23, 2}};
  make(&j, 96, 24, 0.125, rows, 1, false);
  j.request.trim_ends = j.request.trim_sides = inches(0.5);
  assert_int_equal(sheets_of(&j, &layout), 1);
  assert_int_equal(layout.cuts[0].position, inches(0.375));
  assert_true(layout.cuts[0].along);
  fettle_nest_free(&layout, &test_host);
  j.request.trim_ends = j.request.trim_sides = inches(0.125); /* all kerf */
  assert_int_equal(sheets_of(&j, &layout), 1);
  assert_int_equal(layout.cuts[0].first, 0);
  fettle_nest_free(&layout, &test_host);
}

static void refused(const job *j, fettle_status status, const char *message) {
  fettle_nest_layout layout;
  fettle_diagnostic diagnostic = {0};
  assert_int_equal(fettle_nest_solve(&j->request, &test_host, &layout, &diagnostic), status);
  assert_string_equal(diagnostic.message, message);
  assert_null(layout.memory);
}

static void bad_requests_are_refused(void **state) {
  (void)state;
  job j;
  const row rows[] = {{"A", 10, 8, 1}, {"B", 4, 4, 2}};
  make(&j, 20, 10, 0.125, rows, 2, false);
  j.pieces[0].width = 0;
  refused(&j, FETTLE_ERROR_RANGE, "piece 'A': width = 0 in: must be above 0");
  make(&j, 20, 10, 0.125, rows, 2, false);
  j.pieces[1].count = 0;
  refused(&j, FETTLE_ERROR_RANGE,
          "piece 'B': count = 0: must be at least 1; leave the row out if none is wanted");
  make(&j, 20, 10, 0.125, rows, 2, false);
  j.pieces[1].name = "A";
  refused(&j, FETTLE_ERROR_ARGUMENT,
          "piece 'A': the name stands twice, in rows 1 and 2: give each its own");
  make(&j, 20, 10, 5, rows, 2, false);
  refused(&j, FETTLE_ERROR_RANGE,
          "kerf = 5 in: must not be above the smaller edge of piece 'B', 4 in");
  make(&j, 8, 10, 0.125, rows, 2, false);
  refused(&j, FETTLE_ERROR_RANGE,
          "piece 'A': 10 in x 8 in is larger than any stock: 'sheet' gives 8 in x 10 in after "
          "trimming; it would fit turned: turn = true allows it");
  make(&j, 20, 10, 0.125, rows, 2, false);
  j.stock.count = 0;
  refused(&j, FETTLE_ERROR_RANGE,
          "stock 'sheet': count = 0: must be at least 1; leave the row out if none is there");
  make(&j, 20, 10, 0.125, rows, 2, false);
  j.request.trim_ends = inches(0.0625);
  refused(&j, FETTLE_ERROR_RANGE,
          "trim = 0.0625 in: must be 0 or not below the kerf of 0.125 in, which lies inside it");
  make(&j, 20, 10, 0.125, rows, 2, false);
  j.pieces[0].thickness = inches(2);
  refused(&j, FETTLE_ERROR_RANGE, "piece 'A': thickness = 2 in: no stock is that thick");
}

/* Rows U-03: the base unit. */
static void base_unit_holds_shop_sizes(void **state) {
  (void)state;
  int64_t units = 0;
  assert_true(fettle_nest_units(0.0254 / 64, &units));
  assert_int_equal(units, 15875);
  assert_true(fettle_nest_units(0.0254 * 0.001, &units));
  assert_int_equal(units, 1016);
  assert_true(fettle_nest_units(0.00001, &units));
  assert_int_equal(units, 400);
  assert_false(fettle_nest_units(0.0254 / 3, &units));
  assert_false(fettle_nest_units(0.0254 / 128, &units));
}

static int stop_now(void *context, double fraction, const char *stage) {
  (void)context;
  (void)fraction;
  (void)stage;
  return 1;
}

static void cancel_is_heard(void **state) {
  (void)state;
  job j;
  fettle_nest_layout layout;
  fettle_host host = test_host;
  host.poll = stop_now;
  make(&j, 96, 24, 0.125, plug, 11, false);
  assert_int_equal(fettle_nest_solve(&j.request, &host, &layout, NULL), FETTLE_ERROR_CANCELLED);
  fettle_nest_free(&layout, &host);
}

/* What a broken layout is refused for: each rule is broken once, by hand. */
static void each_broken_rule_is_named(void **state) {
  (void)state;
  job j;
  fettle_nest_layout layout;
  const row rows[] = {{"A", 40, 30, 1}, {"B", 30, 20, 1}, {"C", 20, 10, 1}};
  make(&j, 96, 48, 0.125, rows, 3, false);
  sheets_of(&j, &layout);
  fettle_nest_place *a = &layout.places[0], *b = &layout.places[1];
  struct {
    int64_t *field;
    int64_t change;
    const char *rule;
  } breaks[] = {{&a->x, 1, "cuts"},
                {&a->x, -1, a->x == 0 ? "inside" : "cuts"},
                {&a->length, -1, "size"},
                {&b->x, a->x - b->x, NULL},
                {&layout.cuts[0].position, 1, "cuts"},
                {&layout.offcuts[0].length, 1, "offcuts"}};
  for (size_t i = 0; i < sizeof breaks / sizeof breaks[0]; i++) {
    fettle_diagnostic diagnostic = {0};
    *breaks[i].field += breaks[i].change;
    assert_int_equal(fettle_nest_check(&j.request, &layout, &test_host, &diagnostic),
                     FETTLE_ERROR_INTERNAL);
    if (breaks[i].rule) {
      assert_true(strcmp(diagnostic.parameter, breaks[i].rule) == 0 ||
                  strcmp(diagnostic.parameter, "kerf") == 0);
    }
    *breaks[i].field -= breaks[i].change;
  }
  fettle_diagnostic diagnostic = {0};
  layout.unplaced[0]++;
  fettle_nest_check(&j.request, &layout, &test_host, &diagnostic);
  assert_string_equal(diagnostic.parameter, "pieces");
  layout.unplaced[0]--;
  layout.bound = 2;
  fettle_nest_check(&j.request, &layout, &test_host, &diagnostic);
  assert_string_equal(diagnostic.parameter, "bound");
  layout.bound = 1;
  a->turned = true;
  j.pieces[a->kind].length = a->width;
  j.pieces[a->kind].width = a->length;
  fettle_nest_check(&j.request, &layout, &test_host, &diagnostic);
  assert_string_equal(diagnostic.parameter, "turn");
  a->turned = false;
  j.pieces[a->kind].length = a->length;
  j.pieces[a->kind].width = a->width;
  j.request.costed = true;
  layout.cost = 3;
  fettle_nest_check(&j.request, &layout, &test_host, &diagnostic);
  assert_string_equal(diagnostic.parameter, "cost");
  j.request.costed = false;
  j.stock.count = 0;
  fettle_nest_check(&j.request, &layout, &test_host, &diagnostic);
  assert_string_equal(diagnostic.parameter, "stock");
  j.stock.count = 1;
  j.pieces[0].thickness = 1;
  fettle_nest_check(&j.request, &layout, &test_host, &diagnostic);
  assert_string_equal(diagnostic.parameter, "thickness");
  j.pieces[0].thickness = 0;
  assert_int_equal(fettle_nest_check(&j.request, &layout, &test_host, &diagnostic), FETTLE_OK);
  fettle_nest_free(&layout, &test_host);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(plug_takes_five_sheets),
      cmocka_unit_test(widened_plug_takes_six),
      cmocka_unit_test(kerf_and_through_cuts_decide),
      cmocka_unit_test(stages_are_free),
      cmocka_unit_test(small_sets_reach_the_optimum),
      cmocka_unit_test(offcut_is_the_largest),
      cmocka_unit_test(bound_is_stronger_than_area),
      cmocka_unit_test(kerf_is_counted_once_less),
      cmocka_unit_test(costs_decide),
      cmocka_unit_test(leftovers_are_listed),
      cmocka_unit_test(more_effort_is_never_worse),
      cmocka_unit_test(same_request_same_layout),
      cmocka_unit_test(ten_thousand_pieces),
      cmocka_unit_test(trim_is_cut_first),
      cmocka_unit_test(bad_requests_are_refused),
      cmocka_unit_test(base_unit_holds_shop_sizes),
      cmocka_unit_test(cancel_is_heard),
      cmocka_unit_test(each_broken_rule_is_named),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
