/* A shop's own calculation: a descriptor made from a Lua table, called as the catalogue's are. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sysexits.h>

#include <lauxlib.h>

#include "fettle/formula.h"
#include "lua/catalogue.h"
#include "lua/error.h"
#include "lua/quantity.h"
#include "recipe/setting.h"
#include "recipe/work.h"

enum { SYMBOLS_MOST = 96 };

typedef struct own_calculation {
  fettle_formula formula;
  fettle_parameter inputs[FETTLE_INPUTS_MOST + 1];
  fettle_parameter outputs[FETTLE_OUTPUTS_MOST + 1];
  fettle_unit_expression input_units[FETTLE_INPUTS_MOST];
  fettle_unit_expression output_units[FETTLE_OUTPUTS_MOST];
} own_calculation;

/* `evaluate` of a descriptor has no context, so the one being called is named here. */
static _Thread_local const own_calculation *called;

static fettle_quantity in_parameter(const fettle_unit_expression *unit, double value) {
  fettle_quantity quantity = {.value = value,
                              .dimension = unit->dimension,
                              .magic = FETTLE_QUANTITY_MAGIC,
                              .unit = (uint16_t)unit->index,
                              .flags = unit->point ? FETTLE_QUANTITY_POINT : 0,
                              .currency = unit->currency};
  return quantity;
}

static fettle_status evaluate(const double *inputs, double *outputs, fettle_warnings *warnings,
                              fettle_diagnostic *diagnostic) {
  (void)warnings;
  const own_calculation *own = called;
  fettle_symbol symbols[SYMBOLS_MOST];
  size_t given = fettle_parameter_count(own->inputs), count = given;
  for (size_t i = 0; i < given; i++) {
    const char *symbol = own->inputs[i].symbol;
    symbols[i] =
        (fettle_symbol){symbol, strlen(symbol), in_parameter(&own->input_units[i], inputs[i])};
  }
  fettle_status status = fettle_expression_evaluate(own->formula.text, symbols, &count,
                                                    SYMBOLS_MOST, NULL, diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  for (size_t o = 0; own->outputs[o].name; o++) {
    const fettle_symbol *found = NULL;
    for (size_t s = given; s < count; s++) {
      if (symbols[s].length == strlen(own->outputs[o].symbol) &&
          memcmp(symbols[s].name, own->outputs[o].symbol, symbols[s].length) == 0) {
        found = &symbols[s];
      }
    }
    if (!found) {
      return fettle_fail(diagnostic, FETTLE_ERROR_TEXT, own->outputs[o].name,
                         "formula does not assign %s, the symbol of %s", own->outputs[o].symbol,
                         own->outputs[o].name);
    }
    if (found->value.dimension != own->output_units[o].dimension) {
      char got[64], want[64];
      fettle_dimension_name(found->value.dimension, got, sizeof got);
      fettle_dimension_name(own->output_units[o].dimension, want, sizeof want);
      return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, own->outputs[o].name,
                         "formula gives %s as a %s, but its unit %s is a %s", own->outputs[o].name,
                         got, own->outputs[o].unit, want);
    }
    outputs[o] = found->value.value;
  }
  return FETTLE_OK;
}

static int raise_in(lua_State *L, const char *name, const fettle_diagnostic *diagnostic) {
  fettle_work *work = fettle_work_of(L);
  fettle_problem_set(&work->failed, EX_DATAERR, fettle_status_name(diagnostic->status), "%s: %s",
                     name, diagnostic->message);
  return fettle_work_raise(L, work);
}

static const char *text_field(lua_State *L, int table, const char *name, const char *otherwise) {
  lua_getfield(L, table, name);
  const char *text = lua_type(L, -1) == LUA_TSTRING ? lua_tostring(L, -1) : otherwise;
  lua_pop(L, 1); /* the declaration holds it, and the closure holds the declaration */
  return text;
}

