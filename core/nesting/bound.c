/* nesting/bound.c - how few sheets, and how cheap, any layout can be. */
#include <string.h>

#include "nesting/internal.h"

/* Dual feasible functions: whatever set of lengths fits a stock length, the values of the lengths
 * fit the value of the stock. Scaled to whole numbers. Definitions: Clautiaux, Alves, Valerio de
 * Carvalho, A survey of dual-feasible and superadditive functions, 2010 (from memory). */
typedef enum dual_kind { DUAL_SAME, DUAL_LARGE, DUAL_STEPS, DUAL_FLOOR } dual_kind;

typedef struct dual {
  dual_kind kind;
  int64_t parameter;
} dual;

enum { SIZES_MOST = 24, DUALS_MOST = 4 * SIZES_MOST + 1, EVERY_THICKNESS = -1 };

static int64_t dual_value(const dual *f, int64_t stock, int64_t x) {
  int64_t p = f->parameter;
  switch (f->kind) {
  case DUAL_LARGE: /* nearly full counts as full, small as nothing; 1 <= p <= stock / 2 */
    return x > stock - p ? stock : x < p ? 0 : x;
  case DUAL_STEPS: /* (p + 1) x / stock, rounded down unless whole, times stock */
    return (p + 1) * x % stock == 0 ? p * x : (p + 1) * x / stock * stock;
  case DUAL_FLOOR: /* 1 <= p <= stock / 2; symmetric about the half */
    return 2 * x > stock    ? 2 * (stock / p - (stock - x) / p)
           : 2 * x == stock ? stock / p
                            : 2 * (x / p);
  default:
    return x;
  }
}

static int64_t dual_capacity(const dual *f, int64_t stock) {
  return f->kind == DUAL_STEPS   ? f->parameter * stock
         : f->kind == DUAL_FLOOR ? 2 * (stock / f->parameter)
                                 : stock;
}

/* One thickness of the job, or all of it. */
typedef struct group {
  const fettle_nest_request *request;
  const fettle_host *host;
  int64_t thickness;
  uint32_t *kinds; /* of pieces in it */
  size_t kind_count;
  int64_t reach[2]; /* largest usable length and width of its stock, kerf added */
  uint32_t stocks[FETTLE_NEST_STOCKS_MOST];
  size_t stock_count;
} group;

static int64_t edge(const group *g, uint32_t kind, bool turned, int axis) {
  const fettle_nest_piece *piece = &g->request->pieces[kind];
  return ((axis == 0) != turned ? piece->length : piece->width) + g->request->kerf;
}

static bool may_lie(const group *g, uint32_t kind, bool turned) {
  return (!turned || g->request->pieces[kind].may_turn) &&
         edge(g, kind, turned, 0) <= g->reach[0] && edge(g, kind, turned, 1) <= g->reach[1];
}

typedef struct sizes_order {
  const int64_t *size;
} sizes_order;

static bool size_before(const void *context, uint32_t a, uint32_t b) {
  const sizes_order *order = context;
  return order->size[a] != order->size[b] ? order->size[a] < order->size[b] : a < b;
}

/* The functions tried in one direction: thresholds at sizes of the job, spread over all of them. */
static size_t choose_duals(const group *g, int axis, int64_t *size, uint32_t *index, dual *duals) {
  size_t count = 0, duals_count = 0;
  for (size_t i = 0; i < g->kind_count; i++) {
    for (int turned = 0; turned < 2; turned++) {
      if (may_lie(g, g->kinds[i], turned != 0)) {
        size[count] = edge(g, g->kinds[i], turned != 0, axis);
        index[count] = (uint32_t)count;
        count++;
      }
    }
  }
  sizes_order order = {size};
  nest_sort(index, count, size_before, &order);
  size_t unique = 0;
  for (size_t i = 0; i < count; i++) {
    if (unique == 0 || size[index[unique - 1]] != size[index[i]]) {
      index[unique++] = index[i];
    }
  }
  /* Pairs of functions times kinds stay near ten million. */
  size_t most = g->kind_count <= 200 ? SIZES_MOST : g->kind_count <= 1000 ? 10 : 3;
  int64_t stock = g->reach[axis];
  duals[duals_count++] = (dual){DUAL_SAME, 0};
  for (size_t i = 0; i < most; i++) {
    duals[duals_count++] = (dual){DUAL_STEPS, (int64_t)i + 1};
    if (i >= unique) {
      continue;
    }
    int64_t x = size[index[unique <= most ? i : i * (unique - 1) / (most - 1)]];
    if (2 * x <= stock) {
      duals[duals_count++] = (dual){DUAL_LARGE, x};
      duals[duals_count++] = (dual){DUAL_FLOOR, x};
    } else if (x < stock) {
      int64_t rest = stock - x + 1; /* the least threshold that counts x as full */
      if (2 * rest <= stock) {
        duals[duals_count++] = (dual){DUAL_LARGE, rest};
      }
      duals[duals_count++] = (dual){DUAL_FLOOR, stock - x};
    }
  }
  return duals_count;
}

