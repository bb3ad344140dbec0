/* SPDX-License-Identifier: MIT */
/*
 * Configuration files that are not there, are no files, may not be read, are too long or are wrong
 * within: each is refused with its own name.
 */
#include <check.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/config/config.h"
#include "tests/suite.h"
#include "tests/unit/config_spoilt.h"
#include "tests/unit/folder.h"

enum { NOBODY = 65534 };

static char folder[64];

static void make_folder(void)
{
    make_own_folder(folder, sizeof folder, "/tmp", "config");
}

static void remove_folder(void)
{
    ck_assert_int_eq(rmdir(folder), 0);
}

static void write_file(const char *path, const char *bytes, size_t size)
{
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(bytes, 1, size, file), size);
    ck_assert_int_eq(fclose(file), 0);
}

static void expect_refused(const char *path, unsigned line, const char *found, const char *wanted)
{
    struct config config;
    struct config_fault fault = {.line = 4711};
    if (config_load(path, &config, &fault)) {
        ck_abort_msg("%s was loaded", path);
    }
    expect_fault(&fault, path, line, found, wanted, path);
}

START_TEST(a_file_that_is_not_there)
{
    char path[128];
    (void)snprintf(path, sizeof path, "%s/reglet.json", folder);
    expect_refused(path, 0, "no such file", EXAMPLE);
    expect_refused("", 0, "no such file", EXAMPLE);
    (void)snprintf(path, sizeof path, "%s/loop", folder);
    ck_assert_int_eq(symlink(path, path), 0);
    expect_refused(path, 0, strerror(ELOOP), "a file that can be read would do");
    ck_assert_int_eq(unlink(path), 0);
}
END_TEST

START_TEST(what_is_no_file)
{
    char path[128];
    expect_refused(folder, 0, "a folder", "the configuration file itself would do");
    expect_refused("/dev/null", 0, "a device or a pipe", "the configuration file itself would do");
    (void)snprintf(path, sizeof path, "%s/pipe", folder);
    ck_assert_int_eq(mkfifo(path, 0600), 0);
    expect_refused(path, 0, "a device or a pipe", "the configuration file itself would do");
    ck_assert_int_eq(unlink(path), 0);
}
END_TEST

/* Root may read everything, so root becomes nobody for a while. */
START_TEST(a_file_that_may_not_be_read)
{
    char path[128];
    (void)snprintf(path, sizeof path, "%s/reglet.json", folder);
    write_file(path, good, sizeof good - 1);
    ck_assert_int_eq(chmod(path, 0), 0);
    uid_t user = geteuid();
    ck_assert(user != 0 || (chmod(folder, 0711) == 0 && seteuid(NOBODY) == 0));
    char found[64];
    (void)snprintf(found, sizeof found, "closed to user %ld", (long)geteuid());
    expect_refused(path, 0, found, "a file and folders that this user may read would do");
    ck_assert_int_eq(seteuid(user), 0);
    ck_assert_int_eq(unlink(path), 0);
}
END_TEST

/* A process's own memory is a plain file that opens, and fails at its first byte. */
START_TEST(a_file_that_fails_while_it_is_read)
{
    expect_refused("/proc/self/mem", 0, strerror(EIO), "a file that can be read would do");
}
END_TEST

START_TEST(a_file_that_is_too_long)
{
    char path[128];
    static char text[CONFIG_SIZE_MAX + 2];
    struct config config;
    struct config_fault fault;
    (void)snprintf(path, sizeof path, "%s/reglet.json", folder);
    memset(text, ' ', sizeof text);
    memcpy(text, good, sizeof good - 1);
    write_file(path, text, CONFIG_SIZE_MAX);
    ck_assert(config_load(path, &config, &fault));
    for (size_t over = 1; over <= 2; over++) {
        write_file(path, text, CONFIG_SIZE_MAX + over);
        expect_refused(path, 0, "more than 65536 bytes", "at most that would do");
    }
    ck_assert_int_eq(unlink(path), 0);
}
END_TEST

/* What is wrong in a file is told with the file's own name and line. */
START_TEST(a_file_with_a_fault)
{
    char path[128];
    (void)snprintf(path, sizeof path, "%s/reglet.json", folder);
    char *text = spoil("115200", "9600");
    write_file(path, text, strlen(text));
    free(text);
    expect_refused(path, 27, "9600 for \"baud\" in \"link\"", BAUDS);
    ck_assert_int_eq(unlink(path), 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("config: files");
    TCase *all = tcase_create("refused");
    tcase_add_checked_fixture(all, make_folder, remove_folder);
    tcase_add_test(all, a_file_that_is_not_there);
    tcase_add_test(all, what_is_no_file);
    tcase_add_test(all, a_file_that_may_not_be_read);
    tcase_add_test(all, a_file_that_fails_while_it_is_read);
    tcase_add_test(all, a_file_that_is_too_long);
    tcase_add_test(all, a_file_with_a_fault);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
