/* data/yaml.c - YAML as a tree of texts with places.
 *
 * libyaml's events are read one by one and its loader is never used: it knows no limit, keeps the
 * last of two equal keys in silence and follows aliases. Its scanner takes time that grows with the
 * square of the depth, so the depth is counted here while events arrive. */
#include "data/yaml.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <yaml.h>

#include "data/text.h"

enum {
  DEPTH_MOST = 32,
  BYTES_MOST = 1 << 20,
  BLOCK_SIZE = 1 << 14,
};

typedef struct block {
  struct block *next;
  _Alignas(max_align_t) unsigned char bytes[];
} block;

struct fettle_yaml {
  block *blocks;
  size_t used, size; /* of the first block */
  fettle_yaml_node root;
};

/* A list or map that is still open. */
typedef struct frame {
  fettle_yaml_kind kind;
  size_t line, column;
  fettle_yaml_node *items, *keys; /* malloc'd while open; keys of a map only */
  size_t count, capacity;
  bool has_key; /* keys[count] waits for its value */
} frame;

typedef struct reader {
  const char *name;
  fettle_yaml *yaml;
  fettle_yaml_problem *problem;
  frame frames[DEPTH_MOST];
  size_t depth;
  size_t documents;
} reader;

#if defined(__GNUC__)
__attribute__((format(printf, 4, 5)))
#endif
static bool
refuse(reader *r, size_t line, size_t column, const char *format, ...) {
  char name[160], text[220];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(text, sizeof text, format, arguments);
  va_end(arguments);
  r->problem->line = line;
  r->problem->column = column;
  snprintf(r->problem->message, sizeof r->problem->message, "%s:%zu:%zu: %s",
           fettle_text_show(r->name, strlen(r->name), name, sizeof name), line, column, text);
  return false;
}

static bool refuse_mark(reader *r, yaml_mark_t mark, const char *text) {
  return refuse(r, mark.line + 1, mark.column + 1, "%s", text);
}

static bool no_memory(reader *r) {
  return refuse(r, 1, 1, "no memory left to read the file: close other programs and try again");
}

/* Memory of the tree, freed as a whole; NULL when there is none. */
static void *take(fettle_yaml *yaml, size_t size) {
  size = (size + sizeof(max_align_t) - 1) / sizeof(max_align_t) * sizeof(max_align_t);
  if (size > yaml->size - yaml->used) {
    size_t block_size = size > BLOCK_SIZE ? size : BLOCK_SIZE;
    block *fresh = malloc(sizeof *fresh + block_size);
    if (!fresh) {
      return NULL;
    }
    fresh->next = yaml->blocks;
    yaml->blocks = fresh;
    yaml->used = 0;
    yaml->size = block_size;
  }
  void *memory = yaml->blocks->bytes + yaml->used;
  yaml->used += size;
  return memory;
}

/* --- what libyaml does not refuse --- */

/* Tabs before the first character of a line: editors show them as any width, so that the order of
 * indents cannot be seen. */
static bool check_tabs(reader *r, const char *bytes, size_t length) {
  size_t line = 1;
  const char *end = bytes + length;
  for (const char *at = bytes; at < end;) {
    const char *start = at;
    while (at < end && *at == ' ') {
      at++;
    }
    if (at < end && *at == '\t') {
      const char *after = at;
      while (after < end && (*after == ' ' || *after == '\t')) {
        after++;
      }
      if (after < end && *after != '\n' && *after != '\r' && *after != '#') {
        return refuse(r, line, (size_t)(at - start) + 1, "a tab in the indent: indent with spaces");
      }
    }
    while (at < end && *at != '\n' && *at != '\r') {
      at++;
    }
    if (at + 1 < end && *at == '\r' && at[1] == '\n') {
      at++;
    }
    at++;
    line++;
  }
  return true;
}

