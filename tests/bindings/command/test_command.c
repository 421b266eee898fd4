/* The program from outside: what it prints, where, its exit status, and what it leaves behind. */
#define _XOPEN_SOURCE 700

#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <sysexits.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>
#include <jansson.h>

#include "command/options.h"
#include "support/near.h"

#define RECIPES FETTLE_TEST_DATA "/recipes/"
#define SOURCE_SCALLOP                                                                             \
  "a second method: h = s^2/(8 R) (1 + s^2/(16 R^2)) of the series of the circle"

enum { TEXT_MOST = 1 << 18, WORDS_MOST = 12, PATIENCE_MS = 30000 };

static char folder[] = "/tmp/fettle-command-XXXXXX";

typedef struct outcome {
  int status; /* exit status, or 128 + signal */
  char out[TEXT_MOST], error[TEXT_MOST];
} outcome;

static outcome got;

/* The path of `name` in the folder of this run; stays valid. */
static const char *in_folder(const char *name) {
  static char paths[32][64];
  char path[64];
  snprintf(path, sizeof path, "%s/%s", folder, name);
  size_t i = 0;
  while (paths[i][0] && strcmp(paths[i], path) != 0) {
    i++;
    assert_true(i < 32);
  }
  memcpy(paths[i], path, sizeof path);
  return paths[i];
}

static void put_file(const char *path, const char *bytes, size_t length) {
  FILE *file = fopen(path, "wb");
  assert_non_null(file);
  assert_int_equal(fwrite(bytes, 1, length, file), length);
  assert_int_equal(fclose(file), 0);
}

static void read_file(const char *path, char *text) {
  text[0] = '\0';
  FILE *file = fopen(path, "rb");
  assert_non_null(file);
  size_t length = fread(text, 1, TEXT_MOST - 1, file);
  text[length] = '\0';
  fclose(file);
}

static int wait_for(pid_t child) {
  int status = 0;
  struct timespec moment = {.tv_nsec = 5000000};
  for (int waited = 0; waitpid(child, &status, WNOHANG) == 0; waited += 5) {
    if (waited > PATIENCE_MS) {
      kill(child, SIGKILL);
      waitpid(child, &status, 0);
      fail_msg("the program did not end");
    }
    nanosleep(&moment, NULL);
  }
  return WIFSIGNALED(status) ? 128 + WTERMSIG(status) : WEXITSTATUS(status);
}

