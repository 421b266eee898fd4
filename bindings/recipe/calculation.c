/* A shop's own calculation: a descriptor made from a Lua table, called as the catalogue's are. */
#include <math.h>
#include <string.h>
#include <sysexits.h>

#include <lauxlib.h>

#include "fettle/formula.h"
#include "lua/catalogue.h"
#include "lua/quantity.h"
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

/* Upvalues: the calculation, its declaration (which holds its texts), the call of its descriptor.
 */
static int call(lua_State *L) {
  called = lua_touserdata(L, lua_upvalueindex(1));
  lua_pushvalue(L, lua_upvalueindex(3));
  lua_insert(L, 1);
  lua_call(L, lua_gettop(L) - 1, LUA_MULTRET);
  return lua_gettop(L);
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
  fettle_push_call(L, formula);
  lua_pushcclosure(L, call, 3);
  fettle_push_formula(L, formula);
  return 2;
}
