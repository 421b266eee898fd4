/* Whole files in and out: faults of the file system give one line and leave nothing half-written.
 */
#define _XOPEN_SOURCE 700
#include <dirent.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "data/file.h"
#include "support/near.h"

static char folder[] = "/tmp/fettle-file-XXXXXX";
static char path[128];

static const char *in_folder(const char *name) {
  snprintf(path, sizeof path, "%s/%s", folder, name);
  return path;
}

static size_t files_in_folder(void) {
  size_t count = 0;
  DIR *entries = opendir(folder);
  assert_non_null(entries);
  while (readdir(entries)) {
    count++;
  }
  closedir(entries);
  return count - 2;
}

static void assert_content(const char *file, const char *want) {
  char *bytes;
  size_t length;
  fettle_file_problem problem = {0};
  assert_int_equal(fettle_file_read(file, 1000, &bytes, &length, &problem), 0);
  assert_int_equal(length, strlen(want));
  assert_string_equal(bytes, want);
  free(bytes);
}

static void writes_and_reads(void **state) {
  (void)state;
  fettle_file_problem problem = {0};
  assert_int_equal(fettle_file_write(in_folder("a"), "one\n", 4, &problem), 0);
  assert_content(path, "one\n");
  assert_int_equal(chmod(path, 0640), 0);
  assert_int_equal(fettle_file_write(path, "", 0, &problem), 0);
  assert_content(path, "");
  struct stat about;
  assert_int_equal(stat(path, &about), 0);
  assert_int_equal(about.st_mode & 07777, 0640);
  char link_path[128];
  snprintf(link_path, sizeof link_path, "%s/link", folder);
  assert_int_equal(symlink("a", link_path), 0);
  assert_int_equal(fettle_file_write(link_path, "two", 3, &problem), 0);
  assert_content(in_folder("a"), "two");
  assert_int_equal(lstat(link_path, &about), 0);
  assert_true(S_ISLNK(about.st_mode));
  assert_int_equal(files_in_folder(), 2);
  unlink(link_path);
  unlink(in_folder("a"));
}

static int read_status(const char *file, size_t limit, const char *reason) {
  char *bytes;
  size_t length;
  fettle_file_problem problem = {0};
  int status = fettle_file_read(file, limit, &bytes, &length, &problem);
  assert_int_not_equal(status, 0);
  assert_int_equal(status, problem.exit_status);
  assert_non_null(strstr(problem.message, reason));
  assert_null(strchr(problem.message, '\n'));
  return status;
}

static void reading_faults(void **state) {
  (void)state;
  assert_int_equal(read_status("/no/such/file", 10, "no such file"), 66);
  assert_int_equal(read_status("/etc/passwd/x", 10, "not a folder"), 66);
  assert_int_equal(read_status(folder, 10, "is a folder"), 65);
  assert_int_equal(read_status("/dev/zero", 100000, "larger than the 100000 bytes"), 65);
  assert_int_equal(read_status("/proc/self/mem", 100, "error"), 74);
  if (geteuid() != 0) {
    assert_int_equal(read_status("/etc/shadow", 100000, "may not be read"), 77);
  }
}

static void limits_are_exact(void **state) {
  (void)state;
  fettle_file_problem problem = {0};
  char *bytes;
  size_t length;
  assert_int_equal(fettle_file_write(in_folder("b"), "12345", 5, &problem), 0);
  assert_int_equal(fettle_file_read(path, 5, &bytes, &length, &problem), 0);
  free(bytes);
  assert_int_equal(read_status(path, 4, "larger than the 4 bytes"), 65);
  unlink(path);
}

static void reads_pipes(void **state) {
  (void)state;
  int ends[2];
  char *bytes;
  size_t length;
  fettle_file_problem problem = {0};
  assert_int_equal(pipe(ends), 0);
  assert_int_equal(write(ends[1], "abc", 3), 3);
  close(ends[1]);
  assert_int_equal(fettle_file_read_open(ends[0], "standard input", 10, &bytes, &length, &problem),
                   0);
  close(ends[0]);
  assert_string_equal(bytes, "abc");
  free(bytes);
}

static int write_status(const char *file, size_t length, const char *reason) {
  fettle_file_problem problem = {0};
  char *bytes = calloc(1, length + 1);
  assert_non_null(bytes);
  memset(bytes, 'x', length);
  int status = fettle_file_write(file, bytes, length, &problem);
  free(bytes);
  assert_int_not_equal(status, 0);
  assert_int_equal(status, problem.exit_status);
  assert_non_null(strstr(problem.message, reason));
  return status;
}

static void writing_faults(void **state) {
  (void)state;
  assert_int_equal(write_status("/dev/full", 5, "no space left"), 74);
  assert_int_equal(write_status("/etc/passwd/x", 5, "not a folder"), 73);
  assert_int_equal(write_status(in_folder("none/x"), 5, "does not exist"), 73);
  assert_int_equal(write_status(folder, 5, "is a folder"), 73);
  assert_int_equal(write_status("", 5, "no file name"), 73);
  fettle_file_problem problem = {0};
  assert_int_equal(fettle_file_write("/dev/null", "x", 1, &problem), 0);
}

/* A limit on the size of files stands for a full disk: it stops the superuser too. */
static void full_disk_keeps_the_old_file(void **state) {
  (void)state;
  fettle_file_problem problem = {0};
  assert_int_equal(fettle_file_write(in_folder("c"), "old", 3, &problem), 0);
  struct rlimit before, small;
  assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
  small = before;
  small.rlim_cur = 4096;
  signal(SIGXFSZ, SIG_IGN);
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
  int status = write_status(path, 100000, "larger than a file may be");
  setrlimit(RLIMIT_FSIZE, &before);
  assert_int_equal(status, 74);
  assert_content(path, "old");
  assert_int_equal(files_in_folder(), 1);
  unlink(path);
}

static void closed_pipe_is_an_error(void **state) {
  (void)state;
  int ends[2];
  char name[40];
  assert_int_equal(pipe(ends), 0);
  close(ends[0]);
  signal(SIGPIPE, SIG_IGN);
  snprintf(name, sizeof name, "/dev/fd/%d", ends[1]);
  assert_int_equal(write_status(name, 10, "the reader has gone away"), 74);
  close(ends[1]);
}

int main(void) {
  if (!mkdtemp(folder)) {
    return 1;
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(writes_and_reads),        cmocka_unit_test(reading_faults),
      cmocka_unit_test(limits_are_exact),        cmocka_unit_test(reads_pipes),
      cmocka_unit_test(writing_faults),          cmocka_unit_test(full_disk_keeps_the_old_file),
      cmocka_unit_test(closed_pipe_is_an_error),
  };
  int failed = cmocka_run_group_tests(tests, NULL, NULL);
  rmdir(folder);
  return failed;
}