/* Starts the program with `words`, which end with NULL. */
static pid_t start(const char *input, const char *out, const char *const *words) {
  pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    const char *list[WORDS_MOST + 2] = {FETTLE_PROGRAM};
    for (size_t i = 0; words[i] && i < WORDS_MOST; i++) {
      list[i + 1] = words[i];
    }
    int from = open(input, O_RDONLY);
    int to = open(out, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    int error = open(in_folder("stderr"), O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (from >= 0 && to >= 0 && error >= 0 && dup2(from, 0) == 0 && dup2(to, 1) == 1 &&
        dup2(error, 2) == 2) {
      execv(FETTLE_PROGRAM, (char *const *)(uintptr_t)list);
    }
    _exit(127);
  }
  return child;
}

static void run_words(const char *input, const char *out, const char *const *words) {
  char path[256];
  snprintf(path, sizeof path, "%s", out ? out : in_folder("stdout"));
  got.status = wait_for(start(input ? input : "/dev/null", path, words));
  read_file(in_folder("stderr"), got.error);
  got.out[0] = '\0';
  if (!out) {
    read_file(path, got.out);
  }
}

#define RUN(...) run_words(NULL, NULL, (const char *const[]){__VA_ARGS__, NULL})

static void assert_has(const char *text, const char *part) {
  if (!strstr(text, part)) {
    fail_msg("\"%s\" is not in \"%s\"", part, text);
  }
}

/* One clear line on standard error, nothing on standard output. */
static void assert_refused(int status, const char *part) {
  assert_int_equal(got.status, status);
  assert_has(got.error, part);
  assert_string_equal(got.out, "");
  const char *end = strchr(got.error, '\n');
  assert_non_null(end);
  assert_string_equal(end, "\n");
  assert_true(strncmp(got.error, "fettle: ", 8) == 0);
}

static void ask_answers_an_expression(void **state) {
  (void)state;
  RUN("ask", "milling.scallop_height{cutter_diameter = 1/2*inch, stepover = 30*thou}");
  assert_int_equal(got.status, 0);
  assert_has(got.out, "= 0.4504");
  assert_has(got.out, "values put in: R = 0.5 in / 2");
  assert_has(got.out, "source: ");
  assert_has(got.out,
             "\nagain: fettle ask 'milling.scallop_height{cutter_diameter = 1/2*inch, stepover = "
             "30*thou}'\n");
  assert_string_equal(got.error, "");
}

static void ask_takes_plain_words(void **state) {
  (void)state;
  RUN("ask", "--json", "milling.scallop_height", "cutter_diameter=1/2in", "stepover=30thou");
  assert_int_equal(got.status, 0);
  json_t *answer = json_loads(got.out, JSON_REJECT_DUPLICATES, NULL);
  json_t *value = json_object_get(answer, "value");
  const double c = 15 * 25.4e-6, R = 0.00635;
  const double height = c * c / (R + sqrt(R * R - c * c));
  assert_near(json_number_value(json_object_get(value, "si")), height, 1e-17, SOURCE_SCALLOP);
  assert_near(json_number_value(json_object_get(value, "value")), height / 25.4e-6, 1e-12,
              SOURCE_SCALLOP);
  assert_string_equal(json_string_value(json_object_get(value, "unit")), "thou");
  assert_string_equal(json_string_value(json_object_get(value, "si_unit")), "m");
  assert_string_equal(json_string_value(json_object_get(answer, "again")),
                      "fettle ask milling.scallop_height cutter_diameter=1/2in stepover=30thou");
  json_decref(answer);
  RUN("ask", "milling.scallop_height", "cutter_diameter=1/2", "in", "stepover=30", "thou");
  assert_int_equal(got.status, 0);
  assert_has(got.out, "= 0.4504");
}

static void ask_reads_all_kinds_of_values(void **state) {
  (void)state;
  static const char *const cases[][2] = {
      {"62 degF", "= 62 degF (16.6667 degC)"}, /* (62 - 32) / 1.8 */
      {"degF(62)", "= 62 degF (16.6667 degC)"},
      {"2 1/2 in", "= 2.5 in (63.5 mm)"},
      {"10 %", "= 0.1"},
      {"12", "= 12"},
      {"q\"12.50 USD\" * 3", "= 37.5 USD"},
      {"1+1", "= 2"},
      {"20*thou + 1/2*inch", "= 520 thou (13.208 mm)"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    RUN("ask", cases[i][0]);
    assert_int_equal(got.status, 0);
    assert_has(got.out, cases[i][1]);
  }
}

static void ask_refuses_in_one_line(void **state) {
  (void)state;
  RUN("ask", "milling.scallop_height", "cutter_diameter=1/2in");
  assert_refused(EX_USAGE, "missing stepover (");
  assert_has(got.error, "usually");
  RUN("ask", "milling.scallop_height", "cutter_diameter=14", "stepover=1mm");
  assert_refused(EX_USAGE, "14 what? in, thou, mm");
  RUN("ask", "milling.scallop_height", "diameter=14mm");
  assert_refused(EX_USAGE, "has no 'diameter'");
  RUN("ask", "milling.scallop_height", "stepover=1mm", "stepover=2mm");
  assert_refused(EX_USAGE, "given twice");
  RUN("ask", "milling.scallop_height", "stepover=1lb");
  assert_refused(EX_USAGE, "does not fit");
  RUN("ask", "milling.cutting_power", "drive_efficiency=80");
  assert_refused(EX_USAGE, "80 what? write 80 %");
  RUN("ask", "milling.no_such_thing", "stepover=1mm");
  assert_refused(EX_USAGE, "no calculation is named 'milling.no_such_thing'");
  RUN("ask", "milling.scallop_height", "cutter_diameter=6mm", "stepover=7mm");
  assert_refused(EX_DATAERR, "must not be above");
  RUN("ask", "0/0");
  assert_refused(EX_DATAERR, "not a finite number");
  RUN("ask", "1e308*10");
  assert_refused(EX_DATAERR, "not a finite number");
  RUN("ask", "foo + 1");
  assert_refused(EX_DATAERR, "unknown name 'foo'");
  RUN("ask", "1 +");
  assert_refused(EX_DATAERR, "<eof>");
  RUN("ask", "while true do end");
  assert_refused(EX_DATAERR, "budget");
  RUN("ask");
  assert_refused(EX_USAGE, "ask what?");
}

static void errors_are_json_too(void **state) {
  (void)state;
  static const struct {
    const char *const words[5];
    const char *code;
    int status;
  } cases[] = {
      {{"ask", "--json", "0/0"}, "not finite", EX_DATAERR},
      {{"ask", "--json", "milling.scallop_height{}"}, "argument", EX_DATAERR},
      {{"run", "--json", RECIPES "absent.lua"}, "missing file", EX_NOINPUT},
      {{"run", "--sheet", "json", RECIPES "absent.lua"}, "missing file", EX_NOINPUT},
      {{"run", "--json", RECIPES "endless.lua"}, "budget", EX_DATAERR},
      {{"run", "--json", "--bogus"}, "usage", EX_USAGE},
      {{"show", "--json", "nothing_like_it"}, "unknown", EX_NOINPUT},
  };
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    run_words(NULL, NULL, cases[i].words);
    assert_int_equal(got.status, cases[i].status);
    assert_string_equal(got.error, "");
    json_t *answer = json_loads(got.out, JSON_REJECT_DUPLICATES, NULL);
    assert_true(json_is_false(json_object_get(answer, "ok")));
    json_t *error = json_object_get(answer, "error");
    assert_string_equal(json_string_value(json_object_get(error, "code")), cases[i].code);
    assert_int_equal(json_integer_value(json_object_get(error, "exit_status")), cases[i].status);
    assert_true(json_string_length(json_object_get(error, "message")) > 5);
    json_decref(answer);
  }
}

static void run_writes_each_form(void **state) {
  (void)state;
  RUN("run", RECIPES "plug.lua");
  assert_int_equal(got.status, 0);
  assert_has(got.out, "scallop = 0.4504 thou");
  static const char *const forms[][3] = {{"sheet.html", "<!DOCTYPE html>", "html"},
                                         {"sheet.md", "# ", "md"},
                                         {"sheet.json", "{", "json"},
                                         {"sheet.txt", "TEST PLUG", "text"}};
  static char first[TEXT_MOST], second[TEXT_MOST];
  for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
    const char *path = in_folder(forms[i][0]);
    RUN("run", RECIPES "plug.lua", "-o", path);
    assert_int_equal(got.status, 0);
    assert_string_equal(got.out, "");
    read_file(path, first);
    assert_has(first, forms[i][1]);
    /* The form named is the form that the ending means, byte for byte on every run. */
    RUN("run", "--sheet", forms[i][2], RECIPES "plug.lua");
    assert_string_equal(got.out, first);
    RUN("run", "--sheet", forms[i][2], RECIPES "plug.lua", "--output", in_folder("sheet.other"));
    read_file(in_folder("sheet.other"), second);
    assert_string_equal(second, first);
  }
  RUN("run", "--sheet", "pdf", RECIPES "plug.lua");
  assert_refused(EX_USAGE, "--sheet pdf: must be one of");
}

