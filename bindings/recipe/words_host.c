/* The C functions on which the shipped words of a recipe stand. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sysexits.h>

#include <lauxlib.h>

#include "data/csv.h"
#include "data/shop.h"
#include "fettle/formula.h"
#include "fettle/version.h"
#include "lua/catalogue.h"
#include "lua/error.h"
#include "lua/quantity.h"
#include "recipe/setting.h"
#include "recipe/work.h"
#include "sandbox/environment.h"
#include "sandbox/nearest.h"
#include "sandbox/source.h"
#include "sheet/trusted.h"

enum {
  YAML_BYTES_MOST = 1 << 20,
  CSV_BYTES_MOST = 8 << 20,    /* rows of tables must fit into the memory of the box */
  OUTPUT_BYTES_MOST = 1 << 20, /* of all that print writes */
  SYMBOLS_MOST = 64            /* of one formula: given and assigned */
};

int fettle_work_raise(lua_State *L, fettle_work *work) {
  fettle_push_place(L);
  lua_pushstring(L, work->failed.message);
  lua_concat(L, 2);
  return lua_error(L);
}

/* Raises a diagnostic of the core under the name of what it is about. */
static int raise_diagnostic(lua_State *L, const char *what, const fettle_diagnostic *diagnostic) {
  fettle_work *work = fettle_work_of(L);
  fettle_problem_set(&work->failed, EX_DATAERR, fettle_status_name(diagnostic->status), "%s: %s",
                     what, diagnostic->message);
  return fettle_work_raise(L, work);
}

/* fail(message [, code]) */
static int host_fail(lua_State *L) {
  fettle_work *work = fettle_work_of(L);
  fettle_problem_set(&work->failed, EX_DATAERR, luaL_optstring(L, 2, "argument"), "%s",
                     luaL_checkstring(L, 1));
  return fettle_work_raise(L, work);
}

static int host_text(lua_State *L) {
  luaL_checkany(L, 1);
  fettle_push_text(L, 1);
  return 1;
}

/* describe(value): for messages: "the text 'abc'", "20 mil", "a table". */
static int host_describe(lua_State *L) {
  luaL_checkany(L, 1);
  switch (lua_type(L, 1)) {
  case LUA_TSTRING: {
    size_t length;
    const char *text = lua_tolstring(L, 1, &length);
    lua_pushfstring(L, "the text '%s'", length > 60 ? "..." : text);
    return 1;
  }
  case LUA_TNUMBER:
  case LUA_TUSERDATA:
    fettle_push_text(L, 1);
    return 1;
  case LUA_TBOOLEAN:
    lua_pushstring(L, lua_toboolean(L, 1) ? "true" : "false");
    return 1;
  case LUA_TNIL:
    lua_pushliteral(L, "nothing");
    return 1;
  default:
    lua_pushfstring(L, "a %s", luaL_typename(L, 1));
    return 1;
  }
}

static int host_nearest(lua_State *L) {
  luaL_checktype(L, 1, LUA_TTABLE);
  if (lua_type(L, 2) != LUA_TSTRING) {
    lua_pushnil(L);
    return 1;
  }
  fettle_push_nearest(L, 1, lua_tostring(L, 2));
  return 1;
}

static int host_place(lua_State *L) {
  fettle_push_place(L);
  size_t length;
  const char *place = lua_tolstring(L, -1, &length);
  lua_pushlstring(L, place, length > 2 ? length - 2 : 0); /* without ": " */
  return 1;
}

static int host_set_habit(lua_State *L) {
  fettle_set_habit(L, strcmp(luaL_checkstring(L, 1), "metric") == 0 ? FETTLE_HABIT_METRIC
                                                                    : FETTLE_HABIT_INCH);
  return 0;
}

static int host_is_quantity(lua_State *L) {
  lua_pushboolean(L, fettle_is_quantity(L, 1));
  return 1;
}

