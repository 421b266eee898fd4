#include "sheet/json.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>
#include <lauxlib.h>

#include "lua/quantity.h"

#define ORDERED_MARK "fettle.json.ordered"
#define ARRAY_MARK "fettle.json.array"

#define TREE_TYPE "fettle.json.tree"

enum { DEPTH_MOST = 64, NUMBER_TEXT = 40, UNIT_TEXT = 96, SEQUENCE_MOST = 4 };

void fettle_push_si_unit(lua_State *L, const fettle_quantity *quantity) {
  fettle_quantity one = *quantity;
  char text[UNIT_TEXT];
  one.value = 1;
  fettle_quantity_format(&one, 0, 3, text, sizeof text);
  const char *space = strchr(text, ' ');
  lua_pushstring(L, space ? space + 1 : "");
}

void fettle_push_shown(lua_State *L, const fettle_quantity *quantity, size_t unit) {
  const fettle_unit *row = fettle_unit_at(unit);
  if (row) {
    /* To 15 digits, so that 64 degF is 64: the last bits of a conversion are noise, and the SI
     * number beside it keeps them all. */
    double shown = (quantity->value - row->offset) / row->factor;
    char text[NUMBER_TEXT];
    size_t length = fettle_number_format(shown, 15, text, sizeof text);
    fettle_number_parse(text, length, &shown, NULL);
    lua_pushnumber(L, shown);
    lua_pushstring(L, row->name);
  } else {
    lua_pushnumber(L, quantity->value);
    fettle_push_si_unit(L, quantity);
  }
}

/* A tree that is being encoded and its text. A userdata, so that an error anywhere frees both. */
typedef struct tree {
  json_t *root; /* an array of one value */
  char *text;
} tree;

static int collect_tree(lua_State *L) {
  tree *t = luaL_checkudata(L, 1, TREE_TYPE);
  json_decref(t->root);
  free(t->text);
  t->root = NULL;
  t->text = NULL;
  return 0;
}

/* Where the next value goes: at the end of an array, or under a key of an object. */
typedef struct place {
  json_t *parent;
  const char *key; /* NULL: the parent is an array */
  size_t key_length;
  int depth;
} place;

/* Gives `value` to its parent at once, so that the tree owns it; returns it borrowed. */
static json_t *attach(lua_State *L, place at, json_t *value) {
  int status = at.key ? json_object_setn_new(at.parent, at.key, at.key_length, value)
                      : json_array_append_new(at.parent, value);
  if (status != 0) {
    luaL_error(L, "json: out of memory");
  }
  return value;
}

void fettle_push_valid_text(lua_State *L, const char *text, size_t length) {
  luaL_Buffer buffer;
  luaL_buffinit(L, &buffer);
  for (size_t i = 0; i < length;) {
    size_t step = 0;
    for (size_t n = 1; n <= SEQUENCE_MOST && i + n <= length && step == 0; n++) {
      json_t *letter = json_stringn(text + i, n); /* NULL when it is no UTF-8 */
      if (letter) {
        step = n;
        json_decref(letter);
      }
    }
    if (step > 0) {
      luaL_addlstring(&buffer, text + i, step);
    } else {
      luaL_addstring(&buffer, "\xEF\xBF\xBD"); /* the replacement character */
      step = 1;
    }
    i += step;
  }
  luaL_pushresult(&buffer);
}

static void put_string(lua_State *L, place at, const char *text, size_t length) {
  json_t *string = json_stringn(text, length);
  if (string) {
    attach(L, at, string);
    return;
  }
  fettle_push_valid_text(L, text, length);
  attach(L, at, json_stringn(lua_tostring(L, -1), lua_rawlen(L, -1)));
  lua_pop(L, 1);
}

static void put_real(lua_State *L, place at, double value) {
  if (!isfinite(value)) {
    luaL_error(L, "json: a number that is not finite has no place on a sheet");
  }
  attach(L, at, json_real(value));
}

static place under(json_t *object, const char *key, size_t length, int depth) {
  return (place){.parent = object, .key = key, .key_length = length, .depth = depth};
}

static place named(json_t *object, const char *key) {
  return under(object, key, strlen(key), 0);
}

static void put_quantity(lua_State *L, place at, const fettle_quantity *quantity) {
  json_t *object = attach(L, at, json_object());
  fettle_push_shown(L, quantity, fettle_unit_choose(quantity, fettle_get_habit(L)));
  fettle_push_si_unit(L, quantity);
  put_real(L, named(object, "value"), lua_tonumber(L, -3));
  put_string(L, named(object, "unit"), lua_tostring(L, -2), lua_rawlen(L, -2));
  put_real(L, named(object, "si"), quantity->value);
  put_string(L, named(object, "si_unit"), lua_tostring(L, -1), lua_rawlen(L, -1));
  lua_pop(L, 3);
}