static void run_takes_settings_and_verdicts(void **state) {
  (void)state;
  RUN("run", RECIPES "plug.lua", "--set", "stepover=190thou");
  assert_int_equal(got.status, FETTLE_EXIT_CHECK);
  assert_has(got.out, "STOP"); /* the sheet is written all the same */
  RUN("run", RECIPES "plug.lua", "--set", "stepover=6thou");
  assert_int_equal(got.status, 0);
  RUN("run", RECIPES "plug.lua", "--set", "stepover=6thou", "--strict");
  assert_int_equal(got.status, FETTLE_EXIT_CHECK);
  RUN("run", RECIPES "plug.lua", "--set", "stepover=6");
  assert_refused(EX_DATAERR, "6 what?");
  RUN("run", RECIPES "plug.lua", "--set", "stepover=1in");
  assert_refused(EX_DATAERR, "200 thou");
  RUN("run", RECIPES "plug.lua", "--set", "stepovr=1in");
  assert_int_not_equal(got.status, 0);
  assert_has(got.error, "stepovr");
  RUN("run", RECIPES "plug.lua", "--set", "stepover");
  assert_refused(EX_USAGE, "NAME=VALUE");
  RUN("run", RECIPES "plug.lua", "--effort", "0");
  assert_refused(EX_USAGE, "--effort 0");
  RUN("run", RECIPES "plug.lua", "--effort", "1000");
  assert_int_equal(got.status, 0);
}

