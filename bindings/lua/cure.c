/* lua/cure.c - resin.cure_history and resin.equivalent_time. */
#include "fettle/cure.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <lauxlib.h>

#include "fettle/formula.h"
#include "lua/catalogue.h"
#include "lua/error.h"
#include "lua/lists.h"
#include "lua/quantity.h"

enum { POINTS_MOST = 1000000, OUTPUTS_MOST = 10000, SHOWN_DIGITS = 6 };

/* One call: where its argument stands and what it is for. */
typedef struct call {
  lua_State *L;
  const fettle_formula *formula;
  int inputs; /* stack index of the list of inputs of the working */
} call;

static const fettle_parameter *parameter_of(const fettle_parameter *list, const char *name) {
  for (; list->name; list++) {
    if (strcmp(list->name, name) == 0) {
      return list;
    }
  }
  return NULL;
}

/* The fields of `kinetics`; the catalogue describes them in the notes of their table. */
static const fettle_parameter kinetics_fields[] = {
    {"pre_exponential", "A", "1/s", NULL, "", 0, INFINITY, 0, 0, 0, FETTLE_ROLE_ANY, 0},
    {"activation_energy", "E", "kJ/mol", NULL, "", 0, 1000, 0, 0, 0, FETTLE_ROLE_ANY, 0},
    {"second_pre_exponential", "A_2", "1/s", NULL, "", 0, INFINITY, 0, 0, 0, FETTLE_ROLE_ANY, 0},
    {"second_activation_energy", "E_2", "kJ/mol", NULL, "", 0, 1000, 0, 0, 0, FETTLE_ROLE_ANY, 0},
    {"autocatalytic_order", "m", "1", NULL, "", 0, 10, 0, 0, 1, FETTLE_ROLE_ANY, 0},
    {"order", "n", "1", NULL, "", 0, 10, 0, 0, 1, FETTLE_ROLE_ANY, 0},
    {"diffusion", "C", "1", NULL, "", 0, 1e4, 0, 0, 0, FETTLE_ROLE_ANY, 0},
    {"diffusion_degree", "alpha_C", "1", NULL, "", -1e3, 1e3, 0, 0, 0, FETTLE_ROLE_ANY, 0},
    {"diffusion_slope", "beta", "1/K", NULL, "", -1, 1, 0, 0, 0, FETTLE_ROLE_ANY, 0},
    {.name = NULL}};

/* Refuses fields that are not in `list`, so that a misspelt one is never passed over. */
static void known_keys(const call *c, int index, const char *where, const fettle_parameter *list) {
  lua_State *L = c->L;
  index = lua_absindex(L, index);
  lua_pushnil(L);
  while (lua_next(L, index) != 0) {
    lua_pop(L, 1);
    if (lua_type(L, -1) == LUA_TSTRING && parameter_of(list, lua_tostring(L, -1))) {
      continue;
    }
    luaL_Buffer names;
    luaL_buffinit(L, &names);
    for (const fettle_parameter *p = list; p->name; p++) {
      luaL_addstring(&names, p == list ? "" : ", ");
      luaL_addstring(&names, p->name);
    }
    luaL_pushresult(&names);
    const char *key = lua_type(L, -2) == LUA_TSTRING ? lua_tostring(L, -2) : "a list";
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: %s'%s' is not known: give %s",
                      c->formula->name, where, key, lua_tostring(L, -1));
  }
}

/* Adds the value on top to the working's list at `list` and pops it. */
static void add_value(lua_State *L, int list, const fettle_parameter *p) {
  lua_createtable(L, 0, 4);
  lua_insert(L, -2);
  fettle_push_origin(L, -1);
  lua_setfield(L, -3, "origin");
  lua_setfield(L, -2, "value");
  lua_pushstring(L, p->name);
  lua_setfield(L, -2, "name");
  lua_pushstring(L, p->symbol);
  lua_setfield(L, -2, "symbol");
  lua_rawseti(L, list, luaL_len(L, list) + 1);
}

