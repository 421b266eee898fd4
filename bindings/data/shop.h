/* data/shop.h - shop data: YAML read by one documented schema. */
#ifndef FETTLE_DATA_SHOP_H
#define FETTLE_DATA_SHOP_H

#include <stddef.h>

#include <lua.h>

/* Reads shop data from `length` bytes and pushes it as plain nested tables: texts, numbers,
 * quantities with their origin (kind "shop"). A value that is a guess with a stated `spread` has
 * origin fields standing = "guessed", low and high (quantities or numbers).
 * `name` is what messages and places call the file. On failure returns a sysexits code (65 or 78)
 * and pushes one line of text instead; 0 on success. */
int fettle_shop_read(lua_State *L, const char *name, const char *bytes, size_t length);

/* Pushes the schema as plain tables, for the manual. */
void fettle_push_shop_schema(lua_State *L);

#endif
