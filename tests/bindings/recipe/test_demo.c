/* The demo job, run by the program itself. Scenario figures are those of the invented demo job, and
 * stand with the digits in which it states them; "J05" and the like name its jobs. A figure must
 * come out within half a unit of its last digit. */
#define _XOPEN_SOURCE 700
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <jansson.h>

#include "support/near.h"

enum { COMMAND_MOST = 1024, OUTPUT_MOST = 1 << 20 };

#define RECIPES "recipes/reedling/"
#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

static const char *const all_recipes[] = {
    "recipes/metric/fairing_plug.lua",
    RECIPES "finish_milling.lua",
    RECIPES "mould_laminate.lua",
    RECIPES "night_cure.lua",
    RECIPES "plug_stock.lua",
    RECIPES "quote.lua",
    RECIPES "sanding.lua",
    RECIPES "skin_putty_cure.lua",
    RECIPES "tube_mockup.lua",
};

/* Runs a shell command; its output stays until the caller frees it. */
static char *output_of(const char *command, int *status) {
  char *text = calloc(1, OUTPUT_MOST);
  assert_non_null(text);
  FILE *pipe = popen(command, "r");
  assert_non_null(pipe);
  size_t length = fread(text, 1, OUTPUT_MOST - 1, pipe);
  assert_true(length < OUTPUT_MOST - 1);
  int ended = pclose(pipe);
  assert_true(WIFEXITED(ended));
  *status = WEXITSTATUS(ended);
  return text;
}

static json_t *run_in(const char *folder, const char *recipe, const char *settings, int wanted) {
  char command[COMMAND_MOST];
  snprintf(command, sizeof command, "cd '%s' && '%s' run --json '%s' %s", folder, FETTLE_PROGRAM,
           recipe, settings);
  int status;
  char *text = output_of(command, &status);
  if (status != wanted) {
    fail_msg("%s: exit status %d, wanted %d", command, status, wanted);
  }
  json_error_t error;
  json_t *sheet = json_loads(text, 0, &error);
  if (!sheet) {
    fail_msg("%s: line %d: %s", command, error.line, error.text);
  }
  free(text);
  return sheet;
}

/* The sheet of a recipe of the demo; `settings` are options for the shell. */
static json_t *run(const char *recipe, const char *settings) {
  char path[256];
  snprintf(path, sizeof path, RECIPES "%s", recipe);
  return run_in(".", path, settings, 0);
}

static json_t *item_of(json_t *sheet, const char *kind, const char *name) {
  size_t index;
  json_t *item;
  json_array_foreach(json_object_get(sheet, "items"), index, item) {
    const char *item_name = json_string_value(json_object_get(item, "name"));
    if (strcmp(json_string_value(json_object_get(item, "kind")), kind) == 0 && item_name &&
        strcmp(item_name, name) == 0) {
      return item;
    }
  }
  fail_msg("the sheet has no %s %s", kind, name);
  return NULL;
}

/* The number of a value, which must be in `unit` (NULL: a plain number). */
static double number_of(json_t *value, const char *unit) {
  assert_non_null(value);
  if (!unit) {
    assert_true(json_is_number(value));
    return json_number_value(value);
  }
  assert_string_equal(json_string_value(json_object_get(value, "unit")), unit);
  return json_number_value(json_object_get(value, "value"));
}

static double result(json_t *sheet, const char *name, const char *unit) {
  return number_of(json_object_get(item_of(sheet, "result", name), "value"), unit);
}

static bool passes(json_t *sheet, const char *check) {
  return json_is_true(json_object_get(item_of(sheet, "check", check), "pass"));
}

/* Half a unit of the last digit of a figure as it is printed: "92.7" -> 0.05. */
static double half_unit(const char *printed) {
  const char *point = strchr(printed, '.');
  return point ? 0.5 * pow(10, -(double)strlen(point + 1)) : 0.5;
}

typedef struct figure {
  const char *name, *unit, *printed, *job;
} figure;

