/* Quantities as userdata: operators, methods, and the functions of a recipe that take them. */
#include "lua/quantity.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <lauxlib.h>

#include "lua/error.h"

/* Keys of the registry are the addresses of these. */
static const char metatable_key = 0;
static const char habit_key = 0;

enum {
  QUANTITY_BYTES = 24,  /* by length and magic a quantity is told from other userdata */
  DIGITS_PRESET = 6,    /* significant digits of a text */
  DIGITS_MOST = 17,     /* what a double can mean */
  TEXT_CAPACITY = 256,  /* a number and the longest unit in base units */
  WHOLE_MOST_BITS = 53, /* whole numbers up to 2^53 are exact doubles */
};

_Static_assert(sizeof(fettle_quantity) == QUANTITY_BYTES, "a quantity is 24 bytes");

/* Borrowed quantity at `index`, or NULL. */
static const fettle_quantity *peek(lua_State *L, int index) {
  const fettle_quantity *quantity = lua_touserdata(L, index);
  if (quantity && lua_rawlen(L, index) == QUANTITY_BYTES &&
      quantity->magic == FETTLE_QUANTITY_MAGIC) {
    return quantity;
  }
  return NULL;
}

bool fettle_is_quantity(lua_State *L, int index) {
  return peek(L, index) != NULL;
}

bool fettle_to_quantity(lua_State *L, int index, fettle_quantity *out) {
  const fettle_quantity *quantity = peek(L, index);
  if (quantity) {
    *out = *quantity;
    return true;
  }
  if (lua_type(L, index) != LUA_TNUMBER) {
    return false;
  }
  if (lua_isinteger(L, index)) {
    const lua_Integer whole = lua_tointeger(L, index);
    const lua_Integer most = (lua_Integer)1 << WHOLE_MOST_BITS;
    if (whole > most || whole < -most) {
      return false;
    }
  }
  const double number = lua_tonumber(L, index);
  *out = (fettle_quantity){.value = number, .magic = FETTLE_QUANTITY_MAGIC};
  return isfinite(number);
}

fettle_habit fettle_get_habit(lua_State *L) {
  lua_rawgetp(L, LUA_REGISTRYINDEX, &habit_key);
  const fettle_habit habit = (fettle_habit)lua_tointeger(L, -1);
  lua_pop(L, 1);
  return habit;
}

void fettle_set_habit(lua_State *L, fettle_habit habit) {
  lua_pushinteger(L, (lua_Integer)habit);
  lua_rawsetp(L, LUA_REGISTRYINDEX, &habit_key);
}

static void make_metatable(lua_State *L);

static void push_metatable(lua_State *L) {
  if (lua_rawgetp(L, LUA_REGISTRYINDEX, &metatable_key) != LUA_TTABLE) {
    lua_pop(L, 1);
    make_metatable(L);
  }
}

void fettle_push_quantity(lua_State *L, const fettle_quantity *quantity) {
  if (quantity->dimension == 0) {
    lua_pushnumber(L, quantity->value);
    return;
  }
  fettle_quantity *made = lua_newuserdatauv(L, sizeof *made, 0);
  *made = *quantity;
  made->magic = FETTLE_QUANTITY_MAGIC;
  push_metatable(L);
  lua_setmetatable(L, -2);
}

void fettle_push_quantity_with_origin(lua_State *L, const fettle_quantity *quantity, int origin) {
  if (quantity->dimension == 0) {
    lua_pushnumber(L, quantity->value);
    return;
  }
  const int place = lua_absindex(L, origin);
  fettle_quantity *made = lua_newuserdatauv(L, sizeof *made, 1);
  *made = *quantity;
  made->magic = FETTLE_QUANTITY_MAGIC;
  push_metatable(L);
  lua_setmetatable(L, -2);
  lua_pushvalue(L, place);
  lua_setiuservalue(L, -2, 1);
}

void fettle_push_origin(lua_State *L, int index) {
  if (!peek(L, index)) {
    lua_pushnil(L);
    return;
  }
  /* without a user value this pushes nil as well */
  lua_getiuservalue(L, index, 1);
}

