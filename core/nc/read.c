/* nc/read.c - the run of a program: lines in the order in which they are carried out, findings. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "fettle/quantity.h"
#include "nc/internal.h"

nc_number nc_show(double value) {
  nc_number shown;
  fettle_number_format(value, 8, shown.text, sizeof shown.text);
  return shown;
}

bool nc_poll(nc_reader *r) {
  if (r->host->poll && r->host->poll(r->host->context, -1.0, "reading the program") != 0) {
    r->status = fettle_fail(r->diagnostic, FETTLE_ERROR_CANCELLED, NULL, "cancelled");
  }
  return r->status == FETTLE_OK;
}

void nc_send(nc_reader *r, fettle_nc_event *event) {
  event->line = r->line;
  event->number = r->block.number;
  event->text = r->text;
  event->text_length = r->length;
  event->state = &r->state;
  event->plane = r->state.plane;
  event->cycle = r->cycle_now;
  r->summary->motions += event->kind <= FETTLE_NC_PROBE;
  if (r->request->event(r->request->context, event) != 0 && r->status == FETTLE_OK) {
    r->status = fettle_fail(r->diagnostic, FETTLE_ERROR_CANCELLED, NULL, "cancelled");
  }
}

void nc_send_kind(nc_reader *r, fettle_nc_event_kind kind, int code, double seconds) {
  fettle_nc_event event = {.kind = kind,
                           .code = code,
                           .seconds = seconds,
                           .from_unknown = r->unknown,
                           .to_unknown = r->unknown};
  memcpy(event.from, r->machine, sizeof event.from);
  memcpy(event.to, r->machine, sizeof event.to);
  nc_send(r, &event);
}

static fettle_nc_severity severity_of(fettle_nc_finding_kind kind) {
  switch (kind) {
  case FETTLE_NC_WHOLE_NUMBER:
  case FETTLE_NC_BLANK_IN_NUMBER:
  case FETTLE_NC_BYTE_ORDER_MARK:
  case FETTLE_NC_LENGTH_NOT_STATED:
    return FETTLE_NC_NOTE;
  case FETTLE_NC_UNITS_NOT_STATED:
  case FETTLE_NC_LONG_LINE:
  case FETTLE_NC_FEED_OTHER_UNITS:
  case FETTLE_NC_OFFSET_OTHER_UNITS:
  case FETTLE_NC_ARC_DOUBTFUL:
  case FETTLE_NC_COMPENSATION_PROGRAMMED:
  case FETTLE_NC_POSITION_UNKNOWN:
  case FETTLE_NC_MODE_LEFT:
    return FETTLE_NC_WARN;
  default:
    return FETTLE_NC_STOP_WORK;
  }
}

bool nc_find(nc_reader *r, fettle_nc_finding_kind kind, size_t column, const char *format, ...) {
  fettle_nc_finding finding = {.kind = kind, .severity = severity_of(kind)};
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(finding.message, sizeof finding.message, format, arguments);
  va_end(arguments);
  const bool error = kind <= FETTLE_NC_NO_SUBPROGRAM;
  r->failed = r->failed || error;
  r->summary->errors += error;
  if (r->summary->findings[kind]++ < NC_FINDINGS_SHOWN) {
    fettle_nc_event event = {.kind = FETTLE_NC_FINDING,
                             .column = column,
                             .finding = &finding,
                             .from_unknown = r->unknown,
                             .to_unknown = r->unknown};
    memcpy(event.from, r->machine, sizeof event.from);
    memcpy(event.to, r->machine, sizeof event.to);
    nc_send(r, &event);
  }
  if (error && !r->profile.go_on && r->status == FETTLE_OK) {
    r->status = fettle_fail(r->diagnostic, FETTLE_ERROR_TEXT, "program",
                            "line %llu, column %zu: %s: %s", (unsigned long long)r->line, column,
                            fettle_nc_finding_name(kind), finding.message);
    if (r->diagnostic) {
      r->diagnostic->column = column;
      r->diagnostic->value = (double)r->line;
    }
  }
  return false;
}

/* After a line that was not carried out and may have moved the machine. */
static void doubt_position(nc_reader *r) {
  bool moves = false, comment = false;
  for (size_t i = 0; i < r->length && !moves; i++) {
    const char c = r->text[i];
    comment = c == '(' || (comment && c != ')');
    moves = !comment && c != '\0' && strchr("xyzabcgXYZABCG", c) != NULL;
  }
  if (r->block.frame_doubt) {
    r->frame_unknown = NC_ALL_AXES;
  }
  if ((moves || r->line_cut) && r->unknown != NC_ALL_AXES) {
    r->unknown = NC_ALL_AXES;
    nc_find(r, FETTLE_NC_POSITION_UNKNOWN, 0,
            "this line is not carried out: the position is unknown until each axis is stated "
            "anew%s",
            r->frame_unknown ? ", and program zero until what moved it is cancelled" : "");
  }
}

