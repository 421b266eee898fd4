/* milling/scallop_curved.c - ridges that a ball cutter leaves on crests and in hollows. All in SI.
 */
#include "milling/milling.h"

/* Ridge on a cylinder of radius `surface`, `side` 1 for a crest and -1 for a hollow; `step` is the
 * chord between contact points. Free of the cancellation of the cosine-law form. */
static double curved_ridge(double radius, double surface, int side, double step) {
  double half = sin(asin(fmin(step / (2 * surface), 1)) / 2);
  double k = 4 * (surface + side * radius) * half * half;
  double b = 2 * radius - side * k;
  return 2 * k * surface / (b + sqrt(fmax(b * b - 4 * k * surface, 0)));
}

/* The inverse: chord between contact points for a ridge of `height`. */
static double curved_step(double radius, double surface, int side, double height) {
  double q =
      height * (2 * radius - height) / (4 * (surface + side * radius) * (surface + side * height));
  return 4 * surface * sqrt(fmax(q * (1 - q), 0));
}

/* The highest ridge that two passes leave between them. A crest's, and a wide hollow's, is reached
 * where the two cuts only just meet: beyond it curved_step falls again, and would give the step of
 * a lower ridge. In a hollow no wider than two cutters the passes are then the hollow's width
 * apart. */
static double curved_ridge_most(double radius, double surface, int side) {
  double reach = 2 * radius / surface;
  if (side > 0) {
    return 2 * radius / (1 + sqrt(1 + reach));
  }
  return reach < 1 ? 2 * radius / (1 + sqrt(1 - reach)) : surface * (1 - sqrt(reach - 1));
}

static void warn_hollow(double radius, double surface, double height, fettle_warnings *warnings) {
  if (surface < 1.2 * radius) { /* common practice, no source */
    fettle_warn(warnings, "surface_radius",
                "the hollow is hardly wider than the cutter, which cuts over much of its width "
                "there: take a smaller one");
  }
  if (milling_is_above(height, radius)) {
    fettle_warn(warnings, "scallop_height",
                "the ridge stands above the ball's centre, where the straight side of the cutter "
                "takes part of it off: the true scallop is lower");
  }
}

static const fettle_parameter scallop_height_convex_inputs[] = {
    MILLING_CUTTER_DIAMETER, MILLING_CHORD_STEPOVER,
    MILLING_INPUT("surface_radius", "rho", "mm", "in",
                  "radius of curvature of the surface, across the passes", 0.001, 1000000000.0, 5,
                  100000.0, MILLING_NO_PRESET),
    MILLING_END};
static const fettle_parameter scallop_height_convex_outputs[] = {
    MILLING_OUTPUT("scallop_height", "h", "mm", "thou",
                   "height of the ridge left between passes, square to the surface"),
    MILLING_END};

static fettle_status scallop_height_convex(const double *in, double *out, fettle_warnings *warnings,
                                           fettle_diagnostic *diagnostic) {
  (void)warnings;
  double radius = in[0] / 2;
  double most = 2 * radius * in[2] / (in[2] + radius);
  if (milling_is_above(in[1], most)) {
    return fettle_fail_above(diagnostic, &scallop_height_convex_inputs[1], in[1],
                             "the step at which the passes part,", most);
  }
  out[0] = curved_ridge(radius, in[2], 1, fmin(in[1], most));
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_height_convex = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_height_convex",
    .brief = "scallop of a ball cutter on a convex surface",
    .words = "crest curved fillet cylinder sphere cusp ridge",
    .text = "R = D / 2; beta = asin(s / (2 * rho)); h = (rho + R) * cos(beta) - sqrt(R^2 - ((rho + "
            "R) * sin(beta))^2) - rho",
    .notes = "Exact for a cylinder along the passes. Lies above the flat surface's scallop at the "
             "same step.",
    .source = "cosine law in the triangle of the centres of surface and cutter and the ridge",
    .inputs = scallop_height_convex_inputs,
    .outputs = scallop_height_convex_outputs,
    .inverse = "milling.scallop_stepover_convex",
    .evaluate = scallop_height_convex,
};

static const fettle_parameter scallop_stepover_convex_inputs[] = {
    MILLING_CUTTER_DIAMETER, MILLING_SCALLOP_HEIGHT,
    MILLING_INPUT("surface_radius", "rho", "mm", "in",
                  "radius of curvature of the surface, across the passes", 0.001, 1000000000.0, 5,
                  100000.0, MILLING_NO_PRESET),
    MILLING_END};
static const fettle_parameter scallop_stepover_convex_outputs[] = {
    MILLING_OUTPUT("stepover", "s", "mm", "in",
                   "straight distance between neighbouring contact points on the surface"),
    MILLING_END};

