/* lua/nesting.c - nesting.sheets, nesting.bars and nesting.layers. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <lauxlib.h>

#include "fettle/formula.h"
#include "fettle/nesting.h"
#include "lua/error.h"
#include "lua/lists.h"
#include "lua/quantity.h"

#define JOB_TYPE "fettle.nest"
#define LENGTH ((fettle_dimension)12 << (8 * FETTLE_BASE_LENGTH))

enum { COST_STEPS = 10000 }; /* costs are counted in ten-thousandths of the unit of money */

/* Everything that one call holds. A userdata, so that an error anywhere frees it. */
typedef struct job {
  const char *what; /* "nesting.sheets" */
  bool bars;
  fettle_host host;
  fettle_nest_layout layout;
  fettle_stack_plan plan;
  fettle_nest_piece *pieces; /* userdata, kept alive by `anchor` */
  fettle_nest_stock *stocks;
  fettle_nest_request request;
  fettle_quantity money; /* dimension and unit of the costs */
  uint16_t unit;         /* of lengths: that of the first one read */
  int anchor;            /* stack index of a table that keeps names and memory alive */
  int anchored;
} job;

static void *plain_allocate(void *context, void *block, size_t old_size, size_t new_size) {
  (void)context;
  (void)old_size;
  if (new_size == 0) {
    free(block);
    return NULL;
  }
  return realloc(block, new_size);
}

static int collect_job(lua_State *L) {
  job *j = luaL_checkudata(L, 1, JOB_TYPE);
  fettle_nest_free(&j->layout, &j->host);
  fettle_stack_free(&j->plan, &j->host);
  return 0;
}

static job *new_job(lua_State *L, const char *what) {
  luaL_checktype(L, 1, LUA_TTABLE);
  lua_settop(L, 1);
  lua_newtable(L);
  job *j = lua_newuserdatauv(L, sizeof *j, 0);
  memset(j, 0, sizeof *j);
  j->host.allocate = plain_allocate;
  lua_getfield(L, LUA_REGISTRYINDEX, "fettle.host");
  const fettle_host *given = lua_touserdata(L, -1);
  if (given) {
    j->host = *given;
  }
  lua_pop(L, 1);
  if (luaL_newmetatable(L, JOB_TYPE)) {
    lua_pushcfunction(L, collect_job);
    lua_setfield(L, -2, "__gc");
  }
  lua_setmetatable(L, -2);
  j->what = what;
  j->anchor = 2;
  return j;
}

/* Pops the value on top and keeps it alive until the call ends. */
static void keep_alive(lua_State *L, job *j) {
  lua_rawseti(L, j->anchor, ++j->anchored);
}

static void *rows_memory(lua_State *L, job *j, size_t count, size_t size) {
  void *memory = lua_newuserdatauv(L, (count + 1) * size, 0);
  memset(memory, 0, (count + 1) * size);
  keep_alive(L, j);
  return memory;
}

/* --- reading --- */

/* Refuses keys that are not in `keys`, so that a misspelt one is never passed over. */
static void known_keys(lua_State *L, const job *j, int index, const char *where,
                       const char *const *keys) {
  index = lua_absindex(L, index);
  lua_pushnil(L);
  while (lua_next(L, index) != 0) {
    lua_pop(L, 1);
    if (lua_type(L, -1) != LUA_TSTRING) {
      fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                        "%s: %s: only named fields are read here: name = value", j->what, where);
    }
    const char *key = lua_tostring(L, -1);
    bool known = false;
    for (size_t i = 0; keys[i]; i++) {
      known = known || strcmp(key, keys[i]) == 0;
    }
    if (!known) {
      luaL_Buffer list;
      luaL_buffinit(L, &list);
      for (size_t i = 0; keys[i]; i++) {
        luaL_addstring(&list, i ? ", " : "");
        luaL_addstring(&list, keys[i]);
      }
      luaL_pushresult(&list);
      fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: %s: '%s' is not known: give %s", j->what,
                        where, key, lua_tostring(L, -1));
    }
  }
}

