/* YAML as texts with places: what is read, and each refusal with its line and column. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "data/yaml.h"
#include "support/near.h"

static fettle_yaml *read_text(const char *text) {
  fettle_yaml_problem problem = {0};
  fettle_yaml *yaml = fettle_yaml_read("x.yaml", text, strlen(text), &problem);
  if (!yaml) {
    fail_msg("%s", problem.message);
  }
  return yaml;
}

static void assert_text(const fettle_yaml_node *map, const char *key, const char *want) {
  const fettle_yaml_node *node = fettle_yaml_get(map, key);
  assert_non_null(node);
  assert_int_equal(node->kind, FETTLE_YAML_TEXT);
  assert_string_equal(node->text, want);
  assert_int_equal(node->length, strlen(want));
}

static void scalars_stay_text(void **state) {
  (void)state;
  fettle_yaml *yaml = read_text("ok: no\nratio: 100:30\nnumber: 0123\nwhen: 12:30:00\n"
                                "size: 2 1/2 in\nquoted: '1e3'\nempty:\ndate: 2026-03-02\r\n"
                                "norway: NO\nnull: ~\non: true\n");
  const fettle_yaml_node *root = fettle_yaml_root(yaml);
  assert_int_equal(root->kind, FETTLE_YAML_MAP);
  assert_int_equal(root->count, 11);
  assert_text(root, "ok", "no");
  assert_text(root, "ratio", "100:30");
  assert_text(root, "number", "0123");
  assert_text(root, "when", "12:30:00");
  assert_text(root, "size", "2 1/2 in");
  assert_text(root, "quoted", "1e3");
  assert_text(root, "empty", "");
  assert_text(root, "date", "2026-03-02");
  assert_text(root, "norway", "NO");
  assert_text(root, "null", "~");
  assert_true(fettle_yaml_get(root, "quoted")->quoted);
  assert_false(fettle_yaml_get(root, "size")->quoted);
  assert_null(fettle_yaml_get(root, "absent"));
  fettle_yaml_free(yaml);
}

static void nests_and_places(void **state) {
  (void)state;
  fettle_yaml *yaml = read_text("---\n# a shop\ncutters:\n  ball 1.000: {form: ball, flutes: 2}\n"
                                "pins:\n- [2 in, -16 in]\n- - 64 in\n  - µ\nnote: |\n  two\n"
                                "  lines\n...\n");
  const fettle_yaml_node *root = fettle_yaml_root(yaml);
  const fettle_yaml_node *ball = fettle_yaml_get(fettle_yaml_get(root, "cutters"), "ball 1.000");
  const fettle_yaml_node *flutes = fettle_yaml_get(ball, "flutes");
  assert_int_equal(flutes->line, 4);
  assert_int_equal(flutes->column, 36);
  const fettle_yaml_node *pins = fettle_yaml_get(root, "pins");
  assert_int_equal(pins->kind, FETTLE_YAML_LIST);
  assert_int_equal(pins->count, 2);
  assert_string_equal(pins->items[0].items[1].text, "-16 in");
  assert_string_equal(pins->items[1].items[1].text, "\xC2\xB5");
  assert_text(root, "note", "two\nlines\n");
  fettle_yaml_free(yaml);
}

/* --- refusals --- */

