/* recipe/setting.h - the values of `--set NAME=VALUE`, of `ask NAME=VALUE` and of answers. */
#ifndef FETTLE_RECIPE_SETTING_H
#define FETTLE_RECIPE_SETTING_H

#include <stddef.h>

#include "fettle/quantity.h"

/* Reads the text of a value. `like` is a value of the wanted kind: it gives the dimension, point or
 * difference of temperature, and the preferred unit. A bare number where there is a dimension is
 * refused and asked back: "stepover = 14: 14 what? in, thou, mm". */
fettle_status fettle_setting_quantity(const char *name, const char *text,
                                      const fettle_quantity *like, fettle_habit habit,
                                      fettle_quantity *out, fettle_diagnostic *diagnostic);

/* "in, thou, mm": the units that a person is likely to mean for a value like `like`: its preferred
 * one, the one of the habit, the one of the other habit. As snprintf. */
size_t fettle_setting_units(const fettle_quantity *like, fettle_habit habit, char *out,
                            size_t capacity);

#endif
