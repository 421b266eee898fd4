#include "sandbox/nearest.h"

#include <string.h>

enum { LONGEST = 48 };

/* Edits (change, drop, add, swap of neighbours) that turn `a` into `b`. */
static size_t distance(const char *a, size_t a_length, const char *b, size_t b_length) {
  size_t rows[3][LONGEST + 1];
  size_t *before = rows[0], *last = rows[1], *row = rows[2];
  for (size_t j = 0; j <= b_length; j++) {
    last[j] = j;
    before[j] = j;
  }
  for (size_t i = 1; i <= a_length; i++) {
    row[0] = i;
    for (size_t j = 1; j <= b_length; j++) {
      size_t best = last[j - 1] + (a[i - 1] != b[j - 1]);
      if (last[j] + 1 < best) {
        best = last[j] + 1;
      }
      if (row[j - 1] + 1 < best) {
        best = row[j - 1] + 1;
      }
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] &&
          before[j - 2] + 1 < best) {
        best = before[j - 2] + 1;
      }
      row[j] = best;
    }
    size_t *spare = before;
    before = last;
    last = row;
    row = spare;
  }
  return last[b_length];
}

void fettle_push_nearest(lua_State *L, int index, const char *name) {
  index = lua_absindex(L, index);
  size_t length = strlen(name);
  const char *best = NULL; /* stays valid: it is a key of the table */
  size_t best_distance = length < 3 ? 2 : length / 3 + 2;
  if (length <= LONGEST) {
    lua_pushnil(L);
    while (lua_next(L, index)) {
      lua_pop(L, 1);
      if (lua_type(L, -1) != LUA_TSTRING) {
        continue;
      }
      size_t key_length;
      const char *key = lua_tolstring(L, -1, &key_length);
      if (key_length > LONGEST || key_length + best_distance < length ||
          length + best_distance < key_length) {
        continue;
      }
      size_t edits = distance(name, length, key, key_length);
      if (edits < best_distance || (edits == best_distance && best && strcmp(key, best) < 0)) {
        best = key;
        best_distance = edits;
      }
    }
  }
  if (best) {
    lua_pushstring(L, best);
  } else {
    lua_pushnil(L);
  }
}
