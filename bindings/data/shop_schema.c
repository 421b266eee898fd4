/* data/shop_schema.c - what shop data may hold.
 *
 * Limits are wide: they catch a slipped point or unit, not an unusual shop. Common practice, no
 * source. */
#include "data/shop_schema.h"

#include <stddef.h>

/* clang-format off */
#define QUANTITY(name, unit, inch, low, high, meaning)                                             \
  {name, FETTLE_SHOP_QUANTITY, unit, inch, low, high, false, FETTLE_ROLE_ANY, NULL, NULL, meaning}
#define NEEDED(name, unit, inch, low, high, meaning)                                               \
  {name, FETTLE_SHOP_QUANTITY, unit, inch, low, high, true, FETTLE_ROLE_ANY, NULL, NULL, meaning}
#define POINT(name, low, high, meaning)                                                            \
  {name, FETTLE_SHOP_QUANTITY, "degC", "degF", low, high, false, FETTLE_ROLE_POINT, NULL, NULL, meaning}
#define NEEDED_POINT(name, low, high, meaning)                                                     \
  {name, FETTLE_SHOP_QUANTITY, "degC", "degF", low, high, true, FETTLE_ROLE_POINT, NULL, NULL, meaning}
#define NEEDED_STEP(name, low, high, meaning)                                                      \
  {name, FETTLE_SHOP_QUANTITY, "dC", "dF", low, high, true, FETTLE_ROLE_DIFFERENCE, NULL, NULL, meaning}
#define SHARE(name, meaning)                                                                       \
  {name, FETTLE_SHOP_QUANTITY, "%", NULL, 0, 100, false, FETTLE_ROLE_ANY, NULL, NULL, meaning}
#define WHOLE(name, low, high, meaning)                                                            \
  {name, FETTLE_SHOP_WHOLE, NULL, NULL, low, high, false, FETTLE_ROLE_ANY, NULL, NULL, meaning}
#define RATIO(name, meaning)                                                                       \
  {name, FETTLE_SHOP_RATIO, NULL, NULL, 0.001, 1000, false, FETTLE_ROLE_ANY, NULL, NULL, meaning}
#define TEXT(name, meaning)                                                                        \
  {name, FETTLE_SHOP_TEXT, NULL, NULL, 0, 0, false, FETTLE_ROLE_ANY, NULL, NULL, meaning}
#define CHOICE(name, needed, choices, meaning)                                                     \
  {name, FETTLE_SHOP_CHOICE, NULL, NULL, 0, 0, needed, FETTLE_ROLE_ANY, choices, NULL, meaning}
#define BOOLEAN(name, meaning)                                                                     \
  {name, FETTLE_SHOP_BOOLEAN, NULL, NULL, 0, 0, false, FETTLE_ROLE_ANY, NULL, NULL, meaning}
#define CLOCK(name, meaning)                                                                       \
  {name, FETTLE_SHOP_CLOCK, NULL, NULL, 0, 0, false, FETTLE_ROLE_ANY, NULL, NULL, meaning}
#define DATE(name, meaning)                                                                        \
  {name, FETTLE_SHOP_DATE, NULL, NULL, 0, 0, false, FETTLE_ROLE_ANY, NULL, NULL, meaning}
#define LIST(name, unit, inch, low, high, meaning)                                                 \
  {name, FETTLE_SHOP_LIST, unit, inch, low, high, false, FETTLE_ROLE_ANY, NULL, NULL, meaning}
#define TABLE(name, fields, meaning)                                                               \
  {name, FETTLE_SHOP_TABLE, NULL, NULL, 0, 0, false, FETTLE_ROLE_ANY, NULL, fields, meaning}
#define END                                                                                        \
  {NULL, FETTLE_SHOP_TEXT, NULL, NULL, 0, 0, false, FETTLE_ROLE_ANY, NULL, NULL, NULL}

/* --- the shop --- */

static const fettle_shop_field temperatures[] = {
    NEEDED("time", "h", NULL, 0, 8784, "time after the start of the history"),
    NEEDED_POINT("temperature", -40, 300, "temperature at that time; straight lines between"),
    END};

