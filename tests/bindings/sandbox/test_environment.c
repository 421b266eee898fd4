/* Walks everything that a recipe can reach before it has words, units and calculations. */
#include <stdio.h>
#include <string.h>

#include <lauxlib.h>

#include "sandbox/box.h"
#include "sandbox/environment.h"
#include "sandbox/source.h"
#include "support/near.h"

/* Every reachable name and its type, by hand: a new one is a decision, not an accident. */
static const char *const golden =
    "assert function\nerror function\nipairs function\nis_empty function\n"
    "math table\nmath.abs function\nmath.acos function\nmath.asin function\nmath.atan function\n"
    "math.ceil function\nmath.cos function\nmath.deg function\nmath.exp function\n"
    "math.floor function\nmath.fmod function\nmath.huge number\nmath.log function\n"
    "math.max function\nmath.maxinteger number\nmath.min function\nmath.mininteger number\n"
    "math.modf function\nmath.pi number\nmath.rad function\nmath.sin function\n"
    "math.sqrt function\nmath.tan function\nmath.tointeger function\nmath.type function\n"
    "math.ult function\n"
    "pairs function\npcall function\nselect function\n"
    "string table\nstring.byte function\nstring.char function\nstring.find function\n"
    "string.format function\nstring.len function\nstring.lower function\nstring.rep function\n"
    "string.reverse function\nstring.split function\nstring.starts_with function\n"
    "string.sub function\nstring.trim function\nstring.upper function\n"
    "table table\ntable.concat function\ntable.insert function\ntable.move function\n"
    "table.remove function\ntable.sort function\ntable.unpack function\n"
    "tonumber function\ntostring function\ntype function\n";

static void add_names(lua_State *L, int table, const char *prefix, char *out, size_t capacity) {
  /* The sandbox's own pairs gives them in order. */
  lua_getfield(L, 1, "pairs");
  lua_pushvalue(L, table);
  lua_call(L, 1, 1);
  int step = lua_gettop(L);
  for (;;) {
    lua_pushvalue(L, step);
    lua_call(L, 0, 2);
    if (lua_isnil(L, -2)) {
      lua_settop(L, step - 1);
      return;
    }
    size_t used = strlen(out);
    snprintf(out + used, capacity - used, "%s%s %s\n", prefix, lua_tostring(L, -2),
             luaL_typename(L, -1));
    if (lua_istable(L, -1)) {
      char inner[64];
      snprintf(inner, sizeof inner, "%s%s.", prefix, lua_tostring(L, -2));
      add_names(L, lua_gettop(L), inner, out, capacity);
    }
    lua_settop(L, step);
  }
}

static void only_listed_names_can_be_reached(void **state) {
  (void)state;
  fettle_box box;
  lua_State *L = fettle_box_open(&box, &fettle_box_defaults);
  fettle_environment_open(L);
  static char found[8192];
  found[0] = '\0';
  add_names(L, 1, "", found, sizeof found);
  assert_string_equal(found, golden);
  fettle_box_close(&box);
}

static void methods_of_texts_are_the_listed_ones(void **state) {
  (void)state;
  fettle_box box;
  lua_State *L = fettle_box_open(&box, &fettle_box_defaults);
  fettle_environment_open(L);
  lua_pushliteral(L, "");
  assert_true(lua_getmetatable(L, -1));
  int count = 0;
  lua_pushnil(L);
  while (lua_next(L, -2)) {
    const char *name = lua_tostring(L, -2);
    assert_true(strcmp(name, "__index") == 0 || strcmp(name, "__metatable") == 0);
    count++;
    lua_pop(L, 1);
  }
  assert_int_equal(count, 2);
  fettle_box_close(&box);
}

