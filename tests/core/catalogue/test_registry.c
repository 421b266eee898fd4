#include "support/near.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "fettle/formula.h"

static void sorted_by_name(void **state) {
  (void)state;
  size_t count;
  const fettle_formula *const *all = fettle_catalogue(&count);
  for (size_t i = 1; i < count; i++) {
    if (strcmp(all[i - 1]->name, all[i]->name) >= 0) {
      fail_msg("registry.def: %s must stand before %s", all[i]->name, all[i - 1]->name);
    }
  }
}

static void found_by_name(void **state) {
  (void)state;
  size_t count;
  const fettle_formula *const *all = fettle_catalogue(&count);
  for (size_t i = 0; i < count; i++) {
    assert_ptr_equal(fettle_find(all[i]->name), all[i]);
    const char *last = strchr(all[i]->name, '.') + 1;
    assert_non_null(fettle_find_nearest(last));
    char wrong[80];
    snprintf(wrong, sizeof wrong, "%sx", all[i]->name);
    assert_null(fettle_find(wrong));
    assert_string_equal(fettle_find_nearest(wrong), all[i]->name);
  }
  assert_null(fettle_find(""));
  assert_null(fettle_find_nearest("no.such.calculation.at.all"));
}

static bool full_words(const char *name) {
  for (; *name; name++) {
    if (!islower((unsigned char)*name) && !isdigit((unsigned char)*name) && *name != '_') {
      return false;
    }
  }
  return true;
}

#define demand(holds, f, what)                                                                     \
  do {                                                                                             \
    if (!(holds)) {                                                                                \
      fail_msg("%s: %s: %s", (f)->name, what, #holds);                                             \
    }                                                                                              \
  } while (0)

static void parameters_are_whole(const fettle_formula *f, const fettle_parameter *parameters,
                                 bool input) {
  for (const fettle_parameter *p = parameters; p->name; p++) {
    demand(full_words(p->name), f, p->name);
    demand(p->unit != NULL, f, p->name);
    demand(p->meaning && *p->meaning, f, p->name);
    demand(p->low <= p->high, f, p->name);
    demand(p->usual_low <= p->usual_high, f, p->name);
    if (p->usual_low < p->usual_high) {
      demand(p->usual_low >= p->low && p->usual_high <= p->high, f, p->name);
    }
    if (input && !isnan(p->preset)) {
      demand(p->preset >= p->low && p->preset <= p->high, f, p->name);
    }
    fettle_quantity metric = fettle_parameter_quantity(p, 1, 0, FETTLE_HABIT_METRIC);
    fettle_quantity inch = fettle_parameter_quantity(p, 1, 0, FETTLE_HABIT_INCH);
    demand(metric.dimension == inch.dimension, f, p->name);
    demand(strcmp(p->unit, "1") == 0 || fettle_unit_find(p->unit, strlen(p->unit)) > 0, f, p->name);
    demand(!p->inch_unit || strcmp(p->inch_unit, "1") == 0 ||
               fettle_unit_find(p->inch_unit, strlen(p->inch_unit)) > 0,
           f, p->name);
  }
}

static void descriptors_are_whole(void **state) {
  (void)state;
  size_t count;
  const fettle_formula *const *all = fettle_catalogue(&count);
  for (size_t i = 0; i < count; i++) {
    const fettle_formula *f = all[i];
    assert_int_equal(f->size, sizeof *f);
    demand(strchr(f->name, '.') && full_words(strchr(f->name, '.') + 1), f, "descriptor");
    demand(f->brief && *f->brief && f->brief[strlen(f->brief) - 1] != '.', f, "descriptor");
    demand(f->text && *f->text, f, "descriptor");
    demand(f->source && *f->source, f, "descriptor");
    demand(!f->inverse || fettle_find(f->inverse), f, "descriptor");
    demand((f->kind == FETTLE_FORMULA_LISTS) == !f->evaluate, f, "descriptor");
    demand(f->inputs != NULL, f, "descriptor");
    demand(f->outputs != NULL, f, "descriptor");
    if (f->kind != FETTLE_FORMULA_LISTS) {
      demand(fettle_parameter_count(f->inputs) <= FETTLE_INPUTS_MOST, f, "descriptor");
      size_t outputs = fettle_parameter_count(f->outputs);
      demand(outputs >= 1 && outputs <= FETTLE_OUTPUTS_MOST, f, "descriptor");
      parameters_are_whole(f, f->inputs, true);
      parameters_are_whole(f, f->outputs, false);
    }
  }
}

static void distances(void **state) {
  (void)state;
  assert_int_equal(fettle_name_distance("stepover", 8, "stepover", 8), 0);
  assert_int_equal(fettle_name_distance("stepovr", 7, "stepover", 8), 1);
  assert_int_equal(fettle_name_distance("setpover", 8, "stepover", 8), 1);
  assert_int_equal(fettle_name_distance("", 0, "abc", 3), 3);
  char longer[80] = {0};
  assert_true(fettle_name_distance(longer, sizeof longer, "abc", 3) == SIZE_MAX);
  assert_true(fettle_name_near(1, 3));
  assert_false(fettle_name_near(2, 3));
  assert_false(fettle_name_near(SIZE_MAX, 70));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sorted_by_name), cmocka_unit_test(found_by_name),
      cmocka_unit_test(descriptors_are_whole), cmocka_unit_test(distances)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
