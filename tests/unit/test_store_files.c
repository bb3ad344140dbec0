/* SPDX-License-Identifier: MIT */
/* The store on the real disk, in a folder of its own. */
#include <check.h>
#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/store/document.h"
#include "daemon/store/journal.h"
#include "daemon/store/log.h"
#include "daemon/store/whole.h"
#include "tests/suite.h"
#include "tests/unit/folder.h"

static char folder[200];
static struct files files;

static int remove_one(const char *path, const struct stat *status, int kind, struct FTW *place)
{
    (void)status;
    (void)kind;
    (void)place;
    return remove(path);
}

static void make_folder(void)
{
    const char *temporary = getenv("TMPDIR");
    make_own_folder(folder, sizeof folder, temporary != NULL ? temporary : "/tmp", "store");
    char why[300] = "";
    ck_assert_msg(files_open(&files, folder, why, sizeof why), "%s", why);
}

static void remove_folder(void)
{
    files_close(&files);
    ck_assert_int_eq(nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS), 0);
}

static struct stat status_of(const char *name)
{
    char path[400];
    struct stat status;
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    ck_assert_msg(lstat(path, &status) == 0, "%s", path);
    return status;
}

START_TEST(a_journal_is_read_again_from_the_real_disk)
{
    struct journal journal;
    struct journal_record record = {.sequence = 0};
    ck_assert_int_eq(journal_open(&journal, &files, &record), JOURNAL_FRESH);
    for (int32_t i = 1; i <= 20; i++) {
        record = (struct journal_record){.count_known = true,
                                         .count = -i,
                                         .reference = TRUST_SURE,
                                         .table_zero = TRUST_LOST,
                                         .bit = "straight-half"};
        ck_assert(journal_write(&journal, &record));
        if (i % 3 == 0) {
            journal_close(&journal);
            record.count = 0;
            ck_assert_int_eq(journal_open(&journal, &files, &record), JOURNAL_WHOLE);
            ck_assert_int_eq(record.count, -i);
            ck_assert_uint_eq(record.sequence, (uint64_t)i);
            ck_assert_str_eq(record.bit, "straight-half");
        }
    }
    journal_close(&journal);
    ck_assert_int_eq(status_of(JOURNAL_NAME).st_size, 2 * JOURNAL_SLOT_SIZE);
}
END_TEST

START_TEST(a_document_is_read_again_from_the_real_disk_and_recovered)
{
    const char *step;
    char why[DOCUMENT_WHY_SIZE];
    cJSON *document;
    ck_assert_int_eq(document_load(&files, "shop.json", 1, NULL, &document, why, sizeof why),
                     DOCUMENT_FRESH);
    ck_assert(document_save(&files, "shop.json", "{\"version\": 1, \"a\": 1}", &step));
    ck_assert(document_save(&files, "shop.json", "{\"version\": 1, \"a\": 2}", &step));
    ck_assert_int_eq(document_load(&files, "shop.json", 1, NULL, &document, why, sizeof why),
                     DOCUMENT_WHOLE);
    ck_assert_int_eq(cJSON_GetObjectItem(document, "a")->valueint, 2);
    cJSON_Delete(document);
    int fd = whole_open(&files, "shop.json", O_WRONLY | O_TRUNC);
    ck_assert(whole_write(&files, fd, "{", 1, 0));
    ck_assert_int_eq(close(fd), 0);
    ck_assert_int_eq(document_load(&files, "shop.json", 1, NULL, &document, why, sizeof why),
                     DOCUMENT_LAST_GOOD);
    ck_assert_int_eq(cJSON_GetObjectItem(document, "a")->valueint, 1);
    cJSON_Delete(document);
    ck_assert_int_eq(status_of("shop.json.damaged").st_size, 1);
    ck_assert_int_eq(whole_exists(&files, "shop.json"), 0);
    ck_assert_int_eq(whole_exists(&files, "shop.json.new"), 0);
}
END_TEST

START_TEST(a_log_goes_on_on_the_real_disk_and_turns_over)
{
    struct log log;
    char line[LOG_LINE_MAX];
    memset(line, 'm', sizeof line);
    line[sizeof line - 1] = '\0';
    for (int start = 0; start < 4; start++) {
        ck_assert(log_open(&log, &files));
        for (int i = 0; i < 200; i++) {
            ck_assert(log_write(&log, line));
        }
        log_close(&log);
    }
    ck_assert_int_eq(status_of(LOG_NAME_OLDER).st_size, LOG_SIZE_MAX);
    ck_assert_int_eq(status_of(LOG_NAME).st_size, 800 * LOG_LINE_MAX - LOG_SIZE_MAX);
    ck_assert_uint_eq(log.lost, 0);
}
END_TEST

