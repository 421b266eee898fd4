/* sheet/trusted.h - the second Lua state: full libraries, shipped scripts, no recipe. */
#ifndef FETTLE_SHEET_TRUSTED_H
#define FETTLE_SHEET_TRUSTED_H

#include <lua.h>

/* A new state with the base, string, table, math and utf8 libraries, `require` for shipped
 * scripts, quantities and the closed calculations as globals, and the table `host` of
 * sheet/host.h. No files, no random numbers. NULL when there is no memory. */
lua_State *fettle_trusted_open(void);

/* Copies the plain value at `index` of `from` to the top of `to`: nil, booleans, numbers, texts,
 * quantities and tables of these, raw, to depth 24 and 500 000 values. On failure returns a
 * static message and pushes nothing. Origins are not copied. */
const char *fettle_copy_value(lua_State *from, int index, lua_State *to);

#endif
