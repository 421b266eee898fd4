/* nc/profile.c - the languages that programs are read in, and the names of findings. */
#include "nc/internal.h"

fettle_nc_profile fettle_nc_profile_strict(void) {
  return (fettle_nc_profile){
      .name = "NISTIR 6556",
      .line_limit = 256, /* NISTIR 6556, 3.3 */
      .number_digits = 5,
      .increment_mm = 0.001,
      .increment_inch = 0.0001,
      .arc_tolerance_mm = 0.002, /* NISTIR 6556, 3.5.3.2 */
      .arc_tolerance_inch = 0.0002,
      .lift_mm = 0.254, /* own rule: the report says "backed off a bit" */
      .lift_inch = 0.010,
  };
}

/* From memory: look-ahead, exact stop once, spindle orientation. */
static const fettle_nc_code shop_codes[] = {
    {'G', 5.1, "pqr"}, {'G', 8, "p"}, {'G', 9, ""}, {'M', 19, "prs"}};

fettle_nc_profile fettle_nc_profile_shop(void) {
  fettle_nc_profile profile = fettle_nc_profile_strict();
  profile.name = "common shop control";
  profile.go_on = true;
  profile.line_limit = FETTLE_NC_LINE_MOST;
  profile.number_digits = 8;
  profile.program_numbers = true;
  profile.semicolon = true;
  profile.subprograms = true;
  profile.signed_values = true;
  profile.modal_without_axes = true;
  profile.home_programmed_axes = true;
  profile.full_circle_without_axes = true;
  profile.cycle_73 = true;
  profile.cycles_apart = true;
  profile.rigid_tapping = 29;
  profile.inch_70 = true;
  profile.table_units = FETTLE_NC_UNITS_MM;
  profile.codes = shop_codes;
  profile.code_count = sizeof shop_codes / sizeof shop_codes[0];
  return profile;
}

const char *fettle_nc_finding_name(fettle_nc_finding_kind kind) {
  static const char *const names[FETTLE_NC_FINDING_KINDS] = {
      [FETTLE_NC_UNREADABLE_WORD] = "unreadable word",
      [FETTLE_NC_LINE_TOO_LONG] = "line too long",
      [FETTLE_NC_BAD_COMMENT] = "bad comment",
      [FETTLE_NC_BAD_EXPRESSION] = "bad expression",
      [FETTLE_NC_VALUE_RANGE] = "value out of range",
      [FETTLE_NC_UNKNOWN_CODE] = "unknown code",
      [FETTLE_NC_CODES_CLASH] = "codes that clash",
      [FETTLE_NC_WORD_UNUSED] = "word without use",
      [FETTLE_NC_NO_END] = "no end of program",
      [FETTLE_NC_WORD_MISSING] = "word missing",
      [FETTLE_NC_NOT_ALLOWED] = "code not allowed here",
      [FETTLE_NC_ARC_OPEN] = "arc does not close",
      [FETTLE_NC_CYCLE_IMPOSSIBLE] = "cycle not possible",
      [FETTLE_NC_COMPENSATION_IMPOSSIBLE] = "compensation not possible",
      [FETTLE_NC_PROBE_IMPOSSIBLE] = "probe not possible",
      [FETTLE_NC_NO_SUBPROGRAM] = "subprogram not possible",
      [FETTLE_NC_NOT_FOLLOWED] = "not followed",
      [FETTLE_NC_UNITS_NOT_STATED] = "units not stated",
      [FETTLE_NC_WHOLE_NUMBER] = "number without a point",
      [FETTLE_NC_BLANK_IN_NUMBER] = "blank inside a number",
      [FETTLE_NC_LONG_LINE] = "long line",
      [FETTLE_NC_FEED_OTHER_UNITS] = "feed from other units",
      [FETTLE_NC_OFFSET_OTHER_UNITS] = "offset from other units",
      [FETTLE_NC_ARC_DOUBTFUL] = "doubtful arc",
      [FETTLE_NC_LENGTH_NOT_STATED] = "tool length not stated",
      [FETTLE_NC_COMPENSATION_PROGRAMMED] = "compensation on the programmed path",
      [FETTLE_NC_POSITION_UNKNOWN] = "position unknown",
      [FETTLE_NC_BYTE_ORDER_MARK] = "byte order mark",
      [FETTLE_NC_MODE_LEFT] = "mode left on"};
  return (unsigned)kind < FETTLE_NC_FINDING_KINDS ? names[kind] : "unknown";
}
