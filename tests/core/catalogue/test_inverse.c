/* Every calculation and its inverse undo each other: whatever one answers inside its limits, the
 * other takes, and brings back. */
#include "support/near.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#include "fettle/fettle.h"

enum { DRAWS = 4000, ANSWERS = 30 };

/* Even numbers from 0 to below 1; any sequence without a pattern serves. */
static double draw(uint64_t *seed) {
  *seed = *seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
  return (double)(*seed >> 11) / 9007199254740992.0;
}

static size_t place_of(const fettle_parameter *parameters, const char *name) {
  size_t i = 0;
  while (parameters[i].name && strcmp(parameters[i].name, name) != 0) {
    i++;
  }
  return i;
}

static double in_si(const fettle_parameter *parameter, double number) {
  fettle_unit_expression unit = {.factor = 1};
  if (strcmp(parameter->unit, "1") != 0) {
    assert_int_equal(fettle_unit_parse(parameter->unit, strlen(parameter->unit), &unit, NULL),
                     FETTLE_OK);
  }
  return number * unit.factor + (parameter->role == FETTLE_ROLE_DIFFERENCE ? 0 : unit.offset);
}

/* Between the usual values, else the hard ones; by ratio where they span powers of ten. */
static double draw_input(const fettle_parameter *parameter, uint64_t *seed) {
  bool usual = parameter->usual_low < parameter->usual_high;
  double low = usual ? parameter->usual_low : fmax(parameter->low, -1e3);
  double high = usual ? parameter->usual_high : fmin(parameter->high, 1e3);
  if (isinf(low) || isinf(high) || low > high) {
    low = 1e-3;
    high = 1e3;
  }
  double share = draw(seed);
  double number =
      low > 0 && high > 20 * low ? low * pow(high / low, share) : low + (high - low) * share;
  return in_si(parameter, parameter->whole ? round(number) : number);
}

/* Fills the inputs of `to` by name from the inputs and outputs of a call of `from`; false when one
 * without a preset has no namesake. */
static bool carry(const fettle_formula *from, const double *inputs, const double *outputs,
                  const fettle_formula *to, double *next) {
  for (size_t i = 0; to->inputs[i].name; i++) {
    const char *name = to->inputs[i].name;
    size_t input = place_of(from->inputs, name);
    size_t output = place_of(from->outputs, name);
    if (from->outputs[output].name) {
      next[i] = outputs[output];
    } else if (from->inputs[input].name) {
      next[i] = inputs[input];
    } else if (!isnan(to->inputs[i].preset)) {
      next[i] = NAN;
    } else {
      return false;
    }
  }
  return true;
}

/* Where the first answer lies outside the hard limits of the inverse's own input, as a ridge of
 * height 0, nothing has to come back. */
static bool inside_limits(const fettle_formula *formula, const double *inputs) {
  for (size_t i = 0; formula->inputs[i].name; i++) {
    const fettle_parameter *p = &formula->inputs[i];
    if (!isnan(inputs[i]) && (inputs[i] < in_si(p, p->low) || inputs[i] > in_si(p, p->high))) {
      return false;
    }
  }
  return true;
}

/* The answer of the second round against the first: a flat stretch may hide the input, but never
 * the answer. */
static bool check_pair(const fettle_formula *f, const fettle_formula *g) {
  uint64_t seed = 1;
  size_t answers = 0;
  for (size_t n = 0; n < DRAWS && answers < ANSWERS; n++) {
    double inputs[FETTLE_INPUTS_MOST];
    double there[FETTLE_OUTPUTS_MOST];
    double back_inputs[FETTLE_INPUTS_MOST];
    double back[FETTLE_OUTPUTS_MOST];
    double again_inputs[FETTLE_INPUTS_MOST];
    double again[FETTLE_OUTPUTS_MOST];
    fettle_diagnostic diagnostic = {0};
    for (size_t i = 0; f->inputs[i].name; i++) {
      inputs[i] = draw_input(&f->inputs[i], &seed);
    }
    if (fettle_call(f, inputs, there, NULL, &diagnostic) != FETTLE_OK) {
      continue;
    }
    if (!carry(f, inputs, there, g, back_inputs)) {
      return false; /* the pair does not speak of the same values by name */
    }
    if (!inside_limits(g, back_inputs)) {
      continue;
    }
    if (fettle_call(g, back_inputs, back, NULL, &diagnostic) != FETTLE_OK) {
      fail_msg("%s after %s: %s", g->name, f->name, diagnostic.message);
    }
    memcpy(again_inputs, inputs, sizeof inputs);
    for (size_t i = 0; f->inputs[i].name; i++) {
      size_t output = place_of(g->outputs, f->inputs[i].name);
      again_inputs[i] = g->outputs[output].name ? back[output] : inputs[i];
    }
    if (fettle_call(f, again_inputs, again, NULL, &diagnostic) != FETTLE_OK) {
      fail_msg("%s after its inverse: %s", f->name, diagnostic.message);
    }
    for (size_t i = 0; f->outputs[i].name; i++) {
      if (fabs(again[i] - there[i]) > 1e-6 * fabs(there[i])) {
        char first[40];
        char second[40];
        fettle_number_format(there[i], 9, first, sizeof first);
        fettle_number_format(again[i], 9, second, sizeof second);
        fail_msg("%s: %s = %s came back as %s", f->name, f->outputs[i].name, first, second);
      }
    }
    answers++;
  }
  if (answers < ANSWERS) {
    fail_msg("%s: only %zu of %d draws had an answer", f->name, answers, DRAWS);
  }
  return true;
}

static void pairs_undo_each_other(void **state) {
  (void)state;
  size_t count;
  size_t pairs = 0;
  const fettle_formula *const *all = fettle_catalogue(&count);
  for (size_t i = 0; i < count; i++) {
    const fettle_formula *inverse = all[i]->inverse ? fettle_find(all[i]->inverse) : NULL;
    if (inverse && all[i]->evaluate && inverse->evaluate) {
      pairs += check_pair(all[i], inverse);
    }
  }
  assert_true(pairs > 30); /* a renamed value must not drop a pair in silence */
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(pairs_undo_each_other)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