static void run_refuses_bad_recipes(void **state) {
  (void)state;
  static const struct {
    const char *recipe, *part;
    int status;
  } cases[] = {{"endless.lua", "endless.lua:2: ", EX_DATAERR},
               {"long_text.lua", "long_text.lua:2: ", EX_DATAERR},
               {"wrong_dimension.lua", "must be length", EX_DATAERR},
               {"not_a_number.lua", "not a finite number", EX_DATAERR},
               {"syntax.lua", "syntax.lua:2: ", EX_DATAERR},
               {"broken_data.lua", "broken.yaml:3:2: ", EX_DATAERR},
               {"wrong_data.lua", "wrong.yaml:1:1: ", EX_CONFIG},
               {"absent.lua", "no such file", EX_NOINPUT}};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    char path[512];
    snprintf(path, sizeof path, "%s%s", RECIPES, cases[i].recipe);
    const char *sheet = in_folder("refused.txt");
    RUN("run", path, "-o", sheet);
    assert_refused(cases[i].status, cases[i].part);
    assert_int_equal(access(sheet, F_OK), -1);
  }
}

static void run_refuses_what_is_no_text(void **state) {
  (void)state;
  static const struct {
    const char *bytes;
    size_t length;
  } cases[] = {
      {"\x1bLua\x54\x00\x19\x93\r\n\x1a\n", 12}, /* compiled Lua */
      {"recipe{name = \"a\0b\"}\n", 20},
      {"\xff\xfer\0e\0c\0", 8}, /* UTF-16 */
      {"\xfe\xff\0r\0e\0c", 8},
      {"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", 16},
      {"note \"\xc3\x28\"\n", 10}, /* broken UTF-8 */
  };
  const char *recipe = in_folder("strange.lua");
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    put_file(recipe, cases[i].bytes, cases[i].length);
    RUN("run", recipe);
    assert_refused(EX_DATAERR, "strange.lua");
  }
  RUN("run", folder);
  assert_refused(EX_DATAERR, "folder");
  RUN("run", RECIPES "plug.lua/below.lua");
  assert_refused(EX_NOINPUT, "not a folder");
}

