/* milling/speed.c - spindle speed, cutting speed and the diameter that really cuts. All in SI. */
#include "milling/milling.h"

static const fettle_parameter spindle_speed_inputs[] = {
    MILLING_INPUT("cutting_speed", "v_c", "m/min", "ft/min", "speed of the cutting edge", 1e-06,
                  100000.0, 1, 5000, MILLING_NO_PRESET),
    MILLING_CUTTER_DIAMETER, MILLING_END};
static const fettle_parameter spindle_speed_outputs[] = {
    MILLING_OUTPUT("spindle_speed", "n", "rpm", NULL, "turning speed of the spindle"), MILLING_END};

static fettle_status spindle_speed(const double *in, double *out, fettle_warnings *warnings,
                                   fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / (MILLING_PI * in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_spindle_speed = {
    .size = sizeof(fettle_formula),
    .name = "milling.spindle_speed",
    .brief = "spindle speed for a cutting speed",
    .words = "rpm sfm surface speed revolutions",
    .text = "n = v_c / (pi * D)",
    .notes = "Where a ball cuts shallow, its effective diameter counts. Held to the spindle's "
             "range, work the cutting speed out again.",
    .source = "Society of Manufacturing Engineers, useful formulas, chapter 118, speed and feed",
    .inputs = spindle_speed_inputs,
    .outputs = spindle_speed_outputs,
    .hazards = FETTLE_HAZARD_SPINDLE | FETTLE_HAZARD_DUST,
    .inverse = "milling.cutting_speed",
    .evaluate = spindle_speed,
};

static const fettle_parameter cutting_speed_inputs[] = {MILLING_CUTTER_DIAMETER,
                                                        MILLING_SPINDLE_SPEED, MILLING_END};
static const fettle_parameter cutting_speed_outputs[] = {
    MILLING_OUTPUT("cutting_speed", "v_c", "m/min", "ft/min", "speed of the cutting edge"),
    MILLING_END};

static fettle_status cutting_speed(const double *in, double *out, fettle_warnings *warnings,
                                   fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = MILLING_PI * in[0] * in[1];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_cutting_speed = {
    .size = sizeof(fettle_formula),
    .name = "milling.cutting_speed",
    .brief = "speed of the cutting edge",
    .words = "sfm surface speed peripheral velocity",
    .text = "v_c = pi * D * n",
    .notes = "Where a ball cuts shallow, its effective diameter counts.",
    .source = "Society of Manufacturing Engineers, useful formulas, chapter 118, speed and feed",
    .inputs = cutting_speed_inputs,
    .outputs = cutting_speed_outputs,
    .hazards = FETTLE_HAZARD_SPINDLE | FETTLE_HAZARD_DUST,
    .inverse = "milling.spindle_speed",
    .evaluate = cutting_speed,
};

static const fettle_parameter effective_diameter_ball_inputs[] = {
    MILLING_CUTTER_DIAMETER, MILLING_DEPTH_OF_CUT,
    MILLING_INPUT("tilt", "beta", "deg", NULL,
                  "tilt of the cutter's axis from the normal of the surface", 0, 90, 0, 0, 0),
    MILLING_END};
static const fettle_parameter effective_diameter_ball_outputs[] = {
    MILLING_OUTPUT("effective_diameter", "D_e", "mm", "in", "widest diameter in the cut"),
    MILLING_END};

static const fettle_constant effective_diameter_ball_constants[] = {{.symbol = "quarter",
                                                                     .value = 90,
                                                                     .unit = "deg",
                                                                     .meaning = "a quarter turn",
                                                                     .source = "definition"},
                                                                    {.symbol = NULL}};

static fettle_status effective_diameter_ball(const double *in, double *out,
                                             fettle_warnings *warnings,
                                             fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  double angle = in[2] + 2 * asin(sqrt(fmin(in[1] / in[0], 0.5)));
  out[0] = angle < MILLING_PI / 2 ? in[0] * sin(angle) : in[0];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_effective_diameter_ball = {
    .size = sizeof(fettle_formula),
    .name = "milling.effective_diameter_ball",
    .brief = "diameter on which a ball cutter cuts at a depth",
    .words = "effective cutting diameter ball nose tilt",
    .text =
        "g = beta + 2 * asin(sqrt(min(a_p, D / 2) / D)); D_e = choose(g < quarter, D * sin(g), D)",
    .notes = "The full diameter from half of it in depth; some printed tables fall again there, by "
             "using the circle past its equator. The depth is square to the surface.",
    .source = "plane geometry of a circle; a cutter maker's data page prints a table of it",
    .inputs = effective_diameter_ball_inputs,
    .outputs = effective_diameter_ball_outputs,
    .constants = effective_diameter_ball_constants,
    .evaluate = effective_diameter_ball,
};

static const fettle_parameter effective_diameter_bull_nose_inputs[] = {
    MILLING_CUTTER_DIAMETER, MILLING_CORNER_RADIUS(0), MILLING_DEPTH_OF_CUT, MILLING_END};
static const fettle_parameter effective_diameter_bull_nose_outputs[] = {
    MILLING_OUTPUT("effective_diameter", "D_e", "mm", "in", "widest diameter in the cut"),
    MILLING_END};

static fettle_status effective_diameter_bull_nose(const double *in, double *out,
                                                  fettle_warnings *warnings,
                                                  fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (milling_is_above(in[1], in[0] / 2)) {
    return fettle_fail_above(diagnostic, &effective_diameter_bull_nose_inputs[1], in[1],
                             "half of cutter_diameter,", in[0] / 2);
  }
  out[0] = in[0] - 2 * in[1] + milling_chord(in[1], fmin(in[2], in[1]));
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_effective_diameter_bull_nose = {
    .size = sizeof(fettle_formula),
    .name = "milling.effective_diameter_bull_nose",
    .brief = "diameter on which a bull-nose cutter cuts at a depth",
    .words = "effective cutting diameter toroid corner radius",
    .text = "u = min(a_p, r); D_e = D - 2 * r + 2 * sqrt(u * (2 * r - u))",
    .notes = "The full diameter from the corner radius in depth.",
    .source = "plane geometry of a circle",
    .inputs = effective_diameter_bull_nose_inputs,
    .outputs = effective_diameter_bull_nose_outputs,
    .evaluate = effective_diameter_bull_nose,
};

static const fettle_parameter contact_diameter_inputs[] = {
    MILLING_CUTTER_DIAMETER, MILLING_SLOPE_TO(0, 90, MILLING_NO_PRESET), MILLING_END};
static const fettle_parameter contact_diameter_outputs[] = {
    MILLING_OUTPUT("contact_diameter", "D_c", "mm", "in",
                   "diameter of the circle that touches the surface"),
    MILLING_END};

static fettle_status contact_diameter(const double *in, double *out, fettle_warnings *warnings,
                                      fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * sin(in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_contact_diameter = {
    .size = sizeof(fettle_formula),
    .name = "milling.contact_diameter",
    .brief = "diameter of a ball cutter at its contact with a slope",
    .words = "touch point diameter tip rubbing",
    .text = "D_c = D * sin(theta)",
    .notes =
        "For a light cut with an upright spindle. Zero on a level surface: the tip rubs there.",
    .source = "plane geometry of a circle",
    .inputs = contact_diameter_inputs,
    .outputs = contact_diameter_outputs,
    .evaluate = contact_diameter,
};