/* Pushes from a metamethod, whose first upvalue is the metatable. */
static int give(lua_State *L, const fettle_quantity *quantity) {
  if (quantity->dimension == 0) {
    lua_pushnumber(L, quantity->value);
    return 1;
  }
  fettle_quantity *made = lua_newuserdatauv(L, sizeof *made, 0);
  *made = *quantity;
  lua_pushvalue(L, lua_upvalueindex(1));
  lua_setmetatable(L, -2);
  return 1;
}

/* The quantity at `index`, or an error that says what stands there and how to mend it. */
static void want(lua_State *L, int index, const char *what, fettle_quantity *out) {
  if (fettle_to_quantity(L, index, out)) {
    return;
  }
  *out = (fettle_quantity){0};
  const int type = lua_type(L, index);
  if (type == LUA_TNUMBER && lua_isinteger(L, index)) {
    fettle_raise_text(L, FETTLE_ERROR_RANGE, "%s: the whole number %I is beyond 2^53", what,
                      (LUAI_UACINT)lua_tointeger(L, index));
  } else if (type == LUA_TNUMBER) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                      "%s: a number is not finite (0/0 or too large): look for a division by zero",
                      what);
  } else if (type == LUA_TSTRING) {
    char text[64];
    size_t length;
    const char *raw = lua_tolstring(L, index, &length);
    snprintf(text, sizeof text, "%.40s%s", raw, length > 40 ? "..." : "");
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                      "%s: the text \"%s\" is no quantity: write q\"2 1/2 in\" to read one", what,
                      text);
  } else {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: a quantity is due, this is %s", what,
                      type == LUA_TNIL || type == LUA_TNONE ? "nil (not given or misspelled)"
                                                            : luaL_typename(L, index));
  }
}

typedef fettle_status (*operation)(const fettle_quantity *a, const fettle_quantity *b,
                                   fettle_quantity *out, fettle_diagnostic *diagnostic);

/* The operand at `index` where it stands, or read into `room`. */
static const fettle_quantity *operand(lua_State *L, int index, const char *what,
                                      fettle_quantity *room) {
  const fettle_quantity *quantity = peek(L, index);
  if (!quantity) {
    want(L, index, what, room);
    quantity = room;
  }
  return quantity;
}

static inline int operate(lua_State *L, operation run, const char *what) {
  fettle_quantity rooms[2];
  const fettle_quantity *a = operand(L, 1, what, &rooms[0]);
  const fettle_quantity *b = operand(L, 2, what, &rooms[1]);
  fettle_quantity result;
  fettle_diagnostic diagnostic;
  if (run(a, b, &result, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, NULL, &diagnostic);
  }
  return give(L, &result);
}

static int operator_add(lua_State *L) {
  return operate(L, fettle_quantity_add, "sum");
}

static int operator_subtract(lua_State *L) {
  return operate(L, fettle_quantity_subtract, "difference");
}

static int operator_multiply(lua_State *L) {
  return operate(L, fettle_quantity_multiply, "product");
}

static int operator_divide(lua_State *L) {
  return operate(L, fettle_quantity_divide, "quotient");
}

static int operator_negate(lua_State *L) {
  fettle_quantity a;
  want(L, 1, "minus", &a);
  fettle_quantity result = {0};
  fettle_diagnostic diagnostic;
  if (fettle_quantity_negate(&a, &result, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, NULL, &diagnostic);
  }
  return give(L, &result);
}

static int raise_to(lua_State *L, const fettle_quantity *a, double exponent) {
  fettle_quantity result = {0};
  fettle_diagnostic diagnostic;
  if (fettle_quantity_power(a, exponent, &result, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, NULL, &diagnostic);
  }
  return give(L, &result);
}