static bool check_bytes(reader *r, const char *bytes, size_t length) {
  fettle_text_place place;
  if (length > BYTES_MOST) {
    return refuse(r, 1, 1, "the file has %zu bytes, at most %d are read: split it", length,
                  BYTES_MOST);
  }
  if (length >= 2 && (memcmp(bytes, "\xFF\xFE", 2) == 0 || memcmp(bytes, "\xFE\xFF", 2) == 0)) {
    return refuse(r, 1, 1, "the file is UTF-16, not UTF-8: save it as UTF-8");
  }
  if (length >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0) {
    return refuse(r, 1, 1, "a byte order mark: save the file as UTF-8 without a mark (BOM)");
  }
  const char *fault = fettle_text_check(bytes, length, &place);
  if (fault) {
    return refuse(r, place.line, place.column, "%s", fault);
  }
  return check_tabs(r, bytes, length);
}

/* libyaml's words for what is wrong, and what a shop can do about it. */
static const struct {
  const char *contains, *text;
} scanner_faults[] = {
    {"mapping values are not allowed",
     "a second `: ` in one line, or a wrong indent: put the text in quotes, or one key a line"},
    {"could not find expected ':'",
     "a line without `: ` among keys, or a quote left open above: write `key: value`"},
    {"did not find expected key", "this does not line up with the keys above: give keys of one map "
                                  "the same indent, and put text "
                                  "after a closing quote inside it"},
    {"did not find expected '-' indicator",
     "this does not line up with the list above: start each item with `- ` at the same indent"},
    {"did not find expected ',' or ']'", "a `[` list is not closed: end it with `]`"},
    {"did not find expected ',' or '}'", "a `{` map is not closed: end it with `}`"},
    {"block sequence entries are not allowed",
     "a list item `- ` cannot start here: put it on a line of its own"},
    {"block mapping keys are not allowed", "a key cannot start here: put it on a line of its own"},
    {"found unexpected end of stream", "a quote is not closed: end the text with the same quote"},
    {"found unexpected document indicator",
     "a quote is still open at `---`: end the text with the same quote"},
    {"found unknown escape character", "a backslash in double quotes starts a code that is not "
                                       "known: use single quotes, or write \\\\"},
    {"did not find expected <document start>",
     "this does not belong to what stands above: give keys of one map the same indent"},
    {"did not find expected node content",
     "a key or value is missing here: write it, or drop the comma"},
    {"found character that cannot start any token",
     "a value cannot start with this character: put it in quotes"},
    {"found a tab character", "a tab in the indent: indent with spaces"},
};

static bool refuse_scanner(reader *r, const yaml_parser_t *parser) {
  const char *fault = parser->problem ? parser->problem : "it is not YAML";
  if (parser->error == YAML_MEMORY_ERROR) {
    return no_memory(r);
  }
  for (size_t i = 0; i < sizeof scanner_faults / sizeof *scanner_faults; i++) {
    if (strstr(fault, scanner_faults[i].contains)) {
      return refuse_mark(r, parser->problem_mark, scanner_faults[i].text);
    }
  }
  return refuse(r, parser->problem_mark.line + 1, parser->problem_mark.column + 1,
                "%s: check the indent, or put the text in quotes", fault);
}

/* --- building the tree --- */

static bool grow(frame *f) {
  if (f->count < f->capacity) {
    return true;
  }
  size_t capacity = f->capacity ? 2 * f->capacity : 8;
  fettle_yaml_node *items = realloc(f->items, capacity * sizeof *items);
  if (!items) {
    return false;
  }
  f->items = items;
  if (f->kind == FETTLE_YAML_MAP) {
    fettle_yaml_node *keys = realloc(f->keys, capacity * sizeof *keys);
    if (!keys) {
      return false;
    }
    f->keys = keys;
  }
  f->capacity = capacity;
  return true;
}

/* Puts a finished node where it belongs: as root, item, key or value. */
static bool place_node(reader *r, const fettle_yaml_node *node) {
  if (r->depth == 0) {
    r->yaml->root = *node;
    return true;
  }
  frame *f = &r->frames[r->depth - 1];
  if (!grow(f)) {
    return no_memory(r);
  }
  if (f->kind == FETTLE_YAML_MAP && !f->has_key) {
    if (node->length == 0) {
      return refuse(r, node->line, node->column, "a key is missing: write `key: value`");
    }
    if (!node->quoted && strcmp(node->text, "<<") == 0) {
      return refuse(r, node->line, node->column,
                    "a merge key `<<`, which is not read: write the values out");
    }
    f->keys[f->count] = *node;
    f->has_key = true;
    return true;
  }
  f->items[f->count++] = *node;
  f->has_key = false;
  return true;
}