/* Values of all functions of one direction for all kinds, straight and turned. */
static void fill_values(const group *g, int axis, const dual *duals, size_t count,
                        int64_t *values) {
  for (size_t f = 0; f < count; f++) {
    for (size_t i = 0; i < g->kind_count; i++) {
      for (int turned = 0; turned < 2; turned++) {
        int64_t x = edge(g, g->kinds[i], turned != 0, axis);
        values[(f * g->kind_count + i) * 2 + (size_t)turned] =
            x <= g->reach[axis] ? dual_value(&duals[f], g->reach[axis], x) : 0;
      }
    }
  }
}

static nest_wide pair_sum(const group *g, const int64_t *f, const int64_t *h) {
  nest_wide sum = 0;
  for (size_t i = 0; i < g->kind_count; i++) {
    nest_wide least = -1;
    for (size_t turned = 0; turned < 2; turned++) {
      nest_wide value = (nest_wide)f[2 * i + turned] * h[2 * i + turned];
      if (may_lie(g, g->kinds[i], turned != 0) && (least < 0 || value < least)) {
        least = value;
      }
    }
    sum += least * g->request->pieces[g->kinds[i]].count;
  }
  return sum;
}

static fettle_status dual_sheets(const group *g, uint32_t *sheets, fettle_diagnostic *diagnostic) {
  dual duals[2][DUALS_MOST];
  size_t count[2];
  size_t sizes = 2 * g->kind_count;
  size_t scratch_size = sizes * (sizeof(int64_t) + sizeof(uint32_t));
  const fettle_host *host = g->host;
  int64_t *scratch = host->allocate(host->context, NULL, 0, scratch_size);
  if (!scratch) {
    return fettle_fail(diagnostic, FETTLE_ERROR_MEMORY, "", "no memory for the lower bound");
  }
  for (int axis = 0; axis < 2; axis++) {
    count[axis] = choose_duals(g, axis, scratch, (uint32_t *)(scratch + sizes), duals[axis]);
  }
  host->allocate(host->context, scratch, scratch_size, 0);
  size_t values_size = (count[0] + count[1]) * sizes * sizeof(int64_t);
  int64_t *values = host->allocate(host->context, NULL, 0, values_size);
  if (!values) {
    return fettle_fail(diagnostic, FETTLE_ERROR_MEMORY, "", "no memory for the lower bound");
  }
  int64_t *across = values + count[0] * sizes;
  fill_values(g, 0, duals[0], count[0], values);
  fill_values(g, 1, duals[1], count[1], across);
  fettle_status status = FETTLE_OK;
  for (size_t a = 0; a < count[0] && status == FETTLE_OK; a++) {
    if (host->poll && host->poll(host->context, 0, "bound") != 0) {
      status = fettle_fail(diagnostic, FETTLE_ERROR_CANCELLED, "", "stopped before a first layout");
    }
    for (size_t b = 0; b < count[1] && status == FETTLE_OK; b++) {
      nest_wide capacity = (nest_wide)dual_capacity(&duals[0][a], g->reach[0]) *
                           dual_capacity(&duals[1][b], g->reach[1]);
      nest_wide sum = pair_sum(g, values + a * sizes, across + b * sizes);
      nest_wide bound = (sum + capacity - 1) / capacity;
      *sheets = bound > *sheets ? (uint32_t)bound : *sheets;
    }
  }
  host->allocate(host->context, values, values_size, 0);
  return status;
}

static nest_wide usable_area(const group *g, uint32_t stock) {
  return (nest_wide)nest_usable_length(g->request, stock) * nest_usable_width(g->request, stock);
}

/* Stock by weight per area, by area, by weight. */
static bool value_before(const void *context, uint32_t a, uint32_t b) {
  const group *g = context;
  nest_wide left = nest_weight(g->request, a) * usable_area(g, b);
  nest_wide right = nest_weight(g->request, b) * usable_area(g, a);
  return left != right ? left < right : a < b;
}

static bool larger_before(const void *context, uint32_t a, uint32_t b) {
  const group *g = context;
  nest_wide left = usable_area(g, a), right = usable_area(g, b);
  return left != right ? left > right : a < b;
}

static bool lighter_before(const void *context, uint32_t a, uint32_t b) {
  const group *g = context;
  nest_wide left = nest_weight(g->request, a), right = nest_weight(g->request, b);
  return left != right ? left < right : a < b;
}

/* Filling the best value for the area first is the optimum of the relaxed problem. */
static nest_wide area_weight(group *g, nest_wide area) {
  nest_wide weight = 0;
  nest_sort(g->stocks, g->stock_count, value_before, g);
  for (size_t i = 0; i < g->stock_count && area > 0; i++) {
    nest_wide room = usable_area(g, g->stocks[i]), each = nest_weight(g->request, g->stocks[i]);
    nest_wide full = area / room, there = g->request->stocks[g->stocks[i]].count;
    full = full < there ? full : there;
    weight += full * each;
    area -= full * room;
    if (full < there && area > 0) {
      weight += (area * each + room - 1) / room;
      area = 0;
    }
  }
  return weight;
}

