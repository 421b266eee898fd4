/* Shop data by its schema: the shops that ship, typed values, origins, and each refusal. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <lauxlib.h>
#include <lua.h>
#include <lualib.h>

#include "data/file.h"
#include "data/shop.h"
#include "lua/quantity.h"
#include "support/near.h"

static lua_State *L;

static int read_shop(const char *text, const char *moved, int end) {
  lua_settop(L, 0);
  int status = fettle_shop_read(L, "shop.yaml", text, strlen(text), moved, end);
  assert_int_equal(lua_gettop(L), 1);
  return status;
}

/* The rest of a file after the lines that each one starts with. */
static const char *with_head(const char *rest) {
  static char text[2000];
  snprintf(text, sizeof text, "schema: 1\nunits: inch\ncurrency: USD\n%s", rest);
  return text;
}

static void assert_holds(const char *check) {
  char chunk[600];
  snprintf(chunk, sizeof chunk, "local d, o = shop.data, shop.origins return %s", check);
  if (luaL_dostring(L, chunk) != LUA_OK) {
    fail_msg("%s", lua_tostring(L, -1));
  }
  if (!lua_toboolean(L, -1)) {
    fail_msg("not so: %s", check);
  }
  lua_pop(L, 1);
}

static void take_shop(const char *text, const char *moved, int end) {
  if (read_shop(text, moved, end) != 0) {
    fail_msg("%s", lua_tostring(L, -1));
  }
  lua_setglobal(L, "shop");
}

static void take_file(const char *path) {
  char *bytes;
  size_t length;
  fettle_file_problem problem = {0};
  if (fettle_file_read(path, 1 << 20, &bytes, &length, &problem) != 0) {
    fail_msg("%s", problem.message);
  }
  take_shop(bytes, NULL, 0);
  free(bytes);
}

/* Figures of the demo's invented scenario. */
static void shipped_shops_are_read(void **state) {
  (void)state;
  take_file("recipes/reedling/shop.yaml");
  assert_holds("d.units == 'inch' and d.currency == 'USD'");
  assert_holds("d.cutters['ball 1.000'].diameter == 1*inch");
  assert_holds("d.cutters['ball 1.000'].flutes == 2");
  assert_holds("d.machines.router.clamps[4].x == 118*inch");
  assert_holds("d.machines.router.highest == nil and d.machines.router.feed == q'400 in/min'");
  assert_holds("d.resins['epoxy A'].mix_by_weight.hardener_per_resin == 0.3");
  assert_holds("d.coatings['putty A'].transfer == 0.8");
  assert_holds("o['coatings/putty A/transfer'].low == 0.8 - 0.8*0.1");
  assert_holds("o['coatings/putty A/transfer'].standing == 'guessed'");
  assert_holds("o['coatings/putty A/density'].standing == 'data sheet'");
  assert_holds("d.coatings['sealer A'].isocyanate == true");
  assert_holds("d.shop.temperature == degF(62) and d.shop.opens == 7*hr");
  assert_holds("d.shop.overnight[3].temperature == degF(60.25)");
  assert_holds("d.own['bushing price'] == 14*USD");
  take_file("recipes/metric/shop.yaml");
  assert_holds("d.units == 'metric' and d.machines['portal mill'].power == 2.2*kW");
  assert_holds("d.rates.crew == q'52 EUR/h'");
  assert_holds(
      "#d.resins['epoxy M'].pack_sizes == 2 and d.resins['epoxy M'].pack_sizes[2] == 5*kg");
}

static const char *const guessed =
    "coatings:\n  putty:\n    kind: putty\n    standing: data sheet\n    source: sheet 3\n"
    "    density: 9.2 lb/gal\n    transfer: {value: 80 %, standing: guessed, spread: 10 %}\n"
    "    hose_loss: {value: 0.25 gal, standing: measured, date: 2026-03-02, low: 0.2 gal, "
    "high: 0.4 gal, note: by the bucket}\n"
    "    gel_temperature: {value: 77 degF, spread: 5 dF}\n"
    "resins:\n  r: {kind: epoxy, mix_by_weight: {value: '100:30', spread: 10 %}}\n"
    "cutters:\n  f: {form: flat, diameter: 1/2 in, flutes: {value: 2, low: 1, high: 3}}\n";

