#include "sandbox/libraries.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include <lauxlib.h>

#include "lua/error.h"
#include "lua/quantity.h"
#include "sandbox/box.h"
#include "sandbox/environment.h"

enum {
  TEXT_BYTES_MOST = 1 << 20, /* of one text made by rep or format */
  UNPACK_MOST = 250,         /* values; as many as a function may have locals and arguments */
  BYTES_PER_STEP = 16        /* what C does to texts in the time of one Lua instruction */
};

static void charge_bytes(lua_State *L, size_t bytes) {
  fettle_box_charge(L, 1 + bytes / BYTES_PER_STEP);
}

/* --- string --- */

/* Calls the standard function in upvalue 1 after charging for the text it walks over. */
static int charged_text(lua_State *L) {
  size_t length;
  luaL_checklstring(L, 1, &length);
  charge_bytes(L, length);
  lua_pushvalue(L, lua_upvalueindex(1));
  lua_insert(L, 1);
  lua_call(L, lua_gettop(L) - 1, LUA_MULTRET);
  return lua_gettop(L);
}

static int text_repeat(lua_State *L) {
  size_t length, gap;
  luaL_checklstring(L, 1, &length);
  lua_Integer count = luaL_checkinteger(L, 2);
  luaL_optlstring(L, 3, "", &gap);
  size_t each = length + gap;
  if (count <= 0 || each == 0) {
    lua_pushliteral(L, "");
    return 1;
  }
  if ((lua_Unsigned)count > TEXT_BYTES_MOST / each) {
    return fettle_raise_text(L, FETTLE_ERROR_RANGE,
                             "string.rep: the text would be longer than 1 MiB");
  }
  charge_bytes(L, (size_t)count * each);
  lua_pushvalue(L, lua_upvalueindex(1));
  lua_insert(L, 1);
  lua_call(L, lua_gettop(L) - 1, 1);
  return 1;
}

/* Where `needle` starts in `text`, or NULL; memmem is not C11. */
static const char *search(const char *text, size_t length, const char *needle, size_t size) {
  if (size == 0) {
    return text;
  }
  const char *end = text + length;
  while ((size_t)(end - text) >= size) {
    const char *at = memchr(text, needle[0], (size_t)(end - text) - size + 1);
    if (!at || memcmp(at, needle, size) == 0) {
      return at;
    }
    text = at + 1;
  }
  return NULL;
}

/* string.find(text, part, from): plain text only, since patterns can take for ever. */
static int text_find(lua_State *L) {
  size_t length, size;
  const char *text = luaL_checklstring(L, 1, &length);
  const char *part = luaL_checklstring(L, 2, &size);
  lua_Integer from = luaL_optinteger(L, 3, 1);
  if (from < 0) {
    from = 0 - (lua_Unsigned)from > length ? 1 : (lua_Integer)length + from + 1;
  } else if (from == 0) {
    from = 1;
  }
  if ((lua_Unsigned)from > length + 1) {
    lua_pushnil(L);
    return 1;
  }
  /* The worst case compares the whole part at every place. */
  size_t left = length - (size_t)from + 1;
  charge_bytes(L, size > 64 && size <= left ? (left - size + 1) * (size / 16) : left);
  const char *at = search(text + from - 1, left, part, size);
  if (!at) {
    lua_pushnil(L);
    return 1;
  }
  lua_pushinteger(L, at - text + 1);
  lua_pushinteger(L, at - text + (lua_Integer)size);
  return 2;
}

static int text_starts_with(lua_State *L) {
  size_t length, size;
  const char *text = luaL_checklstring(L, 1, &length);
  const char *start = luaL_checklstring(L, 2, &size);
  charge_bytes(L, size);
  lua_pushboolean(L, size <= length && memcmp(text, start, size) == 0);
  return 1;
}

static bool is_space(char character) {
  return character == ' ' || (character >= '\t' && character <= '\r');
}

