#include "sandbox/nearest.h"

#include <stdint.h>
#include <string.h>

#include "fettle/formula.h"

void fettle_push_nearest(lua_State *L, int index, const char *name) {
  index = lua_absindex(L, index);
  size_t length = strlen(name);
  const char *best = NULL; /* stays valid: it is a key of the table */
  size_t least = SIZE_MAX;
  lua_pushnil(L);
  while (lua_next(L, index)) {
    lua_pop(L, 1);
    if (lua_type(L, -1) != LUA_TSTRING) {
      continue;
    }
    size_t key_length;
    const char *key = lua_tolstring(L, -1, &key_length);
    size_t edits = fettle_name_distance(name, length, key, key_length);
    if (edits < least || (edits == least && best && strcmp(key, best) < 0)) {
      best = key;
      least = edits;
    }
  }
  if (best && fettle_name_near(least, length)) {
    lua_pushstring(L, best);
  } else {
    lua_pushnil(L);
  }
}
