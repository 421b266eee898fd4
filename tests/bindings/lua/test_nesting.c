/* nesting.sheets, nesting.bars and nesting.layers as a recipe sees them. */
#include "support/near.h"

#include <string.h>

#include "lua/lists.h"
#include "support/lua.h"

static void passes(const char *chunk) {
  fettle_test_passes(fettle_open_nesting, chunk);
}

static void fails(const char *call, const char *message) {
  lua_State *L = fettle_test_raises(fettle_open_nesting, call);
  assert_string_equal(lua_tostring(L, -1), message);
  lua_close(L);
}

/* The scenario's foam, J02. */
static void scenario_plug(void **state) {
  (void)state;
  passes(
      "local function p(name, width, length)\n"
      "  return {name = name, length = length*inch, width = width*inch}\n"
      "end\n"
      "local n = nesting.sheets{kerf = q'1/8 in', effort = 2000000,\n"
      "  pieces = {p('A', 24, 96), p('B', 24, 33), p('C', 6, 96), p('D', 6, 33),\n"
      "    p('E', 22, 96), p('F', 22, 25.5), p('G', 17.75, 96), p('H', 17.75, 25.5),\n"
      "    p('I', 14.5, 60), p('J', 14.5, 39.5), p('K', 9.25, 58.25)},\n"
      "  stock = {{name = 'foam sheet', length = 96*inch, width = 24*inch, cost = 61.5}}}\n"
      "assert(n.count == 5 and n.bound == 5 and n.proved and #n.sheets == 5)\n"
      "assert(math.abs(n.used - 0.927) < 0.0005 and math.abs(n.area_bound - 4.636) < 0.0005)\n"
      "assert(n.cost == 5*61.5 and #n.unplaced == 0)\n"
      "local seen = 0\n"
      "for _, sheet in ipairs(n.sheets) do\n"
      "  assert(sheet.length:near(96*inch, 1e-9*inch) and sheet.stock == 'foam sheet')\n"
      "  for i, cut in ipairs(sheet.cuts) do\n"
      "    assert(cut.number == i and (cut.direction == 'along' or cut.direction == 'across'))\n"
      "  end\n"
      "  seen = seen + #sheet.pieces\n"
      "end\n"
      "assert(seen == 11)\n"
      "local w = n.working\n"
      "assert(w.kind == 'calculation' and w.name == 'nesting.sheets' and w.source)\n"
      "assert(w.substituted == '11 pieces on 5 sheets, 92.7 % used; their material alone fills '\n"
      "  .. '4.636, and at least 5 are needed: proved least', w.substituted)\n");
}

/* Tubes of the scenario, J30: the count is at least what the lengths fill. */
static void scenario_tubes(void **state) {
  (void)state;
  passes("local n = nesting.bars{kerf = q'3/32 in', trim = q'1/4 in', effort = 2000000,\n"
         "  pieces = {{name = 'a', length = q'27 5/8 in', count = 12},\n"
         "    {name = 'b', length = q'14 3/16 in', count = 6},\n"
         "    {name = 'c', length = q'40 7/8 in', count = 6}},\n"
         "  stock = {{name = 'tube', length = 144*inch}}}\n"
         "assert(n.count == 5 and n.bound == 5 and n.proved, n.count)\n"
         "assert(n.bars[1].cuts[1].direction == 'across')\n");
}

static void left_over_pieces_are_listed(void **state) {
  (void)state;
  passes("local n = nesting.sheets{kerf = 3*mm, effort = 10000,\n"
         "  pieces = {{name = 'a', length = 600*mm, width = 600*mm, count = 5}},\n"
         "  stock = {{length = 1200*mm, width = 600*mm, count = 2}}}\n"
         "assert(n.unplaced[1].name == 'a' and n.unplaced[1].count == 3 and not n.proved)\n"
         "assert(#n.working.warnings == 1)\n");
}

#define SHEET "stock = {{name = 's', length = 96*inch, width = 24*inch}}, kerf = q'1/8 in'}"