static int text_trim(lua_State *L) {
  size_t length;
  const char *text = luaL_checklstring(L, 1, &length);
  charge_bytes(L, length);
  while (length > 0 && is_space(text[length - 1])) {
    length--;
  }
  size_t start = 0;
  while (start < length && is_space(text[start])) {
    start++;
  }
  lua_pushlstring(L, text + start, length - start);
  return 1;
}

/* string.split(text, separator): the parts between the separators, as a list. */
static int text_split(lua_State *L) {
  size_t length, size;
  const char *text = luaL_checklstring(L, 1, &length);
  const char *separator = luaL_checklstring(L, 2, &size);
  if (size == 0) {
    return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "string.split: the separator is empty");
  }
  charge_bytes(L, size > 64 ? length * (size / 16) : length);
  lua_newtable(L);
  const char *end = text + length;
  for (lua_Integer count = 1;; count++) {
    fettle_box_charge(L, 4);
    const char *at = search(text, (size_t)(end - text), separator, size);
    lua_pushlstring(L, text, (size_t)((at ? at : end) - text));
    lua_seti(L, -2, count);
    if (!at) {
      return 1;
    }
    text = at + size;
  }
}

/* Replaces the arguments that would print an address or another spelling of "not a number", refuses
 * %p, and lets the standard function (upvalue 1) do the rest. */
static int text_format(lua_State *L) {
  size_t length;
  const char *format = luaL_checklstring(L, 1, &length);
  int last = lua_gettop(L), argument = 1;
  size_t total = length;
  for (const char *at = format; at < format + length; at++) {
    if (*at != '%') {
      continue;
    }
    at++;
    if (at < format + length && *at == '%') {
      continue;
    }
    at += strspn(at, "-+ #0123456789."); /* the text ends in NUL */
    argument++;
    if (*at == 'p') {
      return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                               "string.format: '%%p' would print an address: there are none here");
    }
    if (argument > last) {
      continue; /* the standard function says which is missing */
    }
    if (*at == 's') {
      fettle_push_text(L, argument);
      lua_replace(L, argument);
      total += lua_rawlen(L, argument);
    } else if (*at == 'q') {
      if (lua_type(L, argument) == LUA_TUSERDATA || lua_type(L, argument) == LUA_TTABLE) {
        fettle_push_text(L, argument);
        lua_replace(L, argument);
      }
      total += lua_type(L, argument) == LUA_TSTRING ? 4 * lua_rawlen(L, argument) : 0;
    } else if (lua_type(L, argument) == LUA_TNUMBER && isnan(lua_tonumber(L, argument))) {
      lua_pushnumber(L, fabs((lua_Number)NAN));
      lua_replace(L, argument);
    }
  }
  if (total > TEXT_BYTES_MOST) {
    return fettle_raise_text(L, FETTLE_ERROR_RANGE,
                             "string.format: the text would be longer than 1 MiB");
  }
  charge_bytes(L, total);
  lua_pushvalue(L, lua_upvalueindex(1));
  lua_insert(L, 1);
  lua_call(L, last, 1);
  return 1;
}

/* --- table --- */

static lua_Integer length_of(lua_State *L, int index) {
  luaL_checktype(L, index, LUA_TTABLE);
  return luaL_len(L, index);
}

/* How far insert and remove shift what stands behind the place. */
static int charged_shift(lua_State *L) {
  lua_Integer length = length_of(L, 1);
  bool removes = lua_toboolean(L, lua_upvalueindex(2));
  if (lua_gettop(L) >= (removes ? 2 : 3)) {
    lua_Integer place = luaL_checkinteger(L, 2);
    if (place >= 1 && place <= length) {
      fettle_box_charge(L, (uint64_t)(length - place) + 1);
    }
  }
  lua_pushvalue(L, lua_upvalueindex(1));
  lua_insert(L, 1);
  lua_call(L, lua_gettop(L) - 1, LUA_MULTRET);
  return lua_gettop(L);
}