static int64_t to_units(lua_State *L, job *j, const char *where, const char *field,
                        const fettle_quantity *q) {
  int64_t units = 0;
  if (!isfinite(q->value)) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: %s%s: must be a finite length", j->what, where,
                      field);
  }
  if (!fettle_nest_units(q->value, &units)) {
    char given[64], nearest[64];
    fettle_quantity near = *q;
    near.value = (double)units / (1000.0 * FETTLE_NEST_UNITS_PER_MM);
    fettle_quantity_format(q, q->unit, 12, given, sizeof given);
    fettle_quantity_format(&near, q->unit, 12, nearest, sizeof nearest);
    fettle_raise_text(L, FETTLE_ERROR_RANGE,
                      "%s: %s%s = %s: must be a whole number of 25 nm, as 1/64 in, 0.001 in and "
                      "0.001 mm are: round it to what the shop can set (nearest: %s)",
                      j->what, where, field, given, nearest);
  }
  if (j->unit == 0) {
    j->unit = q->unit;
  }
  return units;
}

/* A length in a field of the table on top; `preset` when it is missing, or an error when that is
 * negative. `where` ends with ": " or is empty. */
static int64_t read_length(lua_State *L, job *j, const char *where, const char *field,
                           int64_t preset) {
  fettle_quantity q;
  int64_t units = preset;
  if (lua_getfield(L, -1, field) == LUA_TNIL) {
    if (preset < 0) {
      fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                        "%s: %s%s: is missing: give a length such as 24*inch", j->what, where,
                        field);
    }
  } else if (!fettle_to_quantity(L, -1, &q) || q.dimension != LENGTH) {
    char shown[80] = "";
    if (fettle_to_quantity(L, -1, &q)) {
      fettle_quantity_format(&q, q.unit, 9, shown, sizeof shown);
    }
    fettle_raise_text(L, FETTLE_ERROR_DIMENSION,
                      "%s: %s%s%s%s: must be a length with its unit, such as 24*inch or q\"24 in\"",
                      j->what, where, field, shown[0] ? " = " : "", shown);
  } else {
    units = to_units(L, j, where, field, &q);
  }
  lua_pop(L, 1);
  return units;
}

/* A whole number in a field of the table on top. */
static double read_whole(lua_State *L, const job *j, const char *where, const char *field,
                         double preset, double most) {
  fettle_quantity q;
  double value = preset;
  if (lua_getfield(L, -1, field) != LUA_TNIL) {
    if (!fettle_to_quantity(L, -1, &q) || q.dimension != 0 || q.value != floor(q.value) ||
        q.value < 0 || q.value > most) {
      fettle_raise_text(L, FETTLE_ERROR_RANGE, "%s: %s%s: must be a whole number from 1 to %I",
                        j->what, where, field, (lua_Integer)most);
    }
    value = q.value;
  }
  lua_pop(L, 1);
  return value;
}

static bool read_flag(lua_State *L, const job *j, const char *where, const char *field) {
  int type = lua_getfield(L, -1, field);
  if (type != LUA_TNIL && type != LUA_TBOOLEAN) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: %s%s: must be true or false", j->what, where,
                      field);
  }
  bool flag = lua_toboolean(L, -1) != 0;
  lua_pop(L, 1);
  return flag;
}

/* The name of a row, or "row N" when it may be left out. */
static const char *read_name(lua_State *L, job *j, const char *list, size_t row, bool required) {
  int type = lua_getfield(L, -1, "name");
  if (type == LUA_TNIL && !required) {
    lua_pop(L, 1);
    lua_pushfstring(L, "stock %d", (int)row);
  } else if (type != LUA_TSTRING || lua_rawlen(L, -1) == 0) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: %s[%d]: name: must be a text", j->what, list,
                      (int)row);
  }
  const char *name = lua_tostring(L, -1);
  keep_alive(L, j);
  return name;
}

