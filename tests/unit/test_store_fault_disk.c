/* SPDX-License-Identifier: MIT */
/*
 * The disk that the store is tested on: that it keeps what is to be kept, and shows up each of the
 * usual ways to write a file that does not survive a power cut.
 */
#include <check.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/fault_disk.c"

enum { SIZE = 4 * FAULT_SECTOR + 100, CUTS = 400 };

static char old_bytes[SIZE];
static char new_bytes[SIZE];
static char got[2 * SIZE];

/* Ways to replace a file's contents. */
static void overwrite(const struct files *files)
{
    int fd = files->call->open(files->disk, "kept", O_RDWR);
    ck_assert_int_eq(files->call->write(files->disk, fd, new_bytes, SIZE, 0), SIZE);
}

static void overwrite_and_sync(const struct files *files)
{
    overwrite(files);
    ck_assert_int_eq(files->call->sync(files->disk, 0), 0);
}

static void write_anew(const struct files *files)
{
    int fd = files->call->open(files->disk, "kept", O_RDWR | O_CREAT | O_TRUNC);
    ck_assert_int_eq(files->call->write(files->disk, fd, new_bytes, SIZE, 0), SIZE);
}

static int write_beside(const struct files *files)
{
    int fd = files->call->open(files->disk, "kept.new", O_RDWR | O_CREAT | O_EXCL);
    ck_assert_int_eq(files->call->write(files->disk, fd, new_bytes, SIZE, 0), SIZE);
    return fd;
}

static void rename_unsynced(const struct files *files)
{
    (void)write_beside(files);
    ck_assert_int_eq(files->call->rename(files->disk, "kept.new", "kept"), 0);
}

static void rename_synced(const struct files *files)
{
    ck_assert_int_eq(files->call->sync(files->disk, write_beside(files)), 0);
    ck_assert_int_eq(files->call->rename(files->disk, "kept.new", "kept"), 0);
}

static void rename_and_sync_folder(const struct files *files)
{
    rename_synced(files);
    ck_assert_int_eq(files->call->sync_folder(files->disk), 0);
}

/* What a cut right after it left, over many cuts. */
struct outcome {
    int old;
    int fresh;
    int neither;
};

static struct outcome cut_after(void (*replace)(const struct files *files))
{
    struct outcome outcome = {0, 0, 0};
    for (uint64_t seed = base_seed; seed < base_seed + CUTS; seed++) {
        struct fault_disk disk;
        fault_disk_make(&disk, seed);
        fault_disk_put(&disk, "kept", old_bytes, SIZE);
        replace(&disk.files);
        fault_disk_cut(&disk);
        long size = fault_disk_get(&disk, "kept", got, sizeof got);
        if (size == SIZE && memcmp(got, old_bytes, SIZE) == 0) {
            outcome.old++;
        } else if (size == SIZE && memcmp(got, new_bytes, SIZE) == 0) {
            outcome.fresh++;
        } else {
            outcome.neither++;
        }
        fault_disk_free(&disk);
    }
    return outcome;
}

static void expect(void (*replace)(const struct files *files), bool old, bool fresh, bool neither)
{
    struct outcome outcome = cut_after(replace);
    ck_assert_msg((outcome.old > 0) == old && (outcome.fresh > 0) == fresh &&
                      (outcome.neither > 0) == neither,
                  "old %d, new %d, neither %d: REGLET_SEED=%" PRIu64, outcome.old, outcome.fresh,
                  outcome.neither, base_seed);
}

START_TEST(each_wrong_way_to_replace_a_file_is_shown_up_and_the_right_one_holds)
{
    expect(overwrite, true, true, true);
    expect(overwrite_and_sync, false, true, false); /* but not while it is under way */
    expect(write_anew, true, true, true);
    expect(rename_unsynced, true, true, true);
    expect(rename_synced, true, true, false);
    expect(rename_and_sync_folder, false, true, false);
}
END_TEST

/* Contents that tell where and when they were written: a sector is torn when it holds both. */
START_TEST(a_write_is_dropped_kept_reordered_and_torn_at_any_byte)
{
    int torn_at_edge = 0;
    int torn_inside = 0;
    int later_without_earlier = 0;
    for (uint64_t seed = base_seed; seed < base_seed + 5 * CUTS; seed++) {
        struct fault_disk disk;
        fault_disk_make(&disk, seed);
        fault_disk_put(&disk, "kept", old_bytes, SIZE);
        int fd = disk.files.call->open(&disk, "kept", O_RDWR);
        for (int sector = 0; sector < 4; sector++) {
            off_t at = (off_t)sector * FAULT_SECTOR;
            ck_assert_int_eq(disk.files.call->write(&disk, fd, new_bytes, FAULT_SECTOR, at),
                             FAULT_SECTOR);
        }
        fault_disk_cut(&disk);
        ck_assert_int_eq(fault_disk_get(&disk, "kept", got, sizeof got), SIZE);
        bool edge = false;
        for (size_t i = 1; i < (size_t)4 * FAULT_SECTOR; i++) {
            bool changes = (got[i] == 'n') != (got[i - 1] == 'n');
            edge = edge || (changes && i % FAULT_SECTOR == 0);
            torn_inside += changes && i % FAULT_SECTOR != 0;
        }
        torn_at_edge += edge;
        later_without_earlier += got[0] == 'o' && got[3 * FAULT_SECTOR] == 'n';
        fault_disk_free(&disk);
    }
    ck_assert_int_gt(torn_at_edge, 0); /* hundreds, hundreds and twenty are to be expected */
    ck_assert_int_gt(torn_inside, 0);
    ck_assert_int_gt(later_without_earlier, 0);
}
END_TEST

