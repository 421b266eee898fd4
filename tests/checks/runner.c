/* runner.c - holds the catalogue against the check files: one test per case, then the counts.
 *
 * usage: checks [FILE...]     all of tests/checks when no file is named
 *
 * Gaps fail as well: a calculation that has fewer than two checks, or a topic that declares
 * calculations and has no check file of its name. DEVELOPERS.md says what a check file holds. */
#include "support/near.h"

#include <glob.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "data/file.h"
#include "data/yaml.h"
#include "fettle/fettle.h"

enum { CHECKS_LEAST = 2, FILE_MOST = 1 << 20 };

static const char *const standings[] = {"published", "from memory", "derived", "common practice"};
enum { STANDINGS = 4, PUBLISHED = 0 };

typedef struct check_case {
  const char *file;        /* below tests/checks */
  const fettle_yaml *yaml; /* the tree that holds `node` */
  const fettle_yaml_node *node;
  const fettle_formula *formula;
  size_t standing;
} check_case;

typedef struct check_list {
  check_case *cases;
  struct CMUnitTest *tests;
  size_t count;
} check_list;

static void stop(const char *file, const fettle_yaml_node *at, const char *what,
                 const char *detail) {
  fprintf(stderr, "%s:%zu:%zu: %s%s%s\n", file, at->line, at->column, what, detail ? ": " : "",
          detail ? detail : "");
  exit(1);
}

static void *grow(void *block, size_t size) {
  void *larger = realloc(block, size);
  if (!larger) {
    fprintf(stderr, "checks: no memory\n");
    exit(1);
  }
  return larger;
}

/* NULL when it cannot be read; freed by the caller. */
static char *read_file(const char *path, size_t *length) {
  char *bytes = NULL;
  fettle_file_problem problem;
  return fettle_file_read(path, FILE_MOST, &bytes, length, &problem) == 0 ? bytes : NULL;
}

static const char *text_of(const check_case *c, const char *key) {
  const fettle_yaml_node *node = fettle_yaml_get(c->node, key);
  if (node && (node->kind != FETTLE_YAML_TEXT || node->length == 0)) {
    stop(c->file, node, "must be a text", key);
  }
  return node ? node->text : NULL;
}

static const char *need(const check_case *c, const char *key) {
  const char *text = text_of(c, key);
  if (!text) {
    stop(c->file, c->node, "a case needs the key", key);
  }
  return text;
}

/* --- one case --- */

static const fettle_parameter *find_parameter(const fettle_parameter *parameters, const char *name,
                                              size_t *index) {
  for (size_t i = 0; parameters[i].name; i++) {
    if (strcmp(parameters[i].name, name) == 0) {
      *index = i;
      return &parameters[i];
    }
  }
  return NULL;
}

static void fail_case(const check_case *c, const fettle_yaml_node *at, const char *what,
                      const char *detail) {
  fail_msg("%s:%zu:%zu: %s: %s", c->file, at->line, at->column, what, detail);
}

static fettle_quantity read_value(const check_case *c, const fettle_parameter *parameter,
                                  const fettle_yaml_node *node, fettle_role role) {
  fettle_quantity quantity = {0};
  fettle_diagnostic diagnostic;
  if (node->kind != FETTLE_YAML_TEXT) {
    fail_case(c, node, parameter->name, "must be a value");
  } else if (fettle_quantity_parse(node->text, node->length, role, &quantity, &diagnostic) !=
             FETTLE_OK) {
    fail_case(c, node, parameter->name, diagnostic.message);
  }
  fettle_quantity declared = fettle_parameter_quantity(parameter, 0, 0, FETTLE_HABIT_NONE);
  if (quantity.dimension != declared.dimension) {
    fail_case(c, node, parameter->name, "has another dimension than the parameter");
  }
  return quantity;
}

