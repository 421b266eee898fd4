#include "lua/catalogue.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <lauxlib.h>

#include "lua/error.h"
#include "lua/quantity.h"

enum { SHOWN_DIGITS = 6 };

static void set_text(lua_State *L, const char *key, const char *text) {
  if (text) {
    lua_pushstring(L, text);
    lua_setfield(L, -2, key);
  }
}

/* --- descriptors as tables --- */

static const char *const hazard_names[] = {"dust",     "unattended", "spindle",    "exotherm",
                                           "peroxide", "styrene",    "isocyanate", "amine",
                                           "lifting",  "vacuum",     "oven",       "hot_wire"};

static void push_hazards(lua_State *L, unsigned hazards) {
  lua_newtable(L);
  lua_Integer count = 0;
  for (size_t bit = 0; bit < sizeof hazard_names / sizeof *hazard_names; bit++) {
    if (hazards & (1u << bit)) {
      lua_pushstring(L, hazard_names[bit]);
      lua_rawseti(L, -2, ++count);
    }
  }
}

static void set_number(lua_State *L, const char *key, double value) {
  if (isfinite(value)) { /* JSON has no infinity: a limit that is none is left out */
    lua_pushnumber(L, value);
    lua_setfield(L, -2, key);
  }
}

static void push_parameters(lua_State *L, const fettle_parameter *parameters) {
  lua_newtable(L);
  for (size_t i = 0; parameters && parameters[i].name; i++) {
    const fettle_parameter *p = &parameters[i];
    lua_newtable(L);
    set_text(L, "name", p->name);
    set_text(L, "symbol", p->symbol);
    set_text(L, "unit", p->unit);
    set_text(L, "inch_unit", p->inch_unit);
    set_text(L, "meaning", p->meaning);
    set_number(L, "low", p->low);
    set_number(L, "high", p->high);
    if (p->usual_low < p->usual_high) {
      set_number(L, "usual_low", p->usual_low);
      set_number(L, "usual_high", p->usual_high);
    }
    set_number(L, "preset", p->preset);
    set_text(L, "role",
             p->role == FETTLE_ROLE_POINT        ? "point"
             : p->role == FETTLE_ROLE_DIFFERENCE ? "difference"
                                                 : NULL);
    if (p->whole) {
      lua_pushboolean(L, 1);
      lua_setfield(L, -2, "whole");
    }
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
}

static void push_constants(lua_State *L, const fettle_constant *constants) {
  lua_newtable(L);
  for (size_t i = 0; constants && constants[i].symbol; i++) {
    lua_newtable(L);
    set_text(L, "symbol", constants[i].symbol);
    set_number(L, "value", constants[i].value);
    set_text(L, "unit", constants[i].unit);
    set_text(L, "meaning", constants[i].meaning);
    set_text(L, "source", constants[i].source);
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
}

void fettle_push_formula(lua_State *L, const fettle_formula *f) {
  static const char *const kinds[] = {"closed", "iterated", "lists"};
  lua_newtable(L);
  set_text(L, "name", f->name);
  set_text(L, "kind", kinds[f->kind]);
  set_text(L, "brief", f->brief);
  set_text(L, "words", f->words);
  set_text(L, "formula", f->text);
  set_text(L, "notes", f->notes);
  set_text(L, "source", f->source);
  set_text(L, "inverse", f->inverse);
  push_parameters(L, f->inputs);
  lua_setfield(L, -2, "inputs");
  push_parameters(L, f->outputs);
  lua_setfield(L, -2, "outputs");
  push_constants(L, f->constants);
  lua_setfield(L, -2, "constants");
  push_hazards(L, f->hazards);
  lua_setfield(L, -2, "hazards");
}

void fettle_push_description(lua_State *L, const char *name) {
  const fettle_formula *formula = fettle_find(name);
  if (formula) {
    fettle_push_formula(L, formula);
  } else {
    lua_pushnil(L);
  }
}

void fettle_push_descriptions(lua_State *L) {
  size_t count;
  const fettle_formula *const *all = fettle_catalogue(&count);
  lua_createtable(L, (int)count, 0);
  for (size_t i = 0; i < count; i++) {
    fettle_push_formula(L, all[i]);
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
}

/* --- the working --- */

static fettle_quantity preset_of(const fettle_parameter *p) {
  fettle_quantity quantity = {.value = p->preset, .magic = FETTLE_QUANTITY_MAGIC};
  if (strcmp(p->unit, "1") != 0) {
    fettle_quantity_make(p->preset, p->unit, p->role, &quantity, NULL);
  }
  return quantity;
}

static void push_values(lua_State *L, const fettle_parameter *parameters, const double *values,
                        const size_t *units, int origins, fettle_habit habit) {
  lua_newtable(L);
  for (size_t i = 0; parameters[i].name; i++) {
    const fettle_parameter *p = &parameters[i];
    bool preset = isnan(values[i]);
    fettle_quantity quantity = fettle_parameter_quantity(p, preset ? preset_of(p).value : values[i],
                                                         units ? units[i] : 0, habit);
    lua_newtable(L);
    set_text(L, "name", p->name);
    set_text(L, "symbol", p->symbol);
    set_text(L, "meaning", p->meaning);
    fettle_push_quantity(L, &quantity);
    lua_setfield(L, -2, "value");
    if (preset) {
      lua_pushboolean(L, 1);
      lua_setfield(L, -2, "preset");
    }
    if (origins) {
      lua_pushstring(L, p->name);
      lua_rawget(L, origins);
      lua_setfield(L, -2, "origin");
    }
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
}

void fettle_push_working(lua_State *L, const fettle_formula *formula, const double *inputs,
                         const double *outputs, const size_t *units, int origins,
                         const fettle_warnings *warnings, fettle_habit habit) {
  origins = origins ? lua_absindex(L, origins) : 0;
  luaL_checkstack(L, 8, "working");
  lua_newtable(L);
  set_text(L, "kind", "calculation");
  set_text(L, "name", formula->name);
  set_text(L, "brief", formula->brief);
  set_text(L, "formula", formula->text);
  set_text(L, "source", formula->source);
  set_text(L, "notes", formula->notes);
  push_hazards(L, formula->hazards);
  lua_setfield(L, -2, "hazards");

  size_t length = fettle_working(formula, inputs, outputs, units, habit, NULL, 0);
  luaL_Buffer buffer;
  char *text = luaL_buffinitsize(L, &buffer, length + 1);
  fettle_working(formula, inputs, outputs, units, habit, text, length + 1);
  luaL_pushresultsize(&buffer, length);
  lua_setfield(L, -2, "substituted");

  push_values(L, formula->inputs, inputs, units, origins, habit);
  lua_setfield(L, -2, "inputs");
  push_values(L, formula->outputs, outputs, NULL, 0, habit);
  lua_setfield(L, -2, "outputs");

  lua_newtable(L);
  for (size_t i = 0; warnings && i < warnings->count; i++) {
    lua_newtable(L);
    set_text(L, "parameter", warnings->item[i].parameter);
    set_text(L, "message", warnings->item[i].message);
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
  lua_setfield(L, -2, "warnings");
}

/* --- arguments --- */

/* "milling.scallop_height{cutter_diameter = ..., stepover = ...}": what must be given. */
static const char *push_call_form(lua_State *L, const fettle_formula *f) {
  luaL_Buffer buffer;
  luaL_buffinit(L, &buffer);
  luaL_addstring(&buffer, f->name);
  luaL_addchar(&buffer, '{');
  bool first = true;
  for (const fettle_parameter *p = f->inputs; p->name; p++) {
    if (isnan(p->preset)) {
      luaL_addstring(&buffer, first ? "" : ", ");
      luaL_addstring(&buffer, p->name);
      luaL_addstring(&buffer, " = ...");
      first = false;
    }
  }
  luaL_addchar(&buffer, '}');
  luaL_pushresult(&buffer);
  return lua_tostring(L, -1);
}

static int refuse_form(lua_State *L, const fettle_formula *f) {
  fettle_diagnostic diagnostic;
  fettle_fail(&diagnostic, FETTLE_ERROR_ARGUMENT, NULL, "arguments are given by name: write %s",
              push_call_form(L, f));
  return fettle_raise(L, f->name, &diagnostic);
}

static const fettle_parameter *find_input(const fettle_formula *f, const char *name) {
  for (const fettle_parameter *p = f->inputs; p->name; p++) {
    if (strcmp(p->name, name) == 0) {
      return p;
    }
  }
  return NULL;
}

static int refuse_unknown(lua_State *L, const fettle_formula *f, const char *name) {
  fettle_diagnostic diagnostic;
  const char *nearest = NULL;
  size_t best = SIZE_MAX;
  for (const fettle_parameter *p = f->inputs; p->name; p++) {
    size_t distance = fettle_name_distance(name, strlen(name), p->name, strlen(p->name));
    if (distance < best) {
      best = distance;
      nearest = p->name;
    }
  }
  if (nearest && fettle_name_near(best, strlen(name))) {
    fettle_fail(&diagnostic, FETTLE_ERROR_ARGUMENT, name,
                "unknown argument %.60s; the nearest known one is %s", name, nearest);
  } else {
    fettle_fail(&diagnostic, FETTLE_ERROR_ARGUMENT, name, "unknown argument %.60s: write %s", name,
                push_call_form(L, f));
  }
  return fettle_raise(L, f->name, &diagnostic);
}

/* The order of a Lua table is not fixed, the message is: of several, the first by letters. */
static void check_names(lua_State *L, const fettle_formula *f) {
  const char *wrong = NULL;
  lua_pushnil(L);
  while (lua_next(L, 1)) {
    lua_pop(L, 1);
    if (lua_type(L, -1) != LUA_TSTRING) {
      refuse_form(L, f);
    }
    const char *name = lua_tostring(L, -1); /* the table's key keeps it alive */
    if (!find_input(f, name) && (!wrong || strcmp(name, wrong) < 0)) {
      wrong = name;
    }
  }
  if (wrong) {
    refuse_unknown(L, f, wrong);
  }
}

static void add_unit(char *list, size_t capacity, const char *unit) {
  size_t length = strlen(list);
  if (unit && length < capacity) {
    snprintf(list + length, capacity - length, "%s%s", length > 0 ? ", " : "", unit);
  }
}

/* "stepover = 14: needs a unit (in, thou, mm): write 14*mm or q"14 mm"" */
static void fail_bare(fettle_diagnostic *diagnostic, const fettle_parameter *p, double number,
                      fettle_habit habit) {
  char shown[40];
  char units[80] = "";
  char product[100] = "";
  fettle_number_format(number, SHOWN_DIGITS, shown, sizeof shown);
  add_unit(units, sizeof units, p->inch_unit);
  if (strcmp(p->unit, "mm") == 0 && p->inch_unit && strcmp(p->inch_unit, "thou") != 0) {
    add_unit(units, sizeof units, "thou");
  }
  if (!p->inch_unit || strcmp(p->inch_unit, p->unit) != 0) {
    add_unit(units, sizeof units, p->unit);
  }
  const char *unit = habit == FETTLE_HABIT_INCH && p->inch_unit ? p->inch_unit : p->unit;
  const fettle_unit *row = fettle_unit_at(fettle_unit_find(unit, strlen(unit)));
  if (row && row->lua_name && !row->point) {
    snprintf(product, sizeof product, "%s*%s or ", shown, row->lua_name);
  }
  fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, p->name,
              "%s = %s: needs a unit (%s): write %sq\"%s %s\"", p->name, shown, units, product,
              shown, unit);
}

static fettle_status check_quantity(const fettle_parameter *p, const fettle_quantity *given,
                                    fettle_habit habit, fettle_diagnostic *diagnostic) {
  fettle_quantity wanted = fettle_parameter_quantity(p, 0, 0, FETTLE_HABIT_NONE);
  char shown[80];
  char got[80];
  char due[80];
  if (given->dimension != wanted.dimension) {
    if (given->dimension == 0) {
      fail_bare(diagnostic, p, given->value, habit);
      return FETTLE_ERROR_DIMENSION;
    }
    fettle_quantity_format(given, fettle_unit_choose(given, habit), SHOWN_DIGITS, shown,
                           sizeof shown);
    fettle_dimension_name(given->dimension, got, sizeof got);
    if (wanted.dimension == 0) {
      return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, p->name,
                         "%s = %s: must be a plain number (%s), not %s", p->name, shown, p->meaning,
                         got);
    }
    fettle_dimension_name(wanted.dimension, due, sizeof due);
    return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, p->name,
                       "%s = %s: must be %s (%s), not %s", p->name, shown, due, p->unit, got);
  }
  bool point = given->flags & FETTLE_QUANTITY_POINT;
  const fettle_unit *unit = fettle_unit_at(given->unit);
  fettle_quantity_format(given, fettle_unit_choose(given, FETTLE_HABIT_NONE), SHOWN_DIGITS, shown,
                         sizeof shown);
  if (p->role == FETTLE_ROLE_DIFFERENCE && point) {
    return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, p->name,
                       "%s = %s: must be a difference of temperatures: write 5*dF or 3*dC, or "
                       "subtract one temperature from another",
                       p->name, shown);
  }
  /* Kelvins are absolute where a temperature is due; steps of dF and dC are not. */
  if (p->role == FETTLE_ROLE_POINT && !point && unit && strcmp(unit->name, "K") != 0) {
    return fettle_fail(diagnostic, FETTLE_ERROR_DIMENSION, p->name,
                       "%s = %s: must be a temperature, not a difference: write degF(68) or "
                       "degC(20)",
                       p->name, shown);
  }
  return FETTLE_OK;
}

/* Reads the value on top of the stack. */
static fettle_status read_input(lua_State *L, const fettle_parameter *p, fettle_habit habit,
                                fettle_quantity *out, fettle_diagnostic *diagnostic) {
  if (fettle_to_quantity(L, -1, out)) {
    return check_quantity(p, out, habit, diagnostic);
  }
  if (lua_type(L, -1) == LUA_TNUMBER) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, p->name,
                       "%s is not a finite number: look for a division by zero before it", p->name);
  }
  if (lua_type(L, -1) == LUA_TSTRING) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, p->name,
                       "%s is text: write q\"%.40s\" for a quantity", p->name, lua_tostring(L, -1));
  }
  return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, p->name,
                     "%s must be a quantity or a number, not a %s", p->name, luaL_typename(L, -1));
}

