/* milling/time.c - passes, path length, motion time with acceleration and block rate. All in SI. */
#include "milling/milling.h"

#define MILLING_STEP_SLACK 1e-9 /* part of a step; 2.1 / 0.7 is above 3 in binary */

/* Whole steps that cover a length. At least one. */
static double milling_steps(double length, double step) {
  return fmax(ceil(length / step - MILLING_STEP_SLACK), 1);
}

/* Seconds from rest to rest. A move shorter than feed^2 / acceleration peaks below the feed. */
static double milling_move_time(double distance, double feed, double acceleration) {
  return distance >= feed * feed / acceleration ? distance / feed + feed / acceleration
                                                : 2 * sqrt(distance / acceleration);
}

static const fettle_parameter pass_count_inputs[] = {
    MILLING_INPUT("width", "W", "mm", "in", "width to be covered, square to the passes", 1e-06,
                  10000000.0, 0.1, 100000.0, MILLING_NO_PRESET),
    MILLING_STEPOVER, MILLING_END};
static const fettle_parameter pass_count_outputs[] = {
    MILLING_OUTPUT("passes", "n", "1", NULL, "number of passes"), MILLING_END};

static const fettle_constant pass_count_constants[] = {
    {.symbol = "tiny",
     .value = MILLING_STEP_SLACK,
     .unit = "1",
     .meaning = "rounding of the division that is no further step",
     .source = "rounding of binary numbers"},
    {.symbol = NULL}};

