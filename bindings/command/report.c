/* What all subcommands share: errors in one line or as JSON, output that is checked, and calls of
 * the shipped scripts. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sysexits.h>

#include <jansson.h>
#include <lauxlib.h>

#include "command/command.h"

int fettle_print(const char *text, size_t length, fettle_problem *problem) {
  if (fwrite(text, 1, length, stdout) != length || fflush(stdout) != 0) {
    return fettle_problem_set(problem, EX_IOERR, "output",
                              "standard output: could not be written in full");
  }
  return 0;
}

int fettle_call_script(lua_State *trusted, const char *module, const char *function, int arguments,
                       int results, fettle_problem *problem) {
  int base = lua_gettop(trusted) - arguments;
  lua_getglobal(trusted, "require");
  lua_pushstring(trusted, module);
  if (lua_pcall(trusted, 1, 1, 0) == LUA_OK) {
    lua_getfield(trusted, -1, function);
    lua_replace(trusted, -2);
    lua_insert(trusted, base + 1);
    if (lua_pcall(trusted, arguments, results, 0) == LUA_OK) {
      return 0;
    }
  }
  const char *text = lua_tostring(trusted, -1);
  fettle_problem_set(problem, EX_SOFTWARE, "internal", "%s.%s: %s", module, function,
                     text ? text : "failed");
  lua_settop(trusted, base);
  return EX_SOFTWARE;
}

void fettle_push_texts(lua_State *L, const char *const *texts, size_t count) {
  lua_createtable(L, (int)count, 0);
  for (size_t i = 0; i < count; i++) {
    lua_pushstring(L, texts[i]);
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
}

int fettle_push_own(lua_State *trusted, fettle_session *session, const fettle_request *request,
                    fettle_problem *problem) {
  if (request->calculation_count > 0) {
    return fettle_session_descriptions(session, trusted, problem);
  }
  lua_pushnil(trusted);
  return 0;
}

int fettle_print_answer(lua_State *trusted, fettle_problem *problem) {
  int status = fettle_call_script(trusted, "sheet/answer", "answer", 3, 2, problem);
  if (status != 0) {
    return status;
  }
  size_t length = 0;
  const char *text = lua_tolstring(trusted, -2, &length);
  if (text) {
    status = fettle_print(text, length, problem);
  } else {
    status = fettle_problem_set(problem, EX_DATAERR, "not finite", "%s", lua_tostring(trusted, -1));
  }
  lua_pop(trusted, 2);
  return status;
}

/* {"ok": false, "error": {code, message, exit_status}} on standard output. */
static int report_json(const fettle_problem *problem) {
  json_t *object = json_pack("{s:b, s:{s:s, s:s, s:i}}", "ok", 0, "error", "code", problem->code,
                             "message", problem->message, "exit_status", problem->exit_status);
  char *text = object ? json_dumps(object, JSON_INDENT(2)) : NULL;
  json_decref(object);
  if (!text) { /* no memory, or a message that is not UTF-8 */
    fprintf(stderr, "fettle: %s\n", problem->message);
    return problem->exit_status;
  }
  fettle_problem unwritten = {0};
  int status = fettle_print(text, strlen(text), &unwritten);
  if (status == 0) {
    status = fettle_print("\n", 1, &unwritten);
  }
  free(text);
  if (status != 0) {
    return fettle_report(&unwritten, false);
  }
  return problem->exit_status;
}

int fettle_report(const fettle_problem *problem, bool json) {
  if (json && problem->exit_status != EX_IOERR) {
    return report_json(problem);
  }
  fprintf(stderr, "fettle: %s\n", problem->message);
  return problem->exit_status;
}
