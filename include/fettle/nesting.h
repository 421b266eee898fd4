/* fettle/nesting.h - how pieces are cut from sheets, slabs and bars.
 *
 * Every length is a whole number of base units of 25 nm, so that 1/64 in (15 875), 0.001 in (1016)
 * and 0.001 mm (40) are exact and no sum is ever rounded. x runs along the length of a sheet and y
 * along its width, both from one corner. A cut runs through from one edge of the part that it is
 * made in to the opposite edge, as on a panel saw or with a straight hot wire, and removes the
 * kerf.
 *
 * Kerf rule: add the kerf once to each piece and once to the sheet, in both directions, and forget
 * it. A piece that fills a part exactly needs no cut; the last cut of a row may run off the edge.
 *
 * Effort is a count (places tried), never a time: one request gives one layout on any machine, and
 * more effort never gives a worse one. */
#ifndef FETTLE_NESTING_H
#define FETTLE_NESTING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "fettle/host.h"
#include "fettle/status.h"

enum {
  FETTLE_NEST_UNITS_PER_MM = 40000, /* base unit 25 nm */
  FETTLE_NEST_PIECES_MOST = 20000,  /* pieces of one request, counts added up */
  FETTLE_NEST_KINDS_MOST = 10000,   /* rows of the piece list */
  FETTLE_NEST_STOCKS_MOST = 64
};

/* Longest edge of a sheet or piece: 2^30 - 1 units, 26.8 m; areas then stay below 2^60. */
#define FETTLE_NEST_SIZE_MOST ((int64_t)1073741823)
#define FETTLE_NEST_UNLIMITED UINT32_MAX
/* Places tried when the caller has no wish. */
#define FETTLE_NEST_EFFORT UINT64_C(60000000)
/* Largest cost of one sheet, in whatever whole unit the caller counts (a hundredth of a cent). */
#define FETTLE_NEST_COST_MOST ((int64_t)1000000000000)

/* A kind of piece. Names are borrowed and used in messages only. */
typedef struct fettle_nest_piece {
  const char *name;
  int64_t length, width; /* above 0 */
  int64_t thickness;     /* 0: from stock of any thickness */
  uint32_t count;        /* at least 1 */
  bool may_turn;         /* by a quarter turn; false where grain or fibre forbids it */
} fettle_nest_piece;

typedef struct fettle_nest_stock {
  const char *name;
  int64_t length, width; /* above 0 */
  int64_t thickness;     /* 0: not stated */
  uint32_t count;        /* at least 1, or FETTLE_NEST_UNLIMITED */
  int64_t cost;          /* of one sheet; read when the request is costed */
} fettle_nest_stock;

typedef struct fettle_nest_request {
  const fettle_nest_piece *pieces; /* borrowed */
  size_t piece_kinds;
  const fettle_nest_stock *stocks; /* borrowed */
  size_t stock_kinds;
  int64_t kerf;       /* 0 or more */
  int64_t trim_ends;  /* strip cut off both ends, its kerf included: 0, or at least the kerf */
  int64_t trim_sides; /* the same for both sides */
  int64_t keep;       /* an offcut is listed when both its edges reach this; 0: list all */
  bool costed;        /* least cost; otherwise least area of stock */
  uint64_t effort;    /* places to try; 0: FETTLE_NEST_EFFORT */
  size_t unit;        /* vocabulary index in which messages show lengths, 0: SI */
} fettle_nest_request;

/* Parts of a sheet are numbered from 1, the whole sheet; each cut ends one part and makes one or
 * two new ones. */
typedef struct fettle_nest_place {
  size_t kind;                 /* index into pieces */
  int64_t x, y, length, width; /* as it lies */
  bool turned;
  uint32_t part;
} fettle_nest_place;

typedef struct fettle_nest_cut {
  uint32_t number;  /* from 1 on each sheet */
  uint32_t part;    /* the part that is cut */
  bool along;       /* the saw runs along the sheet's length; false: across it */
  int64_t position; /* fence setting: size of the first part, from the low edge */
  uint32_t first;   /* the part at the fence, 0 when the trim is all kerf */
  uint32_t second;  /* the part behind the kerf, 0 when the kerf takes all of it */
} fettle_nest_cut;

typedef struct fettle_nest_offcut {
  int64_t x, y, length, width;
  uint32_t part;
} fettle_nest_offcut;

/* One sheet: its ranges of the layout's arrays. */
typedef struct fettle_nest_sheet {
  size_t stock; /* index into stocks */
  size_t place_first, place_count;
  size_t cut_first, cut_count;
  size_t offcut_first, offcut_count;
} fettle_nest_sheet;

typedef struct fettle_nest_layout {
  fettle_nest_sheet *sheets;
  size_t sheet_count;
  fettle_nest_place *places;
  size_t place_count;
  fettle_nest_cut *cuts;
  size_t cut_count;
  fettle_nest_offcut *offcuts;
  size_t offcut_count;
  uint32_t *unplaced; /* how many of each kind found no place */
  size_t piece_kinds;
  int64_t cost;       /* costed requests */
  uint32_t bound;     /* no layout of all pieces has fewer sheets */
  int64_t bound_cost; /* costed requests: no layout of all pieces costs less */
  double area_bound;  /* area of all pieces over the area of the largest sheet; below `bound` */
  double used;        /* area of the placed pieces over the area of the sheets used */
  bool proved;        /* all placed, and the bound met: nothing cheaper exists */
  uint64_t effort_spent;
  void *memory; /* one block that holds the arrays */
  size_t memory_size;
} fettle_nest_layout;