/* How many numbers there are from first to last; the whole range of integers would wrap to 0. */
static uint64_t span(lua_Integer first, lua_Integer last) {
  uint64_t distance = (uint64_t)last - (uint64_t)first;
  return last < first ? 0 : distance == UINT64_MAX ? UINT64_MAX : distance + 1;
}

static int table_concat(lua_State *L) {
  lua_Integer length = length_of(L, 1);
  lua_settop(L, 4);
  lua_Integer first = luaL_optinteger(L, 3, 1), last = luaL_optinteger(L, 4, length);
  size_t gap;
  luaL_optlstring(L, 2, "", &gap);
  uint64_t count = span(first, last);
  fettle_box_charge(L, count > UINT64_MAX / 4096 ? UINT64_MAX : count * (2 + gap / BYTES_PER_STEP));
  lua_pushvalue(L, lua_upvalueindex(1));
  lua_insert(L, 1);
  lua_call(L, 4, 1);
  return 1;
}

static int table_move(lua_State *L) {
  length_of(L, 1);
  fettle_box_charge(L, span(luaL_checkinteger(L, 2), luaL_checkinteger(L, 3)));
  lua_pushvalue(L, lua_upvalueindex(1));
  lua_insert(L, 1);
  lua_call(L, lua_gettop(L) - 1, 1);
  return 1;
}

static int table_unpack(lua_State *L) {
  lua_Integer length = length_of(L, 1);
  lua_settop(L, 3);
  lua_Integer first = luaL_optinteger(L, 2, 1), last = luaL_optinteger(L, 3, length);
  if (span(first, last) > UNPACK_MOST) {
    return fettle_raise_text(L, FETTLE_ERROR_RANGE,
                             "table.unpack: more than %d values at once: use the list itself",
                             UNPACK_MOST);
  }
  for (lua_Integer i = first; i <= last; i++) {
    luaL_checkstack(L, 1, "table.unpack");
    lua_geti(L, 1, i);
    if (i == last) {
      break; /* it may be the largest integer */
    }
  }
  return lua_gettop(L) - 3;
}

/* Is the value at `a` before the one at `b`, by the function at 2 or by `<`? */
static bool before(lua_State *L, int a, int b) {
  fettle_box_charge(L, 2);
  if (lua_isnil(L, 2)) {
    return lua_compare(L, a, b, LUA_OPLT);
  }
  a = lua_absindex(L, a);
  b = lua_absindex(L, b);
  lua_pushvalue(L, 2);
  lua_pushvalue(L, a);
  lua_pushvalue(L, b);
  lua_call(L, 2, 1);
  bool answer = lua_toboolean(L, -1);
  lua_pop(L, 1);
  return answer;
}

/* table.sort: merges runs, so that equal values keep their order; the standard one is not stable
 * and takes its pivot from the clock in long lists. */
static int table_sort(lua_State *L) {
  lua_Integer length = length_of(L, 1);
  lua_settop(L, 2);
  if (!lua_isnil(L, 2)) {
    luaL_checktype(L, 2, LUA_TFUNCTION);
  }
  if (length > 10000000) {
    return luaL_argerror(L, 1, "the list is too long");
  }
  fettle_box_charge(L, (uint64_t)length);
  lua_newtable(L); /* 3: from */
  lua_newtable(L); /* 4: to */
  for (lua_Integer i = 1; i <= length; i++) {
    lua_geti(L, 1, i);
    lua_seti(L, 3, i);
  }
  for (lua_Integer width = 1; width < length; width *= 2) {
    for (lua_Integer low = 1; low <= length; low += 2 * width) {
      lua_Integer middle = low + width <= length ? low + width : length + 1;
      lua_Integer high = low + 2 * width <= length ? low + 2 * width : length + 1;
      lua_Integer left = low, right = middle;
      for (lua_Integer at = low; at < high; at++) {
        fettle_box_charge(L, 4);
        bool take_right = left == middle;
        if (!take_right && right < high) {
          lua_geti(L, 3, right);
          lua_geti(L, 3, left);
          take_right = before(L, -2, -1);
          lua_pop(L, 2);
        }
        lua_geti(L, 3, take_right ? right++ : left++);
        lua_seti(L, 4, at);
      }
    }
    lua_pushvalue(L, 3);
    lua_copy(L, 4, 3);
    lua_replace(L, 4);
  }
  for (lua_Integer i = 1; i <= length; i++) {
    lua_geti(L, 3, i);
    if (i > 1) {
      lua_geti(L, 3, i - 1);
      if (before(L, -2, -1)) {
        return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                                 "table.sort: the order function contradicts itself: it must say "
                                 "whether its first argument comes before its second");
      }
      lua_pop(L, 1);
    }
    lua_seti(L, 1, i);
  }
  return 0;
}