static void assert_figures(json_t *sheet, const figure *figures, size_t count) {
  for (size_t i = 0; i < count; i++) {
    const figure *f = &figures[i];
    assert_near(result(sheet, f->name, f->unit), strtod(f->printed, NULL), half_unit(f->printed),
                f->job);
  }
}

/* --- foam --- */

static void foam_of_the_plug(void **state) {
  (void)state;
  json_t *sheet = run("plug_stock.lua", "");
  static const figure figures[] = {
      {"foam_sheets", NULL, "5", "scenario J02"},
      {"sheets_at_least", NULL, "5", "scenario J02"},
      {"used", NULL, "0.927", "scenario J02"},
      {"glue", "g", "824", "scenario J02"},
      {"foam_cost", "USD", "190", "scenario J38: 5 sheets at 38"},
  };
  assert_figures(sheet, figures, COUNT_OF(figures));
  /* 10,681.2 in2 on sheets of 24 x 96 in fill 4.636 sheets. */
  assert_near(result(sheet, "used", NULL) * 5, 4.636, 0.0005, "scenario J02");
  json_t *area = json_object_get(item_of(sheet, "result", "bond_area"), "value");
  assert_near(json_number_value(json_object_get(area, "si")), 4.394, 0.0005, "scenario J02, m2");
  assert_near(json_number_value(json_object_get(area, "value")) * 144, 6811.2, 0.05,
              "scenario J02, in2");
  assert_near(result(sheet, "glue", "g") / 1.25, 659, 0.5, "scenario J02, without the 25 %");
  assert_true(passes(sheet, "all_pieces_placed"));
  json_decref(sheet);

  sheet = run("plug_stock.lua", "--set 'widen_layer_3=1 in'");
  assert_near(result(sheet, "foam_sheets", NULL), 6, 0, "scenario J02, layer 3 an inch wider");
  json_decref(sheet);
}

/* --- milling --- */

static void feeds_and_ridges(void **state) {
  (void)state;
  json_t *sheet = run("finish_milling.lua", "");
  static const figure figures[] = {
      {"chip_load", "in", "0.00667", "scenario J05"},
      {"diameter_at_depth", "in", "0.4750", "scenario J05"},
      {"cutting_speed", "ft/min", "1492", "scenario J05"},
      {"ridge_flat", "thou", "0.156", "scenario J06"},
      {"run_time", "h", "7.56", "scenario J09"},
      {"blocks_a_second", "1/s", "133.3", "scenario J12"},
  };
  assert_figures(sheet, figures, COUNT_OF(figures));
  assert_near(result(sheet, "path_length", "ft") * 12, 72207, 0.5, "scenario J09, in");
  json_decref(sheet);

  static const struct {
    const char *settings, *name, *unit, *printed, *job;
  } others[] = {
      {"--set 'feed=300 in/min' --set spindle_speed=16000rpm --set segment=0.05in", "chip_load",
       "in", "0.009375", "scenario J05, rough"},
      {"--set 'cutter=ball 0.500'", "ridge_flat", "thou", "0.313", "scenario J06"},
      {"--set stepover=0.05in", "ridge_flat", "thou", "0.625", "scenario J06"},
      {"--set 'feed=120 in/min'", "run_time", "h", "10.06", "scenario J09"},
      {"--set 'feed=200 in/min'", "run_time", "h", "6.07", "scenario J09"},
      {"--set stepover=.03in", "run_time", "h", "6.30", "scenario J10"},
      {"--set stepover=.04in", "run_time", "h", "4.73", "scenario J10"},
      {"--set stepover=.0632in", "run_time", "h", "2.99", "scenario J10"},
      {"--set edge_slope='0 deg' --set ridge_limit=.5thou", "stepover_for_limit", "in", "0.0447",
       "scenario J10"},
      {"--set edge_slope='0 deg' --set ridge_limit=2thou", "stepover_for_limit", "in", "0.0894",
       "scenario J10"},
      {"--set segment=.05in", "blocks_a_second", "1/s", "53.3", "scenario J12"},
  };
  for (size_t i = 0; i < COUNT_OF(others); i++) {
    sheet = run("finish_milling.lua", others[i].settings);
    assert_near(result(sheet, others[i].name, others[i].unit), strtod(others[i].printed, NULL),
                half_unit(others[i].printed), others[i].job);
    json_decref(sheet);
  }
  /* The smallest ball does not last to the end: its life is 900 m and the way 1834 m. */
  sheet = run_in(".", RECIPES "finish_milling.lua", "--set 'cutter=ball 0.250'", 1);
  assert_near(result(sheet, "ridge_flat", "thou"), 0.627, 0.0005, "scenario J06");
  assert_false(passes(sheet, "cutter_life"));
  json_decref(sheet);
  sheet = run_in(".", RECIPES "finish_milling.lua", "--set segment=.005in", 1);
  assert_near(result(sheet, "blocks_a_second", "1/s"), 533.3, 0.05, "scenario J12: over 400");
  assert_false(passes(sheet, "control_keeps_up"));
  json_decref(sheet);
}

