/* data/shop.c - reads shop data by the schema: each value by the type of its field. */
#include "data/shop.h"

#include <float.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sysexits.h>

#include <lauxlib.h>

#include "data/shop_schema.h"
#include "data/text.h"
#include "data/yaml.h"
#include "fettle/quantity.h"
#include "fettle/version.h"
#include "lua/quantity.h"

enum { PATH_MOST = 400, FIELDS_MOST = 64, NAME_MOST = 80, SHOWN_MOST = 64 };

typedef fettle_yaml_node node;
typedef fettle_shop_field field;

/* Standing, source and date: of a value, or of a whole entry for the values in it. */
typedef struct accounting {
  const char *standing; /* NULL: guessed */
  const char *source, *date, *note;
} accounting;

typedef struct reader {
  lua_State *L;
  const char *name;
  fettle_yaml *yaml;
  const char *override_path;
  int override_end;
  bool overridden;
  int origins; /* stack index */
  fettle_habit habit;
  const char *currency; /* or NULL */
  char path[PATH_MOST];
  char message[1100];
  const char *bytes;
  size_t length;
  int exit_status;
} reader;

/* A typed number: quantity, plain number or ratio. */
typedef struct amount {
  fettle_quantity quantity; /* RATIO: hardener to resin */
  double first, second;     /* RATIO */
} amount;

/* --- messages --- */

#if defined(__GNUC__)
__attribute__((format(printf, 3, 4)))
#endif
static bool
refuse(reader *r, const node *at, const char *format, ...) {
  char name[160], path[200], text[620];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(text, sizeof text, format, arguments);
  va_end(arguments);
  const char *joint = text[0] == '=' ? " " : ": "; /* "cutters/ball/diameter = 12 kg: ..." */
  snprintf(r->message, sizeof r->message, "%s:%zu:%zu: %s%s%s",
           fettle_text_show(r->name, strlen(r->name), name, sizeof name), at->line, at->column,
           fettle_text_show(r->path, strlen(r->path), path, sizeof path), r->path[0] ? joint : "",
           text);
  r->exit_status = EX_CONFIG;
  return false;
}

static const char *shown(const node *text, char out[SHOWN_MOST]) {
  return fettle_text_show(text->text, text->length, out, SHOWN_MOST);
}

static const char *kind_name(const node *value) {
  return value->kind == FETTLE_YAML_LIST  ? "a list"
         : value->kind == FETTLE_YAML_MAP ? "a map"
                                          : "a single value";
}

/* Adds "/name" to the path and returns the length to go back to. */
static size_t enter(reader *r, const char *name) {
  size_t length = strlen(r->path);
  snprintf(r->path + length, sizeof r->path - length, "%s%s", length > 0 ? "/" : "", name);
  return length;
}

static size_t enter_number(reader *r, size_t index) {
  char name[24];
  snprintf(name, sizeof name, "%zu", index);
  return enter(r, name);
}

static void leave(reader *r, size_t length) {
  r->path[length] = '\0';
}

static bool refuse_key(reader *r, const node *key, const char *const *names, size_t count,
                       const char *instead) {
  char text[SHOWN_MOST];
  const char *nearest = fettle_text_nearest(key->text, key->length, names, count);
  if (nearest) {
    return refuse(r, key, "unknown key `%s`: the nearest known one is `%s`", shown(key, text),
                  nearest);
  }
  return refuse(r, key, "unknown key `%s`: %s", shown(key, text), instead);
}

enum { UNIT_MOST = 64 };

/* A unit of the schema in the shop's own currency: the schema writes all money in USD. */
static const char *own_unit(const reader *r, const char *unit, char out[UNIT_MOST]) {
  bool money = r->currency && strncmp(unit, "USD", 3) == 0;
  snprintf(out, UNIT_MOST, "%s%s", money ? r->currency : "", money ? unit + 3 : unit);
  return out;
}

/* The unit in which the limits of a number are written. */
static const char *limit_unit(const reader *r, const field *f, char out[UNIT_MOST]) {
  return own_unit(r, f->unit ? f->unit : "1", out);
}

/* The unit that the shop's habit reads. */
static const char *usual_unit(const reader *r, const field *f, char out[UNIT_MOST]) {
  bool inch = r->habit == FETTLE_HABIT_INCH && f->inch_unit;
  return inch ? own_unit(r, f->inch_unit, out) : limit_unit(r, f, out);
}

/* "in/min, mm/min", that of the shop's habit first. */
static const char *units_text(const reader *r, const field *f, char *out, size_t capacity) {
  char usual[UNIT_MOST], other[UNIT_MOST];
  usual_unit(r, f, usual);
  limit_unit(r, f, other);
  if (strcmp(usual, other) == 0 && f->inch_unit) {
    own_unit(r, f->inch_unit, other);
  }
  bool same = strcmp(usual, other) == 0;
  snprintf(out, capacity, "%s%s%s", usual, same ? "" : ", ", same ? "" : other);
  return out;
}

/* --- numbers --- */

static bool text_of(reader *r, const node *value, const char *due) {
  if (value->kind != FETTLE_YAML_TEXT) {
    return refuse(r, value, "%s where %s is due: write a single value", kind_name(value), due);
  }
  if (value->length == 0) {
    return refuse(r, value, "no value: write %s, or drop the line", due);
  }
  return true;
}

