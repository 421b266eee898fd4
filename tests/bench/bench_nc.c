/* Reading of a real program of 22 034 lines, against finding its line ends alone in the same run.
 */
#define _POSIX_C_SOURCE 200809L

#include <time.h>

#include "support/nc.h"

static double seconds(void) {
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static int count(void *context, const fettle_nc_event *event) {
  double *length = ((nc_text *)context)->user;
  *length += event->length;
  return 0;
}

static size_t lines_alone(const char *bytes, size_t length) {
  size_t lines = 0;
  for (size_t i = 0; i < length; i++) {
    lines += bytes[i] == '\n';
  }
  return lines;
}

static int time_event(void *context, const fettle_nc_event *event) {
  fettle_nc_timer_add(((nc_text *)context)->user, event);
  return 0;
}

/* Reading and motion time together. */
static double timing_seconds(const char *bytes, size_t length, const fettle_nc_profile *profile) {
  static const fettle_host memory = {.allocate = nc_allocate};
  const fettle_nc_machine machine = {
      .speed_mm_s = {194, 194, 61}, .acceleration_mm_s2 = {303, 303, 336}, .corner_mm = 0.0089};
  fettle_nc_timer *timer;
  fettle_nc_times times;
  fettle_nc_summary summary;
  const double start = seconds();
  if (fettle_nc_timer_start(&machine, NULL, &memory, &timer, NULL) != FETTLE_OK ||
      nc_run(bytes, length, 0, profile, NULL, time_event, timer, &summary, NULL) != FETTLE_OK) {
    fprintf(stderr, "the program was not timed\n");
    exit(70);
  }
  fettle_nc_timer_finish(timer, &times);
  return seconds() - start;
}

int main(int argc, char **argv) {
  const int rounds = argc > 1 && strcmp(argv[1], "--quick") == 0 ? 5 : 40;
  const fettle_nc_profile profile = fettle_nc_profile_shop();
  size_t length;
  char *bytes = nc_load(FETTLE_TEST_DATA "/nc/nist-box-op1.nc", &length);
  double best = 1e9, plain = 1e9, timed = 1e9, path = 0.0;
  size_t lines = 0;
  for (int i = 0; i < rounds; i++) {
    fettle_nc_summary summary;
    double start = seconds();
    path = 0.0;
    if (nc_run(bytes, length, 0, &profile, NULL, count, &path, &summary, NULL) != FETTLE_OK ||
        summary.errors > 0) {
      fprintf(stderr, "the program was refused\n");
      return 70;
    }
    const double took = seconds() - start;
    best = took < best ? took : best;
    const double with_time = timing_seconds(bytes, length, &profile);
    timed = with_time < timed ? with_time : timed;
    start = seconds();
    lines = lines_alone(bytes, length);
    const double alone = seconds() - start;
    plain = alone < plain ? alone : plain;
  }
  printf("nc.read.rate\t%.2f\tmillion lines/s\tline ends alone\t%.4f\n",
         1e-6 * (double)lines / best, plain / best);
  printf("nc.read.time\t%.4f\ts\t0.06 s for this program\t%.4f\n", best, best / 0.06);
  printf("nc.time.time\t%.4f\ts\treading alone\t%.4f\n", timed, timed / best);
  free(bytes);
  return path > 0.0 ? 0 : 70;
}
