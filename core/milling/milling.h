/* milling/milling.h - parameters and plane geometry that several milling topics share. */
#ifndef FETTLE_MILLING_MILLING_H
#define FETTLE_MILLING_MILLING_H

#include <math.h>
#include <stdbool.h>

#include "fettle/formula.h"

#define MILLING_PI 3.14159265358979323846

/* The caller must give it. The cast: clang counts NAN and INFINITY as float. */
#define MILLING_NO_PRESET ((double)NAN)

#define MILLING_END                                                                                \
  { .name = NULL }
#define MILLING_OUTPUT(name_, symbol_, unit_, inch_, meaning_)                                     \
  {                                                                                                \
    .name = (name_), .symbol = (symbol_), .unit = (unit_), .inch_unit = (inch_),                   \
    .meaning = (meaning_), .low = -(double)INFINITY, .high = (double)INFINITY,                     \
    .preset = MILLING_NO_PRESET                                                                    \
  }
#define MILLING_INPUT(name_, symbol_, unit_, inch_, meaning_, low_, high_, usual_low_,             \
                      usual_high_, preset_)                                                        \
  {                                                                                                \
    .name = (name_), .symbol = (symbol_), .unit = (unit_), .inch_unit = (inch_),                   \
    .meaning = (meaning_), .low = (low_), .high = (high_), .usual_low = (usual_low_),              \
    .usual_high = (usual_high_), .preset = (preset_)                                               \
  }
#define MILLING_COUNT(name_, symbol_, meaning_, low_, high_, usual_low_, usual_high_)              \
  {                                                                                                \
    .name = (name_), .symbol = (symbol_), .unit = "1", .meaning = (meaning_), .low = (low_),       \
    .high = (high_), .usual_low = (usual_low_), .usual_high = (usual_high_),                       \
    .preset = MILLING_NO_PRESET, .whole = 1                                                        \
  }

#define MILLING_CUTTER_DIAMETER                                                                    \
  MILLING_INPUT("cutter_diameter", "D", "mm", "in", "diameter of the cutter", 1e-3, 2000, 0.2,     \
                200, MILLING_NO_PRESET)
#define MILLING_CORNER_RADIUS(low_)                                                                \
  MILLING_INPUT("corner_radius", "r", "mm", "in", "radius of the cutter's corner", low_, 1000,     \
                low_, 50, MILLING_NO_PRESET)
#define MILLING_STEPOVER                                                                           \
  MILLING_INPUT("stepover", "s", "mm", "in",                                                       \
                "distance between neighbouring passes, in plan (square to the path, seen along "   \
                "the spindle)",                                                                    \
                1e-12, 1e6, 0.001, 100, MILLING_NO_PRESET)
#define MILLING_CHORD_STEPOVER                                                                     \
  MILLING_INPUT("stepover", "s", "mm", "in",                                                       \
                "straight distance between neighbouring passes' contact points on the surface",    \
                1e-12, 1e6, 0.001, 100, MILLING_NO_PRESET)
#define MILLING_SCALLOP_HEIGHT                                                                     \
  MILLING_INPUT("scallop_height", "h", "mm", "thou",                                               \
                "height of the ridge left between passes, square to the surface", 1e-15, 1000,     \
                1e-4, 2, MILLING_NO_PRESET)
#define MILLING_SLOPE_TO(low_, high_, preset_)                                                     \
  MILLING_INPUT("slope", "theta", "deg", NULL, "slope of the surface from the horizontal", low_,   \
                high_, 0, 0, preset_)
#define MILLING_SLOPE MILLING_SLOPE_TO(0, 90, 0)
#define MILLING_PATH_AZIMUTH                                                                       \
  MILLING_INPUT("path_azimuth", "phi", "deg", NULL,                                                \
                "direction of the path in plan: 0 straight up or down the slope, 90 along its "    \
                "contours",                                                                        \
                -360, 360, 0, 0, 0)
#define MILLING_TABLE_FEED                                                                         \
  MILLING_INPUT("table_feed", "v", "mm/min", "in/min", "feed of the machine along the path", 1e-6, \
                1e6, 10, 60000, MILLING_NO_PRESET)
#define MILLING_ACCELERATION                                                                       \
  MILLING_INPUT("acceleration", "a", "mm/s^2", "in/s^2",                                           \
                "acceleration of the machine along the "                                           \
                "path",                                                                            \
                1e-3, 1e6, 50, 20000, MILLING_NO_PRESET)
#define MILLING_SPINDLE_SPEED                                                                      \
  MILLING_INPUT("spindle_speed", "n", "rpm", NULL, "turning speed of the spindle", 1e-3, 1e6, 10,  \
                60000, MILLING_NO_PRESET)
#define MILLING_CHIP_LOAD                                                                          \
  MILLING_INPUT("chip_load", "f_z", "mm", "in", "feed of the cutter for each tooth", 1e-7, 1000,   \
                0.005, 3, MILLING_NO_PRESET)
#define MILLING_TEETH                                                                              \
  MILLING_COUNT("teeth", "z", "number of teeth (flutes) of the cutter", 1, 1000, 1, 40)
#define MILLING_WIDTH_OF_CUT                                                                       \
  MILLING_INPUT("width_of_cut", "a_e", "mm", "in",                                                 \
                "width of engagement, square to the cutter's axis and the feed", 1e-9, 2000, 0.01, \
                200, MILLING_NO_PRESET)
#define MILLING_DEPTH_OF_CUT                                                                       \
  MILLING_INPUT("depth_of_cut", "a_p", "mm", "in", "depth of cut along the cutter's axis", 1e-9,   \
                2000, 0.01, 200, MILLING_NO_PRESET)

/* Lengths that come from different units differ in the last bits: 25.4 mm is not above 1 in. */
static inline bool milling_is_above(double value, double limit) {
  return value > limit * (1 + 1e-12);
}

/* Height of the ridge between two circles of `radius` whose centres are `chord` apart; also the
 * height of an arc over its chord. 0 <= chord <= 2 radius, save for rounding. Exact to the last
 * bits for small chords, where radius - sqrt(radius^2 - chord^2 / 4) cancels. */
static inline double milling_ridge(double radius, double chord) {
  double inside = (radius - chord / 2) * (radius + chord / 2);
  return chord * chord / 4 / (radius + sqrt(fmax(inside, 0)));
}

/* The inverse: chord of the ridge `height`, 0 <= height <= radius. */
static inline double milling_chord(double radius, double height) {
  return 2 * sqrt(fmax(height * (2 * radius - height), 0));
}

/* Plan stepover for each unit of spacing across the path on a plane of `slope` (radians): 1 when
 * the path runs up the slope, cos(slope) when it runs along the contours. */
static inline double milling_plan_share(double slope, double azimuth) {
  return hypot(cos(azimuth), sin(azimuth) * cos(slope));
}

#endif