/* A limit is written in the parameter's unit; whoever typed inches reads it in inches. */
static void show_as_given(const fettle_formula *f, const size_t *units, const double *inputs,
                          fettle_diagnostic *diagnostic) {
  size_t i = 0;
  while (f->inputs[i].name && strcmp(f->inputs[i].name, diagnostic->parameter) != 0) {
    i++;
  }
  const fettle_parameter *p = &f->inputs[i];
  const fettle_unit *unit = p->name ? fettle_unit_at(units[i]) : NULL;
  if (diagnostic->status != FETTLE_ERROR_RANGE || !unit || unit->factor == 0 ||
      strcmp(unit->name, diagnostic->unit) == 0) {
    return;
  }
  /* "stepover = 14 mm: must not be above cutter_diameter 12 mm", or "must be above": both values
   * end in the unit. */
  char *must = strstr(diagnostic->message, ": must ");
  fettle_quantity limit = {0};
  if (!must || strcmp(p->unit, diagnostic->unit) != 0 ||
      (strcmp(p->unit, "1") != 0 &&
       fettle_quantity_make(diagnostic->limit, p->unit, p->role, &limit, NULL) != FETTLE_OK)) {
    return;
  }
  char *end = diagnostic->message + strlen(diagnostic->message);
  char *words = strrchr(must, ' '); /* before the unit */
  if (!words || strcmp(words + 1, p->unit) != 0) {
    return;
  }
  *words = '\0';
  char *number = strrchr(must, ' ');
  *words = ' ';
  if (!number || end <= number) {
    return;
  }
  char shown[64];
  char shown_limit[64];
  fettle_quantity value = fettle_parameter_quantity(p, inputs[i], units[i], FETTLE_HABIT_NONE);
  limit = fettle_parameter_quantity(p, limit.value, units[i], FETTLE_HABIT_NONE);
  for (int digits = SHOWN_DIGITS; digits <= 17; digits++) {
    fettle_quantity_format(&value, units[i], digits, shown, sizeof shown);
    fettle_quantity_format(&limit, units[i], digits, shown_limit, sizeof shown_limit);
    if (strcmp(shown, shown_limit) != 0) {
      break;
    }
  }
  fettle_diagnostic old = *diagnostic;
  size_t from = (size_t)(must - diagnostic->message);
  size_t middle = (size_t)(number + 1 - must);
  snprintf(diagnostic->message, sizeof diagnostic->message, "%s = %s%.*s%s", p->name, shown,
           (int)middle, old.message + from, shown_limit);
  diagnostic->value = (value.value - unit->offset) / unit->factor;
  diagnostic->limit = (limit.value - unit->offset) / unit->factor;
  snprintf(diagnostic->unit, sizeof diagnostic->unit, "%s", unit->name);
}