static int operator_power(lua_State *L) {
  fettle_quantity a;
  fettle_quantity exponent;
  want(L, 1, "power", &a);
  want(L, 2, "power", &exponent);
  if (exponent.dimension != 0) {
    return fettle_raise_text(L, FETTLE_ERROR_DIMENSION,
                             "power: the exponent must be a plain number");
  }
  return raise_to(L, &a, exponent.value);
}

/* How many times b goes into a, whole; a quotient within rounding of a whole number is that. */
static double times(lua_State *L, const char *what, fettle_quantity *a, fettle_quantity *b) {
  want(L, 1, what, a);
  want(L, 2, what, b);
  fettle_quantity quotient;
  fettle_diagnostic diagnostic;
  if (fettle_quantity_divide(a, b, &quotient, &diagnostic) != FETTLE_OK) {
    fettle_raise(L, NULL, &diagnostic);
  }
  if (quotient.dimension != 0) {
    fettle_raise_text(L, FETTLE_ERROR_DIMENSION,
                      "%s: both sides must measure the same thing, as in 96*inch // (8*inch)",
                      what);
  }
  const double nearest = nearbyint(quotient.value);
  const bool whole = fabs(quotient.value - nearest) <= 1e-12 * fmax(1.0, fabs(nearest));
  return whole ? nearest : floor(quotient.value);
}

static int operator_whole_times(lua_State *L) {
  fettle_quantity a;
  fettle_quantity b;
  lua_pushnumber(L, times(L, "whole division", &a, &b));
  return 1;
}

static int operator_rest(lua_State *L) {
  fettle_quantity a;
  fettle_quantity b;
  const double count = times(L, "remainder", &a, &b);
  a.value -= count * b.value;
  if (fabs(a.value) <= 1e-12 * fabs(count * b.value)) {
    a.value = 0.0;
  }
  return give(L, &a);
}

static int compare(lua_State *L, const char *what) {
  fettle_quantity rooms[2];
  const fettle_quantity *a = operand(L, 1, what, &rooms[0]);
  const fettle_quantity *b = operand(L, 2, what, &rooms[1]);
  int order = 0;
  fettle_diagnostic diagnostic;
  if (fettle_quantity_compare(a, b, &order, &diagnostic) != FETTLE_OK) {
    fettle_raise(L, NULL, &diagnostic);
  }
  return order;
}

static int operator_equal(lua_State *L) {
  /* Lua also asks when the other userdata is no quantity */
  const bool both = peek(L, 1) && peek(L, 2);
  lua_pushboolean(L, both && compare(L, "comparison") == 0);
  return 1;
}

static int operator_less(lua_State *L) {
  lua_pushboolean(L, compare(L, "comparison") < 0);
  return 1;
}

static int operator_less_equal(lua_State *L) {
  lua_pushboolean(L, compare(L, "comparison") <= 0);
  return 1;
}

static void push_text(lua_State *L, const fettle_quantity *quantity, size_t unit, int digits) {
  char text[TEXT_CAPACITY];
  fettle_quantity_format(quantity, unit, digits, text, sizeof text);
  lua_pushstring(L, text);
}

static int operator_text(lua_State *L) {
  fettle_quantity a;
  want(L, 1, "text", &a);
  push_text(L, &a, fettle_unit_choose(&a, fettle_get_habit(L)), DIGITS_PRESET);
  return 1;
}

static int operator_concatenate(lua_State *L) {
  for (int i = 1; i <= 2; i++) {
    const fettle_quantity *quantity = peek(L, i);
    if (quantity) {
      push_text(L, quantity, fettle_unit_choose(quantity, fettle_get_habit(L)), DIGITS_PRESET);
    } else if (lua_isstring(L, i)) {
      lua_pushvalue(L, i);
    } else {
      return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "cannot join %s to a text",
                               luaL_typename(L, i));
    }
  }
  lua_concat(L, 2);
  return 1;
}

/* --- methods --- */

static void self(lua_State *L, const char *what, fettle_quantity *out) {
  const fettle_quantity *quantity = peek(L, 1);
  *out = quantity ? *quantity : (fettle_quantity){0};
  if (!quantity) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: call it with a colon, as in x:%s(...)", what,
                      what);
  }
}

