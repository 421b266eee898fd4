/* nesting/layers.c - which slabs make up the thickness of a plug, and where their joints lie. */
#include <string.h>

#include "nesting/internal.h"

enum {
  HEIGHTS_MOST = 1 << 20, /* heights that the choice of slabs may look at */
  JOINTS_MOST = 64,       /* joints of one layer in one direction */
  NO_SLAB = 255
};

/* The best way to have a layer start at one height. */
typedef struct cell {
  nest_wide cost;
  uint32_t layers;
  uint8_t slab; /* index of the stock whose slab ends below; NO_SLAB: not reached */
} cell;

typedef struct joints {
  int64_t at[JOINTS_MOST];
  size_t count;
} joints;

typedef struct stack {
  const fettle_stack_request *request;
  const fettle_host *host;
  fettle_diagnostic *diagnostic;
  cell *cells;
  int64_t step; /* between two cells */
} stack;

static fettle_status check_length(const stack *s, const char *name, int64_t value, int64_t least) {
  if (value < least || value > FETTLE_NEST_SIZE_MOST) {
    nest_text limit = nest_show(value < least ? least : FETTLE_NEST_SIZE_MOST, s->request->unit);
    return fettle_fail(s->diagnostic, FETTLE_ERROR_RANGE, name, "%s = %s: must %s %s", name,
                       nest_show(value, s->request->unit).text,
                       value >= least ? "not be above"
                       : least > 0    ? "be above"
                                      : "not be below",
                       value < least && least > 0 ? nest_show(0, s->request->unit).text
                                                  : limit.text);
  }
  return FETTLE_OK;
}

static fettle_status check_outlines(const stack *s) {
  const fettle_stack_request *request = s->request;
  int64_t below = 0;
  if (request->outline_count == 0) {
    return fettle_fail(s->diagnostic, FETTLE_ERROR_ARGUMENT, "outlines",
                       "outlines: none given: a plug needs at least one");
  }
  for (size_t i = 0; i < request->outline_count; i++) {
    const fettle_stack_outline *outline = &request->outlines[i];
    if (outline->top <= below) {
      return fettle_fail(s->diagnostic, FETTLE_ERROR_RANGE, "top",
                         "outlines[%lu]: top = %s: must be above %s; give them from bottom to top",
                         (unsigned long)i + 1, nest_show(outline->top, request->unit).text,
                         nest_show(below, request->unit).text);
    }
    if (outline->length <= 0 || outline->width <= 0 || outline->x < 0 || outline->y < 0 ||
        outline->x + outline->length > FETTLE_NEST_SIZE_MOST ||
        outline->y + outline->width > FETTLE_NEST_SIZE_MOST) {
      return fettle_fail(s->diagnostic, FETTLE_ERROR_RANGE, "outlines",
                         "outlines[%lu]: %s x %s: sizes must be above 0, corners not below 0, and "
                         "the far corner within %s",
                         (unsigned long)i + 1, nest_show(outline->length, request->unit).text,
                         nest_show(outline->width, request->unit).text,
                         nest_show(FETTLE_NEST_SIZE_MOST, request->unit).text);
    }
    below = outline->top;
  }
  if (below < request->height) {
    return fettle_fail(s->diagnostic, FETTLE_ERROR_RANGE, "outlines",
                       "outlines: the last reaches %s: must reach the height of %s",
                       nest_show(below, request->unit).text,
                       nest_show(request->height, request->unit).text);
  }
  return FETTLE_OK;
}

static fettle_status check_stocks(const stack *s) {
  const fettle_stack_request *request = s->request;
  if (request->stock_kinds == 0 || request->stock_kinds > FETTLE_NEST_STOCKS_MOST) {
    return fettle_fail(s->diagnostic, FETTLE_ERROR_ARGUMENT, "stock",
                       "stock: %lu rows: must be from 1 to %d", (unsigned long)request->stock_kinds,
                       FETTLE_NEST_STOCKS_MOST);
  }
  for (size_t i = 0; i < request->stock_kinds; i++) {
    const fettle_nest_stock *stock = &request->stocks[i];
    if (stock->thickness <= 0 || stock->thickness > FETTLE_NEST_SIZE_MOST) {
      return fettle_fail(s->diagnostic, FETTLE_ERROR_RANGE, "thickness",
                         "stock '%s': thickness = %s: must be above 0", stock->name,
                         nest_show(stock->thickness, request->unit).text);
    }
    if (stock->length <= 2 * request->trim_ends || stock->width <= 2 * request->trim_sides ||
        stock->length > FETTLE_NEST_SIZE_MOST || stock->width > FETTLE_NEST_SIZE_MOST) {
      return fettle_fail(s->diagnostic, FETTLE_ERROR_RANGE, "stock",
                         "stock '%s': %s x %s: nothing is left after the trim, or above %s",
                         stock->name, nest_show(stock->length, request->unit).text,
                         nest_show(stock->width, request->unit).text,
                         nest_show(FETTLE_NEST_SIZE_MOST, request->unit).text);
    }
    if (request->costed && (stock->cost < 0 || stock->cost > FETTLE_NEST_COST_MOST)) {
      return fettle_fail(s->diagnostic, FETTLE_ERROR_RANGE, "cost",
                         "stock '%s': cost: must be from 0 to 100 million", stock->name);
    }
  }
  return FETTLE_OK;
}

