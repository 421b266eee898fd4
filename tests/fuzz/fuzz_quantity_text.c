/* Any bytes as a quantity: refused with a message, or read as a finite value whose text is read
 * back as the same. */
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fettle/quantity.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  fettle_quantity quantity;
  fettle_quantity back;
  fettle_diagnostic diagnostic;
  for (int role = FETTLE_ROLE_ANY; role <= FETTLE_ROLE_DIFFERENCE; role++) {
    if (fettle_quantity_parse((const char *)data, size, (fettle_role)role, &quantity,
                              &diagnostic) != FETTLE_OK) {
      if (diagnostic.message[0] == '\0' || diagnostic.column == 0) {
        abort();
      }
      continue;
    }
    char text[512];
    const size_t row = fettle_unit_choose(&quantity, FETTLE_HABIT_INCH);
    const size_t length = fettle_quantity_format(&quantity, row, 17, text, sizeof text);
    const bool point = (quantity.flags & FETTLE_QUANTITY_POINT) != 0;
    const fettle_role same = point ? FETTLE_ROLE_POINT : FETTLE_ROLE_ANY;
    if (!isfinite(quantity.value) || length >= sizeof text) {
      abort();
    }
    /* at the ends of the doubles the number in another unit may leave their range */
    const double magnitude = fabs(quantity.value);
    if ((magnitude < 1e250 && magnitude > 1e-250) &&
        (fettle_quantity_parse(text, length, same, &back, &diagnostic) != FETTLE_OK ||
         back.dimension != quantity.dimension ||
         !(fabs(back.value - quantity.value) <= 1e-9 * magnitude + (point ? 1e-9 : 0.0)))) {
      abort();
    }
  }
  return 0;
}
