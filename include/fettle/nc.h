/* fettle/nc.h - numerical control programs: what they say, and how long a machine takes.
 *
 * The reader turns a program (ISO 6983 / RS274) into events in the order in which a control carries
 * them out: motions in machine millimetres, dwells, tool changes, stops, findings. It streams: a
 * program of any size is read in constant memory. The default language is the one of Kramer,
 * Proctor, Messina, The NIST RS274NGC Interpreter, Version 3, NISTIR 6556, 2000; where a shop's
 * control differs, a profile says so. What a profile does not know is reported, never guessed.
 *
 * Lengths mm, angles of rotary axes degrees, feeds mm/min, spindle rev/min, times seconds. */
#ifndef FETTLE_NC_H
#define FETTLE_NC_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "fettle/host.h"
#include "fettle/status.h"

enum {
  FETTLE_NC_AXES = 6,         /* X Y Z A B C; also the bits of every mask of axes, X lowest */
  FETTLE_NC_SYSTEMS = 9,      /* G54 .. G59, G59.1 .. G59.3, counted from 1 */
  FETTLE_NC_LINE_MOST = 65536 /* bytes of one line */
};

typedef enum fettle_nc_units {
  FETTLE_NC_UNITS_NONE = 0, /* not stated: read as mm, with a finding */
  FETTLE_NC_UNITS_MM = 1,
  FETTLE_NC_UNITS_INCH = 2
} fettle_nc_units;

/* A code of a shop's control that does not change the path: it and its words are passed over. */
typedef struct fettle_nc_code {
  char letter;         /* 'G' or 'M' */
  double code;         /* 8, 5.1 */
  const char *letters; /* words that belong to it, lower case: "p"; static */
} fettle_nc_code;

/* The language a program is read in. Start from one of the two functions below. */
typedef struct fettle_nc_profile {
  const char *name;              /* as the report states it; borrowed */
  bool go_on;                    /* an error is a finding and reading goes on; else it ends there */
  size_t line_limit;             /* this many bytes in a line are refused, at most LINE_MOST */
  unsigned number_digits;        /* most digits of an N word */
  bool program_numbers;          /* O words, and text behind a percent sign */
  bool semicolon;                /* starts a comment to the end of the line */
  bool subprograms;              /* M98 P L calls, M99 returns, within one file */
  bool signed_values;            /* -#1 and -[2] */
  bool modal_without_axes;       /* G0 to G3 without axis words; G80 beside another motion code */
  bool home_programmed_axes;     /* G28, G30: only programmed axes go home; else all do */
  bool full_circle_without_axes; /* G2 I-10 is a full circle */
  bool cycle_73;                 /* G73 breaks the chip with a small lift */
  bool cycles_apart;             /* G80 brings the motion back that was in force before */
  int rigid_tapping;             /* M code that turns the spindle for G84, 0: none */
  bool inch_70;                  /* G70 inch, G71 mm */
  bool whole_is_increment;       /* X10 is 10 of the increments below; else 10 mm or inches */
  double increment_mm, increment_inch;
  fettle_nc_units table_units; /* of origins, home, lengths; NONE: whichever units are in force */
  double arc_tolerance_mm, arc_tolerance_inch; /* start radius against end radius */
  double lift_mm, lift_inch;                   /* G83 stops short of the last depth; G73 lifts */
  const fettle_nc_code *codes;                 /* borrowed */
  size_t code_count;
} fettle_nc_profile;

/* The language of NISTIR 6556; the first error ends reading. */
fettle_nc_profile fettle_nc_profile_strict(void);
/* What routers and mills in shops commonly read (from memory): program numbers, subprograms, home
 * of the programmed axes; errors are findings. */
fettle_nc_profile fettle_nc_profile_shop(void);

typedef struct fettle_nc_tool {
  double length, diameter; /* in table units */
  bool stated;
} fettle_nc_tool;

/* The machine as the program finds it. All zero with slots 0 is a machine of which nothing is
 * known. */
typedef struct fettle_nc_setup {
  fettle_nc_units units;                            /* in force at the start */
  double start[FETTLE_NC_AXES];                     /* machine position, mm */
  uint8_t start_unknown;                            /* mask of axes */
  bool block_delete;                                /* lines that start with / are left out */
  double origin[FETTLE_NC_SYSTEMS][FETTLE_NC_AXES]; /* of the coordinate systems, table units */
  double home[FETTLE_NC_AXES], second_home[FETTLE_NC_AXES]; /* G28, G30: machine, table units */
  const fettle_nc_tool *tools;                              /* borrowed; slot 1 is tools[1] */
  size_t tool_count;                                        /* entries of `tools` */
  unsigned slots;                                           /* largest T, H, D; 0: any up to 9999 */
} fettle_nc_setup;