/* The unit text at `index`; it ends at its first zero byte, which no unit holds. */
static const char *want_unit(lua_State *L, int index, const char *what) {
  if (lua_type(L, index) != LUA_TSTRING || strlen(lua_tostring(L, index)) != lua_rawlen(L, index)) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: name a unit, as in x:%s\"mm\"", what, what);
  }
  return lua_tostring(L, index);
}

static int want_digits(lua_State *L, int index) {
  if (lua_isnoneornil(L, index)) {
    return DIGITS_PRESET;
  }
  const lua_Number digits = lua_tonumber(L, index);
  if (lua_type(L, index) != LUA_TNUMBER || !(digits >= 1.0) || !(digits <= DIGITS_MOST) ||
      digits != floor(digits)) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "text: digits must be a whole number from 1 to %d",
                      DIGITS_MOST);
  }
  return (int)digits;
}

/* Vocabulary row in which `quantity` can be shown as `unit`; raises when it cannot. */
static size_t want_row(lua_State *L, const char *what, const fettle_quantity *quantity,
                       const char *unit) {
  double number;
  fettle_unit_expression expression = {1.0, 0.0, 0, 0, false, 0};
  fettle_diagnostic diagnostic;
  if (fettle_quantity_number(quantity, unit, &number, &diagnostic) != FETTLE_OK ||
      fettle_unit_parse(unit, strlen(unit), &expression, &diagnostic) != FETTLE_OK) {
    fettle_raise(L, what, &diagnostic);
  }
  size_t row = expression.index;
  if (expression.point && !(quantity->flags & FETTLE_QUANTITY_POINT)) {
    const bool celsius = strcmp(fettle_unit_at(row)->name, "degC") == 0;
    row = fettle_unit_find(celsius ? "dC" : "dF", 2);
  }
  return row;
}

static int method_to(lua_State *L) {
  fettle_quantity a;
  self(L, "to", &a);
  const char *unit = want_unit(L, 2, "to");
  const size_t row = want_row(L, "to", &a, unit);
  if (row == 0) {
    return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                             "to: %s is no unit of the vocabulary by itself; x:number\"%s\" gives "
                             "the number",
                             unit, unit);
  }
  a.unit = (uint16_t)row;
  fettle_push_origin(L, 1);
  if (lua_isnil(L, -1)) {
    return give(L, &a);
  }
  fettle_push_quantity_with_origin(L, &a, -1);
  return 1;
}

static int method_number(lua_State *L) {
  fettle_quantity a;
  self(L, "number", &a);
  const char *unit = want_unit(L, 2, "number");
  double number;
  fettle_diagnostic diagnostic;
  if (fettle_quantity_number(&a, unit, &number, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, "number", &diagnostic);
  }
  lua_pushnumber(L, number);
  return 1;
}

static int method_text(lua_State *L) {
  fettle_quantity a;
  self(L, "text", &a);
  size_t row = fettle_unit_choose(&a, fettle_get_habit(L));
  const int digits = want_digits(L, 3);
  if (!lua_isnoneornil(L, 2)) {
    const char *unit = want_unit(L, 2, "text");
    row = want_row(L, "text", &a, unit);
    if (row == 0) {
      /* a unit outside the vocabulary is shown as it was asked for */
      double number;
      char text[64];
      fettle_diagnostic diagnostic;
      if (fettle_quantity_number(&a, unit, &number, &diagnostic) != FETTLE_OK) {
        return fettle_raise(L, "text", &diagnostic);
      }
      fettle_number_format(number, digits, text, sizeof text);
      lua_pushfstring(L, "%s %s", text, unit);
      return 1;
    }
  }
  push_text(L, &a, row, digits);
  return 1;
}

