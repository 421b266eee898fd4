/* Runs every probe of tests/probes in a process of its own. */
#define _POSIX_C_SOURCE 200809L
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <lauxlib.h>

#include "lua/quantity.h"
#include "sandbox/box.h"
#include "sandbox/environment.h"
#include "sheet/trusted.h"
#include "support/near.h"

/* Twice the script's own limit and more: the machine may be slow, sanitizers are. */
enum { SECONDS_MOST = 20, PROBE_BYTES_MOST = 16384 };

typedef struct probe {
  char name[128], expected[128], text[PROBE_BYTES_MOST];
} probe;

static int prepare(lua_State *L) {
  fettle_environment_open(L);
  fettle_open_quantity(L, -2);
  return 1;
}

static int run(lua_State *L) {
  const char *text = lua_touserdata(L, 2);
  if (luaL_loadbufferx(L, text, strlen(text), "@probe.lua", "t") != LUA_OK) {
    return lua_error(L);
  }
  lua_pushvalue(L, 1);
  lua_setupvalue(L, -2, 1);
  lua_call(L, 0, 1);
  return 1;
}

/* Writes what happened: "ok", "budget", or "error: MESSAGE". */
static void attack(const char *text, char *out, size_t capacity) {
  /* Parts of the budgets: what they stop is the same, and the suite waits less. */
  fettle_box_limits limits = fettle_box_defaults;
  limits.steps /= 5;
  limits.cumulative_bytes /= 4;
  limits.seconds /= 2;
  fettle_box box;
  lua_State *L = fettle_box_open(&box, &limits);
  lua_pushcfunction(L, prepare);
  if (lua_pcall(L, 0, 1, 0) != LUA_OK) {
    snprintf(out, capacity, "error: setup: %s", lua_tostring(L, -1));
    return;
  }
  fettle_box_start(&box);
  lua_pushcfunction(L, run);
  lua_insert(L, 1);
  lua_pushlightuserdata(L, (void *)text);
  int status = fettle_box_call(&box, 2, 1);
  if (box.tripped) {
    char line[256];
    fettle_box_explain(&box, line, sizeof line);
    snprintf(out, capacity, "budget: %s", line);
  } else if (status == LUA_ERRMEM) {
    snprintf(out, capacity, "memory");
  } else if (status != LUA_OK) {
    snprintf(out, capacity, "error: %s", lua_tostring(L, -1));
  } else {
    lua_State *trusted = fettle_trusted_open();
    const char *failure = fettle_copy_value(L, -1, trusted);
    snprintf(out, capacity, "%s%s",
             failure                                                ? "error: "
             : lua_isnil(trusted, -1) || lua_toboolean(trusted, -1) ? "ok"
                                                                    : "false",
             failure ? failure : "");
    lua_close(trusted);
  }
  fettle_box_close(&box);
}

static bool as_expected(const probe *attacked, const char *got) {
  const char *expected = attacked->expected;
  if (strcmp(expected, "ok") == 0) {
    return strcmp(got, "ok") == 0;
  }
  if (strcmp(expected, "budget") == 0) {
    return strncmp(got, "budget", 6) == 0;
  }
  if (strcmp(expected, "memory") == 0) {
    return strcmp(got, "memory") == 0 || strncmp(got, "budget", 6) == 0;
  }
  return strncmp(got, "error: ", 7) == 0 && strstr(got, expected) != NULL;
}

/* Returns whether the probe ended as expected. */
static bool run_probe(const probe *attacked) {
  int ends[2];
  assert_int_equal(pipe(ends), 0);
  fflush(NULL);
  pid_t child = fork();
  if (child == 0) {
    close(ends[0]);
    struct rlimit limit = {SECONDS_MOST, SECONDS_MOST};
    setrlimit(RLIMIT_CPU, &limit);
    char got[512];
    attack(attacked->text, got, sizeof got);
    ssize_t written = write(ends[1], got, strlen(got) + 1);
    _exit(written > 0 ? 0 : 1);
  }
  close(ends[1]);
  char got[512] = "";
  size_t used = 0;
  for (ssize_t step = 1; step != 0 && used < sizeof got - 1;) {
    step = read(ends[0], got + used, sizeof got - 1 - used);
    if (step < 0 && errno != EINTR) {
      break;
    }
    used += step > 0 ? (size_t)step : 0;
  }
  close(ends[0]);
  int status;
  while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  bool good = WIFEXITED(status) && WEXITSTATUS(status) == 0 && as_expected(attacked, got);
  if (!good) {
    print_error("probe '%s': wanted '%s', got '%s' (wait status %d)\n", attacked->name,
                attacked->expected, got, status);
  }
  return good;
}

/* Two probes are longer than a person would write. */
static void expand(probe *attacked) {
  char *text = attacked->text;
  if (strncmp(text, "LOCALS", 6) == 0) {
    size_t used = 0;
    for (int i = 0; i < 250; i++) {
      used += (size_t)snprintf(text + used, PROBE_BYTES_MOST - used, "local v%d = 1\n", i);
    }
  } else if (strncmp(text, "BRACKETS", 8) == 0) {
    memcpy(text, "return ", 7);
    memset(text + 7, '(', 300);
    text[307] = '1';
    memset(text + 308, ')', 300);
    text[608] = '\0';
  }
}

static void every_probe_ends_as_expected(void **state) {
  (void)state;
  FILE *file = fopen(FETTLE_TEST_ROOT "/probes/sandbox.txt", "r");
  assert_non_null(file);
  probe *attacked = calloc(1, sizeof *attacked);
  assert_non_null(attacked);
  char line[1024];
  int count = 0, failed = 0;
  bool open = false;
  for (bool more = true; more;) {
    more = fgets(line, sizeof line, file) != NULL;
    if (open && (!more || strncmp(line, "== ", 3) == 0)) {
      expand(attacked);
      failed += !run_probe(attacked);
      count++;
      open = false;
    }
    if (!more) {
      break;
    }
    if (strncmp(line, "== ", 3) == 0) {
      char *arrow = strstr(line, " -> ");
      assert_non_null(arrow);
      snprintf(attacked->name, sizeof attacked->name, "%.*s", (int)(arrow - line - 3), line + 3);
      snprintf(attacked->expected, sizeof attacked->expected, "%.*s", (int)strcspn(arrow + 4, "\n"),
               arrow + 4);
      attacked->text[0] = '\0';
      open = true;
    } else if (open) {
      size_t used = strlen(attacked->text);
      snprintf(attacked->text + used, sizeof attacked->text - used, "%s", line);
    }
  }
  fclose(file);
  free(attacked);
  printf("sandbox probes: %d\n", count);
  assert_int_equal(failed, 0);
  assert_true(count >= 130);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(every_probe_ends_as_expected)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
