/* nesting/catalogue.c - descriptors of the calculations of this room, for show, help and working.
 */
#include <math.h>

#include "fettle/formula.h"

#define EFFORT_ROW                                                                                 \
  {                                                                                                \
    .name = "effort", .symbol = "effort", .unit = "1",                                             \
    .meaning = "places to try; more is never worse", .low = 1, .high = 1e12, .preset = 6e7,        \
    .whole = 1                                                                                     \
  }
#define KERF_ROW                                                                                   \
  {                                                                                                \
    .name = "kerf", .symbol = "k", .unit = "mm", .inch_unit = "in",                                \
    .meaning = "width that a cut removes", .low = 0, .high = 26843, .usual_low = 0,                \
    .usual_high = 10, .preset = NAN                                                                \
  }
#define LENGTH_ROW(row_name, row_meaning)                                                          \
  {                                                                                                \
    .name = (row_name), .symbol = (row_name), .unit = "mm", .inch_unit = "in",                     \
    .meaning = (row_meaning), .low = 0, .high = 26843, .preset = 0                                 \
  }
#define LIST_ROW(row_name, row_meaning)                                                            \
  {                                                                                                \
    .name = (row_name), .symbol = (row_name), .unit = "1", .meaning = (row_meaning),               \
    .low = -INFINITY, .high = INFINITY, .preset = NAN                                              \
  }
#define TRIM_MEANING "strip cut off each trimmed edge, its kerf included: 0, or at least the kerf"
#define KEEP_MEANING "an offcut is listed when its edges reach this"
#define SOURCE                                                                                     \
  "kerf rule: one line of algebra; bound: S. P. Fekete, J. Schepers, A general framework for "     \
  "bounds for higher-dimensional orthogonal packing problems, 2004; search: idea of J. Gardeyn, "  \
  "T. Wauters, goal-driven ruin and recreate for two-dimensional bin packing with guillotine "     \
  "constraints, 2025"
#define NOTES                                                                                      \
  "Lengths are whole numbers of 25 nm, so that no sum is rounded; others are refused with the "    \
  "nearest. All pieces are placed if the stock suffices (else they stand in unplaced), then the "  \
  "cost is least (without costs: the area of stock), then the largest single offcut is as large "  \
  "as was found. bound is proved in whole numbers; proved says that the answer meets it. The "     \
  "layout is checked by separate code that replays the printed cuts."

static const fettle_parameter outputs[] = {
    LIST_ROW("count", "how many are used"),
    LIST_ROW("bound", "fewest that any layout needs"),
    LIST_ROW("used", "share of the used stock that becomes pieces"),
    {0}};

static const fettle_parameter sheets_inputs[] = {
    LIST_ROW("pieces",
             "list of {name, length, width, thickness, count, turn}; turn = true allows a "
             "quarter turn"),
    LIST_ROW("stock", "list of {name, length, width, thickness, count, cost}; no count: as many as "
                      "needed"),
    KERF_ROW,
    LENGTH_ROW("trim", TRIM_MEANING),
    LENGTH_ROW("keep", KEEP_MEANING),
    EFFORT_ROW,
    {0}};

const fettle_formula fettle_formula_nesting_sheets = {
    .size = sizeof(fettle_formula),
    .kind = FETTLE_FORMULA_LISTS,
    .name = "nesting.sheets",
    .brief = "cut rectangular pieces from sheets or slabs by through cuts",
    .words = "nest cutting list foam board panel saw guillotine offcut kerf hot wire yield",
    .text =
        "through cuts; each piece takes its size plus one kerf, each sheet offers its size plus "
        "one kerf",
    .notes = NOTES,
    .source = SOURCE,
    .inputs = sheets_inputs,
    .outputs = outputs,
    .hazards = FETTLE_HAZARD_DUST};

static const fettle_parameter bars_inputs[] = {
    LIST_ROW("pieces", "list of {name, length, count}"),
    LIST_ROW("stock", "list of {name, length, count, cost}; no count: as many as needed"),
    KERF_ROW,
    LENGTH_ROW("trim", TRIM_MEANING),
    LENGTH_ROW("keep", KEEP_MEANING),
    EFFORT_ROW,
    {0}};

const fettle_formula fettle_formula_nesting_bars = {
    .size = sizeof(fettle_formula),
    .kind = FETTLE_FORMULA_LISTS,
    .name = "nesting.bars",
    .brief = "cut lengths from bars, tubes or sticks",
    .words = "nest cutting list tube stick extrusion linear stock saw kerf offcut rack",
    .text = "n pieces fit when the sum of (length + kerf) is at most the trimmed bar + kerf",
    .notes = NOTES,
    .source = SOURCE,
    .inputs = bars_inputs,
    .outputs = outputs,
    .hazards = FETTLE_HAZARD_DUST};

static const fettle_parameter layers_inputs[] = {
    {.name = "height",
     .symbol = "height",
     .unit = "mm",
     .inch_unit = "in",
     .meaning = "height to be reached, allowances included",
     .low = 0,
     .high = 26843,
     .preset = NAN},
    LIST_ROW("outlines", "list of {top, x, y, length, width}, bottom to top: what the plug needs "
                         "below each top; or length and width alone for one block"),
    LIST_ROW("stock", "list of {name, length, width, thickness, count, cost}"),
    KERF_ROW,
    LENGTH_ROW("trim", TRIM_MEANING),
    LENGTH_ROW("glue_line", "thickness of the glue between two layers"),
    LENGTH_ROW("stagger", "least distance between the joints of neighbouring layers"),
    LENGTH_ROW("keep", KEEP_MEANING),
    EFFORT_ROW,
    {0}};

const fettle_formula fettle_formula_nesting_layers = {
    .size = sizeof(fettle_formula),
    .kind = FETTLE_FORMULA_LISTS,
    .name = "nesting.layers",
    .brief = "stack slabs to the thickness of a plug, and cut their pieces from sheets",
    .words = "foam plug stock block slab lamination glue joint seam stagger nest lift",
    .text = "layers: sum of (thickness + glue line) - one glue line >= height; then through cuts, "
            "each piece with one kerf, each sheet with one kerf",
    .notes =
        "The slab of each layer is chosen by dynamic programming: least cost by footprint (without "
        "costs: least volume), then least height to mill off, then fewest layers; counts of stock "
        "show in unplaced. A layer covers every outline between its lower and upper face, not the "
        "one at mid height. Full pieces come first; a joint moves back until it is the stagger "
        "away from every parallel joint of the layer below. Foam needs no grain: turn = true "
        "allows quarter turns. No source was found for a stagger in foam plugs; common practice "
        "is the larger of twice the thickness and a quarter of the slab. " NOTES,
    .source = SOURCE,
    .inputs = layers_inputs,
    .outputs = outputs,
    .hazards = FETTLE_HAZARD_DUST | FETTLE_HAZARD_LIFTING};
