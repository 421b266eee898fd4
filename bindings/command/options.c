#include "command/options.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sysexits.h>

#include "fettle/quantity.h"

enum {
  ALL = FETTLE_COMMAND_REPL | FETTLE_COMMAND_RUN | FETTLE_COMMAND_ASK | FETTLE_COMMAND_SHOW |
        FETTLE_COMMAND_VERIFY
};

const fettle_command_row fettle_command_rows[] = {
    {FETTLE_COMMAND_REPL, "", "", "answer one line after another (the prompt)"},
    {FETTLE_COMMAND_RUN, "run", "RECIPE", "run a recipe and write its job sheet"},
    {FETTLE_COMMAND_ASK, "ask", "EXPRESSION | CALCULATION NAME=VALUE...",
     "answer one question, with its working"},
    {FETTLE_COMMAND_SHOW, "show", "[CALCULATION | WORD...]",
     "list the calculations, search them by trade words, or show one"},
    {FETTLE_COMMAND_VERIFY, "verify", "PATH...",
     "compare recipes with their recorded results, or record them"},
    {0, NULL, NULL, NULL},
};

const fettle_option_row fettle_option_rows[] = {
    {"effort", 0, "COUNT", FETTLE_COMMAND_RUN, "budget of nesting and the like, as a count"},
    {"help", 'h', NULL, ALL, "print this help"},
    {"json", 0, NULL, FETTLE_COMMAND_RUN | FETTLE_COMMAND_ASK | FETTLE_COMMAND_SHOW,
     "answer as JSON, a job sheet too"},
    {"output", 'o', "FILE", FETTLE_COMMAND_RUN, "write the sheet to FILE, whole or not at all"},
    {"record", 0, NULL, FETTLE_COMMAND_VERIFY, "write the record beside each recipe"},
    {"set", 0, "NAME=VALUE", FETTLE_COMMAND_RUN, "give an input of the recipe; may be repeated"},
    {"sheet", 0, "text|md|html|json", FETTLE_COMMAND_RUN,
     "form of the sheet; without it the ending of FILE decides"},
    {"strict", 0, NULL, FETTLE_COMMAND_RUN, "exit with 1 on a warning too"},
    {"version", 0, NULL, FETTLE_COMMAND_REPL, "print the versions of program, results and Lua"},
    {"with", 0, "FILE", FETTLE_COMMAND_ASK | FETTLE_COMMAND_SHOW | FETTLE_COMMAND_REPL,
     "load a shop's own calculations first; may be repeated"},
    {NULL, 0, NULL, 0, NULL},
};

static const fettle_command_row *command_row(fettle_command command) {
  for (const fettle_command_row *row = fettle_command_rows; row->name; row++) {
    if (row->command == command) {
      return row;
    }
  }
  return &fettle_command_rows[0];
}

#if defined(__GNUC__)
__attribute__((format(printf, 3, 4)))
#endif
static int
misuse(char *message, size_t capacity, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(message, capacity, format, arguments);
  va_end(arguments);
  return EX_USAGE;
}

static int add(const char **list, size_t *count, const char *text, const char *what, char *message,
               size_t capacity) {
  if (*count == FETTLE_LIST_MOST) {
    return misuse(message, capacity, "more than %d %s", FETTLE_LIST_MOST, what);
  }
  list[(*count)++] = text;
  return 0;
}

static bool one_of(const char *list, const char *word) {
  size_t length = strlen(word);
  for (const char *at = list; at; at = strchr(at, '|')) {
    at += *at == '|';
    if (length > 0 && strncmp(at, word, length) == 0 && (at[length] == '|' || at[length] == '\0')) {
      return true;
    }
  }
  return false;
}

static int take_option(const fettle_option_row *row, const char *value, fettle_request *request,
                       char *message, size_t capacity) {
  if (strcmp(row->name, "set") == 0) {
    if (!strchr(value, '=') || value[0] == '=') {
      return misuse(message, capacity, "--set %s: write --set NAME=VALUE", value);
    }
    return add(request->settings, &request->setting_count, value, "settings", message, capacity);
  }
  if (strcmp(row->name, "with") == 0) {
    return add(request->calculations, &request->calculation_count, value, "files", message,
               capacity);
  }
  if (strcmp(row->name, "sheet") == 0) {
    if (!one_of(row->argument, value)) {
      return misuse(message, capacity, "--sheet %s: must be one of %s", value, row->argument);
    }
    request->sheet = value;
  } else if (strcmp(row->name, "output") == 0) {
    request->output = value;
  } else if (strcmp(row->name, "effort") == 0) {
    double effort = 0;
    if (fettle_number_parse(value, strlen(value), &effort, NULL) != FETTLE_OK || effort < 1 ||
        effort > 1e12 || floor(effort) != effort) {
      return misuse(message, capacity, "--effort %s: must be a whole number from 1 to 1e12", value);
    }
    request->effort = effort;
  } else if (strcmp(row->name, "json") == 0) {
    request->json = true;
  } else if (strcmp(row->name, "strict") == 0) {
    request->strict = true;
  } else if (strcmp(row->name, "record") == 0) {
    request->record = true;
  } else if (strcmp(row->name, "help") == 0) {
    request->help = true;
  } else if (strcmp(row->name, "version") == 0) {
    request->version = true;
  }
  return 0;
}