/* A limit as a number in the parameter's unit: a quantity, or a number of that unit. */
static double limit_field(lua_State *L, int table, const char *name, const fettle_parameter *of,
                          double otherwise, const char *calculation) {
  double number = otherwise;
  fettle_quantity limit;
  fettle_diagnostic diagnostic = {.status = FETTLE_OK};
  if (lua_getfield(L, table, name) == LUA_TNUMBER) {
    number = lua_tonumber(L, -1);
  } else if (fettle_is_quantity(L, -1) && fettle_to_quantity(L, -1, &limit)) {
    if (fettle_quantity_number(&limit, of->unit, &number, &diagnostic) != FETTLE_OK) {
      raise_in(L, calculation, &diagnostic);
    }
  }
  lua_pop(L, 1);
  return number;
}

/* Reads the rows of the list at the top of the stack, which the words have checked, and pops it. */
static void read_rows(lua_State *L, const char *calculation, fettle_parameter *rows,
                      fettle_unit_expression *units, size_t most) {
  int list = lua_gettop(L);
  size_t count = lua_rawlen(L, list);
  fettle_diagnostic diagnostic = {.status = FETTLE_OK};
  if (count == 0 || count > most) {
    fettle_fail(&diagnostic, FETTLE_ERROR_ARGUMENT, "",
                "parameters and outputs are lists of 1 to %zu rows", most);
    raise_in(L, calculation, &diagnostic);
  }
  for (size_t i = 0; i < count; i++) {
    lua_geti(L, list, (lua_Integer)i + 1);
    int row = lua_gettop(L);
    fettle_parameter *p = &rows[i];
    p->name = text_field(L, row, "name", "");
    p->symbol = text_field(L, row, "symbol", p->name);
    p->unit = text_field(L, row, "unit", "1");
    p->inch_unit = text_field(L, row, "inch_unit", NULL);
    p->meaning = text_field(L, row, "meaning", "");
    if (fettle_unit_parse(p->unit, strlen(p->unit), &units[i], &diagnostic) != FETTLE_OK) {
      raise_in(L, calculation, &diagnostic);
    }
    p->role = units[i].point ? FETTLE_ROLE_POINT : FETTLE_ROLE_ANY;
    p->low = limit_field(L, row, "low", p, -INFINITY, calculation);
    p->high = limit_field(L, row, "high", p, INFINITY, calculation);
    p->usual_low = limit_field(L, row, "usual_low", p, 0, calculation);
    p->usual_high = limit_field(L, row, "usual_high", p, 0, calculation);
    p->preset = limit_field(L, row, "default", p, NAN, calculation);
    lua_getfield(L, row, "whole");
    p->whole = (unsigned)lua_toboolean(L, -1);
    lua_settop(L, list);
  }
  lua_pop(L, 1);
}

static size_t parameter_index(const fettle_parameter *rows, const char *name) {
  size_t i = 0;
  while (rows[i].name && strcmp(rows[i].name, name) != 0) {
    i++;
  }
  return i;
}

/* Reads the table of arguments at 1 into SI values. */
static void read_arguments(lua_State *L, const own_calculation *own, double *inputs,
                           size_t *units) {
  const char *name = own->formula.name;
  size_t count = fettle_parameter_count(own->inputs);
  fettle_diagnostic diagnostic = {.status = FETTLE_OK};
  if (lua_type(L, 1) != LUA_TTABLE) {
    fettle_fail(&diagnostic, FETTLE_ERROR_ARGUMENT, "",
                "takes one table of named values in braces");
    raise_in(L, name, &diagnostic);
  }
  for (size_t i = 0; i < count; i++) {
    inputs[i] = NAN;
    units[i] = 0;
  }
  lua_pushnil(L);
  while (lua_next(L, 1)) {
    const char *key = lua_type(L, -2) == LUA_TSTRING ? lua_tostring(L, -2) : "";
    size_t i = parameter_index(own->inputs, key);
    if (i == count) {
      fettle_fail(&diagnostic, FETTLE_ERROR_ARGUMENT, key, "has no parameter '%s'", key);
      raise_in(L, name, &diagnostic);
    }
    fettle_quantity value, pattern = in_parameter(&own->input_units[i], 0);
    if (!fettle_to_quantity(L, -1, &value)) {
      fettle_fail(&diagnostic, FETTLE_ERROR_ARGUMENT, key,
                  "%s must be a quantity or a finite number, not a %s", key, luaL_typename(L, -1));
      raise_in(L, name, &diagnostic);
    }
    if (value.dimension != pattern.dimension) {
      char shown[64], offered[96];
      fettle_quantity_format(&value, value.unit, 6, shown, sizeof shown);
      fettle_setting_units(&pattern, fettle_get_habit(L), offered, sizeof offered);
      fettle_fail(&diagnostic, FETTLE_ERROR_DIMENSION, key, "%s = %s: %s what? %s", key, shown,
                  shown, offered);
      raise_in(L, name, &diagnostic);
    }
    inputs[i] = value.value;
    units[i] = value.unit;
    lua_pop(L, 1);
  }
}

