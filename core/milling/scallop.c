/* milling/scallop.c - ridges that a ball cutter leaves on planes.
 *
 * All in SI. The ridge height is square to the surface; the stepover is in plan. A ball cuts alike
 * in every direction, so a slope only changes the spacing of the passes on the surface. */
#include "milling/milling.h"

#define MILLING_SHARE_LEAST 1e-9 /* below it the cosine of the slope is rounding alone */

static const fettle_parameter height_inputs[] = {MILLING_CUTTER_DIAMETER, MILLING_STEPOVER,
                                                 MILLING_SLOPE, MILLING_PATH_AZIMUTH, MILLING_END};
static const fettle_parameter height_outputs[] = {
    MILLING_OUTPUT("scallop_height", "h", "mm", "thou",
                   "height of the ridge left between passes, square to the surface"),
    MILLING_END};

/* The cylinder above the ball clears part of the ridge where the ridge stands above the ball's
 * centre; the circle formula is then too high, which is the safe side. */
static void warn_side_cuts(double radius, double spacing, double slope, double azimuth,
                           fettle_warnings *warnings) {
  double lean = sin(slope) * fabs(sin(azimuth)) / milling_plan_share(slope, azimuth);
  double half = spacing / 2;
  double rise = sqrt(fmax((radius - half) * (radius + half), 0));
  if (half * lean > rise * (1 + 1e-9)) {
    fettle_warn(warnings, "slope",
                "the straight side of the cutter takes part of the ridge off on a wall this steep: "
                "the true scallop is lower");
  }
}

static fettle_status fail_upright(fettle_diagnostic *diagnostic) {
  return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "slope",
                     "slope = 90 deg: passes along the contours of an upright wall lie over each "
                     "other in plan; give the step down instead (milling.scallop_height_levels)");
}

/* Scallop of a ball. Errors: range when the passes are further apart than the cutter is wide. */
static fettle_status scallop_height(const double *in, double *out, fettle_warnings *warnings,
                                    fettle_diagnostic *diagnostic) {
  double diameter = in[0];
  double share = milling_plan_share(in[2], in[3]);
  if (share < MILLING_SHARE_LEAST) {
    return fail_upright(diagnostic);
  }
  double spacing = in[1] / share;
  if (milling_is_above(spacing, diameter)) {
    return fettle_fail_above(diagnostic, &height_inputs[1], in[1],
                             share == 1 ? "cutter_diameter" : "cutter_diameter seen on this slope,",
                             diameter * share);
  }
  if (milling_is_above(spacing, diameter / 2)) {
    fettle_warn(warnings, "stepover",
                "passes more than half of the cutter_diameter apart: no finishing cut");
  }
  warn_side_cuts(diameter / 2, spacing, in[2], in[3], warnings);
  out[0] = milling_ridge(diameter / 2, spacing);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_height = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_height",
    .brief = "height of the ridge that a ball cutter leaves between passes",
    .words = "cusp ridge scallop step-over ball nose finish",
    .text = "R = D / 2; d = s / sqrt(cos(phi)^2 + (sin(phi) * cos(theta))^2); "
            "h = R - sqrt(R^2 - (d / 2)^2)",
    .notes = "Exact on a plane. The stepover is the one in plan, as a raster is programmed; on a "
             "slope it grows to d on the surface, most when the path runs along the contours. The "
             "height is square to the surface; measured upright it is h / cos(slope). Passes "
             "further apart than the cutter leave an uncut rib, which is an error here.",
    .source = "plane geometry: two circles of the cutter's radius, one step apart",
    .inputs = height_inputs,
    .outputs = height_outputs,
    .inverse = "milling.scallop_stepover",
    .evaluate = scallop_height,
};

static const fettle_parameter stepover_inputs[] = {MILLING_CUTTER_DIAMETER, MILLING_SCALLOP_HEIGHT,
                                                   MILLING_SLOPE, MILLING_PATH_AZIMUTH,
                                                   MILLING_END};
static const fettle_parameter stepover_outputs[] = {
    MILLING_OUTPUT("stepover", "s", "mm", "in", "distance between neighbouring passes, in plan"),
    MILLING_END};