static int host_origin(lua_State *L) {
  if (fettle_is_quantity(L, 1)) {
    fettle_push_origin(L, 1);
  } else {
    lua_pushnil(L);
  }
  return 1;
}

/* with_origin(value, origin): anything but a quantity is returned as it is. */
static int host_with_origin(lua_State *L) {
  fettle_quantity quantity;
  if (fettle_is_quantity(L, 1) && fettle_to_quantity(L, 1, &quantity)) {
    fettle_push_quantity_with_origin(L, &quantity, 2);
  } else {
    lua_pushvalue(L, 1);
  }
  return 1;
}

/* --- units --- */

/* in_unit(what, value, unit) */
static int host_in_unit(lua_State *L) {
  const char *what = luaL_checkstring(L, 1), *unit = luaL_checkstring(L, 3);
  fettle_quantity quantity;
  fettle_diagnostic diagnostic = {.status = FETTLE_OK};
  double number;
  fettle_unit_expression parsed;
  if (!fettle_to_quantity(L, 2, &quantity)) {
    fettle_fail(&diagnostic, FETTLE_ERROR_ARGUMENT, "", "must be a quantity or a finite number");
    return raise_diagnostic(L, what, &diagnostic);
  }
  if (fettle_unit_parse(unit, strlen(unit), &parsed, &diagnostic) != FETTLE_OK ||
      fettle_quantity_number(&quantity, unit, &number, &diagnostic) != FETTLE_OK) {
    return raise_diagnostic(L, what, &diagnostic);
  }
  if (!fettle_is_quantity(L, 2)) {
    lua_pushvalue(L, 2);
    return 1;
  }
  if (parsed.index != 0) {
    quantity.unit = (uint16_t)parsed.index;
  }
  fettle_push_origin(L, 2);
  if (lua_isnil(L, -1)) {
    fettle_push_quantity(L, &quantity);
  } else {
    fettle_push_quantity_with_origin(L, &quantity, lua_gettop(L));
  }
  return 1;
}

/* one(what, unit): the quantity 1 of a unit, as a pattern for others. */
static int host_one(lua_State *L) {
  const char *what = luaL_checkstring(L, 1), *unit = luaL_checkstring(L, 2);
  fettle_quantity quantity;
  fettle_diagnostic diagnostic = {.status = FETTLE_OK};
  if (fettle_quantity_make(1, unit, FETTLE_ROLE_ANY, &quantity, &diagnostic) != FETTLE_OK) {
    return raise_diagnostic(L, what, &diagnostic);
  }
  fettle_push_quantity(L, &quantity);
  return 1;
}

/* like(what, value, pattern): refuses another dimension, and a difference of temperature for a
 * point. */
static int host_like(lua_State *L) {
  const char *what = luaL_checkstring(L, 1);
  fettle_quantity value, pattern;
  fettle_diagnostic diagnostic = {.status = FETTLE_OK};
  if (!fettle_to_quantity(L, 3, &pattern)) {
    return 0;
  }
  char want[64], got[64], units[96];
  fettle_dimension_name(pattern.dimension, want, sizeof want);
  fettle_setting_units(&pattern, fettle_get_habit(L), units, sizeof units);
  if (!fettle_to_quantity(L, 2, &value)) {
    fettle_fail(&diagnostic, FETTLE_ERROR_ARGUMENT, "", "must be a %s, not a %s", want,
                luaL_typename(L, 2));
    return raise_diagnostic(L, what, &diagnostic);
  }
  if (value.dimension != pattern.dimension) {
    lua_settop(L, 3);
    fettle_push_text(L, 2);
    if (value.dimension == 0) {
      fettle_fail(&diagnostic, FETTLE_ERROR_DIMENSION, "", "%s what? %s", lua_tostring(L, -1),
                  units);
    } else {
      fettle_dimension_name(value.dimension, got, sizeof got);
      fettle_fail(&diagnostic, FETTLE_ERROR_DIMENSION, "", "%s is a %s, but a %s is wanted (%s)",
                  lua_tostring(L, -1), got, want, units);
    }
    return raise_diagnostic(L, what, &diagnostic);
  }
  if ((value.flags & FETTLE_QUANTITY_POINT) != (pattern.flags & FETTLE_QUANTITY_POINT)) {
    fettle_fail(&diagnostic, FETTLE_ERROR_DIMENSION, "",
                "a point on a temperature scale and a difference of temperature are not the same");
    return raise_diagnostic(L, what, &diagnostic);
  }
  return 0;
}