START_TEST(files_are_for_their_owner_only_and_no_child_inherits_them)
{
    int fd = whole_open(&files, "x", O_RDWR | O_CREAT | O_EXCL);
    ck_assert_int_ge(fd, 0);
    ck_assert_int_eq(status_of("x").st_mode & 0777, 0600);
    ck_assert_int_ne(fcntl(fd, F_GETFD) & FD_CLOEXEC, 0);
    ck_assert_int_eq(files.call->close(files.disk, fd), 0);
    ck_assert_int_eq(whole_open(&files, "x", O_RDWR | O_CREAT | O_EXCL), -1);
    ck_assert_int_eq(errno, EEXIST);
}
END_TEST

START_TEST(the_calls_do_what_they_say)
{
    char bytes[8] = "";
    int fd = whole_open(&files, "x", O_RDWR | O_CREAT);
    ck_assert_int_ge(fd, 0);
    ck_assert(whole_write(&files, fd, "abcdef", 6, 2));
    ck_assert_int_eq(files.call->size(files.disk, fd), 8);
    ck_assert(whole_truncate(&files, fd, 5));
    ck_assert_int_eq(whole_read(&files, fd, bytes, sizeof bytes, 1), 4);
    ck_assert(memcmp(bytes, "\0abc", 4) == 0);
    ck_assert(whole_data_sync(&files, fd));
    ck_assert_int_eq(files.call->sync(files.disk, fd), 0);
    ck_assert_int_eq(files.call->rename(files.disk, "x", "y"), 0);
    ck_assert(whole_sync_folder(&files));
    ck_assert_int_eq(whole_exists(&files, "x"), 0);
    ck_assert_int_eq(whole_exists(&files, "y"), 1);
    ck_assert_int_eq(files.call->remove(files.disk, "y"), 0);
    ck_assert_int_eq(files.call->remove(files.disk, "y"), -1);
    ck_assert_int_eq(errno, ENOENT);
    ck_assert_int_eq(files.call->close(files.disk, fd), 0);
}
END_TEST

START_TEST(a_link_is_not_followed_out_of_the_folder)
{
    char path[400];
    (void)snprintf(path, sizeof path, "%s/shop.json", folder);
    ck_assert_int_eq(symlink("/dev/null", path), 0);
    cJSON *document;
    char why[DOCUMENT_WHY_SIZE];
    ck_assert_int_eq(document_load(&files, "shop.json", 1, NULL, &document, why, sizeof why),
                     DOCUMENT_UNREADABLE);
    ck_assert_ptr_null(document);
    ck_assert_int_eq(whole_exists(&files, "shop.json"), 1);
}
END_TEST

START_TEST(a_folder_that_is_not_there_is_told_with_its_path_and_what_to_do)
{
    struct files none;
    char why[300];
    char path[300];
    (void)snprintf(path, sizeof path, "%s/none", folder);
    ck_assert(!files_open(&none, path, why, sizeof why));
    ck_assert_ptr_nonnull(strstr(why, path));
    ck_assert_ptr_nonnull(strstr(why, "(No such file or directory)"));
    ck_assert_ptr_nonnull(strstr(why, "it must exist and belong to the user that regletd runs as"));
    int fd = whole_open(&files, "none", O_RDWR | O_CREAT);
    ck_assert_int_eq(files.call->close(files.disk, fd), 0);
    ck_assert(!files_open(&none, path, why, sizeof why));
    ck_assert_ptr_nonnull(strstr(why, "(Not a directory)"));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("files");
    TCase *all = tcase_create("real disk");
    tcase_set_timeout(all, 60);
    tcase_add_checked_fixture(all, make_folder, remove_folder);
    tcase_add_test(all, a_journal_is_read_again_from_the_real_disk);
    tcase_add_test(all, a_document_is_read_again_from_the_real_disk_and_recovered);
    tcase_add_test(all, a_log_goes_on_on_the_real_disk_and_turns_over);
    tcase_add_test(all, files_are_for_their_owner_only_and_no_child_inherits_them);
    tcase_add_test(all, the_calls_do_what_they_say);
    tcase_add_test(all, a_link_is_not_followed_out_of_the_folder);
    tcase_add_test(all, a_folder_that_is_not_there_is_told_with_its_path_and_what_to_do);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
