/* Hardener by stoichiometry: equivalent weights and parts per hundred. */
#include <math.h>

#include "fettle/formula.h"

#define EQUIVALENT(name, symbol, meaning, preset)                                                  \
  { name, symbol, "g/eq", NULL, meaning, 1, 1e5, 0, 0, preset, FETTLE_ROLE_ANY, 0 }

static const fettle_parameter hardener_in[] = {
    EQUIVALENT("epoxide_equivalent_weight", "EEW", "mass of resin to one epoxide group", NAN),
    EQUIVALENT("amine_hydrogen_equivalent_weight", "AHEW",
               "mass of hardener to one active hydrogen", NAN),
    {"stoichiometry", "r", "1", NULL, "wanted share of the stoichiometric amount", 1e-3, 10, 0.8,
     1.2, 1, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter hardener_out[] = {{"hardener_parts", "b", "1", NULL,
                                                 "parts of hardener by weight to 100 of resin", 0,
                                                 INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
                                                {.name = NULL}};

static fettle_status stoichiometric_hardener(const double *in, double *out,
                                             fettle_warnings *warnings,
                                             fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = 100 * in[2] * in[1] / in[0];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_stoichiometric_hardener = {
    .size = sizeof(fettle_formula),
    .name = "resin.stoichiometric_hardener",
    .brief = "parts of amine hardener to 100 of epoxy resin by stoichiometry",
    .words = "phr EEW AHEW epoxy amine ratio parts per hundred resin equivalent",
    .text = "b = 100 * r * AHEW / EEW",
    .notes = "One active hydrogen to one epoxide group. For adducts and commercial blends take "
             "the equivalent weight from the data sheet.",
    .source = "definition of equivalent weights",
    .inputs = hardener_in,
    .outputs = hardener_out,
    .hazards = FETTLE_HAZARD_AMINE,
    .evaluate = stoichiometric_hardener};

static const fettle_parameter groups_in[] = {
    {"molar_mass", "M", "g/mol", NULL, "mass of a mole of the pure substance", 1, 1e6, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"reactive_groups", "f", "1", NULL,
     "active hydrogens of an amine molecule, or epoxide groups of a resin molecule", 1, 1000, 0, 0,
     NAN, FETTLE_ROLE_ANY, 1},
    {.name = NULL}};
static const fettle_parameter groups_out[] = {
    EQUIVALENT("equivalent_weight", "q", "mass to one reactive group", NAN), {.name = NULL}};

static fettle_status equivalent_weight(const double *in, double *out, fettle_warnings *warnings,
                                       fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / in[1];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_equivalent_weight = {
    .size = sizeof(fettle_formula),
    .name = "resin.equivalent_weight",
    .brief = "equivalent weight of a pure amine or epoxide from its molar mass",
    .words = "AHEW EEW active hydrogen amine epoxide molecular weight",
    .text = "q = M / f",
    .notes = "For pure substances. A primary amine group has two active hydrogens, a secondary "
             "one, a tertiary none.",
    .source = "definition of equivalent weights",
    .inputs = groups_in,
    .outputs = groups_out,
    .evaluate = equivalent_weight};

#define PART(name, symbol, meaning, preset)                                                        \
  { name, symbol, "g", NULL, meaning, 0, INFINITY, 0, 0, preset, FETTLE_ROLE_ANY, 0 }

static const fettle_parameter blend_in[] = {
    PART("first_mass", "m_1", "mass of the first part", NAN),
    EQUIVALENT("first_equivalent_weight", "q_1", "equivalent weight of the first part", NAN),
    PART("second_mass", "m_2", "mass of the second part", 0),
    EQUIVALENT("second_equivalent_weight", "q_2",
               "equivalent weight of the second part; not used when its mass is 0", 200),
    PART("third_mass", "m_3", "mass of the third part", 0),
    EQUIVALENT("third_equivalent_weight", "q_3",
               "equivalent weight of the third part; not used when its mass is 0", 200),
    PART("inert_mass", "m_0", "mass of filler and diluent that do not react", 0),
    {.name = NULL}};
static const fettle_parameter blend_out[] = {
    EQUIVALENT("equivalent_weight", "q", "equivalent weight of the blend", NAN), {.name = NULL}};

static fettle_status blend_equivalent_weight(const double *in, double *out,
                                             fettle_warnings *warnings,
                                             fettle_diagnostic *diagnostic) {
  (void)warnings;
  double groups = in[0] / in[1] + in[2] / in[3] + in[4] / in[5];
  if (groups <= 0) {
    return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "first_mass",
                       "first_mass = 0 g: nothing in the blend reacts; give a mass above 0");
  }
  out[0] = (in[0] + in[2] + in[4] + in[6]) / groups;
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_blend_equivalent_weight = {
    .size = sizeof(fettle_formula),
    .name = "resin.blend_equivalent_weight",
    .brief = "equivalent weight of a blend of resins or of hardeners",
    .words = "EEW AHEW blend fast slow hardener diluent filler mix of epoxies",
    .text = "q = (m_1 + m_2 + m_3 + m_0) / (m_1 / q_1 + m_2 / q_2 + m_3 / q_3)",
    .notes = "Equivalents add, equivalent weights do not. Filler and unreactive diluent count in "
             "the mass and not in the groups. Blend only hardeners made for the same resin.",
    .source = "definition of equivalent weights",
    .inputs = blend_in,
    .outputs = blend_out,
    .evaluate = blend_equivalent_weight};
