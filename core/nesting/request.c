/* nesting/request.c - the checks of a request, and the small things that the whole room shares. */
#include <math.h>
#include <string.h>

#include "fettle/quantity.h"
#include "nesting/internal.h"

nest_text nest_show(int64_t length, size_t unit) {
  nest_text out;
  fettle_dimension metre = (fettle_dimension)12 << (8 * FETTLE_BASE_LENGTH);
  fettle_quantity quantity = {
      .value = (double)length / (1000.0 * FETTLE_NEST_UNITS_PER_MM), /* base units to metres */
      .dimension = metre,
      .magic = FETTLE_QUANTITY_MAGIC,
      .unit = (uint16_t)unit,
  };
  fettle_quantity_format(&quantity, unit, 9, out.text, sizeof out.text);
  return out;
}

bool fettle_nest_units(double metres, int64_t *units) {
  const double per_metre = 1000.0 * FETTLE_NEST_UNITS_PER_MM;
  double exact = metres * per_metre;
  if (!(fabs(exact) < 9e15)) { /* beyond, doubles no longer hold every whole number */
    *units = exact > 0 ? INT64_MAX : INT64_MIN;
    return isfinite(exact) != 0; /* the size checks refuse it */
  }
  double whole = round(exact);
  *units = (int64_t)whole;
  /* A ten-thousandth of a base unit is 2.5 pm: only the rounding of the typed decimal. */
  return fabs(exact - whole) <= 1e-4 + 1e-12 * fabs(exact);
}

void *nest_carve(char *block, size_t *used, size_t count, size_t size) {
  void *at = block ? block + *used : NULL;
  *used += (count * size + 15) / 16 * 16;
  return at;
}

static void sift(uint32_t *items, size_t start, size_t count,
                 bool (*before)(const void *, uint32_t, uint32_t), const void *context) {
  size_t parent = start;
  for (size_t child = 2 * parent + 1; child < count; child = 2 * parent + 1) {
    if (child + 1 < count && before(context, items[child], items[child + 1])) {
      child++;
    }
    if (!before(context, items[parent], items[child])) {
      return;
    }
    uint32_t swap = items[parent];
    items[parent] = items[child];
    items[child] = swap;
    parent = child;
  }
}

void nest_sort(uint32_t *items, size_t count, bool (*before)(const void *, uint32_t, uint32_t),
               const void *context) {
  for (size_t start = count / 2; start > 0; start--) {
    sift(items, start - 1, count, before, context);
  }
  for (size_t end = count; end > 1; end--) {
    uint32_t swap = items[0];
    items[0] = items[end - 1];
    items[end - 1] = swap;
    sift(items, 0, end - 1, before, context);
  }
}

int64_t nest_usable_length(const fettle_nest_request *request, size_t stock) {
  return request->stocks[stock].length - 2 * request->trim_ends + request->kerf;
}

int64_t nest_usable_width(const fettle_nest_request *request, size_t stock) {
  return request->stocks[stock].width - 2 * request->trim_sides + request->kerf;
}

bool nest_thickness_fits(const fettle_nest_piece *piece, const fettle_nest_stock *stock) {
  return piece->thickness == 0 || piece->thickness == stock->thickness;
}

bool nest_piece_fits(const fettle_nest_request *request, size_t kind, size_t stock, bool turned) {
  const fettle_nest_piece *piece = &request->pieces[kind];
  int64_t along = (turned ? piece->width : piece->length) + request->kerf;
  int64_t across = (turned ? piece->length : piece->width) + request->kerf;
  return nest_thickness_fits(piece, &request->stocks[stock]) &&
         along <= nest_usable_length(request, stock) && across <= nest_usable_width(request, stock);
}

nest_wide nest_weight(const fettle_nest_request *request, size_t stock) {
  const fettle_nest_stock *sheet = &request->stocks[stock];
  return request->costed ? (nest_wide)sheet->cost : (nest_wide)sheet->length * sheet->width;
}

static fettle_status check_size(const char *row, const char *name, const char *edge, int64_t size,
                                size_t unit, fettle_diagnostic *diagnostic) {
  if (size <= 0) {
    return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, edge, "%s '%s': %s = %s: must be above 0",
                       row, name, edge, nest_show(size, unit).text);
  }
  if (size > FETTLE_NEST_SIZE_MOST) {
    return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, edge,
                       "%s '%s': %s = %s: must not be above %s", row, name, edge,
                       nest_show(size, unit).text, nest_show(FETTLE_NEST_SIZE_MOST, unit).text);
  }
  return FETTLE_OK;
}