static int call(lua_State *L) {
  const fettle_formula *f = lua_touserdata(L, lua_upvalueindex(1));
  double inputs[FETTLE_INPUTS_MOST];
  double outputs[FETTLE_OUTPUTS_MOST];
  size_t units[FETTLE_INPUTS_MOST] = {0};
  fettle_warnings warnings = {0};
  fettle_diagnostic diagnostic = {0};
  fettle_habit habit = fettle_get_habit(L);
  fettle_habit typed = FETTLE_HABIT_NONE;
  if (lua_gettop(L) != 1 || lua_type(L, 1) != LUA_TTABLE) {
    return refuse_form(L, f);
  }
  check_names(L, f);
  lua_newtable(L);
  const int origins = lua_gettop(L);
  for (size_t i = 0; f->inputs[i].name; i++) {
    const fettle_parameter *p = &f->inputs[i];
    lua_pushstring(L, p->name);
    inputs[i] = NAN;
    if (lua_rawget(L, 1) != LUA_TNIL) {
      fettle_quantity given;
      if (read_input(L, p, habit, &given, &diagnostic) != FETTLE_OK) {
        return fettle_raise(L, f->name, &diagnostic);
      }
      inputs[i] = given.value;
      units[i] = given.unit;
      const fettle_unit *unit = fettle_unit_at(given.unit);
      if (typed == FETTLE_HABIT_NONE && unit) {
        typed = unit->habit;
      }
      fettle_push_origin(L, -1);
      lua_setfield(L, origins, p->name);
    }
    lua_pop(L, 1);
  }
  if (fettle_call(f, inputs, outputs, &warnings, &diagnostic) != FETTLE_OK) {
    show_as_given(f, units, inputs, &diagnostic);
    return fettle_raise(L, f->name, &diagnostic);
  }
  if (habit == FETTLE_HABIT_NONE) {
    habit = typed;
  }
  fettle_push_working(L, f, inputs, outputs, units, origins, &warnings, habit);
  const int working = lua_gettop(L);
  size_t count = fettle_parameter_count(f->outputs);
  if (count > 1) {
    lua_newtable(L);
  }
  for (size_t i = 0; i < count; i++) {
    fettle_quantity quantity = fettle_parameter_quantity(&f->outputs[i], outputs[i], 0, habit);
    fettle_push_quantity_with_origin(L, &quantity, working);
    if (count > 1) {
      lua_setfield(L, -2, f->outputs[i].name);
    }
  }
  lua_pushvalue(L, working);
  if (count == 1) {
    return 2;
  }
  lua_setfield(L, -2, "working");
  return 1;
}

