/* nc/line.c - bytes into lines, in constant memory. LF, CR LF and CR alone end a line. */
#include <string.h>

#include "nc/internal.h"

enum { HEAD = 4096, CONTROL_SHARE = 20 }; /* more than one control byte in twenty is no text */

static bool fill(nc_reader *r) {
  if (r->at > 0) {
    memmove(r->buffer, r->buffer + r->at, r->filled - r->at);
    r->base += r->at;
    r->filled -= r->at;
    r->at = 0;
  }
  while (!r->at_end && r->filled < NC_BUFFER) {
    const size_t room = NC_BUFFER - r->filled;
    const size_t got = r->host->read(r->host->context, r->buffer + r->filled, room);
    if (got > room) { /* the host's word for failure */
      r->status = fettle_fail(r->diagnostic, FETTLE_ERROR_TEXT, "read",
                              "the program could not be read to its end");
      return false;
    }
    r->at_end = got == 0;
    r->filled += got;
    if (got > 0 && r->base + r->filled >= HEAD) {
      break;
    }
  }
  return true;
}

static bool looks_like_text(nc_reader *r) {
  const size_t head = r->filled < HEAD ? r->filled : HEAD;
  size_t control = 0;
  for (size_t i = 0; i < head; i++) {
    const unsigned char byte = (unsigned char)r->buffer[i];
    control += (byte < 0x20 && !(byte >= 0x09 && byte <= 0x0D) && byte != 0x1A) || byte == 0x7F;
  }
  if (control * CONTROL_SHARE > head) {
    r->status = fettle_fail(r->diagnostic, FETTLE_ERROR_TEXT, "text",
                            "this is not a text file: %zu of its first %zu bytes are control "
                            "characters; give the program itself, unpacked, one byte a character",
                            control, head);
    return false;
  }
  if (r->filled >= 3 && memcmp(r->buffer, "\xEF\xBB\xBF", 3) == 0) {
    r->at = 3;
    nc_find(r, FETTLE_NC_BYTE_ORDER_MARK, 1,
            "a byte order mark stands before the program: "
            "controls may refuse it; save the file without it");
  }
  return true;
}

/* Leaves out the rest of a line that does not fit, without keeping it. */
static bool skip_line(nc_reader *r) {
  for (;;) {
    while (r->at < r->filled) {
      if (r->buffer[r->at] == '\n' || r->buffer[r->at] == '\r') {
        return true;
      }
      r->at++;
    }
    if (r->at_end) {
      return true;
    }
    if (!fill(r) || !nc_poll(r)) {
      return false;
    }
  }
}

bool nc_next_line(nc_reader *r) {
  if (r->base == 0 && r->filled == 0 && !r->at_end && (!fill(r) || !looks_like_text(r))) {
    return false;
  }
  size_t end = r->at;
  r->line_cut = false;
  for (;;) {
    while (end < r->filled && r->buffer[end] != '\n' && r->buffer[end] != '\r') {
      end++;
    }
    /* a CR at the end of the buffer may be half of a line end */
    if ((end < r->filled && (r->buffer[end] == '\n' || end + 1 < r->filled)) || r->at_end) {
      break;
    }
    if (end - r->at >= FETTLE_NC_LINE_MOST) {
      r->line_cut = true;
      break;
    }
    const size_t length = end - r->at;
    if (!fill(r)) {
      return false;
    }
    end = length;
  }
  if (end == r->at && end == r->filled && r->at_end) {
    return false;
  }
  r->line++;
  r->text = r->buffer + r->at;
  r->length = end - r->at;
  if (r->line_cut || r->length >= FETTLE_NC_LINE_MOST) {
    r->line_cut = true;
    r->at = end;
    if (!skip_line(r)) {
      return false;
    }
    if (r->at == r->filled && !r->at_end && !fill(r)) {
      return false;
    }
    /* the text was overwritten by what followed */
    r->text = r->buffer;
    r->length = 0;
    end = r->at;
  }
  if (end < r->filled) {
    end += r->buffer[end] == '\r' && end + 1 < r->filled && r->buffer[end + 1] == '\n' ? 2 : 1;
  }
  r->at = end;
  return true;
}

uint64_t nc_offset(const nc_reader *r) {
  return r->base + r->at;
}

bool nc_go_to(nc_reader *r, uint64_t offset, uint64_t line) {
  if (!r->request->seek || !r->request->seek(r->request->context, offset)) {
    return false;
  }
  r->base = offset;
  r->at = r->filled = 0;
  r->at_end = false;
  r->line = line;
  return fill(r);
}

static long label_of(const nc_reader *r) {
  size_t at = 0;
  while (at < r->length && (r->text[at] == ' ' || r->text[at] == '\t')) {
    at++;
  }
  if (at + 1 >= r->length || (r->text[at] != 'O' && r->text[at] != 'o')) {
    return -1;
  }
  long number = -1;
  for (at++; at < r->length && r->text[at] >= '0' && r->text[at] <= '9' && number < 100000000;
       at++) {
    number = (number < 0 ? 0 : number * 10) + (r->text[at] - '0');
  }
  return number;
}

bool nc_find_label(nc_reader *r, long number, nc_label *label) {
  for (unsigned i = 0; i < r->label_count; i++) {
    if (r->labels[i].number == number) {
      *label = r->labels[i];
      return true;
    }
  }
  const uint64_t back = nc_offset(r), back_line = r->line;
  bool found = false;
  if (!nc_go_to(r, 0, 0)) {
    return false;
  }
  for (;;) {
    const uint64_t offset = nc_offset(r);
    if (!nc_next_line(r)) {
      break;
    }
    if (++r->blocks % NC_POLL_EVERY == 0 && !nc_poll(r)) {
      return false;
    }
    if (label_of(r) == number) {
      *label = (nc_label){number, offset, r->line - 1};
      if (r->label_count < NC_LABELS_MOST) {
        r->labels[r->label_count++] = *label;
      }
      found = true;
      break;
    }
  }
  return r->status == FETTLE_OK && nc_go_to(r, back, back_line) && found;
}
