/* The formula language: a recursive-descent reader that evaluates as it reads. */
#include "fettle/formula.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "catalogue/parameter.h"

typedef struct operand {
  fettle_quantity quantity;
  double rounding; /* how far the SI value may be off by rounding alone */
} operand;

typedef struct reader {
  const char *text;
  size_t at;
  fettle_symbol *symbols;
  size_t count;
  size_t capacity;
  double *roundings; /* or NULL */
  unsigned depth;
  /* Above 0 inside the branch that `choose` does not take: read, but not evaluated. */
  unsigned skipping;
  fettle_diagnostic *diagnostic;
} reader;

static bool is_letter(char c) {
  /* Bytes above 127 belong to letters such as the Greek ones. */
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_' || (unsigned char)c > 127;
}

static bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

static size_t name_length(const char *text) {
  size_t length = 0;
  while (is_letter(text[length]) || (length > 0 && is_digit(text[length]))) {
    length++;
  }
  return length;
}

static bool same(const char *name, size_t length, const char *word) {
  return strlen(word) == length && memcmp(name, word, length) == 0;
}

static void skip_blanks(reader *r) {
  while (r->text[r->at] == ' ' || r->text[r->at] == '\t' || r->text[r->at] == '\n' ||
         r->text[r->at] == '\r') {
    r->at++;
  }
}

static fettle_status refuse(const reader *r, size_t at, fettle_status status, const char *reason) {
  fettle_fail(r->diagnostic, status, NULL, "column %zu: %s", at + 1, reason);
  if (r->diagnostic) {
    r->diagnostic->column = at + 1;
  }
  return status;
}

/* Puts the column in front of what quantity arithmetic said. */
static fettle_status refuse_as(const reader *r, size_t at, const fettle_diagnostic *inner) {
  return refuse(r, at, inner->status, inner->message);
}

static fettle_status refuse_name(const reader *r, size_t at, const char *what, const char *name,
                                 size_t length, const char *rest) {
  char reason[200];
  snprintf(reason, sizeof reason, "%s '%.*s'%s", what, (int)(length < 40 ? length : 40), name,
           rest);
  return refuse(r, at, FETTLE_ERROR_TEXT, reason);
}

static fettle_status expect(reader *r, char wanted, const char *after) {
  skip_blanks(r);
  if (r->text[r->at] == wanted) {
    r->at++;
    return FETTLE_OK;
  }
  char reason[120];
  snprintf(reason, sizeof reason, "'%c' is missing after %s", wanted, after);
  return refuse(r, r->at, FETTLE_ERROR_TEXT, reason);
}

static operand plain(double value) {
  return (operand){.quantity = {.value = value, .magic = FETTLE_QUANTITY_MAGIC}};
}

static fettle_dimension angle_dimension(void) {
  return (fettle_dimension)12 << (8 * FETTLE_BASE_ANGLE);
}

static fettle_status read_sum(reader *r, operand *out);

/* --- functions --- */

typedef enum function {
  SQRT,
  EXP,
  LN,
  LOG10,
  SIN,
  COS,
  TAN,
  ASIN,
  ACOS,
  ATAN,
  ABS,
  MIN,
  MAX,
  FLOOR,
  CEIL,
  RADIANS,
  ANGLE,
  CHOOSE
} function;

static const char *const function_names[] = {
    [SQRT] = "sqrt",   [EXP] = "exp",      [LN] = "ln",     [LOG10] = "log10",
    [SIN] = "sin",     [COS] = "cos",      [TAN] = "tan",   [ASIN] = "asin",
    [ACOS] = "acos",   [ATAN] = "atan",    [ABS] = "abs",   [MIN] = "min",
    [MAX] = "max",     [FLOOR] = "floor",  [CEIL] = "ceil", [RADIANS] = "radians",
    [ANGLE] = "angle", [CHOOSE] = "choose"};

