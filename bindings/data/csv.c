/* data/csv.c - tables of comma-separated values, read by declared columns. */
#include "data/csv.h"

#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sysexits.h>

#include <lauxlib.h>

#include "data/text.h"
#include "fettle/quantity.h"
#include "lua/quantity.h"

enum {
  BYTES_MOST = 16 << 20,
  COLUMNS_MOST = 256,
  CELL_MOST = 4096,
  UNIT_MOST = 64,
  SHOWN_MOST = 64
};

typedef struct declared {
  const char *name; /* borrowed from the declaration */
  const char *unit; /* of a quantity */
  fettle_unit_expression expression;
  fettle_role role;
  bool text, whole, optional, choices;
  int choices_index;           /* stack index of the list, when `choices` */
  int cell;                    /* column of the file, from 0; -1 when absent */
  char header_unit[UNIT_MOST]; /* from the header, or empty */
} declared;

typedef struct reader {
  lua_State *L;
  const char *name;
  const char *at, *end; /* what is still to be read */
  size_t line, column;  /* of `at` */
  char separator;
  declared columns[COLUMNS_MOST];
  size_t count;
  bool strict;
  size_t width; /* cells of the header */
  /* The cell just read. */
  char cell[CELL_MOST + 1];
  size_t length, cell_line, cell_column;
  bool quoted, last; /* `last` of its line */
  int exit_status;
  char message[900];
} reader;

#if defined(__GNUC__)
__attribute__((format(printf, 5, 6)))
#endif
static bool
refuse(reader *r, size_t line, size_t column, const char *field, const char *format, ...) {
  char name[160], shown[SHOWN_MOST], text[560];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(text, sizeof text, format, arguments);
  va_end(arguments);
  r->exit_status = EX_DATAERR;
  snprintf(r->message, sizeof r->message, "%s:%zu:%zu: %s%s%s",
           fettle_text_show(r->name, strlen(r->name), name, sizeof name), line, column,
           field ? fettle_text_show(field, strlen(field), shown, sizeof shown) : "",
           field ? ": " : "", text);
  return false;
}

/* --- the declaration --- */

static bool misdeclared(reader *r, const char *column, const char *text) {
  snprintf(r->message, sizeof r->message, "columns: %s%s%s", column ? column : "",
           column ? ": " : "", text);
  r->exit_status = EX_DATAERR;
  return false;
}

static bool flag(lua_State *L, int index, const char *key) {
  lua_getfield(L, index, key);
  bool set = lua_toboolean(L, -1);
  lua_pop(L, 1);
  return set;
}

/* Texts stay alive while the declaration does. */
static const char *text_field(lua_State *L, int index, const char *key) {
  const char *text = lua_getfield(L, index, key) == LUA_TSTRING ? lua_tostring(L, -1) : NULL;
  lua_pop(L, 1);
  return text;
}

static bool take_declared(reader *r, int index, declared *out) {
  lua_State *L = r->L;
  *out = (declared){.cell = -1};
  out->name = text_field(L, index, "name");
  if (!out->name || out->name[0] == '\0') {
    return misdeclared(r, NULL, "each needs name = \"...\"");
  }
  out->text = flag(L, index, "text");
  out->whole = flag(L, index, "whole");
  out->optional = flag(L, index, "optional");
  out->unit = text_field(L, index, "unit");
  const char *role = text_field(L, index, "role");
  if (role && strcmp(role, "point") != 0 && strcmp(role, "difference") != 0) {
    return misdeclared(r, out->name, "role must be \"point\" or \"difference\"");
  }
  out->role = !role                        ? FETTLE_ROLE_ANY
              : strcmp(role, "point") == 0 ? FETTLE_ROLE_POINT
                                           : FETTLE_ROLE_DIFFERENCE;
  if (lua_getfield(L, index, "choices") == LUA_TTABLE) {
    out->choices = true;
    out->choices_index = lua_gettop(L); /* stays on the stack */
  } else {
    lua_pop(L, 1);
  }
  if ((int)out->text + (int)out->whole + (int)out->choices + (out->unit ? 1 : 0) > 1) {
    return misdeclared(r, out->name, "text, whole, choices and unit exclude one another");
  }
  fettle_diagnostic diagnostic;
  const char *unit = out->unit ? out->unit : "1";
  if (fettle_unit_parse(unit, strlen(unit), &out->expression, &diagnostic) != FETTLE_OK) {
    return misdeclared(r, out->name, diagnostic.message);
  }
  if (out->role == FETTLE_ROLE_ANY && out->expression.point) {
    out->role = FETTLE_ROLE_POINT;
  }
  for (size_t i = 0; i < r->count; i++) {
    if (strcmp(r->columns[i].name, out->name) == 0) {
      return misdeclared(r, out->name, "declared twice");
    }
  }
  return true;
}

