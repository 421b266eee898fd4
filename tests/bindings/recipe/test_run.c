/* Recipes from end to end: what they hand over, and each way in which they can be wrong. */
#define _XOPEN_SOURCE 700
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <lauxlib.h>

#include "lua/quantity.h"
#include "recipe/digest.h"
#include "recipe/record.h"
#include "recipe/run.h"
#include "sheet/trusted.h"
#include "support/near.h"

static char folder[] = "/tmp/fettle-recipe-XXXXXX";

static const char *path_of(const char *name) {
  static char path[4][256];
  static int turn = 0;
  turn = (turn + 1) % 4;
  snprintf(path[turn], sizeof path[turn], "%s/%s", folder, name);
  return path[turn];
}

static void put_bytes(const char *name, const char *bytes, size_t length) {
  FILE *file = fopen(path_of(name), "w");
  assert_non_null(file);
  assert_int_equal(fwrite(bytes, 1, length, file), length);
  assert_int_equal(fclose(file), 0);
}

static void put(const char *name, const char *text) {
  put_bytes(name, text, strlen(text));
}

/* A recipe with the usual head. */
static void put_recipe(const char *name, const char *body) {
  char text[8192];
  snprintf(text, sizeof text, "recipe{name = \"test\", units = \"inch\", engine = 1}\n%s\n", body);
  put(name, text);
}

static int run(lua_State *trusted, const char *name, const char *setting, fettle_problem *problem) {
  fettle_run_options options = {
      .path = path_of(name), .settings = &setting, .setting_count = setting ? 1 : 0};
  *problem = (fettle_problem){0};
  return fettle_recipe_run(trusted, &options, problem);
}

/* The run must fail with this exit status, code and text in the message, and push nothing. */
static void expect_failure(const char *name, const char *setting, int status, const char *code,
                           const char *part) {
  lua_State *trusted = fettle_trusted_open();
  int top = lua_gettop(trusted);
  fettle_problem problem;
  int result = run(trusted, name, setting, &problem);
  if (result != status || strcmp(problem.code, code) != 0 || !strstr(problem.message, part) ||
      strchr(problem.message, '\n')) {
    print_error("%s: wanted %d %s '%s', got %d %s '%s'\n", setting ? setting : name, status, code,
                part, result, problem.code, problem.message);
    fail();
  }
  assert_int_equal(problem.exit_status, status);
  assert_int_equal(lua_gettop(trusted), top);
  lua_close(trusted);
}

static void body_fails(const char *body, const char *code, const char *part) {
  put_recipe("bad.lua", body);
  expect_failure("bad.lua", NULL, 65, code, part);
}

/* Runs and evaluates `check`, a Lua expression over `model`, which must be true. */
static void model_holds(const char *name, const char *setting, const char *check) {
  lua_State *trusted = fettle_trusted_open();
  fettle_problem problem;
  if (run(trusted, name, setting, &problem) != 0) {
    print_error("%s\n", problem.message);
    fail();
  }
  lua_setglobal(trusted, "model");
  char text[1024];
  snprintf(text, sizeof text,
           "local function item(name) for _, i in ipairs(model.items) do "
           "if i.name == name then return i end end end return %s",
           check);
  if (luaL_dostring(trusted, text) || !lua_toboolean(trusted, -1)) {
    print_error("%s: does not hold: %s %s\n", name, check,
                lua_isstring(trusted, -1) ? lua_tostring(trusted, -1) : "");
    fail();
  }
  lua_close(trusted);
}

