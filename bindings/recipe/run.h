/* recipe/run.h - runs a recipe in a fresh sandbox and hands over what it declared. */
#ifndef FETTLE_RECIPE_RUN_H
#define FETTLE_RECIPE_RUN_H

#include <stddef.h>

#include <lua.h>

typedef struct fettle_run_options {
  const char *path;            /* of the recipe */
  const char *const *settings; /* "NAME=VALUE" texts, as given */
  size_t setting_count;
  double job_effort; /* effort of declared jobs; 0: the recipe's own */
} fettle_run_options;

/* What went wrong, in one line and for JSON. Owned by caller. */
typedef struct fettle_problem {
  int exit_status; /* sysexits */
  char code[24];   /* "range", "dimension", "budget", "missing file", ... */
  char message[1024];
} fettle_problem;

/* Fills `problem` with a printf-style message and returns `exit_status`. */
#if defined(__GNUC__)
__attribute__((format(printf, 4, 5)))
#endif
int
fettle_problem_set(fettle_problem *problem, int exit_status, const char *code, const char *format,
                   ...);

/* Runs the recipe (and again for each guess that it used) and pushes the sheet model on `trusted`.
 * Returns 0, or a sysexits status with `problem` filled and nothing pushed. */
int fettle_recipe_run(lua_State *trusted, const fettle_run_options *options,
                      fettle_problem *problem);

/* A sandbox that stays open for one line after another: `ask` and the prompt. Names assigned on one
 * line are known on the next; each line gets fresh budgets. */
typedef struct fettle_session fettle_session;

/* Opens one; `calculations` names files of a shop's own calculations to load first. Returns NULL
 * and fills `problem` on failure. Owned by caller. */
fettle_session *fettle_session_open(const char *const *calculations, size_t calculation_count,
                                    fettle_problem *problem);
/* Evaluates one expression, or else one chunk of statements, and pushes on `trusted` a table
 * {values = {value, ...}, working = record or nil}; the next line knows the first value as `_`. A
 * text that only wants more lines gives the code "incomplete". Returns 0, or a status with
 * `problem` filled and nothing pushed. */
int fettle_session_ask(fettle_session *session, lua_State *trusted, const char *text,
                       fettle_problem *problem);
/* Pushes on `trusted` the descriptions of all calculations, the shop's own among them, sorted: as
 * fettle_push_descriptions. */
int fettle_session_descriptions(fettle_session *session, lua_State *trusted,
                                fettle_problem *problem);
void fettle_session_close(fettle_session *session); /* NULL is allowed */

#endif
