/* nc/words.c - one line into words: numbers, parameters, expressions, comments, settings.
 * Grammar: NISTIR 6556, appendix E. Blanks mean nothing outside comments; case means nothing. */
#include <math.h>
#include <string.h>

#include "fettle/quantity.h"
#include "nc/internal.h"

enum { NUMBER_MOST = 402, END = -1 };

typedef struct scan {
  nc_reader *r;
  size_t at;
  size_t end;
  unsigned depth;
  bool whole; /* the last value was a plain number without a point */
} scan;

static int peek(scan *s) {
  const char *text = s->r->text;
  while (s->at < s->end && (text[s->at] == ' ' || text[s->at] == '\t')) {
    s->at++;
  }
  if (s->at >= s->end) {
    return END;
  }
  const unsigned char byte = (unsigned char)text[s->at];
  return byte >= 'A' && byte <= 'Z' ? byte + ('a' - 'A') : byte;
}

static int next(scan *s) {
  const int c = peek(s);
  s->at += c != END;
  return c;
}

/* Takes a name whose letters may be apart; leaves the place when it is not there. */
static bool take(scan *s, const char *name) {
  const size_t start = s->at;
  for (; *name; name++) {
    if (next(s) != *name) {
      s->at = start;
      return false;
    }
  }
  return true;
}

/* The text from `from` on, a few bytes, printable only. */
static const char *quote(const scan *s, size_t from, char out[16]) {
  size_t used = 0;
  for (size_t at = from; at < s->end && used < 12; at++) {
    const unsigned char byte = (unsigned char)s->r->text[at];
    out[used++] = byte >= 0x20 && byte < 0x7F ? (char)byte : '?';
  }
  out[used] = '\0';
  return out;
}

static bool unreadable(scan *s, const char *due) {
  char found[16];
  peek(s);
  if (s->at >= s->end) {
    return nc_find(s->r, FETTLE_NC_UNREADABLE_WORD, s->at + 1, "the line ends where %s is due",
                   due);
  }
  return nc_find(s->r, FETTLE_NC_UNREADABLE_WORD, s->at + 1, "'%s' stands where %s is due",
                 quote(s, s->at, found), due);
}

static bool out_of_range(scan *s, size_t at, const char *why) {
  return nc_find(s->r, FETTLE_NC_VALUE_RANGE, at + 1, "%s", why);
}

static bool read_number(scan *s, double *value) {
  char digits[NUMBER_MOST + 1];
  size_t count = 0, figures = 0;
  bool point = false, blank = false;
  const size_t start = s->at;
  int c = peek(s);
  if (c == '+' || c == '-') {
    digits[count++] = (char)c;
    s->at++;
  }
  for (;;) {
    const size_t before = s->at;
    c = peek(s);
    if (!((c >= '0' && c <= '9') || (c == '.' && !point))) {
      break;
    }
    blank = blank || (before != s->at && figures > 0);
    figures += c != '.';
    point = point || c == '.';
    if (count >= NUMBER_MOST) {
      return out_of_range(s, start, "a number of more than 400 digits is not read");
    }
    digits[count++] = (char)c;
    s->at++;
  }
  if (figures == 0) {
    return unreadable(s, "a digit");
  }
  if (fettle_number_parse(digits, count, value, NULL) != FETTLE_OK) {
    return out_of_range(s, start, "the number is too large or too small to be held");
  }
  if (blank) {
    nc_find(s->r, FETTLE_NC_BLANK_IN_NUMBER, start + 1,
            "a number is written with blanks inside: it is read as %s", nc_show(*value).text);
  }
  s->whole = !point;
  return true;
}

static bool read_value(scan *s, double *value);

/* a ** b, as pow, where that is a number. */
static bool raise(scan *s, size_t at, double a, double b, double *value) {
  *value = pow(a, b);
  return isfinite(*value) ||
         out_of_range(s, at,
                      "this power has no value: a negative number to a broken power, a zero "
                      "to a negative one, or too large");
}