static void push_output(lua_State *L, const own_calculation *own, size_t o, double value,
                        int working) {
  fettle_quantity quantity = in_parameter(&own->output_units[o], value);
  fettle_push_quantity_with_origin(L, &quantity, working);
}

/* Upvalues: the calculation, its declaration (which holds its texts). */
static int call(lua_State *L) {
  const own_calculation *own = lua_touserdata(L, lua_upvalueindex(1));
  double inputs[FETTLE_INPUTS_MOST], outputs[FETTLE_OUTPUTS_MOST];
  size_t units[FETTLE_INPUTS_MOST];
  lua_settop(L, 1);
  read_arguments(L, own, inputs, units);
  fettle_diagnostic diagnostic = {.status = FETTLE_OK};
  fettle_warnings warnings = {.count = 0};
  called = own;
  fettle_status status = fettle_call(&own->formula, inputs, outputs, &warnings, &diagnostic);
  called = NULL;
  if (status != FETTLE_OK) {
    return raise_in(L, own->formula.name, &diagnostic);
  }
  lua_newtable(L); /* 2: origins */
  for (size_t i = 0; own->inputs[i].name; i++) {
    if (isnan(inputs[i])) {
      fettle_quantity preset;
      if (fettle_quantity_make(own->inputs[i].preset, own->inputs[i].unit, own->inputs[i].role,
                               &preset, NULL) == FETTLE_OK) {
        inputs[i] = preset.value;
      }
    }
    lua_getfield(L, 1, own->inputs[i].name);
    if (fettle_is_quantity(L, -1)) {
      fettle_push_origin(L, -1);
      lua_setfield(L, 2, own->inputs[i].name);
    }
    lua_pop(L, 1);
  }
  fettle_push_working(L, &own->formula, inputs, outputs, units, 2, &warnings, fettle_get_habit(L));
  int working = lua_gettop(L);
  if (!own->outputs[1].name) {
    push_output(L, own, 0, outputs[0], working);
    lua_insert(L, working);
    return 2;
  }
  lua_newtable(L);
  for (size_t o = 0; own->outputs[o].name; o++) {
    push_output(L, own, o, outputs[o], working);
    lua_setfield(L, -2, own->outputs[o].name);
  }
  lua_pushvalue(L, working);
  lua_setfield(L, -2, "working");
  return 1;
}

int fettle_make_calculation(lua_State *L) {
  luaL_checktype(L, 1, LUA_TTABLE);
  lua_settop(L, 1);
  own_calculation *own = lua_newuserdatauv(L, sizeof *own, 0); /* 2 */
  memset(own, 0, sizeof *own);
  fettle_formula *formula = &own->formula;
  formula->size = sizeof *formula;
  formula->kind = FETTLE_FORMULA_CLOSED;
  formula->name = text_field(L, 1, "name", "");
  formula->brief = text_field(L, 1, "brief", "");
  formula->words = "";
  formula->text = text_field(L, 1, "formula", "");
  formula->notes = text_field(L, 1, "notes", "");
  formula->source = text_field(L, 1, "source", "shop rule");
  formula->inputs = own->inputs;
  formula->outputs = own->outputs;
  formula->evaluate = evaluate;
  lua_getfield(L, 1, "parameters");
  read_rows(L, formula->name, own->inputs, own->input_units, FETTLE_INPUTS_MOST);
  lua_getfield(L, 1, "outputs");
  read_rows(L, formula->name, own->outputs, own->output_units, FETTLE_OUTPUTS_MOST);
  lua_pushvalue(L, 1);
  lua_pushcclosure(L, call, 2);
  return 1;
}
