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

enum { DEPTH_MOST = 64, NUMBER_TEXT = 40, UNIT_TEXT = 96 };

/* The text grows in a luaL_Buffer, which may sit on the stack: every value that is read while it
 * is open lives below it at an absolute index, so the writer keeps pieces in a Lua table instead
 * and joins them once. */
typedef struct writer {
  lua_State *L;
  int pieces; /* stack index of the table of pieces */
  lua_Integer count;
  bool indent;
  int depth;
} writer;

static void write_text(writer *w, const char *text, size_t length) {
  lua_pushlstring(w->L, text, length);
  lua_rawseti(w->L, w->pieces, ++w->count);
}

static void write_word(writer *w, const char *word) {
  write_text(w, word, strlen(word));
}

static void write_break(writer *w) {
  if (w->indent) {
    write_word(w, "\n");
    for (int i = 0; i < w->depth; i++) {
      write_word(w, "  ");
    }
  }
}

/* Length of the UTF-8 sequence at `text`, or 0 when it is not well formed. */
static size_t sequence_length(const unsigned char *text, size_t left) {
  unsigned char first = text[0];
  size_t length = first < 0x80 ? 1 : first < 0xC2 ? 0 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
  if (first > 0xF4 || length == 0 || length > left) {
    return 0;
  }
  for (size_t i = 1; i < length; i++) {
    if ((text[i] & 0xC0) != 0x80) {
      return 0;
    }
  }
  bool overlong = (first == 0xE0 && text[1] < 0xA0) || (first == 0xF0 && text[1] < 0x90);
  bool outside = (first == 0xED && text[1] > 0x9F) || (first == 0xF4 && text[1] > 0x8F);
  return overlong || outside ? 0 : length;
}

static void write_string(writer *w, const char *text, size_t length) {
  static const char digits[] = "0123456789abcdef";
  luaL_Buffer buffer;
  luaL_buffinit(w->L, &buffer);
  luaL_addchar(&buffer, '"');
  for (size_t i = 0; i < length;) {
    unsigned char c = (unsigned char)text[i];
    size_t step = sequence_length((const unsigned char *)text + i, length - i);
    if (step == 0) {
      luaL_addstring(&buffer, "\xEF\xBF\xBD"); /* the replacement character */
      i++;
    } else if (c == '"' || c == '\\') {
      luaL_addchar(&buffer, '\\');
      luaL_addchar(&buffer, (char)c);
      i++;
    } else if (c == '\n') {
      luaL_addstring(&buffer, "\\n");
      i++;
    } else if (c == '\t') {
      luaL_addstring(&buffer, "\\t");
      i++;
    } else if (c < 0x20 || c == 0x7F) {
      luaL_addstring(&buffer, "\\u00");
      luaL_addchar(&buffer, digits[c >> 4]);
      luaL_addchar(&buffer, digits[c & 15]);
      i++;
    } else {
      luaL_addlstring(&buffer, text + i, step);
      i += step;
    }
  }
  luaL_addchar(&buffer, '"');
  luaL_pushresult(&buffer);
  lua_rawseti(w->L, w->pieces, ++w->count);
}

static void write_number(writer *w, double value) {
  if (!isfinite(value)) {
    luaL_error(w->L, "json: a number that is not finite has no place on a sheet");
  }
  char text[NUMBER_TEXT];
  for (int digits = 15; digits <= 17; digits++) {
    double back = 0;
    size_t length = fettle_number_format(value, digits, text, sizeof text);
    if (digits == 17 ||
        (fettle_number_parse(text, length, &back, NULL) == FETTLE_OK && back == value)) {
      break;
    }
  }
  write_word(w, text);
}

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

static void write_key(writer *w, const char *key, size_t length) {
  write_string(w, key, length);
  write_word(w, w->indent ? ": " : ":");
}

