/* Any bytes as a table of each type of column: refused with one line that has a place, or read. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <lauxlib.h>
#include <lua.h>

#include "data/csv.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  lua_State *L = luaL_newstate();
  if (!L || luaL_dostring(L, "return {{name = 'a', unit = 'mm', optional = true},"
                             "{name = 'b', text = true, optional = true},"
                             "{name = 'c', whole = true, optional = true},"
                             "{name = 'd', choices = {'x', 'y'}, optional = true},"
                             "{name = 'e', unit = 'degF', optional = true}}") != LUA_OK) {
    abort();
  }
  int status = fettle_csv_read(L, "x.csv", (const char *)data, size, 1);
  if (lua_gettop(L) != 2) {
    abort();
  }
  if (status != 0 && strncmp(lua_tostring(L, -1), "x.csv:", 6) != 0) {
    abort();
  }
  lua_close(L);
  return 0;
}