static int host_magnitude(lua_State *L) {
  fettle_quantity quantity;
  if (!fettle_to_quantity(L, 1, &quantity)) {
    return luaL_argerror(L, 1, "a quantity is wanted");
  }
  if (quantity.value < 0) {
    quantity.value = -quantity.value;
  }
  fettle_push_quantity(L, &quantity);
  return 1;
}

static int host_descriptions(lua_State *L) {
  fettle_push_descriptions(L);
  return 1;
}

/* --- settings --- */

/* The value of setting `name`, or NULL; marks it as used. */
static const char *setting_value(fettle_work *work, const char *name) {
  size_t length = strlen(name);
  const fettle_run_options *options = work->options;
  for (size_t i = 0; i < options->setting_count; i++) {
    const char *setting = options->settings[i];
    if (strncmp(setting, name, length) == 0 && setting[length] == '=') {
      work->setting_used[i] = true;
      return setting + length + 1;
    }
  }
  return NULL;
}

static int host_setting(lua_State *L) {
  lua_pushstring(L, setting_value(fettle_work_of(L), luaL_checkstring(L, 1)));
  return 1;
}

/* setting_left(): the name of a setting that nothing asked for, or nil. */
static int host_setting_left(lua_State *L) {
  const fettle_work *work = fettle_work_of(L);
  for (size_t i = 0; i < work->options->setting_count; i++) {
    if (!work->setting_used[i]) {
      const char *setting = work->options->settings[i];
      lua_pushlstring(L, setting, strcspn(setting, "="));
      return 1;
    }
  }
  return 0;
}

/* read_setting(name, text, like): the value of a setting, by the type of `like`. */
static int host_read_setting(lua_State *L) {
  const char *name = luaL_checkstring(L, 1), *text = luaL_checkstring(L, 2);
  fettle_work *work = fettle_work_of(L);
  if (lua_type(L, 3) == LUA_TSTRING) {
    lua_pushvalue(L, 2);
    return 1;
  }
  if (lua_type(L, 3) == LUA_TBOOLEAN) {
    bool yes = strcmp(text, "true") == 0;
    if (!yes && strcmp(text, "false") != 0) {
      fettle_problem_set(&work->failed, EX_DATAERR, "text", "%s = %s: must be true or false", name,
                         text);
      return fettle_work_raise(L, work);
    }
    lua_pushboolean(L, yes);
    return 1;
  }
  fettle_quantity like, value;
  fettle_diagnostic diagnostic = {.status = FETTLE_OK};
  fettle_to_quantity(L, 3, &like);
  fettle_status status =
      fettle_setting_quantity(name, text, &like, fettle_get_habit(L), &value, &diagnostic);
  if (status != FETTLE_OK) {
    fettle_problem_set(&work->failed, EX_DATAERR, fettle_status_name(status), "%s",
                       diagnostic.message);
    return fettle_work_raise(L, work);
  }
  if (like.unit != 0) {
    value.unit = like.unit; /* shown as the recipe's author shows it */
  }
  fettle_push_quantity(L, &value);
  return 1;
}

/* --- formulas --- */

/* evaluate(what, text, with, unit): the last value that `text` assigns, the working
 * text, and the symbol of the value. */