static void output_is_whole_or_an_error(void **state) {
  (void)state;
  const char *plain = in_folder("plain");
  put_file(plain, "old", 3);
  char below[300];
  snprintf(below, sizeof below, "%s/sheet.txt", plain);
  RUN("run", RECIPES "plug.lua", "-o", below);
  assert_refused(EX_CANTCREAT, "not a folder");
  RUN("run", RECIPES "plug.lua", "-o", in_folder("nowhere/sheet.txt"));
  assert_refused(EX_CANTCREAT, "folder does not exist");
  RUN("run", RECIPES "plug.lua", "-o", folder);
  assert_refused(EX_CANTCREAT, "is a folder");
  RUN("run", RECIPES "plug.lua", "-o", "/dev/full");
  assert_refused(EX_IOERR, "no space left");

  static const char *const full[][3] = {{"run", RECIPES "plug.lua"},
                                        {"ask", "1+1"},
                                        {"ask", "--json", "0/0"},
                                        {"show"},
                                        {"--help"},
                                        {"--version"}};
  for (size_t i = 0; i < sizeof full / sizeof *full; i++) {
    const char *words[4] = {full[i][0], full[i][1], full[i][2], NULL};
    run_words(NULL, "/dev/full", words);
    assert_int_equal(got.status, EX_IOERR);
    assert_has(got.error, "fettle: standard output");
  }

  /* A file-size limit stops the write half way: the old sheet stays, and nothing beside it. */
  struct rlimit before, small = {.rlim_cur = 512, .rlim_max = RLIM_INFINITY};
  assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
  small.rlim_max = before.rlim_max;
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
  signal(SIGXFSZ, SIG_IGN);
  RUN("run", RECIPES "plug.lua", "-o", plain);
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
  signal(SIGXFSZ, SIG_DFL);
  assert_int_equal(got.status, EX_IOERR);
  static char text[TEXT_MOST];
  read_file(plain, text);
  assert_string_equal(text, "old");
  char command[300];
  snprintf(command, sizeof command, "test \"$(ls %s | grep -c plain)\" = 1", folder);
  assert_int_equal(system(command), 0); /* NOLINT(cert-env33-c): a name of our own */
}

static void an_interrupt_leaves_nothing(void **state) {
  (void)state;
  const char *sheet = in_folder("interrupted.txt");
  char out[256];
  snprintf(out, sizeof out, "%s", in_folder("stdout"));
  pid_t child = start("/dev/null", out,
                      (const char *const[]){"run", RECIPES "endless.lua", "-o", sheet, NULL});
  struct timespec moment = {.tv_nsec = 150000000};
  nanosleep(&moment, NULL);
  kill(child, SIGINT);
  assert_int_equal(wait_for(child), 128 + SIGINT);
  assert_int_equal(access(sheet, F_OK), -1);
}

static void show_lists_searches_and_loads(void **state) {
  (void)state;
  RUN("show");
  assert_int_equal(got.status, 0);
  assert_has(got.out, "milling.scallop_height ");
  RUN("show", "milling.scallop_height");
  assert_has(got.out, "Example\n");
  RUN("show", "ridge", "ball");
  assert_has(got.out, "milling.scallop_height ");
  RUN("show", "--json", "milling.scallop_height");
  json_t *entry = json_loads(got.out, JSON_REJECT_DUPLICATES, NULL);
  assert_string_equal(json_string_value(json_object_get(entry, "name")), "milling.scallop_height");
  json_decref(entry);
  RUN("show", "milling.scallop_heigt");
  assert_refused(EX_NOINPUT, "the nearest name is milling.scallop_height");
  RUN("show", "--with", RECIPES "own.lua", "shop.skim_time");
  assert_int_equal(got.status, 0);
  assert_has(got.out, "shop rule");
  RUN("ask", "--with", RECIPES "own.lua", "shop.skim_time", "area=20ft^2", "rate=4ft^2/min");
  assert_int_equal(got.status, 0);
  assert_has(got.out, "= 5 min");
  assert_has(got.out, "again: fettle ask --with ");
  RUN("show", "--with", RECIPES "absent.lua");
  assert_int_equal(got.status, EX_NOINPUT);
}