static void origins_say_where_from(void **state) {
  (void)state;
  take_shop(with_head(guessed), NULL, 0);
  assert_holds("o['coatings/putty/density'].place == 'shop.yaml:9:14'");
  assert_holds("o['coatings/putty/density'].source == 'sheet 3'");
  assert_holds("o['coatings/putty/density'].low == nil");
  assert_holds("o['coatings/putty/density'].value == q'9.2 lb/gal'");
  assert_holds("o['coatings/putty/transfer'].source == nil");
  assert_holds("o['coatings/putty/hose_loss'].date == '2026-03-02'");
  assert_holds("o['coatings/putty/hose_loss'].note == 'by the bucket'");
  assert_holds("o['coatings/putty/hose_loss'].high == 0.4*gal");
  assert_holds("o['coatings/putty/gel_temperature'].low == degF(72)");
  assert_holds("math.abs(o['resins/r/mix_by_weight'].high - 0.33) < 1e-12");
  assert_holds("o['cutters/f/diameter'].standing == 'guessed'");
  assert_holds("o['coatings/putty/kind'] == nil");
  lua_getglobal(L, "shop");
  lua_getfield(L, -1, "data");
  lua_getfield(L, -1, "coatings");
  lua_getfield(L, -1, "putty");
  lua_getfield(L, -1, "hose_loss");
  fettle_push_origin(L, -1);
  lua_setglobal(L, "origin");
  assert_holds("origin.kind == 'shop' and origin.path == 'coatings/putty/hose_loss' and "
               "origin.standing == 'measured'");
}

static void guesses_move(void **state) {
  (void)state;
  take_shop(with_head(guessed), "coatings/putty/transfer", -1);
  assert_holds("math.abs(d.coatings.putty.transfer - 0.72) < 1e-12");
  take_shop(with_head(guessed), "coatings/putty/transfer", 1);
  assert_holds("math.abs(d.coatings.putty.transfer - 0.88) < 1e-12");
  take_shop(with_head(guessed), "coatings/putty/gel_temperature", 1);
  assert_holds("d.coatings.putty.gel_temperature == degF(82)");
  take_shop(with_head(guessed), "resins/r/mix_by_weight", -1);
  assert_holds("math.abs(d.resins.r.mix_by_weight.hardener - 27) < 1e-9");
  take_shop(with_head(guessed), "cutters/f/flutes", 1);
  assert_holds("d.cutters.f.flutes == 3");
  assert_int_equal(read_shop(with_head(guessed), "coatings/putty/density", 1), 70);
  assert_int_equal(read_shop(with_head(guessed), "none", 1), 70);
}

static void own_values(void **state) {
  (void)state;
  take_shop(with_head("own:\n  lap: 2 1/2 in\n  passes: 3\n  pump: {hose: 12 mm, name: red one}\n"
                      "  bolts: [5 mm, 6 mm]\n  code: '0123'\n  ready: true\n"
                      "  odd: {value: 3 kg m^2, spread: 10 %}\n"),
            NULL, 0);
  assert_holds("d.own.lap == 2.5*inch and d.own.passes == 3 and d.own.pump.name == 'red one'");
  assert_holds("d.own.bolts[2] == 6*mm and d.own.code == '0123' and d.own.ready == true");
  assert_holds("o['own/odd'].low:number'kg m^2' < 2.71");
}

