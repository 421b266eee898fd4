/* support/nc.h - programs in memory for the tests of the nc room. */
#ifndef FETTLE_TEST_NC_H
#define FETTLE_TEST_NC_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fettle/fettle.h"

typedef struct nc_text {
  const char *bytes;
  size_t length, at;
  size_t chunk; /* bytes of one read at most; 0: as many as wanted */
  void *user;   /* of the test */
} nc_text;

static inline void *nc_allocate(void *context, void *block, size_t old_size, size_t new_size) {
  (void)context;
  (void)old_size;
  if (new_size == 0) {
    free(block);
    return NULL;
  }
  return realloc(block, new_size);
}

static inline size_t nc_bytes(void *context, void *buffer, size_t capacity) {
  nc_text *text = context;
  size_t count = text->length - text->at < capacity ? text->length - text->at : capacity;
  count = text->chunk > 0 && count > text->chunk ? text->chunk : count;
  memcpy(buffer, text->bytes + text->at, count);
  text->at += count;
  return count;
}

static inline bool nc_seek(void *context, uint64_t offset) {
  nc_text *text = context;
  if (offset > text->length) {
    return false;
  }
  text->at = (size_t)offset;
  return true;
}

/* Owned by caller; the process ends when the file is not there. */
static inline char *nc_load(const char *path, size_t *length) {
  FILE *file = fopen(path, "rb");
  if (!file || fseek(file, 0, SEEK_END) != 0) {
    fprintf(stderr, "cannot read %s\n", path);
    exit(66);
  }
  const long size = ftell(file);
  rewind(file);
  char *bytes = malloc((size_t)size + 1);
  if (!bytes || fread(bytes, 1, (size_t)size, file) != (size_t)size) {
    exit(66);
  }
  bytes[size] = '\0';
  *length = (size_t)size;
  fclose(file);
  return bytes;
}

/* Reads `bytes`; `context` of the event function is the text, whose `user` is the test's. */
static inline fettle_status nc_run(const char *bytes, size_t length, size_t chunk,
                                   const fettle_nc_profile *profile, const fettle_nc_setup *setup,
                                   int (*event)(void *, const fettle_nc_event *), void *user,
                                   fettle_nc_summary *summary, fettle_diagnostic *diagnostic) {
  nc_text text = {bytes, length, 0, chunk, user};
  const fettle_host host = {.context = &text, .allocate = nc_allocate, .read = nc_bytes};
  const fettle_nc_request request = {
      .profile = profile, .setup = setup, .event = event, .context = &text, .seek = nc_seek};
  return fettle_nc_read(&request, &host, summary, diagnostic);
}

#endif