static bool has_mark(lua_State *L, int index, const char *mark) {
  bool same = false;
  if (lua_getmetatable(L, index)) {
    luaL_getmetatable(L, mark);
    same = lua_rawequal(L, -1, -2);
    lua_pop(L, 2);
  }
  return same;
}

static void put_value(lua_State *L, place at, int index);

static void put_array(lua_State *L, place at, int index) {
  json_t *array = attach(L, at, json_array());
  lua_Integer count = (lua_Integer)lua_rawlen(L, index);
  for (lua_Integer i = 1; i <= count; i++) {
    lua_rawgeti(L, index, i);
    put_value(L, (place){.parent = array, .depth = at.depth + 1}, lua_gettop(L));
    lua_pop(L, 1);
  }
}

/* Puts the value on top under the key below it. */
static void put_member(lua_State *L, json_t *object, int depth) {
  size_t length = 0;
  if (lua_type(L, -2) != LUA_TSTRING) {
    luaL_error(L, "json: a key must be a text, not a %s", luaL_typename(L, -2));
  }
  const char *key = lua_tolstring(L, -2, &length);
  fettle_push_valid_text(L, key, length);
  lua_insert(L, -2);
  key = lua_tolstring(L, -2, &length);
  put_value(L, under(object, key, length, depth), lua_gettop(L));
  lua_remove(L, -2);
}

static void put_ordered(lua_State *L, place at, int index) {
  json_t *object = attach(L, at, json_object());
  lua_Integer count = (lua_Integer)lua_rawlen(L, index);
  for (lua_Integer i = 1; i <= count; i++) {
    lua_rawgeti(L, index, i);
    lua_rawgeti(L, -1, 1);
    lua_rawgeti(L, -2, 2);
    if (!lua_isnil(L, -1)) {
      put_member(L, object, at.depth + 1);
    }
    lua_pop(L, 3);
  }
}

/* Puts the text keys of the table at `index`, sorted by bytes, on the stack as an array. */
static void push_sorted_keys(lua_State *L, int index) {
  lua_newtable(L);
  lua_Integer count = 0;
  lua_pushnil(L);
  while (lua_next(L, index)) {
    lua_pop(L, 1);
    if (lua_type(L, -1) != LUA_TSTRING) {
      luaL_error(L, "json: a table has both text keys and other keys");
    }
    lua_pushvalue(L, -1);
    lua_rawseti(L, -3, ++count);
  }
  lua_getglobal(L, "table");
  lua_getfield(L, -1, "sort");
  lua_remove(L, -2);
  lua_pushvalue(L, -2);
  lua_call(L, 1, 0);
}

static void put_sorted(lua_State *L, place at, int index) {
  json_t *object = attach(L, at, json_object());
  push_sorted_keys(L, index);
  int keys = lua_gettop(L);
  lua_Integer count = (lua_Integer)lua_rawlen(L, keys);
  for (lua_Integer i = 1; i <= count; i++) {
    lua_rawgeti(L, keys, i);
    lua_pushvalue(L, -1);
    lua_rawget(L, index);
    put_member(L, object, at.depth + 1);
    lua_pop(L, 2);
  }
  lua_pop(L, 1);
}

static void put_value(lua_State *L, place at, int index) {
  luaL_checkstack(L, 16, "json: nested too deep");
  fettle_quantity quantity = {0};
  switch (lua_type(L, index)) {
  case LUA_TBOOLEAN:
    attach(L, at, json_boolean(lua_toboolean(L, index)));
    break;
  case LUA_TNUMBER:
    if (lua_isinteger(L, index)) {
      attach(L, at, json_integer(lua_tointeger(L, index)));
    } else {
      put_real(L, at, lua_tonumber(L, index));
    }
    break;
  case LUA_TSTRING:
    put_string(L, at, lua_tostring(L, index), lua_rawlen(L, index));
    break;
  case LUA_TLIGHTUSERDATA:
    attach(L, at, json_null());
    break;
  case LUA_TTABLE:
    if (at.depth >= DEPTH_MOST) {
      luaL_error(L, "json: nested deeper than %d, or a table that holds itself", (int)DEPTH_MOST);
    }
    if (has_mark(L, index, ORDERED_MARK)) {
      put_ordered(L, at, index);
    } else if (has_mark(L, index, ARRAY_MARK) || lua_rawlen(L, index) > 0) {
      put_array(L, at, index);
    } else {
      put_sorted(L, at, index);
    }
    break;
  default:
    if (!fettle_is_quantity(L, index) || !fettle_to_quantity(L, index, &quantity)) {
      luaL_error(L, "json: a %s has no place on a sheet", luaL_typename(L, index));
    }
    put_quantity(L, at, &quantity);
  }
}

