#include "support/near.h"

#include <string.h>

#include <lauxlib.h>
#include <lualib.h>

#include "fettle/formula.h"
#include "lua/catalogue.h"
#include "lua/error.h"
#include "lua/quantity.h"
#include "lua/scripts.h"
#include "sheet/host.h"

static lua_State *L;

static int open_state(void **state) {
  (void)state;
  L = luaL_newstate();
  luaL_openlibs(L);
  lua_pushglobaltable(L);
  fettle_open_quantity(L, -1);
  fettle_open_catalogue(L, -1);
  lua_pop(L, 1);
  fettle_open_host(L);
  fettle_script_install_require(L);
  return 0;
}

static int close_state(void **state) {
  (void)state;
  lua_close(L);
  return 0;
}

static void run(const char *chunk) {
  if (luaL_loadbuffer(L, chunk, strlen(chunk), "@recipe.lua") != LUA_OK ||
      lua_pcall(L, 0, 1, 0) != LUA_OK) {
    fail_msg("%s\n%s", chunk, lua_tostring(L, -1));
  }
}

static void gives(const char *chunk, const char *want) {
  run(chunk);
  assert_string_equal(luaL_tolstring(L, -1, NULL), want);
  lua_settop(L, 0);
}

static void raises(const char *chunk, const char *message) {
  assert_int_equal(luaL_loadbuffer(L, chunk, strlen(chunk), "@recipe.lua"), LUA_OK);
  assert_int_not_equal(lua_pcall(L, 0, 0, 0), LUA_OK);
  assert_string_equal(lua_tostring(L, -1), message);
  lua_settop(L, 0);
}

static void value_and_working(void **state) {
  (void)state;
  gives("local h, w = milling.scallop_height{cutter_diameter = q'1/2 in', stepover = q'30 thou'}\n"
        "assert(w.kind == 'calculation' and w.name == 'milling.scallop_height')\n"
        "assert(w.inputs[1].name == 'cutter_diameter' and w.inputs[1].value == q'1/2 in')\n"
        "assert(w.outputs[1].value == h and #w.warnings == 0 and w.source and w.formula)\n"
        "assert(w.substituted:find('1/2 in', 1, true) or w.substituted:find('0.5 in', 1, true))\n"
        /* derived: chord and sagitta, 50 digits */
        "assert(h:near(q'0.00045040573064410 in', q'1e-12 in'), h:text('in', 12))\n"
        "return math.type(h:number('mm'))",
        "float");
}

static void unit_by_habit(void **state) {
  (void)state;
  run("return (milling.scallop_height{cutter_diameter = q'12 mm', stepover = q'1 mm'})");
  fettle_quantity h;
  assert_true(fettle_to_quantity(L, -1, &h));
  assert_string_equal(fettle_unit_at(h.unit)->name, "mm");
  fettle_set_habit(L, FETTLE_HABIT_INCH);
  run("return (milling.scallop_height{cutter_diameter = q'12 mm', stepover = q'1 mm'})");
  assert_true(fettle_to_quantity(L, -1, &h));
  assert_int_equal(fettle_unit_at(h.unit)->habit, FETTLE_HABIT_INCH);
  fettle_set_habit(L, FETTLE_HABIT_NONE);
  run("return (milling.scallop_height{cutter_diameter = q'1/2 in', stepover = q'1 mm'})");
  assert_true(fettle_to_quantity(L, -1, &h));
  assert_int_equal(fettle_unit_at(h.unit)->habit, FETTLE_HABIT_INCH);
  lua_settop(L, 0);
}