static const fettle_option_row *find_option(const char *text, size_t length, char letter) {
  for (const fettle_option_row *row = fettle_option_rows; row->name; row++) {
    bool same = letter ? row->letter == letter
                       : strlen(row->name) == length && strncmp(row->name, text, length) == 0;
    if (same) {
      return row;
    }
  }
  return NULL;
}

/* The first word names the command, unless it is an option. */
static int read_command(const char *word, fettle_request *request, char *message, size_t capacity) {
  for (const fettle_command_row *row = fettle_command_rows; row->name; row++) {
    if (row->name[0] && strcmp(row->name, word) == 0) {
      request->command = row->command;
      return 0;
    }
  }
  return misuse(message, capacity, "'%s' is no command; 'fettle --help' lists them", word);
}

int fettle_options_read(int argc, char **argv, fettle_request *request, char *message,
                        size_t capacity) {
  *request = (fettle_request){.command = FETTLE_COMMAND_REPL};
  int at = 1;
  if (argc > 1 && argv[1][0] != '-') {
    int status = read_command(argv[1], request, message, capacity);
    if (status != 0) {
      return status;
    }
    at = 2;
  }
  bool options_end = false;
  for (; at < argc; at++) {
    const char *word = argv[at];
    if (options_end || word[0] != '-' || word[1] == '\0') {
      int status = add(request->words, &request->word_count, word, "arguments", message, capacity);
      if (status != 0) {
        return status;
      }
      continue;
    }
    if (strcmp(word, "--") == 0) {
      options_end = true;
      continue;
    }
    const char *value = NULL;
    const fettle_option_row *row = NULL;
    if (word[1] == '-') {
      size_t length = strcspn(word + 2, "=");
      row = find_option(word + 2, length, 0);
      value = word[2 + length] == '=' ? word + 3 + length : NULL;
    } else {
      row = find_option(NULL, 0, word[1]);
      value = word[2] ? word + 2 : NULL;
    }
    const char *name = command_row(request->command)->name;
    const char *space = name[0] ? " " : "";
    if (!row) {
      return misuse(message, capacity, "unknown option %s; 'fettle%s%s --help' lists the options",
                    word, space, name);
    }
    if (!(row->commands & request->command)) {
      return misuse(message, capacity, "fettle%s%s takes no --%s; see 'fettle%s%s --help'", space,
                    name, row->name, space, name);
    }
    if (row->argument && !value) {
      if (at + 1 == argc) {
        return misuse(message, capacity, "--%s needs its %s", row->name, row->argument);
      }
      value = argv[++at];
    }
    if (!row->argument && value) {
      return misuse(message, capacity, "--%s takes no value", row->name);
    }
    int status = take_option(row, value ? value : "", request, message, capacity);
    if (status != 0) {
      return status;
    }
  }
  return 0;
}

/* snprintf that goes on where the last one stopped. */
#if defined(__GNUC__)
__attribute__((format(printf, 4, 5)))
#endif
static void
append(char *out, size_t capacity, size_t *used, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  size_t room = *used < capacity ? capacity - *used : 0;
  int written = vsnprintf(room ? out + *used : NULL, room, format, arguments);
  va_end(arguments);
  if (written > 0) {
    *used += (size_t)written;
  }
}

size_t fettle_options_help(fettle_command command, char *out, size_t capacity) {
  size_t used = 0;
  const fettle_command_row *own = command_row(command);
  if (command == FETTLE_COMMAND_REPL) {
    append(out, capacity, &used,
           "fettle: shop trade math for plugs, moulds and lay-ups, with units and working\n\n");
    for (const fettle_command_row *row = fettle_command_rows; row->name; row++) {
      append(out, capacity, &used, "  fettle%s%s%s%s\n      %s\n", row->name[0] ? " " : "",
             row->name, row->arguments[0] ? " " : "", row->arguments, row->brief);
    }
    append(out, capacity, &used, "\noptions, and the commands that take them\n");
  } else {
    append(out, capacity, &used, "fettle %s %s\n  %s\n\noptions\n", own->name, own->arguments,
           own->brief);
  }
  for (const fettle_option_row *row = fettle_option_rows; row->name; row++) {
    if (command != FETTLE_COMMAND_REPL && !(row->commands & command)) {
      continue;
    }
    char left[64];
    snprintf(left, sizeof left, "%s%c%s--%s%s%s", row->letter ? "-" : "",
             row->letter ? row->letter : ' ', row->letter ? ", " : "   ", row->name,
             row->argument ? " " : "", row->argument ? row->argument : "");
    append(out, capacity, &used, "  %-32s %s", left, row->help);
    if (command == FETTLE_COMMAND_REPL && row->commands != ALL) {
      const char *before = " (";
      for (const fettle_command_row *taker = fettle_command_rows; taker->name; taker++) {
        if (row->commands & taker->command) {
          append(out, capacity, &used, "%s%s", before, taker->name[0] ? taker->name : "the prompt");
          before = ", ";
        }
      }
      append(out, capacity, &used, ")");
    }
    append(out, capacity, &used, "\n");
  }
  append(out, capacity, &used,
         "\nexit status: 0 done, 1 a check says stop, 64 usage, 65 bad data or recipe,\n"
         "66 no such input, 70 internal, 71 system, 73 cannot create, 74 input/output,\n"
         "77 permission, 78 shop data\n");
  return used;
}
