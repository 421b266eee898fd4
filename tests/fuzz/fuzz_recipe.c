/* Any bytes as a line of recipe language: an answer or one line of message, within the budgets, and
 * the next line is answered as if nothing had been. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <lua.h>

#include "recipe/run.h"
#include "sheet/trusted.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  fettle_problem problem;
  fettle_session *session = fettle_session_open(NULL, 0, &problem);
  lua_State *trusted = fettle_trusted_open();
  char *text = malloc(size + 1);
  if (!session || !trusted || !text) {
    abort();
  }
  memcpy(text, data, size);
  text[size] = '\0';
  if (fettle_session_ask(session, trusted, text, &problem) != 0 &&
      (problem.message[0] == '\0' || strchr(problem.message, '\n') || lua_gettop(trusted) != 0)) {
    abort();
  }
  if (fettle_session_ask(session, trusted, "1 + 1", &problem) != 0) {
    abort();
  }
  free(text);
  lua_close(trusted);
  fettle_session_close(session);
  return 0;
}
