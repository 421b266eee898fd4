/* data/shop_schema.h - the one description of what shop data may hold. The reader, its messages and
 * the manual go by it. */
#ifndef FETTLE_DATA_SHOP_SCHEMA_H
#define FETTLE_DATA_SHOP_SCHEMA_H

#include <stdbool.h>

#include "fettle/quantity.h"

typedef enum fettle_shop_type {
  FETTLE_SHOP_QUANTITY, /* number with unit; a plain number where the unit is "1" or "%" */
  FETTLE_SHOP_WHOLE,    /* plain whole number */
  FETTLE_SHOP_RATIO,    /* 100:30, resin to hardener */
  FETTLE_SHOP_TEXT,
  FETTLE_SHOP_CHOICE,  /* one of `choices` */
  FETTLE_SHOP_BOOLEAN, /* true or false */
  FETTLE_SHOP_CLOCK,   /* 07:00, a time after midnight */
  FETTLE_SHOP_DATE,    /* 2026-03-02 */
  FETTLE_SHOP_LIST,    /* list of quantities */
  FETTLE_SHOP_TABLE    /* list of rows with `fields` */
} fettle_shop_type;

typedef struct fettle_shop_field {
  const char *name; /* NULL ends an array */
  fettle_shop_type type;
  const char *unit;      /* QUANTITY, LIST: fixes the dimension; limits are written in it */
  const char *inch_unit; /* of the inch habit; NULL: the same */
  double low, high;      /* hard limits, inclusive, in `unit` */
  bool required;
  fettle_role role;                       /* of temperatures */
  const char *const *choices;             /* CHOICE: ended by NULL */
  const struct fettle_shop_field *fields; /* TABLE */
  const char *meaning;
} fettle_shop_field;

typedef struct fettle_shop_section {
  const char *name; /* NULL ends the array */
  bool named;       /* holds entries by name, each with `fields`; else the fields themselves */
  bool open;        /* the shop's own names, of any type; no fields */
  const fettle_shop_field *fields;
  const char *meaning;
} fettle_shop_section;

/* Static, in the order of the manual. */
extern const fettle_shop_section fettle_shop_sections[];

#endif