/* --- skin, putty, cure --- */

static double part_mass(json_t *sheet, const char *mix, size_t part) {
  json_t *row = json_array_get(json_object_get(item_of(sheet, "mix_sheet", mix), "parts"), part);
  return number_of(json_object_get(row, "mass"), "g");
}

static void skin_and_putty(void **state) {
  (void)state;
  json_t *sheet = run("skin_putty_cure.lua", "");
  static const figure figures[] = {
      {"cloth", "g", "1338.2", "scenario J14"},
      {"epoxy_mix", "g", "1472.0", "scenario J14"},
      {"pots", NULL, "5", "scenario J14"},
      {"putty", "gal", "3.2485", "scenario J15"},
      {"putty_mass", "lb", "29.89", "scenario J15"},
      {"peroxide", "g", "271.1", "scenario J15"},
      {"peroxide_volume", "mL", "246.5", "scenario J15"},
      {"putty_passes", NULL, "3", "scenario J15"},
      {"pass_thickness", "mil", "41.7", "scenario J15"},
      {"putty_per_pass", "gal", "1.083", "scenario J15"},
      {"pot_needed", "min", "15.8", "scenario J17"},
      {"machinable_early", "h", "17.82", "scenario J18"},
      {"machinable_late", "h", "28.28", "scenario J18"},
      {"surfacer_per_coat", "gal", "0.349", "scenario J20"},
      {"surfacer", "gal", "1.047", "scenario J20"},
      {"surfacer_dry", "mil", "18.6", "scenario J20"},
      {"surfacer_left", "mil", "11.16", "scenario J20"},
      {"sealer", "gal", "0.209", "scenario J21"},
      {"sealer_dry", "mil", "2.7", "scenario J21"},
      {"gel_coat_on_mould", "gal", "0.6909", "scenario J22"},
      {"gel_coat", "gal", "0.987", "scenario J22"},
  };
  assert_figures(sheet, figures, COUNT_OF(figures));
  assert_near(part_mass(sheet, "skin_mix", 0), 1132.3, 0.05, "scenario J14, resin");
  assert_near(part_mass(sheet, "skin_mix", 1), 339.7, 0.05, "scenario J14, hardener");
  json_t *pots = json_object_get(item_of(sheet, "mix_sheet", "skin_mix"), "pots");
  assert_int_equal(json_array_size(pots), 5);
  assert_near(number_of(json_object_get(json_array_get(pots, 0), "epoxy A resin"), "g"), 226.5,
              0.05, "scenario J14, a pot");
  assert_near(number_of(json_object_get(json_array_get(pots, 4), "epoxy A hardener"), "g"), 67.9,
              0.05, "scenario J14, a pot");
  json_t *pot = item_of(sheet, "check", "pot_lasts");
  assert_true(passes(sheet, "pot_lasts"));
  assert_near(number_of(json_object_get(pot, "limit"), "min"), 35.6, 0.05, "scenario J17, 62 F");
  bool isocyanate = false;
  size_t index;
  json_t *caution;
  json_array_foreach(json_object_get(sheet, "cautions"), index, caution) {
    const char *name =
        json_string_value(json_is_object(caution) ? json_object_get(caution, "name") : caution);
    isocyanate = isocyanate || strcmp(name, "isocyanate") == 0;
  }
  assert_true(isocyanate); /* scenario J21: forced */
  json_decref(sheet);
}

