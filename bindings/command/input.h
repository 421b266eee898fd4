/* command/input.h - lines typed by a person or coming through a pipe. */
#ifndef FETTLE_COMMAND_INPUT_H
#define FETTLE_COMMAND_INPUT_H

#include <stddef.h>

#include <lua.h>

/* Lua function (prompt) -> text without its line end, or nil at the end of input. The prompt goes
 * to standard error, so that standard output holds the answer alone. */
int fettle_read_answer(lua_State *L);

#endif