static bool take_declaration(reader *r, int index) {
  lua_State *L = r->L;
  lua_Unsigned count = lua_type(L, index) == LUA_TTABLE ? lua_rawlen(L, index) : 0;
  if (count < 1 || count > COLUMNS_MOST) {
    return misdeclared(r, NULL, "a list of 1 to 256 columns is due, each {name = \"...\", ...}");
  }
  luaL_checkstack(L, (int)count + 16, NULL);
  r->strict = flag(L, index, "strict");
  for (lua_Unsigned i = 1; i <= count; i++) {
    if (lua_rawgeti(L, index, (lua_Integer)i) != LUA_TTABLE) {
      return misdeclared(r, NULL, "each must be a table {name = \"...\", ...}");
    }
    int entry = lua_gettop(L);
    if (!take_declared(r, entry, &r->columns[r->count])) {
      return false;
    }
    r->count++;
    if (!r->columns[r->count - 1].choices) {
      lua_settop(L, entry - 1);
    }
  }
  return true;
}

/* --- cells --- */

static bool line_end(const reader *r) {
  return r->at == r->end || *r->at == '\n' || *r->at == '\r';
}

static void step(reader *r) {
  unsigned char byte = (unsigned char)*r->at++;
  if (byte == '\n' || (byte == '\r' && (r->at == r->end || *r->at != '\n'))) {
    r->line++;
    r->column = 1;
  } else if ((byte & 0xC0) != 0x80 && byte != '\r') {
    r->column++;
  }
}

static bool put(reader *r) {
  if (r->length == CELL_MOST) {
    return refuse(r, r->cell_line, r->cell_column, NULL,
                  "a cell of more than %d bytes: close its quote, or shorten it", CELL_MOST);
  }
  r->cell[r->length++] = *r->at;
  return true;
}

static void skip_blanks(reader *r) {
  while (r->at < r->end && (*r->at == ' ' || (*r->at == '\t' && r->separator != '\t'))) {
    step(r);
  }
}

static bool next_quoted(reader *r) {
  step(r);
  for (;;) {
    if (r->at == r->end) {
      return refuse(r, r->cell_line, r->cell_column, NULL,
                    "a quote is not closed: end the cell with \"");
    }
    if (*r->at == '"') {
      step(r);
      if (r->at == r->end || *r->at != '"') {
        break;
      }
    }
    if (!put(r)) {
      return false;
    }
    step(r);
  }
  skip_blanks(r);
  if (!line_end(r) && *r->at != r->separator) {
    return refuse(r, r->line, r->column, NULL,
                  "text after a closing quote: write a quote inside a cell twice (\"\")");
  }
  return true;
}

static bool next_cell(reader *r) {
  r->length = 0;
  skip_blanks(r);
  r->cell_line = r->line;
  r->cell_column = r->column;
  r->quoted = r->at < r->end && *r->at == '"';
  if (r->quoted) {
    if (!next_quoted(r)) {
      return false;
    }
  } else {
    while (!line_end(r) && *r->at != r->separator) {
      if (!put(r)) {
        return false;
      }
      step(r);
    }
    while (r->length > 0 && (r->cell[r->length - 1] == ' ' || r->cell[r->length - 1] == '\t')) {
      r->length--;
    }
  }
  r->cell[r->length] = '\0';
  r->last = line_end(r);
  if (!r->last) {
    step(r); /* the separator */
  } else if (r->at < r->end) {
    if (*r->at == '\r' && r->at + 1 < r->end && r->at[1] == '\n') {
      step(r);
    }
    step(r);
  }
  return true;
}

/* Skips lines that hold nothing but blanks. */
static bool more_lines(reader *r) {
  while (r->at < r->end) {
    const char *look = r->at;
    while (look < r->end && (*look == ' ' || *look == '\t')) {
      look++;
    }
    if (look < r->end && *look != '\n' && *look != '\r') {
      return true;
    }
    while (!line_end(r)) {
      step(r);
    }
    if (r->at < r->end) {
      if (*r->at == '\r' && r->at + 1 < r->end && r->at[1] == '\n') {
        step(r);
      }
      step(r);
    }
  }
  return false;
}

/* --- the header --- */

