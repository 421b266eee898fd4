/* fettle/formula.h - what a calculation is.
 *
 * Each closed-form calculation is declared once, beside its C function, by a static descriptor.
 * The Lua function, argument checks, help, manual, editor annotations, completions and the working
 * on sheets are all read from it.
 *
 * `evaluate` works in SI (metre, kilogram, second, kelvin, radian): the printed formula then needs
 * no conversion factors, and its dimensions can be checked by evaluating it with quantities.
 * Limits are written in the parameter's own unit, since that is how a handbook gives them. */
#ifndef FETTLE_FORMULA_H
#define FETTLE_FORMULA_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "fettle/quantity.h"
#include "fettle/status.h"

typedef struct fettle_parameter {
  const char *name;      /* "cutter_diameter"; NULL ends an array */
  const char *symbol;    /* as the formula text writes it: "D" */
  const char *unit;      /* fixes the dimension and is the metric display unit; "1" for none */
  const char *inch_unit; /* display unit of the inch habit; NULL: the same */
  const char *meaning;   /* "diameter of the cutter over its tips" */
  double low, high;      /* hard limits, inclusive, in `unit`; -INFINITY, INFINITY for none */
  double usual_low, usual_high; /* outside them is a warning; equal values (0, 0) for none */
  double preset;                /* in `unit`; NAN: the caller must give it */
  fettle_role role;             /* of temperatures */
  unsigned whole;               /* 1: a count that must be a whole number */
} fettle_parameter;

/* A number that the formula text uses by name. */
typedef struct fettle_constant {
  const char *symbol; /* NULL ends an array */
  double value;       /* in `unit` */
  const char *unit;
  const char *meaning;
  const char *source;
} fettle_constant;

/* Kinds of work that call for cautions on the sheet; a bit each. */
typedef enum fettle_hazard {
  FETTLE_HAZARD_DUST = 1u << 0,
  FETTLE_HAZARD_UNATTENDED = 1u << 1,
  FETTLE_HAZARD_SPINDLE = 1u << 2,
  FETTLE_HAZARD_EXOTHERM = 1u << 3,
  FETTLE_HAZARD_PEROXIDE = 1u << 4,
  FETTLE_HAZARD_STYRENE = 1u << 5,
  FETTLE_HAZARD_ISOCYANATE = 1u << 6,
  FETTLE_HAZARD_AMINE = 1u << 7,
  FETTLE_HAZARD_LIFTING = 1u << 8,
  FETTLE_HAZARD_VACUUM = 1u << 9,
  FETTLE_HAZARD_OVEN = 1u << 10,
  FETTLE_HAZARD_HOT_WIRE = 1u << 11
} fettle_hazard;

typedef enum fettle_formula_kind {
  FETTLE_FORMULA_CLOSED = 0,   /* `text` is evaluated by the tests and shown as working */
  FETTLE_FORMULA_ITERATED = 1, /* `text` says what is solved, in words or symbols */
  FETTLE_FORMULA_LISTS = 2     /* takes lists or gives shapes; has a binding of its own */
} fettle_formula_kind;

typedef struct fettle_formula {
  uint32_t size; /* sizeof(fettle_formula) of the build */
  fettle_formula_kind kind;
  const char *name;  /* "milling.scallop_height": domain, point, full words */
  const char *brief; /* one line, no full stop */
  const char *words; /* other trade words to search by: "cusp ridge" */
  /* Statements separated by "; ", each "symbol = expression" over inputs, constants and earlier
   * symbols: "q = s / 2; h = R - sqrt(R^2 - q^2)". Every output symbol is assigned. */
  const char *text;
  const char *notes;  /* validity, traps; a paragraph */
  const char *source; /* author, title, year, place in it; or "common practice, no source" */
  const fettle_parameter *inputs;
  const fettle_parameter *outputs;
  const fettle_constant *constants; /* or NULL */
  unsigned hazards;                 /* fettle_hazard bits */
  const char *inverse;              /* name of the inverse calculation, or NULL */
  /* All values SI, in declared order; every input finite and inside its hard limits when called
   * through fettle_call. Checks what depends on two inputs at once. NULL for kind LISTS. */
  fettle_status (*evaluate)(const double *inputs, double *outputs, fettle_warnings *warnings,
                            fettle_diagnostic *diagnostic);
} fettle_formula;

