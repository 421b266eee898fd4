/* milling/levels.c - ridges and terraces of passes at constant height, and of a flat cutter that
 * follows the contours. All in SI. */
#include "milling/milling.h"

#define MILLING_STEP_DOWN                                                                          \
  MILLING_INPUT("step_down", "z", "mm", "in", "height from one level of passes to the next",       \
                1e-12, 1e6, 0.001, 100, MILLING_NO_PRESET)

static const fettle_parameter height_output[] = {
    MILLING_OUTPUT("scallop_height", "h", "mm", "thou",
                   "height of the ridge left between passes, square to the surface"),
    MILLING_END};
static const fettle_parameter step_down_output[] = {
    MILLING_OUTPUT("step_down", "z", "mm", "in", "height from one level of passes to the next"),
    MILLING_END};

static void warn_wall(double diameter, double spacing, double slope, fettle_warnings *warnings) {
  if (milling_is_above(spacing / diameter, cos(slope))) {
    fettle_warn(warnings, "slope",
                "the straight side of the cutter takes part of the ridge off on a wall this steep: "
                "the true scallop is lower");
  }
}

static const fettle_parameter levels_inputs[] = {MILLING_CUTTER_DIAMETER, MILLING_STEP_DOWN,
                                                 MILLING_SLOPE_TO(0.01, 90, MILLING_NO_PRESET),
                                                 MILLING_END};

/* Ball at levels `step_down` apart: the spacing on the surface is step_down / sin(slope). */
static fettle_status scallop_height_levels(const double *in, double *out, fettle_warnings *warnings,
                                           fettle_diagnostic *diagnostic) {
  double spacing = in[1] / sin(in[2]);
  if (milling_is_above(spacing, in[0])) {
    return fettle_fail_above(diagnostic, &levels_inputs[1], in[1],
                             "cutter_diameter seen on this slope,", in[0] * sin(in[2]));
  }
  warn_wall(in[0], spacing, in[2], warnings);
  out[0] = milling_ridge(in[0] / 2, spacing);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_height_levels = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_height_levels",
    .brief = "scallop of a ball cutter at level passes on a slope",
    .words = "waterline z-level constant z contour cusp ridge steep",
    .text = "R = D / 2; d = z / sin(theta); h = R - sqrt(R^2 - (d / 2)^2)",
    .notes = "An upper bound where slope + asin(d / D) is over 90 degrees: the straight side of "
             "the cutter takes part of the ridge off, all of it on an upright wall. Below about 30 "
             "degrees a raster cuts better.",
    .source = "plane geometry: two circles of the cutter's radius, one step apart on the slope",
    .inputs = levels_inputs,
    .outputs = height_output,
    .inverse = "milling.scallop_step_down",
    .evaluate = scallop_height_levels,
};

static const fettle_parameter step_down_inputs[] = {MILLING_CUTTER_DIAMETER, MILLING_SCALLOP_HEIGHT,
                                                    MILLING_SLOPE_TO(0.01, 90, MILLING_NO_PRESET),
                                                    MILLING_END};

static fettle_status scallop_step_down(const double *in, double *out, fettle_warnings *warnings,
                                       fettle_diagnostic *diagnostic) {
  double radius = in[0] / 2;
  if (milling_is_above(in[1], radius)) {
    return fettle_fail_above(diagnostic, &step_down_inputs[1], in[1], "half of cutter_diameter,",
                             radius);
  }
  double spacing = milling_chord(radius, in[1]);
  warn_wall(in[0], spacing, in[2], warnings);
  out[0] = spacing * sin(in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_step_down = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_step_down",
    .brief = "step down of level passes with which a ball cutter leaves a wanted scallop height",
    .words = "waterline z-level constant z contour cusp ridge steep stepdown",
    .text = "R = D / 2; z = 2 * sqrt(h * (2 * R - h)) * sin(theta)",
    .notes = "On the safe side on steep walls, where the straight side of the cutter helps.",
    .source = "plane geometry: two circles of the cutter's radius, one step apart on the slope",
    .inputs = step_down_inputs,
    .outputs = step_down_output,
    .inverse = "milling.scallop_height_levels",
    .evaluate = scallop_step_down,
};

static const fettle_parameter terrace_inputs[] = {
    MILLING_STEP_DOWN, MILLING_SLOPE_TO(0, 90, MILLING_NO_PRESET), MILLING_END};
static const fettle_parameter terrace_outputs[] = {
    MILLING_OUTPUT("terrace_height", "h", "mm", "thou",
                   "height of the stair's corner, square to the surface"),
    MILLING_END};

static fettle_status terrace_height(const double *in, double *out, fettle_warnings *warnings,
                                    fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * cos(in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_terrace_height = {
    .size = sizeof(fettle_formula),
    .name = "milling.terrace_height",
    .brief = "height of the stairs that a flat cutter leaves at level passes",
    .words = "stair step terrace waterline z-level roughing end mill cusp",
    .text = "h = z * cos(theta)",
    .notes = "The tread is step_down / tan(slope) wide; wider than the cutter it needs passes of "
             "its own.",
    .source = "plane geometry: a stair on a sloping plane",
    .inputs = terrace_inputs,
    .outputs = terrace_outputs,
    .inverse = "milling.terrace_step_down",
    .evaluate = terrace_height,
};

static const fettle_parameter terrace_step_inputs[] = {
    MILLING_INPUT("terrace_height", "h", "mm", "thou",
                  "height of the stair's corner, square to the surface", 1e-15, 1000, 1e-4, 50,
                  MILLING_NO_PRESET),
    MILLING_SLOPE_TO(0, 89.9, MILLING_NO_PRESET), MILLING_END};

static fettle_status terrace_step_down(const double *in, double *out, fettle_warnings *warnings,
                                       fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / cos(in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_terrace_step_down = {
    .size = sizeof(fettle_formula),
    .name = "milling.terrace_step_down",
    .brief = "step down at which a flat cutter leaves stairs of a wanted height",
    .words = "stair step terrace waterline z-level roughing end mill stepdown",
    .text = "z = h / cos(theta)",
    .notes = "Grows without end towards an upright wall: the cutter's flute length is the limit "
             "there.",
    .source = "plane geometry: a stair on a sloping plane",
    .inputs = terrace_step_inputs,
    .outputs = step_down_output,
    .inverse = "milling.terrace_height",
    .evaluate = terrace_step_down,
};