static void verify_records_and_compares(void **state) {
  (void)state;
  static char text[TEXT_MOST];
  read_file(RECIPES "plug.lua", text);
  const char *recipe = in_folder("job/plug.lua");
  assert_int_equal(mkdir(in_folder("job"), 0700), 0);
  put_file(recipe, text, strlen(text));
  RUN("verify", recipe);
  assert_refused(EX_NOINPUT, "nothing is recorded");
  RUN("verify", in_folder("job"));
  assert_refused(EX_NOINPUT, "no recipe below it has a record");
  RUN("verify", "--record", recipe);
  assert_int_equal(got.status, 0);
  assert_has(got.out, "recorded");
  RUN("verify", in_folder("job"));
  assert_int_equal(got.status, 0);
  assert_has(got.out, "hold");
  char *half = strstr(text, "1/2 in");
  assert_non_null(half);
  half[2] = '4';
  put_file(recipe, text, strlen(text));
  RUN("verify", folder);
  assert_int_equal(got.status, FETTLE_EXIT_CHECK);
  assert_has(got.out, "scallop: changed, recorded ");
  RUN("verify");
  assert_refused(EX_USAGE, "verify what?");
}

static void the_prompt_works_over_a_pipe(void **state) {
  (void)state;
  const char *lines = in_folder("lines");
  static const char good[] = "20*thou\n_*2\n\nx = {\n  3,\n  4}\nx[2]\n62 degF\n?scallop cusp\n"
                             "milling.scallop_height cutter_diameter=1/2in stepover=30thou\n";
  put_file(lines, good, sizeof good - 1);
  run_words(lines, NULL, (const char *const[]){NULL});
  assert_int_equal(got.status, 0);
  assert_true(strncmp(got.out, "= 20 thou (0.508 mm)\n= 40 thou (1.016 mm)\n= 4\n= 62 degF", 52) ==
              0);
  assert_has(got.out, "= 0.4504");
  static const char bad[] = "foo\n1+1\n";
  put_file(lines, bad, sizeof bad - 1);
  run_words(lines, NULL, (const char *const[]){NULL});
  assert_int_equal(got.status, EX_DATAERR);
  assert_string_equal(got.out, "= 2\n");
  static const char cut[] = "x = {";
  put_file(lines, cut, sizeof cut - 1);
  run_words(lines, NULL, (const char *const[]){NULL});
  assert_refused(EX_DATAERR, "ends in the middle");
}

/* --- at a terminal --- */

typedef struct terminal {
  int descriptor;
  pid_t child;
  size_t length;
  char text[TEXT_MOST];
} terminal;

static terminal screen;

static void open_terminal(const char *const *words) {
  screen.length = 0;
  screen.text[0] = '\0';
  screen.descriptor = posix_openpt(O_RDWR | O_NOCTTY);
  assert_true(screen.descriptor >= 0);
  assert_int_equal(grantpt(screen.descriptor), 0);
  assert_int_equal(unlockpt(screen.descriptor), 0);
  const char *name = ptsname(screen.descriptor);
  assert_non_null(name);
  screen.child = fork();
  assert_true(screen.child >= 0);
  if (screen.child == 0) {
    const char *list[WORDS_MOST + 2] = {FETTLE_PROGRAM};
    for (size_t i = 0; words[i] && i < WORDS_MOST; i++) {
      list[i + 1] = words[i];
    }
    setsid();
    int side = open(name, O_RDWR);
    if (side >= 0 && ioctl(side, TIOCSCTTY, 0) == 0 && dup2(side, 0) == 0 && dup2(side, 1) == 1 &&
        dup2(side, 2) == 2) {
      setenv("XDG_STATE_HOME", folder, 1);
      setenv("TERM", "dumb", 1);
      execv(FETTLE_PROGRAM, (char *const *)(uintptr_t)list);
    }
    _exit(127);
  }
}

/* Reads until `part` stands on the screen after the place that *from says; moves it behind. */
static void expect(const char *part, size_t *from) {
  for (;;) {
    const char *found = strstr(screen.text + *from, part);
    if (found) {
      *from = (size_t)(found - screen.text) + strlen(part);
      return;
    }
    struct pollfd ready = {.fd = screen.descriptor, .events = POLLIN};
    ssize_t count = -1;
    if (poll(&ready, 1, PATIENCE_MS) > 0) {
      count = read(screen.descriptor, screen.text + screen.length, TEXT_MOST - 1 - screen.length);
    }
    if (count <= 0) {
      kill(screen.child, SIGKILL);
      waitpid(screen.child, NULL, 0);
      fail_msg("\"%s\" does not come after \"%s\"", part, screen.text + *from);
      return;
    }
    screen.length += (size_t)count;
    screen.text[screen.length] = '\0';
  }
}

