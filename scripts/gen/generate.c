/* generate - runs one of the generators of scripts/gen and writes what it returns.
 *
 * generate SCRIPT OUTPUT [FILE...]: SCRIPT is a Lua file that returns a text. It runs in the
 * trusted state with more tables: `commands` and `options`, the rows of command/options.c;
 * `shop_schema`; `data`, what each FILE that ends in .lua returns, by its name without the ending;
 * `files`, the text of each other FILE, by its name. Built and run by the build, never installed.
 */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <lauxlib.h>

#include "command/options.h"
#include "data/shop.h"
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

static bool push_script_result(lua_State *L, const char *path) {
  if (luaL_loadfilex(L, path, "t") == LUA_OK && lua_pcall(L, 0, 1, 0) == LUA_OK) {
    return true;
  }
  fprintf(stderr, "%s\n", lua_tostring(L, -1));
  return false;
}

static bool push_file(lua_State *L, const char *path) {
  FILE *file = fopen(path, "rb");
  if (!file) {
    perror(path);
    return false;
  }
  luaL_Buffer buffer;
  luaL_buffinit(L, &buffer);
  size_t length;
  do {
    length = fread(luaL_prepbuffer(&buffer), 1, LUAL_BUFFERSIZE, file);
    luaL_addsize(&buffer, length);
  } while (length > 0);
  fclose(file);
  luaL_pushresult(&buffer);
  return true;
}

/* Fills the globals `data` and `files`. */
static bool read_files(lua_State *L, char **paths) {
  lua_newtable(L); /* data */
  lua_newtable(L); /* files */
  for (; *paths; paths++) {
    const char *name = strrchr(*paths, '/') ? strrchr(*paths, '/') + 1 : *paths;
    const char *ending = strrchr(name, '.');
    bool script = ending && strcmp(ending, ".lua") == 0;
    size_t length = script ? (size_t)(ending - name) : strlen(name);
    lua_pushlstring(L, name, length);
    if (!(script ? push_script_result(L, *paths) : push_file(L, *paths))) {
      return false;
    }
    lua_settable(L, script ? -4 : -3);
  }
  lua_setglobal(L, "files");
  lua_setglobal(L, "data");
  return true;
}

int main(int argc, char **argv) {
  if (argc < 3) {
    fprintf(stderr, "generate SCRIPT OUTPUT [FILE...]\n");
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
  fettle_push_shop_schema(L);
  lua_setglobal(L, "shop_schema");
  if (!read_files(L, argv + 3) || !push_script_result(L, argv[1])) {
    return 65;
  }
  if (!lua_isstring(L, -1)) {
    fprintf(stderr, "%s returns no text\n", argv[1]);
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
