/* sandbox/libraries.h - string, table and math as a recipe gets them. */
#ifndef FETTLE_SANDBOX_LIBRARIES_H
#define FETTLE_SANDBOX_LIBRARIES_H

#include <lua.h>

/* Puts `string`, `table` and `math` into the table at `index` and replaces the metatable of texts.
 * The standard libraries are open as globals of the state. What loops in C charges the box. */
void fettle_open_libraries(lua_State *L, int index);

#endif
