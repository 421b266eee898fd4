#include "support/lua.h"

#include <string.h>

#include <lauxlib.h>
#include <lualib.h>

#include "lua/catalogue.h"
#include "lua/quantity.h"
#include "support/near.h"

lua_State *fettle_test_lua(void (*open_more)(lua_State *L, int index)) {
  lua_State *L = luaL_newstate();
  assert_non_null(L);
  luaL_openlibs(L);
  lua_pushglobaltable(L);
  fettle_open_quantity(L, -1);
  fettle_open_catalogue(L, -1);
  open_more(L, -1);
  lua_pop(L, 1);
  return L;
}

void fettle_test_passes(void (*open_more)(lua_State *L, int index), const char *chunk) {
  lua_State *L = fettle_test_lua(open_more);
  if (luaL_loadbuffer(L, chunk, strlen(chunk), "=test") != LUA_OK ||
      lua_pcall(L, 0, 0, 0) != LUA_OK) {
    fail_msg("%s", lua_tostring(L, -1));
  }
  lua_close(L);
}

lua_State *fettle_test_raises(void (*open_more)(lua_State *L, int index), const char *chunk) {
  lua_State *L = fettle_test_lua(open_more);
  assert_int_equal(luaL_loadbuffer(L, chunk, strlen(chunk), "=test"), LUA_OK);
  assert_int_not_equal(lua_pcall(L, 0, 0, 0), LUA_OK);
  assert_non_null(lua_tostring(L, -1));
  return L;
}