static int json_encode(lua_State *L) {
  luaL_checkany(L, 1);
  lua_settop(L, 2);
  size_t flags = JSON_ENCODE_ANY | JSON_COMPACT;
  if (lua_istable(L, 2)) {
    lua_getfield(L, 2, "indent");
    flags = lua_toboolean(L, -1) ? JSON_ENCODE_ANY | JSON_INDENT(2) : flags;
  }
  lua_settop(L, 1);
  tree *t = lua_newuserdatauv(L, sizeof *t, 0);
  *t = (tree){0};
  luaL_setmetatable(L, TREE_TYPE);
  t->root = json_array();
  if (t->root) {
    put_value(L, (place){.parent = t->root}, 1);
    t->text = json_dumps(json_array_get(t->root, 0), flags);
  }
  if (!t->text) {
    return luaL_error(L, "json: out of memory");
  }
  lua_pushstring(L, t->text);
  return 1;
}

static int valid_text(lua_State *L) {
  size_t length = 0;
  const char *text = luaL_checklstring(L, 1, &length);
  fettle_push_valid_text(L, text, length);
  return 1;
}

static void push_decoded(lua_State *L, const json_t *value) {
  luaL_checkstack(L, 6, "json: nested too deep");
  switch (json_typeof(value)) {
  case JSON_OBJECT: {
    const char *key;
    json_t *member;
    lua_newtable(L);
    json_object_foreach((json_t *)value, key, member) {
      push_decoded(L, member);
      lua_setfield(L, -2, key);
    }
    break;
  }
  case JSON_ARRAY:
    lua_newtable(L);
    for (size_t i = 0; i < json_array_size(value); i++) {
      push_decoded(L, json_array_get(value, i));
      lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    luaL_setmetatable(L, ARRAY_MARK);
    break;
  case JSON_STRING:
    lua_pushlstring(L, json_string_value(value), json_string_length(value));
    break;
  case JSON_INTEGER:
    lua_pushinteger(L, json_integer_value(value));
    break;
  case JSON_REAL:
    lua_pushnumber(L, json_real_value(value));
    break;
  case JSON_TRUE:
  case JSON_FALSE:
    lua_pushboolean(L, json_is_true(value));
    break;
  case JSON_NULL:
  default:
    lua_pushlightuserdata(L, NULL);
  }
}

static int push_decoded_protected(lua_State *L) {
  const json_t *value = lua_touserdata(L, 1);
  push_decoded(L, value);
  return 1;
}

static int json_decode(lua_State *L) {
  size_t length = 0;
  const char *text = luaL_checklstring(L, 1, &length);
  json_error_t problem;
  json_t *value = json_loadb(text, length, JSON_REJECT_DUPLICATES | JSON_DECODE_ANY, &problem);
  if (!value) {
    lua_pushnil(L);
    lua_pushfstring(L, "line %d, column %d: %s", problem.line, problem.column, problem.text);
    return 2;
  }
  /* Protected, so that the tree is freed when there is no memory. */
  lua_pushcfunction(L, push_decoded_protected);
  lua_pushlightuserdata(L, value);
  int status = lua_pcall(L, 1, 1, 0);
  json_decref(value);
  return status == LUA_OK ? 1 : lua_error(L);
}

static int mark_ordered(lua_State *L) {
  luaL_checktype(L, 1, LUA_TTABLE);
  lua_settop(L, 1);
  luaL_setmetatable(L, ORDERED_MARK);
  return 1;
}

static int mark_array(lua_State *L) {
  luaL_checktype(L, 1, LUA_TTABLE);
  lua_settop(L, 1);
  luaL_setmetatable(L, ARRAY_MARK);
  return 1;
}

void fettle_open_json(lua_State *L) {
  static const luaL_Reg functions[] = {{"json_encode", json_encode}, {"json_decode", json_decode},
                                       {"ordered", mark_ordered},    {"array", mark_array},
                                       {"valid_text", valid_text},   {NULL, NULL}};
  luaL_newmetatable(L, ORDERED_MARK);
  luaL_newmetatable(L, ARRAY_MARK);
  luaL_newmetatable(L, TREE_TYPE);
  lua_pushcfunction(L, collect_tree);
  lua_setfield(L, -2, "__gc");
  lua_pop(L, 3);
  luaL_setfuncs(L, functions, 0);
  lua_pushlightuserdata(L, NULL);
  lua_setfield(L, -2, "null");
}
