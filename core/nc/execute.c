/* nc/execute.c - one line carried out in the order of NISTIR 6556, table 8. */
#include <math.h>
#include <string.h>

#include "nc/internal.h"

double nc_unit(const nc_reader *r) {
  return r->state.units == FETTLE_NC_UNITS_INCH ? NC_MM_PER_INCH : 1.0;
}

double nc_table_unit(const nc_reader *r) {
  switch (r->profile.table_units) {
  case FETTLE_NC_UNITS_MM:
    return 1.0;
  case FETTLE_NC_UNITS_INCH:
    return NC_MM_PER_INCH;
  default:
    return nc_unit(r);
  }
}

double nc_zero(const nc_reader *r, int axis) {
  return r->state.origin[axis] + r->state.shift[axis] + (axis == NC_Z ? r->state.length : 0.0);
}

static double word(const nc_reader *r, char letter) {
  return r->block.value[letter - 'a'];
}

static size_t column(const nc_reader *r, char letter) {
  return r->block.column[letter - 'a'];
}

bool nc_length_word(nc_reader *r, char letter, double *mm) {
  const uint32_t bit = NC_BIT(letter);
  double value = word(r, letter);
  if ((r->block.whole & bit) && value != 0.0) {
    const bool inch = r->state.units == FETTLE_NC_UNITS_INCH;
    const double step = !r->profile.whole_is_increment ? 1.0
                        : inch                         ? r->profile.increment_inch
                                                       : r->profile.increment_mm;
    if (!r->whole_told) {
      r->whole_told = true;
      nc_find(r, FETTLE_NC_WHOLE_NUMBER, column(r, letter),
              "%c%s has no decimal point and is read as %s %s; so are all such numbers",
              letter - 'a' + 'A', nc_show(value).text, nc_show(value * step).text,
              inch ? "in" : "mm");
    }
    value *= step;
  }
  *mm = value * nc_unit(r);
  if (!(fabs(*mm) <= NC_COORDINATE_MOST)) {
    return nc_find(r, FETTLE_NC_VALUE_RANGE, column(r, letter), "%c = %s mm: must lie within %s mm",
                   letter - 'a' + 'A', nc_show(*mm).text, nc_show(NC_COORDINATE_MOST).text);
  }
  return true;
}

static const char axis_letters[FETTLE_NC_AXES] = {'x', 'y', 'z', 'a', 'b', 'c'};

static uint8_t axes_given(const nc_reader *r) {
  uint8_t axes = 0;
  for (int axis = 0; axis < FETTLE_NC_AXES; axis++) {
    if (nc_has(r, axis_letters[axis])) {
      axes = (uint8_t)(axes | 1U << axis);
    }
  }
  return axes;
}

static bool axis_word(nc_reader *r, int axis, double *value) {
  if (axis < 3) {
    return nc_length_word(r, axis_letters[axis], value);
  }
  *value = word(r, axis_letters[axis]);
  return fabs(*value) <= NC_COORDINATE_MOST ||
         nc_find(r, FETTLE_NC_VALUE_RANGE, column(r, axis_letters[axis]),
                 "an angle must lie within %s degrees", nc_show(NC_COORDINATE_MOST).text);
}

bool nc_target(nc_reader *r, double target[FETTLE_NC_AXES], uint8_t *axes, bool machine) {
  *axes = axes_given(r);
  memcpy(target, r->machine, sizeof r->machine);
  for (int axis = 0; axis < FETTLE_NC_AXES; axis++) {
    double value = 0.0;
    if (!(*axes & 1U << axis)) {
      continue;
    }
    if (!axis_word(r, axis, &value)) {
      return false;
    }
    target[axis] = machine                ? value
                   : r->state.incremental ? r->machine[axis] + value
                                          : nc_zero(r, axis) + value;
    if (!(fabs(target[axis]) <= NC_COORDINATE_MOST)) {
      return nc_find(r, FETTLE_NC_VALUE_RANGE, column(r, axis_letters[axis]),
                     "this leads to machine position %s: must lie within %s",
                     nc_show(target[axis]).text, nc_show(NC_COORDINATE_MOST).text);
    }
  }
  return true;
}