static void shop_temperature_decides(void **state) {
  (void)state;
  json_t *sheet = run_in(".", RECIPES "skin_putty_cure.lua", "--set shop_temperature=90degF", 1);
  json_t *pot = item_of(sheet, "check", "pot_lasts");
  assert_false(passes(sheet, "pot_lasts"));
  assert_near(number_of(json_object_get(pot, "limit"), "min"), 12.1, 0.05, "scenario J17, 90 F");
  json_decref(sheet);
  sheet = run("skin_putty_cure.lua", "--set shop_temperature=68degF");
  assert_near(result(sheet, "machinable_early", "h"), 14.14, 0.005, "scenario J18, 68 F");
  assert_near(result(sheet, "machinable_late", "h"), 18.66, 0.005, "scenario J18, 68 F");
  json_decref(sheet);
  sheet = run("skin_putty_cure.lua", "--set shop_temperature=72degF");
  assert_near(result(sheet, "machinable_early", "h"), 12.12, 0.005, "scenario J18, 72 F");
  assert_near(result(sheet, "machinable_late", "h"), 14.14, 0.005, "scenario J18, 72 F");
  json_decref(sheet);
}

/* Scenario J22's planted fault: 18 mm typed for 18 mil gives 39.37 times as much, and warns. */
static void millimetres_for_mils_warn(void **state) {
  (void)state;
  int status;
  char *text = output_of("'" FETTLE_PROGRAM "' run '" RECIPES "skin_putty_cure.lua' "
                         "--set gel_coat_film=18mm 2>&1",
                         &status);
  assert_int_equal(status, 0);
  assert_non_null(strstr(text, "gel coat on mould = 27.2 gal"));
  assert_non_null(strstr(text, "outside the usual"));
  free(text);
}

/* --- mould, sanding, tubes --- */

static void mould_sanding_and_tubes(void **state) {
  (void)state;
  json_t *sheet = run("mould_laminate.lua", "");
  static const figure mould[] = {
      {"ply_1_5", "in", "0.0421", "scenario J23"},
      {"ply_0_75", "in", "0.0211", "scenario J23"},
      {"thickness", "in", "0.2949", "scenario J23"},
      {"glass", "oz/ft^2", "10.5", "scenario J23"},
      {"laminate_on_area", "lb/ft^2", "2.1875", "scenario J23"},
      {"laminate_mass", "lb", "67.34", "scenario J23"},
      {"resin", "lb", "47.14", "scenario J23"},
      {"resin_with_waste", "lb", "52.80", "scenario J23"},
      {"peroxide", "g", "359", "scenario J23"},
  };
  assert_figures(sheet, mould, COUNT_OF(mould));
  json_decref(sheet);
  sheet = run("sanding.lua", "");
  static const figure sanding[] = {
      {"sanding_time", "h", "18.0", "scenario J45"},
      {"cycles", NULL, "2", "scenario J42"},
      {"film_left", "mil", "7.56", "scenario J42"},
      {"recoat_earliest", "h", "0.89", "scenario J42"},
      {"recoat_latest", "h", "14.25", "scenario J42"},
  };
  assert_figures(sheet, sanding, COUNT_OF(sanding));
  json_decref(sheet);
  sheet = run("tube_mockup.lua", "");
  /* J30, derived: the lengths with a kerf each, 12 * 27.71875 + 6 * 14.28125 + 6 * 40.96875 =
   * 664.125 in, fill 4.6 sticks of 143.75 in, and the plan with five is checked as it is cut. */
  static const figure tubes[] = {
      {"sticks", NULL, "5", "derived: bound by area, and a plan that meets it"},
      {"pitch", "in", "5.386364", "scenario J31"},
      {"chained_error", "in", "0.0469", "scenario J31"},
      {"worst_mark", "mil", "7.1", "scenario J31"},
  };
  assert_figures(sheet, tubes, COUNT_OF(tubes));
  assert_near(result(sheet, "used", NULL), 661.875 / (5 * 143.75), 1e-12, "derived: lengths alone");
  static const char *const marks[] = {"2 1/8 in",    "7 33/64 in",  "12 57/64 in", "18 9/32 in",
                                      "23 43/64 in", "29 1/16 in",  "34 7/16 in",  "39 53/64 in",
                                      "45 7/32 in",  "50 39/64 in", "55 63/64 in", "61 3/8 in"};
  json_t *rows = json_object_get(item_of(sheet, "table", "marks"), "rows");
  assert_int_equal(json_array_size(rows), COUNT_OF(marks));
  for (size_t i = 0; i < COUNT_OF(marks); i++) {
    assert_string_equal(json_string_value(json_array_get(json_array_get(rows, i), 1)), marks[i]);
  }
  json_decref(sheet);
  /* J32: 3/8 in from the end is 1.5 hole diameters. */
  sheet = run_in(".", RECIPES "tube_mockup.lua", "--set 'edge_distance=3/8 in'", 1);
  assert_near(result(sheet, "edge_diameters", NULL), 1.5, 1e-12, "scenario J32");
  assert_false(passes(sheet, "edge_distance"));
  json_decref(sheet);
}

