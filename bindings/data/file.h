/* data/file.h - whole files, in and out, with one clear line when it fails. */
#ifndef FETTLE_DATA_FILE_H
#define FETTLE_DATA_FILE_H

#include <stddef.h>

/* "PATH: what is wrong: how to mend it". */
typedef struct fettle_file_problem {
  int exit_status; /* sysexits: 65 too large or a folder, 66 missing, 71 no memory, 73, 74, 77 */
  char message[400];
} fettle_file_problem;

/* Reads the whole of `path`, at most `limit` bytes. `bytes` gets a block that the caller frees with
 * free(); a NUL stands after the last byte and is not counted. Returns 0, or a sysexits status with
 * `problem` filled and nothing to free. */
int fettle_file_read(const char *path, size_t limit, char **bytes, size_t *length,
                     fettle_file_problem *problem);
/* The same from an open descriptor, such as standard input; `name` is what messages call it. */
int fettle_file_read_open(int descriptor, const char *name, size_t limit, char **bytes,
                          size_t *length, fettle_file_problem *problem);

/* Writes `bytes` as the whole of `path`: into a new file beside it, which takes the name only when
 * every byte is on the disk, so that a failure leaves the old file as it was. A link is followed.
 * "-" is standard output; devices and pipes are written straight. Returns 0, or a sysexits status
 * (73 cannot create, 74 writing failed, 77 permission) with `problem` filled. */
int fettle_file_write(const char *path, const char *bytes, size_t length,
                      fettle_file_problem *problem);

#endif
