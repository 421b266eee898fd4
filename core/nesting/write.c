/* nesting/write.c - from cut trees to sheets with places, numbered cuts and offcuts. */
#include <string.h>

#include "nesting/internal.h"

/* Where a node lies and which part of the sheet it is. */
typedef struct spot {
  int64_t corner[2]; /* low corner along x and y */
  uint32_t part;
} spot;

typedef struct writer {
  const fettle_nest_request *request;
  const nest_state *state;
  fettle_nest_layout *layout;
  spot *spots;     /* one a node */
  uint32_t *stack; /* nodes still to be written */
  uint32_t *order; /* children of one node */
  int axis;        /* along which `order` is being sorted */
  uint32_t next_part, next_cut;
} writer;

/* The longest strip first, equal ones together: fewest changes of the fence. */
static bool strip_before(const void *context, uint32_t a, uint32_t b) {
  const writer *w = context;
  const nest_node *left = &w->state->nodes[a], *right = &w->state->nodes[b];
  if (left->size[w->axis] != right->size[w->axis]) {
    return left->size[w->axis] > right->size[w->axis];
  }
  if (left->kind != right->kind) {
    return left->kind < right->kind;
  }
  return a < b;
}

static void add_cut(writer *w, uint32_t part, int axis, int64_t position, uint32_t first,
                    uint32_t second) {
  fettle_nest_cut *cut = &w->layout->cuts[w->layout->cut_count++];
  *cut = (fettle_nest_cut){.number = ++w->next_cut,
                           .part = part,
                           .along = axis == 1, /* strips that stand along y are ripped along x */
                           .position = position,
                           .first = first,
                           .second = second};
}

static void add_offcut(writer *w, const spot *at, int64_t length, int64_t width) {
  int64_t keep = w->request->keep;
  if (length <= 0 || width <= 0 || length < keep || width < keep) {
    return;
  }
  fettle_nest_offcut *offcut = &w->layout->offcuts[w->layout->offcut_count++];
  *offcut = (fettle_nest_offcut){at->corner[0], at->corner[1], length, width, at->part};
}

static void write_leaf(writer *w, uint32_t node) {
  const nest_node *leaf = &w->state->nodes[node];
  const spot *at = &w->spots[node];
  fettle_nest_place *place = &w->layout->places[w->layout->place_count++];
  *place = (fettle_nest_place){.kind = leaf->kind,
                               .x = at->corner[0],
                               .y = at->corner[1],
                               .length = leaf->size[0] - w->request->kerf,
                               .width = leaf->size[1] - w->request->kerf,
                               .turned = leaf->turned != 0,
                               .part = at->part};
}

/* Cuts one inner node into its strips and puts these on the stack. */
static void write_inner(writer *w, uint32_t node, size_t *stacked) {
  const nest_node *inner = &w->state->nodes[node];
  const int64_t kerf = w->request->kerf;
  int axis = inner->axis;
  size_t count = 0;
  for (uint32_t c = inner->first; c != NEST_NONE; c = w->state->nodes[c].next) {
    w->order[count++] = c;
  }
  w->axis = axis;
  nest_sort(w->order, count, strip_before, w);
  spot rest = w->spots[node];
  int64_t left = inner->size[axis];
  for (size_t i = 0; i < count; i++) {
    uint32_t child = w->order[i];
    int64_t strip = w->state->nodes[child].size[axis];
    w->spots[child] = rest;
    left -= strip;
    if (left > 0) {
      uint32_t first = w->next_part++;
      uint32_t second = left > kerf ? w->next_part++ : 0;
      add_cut(w, rest.part, axis, strip - kerf, first, second);
      w->spots[child].part = first;
      rest.part = second;
    }
    rest.corner[axis] += strip;
  }
  if (left > kerf) {
    int64_t room[2] = {inner->size[0] - kerf, inner->size[1] - kerf};
    room[axis] = left - kerf;
    add_offcut(w, &rest, room[0], room[1]);
  }
  for (size_t i = count; i > 0; i--) {
    w->stack[(*stacked)++] = w->order[i - 1];
  }
}

/* The trim on the four edges; the spot of what is left. */
static spot write_trim(writer *w, const fettle_nest_stock *stock) {
  spot rest = {{0, 0}, 1};
  w->next_part = 2;
  w->next_cut = 0;
  int64_t size[2] = {stock->length, stock->width};
  int64_t trims[2] = {w->request->trim_ends, w->request->trim_sides};
  for (int axis = 1; axis >= 0; axis--) { /* the long rips first */
    int64_t strip = trims[axis] - w->request->kerf;
    if (trims[axis] == 0) {
      continue;
    }
    uint32_t low = strip > 0 ? w->next_part++ : 0;
    uint32_t kept = w->next_part++;
    add_cut(w, rest.part, axis, strip, low, kept);
    uint32_t good = w->next_part++;
    uint32_t high = strip > 0 ? w->next_part++ : 0;
    size[axis] -= trims[axis];
    add_cut(w, kept, axis, size[axis] - trims[axis], good, high);
    size[axis] -= trims[axis];
    rest.part = good;
    rest.corner[axis] = trims[axis];
  }
  return rest;
}