static const struct {
  const char *text; /* after the head of three lines */
  const char *place, *reason, *cure;
} refusals[] = {
    {"cuters:\n  a: {}\n", "4:1: ", "unknown key `cuters`", "`cutters`"},
    {"pumps:\n  a: {}\n", "4:1: ", "unknown key `pumps`", "`own:`"},
    {"cutters:\n  a: {form: flat, diametre: 1 in}\n", "5:19: cutters/a", "unknown key `diametre`",
     "`diameter`"},
    {"cutters:\n  a: {form: flat}\n", "5:6: cutters/a", "`diameter` is missing", "in in, mm"},
    {"cutters:\n  a: {form: flat, diameter: 1}\n", "5:29: cutters/a/diameter",
     "needs a unit (in, mm)", "write 1 in"},
    {"cutters:\n  a: {form: flat, diameter: 1 lb}\n", "5:29: cutters/a/diameter",
     "is of the kind mass, and length is due", "write it in in, mm"},
    {"cutters:\n  a: {form: flat, diameter: 1 inn}\n", "5:29: cutters/a/diameter", "unknown unit",
     "'in'"},
    {"cutters:\n  a: {form: round, diameter: 1 in}\n", "5:13: cutters/a/form", "not known",
     "one of flat, ball"},
    {"cutters:\n  a: {form: flat, diameter: 1 in, flutes: 2.5}\n", "5:43: cutters/a/flutes",
     "whole number", "drop"},
    {"cutters:\n  a: {form: flat, diameter: 1 in, flutes: 2 in}\n", "5:43: cutters/a/flutes",
     "plain number", "drop the unit"},
    {"cutters:\n  a: {form: flat, diameter: 50 ft}\n", "5:29: cutters/a/diameter",
     "must not be above 500 mm", "check"},
    {"cutters:\n  a: {form: flat, diameter: -1 in}\n", "5:29: cutters/a/diameter",
     "must not be below 0.05 mm", "check"},
    {"cutters:\n  a: {form: flat, diameter: }\n", "5:29: cutters/a/diameter", "no value", "drop"},
    {"cutters:\n  a: {form: flat, diameter: [1 in]}\n", "5:29: cutters/a/diameter", "a list",
     "single value"},
    {"cutters:\n  form: flat\n", "5:3: cutters/form", "directly below cutters", "below a name"},
    {"cutters:\n  a/b: {form: flat}\n", "5:3: cutters", "no `/`", "change it"},
    {"cutters: []\n", "4:10: cutters", "a list", "map is due"},
    {"cutters:\n", "4:9: cutters", "empty section", "drop the line"},
    {"cutters:\n  a: {form: flat, diameter: {vlue: 1 in}}\n", "5:30: cutters/a/diameter",
     "unknown key `vlue`", "`value`"},
    {"cutters:\n  a: {form: flat, diameter: {value: 1 in, standing: measured}}\n",
     "5:53: cutters/a/diameter", "needs the date", "date: 2026-03-02"},
    {"cutters:\n  a: {form: flat, diameter: {value: 1 in, standing: sure}}\n",
     "5:53: cutters/a/diameter/standing", "no standing", "measured, data sheet or guessed"},
    {"cutters:\n  a: {form: flat, diameter: {value: 1 in, date: 2026-02-30}}\n",
     "5:49: cutters/a/diameter/date", "no date", "2026-03-02"},
    {"cutters:\n  a: {form: flat, diameter: {value: 1 in, spread: 2 kg}}\n",
     "5:51: cutters/a/diameter/spread", "write a share", "10 %"},
    {"cutters:\n  a: {form: flat, diameter: {value: 1 in, spread: 0 %}}\n",
     "5:51: cutters/a/diameter/spread", "above 0", "drop"},
    {"cutters:\n  a: {form: flat, diameter: {value: 1 in, spread: 150 %}}\n",
     "5:51: cutters/a/diameter/spread", "low end", "low and high"},
    {"cutters:\n  a: {form: flat, diameter: {value: 1 in, low: 2 in, high: 3 in}}\n",
     "5:48: cutters/a/diameter", "rise", "check"},
    {"cutters:\n  a: {form: flat, diameter: {value: 1 in, low: 0.5 in}}\n",
     "5:48: cutters/a/diameter", "come together", "both"},
    {"coatings:\n  a: {kind: sealer, isocyanate: yes}\n", "5:33: coatings/a/isocyanate",
     "true or false", "write true"},
    {"coatings:\n  a: {kind: sealer, isocyanate: no}\n", "5:33: coatings/a/isocyanate",
     "true or false", "write false"},
    {"coatings:\n  a: {kind: sealer, transfer: 55}\n", "5:31: coatings/a/transfer",
     "must not be above 100 %", "write 55 %"},
    {"coatings:\n  a: {kind: sealer, coat: 3 miles}\n", "5:27: coatings/a/coat", "unknown unit",
     ""},
    {"coatings:\n  a: {kind: sealer, gel_temperature: 5 dF}\n", "5:38: coatings/a/gel_temperature",
     "difference", "degF"},
    {"coatings:\n  a: {kind: sealer, gel_temperature: {value: 77 degF, spread: 5 %}}\n",
     "5:63: coatings/a/gel_temperature/spread", "no share", "5 dF"},
    {"resins:\n  a: {kind: epoxy, mix_by_weight: 30 %}\n", "5:35: resins/a/mix_by_weight", "ratio",
     "100:30"},
    {"resins:\n  a: {kind: epoxy, mix_by_weight: '100:0'}\n", "5:35: resins/a/mix_by_weight",
     "ratio", "100:30"},
    {"resins:\n  a: {kind: epoxy, mix_by_weight: '100:30:2'}\n", "5:35: resins/a/mix_by_weight",
     "ratio", "100:30"},
    {"rates: {crew: 48 EUR/h}\n", "4:15: rates/crew", "the file's currency is USD", "convert"},
    {"rates: {crew: 48}\n", "4:15: rates/crew", "needs a unit (USD/h)", "write 48 USD/h"},
    {"shop: {opens: 7}\n", "4:15: shop/opens", "no time of day", "07:00"},
    {"shop: {opens: '25:00'}\n", "4:15: shop/opens", "no time of day", "07:00"},
    {"shop: {overnight: {time: 0 h}}\n", "4:19: shop/overnight", "a map where a list", "- "},
    {"shop: {overnight: [{time: 0 h}]}\n", "4:20: shop/overnight/1", "`temperature` is missing",
     "degF, degC"},
    {"own: {a: 12 foos}\n", "4:10: own/a", "unknown unit", "quotes"},
    {"own: {a: yes}\n", "4:10: own/a", "true or false", "quotes"},
    {"own: {a: {value: words}}\n", "4:18: own/a", "number", ""},
    {"machines:\n  r: {travel_x: 1 in, travel_y: 2 in, travel_z: 1 in, feed: 400}\n",
     "5:61: machines/r/feed", "= 400: needs a unit (in/min, mm/min)", "write 400 in/min"},
};

