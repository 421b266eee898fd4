/* The sheet of an invented job in every form: well formed, escaped, the same bytes twice. */
#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "support/near.h"

#include <jansson.h>
#include <lauxlib.h>

#include "lua/lists.h"
#include "sheet/trusted.h"

static lua_State *open_state(void **state) {
  (void)state;
  lua_State *L = fettle_trusted_open();
  assert_non_null(L);
  return L;
}

static void run(lua_State *L, int arguments, int results) {
  if (lua_pcall(L, arguments, results, 0) != LUA_OK) {
    fail_msg("%s", lua_tostring(L, -1));
  }
}

/* Evaluates a chunk of Lua that asserts for itself. */
static void check(lua_State *L, const char *text) {
  if (luaL_loadstring(L, text) != LUA_OK) {
    fail_msg("%s", lua_tostring(L, -1));
  }
  run(L, 0, 0);
}

static void push_model(lua_State *L, int pieces) {
  if (luaL_loadfile(L, FETTLE_TEST_DATA "/sheet/model.lua") != LUA_OK) {
    fail_msg("%s", lua_tostring(L, -1));
  }
  lua_pushinteger(L, pieces);
  run(L, 1, 1);
}

/* The sheet of the model on the stack, which it replaces. */
static const char *render(lua_State *L, const char *form) {
  lua_getglobal(L, "require");
  lua_pushliteral(L, "sheet/init");
  run(L, 1, 1);
  lua_getfield(L, -1, "sheet");
  lua_replace(L, -2);
  lua_insert(L, -2);
  lua_pushstring(L, form);
  lua_pushboolean(L, 0);
  run(L, 3, 1);
  return lua_tostring(L, -1);
}

static const char *render_test(lua_State *L, const char *form, int pieces) {
  push_model(L, pieces);
  return render(L, form);
}

static void assert_no_poison(const char *text) {
  assert_null(strstr(text, "nan "));
  assert_null(strstr(text, "\"nan"));
  assert_null(strstr(text, "NaN"));
  assert_null(strstr(text, "-inf"));
  assert_null(strstr(text, "table: 0x"));
  assert_null(strstr(text, "nil "));
}

/* Every tag closed in order, every attribute quoted, `&` only in entities. */
static void assert_well_formed(const char *html) {
  enum { DEPTH = 64, NAME = 16 };
  static const char *const empty[] = {"meta", "br", NULL};
  char open[DEPTH][NAME];
  int depth = 0;
  for (const char *p = html; *p; p++) {
    if (*p == '&') {
      assert_non_null(strchr(p, ';'));
      assert_true(strcspn(p, ";") < 8);
    }
    if (*p != '<') {
      continue;
    }
    if (p[1] == '!') {
      p = strchr(p, '>');
      continue;
    }
    bool closing = p[1] == '/';
    const char *name = p + 1 + closing;
    size_t length = 0;
    while (isalnum((unsigned char)name[length])) {
      length++;
    }
    assert_in_range(length, 1, NAME - 1);
    const char *end = name + length;
    int quotes = 0;
    for (; *end && (*end != '>' || quotes % 2); end++) {
      quotes += *end == '"';
      assert_true(*end != '<');
    }
    assert_int_equal(*end, '>');
    bool self = end[-1] == '/';
    for (int i = 0; empty[i]; i++) {
      if (strlen(empty[i]) == length && strncmp(empty[i], name, length) == 0) {
        assert_true(self);
      }
    }
    if (closing) {
      assert_true(depth > 0);
      depth--;
      if (strlen(open[depth]) != length || strncmp(open[depth], name, length) != 0) {
        fail_msg("</%.*s> closes <%s>", (int)length, name, open[depth]);
      }
    } else if (!self) {
      assert_true(depth < DEPTH);
      snprintf(open[depth++], NAME, "%.*s", (int)length, name);
    }
    p = end;
    if (!closing && length == 5 && strncmp(name, "style", 5) == 0) {
      p = strstr(p, "</style>") - 1;
    }
  }
  assert_int_equal(depth, 0);
}

