/* lua/lists.h - calculations that take lists or return shapes, each with a binding of its own. */
#ifndef FETTLE_LUA_LISTS_H
#define FETTLE_LUA_LISTS_H

#include <lua.h>

/* Each adds its functions to the domain tables that fettle_open_catalogue made at `index`. */
void fettle_open_nesting(lua_State *L, int index);
void fettle_open_cure(lua_State *L, int index);

#endif
