/* Fillers: density of a filled mix, and filler for a wanted density. */
#include <math.h>

#include "fettle/formula.h"

#define DENSITY(name, symbol, meaning, preset)                                                     \
  { name, symbol, "g/cm^3", NULL, meaning, 0.01, 25, 0, 0, preset, FETTLE_ROLE_ANY, 0 }
#define MASS(name, symbol, meaning, preset)                                                        \
  { name, symbol, "g", NULL, meaning, 0, INFINITY, 0, 0, preset, FETTLE_ROLE_ANY, 0 }
#define SHARE(name, symbol, meaning)                                                               \
  { name, symbol, "%", NULL, meaning, 0, 100, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }

static const char TRUE_DENSITY[] =
    "Densities are those of the particles and never of the loose powder. Above about 63 % by "
    "volume (random packing of spheres, from memory) the paste holds air, and is lighter. ";

/* Random close packing of spheres, from memory. */
static const double PACKING_MOST = 0.63;

static void warn_packing(fettle_warnings *warnings, const char *parameter, double share) {
  if (share > PACKING_MOST) {
    char shown[40];
    fettle_number_format(100 * share, 3, shown, sizeof shown);
    fettle_warn(warnings, parameter,
                "filler takes %s %% of the volume, more than the 63 %% that packs without air: the "
                "paste will be lighter and weaker than calculated",
                shown);
  }
}

static const fettle_parameter density_in[] = {
    MASS("resin_mass", "m_r", "mass of mixed resin", NAN),
    DENSITY("resin_density", "rho_r", "density of mixed resin", NAN),
    MASS("filler_mass", "m_1", "mass of filler", NAN),
    DENSITY("filler_density", "rho_1", "density of the filler's particles", NAN),
    MASS("second_filler_mass", "m_2", "mass of a second filler", 0),
    DENSITY("second_filler_density", "rho_2",
            "density of the second filler's particles; not used when its mass is 0", 2.2),
    {.name = NULL}};
static const fettle_parameter density_out[] = {
    DENSITY("density", "rho", "density of the filled mix", NAN),
    SHARE("filler_volume_share", "phi", "share of the volume that is filler"),
    {.name = NULL}};