/* --- checks before anything is done --- */

static bool group0_uses_axes(int code) {
  return code == 100 || code == 280 || code == 300 || code == 920;
}

/* The motion that this line makes: code times ten, or -1. */
static bool choose_motion(nc_reader *r, int *motion) {
  const nc_block *b = &r->block;
  const int none = b->g[NC_GROUP_NONE];
  const int given = b->g[NC_GROUP_MOTION];
  const uint8_t axes = axes_given(r);
  const bool offsets = r->profile.full_circle_without_axes &&
                       (b->has & (NC_BIT('i') | NC_BIT('j') | NC_BIT('k'))) != 0;
  *motion = -1;
  if (group0_uses_axes(none)) {
    if (given >= 0 && !(given == 800 && r->profile.modal_without_axes) &&
        !(r->profile.modal_without_axes && axes == 0)) {
      return nc_find(r, FETTLE_NC_CODES_CLASH, b->g_column[NC_GROUP_MOTION],
                     "G%s and G%s both want the axis words", nc_show(none / 10.0).text,
                     nc_show(given / 10.0).text);
    }
    return true;
  }
  if (given == 800 && axes != 0) {
    return nc_find(r, FETTLE_NC_CODES_CLASH, b->g_column[NC_GROUP_MOTION],
                   "G80 ends all motion: axis words may not stand beside it");
  }
  const int mode = given >= 0 ? given : r->state.motion;
  const bool arc = mode == 20 || mode == 30;
  if (axes == 0 && !(arc && offsets)) {
    if (given >= 0 && given != 800 && !r->profile.modal_without_axes) {
      return nc_find(r, FETTLE_NC_WORD_MISSING, b->g_column[NC_GROUP_MOTION],
                     "G%s needs at least one axis word", nc_show(given / 10.0).text);
    }
    return true;
  }
  if (mode < 0 || mode == 800) {
    if (axes == 0) {
      return true; /* the offset words are reported below */
    }
    int axis = 0;
    while (!(axes & 1U << axis)) {
      axis++;
    }
    return nc_find(r, FETTLE_NC_WORD_UNUSED, column(r, axis_letters[axis]),
                   "%c: no motion is in force (%s)", axis_letters[axis] - 'a' + 'A',
                   mode < 0 ? "none was ever stated" : "G80");
  }
  *motion = mode;
  return true;
}

static bool has_m(const nc_reader *r, int code) {
  for (unsigned i = 0; i < r->block.m_count; i++) {
    if (r->block.m[i] == code) {
      return true;
    }
  }
  return false;
}

static bool check_words(nc_reader *r, int motion) {
  const nc_block *b = &r->block;
  const int none = b->g[NC_GROUP_NONE];
  uint32_t used = b->profile_letters | NC_BIT('f') | NC_BIT('s') | NC_BIT('t') | NC_BIT('x') |
                  NC_BIT('y') | NC_BIT('z') | NC_BIT('a') | NC_BIT('b') | NC_BIT('c');
  used |= none == 40 ? NC_BIT('p') : 0;
  used |= none == 100 ? NC_BIT('l') | NC_BIT('p') : 0;
  used |= b->g[NC_GROUP_LENGTH] == 430 ? NC_BIT('h') : 0;
  const int compensation = b->g[NC_GROUP_COMPENSATION];
  used |= compensation == 410 || compensation == 420 ? NC_BIT('d') : 0;
  used |= has_m(r, 98) ? NC_BIT('p') | NC_BIT('l') : 0;
  if (motion == 20 || motion == 30) {
    used |= NC_BIT('i') | NC_BIT('j') | NC_BIT('k') | NC_BIT('r');
  } else if (motion >= 730 && motion != 800) {
    used |= NC_BIT('r') | NC_BIT('l');
    used |= motion == 830 || motion == 730 ? NC_BIT('q') : 0;
    used |= motion == 820 || motion == 860 || motion == 880 || motion == 890 ? NC_BIT('p') : 0;
    used |= motion == 870 ? NC_BIT('i') | NC_BIT('j') | NC_BIT('k') : 0;
  }
  for (int i = 0; i < 26; i++) {
    const char letter = (char)('a' + i);
    if (b->has & ~used & NC_BIT(letter)) {
      return nc_find(r, FETTLE_NC_WORD_UNUSED, column(r, letter),
                     "%c: no code on this line takes it", letter - 'a' + 'A');
    }
  }
  return true;
}

