/* Sheets that nesting needs on public instances, against first-fit shelves in falling height in the
 * same run, and its seconds. Pieces do not turn; `--quick` takes every tenth instance. */
#define _POSIX_C_SOURCE 200809L

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "support/nest.h"

enum { ITEMS_MOST = 200, UNIT = 1000 };

typedef struct totals {
  unsigned instances, sheets, bound, shelves, wrong;
  double seconds;
} totals;

static double seconds(void) {
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static int taller(const void *a, const void *b) {
  const fettle_nest_piece *x = a, *y = b;
  return (x->width < y->width) - (x->width > y->width);
}

/* Each piece on the first shelf with room, else a new shelf on the first sheet with room. */
static unsigned shelf_sheets(fettle_nest_piece *pieces, size_t count, int64_t length,
                             int64_t width) {
  struct {
    unsigned sheet;
    int64_t height, used;
  } shelves[ITEMS_MOST];
  int64_t filled[ITEMS_MOST] = {0};
  size_t shelf_count = 0;
  unsigned sheets = 0;
  qsort(pieces, count, sizeof *pieces, taller);
  for (size_t i = 0; i < count; i++) {
    size_t at = 0;
    while (at < shelf_count &&
           (shelves[at].used + pieces[i].length > length || shelves[at].height < pieces[i].width)) {
      at++;
    }
    if (at == shelf_count) {
      unsigned sheet = 0;
      while (sheet < sheets && filled[sheet] + pieces[i].width > width) {
        sheet++;
      }
      sheets += sheet == sheets;
      filled[sheet] += pieces[i].width;
      shelves[shelf_count].sheet = sheet;
      shelves[shelf_count].height = pieces[i].width;
      shelves[shelf_count++].used = 0;
    }
    shelves[at].used += pieces[i].length;
  }
  return sheets;
}

static bool next_number(FILE *file, long *number) {
  char line[16];
  int c = fgetc(file);
  while (c != EOF && (c < '0' || c > '9')) {
    c = fgetc(file);
  }
  size_t length = 0;
  while (c >= '0' && c <= '9' && length + 1 < sizeof line) {
    line[length++] = (char)c;
    c = fgetc(file);
  }
  ungetc(c, file); /* it may end the line */
  line[length] = '\0';
  *number = strtol(line, NULL, 10);
  return length > 0;
}

/* Reads `count` numbers of one line and skips the comment behind them, digits and all. */
static bool read_line(FILE *file, long *numbers, size_t count) {
  for (size_t i = 0; i < count; i++) {
    if (!next_number(file, &numbers[i])) {
      return false;
    }
  }
  int c = fgetc(file);
  while (c != '\n' && c != EOF) {
    c = fgetc(file);
  }
  return true;
}

static bool read_header(FILE *file, long *items, long size[2]) {
  long skipped[2];
  return read_line(file, skipped, 1) && read_line(file, items, 1) && read_line(file, skipped, 2) &&
         read_line(file, size, 2) && *items > 0 && *items <= ITEMS_MOST;
}

static void measure(const char *path, bool quick, totals *sum) {
  FILE *file = fopen(path, "r");
  long items, bin[2]; /* height, width */
  if (!file) {
    fprintf(stderr, "cannot read %s\n", path);
    exit(66);
  }
  for (unsigned instance = 0; read_header(file, &items, bin); instance++) {
    fettle_nest_piece pieces[ITEMS_MOST];
    char names[ITEMS_MOST][24];
    for (long i = 0; i < items; i++) {
      long size[2];
      if (!read_line(file, size, 2)) {
        break;
      }
      snprintf(names[i], sizeof names[i], "%ld", i);
      pieces[i] = (fettle_nest_piece){
          .name = names[i], .length = size[1] * UNIT, .width = size[0] * UNIT, .count = 1};
    }
    if (quick && instance % 10 != 0) {
      continue;
    }
    fettle_nest_stock stock = {"bin", bin[1] * UNIT, bin[0] * UNIT, 0, FETTLE_NEST_UNLIMITED, 0};
    fettle_nest_request request = {
        .pieces = pieces, .piece_kinds = (size_t)items, .stocks = &stock, .stock_kinds = 1};
    fettle_nest_layout layout;
    double start = seconds();
    if (fettle_nest_solve(&request, &test_host, &layout, NULL) != FETTLE_OK ||
        fettle_nest_check(&request, &layout, &test_host, NULL) != FETTLE_OK) {
      sum->wrong++;
      continue;
    }
    sum->seconds += seconds() - start;
    sum->sheets += (unsigned)layout.sheet_count;
    sum->bound += layout.bound;
    sum->instances++;
    fettle_nest_free(&layout, &test_host);
    sum->shelves += shelf_sheets(pieces, (size_t)items, stock.length, stock.width);
  }
  fclose(file);
}

int main(int argc, char **argv) {
  bool quick = argc > 1 && strcmp(argv[1], "--quick") == 0;
  totals sum = {0};
  measure(FETTLE_TEST_DATA "/nesting/class_01.txt", quick, &sum);
  measure(FETTLE_TEST_DATA "/nesting/class_07.txt", quick, &sum);
  if (sum.wrong > 0 || sum.instances == 0) {
    fprintf(stderr, "%u layouts were refused\n", sum.wrong);
    return 70;
  }
  printf("nesting.sheets.count\t%u\tsheets\tfirst-fit shelves\t%.4f\n", sum.sheets,
         (double)sum.sheets / sum.shelves);
  printf("nesting.sheets.bound\t%u\tsheets\tlower bound\t%.4f\n", sum.bound,
         (double)sum.sheets / sum.bound);
  printf("nesting.sheets.time\t%.3f\ts an instance\tnone\t0\n", sum.seconds / sum.instances);
  return 0;
}
