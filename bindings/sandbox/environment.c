#include "sandbox/environment.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <lauxlib.h>
#include <lualib.h>

#include "lua/error.h"
#include "lua/quantity.h"
#include "sandbox/box.h"
#include "sandbox/libraries.h"
#include "sandbox/nearest.h"

#define TRUSTED_KEY "fettle.environment.trusted"

/* What setting up a protected call and unwinding an error cost, in instructions (measured: 90). */
enum { PROTECTION_STEPS = 100 };

/* Names of the language that a recipe does not have, and what to use instead. */
static const struct {
  const char *name, *cure;
} absent[] = {
    {"_G", "name the value itself"},
    {"collectgarbage", "memory looks after itself"},
    {"coroutine", "use plain functions"},
    {"debug", "use print or note"},
    {"dofile", "declare the file: input{name =, kind = \"calculations\", file =}"},
    {"getmetatable", "tables are plain here"},
    {"io", "declare the file as an input"},
    {"load", "write the code into the recipe"},
    {"loadfile", "declare the file: input{name =, kind = \"calculations\", file =}"},
    {"next", "use pairs, or is_empty(t)"},
    {"os", "dates and settings are inputs: job{} and input{}"},
    {"package", "declare the file: input{name =, kind = \"calculations\", file =}"},
    {"rawequal", "use =="},
    {"rawget", "use t[name]"},
    {"rawlen", "use #t"},
    {"rawset", "use t[name] = value"},
    {"require", "declare the file: input{name =, kind = \"calculations\", file =}"},
    {"setmetatable", "tables are plain here"},
    {"utf8", "use string.len"},
    {"warn", "use note or check"},
    {"xpcall", "use pcall"},
    {NULL, NULL},
};

void fettle_push_text(lua_State *L, int index) {
  index = lua_absindex(L, index);
  switch (lua_type(L, index)) {
  case LUA_TNUMBER:
    if (!lua_isinteger(L, index) && isnan(lua_tonumber(L, index))) {
      lua_pushliteral(L, "nan"); /* the C library also prints -nan */
      return;
    }
    luaL_tolstring(L, index, NULL);
    return;
  case LUA_TSTRING:
    lua_pushvalue(L, index);
    return;
  case LUA_TBOOLEAN:
    lua_pushstring(L, lua_toboolean(L, index) ? "true" : "false");
    return;
  case LUA_TUSERDATA:
    if (fettle_is_quantity(L, index)) {
      luaL_tolstring(L, index, NULL);
      return;
    }
    break;
  default:
    break;
  }
  lua_pushstring(L, luaL_typename(L, index));
}

static int text_of(lua_State *L) {
  luaL_checkany(L, 1);
  fettle_push_text(L, 1);
  return 1;
}

/* Budget errors pass through: a script cannot outlive its budget by catching it. */
static int protected_call(lua_State *L) {
  luaL_checkany(L, 1);
  fettle_box_charge(L, PROTECTION_STEPS);
  lua_pushboolean(L, 1);
  lua_insert(L, 1);
  int status = lua_pcall(L, lua_gettop(L) - 2, LUA_MULTRET, 0);
  const fettle_box *box = fettle_box_of(L);
  if (box && box->tripped) {
    return lua_error(L);
  }
  if (status != LUA_OK) {
    lua_pushboolean(L, 0);
    lua_insert(L, -2);
    return 2;
  }
  return lua_gettop(L);
}

typedef struct key {
  const char *text; /* NULL for a number */
  size_t length;
  lua_Number number;
  lua_Integer index; /* where it stands in the table of keys */
} key;

/* Numbers first, then texts by bytes: the same order whatever the seed and the locale. */
static int compare_keys(const void *left, const void *right) {
  const key *a = left, *b = right;
  if (!a->text || !b->text) {
    if (a->text || b->text) {
      return a->text ? 1 : -1;
    }
    return (a->number > b->number) - (a->number < b->number);
  }
  int order = memcmp(a->text, b->text, a->length < b->length ? a->length : b->length);
  return order ? order : (a->length > b->length) - (a->length < b->length);
}

/* Upvalues: table, keys in order, how many were handed out. */
static int next_pair(lua_State *L) {
  lua_Integer at = lua_tointeger(L, lua_upvalueindex(3));
  while (lua_geti(L, lua_upvalueindex(2), ++at) != LUA_TNIL) {
    lua_pushvalue(L, -1);
    if (lua_gettable(L, lua_upvalueindex(1)) != LUA_TNIL) { /* nil: dropped meanwhile */
      lua_pushinteger(L, at);
      lua_replace(L, lua_upvalueindex(3));
      return 2;
    }
    lua_settop(L, 0);
    fettle_box_charge(L, 1);
  }
  return 1;
}

