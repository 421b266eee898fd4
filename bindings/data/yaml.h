/* data/yaml.h - YAML as a tree of texts with places; nothing is typed here.
 *
 * One document, depth 32, 1 MiB; anchors, aliases, tags, duplicate keys and keys that are no plain
 * text are refused. The declared type of a field reads its text, so `no`, `100:30` and `0123` mean
 * what the field says. */
#ifndef FETTLE_DATA_YAML_H
#define FETTLE_DATA_YAML_H

#include <stdbool.h>
#include <stddef.h>

typedef enum fettle_yaml_kind {
  FETTLE_YAML_TEXT,
  FETTLE_YAML_LIST,
  FETTLE_YAML_MAP
} fettle_yaml_kind;

typedef struct fettle_yaml_node fettle_yaml_node;
struct fettle_yaml_node {
  fettle_yaml_kind kind;
  size_t line, column;     /* from 1 */
  const char *text;        /* TEXT: the scalar, ended by NUL */
  size_t length;           /* TEXT: its bytes */
  bool quoted;             /* TEXT: written in quotes */
  size_t count;            /* LIST and MAP */
  fettle_yaml_node *items; /* LIST: the items; MAP: the values */
  fettle_yaml_node *keys;  /* MAP: the keys, as TEXT nodes */
};

typedef struct fettle_yaml fettle_yaml;

/* "FILE:LINE:COLUMN: what is wrong: how to mend it". */
typedef struct fettle_yaml_problem {
  size_t line, column;
  char message[400];
} fettle_yaml_problem;

/* Reads `length` bytes; `name` is what messages call the file. Returns NULL and fills `problem` on
 * failure. The tree is one allocation group, freed by fettle_yaml_free. */
fettle_yaml *fettle_yaml_read(const char *name, const char *bytes, size_t length,
                              fettle_yaml_problem *problem);
const fettle_yaml_node *fettle_yaml_root(const fettle_yaml *yaml);
/* The value of a key of a map, or NULL. */
const fettle_yaml_node *fettle_yaml_get(const fettle_yaml_node *map, const char *key);
void fettle_yaml_free(fettle_yaml *yaml);

#endif
