/* sandbox/environment.h - the names that a recipe can reach. */
#ifndef FETTLE_SANDBOX_ENVIRONMENT_H
#define FETTLE_SANDBOX_ENVIRONMENT_H

#include <lua.h>

/* Opens the allowed part of the standard library in a fresh box and pushes two tables: the
 * vocabulary, to which the caller adds units, calculations and words, and above it the
 * environment, in which the recipe's own globals live. Reading an unknown name is an error with the
 * nearest known one; giving a new value to a name of the vocabulary is refused. */
void fettle_environment_open(lua_State *L);

/* Pushes the text of the value at `index` without addresses and without asking tables: "table",
 * numbers and texts as they are, quantities as they print. */
void fettle_push_text(lua_State *L, int index);

/* Pushes the table of full libraries (base, string, table, math) for shipped scripts that run in
 * the same state; no recipe reaches it. */
void fettle_environment_push_trusted(lua_State *L);

#endif
