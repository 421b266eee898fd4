#include "lua/scripts.h"

#include <string.h>

#include <lauxlib.h>

#define LOADED_KEY "fettle.scripts.loaded"

int fettle_script_load(lua_State *L, const char *name) {
  for (const fettle_script *script = fettle_scripts; script->name; script++) {
    if (strcmp(script->name, name) == 0) {
      return luaL_loadbufferx(L, script->chunk, script->length, name, "b");
    }
  }
  lua_pushfstring(L, "no shipped script named '%s'", name);
  return LUA_ERRFILE;
}

static int require_script(lua_State *L) {
  const char *name = luaL_checkstring(L, 1);
  luaL_getsubtable(L, LUA_REGISTRYINDEX, LOADED_KEY);
  if (lua_getfield(L, -1, name) != LUA_TNIL) {
    return 1;
  }
  lua_pop(L, 1);
  if (fettle_script_load(L, name) != LUA_OK) {
    return lua_error(L);
  }
  lua_pushvalue(L, 1);
  lua_call(L, 1, 1);
  if (lua_isnil(L, -1)) {
    lua_pop(L, 1);
    lua_pushboolean(L, 1);
  }
  lua_pushvalue(L, -1);
  lua_setfield(L, -3, name);
  return 1;
}

void fettle_script_install_require(lua_State *L) {
  lua_pushcfunction(L, require_script);
  lua_setglobal(L, "require");
}