static const fettle_shop_field shop[] = {
    TEXT("name", "what the shop is called on sheets"),
    POINT("temperature", -20, 60, "usual temperature of the shop"),
    SHARE("humidity", "usual relative humidity"),
    TABLE("overnight", temperatures, "measured or feared temperatures from the evening on"),
    CLOCK("opens", "start of the shift"),
    CLOCK("closes", "end of the shift"),
    TEXT("days", "days of the shift: Mon to Fri"),
    QUANTITY("shift", "h", NULL, 0, 24, "staffed hours of a working day"),
    QUANTITY("scale_step", "g", NULL, 0.0001, 1000, "smallest step of the mixing scale"),
    QUANTITY("scale_capacity", "g", NULL, 1, 1e6, "most that the mixing scale takes"),
    WHOLE("fraction", 2, 128, "lengths are cut to this part of an inch: 16, 32, 64"),
    QUANTITY("lift_limit", "kg", "lb", 1, 200, "most that one person lifts here"),
    END};

/* --- machines --- */

static const fettle_shop_field pins[] = {
    NEEDED("x", "mm", "in", -1e5, 1e5, "place along the machine's X"),
    NEEDED("y", "mm", "in", -1e5, 1e5, "place along the machine's Y"),
    NEEDED("diameter", "mm", "in", 0.5, 200, "diameter of the pin"),
    QUANTITY("height", "mm", "in", 0, 500, "height above the table"),
    END};

static const fettle_shop_field clamps[] = {
    NEEDED("x", "mm", "in", -1e5, 1e5, "middle of the clamp along X"),
    NEEDED("y", "mm", "in", -1e5, 1e5, "middle of the clamp along Y"),
    NEEDED("length", "mm", "in", 1, 2000, "size along X"),
    NEEDED("width", "mm", "in", 1, 2000, "size along Y"),
    NEEDED("height", "mm", "in", 1, 500, "height above the table"),
    END};

static const char *const machine_kinds[] = {"router", "mill", "hot wire", "saw", "other", NULL};
static const fettle_shop_field machines[] = {
    CHOICE("kind", false, machine_kinds, "what kind of machine it is"),
    NEEDED("travel_x", "mm", "in", 10, 1e5, "travel along X"),
    NEEDED("travel_y", "mm", "in", 10, 1e5, "travel along Y"),
    NEEDED("travel_z", "mm", "in", 1, 1e4, "travel along Z"),
    QUANTITY("gantry_clearance", "mm", "in", 1, 1e4, "height that passes under the gantry"),
    NEEDED("feed", "mm/min", "in/min", 1, 2e5, "highest cutting feed of X and Y"),
    QUANTITY("feed_z", "mm/min", "in/min", 1, 2e5, "highest cutting feed of Z"),
    QUANTITY("rapid", "mm/min", "in/min", 1, 4e5, "rapid of X and Y"),
    QUANTITY("rapid_z", "mm/min", "in/min", 1, 4e5, "rapid of Z"),
    QUANTITY("acceleration_x", "mm/s^2", "in/s^2", 1, 1e5, "acceleration of X"),
    QUANTITY("acceleration_y", "mm/s^2", "in/s^2", 1, 1e5, "acceleration of Y"),
    QUANTITY("acceleration_z", "mm/s^2", "in/s^2", 1, 1e5, "acceleration of Z"),
    QUANTITY("block_rate", "1/s", NULL, 1, 1e6, "blocks of a program that the control reads a second"),
    QUANTITY("corner_tolerance", "mm", "in", 0, 10, "how far the control cuts corners"),
    QUANTITY("spindle_lowest", "rpm", NULL, 0, 2e5, "lowest spindle speed"),
    QUANTITY("spindle_highest", "rpm", NULL, 1, 2e5, "highest spindle speed"),
    QUANTITY("power", "kW", "hp", 0.01, 1000, "spindle power"),
    QUANTITY("nut_diameter", "mm", "in", 1, 500, "diameter of the collet nut"),
    QUANTITY("tool_change", "min", NULL, 0, 120, "time of a tool change"),
    QUANTITY("safe_height", "mm", "in", 0, 2000, "height of moves above the highest stock"),
    QUANTITY("work_zero_x", "mm", "in", -1e5, 1e5, "work zero along X"),
    QUANTITY("work_zero_y", "mm", "in", -1e5, 1e5, "work zero along Y"),
    QUANTITY("pin_pitch", "mm", "in", 1, 1e5, "distance of the pin holes in the table"),
    TABLE("pins", pins, "index pins in the table"),
    TABLE("clamps", clamps, "hold-down clamps: what the cutter must not meet"),
    QUANTITY("chip_bag", "L", "ft^3", 0.1, 1e5, "volume of the extractor's bag"),
    QUANTITY("chip_bulk", "1", NULL, 1, 100, "volume of loose chips to that of the solid foam"),
    SHARE("efficiency", "share of the planned removal rate that a rough cut reaches"),
    QUANTITY("rate", "USD/h", NULL, 0, 1e5, "what an hour of the machine costs"),
    TEXT("note", "anything else"),
    END};

