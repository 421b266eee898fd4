/* Resin and hardener: amounts from a ratio, ratios by weight and by volume, ratio errors. */
#include <math.h>

#include "fettle/formula.h"

#define PARTS_NOTE                                                                                 \
  "Parts are on the same scale as resin_parts, as a label writes them: 100:30, 2:1, 5:1. Too "     \
  "little hardener leaves a weak, slow cure; too much shortens the pot life and heats the pot. "

static const char SHELL_SOURCE[] = "definition of a mixing ratio";

/* `hardener_parts` of an input row that is last in its pair with resin_parts. */
static void warn_ratio(fettle_warnings *warnings, double resin_parts, double hardener_parts) {
  double ratio = hardener_parts / resin_parts;
  if (ratio < 0.05 || ratio > 2) { /* common practice, no source */
    char shown[40];
    fettle_number_format(100 * ratio, 4, shown, sizeof shown);
    fettle_warn(warnings, "hardener_parts",
                "hardener_parts: %s parts of hardener to 100 of resin is unusual; give both on the "
                "scale of the label",
                shown);
  }
}

#define RESIN_PARTS                                                                                \
  {                                                                                                \
    "resin_parts", "a", "1", NULL, "parts of resin in the ratio", 1e-6, INFINITY, 0, 0, 100,       \
        FETTLE_ROLE_ANY, 0                                                                         \
  }
#define HARDENER_PARTS(name, meaning)                                                              \
  { name, "b", "1", NULL, meaning, 1e-6, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }
#define DENSITY(name, symbol, meaning)                                                             \
  { name, symbol, "g/cm^3", NULL, meaning, 0.05, 25, 0.8, 2.5, NAN, FETTLE_ROLE_ANY, 0 }
#define MASS(name, symbol, meaning)                                                                \
  { name, symbol, "g", NULL, meaning, 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }
#define VOLUME(name, symbol, meaning)                                                              \
  { name, symbol, "mL", "floz", meaning, 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }
#define PLAIN(name, symbol, meaning)                                                               \
  { name, symbol, "1", NULL, meaning, 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }

/* --- amounts from a ratio by weight --- */

