/* Cost of quantities: operators in Lua against Lua's own numbers, text against strtod. The two
 * sides of a ratio are measured in turns in one run, and medians are taken. The loop around an
 * operator is included on both sides. */
#define _POSIX_C_SOURCE 200809L

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <lauxlib.h>
#include <lualib.h>

#include "lua/quantity.h"
#include "sandbox/box.h"

enum { REPEATS_MOST = 31 };

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

static void report(const char *name, double value, const char *baseline, double base) {
  printf("%s\t%.3g\tns\t%s\t%.3g\n", name, value, baseline, value / base);
}

/* Seconds of one call of the Lua function at `index` with `count`. */
static double call(lua_State *L, int index, lua_Integer count) {
  lua_pushvalue(L, index);
  lua_pushinteger(L, count);
  const double start = seconds();
  lua_call(L, 1, 0);
  return seconds() - start;
}

static void push_loop(lua_State *L, const char *setting, const char *body) {
  char chunk[256];
  snprintf(chunk, sizeof chunk,
           "return function(n) local a, b = %s; local c; for i = 1, n do %s end end", setting,
           body);
  if (luaL_dostring(L, chunk) != LUA_OK) {
    fprintf(stderr, "%s\n", lua_tostring(L, -1));
    exit(70);
  }
}

static void bench_operator(lua_State *L, const char *name, const char *baseline, const char *body,
                           size_t repeats, lua_Integer count) {
  double times[2][REPEATS_MOST];
  push_loop(L, "1.5, 2.5", body);
  push_loop(L, "20*thou, 3*mm", body);
  for (size_t i = 0; i < repeats; i++) {
    for (int which = 0; which < 2; which++) {
      times[which][i] = call(L, which - 2, count) / (double)count * 1e9;
    }
  }
  lua_pop(L, 2);
  report(name, median(times[1], repeats), baseline, median(times[0], repeats));
}

static volatile double sink;

static double read_with_strtod(const char *text, size_t length, long count) {
  (void)length;
  const double start = seconds();
  for (long i = 0; i < count; i++) {
    sink = strtod(text, NULL);
  }
  return seconds() - start;
}

static double read_as_quantity(const char *text, size_t length, long count) {
  fettle_quantity quantity = {0};
  fettle_diagnostic diagnostic;
  const double start = seconds();
  for (long i = 0; i < count; i++) {
    if (fettle_quantity_parse(text, length, FETTLE_ROLE_ANY, &quantity, &diagnostic) != FETTLE_OK) {
      exit(70);
    }
    sink = quantity.value;
  }
  return seconds() - start;
}

static void bench_text(const char *name, const char *text, const char *digits, size_t repeats,
                       long count) {
  double times[2][REPEATS_MOST];
  for (size_t i = 0; i < repeats; i++) {
    times[0][i] = read_with_strtod(digits, strlen(digits), count) / (double)count * 1e9;
    times[1][i] = read_as_quantity(text, strlen(text), count) / (double)count * 1e9;
  }
  char baseline[64];
  snprintf(baseline, sizeof baseline, "strtod of %s", digits);
  report(name, median(times[1], repeats), baseline, median(times[0], repeats));
}

int main(int argc, char **argv) {
  const int quick = argc > 1 && strcmp(argv[1], "--quick") == 0;
  const size_t repeats = quick ? 5 : REPEATS_MOST;
  const long count = quick ? 20000 : 200000;
  lua_State *L = luaL_newstate();
  if (!L) {
    return 70;
  }
  luaL_openlibs(L);
  lua_pushglobaltable(L);
  fettle_open_quantity(L, -1);
  lua_pop(L, 1);
  bench_operator(L, "quantity_add", "Lua add", "c = a + b", repeats, count);
  bench_operator(L, "quantity_multiply", "Lua multiply", "c = a * b", repeats, count);
  bench_operator(L, "quantity_compare", "Lua compare", "c = a < b", repeats, count);
  lua_close(L);

  /* The same where recipes run: pooled memory, but a count hook on both sides of the ratio. */
  fettle_box box;
  const fettle_box_limits endless = {.live_bytes = SIZE_MAX / 2,
                                     .cumulative_bytes = SIZE_MAX / 2,
                                     .steps = UINT64_MAX,
                                     .seconds = 1e9,
                                     .job_bytes = SIZE_MAX / 2,
                                     .job_seconds = 1e9};
  L = fettle_box_open(&box, &endless);
  if (!L) {
    return 70;
  }
  luaL_openlibs(L);
  lua_pushglobaltable(L);
  fettle_open_quantity(L, -1);
  lua_pop(L, 1);
  fettle_box_start(&box);
  bench_operator(L, "recipe_quantity_add", "Lua add", "c = a + b", repeats, count);
  bench_operator(L, "recipe_quantity_multiply", "Lua multiply", "c = a * b", repeats, count);
  fettle_box_close(&box);
  bench_text("text_to_quantity", "20.125 thou", "20.125", repeats, count);
  bench_text("text_fraction_to_quantity", "2 1/2 in", "2.5", repeats, count);
  bench_text("text_compound_to_quantity", "6.25 oz/yd^2", "6.25", repeats, count);
  return 0;
}