/* A line of only a percent sign, or one with text behind it where the profile has that. */
static bool is_percent(const nc_reader *r) {
  size_t at = 0;
  while (at < r->length && (r->text[at] == ' ' || r->text[at] == '\t')) {
    at++;
  }
  if (at == r->length || r->text[at] != '%') {
    return false;
  }
  for (at++; at < r->length && !r->profile.program_numbers; at++) {
    if (r->text[at] != ' ' && r->text[at] != '\t') {
      return false;
    }
  }
  return true;
}

static bool is_blank(const nc_reader *r) {
  for (size_t i = 0; i < r->length; i++) {
    if (r->text[i] != ' ' && r->text[i] != '\t') {
      return false;
    }
  }
  return true;
}

static void call(nc_reader *r) {
  const double number = r->block.value['p' - 'a'];
  const double repeats = nc_has(r, 'l') ? r->block.value['l' - 'a'] : 1.0;
  nc_label label;
  if (!nc_has(r, 'p')) {
    nc_find(r, FETTLE_NC_WORD_MISSING, 1, "M98 needs the number of the subprogram: P");
  } else if (!(number >= 0.0 && number < 1e8 && number == (double)(long)number && repeats >= 1.0 &&
               repeats <= 1e9 && repeats == (double)(long)repeats)) {
    nc_find(r, FETTLE_NC_VALUE_RANGE, r->block.column['p' - 'a'],
            "P and L of a call must be whole, L at least 1");
  } else if (r->call_count == NC_CALLS_MOST) {
    nc_find(r, FETTLE_NC_NO_SUBPROGRAM, 1, "calls inside each other more than %d deep",
            NC_CALLS_MOST);
  } else if (!r->request->seek) {
    nc_find(r, FETTLE_NC_NOT_FOLLOWED, 1,
            "the call is not followed: this program can be read only once");
    r->unknown = NC_ALL_AXES;
  } else if (!nc_find_label(r, (long)number, &label)) {
    if (r->status == FETTLE_OK) {
      nc_find(r, FETTLE_NC_NO_SUBPROGRAM, r->block.column['p' - 'a'],
              "there is no program O%ld in this file: the call is not followed", (long)number);
      r->unknown = NC_ALL_AXES;
    }
  } else {
    r->calls[r->call_count++] = (nc_call){.back_offset = nc_offset(r),
                                          .back_line = r->line,
                                          .start_offset = label.offset,
                                          .start_line = label.line,
                                          .repeats_left = (uint64_t)repeats - 1};
    nc_go_to(r, label.offset, label.line);
  }
}

static void go_back(nc_reader *r) {
  if (r->call_count == 0) {
    nc_find(r, FETTLE_NC_NOT_FOLLOWED, 1,
            "M99 in the main program starts it again from its head: not followed, reading ends "
            "here");
    r->ended = true;
    return;
  }
  nc_call *top = &r->calls[r->call_count - 1];
  if (top->repeats_left > 0) {
    top->repeats_left--;
    nc_go_to(r, top->start_offset, top->start_line);
  } else {
    r->call_count--;
    nc_go_to(r, top->back_offset, top->back_line);
  }
}