static fettle_status scallop_stepover(const double *in, double *out, fettle_warnings *warnings,
                                      fettle_diagnostic *diagnostic) {
  double radius = in[0] / 2;
  if (milling_is_above(in[1], radius)) {
    return fettle_fail_above(diagnostic, &stepover_inputs[1], in[1], "half of cutter_diameter,",
                             radius);
  }
  double share = milling_plan_share(in[2], in[3]);
  if (share < MILLING_SHARE_LEAST) {
    return fail_upright(diagnostic);
  }
  double spacing = milling_chord(radius, in[1]);
  out[0] = spacing * share;
  warn_side_cuts(radius, spacing, in[2], in[3], warnings);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_stepover = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_stepover",
    .brief = "stepover with which a ball cutter leaves a wanted scallop height",
    .words = "cusp ridge scallop step-over stepover ball nose finish",
    .text = "R = D / 2; s = 2 * sqrt(h * (2 * R - h)) * "
            "sqrt(cos(phi)^2 + (sin(phi) * cos(theta))^2)",
    .notes = "Exact on a plane. For a part of several slopes use the steep end of each band: an "
             "average slope gives too wide a step.",
    .source = "plane geometry: two circles of the cutter's radius, one step apart",
    .inputs = stepover_inputs,
    .outputs = stepover_outputs,
    .inverse = "milling.scallop_height",
    .evaluate = scallop_stepover,
};

static const fettle_parameter diameter_inputs[] = {MILLING_CHORD_STEPOVER, MILLING_SCALLOP_HEIGHT,
                                                   MILLING_END};
static const fettle_parameter diameter_outputs[] = {
    MILLING_OUTPUT("cutter_diameter", "D", "mm", "in", "diameter of the ball cutter"), MILLING_END};

static fettle_status scallop_cutter_diameter(const double *in, double *out,
                                             fettle_warnings *warnings,
                                             fettle_diagnostic *diagnostic) {
  (void)warnings;
  /* Beyond a half circle the same two numbers would mean a smaller ball that leaves a rib. */
  if (milling_is_above(in[1], in[0] / 2)) {
    return fettle_fail_above(diagnostic, &diameter_inputs[1], in[1], "half of stepover,",
                             in[0] / 2);
  }
  out[0] = in[0] * in[0] / (4 * in[1]) + in[1];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_cutter_diameter = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_cutter_diameter",
    .brief = "diameter of the ball cutter that leaves a wanted scallop at a given stepover",
    .words = "cusp ridge ball nose radius smallest ball",
    .text = "R = ((s / 2)^2 + h^2) / (2 * h); D = 2 * R",
    .notes = "On a slope give the distance on the surface (milling.stepover_on_slope).",
    .source = "plane geometry: radius of an arc from chord and height",
    .inputs = diameter_inputs,
    .outputs = diameter_outputs,
    .inverse = "milling.scallop_height",
    .evaluate = scallop_cutter_diameter,
};

static const fettle_parameter spacing_inputs[] = {MILLING_STEPOVER,
                                                  MILLING_SLOPE_TO(0, 90, MILLING_NO_PRESET),
                                                  MILLING_PATH_AZIMUTH, MILLING_END};
static const fettle_parameter spacing_outputs[] = {
    MILLING_OUTPUT("surface_stepover", "d", "mm", "in",
                   "distance between neighbouring passes on the surface, square to the path"),
    MILLING_END};

