/* sample.h - calculations that only the tests of the catalogue know. */
#ifndef FETTLE_TEST_SAMPLE_H
#define FETTLE_TEST_SAMPLE_H

#include <math.h>

#include "fettle/formula.h"

static const fettle_parameter cusp_inputs[] = {
    {"cutter_diameter", "D", "mm", "in", "diameter of the cutter over its tips", 0.1, 100, 1, 50,
     NAN, FETTLE_ROLE_ANY, 0},
    {"stepover", "s", "mm", "in", "distance between neighbouring passes", 0, 12, 0.1, 6, NAN,
     FETTLE_ROLE_ANY, 0},
    {"passes", "n", "1", NULL, "number of passes", 1, 100, 0, 0, 4, FETTLE_ROLE_ANY, 1},
    {"shop", "T", "degC", "degF", "temperature of the shop", -273.15, INFINITY, 10, 35, 20,
     FETTLE_ROLE_POINT, 0},
    {.name = NULL}};
static const fettle_parameter cusp_outputs[] = {
    {"height", "h", "mm", "thou", "height of the cusp", 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

static fettle_status cusp(const double *inputs, double *outputs, fettle_warnings *warnings,
                          fettle_diagnostic *diagnostic) {
  (void)warnings;
  double R = inputs[0] / 2;
  double q = inputs[1] / 2;
  if (q > R) {
    return fettle_fail_above(diagnostic, &cusp_inputs[1], inputs[1], "cutter_diameter", inputs[0]);
  }
  outputs[0] = q * q / (R + sqrt((R - q) * (R + q)));
  return FETTLE_OK;
}

static const fettle_formula cusp_formula = {.size = sizeof(fettle_formula),
                                            .kind = FETTLE_FORMULA_CLOSED,
                                            .name = "milling.cusp",
                                            .brief = "height of the cusp between two passes",
                                            .text = "R = D / 2; q = s / 2; h = R - sqrt(R^2 - q^2)",
                                            .source = "chord and sagitta",
                                            .inputs = cusp_inputs,
                                            .outputs = cusp_outputs,
                                            .evaluate = cusp};

#endif
