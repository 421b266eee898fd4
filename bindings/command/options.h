/* command/options.h - the one table of subcommands and options.
 *
 * Parsing, --help, the man page and the completions all read it. */
#ifndef FETTLE_COMMAND_OPTIONS_H
#define FETTLE_COMMAND_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>

/* Beside those of sysexits.h: a stop, a changed record; with --strict a warning. */
enum { FETTLE_EXIT_CHECK = 1 };

typedef enum fettle_command {
  FETTLE_COMMAND_REPL = 1 << 0,
  FETTLE_COMMAND_RUN = 1 << 1,
  FETTLE_COMMAND_ASK = 1 << 2,
  FETTLE_COMMAND_SHOW = 1 << 3,
  FETTLE_COMMAND_VERIFY = 1 << 4
} fettle_command;

typedef struct fettle_command_row {
  fettle_command command;
  const char *name; /* empty for the REPL */
  const char *arguments;
  const char *brief;
} fettle_command_row;

/* Ends with a NULL name. */
extern const fettle_command_row fettle_command_rows[];

typedef struct fettle_option_row {
  const char *name;     /* "set", without dashes; NULL ends the table */
  char letter;          /* 'o' for -o, or 0 */
  const char *argument; /* "NAME=VALUE", or NULL for a switch */
  unsigned commands;    /* bits of fettle_command that take it */
  const char *help;
} fettle_option_row;

extern const fettle_option_row fettle_option_rows[];

enum { FETTLE_LIST_MOST = 256 };

/* What the command line asked for. All texts are borrowed from argv. */
typedef struct fettle_request {
  fettle_command command;
  const char *words[FETTLE_LIST_MOST]; /* arguments that are no options */
  size_t word_count;
  const char *settings[FETTLE_LIST_MOST]; /* --set */
  size_t setting_count;
  const char *calculations[FETTLE_LIST_MOST]; /* --with */
  size_t calculation_count;
  const char *sheet;  /* --sheet; NULL when not given */
  const char *output; /* --output; NULL is standard output */
  double effort;      /* --effort; 0 when not given */
  bool json, strict, record, help, version;
} fettle_request;

/* Reads argv. Returns 0, or EX_USAGE with one line in `message`. */
int fettle_options_read(int argc, char **argv, fettle_request *request, char *message,
                        size_t capacity);

/* Writes the help of one command (FETTLE_COMMAND_REPL: of the whole program) into `out`; returns
 * the length, as snprintf. */
size_t fettle_options_help(fettle_command command, char *out, size_t capacity);

#endif