/* --- a night --- */

/* Simpson's rule over the two straight lines of the log: hours at 77 F, rate doubled by `step`. */
static double night(double step) {
  enum { HALVES = 400 };
  static const double corner[3][2] = {{0, 68}, {12, 55}, {15, 60.25}};
  double sum = 0;
  for (int line = 0; line < 2; line++) {
    double h = (corner[line + 1][0] - corner[line][0]) / HALVES;
    double slope = (corner[line + 1][1] - corner[line][1]) / HALVES;
    for (int i = 0; i <= HALVES; i++) {
      double weight = i == 0 || i == HALVES ? 1 : i % 2 ? 4 : 2;
      sum += weight * h / 3 * pow(2, (corner[line][1] + slope * i - 77) / step);
    }
  }
  return sum;
}

static void a_night_by_two_rules(void **state) {
  (void)state;
  static const char source[] = "derived: Simpson's rule over the two lines (scenario J19)";
  json_t *sheet = run("night_cure.lua", "");
  double a = night(18), b = night(10);
  /* The log holds temperatures to 0.0001 F, which moves the hours by less than 1e-4. */
  assert_near(result(sheet, "equivalent_a", "h"), a, 1e-4, source);
  assert_near(result(sheet, "equivalent_b", "h"), b, 1e-4, source);
  assert_near(result(sheet, "ready_a", "h"), 15 + (10 - a) / pow(2, (60.25 - 77) / 18), 3e-4,
              source);
  assert_near(result(sheet, "ready_b", "h"), 15 + (10 - b) / pow(2, (60.25 - 77) / 10), 4e-4,
              source);
  /* 14 h at T are worth 10 h at 77 F: T = 77 + step * log2(10 / 14). */
  assert_near(result(sheet, "warm_a", "degF"), 77 + 18 * log2(10.0 / 14), 1e-9, "derived");
  assert_near(result(sheet, "warm_b", "degF"), 77 + 10 * log2(10.0 / 14), 1e-9, "derived");
  assert_near(result(sheet, "coldest", "degF"), 55, 1e-9, "scenario, section 2");
  assert_false(passes(sheet, "ready_in_the_morning"));
  assert_true(passes(sheet, "ready_when_booked"));
  json_decref(sheet);
}

/* --- price --- */