static fettle_status check_request(const stack *s) {
  const fettle_stack_request *request = s->request;
  fettle_status status = check_length(s, "height", request->height, 1);
  if (status == FETTLE_OK) {
    status = check_length(s, "glue_line", request->glue_line, 0);
  }
  if (status == FETTLE_OK) {
    status = check_length(s, "stagger", request->stagger, 0);
  }
  if (status == FETTLE_OK) {
    status = check_length(s, "trim", request->trim_ends, 0);
  }
  if (status == FETTLE_OK) {
    status = check_outlines(s);
  }
  return status == FETTLE_OK ? check_stocks(s) : status;
}

/* The rectangle around every outline that lies between two heights. */
static void cover(const fettle_stack_request *request, int64_t bottom, int64_t top,
                  fettle_stack_layer *layer) {
  int64_t low[2] = {INT64_MAX, INT64_MAX}, high[2] = {0, 0}, below = 0;
  for (size_t i = 0; i < request->outline_count; i++) {
    const fettle_stack_outline *outline = &request->outlines[i];
    bool last = i + 1 == request->outline_count; /* also covers what stands above it */
    if (below < top && (outline->top > bottom || last)) {
      low[0] = outline->x < low[0] ? outline->x : low[0];
      low[1] = outline->y < low[1] ? outline->y : low[1];
      high[0] = outline->x + outline->length > high[0] ? outline->x + outline->length : high[0];
      high[1] = outline->y + outline->width > high[1] ? outline->y + outline->width : high[1];
    }
    below = outline->top;
  }
  layer->bottom = bottom;
  layer->thickness = top - bottom;
  layer->x = low[0];
  layer->y = low[1];
  layer->length = high[0] - low[0];
  layer->width = high[1] - low[1];
}

/* What a layer of this slab costs: its share of a sheet, or its volume. */
static nest_wide layer_cost(const fettle_stack_request *request, size_t slab, int64_t bottom) {
  enum { FINER = 1 << 20 }; /* shares of a cost in whole numbers */
  const fettle_nest_stock *stock = &request->stocks[slab];
  fettle_stack_layer layer;
  cover(request, bottom, bottom + stock->thickness, &layer);
  nest_wide area = (nest_wide)layer.length * layer.width;
  if (!request->costed) {
    return area * stock->thickness;
  }
  return area * stock->cost / ((nest_wide)stock->length * stock->width) * FINER +
         area * stock->cost % ((nest_wide)stock->length * stock->width) * FINER /
             ((nest_wide)stock->length * stock->width);
}

static int64_t divisor(int64_t a, int64_t b) {
  while (b != 0) {
    int64_t rest = a % b;
    a = b;
    b = rest;
  }
  return a;
}

/* Slabs of the layers by dynamic programming; `end` gets the bottom of the last layer and its
 * slab. */
static fettle_status choose_slabs(stack *s, size_t cells, size_t *end, uint8_t *end_slab) {
  const fettle_stack_request *request = s->request;
  nest_wide best_cost = -1;
  int64_t best_top = 0;
  uint32_t best_layers = 0;
  for (size_t i = 1; i < cells; i++) {
    s->cells[i].slab = NO_SLAB;
  }
  s->cells[0] = (cell){0, 0, 0};
  for (size_t i = 0; i < cells; i++) {
    cell from = s->cells[i];
    if (from.slab == NO_SLAB) {
      continue;
    }
    if (s->host->poll && s->host->poll(s->host->context, (double)i / (double)cells, "slabs") != 0) {
      return fettle_fail(s->diagnostic, FETTLE_ERROR_CANCELLED, "", "stopped");
    }
    for (size_t slab = 0; slab < request->stock_kinds; slab++) {
      int64_t bottom = (int64_t)i * s->step;
      int64_t top = bottom + request->stocks[slab].thickness;
      nest_wide cost = from.cost + layer_cost(request, slab, bottom);
      uint32_t layers = from.layers + 1;
      if (top >= request->height) {
        bool less =
            best_cost < 0 || cost < best_cost ||
            (cost == best_cost && (top < best_top || (top == best_top && layers < best_layers)));
        if (less) {
          best_cost = cost;
          best_top = top;
          best_layers = layers;
          *end = i;
          *end_slab = (uint8_t)slab;
        }
        continue;
      }
      cell *to = &s->cells[(size_t)((top + request->glue_line) / s->step)];
      if (to->slab == NO_SLAB || cost < to->cost || (cost == to->cost && layers < to->layers)) {
        *to = (cell){cost, layers, (uint8_t)slab};
      }
    }
  }
  return FETTLE_OK;
}

