/* fettle ask: one answer, with its working. */
#define _XOPEN_SOURCE 700 /* isatty */

#include <stdio.h>
#include <string.h>
#include <sysexits.h>
#include <unistd.h>

#include "command/command.h"
#include "command/input.h"
#include "sandbox/box.h"

/* Turns the words of the command line into one expression and the line that repeats the answer:
 * leaves both on the stack. */
static int build_question(lua_State *trusted, fettle_session *session,
                          const fettle_request *request, fettle_problem *problem) {
  fettle_push_texts(trusted, request->words, request->word_count);
  int status = fettle_push_own(trusted, session, request, problem);
  if (status != 0) {
    return status;
  }
  if (isatty(STDIN_FILENO) && isatty(STDERR_FILENO) && !request->json) {
    lua_pushcfunction(trusted, fettle_read_answer);
  } else {
    lua_pushnil(trusted);
  }
  fettle_push_texts(trusted, request->calculations, request->calculation_count);
  status = fettle_call_script(trusted, "question", "build", 4, 3, problem);
  if (fettle_interrupted) {
    return fettle_problem_set(problem, EX_DATAERR, "interrupted", "interrupted");
  }
  if (status == 0 && !lua_isnil(trusted, -1)) {
    return fettle_problem_set(problem, EX_USAGE, "usage", "%s", lua_tostring(trusted, -1));
  }
  return status;
}

static int ask(lua_State *trusted, fettle_session *session, const fettle_request *request,
               fettle_problem *problem) {
  int status = build_question(trusted, session, request, problem);
  if (status != 0) {
    return status;
  }
  lua_pop(trusted, 1); /* no complaint */
  int repeat = lua_gettop(trusted);
  status = fettle_session_ask(session, trusted, lua_tostring(trusted, repeat - 1), problem);
  if (status != 0) {
    return status;
  }
  lua_pushboolean(trusted, request->json);
  lua_pushvalue(trusted, repeat);
  return fettle_print_answer(trusted, problem);
}

int fettle_command_ask(lua_State *trusted, const fettle_request *request) {
  fettle_problem problem = {0};
  int top = lua_gettop(trusted);
  int status = 0;
  if (request->word_count == 0) {
    status = fettle_problem_set(&problem, EX_USAGE, "usage",
                                "ask what? for example: fettle ask milling.scallop_height "
                                "cutter_diameter=1/2in stepover=30thou");
  } else {
    fettle_session *session =
        fettle_session_open(request->calculations, request->calculation_count, &problem);
    status = session ? ask(trusted, session, request, &problem) : problem.exit_status;
    /* The sandbox stays open: the program ends here, and the system takes its memory back at
     * once instead of piece by piece. */
  }
  lua_settop(trusted, top);
  return status != 0 ? fettle_report(&problem, request->json) : 0;
}