static fettle_status pass_count(const double *in, double *out, fettle_warnings *warnings,
                                fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = milling_steps(in[0], in[1]) + 1;
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_pass_count = {
    .size = sizeof(fettle_formula),
    .name = "milling.pass_count",
    .brief = "number of raster passes over a width, both edges cut",
    .words = "passes raster lines strokes",
    .text = "n = max(ceil(W / s - tiny), 1) + 1",
    .notes = "One more than the number of steps: the first and the last pass lie on the edges. The "
             "true step is width / (passes - 1). A width that is a whole number of steps is not "
             "given one more for the rounding of the division.",
    .source = "common practice, no source",
    .inputs = pass_count_inputs,
    .outputs = pass_count_outputs,
    .constants = pass_count_constants,
    .evaluate = pass_count,
};

static const fettle_parameter even_stepover_inputs[] = {
    MILLING_INPUT("width", "W", "mm", "in", "width to be covered, square to the passes", 1e-06,
                  10000000.0, 0.1, 100000.0, MILLING_NO_PRESET),
    MILLING_STEPOVER, MILLING_END};
static const fettle_parameter even_stepover_outputs[] = {
    MILLING_OUTPUT("even_stepover", "e", "mm", "in", "true distance between passes"), MILLING_END};

static const fettle_constant even_stepover_constants[] = {
    {.symbol = "tiny",
     .value = MILLING_STEP_SLACK,
     .unit = "1",
     .meaning = "rounding of the division that is no further step",
     .source = "rounding of binary numbers"},
    {.symbol = NULL}};

static fettle_status even_stepover(const double *in, double *out, fettle_warnings *warnings,
                                   fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / milling_steps(in[0], in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_even_stepover = {
    .size = sizeof(fettle_formula),
    .name = "milling.even_stepover",
    .brief = "stepover that divides a width evenly, not above a wanted one",
    .words = "stepover equal passes raster",
    .text = "i = max(ceil(W / s - tiny), 1); e = W / i",
    .source = "common practice, no source",
    .inputs = even_stepover_inputs,
    .outputs = even_stepover_outputs,
    .constants = even_stepover_constants,
    .evaluate = even_stepover,
};

static const fettle_parameter raster_path_length_inputs[] = {
    MILLING_INPUT("area", "A", "cm^2", "in^2", "area in plan", 1e-06, 10000000000.0, 0.1,
                  10000000.0, MILLING_NO_PRESET),
    MILLING_STEPOVER, MILLING_SLOPE_TO(0, 89.9, 0), MILLING_PATH_AZIMUTH, MILLING_END};
static const fettle_parameter raster_path_length_outputs[] = {
    MILLING_OUTPUT("path_length", "L", "m", "in", "length of path"), MILLING_END};

static fettle_status raster_path_length(const double *in, double *out, fettle_warnings *warnings,
                                        fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / in[1] * hypot(1, tan(in[2]) * cos(in[3]));
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_raster_path_length = {
    .size = sizeof(fettle_formula),
    .name = "milling.raster_path_length",
    .brief = "length of the passes of a raster over an area",
    .words = "toolpath length path inches",
    .text = "L = A / s * sqrt(1 + (tan(theta) * cos(phi))^2)",
    .notes = "The area and the stepover in plan, one slope; sum over areas of different slope. "
             "Links and edges come on top.",
    .source = "plane geometry: parallel lines projected onto a sloping plane",
    .inputs = raster_path_length_inputs,
    .outputs = raster_path_length_outputs,
    .evaluate = raster_path_length,
};

static const fettle_parameter distance_to_reach_feed_inputs[] = {MILLING_TABLE_FEED,
                                                                 MILLING_ACCELERATION, MILLING_END};
static const fettle_parameter distance_to_reach_feed_outputs[] = {
    MILLING_OUTPUT("distance", "l", "mm", "in", "distance from rest to the feed"), MILLING_END};

static fettle_status distance_to_reach_feed(const double *in, double *out,
                                            fettle_warnings *warnings,
                                            fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[0] / (2 * in[1]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_distance_to_reach_feed = {
    .size = sizeof(fettle_formula),
    .name = "milling.distance_to_reach_feed",
    .brief = "distance to reach the feed from rest",
    .words = "acceleration distance run up",
    .text = "l = v^2 / (2 * a)",
    .notes = "As much again to stop.",
    .source = "equations of even acceleration",
    .inputs = distance_to_reach_feed_inputs,
    .outputs = distance_to_reach_feed_outputs,
    .evaluate = distance_to_reach_feed,
};

static const fettle_parameter move_time_inputs[] = {
    MILLING_INPUT("distance", "L", "mm", "in", "length of the move", 1e-06, 1000000000000.0, 0.01,
                  1000000000.0, MILLING_NO_PRESET),
    MILLING_TABLE_FEED, MILLING_ACCELERATION, MILLING_END};
static const fettle_parameter move_time_outputs[] = {
    MILLING_OUTPUT("move_time", "t", "s", NULL, "time of the move"), MILLING_END};

static fettle_status move_time(const double *in, double *out, fettle_warnings *warnings,
                               fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = milling_move_time(in[0], in[1], in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_move_time = {
    .size = sizeof(fettle_formula),
    .name = "milling.move_time",
    .brief = "time of one straight move from rest to rest",
    .words = "trapezoid triangle acceleration move",
    .text = "t = choose(L >= v^2 / a, L / v + v / a, 2 * sqrt(L / a))",
    .notes = "Starts and ends at rest, as a raster does at each reversal. Moves shorter than v^2 / "
             "a never reach the feed.",
    .source = "equations of even acceleration",
    .inputs = move_time_inputs,
    .outputs = move_time_outputs,
    .evaluate = move_time,
};

static const fettle_parameter run_time_inputs[] = {
    MILLING_INPUT("path_length", "L", "mm", "in", "length of path, all passes together", 1e-06,
                  1000000000000.0, 0.01, 1000000000.0, MILLING_NO_PRESET),
    MILLING_TABLE_FEED, MILLING_ACCELERATION,
    MILLING_COUNT("passes", "n", "number of passes, each from rest to rest", 1, 1e9, 1, 1e6),
    MILLING_END};
static const fettle_parameter run_time_outputs[] = {
    MILLING_OUTPUT("run_time", "t", "min", NULL, "time of the run"), MILLING_END};

static fettle_status run_time(const double *in, double *out, fettle_warnings *warnings,
                              fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[3] * milling_move_time(in[0] / in[3], in[1], in[2]);
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_run_time = {
    .size = sizeof(fettle_formula),
    .name = "milling.run_time",
    .brief = "time of a path of equal passes with a stop at each end",
    .words = "machine time cycle time reversals finish hours",
    .text = "l = L / n; t = n * choose(l >= v^2 / a, l / v + v / a, 2 * sqrt(l / a))",
    .notes =
        "Starts and ends at rest, as a raster does at each reversal. Moves shorter than v^2 / a "
        "never reach the feed. Longer passes cost v / a each on top of path_length / table_feed.",
    .source = "equations of even acceleration",
    .inputs = run_time_inputs,
    .outputs = run_time_outputs,
    .hazards = FETTLE_HAZARD_UNATTENDED,
    .evaluate = run_time,
};

static const fettle_parameter raster_time_inputs[] = {
    MILLING_INPUT("length", "L", "mm", "in", "length of one pass", 1e-06, 1000000000000.0, 0.01,
                  1000000000.0, MILLING_NO_PRESET),
    MILLING_INPUT("width", "W", "mm", "in", "width to be covered, square to the passes", 1e-06,
                  10000000.0, 0.1, 100000.0, MILLING_NO_PRESET),
    MILLING_STEPOVER,
    MILLING_TABLE_FEED,
    MILLING_ACCELERATION,
    MILLING_END};
static const fettle_parameter raster_time_outputs[] = {
    MILLING_OUTPUT("run_time", "t", "min", NULL, "time of the run"),
    MILLING_OUTPUT("passes", "n", "1", NULL, "number of passes"),
    MILLING_OUTPUT("path_length", "P", "m", "in", "length of passes and links"), MILLING_END};

static const fettle_constant raster_time_constants[] = {
    {.symbol = "tiny",
     .value = MILLING_STEP_SLACK,
     .unit = "1",
     .meaning = "rounding of the division that is no further step",
     .source = "rounding of binary numbers"},
    {.symbol = NULL}};

static fettle_status raster_time(const double *in, double *out, fettle_warnings *warnings,
                                 fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  double steps = milling_steps(in[1], in[2]);
  double even = in[1] / steps;
  out[0] = (steps + 1) * milling_move_time(in[0], in[3], in[4]) +
           steps * milling_move_time(even, in[3], in[4]);
  out[1] = steps + 1;
  out[2] = (steps + 1) * in[0] + steps * even;
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_raster_time = {
    .size = sizeof(fettle_formula),
    .name = "milling.raster_time",
    .brief = "time of a zig-zag raster over a rectangle, links counted",
    .words = "machine time cycle time finish hours zigzag",
    .text = "n = max(ceil(W / s - tiny), 1) + 1; e = W / (n - 1); P = n * L + (n - 1) * e; t = n * "
            "choose(L >= v^2 / a, L / v + v / a, 2 * sqrt(L / a)) + (n - 1) * choose(e >= v^2 / a, "
            "e / v + v / a, 2 * sqrt(e / a))",
    .notes = "Stops at both ends of each pass and of each link. The passes are spread evenly, both "
             "edges cut.",
    .source = "equations of even acceleration",
    .inputs = raster_time_inputs,
    .outputs = raster_time_outputs,
    .constants = raster_time_constants,
    .hazards = FETTLE_HAZARD_UNATTENDED,
    .evaluate = raster_time,
};

static const fettle_parameter block_rate_inputs[] = {
    MILLING_TABLE_FEED,
    MILLING_INPUT("segment_length", "l", "mm", "in",
                  "length of one straight segment of the program", 1e-06, 1000000000000.0, 0.01,
                  1000000000.0, MILLING_NO_PRESET),
    MILLING_END};
static const fettle_parameter block_rate_outputs[] = {
    MILLING_OUTPUT("block_rate", "b", "1/s", NULL, "blocks in a second"), MILLING_END};

static fettle_status block_rate(const double *in, double *out, fettle_warnings *warnings,
                                fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] / in[1];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_block_rate = {
    .size = sizeof(fettle_formula),
    .name = "milling.block_rate",
    .brief = "program blocks that a control must read in a second",
    .words = "blocks per second look-ahead segment data starved",
    .text = "b = v / l",
    .notes = "A control that reads fewer slows the feed down.",
    .source = "definition of a rate",
    .inputs = block_rate_inputs,
    .outputs = block_rate_outputs,
    .inverse = "milling.feed_for_block_rate",
    .evaluate = block_rate,
};

static const fettle_parameter feed_for_block_rate_inputs[] = {
    MILLING_INPUT("block_rate", "b", "1/s", NULL, "blocks that the control reads in a second",
                  0.001, 10000000.0, 10, 100000.0, MILLING_NO_PRESET),
    MILLING_INPUT("segment_length", "l", "mm", "in",
                  "length of one straight segment of the program", 1e-06, 1000000000000.0, 0.01,
                  1000000000.0, MILLING_NO_PRESET),
    MILLING_END};
static const fettle_parameter feed_for_block_rate_outputs[] = {
    MILLING_OUTPUT("table_feed", "v", "mm/min", "in/min", "greatest feed along the path"),
    MILLING_END};

static fettle_status feed_for_block_rate(const double *in, double *out, fettle_warnings *warnings,
                                         fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = in[0] * in[1];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_feed_for_block_rate = {
    .size = sizeof(fettle_formula),
    .name = "milling.feed_for_block_rate",
    .brief = "greatest feed that a control's block rate allows",
    .words = "blocks per second feed cap segment data starved",
    .text = "v = b * l",
    .source = "definition of a rate",
    .inputs = feed_for_block_rate_inputs,
    .outputs = feed_for_block_rate_outputs,
    .inverse = "milling.block_rate",
    .evaluate = feed_for_block_rate,
};

static const fettle_parameter program_size_inputs[] = {
    MILLING_INPUT("path_length", "L", "mm", "in", "length of path", 1e-06, 1000000000000.0, 0.01,
                  1000000000.0, MILLING_NO_PRESET),
    MILLING_INPUT("segment_length", "l", "mm", "in",
                  "length of one straight segment of the program", 1e-06, 1000000000000.0, 0.01,
                  1000000000.0, MILLING_NO_PRESET),
    MILLING_INPUT("bytes_per_block", "k", "1", NULL,
                  "characters of one block, its line end counted", 1, 1000, 8, 100, 30),
    MILLING_END};
static const fettle_parameter program_size_outputs[] = {
    MILLING_OUTPUT("blocks", "N", "1", NULL, "number of blocks"),
    MILLING_OUTPUT("bytes", "B", "1", NULL, "size of the program in bytes"), MILLING_END};

static const fettle_constant program_size_constants[] = {
    {.symbol = "tiny",
     .value = MILLING_STEP_SLACK,
     .unit = "1",
     .meaning = "rounding of the division that is no further block",
     .source = "rounding of binary numbers"},
    {.symbol = NULL}};

static fettle_status program_size(const double *in, double *out, fettle_warnings *warnings,
                                  fettle_diagnostic *diagnostic) {
  (void)warnings;
  (void)diagnostic;
  out[0] = milling_steps(in[0], in[1]);
  out[1] = out[0] * in[2];
  return FETTLE_OK;
}

const fettle_formula fettle_formula_milling_program_size = {
    .size = sizeof(fettle_formula),
    .name = "milling.program_size",
    .brief = "number of blocks and size of a program of straight segments",
    .words = "blocks file size lines megabytes",
    .text = "N = max(ceil(L / l - tiny), 1); B = N * k",
    .source = "common practice, no source",
    .inputs = program_size_inputs,
    .outputs = program_size_outputs,
    .constants = program_size_constants,
    .evaluate = program_size,
};