static unsigned slots(const nc_reader *r) {
  return r->setup.slots > 0 ? r->setup.slots : 9999;
}

static bool slot_word(nc_reader *r, char letter, int *slot) {
  const double value = word(r, letter);
  const double near = round(value);
  if (!(fabs(value - near) <= 1e-4 && near >= 0.0 && near <= (double)slots(r))) {
    return nc_find(r, FETTLE_NC_VALUE_RANGE, column(r, letter),
                   "%c%s: must be a whole number from 0 to %u", letter - 'a' + 'A',
                   nc_show(value).text, slots(r));
  }
  *slot = (int)near;
  return true;
}

/* --- the steps --- */

static bool not_while_compensating(nc_reader *r, const char *what, size_t at) {
  return r->state.compensation == 40 ||
         nc_find(r, FETTLE_NC_COMPENSATION_IMPOSSIBLE, at,
                 "%s may not stand while radius compensation is on: cancel it with G40 first",
                 what);
}

static void change_tool(nc_reader *r) {
  r->state.tool = r->state.next_tool;
  r->state.spindle_turns = 5;
  nc_send_kind(r, FETTLE_NC_TOOL_CHANGE, 6, 0.0);
}

static bool do_feed_speed_tool(nc_reader *r) {
  const nc_block *b = &r->block;
  fettle_nc_state *s = &r->state;
  if (b->g[NC_GROUP_FEED] >= 0) {
    const bool inverse = b->g[NC_GROUP_FEED] == 930;
    if (inverse != s->inverse_time) {
      s->feed = 0.0; /* a number of one mode means nothing in the other */
    }
    s->inverse_time = inverse;
  }
  static const char limited[] = {'f', 's'};
  for (size_t i = 0; i < sizeof limited; i++) {
    const char letter = limited[i];
    if (nc_has(r, letter) && !(word(r, letter) >= 0.0 && word(r, letter) <= 1e9)) {
      return nc_find(r, FETTLE_NC_VALUE_RANGE, column(r, letter),
                     "%c = %s: must be 0 to 1000000000", letter - 'a' + 'A',
                     nc_show(word(r, letter)).text);
    }
  }
  if (nc_has(r, 'f')) {
    s->feed = word(r, 'f');
    s->feed_units = b->g[NC_GROUP_UNITS] < 0 ? s->units
                    : b->g[NC_GROUP_UNITS] == 200 || b->g[NC_GROUP_UNITS] == 700
                        ? FETTLE_NC_UNITS_INCH
                        : FETTLE_NC_UNITS_MM;
  }
  bool spindle = false;
  if (nc_has(r, 's')) {
    spindle = s->spindle_turns != 5 && s->spindle != word(r, 's');
    s->spindle = word(r, 's');
  }
  if (nc_has(r, 't') && !slot_word(r, 't', &s->next_tool)) {
    return false;
  }
  if (has_m(r, 6)) {
    change_tool(r);
    spindle = false;
  }
  for (int code = 3; code <= 5; code++) {
    if (has_m(r, code)) {
      spindle = true;
      s->spindle_turns = code;
    }
  }
  if (r->profile.rigid_tapping > 0 && has_m(r, r->profile.rigid_tapping)) {
    spindle = true;
    s->spindle_turns = 3;
  }
  if (spindle) {
    nc_send_kind(r, FETTLE_NC_SPINDLE, s->spindle_turns, 0.0);
  }
  s->mist = (s->mist || has_m(r, 7)) && !has_m(r, 9);
  s->flood = (s->flood || has_m(r, 8)) && !has_m(r, 9);
  s->overrides = (s->overrides || has_m(r, 48)) && !has_m(r, 49);
  return r->status == FETTLE_OK;
}