static int host_evaluate(lua_State *L) {
  const char *what = luaL_checkstring(L, 1), *text = luaL_checkstring(L, 2);
  luaL_checktype(L, 3, LUA_TTABLE);
  const char *unit = luaL_optstring(L, 4, NULL);
  fettle_symbol symbols[SYMBOLS_MOST];
  size_t count = 0;
  fettle_diagnostic diagnostic = {.status = FETTLE_OK};
  lua_pushnil(L);
  while (lua_next(L, 3)) {
    if (count == SYMBOLS_MOST / 2) {
      fettle_fail(&diagnostic, FETTLE_ERROR_ARGUMENT, "with", "with: more than %d values",
                  SYMBOLS_MOST / 2);
      return raise_diagnostic(L, what, &diagnostic);
    }
    fettle_symbol *symbol = &symbols[count++];
    symbol->name = lua_tolstring(L, -2, &symbol->length); /* anchored in `with` */
    if (!fettle_to_quantity(L, -1, &symbol->value)) {
      fettle_fail(&diagnostic, FETTLE_ERROR_ARGUMENT, symbol->name,
                  "with: %s is no quantity or finite number", symbol->name);
      return raise_diagnostic(L, what, &diagnostic);
    }
    lua_pop(L, 1);
  }
  size_t given = count;
  if (fettle_expression_evaluate(text, symbols, &count, SYMBOLS_MOST, NULL, &diagnostic) !=
      FETTLE_OK) {
    return raise_diagnostic(L, what, &diagnostic);
  }
  if (count == given) {
    fettle_fail(&diagnostic, FETTLE_ERROR_TEXT, "formula", "formula: assigns nothing");
    return raise_diagnostic(L, what, &diagnostic);
  }
  fettle_quantity value = symbols[count - 1].value;
  if (unit) {
    fettle_unit_expression parsed;
    double number;
    if (fettle_unit_parse(unit, strlen(unit), &parsed, &diagnostic) != FETTLE_OK ||
        fettle_quantity_number(&value, unit, &number, &diagnostic) != FETTLE_OK) {
      return raise_diagnostic(L, what, &diagnostic);
    }
    value.unit = (uint16_t)parsed.index;
  }
  fettle_habit habit = fettle_get_habit(L);
  char substituted[2048], shown[96];
  fettle_expression_substitute(text, symbols, given, habit, substituted, sizeof substituted);
  fettle_quantity_format(&value, value.unit ? value.unit : fettle_unit_choose(&value, habit), 6,
                         shown, sizeof shown);
  fettle_push_quantity(L, &value);
  lua_pushfstring(L, "%s = %s", substituted, shown);
  lua_pushlstring(L, symbols[count - 1].name, symbols[count - 1].length);
  return 3;
}

/* --- files --- */

typedef struct view {
  const char *bytes;
  size_t length;
} view;

static int push_view(lua_State *L) {
  const view *seen = lua_touserdata(L, 1);
  lua_pushlstring(L, seen->bytes, seen->length);
  return 1;
}

void fettle_push_file(lua_State *L, fettle_work *work, const char *path, size_t most) {
  char *bytes;
  size_t length;
  if (fettle_source_read(path, most, &bytes, &length, &work->failed) != 0) {
    fettle_work_raise(L, work);
  }
  view seen = {bytes, length};
  lua_pushcfunction(L, push_view);
  lua_pushlightuserdata(L, &seen);
  int status = lua_pcall(L, 1, 1, 0); /* it may be larger than the budget */
  free(bytes);
  if (status != LUA_OK) {
    lua_error(L);
  }
}

static void push_short_digest(lua_State *L, int index) {
  size_t length;
  const char *bytes = lua_tolstring(L, index, &length);
  char digest[FETTLE_DIGEST_TEXT];
  fettle_digest(bytes, length, digest);
  lua_pushlstring(L, digest, FETTLE_DIGEST_SHOWN);
}