static void a_recipe_hands_over_its_model(void **state) {
  (void)state;
  put_recipe("a.lua", "local d = input{name = \"depth\", default = 60*thou, low = 1*thou,\n"
                      "  high = 1*inch, meaning = \"depth of cut\"}\n"
                      "section \"Foam\"\n"
                      "local m = result{name = \"mass\", formula = \"m = rho * V\",\n"
                      "  with = {rho = q\"2 lb/ft^3\", V = q\"4.5 ft^3\"}, unit = \"lb\"}\n"
                      "result{name = \"cut\", value = d}\n"
                      "check{name = \"light\", pass = m < q\"20 lb\", level = \"warn\"}\n"
                      "caution \"dust\"\nprint(1, m)");
  model_holds("a.lua", NULL, "model.recipe.units == 'inch' and #model.inputs == 1");
  model_holds("a.lua", NULL, "item('mass').value:near(q'9 lb', q'1e-9 lb')");
  model_holds("a.lua", NULL, "item('mass').working.formula == 'm = rho * V'");
  model_holds("a.lua", NULL, "item('mass').working.inputs[1].symbol == 'V'");
  model_holds("a.lua", NULL, "item('cut').origin.kind == 'input' and not model.inputs[1].set");
  model_holds("a.lua", NULL, "item('light').pass and model.cautions[1] == 'dust'");
  model_holds("a.lua", NULL, "model.items[#model.items].text == '1 9 lb'");
  model_holds("a.lua", "depth=1/2 in", "model.inputs[1].set and item('cut').value == q'500 thou'");
  model_holds("a.lua", "depth=1mm", "item('cut').value == q'1 mm'");
  model_holds("a.lua", "job.date=2026-03-02", "model.job[3].value == '2026-03-02'");
  model_holds("a.lua", "job.temperature=62 degF",
              "math.abs(model.job[4].value:number'degF' - 62) < 1e-9");
  model_holds("a.lua", NULL, "#model.job == 6 and model.job[3].value == nil");
}

static void settings_are_checked(void **state) {
  (void)state;
  put_recipe("s.lua",
             "input{name = \"step\", default = 25*thou, low = 1*thou, high = 1*inch}\n"
             "input{name = \"coats\", default = 2, low = 1, high = 9, whole = true}\n"
             "input{name = \"cure\", default = degF(62)}\n"
             "input{name = \"rise\", default = degF(70) - degF(60)}\n"
             "input{name = \"sealed\", default = false}\n"
             "input{name = \"form\", default = \"ball\", choices = {\"ball\", \"flat\"}}\n");
  expect_failure("s.lua", "step=14", 65, "dimension", "s.lua:2: step = 14: 14 what? thou, in, mm");
  expect_failure("s.lua", "step=14 in", 65, "range", "step = 14 in: must not be above 1 in");
  expect_failure("s.lua", "step=5 g", 65, "dimension", "is a mass, but a length is wanted");
  expect_failure("s.lua", "step=5 mmm", 65, "text", "step = 5 mmm");
  expect_failure("s.lua", "step=", 65, "text", "step = ");
  expect_failure("s.lua", "stp=14 in", 65, "argument", "the nearest is step");
  expect_failure("s.lua", "zzzzzzz=1", 65, "argument", "it has coats, cure, form");
  expect_failure("s.lua", "step", 64, "usage", "--set step: must be NAME=VALUE");
  expect_failure("s.lua", "coats=2.5", 65, "range", "coats = 2.5: must be a whole number");
  expect_failure("s.lua", "coats=3 mm", 65, "dimension", "a plain number is wanted");
  expect_failure("s.lua", "coats=1e999", 65, "range", "coats = 1e999");
  expect_failure("s.lua", "coats=nan", 65, "text", "coats = nan");
  expect_failure("s.lua", "sealed=yes", 65, "text", "must be true or false");
  expect_failure("s.lua", "form=bull", 65, "range", "form = bull: must be one of ball, flat");
  model_holds("s.lua", "sealed=true", "model.inputs[5].value == true");
  model_holds("s.lua", "form=flat", "model.inputs[6].value == 'flat'");
  model_holds("s.lua", "coats=3", "model.inputs[2].value == 3");
  model_holds("s.lua", "cure=20 degC", "math.abs(model.inputs[3].value:number'degF' - 68) < 1e-9");
  model_holds("s.lua", "rise=18 dF", "math.abs(model.inputs[4].value:number'dF' - 18) < 1e-9");
  const char *const twice[] = {"step=1 mm", "step=2 mm"};
  fettle_run_options options = {.path = path_of("s.lua"), .settings = twice, .setting_count = 2};
  fettle_problem problem;
  lua_State *trusted = fettle_trusted_open();
  assert_int_equal(fettle_recipe_run(trusted, &options, &problem), 64);
  assert_string_equal(problem.message, "--set step: is given twice");
  lua_close(trusted);
}