static bool do_dwell(nc_reader *r) {
  if (r->block.g[NC_GROUP_NONE] != 40) {
    return true;
  }
  if (!nc_has(r, 'p')) {
    return nc_find(r, FETTLE_NC_WORD_MISSING, r->block.g_column[NC_GROUP_NONE],
                   "G4 needs the seconds: P");
  }
  const double seconds = word(r, 'p');
  if (!(seconds >= 0.0 && seconds <= 1e7)) {
    return nc_find(r, FETTLE_NC_VALUE_RANGE, column(r, 'p'), "P = %s s: must be 0 to 10000000",
                   nc_show(seconds).text);
  }
  nc_send_kind(r, FETTLE_NC_DWELL, 0, seconds);
  return r->status == FETTLE_OK;
}

static bool any_offset(const nc_reader *r) {
  bool any = r->state.length != 0.0;
  for (int axis = 0; axis < 3; axis++) {
    any = any || r->state.origin[axis] != 0.0 || r->state.shift[axis] != 0.0;
  }
  return any;
}

static bool do_plane_units(nc_reader *r) {
  const nc_block *b = &r->block;
  fettle_nc_state *s = &r->state;
  const int plane = b->g[NC_GROUP_PLANE];
  if (plane >= 0) {
    if (plane / 10 != s->plane &&
        !not_while_compensating(r, "a change of plane", b->g_column[NC_GROUP_PLANE])) {
      return false;
    }
    s->plane = plane / 10;
    s->plane_stated = true;
  }
  const int code = b->g[NC_GROUP_UNITS];
  if (code >= 0) {
    if (!not_while_compensating(r, "a change of units", b->g_column[NC_GROUP_UNITS])) {
      return false;
    }
    const fettle_nc_units units =
        code == 200 || code == 700 ? FETTLE_NC_UNITS_INCH : FETTLE_NC_UNITS_MM;
    if (s->units_stated && units != s->units && r->profile.table_units == FETTLE_NC_UNITS_NONE &&
        any_offset(r)) {
      nc_find(r, FETTLE_NC_OFFSET_OTHER_UNITS, b->g_column[NC_GROUP_UNITS],
              "units change while offsets are set: stored origins and lengths keep their numbers "
              "and are read in the new units when they are used next");
    }
    s->units = units;
    s->units_stated = true;
  }
  return true;
}

static bool do_compensation(nc_reader *r) {
  const int code = r->block.g[NC_GROUP_COMPENSATION];
  const size_t at = r->block.g_column[NC_GROUP_COMPENSATION];
  int slot = 0;
  if (code < 0) {
    return true;
  }
  if (code == 400) {
    r->state.compensation = 40;
    return true;
  }
  if (r->state.compensation != 40) {
    return nc_find(r, FETTLE_NC_COMPENSATION_IMPOSSIBLE, at,
                   "radius compensation is on already: cancel it with G40 first");
  }
  if (r->state.plane != 17) {
    return nc_find(r, FETTLE_NC_COMPENSATION_IMPOSSIBLE, at,
                   "radius compensation works in the XY plane (G17) only; G%d is in force",
                   r->state.plane);
  }
  if (nc_has(r, 'd') && !slot_word(r, 'd', &slot)) {
    return false;
  }
  r->state.compensation = code / 10;
  nc_find(r, FETTLE_NC_COMPENSATION_PROGRAMMED, at,
          "the programmed path is given while radius compensation is on: allow for the cutter's "
          "radius on either side");
  return true;
}

