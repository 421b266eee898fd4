#include "lua/error.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <lauxlib.h>

#define DIAGNOSTIC_KEY "fettle.error.diagnostic"

void fettle_push_place(lua_State *L) {
  lua_Debug frame;
  for (int level = 0; lua_getstack(L, level, &frame); level++) {
    lua_getinfo(L, "Sl", &frame);
    if (frame.source[0] == '@' && frame.currentline > 0) {
      lua_pushfstring(L, "%s:%d: ", frame.source + 1, frame.currentline);
      return;
    }
  }
  lua_pushliteral(L, "");
}

static void keep(lua_State *L, const fettle_diagnostic *diagnostic) {
  fettle_diagnostic *copy = lua_newuserdatauv(L, sizeof *copy, 0);
  *copy = *diagnostic;
  lua_setfield(L, LUA_REGISTRYINDEX, DIAGNOSTIC_KEY);
}

int fettle_raise(lua_State *L, const char *what, const fettle_diagnostic *diagnostic) {
  keep(L, diagnostic);
  fettle_push_place(L);
  if (what) {
    lua_pushfstring(L, "%s: %s", what, diagnostic->message);
  } else {
    lua_pushstring(L, diagnostic->message);
  }
  lua_concat(L, 2);
  return lua_error(L);
}

int fettle_raise_text(lua_State *L, fettle_status status, const char *format, ...) {
  fettle_diagnostic diagnostic = {.status = status};
  va_list arguments;
  va_start(arguments, format);
  const char *text = lua_pushvfstring(L, format, arguments);
  va_end(arguments);
  snprintf(diagnostic.message, sizeof diagnostic.message, "%s", text);
  return fettle_raise(L, NULL, &diagnostic);
}

const fettle_diagnostic *fettle_last_diagnostic(lua_State *L) {
  lua_getfield(L, LUA_REGISTRYINDEX, DIAGNOSTIC_KEY);
  const fettle_diagnostic *diagnostic = lua_touserdata(L, -1);
  lua_pop(L, 1); /* the registry still holds it */
  return diagnostic;
}