static void wrong_recipes_get_one_clear_line(void **state) {
  (void)state;
  expect_failure("none.lua", NULL, 66, "missing file", "none.lua");
  put("bad.lua", "x = 1\n");
  expect_failure("bad.lua", NULL, 65, "argument", "/bad.lua: declares no recipe");
  put("bad.lua", "note \"x\"\n");
  expect_failure("bad.lua", NULL, 65, "argument", "bad.lua:1: note: a recipe starts with recipe{");
  put("bad.lua", "recipe{name = \"x\", engine = 2}\n");
  expect_failure("bad.lua", NULL, 65, "argument", "engine = 2: this program runs recipes of");
  put("bad.lua", "recipe{name = \"x\", unit = \"inch\"}\n");
  expect_failure("bad.lua", NULL, 65, "argument", "no field 'unit': the nearest is 'units'");
  put_bytes("bad.lua", "a\0b", 3);
  expect_failure("bad.lua", NULL, 65, "not text", "bad.lua:1:2: a NUL byte");
  body_fails("local = 1", "syntax", "bad.lua:2: <name> expected near '='");
  body_fails("while true do end", "budget", "bad.lua:2: instruction budget of 100 million");
  body_fails("local s = string.rep(\"x\", 1e9)", "range", "longer than 1 MiB");
  body_fails("local s = string.rep(\"x\", 1e6) while true do s = s .. s end", "budget",
             "bad.lua:2: memory budget of 32 MiB");
  body_fails("error{}", "recipe", "bad.lua:2: error without a text (a table)");
  body_fails("local t = {} t.x.y = 1", "recipe", "bad.lua:2: attempt to index a nil value");
  body_fails("stepovr = stepover", "argument", "bad.lua:2: unknown name 'stepover'");
  body_fails("result{name = \"a\", value = 5*mm}", "argument", "result a: has no working");
  body_fails("result{name = \"a\", value = 0/0, working = \"w\", source = \"s\"}", "argument",
             "not a finite number");
  body_fails("result{name = \"a\", value = 1, working = \"w\"}", "argument", "source must say");
  body_fails("result{name = \"a b\", value = 1}", "argument", "must be letters, digits");
  body_fails(
      "result{name = \"a\", formula = \"a * b\", with = {a = 1*mm, b = 2*mm}, unit = \"in\"}",
      "dimension", "result a: ");
  body_fails("result{name = \"a\", formula = \"a + b\", with = {a = 1*mm, b = 2*kg}}", "dimension",
             "bad.lua:2: result a: ");
  body_fails("result{name = \"a\", formula = \"a + c\", with = {a = 1*mm}}", "text", "c");
  body_fails("result{name = \"a\", formula = \"1 + 1\", with = {}}", "argument",
             "needs its values");
  body_fails("result{name = \"a\", valu = 1}", "argument",
             "no field 'valu': the nearest is 'value'");
  body_fails("check{name = \"a\", pass = 1}", "argument", "pass must be true or false, not 1");
  body_fails("check{name = \"a\", pass = true, level = \"fatal\"}", "argument", "level = 'fatal'");
  body_fails("check{name = \"a\", pass = true}\ncheck{name = \"a\", pass = true}", "argument",
             "bad.lua:3: check a: the name is taken by the one at");
  body_fails("caution \"dusty\"", "argument", "the nearest is 'dust'");
  body_fails("input{name = \"a\", default = 5*mm, low = 2}", "dimension", "2 what?");
  body_fails("input{name = \"a\", default = 5*inch, high = 2*inch}", "range",
             "default = 5 in: must not be above 2 in");
  body_fails("input{name = \"a\", unit = \"mm\"}", "argument", "give --set a=VALUE");
  body_fails("tabulate{name = \"t\", columns = {{title = \"a\", unit = \"in\"}}, rows = {{1*kg}}}",
             "dimension", "row 1: a");
  body_fails("plot{name = \"p\", x = {label = \"x\", unit = \"in\"}, y = {label = \"y\"},"
             " lines = {{points = {{1, 2}}}}}",
             "dimension", "line 1: point 1: x");
  body_fails("cut_list{name = \"c\", pieces = {{name = \"A\", length = 5}}}", "dimension",
             "length of A: 5 what?");
  body_fails("mix_sheet{name = \"m\", parts = {{material = \"r\", mass = 5*mm}}}", "dimension",
             "is a length, but a mass is wanted");
  body_fails("shop_data \"/etc/passwd\"", "file name", "absolute path");
  body_fails("shop_data \"../shop.yaml\"", "file name", "leads out of the recipe's folder");
  body_fails("input{name = \"l\", kind = \"table\", file = \"x\"}", "argument", "must be \"csv\"");
  assert_int_equal(symlink("/etc/hostname", path_of("link.yaml")), 0);
  body_fails("shop_data \"link.yaml\"", "file name", "a link that leads out");
  put_recipe("bad.lua", "shop_data \"none.yaml\"");
  expect_failure("bad.lua", NULL, 66, "missing file", "none.yaml");
  put_recipe(
      "bad.lua",
      "input{name = \"l\", kind = \"csv\", file = \"none.csv\", columns = {{name = \"a\"}}}");
  expect_failure("bad.lua", NULL, 66, "missing file", "none.csv");
}

