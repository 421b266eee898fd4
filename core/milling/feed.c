/* milling/feed.c - table feed, chip load, chip thinning, engagement and removal rate. All in SI. */
#include "milling/milling.h"

/* Greatest chip thickness over chip load, at a share of the diameter in the cut. */
static double milling_thinning(double share) {
  return share < 0.5 ? 2 * sqrt(share * (1 - share)) : 1;
}

static const fettle_parameter table_feed_inputs[] = {MILLING_CHIP_LOAD, MILLING_TEETH,
                                                     MILLING_SPINDLE_SPEED, MILLING_END};
static const fettle_parameter table_feed_outputs[] = {
    MILLING_OUTPUT("table_feed", "v", "mm/min", "in/min", "feed of the machine along the path"),
    MILLING_END};

static fettle_status table_feed(const double *in, double *out, fettle_warnings *warnings,
                                fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1] * in[2];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_table_feed = {
    .size = sizeof(fettle_formula),
    .name = "milling.table_feed",
    .brief = "feed of the machine for a chip load",
    .words = "feed rate ipm feedrate chipload",
    .text = "v = f_z * z * n",
    .source = "a milling speed and feed tip page with worked numbers",
    .inputs = table_feed_inputs,
    .outputs = table_feed_outputs,
    .hazards = FETTLE_HAZARD_SPINDLE | FETTLE_HAZARD_DUST,
    .inverse = "milling.chip_load",
    .evaluate = table_feed,
};

static const fettle_parameter chip_load_inputs[] = {MILLING_TABLE_FEED, MILLING_SPINDLE_SPEED,
                                                    MILLING_TEETH, MILLING_END};
static const fettle_parameter chip_load_outputs[] = {
    MILLING_OUTPUT("chip_load", "f_z", "mm", "in", "feed of the cutter for each tooth"),
    MILLING_END};