static int method_fraction(lua_State *L) {
  fettle_quantity a;
  self(L, "fraction", &a);
  const lua_Number denominator = lua_isnoneornil(L, 2) ? 64.0 : lua_tonumber(L, 2);
  double inches;
  fettle_diagnostic diagnostic;
  if (fettle_quantity_number(&a, "in", &inches, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, "fraction", &diagnostic);
  }
  char text[64];
  double error;
  const bool sensible = denominator >= 2.0 && denominator <= 128.0 &&
                        denominator == floor(denominator) && lua_type(L, 2) != LUA_TSTRING;
  if (fettle_fraction_format(a.value, sensible ? (unsigned)denominator : 0u, text, sizeof text,
                             &error, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, "fraction", &diagnostic);
  }
  lua_pushstring(L, text);
  fettle_quantity rounding = a;
  rounding.value = error;
  rounding.unit = (uint16_t)fettle_unit_find("thou", 4);
  give(L, &rounding);
  return 2;
}

static int method_abs(lua_State *L) {
  fettle_quantity a;
  self(L, "abs", &a);
  if (a.flags & FETTLE_QUANTITY_POINT) {
    return fettle_raise_text(
        L, FETTLE_ERROR_DIMENSION,
        "abs: a temperature has no magnitude; subtract two temperatures first");
  }
  a.value = fabs(a.value);
  return give(L, &a);
}

static int method_near(lua_State *L) {
  fettle_quantity a;
  fettle_quantity b;
  fettle_quantity tolerance;
  self(L, "near", &a);
  want(L, 2, "near", &b);
  want(L, 3, "near: the tolerance", &tolerance);
  fettle_quantity difference = {0};
  fettle_diagnostic diagnostic;
  int order = 0;
  if (fettle_quantity_subtract(&a, &b, &difference, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, "near", &diagnostic);
  }
  if (tolerance.value < 0.0) {
    return fettle_raise_text(L, FETTLE_ERROR_RANGE, "near: the tolerance must not be negative");
  }
  difference.value = fabs(difference.value);
  if (fettle_quantity_compare(&difference, &tolerance, &order, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, "near", &diagnostic);
  }
  lua_pushboolean(L, order <= 0);
  return 1;
}

static int method_value(lua_State *L) {
  fettle_quantity a;
  self(L, "value", &a);
  lua_pushnumber(L, a.value);
  return 1;
}

static int method_kelvin(lua_State *L) {
  fettle_quantity a;
  self(L, "kelvin", &a);
  double number;
  fettle_diagnostic diagnostic;
  if (fettle_quantity_number(&a, "K", &number, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, "kelvin", &diagnostic);
  }
  a.flags = 0;
  a.unit = (uint16_t)fettle_unit_find("K", 1);
  return give(L, &a);
}

static int method_unit(lua_State *L) {
  fettle_quantity a;
  self(L, "unit", &a);
  const fettle_unit *unit = fettle_unit_at(fettle_unit_choose(&a, fettle_get_habit(L)));
  if (unit) {
    lua_pushstring(L, unit->name);
    return 1;
  }
  /* base units: what follows the number in its text */
  a.value = 1.0;
  char text[TEXT_CAPACITY];
  fettle_quantity_format(&a, 0, 1, text, sizeof text);
  lua_pushstring(L, text + strlen("1 "));
  return 1;
}

static int method_dimension(lua_State *L) {
  fettle_quantity a;
  self(L, "dimension", &a);
  char name[TEXT_CAPACITY];
  fettle_dimension_name(a.dimension, name, sizeof name);
  lua_pushstring(L, name);
  return 1;
}

static int method_is_point(lua_State *L) {
  fettle_quantity a;
  self(L, "is_point", &a);
  lua_pushboolean(L, a.flags & FETTLE_QUANTITY_POINT);
  return 1;
}

static const luaL_Reg methods[] = {
    {"abs", method_abs},           {"dimension", method_dimension}, {"fraction", method_fraction},
    {"is_point", method_is_point}, {"kelvin", method_kelvin},       {"near", method_near},
    {"number", method_number},     {"text", method_text},           {"to", method_to},
    {"unit", method_unit},         {"value", method_value},         {NULL, NULL},
};