static int find_function(const char *name, size_t length) {
  for (int i = 0; i < (int)(sizeof function_names / sizeof *function_names); i++) {
    if (same(name, length, function_names[i])) {
      return i;
    }
  }
  return -1;
}

/* What a function of one argument wants of it. */
static fettle_status check_argument(const reader *r, size_t at, function f,
                                    const fettle_quantity *x) {
  const char *name = function_names[f];
  char reason[240];
  if (f == SIN || f == COS || f == TAN || f == RADIANS) {
    if (x->dimension != angle_dimension()) {
      snprintf(reason, sizeof reason,
               "%s needs an angle; a plain number of radians becomes one by angle(x)", name);
      return refuse(r, at, FETTLE_ERROR_DIMENSION, reason);
    }
  } else if (f != SQRT && f != ABS && x->dimension != 0) {
    char dimension[80];
    fettle_dimension_name(x->dimension, dimension, sizeof dimension);
    snprintf(reason, sizeof reason, "%s needs a plain number and got %s: divide it by a like value",
             name, dimension);
    return refuse(r, at, FETTLE_ERROR_DIMENSION, reason);
  }
  const char *wanted = NULL;
  if (f == SQRT && x->value < 0) {
    wanted = "sqrt of a value below 0";
  } else if ((f == LN || f == LOG10) && !(x->value > 0)) {
    wanted = "logarithm of a value that is not above 0";
  } else if ((f == ASIN || f == ACOS) && fabs(x->value) > 1) {
    wanted = "asin and acos need a value from -1 to 1";
  }
  return wanted ? refuse(r, at, FETTLE_ERROR_RANGE, wanted) : FETTLE_OK;
}

/* A step as wide as the jump where rounding alone may decide on which side of it a value lies. */
static double step_rounding(double value, double rounding) {
  return fabs(value - nearbyint(value)) <= rounding ? 1 : 0;
}

/* What a function of one argument makes of a plain value and its rounding. */
typedef struct image {
  double value;
  double slope; /* magnitude of the derivative: carries the rounding on */
  double step;  /* rounding that no slope describes */
  fettle_dimension dimension;
} image;

static image image_of(function f, double v, double e) {
  image out = {.value = v, .slope = 1};
  switch (f) {
  case SQRT:
    out.value = sqrt(v);
    /* Near 0 the slope has no bound, but the root of the rounding has. */
    out.slope = v > e ? 0.5 / out.value : 0;
    out.step = v > e ? 0 : sqrt(v + e);
    break;
  case EXP:
    out.value = out.slope = exp(v);
    break;
  case LN:
    out.value = log(v);
    out.slope = 1 / v;
    break;
  case LOG10:
    out.value = log10(v);
    out.slope = 0.43429448190325182765 / v; /* 1/ln 10 */
    break;
  case SIN:
    out.value = sin(v);
    out.slope = fabs(cos(v));
    break;
  case COS:
    out.value = cos(v);
    out.slope = fabs(sin(v));
    break;
  case TAN:
    out.value = tan(v);
    out.slope = 1 + out.value * out.value;
    break;
  case ASIN:
  case ACOS: {
    double room = 1 - v * v;
    out.value = f == ASIN ? asin(v) : acos(v);
    out.dimension = angle_dimension();
    out.slope = room > 2 * e ? 1 / sqrt(room) : 0;
    out.step = room > 2 * e ? 0 : sqrt(room + 2 * e);
    break;
  }
  case ATAN:
    out.value = atan(v);
    out.dimension = angle_dimension();
    out.slope = 1 / (1 + v * v);
    break;
  case ABS:
    out.value = fabs(v);
    break;
  case FLOOR:
  case CEIL:
    out.value = f == FLOOR ? floor(v) : ceil(v);
    out.step = step_rounding(v, e + DBL_EPSILON * fabs(v));
    out.slope = 0;
    break;
  case ANGLE:
    out.dimension = angle_dimension();
    break;
  default: /* radians: the value stays, the dimension goes */
    break;
  }
  return out;
}