static void raise_kind(const call *c, const char *where, const fettle_parameter *p,
                       const char *advice) {
  fettle_raise_text(c->L, FETTLE_ERROR_DIMENSION, "%s: %s%s: must be %s%s%s", c->formula->name,
                    where, p->name, strcmp(p->unit, "1") == 0 ? "a plain number" : "a quantity in ",
                    strcmp(p->unit, "1") == 0 ? "" : p->unit, advice);
}

/* The value on top, which stays there, as SI. */
static double to_si(const call *c, const char *where, const fettle_parameter *p) {
  fettle_quantity given;
  fettle_quantity one = {.value = 1};
  if (!fettle_to_quantity(c->L, -1, &given)) {
    raise_kind(c, where, p, "");
  }
  if (strcmp(p->unit, "1") != 0) {
    fettle_quantity_make(1, p->unit, p->role, &one, NULL);
  }
  if (given.dimension != one.dimension) {
    raise_kind(c, where, p, "");
  }
  bool point = (given.flags & FETTLE_QUANTITY_POINT) != 0;
  if (point && p->role == FETTLE_ROLE_DIFFERENCE) {
    raise_kind(c, where, p, ": a difference such as 18*dF, not a temperature");
  }
  bool kelvin = given.unit != 0 && strcmp(fettle_unit_at(given.unit)->name, "K") == 0;
  if (!point && !kelvin && p->role == FETTLE_ROLE_POINT) {
    raise_kind(c, where, p, ": a temperature such as degF(62), not a difference");
  }
  return given.value;
}

/* Reads a field of the table at `index` and notes it in the working; false when it is missing. */
static bool read_field(const call *c, int index, const char *where, const fettle_parameter *p,
                       double *value) {
  lua_State *L = c->L;
  if (lua_getfield(L, index, p->name) == LUA_TNIL) {
    lua_pop(L, 1);
    return false;
  }
  double si = to_si(c, where, p);
  fettle_quantity quantity = fettle_parameter_quantity(p, si, 0, FETTLE_HABIT_NONE);
  double number = si;
  if (strcmp(p->unit, "1") != 0) {
    fettle_quantity_number(&quantity, p->unit, &number, NULL);
  }
  double slack = 1e-9 * fabs(number);
  if (number < p->low - slack || number > p->high + slack) {
    bool low = number < p->low;
    fettle_diagnostic diagnostic;
    fettle_quantity limit = quantity;
    if (strcmp(p->unit, "1") == 0) {
      limit.value = low ? p->low : p->high;
    } else {
      fettle_quantity_make(low ? p->low : p->high, p->unit, p->role, &limit, NULL);
    }
    if (low) {
      fettle_fail_below(&diagnostic, p, si, NULL, limit.value);
    } else {
      fettle_fail_above(&diagnostic, p, si, NULL, limit.value);
    }
    fettle_raise(L, c->formula->name, &diagnostic);
  }
  *value = si;
  add_value(L, c->inputs, p);
  return true;
}

static bool read_input(const call *c, const char *name, double *value) {
  return read_field(c, 1, "", parameter_of(c->formula->inputs, name), value);
}

static double required_input(const call *c, const char *name, const char *how) {
  double value = 0;
  if (!read_input(c, name, &value)) {
    fettle_raise_text(c->L, FETTLE_ERROR_ARGUMENT, "%s: missing %s (%s)", c->formula->name, name,
                      how);
  }
  return value;
}

static bool read_flag(const call *c, const char *name) {
  int type = lua_getfield(c->L, 1, name);
  if (type != LUA_TNIL && type != LUA_TBOOLEAN) {
    fettle_raise_text(c->L, FETTLE_ERROR_ARGUMENT, "%s: %s: must be true or false",
                      c->formula->name, name);
  }
  bool flag = lua_toboolean(c->L, -1) != 0;
  lua_pop(c->L, 1);
  return flag;
}

/* --- the history --- */

static const fettle_parameter point_fields[] = {
    {"time", "t", "h", NULL, "", -INFINITY, INFINITY, 0, 0, 0, FETTLE_ROLE_ANY, 0},
    {"temperature", "T", "degC", "degF", "", -273.15, INFINITY, 0, 0, 0, FETTLE_ROLE_POINT, 0}};

