/* The working of a call: the formula with the values put in. */
#include "fettle/formula.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "catalogue/parameter.h"

enum { SYMBOLS_MOST = 96, STATEMENT_MOST = 1024 };

static fettle_quantity quantity_in(double value, const char *unit, fettle_role role) {
  fettle_quantity quantity = {.value = value, .magic = FETTLE_QUANTITY_MAGIC};
  fettle_scale scale;
  if (fettle_scale_of(unit, role, &scale, NULL) == FETTLE_OK) {
    quantity.dimension = scale.dimension;
    quantity.unit = (uint16_t)scale.index;
    bool is_temperature = scale.offset != 0 || role == FETTLE_ROLE_POINT;
    quantity.flags = is_temperature ? FETTLE_QUANTITY_POINT : 0;
  }
  return quantity;
}

fettle_quantity fettle_parameter_quantity(const fettle_parameter *parameter, double value,
                                          size_t unit, fettle_habit habit) {
  bool inch = habit == FETTLE_HABIT_INCH && parameter->inch_unit;
  fettle_quantity quantity =
      quantity_in(value, inch ? parameter->inch_unit : parameter->unit, parameter->role);
  const fettle_unit *preferred = fettle_unit_at(unit);
  if (preferred && preferred->dimension == quantity.dimension &&
      (habit == FETTLE_HABIT_NONE || preferred->habit == FETTLE_HABIT_NONE ||
       preferred->habit == habit)) {
    quantity.unit = (uint16_t)unit;
  }
  return quantity;
}

/* A unit that a descriptor writes and the vocabulary does not list is printed as it is written. */
static size_t show(const fettle_parameter *parameter, double value, size_t unit, fettle_habit habit,
                   char *out, size_t capacity) {
  fettle_quantity quantity = fettle_parameter_quantity(parameter, value, unit, habit);
  bool inch = habit == FETTLE_HABIT_INCH && parameter->inch_unit;
  const char *text = inch ? parameter->inch_unit : parameter->unit;
  fettle_scale scale;
  if (quantity.unit == 0 && fettle_scale_of(text, parameter->role, &scale, NULL) == FETTLE_OK) {
    return fettle_show_number((value - scale.offset) / scale.factor, text, FETTLE_SHOWN_DIGITS, out,
                              capacity);
  }
  return fettle_quantity_format(&quantity, quantity.unit, FETTLE_SHOWN_DIGITS, out, capacity);
}

typedef struct page {
  char *out;
  size_t capacity;
  size_t length;
} page;

static void put(page *p, const char *text, size_t length) {
  for (size_t i = 0; i < length; i++) {
    if (p->length + 1 < p->capacity) {
      p->out[p->length] = text[i];
    }
    p->length++;
  }
}

static void put_text(page *p, const char *text) {
  put(p, text, strlen(text));
}

static size_t unit_of(const size_t *units, size_t index) {
  return units ? units[index] : 0;
}

static const char *symbol_of(const fettle_parameter *parameter) {
  return parameter->symbol ? parameter->symbol : parameter->name;
}

/* "D = 0.5 in, s = 30 thou: h = 0.451 thou" */
static void list_values(page *p, const fettle_formula *formula, const double *inputs,
                        const double *outputs, const size_t *units, fettle_habit habit) {
  char text[96];
  for (size_t i = 0; formula->inputs[i].name; i++) {
    show(&formula->inputs[i], inputs[i], unit_of(units, i), habit, text, sizeof text);
    put_text(p, i > 0 ? ", " : "");
    put_text(p, symbol_of(&formula->inputs[i]));
    put_text(p, " = ");
    put_text(p, text);
  }
  for (size_t i = 0; formula->outputs[i].name; i++) {
    show(&formula->outputs[i], outputs[i], 0, habit, text, sizeof text);
    put_text(p, i > 0 ? ", " : ": ");
    put_text(p, symbol_of(&formula->outputs[i]));
    put_text(p, " = ");
    put_text(p, text);
  }
}

/* A temperature stands in a formula as its absolute kelvins: "R * 293.15 K". */
static fettle_quantity in_formula(fettle_quantity quantity) {
  if (quantity.flags & FETTLE_QUANTITY_POINT) {
    quantity.flags = 0;
    quantity.unit = (uint16_t)fettle_unit_find("K", 1);
  }
  return quantity;
}

