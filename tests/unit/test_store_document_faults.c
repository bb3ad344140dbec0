/* SPDX-License-Identifier: MIT */
/* Saving and loading documents on a disk of which one call fails, or that is full or read-only. */
#include <check.h>
#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/document.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/fault_disk.c"

static const char name[] = "shop.json";
static const char text_1[] = "{\"version\": 1, \"number\": 1}";
static const char text_2[] = "{\"version\": 1, \"number\": 2, \"wood\": \"cherry\"}";
static const char text_3[] = "{\"version\": 1, \"number\": 3, \"wood\": \"curly maple\"}";
static const char text_4[] = "{\"version\": 1, \"number\": 4}";

static struct fault_disk disk;
static char why[DOCUMENT_WHY_SIZE];

/* A disk with document 2, and 1 as the last good one. */
static void make_disk(uint64_t seed)
{
    fault_disk_make(&disk, seed);
    fault_disk_put(&disk, name, text_2, strlen(text_2));
    fault_disk_put(&disk, "shop.json.good", text_1, strlen(text_1));
}

/* The number of the document that is there and whole; 0 when it is not. */
static int load(void)
{
    cJSON *document;
    enum document_found found =
        document_load(&disk.files, name, 1, NULL, &document, why, sizeof why);
    const cJSON *number = cJSON_GetObjectItem(document, "number");
    int read = found == DOCUMENT_WHOLE ? number->valueint : 0;
    cJSON_Delete(document);
    return read;
}

static bool there(const char *file)
{
    char byte;
    return fault_disk_get(&disk, file, &byte, 1) >= 0;
}

/* All is well again: the next save is made, and survives. */
static void save_after_all(void)
{
    const char *step = "";
    disk.fail_first = disk.fail_last = 0;
    disk.read_only = false;
    disk.room = SIZE_MAX;
    ck_assert_msg(document_save(&disk.files, name, text_4, &step), "%s", step);
    fault_disk_cut(&disk);
    ck_assert_int_eq(load(), 4);
    fault_disk_free(&disk);
}

/* The calls of one save over a document that is there, and what is said when each fails. */
static const struct {
    const char *call;
    const char *step; /* NULL: it does not matter */
} save_calls[] = {
    {"open", "reading the present document"},
    {"size", "reading the present document"},
    {"read", "reading the present document"},
    {"close", NULL},
    {"remove", "keeping a copy of the present document"},
    {"open", "keeping a copy of the present document"},
    {"write", "keeping a copy of the present document"},
    {"sync", "keeping a copy of the present document"},
    {"close", "keeping a copy of the present document"},
    {"rename", "keeping a copy of the present document"},
    {"remove", "making a new file"},
    {"open", "making a new file"},
    {"write", "writing the new file"},
    {"sync", "making the new file durable"},
    {"close", "closing the new file"},
    {"rename", "putting the new file in its place"},
    {"sync_folder", "making the new name durable"},
};

enum { SAVE_CALLS = sizeof save_calls / sizeof *save_calls };

static void one_failure(uint64_t seed, unsigned long at, int error)
{
    make_disk(seed);
    disk.fail_first = disk.fail_last = at + 1;
    disk.fail_error = error;
    const char *step = NULL;
    errno = 0;
    bool kept = document_save(&disk.files, name, text_3, &step);
    int told = errno;
    const char *meant = save_calls[at].step;
    bool right = meant == NULL ? kept : !kept && told == error && strcmp(step, meant) == 0;
    if (!right || disk.failed == NULL || strcmp(disk.failed, save_calls[at].call) != 0) {
        ck_abort_msg("call %lu (%s): kept %d, %s, %s", at, disk.failed, kept, strerror(told), step);
    }
    if (there("shop.json.new") || disk.opened != 0) {
        ck_abort_msg("call %lu left half a save lying", at);
    }
    ck_assert_int_eq(load(), meant == NULL ? 3 : 2);
    save_after_all();
}

START_TEST(a_call_that_fails_is_told_with_its_step_and_leaves_the_old_document)
{
    static const int errors[] = {EIO, ENOSPC, EROFS, EDQUOT};
    for (uint64_t seed = base_seed; seed < base_seed + 40; seed++) {
        for (unsigned long at = 0; at < SAVE_CALLS; at++) {
            one_failure(seed, at, errors[seed % 4]);
        }
    }
    make_disk(base_seed); /* and these are all */
    const char *step;
    ck_assert(document_save(&disk.files, name, text_3, &step));
    ck_assert_uint_eq(disk.operations, SAVE_CALLS);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_first_save_that_fails_leaves_none)
{
    for (unsigned long at = 1; at <= 8; at++) {
        fault_disk_make(&disk, base_seed + at);
        disk.fail_first = disk.fail_last = at;
        disk.fail_error = EIO;
        const char *step;
        ck_assert(!document_save(&disk.files, name, text_3, &step));
        ck_assert_int_eq(errno, EIO);
        ck_assert(!there(name) && !there("shop.json.new") && !there("shop.json.good"));
        save_after_all();
    }
}
END_TEST

