/* Layers: how many slabs, which, and where their joints lie. */
#include "support/near.h"

#include <string.h>

#include "support/nest.h"

static void make(fettle_stack_request *request, fettle_stack_outline *outline,
                 fettle_nest_stock *stocks, size_t count, double height, double length) {
  *outline = (fettle_stack_outline){inches(height), 0, 0, inches(length), inches(24)};
  *request = (fettle_stack_request){.height = inches(height),
                                    .outlines = outline,
                                    .outline_count = 1,
                                    .stocks = stocks,
                                    .stock_kinds = count,
                                    .kerf = inches(0.125),
                                    .unit = fettle_unit_find("in", 2)};
}

static fettle_nest_stock slab(const char *name, double thickness, int64_t cost) {
  return (fettle_nest_stock){name, inches(96), inches(24), inches(thickness), FETTLE_NEST_UNLIMITED,
                             cost};
}

static fettle_stack_plan solve(const fettle_stack_request *request) {
  fettle_stack_plan plan;
  fettle_diagnostic diagnostic = {0};
  if (fettle_stack_solve(request, &test_host, &plan, &diagnostic) != FETTLE_OK) {
    fail_msg("%s", diagnostic.message);
  }
  return plan;
}

/* Rows P-01, P-02: 24 in and 1/2 in on top. */
static void slabs_reach_the_height(void **state) {
  (void)state;
  fettle_stack_request request;
  fettle_stack_outline outline;
  fettle_nest_stock two = slab("2", 2, 0), four = slab("4", 4, 0);
  make(&request, &outline, &two, 1, 24.5, 96);
  fettle_stack_plan plan = solve(&request);
  assert_int_equal(plan.layer_count, 13);
  assert_int_equal(plan.total, inches(26));
  fettle_stack_free(&plan, &test_host);
  make(&request, &outline, &four, 1, 24.5, 96);
  plan = solve(&request);
  assert_int_equal(plan.layer_count, 7);
  fettle_stack_free(&plan, &test_host);
  make(&request, &outline, &two, 1, 24.5, 96);
  request.glue_line = inches(0.03125);
  plan = solve(&request);
  assert_int_equal(plan.layer_count, 13);
  assert_int_equal(plan.total, inches(26.375));
  fettle_stack_free(&plan, &test_host);
}

/* 10 in high from 2-in and 3-in slabs: 3+3+2+2 or 2+2+2+2+2 without waste, the first in fewer
 * layers; with the 3-in slab dear, five of 2 in. By trial of all mixtures. */
static void thicknesses_are_mixed(void **state) {
  (void)state;
  fettle_stack_request request;
  fettle_stack_outline outline;
  fettle_nest_stock stocks[] = {slab("2", 2, 10), slab("3", 3, 15)};
  make(&request, &outline, stocks, 2, 10, 96);
  fettle_stack_plan plan = solve(&request);
  assert_int_equal(plan.layer_count, 4);
  assert_int_equal(plan.total, inches(10));
  fettle_stack_free(&plan, &test_host);
  stocks[1].cost = 16;
  request.costed = true;
  plan = solve(&request);
  assert_int_equal(plan.layer_count, 5);
  fettle_stack_free(&plan, &test_host);
  make(&request, &outline, stocks, 2, 7, 96);
  plan = solve(&request);
  assert_int_equal(plan.layer_count, 3);
  assert_int_equal(plan.total, inches(7));
  fettle_stack_free(&plan, &test_host);
}