/* shop_data(name): {data =, origins =}, and {file =, path =, digest =}. */
static int host_shop_data(lua_State *L) {
  fettle_work *work = fettle_work_of(L);
  const char *name = luaL_checkstring(L, 1);
  const char *set = setting_value(work, "shop");
  char path[FETTLE_PATH_MOST];
  if (fettle_file_beside(work->folder, set ? set : name, path, &work->failed) != 0) {
    return fettle_work_raise(L, work);
  }
  fettle_pass *pass = work->pass;
  if (set) {
    /* Recipes from which this one takes results then read the same file. */
    fettle_problem ignored;
    if (fettle_file_beside(work->folder, name, pass->shop_named, &ignored) == 0) {
      snprintf(pass->shop_taken, sizeof pass->shop_taken, "%s", path);
    }
  } else if (pass->shop_named[0] && strcmp(path, pass->shop_named) == 0) {
    snprintf(path, sizeof path, "%s", pass->shop_taken);
  }
  fettle_push_file(L, work, path, YAML_BYTES_MOST);
  size_t length;
  const char *bytes = lua_tolstring(L, -1, &length);
  int text = lua_gettop(L);
  /* A guess is named "FILE:path"; this pass moves one of them to its low or high end. */
  size_t size = strlen(path);
  const char *moved =
      pass->moved && strncmp(pass->moved, path, size) == 0 && pass->moved[size] == ':'
          ? pass->moved + size + 1
          : NULL;
  int status = fettle_shop_read(L, path, bytes, length, moved, pass->high ? 1 : -1);
  if (status != 0) {
    fettle_problem_set(&work->failed, status, "data", "%s", lua_tostring(L, -1));
    return fettle_work_raise(L, work);
  }
  lua_createtable(L, 0, 3);
  lua_pushstring(L, path);
  lua_setfield(L, -2, "path");
  lua_pushstring(L, set ? set : name);
  lua_setfield(L, -2, "file");
  push_short_digest(L, text);
  lua_setfield(L, -2, "digest");
  return 2;
}

/* note_guess(file, path): a guess with a spread was read. */
static int host_note_guess(lua_State *L) {
  const fettle_pass *pass = fettle_work_of(L)->pass;
  const char *path = luaL_checkstring(L, 2);
  lua_pushstring(pass->trusted, path);
  lua_setfield(pass->trusted, pass->guesses,
               lua_pushfstring(L, "%s:%s", luaL_checkstring(L, 1), path));
  return 0;
}

/* read_csv(file, columns): its rows, and the file's digest. */
static int host_read_csv(lua_State *L) {
  fettle_work *work = fettle_work_of(L);
  const char *name = luaL_checkstring(L, 1);
  char path[FETTLE_PATH_MOST];
  if (fettle_file_beside(work->folder, name, path, &work->failed) != 0) {
    return fettle_work_raise(L, work);
  }
  fettle_push_file(L, work, path, CSV_BYTES_MOST);
  int text = lua_gettop(L);
  size_t length;
  const char *bytes = lua_tolstring(L, text, &length);
  int status = fettle_csv_read(L, path, bytes, length, 2);
  if (status != 0) {
    fettle_problem_set(&work->failed, status, "data", "%s", lua_tostring(L, -1));
    return fettle_work_raise(L, work);
  }
  push_short_digest(L, text);
  return 2;
}

/* --- results of other recipes --- */

/* Says "a.lua -> b.lua -> a.lua" when the recipe at `real` is already being run. */
static bool names_loop(const fettle_work *work, const char *real, const char *shown, char *out,
                       size_t capacity) {
  const fettle_work *chain[FETTLE_TAKEN_DEPTH_MOST + 1];
  size_t count = 0;
  bool found = false;
  for (const fettle_work *at = work; at && !found && count <= FETTLE_TAKEN_DEPTH_MOST;
       at = at->taker) {
    chain[count++] = at;
    found = strcmp(at->real_path, real) == 0;
  }
  if (!found && count <= FETTLE_TAKEN_DEPTH_MOST) {
    return false;
  }
  size_t used = 0;
  while (count > 0 && used < capacity) {
    int written =
        snprintf(out + used, capacity - used, "%.200s -> ", chain[--count]->options->path);
    used += written > 0 ? (size_t)written : 0;
  }
  if (used < capacity) {
    snprintf(out + used, capacity - used, "%.200s", shown);
  }
  return true;
}

