/* nesting/search.c - building and bettering layouts as cut trees. */
#include <string.h>

#include "nesting/internal.h"

/* A way of putting a piece into the free room of an inner node. */
typedef struct slot {
  uint32_t node; /* NEST_NONE: none */
  bool turned;
  int64_t score; /* less is better */
} slot;

/* How well a slot fits: by the narrower gap, by the wider gap, by the area left. */
typedef enum fit { FIT_NARROW = 0, FIT_WIDE = 1, FIT_AREA = 2, FIT_KINDS = 3 } fit;

/* The order in which pieces are put back. */
typedef enum order { ORDER_AREA = 0, ORDER_LONG, ORDER_LENGTH, ORDER_WIDTH, ORDER_KINDS } order;

/* The two largest offcuts; the second breaks ties. */
typedef struct rest_score {
  int64_t first, second;
} rest_score;

enum {
  HISTORY = 64,           /* steps that late acceptance looks back */
  NODES_A_PIECE = 4,      /* a leaf, two strips, the root of a new sheet */
  PROVED_ROUND = 2000000, /* places looked at for larger offcuts once no stock can be saved */
  FIRST_ROUND = 1000000   /* places of the first round of search; each round is twice the last */
};

typedef struct search {
  const fettle_nest_request *request;
  const fettle_host *host;
  nest_state now, before, best;
  uint32_t node_most, piece_total, sheet_most;
  int64_t *area;   /* of each kind, kerf added */
  uint32_t *order; /* scratch: pieces to put back */
  uint64_t random; /* generator state */
  uint64_t spent, effort;
  uint64_t next_poll;
  bool cancelled;
  bool thicknesses; /* more than one thickness: each slot must be asked */
  order by;         /* of the sort that runs */
  nest_wide limit;  /* a sheet may be opened while the weight stays below; negative: no limit */
} search;

/* xorshift64* (Marsaglia, Xorshift RNGs, Journal of Statistical Software 8, 2003; the multiplier
 * is from memory). Only the order of trials depends on it. */
static uint32_t draw(search *s, uint32_t below) {
  s->random ^= s->random >> 12;
  s->random ^= s->random << 25;
  s->random ^= s->random >> 27;
  uint64_t value = s->random * UINT64_C(2685821657736338717);
  return (uint32_t)(((value >> 32) * below) >> 32);
}

static void spend(search *s, uint64_t places, const char *stage) {
  enum { POLL_EVERY = 200000 }; /* places; about half a millisecond */
  s->spent += places;
  if (s->spent < s->next_poll || !s->host->poll) {
    return;
  }
  s->next_poll = s->spent + POLL_EVERY;
  double fraction = (double)s->spent / (double)s->effort;
  if (s->host->poll(s->host->context, fraction < 1 ? fraction : 1, stage) != 0) {
    s->cancelled = true;
  }
}

/* --- the tree --- */

static uint32_t new_node(nest_state *t) {
  uint32_t node = t->free_node;
  if (node != NEST_NONE) {
    t->free_node = t->nodes[node].next;
  } else {
    node = t->node_end++;
  }
  t->node_count++;
  return node;
}

static void give_back(nest_state *t, uint32_t node) {
  t->nodes[node].slack = -1; /* no scan sees it */
  t->nodes[node].kind = NEST_NONE;
  t->nodes[node].next = t->free_node;
  t->free_node = node;
  t->node_count--;
}

static void attach(nest_state *t, uint32_t parent, uint32_t child) {
  nest_node *p = &t->nodes[parent], *c = &t->nodes[child];
  c->parent = parent;
  c->previous = NEST_NONE;
  c->next = p->first;
  if (p->first != NEST_NONE) {
    t->nodes[p->first].previous = child;
  }
  p->first = child;
  p->slack -= c->size[p->axis];
}

static void detach(nest_state *t, uint32_t child) {
  nest_node *c = &t->nodes[child], *p = &t->nodes[c->parent];
  if (c->previous != NEST_NONE) {
    t->nodes[c->previous].next = c->next;
  } else {
    p->first = c->next;
  }
  if (c->next != NEST_NONE) {
    t->nodes[c->next].previous = c->previous;
  }
  p->slack += c->size[p->axis];
}