/* Splits "time (h)" and "temperature [degC]" in place; `unit` gets "h". */
static void split_unit(char *name, size_t length, char unit[UNIT_MOST]) {
  unit[0] = '\0';
  if (length < 3 || (name[length - 1] != ')' && name[length - 1] != ']')) {
    return;
  }
  char opening = name[length - 1] == ')' ? '(' : '[';
  /* "conductivity (W/(m K))": the bracket that matches the last. */
  size_t open = length;
  int depth = 0;
  while (open > 0) {
    open--;
    depth += name[open] == name[length - 1] ? 1 : name[open] == opening ? -1 : 0;
    if (depth == 0) {
      break;
    }
  }
  if (depth > 0 || open == 0 || length - open - 2 >= UNIT_MOST) {
    return;
  }
  memcpy(unit, name + open + 1, length - open - 2);
  unit[length - open - 2] = '\0';
  while (open > 0 && name[open - 1] == ' ') {
    open--;
  }
  name[open] = '\0';
}

/* The whole heading as a name first: "side (port)" may be one. */
static declared *find_column(reader *r, char unit[UNIT_MOST]) {
  unit[0] = '\0';
  for (int pass = 0; pass < 2; pass++) {
    for (size_t i = 0; i < r->count; i++) {
      if (strcmp(r->columns[i].name, r->cell) == 0) {
        return &r->columns[i];
      }
    }
    if (pass == 0) {
      split_unit(r->cell, r->length, unit);
    }
  }
  return NULL;
}

static bool take_header_unit(reader *r, declared *column, const char *unit) {
  fettle_unit_expression expression;
  fettle_diagnostic diagnostic;
  char got[64], want[64];
  if (unit[0] == '\0') {
    return true;
  }
  if (column->text || column->choices) {
    return refuse(r, r->cell_line, r->cell_column, column->name,
                  "a unit (%s) over a column of texts: drop it", unit);
  }
  if (fettle_unit_parse(unit, strlen(unit), &expression, &diagnostic) != FETTLE_OK) {
    return refuse(r, r->cell_line, r->cell_column, column->name, "%s", diagnostic.message);
  }
  if (expression.dimension != column->expression.dimension) {
    fettle_dimension_name(expression.dimension, got, sizeof got);
    fettle_dimension_name(column->expression.dimension, want, sizeof want);
    return refuse(r, r->cell_line, r->cell_column, column->name,
                  "the heading's unit %s is of the kind %s, and %s is due: write (%s)", unit, got,
                  want, column->unit ? column->unit : "1");
  }
  snprintf(column->header_unit, sizeof column->header_unit, "%s", unit);
  return true;
}

/* The separator is a comma. A first line with none, but with others, shows what the file uses. */
static bool check_separator(reader *r) {
  size_t commas = 0, semicolons = 0, tabs = 0, first_semicolon = 0, first_tab = 0;
  bool quoted = false;
  for (const char *at = r->at; at < r->end && *at != '\n' && *at != '\r'; at++) {
    if (*at == '"') {
      quoted = !quoted;
    } else if (!quoted) {
      commas += *at == ',';
      if (*at == ';' && semicolons++ == 0) {
        first_semicolon = (size_t)(at - r->at) + 1;
      }
      if (*at == '\t' && tabs++ == 0) {
        first_tab = (size_t)(at - r->at) + 1;
      }
    }
  }
  if (commas == 0 && (semicolons > 0 || tabs > 0)) {
    return refuse(r, r->line, semicolons > 0 ? first_semicolon : first_tab, NULL,
                  "the cells are parted by %s: save the table with commas between cells and points "
                  "in numbers",
                  semicolons > 0 ? "semicolons" : "tabs");
  }
  return true;
}