/* Pushes the list in field `list` of the argument and gives its length. */
static size_t open_list(lua_State *L, const job *j, const char *list, size_t most) {
  if (lua_getfield(L, 1, list) != LUA_TTABLE) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: %s: is missing: give a list of tables",
                      j->what, list);
  }
  lua_Integer count = luaL_len(L, -1);
  if (count < 1 || (size_t)count > most) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: %s: %d rows: must be from 1 to %d", j->what,
                      list, (int)count, (int)most);
  }
  return (size_t)count;
}

/* Pushes row `row` of the list on top. */
static void open_row(lua_State *L, const job *j, const char *list, size_t row) {
  if (lua_geti(L, -1, (lua_Integer)row) != LUA_TTABLE) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT, "%s: %s[%d]: must be a table", j->what, list,
                      (int)row);
  }
}

static void read_pieces(lua_State *L, job *j) {
  static const char *const sheet_keys[] = {"name",  "length", "width", "thickness",
                                           "count", "turn",   NULL};
  static const char *const bar_keys[] = {"name", "length", "count", NULL};
  size_t count = open_list(L, j, "pieces", FETTLE_NEST_KINDS_MOST);
  j->pieces = rows_memory(L, j, count, sizeof *j->pieces);
  for (size_t i = 0; i < count; i++) {
    open_row(L, j, "pieces", i + 1);
    fettle_nest_piece *piece = &j->pieces[i];
    piece->name = read_name(L, j, "pieces", i + 1, true);
    const char *where = lua_pushfstring(L, "piece '%s'", piece->name);
    lua_insert(L, -2);
    known_keys(L, j, -1, where, j->bars ? bar_keys : sheet_keys);
    where = lua_pushfstring(L, "piece '%s': ", piece->name);
    lua_insert(L, -2);
    piece->length = read_length(L, j, where, "length", -1);
    if (!j->bars) {
      piece->width = read_length(L, j, where, "width", -1);
      piece->thickness = read_length(L, j, where, "thickness", 0);
      piece->may_turn = read_flag(L, j, where, "turn");
    }
    piece->count = (uint32_t)read_whole(L, j, where, "count", 1, 1e6);
    lua_pop(L, 3);
  }
  lua_pop(L, 1);
  j->request.pieces = j->pieces;
  j->request.piece_kinds = count;
}

static void read_cost(lua_State *L, job *j, const char *where, size_t row,
                      fettle_nest_stock *stock) {
  fettle_quantity q;
  int type = lua_getfield(L, -1, "cost");
  if (row > 0 && j->request.costed != (type != LUA_TNIL)) {
    fettle_raise_text(L, FETTLE_ERROR_ARGUMENT,
                      "%s: %scost: give a cost for every stock or for none (0 for what is paid)",
                      j->what, where);
  }
  if (type != LUA_TNIL) {
    fettle_dimension money = (fettle_dimension)12 << (8 * FETTLE_BASE_MONEY);
    if (!fettle_to_quantity(L, -1, &q) || (q.dimension != 0 && q.dimension != money) ||
        (row > 0 && q.dimension != j->money.dimension)) {
      fettle_raise_text(L, FETTLE_ERROR_DIMENSION,
                        "%s: %scost: must be money, the same kind in every row", j->what, where);
    }
    if (!(q.value >= 0 && q.value <= (double)FETTLE_NEST_COST_MOST / COST_STEPS)) {
      fettle_raise_text(L, FETTLE_ERROR_RANGE, "%s: %scost: must be from 0 to %f", j->what, where,
                        (double)FETTLE_NEST_COST_MOST / COST_STEPS);
    }
    if (row == 0) {
      j->money = q;
    }
    j->request.costed = true;
    stock->cost = (int64_t)llround(q.value * COST_STEPS);
  }
  lua_pop(L, 1);
}