static uint32_t add_inner(nest_state *t, uint32_t parent, int64_t length) {
  uint32_t node = new_node(t);
  nest_node *p = &t->nodes[parent], *n = &t->nodes[node];
  *n = (nest_node){.first = NEST_NONE, .kind = NEST_NONE, .sheet = p->sheet};
  n->axis = (uint8_t)(1 - p->axis);
  n->size[p->axis] = length;
  n->size[n->axis] = p->size[n->axis];
  n->slack = n->size[n->axis];
  attach(t, parent, node);
  return node;
}

static void add_leaf(nest_state *t, uint32_t parent, uint32_t kind, bool turned,
                     const int64_t size[2]) {
  uint32_t node = new_node(t);
  nest_node *n = &t->nodes[node];
  *n = (nest_node){.size = {size[0], size[1]},
                   .slack = -1,
                   .first = NEST_NONE,
                   .kind = kind,
                   .sheet = t->nodes[parent].sheet,
                   .position = t->placed_count,
                   .turned = turned};
  attach(t, parent, node);
  t->placed[t->placed_count++] = node;
}

static void piece_size(const search *s, uint32_t kind, bool turned, int64_t size[2]) {
  const fettle_nest_piece *piece = &s->request->pieces[kind];
  size[turned ? 1 : 0] = piece->length + s->request->kerf;
  size[turned ? 0 : 1] = piece->width + s->request->kerf;
}

/* Puts a piece into the free room of an inner node. The first cut frees either a strip as long as
 * the piece (the rest of the room stays whole) or, `whole`, the full length of the room at the
 * piece's cross size (the rest beside it stays whole). */
static void insert(search *s, uint32_t node, uint32_t kind, bool turned, bool whole) {
  nest_state *t = &s->now;
  int64_t size[2];
  piece_size(s, kind, turned, size);
  int axis = t->nodes[node].axis;
  int64_t room = t->nodes[node].slack, cross = t->nodes[node].size[1 - axis];
  uint32_t parent = node;
  if (size[1 - axis] < cross) {
    bool split = whole && size[axis] < room;
    parent = add_inner(t, node, split ? room : size[axis]);
    if (split) {
      parent = add_inner(t, parent, size[1 - axis]);
    }
  }
  add_leaf(t, parent, kind, turned, size);
}

static void close_sheet(search *s, uint32_t sheet) {
  nest_state *t = &s->now;
  nest_open *open = &t->sheets[sheet];
  give_back(t, open->root);
  open->root = NEST_NONE;
  t->stock_used[open->stock]--;
  t->weight -= nest_weight(s->request, open->stock);
}

static void wait_for_place(search *s, uint32_t kind) {
  nest_state *t = &s->now;
  t->waiting[t->waiting_count++] = kind;
  t->waiting_area += s->area[kind];
}

/* Takes out everything below a node and the node itself; its pieces wait. Roots are closed. */
static void remove_below(search *s, uint32_t top) {
  nest_state *t = &s->now;
  uint32_t node = top;
  for (;;) { /* children first, without recursion: trees may be deep */
    while (t->nodes[node].first != NEST_NONE) {
      node = t->nodes[node].first;
    }
    const nest_node *n = &t->nodes[node];
    uint32_t parent = n->parent;
    if (n->kind != NEST_NONE) {
      uint32_t last = t->placed[--t->placed_count];
      t->placed[n->position] = last;
      t->nodes[last].position = n->position;
      wait_for_place(s, n->kind);
    }
    if (parent == NEST_NONE) {
      close_sheet(s, n->sheet);
      return;
    }
    detach(t, node);
    give_back(t, node);
    if (node == top) {
      return;
    }
    node = parent;
  }
}

/* Narrows a strip to what its children need and gives the rest to its parent. */
static void tighten(nest_state *t, uint32_t node) {
  nest_node *n = &t->nodes[node];
  if (n->parent == NEST_NONE || n->kind != NEST_NONE) {
    return;
  }
  int axis = 1 - n->axis;
  int64_t spare = INT64_MAX;
  for (uint32_t c = n->first; c != NEST_NONE; c = t->nodes[c].next) {
    int64_t slack = t->nodes[c].kind == NEST_NONE ? t->nodes[c].slack : 0;
    spare = slack < spare ? slack : spare;
  }
  if (spare == 0 || spare == INT64_MAX) {
    return;
  }
  for (uint32_t c = n->first; c != NEST_NONE; c = t->nodes[c].next) {
    t->nodes[c].size[axis] -= spare;
    t->nodes[c].slack -= spare;
  }
  n->size[axis] -= spare;
  t->nodes[n->parent].slack += spare;
}