static bool do_length(nc_reader *r) {
  const int code = r->block.g[NC_GROUP_LENGTH];
  int slot = 0;
  if (code < 0) {
    return true;
  }
  if (code == 430) {
    if (!nc_has(r, 'h')) {
      return nc_find(r, FETTLE_NC_WORD_MISSING, r->block.g_column[NC_GROUP_LENGTH],
                     "G43 needs the number of the length: H");
    }
    if (!slot_word(r, 'h', &slot)) {
      return false;
    }
  }
  double length = 0.0;
  if (slot > 0) {
    if ((size_t)slot < r->setup.tool_count && r->setup.tools[slot].stated) {
      length = r->setup.tools[slot].length * nc_table_unit(r);
    } else {
      nc_find(r, FETTLE_NC_LENGTH_NOT_STATED, column(r, 'h'),
              "length H%d is not stated: read as 0, so machine Z is that of the tip", slot);
    }
  }
  r->state.length_slot = slot;
  r->state.length = length;
  nc_send_kind(r, FETTLE_NC_STATE, code / 10, 0.0);
  return r->status == FETTLE_OK;
}

static void take_origin(nc_reader *r) {
  for (int axis = 0; axis < FETTLE_NC_AXES; axis++) {
    r->state.origin[axis] = r->parameters[5221 + 20 * (r->state.system - 1) + axis] *
                            (axis < 3 ? nc_table_unit(r) : 1.0);
  }
}

static bool do_system(nc_reader *r) {
  const int code = r->block.g[NC_GROUP_SYSTEM];
  if (code < 0) {
    return true;
  }
  if (!not_while_compensating(r, "a change of coordinate system",
                              r->block.g_column[NC_GROUP_SYSTEM])) {
    return false;
  }
  r->state.system = code <= 590 ? code / 10 - 53 : 6 + code % 10;
  r->state.system_stated = true;
  r->parameters[5220] = r->state.system;
  take_origin(r);
  for (int axis = 0; axis < FETTLE_NC_AXES; axis++) {
    if (!isfinite(r->state.origin[axis]) || fabs(r->state.origin[axis]) > NC_COORDINATE_MOST) {
      r->state.origin[axis] = 0.0;
      return nc_find(r, FETTLE_NC_VALUE_RANGE, r->block.g_column[NC_GROUP_SYSTEM],
                     "the origin of this system lies beyond %s mm",
                     nc_show(NC_COORDINATE_MOST).text);
    }
  }
  nc_send_kind(r, FETTLE_NC_STATE, code / 10, 0.0);
  return r->status == FETTLE_OK;
}

static void do_modes(nc_reader *r) {
  const nc_block *b = &r->block;
  if (b->g[NC_GROUP_PATH] >= 0) {
    r->state.path_control = b->g[NC_GROUP_PATH];
  }
  if (b->g[NC_GROUP_DISTANCE] >= 0) {
    r->state.incremental = b->g[NC_GROUP_DISTANCE] == 910;
  }
  if (b->g[NC_GROUP_RETURN] >= 0) {
    r->state.return_to_clear = b->g[NC_GROUP_RETURN] == 990;
  }
}