static void write_sheet(writer *w, const nest_open *open) {
  fettle_nest_layout *layout = w->layout;
  fettle_nest_sheet *sheet = &layout->sheets[layout->sheet_count++];
  *sheet = (fettle_nest_sheet){.stock = open->stock,
                               .place_first = layout->place_count,
                               .cut_first = layout->cut_count,
                               .offcut_first = layout->offcut_count};
  w->spots[open->root] = write_trim(w, &w->request->stocks[open->stock]);
  size_t stacked = 0;
  w->stack[stacked++] = open->root;
  while (stacked > 0) {
    uint32_t node = w->stack[--stacked];
    if (w->state->nodes[node].kind != NEST_NONE) {
      write_leaf(w, node);
    } else {
      write_inner(w, node, &stacked);
    }
  }
  sheet->place_count = layout->place_count - sheet->place_first;
  sheet->cut_count = layout->cut_count - sheet->cut_first;
  sheet->offcut_count = layout->offcut_count - sheet->offcut_first;
}

static size_t lay_out(fettle_nest_layout *layout, char *block, size_t sheets, size_t pieces,
                      size_t nodes) {
  size_t used = 0;
  layout->sheets = nest_carve(block, &used, sheets, sizeof *layout->sheets);
  layout->places = nest_carve(block, &used, pieces, sizeof *layout->places);
  /* A node is reached by one cut at most; four more trim a sheet. */
  layout->cuts = nest_carve(block, &used, nodes + 4 * sheets, sizeof *layout->cuts);
  layout->offcuts = nest_carve(block, &used, nodes, sizeof *layout->offcuts);
  layout->unplaced = nest_carve(block, &used, layout->piece_kinds, sizeof *layout->unplaced);
  return used;
}

fettle_status nest_write_layout(const fettle_nest_request *request, const nest_state *state,
                                const fettle_host *host, fettle_nest_layout *layout,
                                fettle_diagnostic *diagnostic) {
  size_t sheets = 0, nodes = (size_t)state->node_end + 1;
  for (uint32_t s = 0; s < state->sheet_end; s++) {
    sheets += state->sheets[s].root != NEST_NONE;
  }
  *layout = (fettle_nest_layout){.piece_kinds = request->piece_kinds};
  size_t size = lay_out(layout, NULL, sheets, state->placed_count, nodes);
  size_t scratch_size = nodes * (sizeof(spot) + 2 * sizeof(uint32_t));
  char *block = host->allocate(host->context, NULL, 0, size);
  char *scratch = block ? host->allocate(host->context, NULL, 0, scratch_size) : NULL;
  if (!scratch) {
    if (block) {
      host->allocate(host->context, block, size, 0);
    }
    *layout = (fettle_nest_layout){0};
    return fettle_fail(diagnostic, FETTLE_ERROR_MEMORY, "", "no memory to write the layout");
  }
  memset(block, 0, size);
  lay_out(layout, block, sheets, state->placed_count, nodes);
  layout->memory = block;
  layout->memory_size = size;
  writer w = {.request = request, .state = state, .layout = layout, .spots = (spot *)scratch};
  w.stack = (uint32_t *)(w.spots + nodes);
  w.order = w.stack + nodes;
  nest_wide stock_area = 0, placed_area = 0, asked_area = 0, largest = 0;
  for (uint32_t s = 0; s < state->sheet_end; s++) {
    const nest_open *open = &state->sheets[s];
    if (open->root == NEST_NONE) {
      continue;
    }
    write_sheet(&w, open);
    const fettle_nest_stock *stock = &request->stocks[open->stock];
    stock_area += (nest_wide)stock->length * stock->width;
    layout->cost += request->costed ? stock->cost : 0;
  }
  for (size_t i = 0; i < layout->place_count; i++) {
    placed_area += (nest_wide)layout->places[i].length * layout->places[i].width;
  }
  for (size_t i = 0; i < request->piece_kinds; i++) {
    const fettle_nest_piece *piece = &request->pieces[i];
    asked_area += (nest_wide)piece->length * piece->width * piece->count;
  }
  for (size_t s = 0; s < request->stock_kinds; s++) {
    nest_wide area = (nest_wide)request->stocks[s].length * request->stocks[s].width;
    largest = area > largest ? area : largest;
  }
  for (uint32_t i = 0; i < state->waiting_count; i++) {
    layout->unplaced[state->waiting[i]]++;
  }
  layout->used = stock_area > 0 ? (double)placed_area / (double)stock_area : 0;
  layout->area_bound = (double)asked_area / (double)largest;
  host->allocate(host->context, scratch, scratch_size, 0);
  return FETTLE_OK;
}

void fettle_nest_free(fettle_nest_layout *layout, const fettle_host *host) {
  if (layout->memory) {
    host->allocate(host->context, layout->memory, layout->memory_size, 0);
  }
  *layout = (fettle_nest_layout){0};
}
