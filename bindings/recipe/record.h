/* recipe/record.h - recorded results: what a recipe gave when somebody last looked at it.
 *
 * `stock.lua` is recorded in `stock.record.yaml` beside it: every result with its tolerance, the
 * outcome of every check, what was taken from other recipes, and the digests of recipe and shop
 * data. A tolerance edited in the file is kept when it is written again. */
#ifndef FETTLE_RECIPE_RECORD_H
#define FETTLE_RECIPE_RECORD_H

#include <lua.h>

#include "recipe/run.h"

/* Runs the recipe with its own defaults, compares it with its record and pushes on `trusted`
 *   { recipe = PATH, record = PATH, recorded = count,
 *     changes = { {kind = "result" | "check" | "taken", name =, what = "changed" | "missing" |
 * "new", old = text or nil, new = text or nil, tolerance = text or nil}, ... } } in the order of
 * the recipe. Digests are not compared: only numbers count as changes. Returns 0 (also when there
 * are changes), or a status with `problem` filled and nothing pushed; a record that does not exist
 * is code "missing file". */
int fettle_record_verify(lua_State *trusted, const char *recipe_path, fettle_problem *problem);

/* Runs the recipe with its own defaults and writes its record, whole or not at all. Pushes on
 * `trusted` the same table, of the changes against the record that was there before (all "new" when
 * there was none). */
int fettle_record_write(lua_State *trusted, const char *recipe_path, fettle_problem *problem);

#endif
