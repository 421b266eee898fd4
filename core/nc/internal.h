/* nc/internal.h - what the files of the reader share. */
#ifndef FETTLE_NC_INTERNAL_H
#define FETTLE_NC_INTERNAL_H

#include "fettle/nc.h"

#define NC_PI 3.14159265358979323846
#define NC_MM_PER_INCH 25.4
#define NC_COORDINATE_MOST 1e6 /* mm; no machine is a kilometre long */

enum {
  NC_X,
  NC_Y,
  NC_Z,
  NC_PARAMETERS = 5400,
  NC_DEPTH_MOST = 64,        /* brackets, functions and # inside each other */
  NC_SETTINGS_MOST = 64,     /* #1=2 on one line */
  NC_CYCLE_MOTIONS = 100000, /* of one line */
  NC_CALLS_MOST = 8,         /* subprograms inside each other */
  NC_BLOCKS_MOST = 50000000, /* lines of one run */
  NC_FINDINGS_SHOWN = 100,   /* of one kind */
  NC_POLL_EVERY = 256,       /* lines or motions */
  NC_M_MOST = 4,             /* M words of one line */
  NC_LABELS_MOST = 64,
  NC_BUFFER = FETTLE_NC_LINE_MOST + 32768,
  NC_UNKNOWN_CODES_MOST = 64, /* told apart, so that each is reported once */
  NC_ALL_AXES = (1 << FETTLE_NC_AXES) - 1,
  NC_LINEAR_AXES = 7
};

/* Modal groups of G codes, NISTIR 6556 table 4. */
typedef enum nc_group {
  NC_GROUP_NONE, /* 4 10 28 30 53 92.. */
  NC_GROUP_MOTION,
  NC_GROUP_PLANE,
  NC_GROUP_DISTANCE,
  NC_GROUP_FEED,
  NC_GROUP_UNITS,
  NC_GROUP_COMPENSATION,
  NC_GROUP_LENGTH,
  NC_GROUP_RETURN,
  NC_GROUP_SYSTEM,
  NC_GROUP_PATH,
  NC_GROUPS
} nc_group;

#define NC_BIT(letter) (UINT32_C(1) << ((letter) - 'a'))

typedef struct nc_block {
  double value[26]; /* by letter, without g, m, n, o */
  uint32_t column[26];
  uint32_t has;     /* letters */
  uint32_t whole;   /* letters with a plain number without a decimal point */
  int g[NC_GROUPS]; /* code times ten, -1: none */
  uint32_t g_column[NC_GROUPS];
  bool cancel_cycle; /* G80 beside another motion code */
  int m[NC_M_MOST];
  unsigned m_count;
  uint32_t profile_letters; /* belong to a code that is passed over */
  bool frame_doubt, frame_clear;
  bool doubtful;                     /* has a code that is not known */
  long number;                       /* N */
  long program;                      /* O, -1 */
  size_t comment_at, comment_length; /* the last one */
  bool comment, message;
  unsigned setting_count;
  unsigned setting_index[NC_SETTINGS_MOST];
  double setting_value[NC_SETTINGS_MOST];
} nc_block;

typedef struct nc_label {
  long number;
  uint64_t offset, line;
} nc_label;

typedef struct nc_call {
  uint64_t back_offset, back_line, start_offset, start_line;
  uint64_t repeats_left;
} nc_call;

typedef struct nc_reader {
  const fettle_nc_request *request;
  const fettle_host *host;
  fettle_nc_profile profile;
  fettle_nc_setup setup;
  fettle_nc_summary *summary;
  fettle_diagnostic *diagnostic;
  fettle_status status; /* not FETTLE_OK: reading ends */

  /* bytes */
  char *buffer; /* NC_BUFFER */
  size_t at, filled;
  uint64_t base; /* offset in the file of buffer[0] */
  bool at_end;

  /* the line at hand */
  const char *text;
  size_t length;
  uint64_t line;
  bool line_cut; /* it was too long and is not here */
  nc_block block;
  bool failed; /* an error was found in this line */
  bool ended;

  /* what is in force; positions machine, mm */
  fettle_nc_state state;
  double machine[FETTLE_NC_AXES];
  uint8_t unknown;       /* axes whose position is not known */
  uint8_t frame_unknown; /* axes whose program zero is not known */
  double *parameters;    /* NC_PARAMETERS */
  double cycle_r, cycle_z, cycle_p, cycle_q, cycle_ijk[3]; /* sticky words, program units */
  uint32_t cycle_has;
  int motion_apart; /* last of G0 to G3 */
  int cycle_now;    /* code when a cycle makes motions */
  unsigned cycle_motions;
  bool whole_told, units_told, long_told;
  int unknown_codes[NC_UNKNOWN_CODES_MOST]; /* letter * 100000 + code times ten */
  unsigned unknown_code_count;

  nc_label labels[NC_LABELS_MOST];
  unsigned label_count;
  nc_call calls[NC_CALLS_MOST];
  unsigned call_count;
  uint64_t blocks;
} nc_reader;

/* "12.5" */
typedef struct nc_number {
  char text[40];
} nc_number;
nc_number nc_show(double value);

/* --- findings (read.c) --- */

/* Reports; errors set `failed` and, when the profile stops at errors, `status`. Always false. */
#if defined(__GNUC__)
__attribute__((format(printf, 4, 5)))
#endif
bool
nc_find(nc_reader *r, fettle_nc_finding_kind kind, size_t column, const char *format, ...);
/* Hands out an event of this line; fills line, text and state. */
void nc_send(nc_reader *r, fettle_nc_event *event);
void nc_send_kind(nc_reader *r, fettle_nc_event_kind kind, int code, double seconds);
/* Asks the host; false when reading shall end. */
bool nc_poll(nc_reader *r);

/* --- bytes (line.c) --- */
bool nc_next_line(nc_reader *r);
uint64_t nc_offset(const nc_reader *r); /* of the next line */
bool nc_go_to(nc_reader *r, uint64_t offset, uint64_t line);
/* Looks a program number up in the whole file. */
bool nc_find_label(nc_reader *r, long number, nc_label *label);

/* --- words (words.c) --- */
bool nc_read_block(nc_reader *r);

/* --- carrying out (execute.c, motion.c, cycle.c) --- */
bool nc_execute(nc_reader *r);
double nc_unit(const nc_reader *r);       /* mm of one unit in force */
double nc_table_unit(const nc_reader *r); /* mm of one unit of the tables */
/* A length word in mm, by the policy for numbers without a point. */
bool nc_length_word(nc_reader *r, char letter, double *mm);
static inline bool nc_has(const nc_reader *r, char letter) {
  return (r->block.has & NC_BIT(letter)) != 0;
}
/* Machine position that the axis words ask for; `axes` gets the axes given. */
bool nc_target(nc_reader *r, double target[FETTLE_NC_AXES], uint8_t *axes, bool machine);
/* Program zero of an axis: origin, shift, length. */
double nc_zero(const nc_reader *r, int axis);
bool nc_straight(nc_reader *r, fettle_nc_event_kind kind, const double target[FETTLE_NC_AXES],
                 uint8_t axes);
bool nc_move(nc_reader *r, int motion);
bool nc_arc(nc_reader *r, bool clockwise, const double target[FETTLE_NC_AXES], uint8_t axes);
bool nc_cycle(nc_reader *r, int code);
bool nc_feed_ready(nc_reader *r);
/* First, second and third axis of the plane in force. */
void nc_plane_axes(const nc_reader *r, int axes[3]);

#endif
