#include "sheet/host.h"

#include <math.h>
#include <string.h>

#include <lauxlib.h>

#include "fettle/version.h"
#include "lua/catalogue.h"
#include "lua/quantity.h"
#include "sheet/json.h"

enum { TEXT_MOST = 128 };

static const char *const habit_names[] = {"none", "inch", "metric", NULL};

static fettle_habit check_habit(lua_State *L, int index) {
  if (lua_isnoneornil(L, index)) {
    return fettle_get_habit(L);
  }
  return (fettle_habit)luaL_checkoption(L, index, NULL, habit_names);
}

static fettle_quantity check_quantity(lua_State *L, int index) {
  fettle_quantity quantity = {0};
  if (!fettle_to_quantity(L, index, &quantity)) {
    luaL_error(L, "sheet: a %s where a quantity or a finite number is due",
               luaL_typename(L, index));
  }
  return quantity;
}

/* The vocabulary row that the text at `index` names, or that the habit chooses when there is none.
 * A unit of another dimension is an error. */
static size_t check_unit(lua_State *L, int index, const fettle_quantity *quantity,
                         fettle_habit habit) {
  if (lua_isnoneornil(L, index)) {
    return fettle_unit_choose(quantity, habit);
  }
  size_t length = 0;
  const char *name = luaL_checklstring(L, index, &length);
  size_t unit = fettle_unit_find(name, length);
  const fettle_unit *row = fettle_unit_at(unit);
  if (row && row->dimension != quantity->dimension) {
    luaL_error(L, "sheet: '%s' is no unit of this value", name);
  }
  return unit;
}

static int is_quantity(lua_State *L) {
  lua_pushboolean(L, fettle_is_quantity(L, 1));
  return 1;
}

static int quantity_text(lua_State *L) {
  fettle_quantity quantity = check_quantity(L, 1);
  int digits = (int)luaL_optinteger(L, 2, 4);
  luaL_argcheck(L, digits >= 1 && digits <= 17, 2, "1 to 17 digits");
  char text[TEXT_MOST];
  if (quantity.dimension == 0 && lua_isnoneornil(L, 4)) {
    fettle_number_format(quantity.value, digits, text, sizeof text);
  } else {
    size_t unit = check_unit(L, 4, &quantity, check_habit(L, 3));
    fettle_quantity_format(&quantity, unit, digits, text, sizeof text);
  }
  lua_pushstring(L, text);
  return 1;
}

static int quantity_shown(lua_State *L) {
  fettle_quantity quantity = check_quantity(L, 1);
  if (quantity.dimension == 0 && lua_isnoneornil(L, 3)) {
    fettle_push_shown(L, &quantity, 0);
  } else {
    fettle_push_shown(L, &quantity, check_unit(L, 3, &quantity, check_habit(L, 2)));
  }
  lua_pushnumber(L, quantity.value);
  fettle_push_si_unit(L, &quantity);
  return 4;
}

static int quantity_convert(lua_State *L) {
  fettle_quantity quantity = check_quantity(L, 1);
  const char *unit = luaL_checkstring(L, 2);
  fettle_diagnostic diagnostic;
  double number = 0;
  if (fettle_quantity_number(&quantity, unit, &number, &diagnostic) != FETTLE_OK) {
    return luaL_error(L, "sheet: %s", diagnostic.message);
  }
  lua_pushnumber(L, number);
  return 1;
}

static int unit_for(lua_State *L) {
  fettle_quantity quantity = check_quantity(L, 1);
  const fettle_unit *row = fettle_unit_at(fettle_unit_choose(&quantity, check_habit(L, 2)));
  lua_pushstring(L, row ? row->name : NULL);
  return 1;
}

static int number_text(lua_State *L) {
  double value = luaL_checknumber(L, 1);
  int digits = (int)luaL_optinteger(L, 2, 6);
  luaL_argcheck(L, isfinite(value), 1, "not a finite number");
  luaL_argcheck(L, digits >= 1 && digits <= 17, 2, "1 to 17 digits");
  char text[TEXT_MOST];
  fettle_number_format(value, digits, text, sizeof text);
  lua_pushstring(L, text);
  return 1;
}

