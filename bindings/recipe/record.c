#include "recipe/record.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sysexits.h>

#include <lauxlib.h>

#include "data/file.h"
#include "data/yaml.h"
#include "lua/quantity.h"
#include "lua/scripts.h"
#include "recipe/work.h"

enum { RECORD_BYTES_MOST = 1 << 20, EXACT_DIGITS = 17 };

/* A value taken from a recipe counts as changed when it moved by more than this share. */
static const double taken_tolerance = 1e-8;

static int record_path(const char *recipe, char out[FETTLE_PATH_MOST], fettle_problem *problem) {
  size_t length = strlen(recipe);
  if (length > 4 && strcmp(recipe + length - 4, ".lua") == 0) {
    length -= 4;
  }
  int written = snprintf(out, FETTLE_PATH_MOST, "%.*s.record.yaml", (int)length, recipe);
  if (written < 0 || written >= FETTLE_PATH_MOST) {
    return fettle_problem_set(problem, EX_NOINPUT, "missing file", "the recipe's name is too long");
  }
  return 0;
}

/* --- values as text, and back --- */

static void write_value(const fettle_quantity *value, int digits, char *out, size_t capacity) {
  if (value->dimension == 0) {
    fettle_number_format(value->value, digits, out, capacity);
  } else {
    fettle_quantity_format(value, value->unit, digits, out, capacity);
  }
}

/* Reads a text as a value like `like`; false when it is no value or of another dimension. */
static bool read_value(const char *text, const fettle_quantity *like, fettle_quantity *out) {
  fettle_role role =
      like->flags & FETTLE_QUANTITY_POINT ? FETTLE_ROLE_POINT : FETTLE_ROLE_DIFFERENCE;
  return fettle_quantity_parse(text, strlen(text), role, out, NULL) == FETTLE_OK &&
         out->dimension == like->dimension;
}

static fettle_quantity value_at(lua_State *L, int index) {
  fettle_quantity value;
  if (!fettle_to_quantity(L, index, &value)) {
    luaL_argerror(L, index, "a quantity is wanted");
  }
  return value;
}

static int push_written(lua_State *L, int digits) {
  fettle_quantity value = value_at(L, 1);
  char text[128];
  write_value(&value, digits, text, sizeof text);
  lua_pushstring(L, text);
  return 1;
}

static int record_exact(lua_State *L) {
  return push_written(L, EXACT_DIGITS);
}

static int record_shown(lua_State *L) {
  return push_written(L, 6);
}

/* read(text, like, difference): the value as a number of SI, or nil; a difference of temperature
 * where `difference` says so. Quantities are compared by their SI numbers here. */
static int record_read(lua_State *L) {
  fettle_quantity like = value_at(L, 2), value;
  if (lua_toboolean(L, 3)) {
    like.flags = 0;
  }
  if (lua_type(L, 1) != LUA_TSTRING || !read_value(lua_tostring(L, 1), &like, &value)) {
    lua_pushnil(L);
  } else {
    lua_pushnumber(L, value.value);
  }
  return 1;
}

static int record_magnitude(lua_State *L) {
  lua_pushnumber(L, fabs(luaL_checknumber(L, 1)));
  return 1;
}

/* distance(value, number of SI) */
static int record_distance(lua_State *L) {
  lua_pushnumber(L, fabs(value_at(L, 1).value - luaL_checknumber(L, 2)));
  return 1;
}

/* --- the file --- */

static void push_node(lua_State *L, const fettle_yaml_node *node) {
  luaL_checkstack(L, 4, "record");
  if (node->kind == FETTLE_YAML_TEXT) {
    lua_pushlstring(L, node->text, node->length);
    return;
  }
  lua_newtable(L);
  for (size_t i = 0; i < node->count; i++) {
    push_node(L, &node->items[i]);
    if (node->kind == FETTLE_YAML_MAP) {
      lua_setfield(L, -2, node->keys[i].text);
    } else {
      lua_seti(L, -2, (lua_Integer)i + 1);
    }
  }
}

static int wrong(fettle_problem *problem, const char *path, const fettle_yaml_node *node,
                 const char *what) {
  return fettle_problem_set(problem, EX_DATAERR, "data", "%s:%zu:%zu: %s: record it again", path,
                            node->line, node->column, what);
}

static bool is_map(const fettle_yaml_node *node) {
  return !node || node->kind == FETTLE_YAML_MAP;
}

/* Reads a record; the tree is owned by caller. */
static int read_record(const char *path, fettle_yaml **yaml, fettle_problem *problem) {
  char *bytes;
  size_t length;
  *yaml = NULL;
  int result = fettle_source_read(path, RECORD_BYTES_MOST, &bytes, &length, problem);
  if (result != 0) {
    return result;
  }
  fettle_yaml_problem fault;
  *yaml = fettle_yaml_read(path, bytes, length, &fault);
  free(bytes);
  if (!*yaml) {
    return fettle_problem_set(problem, EX_DATAERR, "data", "%s", fault.message);
  }
  const fettle_yaml_node *root = fettle_yaml_root(*yaml);
  const fettle_yaml_node *bad = NULL;
  const char *what = "a record is a table";
  if (root->kind != FETTLE_YAML_MAP) {
    bad = root;
  } else {
    static const char *const tables[] = {"results", "checks", "taken"};
    for (size_t t = 0; t < sizeof tables / sizeof *tables && !bad; t++) {
      const fettle_yaml_node *table = fettle_yaml_get(root, tables[t]);
      if (!is_map(table)) {
        bad = table;
        what = "must be a table of names";
      }
      for (size_t i = 0; table && !bad && i < table->count; i++) {
        const fettle_yaml_node *item = &table->items[i];
        bool good = t == 1   ? item->kind == FETTLE_YAML_TEXT
                    : t == 2 ? item->kind == FETTLE_YAML_MAP
                             : item->kind == FETTLE_YAML_MAP && fettle_yaml_get(item, "value") &&
                                   fettle_yaml_get(item, "value")->kind == FETTLE_YAML_TEXT;
        if (!good) {
          bad = item;
          what = t == 0 ? "a result has a value and a tolerance" : "is not of the form of a record";
        }
      }
    }
  }
  if (bad) {
    result = wrong(problem, path, bad, what);
    fettle_yaml_free(*yaml);
    *yaml = NULL;
  }
  return result;
}

