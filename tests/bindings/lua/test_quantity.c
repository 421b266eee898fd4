/* Quantities in Lua: operators, methods, functions, refusals. */
#include "support/near.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include <lauxlib.h>
#include <lualib.h>

#include "lua/error.h"
#include "lua/quantity.h"

static lua_State *open_state(void) {
  lua_State *L = luaL_newstate();
  luaL_openlibs(L);
  lua_pushglobaltable(L);
  fettle_open_quantity(L, -1);
  lua_pop(L, 1);
  return L;
}

static bool run(lua_State *L, const char *expression) {
  char chunk[400];
  snprintf(chunk, sizeof chunk, "return %s", expression);
  return luaL_loadbuffer(L, chunk, strlen(chunk), "@r.lua") == LUA_OK &&
         lua_pcall(L, 0, 1, 0) == LUA_OK;
}

static void assert_gives(lua_State *L, const char *expression, const char *want) {
  const bool done = run(L, expression);
  const char *got = luaL_tolstring(L, -1, NULL);
  if (!done || strcmp(got, want) != 0) {
    fail_msg("%s: got %s, want %s", expression, got, want);
  }
  lua_pop(L, 2);
}

static void assert_raises(lua_State *L, const char *expression, const char *part) {
  const bool done = run(L, expression);
  const char *got = luaL_tolstring(L, -1, NULL);
  if (done || strncmp(got, "r.lua:1: ", 9) != 0 || !strstr(got, part)) {
    fail_msg("%s: got %s, want an error with %s", expression, got, part);
  }
  lua_pop(L, 2);
}

static void test_arithmetic(void **state) {
  (void)state;
  lua_State *L = open_state();
  static const char *const wanted[][2] = {
      {"20*thou", "20 thou"},
      {"20*thou + 1*mm", "59.3701 thou"},
      {"2*inch - 1/2*inch", "1.5 in"},
      {"-(3*mm)", "-3 mm"},
      {"3*ft / (4*inch)", "9.0"},
      {"(pi * (1/2*inch) * (9167*rpm)):text('ft/min', 4)", "1200 ft/min"},
      {"(3*mm)^2", "9 mm^2"},
      {"((9*mm^2)^0.5):text'mm'", "3 mm"},
      {"sqrt(16*sqft):to'ft'", "4 ft"},
      {"12*inch == 1*ft", "true"},
      {"0.1*ft + 0.2*ft == 0.3*ft", "true"},
      {"1*inch < 26*mm", "true"},
      {"1*inch <= 25.4*mm", "true"},
      {"1*inch > 25.4*mm", "false"},
      {"degF(68) == degC(20)", "true"},
      {"degC(30) - degC(20)", "10 dC"},
      {"degC(20) + 9*dF", "25 degC"},
      {"9*dF + degC(20)", "25 degC"},
      {"mean{degC(20), degC(30)}", "25 degC"},
      {"mean{degF(60), degF(70), degF(80)}", "70 degF"},
      {"mean(1*mm, 3*mm)", "2 mm"},
      {"smallest{3*mm, 1*inch, 2*mm}", "2 mm"},
      {"largest(3*mm, 1*inch)", "1 in"},
      {"largest{1, 5, 3}", "5"},
      {"96*inch // (8*inch)", "12.0"},
      {"0.3*ft // (0.1*ft)", "3.0"},
      {"100*inch % (48*inch)", "4 in"},
      {"0.3*ft % (0.1*ft)", "0 ft"},
      {"10*percent", "0.1"},
      {"3*rev", "3.0"},
      {"'depth ' .. 3*mm", "depth 3 mm"},
      {"3*mm .. ''", "3 mm"},
      {"sin(30*deg) - 0.5 < 1e-15", "true"},
      {"asin(0.5)", "30 deg"},
      {"atan(1*inch, 25.4*mm)", "45 deg"},
      {"arc(2*inch, 90*deg):number'in' - pi < 1e-12", "true"},
      {"q'6 oz/yd^2':text('g/m^2')", "203.434 g/m^2"},
      {"q'14'", "14.0"},
      {"q(2.5, 'W/(m K)')", "2.5 W/(m K)"},
      {"(3*USD / (2*kg)) * (4*kg)", "6 USD"},
      {"degC(20):kelvin()", "293.15 K"},
      {"(50*mm):to'in'", "1.9685 in"},
      {"(1*inch):number'mm'", "25.4"},
      {"select('#', (0.02*inch):fraction(64))", "2"},
      {"((0.02*inch):fraction(64))", "1/64 in"},
      {"(select(2, (0.02*inch):fraction(64)))", "-4.375 thou"},
      {"(-3*mm):abs()", "3 mm"},
      {"(3*mm):near(3.05*mm, 0.1*mm)", "true"},
      {"(3*mm):near(3.2*mm, 0.1*mm)", "false"},
      {"degC(20):near(degF(68.1), 0.1*dC)", "true"},
      {"(3*mm):value()", "0.003"},
      {"(3*mm):dimension()", "length"},
      {"(3*mm):unit()", "mm"},
      {"(3*mm):text('in', 3)", "0.118 in"},
      {"(30*dC):number'degF'", "54.0"},
      {"getmetatable(3*mm)", "false"},
  };
  for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
    assert_gives(L, wanted[i][0], wanted[i][1]);
  }
  lua_close(L);
}