/* Half a unit of the last printed digit, in SI. The text is one decimal number and a unit. */
static double printed_tolerance(const check_case *c, const fettle_yaml_node *node) {
  const char *text = node->text;
  size_t at = strspn(text, "+-");
  int decimals = 0;
  bool point = false;
  size_t digits = 0;
  for (; (text[at] >= '0' && text[at] <= '9') || text[at] == '.'; at++) {
    if (text[at] == '.') {
      point = true;
    } else {
      digits++;
      decimals += point ? 1 : 0;
    }
  }
  long exponent = 0;
  if ((text[at] == 'e' || text[at] == 'E') && strchr("+-0123456789", text[at + 1]) &&
      text[at + 1]) {
    char *end;
    exponent = strtol(text + at + 1, &end, 10);
    at = (size_t)(end - text);
  }
  const char *unit = text + at + strspn(text + at, " ");
  /* "2 1/2 in" and "3 ft 4 in" show no last decimal digit. */
  if (digits == 0 || text[at] == '/' ||
      (*unit >= '0' && *unit <= '9' && strncmp(unit, "1/", 2) != 0)) {
    fail_case(c, node, text, "tolerance: printed needs one decimal number; state a tolerance");
  }
  fettle_unit_expression expression = {.factor = 1};
  fettle_diagnostic diagnostic;
  if (*unit && fettle_unit_parse(unit, strlen(unit), &expression, &diagnostic) != FETTLE_OK) {
    fail_case(c, node, "tolerance: printed needs one decimal number and a unit",
              diagnostic.message);
  }
  /* A result on the very edge counts as inside. */
  return 0.5 * pow(10, (double)(exponent - decimals)) * expression.factor * (1 + 1e-9);
}

static double tolerance_of(const check_case *c, const fettle_parameter *output,
                           const fettle_yaml_node *printed, double want) {
  const fettle_yaml_node *node = fettle_yaml_get(c->node, "tolerance");
  if (node && node->kind == FETTLE_YAML_MAP) {
    node = fettle_yaml_get(node, output->name);
  }
  if (!node || node->kind != FETTLE_YAML_TEXT) {
    fail_case(c, c->node, output->name, "needs a tolerance");
    return 0;
  }
  if (strcmp(node->text, "printed") == 0) {
    return printed_tolerance(c, printed);
  }
  double tolerance;
  if (node->text[node->length - 1] == '%') {
    fettle_quantity percent = {0};
    fettle_diagnostic diagnostic;
    if (fettle_quantity_parse(node->text, node->length, FETTLE_ROLE_ANY, &percent, &diagnostic) !=
        FETTLE_OK) {
      fail_case(c, node, "tolerance", diagnostic.message);
    }
    tolerance = percent.value * fabs(want);
  } else {
    fettle_quantity quantity = read_value(c, output, node, FETTLE_ROLE_DIFFERENCE);
    tolerance = quantity.value;
  }
  if (!(tolerance >= 0)) {
    fail_case(c, node, "tolerance", "must not be below 0");
  }
  return tolerance;
}

static void compare_outputs(const check_case *c, const double *outputs) {
  const fettle_yaml_node *map = fettle_yaml_get(c->node, "outputs");
  for (size_t i = 0; map && i < map->count; i++) {
    size_t index = 0;
    const fettle_parameter *output = find_parameter(c->formula->outputs, map->keys[i].text, &index);
    if (!output) {
      fail_case(c, &map->keys[i], "no such output", map->keys[i].text);
      return;
    }
    double want = read_value(c, output, &map->items[i], output->role).value;
    double tolerance = tolerance_of(c, output, &map->items[i], want);
    if (!(fabs(outputs[index] - want) <= tolerance)) {
      fettle_quantity got = fettle_parameter_quantity(output, outputs[index], 0, FETTLE_HABIT_NONE);
      char shown[80];
      fettle_quantity_format(&got, got.unit, 10, shown, sizeof shown);
      print_error("%s:%zu: %s is %s, the source says %s\n", c->file, map->keys[i].line,
                  output->name, shown, map->items[i].text);
      assert_near(outputs[index], want, tolerance, text_of(c, "source"));
    }
  }
}

