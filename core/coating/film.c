/* coating/film.c - what to mix and spray for a film that must remain, wet and dry film, coats,
 * coverage.
 *
 * All in SI. Transfer efficiency is the weak number: until the shop has weighed it, it is a guess.
 */
#include <math.h>

#include "fettle/formula.h"

/* Parameters that several calculations share. */
#define AREA                                                                                       \
  { "area", "A", "m^2", "ft^2", "area to be covered", 1e-4, 1e5, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }
#define CURED_THICKNESS                                                                            \
  {                                                                                                \
    "cured_thickness", "t", "mm", "in", "thickness that must remain after cure", 1e-4, 100, 0.05,  \
        6, NAN, FETTLE_ROLE_ANY, 0                                                                 \
  }
#define VOLUME_TO_MIX                                                                              \
  {                                                                                                \
    "volume", "V", "L", "gal", "volume of mix to prepare", -INFINITY, INFINITY, 0, 0, NAN,         \
        FETTLE_ROLE_ANY, 0                                                                         \
  }
#define WET_FILM                                                                                   \
  {                                                                                                \
    "wet_film", "w", "um", "mil", "wet film of one coat", 1, 50000, 20, 1500, NAN,                 \
        FETTLE_ROLE_ANY, 0                                                                         \
  }
#define COATS                                                                                      \
  { "coats", "n", "1", NULL, "number of coats", 1, 50, 0, 0, 1, FETTLE_ROLE_ANY, 1 }
#define TRANSFER_EFFICIENCY                                                                        \
  {                                                                                                \
    "transfer_efficiency", "e", "1", NULL, "share of what leaves the gun that stays on the part",  \
        0.05, 1, 0.3, 0.95, 1, FETTLE_ROLE_ANY, 0                                                  \
  }
#define SOLIDS                                                                                     \
  {                                                                                                \
    "solids", "S", "1", NULL, "share of volume solids of the paint as supplied", 0.02, 1, 0.2, 1,  \
        NAN, FETTLE_ROLE_ANY, 0                                                                    \
  }
#define THINNER                                                                                    \
  {                                                                                                \
    "thinner", "x", "1", NULL, "volume of thinner for each volume of paint", 0, 2, 0, 0.3, 0,      \
        FETTLE_ROLE_ANY, 0                                                                         \
  }
#define DRY_FILM                                                                                   \
  { "dry_film", "d", "um", "mil", "dry film", 0.1, 5000, 5, 1000, NAN, FETTLE_ROLE_ANY, 0 }
#define VOLUME_OF_MIX                                                                              \
  { "volume", "V", "L", "gal", "volume of mix", 1e-6, 1e5, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }

/* Sums of decimal thicknesses miss a whole number of coats by some bits. */
static const double COUNT_SLACK = 1e-9; /* of one coat; common practice in counting, no source */