START_TEST(a_full_disk_is_told_at_any_byte_and_the_old_document_stays)
{
    size_t needed = strlen(text_2) + strlen(text_3);
    for (size_t room = 0; room <= needed; room++) {
        make_disk(base_seed + room);
        disk.room = room;
        disk.choppy = room % 2 == 0;
        const char *step;
        bool kept = document_save(&disk.files, name, text_3, &step);
        if (kept != (room == needed) || (!kept && errno != ENOSPC) || there("shop.json.new")) {
            ck_abort_msg("room %zu: kept %d, %s, %s", room, kept, strerror(errno), step);
        }
        ck_assert_int_eq(load(), kept ? 3 : 2);
        save_after_all();
    }
}
END_TEST

START_TEST(a_disk_that_can_only_be_read_is_read_and_nothing_is_saved)
{
    const char *step;
    make_disk(base_seed);
    disk.read_only = true;
    ck_assert_int_eq(load(), 2);
    ck_assert(!document_save(&disk.files, name, text_3, &step));
    ck_assert_int_eq(errno, EROFS);
    ck_assert_int_eq(load(), 2);
    save_after_all();
}
END_TEST

START_TEST(a_damaged_document_that_cannot_be_moved_aside_is_left_and_nothing_is_read)
{
    for (int both = 0; both < 2; both++) {
        make_disk(base_seed);
        fault_disk_put(&disk, name, "{", 1);
        fault_disk_put(&disk, "shop.json.good", both ? "}" : text_1, both ? 1 : strlen(text_1));
        disk.read_only = true;
        cJSON *document;
        ck_assert_int_eq(document_load(&disk.files, name, 1, NULL, &document, why, sizeof why),
                         DOCUMENT_UNREADABLE);
        ck_assert_ptr_null(document);
        ck_assert_msg(strstr(why, "could not be moved aside (Read-only file system)") != NULL, "%s",
                      why);
        ck_assert(there(name) && there("shop.json.good") && !there("shop.json.damaged"));
        disk.read_only = false;
        ck_assert_int_eq(document_load(&disk.files, name, 1, NULL, &document, why, sizeof why),
                         both ? DOCUMENT_LOST : DOCUMENT_LAST_GOOD);
        cJSON_Delete(document);
        save_after_all();
    }
}
END_TEST

START_TEST(a_disk_that_fails_at_any_call_of_loading_leaves_all_as_it_is)
{
    for (int damaged = 0; damaged < 2; damaged++) {
        for (unsigned long at = 1; at < 20; at++) {
            make_disk(base_seed + at);
            const char *present = damaged ? "junk" : text_2;
            fault_disk_put(&disk, name, present, strlen(present));
            disk.fail_first = disk.fail_last = at;
            disk.fail_error = EIO;
            cJSON *document;
            enum document_found found =
                document_load(&disk.files, name, 1, NULL, &document, why, sizeof why);
            cJSON_Delete(document);
            bool harmless = disk.failed == NULL || strcmp(disk.failed, "close") == 0;
            if ((found == DOCUMENT_UNREADABLE) == harmless ||
                !(there(name) || there("shop.json.damaged")) || !there("shop.json.good") ||
                (!harmless && strstr(why, "Input/output error") == NULL)) {
                ck_abort_msg("call %lu (%s): found %d, %s", at, disk.failed, found, why);
            }
            fault_disk_restart(&disk);
            found = document_load(&disk.files, name, 1, NULL, &document, why, sizeof why);
            cJSON_Delete(document);
            ck_assert_int_eq(found, damaged ? DOCUMENT_LAST_GOOD : DOCUMENT_WHOLE);
            fault_disk_free(&disk);
        }
    }
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("document faults");
    TCase *all = tcase_create("faults");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, a_call_that_fails_is_told_with_its_step_and_leaves_the_old_document);
    tcase_add_test(all, a_first_save_that_fails_leaves_none);
    tcase_add_test(all, a_full_disk_is_told_at_any_byte_and_the_old_document_stays);
    tcase_add_test(all, a_disk_that_can_only_be_read_is_read_and_nothing_is_saved);
    tcase_add_test(all, a_damaged_document_that_cannot_be_moved_aside_is_left_and_nothing_is_read);
    tcase_add_test(all, a_disk_that_fails_at_any_call_of_loading_leaves_all_as_it_is);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