/* Codes of money that are not the shop's own. */
static bool check_currency(reader *r, const node *value) {
  for (size_t i = 1; i <= fettle_unit_count(); i++) {
    const fettle_unit *row = fettle_unit_at(i);
    if (fettle_dimension_twelfths(row->dimension, FETTLE_BASE_MONEY) != 12 ||
        strlen(row->name) != 3 || !strstr(value->text, row->name)) {
      continue;
    }
    if (!r->currency) {
      return refuse(r, value,
                    "money, but the file names no currency: write `currency: %s` at the top",
                    row->name);
    }
    if (strcmp(row->name, r->currency) != 0) {
      return refuse(r, value, "%s, but the file's currency is %s: convert it to %s", row->name,
                    r->currency, r->currency);
    }
  }
  return true;
}

static bool has_point(const fettle_quantity *quantity) {
  return (quantity->flags & FETTLE_QUANTITY_POINT) != 0;
}

static bool wrong_dimension(reader *r, const node *value, const field *f,
                            const fettle_quantity *got, const fettle_unit_expression *want) {
  char text[SHOWN_MOST], units[2 * UNIT_MOST + 4], got_name[64], want_name[64], usual[UNIT_MOST];
  units_text(r, f, units, sizeof units);
  fettle_dimension_name(want->dimension, want_name, sizeof want_name);
  if (got->dimension == 0) {
    return refuse(r, value, "= %s: needs a unit (%s): write %s %s", shown(value, text), units, text,
                  usual_unit(r, f, usual));
  }
  fettle_dimension_name(got->dimension, got_name, sizeof got_name);
  if (want->dimension == 0) {
    return refuse(r, value,
                  "= %s: a plain number is due, and this is of the kind %s: drop the unit",
                  shown(value, text), got_name);
  }
  return refuse(r, value, "= %s: is of the kind %s, and %s is due: write it in %s",
                shown(value, text), got_name, want_name, units);
}

static bool check_limits(reader *r, const node *value, const field *f, const char *unit,
                         const fettle_quantity *quantity) {
  double number;
  char text[SHOWN_MOST], limit[40];
  if (fettle_quantity_number(quantity, unit, &number, NULL) != FETTLE_OK) {
    return refuse(r, value, "= %s: cannot be read in %s: write it in %s", shown(value, text), unit,
                  unit);
  }
  bool below = !(number >= f->low);
  /* One part in 10^12 for what unit factors lose. */
  if (!below && number <= f->high + 1e-12 * fabs(f->high)) {
    return true;
  }
  fettle_number_format(below ? f->low : f->high, 6, limit, sizeof limit);
  const char *space = strcmp(unit, "1") == 0 ? "" : " ";
  const char *shown_unit = strcmp(unit, "1") == 0 ? "" : unit;
  if (strcmp(unit, "%") == 0 && !below && !strchr(value->text, '%')) {
    return refuse(r, value, "= %s: must not be above 100 %%, which is 1: write %s %%",
                  shown(value, text), text);
  }
  return refuse(r, value, "= %s: must not be %s %s%s%s: check the number and its unit",
                shown(value, text), below ? "below" : "above", limit, space, shown_unit);
}

static bool read_ratio(reader *r, const node *value, const field *f, amount *out) {
  char text[SHOWN_MOST];
  const char *colon = strchr(value->text, ':');
  double numbers[2] = {0};
  bool good = colon != NULL;
  for (int i = 0; good && i < 2; i++) {
    const char *start = i == 0 ? value->text : colon + 1;
    const char *end = i == 0 ? colon : value->text + value->length;
    while (start < end && *start == ' ') {
      start++;
    }
    while (end > start && end[-1] == ' ') {
      end--;
    }
    good = fettle_number_parse(start, (size_t)(end - start), &numbers[i], NULL) == FETTLE_OK &&
           numbers[i] > 0;
  }
  if (!good) {
    return refuse(r, value, "= %s: a ratio of two numbers is due: write it as 100:30",
                  shown(value, text));
  }
  double share = numbers[1] / numbers[0];
  if (!(share >= f->low && share <= f->high)) {
    return refuse(r, value, "= %s: one part is more than 1000 times the other: check the numbers",
                  shown(value, text));
  }
  out->first = numbers[0];
  out->second = numbers[1];
  fettle_diagnostic diagnostic;
  return fettle_quantity_make(share, "1", FETTLE_ROLE_ANY, &out->quantity, &diagnostic) ==
             FETTLE_OK ||
         refuse(r, value, "= %s: %s", shown(value, text), diagnostic.message);
}