static void a_quote_from_the_other_sheets(void **state) {
  (void)state;
  json_t *sheet = run("quote.lua", "");
  /* J38's lines: an amount as printed, times a price. The surfacer stands there as 1.0469 gal, but
   * 3 coats of 10 mil on 4433 in2 at 55 % are 1.0468; J20's 1.047 is right. */
  static const struct {
    const char *name, *amount;
    double price;
  } lines[] = {
      {"foam", "5", 38},           {"base", "1.2", 52},
      {"foam_glue", "824", 0.012}, {"cloth", "7.867", 5.20},
      {"epoxy", "1.472", 24},      {"putty", "3.2485", 85},
      {"surfacer", "1.047", 95},   {"sealer", ".25", 120},
      {"gel_coat", ".987", 70},    {"mould_resin", "52.8", 3.10},
      {"mat", "23.233", 2.60},     {"peroxide", "1.390", 9},
      {"bushing", "6", 14},
  };
  double slack = 0;
  for (size_t i = 0; i < COUNT_OF(lines); i++) {
    double half = half_unit(lines[i].amount) * lines[i].price;
    assert_near(result(sheet, lines[i].name, "USD"), strtod(lines[i].amount, NULL) * lines[i].price,
                half, "scenario J38");
    /* Counts and bought sizes are exact. */
    bool whole = i == 0 || i == 1 || i == 7 || i == 12;
    slack += whole ? 0 : half;
  }
  assert_near(result(sheet, "materials", "USD"), 1337.77, slack,
              "scenario J38, amounts as printed");
  assert_near(result(sheet, "crew_hours", "h"), 60.75, 1e-9, "scenario J37");
  assert_near(result(sheet, "labour", "USD"), 2916.00, 0.005, "scenario J38");
  assert_near(result(sheet, "router", "USD"), 214.50, 0.005, "scenario J38");
  assert_near(result(sheet, "price", "USD"), 5138.52, 1.15 * slack, "scenario J38");

  /* The same without rounding, from the scenario's data, in inches, gallons and pounds. */
  double square_feet = 30.785, gallon = 231, gram = 1 / 453.59237;
  double cloth = square_feet * 2 * 1.15;
  double epoxy = cloth / 9 * 6 / 16 * 1.1; /* lb: as much as cloth, 10 % waste */
  double putty = (square_feet * 144 * 0.120 / 0.96 / 0.80) / gallon + 0.25;
  double glass = 10.5 / 16 * square_feet, wet = glass / 0.30 * 0.70 * 1.12;
  double peroxide = putty * 9.2 * 0.02 + wet * 0.015;
  double film = square_feet * 144 / gallon;
  double materials = 5 * 38 + 62.4 + (6811.1875 * 0.00064516 * 150 * 1.25) * 0.012 +
                     cloth / 9 * 5.20 + epoxy / gram / 1000 * 24 + putty * 85 +
                     film * 0.030 / 0.55 * 95 + 0.25 * 120 + film * 0.036 / 0.70 * 70 + wet * 3.10 +
                     glass * 1.15 * 2.60 + peroxide * 9 + 64 + 6 * 14 + 140;
  assert_near(result(sheet, "materials", "USD"), materials, 1e-6, "derived: sum without rounding");
  assert_near(result(sheet, "price", "USD"), (materials + 60.75 * 48 + 9.75 * 22) * 1.15, 1e-6,
              "derived: sum without rounding");
  json_decref(sheet);
}

/* --- the metric recipe --- */