static int sorted_pairs(lua_State *L) {
  luaL_checktype(L, 1, LUA_TTABLE);
  lua_settop(L, 1);
  /* A read-only table shows its contents through this field of its metatable. */
  if (luaL_getmetafield(L, 1, "contents") == LUA_TNIL) {
    lua_pushvalue(L, 1);
  }
  size_t count = 0;
  lua_pushnil(L);
  while (lua_next(L, 2)) {
    lua_pop(L, 1);
    count++;
  }
  fettle_box_charge(L, 8 * count);
  key *order = lua_newuserdatauv(L, (count + 1) * sizeof *order, 0); /* 3 */
  lua_createtable(L, 0, 0);                                          /* 4: keys as found */
  size_t used = 0;
  lua_pushnil(L);
  while (lua_next(L, 2)) {
    lua_pop(L, 1);
    int type = lua_type(L, -1);
    if (type != LUA_TSTRING && type != LUA_TNUMBER) {
      return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                               "pairs: a key is a %s: only numbers and texts can be put in order",
                               lua_typename(L, type));
    }
    key *entry = &order[used++];
    *entry = (key){.index = (lua_Integer)used};
    if (type == LUA_TSTRING) {
      entry->text = lua_tolstring(L, -1, &entry->length);
    } else {
      entry->number = lua_tonumber(L, -1);
    }
    lua_pushvalue(L, -1);
    lua_seti(L, 4, (lua_Integer)used);
  }
  qsort(order, used, sizeof *order, compare_keys);
  lua_createtable(L, (int)(used < 1000 ? used : 1000), 0); /* 5: keys in order */
  for (size_t i = 0; i < used; i++) {
    lua_geti(L, 4, order[i].index);
    lua_seti(L, 5, (lua_Integer)i + 1);
  }
  lua_pushvalue(L, 1);
  lua_pushvalue(L, 5);
  lua_pushinteger(L, 0);
  lua_pushcclosure(L, next_pair, 3);
  return 1;
}

/* is_empty(t): is there nothing in it? */
static int is_empty(lua_State *L) {
  luaL_checktype(L, 1, LUA_TTABLE);
  lua_settop(L, 1);
  if (luaL_getmetafield(L, 1, "contents") == LUA_TNIL) {
    lua_pushvalue(L, 1);
  }
  lua_pushnil(L);
  lua_pushboolean(L, !lua_next(L, 2));
  return 1;
}

static int unknown_name(lua_State *L) {
  if (lua_type(L, 2) != LUA_TSTRING) {
    return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "a global is named by a text");
  }
  const char *name = lua_tostring(L, 2);
  for (size_t i = 0; absent[i].name; i++) {
    if (strcmp(absent[i].name, name) == 0) {
      return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "'%s' is not there in a recipe: %s", name,
                               absent[i].cure);
    }
  }
  if (fettle_unit_find(name, strlen(name)) != 0) {
    return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                             "unknown name '%s': for the unit write q\"1 %s\"", name, name);
  }
  fettle_push_nearest(L, lua_upvalueindex(1), name);
  if (lua_isnil(L, -1)) {
    return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                             "unknown name '%s': give it a value first, or correct the spelling",
                             name);
  }
  return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "unknown name '%s': the nearest is '%s'", name,
                           lua_tostring(L, -1));
}

static int assign_name(lua_State *L) {
  lua_settop(L, 3);
  lua_pushvalue(L, 2);
  if (lua_rawget(L, lua_upvalueindex(1)) != LUA_TNIL) {
    return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                             "'%s' is a word of the recipe language: choose another name",
                             lua_tostring(L, 2));
  }
  lua_pop(L, 1);
  lua_rawset(L, 1);
  return 0;
}

static void copy_names(lua_State *L, int from, int to, const char *const *names) {
  for (size_t i = 0; names[i]; i++) {
    lua_getfield(L, from, names[i]);
    lua_setfield(L, to, names[i]);
  }
}

void fettle_environment_push_trusted(lua_State *L) {
  lua_getfield(L, LUA_REGISTRYINDEX, TRUSTED_KEY);
}

void fettle_environment_open(lua_State *L) {
  static const char *const kept[] = {"assert",   "error", "ipairs", "select",
                                     "tonumber", "type",  NULL};
  luaL_requiref(L, LUA_GNAME, luaopen_base, 1);
  luaL_requiref(L, LUA_STRLIBNAME, luaopen_string, 1);
  luaL_requiref(L, LUA_TABLIBNAME, luaopen_table, 1);
  luaL_requiref(L, LUA_MATHLIBNAME, luaopen_math, 1);
  lua_pop(L, 4);
  lua_pushglobaltable(L);
  lua_setfield(L, LUA_REGISTRYINDEX, TRUSTED_KEY);

  lua_newtable(L);
  int vocabulary = lua_gettop(L);
  lua_pushglobaltable(L);
  copy_names(L, vocabulary + 1, vocabulary, kept);
  lua_pop(L, 1);
  lua_pushcfunction(L, text_of);
  lua_setfield(L, vocabulary, "tostring");
  lua_pushcfunction(L, protected_call);
  lua_setfield(L, vocabulary, "pcall");
  lua_pushcfunction(L, sorted_pairs);
  lua_setfield(L, vocabulary, "pairs");
  lua_pushcfunction(L, is_empty);
  lua_setfield(L, vocabulary, "is_empty");
  fettle_open_libraries(L, vocabulary);

  lua_createtable(L, 0, 1);
  lua_pushvalue(L, vocabulary);
  lua_pushcclosure(L, unknown_name, 1);
  lua_setfield(L, -2, "__index");
  lua_setmetatable(L, vocabulary);

  lua_newtable(L);
  lua_createtable(L, 0, 2);
  lua_pushvalue(L, vocabulary);
  lua_setfield(L, -2, "__index");
  lua_pushvalue(L, vocabulary);
  lua_pushcclosure(L, assign_name, 1);
  lua_setfield(L, -2, "__newindex");
  lua_setmetatable(L, -2);
}