/* Takes out a node, and the strips that this leaves empty. */
static void remove_node(search *s, uint32_t node, bool narrow) {
  nest_state *t = &s->now;
  uint32_t parent = t->nodes[node].parent;
  remove_below(s, node);
  while (parent != NEST_NONE && t->nodes[parent].first == NEST_NONE) {
    node = parent;
    parent = t->nodes[node].parent;
    remove_below(s, node);
  }
  while (narrow && parent != NEST_NONE) {
    node = parent;
    parent = t->nodes[node].parent;
    tighten(t, node);
  }
}

static uint32_t open_sheet(search *s, uint32_t stock) {
  nest_state *t = &s->now;
  uint32_t sheet = 0;
  while (sheet < t->sheet_end && t->sheets[sheet].root != NEST_NONE) {
    sheet++;
  }
  if (sheet == t->sheet_end) {
    t->sheet_end++;
  }
  uint32_t root = new_node(t);
  nest_node *n = &t->nodes[root];
  *n = (nest_node){.parent = NEST_NONE,
                   .first = NEST_NONE,
                   .previous = NEST_NONE,
                   .next = NEST_NONE,
                   .kind = NEST_NONE,
                   .sheet = sheet};
  n->size[0] = nest_usable_length(s->request, stock);
  n->size[1] = nest_usable_width(s->request, stock);
  n->axis = n->size[0] >= n->size[1] ? 0 : 1;
  n->slack = n->size[n->axis];
  t->sheets[sheet] = (nest_open){root, stock};
  t->stock_used[stock]++;
  t->weight += nest_weight(s->request, stock);
  return root;
}

static void copy_state(const search *s, nest_state *to, const nest_state *from) {
  nest_state kept = *to;
  *to = *from;
  to->nodes = kept.nodes;
  to->sheets = kept.sheets;
  to->placed = kept.placed;
  to->waiting = kept.waiting;
  to->stock_used = kept.stock_used;
  memcpy(to->nodes, from->nodes, from->node_end * sizeof *to->nodes);
  memcpy(to->sheets, from->sheets, from->sheet_end * sizeof *to->sheets);
  memcpy(to->placed, from->placed, from->placed_count * sizeof *to->placed);
  memcpy(to->waiting, from->waiting, from->waiting_count * sizeof *to->waiting);
  memcpy(to->stock_used, from->stock_used, s->request->stock_kinds * sizeof *to->stock_used);
}

/* --- putting pieces in --- */

static int64_t fit_score(fit how, int64_t along, int64_t across, int64_t room, int64_t cross) {
  int64_t gap_along = room - along, gap_across = cross - across;
  if (how == FIT_AREA) {
    return room * cross - along * across;
  }
  bool narrow = gap_along < gap_across;
  return narrow == (how == FIT_NARROW) ? gap_along : gap_across;
}

static void try_slot(search *s, uint32_t node, const int64_t size[2], bool turned, fit how,
                     uint32_t blink, slot *best) {
  const nest_node *n = &s->now.nodes[node];
  int64_t along = size[n->axis], across = size[1 - n->axis];
  int64_t cross = n->size[1 - n->axis];
  if (along > n->slack || across > cross) {
    return;
  }
  int64_t score = fit_score(how, along, across, n->slack, cross);
  if (best->node != NEST_NONE && score >= best->score) {
    return;
  }
  if (blink > 0 && draw(s, blink) == 0) { /* looks away now and then: breaks ties and habits */
    return;
  }
  *best = (slot){node, turned, score};
}

static bool thickness_ok(const search *s, uint32_t kind, uint32_t node) {
  const nest_node *n = &s->now.nodes[node];
  return !s->thicknesses || nest_thickness_fits(&s->request->pieces[kind],
                                                &s->request->stocks[s->now.sheets[n->sheet].stock]);
}

