/* Quantities as a shop reads them: choice of unit, text, fractions of an inch. */
#include "units/units.h"

#include <math.h>
#include <stdio.h>

/* A row serves values from `low` to below `high` (SI magnitudes). The first row of a dimension is
 * its main one and serves zero too. Common practice, no source. */
typedef struct reading {
  uint16_t row;
  fettle_habit habit; /* NONE: both */
  double low, high;
} reading;

#define BOTH FETTLE_HABIT_NONE
#define INCH FETTLE_HABIT_INCH
#define METRIC FETTLE_HABIT_METRIC
#define NO_END (double)INFINITY
#define ALL 0.0, NO_END

static const reading readings[] = {
    {ROW_MM, METRIC, 1e-5, 10.0},
    {ROW_UM, METRIC, 0.0, 1e-5},
    {ROW_M, METRIC, 10.0, NO_END},
    {ROW_IN, INCH, 0.00254, 25.4}, /* from 0.1 in to 1000 in */
    {ROW_THOU, INCH, 0.0, 0.00254},
    {ROW_FT, INCH, 25.4, NO_END},
    {ROW_M2, METRIC, 0.01, NO_END},
    {ROW_MM2, METRIC, 0.0, 0.01},
    {ROW_FT2, INCH, 0.09290304, NO_END}, /* from 1 ft^2 */
    {ROW_IN2, INCH, 0.0, 0.09290304},
    {ROW_LITRE, METRIC, 0.001, 1.0},
    {ROW_ML, METRIC, 0.0, 0.001},
    {ROW_M3, METRIC, 1.0, NO_END},
    {ROW_GAL, INCH, 0.00094635, NO_END}, /* from a quart */
    {ROW_FLOZ, INCH, 0.0, 0.00094635},
    {ROW_G, METRIC, 0.0, 10.0},
    {ROW_KG, METRIC, 10.0, NO_END},
    {ROW_LB, INCH, 0.45359237, NO_END}, /* from 1 lb */
    {ROW_OZ, INCH, 0.0, 0.45359237},
    {ROW_H, BOTH, 3600.0, NO_END},
    {ROW_MIN, BOTH, 60.0, 3600.0},
    {ROW_S, BOTH, 0.0, 60.0},
    {ROW_DEGC, METRIC, ALL},
    {ROW_DEGF, INCH, ALL},
    {ROW_DC, METRIC, ALL},
    {ROW_DF, INCH, ALL},
    {ROW_DEG, BOTH, ALL},
    {ROW_RPM, BOTH, ALL},
    {ROW_MM_MIN, METRIC, 0.0, 1.0 / 3.0}, /* below 20 m/min */
    {ROW_M_MIN, METRIC, 1.0 / 3.0, NO_END},
    {ROW_IN_MIN, INCH, 0.0, 0.4233}, /* below 1000 in/min */
    {ROW_FT_MIN, INCH, 0.4233, NO_END},
    {ROW_M_S2, METRIC, ALL},
    {ROW_IN_S2, INCH, ALL},
    {ROW_M_S3, METRIC, ALL},
    {ROW_IN_S3, INCH, ALL},
    {ROW_N, METRIC, 0.0, 1e4},
    {ROW_KN, METRIC, 1e4, NO_END},
    {ROW_LBF, INCH, ALL},
    {ROW_KPA, METRIC, 0.0, 1e6},
    {ROW_MPA, METRIC, 1e6, 1e9},
    {ROW_GPA, METRIC, 1e9, NO_END},
    {ROW_PSI, INCH, 0.0, 1e8},
    {ROW_KSI, INCH, 1e8, 1e10},
    {ROW_MSI, INCH, 1e10, NO_END},
    {ROW_J, METRIC, 0.0, 1e3},
    {ROW_KJ, METRIC, 1e3, NO_END},
    {ROW_FT_LBF, INCH, 0.0, 1055.0},
    {ROW_BTU, INCH, 1055.0, NO_END},
    {ROW_W, METRIC, 0.0, 1e3},
    {ROW_KW, METRIC, 1e3, NO_END},
    {ROW_HP, INCH, 74.57, NO_END}, /* from 0.1 hp */
    {ROW_W, INCH, 0.0, 74.57},
    {ROW_MPA_S, BOTH, ALL},
    {ROW_G_M2, METRIC, 0.0, 10.0},
    {ROW_KG_M2, METRIC, 10.0, NO_END},
    {ROW_OZ_YD2, INCH, 0.0, 4.882427636}, /* below 1 lb/ft^2 */
    {ROW_LB_FT2, INCH, 4.882427636, NO_END},
    {ROW_KG_M3, METRIC, ALL},
    {ROW_LB_FT3, INCH, ALL},
    {ROW_ML_G, METRIC, ALL},
    {ROW_FLOZ_LB, INCH, ALL},
    {ROW_M2_L, METRIC, ALL},
    {ROW_FT2_GAL, INCH, ALL},
    {ROW_M2_KG, METRIC, ALL},
    {ROW_FT2_LB, INCH, ALL},
    {ROW_G_M, METRIC, 0.0, 1.0},
    {ROW_KG_M, METRIC, 1.0, NO_END},
    {ROW_LB_FT, INCH, ALL},
    {ROW_N_MM_LINE, METRIC, ALL},
    {ROW_LBF_IN_LINE, INCH, ALL},
    {ROW_KG_H, METRIC, ALL},
    {ROW_LB_H, INCH, ALL},
    {ROW_CM3_MIN, METRIC, ALL},
    {ROW_IN3_MIN, INCH, ALL},
    {ROW_M2_H, METRIC, ALL},
    {ROW_FT2_H, INCH, ALL},
    {ROW_H_M2, METRIC, ALL},
    {ROW_H_FT2, INCH, ALL},
    {ROW_MIN_M, METRIC, ALL},
    {ROW_MIN_FT, INCH, ALL},
    {ROW_DEGC_MIN, METRIC, ALL},
    {ROW_DEGF_MIN, INCH, ALL},
    {ROW_PER_DEGC, METRIC, ALL},
    {ROW_PER_DEGF, INCH, ALL},
    {ROW_W_M_K, METRIC, ALL},
    {ROW_BTU_IN, INCH, ALL},
    {ROW_W_M2_K, METRIC, ALL},
    {ROW_BTU_H_FT2, INCH, ALL},
    {ROW_M2_K_W, METRIC, ALL},
    {ROW_R_INCH, INCH, ALL},
    {ROW_J_KG_K, METRIC, ALL},
    {ROW_BTU_LB_F, INCH, ALL},
    {ROW_J_G, METRIC, ALL},
    {ROW_BTU_LB, INCH, ALL},
    {ROW_W_M2, METRIC, ALL},
    {ROW_BTU_H_AREA, INCH, ALL},
    {ROW_W_KG, BOTH, ALL},
    {ROW_MOL, BOTH, ALL},
    {ROW_KJ_MOL, BOTH, ALL},
    {ROW_J_MOL_K, BOTH, ALL},
    {ROW_G_MOL, BOTH, ALL},
    {ROW_MOL_KG, BOTH, ALL},
    {ROW_MOL_L, BOTH, ALL},
    {ROW_DEG_S, BOTH, ALL},
    {ROW_DEG_M, METRIC, ALL},
    {ROW_DEG_FT, INCH, ALL},
    {ROW_CM4, METRIC, ALL},
    {ROW_IN4, INCH, ALL},
    {ROW_N_M2_EI, METRIC, ALL},
    {ROW_LBF_IN2, INCH, ALL},
    {ROW_MPA_ROOT_M, METRIC, ALL},
    {ROW_KSI_ROOT_IN, INCH, ALL},
    {ROW_USD, BOTH, ALL},
    {ROW_USD_H, BOTH, ALL},
    {ROW_USD_KG, METRIC, ALL},
    {ROW_USD_LB, INCH, ALL},
    {ROW_USD_L, METRIC, ALL},
    {ROW_USD_GAL, INCH, ALL},
    {ROW_USD_M2, METRIC, ALL},
    {ROW_USD_FT2, INCH, ALL},
    {ROW_USD_M, METRIC, ALL},
    {ROW_USD_FT, INCH, ALL},
};

