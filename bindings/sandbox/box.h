/* sandbox/box.h - a Lua state with budgets.
 *
 * Four budgets, one trip flag: instructions, live bytes, cumulative bytes (all three the same on
 * every run) and processor seconds (a backstop). Once one is spent the flag stays up: the hook
 * fires at every instruction, the allocator refuses all growth, and `pcall` raises again, so that
 * the script unwinds whatever it tries. The owner then reports the flag, not Lua's message. */
#ifndef FETTLE_SANDBOX_BOX_H
#define FETTLE_SANDBOX_BOX_H

#include <signal.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <lua.h>

#include "fettle/host.h"

typedef struct fettle_box_limits {
  size_t live_bytes;
  size_t cumulative_bytes;
  uint64_t steps;     /* Lua instructions, and what C helpers charge for their loops */
  double seconds;     /* processor time of the script; declared jobs do not spend it */
  size_t job_bytes;   /* live memory of declared jobs */
  double job_seconds; /* processor time of all declared jobs together */
} fettle_box_limits;

extern const fettle_box_limits fettle_box_defaults;

/* A free block, or a chunk, of the pool for small objects. */
typedef struct fettle_box_block fettle_box_block;
struct fettle_box_block {
  fettle_box_block *next;
};

enum { FETTLE_BOX_CLASSES = 9 }; /* of blocks: 16, 32 .. 128 bytes; the first is not used */

/* Owned by caller, who must not move it while the state is open. */
typedef struct fettle_box {
  lua_State *L;
  fettle_box_limits limits;
  size_t live, cumulative, job_live;
  fettle_box_block *free_blocks[FETTLE_BOX_CLASSES];
  fettle_box_block *chunks;
  uint64_t steps_left;
  unsigned hook_period; /* instructions between two looks at the budgets */
  unsigned refusals;
  double script_seconds, job_seconds_used;
  double looked, processor_mark; /* moments of the last look at the clocks */
  const char *tripped;           /* NULL, or which budget is spent, as a sentence's start; static */
  char place[160];               /* "recipes/x.lua:41" where it was spent, or empty */
  bool closing;
  fettle_host host; /* for declared jobs; also in the registry under "fettle.host" */
} fettle_box;

/* Set by a signal handler: every box then trips at its next look, and jobs are cancelled. */
extern volatile sig_atomic_t fettle_interrupted;

/* Opens a bare state (no libraries) with full budgets; NULL when there is no memory. */
lua_State *fettle_box_open(fettle_box *box, const fettle_box_limits *limits);
/* Gives the script its budgets afresh and starts its clock. */
void fettle_box_start(fettle_box *box);
void fettle_box_close(fettle_box *box);

/* The box of a state, or NULL when the state has none. */
fettle_box *fettle_box_of(lua_State *L);

/* Spends `steps` for work done in C; raises when that empties the budget. Does nothing in a state
 * without a box. */
void fettle_box_charge(lua_State *L, uint64_t steps);

/* lua_pcall in two levels: Lua makes some of its own error texts outside the inner one. Function
 * and arguments are on the stack. Messages get the recipe's place in front when they have none.
 * While it runs, this thread's locale is "C". */
int fettle_box_call(fettle_box *box, int arguments, int results);

/* One line on the budget that is spent: what, where, limit. As snprintf. */
size_t fettle_box_explain(const fettle_box *box, char *out, size_t capacity);

#endif
