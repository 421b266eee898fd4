/* support/lua.h - chunks of Lua against the bindings, in a state of their own. */
#ifndef FETTLE_TEST_LUA_H
#define FETTLE_TEST_LUA_H

#include <lua.h>

/* A state with the standard libraries, quantities and catalogue as globals, and what `open_more`
 * (of lua/lists.h) adds. Owned by caller. */
lua_State *fettle_test_lua(void (*open_more)(lua_State *L, int index));

/* Runs `chunk`, which asserts for itself; fails the test with its message. */
void fettle_test_passes(void (*open_more)(lua_State *L, int index), const char *chunk);

/* Runs `chunk`, which must raise a text; the state, with the text on top, is owned by caller. */
lua_State *fettle_test_raises(void (*open_more)(lua_State *L, int index), const char *chunk);

#endif