/* Points {time, temperature} or {time =, temperature =} of the list on top. */
static double point_number(const call *c, lua_Integer row, int place) {
  lua_State *L = c->L;
  const fettle_parameter *p = &point_fields[place];
  if (lua_geti(L, -1, place + 1) == LUA_TNIL) {
    lua_pop(L, 1);
    lua_getfield(L, -1, p->name);
  }
  const char *where = lua_pushfstring(L, "history, point %d: ", (int)row);
  lua_insert(L, -2);
  double value = to_si(c, where, p);
  lua_pop(L, 2);
  return value;
}

/* The points live in a userdata on the stack. */
static fettle_cure_history read_history(const call *c) {
  lua_State *L = c->L;
  fettle_cure_history history = {.hold = read_flag(c, "hold")};
  fettle_cure_point *points;
  double constant = 0;
  bool has_constant = read_input(c, "temperature", &constant);
  int type = lua_getfield(L, 1, "history");
  if (has_constant == (type != LUA_TNIL)) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: give either a temperature or a history",
                      c->formula->name);
  }
  if (has_constant) {
    points = lua_newuserdatauv(L, sizeof *points, 0);
    *points = (fettle_cure_point){.time = 0, .temperature = constant};
    history.count = 1;
  } else {
    lua_Integer count = type == LUA_TTABLE ? luaL_len(L, -1) : 0;
    if (count < 1 || count > POINTS_MOST) {
      fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                        "%s: history: must be a list of 1 to %d points {time, temperature}",
                        c->formula->name, POINTS_MOST);
    }
    points = lua_newuserdatauv(L, (size_t)count * sizeof *points, 0);
    lua_insert(L, -2);
    for (lua_Integer i = 0; i < count; i++) {
      if (lua_geti(L, -1, i + 1) != LUA_TTABLE) {
        fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                          "%s: history, point %d: must be {time, temperature}", c->formula->name,
                          (int)i + 1);
      }
      points[i].time = point_number(c, i + 1, 0);
      points[i].temperature = point_number(c, i + 1, 1);
      lua_pop(L, 1);
    }
    lua_pop(L, 1);
    history.count = (size_t)count;
    lua_pushinteger(L, count);
    add_value(L, c->inputs, parameter_of(c->formula->inputs, "history"));
  }
  history.points = points;
  return history;
}

/* --- results --- */

static fettle_quantity quantity_of(const call *c, const fettle_parameter *p, double value) {
  return fettle_parameter_quantity(p, value, 0, fettle_get_habit(c->L));
}

static void push_number(const call *c, const fettle_parameter *p, double value) {
  fettle_quantity quantity = quantity_of(c, p, value);
  fettle_push_quantity(c->L, &quantity);
}

/* Pushes the list {{time, value}, ...} for a plot. */
static void push_points(const call *c, const double *times, const double *values, size_t count,
                        const fettle_parameter *time, const fettle_parameter *value) {
  lua_State *L = c->L;
  lua_createtable(L, (int)count, 0);
  for (size_t i = 0; i < count; i++) {
    lua_createtable(L, 2, 0);
    push_number(c, time, times[i]);
    lua_rawseti(L, -2, 1);
    push_number(c, value, values[i]);
    lua_rawseti(L, -2, 2);
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
}

/* Starts a call: the argument at 1, the working at 2, its inputs at 3, its outputs at 4. */
static call begin(lua_State *L, const char *name) {
  call c = {.L = L, .formula = fettle_find(name), .inputs = 3};
  luaL_checkstack(L, 40, name);
  if (lua_type(L, 1) != LUA_TTABLE || lua_gettop(L) != 1) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: give one table of named values: %s{...}", name,
                      name);
  }
  known_keys(&c, 1, "", c.formula->inputs);
  lua_createtable(L, 0, 12);
  fettle_push_description(L, name);
  static const char *const same[] = {"name", "brief", "formula", "source", "notes", "hazards"};
  for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
    lua_getfield(L, -1, same[i]);
    lua_setfield(L, 2, same[i]);
  }
  lua_pop(L, 1);
  lua_pushliteral(L, "calculation");
  lua_setfield(L, 2, "kind");
  lua_newtable(L);
  lua_newtable(L);
  lua_pushvalue(L, 3);
  lua_setfield(L, 2, "inputs");
  lua_pushvalue(L, 4);
  lua_setfield(L, 2, "outputs");
  lua_newtable(L);
  lua_setfield(L, 2, "warnings");
  return c;
}