int fettle_record_taken(const char *recipe_path, const char *from, const char *name,
                        const fettle_quantity *now, fettle_quantity *was, bool *stale,
                        fettle_problem *problem) {
  char path[FETTLE_PATH_MOST];
  fettle_yaml *yaml;
  *stale = false;
  int result = record_path(recipe_path, path, problem);
  if (result == 0) {
    result = read_record(path, &yaml, problem);
  }
  if (result != 0) {
    return result == EX_NOINPUT ? 0 : result; /* nothing is recorded yet */
  }
  const fettle_yaml_node *taken = fettle_yaml_get(fettle_yaml_root(yaml), "taken");
  const fettle_yaml_node *recipe = taken ? fettle_yaml_get(taken, from) : NULL;
  const fettle_yaml_node *value = recipe ? fettle_yaml_get(recipe, name) : NULL;
  if (value && value->kind == FETTLE_YAML_TEXT) {
    if (!read_value(value->text, now, was)) {
      result = wrong(problem, path, value, "is not a value of the dimension of now");
    } else {
      was->unit = now->unit;
      *stale = !(fabs(now->value - was->value) <= taken_tolerance * fabs(was->value));
    }
  }
  fettle_yaml_free(yaml);
  return result;
}

/* --- verify and record --- */

typedef struct job {
  const char *recipe, *record;
  bool writes;
  fettle_problem *problem;
  int result;
} job;

/* Stack of the trusted state: 1 the job; leaves the table of changes on top. */
static int compare(lua_State *L) {
  job *asked = lua_touserdata(L, 1);
  static const luaL_Reg functions[] = {{"distance", record_distance},   {"exact", record_exact},
                                       {"magnitude", record_magnitude}, {"read", record_read},
                                       {"shown", record_shown},         {NULL, NULL}};
  fettle_run_options options = {.path = asked->recipe};
  asked->result = fettle_recipe_run(L, &options, asked->problem);
  if (asked->result != 0) {
    return 0;
  }
  int model = lua_gettop(L);
  fettle_yaml *yaml;
  asked->result = read_record(asked->record, &yaml, asked->problem);
  if (asked->result == 0) {
    push_node(L, fettle_yaml_root(yaml));
    fettle_yaml_free(yaml);
  } else if (asked->result == EX_NOINPUT && asked->writes) {
    asked->result = 0;
    lua_pushnil(L);
  } else {
    if (asked->result == EX_NOINPUT) {
      fettle_problem_set(asked->problem, EX_NOINPUT, "missing file",
                         "%s: nothing is recorded yet: look at the sheet, then record it with "
                         "fettle verify --record %s",
                         asked->record, asked->recipe);
    }
    return 0;
  }
  int old = lua_gettop(L);
  if (fettle_script_load(L, "recipe/record") != LUA_OK) {
    return lua_error(L);
  }
  lua_call(L, 0, 1);
  luaL_newlib(L, functions);
  lua_call(L, 1, 1);
  int record = lua_gettop(L);
  lua_getfield(L, record, "changes");
  lua_pushvalue(L, model);
  lua_pushvalue(L, old);
  if (lua_pcall(L, 2, 1, 0) != LUA_OK) {
    asked->result = fettle_problem_set(asked->problem, EX_DATAERR, "data", "%s: %s", asked->record,
                                       lua_tostring(L, -1));
    return 0;
  }
  lua_pushstring(L, asked->recipe);
  lua_setfield(L, -2, "recipe");
  lua_pushstring(L, asked->record);
  lua_setfield(L, -2, "record");
  if (asked->writes) {
    lua_getfield(L, record, "text");
    lua_pushvalue(L, model);
    lua_pushvalue(L, old);
    lua_call(L, 2, 1);
    size_t length;
    const char *text = lua_tolstring(L, -1, &length);
    fettle_file_problem failure;
    int status = fettle_file_write(asked->record, text, length, &failure);
    if (status != 0) {
      asked->result = fettle_problem_set(asked->problem, status, "output", "%s", failure.message);
      return 0;
    }
    lua_pop(L, 1);
  }
  return 1;
}

static int run_job(lua_State *trusted, const char *recipe, bool writes, fettle_problem *problem) {
  char path[FETTLE_PATH_MOST];
  int result = record_path(recipe, path, problem);
  if (result != 0) {
    return result;
  }
  job asked = {recipe, path, writes, problem, 0};
  lua_pushcfunction(trusted, compare);
  lua_pushlightuserdata(trusted, &asked);
  if (lua_pcall(trusted, 1, 1, 0) != LUA_OK) {
    fettle_problem_set(problem, EX_SOFTWARE, "internal", "%s: internal error: %s", path,
                       lua_tostring(trusted, -1));
    lua_pop(trusted, 1);
    return EX_SOFTWARE;
  }
  if (asked.result != 0) {
    lua_pop(trusted, 1);
  }
  return asked.result;
}

int fettle_record_verify(lua_State *trusted, const char *recipe_path, fettle_problem *problem) {
  return run_job(trusted, recipe_path, false, problem);
}

int fettle_record_write(lua_State *trusted, const char *recipe_path, fettle_problem *problem) {
  return run_job(trusted, recipe_path, true, problem);
}
