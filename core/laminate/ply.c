/* laminate/ply.c - thickness, shares, mass, cloth and resin of plies. All in SI. */
#include <math.h>

#include "fettle/formula.h"

/* Parameters that several calculations share. */
#define AREAL_MASS                                                                                 \
  {                                                                                                \
    "areal_mass", "w", "g/m^2", "oz/yd^2", "mass of dry fibre on an area, one ply", 1, 5000, 20,   \
        2500, NAN, FETTLE_ROLE_ANY, 0                                                              \
  }
#define FIBRE_WEIGHT_SHARE                                                                         \
  {                                                                                                \
    "fibre_weight_share", "W_f", "1", NULL, "share of fibre in the weight of the laminate", 0.05,  \
        0.95, 0.2, 0.75, NAN, FETTLE_ROLE_ANY, 0                                                   \
  }
#define FIBRE_DENSITY                                                                              \
  {                                                                                                \
    "fibre_density", "rho_f", "g/cm^3", "g/cm^3", "density of the fibre itself", 0.5, 20, 1.3,     \
        2.8, 2.54, FETTLE_ROLE_ANY, 0                                                              \
  }
#define RESIN_DENSITY                                                                              \
  {                                                                                                \
    "resin_density", "rho_m", "g/cm^3", "g/cm^3", "density of the cured resin", 0.5, 5, 1.0, 1.4,  \
        1.20, FETTLE_ROLE_ANY, 0                                                                   \
  }
#define THICKNESS                                                                                  \
  {                                                                                                \
    "thickness", "t", "mm", "in", "thickness of the ply", -INFINITY, INFINITY, 0, 0, NAN,          \
        FETTLE_ROLE_ANY, 0                                                                         \
  }
#define FIBRE_VOLUME_SHARE                                                                         \
  {                                                                                                \
    "fibre_volume_share", "V_f", "1", NULL, "share of fibre in the volume of the laminate", 0.02,  \
        0.9, 0.1, 0.65, NAN, FETTLE_ROLE_ANY, 0                                                    \
  }
#define AREA                                                                                       \
  { "area", "A", "m^2", "ft^2", "area to be covered", 1e-4, 1e5, 0, 0, NAN, FETTLE_ROLE_ANY, 0 }
#define WASTE                                                                                      \
  { "waste", "q", "1", NULL, "resin added for waste", 0, 2, 0, 0.3, 0, FETTLE_ROLE_ANY, 0 }
#define MASS                                                                                       \
  {                                                                                                \
    "mass", "m", "g", "g", "mass of mixed glue", -INFINITY, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY,  \
        0                                                                                          \
  }

/* A width that is a whole number of strips may miss it by some bits. */
static const double COUNT_SLACK = 1e-9; /* of one strip; common practice in counting, no source */

static const fettle_parameter ply_thickness_inputs[] = {
    AREAL_MASS, FIBRE_WEIGHT_SHARE, FIBRE_DENSITY, RESIN_DENSITY, {.name = NULL}};
static const fettle_parameter ply_thickness_outputs[] = {THICKNESS, {.name = NULL}};