static fettle_status filled_density(const double *in, double *out, fettle_warnings *warnings,
                                    fettle_diagnostic *diagnostic) {
  double filler = in[2] / in[3] + in[4] / in[5];
  double volume = in[0] / in[1] + filler;
  if (volume <= 0) {
    return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "resin_mass",
                       "resin_mass = 0 g: there is no mix; give a mass above 0");
  }
  out[0] = (in[0] + in[2] + in[4]) / volume;
  out[1] = filler / volume;
  warn_packing(warnings, "filler_mass", out[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_filled_density = {
    .size = sizeof(fettle_formula),
    .name = "resin.filled_density",
    .brief = "density and filler share of a filled resin",
    .words = "slurry paste microballoons spheres fumed silica filler putty density",
    .text = "V_f = m_1 / rho_1 + m_2 / rho_2; V = m_r / rho_r + V_f; "
            "rho = (m_r + m_1 + m_2) / V; phi = V_f / V",
    .notes = TRUE_DENSITY,
    .source = "volumes add: definition of density",
    .inputs = density_in,
    .outputs = density_out,
    .hazards = FETTLE_HAZARD_DUST,
    .evaluate = filled_density};

static const fettle_parameter target_in[] = {
    MASS("resin_mass", "m_r", "mass of mixed resin", NAN),
    DENSITY("target_density", "rho", "wanted density of the filled mix", NAN),
    DENSITY("resin_density", "rho_r", "density of mixed resin", NAN),
    DENSITY("filler_density", "rho_f", "density of the filler's particles", NAN),
    {.name = NULL}};
static const fettle_parameter target_out[] = {
    MASS("filler_mass", "m_f", "filler to add", NAN),
    {"filler_parts", "c", "1", NULL, "parts of filler to 100 of mixed resin by weight", 0, INFINITY,
     0, 0, NAN, FETTLE_ROLE_ANY, 0},
    SHARE("filler_volume_share", "phi", "share of the volume that is filler"),
    {.name = NULL}};

static fettle_status filler_for_density(const double *in, double *out, fettle_warnings *warnings,
                                        fettle_diagnostic *diagnostic) {
  double low = fmin(in[2], in[3]);
  double high = fmax(in[2], in[3]);
  const char *lighter = in[2] < in[3] ? "resin_density" : "filler_density";
  const char *heavier = in[2] < in[3] ? "filler_density" : "resin_density";
  if (in[1] <= low && in[1] != in[2]) {
    return fettle_fail_below(diagnostic, &target_in[1], in[1], lighter, low);
  }
  if (in[1] >= high && in[1] != in[2]) {
    return fettle_fail_above(diagnostic, &target_in[1], in[1], heavier, high);
  }
  double share = in[1] == in[2] ? 0 : (1 - in[1] / in[2]) / (in[1] / in[3] - 1);
  out[0] = in[0] * share;
  out[1] = 100 * share;
  out[2] = share / in[3] / (1 / in[2] + share / in[3]);
  warn_packing(warnings, "target_density", out[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_filler_for_density = {
    .size = sizeof(fettle_formula),
    .name = "resin.filler_for_density",
    .brief = "filler to add for a wanted density",
    .words = "microballoons glass bubbles lightweight putty target density filler phr",
    .text = "x = (1 - rho / rho_r) / (rho / rho_f - 1); m_f = m_r * x; c = 100 * x; "
            "phi = x / rho_f / (1 / rho_r + x / rho_f)",
    .notes = TRUE_DENSITY,
    .source = "volumes add: definition of density",
    .inputs = target_in,
    .outputs = target_out,
    .hazards = FETTLE_HAZARD_DUST,
    .inverse = "resin.filled_density",
    .evaluate = filler_for_density};

static const fettle_parameter bulk_in[] = {
    {"resin_volume", "V", "mL", "floz", "volume of mixed resin", 0, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"bulk_ratio", "n", "1", NULL, "volumes of loose filler to one of mixed resin", 0, 50, 0.5, 6,
     NAN, FETTLE_ROLE_ANY, 0},
    DENSITY("resin_density", "rho_r", "density of mixed resin", NAN),
    DENSITY("filler_density", "rho_f", "density of the filler's particles", NAN),
    {"packing", "p", "%", NULL, "share of the loose powder's volume that is particles", 1, 100, 55,
     64, 60, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter bulk_out[] = {
    MASS("filler_mass", "m_f", "filler to weigh instead", NAN),
    {"filler_parts", "c", "1", NULL, "parts of filler to 100 of mixed resin by weight", 0, INFINITY,
     0, 0, NAN, FETTLE_ROLE_ANY, 0},
    DENSITY("density", "rho", "density of the filled mix without air", NAN),
    SHARE("filler_volume_share", "phi", "share of the volume that is filler"),
    {.name = NULL}};

static fettle_status filler_by_bulk_volume(const double *in, double *out, fettle_warnings *warnings,
                                           fettle_diagnostic *diagnostic) {
  (void)diagnostic;
  double solid = in[1] * in[4];
  out[0] = solid * in[0] * in[3];
  out[1] = 100 * solid * in[3] / in[2];
  out[2] = (in[2] + solid * in[3]) / (1 + solid);
  out[3] = solid / (1 + solid);
  warn_packing(warnings, "bulk_ratio", out[3]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_filler_by_bulk_volume = {
    .size = sizeof(fettle_formula),
    .name = "resin.filler_by_bulk_volume",
    .brief = "filler to weigh for a recipe by loose volume",
    .words = "scoops cups of microballoons to one of resin wet dry micro",
    .text = "s = n * p; m_f = s * V * rho_f; c = 100 * s * rho_f / rho_r; "
            "rho = (rho_r + s * rho_f) / (1 + s); phi = s / (1 + s)",
    .notes = "Loose spheres fill about 55 to 64 % of their volume (from memory). Recipes by loose "
             "volume run from 2 : 1 (wet) to about 5 : 1 (dry) of spheres to mixed resin (a "
             "builder's page).",
    .source = "volumes add: definition of density",
    .inputs = bulk_in,
    .outputs = bulk_out,
    .hazards = FETTLE_HAZARD_DUST,
    .evaluate = filler_by_bulk_volume};