static void write_quantity(writer *w, const fettle_quantity *quantity) {
  lua_State *L = w->L;
  fettle_push_shown(L, quantity, fettle_unit_choose(quantity, fettle_get_habit(L)));
  fettle_push_si_unit(L, quantity);
  /* One line also when indenting: it is one number. */
  write_word(w, "{\"value\": ");
  write_number(w, lua_tonumber(L, -3));
  write_word(w, ", \"unit\": ");
  write_string(w, lua_tostring(L, -2), lua_rawlen(L, -2));
  write_word(w, ", \"si\": ");
  write_number(w, quantity->value);
  write_word(w, ", \"si_unit\": ");
  write_string(w, lua_tostring(L, -1), lua_rawlen(L, -1));
  write_word(w, "}");
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

static void write_value(writer *w, int index);

static void write_array(writer *w, int index) {
  lua_State *L = w->L;
  lua_Integer count = (lua_Integer)lua_rawlen(L, index);
  write_word(w, "[");
  w->depth++;
  for (lua_Integer i = 1; i <= count; i++) {
    if (i > 1) {
      write_word(w, ",");
    }
    write_break(w);
    lua_rawgeti(L, index, i);
    write_value(w, lua_gettop(L));
    lua_pop(L, 1);
  }
  w->depth--;
  if (count > 0) {
    write_break(w);
  }
  write_word(w, "]");
}

static void write_ordered(writer *w, int index) {
  lua_State *L = w->L;
  lua_Integer count = (lua_Integer)lua_rawlen(L, index);
  bool first = true;
  write_word(w, "{");
  w->depth++;
  for (lua_Integer i = 1; i <= count; i++) {
    lua_rawgeti(L, index, i);
    lua_rawgeti(L, -1, 1);
    lua_rawgeti(L, -2, 2);
    if (!lua_isnil(L, -1)) {
      size_t length = 0;
      const char *key = luaL_checklstring(L, -2, &length);
      if (!first) {
        write_word(w, ",");
      }
      first = false;
      write_break(w);
      write_key(w, key, length);
      write_value(w, lua_gettop(L));
    }
    lua_pop(L, 3);
  }
  w->depth--;
  if (!first) {
    write_break(w);
  }
  write_word(w, "}");
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

static void write_sorted(writer *w, int index) {
  lua_State *L = w->L;
  push_sorted_keys(L, index);
  int keys = lua_gettop(L);
  lua_Integer count = (lua_Integer)lua_rawlen(L, keys);
  write_word(w, "{");
  w->depth++;
  for (lua_Integer i = 1; i <= count; i++) {
    if (i > 1) {
      write_word(w, ",");
    }
    write_break(w);
    lua_rawgeti(L, keys, i);
    size_t length = 0;
    const char *key = lua_tolstring(L, -1, &length);
    write_key(w, key, length);
    lua_rawget(L, index);
    write_value(w, lua_gettop(L));
    lua_pop(L, 1);
  }
  w->depth--;
  if (count > 0) {
    write_break(w);
  }
  write_word(w, "}");
  lua_pop(L, 1);
}

static void write_value(writer *w, int index) {
  lua_State *L = w->L;
  luaL_checkstack(L, 12, "json: nested too deep");
  fettle_quantity quantity = {0};
  switch (lua_type(L, index)) {
  case LUA_TBOOLEAN:
    write_word(w, lua_toboolean(L, index) ? "true" : "false");
    break;
  case LUA_TNUMBER:
    if (lua_isinteger(L, index)) {
      lua_pushvalue(L, index);
      write_word(w, lua_tostring(L, -1));
      lua_pop(L, 1);
    } else {
      write_number(w, lua_tonumber(L, index));
    }
    break;
  case LUA_TSTRING: {
    size_t length = 0;
    const char *text = lua_tolstring(L, index, &length);
    write_string(w, text, length);
    break;
  }
  case LUA_TLIGHTUSERDATA:
    write_word(w, "null");
    break;
  case LUA_TTABLE:
    if (w->depth >= DEPTH_MOST) {
      luaL_error(L, "json: nested deeper than %d, or a table that holds itself", (int)DEPTH_MOST);
    }
    if (has_mark(L, index, ORDERED_MARK)) {
      write_ordered(w, index);
    } else if (has_mark(L, index, ARRAY_MARK) || lua_rawlen(L, index) > 0) {
      write_array(w, index);
    } else {
      write_sorted(w, index);
    }
    break;
  default:
    if (!fettle_is_quantity(L, index) || !fettle_to_quantity(L, index, &quantity)) {
      luaL_error(L, "json: a %s has no place on a sheet", luaL_typename(L, index));
    }
    write_quantity(w, &quantity);
  }
}

static int json_encode(lua_State *L) {
  luaL_checkany(L, 1);
  lua_settop(L, 2);
  writer w = {.L = L};
  if (lua_istable(L, 2)) {
    lua_getfield(L, 2, "indent");
    w.indent = lua_toboolean(L, -1);
  }
  lua_settop(L, 1);
  lua_newtable(L);
  w.pieces = 2;
  write_value(&w, 1);
  lua_getglobal(L, "table");
  lua_getfield(L, -1, "concat");
  lua_pushvalue(L, w.pieces);
  lua_call(L, 1, 1);
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
  static const luaL_Reg functions[] = {{"json_encode", json_encode},
                                       {"json_decode", json_decode},
                                       {"ordered", mark_ordered},
                                       {"array", mark_array},
                                       {NULL, NULL}};
  luaL_newmetatable(L, ORDERED_MARK);
  luaL_newmetatable(L, ARRAY_MARK);
  lua_pop(L, 2);
  luaL_setfuncs(L, functions, 0);
  lua_pushlightuserdata(L, NULL);
  lua_setfield(L, -2, "null");
}