static void type(const char *text) {
  if ((unsigned char)text[0] < ' ' && text[0] != '\n') {
    /* Between writing its prompt and waiting for a key the program changes the terminal's mode: no
     * person presses a control key that soon. */
    struct timespec moment = {.tv_nsec = 200000000};
    nanosleep(&moment, NULL);
  }
  assert_int_equal(write(screen.descriptor, text, strlen(text)), strlen(text));
}

static int close_terminal(void) {
  /* What is still printed has to be read, or the program waits for the terminal. */
  char rest[4096];
  struct pollfd ready = {.fd = screen.descriptor, .events = POLLIN};
  while (poll(&ready, 1, PATIENCE_MS) > 0 && read(screen.descriptor, rest, sizeof rest) > 0) {
  }
  int status = wait_for(screen.child);
  close(screen.descriptor);
  return status;
}

static void ask_asks_a_person(void **state) {
  (void)state;
  size_t at = 0;
  open_terminal((const char *const[]){"ask", "milling.scallop_height", NULL});
  expect("cutter_diameter (diameter of the cutter; in or mm; usually ", &at);
  expect("): ", &at);
  type("14\n");
  expect("14 what? in, thou, mm", &at);
  expect("): ", &at);
  type("14 mm\n");
  expect("stepover (", &at);
  expect("): ", &at);
  type("30 lb\n");
  expect("30 lb: does not fit; give it in in, thou, mm", &at);
  expect("): ", &at);
  type("\n");
  expect("a value is needed", &at);
  expect("): ", &at);
  type("1mm\n");
  expect("= 0.01788 mm", &at);
  expect("again: fettle ask milling.scallop_height 'cutter_diameter=14 mm' stepover=1mm\r\n", &at);
  assert_int_equal(close_terminal(), 0);

  at = 0;
  open_terminal((const char *const[]){"ask", "milling.scallop_height", NULL});
  expect("): ", &at);
  type("\x04");
  expect("missing cutter_diameter", &at);
  assert_int_equal(close_terminal(), EX_USAGE);

  at = 0;
  open_terminal((const char *const[]){"ask", "milling.scallop_height", NULL});
  expect("): ", &at);
  type("\x03");
  assert_int_equal(close_terminal(), 128 + SIGINT);
}

static void the_prompt_serves_a_person(void **state) {
  (void)state;
  size_t at = 0;
  open_terminal((const char *const[]){NULL});
  expect("fettle> ", &at);
  type("1+1\n");
  expect("= 2", &at);
  expect("fettle> ", &at);
  type("y = {\n");
  expect("...> ", &at);
  type("7}\n");
  expect("fettle> ", &at);
  type("y[1]\n");
  expect("= 7", &at);
  expect("fettle> ", &at);
  type("milling.scallop_height{cutter_dia\t");
  expect("meter = ", &at);
  type("1/2*inch, stepover = 30*thou}\n");
  expect("= 0.4504", &at);
  expect("fettle> ", &at);
  type("while true do end\n");
  expect("end", &at);
  struct timespec moment = {.tv_nsec = 100000000};
  nanosleep(&moment, NULL);
  type("\x03");
  expect("interrupted", &at);
  expect("fettle> ", &at);
  type("?scallop\n");
  expect("milling.scallop_height", &at);
  expect("fettle> ", &at);
  type("half a li");
  expect("li", &at);
  type("\x03");
  expect("fettle> ", &at);
  type("2+3\n");
  expect("= 5", &at);
  expect("fettle> ", &at);
  type("\x04");
  assert_int_equal(close_terminal(), 0);

  struct stat about;
  assert_int_equal(stat(in_folder("fettle/history"), &about), 0);
  assert_int_equal(about.st_mode & 07777, 0600);
  assert_int_equal(stat(in_folder("fettle"), &about), 0);
  assert_int_equal(about.st_mode & 07777, 0700);

  /* The next prompt knows the lines of this one. */
  at = 0;
  open_terminal((const char *const[]){NULL});
  expect("fettle> ", &at);
  type("\x10"); /* Ctrl-P: the line before */
  expect("2+3", &at);
  type("\n");
  expect("= 5", &at);
  expect("fettle> ", &at);
  type("\x03");
  expect("fettle> ", &at);
  type("\x03");
  assert_int_equal(close_terminal(), 128 + SIGINT);
}

