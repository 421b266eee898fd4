/* clock_gettime is POSIX, not C11. */
#define _POSIX_C_SOURCE 200809L
#include "sandbox/box.h"

#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <lauxlib.h>

#include "fettle/quantity.h"
#include "lua/error.h"

enum {
  HOOK_PERIOD = 1000, /* instructions; measured: longer ones are no cheaper */
  /* One instruction that compares long texts can take as long as millions of others: once there are
   * such texts, the clock is looked at more often. */
  HOOK_PERIOD_LONG_TEXTS = 8,
  LONG_TEXT_BYTES = 128 << 10,
  REFUSALS_MOST = 32 /* a script that lives at the cap makes every allocation a full collection */
};

#define LOOK_SECONDS                                                                               \
  0.002 /* between two readings of the processor clock, which is a system call                     \
         */

const fettle_box_limits fettle_box_defaults = {
    .live_bytes = (size_t)32 << 20,
    .cumulative_bytes = (size_t)512 << 20,
    .steps = 100000000,
    .seconds = 2,
    .job_bytes = (size_t)512 << 20,
    .job_seconds = 120,
};

static const char *const spent_steps = "instruction budget";
static const char *const spent_live = "memory budget";
static const char *const spent_cumulative = "cumulative memory budget";
static const char *const spent_seconds = "time limit";
static const char *const spent_job_seconds = "time limit of declared jobs";
static const char *const spent_interrupted = "interrupted";

volatile sig_atomic_t fettle_interrupted = 0;