static void errors(void **state) {
  (void)state;
  raises("milling.scallop_height{cutter_diameter = q'12 mm', stepover = 14}",
         "recipe.lua:1: milling.scallop_height: stepover = 14: needs a unit (in, thou, mm): write "
         "14*mm or q\"14 mm\"");
  raises("milling.scallop_height{cutter_diameter = q'12 mm', stepovr = q'1 mm'}",
         "recipe.lua:1: milling.scallop_height: unknown argument stepovr; the nearest known one is "
         "stepover");
  raises("milling.scallop_height{cutter_diameter = q'12 mm', stepover = q'14 mm'}",
         "recipe.lua:1: milling.scallop_height: stepover = 14 mm: must not be above "
         "cutter_diameter 12 mm");
  raises("milling.scallop_height{cutter_diameter = q'1/2 in', stepover = q'5/8 in'}",
         "recipe.lua:1: milling.scallop_height: stepover = 0.625 in: must not be above "
         "cutter_diameter 0.5 in");
  raises("milling.scallop_height{cutter_diameter = q'12 mm', stepover = q'3 kg'}",
         "recipe.lua:1: milling.scallop_height: stepover = 3 kg: must be length (mm), not mass");
  raises("milling.scallop_height{cutter_diameter = q'12 mm', stepover = '1 mm'}",
         "recipe.lua:1: milling.scallop_height: stepover is text: write q\"1 mm\" for a quantity");
  raises("milling.scallop_height{cutter_diameter = q'12 mm', stepover = 0/0}",
         "recipe.lua:1: milling.scallop_height: stepover is not a finite number: look for a "
         "division by zero before it");
  raises("milling.scallop_height{cutter_diameter = q'12 mm', stepover = {}}",
         "recipe.lua:1: milling.scallop_height: stepover must be a quantity or a number, not a "
         "table");
  raises("milling.scallop_height(q'12 mm', q'1 mm')",
         "recipe.lua:1: milling.scallop_height: arguments are given by name: write "
         "milling.scallop_height{cutter_diameter = ..., stepover = ...}");
  raises("milling.scallop_height{q'12 mm', q'1 mm'}",
         "recipe.lua:1: milling.scallop_height: arguments are given by name: write "
         "milling.scallop_height{cutter_diameter = ..., stepover = ...}");
  raises("milling.scalop_height{}",
         "recipe.lua:1: there is no calculation milling.scalop_height; the nearest known one is "
         "milling.scallop_height");
  raises("milling.zzz{}",
         "recipe.lua:1: there is no calculation milling.zzz: see fettle show milling");
  assert_int_equal(luaL_dostring(L, "milling.scallop_height{cutter_diameter = q'12 mm'}"), 1);
  assert_non_null(strstr(lua_tostring(L, -1), "milling.scallop_height: missing stepover ("));
  lua_settop(L, 0);
  assert_int_equal(fettle_last_diagnostic(L)->status, FETTLE_ERROR_ARGUMENT);
  assert_string_equal(fettle_last_diagnostic(L)->parameter, "stepover");
}

static void domains_hide_their_metatable(void **state) {
  (void)state;
  gives("return getmetatable(milling)", "false");
}

/* Every entry has a text, and every example runs. */
static void entries(void **state) {
  (void)state;
  gives(
      "local show = require 'show'\n"
      "for _, d in ipairs(host.descriptions()) do\n"
      "  local text, found = show.answer({d}, {d.name}, false)\n"
      "  assert(found and text:find(d.name, 1, true) and text:find(d.source:sub(1, 10), 1, true))\n"
      "  for line in text:gmatch('[^\\n]*') do assert(#line <= 100, line) end\n"
      "  assert(host.json_decode(show.answer({d}, {d.name}, true)).name == d.name)\n"
      "  if d.kind ~= 'lists' then\n"
      "    local call = show.example(d)\n"
      "    local ok, problem = pcall(assert(load('return ' .. call, '@example')))\n"
      "    assert(ok, call .. ': ' .. tostring(problem))\n"
      "  end\n"
      "end\n"
      "return host.description('no.such') == nil",
      "true");
}

static void searches(void **state) {
  (void)state;
  gives("local show = require 'show'\n"
        "local all = host.descriptions()\n"
        "assert(#show.search(all, {}) == #all and #show.names(all) == #all)\n"
        "assert(show.search(all, {'Scallops'})[1].name:find 'scallop')\n"
        "assert(show.search(all, {'scallop', 'height'})[1].name == 'milling.scallop_height')\n"
        "local text, found = show.answer(all, {'scallop'}, false)\n"
        "assert(found and text:find('milling.scallop_height', 1, true))\n"
        "for line in text:gmatch('[^\\n]*') do assert(#line <= 100, line) end\n"
        "text, found = show.answer(all, {'milling.scalop_height'}, false)\n"
        "assert(not found)\n"
        "return text",
        "no calculation has 'milling.scalop_height' in its name, meaning or notes; the nearest "
        "name is milling.scallop_height");
  gives("local text, found = require('show').answer(host.descriptions(), {'qqqq', 'xx'}, false)\n"
        "return text .. tostring(found)",
        "no calculation has 'qqqq xx' in its name, meaning or notes; fettle show lists allfalse");
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(value_and_working),
                                     cmocka_unit_test(unit_by_habit),
                                     cmocka_unit_test(errors),
                                     cmocka_unit_test(domains_hide_their_metatable),
                                     cmocka_unit_test(entries),
                                     cmocka_unit_test(searches)};
  return cmocka_run_group_tests(tests, open_state, close_state);
}