static const fettle_parameter mix_by_weight_in[] = {
    MASS("mixed_mass", "m", "mass of the whole mix"),
    RESIN_PARTS,
    HARDENER_PARTS("hardener_parts", "parts of hardener by weight in the ratio"),
    {"filler_parts", "c", "1", NULL, "parts of filler by weight, counted on the resin alone", 0,
     INFINITY, 0, 0, 0, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter mix_by_weight_out[] = {
    MASS("resin_mass", "m_r", "resin to weigh"),
    MASS("hardener_mass", "m_h", "hardener to weigh"),
    MASS("filler_mass", "m_f", "filler to weigh"),
    {.name = NULL}};

static fettle_status mix_by_weight(const double *in, double *out, fettle_warnings *warnings,
                                   fettle_diagnostic *diagnostic) {
  (void)diagnostic;
  double share = in[0] / (in[1] + in[2] + in[3]);
  out[0] = in[1] * share;
  out[1] = in[2] * share;
  out[2] = in[3] * share;
  warn_ratio(warnings, in[1], in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_mix_by_weight = {
    .size = sizeof(fettle_formula),
    .name = "resin.mix_by_weight",
    .brief = "resin, hardener and filler to weigh for a mix",
    .words = "epoxy polyester two-part ratio by weight scale batch grams mixing",
    .text = "s = m / (a + b + c); m_r = a * s; m_h = b * s; m_f = c * s",
    .notes = PARTS_NOTE "Some recipes count the filler on the mixed resin and not on the resin.",
    .source = SHELL_SOURCE,
    .inputs = mix_by_weight_in,
    .outputs = mix_by_weight_out,
    .hazards = FETTLE_HAZARD_EXOTHERM | FETTLE_HAZARD_AMINE,
    .evaluate = mix_by_weight};

/* --- amounts from a ratio by volume --- */

static const fettle_parameter mix_by_volume_in[] = {
    VOLUME("mixed_volume", "V", "volume of the whole mix"),
    RESIN_PARTS,
    HARDENER_PARTS("hardener_parts", "parts of hardener by volume in the ratio"),
    DENSITY("resin_density", "rho_r", "density of the resin"),
    DENSITY("hardener_density", "rho_h", "density of the hardener"),
    {.name = NULL}};
static const fettle_parameter mix_by_volume_out[] = {
    VOLUME("resin_volume", "V_r", "resin to measure out"),
    VOLUME("hardener_volume", "V_h", "hardener to measure out"),
    MASS("resin_mass", "m_r", "the same resin by weight"),
    MASS("hardener_mass", "m_h", "the same hardener by weight"),
    {.name = NULL}};

static fettle_status mix_by_volume(const double *in, double *out, fettle_warnings *warnings,
                                   fettle_diagnostic *diagnostic) {
  (void)diagnostic;
  double share = in[0] / (in[1] + in[2]);
  out[0] = in[1] * share;
  out[1] = in[2] * share;
  out[2] = out[0] * in[3];
  out[3] = out[1] * in[4];
  warn_ratio(warnings, in[1], in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_mix_by_volume = {
    .size = sizeof(fettle_formula),
    .name = "resin.mix_by_volume",
    .brief = "resin and hardener for a mix whose ratio is by volume",
    .words = "epoxy two-part ratio by volume cups pumps mixing",
    .text = "s = V / (a + b); V_r = a * s; V_h = b * s; m_r = V_r * rho_r; m_h = V_h * rho_h",
    .notes = PARTS_NOTE "Volumes of the two are taken to add.",
    .source = SHELL_SOURCE,
    .inputs = mix_by_volume_in,
    .outputs = mix_by_volume_out,
    .hazards = FETTLE_HAZARD_EXOTHERM | FETTLE_HAZARD_AMINE,
    .evaluate = mix_by_volume};

/* --- a mix weighed in theory, measured out by volume --- */

static const fettle_parameter mix_volumes_in[] = {
    MASS("mixed_mass", "m", "mass of the whole mix"),
    RESIN_PARTS,
    HARDENER_PARTS("hardener_parts", "parts of hardener by weight in the ratio"),
    DENSITY("resin_density", "rho_r", "density of the resin"),
    DENSITY("hardener_density", "rho_h", "density of the hardener"),
    {.name = NULL}};
static const fettle_parameter mix_volumes_out[] = {
    VOLUME("resin_volume", "V_r", "resin to measure out"),
    VOLUME("hardener_volume", "V_h", "hardener to measure out"),
    {.name = NULL}};

static fettle_status mix_volumes(const double *in, double *out, fettle_warnings *warnings,
                                 fettle_diagnostic *diagnostic) {
  (void)diagnostic;
  double share = in[0] / (in[1] + in[2]);
  out[0] = in[1] * share / in[3];
  out[1] = in[2] * share / in[4];
  warn_ratio(warnings, in[1], in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_mix_volumes = {
    .size = sizeof(fettle_formula),
    .name = "resin.mix_volumes",
    .brief = "volumes to measure out for a mix whose ratio is by weight",
    .words = "epoxy two-part ratio cups syringes mixing by volume",
    .text = "s = m / (a + b); V_r = a * s / rho_r; V_h = b * s / rho_h",
    .notes = PARTS_NOTE "The ratio of these volumes is not the ratio by weight.",
    .source = SHELL_SOURCE,
    .inputs = mix_volumes_in,
    .outputs = mix_volumes_out,
    .hazards = FETTLE_HAZARD_EXOTHERM | FETTLE_HAZARD_AMINE,
    .evaluate = mix_volumes};

/* --- ratio by weight and ratio by volume --- */

static const fettle_parameter volume_ratio_in[] = {
    RESIN_PARTS,
    HARDENER_PARTS("hardener_parts", "parts of hardener by weight"),
    DENSITY("resin_density", "rho_r", "density of the resin"),
    DENSITY("hardener_density", "rho_h", "density of the hardener"),
    {.name = NULL}};
static const fettle_parameter volume_ratio_out[] = {
    PLAIN("hardener_parts_by_volume", "v",
          "parts of hardener by volume to resin_parts of resin by volume"),
    PLAIN("resin_to_hardener", "q", "volumes of resin to one of hardener"),
    {.name = NULL}};

static fettle_status volume_ratio(const double *in, double *out, fettle_warnings *warnings,
                                  fettle_diagnostic *diagnostic) {
  (void)diagnostic;
  out[0] = in[1] * in[2] / in[3];
  out[1] = in[0] / out[0];
  warn_ratio(warnings, in[0], in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_volume_ratio = {
    .size = sizeof(fettle_formula),
    .name = "resin.volume_ratio",
    .brief = "ratio by volume from the ratio by weight",
    .words = "convert mixing ratio weight to volume hardener cups",
    .text = "v = b * rho_r / rho_h; q = a / v",
    .notes = "Weight, volume and parts per hundred are three different numbers: never convert "
             "without both densities.",
    .source = SHELL_SOURCE,
    .inputs = volume_ratio_in,
    .outputs = volume_ratio_out,
    .inverse = "resin.weight_ratio",
    .evaluate = volume_ratio};

static const fettle_parameter weight_ratio_in[] = {
    RESIN_PARTS,
    HARDENER_PARTS("hardener_parts", "parts of hardener by volume"),
    DENSITY("resin_density", "rho_r", "density of the resin"),
    DENSITY("hardener_density", "rho_h", "density of the hardener"),
    {.name = NULL}};
static const fettle_parameter weight_ratio_out[] = {
    PLAIN("hardener_parts_by_weight", "w",
          "parts of hardener by weight to resin_parts of resin by weight"),
    PLAIN("resin_to_hardener", "q", "masses of resin to one of hardener"),
    {.name = NULL}};

static fettle_status weight_ratio(const double *in, double *out, fettle_warnings *warnings,
                                  fettle_diagnostic *diagnostic) {
  (void)diagnostic;
  out[0] = in[1] * in[3] / in[2];
  out[1] = in[0] / out[0];
  warn_ratio(warnings, in[0], in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_weight_ratio = {
    .size = sizeof(fettle_formula),
    .name = "resin.weight_ratio",
    .brief = "ratio by weight from the ratio by volume",
    .words = "convert mixing ratio volume to weight hardener scale",
    .text = "w = b * rho_h / rho_r; q = a / w",
    .notes = "Weight, volume and parts per hundred are three different numbers: never convert "
             "without both densities.",
    .source = SHELL_SOURCE,
    .inputs = weight_ratio_in,
    .outputs = weight_ratio_out,
    .inverse = "resin.volume_ratio",
    .evaluate = weight_ratio};

/* --- how far a weighed mix is from its ratio --- */

static const fettle_parameter ratio_error_in[] = {
    {"resin_mass", "m_r", "g", NULL, "resin that was weighed", 1e-6, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    MASS("hardener_mass", "m_h", "hardener that was weighed"),
    RESIN_PARTS,
    HARDENER_PARTS("hardener_parts", "parts of hardener by weight that the label asks for"),
    {.name = NULL}};
static const fettle_parameter ratio_error_out[] = {
    {"ratio_error", "e", "%", NULL, "hardener above (+) or below (-) what the label asks for", 0, 0,
     0, 0, NAN, FETTLE_ROLE_ANY, 0},
    PLAIN("actual_parts", "b_a", "parts of hardener to resin_parts of resin"),
    MASS("hardener_to_add", "d_h", "hardener that brings a lean mix to its ratio"),
    MASS("resin_to_add", "d_r", "resin that brings a rich mix to its ratio"),
    {.name = NULL}};

static fettle_status ratio_error(const double *in, double *out, fettle_warnings *warnings,
                                 fettle_diagnostic *diagnostic) {
  (void)diagnostic;
  double wanted = in[0] * in[3] / in[2];
  out[0] = in[1] / wanted - 1;
  out[1] = in[2] * in[1] / in[0];
  out[2] = fmax(wanted - in[1], 0);
  out[3] = fmax(in[1] * in[2] / in[3] - in[0], 0);
  double size = fabs(out[0]) * (1 - 1e-12);
  char shown[40];
  fettle_number_format(100 * fabs(out[0]), 3, shown, sizeof shown);
  if (size > 0.10) { /* trade habit, from memory; a data sheet overrides it */
    fettle_warn(warnings, "hardener_mass",
                "hardener is %s %% %s: beyond 10 %% do not use the mix before it is corrected",
                shown, out[0] > 0 ? "too much" : "short");
  } else if (size > 0.05) { /* trade habit, from memory */
    fettle_warn(warnings, "hardener_mass", "hardener is %s %% %s: more than 5 %% off the label",
                shown, out[0] > 0 ? "too much" : "short");
  }
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_ratio_error = {
    .size = sizeof(fettle_formula),
    .name = "resin.ratio_error",
    .brief = "error of a weighed mixing ratio, and what to add",
    .words = "off ratio mix mistake short of hardener lean rich mixing log correct",
    .text = "w = m_r * b / a; e = m_h / w - 1; b_a = a * m_h / m_r; d_h = max(w - m_h, 0 * w); "
            "d_r = max(m_h * a / b - m_r, 0 * w)",
    .notes = "Warns beyond 5 % and again beyond 10 % of the hardener: trade habit, no published "
             "tolerance was found; a data sheet overrides it. Correct only before gel. For a "
             "catalyst such as a peroxide this does not apply: it has a range and no ratio.",
    .source = SHELL_SOURCE,
    .inputs = ratio_error_in,
    .outputs = ratio_error_out,
    .hazards = FETTLE_HAZARD_AMINE,
    .evaluate = ratio_error};

static const fettle_parameter scale_error_in[] = {
    {"scale_step", "d", "g", NULL, "smallest step that the scale shows", 0, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"hardener_mass", "m_h", "g", NULL, "hardener to weigh", 1e-6, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter scale_error_out[] = {
    {"ratio_error", "e", "%", NULL, "error of the ratio from half a step of the scale", 0, 0, 0, 0,
     NAN, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

static fettle_status scale_error(const double *in, double *out, fettle_warnings *warnings,
                                 fettle_diagnostic *diagnostic) {
  (void)diagnostic;
  out[0] = in[0] / (2 * in[1]);
  if (out[0] > 0.05) { /* trade habit, from memory */
    fettle_warn(warnings, "scale_step", "the scale is too coarse for so little hardener");
  }
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_scale_error = {
    .size = sizeof(fettle_formula),
    .name = "resin.scale_error",
    .brief = "error of the mixing ratio from the step of the scale",
    .words = "scale resolution balance rounding small batch",
    .text = "e = d / (2 * m_h)",
    .notes = "Half a step of the scale on the hardener; the resin's own share is far smaller.",
    .source = "half of the smallest step shown: definition of rounding",
    .inputs = scale_error_in,
    .outputs = scale_error_out,
    .evaluate = scale_error};

/* --- gel by stoichiometry --- */

static const fettle_parameter gel_in[] = {
    {"hardener_functionality", "f", "1", NULL, "reactive hydrogens of a hardener molecule", 2, 100,
     2, 8, NAN, FETTLE_ROLE_ANY, 0},
    {"resin_functionality", "g", "1", NULL, "reactive groups of a resin molecule", 2, 100, 2, 4, 2,
     FETTLE_ROLE_ANY, 0},
    {"stoichiometry", "r", "1", NULL, "hardener mixed over hardener by stoichiometry", 1e-3, 1e3,
     0.8, 1.2, 1, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter gel_out[] = {
    {"gel_degree", "x", "1", NULL, "conversion of the scarcer groups at gel", 0, 1, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"scarcity", "s", "1", NULL, "scarcer groups over the groups in excess", 0, 1, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

static fettle_status gel_degree(const double *in, double *out, fettle_warnings *warnings,
                                fettle_diagnostic *diagnostic) {
  (void)warnings;
  double scarce = fmin(in[2], 1 / in[2]);
  double square = scarce * (in[0] - 1) * (in[1] - 1);
  if (square <= 1) {
    char shown[40];
    fettle_number_format(1 / ((in[0] - 1) * (in[1] - 1)), 6, shown, sizeof shown);
    return fettle_fail(diagnostic, FETTLE_ERROR_UNREACHABLE, "stoichiometry",
                       "such a mix never gels: the scarcer groups must be more than %s of the "
                       "others",
                       shown);
  }
  out[0] = 1 / sqrt(square);
  out[1] = scarce;
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_gel_degree = {
    .size = sizeof(fettle_formula),
    .name = "resin.gel_degree",
    .brief = "conversion at gel from functionality and stoichiometry",
    .words = "gel point flory stockmayer critical conversion off ratio",
    .text = "s = min(r, 1 / r); x = 1 / sqrt(s * (f - 1) * (g - 1))",
    .notes = "Equal reactivity of the groups and no rings are assumed; the scarcer groups are at "
             "this conversion, the groups in excess convert to at most `scarcity`.",
    .source = "P. J. Flory and W. H. Stockmayer's gel criterion, from memory",
    .inputs = gel_in,
    .outputs = gel_out,
    .evaluate = gel_degree};