/* Joints of one direction: full pieces first, each joint moved down until it keeps its distance
 * from those of the layer below. The furthest allowed joint each time gives the fewest pieces. */
static bool place_joints(int64_t start, int64_t length, int64_t reach, int64_t stagger,
                         const joints *below, joints *out) {
  int64_t at = start;
  out->count = 0;
  while (start + length - at > reach) {
    int64_t joint = at + reach;
    for (size_t i = 0; i < below->count; i++) {
      int64_t gap = joint - below->at[i];
      if (gap < stagger && -gap < stagger) {
        joint = below->at[i] - stagger;
        i = (size_t)-1; /* lower now: ask all of them again */
      }
    }
    if (joint <= at || out->count == JOINTS_MOST) {
      return false;
    }
    out->at[out->count++] = joint;
    at = joint;
  }
  return true;
}

static fettle_status split_layer(const stack *s, size_t number, const fettle_stack_layer *layer,
                                 const fettle_nest_stock *stock, const joints below[2],
                                 joints out[2]) {
  const fettle_stack_request *request = s->request;
  int64_t reach[2] = {stock->length - 2 * request->trim_ends,
                      stock->width - 2 * request->trim_sides};
  size_t fewest = 0;
  for (int way = 0; way < (request->may_turn ? 2 : 1); way++) {
    joints tried[2];
    if (!place_joints(layer->x, layer->length, reach[way], request->stagger, &below[0],
                      &tried[0]) ||
        !place_joints(layer->y, layer->width, reach[1 - way], request->stagger, &below[1],
                      &tried[1])) {
      continue;
    }
    size_t pieces = (tried[0].count + 1) * (tried[1].count + 1);
    if (fewest == 0 || pieces < fewest) {
      fewest = pieces;
      out[0] = tried[0];
      out[1] = tried[1];
    }
  }
  if (fewest == 0) {
    return fettle_fail(s->diagnostic, FETTLE_ERROR_RANGE, "stagger",
                       "stagger = %s: no joints of layer %lu keep that distance from the layer "
                       "below with pieces of %s x %s: lessen it or use larger sheets",
                       nest_show(request->stagger, request->unit).text, (unsigned long)number,
                       nest_show(reach[0], request->unit).text,
                       nest_show(reach[1], request->unit).text);
  }
  return FETTLE_OK;
}

/* Writes the pieces between the joints; without memory only counts them. */
static void add_pieces(fettle_stack_plan *plan, size_t index, const fettle_stack_layer *layer,
                       const joints at[2]) {
  int64_t x = layer->x;
  for (size_t i = 0; i <= at[0].count; i++) {
    int64_t x_end = i < at[0].count ? at[0].at[i] : layer->x + layer->length;
    int64_t y = layer->y;
    for (size_t j = 0; j <= at[1].count; j++) {
      int64_t y_end = j < at[1].count ? at[1].at[j] : layer->y + layer->width;
      if (plan->pieces) {
        plan->pieces[plan->piece_count] = (fettle_stack_piece){index, x, y, x_end - x, y_end - y};
      }
      plan->piece_count++;
      y = y_end;
    }
    x = x_end;
  }
}

/* All layers from the bottom; the second time, with memory, they are written. `slabs` holds the
 * stock of each. */
static fettle_status write_layers(const stack *s, const uint8_t *slabs, fettle_stack_plan *plan) {
  joints below[2] = {{.count = 0}, {.count = 0}};
  int64_t bottom = 0;
  fettle_stack_layer last = {0};
  plan->piece_count = 0;
  plan->joint_area = 0;
  for (size_t i = 0; i < plan->layer_count; i++) {
    const fettle_nest_stock *stock = &s->request->stocks[slabs[i]];
    fettle_stack_layer layer = {0};
    joints here[2] = {{.count = 0}, {.count = 0}};
    cover(s->request, bottom, bottom + stock->thickness, &layer);
    fettle_status status = split_layer(s, i + 1, &layer, stock, below, here);
    if (status != FETTLE_OK) {
      return status;
    }
    layer.piece_first = plan->piece_count;
    add_pieces(plan, i, &layer, here);
    layer.piece_count = plan->piece_count - layer.piece_first;
    if (plan->layers) {
      plan->layers[i] = layer;
    }
    if (i > 0) {
      int64_t x = layer.x > last.x ? layer.x : last.x, y = layer.y > last.y ? layer.y : last.y;
      int64_t x_end = layer.x + layer.length < last.x + last.length ? layer.x + layer.length
                                                                    : last.x + last.length;
      int64_t y_end =
          layer.y + layer.width < last.y + last.width ? layer.y + layer.width : last.y + last.width;
      plan->joint_area += x_end > x && y_end > y ? (double)(x_end - x) * (double)(y_end - y) : 0;
    }
    plan->total = bottom + stock->thickness;
    bottom = plan->total + s->request->glue_line;
    memcpy(below, here, sizeof below);
    last = layer;
  }
  return FETTLE_OK;
}

