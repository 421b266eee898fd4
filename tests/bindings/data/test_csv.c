/* Tables of comma-separated values: typed cells, and each refusal with its place. */
#include <stdio.h>
#include <string.h>

#include <lauxlib.h>
#include <lua.h>
#include <lualib.h>

#include "data/csv.h"
#include "lua/quantity.h"
#include "support/near.h"

static lua_State *L;

/* Reads `text` by the columns that a Lua table text declares; leaves the result on the stack. */
static int read_table(const char *columns, const char *text) {
  char chunk[600];
  lua_settop(L, 0);
  snprintf(chunk, sizeof chunk, "return %s", columns);
  assert_int_equal(luaL_dostring(L, chunk), LUA_OK);
  int status = fettle_csv_read(L, "log.csv", text, strlen(text), 1);
  assert_int_equal(lua_gettop(L), 2);
  return status;
}

/* Reads and evaluates a check over `rows`. */
static void assert_rows(const char *columns, const char *text, const char *check) {
  int status = read_table(columns, text);
  if (status != 0) {
    fail_msg("%s", lua_tostring(L, -1));
  }
  lua_setglobal(L, "rows");
  char chunk[600];
  snprintf(chunk, sizeof chunk, "return %s", check);
  if (luaL_dostring(L, chunk) != LUA_OK) {
    fail_msg("%s", lua_tostring(L, -1));
  }
  if (!lua_toboolean(L, -1)) {
    fail_msg("not so: %s", check);
  }
}

static const char *const logged = "{{name='time', unit='h'}, {name='temperature', unit='degF'}}";

static void reads_typed_columns(void **state) {
  (void)state;
  assert_rows(logged, "time (h),temperature [degF]\n0,68\n12,55.0\n",
              "#rows == 2 and rows[2].time == 12*hr and rows[2].temperature == degF(55)");
  assert_rows(
      logged, "temperature,who,time\r\n68 degF,Ann,30 min\r\n20 degC,Bob,1 h 30 min\r\n",
      "rows[1].time == 0.5*hr and rows[2].temperature == degF(68) and rows[1].who == nil and "
      "tostring(rows[1].time) == '0.5 h'");
  assert_rows(logged, "\xEF\xBB\xBFtime (min), temperature (degC)\n\n 90 , 20 \n\n",
              "#rows == 1 and rows[1].time == 1.5*hr and rows[1].temperature == degC(20)");
  assert_rows("{{name='rise', unit='degF', role='difference'}}", "rise (degF)\n5\n3 dF\n",
              "rows[1].rise == 5*dF and rows[2].rise == 3*dF");
  assert_rows(
      "{{name='n', whole=true}, {name='share'}, {name='lot', text=true}, "
      "{name='side', choices={'port', 'starboard'}}}",
      "n,share,lot,side\n12,4 %,\"P-1, \"\"old\"\"\",port\n3,0.5,007,starboard\n",
      "rows[1].n == 12 and math.type(rows[1].n) == 'integer' and rows[1].share == 0.04 and "
      "rows[1].lot == 'P-1, \"old\"' and rows[2].lot == '007' and rows[2].side == 'starboard'");
  assert_rows("{{name='k', unit='W/(m K)'}}", "k (W/(m K))\n0.4\n",
              "rows[1].k:number'W/(m K)' == 0.4");
  assert_rows("{{name='a', optional=true}, {name='b'}, {name='c', optional=true}}", "b,a\n1,\n",
              "rows[1].b == 1 and rows[1].a == nil");
  assert_rows("{{name='note', text=true}}", "note\n\"two\nlines\"\n\"\"\n",
              "rows[1].note == 'two\\nlines' and rows[2].note == ''");
  assert_rows("{{name='a'}}", "a\n", "#rows == 0");
  assert_rows("{{name='a'}}", "a\r1\r2", "#rows == 2 and rows[2].a == 2");
}

