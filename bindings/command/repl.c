/* fettle alone: one answer after another, at a prompt or through a pipe. */
#define _XOPEN_SOURCE 700 /* getline, isatty, strdup */

#include <ctype.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sysexits.h>
#include <unistd.h>

#include <editline/readline.h>
#include <lauxlib.h>

#include "command/command.h"
#include "sandbox/box.h"

enum { HISTORY_LINES = 1000, PATH_MOST = 4096 };

/* editline's completion hooks take no context, so it stands in one place of this file, set for the
 * time of the prompt. */
static lua_State *completion_state;
static int completion_known; /* stack index of the descriptions */

/* The candidates are on top of the stack, as an array of texts. */
static char *next_completion(const char *text, int state) {
  static lua_Integer at;
  (void)text;
  at = state == 0 ? 1 : at + 1;
  lua_rawgeti(completion_state, -1, at);
  const char *name = lua_tostring(completion_state, -1);
  char *found = name ? strdup(name) : NULL;
  lua_pop(completion_state, 1);
  return found;
}

static char **complete(const char *text, int start, int end) {
  (void)end;
  rl_attempted_completion_over = 1; /* never file names */
  fettle_problem problem = {0};
  lua_pushvalue(completion_state, completion_known);
  lua_pushlstring(completion_state, rl_line_buffer, (size_t)start);
  lua_pushstring(completion_state, text);
  if (fettle_call_script(completion_state, "question", "complete", 3, 1, &problem) != 0) {
    return NULL;
  }
  char **found = rl_completion_matches(text, next_completion);
  lua_pop(completion_state, 1);
  return found;
}

