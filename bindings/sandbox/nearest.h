/* sandbox/nearest.h - the name that a wrong one was probably meant to be. */
#ifndef FETTLE_SANDBOX_NEAREST_H
#define FETTLE_SANDBOX_NEAREST_H

#include <lua.h>

/* Looks through the text keys of the table at `index` (raw) for the one nearest to `name` by edits
 * of one character, and pushes it, or nil when none is near. Of equally near ones the first in
 * byte order is taken. */
void fettle_push_nearest(lua_State *L, int index, const char *name);

#endif