/* --- the table of options --- */

static void every_option_is_documented(void **state) {
  (void)state;
  const char *before = "";
  for (const fettle_option_row *row = fettle_option_rows; row->name; row++) {
    assert_true(strcmp(before, row->name) < 0);
    before = row->name;
    assert_true(strlen(row->help) > 8);
    assert_true(row->commands != 0);
    for (const fettle_option_row *other = fettle_option_rows; other < row; other++) {
      assert_true(row->letter == 0 || row->letter != other->letter);
    }
  }
  for (const fettle_command_row *command = fettle_command_rows; command->name; command++) {
    if (command->name[0]) {
      RUN(command->name, "--help");
    } else {
      RUN("--help");
    }
    assert_int_equal(got.status, 0);
    assert_string_equal(got.error, "");
    assert_has(got.out, command->brief);
    assert_has(got.out, "exit status");
    for (const fettle_option_row *row = fettle_option_rows; row->name; row++) {
      char option[40];
      snprintf(option, sizeof option, "--%s ", row->name);
      bool shown = strstr(got.out, option) != NULL;
      /* The help of the whole program lists all. */
      assert_int_equal(shown, command->command == FETTLE_COMMAND_REPL ||
                                  (row->commands & command->command) != 0);
      if (!(row->commands & command->command)) {
        snprintf(option, sizeof option, "--%s", row->name);
        outcome help = got;
        if (command->name[0]) {
          RUN(command->name, option);
        } else {
          RUN(option);
        }
        assert_int_equal(got.status, EX_USAGE);
        got = help;
      }
    }
  }
  RUN("--help");
  for (const fettle_command_row *command = fettle_command_rows; command->name; command++) {
    assert_has(got.out, command->brief);
  }
  RUN("--version");
  assert_int_equal(got.status, 0);
  assert_has(got.out, "results revision");
  RUN("polish");
  assert_refused(EX_USAGE, "'polish' is no command");
  RUN("ask", "--", "-1+2");
  assert_int_equal(got.status, 0);
  assert_has(got.out, "= 1\n");
}

static int make_folder(void **state) {
  (void)state;
  return mkdtemp(folder) ? 0 : -1;
}

static int remove_folder(void **state) {
  (void)state;
  char command[80];
  snprintf(command, sizeof command, "rm -rf %s", folder);
  return system(command); /* NOLINT(cert-env33-c): a name of our own */
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(ask_answers_an_expression),
      cmocka_unit_test(ask_takes_plain_words),
      cmocka_unit_test(ask_reads_all_kinds_of_values),
      cmocka_unit_test(ask_refuses_in_one_line),
      cmocka_unit_test(errors_are_json_too),
      cmocka_unit_test(run_writes_each_form),
      cmocka_unit_test(run_takes_settings_and_verdicts),
      cmocka_unit_test(run_refuses_bad_recipes),
      cmocka_unit_test(run_refuses_what_is_no_text),
      cmocka_unit_test(output_is_whole_or_an_error),
      cmocka_unit_test(an_interrupt_leaves_nothing),
      cmocka_unit_test(show_lists_searches_and_loads),
      cmocka_unit_test(verify_records_and_compares),
      cmocka_unit_test(the_prompt_works_over_a_pipe),
      cmocka_unit_test(ask_asks_a_person),
      cmocka_unit_test(the_prompt_serves_a_person),
      cmocka_unit_test(every_option_is_documented),
  };
  return cmocka_run_group_tests_name("command", tests, make_folder, remove_folder);
}
