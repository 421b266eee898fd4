/* lua/quantity.h - quantities as Lua userdata. */
#ifndef FETTLE_LUA_QUANTITY_H
#define FETTLE_LUA_QUANTITY_H

#include <stdbool.h>

#include <lua.h>

#include "fettle/quantity.h"

/* Puts into the table at `index`: `q` (text, or number and unit), `degF`, `degC`, the unit names
 * (mm, thou, inch, ...), `pi`, and the functions that take quantities: sin cos tan (of angles
 * only), asin acos atan (giving angles; atan also of rise and run), sqrt, arc(radius, angle),
 * mean{}, smallest{}, largest{}. */
void fettle_open_quantity(lua_State *L, int index);

/* Pushes a quantity; one without dimension becomes a plain number. */
void fettle_push_quantity(lua_State *L, const fettle_quantity *quantity);
/* The same, with the value at `origin` (a table) as its origin; plain numbers carry none. */
void fettle_push_quantity_with_origin(lua_State *L, const fettle_quantity *quantity, int origin);
/* Pushes the origin of the quantity at `index`, or nil. */
void fettle_push_origin(lua_State *L, int index);

/* Reads a quantity or a plain number (as one without dimension; integers beyond 2^53 and
 * non-finite numbers are not read). Returns false for anything else; raises nothing. */
bool fettle_to_quantity(lua_State *L, int index, fettle_quantity *out);
/* True for a quantity userdata only. */
bool fettle_is_quantity(lua_State *L, int index);

/* The habit in which new quantities of this state are shown (FETTLE_HABIT_NONE: as typed). */
void fettle_set_habit(lua_State *L, fettle_habit habit);
fettle_habit fettle_get_habit(lua_State *L);

#endif