START_TEST(names_come_about_in_any_combination_until_the_folder_is_synced)
{
    int seen[2][2] = {{0, 0}, {0, 0}};
    int both_names = 0;
    for (uint64_t seed = base_seed; seed < base_seed + CUTS; seed++) {
        struct fault_disk disk;
        fault_disk_make(&disk, seed);
        fault_disk_put(&disk, "a", "1", 1);
        fault_disk_put(&disk, "b", "2", 1);
        ck_assert_int_eq(disk.files.call->rename(&disk, "a", "c"), 0);
        ck_assert_int_eq(disk.files.call->rename(&disk, "b", "d"), 0);
        fault_disk_cut(&disk);
        bool a = fault_disk_get(&disk, "a", got, 1) == 1;
        bool b = fault_disk_get(&disk, "b", got, 1) == 1;
        bool c = fault_disk_get(&disk, "c", got, 1) == 1;
        bool d = fault_disk_get(&disk, "d", got, 1) == 1;
        ck_assert((a || c) && (b || d)); /* a file is never without a name */
        both_names += a && c;
        seen[c][d]++;
        fault_disk_free(&disk);
    }
    ck_assert(seen[0][0] > 0 && seen[0][1] > 0 && seen[1][0] > 0 && seen[1][1] > 0);
    ck_assert_int_gt(both_names, 0);
}
END_TEST

START_TEST(a_failed_sync_may_have_kept_anything_and_the_next_does_not_help)
{
    struct outcome outcome = {0, 0, 0};
    for (uint64_t seed = base_seed; seed < base_seed + CUTS; seed++) {
        struct fault_disk disk;
        fault_disk_make(&disk, seed);
        fault_disk_put(&disk, "kept", old_bytes, SIZE);
        overwrite(&disk.files);
        disk.fail_first = disk.fail_last = disk.operations + 1;
        disk.fail_error = EIO;
        ck_assert_int_eq(disk.files.call->sync(&disk, 0), -1);
        ck_assert_int_eq(disk.files.call->sync(&disk, 0), 0);
        ck_assert_int_eq(fault_disk_get(&disk, "kept", got, sizeof got), SIZE);
        ck_assert(memcmp(got, new_bytes, SIZE) == 0); /* the cache has it */
        fault_disk_restart(&disk);
        ck_assert_int_eq(fault_disk_get(&disk, "kept", got, sizeof got), SIZE);
        ck_assert(memcmp(got, new_bytes, SIZE) == 0); /* a new process does not lose that */
        fault_disk_cut(&disk);
        (void)fault_disk_get(&disk, "kept", got, sizeof got);
        outcome.old += memcmp(got, old_bytes, SIZE) == 0;
        outcome.fresh += memcmp(got, new_bytes, SIZE) == 0;
        outcome.neither += memcmp(got, new_bytes, SIZE) != 0 && memcmp(got, old_bytes, SIZE) != 0;
        fault_disk_free(&disk);
    }
    ck_assert_msg(outcome.old > 0 && outcome.fresh > 0 && outcome.neither > 0,
                  "old %d, new %d, neither %d", outcome.old, outcome.fresh, outcome.neither);
}
END_TEST

START_TEST(from_the_operation_at_which_the_process_dies_nothing_is_done_any_more)
{
    struct fault_disk disk;
    fault_disk_make(&disk, base_seed);
    fault_disk_put(&disk, "kept", old_bytes, SIZE);
    int fd = disk.files.call->open(&disk, "kept", O_RDWR);
    disk.die_at = 3;
    ck_assert_int_eq(disk.files.call->write(&disk, fd, new_bytes, 1, 0), 1);
    ck_assert_int_eq(disk.files.call->write(&disk, fd, new_bytes, 1, 1), -1); /* has its effect */
    ck_assert_int_eq(disk.files.call->write(&disk, fd, new_bytes, 1, 2), -1);
    ck_assert_int_eq(disk.files.call->rename(&disk, "kept", "lost"), -1);
    ck_assert_int_eq(disk.files.call->remove(&disk, "kept"), -1);
    fault_disk_restart(&disk);
    ck_assert_int_eq(fault_disk_get(&disk, "kept", got, sizeof got), SIZE);
    ck_assert(memcmp(got, "nno", 3) == 0);
    fault_disk_free(&disk);
}
END_TEST

int main(void)
{
    read_seed();
    memset(old_bytes, 'o', SIZE);
    memset(new_bytes, 'n', SIZE);
    Suite *suite = suite_create("fault disk");
    TCase *all = tcase_create("cuts");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, each_wrong_way_to_replace_a_file_is_shown_up_and_the_right_one_holds);
    tcase_add_test(all, a_write_is_dropped_kept_reordered_and_torn_at_any_byte);
    tcase_add_test(all, names_come_about_in_any_combination_until_the_folder_is_synced);
    tcase_add_test(all, a_failed_sync_may_have_kept_anything_and_the_next_does_not_help);
    tcase_add_test(all, from_the_operation_at_which_the_process_dies_nothing_is_done_any_more);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
