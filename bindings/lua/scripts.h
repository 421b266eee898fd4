/* lua/scripts.h - the Lua files that ship inside the program. */
#ifndef FETTLE_LUA_SCRIPTS_H
#define FETTLE_LUA_SCRIPTS_H

#include <stddef.h>

#include <lua.h>

typedef struct fettle_script {
  const char *name;  /* path below scripts/ without ".lua"; NULL ends the table */
  const char *chunk; /* compiled, with line numbers */
  size_t length;
} fettle_script;

extern const fettle_script fettle_scripts[];

/* Loads a shipped script by name, pushes its chunk, and returns a Lua status as lua_load does.
 * The chunk is named "=fettle:NAME", by which error positions skip it. */
int fettle_script_load(lua_State *L, const char *name);

/* Gives a trusted state `require` for shipped scripts only: each is run once with its name. */
void fettle_script_install_require(lua_State *L);

#endif
