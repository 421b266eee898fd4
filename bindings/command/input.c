#define _XOPEN_SOURCE 700 /* getline */

#include "command/input.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/types.h>

#include <lauxlib.h>

int fettle_read_answer(lua_State *L) {
  fputs(luaL_checkstring(L, 1), stderr);
  fflush(stderr);
  char *line = NULL;
  size_t capacity = 0;
  ssize_t length = getline(&line, &capacity, stdin);
  if (length < 0) {
    free(line);
    lua_pushnil(L);
    return 1;
  }
  if (length > 0 && line[length - 1] == '\n') {
    length--;
  }
  lua_pushlstring(L, line, (size_t)length);
  free(line);
  return 1;
}