static void amounts_and_pictures_are_checked_where_they_are_declared(void **state) {
  (void)state;
  body_fails("mix_sheet{name = 'm', parts = {{material = 'r', mass = q'-5 g'}}}", "range",
             "bad.lua:2: mix_sheet m: mass of r = -5 g: must not be below 0");
  body_fails(
      "mix_sheet{name = 'm', scale_step = q'0 g', parts = {{material = 'r', mass = q'5 g'}}}",
      "range", "scale_step = 0 g: must be above 0");
  body_fails("cut_list{name = 'c', pieces = {{name = 'p', length = 0*inch}}}", "range",
             "length of p = 0 in: must be above 0");
  body_fails("plot{name = 'p', x = {label = 'x'}, y = {label = 'y'},\n"
             "lines = {{points = {{1, 1e308}, {2, -1e308}}}}}",
             "range", "point 1: y = 1e+308: is beyond what an axis can show");
  body_fails("drawing{name = 'd', shapes = {{kind = 'blob', x = 1, y = 1}}}", "argument",
             "kind = 'blob': must be area, line, dimension, circle or text");
  body_fails(
      "drawing{name = 'd', shapes = {{kind = 'circle', x = 1*inch, y = q'1 g', radius = 1}}}",
      "dimension", "shape 1: y: 1 g is a mass, but a length is wanted");
  body_fails("drawing{name = 'd', shapes = {{kind = 'circle', x = 1, y = 1, radius = 0}}}", "range",
             "radius = 0: must be above 0");
  body_fails("drawing{name = 'd', shapes = {{kind = 'line', points = {{1, 2}}}}}", "argument",
             "points: at least 2 are needed");
  body_fails("drawing{name = 'd', unit = 'kg', shapes = {{kind = 'text', x = 1, y = 1}}}",
             "dimension", "unit");
  body_fails("result{name = 'a', formula = 'A = l', with = {[1] = 2}}", "argument",
             "with: 1 is no symbol");
  body_fails("input{name = 'a', default = 1*inch, low = 2*inch, high = 1*inch}", "argument",
             "low 2 in is above high 1 in");
}

/* The words of the layout of 10 000 pieces: every piece stands in the model with its cuts. */
static void a_large_nest_fits_the_model(void **state) {
  (void)state;
  put_recipe("large.lua",
             "local n = nesting.sheets{kerf = 0.1*inch, effort = 100000,\n"
             "pieces = {{name = 'p', length = 3*inch, width = 3*inch, count = 10000}},\n"
             "stock = {{name = 's', length = 96*inch, width = 24*inch, count = 400}}}\n"
             "drawing{name = 'd', nest = n}");
  model_holds("large.lua", NULL, "#model.items[1].nest.unplaced == 0");
}