typedef enum fettle_nc_event_kind {
  FETTLE_NC_RAPID,
  FETTLE_NC_LINE,
  FETTLE_NC_ARC, /* also a helix */
  FETTLE_NC_PROBE,
  FETTLE_NC_DWELL,
  FETTLE_NC_TOOL_CHANGE,
  FETTLE_NC_SPINDLE, /* started, stopped or given another speed: see the state */
  FETTLE_NC_STOP,    /* code 0, 1 or 60; 88: the operator retracts by hand to the next `from` */
  FETTLE_NC_END,     /* code 2 or 30 */
  FETTLE_NC_COMMENT,
  FETTLE_NC_MESSAGE,
  FETTLE_NC_STATE, /* offsets, lengths, system or modes changed without motion */
  FETTLE_NC_FINDING
} fettle_nc_event_kind;

typedef enum fettle_nc_severity {
  FETTLE_NC_NOTE,
  FETTLE_NC_WARN,
  FETTLE_NC_STOP_WORK
} fettle_nc_severity;

/* Kinds up to NO_SUBPROGRAM are errors. Never renumbered. */
typedef enum fettle_nc_finding_kind {
  FETTLE_NC_UNREADABLE_WORD,
  FETTLE_NC_LINE_TOO_LONG,
  FETTLE_NC_BAD_COMMENT,
  FETTLE_NC_BAD_EXPRESSION,
  FETTLE_NC_VALUE_RANGE,
  FETTLE_NC_UNKNOWN_CODE,
  FETTLE_NC_CODES_CLASH,
  FETTLE_NC_WORD_UNUSED,
  FETTLE_NC_NO_END,
  FETTLE_NC_WORD_MISSING,
  FETTLE_NC_NOT_ALLOWED,
  FETTLE_NC_ARC_OPEN,
  FETTLE_NC_CYCLE_IMPOSSIBLE,
  FETTLE_NC_COMPENSATION_IMPOSSIBLE,
  FETTLE_NC_PROBE_IMPOSSIBLE,
  FETTLE_NC_NO_SUBPROGRAM,
  FETTLE_NC_NOT_FOLLOWED, /* a call, jump or code whose effect on the path is not known */
  FETTLE_NC_UNITS_NOT_STATED,
  FETTLE_NC_WHOLE_NUMBER, /* how a number without a decimal point was read */
  FETTLE_NC_BLANK_IN_NUMBER,
  FETTLE_NC_LONG_LINE,
  FETTLE_NC_FEED_OTHER_UNITS,
  FETTLE_NC_OFFSET_OTHER_UNITS,
  FETTLE_NC_ARC_DOUBTFUL,
  FETTLE_NC_LENGTH_NOT_STATED,
  FETTLE_NC_COMPENSATION_PROGRAMMED, /* radius compensation: the programmed path is given */
  FETTLE_NC_POSITION_UNKNOWN,
  FETTLE_NC_BYTE_ORDER_MARK,
  FETTLE_NC_MODE_LEFT,
  FETTLE_NC_FINDING_KINDS
} fettle_nc_finding_kind;

/* "arc does not close", "unknown code": the family of a finding. Static. */
const char *fettle_nc_finding_name(fettle_nc_finding_kind kind);

typedef struct fettle_nc_finding {
  fettle_nc_finding_kind kind;
  fettle_nc_severity severity;
  char message[256]; /* what, value, limit, how to mend; no bytes of the file but printable ones */
} fettle_nc_finding;

/* What is in force. */
typedef struct fettle_nc_state {
  fettle_nc_units units;
  bool units_stated, plane_stated, system_stated;
  int plane;         /* 17, 18, 19 */
  int motion;        /* code times ten: 0 10 20 30 382 730 800 810 .. 890; -1: none yet */
  bool incremental;  /* G91 */
  bool inverse_time; /* G93 */
  double feed;       /* F as written; 0: none yet */
  fettle_nc_units feed_units;
  double spindle;                /* S, rev/min; 0: none yet */
  int spindle_turns;             /* 3 clockwise, 4 counterclockwise, 5 stands */
  int tool, next_tool;           /* in the spindle, chosen by T; -1: never stated */
  int length_slot;               /* H in force; 0: none */
  double length;                 /* t, mm */
  int system;                    /* 1 .. 9 */
  double origin[FETTLE_NC_AXES]; /* of the system in force, mm */
  double shift[FETTLE_NC_AXES];  /* G92, mm */
  int compensation;              /* 40, 41, 42 */
  int path_control;              /* code times ten: 610 611 640 */
  bool return_to_clear;          /* G99: cycles return to R; else to the old height */
  bool mist, flood, overrides;
} fettle_nc_state;