static void add_symbol(fettle_symbol *symbols, size_t *count, const char *name,
                       fettle_quantity value) {
  if (*count < SYMBOLS_MOST) {
    symbols[(*count)++] =
        (fettle_symbol){.name = name, .length = strlen(name), .value = in_formula(value)};
  }
}

static const fettle_parameter *find_output(const fettle_formula *formula, const char *name,
                                           size_t length, size_t *index) {
  for (size_t i = 0; formula->outputs[i].name; i++) {
    const char *symbol = symbol_of(&formula->outputs[i]);
    if (strlen(symbol) == length && memcmp(symbol, name, length) == 0) {
      *index = i;
      return &formula->outputs[i];
    }
  }
  return NULL;
}

static bool put_statements(page *p, const fettle_formula *formula, const double *inputs,
                           const double *outputs, const size_t *units, fettle_habit habit) {
  fettle_symbol symbols[SYMBOLS_MOST];
  size_t count = 0;
  for (size_t i = 0; formula->inputs[i].name; i++) {
    add_symbol(symbols, &count, symbol_of(&formula->inputs[i]),
               fettle_parameter_quantity(&formula->inputs[i], inputs[i], unit_of(units, i), habit));
  }
  for (const fettle_constant *c = formula->constants; c && c->symbol; c++) {
    fettle_scale scale;
    if (fettle_scale_of(c->unit, FETTLE_ROLE_ANY, &scale, NULL) != FETTLE_OK) {
      return false;
    }
    add_symbol(symbols, &count, c->symbol,
               quantity_in(c->value * scale.factor + scale.offset, c->unit, FETTLE_ROLE_ANY));
  }
  size_t given = count;
  if (fettle_expression_evaluate(formula->text, symbols, &count, SYMBOLS_MOST, NULL, NULL) !=
      FETTLE_OK) {
    return false;
  }
  const char *statement = formula->text;
  for (size_t i = given; i < count; i++) {
    char one[STATEMENT_MOST];
    char text[STATEMENT_MOST];
    size_t length = strcspn(statement, ";");
    if (length >= sizeof one) {
      return false;
    }
    memcpy(one, statement, length);
    one[length] = '\0';
    size_t blanks = strspn(one, " \n\t\r");

    size_t index = 0;
    const fettle_parameter *output =
        find_output(formula, symbols[i].name, symbols[i].length, &index);
    char result[96];
    if (output) {
      show(output, outputs[index], 0, habit, result, sizeof result);
      symbols[i].value = in_formula(fettle_parameter_quantity(output, outputs[index], 0, habit));
    } else {
      fettle_quantity_format(&symbols[i].value, fettle_unit_choose(&symbols[i].value, habit),
                             FETTLE_SHOWN_DIGITS, result, sizeof result);
    }
    size_t written =
        fettle_expression_substitute(one + blanks, symbols, i, habit, text, sizeof text);
    if (written >= sizeof text) {
      return false;
    }
    put_text(p, i > given ? "; " : "");
    put(p, text, written);
    /* "R = 0.25 in" is its own result. */
    const char *right = strchr(text, '=') + 1;
    right += strspn(right, " ");
    if (strcmp(right, result) != 0) {
      put_text(p, " = ");
      put_text(p, result);
    }
    statement += length + (statement[length] == ';' ? 1 : 0);
  }
  return true;
}

size_t fettle_working(const fettle_formula *formula, const double *inputs, const double *outputs,
                      const size_t *units, fettle_habit habit, char *out, size_t capacity) {
  double values[FETTLE_INPUTS_MOST] = {0};
  size_t count = fettle_parameter_count(formula->inputs);
  page p = {.out = out, .capacity = capacity};
  for (size_t i = 0; i < count && i < FETTLE_INPUTS_MOST; i++) {
    const fettle_parameter *parameter = &formula->inputs[i];
    fettle_scale scale;
    values[i] = inputs[i];
    if (isnan(inputs[i]) &&
        fettle_scale_of(parameter->unit, parameter->role, &scale, NULL) == FETTLE_OK) {
      values[i] = parameter->preset * scale.factor + scale.offset;
    }
  }
  if (formula->kind != FETTLE_FORMULA_CLOSED ||
      !put_statements(&p, formula, values, outputs, units, habit)) {
    p.length = 0;
    list_values(&p, formula, values, outputs, units, habit);
  }
  if (capacity > 0) {
    out[p.length < capacity ? p.length : capacity - 1] = '\0';
  }
  return p.length;
}