static fettle_status check_rows(const fettle_nest_request *request, fettle_diagnostic *diagnostic) {
  uint64_t total = 0;
  fettle_status status = FETTLE_OK;
  for (size_t i = 0; i < request->piece_kinds && status == FETTLE_OK; i++) {
    const fettle_nest_piece *piece = &request->pieces[i];
    status = check_size("piece", piece->name, "length", piece->length, request->unit, diagnostic);
    if (status == FETTLE_OK) {
      status = check_size("piece", piece->name, "width", piece->width, request->unit, diagnostic);
    }
    if (status == FETTLE_OK && piece->thickness != 0) {
      status = check_size("piece", piece->name, "thickness", piece->thickness, request->unit,
                          diagnostic);
    }
    if (status == FETTLE_OK && piece->count == 0) {
      status = fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "count",
                           "piece '%s': count = 0: must be at least 1; leave the row out if none "
                           "is wanted",
                           piece->name);
    }
    total += piece->count;
  }
  if (status == FETTLE_OK && total > FETTLE_NEST_PIECES_MOST) {
    status = fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "pieces",
                         "pieces: %llu in all: must not be above %d; nest them in several jobs",
                         (unsigned long long)total, FETTLE_NEST_PIECES_MOST);
  }
  for (size_t i = 0; i < request->stock_kinds && status == FETTLE_OK; i++) {
    const fettle_nest_stock *stock = &request->stocks[i];
    status = check_size("stock", stock->name, "length", stock->length, request->unit, diagnostic);
    if (status == FETTLE_OK) {
      status = check_size("stock", stock->name, "width", stock->width, request->unit, diagnostic);
    }
    if (status == FETTLE_OK && stock->thickness != 0) {
      status = check_size("stock", stock->name, "thickness", stock->thickness, request->unit,
                          diagnostic);
    }
    if (status == FETTLE_OK && stock->count == 0) {
      status = fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "count",
                           "stock '%s': count = 0: must be at least 1; leave the row out if none "
                           "is there",
                           stock->name);
    }
    if (status == FETTLE_OK && request->costed &&
        (stock->cost < 0 || stock->cost > FETTLE_NEST_COST_MOST)) {
      status = fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "cost",
                           "stock '%s': cost: must be from 0 to 100 million", stock->name);
    }
  }
  return status;
}

typedef struct names_order {
  const char *const *names;
} names_order;

static bool name_before(const void *context, uint32_t a, uint32_t b) {
  const names_order *order = context;
  int compared = strcmp(order->names[a], order->names[b]);
  return compared < 0 || (compared == 0 && a < b);
}

static fettle_status check_names(const char *row, const char *const *names, uint32_t *index,
                                 size_t count, fettle_diagnostic *diagnostic) {
  for (size_t i = 0; i < count; i++) {
    index[i] = (uint32_t)i;
  }
  names_order order = {names};
  nest_sort(index, count, name_before, &order);
  for (size_t i = 1; i < count; i++) {
    if (strcmp(names[index[i - 1]], names[index[i]]) == 0) {
      return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "name",
                         "%s '%s': the name stands twice, in rows %lu and %lu: give each its own",
                         row, names[index[i]], (unsigned long)index[i - 1] + 1,
                         (unsigned long)index[i] + 1);
    }
  }
  return FETTLE_OK;
}

static fettle_status check_all_names(const fettle_nest_request *request, const fettle_host *host,
                                     fettle_diagnostic *diagnostic) {
  size_t rows =
      request->piece_kinds > request->stock_kinds ? request->piece_kinds : request->stock_kinds;
  size_t size = rows * (sizeof(const char *) + sizeof(uint32_t));
  void *memory = host->allocate(host->context, NULL, 0, size);
  if (!memory) {
    return fettle_fail(diagnostic, FETTLE_ERROR_MEMORY, "", "no memory to check the names");
  }
  const char **names = memory;
  uint32_t *index = (uint32_t *)(names + rows);
  for (size_t i = 0; i < request->piece_kinds; i++) {
    names[i] = request->pieces[i].name;
  }
  fettle_status status = check_names("piece", names, index, request->piece_kinds, diagnostic);
  if (status == FETTLE_OK) {
    for (size_t i = 0; i < request->stock_kinds; i++) {
      names[i] = request->stocks[i].name;
    }
    status = check_names("stock", names, index, request->stock_kinds, diagnostic);
  }
  host->allocate(host->context, memory, size, 0);
  return status;
}