/* --- cutters --- */

static const char *const cutter_forms[] = {"flat", "ball", "bull nose", "taper ball", "drill", "vee", "hot wire", "other", NULL};
static const fettle_shop_field cutters[] = {
    CHOICE("form", true, cutter_forms, "form of the end"),
    NEEDED("diameter", "mm", "in", 0.05, 500, "diameter over the tips"),
    WHOLE("flutes", 1, 40, "number of flutes"),
    QUANTITY("corner_radius", "mm", "in", 0, 250, "radius of a bull nose's corner"),
    QUANTITY("taper", "deg", NULL, 0, 90, "angle of the side from the axis"),
    QUANTITY("flute_length", "mm", "in", 0.1, 1000, "length that cuts"),
    QUANTITY("stick_out", "mm", "in", 0.1, 2000, "length below the collet nut"),
    QUANTITY("shank_diameter", "mm", "in", 0.1, 500, "diameter of the shank"),
    QUANTITY("nut_diameter", "mm", "in", 1, 500, "diameter of the nut above the cutter"),
    QUANTITY("nut_height", "mm", "in", 1, 500, "height of that nut"),
    QUANTITY("elastic_modulus", "GPa", "psi", 1, 1000, "elastic modulus of the shank"),
    QUANTITY("chip_load", "mm/tooth", "in/tooth", 0.0001, 20, "feed for each tooth"),
    QUANTITY("life", "m", NULL, 0.1, 1e8, "length that it cuts before it is dull"),
    QUANTITY("price", "USD", NULL, 0, 1e6, "price of one"),
    TEXT("material", "what it is made of"),
    TEXT("note", "anything else"),
    END};

/* --- materials --- */

#define SHEET_SIZE(most_thickness)                                                                 \
    NEEDED("length", "mm", "in", 1, 1e5, "length of a sheet"),                                      \
    NEEDED("width", "mm", "in", 1, 1e5, "width of a sheet"),                                        \
    NEEDED("thickness", "mm", "in", 0.1, most_thickness, "thickness of a sheet"),                   \
    NEEDED("density", "kg/m^3", "lb/ft^3", 1, 5000, "density"),                                     \
    WHOLE("count", 0, 1000000, "sheets in stock"),                                                 \
    QUANTITY("price", "USD", NULL, 0, 1e6, "price of one sheet")

static const fettle_shop_field foams[] = {
    SHEET_SIZE(2000),
    QUANTITY("kerf", "mm", "in", 0, 20, "width of the saw cut"),
    QUANTITY("compressive_strength", "kPa", "psi", 1, 1e5, "compressive strength"),
    QUANTITY("elastic_modulus", "MPa", "psi", 0.1, 1e5, "elastic modulus"),
    QUANTITY("thermal_expansion", "1/K", "1/degF", 0, 1e-3, "length that a degree adds, as a share"),
    POINT("highest_temperature", 0, 300, "temperature at which it softens"),
    QUANTITY("cutting_energy", "N/mm^2", "hp min/in^3", 0, 1000, "work of cutting for its volume"),
    QUANTITY("moisture", "%", NULL, 0, 100, "water taken up, by mass"),
    TEXT("note", "anything else"),
    END};