/* Marks the item at the top of the stack when its value is not the recorded one. */
static int note_stale(lua_State *L, fettle_work *work, const char *from, const char *name) {
  fettle_quantity now, was;
  bool stale = false;
  lua_getfield(L, -1, "value");
  bool good = fettle_to_quantity(L, -1, &now);
  lua_pop(L, 1);
  if (good && fettle_record_taken(work->options->path, from, name, &now, &was, &stale,
                                  &work->failed) != 0) {
    return fettle_work_raise(L, work);
  }
  if (stale) {
    lua_pushboolean(L, 1);
    lua_setfield(L, -2, "stale");
    fettle_push_quantity(L, &was);
    lua_setfield(L, -2, "was");
  }
  return 1;
}

/* take(recipe, result): a copy of the result's item in the sheet model of that recipe. */
static int host_take(lua_State *L) {
  fettle_work *work = fettle_work_of(L);
  const char *name = luaL_checkstring(L, 1), *wanted = luaL_checkstring(L, 2);
  char path[FETTLE_PATH_MOST];
  if (fettle_file_beside(work->folder, name, path, &work->failed) != 0) {
    return fettle_work_raise(L, work);
  }
  char real[FETTLE_PATH_MOST], loop[600];
  fettle_file_real(path, real);
  if (names_loop(work, real, path, loop, sizeof loop)) {
    fettle_problem_set(&work->failed, EX_DATAERR, "loop",
                       "from_recipe: recipes take from each other in a loop: %s", loop);
    return fettle_work_raise(L, work);
  }
  lua_State *trusted = work->pass->trusted;
  int top = lua_gettop(trusted);
  fettle_run_options options = {.path = path, .job_effort = work->options->job_effort};
  fettle_problem problem;
  if (fettle_work_model(work->pass, work, &options, &problem) != 0) {
    fettle_problem_set(&work->failed, problem.exit_status, problem.code, "from_recipe %s: %.900s",
                       name, problem.message);
    return fettle_work_raise(L, work);
  }
  lua_getfield(trusted, -1, "items");
  lua_newtable(L); /* names of results, for the message */
  int names = lua_gettop(L);
  lua_Integer count = (lua_Integer)lua_rawlen(trusted, -1);
  for (lua_Integer i = 1; i <= count; i++) {
    lua_geti(trusted, -1, i);
    lua_getfield(trusted, -1, "kind");
    bool result = strcmp(lua_tostring(trusted, -1), "result") == 0;
    lua_pop(trusted, 1);
    if (result) {
      lua_getfield(trusted, -1, "name");
      const char *found = lua_tostring(trusted, -1);
      if (strcmp(found, wanted) == 0) {
        lua_pop(trusted, 1);
        const char *failure = fettle_copy_value(trusted, -1, L);
        lua_settop(trusted, top);
        if (failure) {
          fettle_problem_set(&work->failed, EX_DATAERR, "data", "from_recipe %s: %s: %s", name,
                             wanted, failure);
          return fettle_work_raise(L, work);
        }
        return note_stale(L, work, name, wanted);
      }
      lua_pushboolean(L, 1);
      lua_setfield(L, names, found);
      lua_pop(trusted, 1);
    }
    lua_pop(trusted, 1);
  }
  lua_settop(trusted, top);
  fettle_push_nearest(L, names, wanted);
  const char *near = lua_tostring(L, -1);
  fettle_problem_set(&work->failed, EX_DATAERR, "missing result",
                     "from_recipe %s: it has no result '%s'%s%s%s", name, wanted,
                     near ? ": the nearest is '" : "", near ? near : "", near ? "'" : "");
  return fettle_work_raise(L, work);
}