static void metric_recipe(void **state) {
  (void)state;
  json_t *sheet = run_in(".", all_recipes[0], "", 0);
  /* 170 mm take three slabs of 60 mm, and a sheet of 1250 x 600 holds one outline of 980 x 420. */
  assert_near(result(sheet, "foam_sheets", NULL), 3, 0, "derived: counted");
  /* s^2 / 8 R + s^4 / 128 R^3 with R = 6 mm, s = 0.6 mm: the series of R - sqrt(R^2 - s^2 / 4). */
  assert_near(result(sheet, "ridge", "um"), 1e3 * (0.36 / 48 + 0.1296 / (128 * 216)), 1e-5,
              "derived: series");
  assert_near(result(sheet, "chip_load", "mm"), 4500.0 / 18000 / 2, 1e-12, "derived");
  /* 701 passes of 980 mm and 700 links of 0.6 mm, each from rest to rest: a pass loses v/a =
   * 75 / 500 s, a link is too short for the feed and takes 2 sqrt(d / a). */
  double seconds = 701 * (980 / 75.0 + 75 / 500.0) + 700 * 2 * sqrt(0.6 / 500);
  assert_near(result(sheet, "run_time", "min"), seconds / 60, 1e-9, "derived: move by move");
  double cloth = 0.980 * 0.420 * 2 * 163 * 1.12;
  assert_near(result(sheet, "cloth", "g"), cloth, 1e-9, "derived");
  assert_near(result(sheet, "mix", "g"), cloth * 1.08, 1e-9, "derived");
  /* A degree colder than the data sheet, twice as fast every ten: 45 min * 2^(1/10). */
  assert_near(result(sheet, "gel", "min"), 45 * 1.0717734625362931, 1e-9,
              "derived: tenth root of 2");
  json_decref(sheet);
}

/* --- units, bytes, records --- */

static void the_same_in_millimetres(void **state) {
  (void)state;
  static const struct {
    const char *recipe, *inch, *metric;
  } pairs[] = {
      {"finish_milling.lua",
       "--set stepover=0.03in --set 'feed=150 in/min' --set depth='1/16 in' --set area='1800 in^2'",
       "--set stepover=0.762mm --set 'feed=3810 mm/min' --set depth=1.5875mm "
       "--set area='11612.88 cm^2'"},
      {"skin_putty_cure.lua", "--set putty_thickness=.1in --set shop_temperature=68degF",
       "--set putty_thickness=2.54mm --set shop_temperature=20degC"},
      {"plug_stock.lua", "--set 'widen_layer_3=1 in' --set 'kerf=1/8 in'",
       "--set widen_layer_3=25.4mm --set kerf=3.175mm"},
  };
  for (size_t p = 0; p < COUNT_OF(pairs); p++) {
    json_t *inch = run(pairs[p].recipe, pairs[p].inch);
    json_t *metric = run(pairs[p].recipe, pairs[p].metric);
    size_t index, compared = 0;
    json_t *item;
    json_array_foreach(json_object_get(inch, "items"), index, item) {
      if (strcmp(json_string_value(json_object_get(item, "kind")), "result") != 0) {
        continue;
      }
      const char *name = json_string_value(json_object_get(item, "name"));
      json_t *one = json_object_get(item, "value");
      json_t *other = json_object_get(item_of(metric, "result", name), "value");
      double si = json_number_value(json_is_object(one) ? json_object_get(one, "si") : one);
      assert_near(json_number_value(json_is_object(other) ? json_object_get(other, "si") : other),
                  si, 1e-12 * fabs(si), "the same length in other units");
      compared++;
    }
    assert_true(compared > 5);
    json_decref(inch);
    json_decref(metric);
  }
}

static void the_same_bytes_twice(void **state) {
  (void)state;
  static const char *const forms[] = {"text", "md", "html", "json"};
  for (size_t r = 0; r < COUNT_OF(all_recipes); r++) {
    for (size_t f = 0; f < COUNT_OF(forms); f++) {
      char command[COMMAND_MOST];
      snprintf(command, sizeof command, "'%s' run --sheet %s '%s'", FETTLE_PROGRAM, forms[f],
               all_recipes[r]);
      int status;
      char *first = output_of(command, &status);
      assert_int_equal(status, 0);
      char *second = output_of(command, &status);
      assert_true(strlen(first) > 1000);
      assert_string_equal(first, second);
      free(first);
      free(second);
    }
  }
}

static char copy[] = "/tmp/fettle-demo-XXXXXX";

static void shell(const char *script) {
  char command[COMMAND_MOST];
  snprintf(command, sizeof command, "cd '%s' && %s", copy, script);
  int status;
  free(output_of(command, &status));
  assert_int_equal(status, 0);
}