static bool read_power(scan *s, double *value) {
  if (!read_value(s, value)) {
    return false;
  }
  for (;;) {
    const size_t start = s->at;
    double right = 0.0;
    if (!take(s, "**")) {
      return true;
    }
    if (!read_value(s, &right) || !raise(s, start, *value, right, value)) {
      return false;
    }
  }
}

static bool read_product(scan *s, double *value) {
  if (!read_power(s, value)) {
    return false;
  }
  for (;;) {
    const int c = peek(s);
    const size_t start = s->at;
    double right = 0.0;
    if (c == '*' || c == '/') {
      s->at++;
    } else if (!take(s, "mod")) {
      return true;
    }
    if (!read_power(s, &right)) {
      return false;
    }
    if (c == '*') {
      *value *= right;
    } else if (right == 0.0) {
      return out_of_range(s, start, "division by zero");
    } else if (c == '/') {
      *value /= right;
    } else {
      /* never negative, whatever the signs */
      const double rest = fmod(*value, right);
      *value = rest < 0.0 ? rest + fabs(right) : rest;
    }
    if (!isfinite(*value)) {
      return out_of_range(s, start, "the product or quotient is too large");
    }
  }
}

static bool read_sum(scan *s, double *value) {
  if (!read_product(s, value)) {
    return false;
  }
  for (;;) {
    const int c = peek(s);
    const size_t start = s->at;
    double right = 0.0;
    if (c == '+' || c == '-') {
      s->at++;
    } else if (!(c == 'o' && take(s, "or")) && !(c == 'x' && take(s, "xor")) &&
               !(c == 'a' && take(s, "and"))) {
      return true;
    }
    if (!read_product(s, &right)) {
      return false;
    }
    const bool a = *value != 0.0, b = right != 0.0;
    *value = c == '+'   ? *value + right
             : c == '-' ? *value - right
             : c == 'o' ? (double)(a || b)
             : c == 'x' ? (double)(a != b)
                        : (double)(a && b);
    if (!isfinite(*value)) {
      return out_of_range(s, start, "the sum is too large");
    }
  }
}

/* After the opening bracket. */
static bool read_bracket(scan *s, size_t opened, double *value) {
  char found[16];
  if (!read_sum(s, value)) {
    return false;
  }
  if (next(s) != ']') {
    return nc_find(s->r, FETTLE_NC_BAD_EXPRESSION, opened + 1,
                   "'%s': the bracket is not closed, or an unknown operation stands in it",
                   quote(s, opened, found));
  }
  s->whole = false;
  return true;
}

static bool read_function(scan *s, double *value) {
  static const char *const names[] = {"abs", "acos", "asin",  "atan", "cos",  "exp", "fix",
                                      "fup", "ln",   "round", "sin",  "sqrt", "tan"};
  enum { ABS, ACOS, ASIN, ATAN, COS, EXP, FIX, FUP, LN, ROUND, SIN, SQRT, TAN, COUNT };
  const double degree = NC_PI / 180.0;
  const size_t start = s->at;
  char found[16];
  int which = 0;
  while (which < COUNT && !take(s, names[which])) {
    which++;
  }
  double a = 0.0, b = 0.0;
  if (which == COUNT || next(s) != '[') {
    return nc_find(s->r, FETTLE_NC_BAD_EXPRESSION, start + 1,
                   "'%s': no such function, or no bracket behind it", quote(s, start, found));
  }
  if (!read_bracket(s, start, &a)) {
    return false;
  }
  switch (which) {
  case ABS:
    *value = fabs(a);
    break;
  case ACOS:
  case ASIN:
    if (fabs(a) > 1.0) {
      return out_of_range(s, start, "arc sine and arc cosine take -1 to 1");
    }
    *value = (which == ACOS ? acos(a) : asin(a)) / degree;
    break;
  case ATAN:
    if (next(s) != '/' || next(s) != '[') {
      return nc_find(s->r, FETTLE_NC_BAD_EXPRESSION, start + 1,
                     "'%s': atan takes two brackets, atan[y]/[x]", quote(s, start, found));
    }
    if (!read_bracket(s, start, &b)) {
      return false;
    }
    *value = atan2(a, b) / degree;
    break;
  case COS:
    *value = cos(a * degree);
    break;
  case EXP:
    *value = exp(a);
    break;
  case FIX:
    *value = floor(a);
    break;
  case FUP:
    *value = ceil(a);
    break;
  case LN:
    if (a <= 0.0) {
      return out_of_range(s, start, "a logarithm takes numbers above 0");
    }
    *value = log(a);
    break;
  case ROUND:
    *value = round(a);
    break;
  case SIN:
    *value = sin(a * degree);
    break;
  case SQRT:
    if (a < 0.0) {
      return out_of_range(s, start, "a root takes numbers from 0");
    }
    *value = sqrt(a);
    break;
  default:
    *value = tan(a * degree);
    break;
  }
  return isfinite(*value) || out_of_range(s, start, "the function's value is too large");
}