/* True when a row can show the quantity: same dimension, and points in rows of points or kelvin. */
static bool row_serves(size_t row, const fettle_quantity *quantity) {
  const fettle_unit *unit = fettle_unit_at(row);
  const bool point = (quantity->flags & FETTLE_QUANTITY_POINT) != 0;
  if (!unit || unit->dimension != quantity->dimension) {
    return false;
  }
  if (quantity->currency && fettle_units_currency(row) != quantity->currency) {
    return false;
  }
  return point ? unit->point || row == ROW_K : !unit->point;
}

/* The row of the quantity's currency that does what `row` does for the first currency. */
static size_t in_currency(size_t row, uint8_t currency) {
  enum { RATES = ROW_EUR_H - ROW_USD_H };
  if (currency == 0) {
    return row;
  }
  const size_t place = currency - (size_t)ROW_USD;
  return row == ROW_USD ? currency : row + place * RATES;
}

static size_t habit_row(const fettle_quantity *quantity, fettle_habit habit) {
  const double magnitude = fabs(quantity->value);
  const bool point = (quantity->flags & FETTLE_QUANTITY_POINT) != 0;
  for (size_t i = 0; i < sizeof readings / sizeof readings[0]; i++) {
    const reading *candidate = &readings[i];
    const fettle_unit *unit = fettle_unit_at(candidate->row);
    if (unit->dimension != quantity->dimension || unit->point != point ||
        (candidate->habit != BOTH && candidate->habit != habit)) {
      continue;
    }
    if (magnitude == 0.0 || (magnitude >= candidate->low && magnitude < candidate->high)) {
      return in_currency(candidate->row, quantity->currency);
    }
  }
  return 0;
}