static bool read_header(reader *r) {
  char unit[UNIT_MOST], seen[SHOWN_MOST];
  if (!more_lines(r)) {
    return refuse(r, 1, 1, NULL, "the file is empty: the first line names the columns");
  }
  size_t line = r->line;
  if (!check_separator(r)) {
    return false;
  }
  const char *names[COLUMNS_MOST];
  for (size_t i = 0; i < r->count; i++) {
    names[i] = r->columns[i].name;
  }
  /* What could stand for a missing column, for the message. */
  char nearest[SHOWN_MOST] = "", nearest_to[SHOWN_MOST] = "";
  do {
    if (!next_cell(r)) {
      return false;
    }
    if (r->width == COLUMNS_MOST) {
      return refuse(r, line, r->cell_column, NULL, "more than %d columns: drop some", COLUMNS_MOST);
    }
    declared *column = find_column(r, unit);
    if (column) {
      if (column->cell >= 0) {
        return refuse(r, r->cell_line, r->cell_column, column->name,
                      "the heading stands twice: keep one of the columns");
      }
      column->cell = (int)r->width;
      if (!take_header_unit(r, column, unit)) {
        return false;
      }
    } else {
      size_t length = strlen(r->cell);
      const char *near = fettle_text_nearest(r->cell, length, names, r->count);
      if (r->strict) {
        return refuse(r, r->cell_line, r->cell_column, NULL, "unknown column `%s`: %s%s%s",
                      fettle_text_show(r->cell, length, seen, sizeof seen),
                      near ? "the nearest known one is `" : "drop it, or declare it",
                      near ? near : "", near ? "`" : "");
      }
      if (near) {
        fettle_text_show(r->cell, length, nearest, sizeof nearest);
        fettle_text_show(near, strlen(near), nearest_to, sizeof nearest_to);
      }
    }
    r->width++;
  } while (!r->last);
  for (size_t i = 0; i < r->count; i++) {
    const declared *column = &r->columns[i];
    if (column->cell >= 0 || column->optional) {
      continue;
    }
    bool near = strcmp(nearest_to, column->name) == 0;
    return refuse(r, line, 1, column->name, "no such column: %s%s%s",
                  near ? "is it `" : "the first line must name it", near ? nearest : "",
                  near ? "`?" : "");
  }
  return true;
}

/* --- values --- */

static bool refuse_cell(reader *r, const declared *column, const char *text) {
  return refuse(r, r->cell_line, r->cell_column, column->name, "%s", text);
}

static bool decimal_comma(const reader *r) {
  const char *comma = strchr(r->cell, ',');
  return comma && comma > r->cell && comma[-1] >= '0' && comma[-1] <= '9' && comma[1] >= '0' &&
         comma[1] <= '9';
}

static bool push_choice(reader *r, const declared *column) {
  lua_State *L = r->L;
  char seen[SHOWN_MOST], list[300] = "";
  lua_pushlstring(L, r->cell, r->length);
  lua_Unsigned count = lua_rawlen(L, column->choices_index);
  for (lua_Unsigned i = 1; i <= count; i++) {
    lua_rawgeti(L, column->choices_index, (lua_Integer)i);
    if (lua_rawequal(L, -1, -2)) {
      lua_pop(L, 1);
      return true;
    }
    size_t used = strlen(list);
    const char *choice = lua_type(L, -1) == LUA_TSTRING ? lua_tostring(L, -1) : "?";
    snprintf(list + used, sizeof list - used, "%s%s", i == 1 ? "" : ", ", choice);
    lua_pop(L, 1);
  }
  return refuse(r, r->cell_line, r->cell_column, column->name,
                "= %s: is not known here: write one of %s",
                fettle_text_show(r->cell, r->length, seen, sizeof seen), list);
}

/* A plain number in a cell takes the heading's unit. */
static bool read_number(reader *r, const declared *column, fettle_quantity *out) {
  char seen[SHOWN_MOST], got[64], want[64];
  fettle_diagnostic diagnostic;
  double number;
  fettle_text_show(r->cell, r->length, seen, sizeof seen);
  if (decimal_comma(r)) {
    return refuse(r, r->cell_line, r->cell_column, column->name,
                  "= %s: a comma in a number: write 1.5 with a point, 1000 without a comma", seen);
  }
  bool plain = fettle_number_parse(r->cell, r->length, &number, &diagnostic) == FETTLE_OK;
  fettle_status status =
      plain && column->header_unit[0]
          ? fettle_quantity_make(number, column->header_unit, column->role, out, &diagnostic)
          : fettle_quantity_parse(r->cell, r->length, column->role, out, &diagnostic);
  if (status != FETTLE_OK) {
    return refuse_cell(r, column, diagnostic.message);
  }
  if (out->dimension != column->expression.dimension) {
    const char *unit = column->unit ? column->unit : "1";
    if (out->dimension == 0) {
      return refuse(r, r->cell_line, r->cell_column, column->name,
                    "= %s: needs a unit: write %s %s, or `%s (%s)` as heading", seen, seen, unit,
                    column->name, unit);
    }
    fettle_dimension_name(out->dimension, got, sizeof got);
    fettle_dimension_name(column->expression.dimension, want, sizeof want);
    return refuse(r, r->cell_line, r->cell_column, column->name,
                  "= %s: is of the kind %s, and %s is due: write it in %s", seen, got, want, unit);
  }
  return true;
}