static bool add_text(reader *r, const yaml_event_t *event) {
  fettle_yaml_node node = {.kind = FETTLE_YAML_TEXT,
                           .line = event->start_mark.line + 1,
                           .column = event->start_mark.column + 1,
                           .length = event->data.scalar.length,
                           .quoted = event->data.scalar.style != YAML_PLAIN_SCALAR_STYLE};
  if (memchr(event->data.scalar.value, 0, node.length)) {
    return refuse_mark(r, event->start_mark, "a NUL inside the text: delete the \\0");
  }
  char *text = take(r->yaml, node.length + 1);
  if (!text) {
    return no_memory(r);
  }
  memcpy(text, event->data.scalar.value, node.length);
  text[node.length] = '\0';
  node.text = text;
  return place_node(r, &node);
}

static bool open_frame(reader *r, const yaml_event_t *event, fettle_yaml_kind kind) {
  if (r->depth > 0) {
    const frame *f = &r->frames[r->depth - 1];
    if (f->kind == FETTLE_YAML_MAP && !f->has_key) {
      return refuse_mark(r, event->start_mark,
                         "a key that is no plain text: write a name before `: `");
    }
  }
  if (r->depth == DEPTH_MOST) {
    return refuse(r, event->start_mark.line + 1, event->start_mark.column + 1,
                  "lists and maps inside one another more than %d deep: make it flatter",
                  DEPTH_MOST);
  }
  r->frames[r->depth++] = (frame){
      .kind = kind, .line = event->start_mark.line + 1, .column = event->start_mark.column + 1};
  return true;
}

typedef struct keyed {
  const fettle_yaml_node *key;
} keyed;

static int compare_keys(const void *a, const void *b) {
  const fettle_yaml_node *first = ((const keyed *)a)->key;
  const fettle_yaml_node *second = ((const keyed *)b)->key;
  int order = strcmp(first->text, second->text);
  if (order != 0) {
    return order;
  }
  /* Keys stand in one array in the order of the file. */
  return first < second ? -1 : first > second;
}

/* Sorting finds equal keys of a large map without comparing each with each. */
static bool check_duplicates(reader *r, const fettle_yaml_node *map) {
  if (map->count < 2) {
    return true;
  }
  keyed *sorted = malloc(map->count * sizeof *sorted);
  if (!sorted) {
    return no_memory(r);
  }
  for (size_t i = 0; i < map->count; i++) {
    sorted[i].key = &map->keys[i];
  }
  qsort(sorted, map->count, sizeof *sorted, compare_keys);
  const fettle_yaml_node *first = NULL, *again = NULL;
  for (size_t i = 1; i < map->count; i++) {
    const fettle_yaml_node *key = sorted[i].key;
    if (strcmp(sorted[i - 1].key->text, key->text) == 0 && (!again || key < again)) {
      first = sorted[i - 1].key;
      again = key;
    }
  }
  free(sorted);
  if (!again) {
    return true;
  }
  char key[64];
  return refuse(
      r, again->line, again->column, "`%s` stands twice, first at %zu:%zu: keep one of them",
      fettle_text_show(again->text, again->length, key, sizeof key), first->line, first->column);
}

static bool close_frame(reader *r) {
  frame *f = &r->frames[r->depth - 1];
  fettle_yaml_node node = {
      .kind = f->kind, .line = f->line, .column = f->column, .count = f->count};
  size_t size = f->count * sizeof *node.items;
  if (f->items && f->count > 0) {
    node.items = take(r->yaml, size);
    node.keys = f->kind == FETTLE_YAML_MAP ? take(r->yaml, size) : NULL;
    if (!node.items || (f->kind == FETTLE_YAML_MAP && !node.keys)) {
      return no_memory(r);
    }
    memcpy(node.items, f->items, size);
    if (node.keys) {
      memcpy(node.keys, f->keys, size);
    }
  }
  free(f->items);
  free(f->keys);
  r->depth--;
  return (node.kind != FETTLE_YAML_MAP || check_duplicates(r, &node)) && place_node(r, &node);
}