/* Borrowed by the receiver for the time of the call. */
typedef struct fettle_nc_event {
  fettle_nc_event_kind kind;
  uint64_t line;    /* of the file, from 1 */
  size_t column;    /* from 1; 0 where it means nothing */
  long number;      /* N word, -1 when there is none */
  const char *text; /* the line without its end; any bytes */
  size_t text_length;
  const fettle_nc_state *state;
  double from[FETTLE_NC_AXES], to[FETTLE_NC_AXES]; /* machine, mm and degrees */
  uint8_t from_unknown, to_unknown; /* masks: the value of such an axis means nothing */
  double length;                    /* of an arc along the arc, of a helix along the helix, mm; of
                                       a motion of rotary axes alone, degrees */
  double feed;                      /* mm/min (degrees/min); 0 for rapids */
  double centre[3];                 /* of arcs, machine; third axis of the plane: as `from` */
  double radius, end_radius;        /* at start and end */
  double sweep;                     /* radians, positive counterclockwise from the third axis */
  int plane;
  int cycle;      /* 81 .. 89, 73 when a canned cycle made this motion, else 0 */
  int code;       /* M code of stop and end */
  double seconds; /* dwell */
  const fettle_nc_finding *finding;
} fettle_nc_event;

typedef struct fettle_nc_request {
  const fettle_nc_profile *profile; /* borrowed; NULL: strict */
  const fettle_nc_setup *setup;     /* borrowed; NULL: nothing is known */
  /* A non-zero answer ends reading as cancelled. Never NULL. */
  int (*event)(void *context, const fettle_nc_event *event);
  void *context; /* borrowed; handed to both functions here */
  /* Lets the next host read start at this byte of the file; false when it cannot. NULL: the data
   * cannot be read again, and calls of subprograms are not followed. */
  bool (*seek)(void *context, uint64_t offset);
} fettle_nc_request;

typedef struct fettle_nc_summary {
  uint64_t lines;   /* carried out, those of subprograms as often as they are called */
  uint64_t motions; /* events of motion */
  uint64_t findings[FETTLE_NC_FINDING_KINDS]; /* also those beyond the 100 of a kind handed out */
  uint64_t errors;
  bool ended; /* by M2 or M30, or the closing percent sign */
  fettle_nc_state state;
  double machine[FETTLE_NC_AXES], program[FETTLE_NC_AXES]; /* last position, mm */
  uint8_t unknown;
} fettle_nc_summary;

/* Reads a program through host->read. Uses host->allocate for one block of some 200 KiB, which it
 * gives back. The result is FETTLE_OK when the program was read to its end, whatever was found in
 * it; FETTLE_ERROR_TEXT with the line when the profile stops at an error or the bytes are no text
 * (parameter "text"); ARGUMENT, MEMORY, CANCELLED. Source: NISTIR 6556; ISO 6983-1:2009 (scope). */
fettle_status fettle_nc_read(const fettle_nc_request *request, const fettle_host *host,
                             fettle_nc_summary *summary, fettle_diagnostic *diagnostic);

/* --- motion time --- */

/* What limits a machine's motion. Axes X Y Z. */
typedef struct fettle_nc_machine {
  double speed_mm_s[3];         /* most, rapids run at it; above 0 */
  double acceleration_mm_s2[3]; /* above 0 */
  double corner_mm;             /* how far the path may miss a corner; 0: stops at every corner */
  bool chord_cap;               /* short chords are taken for the curve they follow */
  bool independent_rapids;      /* each axis runs its own way: a rapid takes its slowest axis */
  double blocks_per_second;     /* lines the control can take; 0: no limit */
  unsigned look_ahead;          /* lines within which it must be able to stop; 0: no limit */
  double tool_change_s;         /* each */
} fettle_nc_machine;

/* A motion as time sees it, or a pause. */
typedef struct fettle_nc_motion {
  uint64_t line;
  double length;           /* mm */
  double feed_mm_s;        /* as programmed; 0: rapid */
  double start[3], end[3]; /* unit tangents; a line's are equal */
  double radius;           /* 0: a straight line */
  double flat;             /* share of the length that lies in the arc's plane, 0 to 1 */
  double pause;            /* seconds; a pause has length 0 */
  int third;               /* axis square to the arc's plane */
  int tool;                /* in the spindle, -1: not stated */
  bool exact;              /* stops at its end */
  bool generated;          /* by a canned cycle: costs the control no line */
  bool tool_change;        /* a pause of the machine's tool change */
} fettle_nc_motion;