static void check_refusal(const check_case *c, fettle_status status,
                          const fettle_diagnostic *diagnostic) {
  const char *wanted = text_of(c, "fails");
  if (status == FETTLE_OK) {
    fail_case(c, c->node, "does not fail, but should with", wanted);
  }
  if (strcmp(fettle_status_name(status), wanted) != 0) {
    fail_case(c, c->node, fettle_status_name(status), diagnostic->message);
  }
  const char *parameter = text_of(c, "parameter");
  if (parameter && strcmp(parameter, diagnostic->parameter) != 0) {
    fail_case(c, c->node, "fails with another parameter", diagnostic->message);
  }
}

static void check_warning(const check_case *c, const fettle_warnings *warnings) {
  const char *wanted = text_of(c, "warns");
  for (size_t i = 0; wanted && i < warnings->count; i++) {
    if (strcmp(warnings->item[i].parameter, wanted) == 0) {
      return;
    }
  }
  if (wanted) {
    fail_case(c, c->node, "does not warn of", wanted);
  }
}

static void run_elsewhere(const check_case *c, const char *path) {
  char full[600];
  snprintf(full, sizeof full, "%s/../%s", FETTLE_TEST_ROOT, path);
  size_t length;
  char *bytes = read_file(full, &length);
  const char *wrong = !bytes                               ? "cannot read"
                      : !strstr(bytes, text_of(c, "name")) ? "no test of this name in"
                                                           : NULL;
  free(bytes);
  if (wrong) {
    fail_case(c, c->node, wrong, path);
  }
}

static void run_case(void **state) {
  const check_case *c = *state;
  const char *elsewhere = text_of(c, "checked_in");
  if (elsewhere) {
    run_elsewhere(c, elsewhere);
    return;
  }
  double inputs[FETTLE_INPUTS_MOST];
  double outputs[FETTLE_OUTPUTS_MOST];
  fettle_warnings warnings = {0};
  fettle_diagnostic diagnostic = {0};
  for (size_t i = 0; i < FETTLE_INPUTS_MOST; i++) {
    inputs[i] = NAN;
  }
  const fettle_yaml_node *map = fettle_yaml_get(c->node, "inputs");
  for (size_t i = 0; map && i < map->count; i++) {
    size_t index = 0;
    const fettle_parameter *input = find_parameter(c->formula->inputs, map->keys[i].text, &index);
    if (!input) {
      fail_case(c, &map->keys[i], "no such input", map->keys[i].text);
      return;
    }
    inputs[index] = read_value(c, input, &map->items[i], input->role).value;
  }
  fettle_status status = fettle_call(c->formula, inputs, outputs, &warnings, &diagnostic);
  if (text_of(c, "fails")) {
    check_refusal(c, status, &diagnostic);
    return;
  }
  if (status != FETTLE_OK) {
    fail_case(c, c->node, c->formula->name, diagnostic.message);
  }
  check_warning(c, &warnings);
  compare_outputs(c, outputs);
}

/* --- files --- */

static void check_keys(const check_case *c) {
  static const char *const known[] = {"name",      "calculation", "source",    "standing",
                                      "inputs",    "outputs",     "tolerance", "fails",
                                      "parameter", "warns",       "note",      "checked_in"};
  for (size_t i = 0; i < c->node->count; i++) {
    bool found = false;
    for (size_t k = 0; k < sizeof known / sizeof *known; k++) {
      found = found || strcmp(c->node->keys[i].text, known[k]) == 0;
    }
    if (!found) {
      stop(c->file, &c->node->keys[i], "unknown key", c->node->keys[i].text);
    }
  }
  static const char *const maps[] = {"inputs", "outputs"};
  for (size_t i = 0; i < 2; i++) {
    const fettle_yaml_node *map = fettle_yaml_get(c->node, maps[i]);
    if (map && map->kind != FETTLE_YAML_MAP) {
      stop(c->file, map, "must be a map of names and values", maps[i]);
    }
  }
}