static bool check_anchor_and_tag(reader *r, const yaml_event_t *event, const yaml_char_t *anchor,
                                 const yaml_char_t *tag) {
  if (anchor) {
    return refuse_mark(r, event->start_mark,
                       "an anchor `&`, which is not read: write the value where it is used, or put "
                       "a text that starts with `&` in quotes");
  }
  if (tag) {
    return refuse_mark(r, event->start_mark,
                       "a tag `!`, which is not read: drop it, or put a text that starts with `!` "
                       "in quotes");
  }
  return true;
}

static bool take_event(reader *r, const yaml_event_t *event) {
  switch (event->type) {
  case YAML_DOCUMENT_START_EVENT:
    if (r->documents++ > 0) {
      return refuse_mark(r, event->start_mark,
                         "a second document after `---`: keep one document in a file");
    }
    if (event->data.document_start.version_directive ||
        event->data.document_start.tag_directives.start !=
            event->data.document_start.tag_directives.end) {
      return refuse_mark(r, event->start_mark, "a `%` directive, which is not read: drop it");
    }
    return true;
  case YAML_ALIAS_EVENT:
    return refuse_mark(r, event->start_mark,
                       "an alias `*`, which is not read: write the value out, or put a text that "
                       "starts with `*` in quotes");
  case YAML_SCALAR_EVENT:
    return check_anchor_and_tag(r, event, event->data.scalar.anchor, event->data.scalar.tag) &&
           add_text(r, event);
  case YAML_SEQUENCE_START_EVENT:
    return check_anchor_and_tag(r, event, event->data.sequence_start.anchor,
                                event->data.sequence_start.tag) &&
           open_frame(r, event, FETTLE_YAML_LIST);
  case YAML_MAPPING_START_EVENT:
    return check_anchor_and_tag(r, event, event->data.mapping_start.anchor,
                                event->data.mapping_start.tag) &&
           open_frame(r, event, FETTLE_YAML_MAP);
  case YAML_SEQUENCE_END_EVENT:
  case YAML_MAPPING_END_EVENT:
    return close_frame(r);
  default:
    return true;
  }
}

static bool read_events(reader *r, yaml_parser_t *parser) {
  for (;;) {
    yaml_event_t event;
    if (!yaml_parser_parse(parser, &event)) {
      return refuse_scanner(r, parser);
    }
    bool end = event.type == YAML_STREAM_END_EVENT;
    bool good = take_event(r, &event);
    yaml_event_delete(&event);
    if (!good) {
      return false;
    }
    if (end) {
      break;
    }
  }
  if (r->documents == 0) {
    return refuse(r, 1, 1, "the file is empty: write at least one line `key: value`");
  }
  return true;
}

fettle_yaml *fettle_yaml_read(const char *name, const char *bytes, size_t length,
                              fettle_yaml_problem *problem) {
  reader r = {.name = name, .problem = problem};
  yaml_parser_t parser;
  if (!check_bytes(&r, bytes, length)) {
    return NULL;
  }
  r.yaml = calloc(1, sizeof *r.yaml);
  if (!r.yaml || !yaml_parser_initialize(&parser)) {
    free(r.yaml);
    no_memory(&r);
    return NULL;
  }
  yaml_parser_set_input_string(&parser, (const unsigned char *)bytes, length);
  yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
  bool good = read_events(&r, &parser);
  yaml_parser_delete(&parser);
  while (r.depth > 0) {
    frame *f = &r.frames[--r.depth];
    free(f->items);
    free(f->keys);
  }
  if (!good) {
    fettle_yaml_free(r.yaml);
    return NULL;
  }
  return r.yaml;
}

const fettle_yaml_node *fettle_yaml_root(const fettle_yaml *yaml) {
  return &yaml->root;
}

const fettle_yaml_node *fettle_yaml_get(const fettle_yaml_node *map, const char *key) {
  for (size_t i = 0; map->kind == FETTLE_YAML_MAP && i < map->count; i++) {
    if (strcmp(map->keys[i].text, key) == 0) {
      return &map->items[i];
    }
  }
  return NULL;
}

void fettle_yaml_free(fettle_yaml *yaml) {
  if (!yaml) {
    return;
  }
  while (yaml->blocks) {
    block *next = yaml->blocks->next;
    free(yaml->blocks);
    yaml->blocks = next;
  }
  free(yaml);
}