static bool do_home(nc_reader *r, int code) {
  double target[FETTLE_NC_AXES] = {0.0};
  uint8_t axes = 0;
  const char *name = code == 280 ? "G28" : "G30";
  if (!not_while_compensating(r, name, r->block.g_column[NC_GROUP_NONE]) ||
      !nc_target(r, target, &axes, false) || !nc_straight(r, FETTLE_NC_RAPID, target, axes)) {
    return false;
  }
  const uint8_t home = r->profile.home_programmed_axes && axes != 0 ? axes : NC_ALL_AXES;
  memcpy(target, r->machine, sizeof target);
  for (int axis = 0; axis < FETTLE_NC_AXES; axis++) {
    if (home & 1U << axis) {
      target[axis] =
          r->parameters[(code == 280 ? 5161 : 5181) + axis] * (axis < 3 ? nc_table_unit(r) : 1.0);
      if (!(fabs(target[axis]) <= NC_COORDINATE_MOST)) {
        return nc_find(r, FETTLE_NC_VALUE_RANGE, r->block.g_column[NC_GROUP_NONE],
                       "the stored home lies beyond %s mm", nc_show(NC_COORDINATE_MOST).text);
      }
    }
  }
  r->unknown &= (uint8_t)~home; /* home is a place of the machine */
  const uint8_t frame = r->frame_unknown;
  r->frame_unknown = 0;
  const bool done = nc_straight(r, FETTLE_NC_RAPID, target, home);
  r->frame_unknown = frame;
  return done;
}

static bool do_set_origin(nc_reader *r) {
  const double list = nc_has(r, 'l') ? word(r, 'l') : 0.0;
  const double number = nc_has(r, 'p') ? word(r, 'p') : 0.0;
  if (fabs(list - 2.0) > 1e-4) {
    return nc_find(r, FETTLE_NC_NOT_ALLOWED, r->block.g_column[NC_GROUP_NONE],
                   "G10 sets origins only: L2 with P1 to P9");
  }
  if (!(number >= 1.0 - 1e-4 && number <= FETTLE_NC_SYSTEMS + 1e-4 &&
        fabs(number - round(number)) <= 1e-4)) {
    return nc_find(r, FETTLE_NC_VALUE_RANGE, column(r, 'p'),
                   "P%s: a coordinate system is a whole number from 1 to %d", nc_show(number).text,
                   FETTLE_NC_SYSTEMS);
  }
  const int system = (int)lround(number);
  for (int axis = 0; axis < FETTLE_NC_AXES; axis++) {
    double value = 0.0;
    if (!nc_has(r, axis_letters[axis])) {
      continue;
    }
    if (!axis_word(r, axis, &value)) {
      return false;
    }
    r->parameters[5221 + 20 * (system - 1) + axis] = axis < 3 ? value / nc_table_unit(r) : value;
  }
  if (system == r->state.system) {
    if (!not_while_compensating(r, "a change of the origin", r->block.g_column[NC_GROUP_NONE])) {
      return false;
    }
    take_origin(r);
  }
  nc_send_kind(r, FETTLE_NC_STATE, 10, 0.0);
  return r->status == FETTLE_OK;
}

static bool do_shift(nc_reader *r, int code) {
  if (!not_while_compensating(r, "G92", r->block.g_column[NC_GROUP_NONE])) {
    return false;
  }
  if (code == 920 && axes_given(r) == 0) {
    return nc_find(r, FETTLE_NC_WORD_MISSING, r->block.g_column[NC_GROUP_NONE],
                   "G92 needs at least one axis word");
  }
  for (int axis = 0; axis < FETTLE_NC_AXES; axis++) {
    double *shift = &r->state.shift[axis];
    double *stored = &r->parameters[5211 + axis];
    const double unit = axis < 3 ? nc_table_unit(r) : 1.0;
    double value = 0.0;
    if (code == 920) {
      if (nc_has(r, axis_letters[axis])) {
        if (!axis_word(r, axis, &value)) {
          return false;
        }
        *shift += r->machine[axis] - nc_zero(r, axis) - value;
        r->frame_unknown = (uint8_t)(r->frame_unknown | (r->unknown & 1U << axis));
      }
      *stored = *shift / unit;
    } else if (code == 923) {
      *shift = *stored * unit;
      if (!(fabs(*shift) <= NC_COORDINATE_MOST)) {
        *shift = 0.0;
        return nc_find(r, FETTLE_NC_VALUE_RANGE, r->block.g_column[NC_GROUP_NONE],
                       "the stored offset lies beyond %s mm", nc_show(NC_COORDINATE_MOST).text);
      }
    } else {
      *shift = 0.0;
      *stored = code == 921 ? 0.0 : *stored;
    }
  }
  nc_send_kind(r, FETTLE_NC_STATE, code / 10, 0.0);
  return r->status == FETTLE_OK;
}

