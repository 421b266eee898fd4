/* A sandbox that stays open for one line after another. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sysexits.h>

#include <lauxlib.h>

#include "recipe/work.h"
#include "sandbox/source.h"
#include "sheet/trusted.h"

struct fettle_session {
  fettle_work work;
};

typedef struct opening {
  const char *const *calculations;
  size_t count;
} opening;

static int open_session(lua_State *L) {
  const opening *asked = lua_touserdata(L, 1);
  fettle_work *work = fettle_work_of(L);
  fettle_open_language(L);
  lua_setfield(L, LUA_REGISTRYINDEX, "fettle.session.descriptions");
  lua_getfield(L, LUA_REGISTRYINDEX, FETTLE_ENVIRONMENT_KEY);
  int environment = lua_gettop(L);
  fettle_box_start(&work->box);
  for (size_t i = 0; i < asked->count; i++) {
    const char *path = asked->calculations[i];
    fettle_push_file(L, work, path, FETTLE_SOURCE_BYTES_MOST + 1);
    size_t length;
    const char *bytes = lua_tolstring(L, -1, &length);
    lua_pushfstring(L, "@%s", path);
    fettle_push_chunk(L, work, lua_tostring(L, -1), bytes, length, environment);
    lua_call(L, 0, 0);
    lua_settop(L, environment);
  }
  return 0;
}

fettle_session *fettle_session_open(const char *const *calculations, size_t calculation_count,
                                    fettle_problem *problem) {
  fettle_session *session = calloc(1, sizeof *session);
  if (!session) {
    fettle_problem_set(problem, EX_OSERR, "memory", "there is no memory to start");
    return NULL;
  }
  fettle_work *work = &session->work;
  snprintf(work->folder, sizeof work->folder, ".");
  if (fettle_open_box(work, problem) != 0) {
    free(session);
    return NULL;
  }
  opening asked = {calculations, calculation_count};
  lua_pushcfunction(work->box.L, open_session);
  lua_pushlightuserdata(work->box.L, &asked);
  int status = fettle_box_call(&work->box, 1, 0);
  if (status != LUA_OK) {
    fettle_explain(work, status, problem);
    fettle_session_close(session);
    return NULL;
  }
  return session;
}

/* (text) -> {values = {...}, working =} */
static int ask(lua_State *L) {
  const char *text = lua_touserdata(L, 1);
  fettle_work *work = fettle_work_of(L);
  lua_getfield(L, LUA_REGISTRYINDEX, FETTLE_ENVIRONMENT_KEY);     /* 2 */
  const char *expression = lua_pushfstring(L, "return %s", text); /* 3 */
  /* What is neither an expression nor a statement is told as the one that only lacks its end. */
  bool whole = luaL_loadbufferx(L, expression, strlen(expression), "=line", "t") == LUA_OK;
  bool ended = whole || !fettle_wants_more(lua_tostring(L, -1));
  if (whole || (!ended && luaL_loadbufferx(L, text, strlen(text), "=line", "t") != LUA_OK)) {
    lua_settop(L, 3);
    fettle_push_chunk(L, work, "=line", expression, strlen(expression), 2);
  } else {
    lua_settop(L, 3);
    fettle_push_chunk(L, work, "=line", text, strlen(text), 2);
  }
  int first = lua_gettop(L);
  lua_call(L, 0, LUA_MULTRET);
  int count = lua_gettop(L) - first + 1;
  if (count > 0 && !lua_isnil(L, first)) {
    lua_pushvalue(L, first);
    lua_pushliteral(L, "_"); /* the last answer */
    lua_insert(L, -2);
    lua_rawset(L, 2);
  }
  lua_createtable(L, 0, 2);
  int answer = lua_gettop(L);
  /* A calculation of one output returns its working as the second value. */
  bool worked = false;
  for (int i = first; i < answer && !worked; i++) {
    if (lua_type(L, i) == LUA_TTABLE && luaL_getmetafield(L, i, "contents") == LUA_TNIL) {
      lua_getfield(L, i, "kind");
      bool record =
          lua_type(L, -1) == LUA_TSTRING && strcmp(lua_tostring(L, -1), "calculation") == 0;
      lua_pop(L, 1);
      if (record) {
        lua_pushvalue(L, i);
        lua_setfield(L, answer, "working");
        count = i - first;
        worked = true;
      } else if (lua_getfield(L, i, "working") == LUA_TTABLE) {
        lua_setfield(L, answer, "working");
        worked = true;
      }
    }
    lua_settop(L, answer);
  }
  lua_createtable(L, count, 0);
  for (int i = 0; i < count; i++) {
    if (lua_isfunction(L, first + i)) {
      lua_pushliteral(L, "function");
    } else {
      lua_pushvalue(L, first + i);
    }
    lua_seti(L, -2, i + 1);
  }
  lua_setfield(L, answer, "values");
  lua_settop(L, answer);
  return 1;
}

static int answer_of(fettle_work *work, int status, lua_State *trusted, fettle_problem *problem) {
  lua_State *L = work->box.L;
  int result = 0;
  if (status != LUA_OK) {
    result = fettle_explain(work, status, problem);
  } else {
    const char *failure = fettle_copy_value(L, -1, trusted);
    if (failure) {
      result = fettle_problem_set(problem, EX_DATAERR, "data", "the answer: %s", failure);
    }
  }
  lua_settop(L, 0);
  work->failed.message[0] = '\0';
  return result;
}

int fettle_session_ask(fettle_session *session, lua_State *trusted, const char *text,
                       fettle_problem *problem) {
  fettle_work *work = &session->work;
  char message[256];
  if (!fettle_source_check("line", text, strlen(text), message, sizeof message)) {
    return fettle_problem_set(problem, EX_DATAERR, "not text", "%s", message);
  }
  fettle_box_start(&work->box);
  lua_pushcfunction(work->box.L, ask);
  lua_pushlightuserdata(work->box.L, (void *)text);
  return answer_of(work, fettle_box_call(&work->box, 1, 1), trusted, problem);
}

static int describe(lua_State *L) {
  lua_getfield(L, LUA_REGISTRYINDEX, "fettle.session.descriptions");
  lua_call(L, 0, 1);
  return 1;
}

int fettle_session_descriptions(fettle_session *session, lua_State *trusted,
                                fettle_problem *problem) {
  fettle_work *work = &session->work;
  fettle_box_start(&work->box);
  lua_pushcfunction(work->box.L, describe);
  return answer_of(work, fettle_box_call(&work->box, 0, 1), trusted, problem);
}

void fettle_session_close(fettle_session *session) {
  if (session) {
    fettle_box_close(&session->work.box);
    free(session);
  }
}
