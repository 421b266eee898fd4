/* data/shop.h - shop data: YAML read by one documented schema (data/shop_schema.c). */
#ifndef FETTLE_DATA_SHOP_H
#define FETTLE_DATA_SHOP_H

#include <stddef.h>

#include <lua.h>

/* Reads shop data from `length` bytes and pushes ONE table {data =, origins =}.
 *
 * `data` holds plain nested tables as the file has them: data.cutters["ball 1.000"].diameter.
 * Leaves are texts, booleans, plain numbers (percent is 0.01 each), quantities with their origin,
 * and ratios {resin = 100, hardener = 30, hardener_per_resin = 0.3}.
 *
 * `origins` maps the path of every leaf that is a number, quantity or ratio to its origin, so that
 * plain numbers (which carry none) can be traced too:
 *
 *   origins["coatings/putty A/transfer"] = {kind = "shop", path = "coatings/putty A/transfer",
 *     place = "shop.yaml:81:16", standing = "measured" | "data sheet" | "guessed",
 *     value = 0.8, low = 0.72, high = 0.88,      -- low and high only where a spread is stated
 *     source =, date =, note =}                   -- texts, where the file states them
 *
 * A quantity in `data` carries the same table as its origin (without `value`, which it is itself).
 * Items of lists and rows of tables count from 1: "machines/router/clamps/2/x".
 *
 * `override_path` (NULL: none) names a leaf with a stated spread, which then reads as its low end
 * (override_end < 0) or its high end (> 0): one re-run of a guess. `name` is what messages and
 * places call the file. Returns 0, or a sysexits status with one line of text pushed instead: 65
 * when the bytes are no text or no YAML, 78 when the data does not fit the schema, 70 when
 * `override_path` names no leaf with a spread. */
int fettle_shop_read(lua_State *L, const char *name, const char *bytes, size_t length,
                     const char *override_path, int override_end);

/* Pushes the schema as plain tables, for the manual: a list of sections in the order of the manual,
 * {name, meaning, named = true where the section holds entries by name, fields = {{name, type,
 * meaning, unit, inch_unit, required, low, high, choices, fields}}}; limits are in `unit`. The
 * section `own` has no fields. */
void fettle_push_shop_schema(lua_State *L);

#endif