static void read_stock(lua_State *L, job *j, bool thickness) {
  static const char *const sheet_keys[] = {"name",  "length", "width", "thickness",
                                           "count", "cost",   NULL};
  static const char *const bar_keys[] = {"name", "length", "count", "cost", NULL};
  size_t count = open_list(L, j, "stock", FETTLE_NEST_STOCKS_MOST);
  j->stocks = rows_memory(L, j, count, sizeof *j->stocks);
  for (size_t i = 0; i < count; i++) {
    open_row(L, j, "stock", i + 1);
    fettle_nest_stock *stock = &j->stocks[i];
    stock->name = read_name(L, j, "stock", i + 1, false);
    const char *where = lua_pushfstring(L, "stock '%s'", stock->name);
    lua_insert(L, -2);
    known_keys(L, j, -1, where, j->bars ? bar_keys : sheet_keys);
    where = lua_pushfstring(L, "stock '%s': ", stock->name);
    lua_insert(L, -2);
    stock->length = read_length(L, j, where, "length", -1);
    if (!j->bars) {
      stock->width = read_length(L, j, where, "width", -1);
      stock->thickness = read_length(L, j, where, "thickness", thickness ? -1 : 0);
    }
    stock->count = (uint32_t)read_whole(L, j, where, "count", FETTLE_NEST_UNLIMITED, 1e6);
    read_cost(L, j, where, i, stock);
    lua_pop(L, 3);
  }
  lua_pop(L, 1);
  j->request.stocks = j->stocks;
  j->request.stock_kinds = count;
}

static void read_cutting(lua_State *L, job *j) {
  lua_pushvalue(L, 1);
  j->request.kerf = read_length(L, j, "", "kerf", -1);
  j->request.trim_ends = read_length(L, j, "", "trim", 0);
  j->request.trim_sides = j->bars ? 0 : j->request.trim_ends;
  j->request.keep = read_length(L, j, "", "keep", 0);
  j->request.effort = (uint64_t)read_whole(L, j, "", "effort", (double)FETTLE_NEST_EFFORT, 1e12);
  lua_pop(L, 1);
  if (lua_getfield(L, LUA_REGISTRYINDEX, FETTLE_EFFORT_KEY) == LUA_TNUMBER) {
    j->request.effort = (uint64_t)lua_tonumber(L, -1);
  }
  lua_pop(L, 1);
  j->request.unit = j->unit;
}

/* --- handing out --- */

/* The number in the user's unit first, so that what he typed as 96 in comes back as 96 in. */
static void set_length(lua_State *L, const job *j, const char *field, int64_t units) {
  const double per_metre = 1000.0 * FETTLE_NEST_UNITS_PER_MM;
  double factor = j->unit ? fettle_unit_at(j->unit)->factor : 1;
  fettle_quantity q = {.value = (double)units / (per_metre * factor) * factor,
                       .dimension = LENGTH,
                       .magic = FETTLE_QUANTITY_MAGIC,
                       .unit = j->unit};
  fettle_push_quantity(L, &q);
  lua_setfield(L, -2, field);
}

static void set_whole(lua_State *L, const char *field, uint64_t value) {
  lua_pushinteger(L, (lua_Integer)value);
  lua_setfield(L, -2, field);
}

static void set_text(lua_State *L, const char *field, const char *value) {
  lua_pushstring(L, value);
  lua_setfield(L, -2, field);
}

static void set_cost(lua_State *L, const job *j, const char *field, int64_t cost) {
  fettle_quantity q = j->money;
  q.value = (double)cost / COST_STEPS;
  fettle_push_quantity(L, &q);
  lua_setfield(L, -2, field);
}

