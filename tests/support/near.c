#include "support/near.h"

#include <math.h>

void fettle_assert_near_at(double got, double want, double tolerance, const char *source,
                           const char *file, int line) {
  if (!(fabs(got - want) <= tolerance)) {
    print_error("got %.17g, want %.17g within %.3g\nsource: %s\n", got, want, tolerance, source);
    _fail(file, line);
  }
}