static int no_such_method(lua_State *L) {
  char name[40] = "?";
  if (lua_type(L, 2) == LUA_TSTRING) {
    snprintf(name, sizeof name, "%.30s", lua_tostring(L, 2));
  }
  return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                           "a quantity has no '%s': it has abs, dimension, fraction, is_point, "
                           "kelvin, near, number, text, to, unit, value",
                           name);
}

static const luaL_Reg operators[] = {
    {"__add", operator_add},
    {"__sub", operator_subtract},
    {"__mul", operator_multiply},
    {"__div", operator_divide},
    {"__unm", operator_negate},
    {"__pow", operator_power},
    {"__mod", operator_rest},
    {"__idiv", operator_whole_times},
    {"__eq", operator_equal},
    {"__lt", operator_less},
    {"__le", operator_less_equal},
    {"__tostring", operator_text},
    {"__concat", operator_concatenate},
    {NULL, NULL},
};

/* Makes the one metatable of the state, keeps it in the registry and leaves it on the stack. */
static void make_metatable(lua_State *L) {
  luaL_checkstack(L, 8, NULL);
  lua_createtable(L, 0, 20);
  lua_pushvalue(L, -1);
  luaL_setfuncs(L, operators, 1);
  lua_createtable(L, 0, 12);
  lua_pushvalue(L, -2);
  luaL_setfuncs(L, methods, 1);
  lua_createtable(L, 0, 1);
  lua_pushcfunction(L, no_such_method);
  lua_setfield(L, -2, "__index");
  lua_setmetatable(L, -2);
  lua_setfield(L, -2, "__index");
  lua_pushliteral(L, "quantity");
  lua_setfield(L, -2, "__name");
  lua_pushboolean(L, 0);
  lua_setfield(L, -2, "__metatable");
  lua_pushvalue(L, -1);
  lua_rawsetp(L, LUA_REGISTRYINDEX, &metatable_key);
}

/* --- functions of a recipe --- */

static int read_text(lua_State *L) {
  if (peek(L, 1)) {
    lua_settop(L, 1);
    return 1;
  }
  fettle_quantity result = {0};
  fettle_diagnostic diagnostic;
  if (lua_type(L, 1) == LUA_TNUMBER && lua_type(L, 2) == LUA_TSTRING) {
    fettle_quantity number;
    want(L, 1, "q", &number);
    if (fettle_quantity_make(number.value, want_unit(L, 2, "q"), FETTLE_ROLE_ANY, &result,
                             &diagnostic) != FETTLE_OK) {
      return fettle_raise(L, "q", &diagnostic);
    }
    return give(L, &result);
  }
  if (lua_type(L, 1) != LUA_TSTRING) {
    return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                             "q: a text is due, as in q\"2 1/2 in\", or a number and a unit, as in "
                             "q(2.5, \"in\")");
  }
  size_t length;
  const char *text = lua_tolstring(L, 1, &length);
  if (fettle_quantity_parse(text, length, FETTLE_ROLE_ANY, &result, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, "q", &diagnostic);
  }
  return give(L, &result);
}

static int temperature(lua_State *L, const char *unit) {
  fettle_quantity number;
  want(L, 1, unit, &number);
  if (number.dimension != 0) {
    return fettle_raise_text(L, FETTLE_ERROR_DIMENSION,
                             "%s: a plain number is due, as in %s(20); x:to\"%s\" converts", unit,
                             unit, unit);
  }
  fettle_quantity result = {0};
  fettle_diagnostic diagnostic;
  if (fettle_quantity_make(number.value, unit, FETTLE_ROLE_POINT, &result, &diagnostic) !=
      FETTLE_OK) {
    return fettle_raise(L, unit, &diagnostic);
  }
  return give(L, &result);
}

static int temperature_celsius(lua_State *L) {
  return temperature(L, "degC");
}

static int temperature_fahrenheit(lua_State *L) {
  return temperature(L, "degF");
}