static void run_line(nc_reader *r) {
  nc_block *b = &r->block;
  const bool read = nc_read_block(r);
  if (r->status != FETTLE_OK) {
    return;
  }
  if (b->comment) {
    fettle_nc_event event = {.kind = b->message ? FETTLE_NC_MESSAGE : FETTLE_NC_COMMENT,
                             .column = b->comment_at + 1};
    memcpy(event.from, r->machine, sizeof event.from);
    memcpy(event.to, r->machine, sizeof event.to);
    event.from_unknown = event.to_unknown = r->unknown;
    nc_send(r, &event);
  }
  if (!read || b->doubtful) {
    if (r->failed || b->doubtful) {
      doubt_position(r);
    }
    return;
  }
  if (!nc_execute(r)) {
    if (r->status == FETTLE_OK) {
      doubt_position(r);
    }
    return;
  }
  for (unsigned i = 0; i < b->m_count && r->status == FETTLE_OK; i++) {
    if (b->m[i] == 98) {
      call(r);
    } else if (b->m[i] == 99) {
      go_back(r);
    }
  }
}

static void run(nc_reader *r) {
  bool percent = false, first = true;
  while (r->status == FETTLE_OK && !r->ended && nc_next_line(r)) {
    r->failed = false;
    r->block.number = -1;
    r->summary->lines++;
    if (++r->blocks % NC_POLL_EVERY == 0 && !nc_poll(r)) {
      return;
    }
    if (r->blocks > NC_BLOCKS_MOST) {
      nc_find(r, FETTLE_NC_NO_SUBPROGRAM, 1,
              "more than %d lines are carried out: reading ends here", NC_BLOCKS_MOST);
      r->ended = true;
      return;
    }
    if (r->line_cut || r->length >= r->profile.line_limit) {
      r->block.frame_doubt = false;
      nc_find(r, FETTLE_NC_LINE_TOO_LONG, 1,
              "a line of %zu bytes or more is not read: write it as several",
              r->profile.line_limit);
      if (r->status == FETTLE_OK) {
        doubt_position(r);
      }
      continue;
    }
    if (r->length >= 256 && !r->long_told) {
      r->long_told = true;
      nc_find(r, FETTLE_NC_LONG_LINE, 1, "controls may refuse lines of 256 bytes and more");
    }
    if (first && is_blank(r)) {
      continue;
    }
    if ((first || percent) && is_percent(r)) {
      if (percent && r->call_count == 0) {
        r->ended = r->summary->ended = true;
      }
      percent = true;
      first = false;
      continue;
    }
    first = false;
    run_line(r);
  }
  if (r->status == FETTLE_OK && !r->ended) {
    r->line++;
    r->text = r->buffer;
    r->length = 0;
    r->block.number = -1;
    nc_find(r, FETTLE_NC_NO_END, 1, "%s",
            r->call_count > 0 ? "the file ends inside a subprogram: M99 is missing"
            : percent         ? "the second percent sign is missing, and M2 or M30 too"
                              : "the file ends without M2 or M30");
  }
}

static bool bad_number(double value, double low) {
  return !(value >= low && value <= NC_COORDINATE_MOST);
}