static void test_refusals(void **state) {
  (void)state;
  lua_State *L = open_state();
  static const char *const wanted[][2] = {
      {"3 + 2*mm", "cannot add 3 (a plain number) and 2 mm (length): give the plain number a unit"},
      {"2*mm + 3*kg", "cannot add 2 mm (length) and 3 kg (mass)"},
      {"2*mm < 3", "cannot compare"},
      {"3 <= 2*mm", "cannot compare"},
      {"2*mm == 3*kg", "cannot compare"},
      {"degC(20) + degC(5)", "use mean{}"},
      {"2 * degC(20)", "no multiples"},
      {"-degC(20)", "degC(-5)"},
      {"degC(20) < 5*dC", "subtract two temperatures first"},
      {"5*dC - degC(20)", "cannot be taken from a difference"},
      {"degC(-300)", "absolute zero"},
      {"2*mm / 0", "divisor is zero"},
      {"2*mm * (0/0)", "not finite"},
      {"2*mm * math.huge", "not finite"},
      {"2*mm * 9007199254740993", "2^53"},
      {"'3' * mm", "the text \"3\" is no quantity"},
      {"mm + '3 mm'", "the text \"3 mm\" is no quantity"},
      {"mm + nil", "nil (not given or misspelled)"},
      {"mm + {}", "this is table"},
      {"(2*mm) ^ 0.8", "twelfths"},
      {"2 ^ (2*mm)", "plain number"},
      {"(-2*mm) ^ 0.5", "not a finite number"},
      {"1*USD + 1*EUR", "one currency"},
      {"(1*USD/kg) * (1*EUR)", "one currency"},
      {"96*inch // 8", "measure the same thing"},
      {"sin(30)", "30*deg"},
      {"sin(30*mm)", "cannot be given in rad"},
      {"asin(2)", "from -1 to 1"},
      {"q'1,5 mm'", "q: \"1,5 mm\": column 2"},
      {"q(3)", "a text is due"},
      {"(3*mm):to'kg'", "to: 3 mm (length) cannot be given in kg (mass)"},
      {"(3*mm):number()", "name a unit"},
      {"(3*mm):number'mmm'", "nearest"},
      {"(3*mm):num'mm'", "a quantity has no 'num'"},
      {"(3*kg):fraction(64)", "fraction: 3 kg (mass)"},
      {"(3*mm):fraction(60)", "a rule is divided"},
      {"(3*mm):text('in', 99)", "digits"},
      {"mean{}", "at least one value"},
      {"mean{1*mm, 2*kg}", "cannot compare"},
      {"degC(3*mm)", "plain number"},
      {"(3*mm).to'in'", "with a colon"},
  };
  for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
    assert_raises(L, wanted[i][0], wanted[i][1]);
  }
  assert_raises(L, "q'3 tho'", "thou");
  assert_int_equal(fettle_last_diagnostic(L)->column, 3);
  assert_int_equal(fettle_last_diagnostic(L)->status, FETTLE_ERROR_TEXT);
  lua_close(L);
}

static void test_habit(void **state) {
  (void)state;
  lua_State *L = open_state();
  assert_int_equal(fettle_get_habit(L), FETTLE_HABIT_NONE);
  fettle_set_habit(L, FETTLE_HABIT_INCH);
  assert_gives(L, "25.4*mm", "1 in");
  assert_gives(L, "(25.4*mm):unit()", "in");
  fettle_set_habit(L, FETTLE_HABIT_METRIC);
  assert_gives(L, "1*inch", "25.4 mm");
  assert_gives(L, "(1*inch) * (1*inch)", "645.16 mm^2");
  lua_close(L);
}

static void test_origin(void **state) {
  (void)state;
  lua_State *L = open_state();
  fettle_quantity quantity;
  assert_int_equal(fettle_quantity_make(3.0, "mm", FETTLE_ROLE_ANY, &quantity, NULL), FETTLE_OK);
  lua_newtable(L);
  fettle_push_quantity_with_origin(L, &quantity, -1);
  assert_int_equal(lua_rawlen(L, -1), 24);
  assert_true(fettle_is_quantity(L, -1));
  fettle_push_origin(L, -1);
  assert_true(lua_rawequal(L, -1, -3));
  lua_pop(L, 1);
  lua_setglobal(L, "x");
  assert_true(run(L, "x:to'in'"));
  fettle_push_origin(L, -1);
  assert_true(lua_istable(L, -1)); /* another unit is the same quantity */
  assert_true(run(L, "x + x"));
  fettle_push_origin(L, -1);
  assert_true(lua_isnil(L, -1)); /* arithmetic drops it */
  lua_pushstring(L, "twenty-four bytes long!!");
  assert_int_equal(lua_rawlen(L, -1), 24);
  assert_false(fettle_is_quantity(L, -1));
  fettle_push_origin(L, -1);
  assert_true(lua_isnil(L, -1));
  quantity.dimension = 0;
  fettle_push_quantity(L, &quantity);
  assert_int_equal(lua_type(L, -1), LUA_TNUMBER);
  lua_pushnumber(L, (double)NAN);
  assert_false(fettle_to_quantity(L, -1, &quantity));
  lua_close(L);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_arithmetic),
      cmocka_unit_test(test_refusals),
      cmocka_unit_test(test_habit),
      cmocka_unit_test(test_origin),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