static fettle_status apply(const reader *r, size_t at, function f, const operand *x, operand *out) {
  fettle_status status = check_argument(r, at, f, &x->quantity);
  if (status != FETTLE_OK) {
    return status;
  }
  image y = image_of(f, x->quantity.value, x->rounding);
  if (f == SQRT) {
    fettle_diagnostic inner;
    fettle_quantity root;
    status = fettle_quantity_power(&x->quantity, 0.5, &root, &inner);
    if (status != FETTLE_OK) {
      return refuse_as(r, at, &inner);
    }
    y.dimension = root.dimension;
  }
  if (!isfinite(y.value)) {
    char reason[80];
    snprintf(reason, sizeof reason, "%s gives no finite number", function_names[f]);
    return refuse(r, at, FETTLE_ERROR_RANGE, reason);
  }
  *out = (operand){
      .quantity = {.value = y.value, .dimension = y.dimension, .magic = FETTLE_QUANTITY_MAGIC},
      .rounding = y.slope * x->rounding + y.step + DBL_EPSILON * fabs(y.value)};
  if (f == ABS) {
    out->quantity.dimension = x->quantity.dimension;
    out->quantity.unit = x->quantity.unit;
  }
  return FETTLE_OK;
}

static fettle_status compare(const reader *r, size_t at, const operand *a, const operand *b,
                             int *order) {
  fettle_diagnostic inner;
  if (fettle_quantity_compare(&a->quantity, &b->quantity, order, &inner) != FETTLE_OK) {
    return refuse_as(r, at, &inner);
  }
  return FETTLE_OK;
}

static fettle_status read_extreme(reader *r, size_t at, function f, operand *out) {
  operand best = plain(0);
  for (size_t given = 0;; given++) {
    operand x;
    fettle_status status = read_sum(r, &x);
    if (status != FETTLE_OK) {
      return status;
    }
    if (given == 0) {
      best = x;
    } else if (!r->skipping) {
      int order;
      status = compare(r, at, &x, &best, &order);
      if (status != FETTLE_OK) {
        return status;
      }
      double rounding = fmax(x.rounding, best.rounding);
      if (f == MIN ? x.quantity.value < best.quantity.value
                   : x.quantity.value > best.quantity.value) {
        best = x;
      }
      best.rounding = rounding;
    }
    skip_blanks(r);
    if (r->text[r->at] != ',') {
      *out = best;
      return given > 0 ? FETTLE_OK
                       : refuse(r, at, FETTLE_ERROR_TEXT, "min and max need two values or more");
    }
    r->at++;
  }
}

static fettle_status read_condition(reader *r, bool *holds) {
  operand a;
  operand b;
  fettle_status status = read_sum(r, &a);
  if (status != FETTLE_OK) {
    return status;
  }
  skip_blanks(r);
  size_t at = r->at;
  const char *text = r->text + at;
  bool equal = false;
  if (text[0] != '\0' && text[1] == '=' && strchr("<>=!", text[0])) {
    equal = true;
  } else if (text[0] != '<' && text[0] != '>') {
    return refuse(r, at, FETTLE_ERROR_TEXT, "the condition of choose needs one of < <= > >= == !=");
  }
  r->at += equal ? 2 : 1;
  status = read_sum(r, &b);
  *holds = false;
  if (status != FETTLE_OK || r->skipping) {
    return status;
  }
  int order;
  status = compare(r, at, &a, &b, &order);
  if (status == FETTLE_OK) {
    switch (text[0]) {
    case '<':
      *holds = order < 0 || (equal && order == 0);
      break;
    case '>':
      *holds = order > 0 || (equal && order == 0);
      break;
    case '=':
      *holds = order == 0;
      break;
    default:
      *holds = order != 0;
      break;
    }
  }
  return status;
}

