/* nesting/check.c - proves a layout against its request.
 *
 * Written from the rules alone and sharing no code with the solver, so that one mistake cannot hide
 * in both. Plain comparisons of integers; sheets and pieces are counted from 1 in messages. */
#include "fettle/nesting.h"

/* A part of a sheet while its cuts are replayed. */
typedef struct part {
  int64_t x, y, length, width;
  enum { PART_UNKNOWN, PART_WHOLE, PART_CUT, PART_TAKEN } state;
} part;

typedef struct proof {
  const fettle_nest_request *request;
  const fettle_nest_layout *layout;
  const fettle_host *host;
  fettle_diagnostic *diagnostic;
  uint64_t *tally; /* of each kind of piece */
  size_t *order;   /* places of one sheet by x */
  part *parts;     /* of one sheet */
  size_t part_most;
} proof;

static fettle_status broken(const proof *p, const char *rule, const char *what, const char *name,
                            unsigned long sheet) {
  return fettle_fail(p->diagnostic, FETTLE_ERROR_INTERNAL, rule,
                     "layout refused by its check of %s: sheet %lu, '%s': %s", rule, sheet, name,
                     what);
}

static const char *name_of(const proof *p, const fettle_nest_place *place) {
  return p->request->pieces[place->kind].name;
}

/* Each array is used up by the sheets in order, so nothing escapes the other checks. */
static fettle_status check_ranges(const proof *p) {
  size_t places = 0, cuts = 0, offcuts = 0;
  for (size_t i = 0; i < p->layout->sheet_count; i++) {
    const fettle_nest_sheet *sheet = &p->layout->sheets[i];
    if (sheet->stock >= p->request->stock_kinds) {
      return broken(p, "stock", "no such stock", "", i + 1);
    }
    if (sheet->place_first != places || sheet->cut_first != cuts ||
        sheet->offcut_first != offcuts) {
      return broken(p, "pieces", "lists out of step", "", i + 1);
    }
    places += sheet->place_count;
    cuts += sheet->cut_count;
    offcuts += sheet->offcut_count;
  }
  if (places != p->layout->place_count || cuts != p->layout->cut_count ||
      offcuts != p->layout->offcut_count || p->layout->piece_kinds != p->request->piece_kinds) {
    return broken(p, "pieces", "lists out of step", "", p->layout->sheet_count);
  }
  return FETTLE_OK;
}

static fettle_status check_counts(const proof *p) {
  for (size_t i = 0; i < p->request->piece_kinds; i++) {
    p->tally[i] = p->layout->unplaced[i];
  }
  for (size_t i = 0; i < p->layout->place_count; i++) {
    if (p->layout->places[i].kind >= p->request->piece_kinds) {
      return broken(p, "pieces", "a piece that nobody asked for", "", 0);
    }
    p->tally[p->layout->places[i].kind]++;
  }
  for (size_t i = 0; i < p->request->piece_kinds; i++) {
    if (p->tally[i] != p->request->pieces[i].count) {
      return broken(p, "pieces",
                    p->tally[i] < p->request->pieces[i].count ? "fewer than asked for"
                                                              : "more than asked for",
                    p->request->pieces[i].name, 0);
    }
  }
  return FETTLE_OK;
}

static fettle_status check_stock(const proof *p) {
  int64_t cost = 0;
  for (size_t s = 0; s < p->request->stock_kinds; s++) {
    uint64_t used = 0;
    for (size_t i = 0; i < p->layout->sheet_count; i++) {
      used += p->layout->sheets[i].stock == s;
    }
    if (p->request->stocks[s].count != FETTLE_NEST_UNLIMITED &&
        used > p->request->stocks[s].count) {
      return broken(p, "stock", "more sheets than there are", p->request->stocks[s].name, 0);
    }
    cost += (int64_t)used * p->request->stocks[s].cost;
  }
  if (p->request->costed && cost != p->layout->cost) {
    return broken(p, "cost", "the costs do not add up", "", 0);
  }
  return FETTLE_OK;
}

static fettle_status check_bound(const proof *p) {
  bool all = true;
  for (size_t i = 0; i < p->request->piece_kinds; i++) {
    all = all && p->layout->unplaced[i] == 0;
  }
  const char *wrong = NULL;
  if (all && p->layout->sheet_count < p->layout->bound) {
    wrong = "fewer sheets than the bound allows";
  } else if (all && p->request->costed && p->layout->cost < p->layout->bound_cost) {
    wrong = "cheaper than the bound allows";
  } else if (p->layout->proved && !all) {
    wrong = "called proved with pieces left over";
  } else if (p->layout->proved && p->request->costed &&
             p->layout->cost !=
                 p->layout->bound_cost) { /* NOLINT(bugprone-branch-clone): by cost */
    wrong = "called proved above the bound";
  } else if (p->layout->proved && p->request->stock_kinds == 1 &&
             p->layout->sheet_count != p->layout->bound &&
             !(p->request->costed && p->request->stocks[0].cost == 0)) {
    wrong = "called proved above the bound";
  }
  return wrong ? broken(p, "bound", wrong, "", 0) : FETTLE_OK;
}

