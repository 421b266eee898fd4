/* A program that embeds fettle and has chosen a locale with a decimal comma still reads and writes
 * points. LOCPATH names the folder of that locale; the build makes it. */
#include <locale.h>
#include <string.h>

#include <lauxlib.h>

#include "fettle/quantity.h"
#include "recipe/run.h"
#include "sheet/trusted.h"
#include "support/near.h"

static int choose_comma(void **state) {
  (void)state;
  return setlocale(LC_ALL, "de_DE.UTF-8") && strcmp(localeconv()->decimal_point, ",") == 0 ? 0 : -1;
}

static void test_core(void **state) {
  (void)state;
  char text[64];
  fettle_number_format(1234.5, 6, text, sizeof text);
  assert_string_equal(text, "1234.5");
  static const struct {
    const char *text;
    double si;
  } read[] = {{"1.5 mm", 0.0015}, {"2.5e-3 m", 0.0025}, {"1.00000000000000000000005 mm", 0.001}};
  for (size_t i = 0; i < sizeof read / sizeof read[0]; i++) {
    fettle_quantity quantity = {0};
    fettle_diagnostic diagnostic;
    assert_int_equal(fettle_quantity_parse(read[i].text, strlen(read[i].text), FETTLE_ROLE_ANY,
                                           &quantity, &diagnostic),
                     FETTLE_OK);
    assert_near(quantity.value, read[i].si, 1e-12, read[i].text);
  }
}

static void test_session(void **state) {
  (void)state;
  static const struct {
    const char *text, *want;
  } asked[] = {{"2.5*inch", "2.5 in"},
               {"q'1.25 mm'", "1.25 mm"},
               {"(1.5*mm):number 'mm' + 0.25", "1.75"},
               {"'' .. 1.5", "1.5"},
               {"string.format('%.2f', 1.5)", "1.50"},
               {"tostring(0.5)", "0.5"},
               {"tonumber '1.5'", "1.5"}};
  fettle_problem problem = {0};
  lua_State *trusted = fettle_trusted_open();
  fettle_session *session = fettle_session_open(NULL, 0, &problem);
  assert_non_null(trusted);
  assert_non_null(session);
  for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
    if (fettle_session_ask(session, trusted, asked[i].text, &problem) != 0) {
      fail_msg("%s: %s", asked[i].text, problem.message);
    }
    lua_getfield(trusted, -1, "values");
    lua_rawgeti(trusted, -1, 1);
    char number[64];
    const char *got = NULL;
    if (lua_type(trusted, -1) == LUA_TNUMBER) {
      fettle_number_format(lua_tonumber(trusted, -1), 6, number, sizeof number);
      got = number;
    } else {
      got = luaL_tolstring(trusted, -1, NULL);
    }
    assert_string_equal(got, asked[i].want);
    lua_settop(trusted, 0);
  }
  fettle_session_close(session);
  lua_close(trusted);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(test_core), cmocka_unit_test(test_session)};
  return cmocka_run_group_tests(tests, choose_comma, NULL);
}