static fettle_status read_choose(reader *r, operand *out) {
  bool holds;
  operand branch[2] = {plain(0), plain(0)};
  fettle_status status = read_condition(r, &holds);
  for (int i = 0; i < 2 && status == FETTLE_OK; i++) {
    status = expect(r, ',', i == 0 ? "the condition" : "the first choice");
    if (status == FETTLE_OK) {
      unsigned skip = (i == 0) == holds ? 0 : 1;
      r->skipping += skip;
      status = read_sum(r, &branch[i]);
      r->skipping -= skip;
    }
  }
  if (status == FETTLE_OK) {
    *out = branch[holds ? 0 : 1];
  }
  return status;
}

static fettle_status read_call(reader *r, size_t at, function f, operand *out) {
  operand x;
  fettle_status status;
  if (f == CHOOSE) {
    status = read_choose(r, out);
  } else if (f == MIN || f == MAX) {
    status = read_extreme(r, at, f, out);
  } else {
    status = read_sum(r, &x);
    if (status == FETTLE_OK && r->skipping) {
      *out = x;
    } else if (status == FETTLE_OK) {
      status = apply(r, at, f, &x, out);
    }
  }
  return status == FETTLE_OK ? expect(r, ')', function_names[f]) : status;
}

/* --- operators --- */

static fettle_status read_number(reader *r, operand *out) {
  size_t from = r->at;
  const char *text = r->text;
  while (is_digit(text[r->at]) || text[r->at] == '.') {
    r->at++;
  }
  if (text[r->at] == 'e' || text[r->at] == 'E') {
    size_t digits = r->at + 1;
    if (text[digits] == '+' || text[digits] == '-') {
      digits++;
    }
    if (is_digit(text[digits])) {
      while (is_digit(text[digits])) {
        digits++;
      }
      r->at = digits;
    }
  }
  if (is_letter(text[r->at])) {
    return refuse(r, r->at, FETTLE_ERROR_TEXT, "write * between a number and a symbol");
  }
  double value;
  fettle_diagnostic inner;
  if (fettle_number_parse(text + from, r->at - from, &value, &inner) != FETTLE_OK) {
    return refuse_as(r, from, &inner);
  }
  *out = plain(value);
  return FETTLE_OK;
}

static fettle_status read_unknown(const reader *r, size_t at, size_t length) {
  const char *name = r->text + at;
  const fettle_symbol *nearest = NULL;
  size_t distance = 2; /* symbols are short: one wrong letter at most */
  for (size_t i = 0; i < r->count; i++) {
    size_t d = fettle_name_distance(name, length, r->symbols[i].name, r->symbols[i].length);
    if (d < distance) {
      distance = d;
      nearest = &r->symbols[i];
    }
  }
  char hint[80] = "";
  if (nearest) {
    snprintf(hint, sizeof hint, "; the nearest known one is '%.*s'",
             (int)(nearest->length < 40 ? nearest->length : 40), nearest->name);
  }
  return refuse_name(r, at, "unknown symbol", name, length, hint);
}

static fettle_status read_name(reader *r, operand *out) {
  size_t at = r->at;
  const char *name = r->text + at;
  size_t length = name_length(name);
  r->at += length;
  skip_blanks(r);
  if (r->text[r->at] == '(') {
    int f = find_function(name, length);
    if (f < 0) {
      return refuse_name(r, at, "unknown function", name, length,
                         "; a product needs * between its factors");
    }
    r->at++;
    return read_call(r, at, (function)f, out);
  }
  for (size_t i = r->count; i-- > 0;) {
    const fettle_symbol *symbol = &r->symbols[i];
    if (symbol->length == length && memcmp(symbol->name, name, length) == 0) {
      out->quantity = symbol->value;
      /* In a formula a temperature is its absolute kelvins, so that R * T is an energy. */
      if (out->quantity.flags & FETTLE_QUANTITY_POINT) {
        out->quantity.flags = (uint8_t)(out->quantity.flags & ~FETTLE_QUANTITY_POINT);
        out->quantity.unit = 0;
      }
      out->rounding = r->roundings ? r->roundings[i] : 0;
      return FETTLE_OK;
    }
  }
  if (same(name, length, "pi")) {
    *out = plain(3.14159265358979323846);
    return FETTLE_OK;
  }
  return read_unknown(r, at, length);
}

