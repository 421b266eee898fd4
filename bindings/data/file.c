/* data/file.c - whole files, in and out. */
/* open, mkstemp, realpath are POSIX, not C11. */
#define _XOPEN_SOURCE 700
#include "data/file.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sysexits.h>
#include <unistd.h>

#include "data/text.h"

enum { CHUNK = 1 << 16 };

static int fail(fettle_file_problem *problem, int exit_status, const char *path, const char *text) {
  char shown[200];
  problem->exit_status = exit_status;
  snprintf(problem->message, sizeof problem->message, "%s: %s",
           fettle_text_show(path, strlen(path), shown, sizeof shown), text);
  return exit_status;
}

static int fail_open(fettle_file_problem *problem, const char *path, int error) {
  switch (error) {
  case ENOENT:
    return fail(problem, EX_NOINPUT, path, "no such file: check the name and the folder");
  case ENOTDIR:
    return fail(problem, EX_NOINPUT, path,
                "a part of the path is a file, not a folder: check the path");
  case EACCES:
  case EPERM:
    return fail(problem, EX_NOPERM, path, "may not be read: give yourself permission to read it");
  case ELOOP:
    return fail(problem, EX_NOINPUT, path, "links lead in a circle: give the file itself");
  case ENAMETOOLONG:
    return fail(problem, EX_NOINPUT, path, "the name is too long: check it");
  default:
    return fail(problem, EX_IOERR, path, strerror(error));
  }
}

int fettle_file_read_open(int descriptor, const char *name, size_t limit, char **bytes,
                          size_t *length, fettle_file_problem *problem) {
  struct stat about;
  if (fstat(descriptor, &about) != 0) {
    return fail(problem, EX_IOERR, name, strerror(errno));
  }
  if (S_ISDIR(about.st_mode)) {
    return fail(problem, EX_DATAERR, name, "is a folder: give a file in it");
  }
  size_t used = 0, capacity = 0;
  char *block = NULL;
  bool known = S_ISREG(about.st_mode) && about.st_size > 0;
  size_t expected = known ? (size_t)about.st_size : CHUNK;
  while (used <= limit) {
    if (capacity - used < 2) {
      /* One byte more than expected tells the end of the file without a second block. */
      capacity = capacity == 0 ? (expected < limit ? expected : limit) + 2 : 2 * capacity;
      char *larger = realloc(block, capacity);
      if (!larger) {
        free(block);
        return fail(problem, EX_OSERR, name, "no memory left to read it: close other programs");
      }
      block = larger;
    }
    ssize_t got = read(descriptor, block + used, capacity - used - 1);
    if (got < 0 && errno == EINTR) {
      continue;
    }
    if (got < 0) {
      int error = errno;
      free(block);
      return fail(problem, EX_IOERR, name, strerror(error));
    }
    if (got == 0) {
      block[used] = '\0';
      *bytes = block;
      *length = used;
      return 0;
    }
    used += (size_t)got;
  }
  free(block);
  char text[120];
  snprintf(text, sizeof text, "is larger than the %zu bytes that are read here: make it smaller",
           limit);
  return fail(problem, EX_DATAERR, name, text);
}

int fettle_file_read(const char *path, size_t limit, char **bytes, size_t *length,
                     fettle_file_problem *problem) {
  /* Opening must not wait for the writer of a pipe; reading may wait for one that is there. */
  int descriptor = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK);
  if (descriptor < 0) {
    return fail_open(problem, path, errno);
  }
  if (fcntl(descriptor, F_SETFL, 0) != 0) {
    int error = errno;
    close(descriptor);
    return fail(problem, EX_IOERR, path, strerror(error));
  }
  int result = fettle_file_read_open(descriptor, path, limit, bytes, length, problem);
  close(descriptor);
  return result;
}

/* --- writing --- */

static int fail_create(fettle_file_problem *problem, const char *path, int error) {
  switch (error) {
  case EACCES:
  case EPERM:
  case EROFS:
    return fail(problem, EX_NOPERM, path,
                "may not be written: give yourself permission, or choose another folder");
  case ENOENT:
    return fail(problem, EX_CANTCREAT, path, "the folder does not exist: make it first");
  case ENOTDIR:
    return fail(problem, EX_CANTCREAT, path,
                "a part of the path is a file, not a folder: check the path");
  default:
    return fail(problem, EX_CANTCREAT, path, strerror(error));
  }
}

