/* fettle/host.h - all that a long job may ask of the world.
 *
 * The core opens no file, reads no clock and allocates nothing by itself. Long jobs (nesting, cure
 * histories, later mesh, audit and schedule) get one of these from the caller. */
#ifndef FETTLE_HOST_H
#define FETTLE_HOST_H

#include <stddef.h>

typedef struct fettle_host {
  void *context; /* borrowed; handed to every call below */

  /* As realloc with the old size given: block NULL allocates, new_size 0 frees and returns NULL.
   * Returns NULL when there is no memory (the old block then stays valid). Never NULL itself. */
  void *(*allocate)(void *context, void *block, size_t old_size, size_t new_size);

  /* The next bytes of the data being read; returns how many, 0 at the end, (size_t)-1 on failure.
   * NULL where the job reads nothing. */
  size_t (*read)(void *context, void *buffer, size_t capacity);

  /* Seconds from any fixed moment, never going back. NULL: no budget in seconds can be given. */
  double (*elapsed_seconds)(void *context);

  /* Runs task(argument, 0) .. task(argument, count - 1) in any order and returns when all are
   * done. NULL: the job does them one after the other. */
  void (*run_parallel)(void *context, void (*task)(void *argument, size_t index), void *argument,
                       size_t count);

  /* Says how far the job is (0 to 1, or below 0 when unknown) and in what stage; a non-zero answer
   * cancels. Called at least every few milliseconds of work. NULL: never cancelled. */
  int (*poll)(void *context, double fraction, const char *stage);
} fettle_host;

#endif
