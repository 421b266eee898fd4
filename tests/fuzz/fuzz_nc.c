/* Any bytes as a program, in both languages: read to an end, every motion finite or unknown. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "support/nc.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static int check(void *context, const fettle_nc_event *event) {
  unsigned *motions = ((nc_text *)context)->user;
  if (event->kind == FETTLE_NC_FINDING && event->finding->message[0] == '\0') {
    abort();
  }
  if (!(event->length >= 0.0) || !isfinite(event->length) || !isfinite(event->feed)) {
    abort();
  }
  for (int axis = 0; axis < FETTLE_NC_AXES; axis++) {
    if (!isfinite(event->to[axis]) || !isfinite(event->from[axis])) {
      abort();
    }
  }
  return ++*motions > 300000; /* calls may repeat without end */
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  for (int shop = 0; shop < 2; shop++) {
    const fettle_nc_profile profile = shop ? fettle_nc_profile_shop() : fettle_nc_profile_strict();
    unsigned motions = 0;
    fettle_nc_summary summary;
    fettle_diagnostic diagnostic = {.status = FETTLE_OK};
    const fettle_status status =
        nc_run((const char *)data, size, 0, &profile, NULL, check, &motions, &summary, &diagnostic);
    if (status != FETTLE_OK && diagnostic.message[0] == '\0') {
      abort();
    }
  }
  return 0;
}