/* Whole number within 0.0001, as the report allows. */
static bool whole_number(double value, double slack, double low, double high, long *out) {
  const double near = round(value);
  if (!(fabs(value - near) <= slack) || near < low || near > high) {
    return false;
  }
  *out = (long)near;
  return true;
}

static bool read_index(scan *s, unsigned *index) {
  const size_t start = s->at;
  double value = 0.0;
  long whole = 0;
  if (!read_value(s, &value)) {
    return false;
  }
  if (!whole_number(value, 1e-4, 1, NC_PARAMETERS - 1, &whole)) {
    return nc_find(s->r, FETTLE_NC_VALUE_RANGE, start + 1,
                   "parameter number %s: must be a whole number from 1 to %d", nc_show(value).text,
                   NC_PARAMETERS - 1);
  }
  *index = (unsigned)whole;
  return true;
}

static bool read_value_inside(scan *s, double *value) {
  const int c = peek(s);
  const size_t start = s->at;
  unsigned index = 0;
  *value = 0.0;
  s->whole = false;
  if ((c >= '0' && c <= '9') || c == '.') {
    return read_number(s, value);
  }
  if (c == '+' || c == '-') {
    s->at++;
    const int after = peek(s);
    if (s->r->profile.signed_values && (after == '#' || after == '[')) {
      if (!read_value(s, value)) {
        return false;
      }
      *value = c == '-' ? -*value : *value;
      return true;
    }
    s->at = start;
    return read_number(s, value);
  }
  if (c == '[') {
    s->at++;
    return read_bracket(s, start, value);
  }
  if (c == '#') {
    s->at++;
    if (!read_index(s, &index)) {
      return false;
    }
    *value = s->r->parameters[index];
    s->whole = false;
    return true;
  }
  if (c >= 'a' && c <= 'z') {
    return read_function(s, value);
  }
  return unreadable(s, "a value");
}

static bool read_value(scan *s, double *value) {
  if (s->depth >= NC_DEPTH_MOST) {
    return nc_find(s->r, FETTLE_NC_BAD_EXPRESSION, s->at + 1,
                   "brackets, functions or # inside each other more than %d deep", NC_DEPTH_MOST);
  }
  s->depth++;
  const bool read = read_value_inside(s, value);
  s->depth--;
  return read;
}

/* --- words --- */

static bool read_comment(scan *s) {
  nc_block *b = &s->r->block;
  const char *text = s->r->text;
  const size_t start = s->at; /* at the bracket */
  size_t at = start + 1;
  while (at < s->end && text[at] != ')') {
    if (text[at] == '(') {
      return nc_find(s->r, FETTLE_NC_BAD_COMMENT, at + 1,
                     "a comment may not hold another: close the first or write [ ]");
    }
    at++;
  }
  if (at == s->end) {
    return nc_find(s->r, FETTLE_NC_BAD_COMMENT, start + 1, "the comment is not closed");
  }
  b->comment = true;
  b->comment_at = start + 1;
  b->comment_length = at - start - 1;
  scan inside = {.r = s->r, .at = start + 1, .end = at};
  b->message = take(&inside, "msg,");
  if (b->message) {
    b->comment_at = inside.at;
    b->comment_length = at - inside.at;
  }
  s->at = at + 1;
  return true;
}