static fettle_status check_cuts(const fettle_nest_request *request, fettle_diagnostic *diagnostic) {
  struct {
    const char *name;
    int64_t value;
  } rows[] = {{"kerf", request->kerf},
              {"trim", request->trim_ends},
              {"trim", request->trim_sides},
              {"keep", request->keep}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    nest_text shown = nest_show(rows[i].value, request->unit);
    if (rows[i].value < 0) {
      return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, rows[i].name,
                         "%s = %s: must not be below 0", rows[i].name, shown.text);
    }
    if (rows[i].value > FETTLE_NEST_SIZE_MOST) {
      return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, rows[i].name,
                         "%s = %s: must not be above %s", rows[i].name, shown.text,
                         nest_show(FETTLE_NEST_SIZE_MOST, request->unit).text);
    }
    if (strcmp(rows[i].name, "trim") == 0 && rows[i].value > 0 && rows[i].value < request->kerf) {
      return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "trim",
                         "trim = %s: must be 0 or not below the kerf of %s, which lies inside it",
                         shown.text, nest_show(request->kerf, request->unit).text);
    }
  }
  for (size_t s = 0; s < request->stock_kinds; s++) {
    const fettle_nest_stock *stock = &request->stocks[s];
    if (stock->length - 2 * request->trim_ends <= 0 ||
        stock->width - 2 * request->trim_sides <= 0) {
      return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "trim",
                         "stock '%s': nothing is left after the trim", stock->name);
    }
  }
  /* A kerf wider than a piece is a slip of the unit or the decimal point. */
  for (size_t i = 0; i < request->piece_kinds; i++) {
    const fettle_nest_piece *piece = &request->pieces[i];
    int64_t least = piece->length < piece->width ? piece->length : piece->width;
    if (request->kerf > least) {
      return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "kerf",
                         "kerf = %s: must not be above the smaller edge of piece '%s', %s",
                         nest_show(request->kerf, request->unit).text, piece->name,
                         nest_show(least, request->unit).text);
    }
  }
  return FETTLE_OK;
}

static fettle_status check_fit(const fettle_nest_request *request, fettle_diagnostic *diagnostic) {
  for (size_t i = 0; i < request->piece_kinds; i++) {
    const fettle_nest_piece *piece = &request->pieces[i];
    bool fits = false, thickness = false, turn_helps = false;
    size_t nearest = 0;
    for (size_t s = 0; s < request->stock_kinds && !fits; s++) {
      if (!nest_thickness_fits(piece, &request->stocks[s])) {
        continue;
      }
      if (!thickness || request->stocks[s].length > request->stocks[nearest].length) {
        nearest = s;
      }
      thickness = true;
      fits = nest_piece_fits(request, i, s, false) ||
             (piece->may_turn && nest_piece_fits(request, i, s, true));
      turn_helps = turn_helps || (!fits && nest_piece_fits(request, i, s, true));
    }
    if (fits) {
      continue;
    }
    size_t unit = request->unit;
    if (!thickness) {
      return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "thickness",
                         "piece '%s': thickness = %s: no stock is that thick", piece->name,
                         nest_show(piece->thickness, unit).text);
    }
    return fettle_fail(
        diagnostic, FETTLE_ERROR_RANGE, "pieces",
        "piece '%s': %s x %s is larger than any stock: '%s' gives %s x %s after trimming%s",
        piece->name, nest_show(piece->length, unit).text, nest_show(piece->width, unit).text,
        request->stocks[nearest].name,
        nest_show(nest_usable_length(request, nearest) - request->kerf, unit).text,
        nest_show(nest_usable_width(request, nearest) - request->kerf, unit).text,
        turn_helps ? "; it would fit turned: turn = true allows it" : "");
  }
  return FETTLE_OK;
}

fettle_status nest_validate(const fettle_nest_request *request, const fettle_host *host,
                            fettle_diagnostic *diagnostic) {
  if (request->piece_kinds == 0 || request->piece_kinds > FETTLE_NEST_KINDS_MOST) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "pieces",
                       "pieces: %lu rows: must be from 1 to %d",
                       (unsigned long)request->piece_kinds, FETTLE_NEST_KINDS_MOST);
  }
  if (request->stock_kinds == 0 || request->stock_kinds > FETTLE_NEST_STOCKS_MOST) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, "stock",
                       "stock: %lu rows: must be from 1 to %d", (unsigned long)request->stock_kinds,
                       FETTLE_NEST_STOCKS_MOST);
  }
  fettle_status status = check_rows(request, diagnostic);
  if (status == FETTLE_OK) {
    status = check_all_names(request, host, diagnostic);
  }
  if (status == FETTLE_OK) {
    status = check_cuts(request, diagnostic);
  }
  if (status == FETTLE_OK) {
    status = check_fit(request, diagnostic);
  }
  return status;
}