static void read_case(check_case *c) {
  if (c->node->kind != FETTLE_YAML_MAP) {
    stop(c->file, c->node, "a case is a map", NULL);
  }
  check_keys(c);
  need(c, "name");
  need(c, "source");
  const char *calculation = need(c, "calculation");
  const char *standing = need(c, "standing");
  c->formula = fettle_find(calculation);
  if (!c->formula) {
    stop(c->file, c->node, "no such calculation", calculation);
  }
  c->standing = 0;
  while (c->standing < STANDINGS && strcmp(standing, standings[c->standing]) != 0) {
    c->standing++;
  }
  if (c->standing == STANDINGS) {
    stop(c->file, c->node,
         "standing is one of published, from memory, derived, common practice, not", standing);
  }
  const fettle_yaml_node *outputs = fettle_yaml_get(c->node, "outputs");
  bool elsewhere = fettle_yaml_get(c->node, "checked_in");
  bool fails = fettle_yaml_get(c->node, "fails");
  bool asks = (outputs && outputs->count > 0) || fettle_yaml_get(c->node, "warns");
  if ((elsewhere ? 1 : 0) + (fails ? 1 : 0) + (asks ? 1 : 0) != 1) {
    stop(c->file, c->node, "a case has either outputs or warns, or fails, or checked_in",
         need(c, "name"));
  }
  if (!elsewhere && !c->formula->evaluate) {
    stop(c->file, c->node, "takes lists: name the test by checked_in", calculation);
  }
}

static void add_file(check_list *list, const char *path) {
  size_t length;
  char *bytes = read_file(path, &length);
  if (!bytes) {
    fprintf(stderr, "checks: cannot read %s\n", path);
    exit(1);
  }
  const char *file = strrchr(path, '/');
  while (file && file > path && file[-1] != '/') {
    file--;
  }
  file = file ? file : path;
  fettle_yaml_problem problem;
  fettle_yaml *yaml = fettle_yaml_read(file, bytes, length, &problem);
  free(bytes);
  if (!yaml) {
    fprintf(stderr, "%s\n", problem.message);
    exit(1);
  }
  const fettle_yaml_node *root = fettle_yaml_root(yaml);
  const fettle_yaml_node *cases =
      root->kind == FETTLE_YAML_MAP && root->count == 1 ? fettle_yaml_get(root, "cases") : NULL;
  if (!cases || cases->kind != FETTLE_YAML_LIST || cases->count == 0) {
    stop(file, root, "a check file has one key, cases, with a list", NULL);
    return;
  }
  list->cases = grow(list->cases, (list->count + cases->count) * sizeof *list->cases);
  for (size_t i = 0; i < cases->count; i++) {
    check_case *c = &list->cases[list->count++];
    *c = (check_case){.file = strdup(file), .yaml = yaml, .node = &cases->items[i]};
    read_case(c);
    for (check_case *other = c - i; other < c; other++) {
      if (other->formula == c->formula && strcmp(need(other, "name"), need(c, "name")) == 0) {
        stop(c->file, c->node, "a second case of this calculation and name", need(c, "name"));
      }
    }
  }
}

static void make_tests(check_list *list) {
  list->tests = grow(NULL, (list->count + 1) * sizeof *list->tests);
  for (size_t i = 0; i < list->count; i++) {
    check_case *c = &list->cases[i];
    char name[300];
    snprintf(name, sizeof name, "%s:%s: %s", c->file, c->formula->name, need(c, "name"));
    list->tests[i] =
        (struct CMUnitTest){.name = strdup(name), .test_func = run_case, .initial_state = c};
  }
}

