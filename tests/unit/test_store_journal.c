/* SPDX-License-Identifier: MIT */
/* The journal's bytes: as the format says, and damaged in every place. */
#include <check.h>
#include <errno.h>
#include <string.h>

#include "daemon/store/crc32.h"
#include "daemon/store/journal.h"
#include "tests/suite.h"
#include "tests/unit/fault_disk.c"

enum { FILE_SIZE = 2 * JOURNAL_SLOT_SIZE, TEXT_AT = 24 };

static struct fault_disk disk;
static unsigned char bytes[FILE_SIZE + 100];

static struct journal_record make_record(int32_t count)
{
    return (struct journal_record){.count_known = true,
                                   .count = count,
                                   .reference = TRUST_SURE,
                                   .table_zero = TRUST_LOST,
                                   .bit = "straight-half"};
}

/* A disk whose journal has so many records, numbered from 1 and counted likewise. */
static void make_disk(int records)
{
    fault_disk_make(&disk, 1);
    struct journal journal;
    struct journal_record record;
    ck_assert_int_eq(journal_open(&journal, &disk.files, &record), JOURNAL_FRESH);
    for (int i = 1; i <= records; i++) {
        record = make_record(i);
        ck_assert(journal_write(&journal, &record));
        ck_assert_uint_eq(record.sequence, (uint64_t)i);
    }
    journal_close(&journal);
    ck_assert_uint_eq(disk.opened, 0);
    memset(bytes, 0, sizeof bytes);
    ck_assert_int_eq(fault_disk_get(&disk, JOURNAL_NAME, bytes, sizeof bytes), FILE_SIZE);
}

static void put_bytes(size_t size)
{
    fault_disk_put(&disk, JOURNAL_NAME, bytes, size);
}

/* What is found, and that nothing was touched; *count is the record's. */
static enum journal_found find(size_t size, int32_t *count)
{
    struct journal journal;
    struct journal_record record = {.count = -1};
    put_bytes(size);
    enum journal_found found = journal_open(&journal, &disk.files, &record);
    journal_close(&journal);
    unsigned char after[sizeof bytes];
    if (fault_disk_get(&disk, JOURNAL_NAME, after, sizeof after) != (long)size ||
        memcmp(after, bytes, size) != 0 || disk.writes != 0) {
        ck_abort_msg("the file was touched");
    }
    *count = record.count;
    return found;
}

static uint64_t little(const unsigned char *at, size_t size)
{
    uint64_t value = 0;
    for (size_t i = size; i > 0; i--) {
        value = value << 8 | at[i - 1];
    }
    return value;
}

static void put_crc(unsigned char *slot)
{
    uint32_t crc = crc32_of(slot + 12, 12 + (size_t)little(slot + 12, 4));
    for (size_t i = 0; i < 4; i++) {
        slot[8 + i] = (unsigned char)(crc >> 8 * i);
    }
}

START_TEST(a_slot_has_the_bytes_that_the_format_says)
{
    make_disk(2);
    for (uint64_t slot = 0; slot < 2; slot++) {
        const unsigned char *at = bytes + slot * JOURNAL_SLOT_SIZE;
        uint64_t length = little(at + 12, 4);
        ck_assert(memcmp(at, "REGLETJ1", 8) == 0);
        ck_assert_uint_eq(little(at + 8, 4), crc32_of(at + 12, 12 + length));
        ck_assert_uint_eq(little(at + 16, 8), slot + 1);
        ck_assert(memcmp(at + TEXT_AT, "{\"version\":3,\"count\":", 21) == 0);
        ck_assert_int_eq(at[TEXT_AT + length - 1], '}');
        for (size_t i = TEXT_AT + length; i < JOURNAL_SLOT_SIZE; i++) {
            ck_assert(at[i] == 0);
        }
    }
    fault_disk_free(&disk);
}
END_TEST