static void html_is_well_formed_and_escaped(void **state) {
  static const int counts[] = {1, 60, 500};
  for (int i = 0; i < 3; i++) {
    lua_State *L = open_state(state);
    const char *html = render_test(L, "html", counts[i]);
    assert_well_formed(html);
    assert_no_poison(html);
    assert_null(strstr(html, "<b>"));
    assert_null(strstr(html, "<script"));
    assert_non_null(strstr(html, "&lt;b&gt;"));
    assert_non_null(strstr(html, "role=\"img\""));
    assert_non_null(strstr(html, "scope=\"col\""));
    assert_non_null(strstr(html, "Made by"));
    lua_close(L);
  }
}

static void every_form_gives_the_same_bytes_twice(void **state) {
  static const char *const forms[] = {"text", "md", "html", "json"};
  for (int i = 0; i < 4; i++) {
    lua_State *L = open_state(state);
    lua_State *M = open_state(state);
    const char *first = render_test(L, forms[i], 60);
    const char *second = render_test(M, forms[i], 60);
    assert_string_equal(first, second);
    assert_no_poison(first);
    lua_close(L);
    lua_close(M);
  }
}

static void json_reads_back(void **state) {
  lua_State *L = open_state(state);
  const char *text = render_test(L, "json", 60);
  json_error_t problem;
  json_t *sheet = json_loads(text, JSON_REJECT_DUPLICATES, &problem);
  assert_non_null(sheet);
  assert_string_equal(json_string_value(json_object_get(sheet, "schema")), "fettle.sheet.1");
  assert_true(json_is_false(json_object_get(sheet, "ok")));
  json_t *stepover = json_array_get(json_object_get(sheet, "inputs"), 0);
  json_t *value = json_object_get(stepover, "value");
  assert_near(json_real_value(json_object_get(value, "value")), 0.025, 0, "the model");
  assert_near(json_real_value(json_object_get(value, "si")), 0.025 * 0.0254, 1e-18,
              "derived: inch of 25.4 mm");
  json_decref(sheet);
  lua_close(L);
}

static void text_says_what_counts_and_keeps_its_width(void **state) {
  lua_State *L = open_state(state);
  const char *text = render_test(L, "text", 60);
  static const char *const wanted[] = {"STOP: a check failed",
                                       "[STOP] reach",
                                       "[PASS] dust",
                                       "[STALE]",
                                       "1470 g",
                                       "30 1/2 in (-10 thou)",
                                       "guessed",
                                       "CAUTION: Heat of cure",
                                       "results revision 1",
                                       "not limited by time",
                                       "Made by",
                                       "NOT PLACED: 2 of rudder",
                                       "cut the sheet across",
                                       "Operator          ____",
                                       "source:",
                                       "values put in:"};
  for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
    if (!strstr(text, wanted[i])) {
      fail_msg("'%s' is missing", wanted[i]);
    }
  }
  lua_setglobal(L, "sheet_text");
  check(L, "local columns = require 'drawing/type'.columns\n"
           "for line in sheet_text:gmatch '[^\\n]+' do\n"
           "  assert(columns(line) <= 80, line)\n"
           "end");
  lua_close(L);
}

/* Names that a stranger's recipe may hold, 200 results and a table too wide to stand abreast. */
static void push_hostile_model(lua_State *L) {
  static const char text[] =
      "local bad = '\\xff\\xe2\\x82 <b> | \\1\\27[31m\\n\\u{202E}evil \\u{9B}2J \\u{5D0} "
      "\\u{1F6E0} & '\n"
      "local long = ('unbroken'):rep(40)\n"
      "local items, wide, cells = {{kind = 'note', text = bad .. long}}, {}, {}\n"
      "for i = 1, 200 do\n"
      "  items[#items + 1] = {kind = 'result', name = bad .. i, value = 5.0, meaning = long,\n"
      "    working = {kind = 'stated', substituted = bad, source = long,\n"
      "      warnings = {{parameter = 'x', message = bad .. long}}}}\n"
      "end\n"
      "for i = 1, 30 do wide[i] = {title = bad .. i} cells[i] = i % 2 == 0 and long or bad end\n"
      "items[#items + 1] = {kind = 'table', name = 'wide', columns = wide, rows = {cells, cells}}\n"
      "items[#items + 1] = {kind = 'table', name = 'none', columns = {}, rows = {}}\n"
      "items[#items + 1] = {kind = 'mix_sheet', name = long, parts = {}}\n"
      "items[#items + 1] = {kind = 'cut_list', name = long, pieces = {}}\n"
      "items[#items + 1] = {kind = 'plot', name = bad, x = {}, y = {}, lines = {}}\n"
      "items[#items + 1] = {kind = 'drawing', name = bad, shapes = {}}\n"
      "return {recipe = {name = bad, part = long}, items = items,\n"
      "  job = {{name = 'lots', label = 'Lots', value = 'foam:    glue:'}},\n"
      "  inputs = {{name = long, value = bad}}}\n";
  if (luaL_loadstring(L, text) != LUA_OK) {
    fail_msg("%s", lua_tostring(L, -1));
  }
  run(L, 0, 1);
}

