#include "recipe/setting.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

enum { UNITS_MOST = 4 };

static void add_unit(size_t *units, size_t *count, size_t unit) {
  for (size_t i = 0; i < *count; i++) {
    if (units[i] == unit) {
      return;
    }
  }
  if (unit != 0 && *count < UNITS_MOST) {
    units[(*count)++] = unit;
  }
}

size_t fettle_setting_units(const fettle_quantity *like, fettle_habit habit, char *out,
                            size_t capacity) {
  size_t units[UNITS_MOST], count = 0;
  fettle_habit own = habit == FETTLE_HABIT_METRIC ? FETTLE_HABIT_METRIC : FETTLE_HABIT_INCH;
  fettle_quantity plain = *like;
  plain.unit = 0;
  add_unit(units, &count, like->unit);
  size_t inch = fettle_unit_find("in", 2);
  if (own == FETTLE_HABIT_INCH && like->dimension == fettle_unit_at(inch)->dimension) {
    /* The one dimension with two units of every day. */
    add_unit(units, &count, inch);
    add_unit(units, &count, fettle_unit_find("thou", 4));
  } else {
    add_unit(units, &count, fettle_unit_choose(&plain, own));
  }
  add_unit(units, &count,
           fettle_unit_choose(&plain,
                              own == FETTLE_HABIT_INCH ? FETTLE_HABIT_METRIC : FETTLE_HABIT_INCH));
  size_t used = 0;
  for (size_t i = 0; i < count; i++) {
    const char *name = fettle_unit_at(units[i])->name;
    size_t room = used < capacity ? capacity - used : 0;
    int length = snprintf(room ? out + used : NULL, room, "%s%s", i ? ", " : "", name);
    used += length > 0 ? (size_t)length : 0;
  }
  if (count == 0) {
    used = fettle_dimension_name(like->dimension, out, capacity);
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