/* Sets a result in the table on top and in the working's outputs. */
static void set_result(const call *c, const char *name, double value) {
  const fettle_parameter *p = parameter_of(c->formula->outputs, name);
  fettle_quantity quantity = quantity_of(c, p, value);
  fettle_push_quantity(c->L, &quantity);
  add_value(c->L, 4, p);
  fettle_push_quantity_with_origin(c->L, &quantity, 2);
  lua_setfield(c->L, -2, name);
}

static void add_values_text(lua_State *L, luaL_Buffer *text, int list) {
  lua_Integer count = luaL_len(L, list);
  for (lua_Integer i = 1; i <= count; i++) {
    char shown[80];
    fettle_quantity quantity;
    lua_rawgeti(L, list, i);
    lua_getfield(L, -1, "value");
    if (fettle_to_quantity(L, -1, &quantity)) {
      size_t unit = fettle_unit_choose(&quantity, fettle_get_habit(L));
      fettle_quantity_format(&quantity, unit, SHOWN_DIGITS, shown, sizeof shown);
    } else {
      snprintf(shown, sizeof shown, "given");
    }
    lua_pop(L, 1);
    lua_getfield(L, -1, "name");
    lua_remove(L, -2);
    const char *name = lua_tostring(L, -1);
    lua_pop(L, 1); /* the row keeps the text alive */
    luaL_addstring(text, i == 1 ? "" : ", ");
    luaL_addstring(text, name);
    luaL_addstring(text, " = ");
    luaL_addstring(text, shown);
  }
}

/* Finishes the working and puts it into the table on top. */
static void finish(const call *c) {
  lua_State *L = c->L;
  int result = lua_gettop(L);
  luaL_Buffer text;
  luaL_buffinit(L, &text);
  add_values_text(L, &text, 3);
  luaL_addstring(&text, "; ");
  add_values_text(L, &text, 4);
  luaL_pushresult(&text);
  lua_setfield(L, 2, "substituted");
  lua_settop(L, result);
  lua_pushvalue(L, 2);
  lua_setfield(L, -2, "working");
}

static void warn(const call *c, const char *parameter, const char *message) {
  lua_State *L = c->L;
  lua_getfield(L, 2, "warnings");
  lua_createtable(L, 0, 2);
  lua_pushstring(L, parameter);
  lua_setfield(L, -2, "parameter");
  lua_pushstring(L, message);
  lua_setfield(L, -2, "message");
  lua_rawseti(L, -2, luaL_len(L, -2) + 1);
  lua_pop(L, 1);
}

static const fettle_host *host_of(lua_State *L) {
  lua_getfield(L, LUA_REGISTRYINDEX, "fettle.host");
  const fettle_host *host = lua_touserdata(L, -1);
  lua_pop(L, 1); /* the registry's owner keeps it */
  return host;
}

static void demand(const call *c, fettle_status status, const fettle_diagnostic *diagnostic) {
  if (status != FETTLE_OK) {
    fettle_raise(c->L, c->formula->name, diagnostic);
  }
}

/* --- resin.cure_history --- */

static fettle_cure_kinetics read_kinetics(const call *c) {
  double values[sizeof kinetics_fields / sizeof *kinetics_fields];
  if (lua_getfield(c->L, 1, "kinetics") != LUA_TTABLE) {
    fettle_raise_text(c->L, FETTLE_ERROR_ARGUMENT,
                      "%s: missing kinetics (a table: pre_exponential, activation_energy, order)",
                      c->formula->name);
  }
  int table = lua_gettop(c->L);
  known_keys(c, table, "kinetics: ", kinetics_fields);
  for (size_t i = 0; kinetics_fields[i].name; i++) {
    values[i] = kinetics_fields[i].preset;
    read_field(c, table, "kinetics: ", &kinetics_fields[i], &values[i]);
  }
  lua_pop(c->L, 1);
  return (fettle_cure_kinetics){.first_factor = values[0],
                                .first_energy = values[1],
                                .second_factor = values[2],
                                .second_energy = values[3],
                                .autocatalytic_order = values[4],
                                .order = values[5],
                                .diffusion = values[6],
                                .diffusion_degree = values[7],
                                .diffusion_slope = values[8]};
}

