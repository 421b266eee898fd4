/* Ends of the ranges of the scallop calculations, where the formulas cancel or the arcs part. */
#include "support/near.h"

#include <math.h>

#include "fettle/fettle.h"

static const double DEGREE = 3.14159265358979323846 / 180;

static double inclined(double diameter, double corner, double stepover, double slope,
                       double azimuth) {
  const double in[] = {diameter, corner, stepover, slope * DEGREE, azimuth * DEGREE};
  double out = NAN;
  fettle_diagnostic diagnostic = {0};
  assert_int_equal(fettle_call(fettle_find("milling.scallop_height_bull_nose_inclined"), in, &out,
                               NULL, &diagnostic),
                   FETTLE_OK);
  return out;
}

static void inclined_meets_closed_forms(void **state) {
  (void)state;
  const char *circle = "two circles of the cutter's radius";
  assert_near(inclined(0.012, 0.006, 1.2e-11, 40, 0), 3e-21, 3e-25, circle);
  assert_near(inclined(0.012, 0.006, 0.012, 0, 90), 0.006, 1e-9, circle);
  assert_near(inclined(0.012, 0, 0.012, 30, 0), 0.003, 1e-9, "edge of a disc on a slope");
  assert_near(inclined(0.010, 0.001, 0.001, 1e-7, 0), 0, 1e-10, "flat bottom on a level surface");
}

static void steep_wall_is_cut_by_the_side(void **state) {
  (void)state;
  /* In the upright plane: the side of the lower pass meets the arc of the upper one. */
  double radius = 0.006;
  double slope = 80 * DEGREE;
  double plan = 0.0005;
  double reach = radius - plan;
  double height = radius * (1 - sin(slope)) +
                  cos(slope) * (plan * tan(slope) - sqrt(radius * radius - reach * reach));
  assert_near(inclined(2 * radius, radius, plan, 80, 90), height, 1e-12,
              "line and circle in the upright plane");
}

static void equal_lengths_in_other_units_touch(void **state) {
  (void)state;
  const double in[] = {1 * 0.0254, 25.4 * 0.001, 0, 0};
  double out = NAN;
  assert_int_equal(fettle_call(fettle_find("milling.scallop_height"), in, &out, NULL, NULL),
                   FETTLE_OK);
  assert_near(out, 0.0127, 1e-9, "a step of one diameter leaves half of it");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(inclined_meets_closed_forms),
      cmocka_unit_test(steep_wall_is_cut_by_the_side),
      cmocka_unit_test(equal_lengths_in_other_units_touch),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