static fettle_status check(const nc_reader *r) {
  const fettle_nc_profile *p = &r->profile;
  if (p->line_limit < 1 || p->line_limit > FETTLE_NC_LINE_MOST || p->number_digits > 9) {
    return fettle_fail(r->diagnostic, FETTLE_ERROR_ARGUMENT, "profile",
                       "profile: line_limit must be 1 to %d, number_digits at most 9",
                       FETTLE_NC_LINE_MOST);
  }
  if (bad_number(p->arc_tolerance_mm, 0) || bad_number(p->arc_tolerance_inch, 0) ||
      bad_number(p->lift_mm, 0) || bad_number(p->lift_inch, 0) ||
      bad_number(p->increment_mm, 1e-9) || bad_number(p->increment_inch, 1e-9)) {
    return fettle_fail(r->diagnostic, FETTLE_ERROR_ARGUMENT, "profile",
                       "profile: tolerances and lifts must be 0 or more, increments above 0");
  }
  for (int axis = 0; axis < FETTLE_NC_AXES; axis++) {
    bool bad = bad_number(r->setup.start[axis], -NC_COORDINATE_MOST) ||
               bad_number(r->setup.home[axis], -NC_COORDINATE_MOST) ||
               bad_number(r->setup.second_home[axis], -NC_COORDINATE_MOST);
    for (int system = 0; system < FETTLE_NC_SYSTEMS; system++) {
      bad = bad || bad_number(r->setup.origin[system][axis], -NC_COORDINATE_MOST);
    }
    if (bad) {
      return fettle_fail(r->diagnostic, FETTLE_ERROR_ARGUMENT, "setup",
                         "setup: start, home and origins must lie within 1000000");
    }
  }
  for (size_t i = 0; i < r->setup.tool_count; i++) {
    if (r->setup.tools[i].stated && (bad_number(r->setup.tools[i].length, -NC_COORDINATE_MOST) ||
                                     bad_number(r->setup.tools[i].diameter, -NC_COORDINATE_MOST))) {
      return fettle_fail(r->diagnostic, FETTLE_ERROR_ARGUMENT, "setup",
                         "setup: length and diameter of tool %zu must lie within 1000000", i);
    }
  }
  return FETTLE_OK;
}

static void prepare(nc_reader *r) {
  const fettle_nc_setup *s = &r->setup;
  r->state = (fettle_nc_state){.units = s->units,
                               .plane = 17,
                               .motion = -1,
                               .spindle_turns = 5,
                               .tool = -1,
                               .next_tool = -1,
                               .system = 1,
                               .compensation = 40,
                               .path_control = 640,
                               .overrides = true};
  memcpy(r->machine, s->start, sizeof r->machine);
  r->unknown = s->start_unknown & NC_ALL_AXES;
  for (int axis = 0; axis < FETTLE_NC_AXES; axis++) {
    r->parameters[5161 + axis] = s->home[axis];
    r->parameters[5181 + axis] = s->second_home[axis];
    for (int system = 0; system < FETTLE_NC_SYSTEMS; system++) {
      r->parameters[5221 + 20 * system + axis] = s->origin[system][axis];
    }
    r->state.origin[axis] = s->origin[0][axis] * (axis < 3 ? nc_table_unit(r) : 1.0);
  }
  r->parameters[5220] = 1;
  r->motion_apart = 800;
}

fettle_status fettle_nc_read(const fettle_nc_request *request, const fettle_host *host,
                             fettle_nc_summary *summary, fettle_diagnostic *diagnostic) {
  if (!request || !request->event || !summary || !host || !host->read || !host->allocate) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "request",
                       "a request with an event function, a summary and a host with memory and "
                       "bytes are needed");
  }
  enum { PARAMETER_BYTES = NC_PARAMETERS * sizeof(double) };
  const size_t size = sizeof(nc_reader) + PARAMETER_BYTES + NC_BUFFER;
  nc_reader *r = host->allocate(host->context, NULL, 0, size);
  if (!r) {
    return fettle_fail(diagnostic, FETTLE_ERROR_MEMORY, NULL, "no memory to read the program");
  }
  memset(r, 0, size);
  memset(summary, 0, sizeof *summary);
  r->request = request;
  r->host = host;
  r->profile = request->profile ? *request->profile : fettle_nc_profile_strict();
  if (request->setup) {
    r->setup = *request->setup;
  } else {
    r->setup.start_unknown = NC_ALL_AXES;
  }
  r->summary = summary;
  r->diagnostic = diagnostic;
  r->parameters = (double *)(r + 1);
  r->buffer = (char *)(r->parameters + NC_PARAMETERS);
  r->text = r->buffer;
  r->status = check(r);
  if (r->status == FETTLE_OK) {
    prepare(r);
    run(r);
  }
  summary->state = r->state;
  summary->unknown = r->unknown;
  memcpy(summary->machine, r->machine, sizeof summary->machine);
  for (int axis = 0; axis < FETTLE_NC_AXES; axis++) {
    summary->program[axis] = r->machine[axis] - nc_zero(r, axis);
  }
  const fettle_status status = r->status;
  host->allocate(host->context, r, size, 0);
  return status;
}