/* Values from the arguments, or from the one table given: pushes them all and returns how many,
 * the first at *first. */
static int spread(lua_State *L, const char *what, int *first) {
  if (lua_gettop(L) == 1 && lua_type(L, 1) == LUA_TTABLE) {
    const lua_Unsigned count = lua_rawlen(L, 1);
    enum { VALUES_MOST = 100000 };
    if (count > VALUES_MOST || !lua_checkstack(L, (int)count + 8)) {
      return fettle_raise_text(L, FETTLE_ERROR_RANGE, "%s: at most %d values", what, VALUES_MOST);
    }
    for (lua_Unsigned i = 1; i <= count; i++) {
      lua_rawgeti(L, 1, (lua_Integer)i);
    }
    *first = 2;
  } else {
    *first = 1;
  }
  const int count = lua_gettop(L) - *first + 1;
  if (count < 1) {
    return fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                             "%s: at least one value is due, as in %s{a, b}", what, what);
  }
  return count;
}

/* Leaves the smallest (sign -1) or largest (+1) value on the stack as it was given. */
static int extreme(lua_State *L, const char *what, int sign) {
  int first = 1;
  const int count = spread(L, what, &first);
  int best = first;
  fettle_quantity kept = {0};
  want(L, first, what, &kept);
  for (int i = first + 1; i < first + count; i++) {
    fettle_quantity value = {0};
    want(L, i, what, &value);
    int order = 0;
    fettle_diagnostic diagnostic;
    if (fettle_quantity_compare(&value, &kept, &order, &diagnostic) != FETTLE_OK) {
      return fettle_raise(L, what, &diagnostic);
    }
    if (order == sign) {
      kept = value;
      best = i;
    }
  }
  lua_pushvalue(L, best);
  return 1;
}

static int smallest(lua_State *L) {
  return extreme(L, "smallest", -1);
}

static int largest(lua_State *L) {
  return extreme(L, "largest", 1);
}

static int mean(lua_State *L) {
  int first = 1;
  const int count = spread(L, "mean", &first);
  fettle_quantity reference;
  want(L, first, "mean", &reference);
  /* the mean of the differences from the first value: sound for temperatures too */
  double sum = 0.0;
  for (int i = first + 1; i < first + count; i++) {
    fettle_quantity value = {0};
    fettle_quantity difference = {0};
    fettle_diagnostic diagnostic;
    int order = 0;
    want(L, i, "mean", &value);
    if (fettle_quantity_compare(&value, &reference, &order, &diagnostic) != FETTLE_OK ||
        fettle_quantity_subtract(&value, &reference, &difference, &diagnostic) != FETTLE_OK) {
      return fettle_raise(L, "mean", &diagnostic);
    }
    sum += difference.value;
  }
  reference.value += sum / count;
  if (!isfinite(reference.value)) {
    return fettle_raise_text(L, FETTLE_ERROR_RANGE, "mean: the result is not a finite number");
  }
  return give(L, &reference);
}

/* The angle at `index` in radians; a plain number is refused, since it may be degrees. */
static double want_angle(lua_State *L, int index, const char *what) {
  fettle_quantity angle;
  want(L, index, what, &angle);
  double radians = 0.0;
  fettle_diagnostic diagnostic;
  if (angle.dimension == 0) {
    fettle_raise_text(L, FETTLE_ERROR_DIMENSION,
                      "%s: an angle is due: give the number a unit, as in 30*deg", what);
  } else if (fettle_quantity_number(&angle, "rad", &radians, &diagnostic) != FETTLE_OK) {
    fettle_raise(L, what, &diagnostic);
  }
  return radians;
}

static int sine(lua_State *L) {
  lua_pushnumber(L, sin(want_angle(L, 1, "sin")));
  return 1;
}

static int cosine(lua_State *L) {
  lua_pushnumber(L, cos(want_angle(L, 1, "cos")));
  return 1;
}

static int tangent(lua_State *L) {
  lua_pushnumber(L, tan(want_angle(L, 1, "tan")));
  return 1;
}