static bool read_setting(scan *s) {
  nc_block *b = &s->r->block;
  const size_t start = s->at;
  s->at++;
  if (s->at < s->end && s->r->text[s->at] == '<') {
    return nc_find(s->r, FETTLE_NC_UNREADABLE_WORD, start + 1,
                   "a parameter with a name is not read: use a number");
  }
  if (b->setting_count == NC_SETTINGS_MOST) {
    return nc_find(s->r, FETTLE_NC_UNREADABLE_WORD, start + 1,
                   "more than %d settings on one line: put some on the next", NC_SETTINGS_MOST);
  }
  if (!read_index(s, &b->setting_index[b->setting_count])) {
    return false;
  }
  if (peek(s) != '=') {
    return unreadable(s, "= after a parameter");
  }
  s->at++;
  if (!read_value(s, &b->setting_value[b->setting_count])) {
    return false;
  }
  b->setting_count++;
  return true;
}

static int group_of(int code) {
  switch (code) {
  case 40:
  case 100:
  case 280:
  case 300:
  case 530:
  case 920:
  case 921:
  case 922:
  case 923:
    return NC_GROUP_NONE;
  case 0:
  case 10:
  case 20:
  case 30:
  case 382:
  case 730:
  case 800:
  case 810:
  case 820:
  case 830:
  case 840:
  case 850:
  case 860:
  case 870:
  case 880:
  case 890:
    return NC_GROUP_MOTION;
  case 170:
  case 180:
  case 190:
    return NC_GROUP_PLANE;
  case 900:
  case 910:
    return NC_GROUP_DISTANCE;
  case 930:
  case 940:
    return NC_GROUP_FEED;
  case 200:
  case 210:
  case 700:
  case 710:
    return NC_GROUP_UNITS;
  case 400:
  case 410:
  case 420:
    return NC_GROUP_COMPENSATION;
  case 430:
  case 490:
    return NC_GROUP_LENGTH;
  case 980:
  case 990:
    return NC_GROUP_RETURN;
  case 540:
  case 550:
  case 560:
  case 570:
  case 580:
  case 590:
  case 591:
  case 592:
  case 593:
    return NC_GROUP_SYSTEM;
  case 610:
  case 611:
  case 640:
    return NC_GROUP_PATH;
  default:
    return -1;
  }
}

/* A code that is not of the language: passed over when the profile knows it to be harmless, else
 * reported, each code once; the line's words then mean nothing that can be relied on. */
static bool other_code(scan *s, size_t start, char letter, int code) {
  nc_reader *r = s->r;
  for (size_t i = 0; i < r->profile.code_count; i++) {
    const fettle_nc_code *known = &r->profile.codes[i];
    if (known->letter == letter && lround(known->code * 10.0) == code) {
      for (const char *p = known->letters; *p; p++) {
        r->block.profile_letters |= NC_BIT(*p);
      }
      return true;
    }
  }
  /* from memory: polar coordinates, scale, local shift, rotation move program zero until cancelled;
   * their cancelling alone changes nothing */
  const bool clears = letter == 'G' && (code == 150 || code == 500 || code == 690);
  if (r->profile.go_on && clears) {
    r->block.frame_clear = true;
    return true;
  }
  r->block.frame_doubt =
      letter == 'G' && (code == 160 || code == 510 || code == 520 || code == 541 || code == 680);
  r->block.doubtful = true;
  const int key = (letter == 'G' ? 0 : 100000) + code;
  bool known = false;
  for (unsigned i = 0; i < r->unknown_code_count; i++) {
    known = known || r->unknown_codes[i] == key;
  }
  if (known) {
    r->failed = true;
    r->summary->findings[FETTLE_NC_UNKNOWN_CODE]++;
    r->summary->errors++;
    return r->profile.go_on;
  }
  if (r->unknown_code_count < NC_UNKNOWN_CODES_MOST) {
    r->unknown_codes[r->unknown_code_count++] = key;
  }
  nc_find(r, FETTLE_NC_UNKNOWN_CODE, start + 1,
          "%c%s is not in the language '%.40s': the line is not carried out; state in the profile "
          "what it does",
          letter, nc_show(code / 10.0).text, r->profile.name);
  return r->profile.go_on;
}