static const fettle_shop_field boards[] = {
    SHEET_SIZE(500),
    QUANTITY("kerf", "mm", "in", 0, 20, "width of the saw cut"),
    TEXT("note", "anything else"),
    END};

static const char *const resin_kinds[] = {"epoxy", "polyester", "vinyl ester", "polyurethane", "other", NULL};
static const fettle_shop_field resins[] = {
    CHOICE("kind", true, resin_kinds, "kind of resin: decides the cautions"),
    RATIO("mix_by_weight", "resin to hardener by weight"),
    RATIO("mix_by_volume", "resin to hardener by volume"),
    QUANTITY("catalyst", "%", NULL, 0, 10, "peroxide by weight of the resin"),
    QUANTITY("catalyst_density", "g/cm^3", NULL, 0.5, 3, "density of the peroxide"),
    QUANTITY("resin_density", "g/cm^3", "lb/gal", 0.5, 5, "density of the resin"),
    QUANTITY("hardener_density", "g/cm^3", "lb/gal", 0.5, 5, "density of the hardener"),
    QUANTITY("cured_density", "g/cm^3", "lb/gal", 0.5, 5, "density when cured"),
    QUANTITY("epoxide_equivalent", "g/eq", NULL, 50, 10000, "resin's mass for each epoxide group (EEW)"),
    QUANTITY("amine_equivalent", "g/eq", NULL, 10, 2000, "hardener's mass for each amine hydrogen (AHEW)"),
    QUANTITY("gel_time", "min", NULL, 0.1, 100000, "gel time at gel_temperature"),
    POINT("gel_temperature", -20, 200, "temperature of the stated gel time"),
    TEXT("cure_rule", "name of an entry of cure_rules"),
    QUANTITY("pot_limit", "g", NULL, 1, 1e6, "most that is mixed in one pot"),
    QUANTITY("pot_limit_parts", "g", NULL, 1, 1e6, "most in one pot for parts"),
    QUANTITY("activation_energy", "kJ/mol", NULL, 1, 500, "activation energy of the cure"),
    POINT("uncured_glass_transition", -150, 150, "glass transition when just mixed"),
    POINT("cured_glass_transition", -50, 400, "glass transition when fully cured"),
    QUANTITY("glass_transition_lambda", "1", NULL, 0, 1, "how it rises with cure (DiBenedetto)"),
    POINT("highest_post_cure", 0, 400, "highest temperature of a post-cure"),
    QUANTITY("glass_share", "%", NULL, 1, 90, "fibre share by weight of a usual lay-up"),
    QUANTITY("waste", "%", NULL, 0, 100, "what stays in pots and on rollers"),
    LIST("pack_sizes", "kg", "lb", 0.001, 10000, "sizes of the packs that it is sold in"),
    QUANTITY("price", "USD/kg", NULL, 0, 1e5, "price by mass"),
    BOOLEAN("isocyanate", "holds isocyanate: forces its caution"),
    TEXT("note", "anything else"),
    END};

static const char *const fibres[] = {"glass", "carbon", "aramid", "flax", "other", NULL};
static const fettle_shop_field cloths[] = {
    CHOICE("fibre", true, fibres, "kind of fibre"),
    NEEDED("areal_mass", "g/m^2", "oz/yd^2", 5, 5000, "mass of an area, dry"),
    QUANTITY("ply_thickness", "mm/ply", "in/ply", 0.01, 10, "thickness of a cured ply"),
    QUANTITY("width", "mm", "in", 10, 10000, "width of the roll"),
    QUANTITY("fibre_density", "g/cm^3", NULL, 0.5, 5, "density of the fibre"),
    QUANTITY("overlap", "%", NULL, 0, 100, "share added for overlaps and trim"),
    QUANTITY("price", "USD/m^2", NULL, 0, 1e5, "price by area"),
    TEXT("weave", "weave or direction"),
    TEXT("note", "anything else"),
    END};

