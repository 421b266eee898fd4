/* Peroxide catalyst of polyester and vinyl ester resins, putties and gel coats. */
#include <math.h>

#include "fettle/formula.h"

static const fettle_parameter inputs[] = {
    {"resin_mass", "m_r", "g", "lb", "resin, putty or gel coat to catalyse", 0, INFINITY, 0, 0, NAN,
     FETTLE_ROLE_ANY, 0},
    {"peroxide_share", "p", "%", NULL, "peroxide on the resin by weight", 0, 10, 1, 2, NAN,
     FETTLE_ROLE_ANY, 0},
    {"peroxide_density", "rho", "g/mL", NULL, "density of the peroxide", 0.8, 1.5, 1.0, 1.2, NAN,
     FETTLE_ROLE_ANY, 0},
    {"least_share", "p_1", "%", NULL, "least share that the data sheet allows", 0, 10, 0, 0, 1,
     FETTLE_ROLE_ANY, 0},
    {"largest_share", "p_2", "%", NULL, "largest share that the data sheet allows", 0, 10, 0, 0, 4,
     FETTLE_ROLE_ANY, 0},
    {.name = NULL}};
static const fettle_parameter outputs[] = {{"peroxide_mass", "m", "g", NULL, "peroxide to weigh", 0,
                                            INFINITY, 0, 0, NAN, FETTLE_ROLE_ANY, 0},
                                           {"peroxide_volume", "V", "mL", NULL,
                                            "the same by volume", 0, INFINITY, 0, 0, NAN,
                                            FETTLE_ROLE_ANY, 0},
                                           {.name = NULL}};

static fettle_status peroxide(const double *in, double *out, fettle_warnings *warnings,
                              fettle_diagnostic *diagnostic) {
  (void)warnings;
  double slack = 1e-12; /* a share typed as 0.01 against one typed as 1 % */
  if (in[3] > in[4] + slack) {
    return fettle_fail_above(diagnostic, &inputs[3], in[3], "largest_share", in[4]);
  }
  if (in[1] < in[3] - slack) {
    return fettle_fail_below(diagnostic, &inputs[1], in[1], "least_share", in[3]);
  }
  if (in[1] > in[4] + slack) {
    return fettle_fail_above(diagnostic, &inputs[1], in[1], "largest_share", in[4]);
  }
  out[0] = in[1] * in[0];
  out[1] = out[0] / in[2];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_resin_peroxide = {
    .size = sizeof(fettle_formula),
    .name = "resin.peroxide",
    .brief = "peroxide catalyst to weigh or measure for a mass of resin",
    .words = "MEKP catalyst hardener polyester vinyl ester gel coat putty percent cc drops",
    .text = "m = p * m_r; V = m / rho",
    .notes = "The share is by weight and on the resin, not on the mix, unless the sheet says so. A "
             "catalyst has a range and no ratio: below about 1 % the resin never cures fully, and "
             "no warmth mends that; the hard limits are 1 and 4 % unless the data sheet's own are "
             "given. Use no less to gain time: cool the shop or make smaller pots. Peroxide never "
             "meets an accelerator undiluted: the mixture explodes.",
    .source = "ranges reported for polyester resins and gel coats, 1 to 4 %, hand lay-up 1 to 2 %: "
              "common practice, no source",
    .inputs = inputs,
    .outputs = outputs,
    .hazards = FETTLE_HAZARD_PEROXIDE | FETTLE_HAZARD_STYRENE | FETTLE_HAZARD_EXOTHERM,
    .evaluate = peroxide};
