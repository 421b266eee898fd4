/* Glass transition, vitrification and viscosity during cure. */
#include <math.h>

#include "fettle/formula.h"
#include "resin/kinetics.h"

#define TEMPERATURE(name, symbol, meaning)                                                         \
  { name, symbol, "degC", "degF", meaning, -150, 400, 0, 0, NAN, FETTLE_ROLE_POINT, 0 }
#define DEGREE(name, symbol, meaning)                                                              \
  { name, symbol, "1", NULL, meaning, 0, 1, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }
#define LAMBDA                                                                                     \
  {                                                                                                \
    "shape", "lambda", "1", NULL, "shape of the curve, the ratio of the heat capacity steps",      \
        0.01, 1, 0.3, 0.6, NAN, FETTLE_ROLE_ANY, 0                                                 \
  }

static const char DIBENEDETTO[] = "A. T. DiBenedetto's equation (1987), from memory";

static const fettle_parameter transition_in[] = {
    DEGREE("degree", "alpha", "degree of cure"),
    TEMPERATURE("uncured_transition", "T_0", "glass transition of the uncured mix"),
    TEMPERATURE("cured_transition", "T_1", "glass transition at full cure"),
    LAMBDA,
    {.name = NULL}};
static const fettle_parameter transition_out[] = {
    TEMPERATURE("glass_transition", "T_g", "glass transition at that degree of cure"),
    {.name = NULL}};

