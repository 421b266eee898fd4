/* recipe/files.h - the only way in which files reach a recipe. */
#ifndef FETTLE_RECIPE_FILES_H
#define FETTLE_RECIPE_FILES_H

#include <stdbool.h>
#include <stddef.h>

#include "recipe/run.h"

enum { FETTLE_PATH_MOST = 1024 };

/* fettle_file_read of data/file.h with the problem of this room. */
int fettle_source_read(const char *path, size_t most, char **bytes, size_t *length,
                       fettle_problem *problem);

/* The folder part of a path ("." when there is none), without a slash at its end. */
void fettle_file_folder(const char *path, char out[FETTLE_PATH_MOST]);

/* The absolute path with links resolved, or `path` itself when there is no such file. */
void fettle_file_real(const char *path, char out[FETTLE_PATH_MOST]);

/* The path of the file that a recipe in `folder` calls `name`. Absolute names, "..", and links that
 * lead out of the folder are refused. */
int fettle_file_beside(const char *folder, const char *name, char out[FETTLE_PATH_MOST],
                       fettle_problem *problem);

#endif
