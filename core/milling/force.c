/* milling/force.c - power, torque, force and bending of a tool. All in SI. */
#include "milling/milling.h"

static const fettle_parameter cutting_power_inputs[] = {
    MILLING_INPUT("specific_energy", "u", "N/mm^2", "hp min/in^3",
                  "work to remove a volume (specific cutting force)", 1e-06, 100000.0, 0.1, 8000,
                  MILLING_NO_PRESET),
    MILLING_INPUT("removal_rate", "Q", "cm^3/min", "in^3/min", "volume removed in a time", 1e-09,
                  1000000000.0, 0.1, 100000.0, MILLING_NO_PRESET),
    MILLING_INPUT("drive_efficiency", "eta", "%", NULL,
                  "share of the motor's power that reaches the cutter", 1, 100, 50, 100, 100),
    MILLING_END};
static const fettle_parameter cutting_power_outputs[] = {
    MILLING_OUTPUT("power", "P", "kW", "hp", "power of the motor"), MILLING_END};

static fettle_status cutting_power(const double *in, double *out, fettle_warnings *warnings,
                                   fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1] / in[2];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_cutting_power = {
    .size = sizeof(fettle_formula),
    .name = "milling.cutting_power",
    .brief = "power that a cut draws",
    .words = "horsepower kilowatt unit power specific energy",
    .text = "P = u * Q / eta",
    .notes = "1 N/mm^2 is 1 J/cm^3. For foam, putty and tooling board no published figure is known "
             "to this catalogue: mark the value guessed.",
    .source = "B. E. Klamecki, University of Minnesota, machining power solution notes, 2001",
    .inputs = cutting_power_inputs,
    .outputs = cutting_power_outputs,
    .hazards = FETTLE_HAZARD_SPINDLE,
    .evaluate = cutting_power,
};

static const fettle_parameter spindle_torque_inputs[] = {
    MILLING_INPUT("power", "P", "kW", "hp", "power at the spindle", 1e-09, 100000.0, 0.001, 200,
                  MILLING_NO_PRESET),
    MILLING_SPINDLE_SPEED, MILLING_END};
static const fettle_parameter spindle_torque_outputs[] = {
    MILLING_OUTPUT("torque", "M", "N m", "lbf in", "torque at the spindle"), MILLING_END};

static fettle_status spindle_torque(const double *in, double *out, fettle_warnings *warnings,
                                    fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / (2 * MILLING_PI * in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_spindle_torque = {
    .size = sizeof(fettle_formula),
    .name = "milling.spindle_torque",
    .brief = "torque of the spindle at a power",
    .words = "moment horsepower kilowatt",
    .text = "M = P / (2 * pi * n)",
    .source = "Machinery's Handbook, 31st ed., machining power, p. 1152",
    .inputs = spindle_torque_inputs,
    .outputs = spindle_torque_outputs,
    .evaluate = spindle_torque,
};

static const fettle_parameter cutting_force_inputs[] = {
    MILLING_INPUT("power", "P", "kW", "hp", "power at the spindle", 1e-09, 100000.0, 0.001, 200,
                  MILLING_NO_PRESET),
    MILLING_INPUT("cutting_speed", "v_c", "m/min", "ft/min", "speed of the cutting edge", 1e-06,
                  100000.0, 1, 5000, MILLING_NO_PRESET),
    MILLING_END};
static const fettle_parameter cutting_force_outputs[] = {
    MILLING_OUTPUT("force", "F", "N", "lbf", "mean force on the cutting edge"), MILLING_END};

static fettle_status cutting_force(const double *in, double *out, fettle_warnings *warnings,
                                   fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / in[1];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_cutting_force = {
    .size = sizeof(fettle_formula),
    .name = "milling.cutting_force",
    .brief = "mean force along the cutting speed at a power",
    .words = "tangential force newton pound",
    .text = "F = P / v_c",
    .notes = "The mean over a turn; a single tooth peaks higher.",
    .source = "definition of power",
    .inputs = cutting_force_inputs,
    .outputs = cutting_force_outputs,
    .evaluate = cutting_force,
};

static const fettle_parameter tip_deflection_inputs[] = {
    MILLING_INPUT("force", "F", "N", "lbf", "force on the tip, square to the tool", 1e-09,
                  10000000.0, 0.1, 10000, MILLING_NO_PRESET),
    MILLING_INPUT("stick_out", "L", "mm", "in", "free length from holder to tip", 0.001, 100000.0,
                  1, 1000, MILLING_NO_PRESET),
    MILLING_INPUT("shank_diameter", "d", "mm", "in", "diameter of the round bar", 0.001, 2000, 0.2,
                  200, MILLING_NO_PRESET),
    MILLING_INPUT("modulus", "E", "GPa", "Msi",
                  "modulus of elasticity; carbide about 600, steel about 207 GPa (from memory)",
                  0.001, 2000, 1, 700, MILLING_NO_PRESET),
    MILLING_END};
static const fettle_parameter tip_deflection_outputs[] = {
    MILLING_OUTPUT("deflection", "delta", "mm", "thou", "movement of the tip"), MILLING_END};

static fettle_status tip_deflection(const double *in, double *out, fettle_warnings *warnings,
                                    fettle_diagnostic *diagnostic) {
  (void)diagnostic;
  double inertia = MILLING_PI * in[2] * in[2] * in[2] * in[2] / 64;
  out[0] = in[0] * in[1] * in[1] * in[1] / (3 * in[3] * inertia);
  if (milling_is_above(in[1], 8 * in[2])) { /* common practice, no source */
    fettle_warn(warnings, "stick_out",
                "the tool stands out more than 8 times its diameter: it chatters and bends");
  }
  if (out[0] > 0.1 * in[1]) { /* the equation of small bending is about 1 % off there */
    fettle_warn(warnings, "force",
                "the tip moves by more than a tenth of the stick_out: the formula is for small "
                "bending, and the tool breaks or stays bent");
  }
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_tip_deflection = {
    .size = sizeof(fettle_formula),
    .name = "milling.tip_deflection",
    .brief = "bending of a round tool under a force at its tip",
    .words = "deflection cantilever stick-out reach stiffness",
    .text = "I = pi * d^4 / 64; delta = F * L^3 / (3 * E * I)",
    .notes = "The bar alone; holder and spindle give as well. For a fluted cutter about 0.8 of its "
             "diameter counts.",
    .source = "L. Kops, D. T. Vo, Determination of the equivalent diameter of an end mill based on "
              "its compliance, CIRP Annals, 1990 (the 0.8); beam theory",
    .inputs = tip_deflection_inputs,
    .outputs = tip_deflection_outputs,
    .evaluate = tip_deflection,
};
