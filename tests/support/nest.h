/* support/nest.h - a host with plain memory, and requests in inches, for the tests of nesting. */
#ifndef FETTLE_TEST_NEST_H
#define FETTLE_TEST_NEST_H

#include <stdlib.h>

#include "fettle/fettle.h"
#include "fettle/nesting.h"

static inline void *test_allocate(void *context, void *block, size_t old_size, size_t new_size) {
  (void)context;
  (void)old_size;
  if (new_size == 0) {
    free(block);
    return NULL;
  }
  return realloc(block, new_size);
}

static const fettle_host test_host = {.allocate = test_allocate};

/* Inches and 64ths. */
static inline int64_t inches(double value) {
  int64_t units = 0;
  return fettle_nest_units(value * 0.0254, &units) ? units : -1;
}

#endif
