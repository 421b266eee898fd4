/* lua/catalogue.h - the catalogue as Lua functions. */
#ifndef FETTLE_LUA_CATALOGUE_H
#define FETTLE_LUA_CATALOGUE_H

#include <lua.h>

#include "fettle/formula.h"

/* Puts a table per domain (milling, resin, ...) into the table at `index`, a function per closed
 * or iterated calculation in each. Calculations of kind LISTS are left to their own bindings, which
 * are opened after this one and add to the same tables. */
void fettle_open_catalogue(lua_State *L, int index);

/* Pushes descriptors as plain tables (for show, help and generators): one by name (nil when
 * unknown), or an array of all, sorted. */
void fettle_push_description(lua_State *L, const char *name);
void fettle_push_descriptions(lua_State *L);

/* The same for a descriptor that is not in the catalogue: a shop's own calculation. It is borrowed
 * and must outlive what is pushed. */
void fettle_push_call(lua_State *L, const fettle_formula *formula);
void fettle_push_formula(lua_State *L, const fettle_formula *formula);

/* Pushes a working record (see DEVELOPERS.md) for one call. `origins` is the index of a table
 * origin by input name, or 0; `units` one preferred unit index per input, or NULL. */
void fettle_push_working(lua_State *L, const fettle_formula *formula, const double *inputs,
                         const double *outputs, const size_t *units, int origins,
                         const fettle_warnings *warnings, fettle_habit habit);

#endif
