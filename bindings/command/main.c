/* fettle - the command line. */
#define _XOPEN_SOURCE 700 /* sigaction, _exit */

#include <locale.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sysexits.h>
#include <unistd.h>

#include "command/command.h"
#include "command/options.h"
#include "fettle/version.h"
#include "sandbox/box.h"
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

/* A mistake in the options may come before --json is read. */
static bool wants_json(int argc, char **argv) {
  for (int i = 1; i < argc && strcmp(argv[i], "--") != 0; i++) {
    if (strcmp(argv[i], "--json") == 0) {
      return true;
    }
  }
  return false;
}

/* The first Ctrl-C asks the work to stop in good order; a second one, when that is not enough, ends
 * the program as the system does. The prompt, which goes on, sets this anew. */
static void interrupt(int number) {
  if (fettle_interrupted) {
    signal(number, SIG_DFL);
    raise(number);
  }
  fettle_interrupted = 1;
}

static void catch_interrupts(void) {
  struct sigaction action = {.sa_handler = interrupt}; /* without SA_RESTART: reading ends too */
  sigemptyset(&action.sa_mask);
  sigaction(SIGINT, &action, NULL);
  signal(SIGPIPE, SIG_IGN); /* a reader that went away is an output error, told in words */
}

int main(int argc, char **argv) {
  /* Character widths of the terminal only: a decimal comma must never reach a number. */
  setlocale(LC_CTYPE, "");
  fettle_request request;
  char message[512];
  int status = fettle_options_read(argc, argv, &request, message, sizeof message);
  if (status != 0) {
    fettle_problem problem = {0};
    fettle_problem_set(&problem, status, "usage", "%s", message);
    return fettle_report(&problem, wants_json(argc, argv));
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
  catch_interrupts();
  lua_State *trusted = fettle_trusted_open();
  if (!trusted) {
    fprintf(stderr, "fettle: out of memory\n");
    return EX_OSERR;
  }
  status = dispatch(trusted, &request);
  if (fettle_interrupted) {
    signal(SIGINT, SIG_DFL);
    raise(SIGINT);
  }
  /* Everything printed was flushed and checked; the memory goes back in one step. */
  _exit(status);
}