/* A layer that straddles two outlines takes the rectangle around both (row P-06's trap). */
static void layer_covers_all_it_touches(void **state) {
  (void)state;
  fettle_stack_request request;
  fettle_stack_outline outline;
  fettle_nest_stock two = slab("2", 2, 0);
  make(&request, &outline, &two, 1, 4, 90);
  const fettle_stack_outline steps[] = {{inches(1), inches(4), 0, inches(60), inches(20)},
                                        {inches(2.5), 0, inches(2), inches(50), inches(20)},
                                        {inches(4), inches(1), 0, inches(30), inches(10)}};
  request.outlines = steps;
  request.outline_count = 3;
  fettle_stack_plan plan = solve(&request);
  assert_int_equal(plan.layer_count, 2);
  assert_int_equal(plan.layers[0].x, 0);
  assert_int_equal(plan.layers[0].length, inches(64));
  assert_int_equal(plan.layers[0].width, inches(22));
  assert_int_equal(plan.layers[1].length, inches(50));
  assert_int_equal(plan.layers[1].width, inches(22));
  fettle_stack_free(&plan, &test_host);
}

static void joints_are_staggered(void **state) {
  (void)state;
  fettle_stack_request request;
  fettle_stack_outline outline;
  fettle_nest_stock two = slab("2", 2, 0);
  make(&request, &outline, &two, 1, 24, 192);
  request.stagger = inches(12);
  fettle_stack_plan plan = solve(&request);
  assert_int_equal(plan.layer_count, 12);
  /* Layers of two and three pieces in turn, 96|96 and 84|96|12: 30 (row P-08, each alone). */
  assert_int_equal(plan.piece_count, 30);
  for (size_t i = 1; i < plan.layer_count; i++) {
    for (size_t a = 1; a < plan.layers[i].piece_count; a++) {
      for (size_t b = 1; b < plan.layers[i - 1].piece_count; b++) {
        int64_t gap = plan.pieces[plan.layers[i].piece_first + a].x -
                      plan.pieces[plan.layers[i - 1].piece_first + b].x;
        assert_true(gap >= inches(12) || -gap >= inches(12));
      }
    }
  }
  /* Eleven glue faces of 192 x 24 in. */
  double inch = (double)inches(1);
  assert_near(plan.joint_area / inch / inch, 11 * 192.0 * 24, 1e-3, "derived: product by hand");
  fettle_stack_free(&plan, &test_host);
  fettle_diagnostic diagnostic = {0};
  request.stagger = inches(100);
  assert_int_equal(fettle_stack_solve(&request, &test_host, &plan, &diagnostic),
                   FETTLE_ERROR_RANGE);
  assert_string_equal(diagnostic.parameter, "stagger");
}

static void bad_stacks_are_refused(void **state) {
  (void)state;
  fettle_stack_request request;
  fettle_stack_outline outline;
  fettle_stack_plan plan;
  fettle_diagnostic diagnostic = {0};
  fettle_nest_stock flat = slab("2", 0, 0);
  make(&request, &outline, &flat, 1, 24, 192);
  assert_int_equal(fettle_stack_solve(&request, &test_host, &plan, &diagnostic),
                   FETTLE_ERROR_RANGE);
  assert_string_equal(diagnostic.message, "stock '2': thickness = 0 in: must be above 0");
  fettle_nest_stock two = slab("2", 2, 0);
  make(&request, &outline, &two, 1, 24, 192);
  outline.top = inches(20);
  assert_int_equal(fettle_stack_solve(&request, &test_host, &plan, &diagnostic),
                   FETTLE_ERROR_RANGE);
  assert_string_equal(diagnostic.message,
                      "outlines: the last reaches 20 in: must reach the height of 24 in");
  make(&request, &outline, &two, 1, 24, 192);
  request.height = 0;
  assert_int_equal(fettle_stack_solve(&request, &test_host, &plan, &diagnostic),
                   FETTLE_ERROR_RANGE);
  assert_string_equal(diagnostic.message, "height = 0 in: must be above 0 in");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(slabs_reach_the_height), cmocka_unit_test(thicknesses_are_mixed),
      cmocka_unit_test(layer_covers_all_it_touches), cmocka_unit_test(joints_are_staggered),
      cmocka_unit_test(bad_stacks_are_refused)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