static fettle_status read_atom(reader *r, operand *out) {
  skip_blanks(r);
  char c = r->text[r->at];
  if (is_digit(c) || c == '.') {
    return read_number(r, out);
  }
  if (c == '(') {
    r->at++;
    fettle_status status = read_sum(r, out);
    return status == FETTLE_OK ? expect(r, ')', "the bracket's value") : status;
  }
  if (is_letter(c)) {
    return read_name(r, out);
  }
  if (c == '\0' || c == ';') {
    return refuse(r, r->at, FETTLE_ERROR_TEXT, "the text ends where a value is due");
  }
  return refuse_name(r, r->at, "a value is due, not", r->text + r->at, 1, "");
}

static fettle_status read_signed(reader *r, operand *out);

static fettle_status raise_power(const reader *r, size_t at, const operand *base,
                                 const operand *exponent, operand *out) {
  if (exponent->quantity.dimension != 0) {
    return refuse(r, at, FETTLE_ERROR_DIMENSION, "an exponent must be a plain number");
  }
  fettle_diagnostic inner;
  double a = base->quantity.value;
  double n = exponent->quantity.value;
  fettle_quantity power;
  if (fettle_quantity_power(&base->quantity, n, &power, &inner) != FETTLE_OK) {
    return refuse_as(r, at, &inner);
  }
  double value = power.value;
  double rounding = DBL_EPSILON * fabs(value);
  if (a != 0) {
    rounding += fabs(value * n / a) * base->rounding;
    rounding += a > 0 ? fabs(value * log(a)) * exponent->rounding : 0;
  } else {
    rounding += n > 0 ? pow(base->rounding, n) : 0;
  }
  *out = (operand){.quantity = power, .rounding = rounding};
  return FETTLE_OK;
}

static fettle_status read_power(reader *r, operand *out) {
  operand base = plain(0);
  fettle_status status = read_atom(r, &base);
  if (status != FETTLE_OK) {
    return status;
  }
  skip_blanks(r);
  *out = base;
  if (r->text[r->at] != '^') {
    return FETTLE_OK;
  }
  size_t at = r->at++;
  operand exponent;
  status = read_signed(r, &exponent); /* a^b^c is a^(b^c), a^-1 is allowed */
  if (status != FETTLE_OK || r->skipping) {
    return status;
  }
  return raise_power(r, at, &base, &exponent, out);
}

/* -a^2 is -(a^2). Every way into deeper text passes here. */
static fettle_status read_signed(reader *r, operand *out) {
  *out = plain(0);
  if (r->depth >= FETTLE_EXPRESSION_DEPTH) {
    return refuse(r, r->at, FETTLE_ERROR_TEXT, "nested too deeply");
  }
  skip_blanks(r);
  char sign = r->text[r->at];
  fettle_status status;
  r->depth++;
  if (sign == '-' || sign == '+') {
    size_t at = r->at++;
    status = read_signed(r, out);
    if (status == FETTLE_OK && sign == '-' && !r->skipping) {
      fettle_diagnostic inner;
      fettle_quantity negative;
      status = fettle_quantity_negate(&out->quantity, &negative, &inner);
      if (status != FETTLE_OK) {
        status = refuse_as(r, at, &inner);
      } else {
        out->quantity = negative;
      }
    }
  } else {
    status = read_power(r, out);
  }
  r->depth--;
  return status;
}