static fettle_status check_place(const proof *p, size_t sheet, const fettle_nest_place *place) {
  const fettle_nest_piece *piece = &p->request->pieces[place->kind];
  const fettle_nest_stock *stock = &p->request->stocks[p->layout->sheets[sheet].stock];
  int64_t length = place->turned ? piece->width : piece->length;
  int64_t width = place->turned ? piece->length : piece->width;
  if (place->length != length || place->width != width) {
    return broken(p, "size", "not the size asked for", piece->name, sheet + 1);
  }
  if (place->turned && !piece->may_turn && piece->length != piece->width) {
    return broken(p, "turn", "turned, though it must not be", piece->name, sheet + 1);
  }
  if (piece->thickness != 0 && piece->thickness != stock->thickness) {
    return broken(p, "thickness", "cut from stock of another thickness", piece->name, sheet + 1);
  }
  if (place->x < p->request->trim_ends || place->y < p->request->trim_sides ||
      place->x + length > stock->length - p->request->trim_ends ||
      place->y + width > stock->width - p->request->trim_sides) {
    return broken(p, "inside", "outside the trimmed sheet", piece->name, sheet + 1);
  }
  return FETTLE_OK;
}

static fettle_status check_pair(const proof *p, size_t sheet, const fettle_nest_place *a,
                                const fettle_nest_place *b) {
  int64_t gap_x = a->x <= b->x ? b->x - (a->x + a->length) : a->x - (b->x + b->length);
  int64_t gap_y = a->y <= b->y ? b->y - (a->y + a->width) : a->y - (b->y + b->width);
  if (gap_x < 0 && gap_y < 0) {
    return broken(p, "overlap", "overlaps another piece", name_of(p, a), sheet + 1);
  }
  if (gap_x < p->request->kerf && gap_y < p->request->kerf) {
    return broken(p, "kerf", "nearer to another piece than the kerf", name_of(p, a), sheet + 1);
  }
  return FETTLE_OK;
}

/* Sorts by x with shrinking gaps (Shell's method). */
static void order_by_x(const fettle_nest_place *places, size_t *order, size_t count) {
  for (size_t i = 0; i < count; i++) {
    order[i] = i;
  }
  for (size_t gap = count / 2; gap > 0; gap /= 2) {
    for (size_t i = gap; i < count; i++) {
      size_t moved = order[i], j = i;
      while (j >= gap && places[order[j - gap]].x > places[moved].x) {
        order[j] = order[j - gap];
        j -= gap;
      }
      order[j] = moved;
    }
  }
}

static fettle_status check_pieces_of(const proof *p, size_t index) {
  const fettle_nest_sheet *sheet = &p->layout->sheets[index];
  const fettle_nest_place *places = p->layout->places + sheet->place_first;
  for (size_t i = 0; i < sheet->place_count; i++) {
    fettle_status status = check_place(p, index, &places[i]);
    if (status != FETTLE_OK) {
      return status;
    }
  }
  order_by_x(places, p->order, sheet->place_count);
  for (size_t i = 0; i < sheet->place_count; i++) {
    const fettle_nest_place *a = &places[p->order[i]];
    if (p->host->poll && i % 64 == 0 && p->host->poll(p->host->context, -1, "checking") != 0) {
      return fettle_fail(p->diagnostic, FETTLE_ERROR_CANCELLED, "",
                         "stopped before the layout was checked");
    }
    for (size_t j = i + 1; j < sheet->place_count; j++) {
      const fettle_nest_place *b = &places[p->order[j]];
      if (b->x >= a->x + a->length + p->request->kerf) {
        break;
      }
      fettle_status status = check_pair(p, index, a, b);
      if (status != FETTLE_OK) {
        return status;
      }
    }
  }
  return FETTLE_OK;
}

/* Does one cut; false when it cannot be done as printed. */
static bool replay_cut(const proof *p, const fettle_nest_cut *cut) {
  if (cut->part == 0 || cut->part >= p->part_most || p->parts[cut->part].state != PART_WHOLE) {
    return false;
  }
  part *whole = &p->parts[cut->part];
  int64_t extent = cut->along ? whole->width : whole->length;
  int64_t behind = extent - cut->position - p->request->kerf;
  if (cut->position < 0 || cut->position >= extent || (cut->position > 0) != (cut->first != 0) ||
      (behind > 0) != (cut->second != 0)) {
    return false;
  }
  uint32_t made[2] = {cut->first, cut->second};
  for (int i = 0; i < 2; i++) {
    if (made[i] == 0) {
      continue;
    }
    if (made[i] >= p->part_most || p->parts[made[i]].state != PART_UNKNOWN) {
      return false;
    }
    part piece = *whole;
    int64_t shift = i == 0 ? 0 : cut->position + p->request->kerf;
    int64_t size = i == 0 ? cut->position : behind;
    if (cut->along) {
      piece.y += shift;
      piece.width = size;
    } else {
      piece.x += shift;
      piece.length = size;
    }
    p->parts[made[i]] = piece;
  }
  whole->state = PART_CUT;
  return true;
}

