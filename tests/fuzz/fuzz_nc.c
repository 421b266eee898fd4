/* Any bytes as a program, in both languages: read to an end, every motion finite or unknown, and
 * timed not faster than its feed. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "support/nc.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

typedef struct run {
  unsigned events;
  fettle_nc_timer *timer;
} run;

static int check(void *context, const fettle_nc_event *event) {
  run *r = ((nc_text *)context)->user;
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
  fettle_nc_timer_add(r->timer, event);
  return ++r->events > 300000; /* calls may repeat without end */
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  for (int shop = 0; shop < 2; shop++) {
    const fettle_nc_profile profile = shop ? fettle_nc_profile_shop() : fettle_nc_profile_strict();
    static const fettle_host memory = {.allocate = nc_allocate};
    const fettle_nc_machine machine = {.speed_mm_s = {200, 180, 70},
                                       .acceleration_mm_s2 = {500, 400, 300},
                                       .corner_mm = 0.02,
                                       .chord_cap = true};
    run r = {.events = 0};
    fettle_nc_times times;
    if (fettle_nc_timer_start(&machine, NULL, &memory, &r.timer, NULL) != FETTLE_OK) {
      abort();
    }
    fettle_nc_summary summary;
    fettle_diagnostic diagnostic = {.status = FETTLE_OK};
    const fettle_status status =
        nc_run((const char *)data, size, 0, &profile, NULL, check, &r, &summary, &diagnostic);
    fettle_nc_timer_finish(r.timer, &times);
    if (!isfinite(times.total) || !(times.cutting >= times.length_over_feed * (1 - 1e-6) - 1e-9)) {
      abort();
    }
    if (status != FETTLE_OK && diagnostic.message[0] == '\0') {
      abort();
    }
  }
  return 0;
}