enum { FETTLE_INPUTS_MOST = 32, FETTLE_OUTPUTS_MOST = 16 };

/* Every calculation, sorted by name. Static. */
const fettle_formula *const *fettle_catalogue(size_t *count);
const fettle_formula *fettle_find(const char *name);
/* The nearest name to a wrong one, or NULL. */
const char *fettle_find_nearest(const char *name);

/* How far apart two names are: letters put in, left out or changed, and neighbours swapped, a step
 * each; SIZE_MAX when one has more than 64 bytes. And whether that is near enough for a name of
 * `length` bytes to be offered as the one that was meant. */
size_t fettle_name_distance(const char *a, size_t a_length, const char *b, size_t b_length);
bool fettle_name_near(size_t distance, size_t length);

size_t fettle_parameter_count(const fettle_parameter *parameters);

/* Checks the inputs (SI; NAN stands for "not given" and takes the preset) for missing and
 * non-finite values and hard limits, evaluates, and refuses outputs that are not finite.
 * Warns of inputs outside their usual range. `warnings` and `diagnostic` may be NULL. */
fettle_status fettle_call(const fettle_formula *formula, const double *inputs, double *outputs,
                          fettle_warnings *warnings, fettle_diagnostic *diagnostic);

/* For `evaluate`: "stepover = 14 mm: must not be above cutter_diameter 12 mm". `value` and `limit`
 * are SI; they are shown in the parameter's own unit. `of` names what sets the limit, or NULL. A
 * value that equals its limit is said to have to be below (or above) it. */
fettle_status fettle_fail_above(fettle_diagnostic *diagnostic, const fettle_parameter *parameter,
                                double value, const char *of, double limit);
fettle_status fettle_fail_below(fettle_diagnostic *diagnostic, const fettle_parameter *parameter,
                                double value, const char *of, double limit);

/* An SI value of a parameter as a quantity. It prefers vocabulary unit `unit` when that is of the
 * parameter's dimension and `habit` allows it, else the parameter's own unit of that habit. */
fettle_quantity fettle_parameter_quantity(const fettle_parameter *parameter, double value,
                                          size_t unit, fettle_habit habit);

/* The working of one evaluated call as text: each statement of the formula with the values put in,
 * and its result, "q = 30 thou / 2 = 15 thou; h = ...", in the display units of `habit`; for a kind
 * other than CLOSED the values and the results. `units` (may be NULL) holds one preferred display
 * unit index per input, 0 for the parameter's own. Returns the length, as snprintf. */
size_t fettle_working(const fettle_formula *formula, const double *inputs, const double *outputs,
                      const size_t *units, fettle_habit habit, char *out, size_t capacity);

/* --- the formula language, for the tests and for a shop's own calculations --- */

/* A value in the formula language: SI number with its dimension. */
typedef struct fettle_symbol {
  const char *name; /* borrowed; not ended by NUL when length says so */
  size_t length;
  fettle_quantity value;
} fettle_symbol;

enum { FETTLE_EXPRESSION_MOST = 4096 /* bytes of a text */, FETTLE_EXPRESSION_DEPTH = 64 };

/* Evaluates the statements of `text` in order. `symbols` holds `count` given symbols and has room
 * for `capacity`; assigned ones are appended. Operators + - * / ^, brackets; comparisons < <= > >=
 * == != inside choose(condition, a, b); functions sqrt exp ln log10 abs min max floor ceil; sin cos
 * tan of an angle, asin acos atan to an angle, radians(angle) to a plain number and angle(number)
 * back; constant pi. Dimensions are checked as quantities are; a temperature point counts as its
 * absolute kelvins. The logarithm of a dimension, an unknown symbol, trailing text: errors with the
 * column. `roundings` (may be NULL) has `capacity` places and gets, for every symbol, how far its
 * SI value may be off by rounding alone, the given symbols taken as exact. */
fettle_status fettle_expression_evaluate(const char *text, fettle_symbol *symbols, size_t *count,
                                         size_t capacity, double *roundings,
                                         fettle_diagnostic *diagnostic);
/* The same text with each symbol replaced by its value: "h = (0.25 in)^2 / w". Symbols that are not
 * given, and the one that a statement assigns, stay. As snprintf. */
size_t fettle_expression_substitute(const char *text, const fettle_symbol *symbols, size_t count,
                                    fettle_habit habit, char *out, size_t capacity);

#endif