static const fettle_shop_field mats[] = {
    CHOICE("fibre", true, fibres, "kind of fibre"),
    NEEDED("areal_mass", "g/m^2", "oz/ft^2", 5, 5000, "mass of an area, dry"),
    QUANTITY("glass_share", "%", NULL, 1, 90, "fibre share by weight of a laminate"),
    QUANTITY("ply_thickness", "mm/ply", "in/ply", 0.01, 20, "thickness of a cured ply"),
    QUANTITY("width", "mm", "in", 10, 10000, "width of the roll"),
    QUANTITY("fibre_density", "g/cm^3", NULL, 0.5, 5, "density of the fibre"),
    QUANTITY("price", "USD/kg", NULL, 0, 1e5, "price by mass"),
    TEXT("binder", "powder or emulsion"),
    TEXT("note", "anything else"),
    END};

static const fettle_shop_field fillers[] = {
    NEEDED("density", "g/cm^3", "lb/ft^3", 0.01, 10, "density of the grains"),
    QUANTITY("bulk_density", "g/cm^3", "lb/ft^3", 0.005, 10, "density as poured"),
    QUANTITY("share", "phr", NULL, 0, 1000, "usual parts by mass to a hundred of resin"),
    QUANTITY("price", "USD/kg", NULL, 0, 1e5, "price by mass"),
    BOOLEAN("silica", "holds silica dust: forces the dust caution"),
    TEXT("note", "anything else"),
    END};

static const char *const coating_kinds[] = {"putty", "surfacer", "primer", "sealer", "gel coat", "top coat", "release", "other", NULL};
static const fettle_shop_field coatings[] = {
    CHOICE("kind", true, coating_kinds, "what it is for"),
    QUANTITY("density", "g/cm^3", "lb/gal", 0.3, 5, "density as applied"),
    QUANTITY("solids", "%", NULL, 1, 100, "solids by volume"),
    QUANTITY("shrinkage", "%", NULL, 0, 50, "volume lost in cure"),
    QUANTITY("catalyst", "%", NULL, 0, 10, "peroxide by weight of the coating"),
    QUANTITY("catalyst_density", "g/cm^3", NULL, 0.5, 3, "density of the peroxide"),
    RATIO("mix_by_volume", "base to hardener by volume"),
    RATIO("mix_by_weight", "base to hardener by weight"),
    QUANTITY("transfer", "%", NULL, 1, 100, "share of the sprayed coating that reaches the work"),
    QUANTITY("hose_loss", "L", "gal", 0, 100, "what stays in hose and pot"),
    QUANTITY("gun_rate", "L/min", "gal/min", 0.001, 100, "what the gun sprays"),
    QUANTITY("coat", "um", "mil", 1, 20000, "usual wet thickness of one coat"),
    QUANTITY("hold_vertical", "um", "mil", 1, 20000, "wet thickness that stays on an upright face"),
    QUANTITY("gel_time", "min", NULL, 0.1, 100000, "gel time at gel_temperature"),
    POINT("gel_temperature", -20, 200, "temperature of the stated gel time"),
    QUANTITY("machinable_time", "h", NULL, 0.01, 10000, "time until it can be cut, at machinable_temperature"),
    POINT("machinable_temperature", -20, 200, "temperature of that time"),
    TEXT("cure_rule", "name of an entry of cure_rules"),
    QUANTITY("recoat_earliest", "h", NULL, 0, 10000, "earliest next coat, at recoat_temperature"),
    QUANTITY("recoat_latest", "h", NULL, 0, 10000, "latest next coat without sanding"),
    POINT("recoat_temperature", -20, 200, "temperature of the recoat times"),
    QUANTITY("shelf_life", "day", NULL, 1, 36500, "how long it keeps"),
    QUANTITY("sanded_away", "%", NULL, 0, 100, "share of the dry film that sanding takes"),
    LIST("pack_sizes", "L", "gal", 0.001, 10000, "sizes of the packs that it is sold in"),
    QUANTITY("price", "USD/L", "USD/gal", 0, 1e6, "price by volume"),
    BOOLEAN("isocyanate", "holds isocyanate: forces its caution"),
    TEXT("note", "anything else"),
    END};