static fettle_status scallop_stepover_convex(const double *in, double *out,
                                             fettle_warnings *warnings,
                                             fettle_diagnostic *diagnostic) {
  (void)warnings;
  double radius = in[0] / 2;
  double most = curved_ridge_most(radius, in[2], 1);
  if (milling_is_above(in[1], most)) {
    return fettle_fail_above(diagnostic, &scallop_stepover_convex_inputs[1], in[1],
                             "the ridge at which the passes part,", most);
  }
  out[0] = curved_step(radius, in[2], 1, in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_stepover_convex = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_stepover_convex",
    .brief = "stepover with which a ball cutter leaves a wanted scallop on a convex surface",
    .words = "crest curved fillet cylinder sphere cusp ridge",
    .text = "R = D / 2; q = h * (2 * R - h) / (4 * (rho + R) * (rho + h)); s = 4 * rho * sqrt(q * "
            "(1 - q))",
    .notes = "Exact for a cylinder along the passes. The step is the chord between contact points; "
             "q is the square of the sine of a quarter of the angle between them as seen from the "
             "surface's centre.",
    .source = "cosine law in the triangle of the centres of surface and cutter and the ridge",
    .inputs = scallop_stepover_convex_inputs,
    .outputs = scallop_stepover_convex_outputs,
    .inverse = "milling.scallop_height_convex",
    .evaluate = scallop_stepover_convex,
};

static const fettle_parameter scallop_height_concave_inputs[] = {
    MILLING_CUTTER_DIAMETER, MILLING_CHORD_STEPOVER,
    MILLING_INPUT("surface_radius", "rho", "mm", "in",
                  "radius of curvature of the surface, across the passes", 0.001, 1000000000.0, 5,
                  100000.0, MILLING_NO_PRESET),
    MILLING_END};
static const fettle_parameter scallop_height_concave_outputs[] = {
    MILLING_OUTPUT("scallop_height", "h", "mm", "thou",
                   "height of the ridge left between passes, square to the surface"),
    MILLING_END};

static fettle_status scallop_height_concave(const double *in, double *out,
                                            fettle_warnings *warnings,
                                            fettle_diagnostic *diagnostic) {
  double radius = in[0] / 2;
  if (!milling_is_above(in[2], in[0] / 2)) {
    return fettle_fail_below(
        diagnostic, &scallop_height_concave_inputs[2], in[2],
        "half of cutter_diameter (the cutter gouges a hollow tighter than itself),", in[0] / 2);
  }
  double most = fmin(2 * radius * in[2] / (in[2] - radius), 2 * in[2]);
  if (milling_is_above(in[1], most)) {
    return fettle_fail_above(diagnostic, &scallop_height_concave_inputs[1], in[1],
                             "the step at which the passes part,", most);
  }
  out[0] = curved_ridge(radius, in[2], -1, fmin(in[1], most));
  warn_hollow(radius, in[2], out[0], warnings);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_height_concave = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_height_concave",
    .brief = "scallop of a ball cutter on a concave surface",
    .words = "hollow curved fillet cylinder sphere cusp ridge",
    .text = "R = D / 2; beta = asin(s / (2 * rho)); h = rho - (rho - R) * cos(beta) - sqrt(R^2 - "
            "((rho - R) * sin(beta))^2)",
    .notes = "Exact for a cylinder along the passes. Lies below the flat surface's scallop at the "
             "same step.",
    .source = "cosine law in the triangle of the centres of surface and cutter and the ridge",
    .inputs = scallop_height_concave_inputs,
    .outputs = scallop_height_concave_outputs,
    .inverse = "milling.scallop_stepover_concave",
    .evaluate = scallop_height_concave,
};

static const fettle_parameter scallop_stepover_concave_inputs[] = {
    MILLING_CUTTER_DIAMETER, MILLING_SCALLOP_HEIGHT,
    MILLING_INPUT("surface_radius", "rho", "mm", "in",
                  "radius of curvature of the surface, across the passes", 0.001, 1000000000.0, 5,
                  100000.0, MILLING_NO_PRESET),
    MILLING_END};
static const fettle_parameter scallop_stepover_concave_outputs[] = {
    MILLING_OUTPUT("stepover", "s", "mm", "in",
                   "straight distance between neighbouring contact points on the surface"),
    MILLING_END};

static fettle_status scallop_stepover_concave(const double *in, double *out,
                                              fettle_warnings *warnings,
                                              fettle_diagnostic *diagnostic) {
  double radius = in[0] / 2;
  if (!milling_is_above(in[2], in[0] / 2)) {
    return fettle_fail_below(
        diagnostic, &scallop_stepover_concave_inputs[2], in[2],
        "half of cutter_diameter (the cutter gouges a hollow tighter than itself),", in[0] / 2);
  }
  double most = curved_ridge_most(radius, in[2], -1);
  if (milling_is_above(in[1], most)) {
    return fettle_fail_above(diagnostic, &scallop_stepover_concave_inputs[1], in[1],
                             "the ridge at which the passes part,", most);
  }
  out[0] = curved_step(radius, in[2], -1, in[1]);
  warn_hollow(radius, in[2], in[1], warnings);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_scallop_stepover_concave = {
    .size = sizeof(fettle_formula),
    .name = "milling.scallop_stepover_concave",
    .brief = "stepover with which a ball cutter leaves a wanted scallop on a concave surface",
    .words = "hollow curved fillet cylinder sphere cusp ridge",
    .text = "R = D / 2; q = h * (2 * R - h) / (4 * (rho - R) * (rho - h)); s = 4 * rho * sqrt(q * "
            "(1 - q))",
    .notes = "Exact for a cylinder along the passes. The step is the chord between contact points; "
             "q is the square of the sine of a quarter of the angle between them as seen from the "
             "surface's centre.",
    .source = "cosine law in the triangle of the centres of surface and cutter and the ridge",
    .inputs = scallop_stepover_concave_inputs,
    .outputs = scallop_stepover_concave_outputs,
    .inverse = "milling.scallop_height_concave",
    .evaluate = scallop_stepover_concave,
};