/* --- putting together --- */

static void wrap(lua_State *L, int from, int to, const char *name, lua_CFunction function,
                 bool flag) {
  lua_getfield(L, from, name);
  lua_pushboolean(L, flag);
  lua_pushcclosure(L, function, 2);
  lua_setfield(L, to, name);
}

static void fill_string(lua_State *L, int from, int to) {
  static const char *const charged[] = {"lower", "upper", "reverse", "sub", NULL};
  static const char *const plain[] = {"byte", "char", "len", NULL};
  for (size_t i = 0; charged[i]; i++) {
    wrap(L, from, to, charged[i], charged_text, false);
  }
  for (size_t i = 0; plain[i]; i++) {
    lua_getfield(L, from, plain[i]);
    lua_setfield(L, to, plain[i]);
  }
  wrap(L, from, to, "rep", text_repeat, false);
  wrap(L, from, to, "format", text_format, false);
  static const luaL_Reg own[] = {{"find", text_find},
                                 {"split", text_split},
                                 {"starts_with", text_starts_with},
                                 {"trim", text_trim},
                                 {NULL, NULL}};
  lua_pushvalue(L, to);
  luaL_setfuncs(L, own, 0);
  lua_pop(L, 1);
}

void fettle_open_libraries(lua_State *L, int index) {
  index = lua_absindex(L, index);
  lua_getglobal(L, "string");
  int from = lua_gettop(L);
  lua_newtable(L);
  fill_string(L, from, from + 1);
  lua_setfield(L, index, "string");
  /* Methods of texts come from a second copy, which no recipe can reach; texts do no arithmetic. */
  lua_pushliteral(L, "");
  lua_createtable(L, 0, 2);
  lua_newtable(L);
  fill_string(L, from, lua_gettop(L));
  lua_setfield(L, -2, "__index");
  lua_pushliteral(L, "string");
  lua_setfield(L, -2, "__metatable");
  lua_setmetatable(L, -2);
  lua_pop(L, 2);

  lua_getglobal(L, "table");
  lua_newtable(L);
  wrap(L, from, from + 1, "concat", table_concat, false);
  wrap(L, from, from + 1, "insert", charged_shift, false);
  wrap(L, from, from + 1, "remove", charged_shift, true);
  wrap(L, from, from + 1, "move", table_move, false);
  static const luaL_Reg own[] = {{"sort", table_sort}, {"unpack", table_unpack}, {NULL, NULL}};
  luaL_setfuncs(L, own, 0);
  lua_setfield(L, index, "table");
  lua_pop(L, 1);

  lua_getglobal(L, "math");
  lua_newtable(L);
  /* By name: a library built for compatibility has more. Random numbers are not among them. */
  static const char *const kept[] = {
      "abs",  "acos", "asin", "atan",       "ceil",      "cos",        "deg", "exp",  "floor",
      "fmod", "huge", "log",  "maxinteger", "max",       "mininteger", "min", "modf", "pi",
      "rad",  "sin",  "sqrt", "tan",        "tointeger", "type",       "ult", NULL};
  for (size_t i = 0; kept[i]; i++) {
    lua_getfield(L, from, kept[i]);
    lua_setfield(L, from + 1, kept[i]);
  }
  lua_setfield(L, index, "math");
  lua_pop(L, 1);
}