size_t fettle_unit_choose(const fettle_quantity *quantity, fettle_habit habit) {
  if (row_serves(quantity->unit, quantity)) {
    const fettle_habit own = fettle_unit_at(quantity->unit)->habit;
    if (habit == FETTLE_HABIT_NONE || own == FETTLE_HABIT_NONE || own == habit) {
      return quantity->unit;
    }
    const size_t partner = fettle_units_partner(quantity->unit);
    if (partner) {
      return partner;
    }
  }
  return habit_row(quantity, habit == FETTLE_HABIT_NONE ? FETTLE_HABIT_METRIC : habit);
}

size_t fettle_quantity_format(const fettle_quantity *quantity, size_t index, int digits, char *out,
                              size_t capacity) {
  char number[48];
  char base[160];
  const char *name = base;
  double value = quantity->value;
  if (row_serves(index, quantity)) {
    const fettle_unit *unit = fettle_unit_at(index);
    value = (value - unit->offset) / unit->factor;
    name = unit->name;
  } else {
    fettle_units_base_text(quantity->dimension, quantity->currency, base, sizeof base);
  }
  fettle_number_format(value, digits, number, sizeof number);
  return (size_t)snprintf(out, capacity, "%s%s%s", number, name[0] ? " " : "", name);
}

fettle_status fettle_fraction_format(double length_value, unsigned denominator, char *out,
                                     size_t capacity, double *error,
                                     fettle_diagnostic *diagnostic) {
  const double inch = 0.0254; /* m, exact */
  if (!isfinite(length_value)) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, NULL,
                       "a fraction needs a finite length, this one is not");
  }
  if (denominator < 2 || denominator > 128 || (denominator & (denominator - 1)) != 0) {
    return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, NULL,
                       "denominator %u: a rule is divided in 2, 4, 8, 16, 32, 64 or 128",
                       denominator);
  }
  /* half up in magnitude, as a shop rounds; the small term absorbs what the way through metres
   * leaves of an exact half */
  const double exact = fabs(length_value) / inch * denominator;
  const double parts = floor(exact + 0.5 + 1e-12 * (exact + 1.0));
  if (!(parts <= 9007199254740992.0)) {
    return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, NULL,
                       "the length is too large for a fraction of an inch");
  }
  const double shown = (length_value < 0.0 ? -parts : parts) / denominator * inch;
  const uint64_t count = (uint64_t)parts;
  const uint64_t whole = count / denominator;
  unsigned numerator = (unsigned)(count % denominator);
  while (numerator > 0 && numerator % 2 == 0) {
    numerator /= 2;
    denominator /= 2;
  }
  const char *sign = length_value < 0.0 && count > 0 ? "-" : "";
  if (numerator == 0) {
    snprintf(out, capacity, "%s%llu in", sign, (unsigned long long)whole);
  } else if (whole == 0) {
    snprintf(out, capacity, "%s%u/%u in", sign, numerator, denominator);
  } else {
    snprintf(out, capacity, "%s%llu %u/%u in", sign, (unsigned long long)whole, numerator,
             denominator);
  }
  if (error) {
    *error = shown - length_value;
  }
  return FETTLE_OK;
}
