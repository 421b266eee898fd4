/* command/command.h - the subcommands, each returning an exit status. */
#ifndef FETTLE_COMMAND_COMMAND_H
#define FETTLE_COMMAND_COMMAND_H

#include <stddef.h>

#include <lua.h>

#include "command/options.h"
#include "recipe/run.h"

int fettle_command_run(lua_State *trusted, const fettle_request *request);
int fettle_command_ask(lua_State *trusted, const fettle_request *request);
int fettle_command_show(lua_State *trusted, const fettle_request *request);
int fettle_command_verify(lua_State *trusted, const fettle_request *request);
int fettle_command_repl(lua_State *trusted, const fettle_request *request);

/* Writes `problem` as one line on standard error, or with `json` as one object on standard output;
 * returns its exit status. */
int fettle_report(const fettle_problem *problem, bool json);

/* Writes to standard output, every byte or an error; returns 0 or EX_IOERR with
 * `problem` filled. */
int fettle_print(const char *text, size_t length, fettle_problem *problem);

/* Calls FUNCTION of the shipped script MODULE with the `arguments` values on top of the stack of
 * `trusted`, and leaves its `results` values there. Returns 0, or 70 with `problem` filled and the
 * arguments gone. */
int fettle_call_script(lua_State *trusted, const char *module, const char *function, int arguments,
                       int results, fettle_problem *problem);

/* Pushes an array of texts. */
void fettle_push_texts(lua_State *L, const char *const *texts, size_t count);

/* Pushes on `trusted` the descriptions of the calculations in reach when files of a shop's own
 * were loaded, else nil: the catalogue's alone are known to the shipped scripts. Returns 0, or a
 * status with `problem` filled and nothing pushed. */
int fettle_push_own(lua_State *trusted, fettle_session *session, const fettle_request *request,
                    fettle_problem *problem);

/* Prints the answer to a question: result, as_json, and the line that repeats it are on top of the
 * stack of `trusted` and are taken off. Returns 0, or a status with `problem` filled. */
int fettle_print_answer(lua_State *trusted, fettle_problem *problem);

#endif