static const fettle_parameter putty_volume_inputs[] = {
    AREA,
    CURED_THICKNESS,
    {"volume_shrink", "phi", "1", NULL, "share of its volume that the mix loses in cure", 0, 0.5, 0,
     0.1, 0, FETTLE_ROLE_ANY, 0},
    {"transfer_efficiency", "e", "1", NULL, "share of what leaves the gun that stays on the part",
     0.05, 1, 0.3, 0.95, NAN, FETTLE_ROLE_ANY, 0},
    {"hose_loss", "V_h", "L", "gal", "what stays in hose, gun and pot", 0, 1000, 0, 0, 0,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter putty_volume_outputs[] = {VOLUME_TO_MIX, {.name = NULL}};

static fettle_status putty_volume(const double *in, double *out, fettle_warnings *warnings,
                                  fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1] / ((1 - in[2]) * in[3]) + in[4];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_coating_putty_volume = {
    .size = sizeof(fettle_formula),
    .name = "coating.putty_volume",
    .brief = "volume of putty to mix for a thickness that must remain",
    .words = "spray filler fairing compound amount gallons",
    .text = "V = A * t / ((1 - phi) * e) + V_h",
    .notes = "The thickness is what must remain after cure, before milling. A transfer efficiency "
             "that the shop has not weighed is a guess.",
    .source = "volume balance; common practice, no source",
    .inputs = putty_volume_inputs,
    .outputs = putty_volume_outputs,
    .hazards = FETTLE_HAZARD_STYRENE | FETTLE_HAZARD_PEROXIDE | FETTLE_HAZARD_EXOTHERM,
    .evaluate = putty_volume,
};

static const fettle_parameter lay_thickness_inputs[] = {
    CURED_THICKNESS,
    {"volume_shrink", "phi", "1", NULL, "share of its volume that the mix loses in cure", 0, 0.5, 0,
     0.1, NAN, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter lay_thickness_outputs[] = {{"wet_thickness", "w", "mm", "in",
                                                          "thickness to spray", -INFINITY, INFINITY,
                                                          0, 0, NAN, FETTLE_ROLE_ANY, 0},
                                                         {.name = NULL}};

static fettle_status lay_thickness(const double *in, double *out, fettle_warnings *warnings,
                                   fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / (1 - in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_coating_lay_thickness = {
    .size = sizeof(fettle_formula),
    .name = "coating.lay_thickness",
    .brief = "wet thickness to spray for a cured thickness",
    .words = "putty shrink wet film",
    .text = "w = t / (1 - phi)",
    .source = "volume balance; common practice, no source",
    .inputs = lay_thickness_inputs,
    .outputs = lay_thickness_outputs,
    .hazards = FETTLE_HAZARD_STYRENE | FETTLE_HAZARD_PEROXIDE,
    .evaluate = lay_thickness,
};

static const fettle_parameter spray_passes_inputs[] = {
    {"wet_thickness", "w", "mm", "in", "thickness as sprayed, before cure", 1e-4, 100, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"pass_limit", "w_p", "mm", "in",
     "greatest wet thickness of one pass that stays on a steep face", 1e-3, 20, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter spray_passes_outputs[] = {
    {"passes", "n", "1", NULL, "number of passes", -INFINITY, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY,
     0},
    {"pass_thickness", "t_p", "mm", "mil", "wet thickness of each pass", -INFINITY, INFINITY, 0, 0,
     NAN, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

static fettle_status spray_passes(const double *in, double *out, fettle_warnings *warnings,
                                  fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = ceil(in[0] / in[1] - COUNT_SLACK);
  out[1] = in[0] / out[0];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_coating_spray_passes = {
    .size = sizeof(fettle_formula),
    .name = "coating.spray_passes",
    .brief = "passes for a wet thickness under a sag limit, and the thickness of each",
    .words = "sag run steep face coats wet",
    .text = "n = ceil(w / w_p - 1e-9); t_p = w / n",
    .source = "count of equal passes; common practice, no source",
    .inputs = spray_passes_inputs,
    .outputs = spray_passes_outputs,
    .hazards = FETTLE_HAZARD_STYRENE | FETTLE_HAZARD_PEROXIDE,
    .evaluate = spray_passes,
};

static const fettle_parameter film_volume_inputs[] = {
    AREA, WET_FILM, COATS, TRANSFER_EFFICIENCY, {.name = NULL}};
static const fettle_parameter film_volume_outputs[] = {VOLUME_TO_MIX, {.name = NULL}};

static fettle_status film_volume(const double *in, double *out, fettle_warnings *warnings,
                                 fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1] * in[2] / in[3];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_coating_film_volume = {
    .size = sizeof(fettle_formula),
    .name = "coating.film_volume",
    .brief = "volume of paint or gel coat for coats of a wet film",
    .words = "gelcoat primer surfacer sealer gallons amount",
    .text = "V = A * w * n / e",
    .notes =
        "A wet film in millimetres where mils were meant is 39.37 times too much: the usual range "
        "warns of it. Two-part polyurethane sealers hold isocyanate: read the safety data sheet.",
    .source = "volume balance; common practice, no source",
    .inputs = film_volume_inputs,
    .outputs = film_volume_outputs,
    .hazards = FETTLE_HAZARD_STYRENE | FETTLE_HAZARD_PEROXIDE | FETTLE_HAZARD_ISOCYANATE,
    .evaluate = film_volume,
};

static const fettle_parameter dry_film_inputs[] = {
    WET_FILM, COATS, SOLIDS, THINNER, {.name = NULL}};
static const fettle_parameter dry_film_outputs[] = {{"dry_film", "d", "um", "mil",
                                                     "dry film of all coats", -INFINITY, INFINITY,
                                                     0, 0, NAN, FETTLE_ROLE_ANY, 0},
                                                    {.name = NULL}};

static fettle_status dry_film(const double *in, double *out, fettle_warnings *warnings,
                              fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[1] * in[0] * in[2] / (1 + in[3]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_coating_dry_film = {
    .size = sizeof(fettle_formula),
    .name = "coating.dry_film",
    .brief = "dry film of coats from their wet film",
    .words = "build dft solids",
    .text = "d = n * w * S / (1 + x)",
    .source = "volume balance of solids; common practice, no source",
    .inputs = dry_film_inputs,
    .outputs = dry_film_outputs,
    .hazards = FETTLE_HAZARD_STYRENE | FETTLE_HAZARD_PEROXIDE,
    .inverse = "coating.wet_film",
    .evaluate = dry_film,
};

static const fettle_parameter wet_film_inputs[] = {
    DRY_FILM,
    {"coats", "n", "1", NULL, "number of coats that build it", 1, 50, 0, 0, 1, FETTLE_ROLE_ANY, 1},
    SOLIDS,
    THINNER,
    {.name = NULL}};
static const fettle_parameter wet_film_outputs[] = {{"wet_film", "w", "um", "mil",
                                                     "wet film of one coat", -INFINITY, INFINITY, 0,
                                                     0, NAN, FETTLE_ROLE_ANY, 0},
                                                    {.name = NULL}};

static fettle_status wet_film(const double *in, double *out, fettle_warnings *warnings,
                              fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * (1 + in[3]) / (in[2] * in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_coating_wet_film = {
    .size = sizeof(fettle_formula),
    .name = "coating.wet_film",
    .brief = "wet film of a coat for a dry film",
    .words = "wft comb gauge solids thinner",
    .text = "w = d * (1 + x) / (S * n)",
    .source = "volume balance of solids; common practice, no source",
    .inputs = wet_film_inputs,
    .outputs = wet_film_outputs,
    .hazards = FETTLE_HAZARD_STYRENE | FETTLE_HAZARD_PEROXIDE,
    .inverse = "coating.dry_film",
    .evaluate = wet_film,
};

static const fettle_parameter coverage_inputs[] = {
    SOLIDS, TRANSFER_EFFICIENCY, DRY_FILM, {.name = NULL}};
static const fettle_parameter coverage_outputs[] = {{"coverage", "c", "m^2/L", "ft^2/gal",
                                                     "area covered by a volume of paint", -INFINITY,
                                                     INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
                                                    {.name = NULL}};

static fettle_status coverage(const double *in, double *out, fettle_warnings *warnings,
                              fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1] / in[2];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_coating_coverage = {
    .size = sizeof(fettle_formula),
    .name = "coating.coverage",
    .brief = "area that a volume of paint covers",
    .words = "spread rate spreading square feet per gallon",
    .text = "c = S * e / d",
    .notes = "Solids and transfer multiply the coverage. One published answer divides by them: 41 "
             "times too much at 52 % solids and 30 % transfer.",
    .source = "volume balance of solids; worked examples in coating inspection notes of a "
              "spray-equipment trade page",
    .inputs = coverage_inputs,
    .outputs = coverage_outputs,
    .hazards = FETTLE_HAZARD_STYRENE | FETTLE_HAZARD_PEROXIDE,
    .evaluate = coverage,
};

static const fettle_parameter volume_for_dry_film_inputs[] = {
    AREA, DRY_FILM, SOLIDS, TRANSFER_EFFICIENCY, {.name = NULL}};
static const fettle_parameter volume_for_dry_film_outputs[] = {VOLUME_TO_MIX, {.name = NULL}};

static fettle_status volume_for_dry_film(const double *in, double *out, fettle_warnings *warnings,
                                         fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1] / (in[2] * in[3]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_coating_volume_for_dry_film = {
    .size = sizeof(fettle_formula),
    .name = "coating.volume_for_dry_film",
    .brief = "volume of paint for a dry film",
    .words = "amount of paint gallons litres",
    .text = "V = A * d / (S * e)",
    .source = "volume balance of solids; common practice, no source",
    .inputs = volume_for_dry_film_inputs,
    .outputs = volume_for_dry_film_outputs,
    .hazards = FETTLE_HAZARD_STYRENE | FETTLE_HAZARD_PEROXIDE | FETTLE_HAZARD_ISOCYANATE,
    .evaluate = volume_for_dry_film,
};

static const fettle_parameter coat_count_inputs[] = {
    DRY_FILM,
    {"wet_film_limit", "w_m", "um", "mil", "greatest wet film of one coat before it sags", 1, 5000,
     20, 1500, NAN, FETTLE_ROLE_ANY, 0},
    SOLIDS,
    THINNER,
    {.name = NULL}};
static const fettle_parameter coat_count_outputs[] = {{"coats", "n", "1", NULL, "number of coats",
                                                       -INFINITY, INFINITY, 0, 0, NAN,
                                                       FETTLE_ROLE_ANY, 0},
                                                      {.name = NULL}};

static fettle_status coat_count(const double *in, double *out, fettle_warnings *warnings,
                                fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = ceil(in[0] * (1 + in[3]) / (in[1] * in[2]) - COUNT_SLACK);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_coating_coat_count = {
    .size = sizeof(fettle_formula),
    .name = "coating.coat_count",
    .brief = "coats for a dry film under a wet limit",
    .words = "number of coats sag",
    .text = "n = ceil(d * (1 + x) / (w_m * S) - 1e-9)",
    .source = "count of equal coats; common practice, no source",
    .inputs = coat_count_inputs,
    .outputs = coat_count_outputs,
    .hazards = FETTLE_HAZARD_STYRENE | FETTLE_HAZARD_PEROXIDE,
    .evaluate = coat_count,
};

static const fettle_parameter film_after_sanding_inputs[] = {
    DRY_FILM,
    {"sanded_share", "s", "1", NULL, "share of the film that sanding takes", 0, 1, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter film_after_sanding_outputs[] = {{"film_left", "d_l", "um", "mil",
                                                               "film left", -INFINITY, INFINITY, 0,
                                                               0, NAN, FETTLE_ROLE_ANY, 0},
                                                              {.name = NULL}};

static fettle_status film_after_sanding(const double *in, double *out, fettle_warnings *warnings,
                                        fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * (1 - in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_coating_film_after_sanding = {
    .size = sizeof(fettle_formula),
    .name = "coating.film_after_sanding",
    .brief = "film left when sanding takes a share of it",
    .words = "primer surfacer left",
    .text = "d_l = d * (1 - s)",
    .source = "common practice, no source",
    .inputs = film_after_sanding_inputs,
    .outputs = film_after_sanding_outputs,
    .hazards = FETTLE_HAZARD_DUST,
    .evaluate = film_after_sanding,
};

static const fettle_parameter sanding_cycles_inputs[] = {
    DRY_FILM,
    {"kept_film", "d_k", "um", "mil", "film that must stay", 0, 5000, 0, 0, NAN, FETTLE_ROLE_ANY,
     0},
    {"sanded_film", "a", "um", "mil", "film that one cycle of sanding takes", 0.01, 2000, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter sanding_cycles_outputs[] = {
    {"cycles", "n", "1", NULL, "whole cycles that may be sanded", -INFINITY, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"film_left", "d_l", "um", "mil", "film left after them", -INFINITY, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

static fettle_status sanding_cycles(const double *in, double *out, fettle_warnings *warnings,
                                    fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (in[1] > in[0]) {
    return fettle_fail_above(diagnostic, &sanding_cycles_inputs[1], in[1], "dry_film", in[0]);
  }
  out[0] = floor((in[0] - in[1]) / in[2] + COUNT_SLACK);
  out[1] = in[0] - out[0] * in[2];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_coating_sanding_cycles = {
    .size = sizeof(fettle_formula),
    .name = "coating.sanding_cycles",
    .brief = "sanding cycles before the film is thinner than must stay",
    .words = "rub through primer film left",
    .text = "n = floor((d - d_k) / a + 1e-9); d_l = d - n * a",
    .source = "common practice, no source",
    .inputs = sanding_cycles_inputs,
    .outputs = sanding_cycles_outputs,
    .hazards = FETTLE_HAZARD_DUST,
    .evaluate = sanding_cycles,
};

static const fettle_parameter spray_time_inputs[] = {
    VOLUME_OF_MIX,
    {"gun_rate", "Q", "L/min", "gal/min", "volume that the gun sprays in a time", 1e-4, 100, 0, 0,
     NAN, FETTLE_ROLE_ANY, 0},
    {"handling_time", "t_h", "min", NULL, "time to mix, load and clean beside the spraying", 0, 600,
     0, 0, 0, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter spray_time_outputs[] = {{"time", "t", "min", NULL,
                                                       "time that the pot must last", -INFINITY,
                                                       INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
                                                      {.name = NULL}};

static fettle_status spray_time(const double *in, double *out, fettle_warnings *warnings,
                                fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / in[1] + in[2];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_coating_spray_time = {
    .size = sizeof(fettle_formula),
    .name = "coating.spray_time",
    .brief = "time from mixing to an empty gun",
    .words = "pot life needed gun rate",
    .text = "t = V / Q + t_h",
    .source = "common practice, no source",
    .inputs = spray_time_inputs,
    .outputs = spray_time_outputs,
    .hazards = FETTLE_HAZARD_STYRENE | FETTLE_HAZARD_PEROXIDE,
    .evaluate = spray_time,
};

static const fettle_parameter mix_mass_inputs[] = {VOLUME_OF_MIX,
                                                   {"density", "rho", "kg/L", "lb/gal",
                                                    "density of the mix", 0.2, 5, 0.6, 2.5, NAN,
                                                    FETTLE_ROLE_ANY, 0},
                                                   {.name = NULL}};
static const fettle_parameter mix_mass_outputs[] = {{"mass", "m", "kg", "lb", "mass of the mix",
                                                     -INFINITY, INFINITY, 0, 0, NAN,
                                                     FETTLE_ROLE_ANY, 0},
                                                    {.name = NULL}};

static fettle_status mix_mass(const double *in, double *out, fettle_warnings *warnings,
                              fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_coating_mix_mass = {
    .size = sizeof(fettle_formula),
    .name = "coating.mix_mass",
    .brief = "mass of a volume of mix",
    .words = "weigh density pounds per gallon",
    .text = "m = V * rho",
    .source = "definition of density",
    .inputs = mix_mass_inputs,
    .outputs = mix_mass_outputs,
    .hazards = FETTLE_HAZARD_STYRENE | FETTLE_HAZARD_PEROXIDE,
    .evaluate = mix_mass,
};