/* load_calculations(file): what a shop's own file of functions returns, and the file's digest. */
static int host_load_calculations(lua_State *L) {
  fettle_work *work = fettle_work_of(L);
  const char *name = luaL_checkstring(L, 1);
  char path[FETTLE_PATH_MOST];
  if (fettle_file_beside(work->folder, name, path, &work->failed) != 0) {
    return fettle_work_raise(L, work);
  }
  fettle_push_file(L, work, path, FETTLE_SOURCE_BYTES_MOST + 1);
  int text = lua_gettop(L);
  size_t length;
  const char *bytes = lua_tolstring(L, text, &length);
  lua_pushfstring(L, "@%s", path);
  lua_getfield(L, LUA_REGISTRYINDEX, FETTLE_ENVIRONMENT_KEY);
  fettle_push_chunk(L, work, lua_tostring(L, -2), bytes, length, lua_gettop(L));
  lua_call(L, 0, 1);
  push_short_digest(L, text);
  return 2;
}

static int host_charge_output(lua_State *L) {
  fettle_work *work = fettle_work_of(L);
  work->output += (size_t)luaL_checkinteger(L, 1);
  if (work->output > OUTPUT_BYTES_MOST) {
    fettle_problem_set(&work->failed, EX_DATAERR, "budget",
                       "print: more than 1 MiB is printed: use tabulate for tables");
    return fettle_work_raise(L, work);
  }
  return 0;
}

void fettle_push_words_host(lua_State *L) {
  static const luaL_Reg functions[] = {
      {"calculation", fettle_make_calculation},
      {"charge_output", host_charge_output},
      {"describe", host_describe},
      {"descriptions", host_descriptions},
      {"evaluate", host_evaluate},
      {"fail", host_fail},
      {"in_unit", host_in_unit},
      {"is_quantity", host_is_quantity},
      {"like", host_like},
      {"load_calculations", host_load_calculations},
      {"magnitude", host_magnitude},
      {"nearest", host_nearest},
      {"one", host_one},
      {"origin", host_origin},
      {"place", host_place},
      {"note_guess", host_note_guess},
      {"read_csv", host_read_csv},
      {"read_setting", host_read_setting},
      {"set_habit", host_set_habit},
      {"setting", host_setting},
      {"setting_left", host_setting_left},
      {"shop_data", host_shop_data},
      {"take", host_take},
      {"text", host_text},
      {"with_origin", host_with_origin},
      {NULL, NULL},
  };
  const fettle_work *work = fettle_work_of(L);
  luaL_newlib(L, functions);
  lua_getfield(L, LUA_REGISTRYINDEX, FETTLE_VOCABULARY_KEY);
  lua_getfield(L, -1, "pairs");
  lua_setfield(L, -3, "pairs");
  lua_getfield(L, -1, "is_empty");
  lua_setfield(L, -3, "is_empty");
  lua_pop(L, 1);
  lua_pushliteral(L, FETTLE_VERSION);
  lua_setfield(L, -2, "version");
  lua_pushinteger(L, FETTLE_RESULTS_REVISION);
  lua_setfield(L, -2, "results_revision");
  lua_pushinteger(L, FETTLE_RECIPE_ENGINE);
  lua_setfield(L, -2, "recipe_engine");
  lua_pushstring(L, work->options ? work->options->path : "");
  lua_setfield(L, -2, "file");
  lua_pushboolean(L, work->pass == NULL);
  lua_setfield(L, -2, "session");
  lua_pushlstring(L, work->digest, FETTLE_DIGEST_SHOWN);
  lua_setfield(L, -2, "digest");
  fettle_quantity temperature;
  if (fettle_quantity_make(20, "degC", FETTLE_ROLE_POINT, &temperature, NULL) == FETTLE_OK) {
    temperature.unit = 0; /* a pattern for settings: dimension and kind, no unit of its own */
    fettle_push_quantity(L, &temperature);
    lua_setfield(L, -2, "temperature");
  }
}
