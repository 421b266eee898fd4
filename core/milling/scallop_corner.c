/* milling/scallop_corner.c - ridges of bull-nose and flat cutters on planes. All in SI.
 *
 * A bull nose is a disc (radius `disc`) thickened by a ball of the corner radius, with a cylinder
 * above it. Moved along a straight path it leaves its own shadow as a groove: a half ellipse,
 * widened by the corner radius, running into the straight sides of the cylinder. Two equal shadows
 * one step apart meet at the ridge. Exact for any slope and direction; the ball (disc 0) and the
 * flat cutter (corner radius 0) are its ends. */
#include "milling/milling.h"

typedef struct shadow {
  double disc, corner;
  double sine, cosine;      /* of the slope */
  double along, side, lean; /* of the direction across the path: components down the slope in plan,
                             * level, upright */
} shadow;

static shadow shadow_make(double diameter, double corner, double slope, double azimuth) {
  double share = milling_plan_share(slope, azimuth);
  double sine = sin(slope);
  double cosine = cos(slope);
  return (shadow){.disc = fmax(diameter / 2 - corner, 0),
                  .corner = corner,
                  .sine = sine,
                  .cosine = cosine,
                  .along = -cosine * cosine * sin(azimuth) / share,
                  .side = cos(azimuth) / share,
                  .lean = sine * cosine * sin(azimuth) / share};
}

/* The point of the shadow whose outward direction is `angle` from straight into the surface, on the
 * side `sign` (1 or -1): reach across the path and height over the surface. */
static void shadow_point(const shadow *s, double sign, double angle, double *reach,
                         double *height) {
  double sa = sin(angle);
  double a = sign * s->along * sa - s->sine * cos(angle);
  double b = s->side * sa;
  double q = hypot(a, b);
  double bow = sin(angle / 2);
  *reach = s->corner * sa;
  *height = 2 * s->corner * bow * bow;
  if (q > 0) {
    *reach += s->disc * (sign * s->along * a + s->side * b) / q;
    /* 1 + a / q without cancellation */
    *height += s->disc * s->sine * (a < 0 ? b * b / (q * (q - a)) : 1 + a / q);
  }
}

/* Outward direction at which the corner runs into the straight side. */
static double shadow_last_angle(const shadow *s, double sign) {
  return atan2(s->cosine, sign * s->lean);
}

/* How far the shadow reaches across the path at `height`. The height rises with the angle, so that
 * halving finds it; where the disc is seen edge on the reach jumps, and the last step is a straight
 * line between the ends of the jump. */
static double shadow_reach(const shadow *s, double sign, double height) {
  double low = 0;
  double high = shadow_last_angle(s, sign);
  double low_reach;
  double low_height;
  double high_reach;
  double high_height;
  shadow_point(s, sign, low, &low_reach, &low_height);
  shadow_point(s, sign, high, &high_reach, &high_height);
  if (height >= high_height) {
    return high_reach + (height - high_height) * sign * s->lean / s->cosine;
  }
  for (int i = 0; i < 64; i++) {
    double middle = (low + high) / 2;
    double reach;
    double at;
    shadow_point(s, sign, middle, &reach, &at);
    if (at > height) {
      high = middle;
      high_reach = reach;
      high_height = at;
    } else {
      low = middle;
      low_reach = reach;
      low_height = at;
    }
  }
  double share = high_height > low_height ? (height - low_height) / (high_height - low_height) : 0;
  return low_reach + share * (high_reach - low_reach);
}

static double shadow_width(const shadow *s, double height) {
  return shadow_reach(s, 1, height) + shadow_reach(s, -1, height);
}

/* Height at which the last of the two sides turns straight: the groove is as wide as the cutter. */
static double shadow_top(const shadow *s) {
  double reach;
  double left;
  double right;
  shadow_point(s, 1, shadow_last_angle(s, 1), &reach, &right);
  shadow_point(s, -1, shadow_last_angle(s, -1), &reach, &left);
  return fmax(left, right);
}

/* Height at which the groove is `spacing` wide. Halves the ratio of the bounds: the height of a
 * narrow step may be many powers of ten below the cutter's size. */
static double shadow_ridge(const shadow *s, double spacing) {
  double high = shadow_top(s);
  double low = high * 1e-30;
  if (!(high > 0) || shadow_width(s, low) >= spacing) {
    return 0;
  }
  for (int i = 0; i < 64; i++) {
    double middle = sqrt(low) * sqrt(high);
    if (shadow_width(s, middle) < spacing) {
      low = middle;
    } else {
      high = middle;
    }
  }
  return high;
}

static fettle_status check_corner(const fettle_parameter *parameter, double corner, double diameter,
                                  fettle_diagnostic *diagnostic) {
  if (milling_is_above(corner, diameter / 2)) {
    return fettle_fail_above(diagnostic, parameter, corner, "half of cutter_diameter,",
                             diameter / 2);
  }
  return FETTLE_OK;
}

static const fettle_parameter height_outputs[] = {
    MILLING_OUTPUT("scallop_height", "h", "mm", "thou",
                   "height of the ridge left between passes, square to the surface"),
    MILLING_END};
