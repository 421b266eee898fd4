#include "fettle/status.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

fettle_status fettle_fail(fettle_diagnostic *diagnostic, fettle_status status,
                          const char *parameter, const char *format, ...) {
  if (diagnostic) {
    memset(diagnostic, 0, sizeof *diagnostic);
    diagnostic->status = status;
    if (parameter) {
      snprintf(diagnostic->parameter, sizeof diagnostic->parameter, "%s", parameter);
    }
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(diagnostic->message, sizeof diagnostic->message, format, arguments);
    va_end(arguments);
  }
  return status;
}

void fettle_warn(fettle_warnings *warnings, const char *parameter, const char *format, ...) {
  if (!warnings) {
    return;
  }
  if (warnings->count >= FETTLE_WARNINGS_MOST) {
    warnings->dropped++;
    return;
  }
  fettle_warning *warning = &warnings->item[warnings->count++];
  snprintf(warning->parameter, sizeof warning->parameter, "%s", parameter ? parameter : "");
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(warning->message, sizeof warning->message, format, arguments);
  va_end(arguments);
}

const char *fettle_status_name(fettle_status status) {
  switch (status) {
  case FETTLE_OK:
    return "ok";
  case FETTLE_ERROR_ARGUMENT:
    return "argument";
  case FETTLE_ERROR_RANGE:
    return "range";
  case FETTLE_ERROR_DIMENSION:
    return "dimension";
  case FETTLE_ERROR_TEXT:
    return "text";
  case FETTLE_ERROR_CONVERGENCE:
    return "convergence";
  case FETTLE_ERROR_MEMORY:
    return "memory";
  case FETTLE_ERROR_CANCELLED:
    return "cancelled";
  case FETTLE_ERROR_UNREACHABLE:
    return "unreachable";
  case FETTLE_ERROR_INTERNAL:
    return "internal";
  }
  return "unknown";
}