START_TEST(with_any_byte_of_a_slot_changed_the_other_counts)
{
    make_disk(2);
    fault_disk_restart(&disk);
    size_t harmful[2] = {0, 0};
    for (size_t at = 0; at < FILE_SIZE; at++) {
        size_t slot = at / JOURNAL_SLOT_SIZE;
        size_t used = TEXT_AT + little(bytes + slot * JOURNAL_SLOT_SIZE + 12, 4);
        for (int bit = 0; bit < 8; bit++) {
            bytes[at] ^= (unsigned char)(1 << bit);
            int32_t count;
            enum journal_found found = find(FILE_SIZE, &count);
            bytes[at] ^= (unsigned char)(1 << bit);
            bool in_use = at % JOURNAL_SLOT_SIZE < used;
            int32_t meant = in_use && slot == 1 ? 1 : 2;
            if (found != JOURNAL_WHOLE || count != meant) {
                ck_abort_msg("byte %zu, bit %d: found %d, count %d", at, bit, found, count);
            }
            harmful[slot] += in_use;
            bit += in_use ? 0 : 8; /* the zeros behind count for nothing; one bit will do */
        }
        if (disk.file_count > 1000) {
            fault_disk_free(&disk);
            fault_disk_make(&disk, 1);
        }
    }
    ck_assert_uint_gt(harmful[0], 8 * 200);
    ck_assert_uint_gt(harmful[1], 8 * 200);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(with_both_slots_changed_the_journal_is_damaged_and_untouched)
{
    make_disk(2);
    fault_disk_restart(&disk);
    size_t used = TEXT_AT + little(bytes + 12, 4);
    for (size_t at = 0; at < used; at++) {
        size_t other = JOURNAL_SLOT_SIZE + (at * 7 + 3) % used;
        bytes[at] ^= 0x10;
        bytes[other] ^= 0x01;
        int32_t count;
        enum journal_found found = find(FILE_SIZE, &count);
        if (found != JOURNAL_DAMAGED || count != -1) {
            ck_abort_msg("bytes %zu and %zu: found %d, count %d", at, other, found, count);
        }
        bytes[at] ^= 0x10;
        bytes[other] ^= 0x01;
    }
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_damaged_journal_is_not_written_before_it_was_set_aside)
{
    make_disk(2);
    fault_disk_restart(&disk);
    memset(bytes, 'x', FILE_SIZE);
    put_bytes(FILE_SIZE);
    struct journal journal;
    struct journal_record record;
    ck_assert_int_eq(journal_open(&journal, &disk.files, &record), JOURNAL_DAMAGED);
    record = make_record(5);
    ck_assert(!journal_write(&journal, &record));
    ck_assert_int_eq(errno, EPERM);
    ck_assert(journal_begin_anew(&journal));
    ck_assert(journal_write(&journal, &record));
    ck_assert_uint_eq(record.sequence, 1);
    unsigned char aside[FILE_SIZE];
    ck_assert_int_eq(fault_disk_get(&disk, JOURNAL_NAME_DAMAGED, aside, FILE_SIZE), FILE_SIZE);
    ck_assert(memcmp(aside, bytes, FILE_SIZE) == 0);
    ck_assert(!journal_begin_anew(&journal)); /* there is nothing damaged any more */
    ck_assert_int_eq(errno, EPERM);
    journal_close(&journal);
    ck_assert_int_eq(journal_open(&journal, &disk.files, &record), JOURNAL_WHOLE);
    ck_assert_int_eq(record.count, 5);
    journal_close(&journal);
    fault_disk_free(&disk);
}
END_TEST

/* Slot 1's text replaced, with the right CRC. */
static void put_text(const char *text, uint64_t sequence)
{
    unsigned char *slot = bytes + JOURNAL_SLOT_SIZE;
    memset(slot + 12, 0, JOURNAL_SLOT_SIZE - 12);
    slot[12] = (unsigned char)strlen(text);
    slot[13] = (unsigned char)(strlen(text) >> 8);
    for (size_t i = 0; i < 8; i++) {
        slot[16 + i] = (unsigned char)(sequence >> 8 * i);
    }
    memcpy(slot + TEXT_AT, text, strlen(text));
    put_crc(slot);
}

START_TEST(a_newest_record_of_a_newer_version_is_left_alone)
{
    make_disk(2);
    fault_disk_restart(&disk);
    int32_t count;
    put_text("{\"version\":4,\"what\":[]}", 2);
    ck_assert_int_eq(find(FILE_SIZE, &count), JOURNAL_NEWER);
    struct journal journal;
    struct journal_record record;
    ck_assert_int_eq(journal_open(&journal, &disk.files, &record), JOURNAL_NEWER);
    record = make_record(3);
    ck_assert(!journal_write(&journal, &record));
    ck_assert_int_eq(errno, EPERM);
    ck_assert(!journal_begin_anew(&journal));
    ck_assert_int_eq(errno, EPERM);
    journal_close(&journal);
    ck_assert_uint_eq(disk.writes, 0);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_slot_with_a_right_crc_and_a_wrong_record_is_damaged)
{
    make_disk(2);
    fault_disk_restart(&disk);
    static const char *const texts[] = {"{\"version\":1}", "{}", "[]", "", "{\"version\":1"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        int32_t count;
        put_text(texts[i], 2);
        ck_assert_int_eq(find(FILE_SIZE, &count), JOURNAL_WHOLE);
        ck_assert_int_eq(count, 1);
    }
    fault_disk_free(&disk);
}
END_TEST

/* Whole slots with numbers that no writer gives. */
START_TEST(sequence_numbers_are_compared_in_full_and_0_is_none)
{
    make_disk(2);
    fault_disk_restart(&disk);
    char text[JOURNAL_SLOT_SIZE];
    size_t length = (size_t)little(bytes + JOURNAL_SLOT_SIZE + 12, 4);
    memcpy(text, bytes + JOURNAL_SLOT_SIZE + TEXT_AT, length);
    text[length] = '\0';
    int32_t count;
    put_text(text, UINT64_C(0x100000000));
    ck_assert_int_eq(find(FILE_SIZE, &count), JOURNAL_WHOLE);
    ck_assert_int_eq(count, 2);
    put_text(text, 0);
    ck_assert_int_eq(find(FILE_SIZE, &count), JOURNAL_WHOLE);
    ck_assert_int_eq(count, 1);
    put_text(text, UINT64_MAX);
    ck_assert_int_eq(find(FILE_SIZE, &count), JOURNAL_WHOLE);
    ck_assert_int_eq(count, 2);
    struct journal journal;
    struct journal_record record;
    ck_assert_int_eq(journal_open(&journal, &disk.files, &record), JOURNAL_WHOLE);
    ck_assert(!journal_write(&journal, &record)); /* there is no number above */
    ck_assert_int_eq(errno, EOVERFLOW);
    journal_close(&journal);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_file_of_any_length_gives_what_is_whole_in_it)
{
    make_disk(2);
    fault_disk_restart(&disk);
    size_t one = TEXT_AT + little(bytes + 12, 4);
    size_t both = JOURNAL_SLOT_SIZE + TEXT_AT + little(bytes + JOURNAL_SLOT_SIZE + 12, 4);
    for (size_t size = 0; size <= sizeof bytes; size++) {
        int32_t count;
        enum journal_found found = find(size, &count);
        int32_t meant = size < one ? -1 : size < both ? 1 : 2;
        if (found != (size < one ? JOURNAL_DAMAGED : JOURNAL_WHOLE) || count != meant) {
            ck_abort_msg("%zu bytes: found %d, count %d", size, found, count);
        }
        if (disk.file_count > 1000) {
            fault_disk_free(&disk);
            fault_disk_make(&disk, 1);
        }
    }
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_journal_that_was_cut_short_is_written_again_in_full)
{
    make_disk(2);
    fault_disk_restart(&disk);
    put_bytes(JOURNAL_SLOT_SIZE - 100);
    struct journal journal;
    struct journal_record record;
    ck_assert_int_eq(journal_open(&journal, &disk.files, &record), JOURNAL_WHOLE);
    for (int32_t i = 2; i < 5; i++) {
        record = make_record(i);
        ck_assert(journal_write(&journal, &record));
    }
    journal_close(&journal);
    ck_assert_int_eq(journal_open(&journal, &disk.files, &record), JOURNAL_WHOLE);
    ck_assert_int_eq(record.count, 4);
    ck_assert_uint_eq(record.sequence, 4);
    journal_close(&journal);
    ck_assert_int_eq(fault_disk_get(&disk, JOURNAL_NAME, bytes, sizeof bytes), FILE_SIZE);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_record_out_of_range_is_refused_before_the_disk_is_touched)
{
    make_disk(2);
    fault_disk_restart(&disk);
    struct journal journal;
    struct journal_record record;
    ck_assert_int_eq(journal_open(&journal, &disk.files, &record), JOURNAL_WHOLE);
    record.zero_nm = INT64_C(1) << 53;
    ck_assert(!journal_write(&journal, &record));
    ck_assert_int_eq(errno, EINVAL);
    record.zero_nm = 0;
    ck_assert_uint_eq(disk.writes, 0);
    ck_assert(journal_write(&journal, &record));
    ck_assert_uint_eq(record.sequence, 3);
    journal_close(&journal);
    ck_assert(!journal_write(&journal, &record)); /* closed */
    ck_assert_int_eq(errno, EPERM);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_disk_that_is_full_is_told_and_matters_only_to_the_first_record)
{
    struct journal journal;
    struct journal_record record = make_record(1);
    fault_disk_make(&disk, 1);
    ck_assert_int_eq(journal_open(&journal, &disk.files, &record), JOURNAL_FRESH);
    disk.room = 5000; /* the first write makes both slots: there must be room for them */
    ck_assert(!journal_write(&journal, &record));
    ck_assert_int_eq(errno, ENOSPC);
    disk.room = FILE_SIZE;
    ck_assert(journal_write(&journal, &record));
    ck_assert_uint_eq(disk.room, 0);
    for (int i = 2; i < 10; i++) { /* no room is needed any more */
        record = make_record(i);
        ck_assert(journal_write(&journal, &record));
        ck_assert_uint_eq(record.sequence, (uint64_t)i);
    }
    journal_close(&journal);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_disk_that_can_only_be_read_is_read_and_a_write_refused)
{
    struct journal journal;
    struct journal_record record;
    make_disk(9);
    disk.read_only = true;
    for (int start = 0; start < 2; start++) {
        ck_assert_int_eq(journal_open(&journal, &disk.files, &record), JOURNAL_WHOLE);
        ck_assert_int_eq(record.count, 9);
        record = make_record(10);
        ck_assert(!journal_write(&journal, &record));
        ck_assert_int_eq(errno, EROFS);
    }
    disk.read_only = false;
    ck_assert(journal_write(&journal, &record));
    ck_assert_uint_eq(record.sequence, 10);
    disk.read_only = true; /* as a file system does after an error */
    record = make_record(11);
    ck_assert(!journal_write(&journal, &record));
    ck_assert_int_eq(errno, EROFS);
    journal_close(&journal);
    ck_assert_int_eq(journal_open(&journal, &disk.files, &record), JOURNAL_WHOLE);
    ck_assert_int_eq(record.count, 10);
    fault_disk_free(&disk);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("journal");
    TCase *all = tcase_create("bytes");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, a_slot_has_the_bytes_that_the_format_says);
    tcase_add_test(all, with_any_byte_of_a_slot_changed_the_other_counts);
    tcase_add_test(all, with_both_slots_changed_the_journal_is_damaged_and_untouched);
    tcase_add_test(all, a_damaged_journal_is_not_written_before_it_was_set_aside);
    tcase_add_test(all, a_newest_record_of_a_newer_version_is_left_alone);
    tcase_add_test(all, a_slot_with_a_right_crc_and_a_wrong_record_is_damaged);
    tcase_add_test(all, sequence_numbers_are_compared_in_full_and_0_is_none);
    tcase_add_test(all, a_file_of_any_length_gives_what_is_whole_in_it);
    tcase_add_test(all, a_journal_that_was_cut_short_is_written_again_in_full);
    tcase_add_test(all, a_record_out_of_range_is_refused_before_the_disk_is_touched);
    tcase_add_test(all, a_disk_that_is_full_is_told_and_matters_only_to_the_first_record);
    tcase_add_test(all, a_disk_that_can_only_be_read_is_read_and_a_write_refused);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