static void results_of_other_recipes_are_taken(void **state) {
  (void)state;
  put_recipe("stock.lua", "result{name = \"mass\", formula = \"rho * V\",\n"
                          "  with = {rho = q\"2 lb/ft^3\", V = q\"4.5 ft^3\"}, unit = \"lb\"}\n");
  put_recipe("ship.lua", "local m = from_recipe{recipe = \"stock.lua\", result = \"mass\"}\n"
                         "result{name = \"foam\", value = m}\n"
                         "result{name = \"two\", formula = \"2 * m\", with = {m = m}}\n");
  model_holds("ship.lua", NULL,
              "item('foam').value == q'9 lb' and item('foam').origin.kind == 'recipe'");
  model_holds("ship.lua", NULL, "item('foam').working.formula == 'mass = rho * V'");
  model_holds("ship.lua", NULL,
              "model.taken[1].recipe == 'stock.lua' and not model.taken[1].stale");
  fettle_problem problem;
  lua_State *trusted = fettle_trusted_open();
  assert_int_equal(fettle_record_verify(trusted, path_of("ship.lua"), &problem), 66);
  assert_int_equal(fettle_record_write(trusted, path_of("ship.lua"), &problem), 0);
  assert_int_equal(fettle_record_verify(trusted, path_of("ship.lua"), &problem), 0);
  lua_getfield(trusted, -1, "changes");
  assert_int_equal(lua_rawlen(trusted, -1), 0);
  put_recipe("stock.lua", "result{name = \"mass\", formula = \"rho * V\",\n"
                          "  with = {rho = q\"2 lb/ft^3\", V = q\"4.6 ft^3\"}, unit = \"lb\"}\n");
  model_holds("ship.lua", NULL, "model.taken[1].stale and model.taken[1].was == q'9 lb'");
  model_holds("ship.lua", NULL, "item('foam').stale and #model.warnings == 1");
  assert_int_equal(fettle_record_verify(trusted, path_of("ship.lua"), &problem), 0);
  lua_getfield(trusted, -1, "changes");
  assert_int_equal(lua_rawlen(trusted, -1), 3); /* foam, two, and what was taken */
  lua_geti(trusted, -1, 1);
  lua_getfield(trusted, -1, "what");
  assert_string_equal(lua_tostring(trusted, -1), "changed");
  lua_close(trusted);

  put_recipe("bad.lua", "from_recipe{recipe = \"stock.lua\", result = \"mas\"}");
  expect_failure("bad.lua", NULL, 65, "missing result", "the nearest is 'mass'");
  put_recipe("x.lua", "from_recipe{recipe = \"y.lua\", result = \"a\"}");
  put_recipe("y.lua", "from_recipe{recipe = \"x.lua\", result = \"a\"}");
  char loop[800];
  snprintf(loop, sizeof loop, "%s -> %s -> %s", path_of("x.lua"), path_of("y.lua"),
           path_of("x.lua"));
  expect_failure("x.lua", NULL, 65, "loop", loop);
}

static void the_record_keeps_an_edited_tolerance(void **state) {
  (void)state;
  put("t.record.yaml", "schema: 1\nresults:\n  a:\n    value: \"2 in\"\n    tolerance: \"5 %\"\n");
  fettle_problem problem;
  lua_State *trusted = fettle_trusted_open();
  put_recipe("t.lua", "result{name = \"a\", formula = \"2 * x\", with = {x = 1.04*inch}}");
  assert_int_equal(fettle_record_verify(trusted, path_of("t.lua"), &problem), 0);
  lua_getfield(trusted, -1, "changes");
  assert_int_equal(lua_rawlen(trusted, -1), 0);
  put_recipe("t.lua", "result{name = \"a\", formula = \"2 * x\", with = {x = 1.06*inch}}");
  assert_int_equal(fettle_record_write(trusted, path_of("t.lua"), &problem), 0);
  lua_getfield(trusted, -1, "changes");
  assert_int_equal(lua_rawlen(trusted, -1), 1);
  FILE *file = fopen(path_of("t.record.yaml"), "r");
  assert_non_null(file);
  char text[1024] = "";
  assert_true(fread(text, 1, sizeof text - 1, file) > 0);
  fclose(file);
  assert_non_null(strstr(text, "tolerance: \"5 %\""));
  put("t.record.yaml", "results: [1]\n");
  assert_int_equal(fettle_record_verify(trusted, path_of("t.lua"), &problem), 65);
  put("t.record.yaml", "results: {a: 1}\n");
  assert_int_equal(fettle_record_verify(trusted, path_of("t.lua"), &problem), 65);
  lua_close(trusted);
}

