#include "recipe/run.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sysexits.h>

#include <lauxlib.h>

#include "lua/catalogue.h"
#include "lua/error.h"
#include "lua/lists.h"
#include "lua/quantity.h"
#include "lua/scripts.h"
#include "recipe/work.h"
#include "sandbox/environment.h"
#include "sandbox/source.h"
#include "sheet/trusted.h"

#define WORK_KEY "fettle.recipe.work"

fettle_work *fettle_work_of(lua_State *L) {
  lua_getfield(L, LUA_REGISTRYINDEX, WORK_KEY);
  fettle_work *work = lua_touserdata(L, -1);
  lua_pop(L, 1);
  return work;
}

static bool ends_with(const char *text, const char *end) {
  size_t length = strlen(text), size = strlen(end);
  return size > 0 && size <= length && strcmp(text + length - size, end) == 0;
}

bool fettle_wants_more(const char *reason) {
  /* A text in quotes ends on its line: another line cannot complete it. */
  return ends_with(reason, "<eof>") && !strstr(reason, "unfinished string near");
}

void fettle_push_chunk(lua_State *L, fettle_work *work, const char *name, const char *bytes,
                       size_t length, int environment) {
  environment = lua_absindex(L, environment);
  char message[sizeof work->failed.message];
  if (!fettle_source_check(name + 1, bytes, length, message, sizeof message)) {
    fettle_problem_set(&work->failed, EX_DATAERR, "not text", "%s", message);
    lua_pushstring(L, message);
    lua_error(L);
  }
  int status = luaL_loadbufferx(L, bytes, length, name, "t");
  if (status == LUA_ERRSYNTAX) {
    /* Lua shortens long file names; the whole name goes back in front. */
    lua_Debug chunk;
    luaL_loadbufferx(L, "", 0, name, "t");
    lua_getinfo(L, ">S", &chunk);
    const char *reason = lua_tostring(L, -1);
    size_t short_length = strlen(chunk.short_src);
    if (strncmp(reason, chunk.short_src, short_length) == 0) {
      reason += short_length;
    }
    bool incomplete = fettle_wants_more(reason);
    fettle_problem_set(&work->failed, EX_DATAERR, incomplete ? "incomplete" : "syntax", "%s%s",
                       name[0] == '@' ? name + 1 : chunk.short_src, reason);
    lua_pushstring(L, work->failed.message);
    lua_error(L);
  }
  if (status != LUA_OK) {
    lua_error(L);
  }
  lua_pushvalue(L, environment);
  lua_setupvalue(L, -2, 1);
}

void fettle_open_language(lua_State *L) {
  fettle_environment_open(L);
  int vocabulary = lua_gettop(L) - 1;
  lua_setfield(L, LUA_REGISTRYINDEX, FETTLE_ENVIRONMENT_KEY);
  lua_pushvalue(L, vocabulary);
  lua_setfield(L, LUA_REGISTRYINDEX, FETTLE_VOCABULARY_KEY);
  fettle_open_quantity(L, vocabulary);
  fettle_open_catalogue(L, vocabulary);
  fettle_open_nesting(L, vocabulary);
  fettle_open_cure(L, vocabulary);
  fettle_script_install_require(L);
  if (fettle_script_load(L, "recipe/words") != LUA_OK) {
    lua_error(L);
  }
  fettle_push_words_host(L);
  lua_pushvalue(L, vocabulary);
  lua_call(L, 2, 2); /* words, finish */
  lua_pushnil(L);
  while (lua_next(L, -3)) {
    lua_pushvalue(L, -2);
    lua_insert(L, -2);
    lua_rawset(L, vocabulary);
  }
  lua_remove(L, -2);
  lua_remove(L, vocabulary);
}

typedef struct source {
  const char *name, *bytes;
  size_t length;
} source;