static bool add_g(scan *s, size_t start, double value) {
  nc_block *b = &s->r->block;
  const fettle_nc_profile *p = &s->r->profile;
  long code = 0;
  /* ten times the value may miss a whole number by 0.001 */
  if (!whole_number(value * 10.0, 1e-3, -1e6, 1e6, &code)) {
    return nc_find(s->r, FETTLE_NC_UNKNOWN_CODE, start + 1, "G%s is no code", nc_show(value).text);
  }
  if (code < 0) {
    return nc_find(s->r, FETTLE_NC_VALUE_RANGE, start + 1, "G%s: a code may not be negative",
                   nc_show(value).text);
  }
  const int group = group_of((int)code);
  if (group < 0 || (code == 730 && !p->cycle_73) || ((code == 700 || code == 710) && !p->inch_70)) {
    return other_code(s, start, 'G', (int)code);
  }
  if (b->g[group] >= 0 && b->g[group] != code) {
    if (group == NC_GROUP_MOTION && p->modal_without_axes && (code == 800 || b->g[group] == 800)) {
      b->cancel_cycle = true;
      b->g[group] = code == 800 ? b->g[group] : (int)code;
      return true;
    }
    return nc_find(s->r, FETTLE_NC_CODES_CLASH, start + 1,
                   "G%s and G%s are of one group: only one may stand on a line",
                   nc_show(b->g[group] / 10.0).text, nc_show((double)code / 10.0).text);
  }
  b->g[group] = (int)code;
  b->g_column[group] = (uint32_t)start + 1;
  return true;
}

static bool same_m_group(int a, int b) {
  static const int groups[][5] = {{0, 1, 2, 30, 60},  {3, 4, 5, -1, -1},    {8, 9, -1, -1, -1},
                                  {7, 9, -1, -1, -1}, {48, 49, -1, -1, -1}, {98, 99, -1, -1, -1}};
  for (size_t i = 0; i < sizeof groups / sizeof groups[0]; i++) {
    bool in_a = false, in_b = false;
    for (size_t j = 0; j < 5; j++) {
      in_a = in_a || groups[i][j] == a;
      in_b = in_b || groups[i][j] == b;
    }
    if (in_a && in_b) {
      return true;
    }
  }
  return false;
}

static bool add_m(scan *s, size_t start, double value) {
  static const int known[] = {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 30, 48, 49, 60};
  nc_block *b = &s->r->block;
  long code = 0;
  if (!whole_number(value, 1e-4, 0, 1e5, &code)) {
    return nc_find(s->r, FETTLE_NC_VALUE_RANGE, start + 1, "M%s: must be a whole number from 0",
                   nc_show(value).text);
  }
  bool found = s->r->profile.subprograms && (code == 98 || code == 99);
  found = found || (code > 0 && code == s->r->profile.rigid_tapping);
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
    found = found || known[i] == code;
  }
  if (!found) {
    return other_code(s, start, 'M', (int)code * 10);
  }
  for (unsigned i = 0; i < b->m_count; i++) {
    if (b->m[i] != code && same_m_group(b->m[i], (int)code)) {
      return nc_find(s->r, FETTLE_NC_CODES_CLASH, start + 1,
                     "M%d and M%ld are of one group: only one may stand on a line", b->m[i], code);
    }
  }
  if (b->m_count == NC_M_MOST) {
    return nc_find(s->r, FETTLE_NC_CODES_CLASH, start + 1, "more than %d M words on one line",
                   NC_M_MOST);
  }
  b->m[b->m_count++] = (int)code;
  return true;
}