/* --- what the checks cover --- */

static size_t checks_of(const check_list *list, const fettle_formula *formula, bool published) {
  size_t count = 0;
  for (size_t i = 0; i < list->count; i++) {
    count +=
        list->cases[i].formula == formula && (!published || list->cases[i].standing == PUBLISHED);
  }
  return count;
}

static size_t report(const check_list *list) {
  size_t by_standing[STANDINGS] = {0};
  for (size_t i = 0; i < list->count; i++) {
    by_standing[list->cases[i].standing]++;
  }
  printf("checks: %zu", list->count);
  for (size_t i = 0; i < STANDINGS; i++) {
    printf("%s %s %zu", i == 0 ? ":" : ",", standings[i], by_standing[i]);
  }
  size_t count;
  size_t without = 0;
  size_t few = 0;
  const fettle_formula *const *all = fettle_catalogue(&count);
  for (size_t i = 0; i < count; i++) {
    without += checks_of(list, all[i], true) == 0;
  }
  printf("\ncalculations: %zu, without a published check: %zu\n", count, without);
  for (size_t i = 0; i < count; i++) {
    if (checks_of(list, all[i], true) == 0) {
      printf("  %s\n", all[i]->name);
    }
    size_t checks = checks_of(list, all[i], false);
    if (checks < CHECKS_LEAST) {
      fflush(stdout);
      fprintf(stderr, "%s has %zu checks: at least %d are due\n", all[i]->name, checks,
              CHECKS_LEAST);
      few++;
    }
  }
  return few;
}

/* core/ROOM/TOPIC.c that declares calculations has tests/checks/ROOM/TOPIC.yaml. Descriptors of
 * kind LISTS only document what other files do, so that their checks are counted by name alone. */
static size_t missing_twins(void) {
  glob_t sources;
  size_t missing = 0;
  if (glob(FETTLE_TEST_ROOT "/../core/*/*.c", 0, NULL, &sources) != 0) {
    return 1;
  }
  for (size_t i = 0; i < sources.gl_pathc; i++) {
    size_t length;
    char *bytes = read_file(sources.gl_pathv[i], &length);
    bool declares = bytes && strstr(bytes, "\nconst fettle_formula fettle_formula_") &&
                    !strstr(bytes, "FETTLE_FORMULA_LISTS");
    free(bytes);
    const char *topic = strstr(sources.gl_pathv[i], "/../core/") + strlen("/../core/");
    char twin[600];
    snprintf(twin, sizeof twin, "%s/checks/%.*s.yaml", FETTLE_TEST_ROOT, (int)strlen(topic) - 2,
             topic);
    FILE *file = declares ? fopen(twin, "rb") : NULL;
    if (file) {
      fclose(file);
    } else if (declares) {
      fprintf(stderr,
              "core/%s declares calculations, but has no check file tests/checks/%.*s.yaml\n",
              topic, (int)strlen(topic) - 2, topic);
      missing++;
    }
  }
  globfree(&sources);
  return missing;
}

int main(int count, char **arguments) {
  static check_list list; /* the cases live to the end of the program */
  glob_t files = {0};
  for (int i = 1; i < count; i++) {
    add_file(&list, arguments[i]);
  }
  if (count <= 1 && glob(FETTLE_TEST_ROOT "/checks/*/*.yaml", 0, NULL, &files) == 0) {
    for (size_t i = 0; i < files.gl_pathc; i++) {
      add_file(&list, files.gl_pathv[i]);
    }
    globfree(&files);
  }
  make_tests(&list);
  int failed = _cmocka_run_group_tests("checks", list.tests, list.count, NULL, NULL);
  if (count <= 1) {
    size_t gaps = report(&list) + missing_twins();
    printf("gaps in what the checks cover: %zu\n", gaps);
    failed += gaps > 0;
  }
  return failed == 0 ? 0 : 1;
}