static slot find_slot(search *s, uint32_t kind, fit how, uint32_t blink) {
  const nest_state *t = &s->now;
  slot best = {NEST_NONE, false, 0};
  int64_t straight[2], turned[2];
  piece_size(s, kind, false, straight);
  piece_size(s, kind, true, turned);
  bool both = s->request->pieces[kind].may_turn && straight[0] != straight[1];
  int64_t least = straight[0] < straight[1] ? straight[0] : straight[1];
  for (uint32_t node = 0; node < t->node_end; node++) {
    if (t->nodes[node].slack < least || !thickness_ok(s, kind, node)) {
      continue;
    }
    try_slot(s, node, straight, false, how, blink, &best);
    if (both) {
      try_slot(s, node, turned, true, how, blink, &best);
    }
  }
  return best;
}

/* Which first cut leaves the larger piece of free room whole. */
static bool leaves_more_whole(const search *s, const slot *at, uint32_t kind) {
  const nest_node *n = &s->now.nodes[at->node];
  int64_t size[2];
  piece_size(s, kind, at->turned, size);
  int64_t cross = n->size[1 - n->axis];
  return n->slack * (cross - size[1 - n->axis]) > (n->slack - size[n->axis]) * cross;
}

/* A stock for one more sheet: the cheapest by area that takes the piece, or with `any` a drawn
 * one of those that the limit allows. */
static uint32_t choose_stock(search *s, uint32_t kind, bool any) {
  const fettle_nest_request *request = s->request;
  uint32_t chosen = NEST_NONE, seen = 0;
  for (uint32_t stock = 0; stock < request->stock_kinds; stock++) {
    bool fits = nest_piece_fits(request, kind, stock, false) ||
                (request->pieces[kind].may_turn && nest_piece_fits(request, kind, stock, true));
    nest_wide weight = nest_weight(request, stock);
    if (!fits || s->now.stock_used[stock] >= request->stocks[stock].count ||
        (s->limit >= 0 && s->now.weight + weight >= s->limit)) {
      continue;
    }
    seen++;
    if (chosen == NEST_NONE || (any && draw(s, seen) == 0)) {
      chosen = stock;
      continue;
    }
    const fettle_nest_stock *a = &request->stocks[stock], *b = &request->stocks[chosen];
    nest_wide cheap = weight * b->length * b->width;
    nest_wide other = nest_weight(request, chosen) * a->length * a->width;
    if (!any &&
        (cheap < other || (cheap == other && a->length * a->width > b->length * b->width))) {
      chosen = stock;
    }
  }
  return chosen;
}

static bool put_back(search *s, uint32_t kind, fit how, uint32_t blink, bool any_stock) {
  slot at = find_slot(s, kind, how, blink);
  spend(s, s->now.node_end + 1, "nesting");
  /* Strips within strips can outgrow the room for nodes; such a layout is of no use. */
  if (s->now.node_count + NODES_A_PIECE > s->node_most) {
    return false;
  }
  if (at.node == NEST_NONE) {
    uint32_t stock = choose_stock(s, kind, any_stock);
    if (stock == NEST_NONE) {
      return false;
    }
    at.node = open_sheet(s, stock);
    bool straight = nest_piece_fits(s->request, kind, stock, false);
    bool turned =
        s->request->pieces[kind].may_turn && nest_piece_fits(s->request, kind, stock, true);
    at.turned = turned && (!straight || (any_stock && draw(s, 2) == 0));
  }
  bool whole = leaves_more_whole(s, &at, kind);
  if (blink > 0 && draw(s, 4) == 0) {
    whole = !whole;
  }
  insert(s, at.node, kind, at.turned, whole);
  return true;
}

static int64_t order_key(const search *s, uint32_t kind) {
  const fettle_nest_piece *piece = &s->request->pieces[kind];
  switch (s->by) {
  case ORDER_LONG:
    return piece->length > piece->width ? piece->length : piece->width;
  case ORDER_LENGTH:
    return piece->length;
  case ORDER_WIDTH:
    return piece->width;
  default:
    return s->area[kind];
  }
}

static bool piece_before(const void *context, uint32_t a, uint32_t b) {
  const search *s = context;
  int64_t left = order_key(s, a), right = order_key(s, b);
  if (left != right) {
    return left > right;
  }
  if (s->area[a] != s->area[b]) {
    return s->area[a] > s->area[b];
  }
  return a < b;
}