/* How many outputs are wanted, and their times when a list gives them (in a userdata that is left
 * on the stack); else NULL. */
static size_t read_outputs(const call *c, double **times) {
  lua_State *L = c->L;
  *times = NULL;
  int type = lua_getfield(L, 1, "outputs");
  if (type == LUA_TTABLE) {
    lua_Integer count = luaL_len(L, -1);
    if (count > OUTPUTS_MOST) {
      fettle_raise_text(L, FETTLE_ERROR_RANGE, "%s: outputs: must not be more than %d",
                        c->formula->name, OUTPUTS_MOST);
    }
    *times = lua_newuserdatauv(L, ((size_t)count + 1) * sizeof **times, 0);
    lua_insert(L, -2);
    for (lua_Integer i = 0; i < count; i++) {
      lua_geti(L, -1, i + 1);
      (*times)[i] = to_si(c, "outputs: ", &point_fields[0]);
      lua_pop(L, 1);
    }
    lua_pop(L, 1);
    return (size_t)count;
  }
  lua_pop(L, 1);
  double count = 0;
  if (read_input(c, "outputs", &count) && count != floor(count)) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: outputs: must be a whole number",
                      c->formula->name);
  }
  if (count == 1) {
    fettle_raise_text(L, FETTLE_ERROR_RANGE, "%s: outputs = 1: give 2 or more points",
                      c->formula->name);
  }
  return (size_t)count;
}

/* Evenly spread times from 0 to `end`, in a userdata that is left on the stack. */
static double *spread_times(lua_State *L, size_t count, double end) {
  double *times = lua_newuserdatauv(L, (count + 1) * sizeof *times, 0);
  for (size_t i = 0; i < count; i++) {
    times[i] = i + 1 == count ? end : end * (double)i / (double)(count - 1);
  }
  return times;
}

static int cure_history(lua_State *L) {
  call c = begin(L, "resin.cure_history");
  fettle_cure_request request = {.history = read_history(&c), .kinetics = read_kinetics(&c)};
  read_input(&c, "starting_degree", &request.starting_degree);
  read_input(&c, "until_degree", &request.until_degree);
  read_input(&c, "duration", &request.duration);
  read_input(&c, "tolerance", &request.tolerance);
  double *times = NULL;
  size_t count = read_outputs(&c, &times);
  double *degrees = lua_newuserdatauv(L, (count + 1) * sizeof *degrees, 0);
  fettle_cure_result result;
  fettle_diagnostic diagnostic;
  const fettle_host *host = host_of(L);
  request.output_times = times;
  request.output_count = times ? count : 0;
  demand(&c, fettle_cure_run(&request, degrees, &result, host, &diagnostic), &diagnostic);
  if (count > 0 && !times) {
    /* Where the run ends is known only now. */
    times = spread_times(L, count, result.time);
    request.duration = result.time;
    request.output_times = times;
    request.output_count = count;
    fettle_cure_result again;
    demand(&c, fettle_cure_run(&request, degrees, &again, host, &diagnostic), &diagnostic);
  }
  lua_newtable(L);
  set_result(&c, "degree", result.degree);
  set_result(&c, "time", result.time);
  lua_pushboolean(L, result.reached);
  lua_setfield(L, -2, "reached");
  lua_pushboolean(L, result.finished);
  lua_setfield(L, -2, "finished");
  if (result.reached) {
    set_result(&c, "time_to_degree", result.time_to_degree);
  } else if (request.until_degree > 0) {
    warn(&c, "until_degree", "until_degree is not reached by the end of the history");
  }
  const fettle_parameter *time = parameter_of(c.formula->outputs, "time");
  push_points(&c, times, degrees, count, time, parameter_of(c.formula->outputs, "degree"));
  lua_setfield(L, -2, "points");
  for (size_t i = 0; i < count; i++) {
    degrees[i] = fettle_cure_temperature_at(&request.history, times[i]);
  }
  push_points(&c, times, degrees, count, time, parameter_of(c.formula->inputs, "temperature"));
  lua_setfield(L, -2, "temperatures");
  finish(&c);
  return 1;
}

