/* The printed formula and the C function are two ways to the same number: each closed calculation
 * is evaluated both ways at random points. The text is evaluated with quantities, so its
 * dimensions are proved as well. */
#include "support/near.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include "fettle/formula.h"

enum { POINTS = 400, TRIES = 20000, EVALUATED_LEAST = 100, SYMBOLS_MOST = 96 };

static uint64_t seed = 0x9E3779B97F4A7C15u;

/* 0 <= x < 1; a 64-bit shift-register generator (G. Marsaglia, Xorshift RNGs, 2003). */
static double chance(void) {
  seed ^= seed << 13;
  seed ^= seed >> 7;
  seed ^= seed << 17;
  return (double)(seed >> 11) / 9007199254740992.0; /* 2^53 */
}

/* In the parameter's own unit: most points in the usual range, the rest between the hard limits. */
static double pick(const fettle_parameter *p) {
  bool usual = p->usual_low < p->usual_high && chance() < 0.8;
  double low = usual ? p->usual_low : p->low;
  double high = usual ? p->usual_high : p->high;
  if (isinf(low)) {
    low = isinf(high) ? -100 : high - 100;
  }
  if (isinf(high)) {
    high = low + (p->whole ? 20 : 1000);
  }
  if (p->whole) {
    double width = fmin(high - low, 40);
    return low + floor(chance() * (width + 1));
  }
  if (low > 0 && high / low > 20) {
    return low * pow(high / low, chance());
  }
  return low + (high - low) * chance();
}

static fettle_quantity quantity_of(double number, const char *unit, fettle_role role) {
  fettle_quantity quantity = {.value = number, .magic = FETTLE_QUANTITY_MAGIC};
  fettle_diagnostic diagnostic;
  if (strcmp(unit, "1") != 0 &&
      fettle_quantity_make(number, unit, role, &quantity, &diagnostic) != FETTLE_OK) {
    fail_msg("%s", diagnostic.message);
  }
  return quantity;
}

static void add(fettle_symbol *symbols, size_t *count, const char *name, fettle_quantity value) {
  symbols[(*count)++] = (fettle_symbol){.name = name, .length = strlen(name), .value = value};
}

static const fettle_symbol *find(const fettle_symbol *symbols, size_t count, const char *name) {
  for (size_t i = 0; i < count; i++) {
    if (symbols[i].length == strlen(name) && memcmp(symbols[i].name, name, strlen(name)) == 0) {
      return &symbols[i];
    }
  }
  return NULL;
}

static void compare_outputs(const fettle_formula *f, const double *outputs,
                            const fettle_symbol *symbols, const double *roundings, size_t count) {
  for (size_t i = 0; f->outputs[i].name; i++) {
    const fettle_parameter *output = &f->outputs[i];
    const fettle_symbol *symbol = find(symbols, count, output->symbol);
    if (!symbol) {
      fail_msg("%s: the text assigns no %s", f->name, output->symbol);
      return;
    }
    fettle_quantity declared = fettle_parameter_quantity(output, 0, 0, FETTLE_HABIT_NONE);
    if (symbol->value.dimension != declared.dimension) {
      char dimension[80];
      fettle_dimension_name(symbol->value.dimension, dimension, sizeof dimension);
      fail_msg("%s: the text gives %s the dimension %s", f->name, output->symbol, dimension);
    }
    /* The function rounds too, at most a few times as much as the text. */
    double tolerance = 8 * roundings[symbol - symbols] + 64 * DBL_EPSILON * fabs(outputs[i]);
    if (!(fabs(symbol->value.value - outputs[i]) <= tolerance)) {
      for (size_t j = 0; j < count; j++) {
        print_error("%.*s = %.17g\n", (int)symbols[j].length, symbols[j].name,
                    symbols[j].value.value);
      }
      print_error("%s: %s\n", f->name, f->text);
      fail_msg("%s: the text gives %.17g and the function %.17g, tolerance %.3g", output->name,
               symbol->value.value, outputs[i], tolerance);
    }
  }
}

static void one_formula(void **state) {
  const fettle_formula *f = *state;
  size_t evaluated = 0;
  for (size_t try = 0; try < TRIES && evaluated < POINTS; try++) {
    double inputs[FETTLE_INPUTS_MOST];
    double outputs[FETTLE_OUTPUTS_MOST];
    fettle_symbol symbols[SYMBOLS_MOST];
    double roundings[SYMBOLS_MOST];
    fettle_diagnostic diagnostic;
    size_t count = 0;
    for (size_t i = 0; f->inputs[i].name; i++) {
      fettle_quantity value =
          quantity_of(pick(&f->inputs[i]), f->inputs[i].unit, f->inputs[i].role);
      inputs[i] = value.value;
      add(symbols, &count, f->inputs[i].symbol, value);
    }
    for (const fettle_constant *c = f->constants; c && c->symbol; c++) {
      add(symbols, &count, c->symbol, quantity_of(c->value, c->unit, FETTLE_ROLE_ANY));
    }
    /* What depends on two inputs at once the function refuses: such a point is no point. */
    if (fettle_call(f, inputs, outputs, NULL, NULL) != FETTLE_OK) {
      continue;
    }
    if (fettle_expression_evaluate(f->text, symbols, &count, SYMBOLS_MOST, roundings,
                                   &diagnostic) != FETTLE_OK) {
      fail_msg("%s: %s: %s", f->name, f->text, diagnostic.message);
    }
    compare_outputs(f, outputs, symbols, roundings, count);
    evaluated++;
  }
  if (evaluated < EVALUATED_LEAST) {
    fail_msg("%s: only %zu of %d points could be evaluated", f->name, evaluated, TRIES);
  }
}

enum { FORMULAS_MOST = 400 };

int main(void) {
  static struct CMUnitTest tests[FORMULAS_MOST];
  size_t count;
  size_t closed = 0;
  const fettle_formula *const *all = fettle_catalogue(&count);
  for (size_t i = 0; i < count && closed < FORMULAS_MOST; i++) {
    if (all[i]->kind == FETTLE_FORMULA_CLOSED) {
      tests[closed++] = (struct CMUnitTest){
          .name = all[i]->name, .test_func = one_formula, .initial_state = (void *)(size_t)all[i]};
    }
  }
  return _cmocka_run_group_tests("text equals code", tests, closed, NULL, NULL);
}