/* Finds a layout: all pieces placed if it can, then the least cost (uncosted: least area of
 * stock), then the largest single offcut. Errors name the row and the limit: sizes, counts,
 * kerf and trim outside their range, duplicate names, a piece larger than any stock of its
 * thickness. Pieces left over because the stock is limited are counted in `unplaced`.
 * FETTLE_ERROR_CANCELLED still fills the layout with the best so far when there is one
 * (`memory` is not NULL). Method: best-fit guillotine building, then ruin and recreate on cut
 * trees against a falling limit with late acceptance (idea: Gardeyn, Wauters, Goal-driven ruin
 * and recreate heuristic for the 2D variable-sized bin packing problem with guillotine
 * constraints, 2025); the code and its details are the project's own. */
fettle_status fettle_nest_solve(const fettle_nest_request *request, const fettle_host *host,
                                fettle_nest_layout *layout, fettle_diagnostic *diagnostic);
void fettle_nest_free(fettle_nest_layout *layout, const fettle_host *host);

/* Proves a layout against its request without the solver's help: counts, sizes and turns, stock and
 * cost, trim, overlap and kerf between all pieces, and the printed cuts replayed from the full
 * sheets to exactly these pieces and offcuts. Status FETTLE_ERROR_INTERNAL, `parameter` one of
 * "pieces", "size", "turn", "thickness", "stock", "cost", "inside", "overlap", "kerf", "cuts",
 * "offcuts", "bound", and a message that says where. */
fettle_status fettle_nest_check(const fettle_nest_request *request,
                                const fettle_nest_layout *layout, const fettle_host *host,
                                fettle_diagnostic *diagnostic);

/* Lower bounds, in integers: the area rule over all stock kinds, and products of dual feasible
 * functions of the two edges (Fekete, Schepers, A general framework for bounds for
 * higher-dimensional orthogonal packing problems, 2004), the smaller of both ways for a piece that
 * may turn. The request must have passed the checks of fettle_nest_solve. */
fettle_status fettle_nest_bound(const fettle_nest_request *request, const fettle_host *host,
                                uint32_t *sheets, int64_t *cost, fettle_diagnostic *diagnostic);

/* Lengths given in metres to base units. Off the grid by more than the rounding of a double (a
 * decimal typed finer than 0.001 mm or 0.001 in, a third of an inch) returns false and gives the
 * nearest whole number. */
bool fettle_nest_units(double metres, int64_t *units);

/* --- layers of slabs for a plug --- */

/* Outline that the plug needs from the top of the one below (the base for the first) up to `top`.
 * All rectangles share one datum corner. */
typedef struct fettle_stack_outline {
  int64_t top; /* above the one below */
  int64_t x, y, length, width;
} fettle_stack_outline;

typedef struct fettle_stack_request {
  int64_t height;                       /* to be reached, allowances included */
  const fettle_stack_outline *outlines; /* borrowed, bottom to top; the last reaches `height` */
  size_t outline_count;
  const fettle_nest_stock *stocks; /* thickness above 0 */
  size_t stock_kinds;
  int64_t kerf, trim_ends, trim_sides;
  int64_t glue_line; /* between two layers, 0 or more */
  int64_t stagger;   /* least distance between the joints of neighbouring layers */
  bool costed, may_turn;
  size_t unit;
} fettle_stack_request;

typedef struct fettle_stack_layer {
  int64_t bottom, thickness; /* of the slab; the glue line lies on top of it */
  int64_t x, y, length, width;
  size_t piece_first, piece_count;
} fettle_stack_layer;

/* One piece of a layer, where it lies in the plug. */
typedef struct fettle_stack_piece {
  size_t layer;
  int64_t x, y, length, width;
} fettle_stack_piece;

typedef struct fettle_stack_plan {
  fettle_stack_layer *layers; /* bottom to top */
  size_t layer_count;
  fettle_stack_piece *pieces;
  size_t piece_count;
  int64_t total;     /* height of the stack, at least `height` */
  double joint_area; /* between layers, square base units: overlap of neighbours' footprints */
  void *memory;
  size_t memory_size;
} fettle_stack_plan;

/* Chooses the slab thickness of each layer (least cost by footprint, or least volume of foam; then
 * least height to be milled off; then fewest layers), by dynamic programming over the heights that
 * the slabs reach. A layer covers every outline that it touches between its lower and upper face,
 * not the one at mid height. Splits each layer into pieces that fit the sheets, full pieces first,
 * each joint at least `stagger` from every parallel joint of the layer below. Counts of stock are
 * not looked at here: nest the pieces to see whether they suffice. Errors: as the sheets, no slab
 * of any thickness, and a stagger that no split can keep, with the layer. */
fettle_status fettle_stack_solve(const fettle_stack_request *request, const fettle_host *host,
                                 fettle_stack_plan *plan, fettle_diagnostic *diagnostic);
void fettle_stack_free(fettle_stack_plan *plan, const fettle_host *host);

#endif
