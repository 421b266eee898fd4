/* Cure, gel and pot life against temperature: the step rule and the activation energy. */
#include <math.h>

#include "fettle/formula.h"
#include "resin/kinetics.h"

#define TIME(name, symbol, meaning)                                                                \
  { name, symbol, "h", NULL, meaning, 1e-9, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }
#define TEMPERATURE(name, symbol, meaning)                                                         \
  { name, symbol, "degC", "degF", meaning, -100, 600, 0, 0, NAN, FETTLE_ROLE_POINT, 0 }
#define RATIO(name, symbol, meaning)                                                               \
  { name, symbol, "1", NULL, meaning, 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }
#define ENERGY(name, symbol, meaning)                                                              \
  { name, symbol, "kJ/mol", NULL, meaning, 0, 500, 40, 120, NAN, FETTLE_ROLE_ANY, 0 }
#define STEP                                                                                       \
  {                                                                                                \
    "step", "d", "dC", "dF", "warmth that speeds cure by the factor", 0.1, 200, 5, 12, NAN,        \
        FETTLE_ROLE_DIFFERENCE, 0                                                                  \
  }
#define FACTOR                                                                                     \
  {                                                                                                \
    "factor", "f", "1", NULL, "how many times as fast for each step of warmth", 1, 100, 1.2, 3, 2, \
        FETTLE_ROLE_ANY, 0                                                                         \
  }

static const fettle_constant gas_constant[] = {
    {"R_g", FETTLE_GAS_CONSTANT, "J/(mol K)", "molar gas constant", "SI, 2019"}, {.symbol = NULL}};

/* A step rule holds near the data sheet's point only (common practice, no source). */
static const double RULE_REACH = 10; /* K */

static const fettle_parameter rule_in[] = {
    TIME("reference_time", "t_r", "cure, gel, pot life or recoat time of the data sheet"),
    TEMPERATURE("reference_temperature", "T_r", "temperature of the data sheet's time"),
    TEMPERATURE("temperature", "T", "temperature of the shop"),
    STEP,
    FACTOR,
    {.name = NULL}};
static const fettle_parameter rule_out[] = {
    TIME("time", "t", "the time at the shop's temperature"),
    RATIO("time_ratio", "q", "that over the data sheet's time"),
    {.name = NULL}};