static size_t compare(const char *name, const char *text, int want_status, const char *place,
                      const char *reason, const char *cure) {
  int status = read_shop(text, NULL, 0);
  const char *message = status != 0 ? lua_tostring(L, -1) : "accepted";
  if (status == want_status && strncmp(message, "shop.yaml:", 10) == 0 &&
      strncmp(message + 10, place, strlen(place)) == 0 && strstr(message, reason) &&
      strstr(message, cure)) {
    return 0;
  }
  print_error("%s, status %d\n  want %s%s ... %s\n  got  %s\n", name, status, place, reason, cure,
              message);
  return 1;
}

static void refused_with_place(void **state) {
  (void)state;
  size_t wrong = 0;
  for (size_t i = 0; i < sizeof refusals / sizeof *refusals; i++) {
    wrong += compare(refusals[i].text, with_head(refusals[i].text), 78, refusals[i].place,
                     refusals[i].reason, refusals[i].cure);
  }
  wrong += compare("empty", "", 65, "1:1: ", "empty", "write");
  wrong += compare("alias", "a: *b\n", 65, "1:4: ", "alias", "write");
  wrong += compare("text", "hello\n", 78, "1:1: ", "shop data is due", "schema: 1");
  wrong += compare("no schema", "units: inch\n", 78, "1:1: ", "`schema` is missing", "schema: 1");
  wrong += compare("schema 2", "schema: 2\n", 78, "1:9: schema", "reads schema 1", "schema: 1");
  wrong += compare("no units", "schema: 1\n", 78, "1:1: ", "`units` is missing", "inch");
  wrong += compare("units", "schema: 1\nunits: mm\n", 78, "2:8: units", "= mm", "metric");
  wrong += compare("currency", "schema: 1\nunits: inch\ncurrency: dollars\n", 78, "3:11: currency",
                   "no known currency", "USD");
  wrong += compare("money", "schema: 1\nunits: inch\nrates: {crew: 4 USD/h}\n", 78,
                   "3:15: rates/crew", "names no currency", "currency: USD");
  assert_int_equal(wrong, 0);
}

static void schema_is_told(void **state) {
  (void)state;
  lua_settop(L, 0);
  fettle_push_shop_schema(L);
  lua_setglobal(L, "schema");
  assert_int_equal(luaL_dostring(L, "for _, s in ipairs(schema) do assert(#s.meaning > 0)\n"
                                    "  for _, f in ipairs(s.fields or {}) do\n"
                                    "    assert(#f.meaning > 0 and f.type, f.name)\n"
                                    "    if f.unit and f.unit ~= '1' then q('1 ' .. f.unit) end\n"
                                    "    if f.inch_unit then q('1 ' .. f.inch_unit) end\n"
                                    "  end\nend\nreturn #schema"),
                   LUA_OK);
  assert_true(lua_tointeger(L, -1) > 10);
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
      cmocka_unit_test(shipped_shops_are_read), cmocka_unit_test(origins_say_where_from),
      cmocka_unit_test(guesses_move),           cmocka_unit_test(own_values),
      cmocka_unit_test(refused_with_place),     cmocka_unit_test(schema_is_told),
  };
  int failed = cmocka_run_group_tests(tests, NULL, NULL);
  lua_close(L);
  return failed;
}