static void push_places(lua_State *L, const job *j, const fettle_nest_sheet *sheet) {
  lua_createtable(L, (int)sheet->place_count, 0);
  for (size_t i = 0; i < sheet->place_count; i++) {
    const fettle_nest_place *place = &j->layout.places[sheet->place_first + i];
    lua_createtable(L, 0, 7);
    set_text(L, "name", j->pieces[place->kind].name);
    set_length(L, j, "x", place->x);
    set_length(L, j, "length", place->length);
    if (!j->bars) {
      set_length(L, j, "y", place->y);
      set_length(L, j, "width", place->width);
      lua_pushboolean(L, place->turned);
      lua_setfield(L, -2, "turned");
    }
    set_whole(L, "part", place->part);
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
}

static void push_cuts(lua_State *L, const job *j, const fettle_nest_sheet *sheet) {
  lua_createtable(L, (int)sheet->cut_count, 0);
  for (size_t i = 0; i < sheet->cut_count; i++) {
    const fettle_nest_cut *cut = &j->layout.cuts[sheet->cut_first + i];
    lua_createtable(L, 0, 6);
    set_whole(L, "number", cut->number);
    set_whole(L, "part", cut->part);
    set_text(L, "direction", cut->along ? "along" : "across");
    set_length(L, j, "position", cut->position);
    if (cut->first != 0) {
      set_whole(L, "first", cut->first);
    }
    if (cut->second != 0) {
      set_whole(L, "second", cut->second);
    }
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
}

static void push_offcuts(lua_State *L, const job *j, const fettle_nest_sheet *sheet) {
  lua_createtable(L, (int)sheet->offcut_count, 0);
  for (size_t i = 0; i < sheet->offcut_count; i++) {
    const fettle_nest_offcut *offcut = &j->layout.offcuts[sheet->offcut_first + i];
    lua_createtable(L, 0, 5);
    set_length(L, j, "x", offcut->x);
    set_length(L, j, "length", offcut->length);
    if (!j->bars) {
      set_length(L, j, "y", offcut->y);
      set_length(L, j, "width", offcut->width);
    }
    set_whole(L, "part", offcut->part);
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
}

static void push_sheets(lua_State *L, const job *j) {
  lua_createtable(L, (int)j->layout.sheet_count, 0);
  for (size_t i = 0; i < j->layout.sheet_count; i++) {
    const fettle_nest_sheet *sheet = &j->layout.sheets[i];
    const fettle_nest_stock *stock = &j->stocks[sheet->stock];
    lua_createtable(L, 0, 7);
    set_text(L, "stock", stock->name);
    set_length(L, j, "length", stock->length);
    if (!j->bars) {
      set_length(L, j, "width", stock->width);
      if (stock->thickness != 0) {
        set_length(L, j, "thickness", stock->thickness);
      }
    }
    push_places(L, j, sheet);
    lua_setfield(L, -2, "pieces");
    push_cuts(L, j, sheet);
    lua_setfield(L, -2, "cuts");
    push_offcuts(L, j, sheet);
    lua_setfield(L, -2, "offcuts");
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
}

static void push_unplaced(lua_State *L, const job *j) {
  lua_Integer row = 0;
  lua_newtable(L);
  for (size_t i = 0; i < j->request.piece_kinds; i++) {
    if (j->layout.unplaced[i] > 0) {
      lua_createtable(L, 0, 2);
      set_text(L, "name", j->pieces[i].name);
      set_whole(L, "count", j->layout.unplaced[i]);
      lua_rawseti(L, -2, ++row);
    }
  }
}

/* Appends {name =, value =} for the value on top to the list below it. */
static void add_value(lua_State *L, const char *name) {
  lua_createtable(L, 0, 2);
  lua_insert(L, -2);
  lua_setfield(L, -2, "value");
  set_text(L, "name", name);
  set_text(L, "symbol", name);
  lua_rawseti(L, -2, (lua_Integer)lua_rawlen(L, -2) + 1);
}

static void add_length(lua_State *L, const job *j, const char *name, int64_t units) {
  lua_newtable(L);
  set_length(L, j, "value", units);
  lua_getfield(L, -1, "value");
  lua_remove(L, -2);
  add_value(L, name);
}

static void push_substituted(lua_State *L, const job *j, uint64_t asked, uint64_t left) {
  char area[32], used[32];
  const char *thing = j->bars ? "bar" : "sheet";
  fettle_number_format(j->layout.area_bound, 4, area, sizeof area);
  fettle_number_format(100 * j->layout.used, 3, used, sizeof used);
  lua_pushfstring(
      L,
      "%I pieces on %I %s%s, %s %% used; their material alone fills %s, and at least %I "
      "%s needed%s",
      (lua_Integer)(asked - left), (lua_Integer)j->layout.sheet_count, thing,
      j->layout.sheet_count == 1 ? "" : "s", used, area, (lua_Integer)j->layout.bound,
      j->layout.bound == 1 ? "is" : "are", j->layout.proved ? ": proved least" : "");
}

static void push_warnings(lua_State *L, uint64_t left) {
  lua_newtable(L);
  if (left > 0) {
    lua_createtable(L, 0, 2);
    set_text(L, "parameter", "stock");
    lua_pushfstring(L, "the stock does not suffice: %I pieces are left over (see unplaced)",
                    (lua_Integer)left);
    lua_setfield(L, -2, "message");
    lua_rawseti(L, -2, 1);
  }
}

static void push_working(lua_State *L, const job *j) {
  const fettle_formula *formula = fettle_find(j->what);
  uint64_t asked = 0, left = 0;
  for (size_t i = 0; i < j->request.piece_kinds; i++) {
    asked += j->pieces[i].count;
    left += j->layout.unplaced[i];
  }
  lua_createtable(L, 0, 12);
  set_text(L, "kind", "calculation");
  set_text(L, "name", j->what);
  set_text(L, "brief", formula->brief);
  set_text(L, "formula", formula->text);
  set_text(L, "source", formula->source);
  set_text(L, "notes", formula->notes);
  push_substituted(L, j, asked, left);
  lua_setfield(L, -2, "substituted");
  lua_newtable(L);
  lua_pushinteger(L, (lua_Integer)asked);
  add_value(L, "pieces");
  add_length(L, j, "kerf", j->request.kerf);
  add_length(L, j, "trim", j->request.trim_ends);
  add_length(L, j, "keep", j->request.keep);
  lua_pushinteger(L, (lua_Integer)j->request.effort);
  add_value(L, "effort");
  lua_setfield(L, -2, "inputs");
  lua_newtable(L);
  lua_pushinteger(L, (lua_Integer)j->layout.sheet_count);
  add_value(L, "count");
  lua_pushinteger(L, (lua_Integer)j->layout.bound);
  add_value(L, "bound");
  lua_pushnumber(L, j->layout.used);
  add_value(L, "used");
  lua_setfield(L, -2, "outputs");
  push_warnings(L, left);
  lua_setfield(L, -2, "warnings");
  lua_newtable(L);
  lua_pushliteral(L, "dust");
  lua_rawseti(L, -2, 1);
  lua_setfield(L, -2, "hazards");
}

/* Solves, has the layout proved, and pushes the result. */
static void solve(lua_State *L, job *j) {
  fettle_diagnostic diagnostic = {0};
  fettle_status status = fettle_nest_solve(&j->request, &j->host, &j->layout, &diagnostic);
  if (status == FETTLE_OK) {
    status = fettle_nest_check(&j->request, &j->layout, &j->host, &diagnostic);
  }
  if (status != FETTLE_OK) {
    fettle_raise(L, j->what, &diagnostic);
  }
  lua_createtable(L, 0, 12);
  push_sheets(L, j);
  lua_setfield(L, -2, j->bars ? "bars" : "sheets");
  set_whole(L, "count", j->layout.sheet_count);
  set_whole(L, "bound", j->layout.bound);
  lua_pushnumber(L, j->layout.area_bound);
  lua_setfield(L, -2, "area_bound");
  lua_pushnumber(L, j->layout.used);
  lua_setfield(L, -2, "used");
  if (j->request.costed) {
    set_cost(L, j, "cost", j->layout.cost);
    set_cost(L, j, "cost_bound", j->layout.bound_cost);
  }
  push_unplaced(L, j);
  lua_setfield(L, -2, "unplaced");
  lua_pushboolean(L, j->layout.proved);
  lua_setfield(L, -2, "proved");
  set_whole(L, "effort_spent", j->layout.effort_spent);
  push_working(L, j);
  lua_setfield(L, -2, "working");
}

static int nest(lua_State *L, const char *what, bool bars) {
  static const char *const keys[] = {"pieces", "stock", "kerf", "trim", "keep", "effort", NULL};
  job *j = new_job(L, what);
  j->bars = bars;
  known_keys(L, j, 1, "the call", keys);
  read_pieces(L, j);
  read_stock(L, j, false);
  read_cutting(L, j);
  if (bars) {
    /* A bar is a sheet of one width, which every piece fills; any width that the kerf allows. */
    int64_t width = j->request.kerf > 0 ? j->request.kerf : 1;
    for (size_t i = 0; i < j->request.piece_kinds; i++) {
      j->pieces[i].width = width;
    }
    for (size_t i = 0; i < j->request.stock_kinds; i++) {
      j->stocks[i].width = width;
    }
  }
  solve(L, j);
  return 1;
}

static int nest_sheets(lua_State *L) {
  return nest(L, "nesting.sheets", false);
}

static int nest_bars(lua_State *L) {
  return nest(L, "nesting.bars", true);
}

/* --- layers --- */

static const char *const layers_keys[] = {"height", "length", "width",     "outlines", "stock",
                                          "kerf",   "trim",   "glue_line", "stagger",  "keep",
                                          "turn",   "effort", NULL};

static fettle_stack_outline *read_outlines(lua_State *L, job *j, int64_t height, size_t *count) {
  static const char *const keys[] = {"top", "x", "y", "length", "width", NULL};
  fettle_stack_outline *outlines;
  bool listed = lua_getfield(L, 1, "outlines") != LUA_TNIL;
  lua_pop(L, 1);
  if (!listed) {
    outlines = rows_memory(L, j, 1, sizeof *outlines);
    lua_pushvalue(L, 1);
    outlines[0].top = height;
    outlines[0].length = read_length(L, j, "", "length", -1);
    outlines[0].width = read_length(L, j, "", "width", -1);
    lua_pop(L, 1);
    *count = 1;
    return outlines;
  }
  *count = open_list(L, j, "outlines", FETTLE_NEST_KINDS_MOST);
  outlines = rows_memory(L, j, *count, sizeof *outlines);
  for (size_t i = 0; i < *count; i++) {
    open_row(L, j, "outlines", i + 1);
    const char *where = lua_pushfstring(L, "outlines[%d]", (int)i + 1);
    lua_insert(L, -2);
    known_keys(L, j, -1, where, keys);
    where = lua_pushfstring(L, "outlines[%d]: ", (int)i + 1);
    lua_insert(L, -2);
    outlines[i].top = read_length(L, j, where, "top", -1);
    outlines[i].x = read_length(L, j, where, "x", 0);
    outlines[i].y = read_length(L, j, where, "y", 0);
    outlines[i].length = read_length(L, j, where, "length", -1);
    outlines[i].width = read_length(L, j, where, "width", -1);
    lua_pop(L, 3);
  }
  lua_pop(L, 1);
  return outlines;
}

/* The pieces of the plan as a piece list: L3-2 is piece 2 of layer 3. */
static void name_pieces(lua_State *L, job *j, bool may_turn) {
  j->pieces = rows_memory(L, j, j->plan.piece_count, sizeof *j->pieces);
  for (size_t i = 0; i < j->plan.piece_count; i++) {
    const fettle_stack_piece *from = &j->plan.pieces[i];
    const fettle_stack_layer *layer = &j->plan.layers[from->layer];
    const char *name =
        lua_pushfstring(L, "L%d-%d", (int)from->layer + 1, (int)(i - layer->piece_first) + 1);
    keep_alive(L, j);
    j->pieces[i] = (fettle_nest_piece){.name = name,
                                       .length = from->length,
                                       .width = from->width,
                                       .thickness = layer->thickness,
                                       .count = 1,
                                       .may_turn = may_turn};
  }
  j->request.pieces = j->pieces;
  j->request.piece_kinds = j->plan.piece_count;
}

static void push_layers(lua_State *L, const job *j) {
  lua_createtable(L, (int)j->plan.layer_count, 0);
  for (size_t i = 0; i < j->plan.layer_count; i++) {
    const fettle_stack_layer *layer = &j->plan.layers[i];
    lua_createtable(L, 0, 9);
    lua_pushfstring(L, "L%d", (int)i + 1);
    lua_setfield(L, -2, "name");
    set_length(L, j, "bottom", layer->bottom);
    set_length(L, j, "top", layer->bottom + layer->thickness);
    set_length(L, j, "thickness", layer->thickness);
    set_length(L, j, "x", layer->x);
    set_length(L, j, "y", layer->y);
    set_length(L, j, "length", layer->length);
    set_length(L, j, "width", layer->width);
    lua_createtable(L, (int)layer->piece_count, 0);
    for (size_t p = 0; p < layer->piece_count; p++) {
      const fettle_stack_piece *piece = &j->plan.pieces[layer->piece_first + p];
      lua_createtable(L, 0, 5);
      set_text(L, "name", j->pieces[layer->piece_first + p].name);
      set_length(L, j, "x", piece->x);
      set_length(L, j, "y", piece->y);
      set_length(L, j, "length", piece->length);
      set_length(L, j, "width", piece->width);
      lua_rawseti(L, -2, (lua_Integer)p + 1);
    }
    lua_setfield(L, -2, "pieces");
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
}

/* Glue area between the layers, in the square of the user's unit where the trade has one. */
static void set_joint_area(lua_State *L, const job *j) {
  const double per_metre = 1000.0 * FETTLE_NEST_UNITS_PER_MM;
  const fettle_unit *unit = j->unit ? fettle_unit_at(j->unit) : NULL;
  bool inch = unit && unit->habit == FETTLE_HABIT_INCH;
  fettle_quantity q = {0};
  if (fettle_quantity_make(0, inch ? "in^2" : "m^2", FETTLE_ROLE_ANY, &q, NULL) == FETTLE_OK) {
    q.value = j->plan.joint_area / (per_metre * per_metre);
    fettle_push_quantity(L, &q);
    lua_setfield(L, -2, "joint_area");
  }
}

static int nest_layers(lua_State *L) {
  job *j = new_job(L, "nesting.layers");
  fettle_stack_request stack = {0};
  fettle_diagnostic diagnostic = {0};
  known_keys(L, j, 1, "the call", layers_keys);
  lua_pushvalue(L, 1);
  stack.height = read_length(L, j, "", "height", -1);
  stack.glue_line = read_length(L, j, "", "glue_line", 0);
  stack.stagger = read_length(L, j, "", "stagger", 0);
  stack.may_turn = read_flag(L, j, "", "turn");
  lua_pop(L, 1);
  stack.outlines = read_outlines(L, j, stack.height, &stack.outline_count);
  read_stock(L, j, true);
  read_cutting(L, j);
  stack.stocks = j->stocks;
  stack.stock_kinds = j->request.stock_kinds;
  stack.kerf = j->request.kerf;
  stack.trim_ends = j->request.trim_ends;
  stack.trim_sides = j->request.trim_sides;
  stack.costed = j->request.costed;
  stack.unit = j->unit;
  if (fettle_stack_solve(&stack, &j->host, &j->plan, &diagnostic) != FETTLE_OK) {
    return fettle_raise(L, j->what, &diagnostic);
  }
  name_pieces(L, j, stack.may_turn);
  solve(L, j);
  push_layers(L, j);
  lua_setfield(L, -2, "layers");
  set_length(L, j, "height", j->plan.total);
  set_length(L, j, "waste_height", j->plan.total - stack.height);
  set_joint_area(L, j);
  return 1;
}

void fettle_open_nesting(lua_State *L, int index) {
  static const luaL_Reg functions[] = {
      {"sheets", nest_sheets}, {"bars", nest_bars}, {"layers", nest_layers}, {NULL, NULL}};
  index = lua_absindex(L, index);
  luaL_getsubtable(L, index, "nesting");
  luaL_setfuncs(L, functions, 0);
  lua_pop(L, 1);
}
