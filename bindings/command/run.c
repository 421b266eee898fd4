/* fettle run: a recipe's job sheet. */
#include <stdio.h>
#include <string.h>
#include <sysexits.h>

#include "command/command.h"
#include "data/file.h"
#include "sandbox/box.h"

/* The form asked for, or the one that the ending of the output's name says; text where nothing is
 * said, and NULL for an ending that no form has. */
static const char *sheet_form(const fettle_request *request) {
  static const char *const endings[][2] = {{".html", "html"}, {".htm", "html"}, {".md", "md"},
                                           {".json", "json"}, {".txt", "text"}, {".text", "text"}};
  if (request->json) {
    return "json";
  }
  if (request->sheet) {
    return request->sheet;
  }
  const char *name = request->output ? request->output : "";
  const char *slash = strrchr(name, '/');
  const char *ending = strrchr(slash ? slash : name, '.');
  if (!ending) {
    return "text";
  }
  for (size_t row = 0; row < sizeof endings / sizeof endings[0]; row++) {
    if (strcmp(ending, endings[row][0]) == 0) {
      return endings[row][1];
    }
  }
  return NULL;
}

static int run_and_write(lua_State *trusted, const fettle_request *request,
                         fettle_problem *problem) {
  if (request->word_count != 1) {
    return fettle_problem_set(problem, EX_USAGE, "usage",
                              "run takes one recipe, not %zu: fettle run RECIPE",
                              request->word_count);
  }
  if (!sheet_form(request)) {
    return fettle_problem_set(problem, EX_USAGE, "usage",
                              "%s: the ending names no form of the sheet: use .txt, .md, .html or "
                              ".json, or say --sheet",
                              request->output);
  }
  fettle_run_options options = {.path = request->words[0],
                                .settings = request->settings,
                                .setting_count = request->setting_count,
                                .job_effort = request->effort};
  int status = fettle_recipe_run(trusted, &options, problem);
  if (status != 0) {
    return status;
  }
  lua_pushstring(trusted, sheet_form(request));
  lua_pushboolean(trusted, request->strict);
  status = fettle_call_script(trusted, "sheet/init", "sheet", 3, 2, problem);
  if (status != 0) {
    return status;
  }
  if (fettle_interrupted) {
    return fettle_problem_set(problem, EX_DATAERR, "interrupted",
                              "%s: interrupted, nothing is written", request->words[0]);
  }
  int verdict = (int)lua_tointeger(trusted, -1);
  size_t length = 0;
  const char *text = lua_tolstring(trusted, -2, &length);
  if (request->output && strcmp(request->output, "-") != 0) {
    fettle_file_problem unwritten;
    status = fettle_file_write(request->output, text, length, &unwritten);
    if (status != 0) {
      fettle_problem_set(problem, status, "output", "%s", unwritten.message);
    }
  } else {
    status = fettle_print(text, length, problem);
  }
  lua_pop(trusted, 2);
  return status != 0 ? status : verdict;
}

int fettle_command_run(lua_State *trusted, const fettle_request *request) {
  fettle_problem problem = {0};
  int status = run_and_write(trusted, request, &problem);
  if (problem.exit_status != 0) {
    const char *form = sheet_form(request);
    return fettle_report(&problem, form && strcmp(form, "json") == 0);
  }
  return status;
}
