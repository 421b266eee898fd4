/* realpath is POSIX, not C11. */
#define _XOPEN_SOURCE 700
#include "recipe/files.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sysexits.h>

#include "data/file.h"

int fettle_problem_set(fettle_problem *problem, int exit_status, const char *code,
                       const char *format, ...) {
  problem->exit_status = exit_status;
  snprintf(problem->code, sizeof problem->code, "%s", code);
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(problem->message, sizeof problem->message, format, arguments);
  va_end(arguments);
  return exit_status;
}

static int cannot_read(const char *path, int error, fettle_problem *problem) {
  switch (error) {
  case ENOENT:
  case ENOTDIR:
    return fettle_problem_set(problem, EX_NOINPUT, "missing file",
                              "%s: there is no such file: check the name and the folder", path);
  case EACCES:
    return fettle_problem_set(problem, EX_NOPERM, "permission", "%s: may not be read", path);
  default:
    return fettle_problem_set(problem, EX_IOERR, "read", "%s: cannot be read: %s", path,
                              strerror(error));
  }
}

int fettle_source_read(const char *path, size_t most, char **bytes, size_t *length,
                       fettle_problem *problem) {
  fettle_file_problem failure;
  int result = fettle_file_read(path, most, bytes, length, &failure);
  if (result != 0) {
    const char *code = result == EX_NOINPUT  ? "missing file"
                       : result == EX_NOPERM ? "permission"
                                             : "data";
    return fettle_problem_set(problem, result, code, "%s", failure.message);
  }
  return 0;
}

void fettle_file_folder(const char *path, char out[FETTLE_PATH_MOST]) {
  const char *slash = strrchr(path, '/');
  if (!slash) {
    snprintf(out, FETTLE_PATH_MOST, ".");
  } else {
    snprintf(out, FETTLE_PATH_MOST, "%.*s", slash == path ? 1 : (int)(slash - path), path);
  }
}

void fettle_file_real(const char *path, char out[FETTLE_PATH_MOST]) {
  char *real = realpath(path, NULL);
  snprintf(out, FETTLE_PATH_MOST, "%s", real ? real : path);
  free(real);
}

int fettle_file_beside(const char *folder, const char *name, char out[FETTLE_PATH_MOST],
                       fettle_problem *problem) {
  if (name[0] == '/') {
    return fettle_problem_set(problem, EX_DATAERR, "file name",
                              "%s: is an absolute path: name a file in the recipe's folder", name);
  }
  for (const char *part = name; *part;) {
    size_t length = strcspn(part, "/");
    if (length == 2 && part[0] == '.' && part[1] == '.') {
      return fettle_problem_set(problem, EX_DATAERR, "file name",
                                "%s: '..' leads out of the recipe's folder: move the file into it",
                                name);
    }
    part += length + (part[length] == '/');
  }
  int written = strcmp(folder, ".") == 0 ? snprintf(out, FETTLE_PATH_MOST, "%s", name)
                                         : snprintf(out, FETTLE_PATH_MOST, "%s/%s", folder, name);
  if (name[0] == '\0' || written < 0 || written >= FETTLE_PATH_MOST) {
    return fettle_problem_set(problem, EX_DATAERR, "file name",
                              "the name of a file is empty or too long");
  }
  char *real_folder = realpath(folder, NULL);
  char *real_file = realpath(out, NULL);
  int result = 0;
  if (!real_folder || !real_file) {
    result = cannot_read(out, errno, problem);
  } else {
    size_t length = strlen(real_folder);
    bool inside = strncmp(real_file, real_folder, length) == 0 &&
                  (real_file[length] == '/' || real_folder[length - 1] == '/');
    if (!inside) {
      result = fettle_problem_set(problem, EX_DATAERR, "file name",
                                  "%s: is a link that leads out of the recipe's folder: put the "
                                  "file itself there",
                                  out);
    }
  }
  free(real_folder);
  free(real_file);
  return result;
}