/* Reads the text of a QUANTITY, WHOLE or RATIO. */
static bool read_amount(reader *r, const node *value, const field *f, amount *out) {
  static const char *const due[] = {[FETTLE_SHOP_QUANTITY] = "a number with its unit",
                                    [FETTLE_SHOP_LIST] = "a number with its unit",
                                    [FETTLE_SHOP_WHOLE] = "a whole number",
                                    [FETTLE_SHOP_RATIO] = "a ratio like 100:30"};
  char text[SHOWN_MOST];
  fettle_diagnostic diagnostic;
  if (!text_of(r, value, due[f->type])) {
    return false;
  }
  if (f->type == FETTLE_SHOP_RATIO) {
    return read_ratio(r, value, f, out);
  }
  char unit[UNIT_MOST];
  limit_unit(r, f, unit);
  fettle_unit_expression want;
  if (fettle_unit_parse(unit, strlen(unit), &want, &diagnostic) != FETTLE_OK ||
      fettle_quantity_parse(value->text, value->length, f->role, &out->quantity, &diagnostic) !=
          FETTLE_OK) {
    return refuse(r, value, "%s", diagnostic.message);
  }
  if (out->quantity.dimension != want.dimension) {
    return wrong_dimension(r, value, f, &out->quantity, &want);
  }
  if (f->type == FETTLE_SHOP_WHOLE && out->quantity.value != floor(out->quantity.value)) {
    return refuse(r, value, "= %s: a whole number is due: drop the part after the point",
                  shown(value, text));
  }
  return check_currency(r, value) && check_limits(r, value, f, unit, &out->quantity);
}

/* --- standing, source, date, spread --- */

static const char *const standings[] = {"measured", "data sheet", "guessed"};
static const char *const account_keys[] = {"standing", "source", "date"};
static const char *const value_keys[] = {"value", "standing", "source", "date",
                                         "note",  "spread",   "low",    "high"};

#define COUNT(array) (sizeof(array) / sizeof *(array))

static bool one_of(const char *text, const char *const *names, size_t count) {
  for (size_t i = 0; i < count; i++) {
    if (strcmp(text, names[i]) == 0) {
      return true;
    }
  }
  return false;
}