static void a_shop_declares_its_own_calculations(void **state) {
  (void)state;
  const char *form =
      "local lap = calculation{name = \"shop.lap_area\", brief = \"area of a lap joint\",\n"
      "  formula = \"A = w * L\", parameters = {\n"
      "    {name = \"width\", symbol = \"w\", unit = \"mm\", low = 1, high = q\"4 in\"},\n"
      "    {name = \"length\", symbol = \"L\", unit = \"mm\"}},\n"
      "  outputs = {{name = \"area\", symbol = \"A\", unit = \"mm^2\"}},\n"
      "  checks = {{inputs = {width = 2*inch, length = 3*inch}, outputs = {area = q\"%s "
      "in^2\"}}}}\n"
      "return {lap_area = lap}\n";
  const char *use =
      "local own = input{name = \"own\", kind = \"calculations\", file = \"own.lua\"}\n"
      "local a = own.lap_area{width = %s, length = 100*mm}\n"
      "result{name = \"area\", value = a, unit = \"in^2\"}";
  char text[1024];
  snprintf(text, sizeof text, form, "6");
  put("own.lua", text);
  snprintf(text, sizeof text, use, "1*inch");
  put_recipe("u.lua", text);
  model_holds("u.lua", NULL, "math.abs(item('area').value:number'mm^2' - 2540) < 1e-9");
  model_holds("u.lua", NULL, "item('area').working.source == 'shop rule'");
  snprintf(text, sizeof text, use, "5*inch");
  put_recipe("u.lua", text);
  expect_failure("u.lua", NULL, 65, "range", "shop.lap_area: width = 5 in: must not be above");
  snprintf(text, sizeof text, form, "7");
  put("own.lua", text);
  expect_failure("u.lua", NULL, 65, "check", "own.lua:1: calculation shop.lap_area: check 1: area");

  snprintf(text, sizeof text, form, "6");
  put("own.lua", text);
  const char *files[] = {path_of("own.lua")};
  fettle_problem problem;
  fettle_session *session = fettle_session_open(files, 1, &problem);
  assert_non_null(session);
  lua_State *trusted = fettle_trusted_open();
  assert_int_equal(fettle_session_ask(session, trusted,
                                      "shop.lap_area{width = 1*inch, length = 2*inch}", &problem),
                   0);
  lua_getfield(trusted, -1, "working");
  assert_true(lua_istable(trusted, -1));
  assert_int_equal(fettle_session_ask(session, trusted, "x = 20*thou", &problem), 0);
  assert_int_equal(fettle_session_ask(session, trusted, "x * 2", &problem), 0);
  assert_int_not_equal(fettle_session_ask(session, trusted, "for i =", &problem), 0);
  assert_string_equal(problem.code, "incomplete");
  /* No further line can complete a text in quotes. */
  assert_int_not_equal(fettle_session_ask(session, trusted, "'open", &problem), 0);
  assert_string_equal(problem.code, "syntax");
  assert_int_not_equal(fettle_session_ask(session, trusted, "while true do end", &problem), 0);
  assert_string_equal(problem.code, "budget");
  assert_int_equal(fettle_session_ask(session, trusted, "1 + 1", &problem), 0);
  assert_int_equal(fettle_session_descriptions(session, trusted, &problem), 0);
  assert_true(lua_rawlen(trusted, -1) >= 1);
  fettle_session_close(session);
  lua_close(trusted);
}

static void tables_are_read_by_their_declared_columns(void **state) {
  (void)state;
  put("log.csv", "time (h),temperature (degF),lot\n0,68,A\n12,55,B\n");
  const char *form =
      "local rows = input{name = \"log\", kind = \"csv\", file = \"%s\", columns = {\n"
      "  {name = \"time\", unit = \"h\"}, {name = \"%s\", unit = \"degF\", "
      "role = \"point\"}, {name = \"lot\", text = true}}}\n"
      "result{name = \"last\", formula = \"t * 1\", with = {t = rows[2].time}}\n"
      "note(rows[2].lot)";
  char body[1024];
  snprintf(body, sizeof body, form, "log.csv", "temperature");
  put_recipe("c.lua", body);
  model_holds("c.lua", NULL, "item('last').value == q'12 h' and model.items[2].text == 'B'");
  snprintf(body, sizeof body, form, "log.csv", "humidity");
  put_recipe("bad.lua", body);
  expect_failure("bad.lua", NULL, 65, "data", "humidity");
  put("log.csv", "time (h),temperature (degF),lot\n0,68,A\n12,warm,B\n");
  expect_failure("c.lua", NULL, 65, "data", "log.csv:3:");
  snprintf(body, sizeof body, form, "../log.csv", "temperature");
  put_recipe("bad.lua", body);
  expect_failure("bad.lua", NULL, 65, "file name", "leads out");
}