/* Puts the waiting pieces in, largest first; those without a place go on waiting. */
static void recreate(search *s, order by, fit how, uint32_t blink, bool any_stock) {
  nest_state *t = &s->now;
  uint32_t count = t->waiting_count;
  memcpy(s->order, t->waiting, count * sizeof *s->order);
  s->by = by;
  nest_sort(s->order, count, piece_before, s);
  t->waiting_count = 0;
  t->waiting_area = 0;
  uint32_t refused = NEST_NONE; /* its twins find no place either */
  for (uint32_t i = 0; i < count; i++) {
    uint32_t kind = s->order[i];
    bool hopeless = s->cancelled || (kind == refused && blink == 0);
    if (hopeless || !put_back(s, kind, how, blink, any_stock)) {
      refused = kind;
      wait_for_place(s, kind);
    }
  }
}

/* --- taking pieces out --- */

/* The subtree of a drawn piece, up to `levels` above it, when it holds no more than `most`. */
static void ruin_subtree(search *s, uint32_t levels, bool narrow) {
  nest_state *t = &s->now;
  uint32_t node = t->placed[draw(s, t->placed_count)];
  for (uint32_t i = 0; i < levels && t->nodes[node].parent != NEST_NONE; i++) {
    node = t->nodes[node].parent;
  }
  remove_node(s, node, narrow);
}

static void ruin(search *s) {
  nest_state *t = &s->now;
  uint32_t kind = draw(s, 16);
  bool narrow = draw(s, 2) == 0;
  if (t->placed_count == 0) {
    return;
  }
  if (kind == 0) { /* a whole sheet */
    uint32_t node = t->placed[draw(s, t->placed_count)];
    remove_node(s, t->sheets[t->nodes[node].sheet].root, narrow);
  } else if (kind < 9) { /* a few pieces anywhere */
    uint32_t count = 1 + draw(s, 6);
    for (uint32_t i = 0; i < count && t->placed_count > 0; i++) {
      ruin_subtree(s, 0, narrow);
    }
  } else { /* neighbours */
    uint32_t count = 1 + draw(s, 3);
    for (uint32_t i = 0; i < count && t->placed_count > 0; i++) {
      ruin_subtree(s, 1 + draw(s, 3), narrow);
    }
  }
}

/* --- the phases --- */

static bool better(const nest_state *a, const nest_state *b) {
  if (a->waiting_area != b->waiting_area) {
    return a->waiting_area < b->waiting_area;
  }
  return a->weight < b->weight;
}

static void start_empty(search *s) {
  nest_state *t = &s->now;
  t->node_end = t->node_count = 0;
  t->free_node = NEST_NONE;
  t->sheet_end = t->placed_count = t->waiting_count = 0;
  t->weight = 0;
  t->waiting_area = 0;
  memset(t->stock_used, 0, s->request->stock_kinds * sizeof *t->stock_used);
  for (uint32_t kind = 0; kind < s->request->piece_kinds; kind++) {
    for (uint32_t i = 0; i < s->request->pieces[kind].count; i++) {
      wait_for_place(s, kind);
    }
  }
}

/* The first layout in several orders; the first of them whatever it costs. */
static void build(search *s) {
  for (uint32_t trial = 0; trial < ORDER_KINDS * FIT_KINDS; trial++) {
    if (trial > 0 && (s->cancelled || s->spent >= FIRST_ROUND || s->spent >= s->effort)) {
      break;
    }
    start_empty(s);
    recreate(s, (order)(trial % ORDER_KINDS), (fit)(trial / ORDER_KINDS), 0, false);
    if (!s->cancelled && (trial == 0 || better(&s->now, &s->best))) {
      copy_state(s, &s->best, &s->now);
    }
  }
}

/* Gives up the emptiest sheets until the weight is below the limit. */
static void drop_sheets(search *s) {
  nest_state *t = &s->now;
  while (t->weight >= s->limit && t->placed_count > 0) {
    uint32_t emptiest = NEST_NONE;
    nest_wide least = 0;
    for (uint32_t sheet = 0; sheet < t->sheet_end; sheet++) {
      if (t->sheets[sheet].root == NEST_NONE) {
        continue;
      }
      nest_wide filled = 0;
      for (uint32_t i = 0; i < t->placed_count; i++) {
        const nest_node *leaf = &t->nodes[t->placed[i]];
        filled += leaf->sheet == sheet ? s->area[leaf->kind] : 0;
      }
      spend(s, t->placed_count, "nesting");
      /* A sheet that costs nothing gives nothing back. */
      if (nest_weight(s->request, t->sheets[sheet].stock) > 0 &&
          (emptiest == NEST_NONE || filled < least)) {
        emptiest = sheet;
        least = filled;
      }
    }
    if (emptiest == NEST_NONE) {
      return;
    }
    remove_node(s, t->sheets[emptiest].root, false);
  }
}