static const fettle_parameter stepover_outputs[] = {
    MILLING_OUTPUT("stepover", "s", "mm", "in", "distance between neighbouring passes, in plan"),
    MILLING_END};

static const fettle_parameter height_inputs[] = {MILLING_CUTTER_DIAMETER, MILLING_CORNER_RADIUS(0),
                                                 MILLING_STEPOVER, MILLING_END};

static fettle_status scallop_height_bull_nose(const double *in, double *out,
                                              fettle_warnings *warnings,
                                              fettle_diagnostic *diagnostic) {
  (void)warnings;
  fettle_status status = check_corner(&height_inputs[1], in[1], in[0], diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  if (milling_is_above(in[2], in[0])) {
    return fettle_fail_above(diagnostic, &height_inputs[2], in[2], "cutter_diameter", in[0]);
  }
  double flat = fmin(in[0] - 2 * in[1], in[2]);
  out[0] = in[1] > 0 ? milling_ridge(in[1], in[2] - flat) : 0;
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_height_bull_nose = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_height_bull_nose",
    .brief = "height of the ridge that a bull-nose cutter leaves on a level surface",
    .words = "cusp ridge toroid corner radius end mill step-over",
    .text = "w = min(D - 2 * r, s); h = r - sqrt(r^2 - ((s - w) / 2)^2)",
    .notes = "Exact. While the stepover stays within the flat of the cutter nothing is left. On a "
             "slope use milling.scallop_height_bull_nose_inclined.",
    .source = "plane geometry: two arcs of the corner radius, parted by the flat",
    .inputs = height_inputs,
    .outputs = height_outputs,
    .inverse = "milling.scallop_stepover_bull_nose",
    .evaluate = scallop_height_bull_nose,
};

static const fettle_parameter stepover_inputs[] = {
    MILLING_CUTTER_DIAMETER, MILLING_CORNER_RADIUS(1e-9), MILLING_SCALLOP_HEIGHT, MILLING_END};

static fettle_status scallop_stepover_bull_nose(const double *in, double *out,
                                                fettle_warnings *warnings,
                                                fettle_diagnostic *diagnostic) {
  (void)warnings;
  fettle_status status = check_corner(&stepover_inputs[1], in[1], in[0], diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  if (milling_is_above(in[2], in[1])) {
    return fettle_fail_above(diagnostic, &stepover_inputs[2], in[2], "corner_radius", in[1]);
  }
  out[0] = in[0] - 2 * in[1] + milling_chord(in[1], in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_stepover_bull_nose = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_stepover_bull_nose",
    .brief = "stepover with which a bull-nose cutter leaves a wanted scallop on a level surface",
    .words = "cusp ridge toroid corner radius end mill step-over",
    .text = "s = D - 2 * r + 2 * sqrt(h * (2 * r - h))",
    .notes = "Exact on a level surface.",
    .source = "plane geometry: two arcs of the corner radius, parted by the flat",
    .inputs = stepover_inputs,
    .outputs = stepover_outputs,
    .inverse = "milling.scallop_height_bull_nose",
    .evaluate = scallop_stepover_bull_nose,
};

static const fettle_parameter inclined_inputs[] = {
    MILLING_CUTTER_DIAMETER, MILLING_CORNER_RADIUS(0),
    MILLING_STEPOVER,        MILLING_SLOPE_TO(0, 89.9, MILLING_NO_PRESET),
    MILLING_PATH_AZIMUTH,    MILLING_END};

static fettle_status scallop_height_bull_nose_inclined(const double *in, double *out,
                                                       fettle_warnings *warnings,
                                                       fettle_diagnostic *diagnostic) {
  (void)warnings;
  fettle_status status = check_corner(&inclined_inputs[1], in[1], in[0], diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  if (milling_is_above(in[2], in[0])) {
    return fettle_fail_above(diagnostic, &inclined_inputs[2], in[2], "cutter_diameter", in[0]);
  }
  shadow s = shadow_make(in[0], in[1], in[3], in[4]);
  out[0] = shadow_ridge(&s, in[2] / milling_plan_share(in[3], in[4]));
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_height_bull_nose_inclined = {
    .size = sizeof(fettle_formula),
    .kind = FETTLE_FORMULA_ITERATED,
    .name = "milling.scallop_height_bull_nose_inclined",
    .brief = "height of the ridge that a bull-nose, flat or ball cutter leaves on a slope",
    .words = "cusp ridge toroid corner radius end mill flat incline step-over",
    .text = "h such that width of the cutter's shadow along the path at h = "
            "s / sqrt(cos(phi)^2 + (sin(phi) * cos(theta))^2)",
    .notes = "Exact, the straight side of the cutter counted. corner_radius 0 is a flat cutter, "
             "half of cutter_diameter a ball. Not alike in all directions: along the contours the "
             "small corner cuts, up the slope the wide face.",
    .source = "solid geometry: outline of a torus and cylinder seen along the path",
    .inputs = inclined_inputs,
    .outputs = height_outputs,
    .inverse = "milling.scallop_stepover_bull_nose_inclined",
    .evaluate = scallop_height_bull_nose_inclined,
};

static const fettle_parameter inclined_stepover_inputs[] = {
    MILLING_CUTTER_DIAMETER, MILLING_CORNER_RADIUS(0),
    MILLING_SCALLOP_HEIGHT,  MILLING_SLOPE_TO(0, 89.9, MILLING_NO_PRESET),
    MILLING_PATH_AZIMUTH,    MILLING_END};

static fettle_status scallop_stepover_bull_nose_inclined(const double *in, double *out,
                                                         fettle_warnings *warnings,
                                                         fettle_diagnostic *diagnostic) {
  (void)warnings;
  fettle_status status = check_corner(&inclined_stepover_inputs[1], in[1], in[0], diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  shadow s = shadow_make(in[0], in[1], in[3], in[4]);
  double top = shadow_top(&s);
  if (milling_is_above(in[2], top)) {
    return fettle_fail_above(diagnostic, &inclined_stepover_inputs[2], in[2],
                             "the scallop of passes one cutter_diameter apart,", top);
  }
  out[0] = fmin(shadow_width(&s, in[2]) * milling_plan_share(in[3], in[4]), in[0]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_stepover_bull_nose_inclined = {
    .size = sizeof(fettle_formula),
    .kind = FETTLE_FORMULA_ITERATED,
    .name = "milling.scallop_stepover_bull_nose_inclined",
    .brief = "stepover with which a bull-nose, flat or ball cutter leaves a wanted scallop on a "
             "slope",
    .words = "cusp ridge toroid corner radius end mill flat incline step-over",
    .text = "s = (width of the cutter's shadow along the path at h) * "
            "sqrt(cos(phi)^2 + (sin(phi) * cos(theta))^2)",
    .notes = "Exact, the straight side of the cutter counted. corner_radius 0 is a flat cutter, "
             "half of cutter_diameter a ball.",
    .source = "solid geometry: outline of a torus and cylinder seen along the path",
    .inputs = inclined_stepover_inputs,
    .outputs = stepover_outputs,
    .inverse = "milling.scallop_height_bull_nose_inclined",
    .evaluate = scallop_stepover_bull_nose_inclined,
};

static const fettle_parameter flat_inputs[] = {MILLING_CUTTER_DIAMETER, MILLING_STEPOVER,
                                               MILLING_SLOPE_TO(0, 90, MILLING_NO_PRESET),
                                               MILLING_END};

static fettle_status scallop_height_flat_inclined(const double *in, double *out,
                                                  fettle_warnings *warnings,
                                                  fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (milling_is_above(in[1], in[0])) {
    return fettle_fail_above(diagnostic, &flat_inputs[1], in[1], "cutter_diameter", in[0]);
  }
  out[0] = sin(in[2]) * milling_ridge(in[0] / 2, in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_height_flat_inclined = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_height_flat_inclined",
    .brief = "height of the ridge that a flat cutter leaves running up and down a slope",
    .words = "cusp ridge end mill square cutter incline step-over",
    .text = "R = D / 2; h = sin(theta) * (R - sqrt(R^2 - (s / 2)^2))",
    .notes = "Exact for passes straight up the slope. For other directions use "
             "milling.scallop_height_bull_nose_inclined with corner_radius 0; along the contours "
             "milling.terrace_height.",
    .source = "solid geometry: a disc's edge seen along the slope",
    .inputs = flat_inputs,
    .outputs = height_outputs,
    .inverse = "milling.scallop_stepover_flat_inclined",
    .evaluate = scallop_height_flat_inclined,
};

static const fettle_parameter flat_stepover_inputs[] = {
    MILLING_CUTTER_DIAMETER, MILLING_SCALLOP_HEIGHT, MILLING_SLOPE_TO(0.01, 90, MILLING_NO_PRESET),
    MILLING_END};

static fettle_status scallop_stepover_flat_inclined(const double *in, double *out,
                                                    fettle_warnings *warnings,
                                                    fettle_diagnostic *diagnostic) {
  (void)warnings;
  double radius = in[0] / 2;
  double most = radius * sin(in[2]);
  if (milling_is_above(in[1], most)) {
    return fettle_fail_above(diagnostic, &flat_stepover_inputs[1], in[1],
                             "the scallop of passes one cutter_diameter apart,", most);
  }
  out[0] = milling_chord(radius, in[1] / sin(in[2]));
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_stepover_flat_inclined = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_stepover_flat_inclined",
    .brief = "stepover with which a flat cutter running up and down a slope leaves a wanted "
             "scallop",
    .words = "cusp ridge end mill square cutter incline step-over",
    .text = "R = D / 2; g = h / sin(theta); s = 2 * sqrt(g * (2 * R - g))",
    .notes = "Exact for passes straight up the slope.",
    .source = "solid geometry: a disc's edge seen along the slope",
    .inputs = flat_stepover_inputs,
    .outputs = stepover_outputs,
    .inverse = "milling.scallop_height_flat_inclined",
    .evaluate = scallop_stepover_flat_inclined,
};