static fettle_status chip_load(const double *in, double *out, fettle_warnings *warnings,
                               fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / (in[1] * in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_chip_load = {
    .size = sizeof(fettle_formula),
    .name = "milling.chip_load",
    .brief = "feed for each tooth",
    .words = "chipload feed per tooth ipt fz",
    .text = "f_z = v / (z * n)",
    .notes = "A cutter that runs out by more than this cuts with one tooth alone.",
    .source = "a milling speed and feed tip page with worked numbers",
    .inputs = chip_load_inputs,
    .outputs = chip_load_outputs,
    .hazards = FETTLE_HAZARD_SPINDLE | FETTLE_HAZARD_DUST,
    .inverse = "milling.table_feed",
    .evaluate = chip_load,
};

static const fettle_parameter engagement_angle_inputs[] = {MILLING_CUTTER_DIAMETER,
                                                           MILLING_WIDTH_OF_CUT, MILLING_END};
static const fettle_parameter engagement_angle_outputs[] = {
    MILLING_OUTPUT("engagement_angle", "phi", "deg", NULL, "angle from entry to exit of a tooth"),
    MILLING_END};

static fettle_status engagement_angle(const double *in, double *out, fettle_warnings *warnings,
                                      fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (milling_is_above(in[1], in[0])) {
    return fettle_fail_above(diagnostic, &engagement_angle_inputs[1], in[1], "cutter_diameter",
                             in[0]);
  }
  out[0] = 2 * asin(sqrt(fmin(in[1] / in[0], 1)));
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_engagement_angle = {
    .size = sizeof(fettle_formula),
    .name = "milling.engagement_angle",
    .brief = "angle of the cutter's turn in which a tooth cuts",
    .words = "radial engagement arc of contact",
    .text = "phi = 2 * asin(sqrt(a_e / D))",
    .notes = "Straight cut; half a turn when the whole width cuts.",
    .source = "plane geometry of a circle",
    .inputs = engagement_angle_inputs,
    .outputs = engagement_angle_outputs,
    .evaluate = engagement_angle,
};

static const fettle_parameter chip_thickness_inputs[] = {
    MILLING_CHIP_LOAD, MILLING_CUTTER_DIAMETER, MILLING_WIDTH_OF_CUT,
    MILLING_INPUT("edge_angle", "kappa", "deg", NULL,
                  "angle of the cutting edge to the surface; 90 for a square shoulder", 1, 90, 0, 0,
                  90),
    MILLING_END};
static const fettle_parameter chip_thickness_outputs[] = {
    MILLING_OUTPUT("chip_thickness", "h", "mm", "in", "greatest thickness of the chip"),
    MILLING_END};

static fettle_status chip_thickness(const double *in, double *out, fettle_warnings *warnings,
                                    fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (milling_is_above(in[2], in[1])) {
    return fettle_fail_above(diagnostic, &chip_thickness_inputs[2], in[2], "cutter_diameter",
                             in[1]);
  }
  out[0] = in[0] * milling_thinning(in[2] / in[1]) * sin(in[3]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_chip_thickness = {
    .size = sizeof(fettle_formula),
    .name = "milling.chip_thickness",
    .brief = "greatest thickness of the chip, radial and edge-angle thinning counted",
    .words = "chip thinning radial axial lead angle hmax",
    .text = "u = a_e / D; c = choose(u < 0.5, 2 * sqrt(u * (1 - u)), 1); h = f_z * c * sin(kappa)",
    .notes = "The chip is as thick as the chip load only in a cut at least half the cutter wide, "
             "at a square edge.",
    .source = "plane geometry of a circle",
    .inputs = chip_thickness_inputs,
    .outputs = chip_thickness_outputs,
    .inverse = "milling.chip_load_for_thickness",
    .evaluate = chip_thickness,
};

static const fettle_parameter chip_load_for_thickness_inputs[] = {
    MILLING_INPUT("chip_thickness", "h", "mm", "in", "greatest thickness of the chip", 1e-07, 1000,
                  0.002, 3, MILLING_NO_PRESET),
    MILLING_CUTTER_DIAMETER, MILLING_WIDTH_OF_CUT,
    MILLING_INPUT("edge_angle", "kappa", "deg", NULL,
                  "angle of the cutting edge to the surface; 90 for a square shoulder", 1, 90, 0, 0,
                  90),
    MILLING_END};
static const fettle_parameter chip_load_for_thickness_outputs[] = {
    MILLING_OUTPUT("chip_load", "f_z", "mm", "in", "feed of the cutter for each tooth"),
    MILLING_END};

static fettle_status chip_load_for_thickness(const double *in, double *out,
                                             fettle_warnings *warnings,
                                             fettle_diagnostic *diagnostic) {
  if (milling_is_above(in[2], in[1])) {
    return fettle_fail_above(diagnostic, &chip_load_for_thickness_inputs[2], in[2],
                             "cutter_diameter", in[1]);
  }
  out[0] = in[0] / (milling_thinning(in[2] / in[1]) * sin(in[3]));
  if (in[2] < 0.02 * in[1]) { /* common practice, no source */
    fettle_warn(
        warnings, "width_of_cut",
        "the cut is narrower than 2 %% of the cutter_diameter: run-out rules the chip there, "
        "and a little more width makes this feed far too high");
  }
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_chip_load_for_thickness = {
    .size = sizeof(fettle_formula),
    .name = "milling.chip_load_for_thickness",
    .brief = "chip load that gives a wanted chip thickness in a narrow cut",
    .words = "chip thinning compensation radial axial lead angle",
    .text =
        "u = a_e / D; c = choose(u < 0.5, 2 * sqrt(u * (1 - u)), 1); f_z = h / (c * sin(kappa))",
    .notes = "Each thinning is counted once.",
    .source = "plane geometry of a circle",
    .inputs = chip_load_for_thickness_inputs,
    .outputs = chip_load_for_thickness_outputs,
    .hazards = FETTLE_HAZARD_SPINDLE | FETTLE_HAZARD_DUST,
    .inverse = "milling.chip_thickness",
    .evaluate = chip_load_for_thickness,
};

static const fettle_parameter radial_chip_thinning_inputs[] = {MILLING_CUTTER_DIAMETER,
                                                               MILLING_WIDTH_OF_CUT, MILLING_END};
static const fettle_parameter radial_chip_thinning_outputs[] = {
    MILLING_OUTPUT("thinning", "c", "1", NULL, "chip thickness over chip load"), MILLING_END};

static fettle_status radial_chip_thinning(const double *in, double *out, fettle_warnings *warnings,
                                          fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (milling_is_above(in[1], in[0])) {
    return fettle_fail_above(diagnostic, &radial_chip_thinning_inputs[1], in[1], "cutter_diameter",
                             in[0]);
  }
  out[0] = milling_thinning(in[1] / in[0]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_radial_chip_thinning = {
    .size = sizeof(fettle_formula),
    .name = "milling.radial_chip_thinning",
    .brief = "greatest chip thickness as a share of the chip load",
    .words = "chip thinning factor radial hmax",
    .text = "u = a_e / D; c = choose(u < 0.5, 2 * sqrt(u * (1 - u)), 1)",
    .notes = "1 from half of the diameter on.",
    .source = "plane geometry of a circle",
    .inputs = radial_chip_thinning_inputs,
    .outputs = radial_chip_thinning_outputs,
    .evaluate = radial_chip_thinning,
};

static const fettle_parameter ball_chip_thinning_inputs[] = {MILLING_CUTTER_DIAMETER,
                                                             MILLING_DEPTH_OF_CUT, MILLING_END};
static const fettle_parameter ball_chip_thinning_outputs[] = {
    MILLING_OUTPUT("feed_multiplier", "m", "1", NULL, "full diameter over effective diameter"),
    MILLING_END};

static fettle_status ball_chip_thinning(const double *in, double *out, fettle_warnings *warnings,
                                        fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / milling_chord(in[0] / 2, fmin(in[1], in[0] / 2));
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_ball_chip_thinning = {
    .size = sizeof(fettle_formula),
    .name = "milling.ball_chip_thinning",
    .brief = "feed multiplier of a ball cutter in a shallow cut",
    .words = "axial chip thinning feed factor ball nose",
    .text = "u = min(a_p, D / 2); m = D / (2 * sqrt(u * (D - u)))",
    .notes = "Multiply the chip load by it to keep the chip as thick as at full depth; 1 from half "
             "of the diameter on.",
    .source = "a cutter maker's data page, table of feed factors; plane geometry of a circle",
    .inputs = ball_chip_thinning_inputs,
    .outputs = ball_chip_thinning_outputs,
    .evaluate = ball_chip_thinning,
};

static const fettle_parameter mean_chip_thickness_inputs[] = {
    MILLING_CHIP_LOAD, MILLING_CUTTER_DIAMETER, MILLING_WIDTH_OF_CUT,
    MILLING_INPUT("edge_angle", "kappa", "deg", NULL,
                  "angle of the cutting edge to the surface; 90 for a square shoulder", 1, 90, 0, 0,
                  90),
    MILLING_END};
static const fettle_parameter mean_chip_thickness_outputs[] = {
    MILLING_OUTPUT("mean_chip_thickness", "h_m", "mm", "in", "mean thickness of the chip"),
    MILLING_END};

static fettle_status mean_chip_thickness(const double *in, double *out, fettle_warnings *warnings,
                                         fettle_diagnostic *diagnostic) {
  (void)warnings;
  if (milling_is_above(in[2], in[1])) {
    return fettle_fail_above(diagnostic, &mean_chip_thickness_inputs[2], in[2], "cutter_diameter",
                             in[1]);
  }
  double share = fmin(in[2] / in[1], 1);
  out[0] = in[0] * sin(in[3]) * share / asin(sqrt(share));
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_mean_chip_thickness = {
    .size = sizeof(fettle_formula),
    .name = "milling.mean_chip_thickness",
    .brief = "mean thickness of the chip over the arc of the cut",
    .words = "average chip thickness hm",
    .text = "phi = 2 * asin(sqrt(a_e / D)); h_m = f_z * sin(kappa) * 2 * a_e / (D * radians(phi))",
    .notes = "The short form f_z sqrt(a_e / D) is 0.9 % high at a twentieth of the diameter and 11 "
             "% at half of it.",
    .source = "mean of the chip thickness over the arc",
    .inputs = mean_chip_thickness_inputs,
    .outputs = mean_chip_thickness_outputs,
    .evaluate = mean_chip_thickness,
};

static const fettle_parameter removal_rate_inputs[] = {MILLING_WIDTH_OF_CUT, MILLING_DEPTH_OF_CUT,
                                                       MILLING_TABLE_FEED, MILLING_END};
static const fettle_parameter removal_rate_outputs[] = {
    MILLING_OUTPUT("removal_rate", "Q", "cm^3/min", "in^3/min", "volume removed in a time"),
    MILLING_END};

static fettle_status removal_rate(const double *in, double *out, fettle_warnings *warnings,
                                  fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1] * in[2];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_removal_rate = {
    .size = sizeof(fettle_formula),
    .name = "milling.removal_rate",
    .brief = "volume removed in a time",
    .words = "mrr material removal rate metal removal chip volume",
    .text = "Q = a_e * a_p * v",
    .source = "B. E. Klamecki, University of Minnesota, machining power solution notes, 2001",
    .inputs = removal_rate_inputs,
    .outputs = removal_rate_outputs,
    .hazards = FETTLE_HAZARD_SPINDLE | FETTLE_HAZARD_DUST,
    .evaluate = removal_rate,
};

static const fettle_parameter roughing_time_inputs[] = {
    MILLING_INPUT("volume", "V", "cm^3", "in^3", "volume to be removed", 1e-09, 1000000000000.0,
                  0.01, 100000000.0, MILLING_NO_PRESET),
    MILLING_INPUT("removal_rate", "Q", "cm^3/min", "in^3/min", "volume removed in a time", 1e-09,
                  1000000000.0, 0.1, 100000.0, MILLING_NO_PRESET),
    MILLING_INPUT("efficiency", "E", "%", NULL, "share of the time at the full rate", 0.1, 100, 20,
                  100, 100),
    MILLING_END};
static const fettle_parameter roughing_time_outputs[] = {
    MILLING_OUTPUT("roughing_time", "t", "min", NULL, "time in the cut"), MILLING_END};

static fettle_status roughing_time(const double *in, double *out, fettle_warnings *warnings,
                                   fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / (in[1] * in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_roughing_time = {
    .size = sizeof(fettle_formula),
    .name = "milling.roughing_time",
    .brief = "time to remove a volume",
    .words = "rough time hogging efficiency",
    .text = "t = V / (Q * E)",
    .notes = "Efficiency is the share of the time in which the cutter removes at the full rate.",
    .source = "definition of a rate",
    .inputs = roughing_time_inputs,
    .outputs = roughing_time_outputs,
    .hazards = FETTLE_HAZARD_UNATTENDED,
    .evaluate = roughing_time,
};