static int give_angle(lua_State *L, double radians) {
  fettle_quantity angle;
  fettle_diagnostic diagnostic;
  if (fettle_quantity_make(radians, "rad", FETTLE_ROLE_ANY, &angle, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, NULL, &diagnostic);
  }
  angle.unit = (uint16_t)fettle_unit_find("deg", 3);
  return give(L, &angle);
}

static double want_ratio(lua_State *L, int index, const char *what, double most) {
  fettle_quantity ratio;
  want(L, index, what, &ratio);
  if (ratio.dimension != 0) {
    fettle_raise_text(L, FETTLE_ERROR_DIMENSION,
                      "%s: a plain number is due, such as the quotient of two lengths", what);
  }
  if (!(fabs(ratio.value) <= most)) {
    fettle_raise_text(L, FETTLE_ERROR_RANGE, "%s: the number must be from -1 to 1", what);
  }
  return ratio.value;
}

static int arc_sine(lua_State *L) {
  return give_angle(L, asin(want_ratio(L, 1, "asin", 1.0)));
}

static int arc_cosine(lua_State *L) {
  return give_angle(L, acos(want_ratio(L, 1, "acos", 1.0)));
}

/* atan(ratio), or atan(rise, run) of two like quantities. */
static int arc_tangent(lua_State *L) {
  if (lua_gettop(L) < 2) {
    return give_angle(L, atan(want_ratio(L, 1, "atan", (double)INFINITY)));
  }
  fettle_quantity rise;
  fettle_quantity run;
  want(L, 1, "atan", &rise);
  want(L, 2, "atan", &run);
  int order;
  fettle_diagnostic diagnostic;
  if (fettle_quantity_compare(&rise, &run, &order, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, "atan", &diagnostic);
  }
  return give_angle(L, atan2(rise.value, run.value));
}

static int square_root(lua_State *L) {
  fettle_quantity a;
  want(L, 1, "sqrt", &a);
  return raise_to(L, &a, 0.5);
}

static int arc_length(lua_State *L) {
  fettle_quantity radius;
  want(L, 1, "arc", &radius);
  const double radians = want_angle(L, 2, "arc");
  double metres;
  fettle_diagnostic diagnostic;
  if (fettle_quantity_number(&radius, "m", &metres, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, "arc", &diagnostic);
  }
  radius.value *= radians;
  if (!isfinite(radius.value)) {
    return fettle_raise_text(L, FETTLE_ERROR_RANGE, "arc: the result is not a finite number");
  }
  return give(L, &radius);
}

static const luaL_Reg functions[] = {
    {"q", read_text},
    {"degC", temperature_celsius},
    {"degF", temperature_fahrenheit},
    {"smallest", smallest},
    {"largest", largest},
    {"mean", mean},
    {"sin", sine},
    {"cos", cosine},
    {"tan", tangent},
    {"asin", arc_sine},
    {"acos", arc_cosine},
    {"atan", arc_tangent},
    {"sqrt", square_root},
    {"arc", arc_length},
    {NULL, NULL},
};

void fettle_open_quantity(lua_State *L, int index) {
  luaL_checkstack(L, 8, NULL);
  lua_pushvalue(L, index);
  push_metatable(L);
  luaL_setfuncs(L, functions, 1);
  for (size_t i = 1; i <= fettle_unit_count(); i++) {
    const fettle_unit *unit = fettle_unit_at(i);
    if (!unit->lua_name) {
      continue;
    }
    fettle_quantity one;
    fettle_diagnostic diagnostic;
    if (fettle_quantity_make(1.0, unit->name, FETTLE_ROLE_ANY, &one, &diagnostic) != FETTLE_OK) {
      fettle_raise(L, "unit", &diagnostic);
    }
    fettle_push_quantity(L, &one);
    lua_setfield(L, -2, unit->lua_name);
  }
  lua_pushnumber(L, 3.14159265358979323846);
  lua_setfield(L, -2, "pi");
  lua_pop(L, 1);
}
