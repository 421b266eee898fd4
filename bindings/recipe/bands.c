/* How far the guesses in shop data move the results: one guess at a time, to each of its ends. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <lauxlib.h>

#include "lua/quantity.h"
#include "recipe/work.h"

/* A smaller move is not worth a line on the sheet. */
static const double move_shown = 0.05;

typedef struct band {
  double low, high; /* SI */
  int guesses;      /* how many move it; their names are in the list at the same place */
} band;

/* The value of the result called `name` in the model at `model`. */
static bool find_result(lua_State *L, int model, const char *name, fettle_quantity *out) {
  int top = lua_gettop(L);
  bool found = false;
  lua_getfield(L, model, "items");
  lua_Integer count = (lua_Integer)lua_rawlen(L, -1);
  for (lua_Integer i = 1; i <= count && !found; i++) {
    lua_settop(L, top + 1);
    lua_geti(L, -1, i);
    lua_getfield(L, -1, "kind");
    lua_getfield(L, -2, "name");
    if (strcmp(lua_tostring(L, -2), "result") == 0 && strcmp(lua_tostring(L, -1), name) == 0) {
      lua_getfield(L, top + 2, "value");
      found = fettle_to_quantity(L, -1, out);
    }
  }
  lua_settop(L, top);
  return found;
}

/* Moves are relative to what a person reads: 62 degF, not 289.8 K. */
static double as_read(const fettle_quantity *quantity, double value) {
  if (quantity->flags & FETTLE_QUANTITY_POINT) {
    const fettle_unit *unit = fettle_unit_at(quantity->unit);
    return unit ? (value - unit->offset) / unit->factor : value;
  }
  return value;
}

static void add_warning(lua_State *L, int model, const char *place, const char *message) {
  lua_getfield(L, model, "warnings");
  lua_createtable(L, 0, 2);
  lua_pushstring(L, place);
  lua_setfield(L, -2, "place");
  lua_pushstring(L, message);
  lua_setfield(L, -2, "message");
  lua_seti(L, -2, (lua_Integer)lua_rawlen(L, -2) + 1);
  lua_pop(L, 1);
}

/* Widens the bands by the model at `moved`; `lists` holds a list of guess names per result. */
static void compare(lua_State *L, int model, int moved, band *bands, int lists, const char *guess) {
  int top = lua_gettop(L);
  lua_getfield(L, model, "items");
  lua_Integer count = (lua_Integer)lua_rawlen(L, -1);
  for (lua_Integer i = 1; i <= count; i++) {
    lua_settop(L, top + 1);
    lua_geti(L, -1, i);
    lua_getfield(L, -1, "kind");
    if (strcmp(lua_tostring(L, -1), "result") != 0) {
      continue;
    }
    lua_getfield(L, top + 2, "name");
    lua_getfield(L, top + 2, "value");
    fettle_quantity now, then;
    if (!fettle_to_quantity(L, -1, &now) || !find_result(L, moved, lua_tostring(L, -2), &then) ||
        now.dimension != then.dimension) {
      continue;
    }
    double from = as_read(&now, now.value), to = as_read(&now, then.value);
    if (!(fabs(to - from) > move_shown * fabs(from))) {
      continue;
    }
    band *wide = &bands[i - 1];
    if (wide->guesses == 0) {
      wide->low = wide->high = now.value;
    }
    wide->low = fmin(wide->low, then.value);
    wide->high = fmax(wide->high, then.value);
    if (lua_geti(L, lists, i) != LUA_TTABLE) {
      lua_pop(L, 1);
      lua_newtable(L);
      lua_pushvalue(L, -1);
      lua_seti(L, lists, i);
    }
    lua_geti(L, -1, wide->guesses);
    bool named = wide->guesses > 0 && strcmp(lua_tostring(L, -1), guess) == 0;
    lua_pop(L, 1);
    if (!named) {
      lua_pushstring(L, guess);
      lua_seti(L, -2, ++wide->guesses);
    }
  }
  lua_settop(L, top);
}

static void write_bands(lua_State *L, int model, const band *bands, int lists) {
  lua_getfield(L, model, "items");
  lua_Integer count = (lua_Integer)lua_rawlen(L, -1);
  for (lua_Integer i = 1; i <= count; i++) {
    const band *wide = &bands[i - 1];
    if (wide->guesses == 0) {
      continue;
    }
    lua_geti(L, -1, i);
    fettle_quantity value;
    lua_getfield(L, -1, "value");
    fettle_to_quantity(L, -1, &value);
    lua_pop(L, 1);
    lua_createtable(L, 0, 3);
    value.value = wide->low;
    fettle_push_quantity(L, &value);
    lua_setfield(L, -2, "low");
    value.value = wide->high;
    fettle_push_quantity(L, &value);
    lua_setfield(L, -2, "high");
    lua_geti(L, lists, i);
    lua_setfield(L, -2, "guesses");
    lua_setfield(L, -2, "band");
    lua_pop(L, 1);
  }
  lua_pop(L, 1);
}

/* Pushes the keys of the table at `index` as a list in byte order. */
static lua_Integer push_sorted_keys(lua_State *L, int index) {
  lua_newtable(L);
  lua_Integer count = 0;
  lua_pushnil(L);
  while (lua_next(L, index)) {
    lua_pop(L, 1);
    lua_Integer at = count++;
    for (; at > 0; at--) {
      lua_geti(L, -2, at);
      if (strcmp(lua_tostring(L, -1), lua_tostring(L, -2)) < 0) {
        lua_pop(L, 1);
        break;
      }
      lua_seti(L, -3, at + 1);
    }
    lua_pushvalue(L, -1);
    lua_seti(L, -3, at + 1);
  }
  return count;
}

void fettle_add_bands(lua_State *L, int guesses, int model, const fettle_run_options *options) {
  lua_Integer count = push_sorted_keys(L, guesses);
  if (count == 0) {
    lua_pop(L, 1);
    return;
  }
  int keys = lua_gettop(L);
  lua_getfield(L, model, "items");
  size_t items = lua_rawlen(L, -1);
  lua_pop(L, 1);
  band *bands = lua_newuserdatauv(L, (items + 1) * sizeof *bands, 0);
  memset(bands, 0, (items + 1) * sizeof *bands);
  lua_newtable(L);
  int lists = lua_gettop(L);
  for (lua_Integer i = 1; i <= count; i++) {
    for (int high = 0; high < 2; high++) {
      lua_geti(L, keys, i);
      const char *key = lua_tostring(L, -1);
      lua_getfield(L, guesses, key);
      const char *guess = lua_tostring(L, -1);
      fettle_problem problem;
      if (fettle_run_pass(L, options, key, high != 0, &problem) == 0) {
        compare(L, model, lua_gettop(L), bands, lists, guess);
      } else {
        lua_pushfstring(L, "with the guess %s at its %s end: %s", guess, high ? "high" : "low",
                        problem.message);
        add_warning(L, model, guess, lua_tostring(L, -1));
      }
      lua_settop(L, lists);
    }
  }
  write_bands(L, model, bands, lists);
  lua_settop(L, keys - 1);
}