static int fraction_text(lua_State *L) {
  fettle_quantity quantity = check_quantity(L, 1);
  lua_Integer denominator = luaL_optinteger(L, 2, 64);
  luaL_argcheck(L, denominator >= 1 && denominator <= 128, 2, "2, 4 .. 128");
  fettle_diagnostic diagnostic;
  double error = 0;
  char text[TEXT_MOST];
  if (fettle_fraction_format(quantity.value, (unsigned)denominator, text, sizeof text, &error,
                             &diagnostic) != FETTLE_OK) {
    return luaL_error(L, "sheet: %s", diagnostic.message);
  }
  lua_pushstring(L, text);
  lua_pushnumber(L, error);
  return 2;
}

static int get_habit(lua_State *L) {
  lua_pushstring(L, habit_names[fettle_get_habit(L)]);
  return 1;
}

static int set_habit(lua_State *L) {
  fettle_set_habit(L, (fettle_habit)luaL_checkoption(L, 1, NULL, habit_names));
  return 0;
}

static int descriptions(lua_State *L) {
  fettle_push_descriptions(L);
  return 1;
}

static int description(lua_State *L) {
  fettle_push_description(L, luaL_checkstring(L, 1));
  return 1;
}

static int nearest(lua_State *L) {
  lua_pushstring(L, fettle_find_nearest(luaL_checkstring(L, 1))); /* nil when none is near */
  return 1;
}

static int units(lua_State *L) {
  lua_newtable(L);
  for (size_t i = 1; i <= fettle_unit_count(); i++) {
    const fettle_unit *row = fettle_unit_at(i);
    char dimension[TEXT_MOST];
    fettle_dimension_name(row->dimension, dimension, sizeof dimension);
    lua_newtable(L);
    lua_pushstring(L, row->name);
    lua_setfield(L, -2, "name");
    lua_pushstring(L, row->meaning);
    lua_setfield(L, -2, "meaning");
    lua_pushnumber(L, row->factor);
    lua_setfield(L, -2, "factor");
    lua_pushnumber(L, row->offset);
    lua_setfield(L, -2, "offset");
    lua_pushstring(L, dimension);
    lua_setfield(L, -2, "dimension");
    lua_pushstring(L, habit_names[row->habit]);
    lua_setfield(L, -2, "habit");
    lua_pushboolean(L, row->point);
    lua_setfield(L, -2, "point");
    lua_pushstring(L, row->lua_name);
    lua_setfield(L, -2, "lua_name");
    lua_rawseti(L, -2, (lua_Integer)i);
  }
  return 1;
}

void fettle_open_host(lua_State *L) {
  static const luaL_Reg functions[] = {{"is_quantity", is_quantity},
                                       {"text", quantity_text},
                                       {"shown", quantity_shown},
                                       {"convert", quantity_convert},
                                       {"unit_for", unit_for},
                                       {"number", number_text},
                                       {"fraction", fraction_text},
                                       {"habit", get_habit},
                                       {"set_habit", set_habit},
                                       {"descriptions", descriptions},
                                       {"description", description},
                                       {"nearest", nearest},
                                       {"units", units},
                                       {NULL, NULL}};
  luaL_newlib(L, functions);
  fettle_open_json(L);
  lua_newtable(L);
  lua_pushliteral(L, FETTLE_VERSION);
  lua_setfield(L, -2, "version");
  lua_pushinteger(L, FETTLE_RESULTS_REVISION);
  lua_setfield(L, -2, "results_revision");
  lua_pushinteger(L, FETTLE_RECIPE_ENGINE);
  lua_setfield(L, -2, "recipe_engine");
  lua_pushinteger(L, FETTLE_SHOP_SCHEMA);
  lua_setfield(L, -2, "shop_schema");
  lua_setfield(L, -2, "version");
  lua_setglobal(L, "host");
}