static int run_chunk(lua_State *L) {
  const source *text = lua_touserdata(L, 1);
  fettle_work *work = fettle_work_of(L);
  fettle_open_language(L); /* 2: finish */
  lua_getfield(L, LUA_REGISTRYINDEX, FETTLE_ENVIRONMENT_KEY);
  fettle_box_start(&work->box);
  fettle_push_chunk(L, work, text->name, text->bytes, text->length, -1);
  lua_call(L, 0, 0);
  lua_settop(L, 2);
  lua_call(L, 0, 1);
  return 1;
}

int fettle_explain(fettle_work *work, int status, fettle_problem *problem) {
  lua_State *L = work->box.L;
  char line[sizeof problem->message];
  if (work->box.tripped || status == LUA_ERRMEM) {
    fettle_box_explain(&work->box, line, sizeof line);
    bool interrupted = fettle_interrupted != 0;
    return fettle_problem_set(problem, EX_DATAERR, interrupted ? "interrupted" : "budget", "%s",
                              line);
  }
  const char *message = lua_tostring(L, -1); /* a text: the message handler saw to it */
  snprintf(line, sizeof line, "%s", message ? message : "unknown error");
  for (char *at = line; *at; at++) {
    *at = (unsigned char)*at < ' ' ? ' ' : *at;
  }
  if (ends_with(line, work->failed.message)) {
    return fettle_problem_set(problem, work->failed.exit_status, work->failed.code, "%s", line);
  }
  const fettle_diagnostic *diagnostic = fettle_last_diagnostic(L);
  const char *code = diagnostic && ends_with(line, diagnostic->message)
                         ? fettle_status_name(diagnostic->status)
                         : "recipe";
  return fettle_problem_set(problem, EX_DATAERR, code, "%s", line);
}

static int keep_work(lua_State *L) {
  const fettle_work *work = lua_touserdata(L, 1);
  lua_setfield(L, LUA_REGISTRYINDEX, WORK_KEY);
  if (work->options && work->options->job_effort > 0) {
    lua_pushnumber(L, work->options->job_effort);
    lua_setfield(L, LUA_REGISTRYINDEX, FETTLE_EFFORT_KEY);
  }
  return 0;
}

int fettle_open_box(fettle_work *work, fettle_problem *problem) {
  lua_State *L = fettle_box_open(&work->box, &fettle_box_defaults);
  if (L) {
    lua_pushcfunction(L, keep_work);
    lua_pushlightuserdata(L, work);
    if (lua_pcall(L, 1, 0, 0) == LUA_OK) {
      return 0;
    }
    fettle_box_close(&work->box);
  }
  return fettle_problem_set(problem, EX_OSERR, "memory", "there is no memory to start a recipe");
}

/* Runs the recipe's text in a box of its own and pushes the model on the trusted state. */
static int run_text(fettle_pass *pass, fettle_work *work, const char *bytes, size_t length,
                    fettle_problem *problem) {
  int result = fettle_open_box(work, problem);
  if (result != 0) {
    return result;
  }
  lua_State *L = work->box.L;
  char name[FETTLE_PATH_MOST + 1];
  snprintf(name, sizeof name, "@%s", work->options->path);
  source text = {name, bytes, length};
  lua_pushcfunction(L, run_chunk);
  lua_pushlightuserdata(L, &text);
  int status = fettle_box_call(&work->box, 1, 1);
  if (status != LUA_OK) {
    result = fettle_explain(work, status, problem);
  } else {
    const char *failure = fettle_copy_value(L, -1, pass->trusted);
    if (failure) {
      result =
          fettle_problem_set(problem, EX_DATAERR, "data", "%s: %s", work->options->path, failure);
    }
  }
  fettle_box_close(&work->box);
  return result;
}