static fettle_status stepover_on_slope(const double *in, double *out, fettle_warnings *warnings,
                                       fettle_diagnostic *diagnostic) {
  (void)warnings;
  double share = milling_plan_share(in[1], in[2]);
  if (share < MILLING_SHARE_LEAST) {
    return fail_upright(diagnostic);
  }
  out[0] = in[0] / share;
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_stepover_on_slope = {
    .size = sizeof(fettle_formula),
    .name = "milling.stepover_on_slope",
    .brief = "spacing of raster passes on a sloping surface",
    .words = "effective step surface spacing step-over incline",
    .text = "d = s / sqrt(cos(phi)^2 + (sin(phi) * cos(theta))^2)",
    .notes = "The passes of a raster are evenly spaced in plan; on a slope they lie further apart "
             "on the surface unless they run straight up it.",
    .source = "plane geometry: parallel lines projected onto a sloping plane",
    .inputs = spacing_inputs,
    .outputs = spacing_outputs,
    .evaluate = stepover_on_slope,
};

static const fettle_parameter feed_mark_inputs[] = {MILLING_CUTTER_DIAMETER, MILLING_CHIP_LOAD,
                                                    MILLING_END};
static const fettle_parameter feed_mark_outputs[] = {
    MILLING_OUTPUT("feed_mark_height", "h", "um", "thou",
                   "height of the ridges between tooth marks along the path"),
    MILLING_END};

static fettle_status feed_mark_height(const double *in, double *out, fettle_warnings *warnings,
                                      fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (milling_is_above(in[1], in[0])) {
    return fettle_fail_above(diagnostic, &feed_mark_inputs[1], in[1], "cutter_diameter", in[0]);
  }
  out[0] = milling_ridge(in[0] / 2, in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_feed_mark_height = {
    .size = sizeof(fettle_formula),
    .name = "milling.feed_mark_height",
    .brief = "height of the ridges between tooth marks along the path",
    .words = "cusp scallop knife marks tooth marks feed direction",
    .text = "R = D / 2; h = R - sqrt(R^2 - (f_z / 2)^2)",
    .notes = "For a ball, or for the wall cut by a cutter's side. A cutter that runs out can cut "
             "with one tooth alone: give the feed of a whole revolution then.",
    .source = "plane geometry: two circles of the cutter's radius, one tooth mark apart",
    .inputs = feed_mark_inputs,
    .outputs = feed_mark_outputs,
    .evaluate = feed_mark_height,
};

static const fettle_parameter grid_inputs[] = {MILLING_CUTTER_DIAMETER, MILLING_CHORD_STEPOVER,
                                               MILLING_CHIP_LOAD, MILLING_END};

static fettle_status scallop_height_grid(const double *in, double *out, fettle_warnings *warnings,
                                         fettle_diagnostic *diagnostic) {
  (void)warnings;
  double diagonal = hypot(in[1], in[2]);
  if (milling_is_above(in[1], in[0])) {
    return fettle_fail_above(diagnostic, &grid_inputs[1], in[1], "cutter_diameter", in[0]);
  }
  if (milling_is_above(diagonal, in[0])) {
    return fettle_fail_above(diagnostic, &grid_inputs[2], in[2],
                             "the feed at which the dimples part,",
                             sqrt(fmax((in[0] - in[1]) * (in[0] + in[1]), 0)));
  }
  out[0] = milling_ridge(in[0] / 2, diagonal);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_height_grid = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_height_grid",
    .brief = "highest peak between the dimples of a ball cutter, stepover and feed together",
    .words = "cusp dimple peak fast feed equal feed and stepover",
    .text = "R = D / 2; h = R - sqrt(R^2 - (s^2 + f_z^2) / 4)",
    .notes = "For tooth marks that line up from pass to pass, the worst case. Equal feed and "
             "stepover give the same roughness both ways.",
    .source = "solid geometry: four spheres at the corners of a rectangle",
    .inputs = grid_inputs,
    .outputs = height_outputs,
    .evaluate = scallop_height_grid,
};

static const fettle_parameter roughness_inputs[] = {MILLING_SCALLOP_HEIGHT, MILLING_END};
static const fettle_parameter roughness_outputs[] = {
    MILLING_OUTPUT("mean_roughness", "R_a", "um", "thou", "arithmetic mean roughness (Ra)"),
    MILLING_OUTPUT("root_mean_square_roughness", "R_q", "um", "thou",
                   "root mean square roughness (Rq)"),
    MILLING_END};

static fettle_status scallop_roughness(const double *in, double *out, fettle_warnings *warnings,
                                       fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = 4 * in[0] / (9 * sqrt(3.0));
  out[1] = 2 * in[0] / (3 * sqrt(5.0));
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_roughness = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_roughness",
    .brief = "mean roughness of a row of scallops",
    .words = "ra rq surface finish roughness cusp",
    .text = "R_a = 4 * h / (9 * sqrt(3)); R_q = 2 * h / (3 * sqrt(5))",
    .notes = "Of parabolic scallops, square to the passes. Geometry only: foam cells, fibre "
             "pull-out and run-out rule in practice.",
    .source = "integral of a parabola about its mean line",
    .inputs = roughness_inputs,
    .outputs = roughness_outputs,
    .evaluate = scallop_roughness,
};