static void hostile_names_break_no_form(void **state) {
  static const char *const forms[] = {"text", "md", "html", "json"};
  for (int i = 0; i < 4; i++) {
    lua_State *L = open_state(state);
    push_hostile_model(L);
    const char *text = render(L, forms[i]);
    assert_null(strstr(text, "\x1b"));
    assert_true(i == 3 || !strstr(text, "\xE2\x80\xAE"));
    if (i == 0) {
      assert_non_null(strstr(text, "foam: __________ glue: __________"));
      assert_non_null(strstr(text, "= 5\n"));
    }
    if (i == 2) {
      assert_well_formed(text);
    }
    lua_setglobal(L, "sheet_text");
    check(L, "assert(utf8.len(sheet_text))");
    lua_pushboolean(L, i == 0);
    lua_setglobal(L, "narrow");
    check(L, "local columns = require 'drawing/type'.columns\n"
             "for line in sheet_text:gmatch '[^\\n]+' do\n"
             "  assert(not narrow or columns(line) <= 80, line)\n"
             "end");
    lua_close(L);
  }
}

static void limits_round_to_the_side_they_leave_free(void **state) {
  lua_State *L = open_state(state);
  check(L, "local v = require 'sheet/values'\n"
           "assert(v.limit(q'0.0312 in', 'in', 2, -1) == '0.031 in')\n"
           "assert(v.limit(q'0.0312 in', 'in', 2, 1) == '0.032 in')\n"
           "assert(v.limit(q'0.0312 in', 'in', nil, -1) == '0.0312 in')\n"
           "assert(v.limit(q'-0.0312 in', 'in', 2, -1) == '-0.032 in')\n"
           "assert(v.limit(q'0 in', 'in', 2, -1) == '0 in')\n"
           "assert(v.limit(400, nil, nil, -1) == '400')\n"
           "local a, b = v.against_limit(q'2.00004 h', q'2.00006 h', 'h')\n"
           "assert(a ~= b and b:find('2.0000', 1, true), a .. ' ' .. b)\n"
           "assert(v.both(q'7.56 h', 'h') == '7.56 h (7 h 34 min)')\n"
           "assert(v.text(q'166.388 USD') == '166.39 USD')\n"
           "host.set_habit 'inch'\n"
           "assert(v.both(degF(62), 'degF') == '62 degF (16.67 degC)')");
  lua_close(L);
}

static void cuts_are_numbered_on_the_drawing(void **state) {
  lua_State *L = open_state(state);
  lua_pushglobaltable(L);
  fettle_open_nesting(L, -1);
  lua_pop(L, 1);
  check(L, "host.set_habit 'inch'\n"
           "local layout = nesting.sheets {kerf = q'1/8 in',\n"
           "  pieces = {{name = 'rib', length = q'40 in', width = q'20 in', count = 3}},\n"
           "  stock = {{name = 'panel', length = q'96 in', width = q'48 in'}}}\n"
           "local drawn = require 'drawing/nest'.draw(layout, 'Ribs', 64)\n"
           "local seen = {}\n"
           "for _, item in ipairs(drawn[1].picture.items) do\n"
           "  if item[1] == 'text' then seen[#seen + 1] = item[4] end\n"
           "end\n"
           "seen = table.concat(seen, '\\n')\n"
           "assert(#layout.sheets[1].cuts > 0)\n"
           "for _, cut in ipairs(layout.sheets[1].cuts) do\n"
           "  assert(seen:find('cut ' .. cut.number, 1, true), seen)\n"
           "end\n"
           "assert(seen:find('20 in', 1, true))\n"
           "local stack = nesting.layers {height = q'4 in', length = q'60 in', width = q'20 in',\n"
           "  stock = {{name = 's', length = q'48 in', width = q'24 in', thickness = q'2 in'}},\n"
           "  kerf = q'1/8 in'}\n"
           "drawn = require 'drawing/nest'.draw(stack, 'Stack', 64)\n"
           "assert(#drawn == #stack.sheets + #stack.layers)");
  lua_close(L);
}