/* --- the domain tables --- */

static int unknown_field(lua_State *L) {
  const char *domain = lua_tostring(L, lua_upvalueindex(1));
  const char *field = luaL_tolstring(L, 2, NULL);
  const char *name = lua_pushfstring(L, "%s.%s", domain, field);
  const char *nearest = fettle_find_nearest(name);
  fettle_diagnostic diagnostic;
  if (nearest) {
    fettle_fail(&diagnostic, FETTLE_ERROR_ARGUMENT, NULL,
                "there is no calculation %.80s; the nearest known one is %s", name, nearest);
  } else {
    fettle_fail(&diagnostic, FETTLE_ERROR_ARGUMENT, NULL,
                "there is no calculation %.80s: see fettle show %s", name, domain);
  }
  return fettle_raise(L, NULL, &diagnostic);
}

/* Pushes the domain's table, made when it is missing. */
static void push_domain(lua_State *L, int index, const char *name, size_t length) {
  lua_pushlstring(L, name, length);
  if (lua_rawget(L, index) == LUA_TTABLE) {
    return;
  }
  lua_pop(L, 1);
  lua_newtable(L);
  lua_newtable(L);
  lua_pushlstring(L, name, length);
  lua_pushcclosure(L, unknown_field, 1);
  lua_setfield(L, -2, "__index");
  lua_pushboolean(L, 0); /* a recipe can neither see nor change it */
  lua_setfield(L, -2, "__metatable");
  lua_setmetatable(L, -2);
  lua_pushlstring(L, name, length);
  lua_pushvalue(L, -2);
  lua_rawset(L, index);
}

void fettle_push_call(lua_State *L, const fettle_formula *formula) {
  lua_pushlightuserdata(L, (void *)(size_t)formula); /* only read through the pointer */
  lua_pushcclosure(L, call, 1);
}

void fettle_open_catalogue(lua_State *L, int index) {
  index = lua_absindex(L, index);
  size_t count;
  const fettle_formula *const *all = fettle_catalogue(&count);
  for (size_t i = 0; i < count; i++) {
    const char *point = strchr(all[i]->name, '.');
    push_domain(L, index, all[i]->name, (size_t)(point - all[i]->name));
    if (all[i]->kind != FETTLE_FORMULA_LISTS) {
      lua_pushstring(L, point + 1);
      fettle_push_call(L, all[i]);
      lua_rawset(L, -3);
    }
    lua_pop(L, 1);
  }
}