static fettle_status time_at_temperature(const double *in, double *out, fettle_warnings *warnings,
                                         fettle_diagnostic *diagnostic) {
  (void)diagnostic;
  out[1] = pow(in[4], (in[1] - in[2]) / in[3]);
  out[0] = in[0] * out[1];
  if (fabs(in[1] - in[2]) > RULE_REACH * (1 + 1e-9)) {
    fettle_warn(warnings, "temperature",
                "more than 10 degC (18 degF) from the data sheet's point: a step rule is a guess "
                "there; use two points of the data sheet and an activation energy");
  }
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_time_at_temperature = {
    .size = sizeof(fettle_formula),
    .name = "resin.time_at_temperature",
    .brief = "cure, gel or pot life at another temperature by a step rule",
    .words = "ten degree rule Q10 doubles per 18 degF 10 degF working time recoat window cold shop",
    .text = "q = f^((T_r - T) / d); t = t_r * q",
    .notes =
        "Published rules disagree, from doubling per 10 degF to doubling per 18 degF: run both "
        "and plan for the later. In the cold cure slows further than a rule says, as the resin "
        "turns to "
        "glass; below the data sheet's least temperature do not count on it. Peroxide systems "
        "follow no "
        "such rule well.",
    .source = "common practice, no source",
    .inputs = rule_in,
    .outputs = rule_out,
    .constants = NULL,
    .inverse = "resin.temperature_for_time",
    .evaluate = time_at_temperature};

static const fettle_parameter wanted_in[] = {
    TIME("reference_time", "t_r", "cure time of the data sheet"),
    TEMPERATURE("reference_temperature", "T_r", "temperature of the data sheet's time"),
    TIME("time", "t", "time that is available"),
    STEP,
    {"factor", "f", "1", NULL, "how many times as fast for each step of warmth", 1.001, 100, 1.2, 3,
     2, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter wanted_out[] = {
    TEMPERATURE("temperature", "T", "constant temperature that cures in that time"),
    {.name = NULL}};

static fettle_status temperature_for_time(const double *in, double *out, fettle_warnings *warnings,
                                          fettle_diagnostic *diagnostic) {
  double rise = in[3] * log(in[0] / in[2]) / log(in[4]);
  out[0] = in[1] + rise;
  if (out[0] <= 0) {
    return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "time",
                       "time is so long that the rule leads below absolute zero; give less time");
  }
  if (fabs(rise) > RULE_REACH * (1 + 1e-9)) {
    fettle_warn(warnings, "time",
                "the temperature is more than 10 degC (18 degF) from the data sheet's point: a "
                "step rule is a guess there");
  }
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_temperature_for_time = {
    .size = sizeof(fettle_formula),
    .name = "resin.temperature_for_time",
    .brief = "constant temperature that cures in a given time by a step rule",
    .words = "warm the shop heater how warm overnight cure ten degree rule",
    .text = "T = T_r + d * ln(t_r / t) / ln(f)",
    .notes = "Check it against what foam, putty and wax stand.",
    .source = "common practice, no source",
    .inputs = wanted_in,
    .outputs = wanted_out,
    .inverse = "resin.time_at_temperature",
    .evaluate = temperature_for_time};

static const fettle_parameter arrhenius_time_in[] = {
    TIME("reference_time", "t_r", "cure, gel or pot life of the data sheet"),
    TEMPERATURE("reference_temperature", "T_r", "temperature of the data sheet's time"),
    TEMPERATURE("temperature", "T", "temperature of the shop"),
    ENERGY("activation_energy", "E", "activation energy of the cure"),
    {.name = NULL}};

static fettle_status time_by_activation_energy(const double *in, double *out,
                                               fettle_warnings *warnings,
                                               fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[1] = exp(in[3] / FETTLE_GAS_CONSTANT * (1 / in[2] - 1 / in[1]));
  out[0] = in[0] * out[1];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_time_by_activation_energy = {
    .size = sizeof(fettle_formula),
    .name = "resin.time_by_activation_energy",
    .brief = "cure, gel or pot life at another temperature by an activation energy",
    .words = "arrhenius rate law gel time temperature working time",
    .text = "q = exp(E / R_g * (1 / T - 1 / T_r)); t = t_r * q",
    .notes = "The same degree of cure by one rate law. Reported for epoxides with amines: 55 to 60 "
             "kJ/mol (Thermochimica Acta 447 (2006) 167, abstract), with aromatic amines 63 to 67. "
             "Cure far below the final glass transition stops short of full.",
    .source = "S. Arrhenius's rate law, from memory",
    .inputs = arrhenius_time_in,
    .outputs = rule_out,
    .constants = gas_constant,
    .evaluate = time_by_activation_energy};

static const fettle_parameter energy_in[] = {
    TIME("first_time", "t_1", "time to the same degree of cure at the first temperature"),
    TEMPERATURE("first_temperature", "T_1", "first temperature"),
    TIME("second_time", "t_2", "time at the second temperature"),
    TEMPERATURE("second_temperature", "T_2", "second temperature"),
    {.name = NULL}};
static const fettle_parameter energy_out[] = {
    ENERGY("activation_energy", "E", "activation energy of the cure"), {.name = NULL}};

/* Two temperatures this close give no energy: their difference is rounding. */
static fettle_status fail_same(const double first, const double second, const char *name,
                               fettle_diagnostic *diagnostic) {
  if (fabs(first - second) > 1e-6) {
    return FETTLE_OK;
  }
  return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, name,
                     "%s: must not be the same as the first: give two different temperatures",
                     name);
}

static fettle_status activation_energy(const double *in, double *out, fettle_warnings *warnings,
                                       fettle_diagnostic *diagnostic) {
  fettle_status status = fail_same(in[1], in[3], "second_temperature", diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  out[0] = FETTLE_GAS_CONSTANT * log(in[0] / in[2]) / (1 / in[1] - 1 / in[3]);
  if (out[0] < 0) {
    fettle_warn(warnings, "second_time",
                "the warmer point takes longer: the two times may be exchanged");
  }
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_activation_energy = {
    .size = sizeof(fettle_formula),
    .name = "resin.activation_energy",
    .brief = "activation energy from two points of a data sheet",
    .words = "arrhenius gel time two temperatures Q10 equivalent energy",
    .text = "E = R_g * ln(t_1 / t_2) / (1 / T_1 - 1 / T_2)",
    .notes = "Also the energy that a step rule stands for: times 2 and 1 a step apart. It changes "
             "with temperature, so a rule is good near its point only.",
    .source = "S. Arrhenius's rate law, from memory",
    .inputs = energy_in,
    .outputs = energy_out,
    .constants = gas_constant,
    .evaluate = activation_energy};

static const fettle_parameter peaks_in[] = {
    {"first_heating_rate", "b_1", "degC/min", "degF/min", "first heating rate", 1e-6, 1e4, 0, 0,
     NAN, FETTLE_ROLE_ANY, 0},
    TEMPERATURE("first_peak", "T_1", "temperature of the peak at the first rate"),
    {"second_heating_rate", "b_2", "degC/min", "degF/min", "second heating rate", 1e-6, 1e4, 0, 0,
     NAN, FETTLE_ROLE_ANY, 0},
    TEMPERATURE("second_peak", "T_2", "temperature of the peak at the second rate"),
    {.name = NULL}};

static fettle_status activation_energy_from_peaks(const double *in, double *out,
                                                  fettle_warnings *warnings,
                                                  fettle_diagnostic *diagnostic) {
  (void)warnings;
  fettle_status status = fail_same(in[1], in[3], "second_peak", diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  double ratio = in[2] / in[0] * (in[1] / in[3]) * (in[1] / in[3]);
  out[0] = FETTLE_GAS_CONSTANT * log(ratio) / (1 / in[1] - 1 / in[3]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_activation_energy_from_peaks = {
    .size = sizeof(fettle_formula),
    .name = "resin.activation_energy_from_peaks",
    .brief = "activation energy from calorimeter peaks at two heating rates",
    .words = "kissinger DSC peak exotherm heating rate",
    .text = "q = b_2 / b_1 * (T_1 / T_2)^2; E = R_g * ln(q) / (1 / T_1 - 1 / T_2)",
    .notes = "First-order law; peaks in absolute temperature.",
    .source = "H. E. Kissinger, Reaction kinetics in differential thermal analysis, Analytical "
              "Chemistry 29 (1957), from memory",
    .inputs = peaks_in,
    .outputs = energy_out,
    .constants = gas_constant,
    .evaluate = activation_energy_from_peaks};

static const fettle_parameter constant_in[] = {
    {"pre_exponential", "A", "1/s", NULL, "rate constant at endless temperature", 0, INFINITY, 0, 0,
     NAN, FETTLE_ROLE_ANY, 0},
    ENERGY("activation_energy", "E", "activation energy"),
    TEMPERATURE("temperature", "T", "temperature of the resin"),
    {.name = NULL}};
static const fettle_parameter constant_out[] = {{"rate_constant", "k", "1/s", NULL,
                                                 "rate constant at that temperature", 0, INFINITY,
                                                 0, 0, NAN, FETTLE_ROLE_ANY, 0},
                                                {.name = NULL}};

static fettle_status rate_constant(const double *in, double *out, fettle_warnings *warnings,
                                   fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = fettle_arrhenius(in[0], in[1], in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_rate_constant = {
    .size = sizeof(fettle_formula),
    .name = "resin.rate_constant",
    .brief = "rate constant of cure at a temperature",
    .words = "arrhenius kinetics pre-exponential factor",
    .text = "k = A * exp(-E / (R_g * T))",
    .notes = "Sheets give the factor per second or per minute: read which.",
    .source = "S. Arrhenius's rate law, from memory",
    .inputs = constant_in,
    .outputs = constant_out,
    .constants = gas_constant,
    .evaluate = rate_constant};

static const fettle_parameter ratio_in[] = {
    ENERGY("activation_energy", "E", "activation energy of the cure"),
    TEMPERATURE("first_temperature", "T_1", "first temperature"),
    TEMPERATURE("second_temperature", "T_2", "second temperature"),
    {.name = NULL}};
static const fettle_parameter ratio_out[] = {
    RATIO("rate_ratio", "q", "rate at the second temperature over the rate at the first"),
    {.name = NULL}};

static fettle_status rate_ratio(const double *in, double *out, fettle_warnings *warnings,
                                fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = exp(in[0] / FETTLE_GAS_CONSTANT * (1 / in[1] - 1 / in[2]));
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_rate_ratio = {
    .size = sizeof(fettle_formula),
    .name = "resin.rate_ratio",
    .brief = "how many times as fast cure goes at another temperature",
    .words = "arrhenius speed up warm cold",
    .text = "q = exp(E / R_g * (1 / T_1 - 1 / T_2))",
    .notes = "For one rate law over both temperatures.",
    .source = "S. Arrhenius's rate law, from memory",
    .inputs = ratio_in,
    .outputs = ratio_out,
    .constants = gas_constant,
    .evaluate = rate_ratio};
