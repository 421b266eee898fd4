/* support/near.h - comparison of numbers that fails on NaN; cmocka's float assert passes it. */
#ifndef FETTLE_TEST_NEAR_H
#define FETTLE_TEST_NEAR_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* Fails unless |got - want| <= tolerance; prints all three with 17 digits, and the source. */
void fettle_assert_near_at(double got, double want, double tolerance, const char *source,
                           const char *file, int line);

#define assert_near(got, want, tolerance, source)                                                  \
  fettle_assert_near_at((got), (want), (tolerance), (source), __FILE__, __LINE__)

#endif