static bool push_cell(reader *r, const declared *column) {
  lua_State *L = r->L;
  char seen[SHOWN_MOST];
  fettle_quantity quantity = {0};
  if (r->length == 0 && !(column->text && r->quoted)) {
    if (!column->optional) {
      return refuse_cell(r, column, "an empty cell: write its value, or drop the line");
    }
    lua_pushnil(L);
    return true;
  }
  if (column->text) {
    lua_pushlstring(L, r->cell, r->length);
    return true;
  }
  if (column->choices) {
    return push_choice(r, column);
  }
  if (!read_number(r, column, &quantity)) {
    return false;
  }
  if (column->whole) {
    if (quantity.value != floor(quantity.value) || fabs(quantity.value) > 9007199254740992.0) {
      return refuse(r, r->cell_line, r->cell_column, column->name,
                    "= %s: a whole number is due: drop the part after the point",
                    fettle_text_show(r->cell, r->length, seen, sizeof seen));
    }
    lua_pushinteger(L, (lua_Integer)quantity.value);
    return true;
  }
  if (column->unit && column->expression.index != 0) {
    quantity.unit = (uint16_t)column->expression.index;
  }
  fettle_push_quantity(L, &quantity);
  return true;
}

static bool read_row(reader *r, const int *owner) {
  size_t line = r->line, cells = 0;
  do {
    if (!next_cell(r)) {
      return false;
    }
    int index = cells < r->width ? owner[cells] : -1;
    if (cells < r->width && index >= 0) {
      if (!push_cell(r, &r->columns[index])) {
        return false;
      }
      lua_setfield(r->L, -2, r->columns[index].name);
    }
    cells++;
    if (cells > r->width) {
      return refuse(r, line, r->cell_column, NULL,
                    "more cells than the first line's %zu: put a cell with a comma in quotes, and "
                    "write numbers with a point",
                    r->width);
    }
  } while (!r->last);
  if (cells < r->width) {
    return refuse(r, line, 1, NULL, "%zu cells where the first line has %zu: fill the line up",
                  cells, r->width);
  }
  return true;
}

/* Runs protected, so that an error of Lua's memory cannot leave the reader behind. */
static int read_protected(lua_State *L) {
  reader *r = lua_touserdata(L, 1);
  int owner[COLUMNS_MOST];
  fettle_text_place place;
  r->L = L;
  if (!take_declaration(r, 2)) {
    return 0;
  }
  size_t length = (size_t)(r->end - r->at);
  if (length > BYTES_MOST) {
    refuse(r, 1, 1, NULL, "the file has %zu bytes, at most %d are read: split it", length,
           BYTES_MOST);
    return 0;
  }
  if (length >= 3 && memcmp(r->at, "\xEF\xBB\xBF", 3) == 0) {
    r->at += 3;
  }
  const char *fault = fettle_text_check(r->at, (size_t)(r->end - r->at), &place);
  if (fault) {
    refuse(r, place.line, place.column, NULL, "%s", fault);
    return 0;
  }
  if (!read_header(r)) {
    return 0;
  }
  for (size_t i = 0; i < COLUMNS_MOST; i++) {
    owner[i] = -1;
  }
  for (size_t i = 0; i < r->count; i++) {
    if (r->columns[i].cell >= 0) {
      owner[r->columns[i].cell] = (int)i;
    }
  }
  lua_newtable(L);
  for (lua_Integer row = 1; more_lines(r); row++) {
    lua_createtable(L, 0, (int)r->count);
    if (!read_row(r, owner)) {
      return 0;
    }
    lua_rawseti(L, -2, row);
  }
  return 1;
}

int fettle_csv_read(lua_State *L, const char *name, const char *bytes, size_t length,
                    int columns_index) {
  columns_index = lua_absindex(L, columns_index);
  luaL_checkstack(L, 4, NULL);
  reader *r = calloc(1, sizeof *r);
  if (!r) {
    lua_pushliteral(L, "no memory left to read a table: close other programs");
    return EX_OSERR;
  }
  r->name = name;
  r->at = bytes;
  r->end = bytes + length;
  r->line = r->column = 1;
  r->separator = ',';
  lua_pushcfunction(L, read_protected);
  lua_pushlightuserdata(L, r);
  lua_pushvalue(L, columns_index);
  int status = lua_pcall(L, 2, 1, 0);
  int result = r->exit_status;
  char message[sizeof r->message];
  memcpy(message, r->message, sizeof message);
  free(r);
  if (status != LUA_OK) {
    return lua_error(L);
  }
  if (result != 0) {
    lua_pop(L, 1);
    lua_pushstring(L, message);
  }
  return result;
}