/* A fresh copy of the demo's folder, in `copy`. */
static void copy_recipes(void) {
  char command[COMMAND_MOST];
  snprintf(command, sizeof command, "rm -rf '%s/recipes' && cp -R recipes '%s/'", copy, copy);
  int status;
  free(output_of(command, &status));
  assert_int_equal(status, 0);
}

static char *verify(const char *path, int wanted) {
  char command[COMMAND_MOST];
  snprintf(command, sizeof command, "cd '%s' && '%s' verify '%s' 2>&1", copy, FETTLE_PROGRAM, path);
  int status;
  char *text = output_of(command, &status);
  if (status != wanted) {
    fail_msg("verify %s: exit status %d, wanted %d:\n%s", path, status, wanted, text);
  }
  return text;
}

static void records_hold(void **state) {
  (void)state;
  copy_recipes();
  free(verify("recipes", 0));
}

static void a_changed_shop_value_shows(void **state) {
  (void)state;
  copy_recipes();
  shell("sed -i 's/price: 38 USD/price: 41 USD/' " RECIPES "shop.yaml");
  char *text = verify(RECIPES "plug_stock.lua", 1);
  assert_non_null(strstr(text, "foam_cost"));
  assert_null(strstr(text, "foam_mass"));
  free(text);
  free(verify(RECIPES "mould_laminate.lua", 0));
}

static void a_changed_result_is_stale_where_it_was_taken(void **state) {
  (void)state;
  copy_recipes();
  shell("sed -i 's/default = 0.120\\*inch/default = 0.130*inch/' " RECIPES "skin_putty_cure.lua");
  json_t *sheet = run_in(copy, RECIPES "quote.lua", "", 0);
  size_t index, stale = 0, current = 0;
  json_t *taken;
  json_array_foreach(json_object_get(sheet, "taken"), index, taken) {
    const char *name = json_string_value(json_object_get(taken, "result"));
    bool is_stale = json_is_true(json_object_get(taken, "stale"));
    stale += is_stale ? 1 : 0;
    current += is_stale ? 0 : 1;
    if (strcmp(name, "putty") == 0) {
      assert_true(is_stale);
    } else if (strcmp(name, "cloth") == 0 || strcmp(name, "gel_coat") == 0) {
      assert_false(is_stale);
    }
  }
  assert_int_equal(stale, 2); /* putty, and the peroxide that goes into it */
  assert_int_equal(current, 13);
  assert_string_equal(json_string_value(json_object_get(sheet, "verdict")), "warn");
  json_decref(sheet);
  char *text = verify(RECIPES "quote.lua", 1);
  assert_non_null(strstr(text, "putty"));
  free(text);
}

static int make_copy(void **state) {
  (void)state;
  return mkdtemp(copy) ? 0 : -1;
}

static int remove_copy(void **state) {
  (void)state;
  char command[COMMAND_MOST];
  snprintf(command, sizeof command, "rm -rf '%s'", copy);
  int status;
  free(output_of(command, &status));
  return status;
}

int main(void) {
  static const struct CMUnitTest tests[] = {
      cmocka_unit_test(foam_of_the_plug),
      cmocka_unit_test(feeds_and_ridges),
      cmocka_unit_test(skin_and_putty),
      cmocka_unit_test(shop_temperature_decides),
      cmocka_unit_test(millimetres_for_mils_warn),
      cmocka_unit_test(mould_sanding_and_tubes),
      cmocka_unit_test(a_night_by_two_rules),
      cmocka_unit_test(a_quote_from_the_other_sheets),
      cmocka_unit_test(metric_recipe),
      cmocka_unit_test(the_same_in_millimetres),
      cmocka_unit_test(the_same_bytes_twice),
      cmocka_unit_test(records_hold),
      cmocka_unit_test(a_changed_shop_value_shows),
      cmocka_unit_test(a_changed_result_is_stale_where_it_was_taken),
  };
  return cmocka_run_group_tests(tests, make_copy, remove_copy);
}
