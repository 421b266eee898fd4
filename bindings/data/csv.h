/* data/csv.h - tables of comma-separated values, read by declared columns. */
#ifndef FETTLE_DATA_CSV_H
#define FETTLE_DATA_CSV_H

#include <stddef.h>

#include <lua.h>

/* Reads a table with a header row and pushes a list of rows {column name = typed value}.
 *
 * The list at `columns_index` declares the columns that are wanted, in any order:
 *   {name = "temperature", unit = "degF", role = "point"}   -- quantity; role also "difference"
 *   {name = "count", whole = true}                          -- whole number
 *   {name = "share"}                                        -- plain number; `unit = "1"` is the
 * same {name = "lot", text = true} {name = "side", choices = {"port", "starboard"}}        -- one
 * of these texts any of them with optional = true                        -- empty cells and no
 * column: nil A quantity's cell may state its unit ("64 degF"); else the header must: "temperature
 * (degF)" or "temperature [degF]". The unit declared is the one that the quantity prefers, and
 * fixes the dimension. Fields `name`, `optional`, `file` of `columns` itself mean nothing here;
 * `strict = true` refuses columns that are not declared.
 *
 * Quoting is RFC 4180's; CRLF and LF line ends and a UTF-8 byte order mark are accepted; empty
 * lines are skipped. At most 16 MiB and 256 columns. Returns 0, or 65 with one line of text pushed
 * instead: "FILE:LINE:COLUMN: temperature: what is wrong: how to mend it" (COLUMN is the character
 * of the line), 70 with a text for a declaration that does not follow the form above. */
int fettle_csv_read(lua_State *L, const char *name, const char *bytes, size_t length,
                    int columns_index);

#endif