static void budgets_start_afresh(void **state) {
  (void)state;
  fettle_box box;
  fettle_box_limits limits = fettle_box_defaults;
  limits.steps = 1000 * 1000;
  lua_State *L = fettle_box_open(&box, &limits);
  for (int round = 0; round < 2; round++) {
    fettle_box_start(&box);
    assert_int_equal(luaL_loadstring(L, "while true do end"), LUA_OK);
    assert_int_not_equal(fettle_box_call(&box, 0, 0), LUA_OK);
    assert_non_null(box.tripped);
    fettle_box_start(&box);
    assert_null(box.tripped);
    assert_int_equal(luaL_loadstring(L, "return 1 + 1"), LUA_OK);
    assert_int_equal(fettle_box_call(&box, 0, 1), LUA_OK);
    assert_int_equal(lua_tointeger(L, -1), 2);
    lua_settop(L, 0);
  }
  fettle_box_close(&box);
}

/* Memory of declared jobs has its own account, and an interruption cancels them. */
static void jobs_have_an_account_of_their_own(void **state) {
  (void)state;
  fettle_box box;
  lua_State *L = fettle_box_open(&box, &fettle_box_defaults);
  lua_getfield(L, LUA_REGISTRYINDEX, "fettle.host");
  const fettle_host *host = lua_touserdata(L, -1);
  assert_non_null(host);
  size_t size = fettle_box_defaults.live_bytes * 2, live = box.live;
  char *block = host->allocate(host->context, NULL, 0, size);
  assert_non_null(block);
  assert_int_equal(box.live, live);
  assert_int_equal(box.job_live, size);
  assert_null(host->allocate(host->context, NULL, 0, fettle_box_defaults.job_bytes));
  assert_null(host->allocate(host->context, block, size, 0));
  assert_int_equal(box.job_live, 0);
  assert_int_equal(host->poll(host->context, 0.5, "test"), 0);
  fettle_interrupted = 1;
  assert_int_not_equal(host->poll(host->context, 0.5, "test"), 0);
  fettle_interrupted = 0;
  char line[256];
  fettle_box_explain(&box, line, sizeof line);
  assert_string_equal(line, "interrupted");
  fettle_box_close(&box);
}

static void each_kind_of_bad_text_has_its_message(void **state) {
  (void)state;
  static const struct {
    const char *bytes;
    size_t length;
    const char *message;
  } cases[] = {
      {"\x1bLua\x54", 5, "x.lua:1: is a compiled chunk"},
      {"\xEF\xBB\xBFx = 1", 8, "x.lua:1: starts with a byte order mark"},
      {"#!/usr/bin/lua\n", 15, "x.lua:1: starts with '#!'"},
      {"a = 1\nb\0", 8, "x.lua:2:2: "},
      {"a = '\xC0\x80'", 8, "x.lua:1:6: "},
      {"\xED\xA0\x80", 3, "x.lua:1:1: "},
      {"\xF5\x80\x80\x80", 4, "x.lua:1:1: "},
      {"a\n\n\xE2\x82", 5, "x.lua:3:1: "},
  };
  char message[256];
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    assert_false(
        fettle_source_check("x.lua", cases[i].bytes, cases[i].length, message, sizeof message));
    if (strncmp(message, cases[i].message, strlen(cases[i].message)) != 0) {
      print_error("wanted '%s', got '%s'\n", cases[i].message, message);
      fail();
    }
  }
  static char large[FETTLE_SOURCE_BYTES_MOST + 1];
  memset(large, ' ', sizeof large);
  assert_false(fettle_source_check("x.lua", large, sizeof large, message, sizeof message));
  assert_non_null(strstr(message, "larger than 1 MiB"));
  assert_true(fettle_source_check("x.lua", large, sizeof large - 1, message, sizeof message));
  assert_true(fettle_source_check("x.lua", "-- \xC3\xA9\n", 6, message, sizeof message));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(only_listed_names_can_be_reached),
      cmocka_unit_test(methods_of_texts_are_the_listed_ones),
      cmocka_unit_test(budgets_start_afresh),
      cmocka_unit_test(jobs_have_an_account_of_their_own),
      cmocka_unit_test(each_kind_of_bad_text_has_its_message),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
