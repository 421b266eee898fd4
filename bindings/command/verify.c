/* fettle verify: recorded results against the present ones. */
#define _XOPEN_SOURCE 700 /* getline, isatty, scandir, strdup */

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sysexits.h>

#include "command/command.h"
#include "recipe/record.h"

enum { PATH_MOST = 4096, FOLDER_DEPTH_MOST = 16 };

/* What is carried through a walk over folders. */
typedef struct fettle_walk {
  lua_State *trusted;
  const fettle_request *request;
  size_t recipes;
  int worst; /* the highest exit status so far */
} fettle_walk;

static void note_status(fettle_walk *walk, int status) {
  if (status > walk->worst) {
    walk->worst = status;
  }
}

static void verify_recipe(fettle_walk *walk, const char *path) {
  fettle_problem problem = {0};
  walk->recipes++;
  int status = walk->request->record ? fettle_record_write(walk->trusted, path, &problem)
                                     : fettle_record_verify(walk->trusted, path, &problem);
  if (status == 0) {
    lua_pushboolean(walk->trusted, walk->request->record);
    status = fettle_call_script(walk->trusted, "verify", "report", 2, 2, &problem);
  }
  if (status == 0) {
    const char *text = lua_tostring(walk->trusted, -2);
    note_status(walk, (int)lua_tointeger(walk->trusted, -1));
    status = fettle_print(text, strlen(text), &problem);
    lua_pop(walk->trusted, 2);
  }
  if (status != 0) {
    note_status(walk, fettle_report(&problem, false));
  }
}

static bool ends_with(const char *text, const char *ending) {
  size_t length = strlen(text), tail = strlen(ending);
  return length > tail && strcmp(text + length - tail, ending) == 0;
}

static int visible(const struct dirent *entry) {
  return entry->d_name[0] != '.';
}

/* Verifies every recipe below a folder that has a record beside it, in the order of the names. */
static void verify_folder(fettle_walk *walk, const char *folder, int depth) {
  struct dirent **entries = NULL;
  int count = scandir(folder, &entries, visible, alphasort);
  for (int index = 0; index < count; index++) {
    char path[PATH_MOST];
    struct stat status;
    int length = snprintf(path, sizeof path, "%s/%s", folder, entries[index]->d_name);
    if (length > 0 && length < PATH_MOST && lstat(path, &status) == 0) {
      if (S_ISDIR(status.st_mode) && depth < FOLDER_DEPTH_MOST) {
        verify_folder(walk, path, depth + 1);
      } else if (S_ISREG(status.st_mode) && ends_with(path, ".record.yaml")) {
        memcpy(path + length - (int)strlen(".record.yaml"), ".lua", sizeof ".lua");
        verify_recipe(walk, path);
      }
    }
    free(entries[index]);
  }
  free(entries);
}

int fettle_command_verify(lua_State *trusted, const fettle_request *request) {
  fettle_problem problem = {0};
  if (request->word_count == 0) {
    fettle_problem_set(&problem, EX_USAGE, "usage",
                       "verify what? a recipe or a folder: fettle verify PATH...");
    return fettle_report(&problem, false);
  }
  fettle_walk walk = {.trusted = trusted, .request = request};
  for (size_t word = 0; word < request->word_count; word++) {
    const char *path = request->words[word];
    struct stat status;
    if (stat(path, &status) == 0 && S_ISDIR(status.st_mode)) {
      size_t before = walk.recipes;
      verify_folder(&walk, path, 0);
      if (walk.recipes == before) {
        fettle_problem_set(&problem, EX_NOINPUT, "missing file",
                           "%s: no recipe below it has a record; write one with 'fettle verify "
                           "--record RECIPE'",
                           path);
        note_status(&walk, fettle_report(&problem, false));
      }
    } else {
      verify_recipe(&walk, path);
    }
  }
  return walk.worst;
}
