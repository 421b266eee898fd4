#include "recipe/setting.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

enum { UNITS_OFFERED = 3 };

static bool suits(const fettle_unit *unit, const fettle_quantity *like) {
  return unit && unit->dimension == like->dimension &&
         unit->point == ((like->flags & FETTLE_QUANTITY_POINT) != 0);
}

size_t fettle_setting_units(const fettle_quantity *like, fettle_habit habit, char *out,
                            size_t capacity) {
  size_t chosen[UNITS_OFFERED], count = 0, own = 0;
  const fettle_unit *preferred = fettle_unit_at(like->unit);
  if (suits(preferred, like)) {
    chosen[count++] = like->unit;
    own +=
        habit == FETTLE_HABIT_NONE ||
        preferred->habit != (habit == FETTLE_HABIT_INCH ? FETTLE_HABIT_METRIC : FETTLE_HABIT_INCH);
  }
  /* First up to two of the habit, then of the other, in the order of the vocabulary. */
  for (int pass = 0; pass < 2; pass++) {
    for (size_t i = 1; i <= fettle_unit_count() && count < UNITS_OFFERED; i++) {
      const fettle_unit *unit = fettle_unit_at(i);
      bool of_habit =
          habit == FETTLE_HABIT_NONE || unit->habit == FETTLE_HABIT_NONE || unit->habit == habit;
      if (i == like->unit || !suits(unit, like) || of_habit != (pass == 0) ||
          (pass == 0 && own == UNITS_OFFERED - 1)) {
        continue;
      }
      chosen[count++] = i;
      own += pass == 0;
    }
  }
  size_t used = 0;
  for (size_t i = 0; i < count; i++) {
    const char *name = fettle_unit_at(chosen[i])->name;
    size_t room = used < capacity ? capacity - used : 0;
    int length = snprintf(room ? out + used : NULL, room, "%s%s", i ? ", " : "", name);
    used += length > 0 ? (size_t)length : 0;
  }
  if (count == 0 && capacity > 0) {
    used = (size_t)snprintf(out, capacity, "a unit of ");
    used += fettle_dimension_name(like->dimension, used < capacity ? out + used : NULL,
                                  used < capacity ? capacity - used : 0);
  }
  return used;
}

fettle_status fettle_setting_quantity(const char *name, const char *text,
                                      const fettle_quantity *like, fettle_habit habit,
                                      fettle_quantity *out, fettle_diagnostic *diagnostic) {
  bool point = (like->flags & FETTLE_QUANTITY_POINT) != 0;
  bool temperature = like->dimension != 0 &&
                     fettle_dimension_twelfths(like->dimension, FETTLE_BASE_TEMPERATURE) != 0;
  fettle_role role = point         ? FETTLE_ROLE_POINT
                     : temperature ? FETTLE_ROLE_DIFFERENCE
                                   : FETTLE_ROLE_ANY;
  fettle_diagnostic inner = {.status = FETTLE_OK};
  fettle_status status = fettle_quantity_parse(text, strlen(text), role, out, &inner);
  if (status != FETTLE_OK) {
    return fettle_fail(diagnostic, status, name, "%s = %s: %s", name, text, inner.message);
  }
  if (out->dimension == 0 && out->unit == 0 && like->dimension != 0) {
    char units[96];
    fettle_setting_units(like, habit, units, sizeof units);
    return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, name, "%s = %s: %s what? %s", name, text,
                       text, units);
  }
  if (out->dimension != like->dimension) {
    char got[64], want[64], units[96];
    fettle_dimension_name(out->dimension, got, sizeof got);
    fettle_dimension_name(like->dimension, want, sizeof want);
    if (like->dimension == 0) {
      return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, name,
                         "%s = %s: is a %s, but a plain number is wanted", name, text, got);
    }
    fettle_setting_units(like, habit, units, sizeof units);
    return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, name,
                       "%s = %s: is a %s, but a %s is wanted (%s)", name, text, got, want, units);
  }
  return FETTLE_OK;
}