static bool do_group0(nc_reader *r) {
  const int code = r->block.g[NC_GROUP_NONE];
  switch (code) {
  case 100:
    return do_set_origin(r);
  case 280:
  case 300:
    return do_home(r, code);
  case 920:
  case 921:
  case 922:
  case 923:
    return do_shift(r, code);
  default:
    return true;
  }
}

static void finish(nc_reader *r, int code) {
  fettle_nc_state *s = &r->state;
  if (s->incremental || s->inverse_time || s->compensation != 40) {
    nc_find(r, FETTLE_NC_MODE_LEFT, 0, "%s still in force at the end of the program",
            s->compensation != 40 ? "radius compensation is"
            : s->incremental      ? "G91 is"
                                  : "G93 is");
  }
  nc_send_kind(r, FETTLE_NC_END, code, 0.0);
  memset(s->shift, 0, sizeof s->shift);
  s->system = 1;
  r->parameters[5220] = 1;
  take_origin(r);
  s->plane = 17;
  s->incremental = s->inverse_time = s->mist = s->flood = false;
  s->overrides = true;
  s->compensation = 40;
  s->spindle_turns = 5;
  s->motion = 10;
  r->ended = r->summary->ended = true;
}

static bool do_stops(nc_reader *r) {
  static const int codes[] = {0, 1, 60};
  for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++) {
    if (has_m(r, codes[i])) {
      nc_send_kind(r, FETTLE_NC_STOP, codes[i], 0.0);
    }
  }
  if (has_m(r, 2) || has_m(r, 30)) {
    finish(r, has_m(r, 2) ? 2 : 30);
  }
  return r->status == FETTLE_OK;
}

bool nc_execute(nc_reader *r) {
  const nc_block *b = &r->block;
  int motion = -1;
  const bool checked = choose_motion(r, &motion) && check_words(r, motion);
  if (checked) {
    for (unsigned i = 0; i < b->setting_count; i++) {
      r->parameters[b->setting_index[i]] = b->setting_value[i];
    }
  }
  if (!checked) {
    return false;
  }
  if (b->frame_clear && r->frame_unknown) {
    r->frame_unknown = 0;
  }
  const int machine = b->g[NC_GROUP_NONE] == 530;
  if (machine && motion != 0 && motion != 10) {
    return nc_find(r, FETTLE_NC_NOT_ALLOWED, b->g_column[NC_GROUP_NONE],
                   "G53 goes with G0 or G1 and axis words only");
  }
  if (!do_feed_speed_tool(r) || !do_dwell(r) || !do_plane_units(r) || !do_compensation(r) ||
      !do_length(r) || !do_system(r)) {
    return false;
  }
  do_modes(r);
  if (machine && r->state.incremental) {
    return nc_find(r, FETTLE_NC_NOT_ALLOWED, b->g_column[NC_GROUP_NONE],
                   "G53 goes with G90 only; G91 is in force");
  }
  if (b->cancel_cycle) {
    r->cycle_has = 0;
  }
  if (!do_group0(r)) {
    return false;
  }
  if (b->g[NC_GROUP_MOTION] >= 0) {
    if (b->g[NC_GROUP_MOTION] != r->state.motion) {
      r->cycle_has = 0;
    }
    r->state.motion = b->g[NC_GROUP_MOTION];
    if (r->state.motion <= 30) {
      r->motion_apart = r->state.motion;
    } else if (r->state.motion == 800 && r->profile.cycles_apart) {
      r->state.motion = r->motion_apart;
    }
  }
  if (motion >= 0 && !nc_move(r, motion)) {
    return false;
  }
  return do_stops(r);
}
