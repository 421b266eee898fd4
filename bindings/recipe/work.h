/* recipe/work.h - what the parts of a running recipe share; private to this room. */
#ifndef FETTLE_RECIPE_WORK_H
#define FETTLE_RECIPE_WORK_H

#include <stdbool.h>
#include <stddef.h>

#include <lua.h>

#include "fettle/quantity.h"
#include "recipe/digest.h"
#include "recipe/files.h"
#include "recipe/run.h"
#include "sandbox/box.h"

enum { FETTLE_SETTINGS_MOST = 256, FETTLE_TAKEN_DEPTH_MOST = 16 };

/* One pass over a recipe and the recipes that it takes from. In the trusted state it keeps two
 * tables: models already made, by path; and guesses read, by "FILE:path". */
typedef struct fettle_pass {
  lua_State *trusted;
  int models;                        /* index in `trusted` */
  int guesses;                       /* index in `trusted` */
  const char *moved;                 /* the guess that this pass moves, or NULL; borrowed */
  bool high;                         /* to its high end */
  char shop_named[FETTLE_PATH_MOST]; /* the shop file that `shop=` replaces, or empty */
  char shop_taken[FETTLE_PATH_MOST]; /* by this one */
} fettle_pass;

typedef struct fettle_work fettle_work;
struct fettle_work {
  fettle_box box;
  fettle_pass *pass;        /* NULL in a session */
  const fettle_work *taker; /* the recipe that takes a result of this one, or NULL */
  const fettle_run_options *options;
  char folder[FETTLE_PATH_MOST];
  char real_path[FETTLE_PATH_MOST]; /* of the recipe, links resolved: by it loops are found */
  char digest[FETTLE_DIGEST_TEXT];
  bool setting_used[FETTLE_SETTINGS_MOST];
  size_t output;         /* bytes printed */
  fettle_problem failed; /* the last failure that the host's functions raised */
};

/* The work to which a state belongs. */
fettle_work *fettle_work_of(lua_State *L);

/* Raises the problem in `work->failed` as an error at the recipe's line. Never returns. */
int fettle_work_raise(lua_State *L, fettle_work *work);

/* Pushes the table of C functions that the shipped words use. */
void fettle_push_words_host(lua_State *L);

/* Reads the file at `path` and pushes its bytes; raises when it cannot. */
void fettle_push_file(lua_State *L, fettle_work *work, const char *path, size_t most);

/* Opens the box of a work. */
int fettle_open_box(fettle_work *work, fettle_problem *problem);

/* Opens everything that the recipe language has and pushes the function that ends it: in a recipe
 * it hands out the model, in a session the descriptions of all calculations. */
void fettle_open_language(lua_State *L);

/* Turns what a protected call in the box left behind into one line; returns its exit status. */
int fettle_explain(fettle_work *work, int status, fettle_problem *problem);

/* Where fettle_open_language puts the recipe's globals, and the names of the language. */
#define FETTLE_ENVIRONMENT_KEY "fettle.recipe.environment"
#define FETTLE_VOCABULARY_KEY "fettle.recipe.vocabulary"

/* Runs a recipe, or finds what it gave earlier in the same pass, and pushes its model on the pass's
 * trusted state. */
int fettle_work_model(fettle_pass *pass, const fettle_work *taker,
                      const fettle_run_options *options, fettle_problem *problem);

/* One pass; `moved` names the guess that it moves, or is NULL. Leaves on the trusted state the
 * table of guesses read and above it the model, or nothing on failure. */
int fettle_run_pass(lua_State *trusted, const fettle_run_options *options, const char *moved,
                    bool high, fettle_problem *problem);

/* Runs a pass for each end of each guess in the table at `guesses`, and gives the results of the
 * model at `model` that move by more than 5 % their bands. */
void fettle_add_bands(lua_State *trusted, int guesses, int model,
                      const fettle_run_options *options);

/* Loads text of the recipe language with the environment at `environment` and pushes its chunk;
 * raises with code "syntax" when it cannot be read. `name` is as Lua names chunks: "@FILE". */
void fettle_push_chunk(lua_State *L, fettle_work *work, const char *name, const char *bytes,
                       size_t length, int environment);

/* Whether an error of Lua's compiler says only that the text ends too early. */
bool fettle_wants_more(const char *reason);

/* Compares a value that the recipe at `recipe_path` takes from recipe `from` with what its record
 * says; `stale` tells whether it differs, and `was` is the recorded one then. Without a record
 * nothing is stale. */
int fettle_record_taken(const char *recipe_path, const char *from, const char *name,
                        const fettle_quantity *now, fettle_quantity *was, bool *stale,
                        fettle_problem *problem);

/* Lua function (declaration) -> function, description: a shop's own calculation, called and
 * described as the catalogue's are. */
int fettle_make_calculation(lua_State *L);

#endif