static void guesses_give_bands(void **state) {
  (void)state;
  put("shop.yaml", "schema: 1\nunits: inch\ncutters:\n  ball: {form: ball, flutes: 2, "
                   "diameter: {value: 1 in, spread: 2 %}, life: {value: 100 m, spread: 30 %}}\n");
  put_recipe("g.lua",
             "local cutter = shop_data(\"shop.yaml\").cutters.ball\n"
             "result{name = \"life\", formula = \"2 * l\", with = {l = cutter.life}}\n"
             "result{name = \"reach\", formula = \"2 * d\", with = {d = cutter.diameter}}");
  model_holds("g.lua", NULL, "item('life').band.guesses[1] == 'cutters/ball/life'");
  model_holds("g.lua", NULL, "item('life').band.low:near(q'140 m', q'1e-9 m')");
  model_holds("g.lua", NULL, "item('life').band.high:near(q'260 m', q'1e-9 m')");
  model_holds("g.lua", NULL, "item('reach').band == nil"); /* 2 % is less than a line is worth */
  model_holds("g.lua", NULL, "model.shop.file == 'shop.yaml' and #model.shop.digest == 12");
  put("other.yaml", "schema: 1\nunits: inch\ncutters:\n  ball: {form: ball, flutes: 2, "
                    "diameter: 1 in, life: {value: 50 m, standing: measured, date: 2026-03-02}}\n");
  model_holds("g.lua", "shop=other.yaml", "item('life').value:near(q'100 m', q'1e-9 m')");
  model_holds("g.lua", "shop=other.yaml", "item('life').band == nil");
  put_recipe("bad.lua", "local c = shop_data(\"shop.yaml\").cutters.bal");
  expect_failure("bad.lua", NULL, 65, "missing data", "the nearest is 'ball'");
  put_recipe("bad.lua", "shop_data(\"shop.yaml\").cutters.ball.diameter = 2*inch");
  expect_failure("bad.lua", NULL, 65, "argument", "read only");
  put("shop.yaml", "schema: 1\nunits: inch\ncutters:\n  ball: {form: ball, diameter: 5 kg}\n");
  put_recipe("bad.lua", "shop_data \"shop.yaml\"");
  expect_failure("bad.lua", NULL, 78, "data", "shop.yaml:4:");
}

/* FIPS 180-4's examples "abc", the two-block message, and the empty text (NIST example values). */
static void a_table_of_shop_data_gives_a_formula_its_values(void **state) {
  (void)state;
  put("shop.yaml", "schema: 1\nunits: inch\nown:\n  seat: {drop: 2 in, people: 3}\n");
  put_recipe("g.lua", "result{name = 'all', formula = 'drop * people', unit = 'in',\n"
                      "with = shop_data('shop.yaml').own.seat}");
  model_holds("g.lua", NULL, "model.items[1].value == q'6 in'");
}

static void digests_are_those_of_the_standard(void **state) {
  (void)state;
  static const char *const cases[][2] = {
      {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
      {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
       "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
      {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
  };
  char digest[FETTLE_DIGEST_TEXT];
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    fettle_digest(cases[i][0], strlen(cases[i][0]), digest);
    assert_string_equal(digest, cases[i][1]);
  }
}

static int make_folder(void **state) {
  (void)state;
  return mkdtemp(folder) ? 0 : -1;
}

static int remove_folder(void **state) {
  (void)state;
  static const char *const names[] = {"large.lua",     "a.lua",     "s.lua",           "bad.lua",
                                      "stock.lua",     "ship.lua",  "x.lua",           "y.lua",
                                      "t.lua",         "u.lua",     "own.lua",         "g.lua",
                                      "c.lua",         "log.csv",   "shop.yaml",       "other.yaml",
                                      "t.record.yaml", "link.yaml", "ship.record.yaml"};
  for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
    unlink(path_of(names[i]));
  }
  return rmdir(folder);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_recipe_hands_over_its_model),
      cmocka_unit_test(settings_are_checked),
      cmocka_unit_test(wrong_recipes_get_one_clear_line),
      cmocka_unit_test(amounts_and_pictures_are_checked_where_they_are_declared),
      cmocka_unit_test(a_large_nest_fits_the_model),
      cmocka_unit_test(results_of_other_recipes_are_taken),
      cmocka_unit_test(the_record_keeps_an_edited_tolerance),
      cmocka_unit_test(a_shop_declares_its_own_calculations),
      cmocka_unit_test(tables_are_read_by_their_declared_columns),
      cmocka_unit_test(guesses_give_bands),
      cmocka_unit_test(a_table_of_shop_data_gives_a_formula_its_values),
      cmocka_unit_test(digests_are_those_of_the_standard),
  };
  return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
