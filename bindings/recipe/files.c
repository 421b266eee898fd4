/* realpath, fstat and mkstemp are POSIX, not C11. */
#define _XOPEN_SOURCE 700
#include "recipe/files.h"

#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sysexits.h>
#include <unistd.h>

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

int fettle_file_read(const char *path, size_t most, char **bytes, size_t *length,
                     fettle_problem *problem) {
  *bytes = NULL;
  int file = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK); /* a pipe must not make it wait */
  if (file < 0) {
    return cannot_read(path, errno, problem);
  }
  struct stat status;
  int result = 0;
  size_t used = 0;
  if (fstat(file, &status) != 0) {
    result = cannot_read(path, errno, problem);
  } else if (!S_ISREG(status.st_mode)) {
    result = fettle_problem_set(problem, EX_NOINPUT, "missing file", "%s: is %s, not a file", path,
                                S_ISDIR(status.st_mode) ? "a folder" : "a device or pipe");
  } else if ((unsigned long long)status.st_size > most) {
    result = fettle_problem_set(problem, EX_DATAERR, "data",
                                "%s: is larger than %zu MiB: split it or take a smaller one", path,
                                most >> 20);
  } else if (!(*bytes = malloc((size_t)status.st_size + 1))) {
    result = fettle_problem_set(problem, EX_OSERR, "memory", "%s: there is no memory for it", path);
  } else {
    ssize_t got = 1;
    while (used < (size_t)status.st_size && got > 0) {
      got = read(file, *bytes + used, (size_t)status.st_size - used);
      if (got < 0 && errno == EINTR) {
        got = 1;
        continue;
      }
      used += got > 0 ? (size_t)got : 0;
    }
    if (got < 0) {
      result = cannot_read(path, errno, problem);
    }
  }
  close(file);
  if (result != 0) {
    free(*bytes);
    *bytes = NULL;
    return result;
  }
  (*bytes)[used] = '\0';
  *length = used;
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

int fettle_file_replace(const char *path, const char *bytes, size_t length,
                        fettle_problem *problem) {
  char temporary[FETTLE_PATH_MOST + 16];
  int written = snprintf(temporary, sizeof temporary, "%s.XXXXXX", path);
  if (written < 0 || (size_t)written >= sizeof temporary) {
    return fettle_problem_set(problem, EX_CANTCREAT, "output", "%s: the name is too long", path);
  }
  int file = mkstemp(temporary);
  if (file < 0) {
    return fettle_problem_set(problem, errno == EACCES ? EX_NOPERM : EX_CANTCREAT, "output",
                              "%s: cannot be written: %s", path, strerror(errno));
  }
  mode_t mask = umask(0);
  umask(mask);
  size_t used = 0;
  bool good = fchmod(file, 0666 & ~mask) == 0;
  while (good && used < length) {
    ssize_t step = write(file, bytes + used, length - used);
    if (step < 0 && errno != EINTR) {
      good = false;
    }
    used += step > 0 ? (size_t)step : 0;
  }
  good = good && fsync(file) == 0;
  int error = errno;
  if (close(file) != 0 && good) {
    good = false;
    error = errno;
  }
  if (good && rename(temporary, path) != 0) {
    good = false;
    error = errno;
  }
  if (!good) {
    unlink(temporary);
    return fettle_problem_set(problem, EX_IOERR, "output", "%s: cannot be written: %s", path,
                              strerror(error));
  }
  return 0;
}