static const struct {
  const char *columns, *text;
  const char *place, *reason, *cure;
} refusals[] = {
    {"{{name='a'}}", "", "1:1: ", "empty", "names the columns"},
    {"{{name='a'}}", "\n\n", "1:1: ", "empty", "names the columns"},
    {"{{name='temperature', unit='degF'}}", "temprature\n1\n",
     "1:1: temperature: ", "no such column", "is it `temprature`?"},
    {"{{name='width'}}", "b,c\n1,2\n", "1:1: width: ", "no such column", "must name it"},
    {"{{name='a'}, strict=true}", "a,zebra\n1,2\n", "1:3: ", "unknown column `zebra`", "drop it"},
    {"{{name='a'}}", "a,a\n1,2\n", "1:3: a: ", "twice", "keep one"},
    {"{{name='a'}}", "a,b\n1\n", "2:1: ", "1 cells where the first line has 2", "fill"},
    {"{{name='a'}}", "a\n1,2\n", "2:3: ", "more cells", "quotes"},
    {"{{name='a'}, {name='b'}}", "a,b\n1,\n", "2:3: b: ", "empty cell", "write its value"},
    {"{{name='a'}}", "a\nnan\n", "2:1: a: ", "", "number"},
    {"{{name='a'}}", "a\ninf\n", "2:1: a: ", "", "number"},
    {"{{name='a'}}", "a\n1e999\n", "2:1: a: ", "too large", ""},
    {"{{name='a'}}", "a\n\"1,5\"\n", "2:1: a: ", "comma in a number", "1.5 with a point"},
    {"{{name='a', unit='mm'}}", "a\n\"1,5 mm\"\n", "2:1: a: ", "comma in a number", "with a point"},
    {"{{name='a', unit='mm'}}", "a\n5\n", "2:1: a: ", "needs a unit", "write 5 mm, or `a (mm)`"},
    {"{{name='a', unit='mm'}}", "a\n5 kg\n", "2:1: a: ", "is of the kind mass, and length is due",
     "write it in mm"},
    {"{{name='a', unit='mm'}}", "x,a (kg)\n1,5\n", "1:3: a: ", "kind mass", "write (mm)"},
    {"{{name='a', unit='mm'}}", "a (mmm)\n5\n", "1:1: a: ", "unknown unit", ""},
    {"{{name='a', text=true}}", "a (mm)\n5\n", "1:1: a: ", "column of texts", "drop it"},
    {"{{name='a'}}", "a\n5 kg\n", "2:1: a: ", "plain number is due", ""},
    {"{{name='a', whole=true}}", "a\n1.5\n", "2:1: a: ", "whole number", "drop the part"},
    {"{{name='a', choices={'x','y'}}}", "a\nz\n", "2:1: a: ", "not known", "one of x, y"},
    {"{{name='a'}, {name='b'}}", "a;b\n1,5;2\n", "1:2: ", "semicolons", "commas between cells"},
    {"{{name='a'}, {name='b'}}", "a\tb\n1\t2\n", "1:2: ", "tabs", "commas between cells"},
    {"{{name='a', text=true}}", "a\n\"x\n", "2:1: ", "quote is not closed", "end the cell"},
    {"{{name='a', text=true}}", "a\n\"x\"y\n", "2:4: ", "after a closing quote", "twice"},
    {"{{name='a', text=true}}", "a\ncaf\xE9\n", "2:4: ", "not UTF-8", "save"},
    {"{{name='a', text=true}}", "a\n\x02\n", "2:1: ", "control character", "delete"},
    {"{{name='a', unit='degF'}}", "a\n5 dF\n", "2:1: a: ", "difference", "degF"},
    {"{{name='a', unit='degF', role='difference'}}", "a\n\n\n1 kg\n", "4:1: a: ", "mass", "degF"},
};

static void refused_with_place(void **state) {
  (void)state;
  size_t wrong = 0;
  for (size_t i = 0; i < sizeof refusals / sizeof *refusals; i++) {
    char place[80];
    int status = read_table(refusals[i].columns, refusals[i].text);
    const char *message = status != 0 ? lua_tostring(L, -1) : "accepted";
    snprintf(place, sizeof place, "log.csv:%s", refusals[i].place);
    if (status != 65 || strncmp(message, place, strlen(place)) != 0 ||
        !strstr(message, refusals[i].reason) || !strstr(message, refusals[i].cure)) {
      print_error("case %zu, status %d\n  want %s%s ... %s\n  got  %s\n", i, status, place,
                  refusals[i].reason, refusals[i].cure, message);
      wrong++;
    }
  }
  assert_int_equal(wrong, 0);
}

static void declarations_are_checked(void **state) {
  (void)state;
  assert_int_equal(read_table("{}", "a\n"), 65);
  assert_int_equal(read_table("{{}}", "a\n"), 65);
  assert_int_equal(read_table("{{name='a', unit='mmm'}}", "a\n"), 65);
  assert_int_equal(read_table("{{name='a'}, {name='a'}}", "a\n"), 65);
  assert_int_equal(read_table("{{name='a', text=true, whole=true}}", "a\n"), 65);
  assert_int_equal(read_table("{{name='a', role='hot'}}", "a\n"), 65);
  assert_int_equal(read_table("'a'", "a\n"), 65);
}

int main(void) {
  L = luaL_newstate();
  if (!L) {
    return 1;
  }
  luaL_openlibs(L);
  lua_pushglobaltable(L);
  fettle_open_quantity(L, -1);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(reads_typed_columns),
      cmocka_unit_test(refused_with_place),
      cmocka_unit_test(declarations_are_checked),
  };
  int failed = cmocka_run_group_tests(tests, NULL, NULL);
  lua_close(L);
  return failed;
}