static fettle_status ply_thickness(const double *in, double *out, fettle_warnings *warnings,
                                   fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / in[2] + in[0] * (1 - in[1]) / (in[1] * in[3]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_laminate_ply_thickness = {
    .size = sizeof(fettle_formula),
    .name = "laminate.ply_thickness",
    .brief = "thickness of a ply from its fibre weight share",
    .words = "mat glass content build wet-out",
    .text = "t = w / rho_f + w * (1 - W_f) / (W_f * rho_m)",
    .notes =
        "Without voids. The presets are E-glass and polyester or epoxy; carbon is near 1.8 g/cm^3.",
    .source = "small-craft scantling standard, thickness from glass content (from memory)",
    .inputs = ply_thickness_inputs,
    .outputs = ply_thickness_outputs,
    .evaluate = ply_thickness,
};

static const fettle_parameter ply_thickness_by_volume_inputs[] = {
    AREAL_MASS, FIBRE_VOLUME_SHARE, FIBRE_DENSITY, {.name = NULL}};
static const fettle_parameter ply_thickness_by_volume_outputs[] = {THICKNESS, {.name = NULL}};

static fettle_status ply_thickness_by_volume(const double *in, double *out,
                                             fettle_warnings *warnings,
                                             fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / (in[2] * in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_laminate_ply_thickness_by_volume = {
    .size = sizeof(fettle_formula),
    .name = "laminate.ply_thickness_by_volume",
    .brief = "thickness of a ply from its fibre volume share",
    .words = "vf build",
    .text = "t = w / (rho_f * V_f)",
    .source = "R. M. Jones, Mechanics of Composite Materials (from memory)",
    .inputs = ply_thickness_by_volume_inputs,
    .outputs = ply_thickness_by_volume_outputs,
    .evaluate = ply_thickness_by_volume,
};

static const fettle_parameter fibre_volume_share_inputs[] = {
    FIBRE_WEIGHT_SHARE, FIBRE_DENSITY, RESIN_DENSITY, {.name = NULL}};
static const fettle_parameter fibre_volume_share_outputs[] = {
    {"fibre_volume_share", "V_f", "1", NULL, "share of fibre by volume", -INFINITY, INFINITY, 0, 0,
     NAN, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

static fettle_status fibre_volume_share(const double *in, double *out, fettle_warnings *warnings,
                                        fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  const double fibre = in[0] / in[1];
  out[0] = fibre / (fibre + (1 - in[0]) / in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_laminate_fibre_volume_share = {
    .size = sizeof(fettle_formula),
    .name = "laminate.fibre_volume_share",
    .brief = "fibre share by volume from that by weight",
    .words = "vf volume fraction fiber",
    .text = "V_f = W_f / rho_f / (W_f / rho_f + (1 - W_f) / rho_m)",
    .source = "rule of mixtures without voids; R. M. Jones, Mechanics of Composite Materials (from "
              "memory)",
    .inputs = fibre_volume_share_inputs,
    .outputs = fibre_volume_share_outputs,
    .inverse = "laminate.fibre_weight_share",
    .evaluate = fibre_volume_share,
};

static const fettle_parameter fibre_weight_share_inputs[] = {
    FIBRE_VOLUME_SHARE, FIBRE_DENSITY, RESIN_DENSITY, {.name = NULL}};
static const fettle_parameter fibre_weight_share_outputs[] = {
    {"fibre_weight_share", "W_f", "1", NULL, "share of fibre by weight", -INFINITY, INFINITY, 0, 0,
     NAN, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

static fettle_status fibre_weight_share(const double *in, double *out, fettle_warnings *warnings,
                                        fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  const double fibre = in[0] * in[1];
  out[0] = fibre / (fibre + (1 - in[0]) * in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_laminate_fibre_weight_share = {
    .size = sizeof(fettle_formula),
    .name = "laminate.fibre_weight_share",
    .brief = "fibre share by weight from that by volume",
    .words = "wf weight fraction fiber glass content",
    .text = "W_f = V_f * rho_f / (V_f * rho_f + (1 - V_f) * rho_m)",
    .source = "rule of mixtures without voids; R. M. Jones, Mechanics of Composite Materials (from "
              "memory)",
    .inputs = fibre_weight_share_inputs,
    .outputs = fibre_weight_share_outputs,
    .inverse = "laminate.fibre_volume_share",
    .evaluate = fibre_weight_share,
};

static const fettle_parameter density_inputs[] = {
    FIBRE_VOLUME_SHARE, FIBRE_DENSITY, RESIN_DENSITY, {.name = NULL}};
static const fettle_parameter density_outputs[] = {{"density", "rho", "g/cm^3", "g/cm^3",
                                                    "density of the laminate", -INFINITY, INFINITY,
                                                    0, 0, NAN, FETTLE_ROLE_ANY, 0},
                                                   {.name = NULL}};

static fettle_status density(const double *in, double *out, fettle_warnings *warnings,
                             fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1] + (1 - in[0]) * in[2];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_laminate_density = {
    .size = sizeof(fettle_formula),
    .name = "laminate.density",
    .brief = "density of a laminate without voids",
    .words = "specific gravity",
    .text = "rho = V_f * rho_f + (1 - V_f) * rho_m",
    .source = "rule of mixtures without voids; R. M. Jones, Mechanics of Composite Materials (from "
              "memory)",
    .inputs = density_inputs,
    .outputs = density_outputs,
    .evaluate = density,
};

static const fettle_parameter areal_mass_inputs[] = {
    AREAL_MASS, FIBRE_WEIGHT_SHARE, {.name = NULL}};
static const fettle_parameter areal_mass_outputs[] = {
    {"laminate", "m", "g/m^2", "oz/yd^2", "mass of the wetted ply on an area", -INFINITY, INFINITY,
     0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"resin", "m_r", "g/m^2", "oz/yd^2", "mass of resin on an area", -INFINITY, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

static fettle_status areal_mass(const double *in, double *out, fettle_warnings *warnings,
                                fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / in[1];
  out[1] = in[0] * (1 - in[1]) / in[1];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_laminate_areal_mass = {
    .size = sizeof(fettle_formula),
    .name = "laminate.areal_mass",
    .brief = "mass of laminate and of resin on an area of a ply",
    .words = "resin per area weight",
    .text = "m = w / W_f; m_r = w * (1 - W_f) / W_f",
    .source = "mass balance; common practice, no source",
    .inputs = areal_mass_inputs,
    .outputs = areal_mass_outputs,
    .hazards = FETTLE_HAZARD_EXOTHERM | FETTLE_HAZARD_AMINE,
    .evaluate = areal_mass,
};

static const fettle_parameter cloth_mass_inputs[] = {
    AREA,
    {"plies", "n", "1", NULL, "number of plies", 1, 1000, 0, 0, 1, FETTLE_ROLE_ANY, 1},
    AREAL_MASS,
    {"overlap_share", "o", "1", NULL, "cloth added for overlaps and trim", 0, 2, 0, 0.5, 0,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter cloth_mass_outputs[] = {{"cloth_mass", "m_c", "g", "g",
                                                       "mass of cloth, overlaps with it", -INFINITY,
                                                       INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
                                                      {.name = NULL}};

static fettle_status cloth_mass(const double *in, double *out, fettle_warnings *warnings,
                                fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1] * in[2] * (1 + in[3]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_laminate_cloth_mass = {
    .size = sizeof(fettle_formula),
    .name = "laminate.cloth_mass",
    .brief = "mass of the cloth of some plies",
    .words = "glass carbon weight cut",
    .text = "m_c = A * n * w * (1 + o)",
    .source = "common practice, no source",
    .inputs = cloth_mass_inputs,
    .outputs = cloth_mass_outputs,
    .evaluate = cloth_mass,
};

static const fettle_parameter resin_mass_inputs[] = {
    {"cloth_mass", "m_c", "g", "g", "mass of cloth as weighed", 0.001, 1e8, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"resin_ratio", "r", "1", NULL, "mixed resin for each part of cloth by weight", 0.1, 10, 0.4, 3,
     1, FETTLE_ROLE_ANY, 0},
    WASTE,
    {.name = NULL}};
static const fettle_parameter resin_mass_outputs[] = {{"resin_mass", "m_r", "g", "g",
                                                       "mass of mixed resin", -INFINITY, INFINITY,
                                                       0, 0, NAN, FETTLE_ROLE_ANY, 0},
                                                      {.name = NULL}};

static fettle_status resin_mass(const double *in, double *out, fettle_warnings *warnings,
                                fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1] * (1 + in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_laminate_resin_mass = {
    .size = sizeof(fettle_formula),
    .name = "laminate.resin_mass",
    .brief = "mixed resin for a weighed cloth",
    .words = "batch wet-out how much resin",
    .text = "m_r = m_c * r * (1 + q)",
    .notes = "Weigh the cloth that is cut, not the catalogue. An ounce here is of weight: a fluid "
             "ounce of resin weighs about 15 % more.",
    .source = "common practice, no source",
    .inputs = resin_mass_inputs,
    .outputs = resin_mass_outputs,
    .hazards = FETTLE_HAZARD_EXOTHERM | FETTLE_HAZARD_AMINE,
    .evaluate = resin_mass,
};

static const fettle_parameter glue_mass_inputs[] = {AREA,
                                                    {"spread", "w", "g/m^2", "g/m^2",
                                                     "mass of glue on an area", 1, 5000, 50, 1000,
                                                     NAN, FETTLE_ROLE_ANY, 0},
                                                    WASTE,
                                                    {.name = NULL}};
static const fettle_parameter glue_mass_outputs[] = {MASS, {.name = NULL}};

static fettle_status glue_mass(const double *in, double *out, fettle_warnings *warnings,
                               fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1] * (1 + in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_laminate_glue_mass = {
    .size = sizeof(fettle_formula),
    .name = "laminate.glue_mass",
    .brief = "mass of glue for a joint of some spread",
    .words = "adhesive foam bond bonding",
    .text = "m = A * w * (1 + q)",
    .source = "common practice, no source",
    .inputs = glue_mass_inputs,
    .outputs = glue_mass_outputs,
    .hazards = FETTLE_HAZARD_EXOTHERM | FETTLE_HAZARD_AMINE,
    .evaluate = glue_mass,
};

static const fettle_parameter glue_line_mass_inputs[] = {
    AREA,
    {"glue_thickness", "t", "mm", "in", "thickness of the glue line", 0.001, 20, 0.05, 3, NAN,
     FETTLE_ROLE_ANY, 0},
    {"density", "rho", "kg/L", "lb/gal", "density of the mix", 0.2, 5, 0.6, 2.5, NAN,
     FETTLE_ROLE_ANY, 0},
    WASTE,
    {.name = NULL}};
static const fettle_parameter glue_line_mass_outputs[] = {MASS, {.name = NULL}};

static fettle_status glue_line_mass(const double *in, double *out, fettle_warnings *warnings,
                                    fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1] * in[2] * (1 + in[3]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_laminate_glue_line_mass = {
    .size = sizeof(fettle_formula),
    .name = "laminate.glue_line_mass",
    .brief = "mass of glue for a joint of some thickness",
    .words = "adhesive bond line gap",
    .text = "m = A * t * rho * (1 + q)",
    .source = "common practice, no source",
    .inputs = glue_line_mass_inputs,
    .outputs = glue_line_mass_outputs,
    .hazards = FETTLE_HAZARD_EXOTHERM | FETTLE_HAZARD_AMINE,
    .evaluate = glue_line_mass,
};

static const fettle_parameter strips_inputs[] = {
    {"ply_width", "W", "m", "in", "width to be covered, across the roll", 0.001, 100, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"ply_length", "L", "m", "in", "length to be covered, along the roll", 0.001, 1000, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"roll_width", "b", "m", "in", "width of the roll", 0.01, 10, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
    {"lap", "o", "m", "in", "overlap of neighbouring strips", 0, 1, 0, 0, 0, FETTLE_ROLE_ANY, 0},
    {"end_trim", "c", "m", "in", "cloth beyond the part at each end of a strip", 0, 5, 0, 0, 0,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter strips_outputs[] = {
    {"strips", "n", "1", NULL, "number of strips", -INFINITY, INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY,
     0},
    {"cloth_area", "A", "m^2", "yd^2", "area of cloth taken off the roll", -INFINITY, INFINITY, 0,
     0, NAN, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

static fettle_status strips(const double *in, double *out, fettle_warnings *warnings,
                            fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (in[3] >= in[2]) {
    return fettle_fail_above(diagnostic, &strips_inputs[3], in[3], "roll_width", in[2]);
  }
  out[0] = fmax(1, ceil((in[0] - in[3]) / (in[2] - in[3]) - COUNT_SLACK));
  out[1] = out[0] * in[2] * (in[1] + 2 * in[4]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_laminate_strips = {
    .size = sizeof(fettle_formula),
    .name = "laminate.strips",
    .brief = "strips of a roll across a ply, and the cloth that they take",
    .words = "roll width overlap tape cut plan",
    .text = "n = max(1, ceil((W - o) / (b - o) - 1e-9)); A = n * b * (L + 2 * c)",
    .source = "geometry of overlapping strips; common practice, no source",
    .inputs = strips_inputs,
    .outputs = strips_outputs,
    .evaluate = strips,
};