static void layers_of_a_block(void **state) {
  (void)state;
  passes("local n = nesting.layers{height = 10*inch, length = 129*inch, width = 24*inch,\n"
         "  stagger = 6*inch, kerf = q'1/8 in', turn = true, effort = 500000,\n"
         "  stock = {{name = 'slab', length = 96*inch, width = 24*inch, thickness = 2*inch}}}\n"
         "assert(#n.layers == 5 and n.layers[1].pieces[1].name == 'L1-1')\n"
         "assert(n.height:near(10*inch, 1e-9*inch) and n.waste_height:near(0*inch, 1e-9*inch))\n"
         "assert(n.joint_area:near(q'12384 in^2', q'0.000001 in^2'))\n"
         "assert(n.layers[1].pieces[2].x:near(96*inch, 1e-9*inch))\n"
         "assert(n.layers[2].pieces[2].x:near(90*inch, 1e-9*inch))\n"
         "assert(#n.unplaced == 0 and n.working.name == 'nesting.layers')\n");
  fails("nesting.layers{height = 10*inch, length = 9*inch, width = 9*inch, " SHEET,
        "nesting.layers: stock 's': thickness: is missing: give a length such as 24*inch");
}

static void bad_input(void **state) {
  (void)state;
  fails("nesting.sheets{pieces = {{name = 'A', length = 10*inch, width = 0*inch}}, " SHEET,
        "nesting.sheets: piece 'A': width = 0 in: must be above 0");
  fails("nesting.sheets{pieces = {{name = 'A', length = 10*inch}}, " SHEET,
        "nesting.sheets: piece 'A': width: is missing: give a length such as 24*inch");
  fails("nesting.sheets{pieces = {{name = 'A', length = 10, width = 4*inch}}, " SHEET,
        "nesting.sheets: piece 'A': length = 10: must be a length with its unit, such as 24*inch "
        "or q\"24 in\"");
  fails("nesting.sheets{pieces = {{name = 'A', length = 10*inch, width = 3*lb}}, " SHEET,
        "nesting.sheets: piece 'A': width = 3 lb: must be a length with its unit, such as 24*inch "
        "or q\"24 in\"");
  fails("nesting.sheets{pieces = {{name = 'A', lenght = 10*inch, width = 3*inch}}, " SHEET,
        "nesting.sheets: piece 'A': 'lenght' is not known: give name, length, width, thickness, "
        "count, turn");
  fails("nesting.sheets{pieces = {}, " SHEET,
        "nesting.sheets: pieces: 0 rows: must be from 1 to 10000");
  fails("nesting.sheets{" SHEET, "nesting.sheets: pieces: is missing: give a list of tables");
  fails("nesting.sheets{pieces = {{name = 'A', length = 1*inch/3, width = 3*inch}}, " SHEET,
        "nesting.sheets: piece 'A': length = 0.333333333333 in: must be a whole number of 25 nm, "
        "as 1/64 in, 0.001 in and 0.001 mm are: round it to what the shop can set (nearest: "
        "0.333333661417 in)");
  fails("nesting.sheets{pieces = {{name = 'A', length = 100*inch, width = 3*inch}}, " SHEET,
        "nesting.sheets: piece 'A': 100 in x 3 in is larger than any stock: 's' gives 96 in x "
        "24 in after trimming");
  fails("nesting.sheets{pieces = {{name = 'A', length = 9*inch, width = 3*inch},"
        "{name = 'A', length = 9*inch, width = 3*inch}}, " SHEET,
        "nesting.sheets: piece 'A': the name stands twice, in rows 1 and 2: give each its own");
  fails("nesting.sheets{pieces = {{name = 'A', length = 9*inch, width = 3*inch, count = "
        "1.5}}, " SHEET,
        "nesting.sheets: piece 'A': count: must be a whole number from 1 to 1000000");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(scenario_plug), cmocka_unit_test(scenario_tubes),
      cmocka_unit_test(left_over_pieces_are_listed), cmocka_unit_test(layers_of_a_block),
      cmocka_unit_test(bad_input)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