static double read_clock(clockid_t clock) {
  struct timespec now;
  clock_gettime(clock, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Adds the processor time since the last look to one of the two accounts. A job is recognised by
 * its calls of the host: the time before each belongs to it, so no begin and end need be declared.
 */
static void look(fettle_box *box, double *account) {
  double now = read_clock(CLOCK_MONOTONIC);
  if (now - box->looked < LOOK_SECONDS) {
    return;
  }
  box->looked = now;
  double processor = read_clock(CLOCK_THREAD_CPUTIME_ID);
  *account += processor - box->processor_mark;
  box->processor_mark = processor;
}

static void note_place(fettle_box *box) {
  lua_Debug frame;
  for (int level = 0; lua_getstack(box->L, level, &frame); level++) {
    lua_getinfo(box->L, "Sl", &frame); /* these two allocate nothing */
    if (frame.source[0] == '@' && frame.currentline > 0) {
      snprintf(box->place, sizeof box->place, "%.*s:%d", (int)sizeof box->place - 16,
               frame.source + 1, frame.currentline);
      return;
    }
  }
}

static void hook(lua_State *L, lua_Debug *frame);

static void trip(fettle_box *box, const char *reason) {
  if (!box->tripped) {
    box->tripped = reason;
    note_place(box);
    lua_sethook(box->L, hook, LUA_MASKCOUNT, 1);
  }
}

/* A light value needs no memory, which there may be none of. */
static int raise_tripped(lua_State *L) {
  lua_pushlightuserdata(L, fettle_box_of(L));
  return lua_error(L);
}

static void hook(lua_State *L, lua_Debug *frame) {
  (void)frame;
  fettle_box *box = fettle_box_of(L);
  if (!box->tripped) {
    box->steps_left -= box->steps_left < box->hook_period ? box->steps_left : box->hook_period;
    look(box, &box->script_seconds);
    if (fettle_interrupted) {
      trip(box, spent_interrupted);
    } else if (box->steps_left == 0) {
      trip(box, spent_steps);
    } else if (box->script_seconds > box->limits.seconds) {
      trip(box, spent_seconds);
    }
  }
  if (box->tripped) {
    raise_tripped(L);
  }
}

static bool refuses(fettle_box *box, size_t growth) {
  if (box->tripped) {
    return true;
  }
  if (growth > box->limits.cumulative_bytes - box->cumulative) {
    trip(box, spent_cumulative);
    return true;
  }
  if (growth > box->limits.live_bytes - box->live) {
    note_place(box);
    if (++box->refusals >= REFUSALS_MOST) {
      trip(box, spent_live);
    }
    return true;
  }
  return false;
}

/* A pool of small blocks: quantities, strings and short tables come and go by the million, and a
 * free list is a third cheaper than the C library. Lua hands every size back exactly, so a block
 * of at most SMALL_MOST bytes is always the pool's. Sanitizers want to see each block by itself. */
#if defined(__SANITIZE_ADDRESS__)
enum { SMALL_MOST = 0 };
#else
enum { SMALL_MOST = 128 };
#endif
enum { GRAIN = 16, CHUNK_BYTES = 16384 };

static size_t grains(size_t size) {
  return (size + GRAIN - 1) / GRAIN;
}

/* Cuts a fresh chunk into blocks of one size; false when there is no memory. */
static bool pool_grow(fettle_box *box, size_t class) {
  fettle_box_block *chunk = malloc(CHUNK_BYTES);
  if (!chunk) {
    return false;
  }
  chunk->next = box->chunks;
  box->chunks = chunk;
  const size_t bytes = class * GRAIN;
  for (size_t at = GRAIN; at + bytes <= CHUNK_BYTES; at += bytes) {
    fettle_box_block *block = (fettle_box_block *)(void *)((char *)chunk + at);
    block->next = box->free_blocks[class];
    box->free_blocks[class] = block;
  }
  return true;
}

static void *take_block(fettle_box *box, size_t size) {
  if (size > SMALL_MOST) {
    return malloc(size);
  }
  const size_t class = grains(size);
  if (!box->free_blocks[class] && !pool_grow(box, class)) {
    return NULL;
  }
  fettle_box_block *block = box->free_blocks[class];
  box->free_blocks[class] = block->next;
  return block;
}

static void give_block(fettle_box *box, void *block, size_t size) {
  if (size > SMALL_MOST) {
    free(block);
  } else if (block) {
    fettle_box_block *free_block = block;
    free_block->next = box->free_blocks[grains(size)];
    box->free_blocks[grains(size)] = free_block;
  }
}

static void *move_block(fettle_box *box, void *block, size_t old, size_t size) {
  if (old > SMALL_MOST && size > SMALL_MOST) {
    return realloc(block, size);
  }
  if (block && old <= SMALL_MOST && size <= SMALL_MOST && grains(old) == grains(size)) {
    return block;
  }
  void *moved = take_block(box, size);
  if (moved && block) {
    memcpy(moved, block, old < size ? old : size);
    give_block(box, block, old);
  }
  return moved;
}

static void note_long_text(fettle_box *box) {
  if (box->L && !box->closing && !box->tripped && box->hook_period == HOOK_PERIOD) {
    box->hook_period = HOOK_PERIOD_LONG_TEXTS;
    lua_sethook(box->L, hook, LUA_MASKCOUNT, HOOK_PERIOD_LONG_TEXTS);
  }
}

static void *allocate(void *context, void *block, size_t old_size, size_t new_size) {
  fettle_box *box = context;
  size_t old = block ? old_size : 0; /* without a block it is the kind of object, not a size */
  if (new_size == 0) {
    give_block(box, block, old);
    box->live -= old;
    return NULL;
  }
  bool grows = new_size > old;
  if (grows && box->L && !box->closing && refuses(box, new_size - old)) {
    return NULL;
  }
  if (!block && old_size == LUA_TSTRING && new_size > LONG_TEXT_BYTES) {
    note_long_text(box);
  }
  void *moved = move_block(box, block, old, new_size);
  if (!moved) {
    return grows ? NULL : block; /* Lua relies on shrinking; the pool takes the block over later */
  }
  if (grows) {
    box->live += new_size - old;
    box->cumulative += new_size - old;
  } else {
    box->live -= old - new_size;
  }
  return moved;
}

static void *job_allocate(void *context, void *block, size_t old_size, size_t new_size) {
  fettle_box *box = context;
  look(box, &box->job_seconds_used);
  size_t old = block ? old_size : 0;
  if (new_size == 0) {
    free(block);
    box->job_live -= old;
    return NULL;
  }
  if (new_size > old && new_size - old > box->limits.job_bytes - box->job_live) {
    return NULL;
  }
  void *moved = realloc(block, new_size);
  if (moved) {
    box->job_live = box->job_live - old + new_size;
  }
  return moved;
}

static double job_elapsed(void *context) {
  look(context, &((fettle_box *)context)->job_seconds_used);
  return read_clock(CLOCK_MONOTONIC);
}

static int job_poll(void *context, double fraction, const char *stage) {
  (void)fraction;
  (void)stage;
  fettle_box *box = context;
  look(box, &box->job_seconds_used);
  if (fettle_interrupted) {
    trip(box, spent_interrupted);
  } else if (box->job_seconds_used > box->limits.job_seconds) {
    trip(box, spent_job_seconds);
  }
  return box->tripped != NULL;
}

/* Reached only when Lua fails outside every protected call: nothing sane is left to do. */
static int panic(lua_State *L) {
  const char *message = lua_tostring(L, -1);
  fprintf(stderr, "fettle: internal error: %s\n", message ? message : "error outside protection");
  _Exit(70);
}

static void free_pool(fettle_box *box) {
  while (box->chunks) {
    fettle_box_block *chunk = box->chunks;
    box->chunks = chunk->next;
    free(chunk);
  }
}

lua_State *fettle_box_open(fettle_box *box, const fettle_box_limits *limits) {
  *box = (fettle_box){.limits = *limits};
  lua_State *L = lua_newstate(allocate, box);
  if (!L) {
    free_pool(box);
    return NULL;
  }
  lua_atpanic(L, panic);
  box->host = (fettle_host){
      .context = box, .allocate = job_allocate, .elapsed_seconds = job_elapsed, .poll = job_poll};
  /* Lua makes this text while unprotected; anchored here it already exists then. */
  lua_pushliteral(L, "error in error handling");
  lua_setfield(L, LUA_REGISTRYINDEX, "fettle.box.anchor");
  lua_pushlightuserdata(L, &box->host);
  lua_setfield(L, LUA_REGISTRYINDEX, "fettle.host");
  box->L = L;
  fettle_box_start(box);
  return L;
}

void fettle_box_start(fettle_box *box) {
  box->cumulative = box->live;
  box->steps_left = box->limits.steps;
  box->refusals = 0;
  box->script_seconds = box->job_seconds_used = 0;
  box->looked = read_clock(CLOCK_MONOTONIC);
  box->processor_mark = read_clock(CLOCK_THREAD_CPUTIME_ID);
  box->tripped = NULL;
  box->place[0] = '\0';
  box->hook_period = HOOK_PERIOD;
  lua_sethook(box->L, hook, LUA_MASKCOUNT, HOOK_PERIOD);
}

void fettle_box_close(fettle_box *box) {
  if (box->L) {
    box->closing = true;
    lua_sethook(box->L, NULL, 0, 0);
    lua_close(box->L);
    box->L = NULL;
    free_pool(box);
  }
}

fettle_box *fettle_box_of(lua_State *L) {
  void *context = NULL;
  return lua_getallocf(L, &context) == allocate ? context : NULL;
}

void fettle_box_charge(lua_State *L, uint64_t steps) {
  fettle_box *box = fettle_box_of(L);
  if (!box) {
    return;
  }
  if (steps >= box->steps_left) {
    box->steps_left = 0;
    trip(box, spent_steps);
  } else {
    box->steps_left -= steps;
  }
  if (box->tripped) {
    raise_tripped(L);
  }
}

/* Runs where the error happens, before unwinding, so that the place is still known. Errors that are
 * no text are named by their kind only: a stranger's object is never asked to describe itself. */
static int add_place(lua_State *L) {
  fettle_box *box = fettle_box_of(L);
  if (box->tripped) {
    return 1;
  }
  if (!lua_checkstack(L, 8)) {
    return 1;
  }
  if (lua_type(L, 1) != LUA_TSTRING) {
    fettle_push_place(L);
    lua_pushfstring(L, "%serror without a text (a %s)", lua_tostring(L, -1), luaL_typename(L, 1));
    return 1;
  }
  fettle_push_place(L);
  const char *place = lua_tostring(L, -1);
  const char *colon = strchr(place, ':');
  const char *message = lua_tostring(L, 1);
  /* Errors of Lua and of fettle_raise already start with the file. */
  if (colon && strncmp(message, place, (size_t)(colon - place) + 1) != 0) {
    lua_pushvalue(L, 1);
    lua_concat(L, 2);
    return 1;
  }
  lua_settop(L, 1);
  return 1;
}

static int call_inner(lua_State *L) {
  int results = (int)lua_tointeger(L, 1);
  lua_remove(L, 1);
  lua_pushcfunction(L, add_place);
  lua_insert(L, 1);
  int status = lua_pcall(L, lua_gettop(L) - 2, results, 1);
  if (status != LUA_OK) {
    return lua_error(L);
  }
  return lua_gettop(L) - 1;
}

int fettle_box_call(fettle_box *box, int arguments, int results) {
  lua_State *L = box->L;
  lua_pushcfunction(L, call_inner);
  lua_insert(L, -2 - arguments);
  lua_pushinteger(L, results);
  lua_insert(L, -2 - arguments);
  /* Lua reads and writes its numbers by the locale, and an embedding program may have chosen one
   * with a decimal comma. glibc has this one ready; elsewhere NULL leaves things as they are. */
  locale_t points = newlocale(LC_ALL_MASK, "C", (locale_t)0);
  locale_t before = uselocale(points);
  int status = lua_pcall(L, arguments + 2, results, 0);
  uselocale(before);
  if (points) {
    freelocale(points);
  }
  return status;
}

size_t fettle_box_explain(const fettle_box *box, char *out, size_t capacity) {
  char limit[80] = "";
  if (box->tripped == spent_steps) {
    snprintf(limit, sizeof limit, " of %llu million instructions",
             (unsigned long long)(box->limits.steps / 1000000));
  } else if (box->tripped == spent_live || box->tripped == NULL) {
    snprintf(limit, sizeof limit, " of %zu MiB", box->limits.live_bytes >> 20);
  } else if (box->tripped == spent_cumulative) {
    snprintf(limit, sizeof limit, " of %zu MiB", box->limits.cumulative_bytes >> 20);
  } else if (box->tripped == spent_seconds || box->tripped == spent_job_seconds) {
    double seconds = box->tripped == spent_seconds ? box->limits.seconds : box->limits.job_seconds;
    char number[32];
    fettle_number_format(seconds, 6, number, sizeof number);
    snprintf(limit, sizeof limit, " of %s s", number);
  }
  const char *what = box->tripped ? box->tripped : spent_live;
  const char *separator = box->place[0] ? ": " : "";
  int length = box->tripped == spent_interrupted
                   ? snprintf(out, capacity, "%s%sinterrupted", box->place, separator)
                   : snprintf(out, capacity,
                              "%s%s%s%s is spent: look for an endless loop or a table that "
                              "grows without end",
                              box->place, separator, what, limit);
  return length < 0 ? 0 : (size_t)length;
}
