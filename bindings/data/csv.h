/* data/csv.h - tables of comma-separated values, read by declared columns. */
#ifndef FETTLE_DATA_CSV_H
#define FETTLE_DATA_CSV_H

#include <stddef.h>

#include <lua.h>

/* Reads a table with a header row and pushes a list of rows {column name = typed value}.
 *
 * The list at `columns_index` declares the columns that are wanted, in any order:
 *   {name = "temperature", unit = "degF"}        -- quantity; role = "point" or "difference"
 *   {name = "count", whole = true}               -- whole number
 *   {name = "share"}                             -- plain number; unit = "1" is the same
 *   {name = "lot", text = true}
 *   {name = "side", choices = {"port", "starboard"}}
 *   any of them with optional = true             -- empty cells and no such column: nil
 * `strict = true` in the list refuses columns that are not declared; else they are skipped.
 *
 * A quantity's cell may state its unit ("64 degF"); else the heading must: "temperature (degF)" or
 * "temperature [degF]". The declared unit fixes the dimension and is the one that the quantity
 * prefers. With degF or degC as unit a point of temperature is meant unless the role says
 * otherwise.
 *
 * Quoting is RFC 4180's; CRLF and LF line ends and a UTF-8 byte order mark are accepted; empty
 * lines and blanks around cells are skipped. At most 16 MiB, 256 columns, 4096 bytes in a cell.
 * Returns 0, or a sysexits status with one line of text pushed instead: 65 for faults of the file,
 * "FILE:LINE:COLUMN: temperature: what is wrong: how to mend it" (COLUMN counts the characters of
 * the line), 65 too for a declaration that does not follow the form above, 71 without memory. */
int fettle_csv_read(lua_State *L, const char *name, const char *bytes, size_t length,
                    int columns_index);

#endif