static fettle_status write_plan(const stack *s, const uint8_t *slabs, fettle_stack_plan *plan) {
  fettle_status status = write_layers(s, slabs, plan);
  if (status != FETTLE_OK) {
    return status;
  }
  if (plan->piece_count > FETTLE_NEST_PIECES_MOST) {
    return fettle_fail(s->diagnostic, FETTLE_ERROR_RANGE, "stock",
                       "stack: %lu pieces: must not be above %d; use larger or thicker slabs",
                       (unsigned long)plan->piece_count, FETTLE_NEST_PIECES_MOST);
  }
  plan->memory_size =
      plan->layer_count * sizeof *plan->layers + plan->piece_count * sizeof *plan->pieces;
  plan->memory = s->host->allocate(s->host->context, NULL, 0, plan->memory_size);
  if (!plan->memory) {
    return fettle_fail(s->diagnostic, FETTLE_ERROR_MEMORY, "", "no memory for the stack");
  }
  plan->layers = plan->memory;
  plan->pieces = (fettle_stack_piece *)(plan->layers + plan->layer_count);
  return write_layers(s, slabs, plan);
}

/* Reads the choice back from the top and writes the plan from the bottom. */
static fettle_status trace(const stack *s, size_t end, uint8_t end_slab, fettle_stack_plan *plan) {
  size_t layers = s->cells[end].layers + 1;
  uint8_t *slabs = s->host->allocate(s->host->context, NULL, 0, layers);
  if (!slabs) {
    return fettle_fail(s->diagnostic, FETTLE_ERROR_MEMORY, "", "no memory for the stack");
  }
  uint8_t slab = end_slab;
  for (size_t i = layers; i > 0; i--) {
    slabs[i - 1] = slab;
    slab = s->cells[end].slab;
    if (i > 1) {
      end -= (size_t)((s->request->stocks[slab].thickness + s->request->glue_line) / s->step);
    }
  }
  plan->layer_count = layers;
  fettle_status status = write_plan(s, slabs, plan);
  s->host->allocate(s->host->context, slabs, layers, 0);
  return status;
}

fettle_status fettle_stack_solve(const fettle_stack_request *request, const fettle_host *host,
                                 fettle_stack_plan *plan, fettle_diagnostic *diagnostic) {
  stack s = {.request = request, .host = host, .diagnostic = diagnostic};
  *plan = (fettle_stack_plan){0};
  fettle_status status = check_request(&s);
  if (status != FETTLE_OK) {
    return status;
  }
  for (size_t i = 0; i < request->stock_kinds; i++) {
    s.step = divisor(request->stocks[i].thickness + request->glue_line, s.step);
  }
  /* Thicknesses are above 0, so the step is. */
  int64_t cells = s.step > 0 ? (request->height + request->glue_line) / s.step + 1 : INT64_MAX;
  if (cells > HEIGHTS_MOST) {
    return fettle_fail(diagnostic, FETTLE_ERROR_RANGE, "stock",
                       "stock: the thicknesses have no step in common that is above 1/%d of the "
                       "height: round them to what the shop measures",
                       HEIGHTS_MOST);
  }
  size_t size = (size_t)cells * sizeof *s.cells;
  s.cells = host->allocate(host->context, NULL, 0, size);
  if (!s.cells) {
    return fettle_fail(diagnostic, FETTLE_ERROR_MEMORY, "", "no memory for the stack");
  }
  size_t end = 0;
  uint8_t slab = 0;
  status = choose_slabs(&s, (size_t)cells, &end, &slab);
  if (status == FETTLE_OK) {
    status = trace(&s, end, slab, plan);
  }
  host->allocate(host->context, s.cells, size, 0);
  return status;
}

void fettle_stack_free(fettle_stack_plan *plan, const fettle_host *host) {
  if (plan->memory) {
    host->allocate(host->context, plan->memory, plan->memory_size, 0);
  }
  *plan = (fettle_stack_plan){0};
}
