/* fettle/status.h - how the core says that something is wrong.
 *
 * A core function returns a status and fills the caller's diagnostic; it never prints, stops the
 * program or changes a value to make it fit. Warnings travel apart from errors. */
#ifndef FETTLE_STATUS_H
#define FETTLE_STATUS_H

#include <stddef.h>
#include <stdint.h>

/* Codes are never renumbered or used again. */
typedef enum fettle_status {
  FETTLE_OK = 0,
  FETTLE_ERROR_ARGUMENT = -1,    /* missing, unknown, or not a finite number */
  FETTLE_ERROR_RANGE = -2,       /* outside a hard limit */
  FETTLE_ERROR_DIMENSION = -3,   /* a length where a mass is due, and the like */
  FETTLE_ERROR_TEXT = -4,        /* text that does not follow the grammar */
  FETTLE_ERROR_CONVERGENCE = -5, /* an iteration or integration did not settle */
  FETTLE_ERROR_MEMORY = -6,
  FETTLE_ERROR_CANCELLED = -7,
  FETTLE_ERROR_UNREACHABLE = -8, /* the value asked for is never reached */
  FETTLE_ERROR_INTERNAL = -9     /* a self-check of the engine failed */
} fettle_status;

/* Owned by caller. `message` is the whole sentence without the name of the calculation:
 * "stepover = 14 mm: must not be above cutter_diameter 12 mm". */
typedef struct fettle_diagnostic {
  fettle_status status;
  char parameter[48]; /* name from the descriptor, or empty */
  double value;       /* in `unit`; 0 where it means nothing */
  double limit;       /* in `unit` */
  char unit[24];
  size_t column; /* of a text, from 1; 0 where it means nothing */
  char message[320];
} fettle_diagnostic;

enum { FETTLE_WARNINGS_MOST = 8 };

typedef struct fettle_warning {
  char parameter[48];
  char message[240];
} fettle_warning;

/* Owned by caller; start it with count = 0. A ninth warning is dropped and `dropped` counts it. */
typedef struct fettle_warnings {
  size_t count;
  size_t dropped;
  fettle_warning item[FETTLE_WARNINGS_MOST];
} fettle_warnings;

/* Fills `diagnostic` (which may be NULL) with a printf-style message and returns `status`.
 * Numbers in messages go through fettle_number_format, never through %f or %g: the caller's
 * locale must not turn a point into a comma. */
#if defined(__GNUC__)
__attribute__((format(printf, 4, 5)))
#endif
fettle_status
fettle_fail(fettle_diagnostic *diagnostic, fettle_status status, const char *parameter,
            const char *format, ...);

/* Adds a warning; `warnings` may be NULL. */
#if defined(__GNUC__)
__attribute__((format(printf, 3, 4)))
#endif
void
fettle_warn(fettle_warnings *warnings, const char *parameter, const char *format, ...);

/* "argument", "range", ...: the word that JSON errors carry. Static. */
const char *fettle_status_name(fettle_status status);

#endif
