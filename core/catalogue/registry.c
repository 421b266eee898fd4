#include "fettle/formula.h"

#include <string.h>

#define FETTLE_FORMULA(name) extern const fettle_formula fettle_formula_##name;
#include "catalogue/registry.def"
#undef FETTLE_FORMULA

/* Sorted by name, as registry.def is; a test checks it. The NULL keeps an empty list legal C. */
static const fettle_formula *const all[] = {
#define FETTLE_FORMULA(name) &fettle_formula_##name,
#include "catalogue/registry.def"
#undef FETTLE_FORMULA
    NULL};

const fettle_formula *const *fettle_catalogue(size_t *count) {
  *count = sizeof all / sizeof all[0] - 1;
  return all;
}

const fettle_formula *fettle_find(const char *name) {
  size_t low = 0;
  size_t high = sizeof all / sizeof all[0] - 1;
  while (low < high) {
    size_t middle = low + (high - low) / 2;
    int order = strcmp(name, all[middle]->name);
    if (order == 0) {
      return all[middle];
    }
    if (order < 0) {
      high = middle;
    } else {
      low = middle + 1;
    }
  }
  return NULL;
}

enum { NAME_MOST = 64 };

size_t fettle_name_distance(const char *a, size_t a_length, const char *b, size_t b_length) {
  if (a_length > NAME_MOST || b_length > NAME_MOST) {
    return SIZE_MAX;
  }
  size_t before[NAME_MOST + 1] = {0}; /* two rows up, for swaps */
  size_t above[NAME_MOST + 1];
  size_t row[NAME_MOST + 1];
  for (size_t j = 0; j <= b_length; j++) {
    above[j] = j;
  }
  for (size_t i = 1; i <= a_length; i++) {
    row[0] = i;
    for (size_t j = 1; j <= b_length; j++) {
      size_t best = above[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      best = above[j] + 1 < best ? above[j] + 1 : best;
      best = row[j - 1] + 1 < best ? row[j - 1] + 1 : best;
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] &&
          before[j - 2] + 1 < best) {
        best = before[j - 2] + 1;
      }
      row[j] = best;
    }
    memcpy(before, above, (b_length + 1) * sizeof *above);
    memcpy(above, row, (b_length + 1) * sizeof *row);
  }
  return above[b_length];
}

bool fettle_name_near(size_t distance, size_t length) {
  return distance <= (length < 4 ? 1 : length / 3);
}

const char *fettle_find_nearest(const char *name) {
  const char *best = NULL;
  size_t best_distance = SIZE_MAX;
  size_t length = strlen(name);
  for (size_t i = 0; all[i]; i++) {
    /* A wrong or missing domain is the commonest mistake: the last part counts alone too. */
    const char *whole = all[i]->name;
    const char *point = strchr(whole, '.');
    const char *wanted = strchr(name, '.');
    const char *last = wanted ? wanted + 1 : name;
    size_t distance = fettle_name_distance(name, length, whole, strlen(whole));
    if (point) {
      size_t part = fettle_name_distance(last, strlen(last), point + 1, strlen(point + 1));
      size_t domain_differs = part == SIZE_MAX ? part : part + 1;
      distance = domain_differs < distance ? domain_differs : distance;
    }
    if (distance < best_distance) {
      best_distance = distance;
      best = whole;
    }
  }
  return best && fettle_name_near(best_distance, length) ? best : NULL;
}

size_t fettle_parameter_count(const fettle_parameter *parameters) {
  size_t count = 0;
  while (parameters && parameters[count].name) {
    count++;
  }
  return count;
}