static bool check_date(reader *r, const node *value) {
  static const int days[] = {31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  char text[SHOWN_MOST];
  int year = 0, month = 0, day = 0, used = 0;
  bool good = value->kind == FETTLE_YAML_TEXT && value->length == 10 &&
              strspn(value->text, "0123456789-") == 10 &&
              sscanf(value->text, "%4d-%2d-%2d%n", &year, &month, &day, &used) == 3 && used == 10 &&
              year >= 1900 && month >= 1 && month <= 12 && day >= 1 && day <= days[month - 1] &&
              (month != 2 || day < 29 || (year % 4 == 0 && (year % 100 != 0 || year % 400 == 0)));
  if (good) {
    return true;
  }
  if (value->kind != FETTLE_YAML_TEXT) {
    return refuse(r, value, "%s where a date is due: write it as 2026-03-02", kind_name(value));
  }
  return refuse(r, value, "= %s: is no date: write it as 2026-03-02", shown(value, text));
}

static bool account_text(reader *r, const node *map, const char *key, const char **out) {
  const node *value = fettle_yaml_get(map, key);
  if (!value) {
    return true;
  }
  size_t back = enter(r, key);
  if (!text_of(r, value, "a text")) {
    return false;
  }
  if (strcmp(key, "date") == 0 && !check_date(r, value)) {
    return false;
  }
  if (strcmp(key, "standing") == 0 && !one_of(value->text, standings, COUNT(standings))) {
    char text[SHOWN_MOST];
    return refuse(r, value, "= %s: is no standing: write measured, data sheet or guessed",
                  shown(value, text));
  }
  *out = value->text;
  leave(r, back);
  return true;
}

/* Takes what the map states over what its entry states. A value's own standing drops the source and
 * date that belong to the entry's. */
static bool read_account(reader *r, const node *map, accounting *out) {
  const char *standing = NULL;
  if (!account_text(r, map, "standing", &standing)) {
    return false;
  }
  if (standing) {
    *out = (accounting){.standing = standing};
  }
  if (!account_text(r, map, "source", &out->source) || !account_text(r, map, "date", &out->date)) {
    return false;
  }
  if (standing && strcmp(standing, "measured") == 0 && !out->date) {
    return refuse(r, fettle_yaml_get(map, "standing"),
                  "a measured value needs the date of the measurement: write date: 2026-03-02");
  }
  return true;
}

static bool percent(const node *value) {
  return value->length > 0 && value->text[value->length - 1] == '%';
}

/* Low and high ends of a value; `ends` 0 when none are stated. */
static bool read_spread(reader *r, const node *map, const field *f, const amount *value,
                        amount ends[2], bool *stated) {
  const node *spread = fettle_yaml_get(map, "spread");
  const node *low = fettle_yaml_get(map, "low"), *high = fettle_yaml_get(map, "high");
  fettle_diagnostic diagnostic;
  char text[SHOWN_MOST];
  *stated = spread || low || high;
  if (!*stated) {
    return true;
  }
  if (spread && (low || high)) {
    return refuse(r, spread, "spread beside low or high: keep the spread, or low and high");
  }
  if (!spread) {
    if (!low || !high) {
      return refuse(r, low ? low : high, "low and high come together: write both");
    }
    size_t back = enter(r, "low");
    if (!read_amount(r, low, f, &ends[0])) {
      return false;
    }
    leave(r, back);
    back = enter(r, "high");
    if (!read_amount(r, high, f, &ends[1])) {
      return false;
    }
    leave(r, back);
    if (!(ends[0].quantity.value <= value->quantity.value &&
          value->quantity.value <= ends[1].quantity.value &&
          ends[0].quantity.value < ends[1].quantity.value)) {
      return refuse(r, low, "low, value and high must rise in this order: check the three");
    }
    return true;
  }
  size_t back = enter(r, "spread");
  if (!text_of(r, spread, "a spread like 10 % or 0.2 in")) {
    return false;
  }
  fettle_quantity width;
  if (fettle_quantity_parse(spread->text, spread->length, FETTLE_ROLE_DIFFERENCE, &width,
                            &diagnostic) != FETTLE_OK) {
    return refuse(r, spread, "%s", diagnostic.message);
  }
  double half = width.value;
  if (percent(spread)) {
    if (has_point(&value->quantity)) {
      return refuse(r, spread, "= %s: a temperature has no share: write a step, as 5 dF or 3 dC",
                    shown(spread, text));
    }
    half = fabs(value->quantity.value) * width.value;
  } else if (width.dimension != value->quantity.dimension) {
    return refuse(r, spread,
                  "= %s: write a share like 10 %%, or an amount in the unit of the value",
                  shown(spread, text));
  }
  if (!(half > 0)) {
    return refuse(r, spread, "= %s: must be above 0: drop it where there is none",
                  shown(spread, text));
  }
  for (int i = 0; i < 2; i++) {
    ends[i] = *value;
    ends[i].quantity.value += i == 0 ? -half : half;
    ends[i].second = ends[i].quantity.value * ends[i].first;
    if (f->type == FETTLE_SHOP_WHOLE && ends[i].quantity.value != floor(ends[i].quantity.value)) {
      return refuse(r, spread, "= %s: gives no whole number: write low and high instead",
                    shown(spread, text));
    }
    double number = ends[i].quantity.value;
    char unit[UNIT_MOST];
    limit_unit(r, f, unit);
    if (fettle_quantity_number(&ends[i].quantity, unit, &number, NULL) != FETTLE_OK ||
        !(number >= f->low && number <= f->high)) {
      return refuse(r, spread,
                    "= %s: the %s end is outside what the field allows: write low and high instead",
                    shown(spread, text), i == 0 ? "low" : "high");
    }
  }
  leave(r, back);
  return true;
}

/* --- pushing --- */

static void push_amount(reader *r, const field *f, const amount *value, int origin) {
  lua_State *L = r->L;
  if (f->type != FETTLE_SHOP_RATIO) {
    if (origin) {
      fettle_push_quantity_with_origin(L, &value->quantity, origin);
    } else {
      fettle_push_quantity(L, &value->quantity);
    }
    return;
  }
  lua_createtable(L, 0, 3);
  lua_pushnumber(L, value->first);
  lua_setfield(L, -2, "resin");
  lua_pushnumber(L, value->second);
  lua_setfield(L, -2, "hardener");
  lua_pushnumber(L, value->quantity.value);
  lua_setfield(L, -2, "hardener_per_resin");
}

static void set_text(lua_State *L, const char *key, const char *text) {
  if (text) {
    lua_pushstring(L, text);
    lua_setfield(L, -2, key);
  }
}

/* Pushes an origin; ends may be NULL. A ratio's numbers are those of hardener to resin. */
static void push_origin(reader *r, const node *at, const accounting *account, const amount *ends) {
  lua_State *L = r->L;
  lua_createtable(L, 0, 8);
  set_text(L, "kind", "shop");
  set_text(L, "path", r->path);
  lua_pushfstring(L, "%s:%d:%d", r->name, (int)at->line, (int)at->column);
  lua_setfield(L, -2, "place");
  set_text(L, "standing", account->standing ? account->standing : "guessed");
  set_text(L, "source", account->source);
  set_text(L, "date", account->date);
  set_text(L, "note", account->note);
  if (ends) {
    fettle_push_quantity(L, &ends[0].quantity);
    lua_setfield(L, -2, "low");
    fettle_push_quantity(L, &ends[1].quantity);
    lua_setfield(L, -2, "high");
  }
}

/* Pushes a number and notes its origin. `value` is the scalar or the map around it. */
static bool push_leaf(reader *r, const node *value, const field *f, const accounting *entry) {
  lua_State *L = r->L;
  accounting account = *entry;
  amount read = {0}, ends[2] = {0};
  bool spread = false;
  const node *scalar = value;
  if (value->kind == FETTLE_YAML_MAP) {
    for (size_t i = 0; i < value->count; i++) {
      if (!one_of(value->keys[i].text, value_keys, COUNT(value_keys))) {
        return refuse_key(r, &value->keys[i], value_keys, COUNT(value_keys),
                          "known are value, standing, source, date, note, spread, low, high");
      }
    }
    scalar = fettle_yaml_get(value, "value");
    if (!scalar) {
      return refuse(r, value, "a map without `value`: write {value: ..., standing: ...}");
    }
    if (!read_account(r, value, &account) || !account_text(r, value, "note", &account.note)) {
      return false;
    }
  }
  if (!read_amount(r, scalar, f, &read)) {
    return false;
  }
  if (value->kind == FETTLE_YAML_MAP && !read_spread(r, value, f, &read, ends, &spread)) {
    return false;
  }
  luaL_checkstack(L, 8, NULL);
  push_origin(r, scalar, &account, spread ? ends : NULL);
  int origin = lua_gettop(L);
  amount used = read;
  if (r->override_path && strcmp(r->override_path, r->path) == 0 && spread) {
    used = ends[r->override_end > 0];
    r->overridden = true;
  }
  push_amount(r, f, &used, origin);
  push_origin(r, scalar, &account, spread ? ends : NULL);
  if (f->type == FETTLE_SHOP_RATIO) {
    lua_pushnumber(L, used.quantity.value);
  } else {
    lua_pushvalue(L, -2);
  }
  lua_setfield(L, -2, "value");
  lua_setfield(L, r->origins, r->path);
  lua_remove(L, origin);
  return true;
}

static bool push_boolean(reader *r, const node *value) {
  char text[SHOWN_MOST];
  if (!text_of(r, value, "true or false")) {
    return false;
  }
  bool yes = strcmp(value->text, "true") == 0;
  if (!yes && strcmp(value->text, "false") != 0) {
    static const char *const meant[] = {"yes", "Yes", "YES", "on",   "On",  "ON",
                                        "y",   "Y",   "1",   "True", "TRUE"};
    static const char *const denied[] = {"no", "No", "NO", "off",   "Off",  "OFF",
                                         "n",  "N",  "0",  "False", "FALSE"};
    if (one_of(value->text, meant, COUNT(meant))) {
      return refuse(r, value, "= %s: true or false is due: write true", shown(value, text));
    }
    if (one_of(value->text, denied, COUNT(denied))) {
      return refuse(r, value, "= %s: true or false is due: write false", shown(value, text));
    }
    return refuse(r, value, "= %s: true or false is due: write one of them", shown(value, text));
  }
  lua_pushboolean(r->L, yes);
  return true;
}

static size_t choice_count(const char *const *choices) {
  size_t count = 0;
  while (choices[count]) {
    count++;
  }
  return count;
}

static bool push_choice(reader *r, const node *value, const field *f) {
  char text[SHOWN_MOST], list[240] = "";
  if (!text_of(r, value, "one of the known words")) {
    return false;
  }
  size_t count = choice_count(f->choices);
  if (!one_of(value->text, f->choices, count)) {
    for (size_t i = 0; i < count; i++) {
      size_t used = strlen(list);
      snprintf(list + used, sizeof list - used, "%s%s", i == 0 ? "" : ", ", f->choices[i]);
    }
    return refuse(r, value, "= %s: is not known here: write one of %s", shown(value, text), list);
  }
  lua_pushlstring(r->L, value->text, value->length);
  return true;
}

static bool push_clock(reader *r, const node *value) {
  char text[SHOWN_MOST];
  unsigned hours = 0, minutes = 0;
  int used = 0;
  fettle_quantity quantity;
  fettle_diagnostic diagnostic;
  if (!text_of(r, value, "a time of day like 07:00")) {
    return false;
  }
  if (strspn(value->text, "0123456789:") != value->length ||
      sscanf(value->text, "%2u:%2u%n", &hours, &minutes, &used) != 2 ||
      (size_t)used != value->length || hours > 24 || minutes > 59 || (hours == 24 && minutes > 0)) {
    return refuse(r, value, "= %s: is no time of day: write it as 07:00 or 15:30",
                  shown(value, text));
  }
  if (fettle_quantity_make(hours + minutes / 60.0, "h", FETTLE_ROLE_ANY, &quantity, &diagnostic) !=
      FETTLE_OK) {
    return refuse(r, value, "%s", diagnostic.message);
  }
  fettle_push_quantity(r->L, &quantity);
  return true;
}

/* --- fields, entries, sections --- */

static bool push_fields(reader *r, const node *map, const field *fields, const accounting *outer);

static bool push_list(reader *r, const node *value, const field *f, const accounting *account) {
  if (value->kind != FETTLE_YAML_LIST) {
    return refuse(r, value, "%s where a list is due: write [...], or items that start with `- `",
                  kind_name(value));
  }
  lua_createtable(r->L, value->count < 1024 ? (int)value->count : 1024, 0);
  for (size_t i = 0; i < value->count; i++) {
    size_t back = enter_number(r, i + 1);
    bool good = f->type == FETTLE_SHOP_TABLE ? push_fields(r, &value->items[i], f->fields, account)
                                             : push_leaf(r, &value->items[i], f, account);
    if (!good) {
      return false;
    }
    lua_rawseti(r->L, -2, (lua_Integer)i + 1);
    leave(r, back);
  }
  return true;
}

static bool push_value(reader *r, const node *value, const field *f, const accounting *account) {
  switch (f->type) {
  case FETTLE_SHOP_QUANTITY:
  case FETTLE_SHOP_WHOLE:
  case FETTLE_SHOP_RATIO:
    return push_leaf(r, value, f, account);
  case FETTLE_SHOP_LIST:
  case FETTLE_SHOP_TABLE:
    return push_list(r, value, f, account);
  case FETTLE_SHOP_BOOLEAN:
    return push_boolean(r, value);
  case FETTLE_SHOP_CHOICE:
    return push_choice(r, value, f);
  case FETTLE_SHOP_CLOCK:
    return push_clock(r, value);
  case FETTLE_SHOP_DATE:
    if (!check_date(r, value)) {
      return false;
    }
    break;
  case FETTLE_SHOP_TEXT:
    if (!text_of(r, value, "a text")) {
      return false;
    }
    break;
  }
  lua_pushlstring(r->L, value->text, value->length);
  return true;
}

static const field *find_field(const field *fields, const char *name) {
  for (; fields->name; fields++) {
    if (strcmp(fields->name, name) == 0) {
      return fields;
    }
  }
  return NULL;
}

static bool refuse_field(reader *r, const node *key, const field *fields) {
  const char *names[FIELDS_MOST];
  char list[420] = "known are ";
  size_t count = 0;
  for (; fields[count].name && count < FIELDS_MOST - COUNT(account_keys); count++) {
    names[count] = fields[count].name;
    size_t used = strlen(list);
    snprintf(list + used, sizeof list - used, "%s%s", count == 0 ? "" : ", ", names[count]);
  }
  for (size_t i = 0; i < COUNT(account_keys); i++) {
    names[count++] = account_keys[i];
  }
  return refuse_key(r, key, names, count, list);
}

/* Pushes the fields of a map: an entry, a section without entries, or a row of a table. Standing,
 * source and date stated beside them hold for each value that states none itself. */
static bool push_fields(reader *r, const node *map, const field *fields, const accounting *outer) {
  lua_State *L = r->L;
  accounting account = *outer;
  if (map->kind != FETTLE_YAML_MAP) {
    return refuse(r, map, "%s where a map of fields is due: write `field: value` lines",
                  kind_name(map));
  }
  if (!read_account(r, map, &account)) {
    return false;
  }
  luaL_checkstack(L, 8, NULL);
  lua_createtable(L, 0, map->count < 64 ? (int)map->count : 64);
  for (size_t i = 0; i < map->count; i++) {
    const node *key = &map->keys[i];
    const field *f = find_field(fields, key->text);
    if (!f) {
      if (one_of(key->text, account_keys, COUNT(account_keys))) {
        continue;
      }
      return refuse_field(r, key, fields);
    }
    size_t back = enter(r, f->name);
    if (!push_value(r, &map->items[i], f, &account)) {
      return false;
    }
    leave(r, back);
    lua_setfield(L, -2, f->name);
  }
  for (; fields->name; fields++) {
    if (fields->required && !fettle_yaml_get(map, fields->name)) {
      char units[2 * UNIT_MOST + 4] = "";
      bool unit = fields->unit && strcmp(fields->unit, "1") != 0;
      return refuse(r, map, "`%s` is missing (%s): write `%s: ...`%s%s", fields->name,
                    fields->meaning, fields->name, unit ? " in " : "",
                    unit ? units_text(r, fields, units, sizeof units) : "");
    }
  }
  return true;
}

static bool check_entry_name(reader *r, const node *key) {
  char text[SHOWN_MOST];
  if (strchr(key->text, '/') || key->length > NAME_MOST || strpbrk(key->text, "\n\r\t")) {
    return refuse(r, key,
                  "= %s: a name has at most 80 characters on one line and no `/`: change it",
                  shown(key, text));
  }
  return true;
}

static bool push_named(reader *r, const node *map, const fettle_shop_section *section) {
  lua_State *L = r->L;
  const accounting none = {0};
  lua_createtable(L, 0, map->count < 64 ? (int)map->count : 64);
  for (size_t i = 0; i < map->count; i++) {
    if (!check_entry_name(r, &map->keys[i])) {
      return false;
    }
    size_t back = enter(r, map->keys[i].text);
    if (map->items[i].kind != FETTLE_YAML_MAP && find_field(section->fields, map->keys[i].text)) {
      return refuse(r, &map->keys[i],
                    "a field directly below %s: put it below a name, as `%s: {NAME: {%s: ...}}`",
                    section->name, section->name, map->keys[i].text);
    }
    if (!push_fields(r, &map->items[i], section->fields, &none)) {
      return false;
    }
    leave(r, back);
    lua_setfield(L, -2, map->keys[i].text);
  }
  return true;
}

/* A shop's own values: what reads as a number is one, a quoted text stays text. */
static bool push_own(reader *r, const node *value, const accounting *outer) {
  lua_State *L = r->L;
  luaL_checkstack(L, 8, NULL);
  const node *inner = value->kind == FETTLE_YAML_MAP ? fettle_yaml_get(value, "value") : NULL;
  if (value->kind == FETTLE_YAML_MAP && !inner) {
    lua_newtable(L);
    for (size_t i = 0; i < value->count; i++) {
      if (!check_entry_name(r, &value->keys[i])) {
        return false;
      }
      size_t back = enter(r, value->keys[i].text);
      if (!push_own(r, &value->items[i], outer)) {
        return false;
      }
      leave(r, back);
      lua_setfield(L, -2, value->keys[i].text);
    }
    return true;
  }
  if (value->kind == FETTLE_YAML_LIST) {
    lua_newtable(L);
    for (size_t i = 0; i < value->count; i++) {
      size_t back = enter_number(r, i + 1);
      if (!push_own(r, &value->items[i], outer)) {
        return false;
      }
      leave(r, back);
      lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    return true;
  }
  const node *scalar = inner ? inner : value;
  if (!text_of(r, scalar, "a number with its unit, or a text")) {
    return false;
  }
  fettle_quantity quantity;
  fettle_diagnostic diagnostic = {0};
  bool number =
      !scalar->quoted && fettle_quantity_parse(scalar->text, scalar->length, FETTLE_ROLE_ANY,
                                               &quantity, &diagnostic) == FETTLE_OK;
  if (number) {
    /* The value's own unit stands for the schema's: any amount of its kind is allowed. */
    char unit[UNIT_MOST] = "1";
    const fettle_unit *row = fettle_unit_at(quantity.unit);
    fettle_quantity one = {
        .value = 1, .dimension = quantity.dimension, .magic = FETTLE_QUANTITY_MAGIC};
    if (row) {
      snprintf(unit, sizeof unit, "%s", row->name);
    } else if (quantity.dimension != 0) {
      char shown_unit[64];
      fettle_quantity_format(&one, 0, 17, shown_unit, sizeof shown_unit);
      const char *space = strchr(shown_unit, ' ');
      snprintf(unit, sizeof unit, "%s", space ? space + 1 : "1");
    }
    const field any = {.name = "own",
                       .type = FETTLE_SHOP_QUANTITY,
                       .unit = unit,
                       .low = -DBL_MAX,
                       .high = DBL_MAX};
    return push_leaf(r, value, &any, outer);
  }
  char text[SHOWN_MOST];
  if (inner) {
    return refuse(r, inner, "%s",
                  scalar->quoted ? "a text has no standing: write it without a map"
                                 : diagnostic.message);
  }
  if (!scalar->quoted && scalar->text[0] != '\0' && strchr("0123456789.+-", scalar->text[0])) {
    return refuse(r, scalar, "%s; put a text in quotes", diagnostic.message);
  }
  if (!scalar->quoted &&
      (strcmp(scalar->text, "true") == 0 || strcmp(scalar->text, "false") == 0)) {
    lua_pushboolean(L, scalar->text[0] == 't');
    return true;
  }
  static const char *const doubtful[] = {"yes", "no",  "on",  "off", "Yes", "No",
                                         "On",  "Off", "YES", "NO",  "ON",  "OFF"};
  if (!scalar->quoted && one_of(scalar->text, doubtful, COUNT(doubtful))) {
    return refuse(r, scalar, "= %s: write true or false, or put the text in quotes",
                  shown(scalar, text));
  }
  lua_pushlstring(L, scalar->text, scalar->length);
  return true;
}

static const fettle_shop_section *find_section(const char *name) {
  for (const fettle_shop_section *s = fettle_shop_sections; s->name; s++) {
    if (strcmp(s->name, name) == 0) {
      return s;
    }
  }
  return NULL;
}

static bool push_section(reader *r, const node *map, const fettle_shop_section *section) {
  const accounting none = {0};
  if (map->kind == FETTLE_YAML_TEXT && map->length == 0) {
    return refuse(r, map, "an empty section: write its entries, or drop the line");
  }
  if (map->kind != FETTLE_YAML_MAP) {
    return refuse(r, map, "%s where a map is due: write `name: ...` lines below it",
                  kind_name(map));
  }
  if (section->open) {
    return push_own(r, map, &none);
  }
  return section->named ? push_named(r, map, section) : push_fields(r, map, section->fields, &none);
}

/* --- the top of the file --- */

static const char *const top_keys[] = {"schema", "units", "currency"};

static bool read_top(reader *r, const node *root) {
  char text[SHOWN_MOST], due[24];
  if (root->kind != FETTLE_YAML_MAP) {
    return refuse(r, root, "%s where shop data is due: start with `schema: 1`", kind_name(root));
  }
  const node *schema = fettle_yaml_get(root, "schema");
  snprintf(due, sizeof due, "%d", FETTLE_SHOP_SCHEMA);
  if (!schema) {
    return refuse(r, root, "`schema` is missing: start the file with `schema: %s`", due);
  }
  size_t back = enter(r, "schema");
  if (!text_of(r, schema, due)) {
    return false;
  }
  if (strcmp(schema->text, due) != 0) {
    return refuse(r, schema, "= %s: this program reads schema %s: write `schema: %s`",
                  shown(schema, text), due, due);
  }
  leave(r, back);
  const node *units = fettle_yaml_get(root, "units");
  if (!units) {
    return refuse(r, root, "`units` is missing: write `units: inch` or `units: metric`");
  }
  back = enter(r, "units");
  if (!text_of(r, units, "inch or metric")) {
    return false;
  }
  r->habit = strcmp(units->text, "inch") == 0     ? FETTLE_HABIT_INCH
             : strcmp(units->text, "metric") == 0 ? FETTLE_HABIT_METRIC
                                                  : FETTLE_HABIT_NONE;
  if (r->habit == FETTLE_HABIT_NONE) {
    return refuse(r, units, "= %s: write inch or metric", shown(units, text));
  }
  leave(r, back);
  const node *currency = fettle_yaml_get(root, "currency");
  if (!currency) {
    return true;
  }
  back = enter(r, "currency");
  if (!text_of(r, currency, "a code like USD or EUR")) {
    return false;
  }
  const fettle_unit *row = fettle_unit_at(fettle_unit_find(currency->text, currency->length));
  if (!row || fettle_dimension_twelfths(row->dimension, FETTLE_BASE_MONEY) != 12) {
    return refuse(r, currency, "= %s: is no known currency: write a code like USD or EUR",
                  shown(currency, text));
  }
  r->currency = currency->text;
  leave(r, back);
  return true;
}

static bool push_root(reader *r, const node *root) {
  lua_State *L = r->L;
  const char *names[FIELDS_MOST];
  size_t count = 0;
  for (const fettle_shop_section *s = fettle_shop_sections; s->name; s++) {
    names[count++] = s->name;
  }
  for (size_t i = 0; i < COUNT(top_keys); i++) {
    names[count++] = top_keys[i];
  }
  for (size_t i = 0; i < root->count; i++) {
    const node *key = &root->keys[i];
    const fettle_shop_section *section = find_section(key->text);
    if (!section) {
      if (!one_of(key->text, top_keys, COUNT(top_keys))) {
        return refuse_key(r, key, names, count, "put a shop's own values below `own:`");
      }
      if (strcmp(key->text, "schema") != 0) {
        lua_pushstring(L, root->items[i].text);
        lua_setfield(L, -2, key->text);
      }
      continue;
    }
    size_t back = enter(r, section->name);
    if (!push_section(r, &root->items[i], section)) {
      return false;
    }
    leave(r, back);
    lua_setfield(L, -2, section->name);
  }
  return true;
}

/* Runs protected, so that an error of Lua's memory cannot leave the tree behind. */
static int read_protected(lua_State *L) {
  reader *r = lua_touserdata(L, 1);
  fettle_yaml_problem problem;
  r->L = L;
  r->yaml = fettle_yaml_read(r->name, r->bytes, r->length, &problem);
  if (!r->yaml) {
    r->exit_status = EX_DATAERR;
    snprintf(r->message, sizeof r->message, "%s", problem.message);
    return 0;
  }
  lua_createtable(L, 0, 2);
  int result = lua_gettop(L);
  lua_newtable(L);
  r->origins = lua_gettop(L);
  lua_newtable(L);
  const node *root = fettle_yaml_root(r->yaml);
  if (!read_top(r, root) || !push_root(r, root)) {
    return 0;
  }
  if (r->override_path && !r->overridden) {
    refuse(r, root, "%s: has no spread to move it by: write spread, or low and high",
           r->override_path);
    r->exit_status = EX_SOFTWARE;
    return 0;
  }
  lua_setfield(L, result, "data");
  lua_setfield(L, result, "origins");
  return 1;
}

int fettle_shop_read(lua_State *L, const char *name, const char *bytes, size_t length,
                     const char *override_path, int override_end) {
  reader r = {.name = name,
              .bytes = bytes,
              .length = length,
              .override_path = override_path,
              .override_end = override_end};
  luaL_checkstack(L, 4, NULL);
  lua_pushcfunction(L, read_protected);
  lua_pushlightuserdata(L, &r);
  int status = lua_pcall(L, 1, 1, 0);
  fettle_yaml_free(r.yaml);
  if (status != LUA_OK) {
    return lua_error(L);
  }
  if (r.exit_status != 0) {
    lua_pop(L, 1);
    lua_pushstring(L, r.message);
  }
  return r.exit_status;
}

/* --- the schema for the manual --- */

static const char *const type_names[] = {
    [FETTLE_SHOP_QUANTITY] = "quantity", [FETTLE_SHOP_WHOLE] = "whole number",
    [FETTLE_SHOP_RATIO] = "ratio",       [FETTLE_SHOP_TEXT] = "text",
    [FETTLE_SHOP_CHOICE] = "choice",     [FETTLE_SHOP_BOOLEAN] = "true or false",
    [FETTLE_SHOP_CLOCK] = "time of day", [FETTLE_SHOP_DATE] = "date",
    [FETTLE_SHOP_LIST] = "list",         [FETTLE_SHOP_TABLE] = "table"};

static void push_schema_fields(lua_State *L, const field *fields) {
  luaL_checkstack(L, 8, NULL);
  lua_newtable(L);
  for (lua_Integer i = 1; fields->name; fields++, i++) {
    lua_newtable(L);
    set_text(L, "name", fields->name);
    set_text(L, "type", type_names[fields->type]);
    set_text(L, "meaning", fields->meaning);
    set_text(L, "unit", fields->unit);
    set_text(L, "inch_unit", fields->inch_unit);
    lua_pushboolean(L, fields->required);
    lua_setfield(L, -2, "required");
    if (fields->low < fields->high) {
      lua_pushnumber(L, fields->low);
      lua_setfield(L, -2, "low");
      lua_pushnumber(L, fields->high);
      lua_setfield(L, -2, "high");
    }
    if (fields->choices) {
      lua_newtable(L);
      for (lua_Integer j = 0; fields->choices[j]; j++) {
        lua_pushstring(L, fields->choices[j]);
        lua_rawseti(L, -2, j + 1);
      }
      lua_setfield(L, -2, "choices");
    }
    if (fields->fields) {
      push_schema_fields(L, fields->fields);
      lua_setfield(L, -2, "fields");
    }
    lua_rawseti(L, -2, i);
  }
}

void fettle_push_shop_schema(lua_State *L) {
  luaL_checkstack(L, 8, NULL);
  lua_newtable(L);
  lua_Integer i = 1;
  for (const fettle_shop_section *s = fettle_shop_sections; s->name; s++, i++) {
    lua_newtable(L);
    set_text(L, "name", s->name);
    set_text(L, "meaning", s->meaning);
    lua_pushboolean(L, s->named);
    lua_setfield(L, -2, "named");
    if (s->fields) {
      push_schema_fields(L, s->fields);
      lua_setfield(L, -2, "fields");
    }
    lua_rawseti(L, -2, i);
  }
}