static uint32_t area_sheets(group *g, nest_wide area) {
  nest_wide sheets = 0;
  nest_sort(g->stocks, g->stock_count, larger_before, g);
  for (size_t i = 0; i < g->stock_count && area > 0; i++) {
    nest_wide room = usable_area(g, g->stocks[i]);
    nest_wide need = (area + room - 1) / room, there = g->request->stocks[g->stocks[i]].count;
    need = need < there ? need : there;
    sheets += need;
    area -= need * room;
  }
  return (uint32_t)sheets;
}

static nest_wide lightest(group *g, uint32_t sheets) {
  nest_wide weight = 0;
  nest_sort(g->stocks, g->stock_count, lighter_before, g);
  for (size_t i = 0; i < g->stock_count && sheets > 0; i++) {
    uint32_t there = g->request->stocks[g->stocks[i]].count;
    uint32_t taken = sheets < there ? sheets : there;
    weight += taken * nest_weight(g->request, g->stocks[i]);
    sheets -= taken;
  }
  return weight;
}

static nest_wide common_divisor(nest_wide a, nest_wide b) {
  while (b != 0) {
    nest_wide rest = a % b;
    a = b;
    b = rest;
  }
  return a;
}

static fettle_status bound_group(group *g, nest_wide *weight, uint32_t *sheets,
                                 fettle_diagnostic *diagnostic) {
  const fettle_nest_request *request = g->request;
  nest_wide area = 0, step = 0;
  g->kind_count = g->stock_count = 0;
  g->reach[0] = g->reach[1] = 0;
  for (uint32_t i = 0; i < request->piece_kinds; i++) {
    if (g->thickness != EVERY_THICKNESS && request->pieces[i].thickness != g->thickness) {
      continue;
    }
    g->kinds[g->kind_count++] = i;
    area += (nest_wide)edge(g, i, false, 0) * edge(g, i, false, 1) * request->pieces[i].count;
  }
  for (uint32_t s = 0; s < request->stock_kinds; s++) {
    if (g->thickness != EVERY_THICKNESS && request->stocks[s].thickness != g->thickness) {
      continue;
    }
    g->stocks[g->stock_count++] = s;
    int64_t length = nest_usable_length(request, s), width = nest_usable_width(request, s);
    g->reach[0] = length > g->reach[0] ? length : g->reach[0];
    g->reach[1] = width > g->reach[1] ? width : g->reach[1];
    step = common_divisor(nest_weight(request, s), step);
  }
  *sheets = area_sheets(g, area);
  fettle_status status = dual_sheets(g, sheets, diagnostic);
  nest_wide by_area = area_weight(g, area), by_count = lightest(g, *sheets);
  *weight = by_area > by_count ? by_area : by_count;
  if (step > 0) { /* a sum of weights is a multiple of their common divisor */
    *weight = (*weight + step - 1) / step * step;
  }
  return status;
}

/* True for the first kind of its thickness. */
static bool leads(const fettle_nest_request *request, size_t kind) {
  for (size_t i = 0; i < kind; i++) {
    if (request->pieces[i].thickness == request->pieces[kind].thickness) {
      return false;
    }
  }
  return request->pieces[kind].thickness != 0;
}

fettle_status nest_bounds(const fettle_nest_request *request, const fettle_host *host,
                          nest_wide *weight, uint32_t *sheets, fettle_diagnostic *diagnostic) {
  size_t size = request->piece_kinds * sizeof(uint32_t);
  group g = {.request = request, .host = host, .thickness = EVERY_THICKNESS};
  g.kinds = host->allocate(host->context, NULL, 0, size);
  if (!g.kinds) {
    return fettle_fail(diagnostic, FETTLE_ERROR_MEMORY, "", "no memory for the lower bound");
  }
  fettle_status status = bound_group(&g, weight, sheets, diagnostic);
  /* Sheets of unlike thickness share no pieces, so their bounds add up. */
  nest_wide weights = 0;
  uint32_t all = 0;
  for (size_t kind = 0; kind < request->piece_kinds && status == FETTLE_OK; kind++) {
    if (!leads(request, kind)) {
      continue;
    }
    nest_wide part_weight = 0;
    uint32_t part = 0;
    g.thickness = request->pieces[kind].thickness;
    status = bound_group(&g, &part_weight, &part, diagnostic);
    weights += part_weight;
    all += part;
  }
  *weight = weights > *weight ? weights : *weight;
  *sheets = all > *sheets ? all : *sheets;
  host->allocate(host->context, g.kinds, size, 0);
  return status;
}

fettle_status fettle_nest_bound(const fettle_nest_request *request, const fettle_host *host,
                                uint32_t *sheets, int64_t *cost, fettle_diagnostic *diagnostic) {
  nest_wide weight = 0;
  fettle_status status = nest_bounds(request, host, &weight, sheets, diagnostic);
  *cost = status == FETTLE_OK && request->costed ? (int64_t)weight : 0;
  return status;
}