/* Claims a part that must lie exactly there. */
static bool claim(const proof *p, uint32_t number, int64_t x, int64_t y, int64_t length,
                  int64_t width) {
  if (number == 0 || number >= p->part_most) {
    return false;
  }
  part *found = &p->parts[number];
  if (found->state != PART_WHOLE || found->x != x || found->y != y || found->length != length ||
      found->width != width) {
    return false;
  }
  found->state = PART_TAKEN;
  return true;
}

/* Waste may be left unnamed when it is trim or below what is kept. */
static bool is_waste(const proof *p, const fettle_nest_stock *stock, const part *left) {
  return left->length < p->request->keep || left->width < p->request->keep ||
         left->x + left->length <= p->request->trim_ends ||
         left->y + left->width <= p->request->trim_sides ||
         left->x >= stock->length - p->request->trim_ends ||
         left->y >= stock->width - p->request->trim_sides;
}

static fettle_status check_cuts_of(const proof *p, size_t index) {
  const fettle_nest_layout *layout = p->layout;
  const fettle_nest_sheet *sheet = &layout->sheets[index];
  const fettle_nest_stock *stock = &p->request->stocks[sheet->stock];
  size_t most = 2 * sheet->cut_count + 2;
  for (size_t i = 0; i < most; i++) {
    p->parts[i] = (part){0, 0, 0, 0, PART_UNKNOWN};
  }
  proof mine = *p;
  mine.part_most = most;
  mine.parts[1] = (part){0, 0, stock->length, stock->width, PART_WHOLE};
  for (size_t i = 0; i < sheet->cut_count; i++) {
    const fettle_nest_cut *cut = &layout->cuts[sheet->cut_first + i];
    if (cut->number != i + 1 || !replay_cut(&mine, cut)) {
      return fettle_fail(p->diagnostic, FETTLE_ERROR_INTERNAL, "cuts",
                         "layout refused by its check of cuts: sheet %lu, cut %lu cannot be done "
                         "as printed",
                         (unsigned long)index + 1, (unsigned long)i + 1);
    }
  }
  for (size_t i = 0; i < sheet->place_count; i++) {
    const fettle_nest_place *place = &layout->places[sheet->place_first + i];
    if (!claim(&mine, place->part, place->x, place->y, place->length, place->width)) {
      return broken(p, "cuts", "the cuts do not end with this piece", name_of(p, place), index + 1);
    }
  }
  for (size_t i = 0; i < sheet->offcut_count; i++) {
    const fettle_nest_offcut *offcut = &layout->offcuts[sheet->offcut_first + i];
    if (!claim(&mine, offcut->part, offcut->x, offcut->y, offcut->length, offcut->width)) {
      return broken(p, "offcuts", "the cuts do not end with this offcut", "", index + 1);
    }
    if (offcut->length < p->request->keep || offcut->width < p->request->keep) {
      return broken(p, "offcuts", "an offcut below the least edge to keep", "", index + 1);
    }
  }
  for (size_t i = 1; i < most; i++) {
    if (mine.parts[i].state == PART_WHOLE && !is_waste(p, stock, &mine.parts[i])) {
      return broken(p, "offcuts", "an offcut worth keeping is not listed", "", index + 1);
    }
  }
  return FETTLE_OK;
}

static fettle_status run_checks(const proof *p) {
  fettle_status status = check_ranges(p);
  if (status == FETTLE_OK) {
    status = check_counts(p);
  }
  if (status == FETTLE_OK) {
    status = check_stock(p);
  }
  for (size_t i = 0; i < p->layout->sheet_count && status == FETTLE_OK; i++) {
    status = check_pieces_of(p, i);
    if (status == FETTLE_OK) {
      status = check_cuts_of(p, i);
    }
  }
  return status == FETTLE_OK ? check_bound(p) : status;
}

fettle_status fettle_nest_check(const fettle_nest_request *request,
                                const fettle_nest_layout *layout, const fettle_host *host,
                                fettle_diagnostic *diagnostic) {
  size_t part_most = 2 * layout->cut_count + 2;
  size_t size = request->piece_kinds * sizeof(uint64_t) +
                (layout->place_count + 1) * sizeof(size_t) + part_most * sizeof(part);
  char *memory = host->allocate(host->context, NULL, 0, size);
  if (!memory) {
    return fettle_fail(diagnostic, FETTLE_ERROR_MEMORY, "", "no memory to check the layout");
  }
  proof p = {.request = request, .layout = layout, .host = host, .diagnostic = diagnostic};
  p.parts = (part *)memory;
  p.tally = (uint64_t *)(p.parts + part_most);
  p.order = (size_t *)(p.tally + request->piece_kinds);
  fettle_status status = run_checks(&p);
  host->allocate(host->context, memory, size, 0);
  return status;
}
