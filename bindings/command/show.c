/* fettle show: the catalogue, as text or JSON. */
#include <sysexits.h>

#include "command/command.h"
#include "lua/catalogue.h"

int fettle_command_show(lua_State *trusted, const fettle_request *request) {
  fettle_problem problem = {0};
  int status = 0;
  if (request->calculation_count > 0) {
    fettle_session *session =
        fettle_session_open(request->calculations, request->calculation_count, &problem);
    status =
        session ? fettle_session_descriptions(session, trusted, &problem) : problem.exit_status;
    fettle_session_close(session);
  } else {
    fettle_push_descriptions(trusted);
  }
  if (status == 0) {
    fettle_push_texts(trusted, request->words, request->word_count);
    lua_pushboolean(trusted, request->json);
    status = fettle_call_script(trusted, "show", "answer", 3, 2, &problem);
  }
  if (status != 0) {
    return fettle_report(&problem, request->json);
  }
  size_t length = 0;
  const char *text = lua_tolstring(trusted, -2, &length);
  if (!lua_toboolean(trusted, -1)) { /* nothing of that name */
    fettle_problem_set(&problem, EX_NOINPUT, "unknown", "%s", text);
  } else {
    fettle_print(text, length, &problem);
  }
  status = problem.exit_status != 0 ? fettle_report(&problem, request->json) : 0;
  lua_pop(trusted, 2);
  return status;
}