static const struct {
  const char *text;
  size_t line, column;
  const char *reason, *cure;
} refusals[] = {
    {"", 1, 1, "empty", "write at least one line"},
    {"# nothing\n", 1, 1, "empty", "write at least one line"},
    {"a: 1\nb: 2\na: 3\n", 3, 1, "`a` stands twice, first at 1:1", "keep one"},
    {"m: {x: 1, y: 2, x: 3}\n", 1, 17, "`x` stands twice, first at 1:5", "keep one"},
    {"a: 1\n'a': 3\n", 2, 1, "`a` stands twice, first at 1:1", "keep one"},
    {"a: &x 1\nb: *x\n", 1, 4, "anchor", "write the value"},
    {"a: *x\n", 1, 4, "alias", "write the value out"},
    {"a: &x\n  b: 1\n", 1, 4, "anchor", "write the value"},
    {"a: !!str 1\n", 1, 4, "tag", "drop it"},
    {"a: !own [1]\n", 1, 4, "tag", "drop it"},
    {"a: ! 1\n", 1, 4, "tag", "drop it"},
    {"<<: {a: 1}\n", 1, 1, "merge key", "write the values out"},
    {"a: 1\n---\nb: 2\n", 2, 1, "second document", "one document"},
    {"a: 1\n...\n---\nb: 2\n", 3, 1, "second document", "one document"},
    {"[a, b]: 1\n", 1, 1, "no plain text", "write a name"},
    {"? {a: 1}\n: 2\n", 1, 3, "no plain text", "write a name"},
    {"{: 2}\n", 1, 2, "key or value is missing", "write it"},
    {"'': 2\n", 1, 1, "key is missing", "write `key: value`"},
    {"%YAML 1.1\n---\na: 1\n", 1, 1, "directive", "drop it"},
    {"a:\n\tb: 1\n", 2, 1, "tab", "spaces"},
    {"a:\n  \tb: 1\n", 2, 3, "tab", "spaces"},
    {"a: 1\nb: caf\xE9\n", 2, 7, "not UTF-8", "save the file as UTF-8"},
    {"a: \xC0\xAF\n", 1, 4, "not UTF-8", "save the file as UTF-8"},
    {"a: \xED\xA0\x80\n", 1, 4, "not UTF-8", "save the file as UTF-8"},
    {"a: \xF4\x90\x80\x80\n", 1, 4, "not UTF-8", "save the file as UTF-8"},
    {"a: \xE2\x82", 1, 4, "not UTF-8", "save the file as UTF-8"},
    {"\xEF\xBB\xBF"
     "a: 1\n",
     1, 1, "byte order mark", "without a mark"},
    {"\xFF\xFE"
     "a",
     1, 1, "UTF-16", "save it as UTF-8"},
    {"a: 1\nb: \x01\n", 2, 4, "control character", "delete"},
    {"a: 1\xC2\x85"
     "b: 2\n",
     1, 5, "control character", "delete"},
    {"a: x\xE2\x80\xA8"
     "b: 2\n",
     1, 5, "line break", "delete"},
    {"a: \"x\\0y\"\n", 1, 4, "NUL", "delete"},
    {"a: [1, 2\nb: 3\n", 2, 2, "list is not closed", "`]`"},
    {"a: {b: 1\n", 2, 1, "map is not closed", "`}`"},
    {"a: b: c\n", 1, 5, "second `: `", "quotes"},
    {"a: 1\n  b: 2\n", 2, 4, "wrong indent", "one key a line"},
    {"a: 'x\n", 2, 1, "quote is not closed", "same quote"},
    {"a: 1\nb\n", 3, 1, "without `: `", "key: value"},
    {"a: @x\n", 1, 4, "cannot start", "quotes"},
    {"a: \"x\" y\n", 1, 8, "line up", "quote"},
    {"a: \"\\q\"\n", 1, 5, "backslash", "single quotes"},
    {"a: 2\n- b\n", 2, 1, "line up", "indent"},
};

static void refused_with_place(void **state) {
  (void)state;
  size_t wrong = 0;
  for (size_t i = 0; i < sizeof refusals / sizeof *refusals; i++) {
    fettle_yaml_problem problem = {0};
    char place[48];
    const char *text = refusals[i].text;
    fettle_yaml *yaml = fettle_yaml_read("x.yaml", text, strlen(text), &problem);
    snprintf(place, sizeof place, "x.yaml:%zu:%zu: ", refusals[i].line, refusals[i].column);
    if (yaml || strncmp(problem.message, place, strlen(place)) != 0 ||
        !strstr(problem.message, refusals[i].reason) ||
        !strstr(problem.message, refusals[i].cure) || problem.line != refusals[i].line ||
        problem.column != refusals[i].column) {
      print_error("case %zu <%s>\n  want %s%s ... %s\n  got  %s\n", i, text, place,
                  refusals[i].reason, refusals[i].cure, problem.message);
      wrong++;
    }
    fettle_yaml_free(yaml);
  }
  assert_int_equal(wrong, 0);
}

