/* lua/error.h - the one way in which bindings raise Lua errors. */
#ifndef FETTLE_LUA_ERROR_H
#define FETTLE_LUA_ERROR_H

#include <lua.h>

#include "fettle/status.h"

/* Pushes "FILE:LINE: " of the nearest frame whose chunk is a recipe's (its name starts with '@'),
 * or an empty text when there is none. Shipped scripts ("=fettle:...") are skipped. */
void fettle_push_place(lua_State *L);

/* Raises "PLACE: WHAT: message" (WHAT may be NULL) and never returns; the int lets callers write
 * `return fettle_raise(...)`. A copy of the diagnostic is kept for JSON errors. */
int fettle_raise(lua_State *L, const char *what, const fettle_diagnostic *diagnostic);

/* The same for an error without a diagnostic; printf-style, with lua_pushfstring's formats. */
int fettle_raise_text(lua_State *L, fettle_status status, const char *format, ...);

/* The diagnostic of the last error raised in this state, or NULL. Borrowed from the state. */
const fettle_diagnostic *fettle_last_diagnostic(lua_State *L);

#endif