/* --- resin.equivalent_time --- */

static fettle_cure_rule read_rule(const call *c) {
  fettle_cure_rule rule = {.reference_temperature =
                               required_input(c, "reference_temperature", "such as degF(77)"),
                           .factor = parameter_of(c->formula->inputs, "factor")->preset};
  bool by_energy = read_input(c, "activation_energy", &rule.activation_energy);
  bool by_step = read_input(c, "step", &rule.step);
  bool factor = read_input(c, "factor", &rule.factor);
  if (by_energy == by_step || (by_energy && factor)) {
    fettle_raise_text(c->L, FETTLE_ERROR_ARGUMENT,
                      "%s: give either a step (and factor) or an activation_energy",
                      c->formula->name);
  }
  return rule;
}

static int equivalent_time(lua_State *L) {
  call c = begin(L, "resin.equivalent_time");
  fettle_cure_history history = read_history(&c);
  fettle_cure_rule rule = read_rule(&c);
  double duration = 0;
  double required = 0;
  double within = 0;
  read_input(&c, "duration", &duration);
  bool has_required = read_input(&c, "required", &required);
  bool has_within = read_input(&c, "within", &within);
  double *times = NULL;
  size_t count = read_outputs(&c, &times);
  const fettle_host *host = host_of(L);
  fettle_diagnostic diagnostic;
  if (has_within && !has_required) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: missing required (it goes with within)",
                      c.formula->name);
  }
  double ready = 0;
  bool is_ready = false;
  if (has_required) {
    fettle_status status =
        fettle_cure_ready_time(&history, required, &rule, &ready, host, &diagnostic);
    is_ready = status == FETTLE_OK;
    if (!is_ready && status != FETTLE_ERROR_UNREACHABLE) {
      demand(&c, status, &diagnostic);
    }
    if (!is_ready) {
      warn(&c, "required", diagnostic.message);
    }
  }
  double last = history.points[history.count - 1].time - history.points[0].time;
  double end = duration > 0 ? duration : history.count > 1 ? last : ready;
  double equivalent = 0;
  demand(&c, fettle_cure_equivalent_time(&history, end, &rule, &equivalent, host, &diagnostic),
         &diagnostic);
  lua_newtable(L);
  set_result(&c, "equivalent", equivalent);
  lua_pushboolean(L, is_ready);
  lua_setfield(L, -2, "reached");
  if (is_ready) {
    set_result(&c, "ready", ready);
  }
  if (has_within) {
    double temperature = 0;
    demand(&c, fettle_cure_constant_temperature(&rule, required, within, &temperature, &diagnostic),
           &diagnostic);
    set_result(&c, "constant_temperature", temperature);
  }
  if (count > 0) {
    if (!times) {
      times = spread_times(L, count, end);
      lua_insert(L, -2);
    }
    double *values = lua_newuserdatauv(L, count * sizeof *values, 0);
    lua_insert(L, -2);
    for (size_t i = 0; i < count; i++) {
      values[i] = 0;
      if (times[i] > 0) {
        demand(
            &c,
            fettle_cure_equivalent_time(&history, times[i], &rule, &values[i], host, &diagnostic),
            &diagnostic);
      }
    }
    const fettle_parameter *time = parameter_of(c.formula->outputs, "equivalent");
    push_points(&c, times, values, count, time, time);
    lua_setfield(L, -2, "points");
  }
  finish(&c);
  return 1;
}

void fettle_open_cure(lua_State *L, int index) {
  index = lua_absindex(L, index);
  if (lua_getfield(L, index, "resin") != LUA_TTABLE) {
    lua_pop(L, 1);
    lua_newtable(L);
    lua_pushvalue(L, -1);
    lua_setfield(L, index, "resin");
  }
  lua_pushcfunction(L, cure_history);
  lua_setfield(L, -2, "cure_history");
  lua_pushcfunction(L, equivalent_time);
  lua_setfield(L, -2, "equivalent_time");
  lua_pop(L, 1);
}