static bool read_word(scan *s) {
  nc_block *b = &s->r->block;
  const int letter = next(s);
  const size_t start = s->at - 1;
  double value = 0.0;
  if (letter == END || !strchr("abcdfghijklmpqrstxyz", letter) || letter == 0) {
    s->at = start;
    char found[16];
    return nc_find(s->r, FETTLE_NC_UNREADABLE_WORD, start + 1,
                   "'%s': no word of the language '%.40s' starts so", quote(s, start, found),
                   s->r->profile.name);
  }
  if (!read_value(s, &value)) {
    return false;
  }
  if (letter == 'g') {
    return add_g(s, start, value);
  }
  if (letter == 'm') {
    return add_m(s, start, value);
  }
  const uint32_t bit = NC_BIT(letter);
  if (b->has & bit) {
    return nc_find(s->r, FETTLE_NC_CODES_CLASH, start + 1, "the word %c stands twice on the line",
                   letter - 'a' + 'A');
  }
  b->has |= bit;
  b->whole |= s->whole ? bit : 0;
  b->value[letter - 'a'] = value;
  b->column[letter - 'a'] = (uint32_t)start + 1;
  return true;
}

static bool read_line_number(scan *s) {
  unsigned digits = 0;
  long number = 0;
  const size_t start = s->at;
  s->at++;
  for (int c = peek(s); c >= '0' && c <= '9'; c = peek(s)) {
    if (++digits > s->r->profile.number_digits) {
      return nc_find(s->r, FETTLE_NC_UNREADABLE_WORD, start + 1,
                     "a line number has at most %u digits", s->r->profile.number_digits);
    }
    number = number * 10 + (c - '0');
    s->at++;
  }
  if (digits == 0 || peek(s) == '.') {
    return unreadable(s, "a whole line number");
  }
  s->r->block.number = number;
  return true;
}

static bool read_program_number(scan *s) {
  unsigned digits = 0;
  long number = 0;
  s->at++;
  for (int c = peek(s); c >= '0' && c <= '9' && digits < 9; c = peek(s)) {
    number = number * 10 + (c - '0');
    digits++;
    s->at++;
  }
  s->r->block.program = number;
  return digits > 0 || unreadable(s, "a program number");
}

/* IF, GOTO, WHILE, DO, END of macro languages. */
static bool is_jump(scan *s) {
  static const char *const words[] = {"if", "goto", "while", "do", "end", "then"};
  const size_t start = s->at;
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
    if (take(s, words[i])) {
      s->at = start;
      return true;
    }
  }
  return false;
}

bool nc_read_block(nc_reader *r) {
  nc_block *b = &r->block;
  b->has = b->whole = b->profile_letters = 0;
  memset(b->g, -1, sizeof b->g);
  b->m_count = b->setting_count = 0;
  b->number = b->program = -1;
  b->cancel_cycle = b->comment = b->message = false;
  b->frame_doubt = b->frame_clear = b->doubtful = false;
  scan s = {.r = r, .end = r->length};
  if (peek(&s) == '/') {
    s.at++;
    if (r->setup.block_delete) {
      return false;
    }
  }
  if (peek(&s) == 'n' && !read_line_number(&s)) {
    return false;
  }
  if (r->profile.program_numbers && peek(&s) == 'o' && !read_program_number(&s)) {
    return false;
  }
  for (int c = peek(&s); c != END; c = peek(&s)) {
    if (c == ';' && r->profile.semicolon) {
      b->comment = true;
      b->message = false;
      b->comment_at = s.at + 1;
      b->comment_length = s.end - s.at - 1;
      break;
    }
    if (r->profile.go_on &&
        (c == 'i' || c == 'g' || c == 'w' || c == 'd' || c == 'e' || c == 't') && is_jump(&s)) {
      b->doubtful = true;
      return nc_find(r, FETTLE_NC_NOT_FOLLOWED, s.at + 1,
                     "jumps and conditions of a macro language are not followed");
    }
    if (c == '(' ? !read_comment(&s) : c == '#' ? !read_setting(&s) : !read_word(&s)) {
      return false;
    }
  }
  return true;
}