/* Late acceptance on the area of the waiting pieces: a step is kept when it is no worse than the
 * last one or than the one HISTORY steps ago. */
static void lessen_stock(search *s, nest_wide bound, uint64_t effort) {
  int64_t history[HISTORY];
  bool fresh = true;
  uint64_t step = 0;
  while (s->spent < effort && !s->cancelled) {
    if (s->best.waiting_count == 0 && s->best.weight <= bound) {
      return;
    }
    if (fresh) {
      copy_state(s, &s->now, &s->best);
      s->limit = s->best.waiting_count == 0 ? s->best.weight : -1;
      if (s->limit >= 0) {
        drop_sheets(s);
        if (s->now.weight >= s->limit) {
          return;
        }
      }
      for (size_t i = 0; i < HISTORY; i++) {
        history[i] = s->now.waiting_area;
      }
      copy_state(s, &s->before, &s->now);
      fresh = false;
    }
    ruin(s);
    recreate(s, (order)draw(s, ORDER_KINDS), (fit)draw(s, FIT_KINDS), 50, true);
    if (s->cancelled) {
      return;
    }
    int64_t *late = &history[step++ % HISTORY];
    bool keep = s->now.waiting_area <= s->before.waiting_area || s->now.waiting_area <= *late;
    if (keep) {
      copy_state(s, &s->before, &s->now);
    } else {
      copy_state(s, &s->now, &s->before);
    }
    *late = s->now.waiting_area;
    if (better(&s->now, &s->best)) {
      copy_state(s, &s->best, &s->now);
      fresh = true;
    }
  }
}

static bool rest_less(rest_score a, rest_score b) {
  return a.first != b.first ? a.first < b.first : a.second < b.second;
}

/* The two largest offcuts worth keeping, by their true area. */
static rest_score score_rests(search *s) {
  const nest_state *t = &s->now;
  int64_t kerf = s->request->kerf, keep = s->request->keep;
  rest_score score = {0, 0};
  for (uint32_t node = 0; node < t->node_end; node++) {
    const nest_node *n = &t->nodes[node];
    int64_t room = n->slack - kerf, cross = n->size[1 - n->axis] - kerf;
    if (n->slack <= kerf || cross <= 0 || room < keep || cross < keep) {
      continue;
    }
    int64_t area = room * cross;
    if (area > score.first) {
      score.second = score.first;
      score.first = area;
    } else if (area > score.second) {
      score.second = area;
    }
  }
  spend(s, t->node_end + 1, "offcuts");
  return score;
}

/* The same search for larger offcuts, the weight of the stock held. */
static void enlarge_rests(search *s, uint64_t effort) {
  if (s->best.waiting_count > 0 || s->cancelled) {
    return;
  }
  rest_score history[HISTORY];
  copy_state(s, &s->now, &s->best);
  copy_state(s, &s->before, &s->now);
  rest_score best = score_rests(s), current = best;
  for (size_t i = 0; i < HISTORY; i++) {
    history[i] = best;
  }
  s->limit = s->best.weight + 1;
  for (uint64_t step = 0; s->spent < effort && !s->cancelled; step++) {
    ruin(s);
    recreate(s, (order)draw(s, ORDER_KINDS), (fit)draw(s, FIT_KINDS), 50, true);
    if (s->cancelled) {
      return;
    }
    rest_score score = s->now.waiting_count == 0 ? score_rests(s) : (rest_score){-1, -1};
    bool cheaper = s->now.waiting_count == 0 && s->now.weight < s->best.weight;
    if (cheaper || rest_less(best, score)) {
      best = score;
      copy_state(s, &s->best, &s->now);
      if (cheaper) {
        return; /* the next round goes on from here */
      }
    }
    rest_score *late = &history[step % HISTORY];
    if (!rest_less(score, current) || !rest_less(score, *late)) {
      copy_state(s, &s->before, &s->now);
      current = score;
    } else {
      copy_state(s, &s->now, &s->before);
    }
    *late = current;
  }
}

/* --- memory --- */

