/* Start to first result: the whole process `fettle ask 1+1` against `lua5.4 -e 'print(1+1)'`, in
 * turns in one run, medians. */
#define _POSIX_C_SOURCE 200809L

#include <fcntl.h>
#include <spawn.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>

enum { REPEATS_MOST = 401 };

extern char **environ;

static double seconds(void) {
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static int by_value(const void *a, const void *b) {
  const double x = *(const double *)a;
  const double y = *(const double *)b;
  return (x > y) - (x < y);
}

static double median(double *values, size_t count) {
  qsort(values, count, sizeof *values, by_value);
  return values[count / 2];
}

/* Seconds from the start of the program to its end. */
static double run(const char *const *words, posix_spawn_file_actions_t *quiet) {
  pid_t child = 0;
  int status = 1;
  const double start = seconds();
  if (posix_spawnp(&child, words[0], quiet, NULL, (char *const *)(uintptr_t)words, environ) != 0 ||
      waitpid(child, &status, 0) != child || status != 0) {
    fprintf(stderr, "%s does not run\n", words[0]);
    exit(70);
  }
  return seconds() - start;
}

int main(int argc, char **argv) {
  const size_t repeats = argc > 1 && strcmp(argv[1], "--quick") == 0 ? 41 : REPEATS_MOST;
  const char *const programs[2][4] = {{"lua5.4", "-e", "print(1+1)", NULL},
                                      {FETTLE_PROGRAM, "ask", "1+1", NULL}};
  static double times[2][REPEATS_MOST];
  posix_spawn_file_actions_t quiet;
  if (posix_spawn_file_actions_init(&quiet) != 0 ||
      posix_spawn_file_actions_addopen(&quiet, 1, "/dev/null", O_WRONLY, 0) != 0) {
    return 70;
  }
  for (size_t i = 0; i < repeats; i++) {
    for (int which = 0; which < 2; which++) {
      times[which][i] = run(programs[which], &quiet);
    }
  }
  posix_spawn_file_actions_destroy(&quiet);
  const double own = median(times[1], repeats);
  printf("start_to_first_result\t%.3g\tms\tlua5.4\t%.3g\n", own * 1e3,
         own / median(times[0], repeats));
  return 0;
}
