/* nesting/internal.h - what the files of this room share; the checker includes none of it. */
#ifndef FETTLE_NESTING_INTERNAL_H
#define FETTLE_NESTING_INTERNAL_H

#include "fettle/nesting.h"

/* Sums of areas and products of function values pass 64 bits. */
__extension__ typedef __int128 nest_wide;

#define NEST_NONE UINT32_MAX

/* "24 in": a length in the request's own unit. */
typedef struct nest_text {
  char text[64];
} nest_text;
nest_text nest_show(int64_t length, size_t unit);

/* Carves an array of `count` items out of a block, each on a 16-byte border; `used` counts the
 * bytes. Without a block it only counts. */
void *nest_carve(char *block, size_t *used, size_t count, size_t size);

/* Sorts `count` indices; `before` says whether a must stand before b. Heap sort: in place, no
 * recursion. Callers break ties by index, so that the order is one. */
void nest_sort(uint32_t *items, size_t count,
               bool (*before)(const void *context, uint32_t a, uint32_t b), const void *context);

/* Stock usable after trimming, with the kerf added once: what the kerf rule compares. */
int64_t nest_usable_length(const fettle_nest_request *request, size_t stock);
int64_t nest_usable_width(const fettle_nest_request *request, size_t stock);
bool nest_thickness_fits(const fettle_nest_piece *piece, const fettle_nest_stock *stock);
/* Whether the piece, turned or not, fits an empty sheet of this stock. */
bool nest_piece_fits(const fettle_nest_request *request, size_t kind, size_t stock, bool turned);

/* The checks of a request, with their messages. */
fettle_status nest_validate(const fettle_nest_request *request, const fettle_host *host,
                            fettle_diagnostic *diagnostic);

/* What a sheet weighs in the objective: its cost, or its area. */
nest_wide nest_weight(const fettle_nest_request *request, size_t stock);
/* The bound on the total weight, and on the number of sheets. */
fettle_status nest_bounds(const fettle_nest_request *request, const fettle_host *host,
                          nest_wide *weight, uint32_t *sheets, fettle_diagnostic *diagnostic);

/* --- the cut tree --- */

/* A node is a part of a sheet, its sizes with the kerf added. An inner node is split in parallel
 * along its axis into children that take its full cross size; what they leave is `slack`. Strips
 * of one split may change places, so all free room of a node is one. Children of an inner node
 * are leaves (a piece that fills them) or inner nodes of the other axis. */
typedef struct nest_node {
  int64_t size[2]; /* along x, along y */
  int64_t slack;   /* inner: free length along its axis; leaf: -1 */
  uint32_t parent, first, previous, next;
  uint32_t kind;     /* leaf: index of the piece; inner: NEST_NONE */
  uint32_t sheet;    /* index of its sheet */
  uint32_t position; /* leaf: its index in `placed` */
  uint8_t axis;      /* inner: 0 strips stand along x, 1 along y */
  uint8_t turned;
} nest_node;

typedef struct nest_open {
  uint32_t root; /* NEST_NONE: not in use */
  uint32_t stock;
} nest_open;

/* A partial layout. All arrays have room for every piece in the worst case. */
typedef struct nest_state {
  nest_node *nodes;
  uint32_t node_end;   /* nodes from here on were never used */
  uint32_t node_count; /* in use */
  uint32_t free_node;  /* list of given-back nodes, linked by `next` */
  nest_open *sheets;
  uint32_t sheet_end;
  uint32_t *placed; /* leaves */
  uint32_t placed_count;
  uint32_t *waiting; /* kinds of the pieces without a place */
  uint32_t waiting_count;
  uint32_t *stock_used; /* sheets in use by stock */
  nest_wide weight;
  int64_t waiting_area;
} nest_state;

/* Writes the trees of a state as a layout in one block of the host's memory. */
fettle_status nest_write_layout(const fettle_nest_request *request, const nest_state *state,
                                const fettle_host *host, fettle_nest_layout *layout,
                                fettle_diagnostic *diagnostic);

#endif