static size_t lay_out(search *s, char *block) {
  size_t used = 0;
  nest_state *states[] = {&s->now, &s->before, &s->best};
  for (size_t i = 0; i < 3; i++) {
    nest_state *t = states[i];
    t->nodes = nest_carve(block, &used, s->node_most, sizeof *t->nodes);
    t->sheets = nest_carve(block, &used, s->sheet_most, sizeof *t->sheets);
    t->placed = nest_carve(block, &used, s->piece_total, sizeof *t->placed);
    t->waiting = nest_carve(block, &used, s->piece_total, sizeof *t->waiting);
    t->stock_used = nest_carve(block, &used, s->request->stock_kinds, sizeof *t->stock_used);
  }
  s->area = nest_carve(block, &used, s->request->piece_kinds, sizeof *s->area);
  s->order = nest_carve(block, &used, s->piece_total, sizeof *s->order);
  return used;
}

static void prepare(search *s) {
  for (size_t i = 0; i < s->request->piece_kinds; i++) {
    const fettle_nest_piece *piece = &s->request->pieces[i];
    s->area[i] = (piece->length + s->request->kerf) * (piece->width + s->request->kerf);
  }
  for (size_t i = 1; i < s->request->stock_kinds; i++) {
    s->thicknesses |= s->request->stocks[i].thickness != s->request->stocks[0].thickness;
  }
}

static fettle_status run(search *s, fettle_nest_layout *layout, fettle_diagnostic *diagnostic) {
  nest_wide bound = 0;
  uint32_t sheets = 0;
  fettle_status status = nest_bounds(s->request, s->host, &bound, &sheets, diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  build(s);
  if (s->cancelled && s->best.node_end == 0) {
    return fettle_fail(diagnostic, FETTLE_ERROR_CANCELLED, "", "stopped before a first layout");
  }
  uint64_t proved_at = 0; /* effort spent when the bound was met, or 0 */
  /* The rounds do not depend on the effort: more effort goes the same way further. */
  for (uint64_t round = FIRST_ROUND; s->spent < s->effort && !s->cancelled; round *= 2) {
    uint64_t stock_end = s->spent + round, rest_end = stock_end + round / 4;
    lessen_stock(s, bound, stock_end < s->effort ? stock_end : s->effort);
    enlarge_rests(s, rest_end < s->effort ? rest_end : s->effort);
    if (s->best.waiting_count > 0 && s->spent < stock_end) {
      break; /* nothing more can be done */
    }
    if (s->best.waiting_count == 0 && s->best.weight <= bound) {
      proved_at = proved_at ? proved_at : s->spent;
      if (s->spent - proved_at >= PROVED_ROUND) {
        break;
      }
    }
  }
  status = nest_write_layout(s->request, &s->best, s->host, layout, diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  layout->bound = sheets;
  layout->bound_cost = s->request->costed ? (int64_t)bound : 0;
  layout->proved = s->best.waiting_count == 0 && s->best.weight <= bound;
  layout->effort_spent = s->spent;
  if (s->cancelled) {
    return fettle_fail(diagnostic, FETTLE_ERROR_CANCELLED, "", "stopped; this is the best so far");
  }
  return FETTLE_OK;
}

fettle_status fettle_nest_solve(const fettle_nest_request *request, const fettle_host *host,
                                fettle_nest_layout *layout, fettle_diagnostic *diagnostic) {
  *layout = (fettle_nest_layout){0};
  fettle_status status = nest_validate(request, host, diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  search s = {.request = request, .host = host, .limit = -1};
  s.effort = request->effort > 0 ? request->effort : FETTLE_NEST_EFFORT;
  s.random = UINT64_C(0x9E3779B97F4A7C15);
  for (size_t i = 0; i < request->piece_kinds; i++) {
    s.piece_total += request->pieces[i].count;
  }
  s.sheet_most = s.piece_total + 1; /* no sheet is without a piece but for a moment */
  s.node_most = 2 * NODES_A_PIECE * s.piece_total + NODES_A_PIECE;
  size_t size = lay_out(&s, NULL);
  char *memory = host->allocate(host->context, NULL, 0, size);
  if (!memory) {
    return fettle_fail(diagnostic, FETTLE_ERROR_MEMORY, "", "no memory for %lu pieces",
                       (unsigned long)s.piece_total);
  }
  lay_out(&s, memory);
  prepare(&s);
  status = run(&s, layout, diagnostic);
  host->allocate(host->context, memory, size, 0);
  return status;
}