static const fettle_shop_field adhesives[] = {
    QUANTITY("density", "g/cm^3", "lb/gal", 0.3, 5, "density"),
    QUANTITY("coverage", "g/m^2", "oz/ft^2", 1, 10000, "mass of an area of joint"),
    QUANTITY("waste", "%", NULL, 0, 100, "what is mixed and not used"),
    RATIO("mix_by_weight", "resin to hardener by weight"),
    RATIO("mix_by_volume", "resin to hardener by volume"),
    QUANTITY("shear_strength", "MPa", "psi", 0.01, 200, "shear strength"),
    QUANTITY("open_time", "min", NULL, 0.1, 10000, "time to close the joint"),
    QUANTITY("cure_time", "h", NULL, 0.01, 10000, "time until it can be worked, at cure_temperature"),
    POINT("cure_temperature", -20, 200, "temperature of that time"),
    QUANTITY("price", "USD/kg", NULL, 0, 1e5, "price by mass"),
    BOOLEAN("isocyanate", "holds isocyanate: forces its caution"),
    TEXT("note", "anything else"),
    END};

static const char *const tube_forms[] = {"round", "square", NULL};
static const fettle_shop_field tubes[] = {
    CHOICE("form", true, tube_forms, "form of the section"),
    NEEDED("outside", "mm", "in", 0.5, 1000, "outside diameter, or side"),
    NEEDED("wall", "mm", "in", 0.05, 100, "thickness of the wall"),
    QUANTITY("stick_length", "mm", "in", 10, 20000, "length as bought"),
    QUANTITY("end_trim", "mm", "in", 0, 500, "cut off one end of each stick"),
    QUANTITY("kerf", "mm", "in", 0, 20, "width of the saw cut"),
    QUANTITY("density", "g/cm^3", "lb/in^3", 0.1, 25, "density of the material"),
    QUANTITY("price", "USD", NULL, 0, 1e6, "price of a stick"),
    TEXT("material", "alloy and temper"),
    TEXT("note", "anything else"),
    END};

static const fettle_shop_field cure_rules[] = {
    NEEDED("factor", "1", NULL, 1.01, 10, "how many times faster"),
    NEEDED_STEP("step", 1, 100, "for this much warmer"),
    TEXT("note", "anything else"),
    END};

static const fettle_shop_field rates[] = {
    QUANTITY("crew", "USD/h", NULL, 0, 1e5, "an hour of work"),
    QUANTITY("router", "USD/h", NULL, 0, 1e5, "an hour of the router"),
    QUANTITY("oven", "USD/h", NULL, 0, 1e5, "an hour of the oven"),
    QUANTITY("power", "USD/kWh", NULL, 0, 1e3, "electricity"),
    SHARE("contingency", "share added to a quotation"),
    END};

const fettle_shop_section fettle_shop_sections[] = {
    {"shop", false, false, shop, "the shop itself: climate, hours, scale"},
    {"machines", true, false, machines, "machines by name"},
    {"cutters", true, false, cutters, "cutters by name"},
    {"foams", true, false, foams, "foam sheets and blocks by name"},
    {"boards", true, false, boards, "base boards and other sheets by name"},
    {"resins", true, false, resins, "resins with their hardener or catalyst, by name"},
    {"cloths", true, false, cloths, "woven and stitched cloths by name"},
    {"mats", true, false, mats, "chopped strand mats by name"},
    {"fillers", true, false, fillers, "fillers and thickeners by name"},
    {"coatings", true, false, coatings, "putty, surfacer, sealer, gel coat by name"},
    {"adhesives", true, false, adhesives, "glues by name"},
    {"tubes", true, false, tubes, "tubes by name"},
    {"cure_rules", true, false, cure_rules, "rules of thumb for cure against temperature, by name"},
    {"rates", false, false, rates, "what work costs"},
    {"own", false, true, NULL, "what this shop keeps besides: names of its own"},
    {NULL, false, false, NULL, NULL}};
/* clang-format on */
