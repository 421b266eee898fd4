/* generate - runs one of the generators of scripts/gen and writes what it returns.
 *
 * generate SCRIPT OUTPUT: SCRIPT is a Lua file that returns a text. It runs in the trusted state
 * with two tables more: `commands` and `options`, the rows of command/options.c. Built and run by
 * the build, never installed. */
#include <stdio.h>
#include <stdlib.h>

#include <lauxlib.h>

#include "command/options.h"
#include "sheet/trusted.h"

static void set_text(lua_State *L, const char *key, const char *text) {
  if (text) {
    lua_pushstring(L, text);
    lua_setfield(L, -2, key);
  }
}

static void push_commands(lua_State *L) {
  lua_newtable(L);
  for (size_t row = 0; fettle_command_rows[row].name; row++) {
    lua_newtable(L);
    set_text(L, "name", fettle_command_rows[row].name);
    set_text(L, "arguments", fettle_command_rows[row].arguments);
    set_text(L, "brief", fettle_command_rows[row].brief);
    lua_rawseti(L, -2, (lua_Integer)row + 1);
  }
}

static void push_options(lua_State *L) {
  lua_newtable(L);
  for (size_t row = 0; fettle_option_rows[row].name; row++) {
    const fettle_option_row *option = &fettle_option_rows[row];
    lua_newtable(L);
    set_text(L, "name", option->name);
    set_text(L, "argument", option->argument);
    set_text(L, "help", option->help);
    if (option->letter) {
      lua_pushlstring(L, &option->letter, 1);
      lua_setfield(L, -2, "letter");
    }
    lua_newtable(L); /* commands: set of names */
    for (size_t command = 0; fettle_command_rows[command].name; command++) {
      if (option->commands & fettle_command_rows[command].command) {
        lua_pushboolean(L, 1);
        lua_setfield(L, -2, fettle_command_rows[command].name);
      }
    }
    lua_setfield(L, -2, "commands");
    lua_rawseti(L, -2, (lua_Integer)row + 1);
  }
}

int main(int argc, char **argv) {
  if (argc != 3) {
    fprintf(stderr, "generate SCRIPT OUTPUT\n");
    return 64;
  }
  lua_State *L = fettle_trusted_open();
  if (!L) {
    return 70;
  }
  push_commands(L);
  lua_setglobal(L, "commands");
  push_options(L);
  lua_setglobal(L, "options");
  if (luaL_loadfilex(L, argv[1], "t") != LUA_OK || lua_pcall(L, 0, 1, 0) != LUA_OK ||
      !lua_isstring(L, -1)) {
    fprintf(stderr, "%s: %s\n", argv[1], lua_tostring(L, -1));
    return 65;
  }
  size_t length = 0;
  const char *text = lua_tolstring(L, -1, &length);
  FILE *file = fopen(argv[2], "wb");
  int failed = !file || fwrite(text, 1, length, file) != length;
  if (file && fclose(file) != 0) {
    failed = 1;
  }
  lua_close(L);
  return failed ? 73 : 0;
}
