/* sheet/json.h - JSON for the trusted state: fixed key order, quantities with unit and SI value. */
#ifndef FETTLE_SHEET_JSON_H
#define FETTLE_SHEET_JSON_H

#include <stddef.h>

#include <lua.h>

#include "fettle/quantity.h"

/* Adds to the table at the top of the stack:
 *   json_encode(value, {indent = true})  text; keys sorted by bytes, or in the order of an
 *     `ordered` list; a quantity becomes {"value", "unit", "si", "si_unit"}; whole numbers of Lua
 *     are integers, others reals of 17 digits, which read back as the same double; NaN and infinity
 *     are refused; what is no UTF-8 becomes the replacement character
 *   json_decode(text)                    value, or nil and "line 1, column 2: what is wrong"
 *   ordered{ {key, value}, ... }         an object with its keys in this order; nil values drop out
 *   array{...}                           an array, though it be empty
 *   valid_text(text)                     the text, what is no UTF-8 replaced
 *   null                                 the null of JSON */
void fettle_open_json(lua_State *L);

/* Pushes the text with U+FFFD for every byte that is no part of well-formed UTF-8. */
void fettle_push_valid_text(lua_State *L, const char *text, size_t length);

/* Pushes the text of the SI unit of a quantity: "kg/m^3"; empty for a plain number. */
void fettle_push_si_unit(lua_State *L, const fettle_quantity *quantity);
/* Pushes the number and the name of vocabulary row `unit` for it; 0: SI. Pushes two values. */
void fettle_push_shown(lua_State *L, const fettle_quantity *quantity, size_t unit);

#endif
