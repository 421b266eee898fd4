#include "sheet/trusted.h"

#include <stdbool.h>

#include <lauxlib.h>
#include <lualib.h>

#include "lua/catalogue.h"
#include "lua/quantity.h"
#include "lua/scripts.h"
#include "sheet/host.h"

enum { DEPTH_MOST = 24, VALUES_MOST = 500000 };

static int open_all(lua_State *L) {
  static const luaL_Reg libraries[] = {
      {LUA_GNAME, luaopen_base},       {LUA_STRLIBNAME, luaopen_string},
      {LUA_TABLIBNAME, luaopen_table}, {LUA_MATHLIBNAME, luaopen_math},
      {LUA_UTF8LIBNAME, luaopen_utf8}, {NULL, NULL}};
  for (const luaL_Reg *library = libraries; library->func; library++) {
    luaL_requiref(L, library->name, library->func, 1);
    lua_pop(L, 1);
  }
  /* Shipped scripts read no file, and their output must not change from run to run. */
  static const char *const removed[] = {"dofile", "loadfile", NULL};
  for (size_t i = 0; removed[i]; i++) {
    lua_pushnil(L);
    lua_setglobal(L, removed[i]);
  }
  lua_getglobal(L, LUA_MATHLIBNAME);
  lua_pushnil(L);
  lua_setfield(L, -2, "random");
  lua_pushnil(L);
  lua_setfield(L, -2, "randomseed");
  lua_pop(L, 1);

  lua_pushglobaltable(L);
  int globals = lua_gettop(L);
  fettle_open_quantity(L, globals);
  fettle_open_catalogue(L, globals);
  lua_pop(L, 1);
  fettle_script_install_require(L);
  fettle_open_host(L);
  return 0;
}

lua_State *fettle_trusted_open(void) {
  lua_State *L = luaL_newstate();
  if (!L) {
    return NULL;
  }
  lua_pushcfunction(L, open_all);
  if (lua_pcall(L, 0, 0, 0) != LUA_OK) {
    lua_close(L);
    return NULL;
  }
  return L;
}

typedef struct copier {
  lua_State *from;
  lua_State *to;
  int index;   /* of the value in `from`, absolute */
  long values; /* copied so far */
  int depth;   /* tables around the value being copied */
  const char *failure;
  const void *path[DEPTH_MOST]; /* these tables */
} copier;

static bool copy_one(copier *c, int index);

static bool copy_table(copier *c, int index) {
  if (c->depth >= DEPTH_MOST) {
    c->failure = "a table is nested deeper than 24 levels";
    return false;
  }
  const void *identity = lua_topointer(c->from, index);
  for (int i = 0; i < c->depth; i++) {
    if (c->path[i] == identity) {
      c->failure = "a table holds itself";
      return false;
    }
  }
  c->path[c->depth++] = identity;
  if (!lua_checkstack(c->from, 4) || !lua_checkstack(c->to, 6)) {
    c->failure = "out of memory";
    return false;
  }
  lua_newtable(c->to);
  lua_pushnil(c->from);
  while (lua_next(c->from, index)) {
    int value = lua_gettop(c->from);
    int key_type = lua_type(c->from, value - 1);
    if (key_type != LUA_TSTRING && key_type != LUA_TNUMBER && key_type != LUA_TBOOLEAN) {
      c->failure = "a table has a key that is no text, number or boolean";
      return false;
    }
    if (!copy_one(c, value - 1) || !copy_one(c, value)) {
      return false;
    }
    lua_rawset(c->to, -3);
    lua_pop(c->from, 1);
  }
  c->depth--;
  return true;
}

static bool copy_one(copier *c, int index) {
  if (++c->values > VALUES_MOST) {
    c->failure = "more than 500 000 values: a sheet holds no more, so list fewer";
    return false;
  }
  switch (lua_type(c->from, index)) {
  case LUA_TNIL:
    lua_pushnil(c->to);
    return true;
  case LUA_TBOOLEAN:
    lua_pushboolean(c->to, lua_toboolean(c->from, index));
    return true;
  case LUA_TNUMBER:
    if (lua_isinteger(c->from, index)) {
      lua_pushinteger(c->to, lua_tointeger(c->from, index));
    } else {
      lua_pushnumber(c->to, lua_tonumber(c->from, index));
    }
    return true;
  case LUA_TSTRING: {
    size_t length = 0;
    const char *text = lua_tolstring(c->from, index, &length);
    lua_pushlstring(c->to, text, length);
    return true;
  }
  case LUA_TTABLE:
    return copy_table(c, index);
  case LUA_TUSERDATA: {
    fettle_quantity quantity = {0};
    if (fettle_is_quantity(c->from, index) && fettle_to_quantity(c->from, index, &quantity)) {
      fettle_push_quantity(c->to, &quantity);
      return true;
    }
    c->failure = "a value that is no plain data";
    return false;
  }
  default:
    c->failure = "a function or other value that is no plain data";
    return false;
  }
}

static int copy_protected(lua_State *to) {
  copier *c = lua_touserdata(to, 1);
  lua_settop(to, 0);
  return copy_one(c, c->index) ? 1 : 0;
}

const char *fettle_copy_value(lua_State *from, int index, lua_State *to) {
  int from_top = lua_gettop(from);
  int to_top = lua_gettop(to);
  if (!lua_checkstack(to, 4)) {
    return "out of memory";
  }
  copier c = {.from = from, .to = to, .index = lua_absindex(from, index)};
  /* Protected, since any push may find no memory. */
  lua_pushcfunction(to, copy_protected);
  lua_pushlightuserdata(to, &c);
  int status = lua_pcall(to, 1, 1, 0);
  lua_settop(from, from_top);
  if (status != LUA_OK) {
    c.failure = "out of memory";
  }
  if (c.failure) {
    lua_settop(to, to_top);
  }
  return c.failure;
}