static fettle_status combine(const reader *r, size_t at, char sign, const operand *a,
                             const operand *b, operand *out) {
  const fettle_quantity *x = &a->quantity;
  const fettle_quantity *y = &b->quantity;
  fettle_diagnostic inner;
  fettle_quantity result = {0};
  fettle_status status = FETTLE_OK;
  double rounding = 0;
  switch (sign) {
  case '+':
    status = fettle_quantity_add(x, y, &result, &inner);
    rounding = a->rounding + b->rounding;
    break;
  case '-':
    status = fettle_quantity_subtract(x, y, &result, &inner);
    rounding = a->rounding + b->rounding;
    break;
  case '*':
    status = fettle_quantity_multiply(x, y, &result, &inner);
    rounding = fabs(x->value) * b->rounding + fabs(y->value) * a->rounding;
    break;
  default:
    if (y->value == 0) { /* an exact comparison: only 0 itself has no reciprocal */
      return refuse(r, at, FETTLE_ERROR_RANGE, "division by 0");
    }
    status = fettle_quantity_divide(x, y, &result, &inner);
    rounding = (a->rounding + fabs(x->value / y->value) * b->rounding) / fabs(y->value);
    break;
  }
  if (status != FETTLE_OK) {
    return refuse_as(r, at, &inner);
  }
  *out = (operand){.quantity = result, .rounding = rounding + DBL_EPSILON * fabs(result.value)};
  return FETTLE_OK;
}

static fettle_status read_product(reader *r, operand *out) {
  fettle_status status = read_signed(r, out);
  while (status == FETTLE_OK) {
    skip_blanks(r);
    char sign = r->text[r->at];
    if (sign != '*' && sign != '/') {
      break;
    }
    size_t at = r->at++;
    operand factor;
    status = read_signed(r, &factor);
    if (status == FETTLE_OK && !r->skipping) {
      status = combine(r, at, sign, out, &factor, out);
    }
  }
  return status;
}

static fettle_status read_sum(reader *r, operand *out) {
  fettle_status status = read_product(r, out);
  while (status == FETTLE_OK) {
    skip_blanks(r);
    char sign = r->text[r->at];
    if (sign != '+' && sign != '-') {
      break;
    }
    size_t at = r->at++;
    operand term;
    status = read_product(r, &term);
    if (status == FETTLE_OK && !r->skipping) {
      status = combine(r, at, sign, out, &term, out);
    }
  }
  return status;
}

/* --- statements --- */

static fettle_status read_statement(reader *r) {
  skip_blanks(r);
  size_t at = r->at;
  const char *name = r->text + at;
  size_t length = name_length(name);
  r->at += length;
  skip_blanks(r);
  if (length == 0 || r->text[r->at] != '=' || r->text[r->at + 1] == '=') {
    return refuse(r, at, FETTLE_ERROR_TEXT, "a statement is written symbol = expression");
  }
  if (find_function(name, length) >= 0 || same(name, length, "pi")) {
    return refuse_name(r, at, "the name", name, length, " belongs to the formula language");
  }
  for (size_t i = 0; i < r->count; i++) {
    if (r->symbols[i].length == length && memcmp(r->symbols[i].name, name, length) == 0) {
      return refuse_name(r, at, "the symbol", name, length, " has a value already");
    }
  }
  if (r->count >= r->capacity) {
    return refuse(r, at, FETTLE_ERROR_TEXT, "too many symbols");
  }
  r->at++;
  operand result;
  fettle_status status = read_sum(r, &result);
  if (status != FETTLE_OK) {
    return status;
  }
  skip_blanks(r);
  if (r->text[r->at] != ';' && r->text[r->at] != '\0') {
    return refuse_name(r, r->at, "unexpected text at", r->text + r->at, 1,
                       is_letter(r->text[r->at]) || r->text[r->at] == '('
                           ? "; a product needs * between its factors"
                           : "");
  }
  if (r->roundings) {
    r->roundings[r->count] = result.rounding;
  }
  r->symbols[r->count++] =
      (fettle_symbol){.name = name, .length = length, .value = result.quantity};
  return FETTLE_OK;
}