static fettle_status glass_transition(const double *in, double *out, fettle_warnings *warnings,
                                      fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (in[2] <= in[1]) {
    return fettle_fail_below(diagnostic, &transition_in[2], in[2], "uncured_transition", in[1]);
  }
  out[0] = in[1] + (in[2] - in[1]) * in[3] * in[0] / (1 - (1 - in[3]) * in[0]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_glass_transition = {
    .size = sizeof(fettle_formula),
    .name = "resin.glass_transition",
    .brief = "glass transition at a degree of cure",
    .words = "Tg dibenedetto heat resistance softening post-cure",
    .text = "T_g = T_0 + (T_1 - T_0) * lambda * alpha / (1 - (1 - lambda) * alpha)",
    .notes = "The shape is usually 0.3 to 0.6 (from memory).",
    .source = DIBENEDETTO,
    .inputs = transition_in,
    .outputs = transition_out,
    .inverse = "resin.vitrification_degree",
    .evaluate = glass_transition};

static const fettle_parameter vitrification_in[] = {
    TEMPERATURE("temperature", "T", "temperature of cure"),
    TEMPERATURE("uncured_transition", "T_0", "glass transition of the uncured mix"),
    TEMPERATURE("cured_transition", "T_1", "glass transition at full cure"),
    LAMBDA,
    {"margin", "d", "dC", "dF", "how far the transition climbs above the temperature of cure", 0,
     60, 10, 25, 15, FETTLE_ROLE_DIFFERENCE, 0},
    {.name = NULL}};
static const fettle_parameter vitrification_out[] = {
    DEGREE("degree", "alpha", "degree of cure near which cure stops at that temperature"),
    {.name = NULL}};

static fettle_status vitrification_degree(const double *in, double *out, fettle_warnings *warnings,
                                          fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (in[2] <= in[1]) {
    return fettle_fail_below(diagnostic, &vitrification_in[2], in[2], "uncured_transition", in[1]);
  }
  double rise = in[0] + in[4] - in[1];
  double range = in[2] - in[1];
  if (rise >= range) {
    out[0] = 1;
  } else if (rise <= 0) {
    out[0] = 0;
  } else {
    out[0] = rise / (rise * (1 - in[3]) + range * in[3]);
  }
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_vitrification_degree = {
    .size = sizeof(fettle_formula),
    .name = "resin.vitrification_degree",
    .brief = "degree of cure near which cure stops at a temperature",
    .words = "Tg dibenedetto vitrification plateau undercure post-cure never fully cures",
    .text = "r = min(max(T - T_0 + d, 0 * d), T_1 - T_0); "
            "alpha = r / (r * (1 - lambda) + (T_1 - T_0) * lambda)",
    .notes =
        "Below the transition of full cure the resin turns to glass and nearly stops; the rest "
        "needs a post-cure. The margin, 10 to 25 degC, is from memory. With margin 0 it is "
        "the degree at which the transition equals the temperature.",
    .source = DIBENEDETTO,
    .inputs = vitrification_in,
    .outputs = vitrification_out,
    .inverse = "resin.glass_transition",
    .evaluate = vitrification_degree};

static const fettle_parameter thickening_in[] = {
    {"degree", "alpha", "1", NULL, "degree of cure", 0, 1, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"gel_degree", "alpha_g", "1", NULL, "degree of cure at gel", 0.01, 1, 0.3, 0.8, NAN,
     FETTLE_ROLE_ANY, 0},
    {"first_exponent", "A", "1", NULL, "constant part of the exponent", -10, 20, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"second_exponent", "B", "1", NULL, "part of the exponent that grows with cure", -20, 20, 0, 0,
     NAN, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter thickening_out[] = {{"viscosity_ratio", "q", "1", NULL,
                                                   "viscosity over that of the fresh mix", 0,
                                                   INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
                                                  {.name = NULL}};

static fettle_status viscosity_growth(const double *in, double *out, fettle_warnings *warnings,
                                      fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (in[0] >= in[1]) {
    return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "degree",
                       "degree is not below gel_degree: the resin has gelled and flows no more");
  }
  out[0] = pow(in[1] / (in[1] - in[0]), in[2] + in[3] * in[0]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_viscosity_growth = {
    .size = sizeof(fettle_formula),
    .name = "resin.viscosity_growth",
    .brief = "how far cure has thickened the resin before gel",
    .words = "castro macosko viscosity gel wetting out",
    .text = "q = (alpha_g / (alpha_g - alpha))^(A + B * alpha)",
    .notes = "At constant temperature; above gel there is no viscosity.",
    .source = "J. M. Castro and C. W. Macosko's equation (1982), from memory",
    .inputs = thickening_in,
    .outputs = thickening_out,
    .evaluate = viscosity_growth};

static const fettle_constant gas_constant[] = {
    {"R_g", FETTLE_GAS_CONSTANT, "J/(mol K)", "molar gas constant", "SI, 2019"}, {.symbol = NULL}};

static const fettle_parameter thinning_in[] = {
    {"reference_viscosity", "eta_r", "mPa s", "cP", "viscosity of the data sheet", 0, INFINITY, 0,
     0, NAN, FETTLE_ROLE_ANY, 0},
    TEMPERATURE("reference_temperature", "T_r", "temperature of the data sheet's viscosity"),
    TEMPERATURE("temperature", "T", "temperature of the shop"),
    {"flow_energy", "E", "kJ/mol", NULL, "activation energy of flow", 0, 300, 20, 90, NAN,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter thinning_out[] = {{"viscosity", "eta", "mPa s", "cP",
                                                 "viscosity at the shop's temperature", 0, INFINITY,
                                                 0, 0, NAN, FETTLE_ROLE_ANY, 0},
                                                {.name = NULL}};

static fettle_status viscosity_at_temperature(const double *in, double *out,
                                              fettle_warnings *warnings,
                                              fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * exp(in[3] / FETTLE_GAS_CONSTANT * (1 / in[2] - 1 / in[1]));
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_viscosity_at_temperature = {
    .size = sizeof(fettle_formula),
    .name = "resin.viscosity_at_temperature",
    .brief = "viscosity of a fresh resin at another temperature",
    .words = "thick cold resin flow warm thin",
    .text = "eta = eta_r * exp(E / R_g * (1 / T - 1 / T_r))",
    .notes = "For the fresh mix, before cure thickens it.",
    .source = "S. Arrhenius's law applied to flow, from memory",
    .inputs = thinning_in,
    .outputs = thinning_out,
    .constants = gas_constant,
    .evaluate = viscosity_at_temperature};