static int fail_write(fettle_file_problem *problem, const char *path, int error) {
  switch (error) {
  case ENOSPC:
    return fail(problem, EX_IOERR, path, "no space left: free some, or choose another disk");
  case EFBIG:
    return fail(problem, EX_IOERR, path, "larger than a file may be here: raise the limit");
  case EPIPE:
    return fail(problem, EX_IOERR, path, "the reader has gone away: nothing more is written");
  default:
    return fail(problem, EX_IOERR, path, strerror(error));
  }
}

/* Returns 0 or errno. */
static int write_all(int descriptor, const char *bytes, size_t length) {
  while (length > 0) {
    ssize_t put = write(descriptor, bytes, length < INT_MAX ? length : INT_MAX);
    if (put < 0 && errno == EINTR) {
      continue;
    }
    if (put < 0) {
      return errno;
    }
    bytes += put;
    length -= (size_t)put;
  }
  return 0;
}

/* Devices and pipes: there is no old content to keep. */
static int write_straight(const char *path, const char *bytes, size_t length,
                          fettle_file_problem *problem) {
  int descriptor = open(path, O_WRONLY | O_CLOEXEC | O_NOCTTY);
  if (descriptor < 0) {
    return fail_create(problem, path, errno);
  }
  int error = write_all(descriptor, bytes, length);
  if (close(descriptor) != 0 && error == 0) {
    error = errno;
  }
  return error ? fail_write(problem, path, error) : 0;
}

static int write_beside(const char *path, mode_t mode, const char *bytes, size_t length,
                        fettle_file_problem *problem) {
  size_t size = strlen(path) + sizeof ".XXXXXX";
  char *beside = malloc(size);
  if (!beside) {
    return fail(problem, EX_OSERR, path, "no memory left to write it: close other programs");
  }
  snprintf(beside, size, "%s.XXXXXX", path);
  int descriptor = mkstemp(beside);
  if (descriptor < 0) {
    int result = fail_create(problem, path, errno);
    free(beside);
    return result;
  }
  int error = write_all(descriptor, bytes, length);
  if (error == 0 && (fchmod(descriptor, mode) != 0 || fsync(descriptor) != 0)) {
    error = errno;
  }
  if (close(descriptor) != 0 && error == 0) {
    error = errno;
  }
  int result = error ? fail_write(problem, path, error) : 0;
  if (result == 0 && rename(beside, path) != 0) {
    result = fail_create(problem, path, errno);
  }
  if (result != 0) {
    unlink(beside);
  }
  free(beside);
  return result;
}

int fettle_file_write(const char *path, const char *bytes, size_t length,
                      fettle_file_problem *problem) {
  if (strcmp(path, "-") == 0) {
    /* What the program printed before stands before. */
    int error = fflush(stdout) != 0 ? errno : write_all(STDOUT_FILENO, bytes, length);
    return error ? fail_write(problem, "standard output", error) : 0;
  }
  struct stat about;
  if (path[0] == '\0') {
    return fail(problem, EX_CANTCREAT, "(empty)", "no file name: give one");
  }
  if (stat(path, &about) != 0) {
    if (errno != ENOENT) {
      return fail_create(problem, path, errno);
    }
    if (lstat(path, &about) == 0) {
      return fail(problem, EX_CANTCREAT, path, "a link to nowhere: remove it");
    }
    mode_t mask = umask(0);
    umask(mask);
    return write_beside(path, 0666 & ~mask, bytes, length, problem);
  }
  if (S_ISDIR(about.st_mode)) {
    return fail(problem, EX_CANTCREAT, path, "is a folder: give a file in it");
  }
  if (!S_ISREG(about.st_mode)) {
    return write_straight(path, bytes, length, problem);
  }
  if (access(path, W_OK) != 0) {
    return fail_create(problem, path, errno);
  }
  char *real = realpath(path, NULL);
  if (!real) {
    return fail_create(problem, path, errno);
  }
  int result = write_beside(real, about.st_mode & 07777, bytes, length, problem);
  free(real);
  return result;
}
