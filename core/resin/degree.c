/* Degree of cure at a constant rate constant: closed forms. */
#include <math.h>

#include "fettle/formula.h"

#define DEGREE(name, symbol, meaning)                                                              \
  { name, symbol, "1", NULL, meaning, 0, 1, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }
#define RATE(name, symbol, meaning)                                                                \
  { name, symbol, "1/s", NULL, meaning, 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }
#define ORDER(name, symbol, meaning, preset)                                                       \
  { name, symbol, "1", NULL, meaning, 0, 10, 0, 0, preset, FETTLE_ROLE_ANY, 0 }
#define TIME(name, symbol, meaning)                                                                \
  { name, symbol, "min", NULL, meaning, 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }

static const char RATE_LAWS[] = "integral of the rate law, by hand";

static const fettle_parameter degree_in[] = {
    RATE("rate_constant", "k", "rate constant at the temperature of cure"),
    TIME("time", "t", "time at that temperature"),
    ORDER("order", "n", "order of the rate law", 1),
    {.name = NULL}};
static const fettle_parameter degree_out[] = {DEGREE("degree", "alpha", "degree of cure"),
                                              {.name = NULL}};

static fettle_status degree_of_cure(const double *in, double *out, fettle_warnings *warnings,
                                    fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  double extent = in[0] * in[1];
  double above = in[2] - 1;
  if (above == 0) {
    out[0] = -expm1(-extent);
  } else {
    double base = above * extent;
    out[0] = base <= -1 ? 1 : -expm1(-log1p(base) / above);
  }
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_degree_of_cure = {
    .size = sizeof(fettle_formula),
    .name = "resin.degree_of_cure",
    .brief = "degree of cure after a time at constant temperature, nth-order law",
    .words = "conversion extent kinetics isothermal first order second order",
    .text = "I = k * t; alpha = choose(n == 1, 1 - exp(-I), "
            "choose(1 + (n - 1) * I <= 0, 1, 1 - (1 + (n - 1) * I)^(1 / (1 - n))))",
    .notes = "Rate k (1 - alpha)^n. An order below 1 is fully cured at the time 1 / (k (1 - n)). "
             "For a changing temperature use resin.cure_history.",
    .source = RATE_LAWS,
    .inputs = degree_in,
    .outputs = degree_out,
    .inverse = "resin.time_to_degree",
    .evaluate = degree_of_cure};

static const fettle_parameter time_in[] = {{"rate_constant", "k", "1/s", NULL,
                                            "rate constant at the temperature of cure", 1e-15,
                                            INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
                                           DEGREE("degree", "alpha", "wanted degree of cure"),
                                           ORDER("order", "n", "order of the rate law", 1),
                                           {.name = NULL}};
static const fettle_parameter time_out[] = {TIME("time", "t", "time at that temperature"),
                                            {.name = NULL}};

static fettle_status fail_never(const char *law, fettle_diagnostic *diagnostic) {
  return fettle_fail(diagnostic, FETTLE_ERROR_UNREACHABLE, "degree",
                     "degree = 1: %s never reaches it; ask for less, such as 0.95", law);
}

static fettle_status time_to_degree(const double *in, double *out, fettle_warnings *warnings,
                                    fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (in[1] >= 1 && in[2] >= 1) {
    return fail_never("a law of order 1 or more", diagnostic);
  }
  double less = 1 - in[2];
  double extent = in[1] >= 1  ? 1 / less
                  : less == 0 ? -log1p(-in[1])
                              : -expm1(less * log1p(-in[1])) / less;
  out[0] = extent / in[0];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_time_to_degree = {
    .size = sizeof(fettle_formula),
    .name = "resin.time_to_degree",
    .brief = "time to a degree of cure at constant temperature, nth-order law",
    .words = "conversion extent kinetics isothermal how long cure",
    .text = "t = choose(n == 1, -ln(1 - alpha), (1 - (1 - alpha)^(1 - n)) / (1 - n)) / k",
    .notes = "Rate k (1 - alpha)^n. For a changing temperature use resin.cure_history.",
    .source = RATE_LAWS,
    .inputs = time_in,
    .outputs = time_out,
    .inverse = "resin.degree_of_cure",
    .evaluate = time_to_degree};

static const fettle_parameter rate_in[] = {
    RATE("first_rate_constant", "k_1", "rate constant that starts the cure"),
    RATE("second_rate_constant", "k_2", "rate constant of the part that feeds on itself"),
    DEGREE("degree", "alpha", "degree of cure"),
    ORDER("autocatalytic_order", "m", "power of the degree of cure", 1),
    ORDER("order", "n", "power of what is left", 1),
    {.name = NULL}};
static const fettle_parameter rate_out[] = {RATE("rate", "r", "degree of cure gained in a time"),
                                            {.name = NULL}};

static fettle_status autocatalytic_rate(const double *in, double *out, fettle_warnings *warnings,
                                        fettle_diagnostic *diagnostic) {
  (void)diagnostic;
  out[0] = (in[0] + in[1] * pow(in[2], in[3])) * pow(1 - in[2], in[4]);
  if (in[0] == 0 && in[2] == 0 && in[3] > 0) {
    fettle_warn(warnings, "first_rate_constant",
                "without a first rate constant such a law never starts from degree 0");
  }
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_autocatalytic_rate = {
    .size = sizeof(fettle_formula),
    .name = "resin.autocatalytic_rate",
    .brief = "rate of an autocatalytic cure at a degree of cure",
    .words = "kamal sourour kinetics epoxy amine rate law",
    .text = "r = (k_1 + k_2 * alpha^m) * (1 - alpha)^n",
    .notes = "With k_1 = 0 and alpha = 0 the rate is 0 for ever.",
    .source = "M. R. Kamal and S. Sourour's rate law (1973), from memory",
    .inputs = rate_in,
    .outputs = rate_out,
    .evaluate = autocatalytic_rate};

static const fettle_parameter auto_time_in[] = {
    {"first_rate_constant", "k_1", "1/s", NULL, "rate constant that starts the cure", 1e-15,
     INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    RATE("second_rate_constant", "k_2", "rate constant of the part that feeds on itself"),
    DEGREE("degree", "alpha", "wanted degree of cure"),
    {.name = NULL}};

static fettle_status autocatalytic_time(const double *in, double *out, fettle_warnings *warnings,
                                        fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (in[2] >= 1) {
    return fail_never("this law", diagnostic);
  }
  out[0] = (log1p(in[1] / in[0] * in[2]) - log1p(-in[2])) / (in[0] + in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_autocatalytic_time = {
    .size = sizeof(fettle_formula),
    .name = "resin.autocatalytic_time",
    .brief = "time to a degree of cure at constant temperature, autocatalytic law with powers 1",
    .words = "kamal sourour isothermal gel time epoxy amine",
    .text = "t = ln((1 + k_2 / k_1 * alpha) / (1 - alpha)) / (k_1 + k_2)",
    .notes = "Rate (k_1 + k_2 alpha) (1 - alpha). Other powers, or a changing temperature: "
             "resin.cure_history.",
    .source = RATE_LAWS,
    .inputs = auto_time_in,
    .outputs = time_out,
    .evaluate = autocatalytic_time};

static const fettle_parameter peak_in[] = {
    {"first_rate_constant", "k_1", "1/s", NULL, "rate constant that starts the cure", 1e-15,
     INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    RATE("second_rate_constant", "k_2", "rate constant of the part that feeds on itself"),
    {.name = NULL}};
static const fettle_parameter peak_out[] = {TIME("time", "t", "time of the fastest cure"),
                                            DEGREE("degree", "alpha", "degree of cure there"),
                                            RATE("rate", "r", "rate there"),
                                            {.name = NULL}};

static fettle_status autocatalytic_peak(const double *in, double *out, fettle_warnings *warnings,
                                        fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (in[1] < in[0]) {
    return fettle_fail_below(diagnostic, &peak_in[1], in[1], "first_rate_constant", in[0]);
  }
  double sum = in[0] + in[1];
  out[0] = log(in[1] / in[0]) / sum;
  out[1] = (in[1] - in[0]) / (2 * in[1]);
  out[2] = sum * sum / (4 * in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_autocatalytic_peak = {
    .size = sizeof(fettle_formula),
    .name = "resin.autocatalytic_peak",
    .brief = "when an autocatalytic cure at constant temperature is fastest",
    .words = "kamal sourour exotherm peak hottest moment",
    .text = "t = ln(k_2 / k_1) / (k_1 + k_2); alpha = (k_2 - k_1) / (2 * k_2); "
            "r = (k_1 + k_2)^2 / (4 * k_2)",
    .notes = "Rate (k_1 + k_2 alpha) (1 - alpha), from degree 0; k_2 must not be below k_1, or the "
             "cure is fastest at its start.",
    .source = RATE_LAWS,
    .inputs = peak_in,
    .outputs = peak_out,
    .hazards = FETTLE_HAZARD_EXOTHERM,
    .evaluate = autocatalytic_peak};
