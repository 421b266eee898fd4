/* Pots: how many, how large, and whether a pot is used up before it gels. */
#include <math.h>

#include "fettle/formula.h"

/* A quotient that is whole on paper must not gain a pot by rounding. */
#define WHOLE_SLACK 1e-9

static const char EXOTHERM_NOTE[] =
    "A pot heats itself: twice the mass does not give twice the time. Spread leftovers thin, never "
    "cap them, and take a pot that smokes outdoors. ";

static const fettle_parameter by_mass_in[] = {
    {"mixed_mass", "m", "g", NULL, "mass of the whole mix", 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY,
     0},
    {"pot_limit", "m_l", "g", NULL, "most that may be mixed in one pot", 1, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"resin_parts", "a", "1", NULL, "parts of resin in the ratio", 1e-6, INFINITY, 0, 0, 100,
     FETTLE_ROLE_ANY, 0},
    {"hardener_parts", "b", "1", NULL, "parts of hardener by weight in the ratio", 1e-6, INFINITY,
     0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter by_mass_out[] = {
    {"pots", "n", "1", NULL, "equal pots", 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 1},
    {"pot_mass", "m_p", "g", NULL, "mix in each pot", 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"resin_mass", "m_r", "g", NULL, "resin in each pot", 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY,
     0},
    {"hardener_mass", "m_h", "g", NULL, "hardener in each pot", 0, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

static fettle_status pots_by_mass(const double *in, double *out, fettle_warnings *warnings,
                                  fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = fmax(ceil(in[0] / in[1] - WHOLE_SLACK), 1);
  out[1] = in[0] / out[0];
  out[2] = out[1] * in[2] / (in[2] + in[3]);
  out[3] = out[1] * in[3] / (in[2] + in[3]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_pots_by_mass = {
    .size = sizeof(fettle_formula),
    .name = "resin.pots_by_mass",
    .brief = "equal pots under a limit of mass",
    .words = "batch split pot limit exotherm how many pots cups",
    .text = "n = max(ceil(m / m_l - 1e-9), 1); m_p = m / n; m_r = m_p * a / (a + b); "
            "m_h = m_p * b / (a + b)",
    .notes = EXOTHERM_NOTE,
    .source = "equal shares: arithmetic; the limit is the data sheet's",
    .inputs = by_mass_in,
    .outputs = by_mass_out,
    .hazards = FETTLE_HAZARD_EXOTHERM | FETTLE_HAZARD_AMINE,
    .evaluate = pots_by_mass};

static const fettle_parameter by_life_in[] = {
    {"mixed_mass", "m", "g", NULL, "mass of the whole mix", 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY,
     0},
    {"use_rate", "u", "g/min", NULL, "mix laid or sprayed in a time", 1e-6, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"pot_life", "t", "min", NULL, "pot life at the shop's temperature and this size of pot", 0.01,
     INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"reserve", "c", "%", NULL, "share of the pot life kept in reserve", 0, 95, 10, 50, 25,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter by_life_out[] = {
    {"pots", "n", "1", NULL, "equal pots", 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 1},
    {"pot_mass", "m_p", "g", NULL, "mix in each pot", 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"largest_pot", "m_l", "g", NULL, "most that one pot may hold", 0, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"time_per_pot", "t_p", "min", NULL, "time to use up one pot", 0, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

static fettle_status pots_by_pot_life(const double *in, double *out, fettle_warnings *warnings,
                                      fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[2] = in[1] * in[2] * (1 - in[3]);
  out[0] = fmax(ceil(in[0] / out[2] - WHOLE_SLACK), 1);
  out[1] = in[0] / out[0];
  out[3] = out[1] / in[1];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_pots_by_pot_life = {
    .size = sizeof(fettle_formula),
    .name = "resin.pots_by_pot_life",
    .brief = "equal pots that are used up within their pot life",
    .words = "batch split working time gel how many pots laying rate",
    .text = "m_l = u * t * (1 - c); n = max(ceil(m / m_l - 1e-9), 1); m_p = m / n; t_p = m_p / u",
    .notes = EXOTHERM_NOTE,
    .source = "amount = rate x time: arithmetic; the reserve is common practice, no source",
    .inputs = by_life_in,
    .outputs = by_life_out,
    .hazards = FETTLE_HAZARD_EXOTHERM,
    .evaluate = pots_by_pot_life};

static const fettle_parameter pot_time_in[] = {
    {"pot_volume", "V", "L", "gal", "mix in one pot", 0, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"use_rate", "u", "L/min", "gal/min", "mix sprayed or laid in a time", 1e-9, INFINITY, 0, 0,
     NAN, FETTLE_ROLE_ANY, 0},
    {"allowance", "t_a", "min", NULL, "time for mixing, filling and flushing", 0, INFINITY, 0, 0, 0,
     FETTLE_ROLE_ANY, 0},
    {"pot_life", "t_g", "min", NULL, "pot life at the shop's temperature", 0.01, INFINITY, 0, 0,
     NAN, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter pot_time_out[] = {
    {"time_needed", "t", "min", NULL, "time from mixing until the pot is empty and flushed", 0,
     INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"time_left", "t_l", "min", NULL, "pot life that is left then; below 0 it has gelled", 0, 0, 0,
     0, NAN, FETTLE_ROLE_ANY, 0},
    {"largest_pot", "V_l", "L", "gal", "most that could be used up in the pot life", 0, INFINITY, 0,
     0, NAN, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

static fettle_status pot_time(const double *in, double *out, fettle_warnings *warnings,
                              fettle_diagnostic *diagnostic) {
  (void)diagnostic;
  out[0] = in[0] / in[1] + in[2];
  out[1] = in[3] - out[0];
  out[2] = in[1] * fmax(in[3] - in[2], 0);
  if (out[1] < 0) {
    fettle_warn(warnings, "pot_volume",
                "the pot gels before it is used up: mix at most largest_pot at a time");
  }
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_pot_time = {
    .size = sizeof(fettle_formula),
    .name = "resin.pot_time",
    .brief = "time that a pot needs against its pot life",
    .words = "gel time spraying gun pot size time available time left",
    .text = "t = V / u + t_a; t_l = t_g - t; V_l = u * max(t_g - t_a, 0 * t_g)",
    .notes = EXOTHERM_NOTE,
    .source = "time = amount / rate: arithmetic",
    .inputs = pot_time_in,
    .outputs = pot_time_out,
    .hazards = FETTLE_HAZARD_EXOTHERM,
    .evaluate = pot_time};

static const fettle_parameter life_at_mass_in[] = {
    {"first_mass", "m_1", "g", NULL, "pot of the first point of the data sheet", 1e-3, 1e6, 20,
     5000, NAN, FETTLE_ROLE_ANY, 0},
    {"first_pot_life", "t_1", "min", NULL, "its pot life", 0.01, 1e5, 3, 300, NAN, FETTLE_ROLE_ANY,
     0},
    {"second_mass", "m_2", "g", NULL, "pot of the second point of the data sheet", 1e-3, 1e6, 20,
     5000, NAN, FETTLE_ROLE_ANY, 0},
    {"second_pot_life", "t_2", "min", NULL, "its pot life", 0.01, 1e5, 3, 300, NAN, FETTLE_ROLE_ANY,
     0},
    {"mass", "m", "g", NULL, "pot that is asked about", 1e-3, 1e6, 20, 5000, NAN, FETTLE_ROLE_ANY,
     0},
    {.name = NULL}};
static const fettle_parameter life_at_mass_out[] = {{"pot_life", "t", "min", NULL,
                                                     "pot life of that pot", 0, INFINITY, 0, 0, NAN,
                                                     FETTLE_ROLE_ANY, 0},
                                                    {.name = NULL}};

static fettle_status pot_life_at_mass(const double *in, double *out, fettle_warnings *warnings,
                                      fettle_diagnostic *diagnostic) {
  if (fabs(log(in[2] / in[0])) < 1e-6) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "second_mass",
                       "second_mass: must not be the same as first_mass: give two different pots");
  }
  out[0] = in[1] * pow(in[4] / in[0], log(in[3] / in[1]) / log(in[2] / in[0]));
  if (in[4] < fmin(in[0], in[2]) * (1 - 1e-9) || in[4] > fmax(in[0], in[2]) * (1 + 1e-9)) {
    fettle_warn(warnings, "mass", "mass is outside the two pots of the data sheet: a guess");
  }
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_pot_life_at_mass = {
    .size = sizeof(fettle_formula),
    .name = "resin.pot_life_at_mass",
    .brief = "pot life of another size of pot, between two of the data sheet",
    .words = "gel time mass pot size exotherm working life",
    .text = "c = ln(t_2 / t_1) / ln(m_2 / m_1); t = t_1 * (m / m_1)^c",
    .notes = "A straight line between the two points on a double logarithmic scale: an "
             "interpolation, no law. The shape of the pot counts as much as its mass.",
    .source = "common practice, no source",
    .inputs = life_at_mass_in,
    .outputs = life_at_mass_out,
    .hazards = FETTLE_HAZARD_EXOTHERM,
    .evaluate = pot_life_at_mass};

static const fettle_parameter blend_life_in[] = {
    {"first_share", "w", "%", NULL, "share of the first hardener in the blend by weight", 0, 100, 0,
     0, NAN, FETTLE_ROLE_ANY, 0},
    {"first_pot_life", "t_1", "min", NULL, "pot life with the first hardener alone", 0.01, INFINITY,
     0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"second_pot_life", "t_2", "min", NULL, "pot life with the second hardener alone", 0.01,
     INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter blend_life_out[] = {{"pot_life", "t", "min", NULL,
                                                   "pot life with the blend", 0, INFINITY, 0, 0,
                                                   NAN, FETTLE_ROLE_ANY, 0},
                                                  {.name = NULL}};

static fettle_status blend_pot_life(const double *in, double *out, fettle_warnings *warnings,
                                    fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[2] * pow(in[1] / in[2], in[0]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_blend_pot_life = {
    .size = sizeof(fettle_formula),
    .name = "resin.blend_pot_life",
    .brief = "pot life of a blend of a fast and a slow hardener",
    .words = "fast slow hardener blend gel time",
    .text = "t = t_2 * (t_1 / t_2)^w",
    .notes = "The logarithms are weighted by mass: an interpolation, no law. Only for hardeners "
             "made for the same resin.",
    .source = "engineering interpolation, from memory; no source found",
    .inputs = blend_life_in,
    .outputs = blend_life_out,
    .hazards = FETTLE_HAZARD_EXOTHERM | FETTLE_HAZARD_AMINE,
    .evaluate = blend_pot_life};
