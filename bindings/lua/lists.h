/* lua/lists.h - calculations that take lists or return shapes, each with a binding of its own. */
#ifndef FETTLE_LUA_LISTS_H
#define FETTLE_LUA_LISTS_H

#include <lua.h>

/* Registry key of the effort (a number) that the command line gives to declared jobs. It goes
 * before what the recipe says; absent, the recipe's own or the default counts. */
#define FETTLE_EFFORT_KEY "fettle.effort"

/* Each adds its functions to the domain tables that fettle_open_catalogue made at `index`. */
void fettle_open_nesting(lua_State *L, int index);
void fettle_open_cure(lua_State *L, int index);

#endif
