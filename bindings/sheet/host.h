/* sheet/host.h - what the shipped sheet scripts ask of C, as the global table `host`. */
#ifndef FETTLE_SHEET_HOST_H
#define FETTLE_SHEET_HOST_H

#include <lua.h>

/* Sets the global `host`: the functions of sheet/json.h and
 *   is_quantity(value)                      true for a quantity
 *   text(value, digits, habit, unit)        "0.02 in", or the text of a plain number
 *   shown(value, habit, unit)               number, unit name, SI number, SI unit
 *   convert(value, unit)                    number in a unit expression
 *   unit_for(value, habit)                  name of the unit that a shop of the habit reads, or nil
 *   number(value, digits)                   text of a plain number
 *   fraction(value, denominator)            "2 1/2 in" and the rounding error in metres
 *   habit()  set_habit("inch" | "metric" | "none")
 *   descriptions()  description(name)       the catalogue as plain tables
 *   units()                                 the vocabulary as plain tables
 *   version                                 {version, results_revision, recipe_engine, shop_schema}
 * `habit` is "inch", "metric" or nil for the habit of the state; `unit` a unit expression or nil.
 */
void fettle_open_host(lua_State *L);

#endif