/* False when the event takes no time (a motion without length, a comment). Motions of rotary axes
 * alone become pauses of their length over feed, rapids of them of no time: the machine's rotary
 * limits are not part of the model. */
bool fettle_nc_motion_of(const fettle_nc_event *event, fettle_nc_motion *motion);

/* Lines first_line .. next_line - 1 of the file, and what they take. */
typedef struct fettle_nc_section {
  uint64_t first_line, next_line;
  double recorded; /* seconds on the machine; read by calibration alone */
  double seconds;  /* answer */
} fettle_nc_section;

enum { FETTLE_NC_TOOL_ROWS = 64 };

typedef struct fettle_nc_tool_time {
  int tool;
  double cutting, rapid, length; /* s, s, mm of cutting */
} fettle_nc_tool_time;

typedef struct fettle_nc_times {
  double cutting, rapid, dwell, tool_changes; /* s */
  double total;                               /* their sum; operator's stops are not in it */
  double length_over_feed;                    /* s, of the cutting moves */
  double cutting_length, rapid_length;        /* mm */
  double starved_length;                      /* mm where the block rate limits, not feed or axes */
  uint64_t tool_change_count;
  uint64_t shortened; /* times that the window of motions was too short to be exact: no speed is
                         too high then, the time may be slightly too long */
  fettle_nc_tool_time tools[FETTLE_NC_TOOL_ROWS];
  size_t tool_count;
  size_t tools_dropped; /* motions of further tools: in the total, not in a row */
} fettle_nc_times;

typedef struct fettle_nc_timing {
  double feed_override, rapid_override; /* 1: as programmed; 0.01 to 10 */
  fettle_nc_section *sections;          /* owned by caller; may be NULL */
  size_t section_count;
} fettle_nc_timing;

typedef struct fettle_nc_timer fettle_nc_timer;

/* Starts a timer at rest: constant memory (some 2 MiB of the host's). Errors: ARGUMENT for limits
 * that are not above 0, MEMORY. Method: speed caps at corners (circle that misses the corner by
 * `corner_mm`), arcs limited by sideways acceleration, rapids from rest to rest, one pass back and
 * one forward over a window of motions; even acceleration within a motion. */
fettle_status fettle_nc_timer_start(const fettle_nc_machine *machine,
                                    const fettle_nc_timing *timing, const fettle_host *host,
                                    fettle_nc_timer **timer, fettle_diagnostic *diagnostic);
void fettle_nc_timer_add(fettle_nc_timer *timer, const fettle_nc_event *event);
void fettle_nc_timer_push(fettle_nc_timer *timer, const fettle_nc_motion *motion);
/* Comes to rest, fills `times` and the sections, gives the timer back. */
void fettle_nc_timer_finish(fettle_nc_timer *timer, fettle_nc_times *times);
/* Seconds of one straight motion: length mm, speeds at start, end and at most mm/s, acceleration
 * mm/s2. Needs |end^2 - start^2| <= 2 acceleration length, start and end not above most. */
double fettle_nc_ramp_time(double length, double start, double end, double most,
                           double acceleration);

/* A program that was run, and what its sections took. */
typedef struct fettle_nc_recording {
  const fettle_nc_motion *motions; /* borrowed */
  size_t motion_count;
  fettle_nc_section *sections; /* `seconds` gets the fitted model's time */
  size_t section_count;
} fettle_nc_recording;

typedef struct fettle_nc_fit {
  double residual; /* root mean square of model over recorded, less 1 */
  double worst;    /* largest of them by magnitude, with its sign */
  size_t sections;
  unsigned rounds;
} fettle_nc_fit;

/* Least squares (Levenberg-Marquardt on the logarithms) of the sections' relative errors over
 * acceleration of XY and of Z, rapid speed of XY and of Z, and corner_mm; X and Y are taken as
 * equal. `machine` holds the first guess and gets the answer. Errors: no section with a recorded
 * time above 0; CONVERGENCE when the sections say nothing about any number. */
fettle_status fettle_nc_calibrate(const fettle_nc_recording *recordings, size_t count,
                                  const fettle_host *host, fettle_nc_machine *machine,
                                  fettle_nc_fit *fit, fettle_diagnostic *diagnostic);

#endif