int fettle_work_model(fettle_pass *pass, const fettle_work *taker,
                      const fettle_run_options *options, fettle_problem *problem) {
  fettle_work *work = calloc(1, sizeof *work);
  if (!work) {
    return fettle_problem_set(problem, EX_OSERR, "memory", "there is no memory to start a recipe");
  }
  work->pass = pass;
  work->taker = taker;
  work->options = options;
  fettle_file_real(options->path, work->real_path);
  fettle_file_folder(options->path, work->folder);
  int result = 0;
  if (lua_getfield(pass->trusted, pass->models, work->real_path) != LUA_TTABLE) {
    lua_pop(pass->trusted, 1);
    char *bytes = NULL;
    size_t length;
    /* One byte more than may be, so that the check of the text says what is wrong. */
    result = fettle_source_read(options->path, (size_t)64 << 20, &bytes, &length, problem);
    if (result == 0) {
      fettle_digest(bytes, length, work->digest);
      result = run_text(pass, work, bytes, length, problem);
      free(bytes);
    }
    if (result == 0) {
      lua_pushvalue(pass->trusted, -1);
      lua_setfield(pass->trusted, pass->models, work->real_path);
    }
  }
  free(work);
  return result;
}

int fettle_run_pass(lua_State *trusted, const fettle_run_options *options, const char *moved,
                    bool high, fettle_problem *problem) {
  lua_newtable(trusted);
  lua_newtable(trusted);
  fettle_pass pass = {.trusted = trusted,
                      .guesses = lua_gettop(trusted) - 1,
                      .models = lua_gettop(trusted),
                      .moved = moved,
                      .high = high};
  int result = fettle_work_model(&pass, NULL, options, problem);
  if (result != 0) {
    lua_settop(trusted, pass.guesses - 1);
    return result;
  }
  lua_remove(trusted, pass.models);
  return 0;
}

static int check_options(const fettle_run_options *options, fettle_problem *problem) {
  if (strlen(options->path) >= FETTLE_PATH_MOST - 1) {
    return fettle_problem_set(problem, EX_NOINPUT, "missing file", "the recipe's name is too long");
  }
  if (options->setting_count > FETTLE_SETTINGS_MOST) {
    return fettle_problem_set(problem, EX_USAGE, "usage", "more than %d settings",
                              FETTLE_SETTINGS_MOST);
  }
  for (size_t i = 0; i < options->setting_count; i++) {
    const char *setting = options->settings[i];
    size_t length = strcspn(setting, "=");
    if (length == 0 || setting[length] == '\0') {
      return fettle_problem_set(problem, EX_USAGE, "usage",
                                "--set %s: must be NAME=VALUE, as in --set stepover=0.03in",
                                setting);
    }
    for (size_t j = 0; j < i; j++) {
      if (strncmp(options->settings[j], setting, length + 1) == 0) {
        return fettle_problem_set(problem, EX_USAGE, "usage", "--set %.*s: is given twice",
                                  (int)length, setting);
      }
    }
  }
  return 0;
}

typedef struct request {
  const fettle_run_options *options;
  fettle_problem *problem;
  int result;
} request;

/* In a protected call of the trusted state, so that memory running out there is a plain error. */
static int run_all(lua_State *trusted) {
  request *asked = lua_touserdata(trusted, 1);
  asked->result = fettle_run_pass(trusted, asked->options, NULL, false, asked->problem);
  if (asked->result != 0) {
    lua_settop(trusted, 0);
    lua_pushnil(trusted);
    return 1;
  }
  int guesses = lua_gettop(trusted) - 1, model = guesses + 1;
  fettle_add_bands(trusted, guesses, model, asked->options);
  lua_settop(trusted, model);
  return 1;
}

int fettle_recipe_run(lua_State *trusted, const fettle_run_options *options,
                      fettle_problem *problem) {
  int result = check_options(options, problem);
  if (result != 0) {
    return result;
  }
  request asked = {.options = options, .problem = problem};
  lua_pushcfunction(trusted, run_all);
  lua_pushlightuserdata(trusted, &asked);
  if (lua_pcall(trusted, 1, 1, 0) != LUA_OK) {
    fettle_problem_set(problem, EX_SOFTWARE, "internal", "%s: internal error: %s", options->path,
                       lua_tostring(trusted, -1));
    lua_pop(trusted, 1);
    return EX_SOFTWARE;
  }
  if (asked.result != 0) {
    lua_pop(trusted, 1);
  }
  return asked.result;
}