fettle_status fettle_expression_evaluate(const char *text, fettle_symbol *symbols, size_t *count,
                                         size_t capacity, double *roundings,
                                         fettle_diagnostic *diagnostic) {
  reader r = {.text = text,
              .symbols = symbols,
              .count = *count,
              .capacity = capacity,
              .roundings = roundings,
              .diagnostic = diagnostic};
  if (strlen(text) > FETTLE_EXPRESSION_MOST) {
    return refuse(&r, FETTLE_EXPRESSION_MOST, FETTLE_ERROR_TEXT, "the text is too long");
  }
  for (size_t i = 0; roundings && i < *count; i++) {
    roundings[i] = 0;
  }
  for (;;) {
    fettle_status status = read_statement(&r);
    if (status != FETTLE_OK) {
      return status;
    }
    if (text[r.at] == '\0') {
      *count = r.count;
      return FETTLE_OK;
    }
    r.at++;
  }
}

/* --- values put in --- */

typedef struct writer {
  char *out;
  size_t capacity;
  size_t length; /* of the whole text, also of what did not fit */
} writer;

static void put(writer *w, const char *text, size_t length) {
  for (size_t i = 0; i < length; i++) {
    if (w->length + 1 < w->capacity) {
      w->out[w->length] = text[i];
    }
    w->length++;
  }
}

static char next_sign(const char *text) {
  while (*text == ' ' || *text == '\t' || *text == '\n' || *text == '\r') {
    text++;
  }
  return *text;
}

/* Brackets stand where a bare value would be read wrongly: a power of a unit, a unit after a
 * division, a quotient of units beside a product, a sign after an operator. */
static bool needs_brackets(const char *value, char before, char after) {
  const char *unit = strchr(value, ' ');
  bool factor = before == '*' || before == '/' || after == '*' || after == '/';
  if (after == '^' || before == '^') {
    return unit || value[0] == '-' || strchr(value, 'e');
  }
  if (value[0] == '-' && (before == '+' || before == '-' || before == '*' || before == '/')) {
    return true;
  }
  if (!unit) {
    return false;
  }
  return before == '/' || (factor && (strchr(unit, '/') || strchr(unit + 1, ' ')));
}

size_t fettle_expression_substitute(const char *text, const fettle_symbol *symbols, size_t count,
                                    fettle_habit habit, char *out, size_t capacity) {
  writer w = {.out = out, .capacity = capacity};
  char before = ';';
  size_t at = 0;
  while (text[at] != '\0') {
    size_t length = name_length(text + at);
    if (length == 0) {
      char c = text[at];
      if (is_digit(c) || c == '.') { /* a number is passed whole: its e is no symbol */
        while (is_digit(text[at + length]) || text[at + length] == '.' ||
               is_letter(text[at + length])) {
          length++;
        }
        before = '0';
      } else {
        length = 1;
        if (next_sign(text + at) == c) { /* no blank */
          before = c;
        }
      }
      put(&w, text + at, length);
      at += length;
      continue;
    }
    char after = next_sign(text + at + length);
    const fettle_symbol *symbol = NULL;
    bool assigned = before == ';' && after == '=';
    for (size_t i = 0; i < count && !assigned && after != '('; i++) {
      if (symbols[i].length == length && memcmp(symbols[i].name, text + at, length) == 0) {
        symbol = &symbols[i];
      }
    }
    if (symbol) {
      char value[96];
      fettle_quantity_format(&symbol->value, fettle_unit_choose(&symbol->value, habit),
                             FETTLE_SHOWN_DIGITS, value, sizeof value);
      bool brackets = needs_brackets(value, before, after);
      put(&w, "(", brackets ? 1 : 0);
      put(&w, value, strlen(value));
      put(&w, ")", brackets ? 1 : 0);
    } else {
      put(&w, text + at, length);
    }
    before = 'x';
    at += length;
  }
  if (capacity > 0) {
    out[w.length < capacity ? w.length : capacity - 1] = '\0';
  }
  return w.length;
}