/* Where the history is kept, its folders made; empty when there is no home. */
static void history_path(char *path, size_t capacity) {
  const char *state = getenv("XDG_STATE_HOME");
  const char *home = getenv("HOME");
  path[0] = '\0';
  char folder[PATH_MOST];
  if (state && state[0] == '/') {
    snprintf(folder, sizeof folder, "%s/fettle", state);
  } else if (home && home[0] == '/') {
    snprintf(folder, sizeof folder, "%s/.local/state/fettle", home);
  } else {
    return;
  }
  for (char *slash = strchr(folder + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
    *slash = '\0';
    mkdir(folder, 0700);
    *slash = '/';
  }
  if (mkdir(folder, 0700) == 0 || errno == EEXIST) {
    snprintf(path, capacity, "%s/history", folder);
  }
}

static void keep_history(const char *path) {
  if (path[0]) {
    mode_t before = umask(0077);
    write_history(path);
    chmod(path, 0600); /* also one that was there before */
    umask(before);
  }
}

/* Text being gathered until it is a whole expression. */
typedef struct fettle_entry {
  char *text;
  size_t length;
} fettle_entry;

static bool entry_add(fettle_entry *entry, const char *line) {
  size_t more = strlen(line);
  char *text = realloc(entry->text, entry->length + more + 2);
  if (!text) {
    return false;
  }
  memcpy(text + entry->length, line, more);
  entry->length += more;
  text[entry->length++] = '\n';
  text[entry->length] = '\0';
  entry->text = text;
  return true;
}

static void entry_clear(fettle_entry *entry) {
  free(entry->text);
  *entry = (fettle_entry){0};
}

static bool blank(const char *text) {
  while (isspace((unsigned char)*text)) {
    text++;
  }
  return *text == '\0';
}

/* Prints what `?words` asks for. */
static int show_words(lua_State *trusted, const fettle_request *request, char *words) {
  fettle_request show = *request;
  show.command = FETTLE_COMMAND_SHOW;
  show.word_count = 0;
  char *rest = NULL;
  for (char *word = strtok_r(words, " \t\n", &rest); word && show.word_count < FETTLE_LIST_MOST;
       word = strtok_r(NULL, " \t\n", &rest)) {
    show.words[show.word_count++] = word;
  }
  return fettle_command_show(trusted, &show);
}

/* Evaluates the entry and prints what it gives. */
static int evaluate(lua_State *trusted, fettle_session *session, const fettle_request *request,
                    const char *text, fettle_problem *problem) {
  lua_pushstring(trusted, text);
  int status = fettle_push_own(trusted, session, request, problem);
  if (status != 0) {
    return status;
  }
  status = fettle_call_script(trusted, "question", "line", 2, 2, problem);
  if (status != 0) {
    return status;
  }
  const char *expression = lua_tostring(trusted, -2);
  if (!expression) {
    return fettle_problem_set(problem, EX_USAGE, "usage", "%s", lua_tostring(trusted, -1));
  }
  status = fettle_session_ask(session, trusted, expression, problem);
  if (status != 0) {
    return status;
  }
  lua_pushboolean(trusted, 0);
  lua_pushnil(trusted);
  return fettle_print_answer(trusted, problem);
}

/* Answers one entry. Returns 0, or the status of what went wrong; *incomplete says that the text
 * only wants more lines. */
static int answer(lua_State *trusted, fettle_session *session, const fettle_request *request,
                  fettle_entry *entry, bool *incomplete) {
  *incomplete = false;
  if (entry->text[0] == '?') {
    return show_words(trusted, request, entry->text + 1);
  }
  fettle_problem problem = {0};
  int top = lua_gettop(trusted);
  int status = evaluate(trusted, session, request, entry->text, &problem);
  lua_settop(trusted, top);
  *incomplete = status != 0 && strcmp(problem.code, "incomplete") == 0;
  if (status != 0 && !*incomplete) {
    fettle_report(&problem, false);
  }
  return status;
}

static int from_pipe(lua_State *trusted, fettle_session *session, const fettle_request *request) {
  fettle_entry entry = {0};
  char *line = NULL;
  size_t capacity = 0;
  int worst = 0;
  bool incomplete = false;
  ssize_t length;
  while (!fettle_interrupted && (length = getline(&line, &capacity, stdin)) >= 0) {
    if (length > 0 && line[length - 1] == '\n') {
      line[length - 1] = '\0';
    }
    if (entry.length == 0 && blank(line)) {
      continue;
    }
    if (!entry_add(&entry, line)) {
      worst = EX_SOFTWARE;
      break;
    }
    int status = answer(trusted, session, request, &entry, &incomplete);
    if (!incomplete) {
      worst = status != 0 ? status : worst;
      entry_clear(&entry);
    }
  }
  if (incomplete && !fettle_interrupted) {
    fettle_problem problem = {0};
    worst = fettle_problem_set(&problem, EX_DATAERR, "syntax",
                               "the input ends in the middle of an expression");
    fettle_report(&problem, false);
  }
  free(line);
  entry_clear(&entry);
  return worst;
}

/* Adds a line to the history unless it repeats the one before. */
static void remember(const char *line) {
  const HIST_ENTRY *last =
      history_length > 0 ? history_get(history_base + history_length - 1) : NULL;
  if (!last || strcmp(last->line, line) != 0) {
    add_history(line);
  }
}

static void from_person(lua_State *trusted, fettle_session *session,
                        const fettle_request *request) {
  char path[PATH_MOST + 16];
  history_path(path, sizeof path);
  rl_readline_name = "fettle";
  rl_attempted_completion_function = complete;
  rl_completion_append_character = '\0';
  rl_basic_word_break_characters = " \t\n\"\\'`@$><=;|&{(,*/+-^)}";
  using_history();
  stifle_history(HISTORY_LINES);
  if (path[0]) {
    read_history(path);
  }
  puts("fettle answers shop questions with their working. ?words searches the calculations,\n"
       "Tab completes names, Ctrl-D leaves. Try: 20*thou + 1/2*inch");
  fettle_entry entry = {0};
  bool cancelled = false; /* by a Ctrl-C at the prompt, and nothing typed since */
  for (;;) {
    char *line = readline(entry.length ? "   ...> " : "fettle> ");
    if (fettle_interrupted) {
      free(line);
      putchar('\n');
      if (cancelled) {
        break;
      }
      fettle_interrupted = 0;
      cancelled = true;
      entry_clear(&entry);
      continue;
    }
    if (!line) {
      putchar('\n');
      break;
    }
    cancelled = false;
    if (blank(line)) {
      /* An empty line ends an entry that waits for more. */
      if (entry.length > 0) {
        puts("left unfinished; begin again");
        entry_clear(&entry);
      }
    } else {
      remember(line);
      bool incomplete = false;
      if (entry_add(&entry, line)) {
        answer(trusted, session, request, &entry, &incomplete);
      }
      if (!incomplete) {
        entry_clear(&entry);
      }
      fettle_interrupted = 0; /* it has stopped the line, and that is all it was for */
    }
    free(line);
  }
  entry_clear(&entry);
  keep_history(path);
}

int fettle_command_repl(lua_State *trusted, const fettle_request *request) {
  fettle_problem problem = {0};
  fettle_session *session =
      fettle_session_open(request->calculations, request->calculation_count, &problem);
  if (!session) {
    return fettle_report(&problem, false);
  }
  int status = 0;
  if (isatty(STDIN_FILENO)) {
    status = fettle_session_descriptions(session, trusted, &problem);
    if (status == 0) {
      completion_state = trusted;
      completion_known = lua_gettop(trusted);
      from_person(trusted, session, request);
      completion_state = NULL;
      lua_pop(trusted, 1);
    } else {
      fettle_report(&problem, false);
    }
  } else {
    status = from_pipe(trusted, session, request);
  }
  fettle_session_close(session);
  return status;
}
