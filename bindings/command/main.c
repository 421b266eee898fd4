/* fettle - the command line. */
#include <locale.h>
#include <stdio.h>
#include <string.h>
#include <sysexits.h>

#include "command/command.h"
#include "command/options.h"
#include "fettle/version.h"
#include "sheet/trusted.h"

static int dispatch(lua_State *trusted, const fettle_request *request) {
  switch (request->command) {
  case FETTLE_COMMAND_RUN:
    return fettle_command_run(trusted, request);
  case FETTLE_COMMAND_ASK:
    return fettle_command_ask(trusted, request);
  case FETTLE_COMMAND_SHOW:
    return fettle_command_show(trusted, request);
  case FETTLE_COMMAND_VERIFY:
    return fettle_command_verify(trusted, request);
  case FETTLE_COMMAND_REPL:
    return fettle_command_repl(trusted, request);
  }
  return EX_SOFTWARE;
}

static int print_or_report(const char *text) {
  fettle_problem problem = {0};
  if (fettle_print(text, strlen(text), &problem) != 0) {
    return fettle_report(&problem, false);
  }
  return 0;
}

int main(int argc, char **argv) {
  /* Character widths of the terminal only: a decimal comma must never reach a number. */
  setlocale(LC_CTYPE, "");
  fettle_request request;
  char message[512];
  int status = fettle_options_read(argc, argv, &request, message, sizeof message);
  if (status != 0) {
    fprintf(stderr, "fettle: %s\n", message);
    return status;
  }
  if (request.help) {
    char help[8192];
    fettle_options_help(request.command, help, sizeof help);
    return print_or_report(help);
  }
  if (request.version) {
    char version[128];
    snprintf(version, sizeof version, "fettle %s, results revision %d, %s\n", FETTLE_VERSION,
             FETTLE_RESULTS_REVISION, LUA_RELEASE);
    return print_or_report(version);
  }
  lua_State *trusted = fettle_trusted_open();
  if (!trusted) {
    fprintf(stderr, "fettle: out of memory\n");
    return EX_SOFTWARE;
  }
  status = dispatch(trusted, &request);
  lua_close(trusted);
  return status;
}
