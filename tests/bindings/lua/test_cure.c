/* resin.cure_history and resin.equivalent_time as a recipe sees them. */
#include "support/near.h"

#include <string.h>

#include "lua/lists.h"
#include "support/lua.h"

static void passes(const char *chunk) {
  fettle_test_passes(fettle_open_cure, chunk);
}

static void fails(const char *call, const char *part) {
  lua_State *L = fettle_test_raises(fettle_open_cure, call);
  if (!strstr(lua_tostring(L, -1), part)) {
    fail_msg("'%s' does not say '%s'", lua_tostring(L, -1), part);
  }
  lua_close(L);
}

#define FIRST_ORDER "kinetics = {pre_exponential = q'0.01 1/min', order = 1}"

/* Closed form of a first-order law: 95 % after 299.5732 min. */
static void first_order(void **state) {
  (void)state;
  passes("local r = resin.cure_history{temperature = degF(62), " FIRST_ORDER
         ", until_degree = 0.95, outputs = 11}\n"
         "assert(r.reached and r.time_to_degree:near(q'299.5732 min', q'0.001 min'))\n"
         "assert(#r.points == 11 and r.points[1][2] == 0)\n"
         "assert(math.abs(r.points[11][2] - 0.95) < 1e-6)\n"
         "assert(r.points[11][1]:near(r.time, q'1 s') and #r.temperatures == 11)\n"
         "assert(r.working.kind == 'calculation' and r.working.name == 'resin.cure_history')\n"
         "assert(r.working.source and r.working.notes and r.working.hazards[1] == 'exotherm')\n"
         "assert(#r.working.inputs >= 4 and #r.working.outputs == 3)\n"
         "assert(r.working.substituted:find('until_degree = 0.95', 1, true))\n"
         "assert(#r.working.warnings == 0)\n");
}

static void history_and_times(void **state) {
  (void)state;
  passes("local r = resin.cure_history{history = {{q'0 min', degC(20)},\n"
         "  {time = q'60 min', temperature = degC(20)}}, " FIRST_ORDER
         ", outputs = {q'30 min', q'60 min'}, until_degree = 0.9}\n"
         "assert(math.abs(r.degree - 0.4511883639) < 1e-9)\n"
         "assert(math.abs(r.points[1][2] - 0.2591817793) < 1e-6)\n"
         "assert(not r.reached and r.time_to_degree == nil and #r.working.warnings == 1)\n");
}

/* The scenario: 10 h at 77 degF becomes 17.82 h at 62 degF by doubling in 18 degF. */
static void equivalent(void **state) {
  (void)state;
  passes("local r = resin.equivalent_time{temperature = degF(62), step = 18*dF, factor = 2,\n"
         "  reference_temperature = degF(77), required = q'10 h', within = q'14 h'}\n"
         "assert(r.reached and r.ready:near(q'17.82 h', q'0.005 h'))\n"
         "assert(math.abs((r.constant_temperature - degF(68.2623)):number'dF') < 1e-4)\n"
         "assert(r.working.name == 'resin.equivalent_time')\n");
}

static void refusals(void **state) {
  (void)state;
  fails("resin.cure_history{temperature = 62, " FIRST_ORDER ", until_degree = 0.9}",
        "temperature: must be a quantity in degC");
  fails("resin.cure_history{temperature = 18*dF, " FIRST_ORDER ", until_degree = 0.9}",
        "a temperature such as degF(62), not a difference");
  fails("resin.cure_history{temprature = degF(62)}", "'temprature' is not known");
  fails("resin.cure_history{temperature = degF(62)}", "missing kinetics");
  fails("resin.cure_history{temperature = degF(62), kinetics = {A = 1}}", "kinetics: 'A'");
  fails("resin.cure_history{" FIRST_ORDER "}", "give either a temperature or a history");
  fails("resin.cure_history{history = {}, " FIRST_ORDER "}", "history: must be a list");
  fails("resin.cure_history{history = {{q'1 h', 5}}, " FIRST_ORDER "}", "history, point 1");
  fails("resin.cure_history{temperature = degF(62), " FIRST_ORDER ", until_degree = 2}",
        "until_degree = 2: must not be above 1");
  fails("resin.cure_history{temperature = degF(62), " FIRST_ORDER ", until_degree = 0/0}",
        "until_degree");
  fails("resin.cure_history{temperature = degF(62), until_degree = 0.5, kinetics = "
        "{second_pre_exponential = q'1 1/s'}}",
        "never starts");
  fails("resin.equivalent_time{temperature = degF(62), reference_temperature = degF(77)}",
        "give either a step (and factor) or an activation_energy");
  fails("resin.equivalent_time{temperature = degF(62), step = 18*dF}",
        "missing reference_temperature");
  fails("resin.equivalent_time(5)", "give one table of named values");
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(first_order),
                                     cmocka_unit_test(history_and_times),
                                     cmocka_unit_test(equivalent), cmocka_unit_test(refusals)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