static void markdown_keeps_its_tables(void **state) {
  lua_State *L = open_state(state);
  const char *text = render_test(L, "md", 60);
  assert_null(strstr(text, "<b>"));
  assert_non_null(strstr(text, "a\\|b"));
  assert_non_null(strstr(text, "**STOP** reach"));
  lua_close(L);
}

static void an_empty_model_is_a_sheet(void **state) {
  static const char *const forms[] = {"text", "md", "html", "json"};
  for (int i = 0; i < 4; i++) {
    lua_State *L = open_state(state);
    lua_newtable(L);
    const char *text = render(L, forms[i]);
    assert_true(strlen(text) > 100);
    assert_no_poison(text);
    if (i == 2) {
      assert_well_formed(text);
    }
    lua_close(L);
  }
}

static void labels_never_overlap_nor_leave_the_paper(void **state) {
  lua_State *L = open_state(state);
  static const int counts[] = {1, 60, 500};
  for (int i = 0; i < 3; i++) {
    push_model(L, counts[i]);
    lua_setglobal(L, "model");
    check(L, "local box = require 'drawing/type'.box\n"
             "host.set_habit 'inch'\n"
             "for _, block in ipairs(require 'sheet/document'.build(model)) do\n"
             "  local list = block.kind == 'picture' and block.list\n"
             "  if list then\n"
             "    local boxes = {}\n"
             "    for _, item in ipairs(list.items) do\n"
             "      if item[1] == 'text' then\n"
             "        local b = {box(item)}\n"
             "        assert(b[1] >= 0 and b[2] >= 0 and b[3] <= list.width\n"
             "          and b[4] <= list.height, list.title .. ': ' .. item[4] .. ' leaves')\n"
             "        for _, o in ipairs(boxes) do\n"
             "          assert(b[3] <= o[1] or o[3] <= b[1] or b[4] <= o[2] or o[4] <= b[2],\n"
             "            list.title .. ': ' .. item[4] .. ' meets ' .. o[5])\n"
             "        end\n"
             "        b[5] = item[4]\n"
             "        boxes[#boxes + 1] = b\n"
             "      end\n"
             "    end\n"
             "  end\n"
             "end");
  }
  lua_close(L);
}

static void ticks_are_round_and_cover_the_values(void **state) {
  lua_State *L = open_state(state);
  check(L,
        "local ticks = require 'drawing/plot'.ticks\n"
        "for _, r in ipairs {{0, 1}, {-3, -1}, {5, 5}, {0, 0}, {-0.00004, 0.00007}, {1e9, 3e9},\n"
        "    {-7, 13}} do\n"
        "  local t = ticks(r[1], r[2])\n"
        "  assert(#t >= 2 and #t <= 14, #t)\n"
        "  local e = 1e-9 * (t[2] - t[1])\n"
        "  assert(t[1] <= r[1] + e and t[#t] >= r[2] - e)\n"
        "end");
  lua_close(L);
}