static void nul_byte_has_a_place(void **state) {
  (void)state;
  fettle_yaml_problem problem = {0};
  static const char text[] = "a: 1\nb: \0\n";
  assert_null(fettle_yaml_read("x.yaml", text, sizeof text - 1, &problem));
  assert_int_equal(problem.line, 2);
  assert_int_equal(problem.column, 4);
  assert_non_null(strstr(problem.message, "NUL"));
}

/* --- files made to hurt --- */

static char *repeat(const char *piece, size_t times, size_t *length) {
  size_t size = strlen(piece);
  char *text = malloc(size * times + 1);
  assert_non_null(text);
  for (size_t i = 0; i < times; i++) {
    memcpy(text + i * size, piece, size);
  }
  text[size * times] = '\0';
  *length = size * times;
  return text;
}

/* A second is hundreds of times what each needs; reading them without a limit of depth takes from
 * 15 s to a minute. */
static void assert_fast(const char *piece, size_t times, const char *reason) {
  size_t length;
  char *text = repeat(piece, times, &length);
  fettle_yaml_problem problem = {0};
  clock_t start = clock();
  fettle_yaml *yaml = fettle_yaml_read("x.yaml", text, length, &problem);
  double seconds = (double)(clock() - start) / CLOCKS_PER_SEC;
  free(text);
  fettle_yaml_free(yaml);
  if (reason) {
    assert_null(yaml);
    assert_non_null(strstr(problem.message, reason));
  }
  assert_true(seconds < 2.0);
}

static void hostile_files_end_soon(void **state) {
  (void)state;
  assert_fast("[", 200000, "more than 32 deep");
  assert_fast("{", 200000, "no plain text");
  assert_fast("- ", 200000, "more than 32 deep");
  assert_fast("? ", 200000, "no plain text");
  assert_fast("{a: ", 200000, "more than 32 deep");
  assert_fast("[", 1 << 20, "more than 32 deep");
  assert_fast("[\n", 1 << 19, "more than 32 deep");
  assert_fast("a", (1 << 20) + 1, "at most 1048576");
  assert_fast("a", 1 << 20, NULL);
  assert_fast("a\n", 1 << 19, NULL);
  assert_fast("'", 1 << 20, NULL);
  assert_fast("#\n", 1 << 19, NULL);
  assert_fast("- a\n", 1 << 18, NULL);
  assert_fast("- \n", 1 << 18, NULL);
  assert_fast("a: b\n", 1 << 17, "stands twice");
  assert_fast("? a\n", 1 << 17, "stands twice");
}

static void many_keys_are_compared_fast(void **state) {
  (void)state;
  size_t used = 0, capacity = 1 << 20;
  char *text = malloc(capacity);
  assert_non_null(text);
  for (unsigned i = 0; used + 32 < capacity; i++) {
    used += (size_t)snprintf(text + used, capacity - used, "%x: 1\n", i);
  }
  fettle_yaml_problem problem = {0};
  clock_t start = clock();
  fettle_yaml *yaml = fettle_yaml_read("x.yaml", text, used, &problem);
  assert_true((double)(clock() - start) / CLOCKS_PER_SEC < 5.0);
  assert_non_null(yaml);
  fettle_yaml_free(yaml);
  free(text);
}

static void depth_32_is_read(void **state) {
  (void)state;
  char text[80] = {0};
  memset(text, '[', 32);
  memset(text + 32, ']', 32);
  fettle_yaml_free(read_text(text));
}

/* A name of any length leaves the message whole. */
static void long_names_fit(void **state) {
  (void)state;
  size_t length;
  char *name = repeat("folder/", 400, &length);
  fettle_yaml_problem problem = {0};
  assert_null(fettle_yaml_read(name, "a: *b\n", 6, &problem));
  assert_non_null(strstr(problem.message, "...:1:4: an alias"));
  free(name);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(scalars_stay_text),      cmocka_unit_test(nests_and_places),
      cmocka_unit_test(refused_with_place),     cmocka_unit_test(nul_byte_has_a_place),
      cmocka_unit_test(hostile_files_end_soon), cmocka_unit_test(many_keys_are_compared_fast),
      cmocka_unit_test(depth_32_is_read),       cmocka_unit_test(long_names_fit),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