static void json_of_the_host_is_exact_and_refuses_nan(void **state) {
  lua_State *L = open_state(state);
  check(L, "local e = host.json_encode\n"
           "assert(e(3) == '3' and e(3.0) == '3.0' and e(0.5) == '0.5')\n"
           "for _, x in ipairs {0.1, 1/3, 5e-324, 1.7976931348623157e308, -0.0, 2^53} do\n"
           "  assert(host.json_decode(e(x)) == x, e(x))\n"
           "end\n"
           "assert(e(math.mininteger) == '-9223372036854775808')\n"
           "assert(e {b = 1, a = 'x\\n\"\\\\\\1'} == "
           "'{\"a\":\"x\\\\n\\\\\"\\\\\\\\\\\\u0001\",\"b\":1}')\n"
           "assert(e(host.ordered {{'b', 1}, {'n', nil}, {'a', host.array {}}}) "
           "== '{\"b\":1,\"a\":[]}')\n"
           "assert(e(host.null) == 'null' and e('\\xff') == '\"\\u{FFFD}\"')\n"
           "assert(not pcall(e, 0/0) and not pcall(e, 1/0) and not pcall(e, print))\n"
           "local loop = {} loop[1] = loop\n"
           "assert(not pcall(e, loop))\n"
           "local d = host.json_decode '{\"a\": [1, 2.5, null, \"x\"]}'\n"
           "assert(d.a[2] == 2.5 and d.a[3] == host.null and d.a[4] == 'x')\n"
           "local none, why = host.json_decode '{'\n"
           "assert(none == nil and why:find('line 1', 1, true))\n"
           "assert(dofile == nil and loadfile == nil and io == nil and os == nil)\n");
  lua_close(L);
}

static void copies_are_raw_and_bounded(void **state) {
  lua_State *from = open_state(state);
  lua_State *to = open_state(state);
  check(from, "good = {1, 'a', {x = q'2 in', y = true}}\n"
              "loop = {} loop.a = {loop}\n"
              "deep = {} local t = deep for i = 1, 30 do t[1] = {} t = t[1] end\n"
              "many = {} for i = 1, 500001 do many[i] = i end\n"
              "code = {print}\n");
  lua_getglobal(from, "good");
  assert_null(fettle_copy_value(from, -1, to));
  assert_int_equal(lua_gettop(to), 1);
  lua_setglobal(to, "copy");
  check(to, "assert(copy[1] == 1 and copy[2] == 'a' and copy[3].y and copy[3].x == q'2 in')");
  static const char *const refused[] = {"loop", "deep", "many", "code"};
  for (int i = 0; i < 4; i++) {
    int top = lua_gettop(from);
    lua_getglobal(from, refused[i]);
    assert_non_null(fettle_copy_value(from, -1, to));
    assert_int_equal(lua_gettop(to), 0);
    assert_int_equal(lua_gettop(from), top + 1);
  }
  lua_close(from);
  lua_close(to);
}

static void an_answer_shows_its_working(void **state) {
  lua_State *L = open_state(state);
  check(L,
        "local answer = require 'sheet/answer'.answer\n"
        "local v, w = milling.scallop_height {cutter_diameter = q'1/2 in', stepover = q'30 thou'}\n"
        "local text = answer({values = {v}, working = w}, false, 'fettle ask ...')\n"
        "assert(text:find('= 0.45', 1, true) and text:find('formula: ', 1, true)\n"
        "  and text:find('source: ', 1, true) and text:find('again: ', 1, true), text)\n"
        "local json = host.json_decode(answer({values = {v}, working = w}, true))\n"
        "assert(json.value.si_unit == 'm' and math.abs(json.value.si - 1.14408e-5) < 1e-9)\n"
        "assert(answer({values = {}}, false) == '')");
  lua_close(L);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(html_is_well_formed_and_escaped),
      cmocka_unit_test(every_form_gives_the_same_bytes_twice),
      cmocka_unit_test(json_reads_back),
      cmocka_unit_test(text_says_what_counts_and_keeps_its_width),
      cmocka_unit_test(hostile_names_break_no_form),
      cmocka_unit_test(limits_round_to_the_side_they_leave_free),
      cmocka_unit_test(cuts_are_numbered_on_the_drawing),
      cmocka_unit_test(markdown_keeps_its_tables),
      cmocka_unit_test(an_empty_model_is_a_sheet),
      cmocka_unit_test(labels_never_overlap_nor_leave_the_paper),
      cmocka_unit_test(ticks_are_round_and_cover_the_values),
      cmocka_unit_test(json_of_the_host_is_exact_and_refuses_nan),
      cmocka_unit_test(copies_are_raw_and_bounded),
      cmocka_unit_test(an_answer_shows_its_working),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
