/* SPDX-License-Identifier: MIT */
/*
 * The log: whole lines, its turning over at the size, and what power cuts and a failing disk leave
 * of it. Lines are numbered: {"line":N, ...}.
 */
#include <check.h>
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/log.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/fault_disk.c"

static char older[LOG_SIZE_MAX + 1];
static char newer[LOG_SIZE_MAX + 1];
static long older_size; /* -1: not there */
static long newer_size;

/* A line of exactly `size` bytes with its newline, without which it is given. */
static const char *make_line(unsigned long number, size_t size)
{
    static char line[LOG_LINE_MAX];
    int head = snprintf(line, sizeof line, "{\"line\":%lu,\"done\":\"", number);
    if (head < 0 || (size_t)head + 4 > size || size > sizeof line) {
        abort();
    }
    memset(line + head, 'm', size - 3 - (size_t)head);
    strcpy(line + size - 3, "\"}");
    return line;
}

/* What the two files hold now, with a NUL behind; "" for one that is not there. */
static void read_both(const struct fault_disk *disk)
{
    memset(older, 0, sizeof older);
    memset(newer, 0, sizeof newer);
    older_size = fault_disk_get(disk, LOG_NAME_OLDER, older, LOG_SIZE_MAX);
    newer_size = fault_disk_get(disk, LOG_NAME, newer, LOG_SIZE_MAX);
    if (older_size > LOG_SIZE_MAX || newer_size > LOG_SIZE_MAX) {
        ck_abort_msg("%ld and %ld bytes", older_size, newer_size);
    }
}

/* The number of a line that is whole as make_line makes them; 0 for any other. */
static unsigned long number_of(const char *line, size_t length)
{
    unsigned long number = 0;
    if (length < 29 || length >= LOG_LINE_MAX || sscanf(line, "{\"line\":%lu,", &number) != 1 ||
        number > 99999) {
        return 0;
    }
    const char *meant = make_line(number, length + 1);
    return strlen(meant) == length && memcmp(meant, line, length) == 0 ? number : 0;
}

/* The whole lines in a file, whose numbers must rise from *last; how many others there are. */
static size_t read_lines(const char *text, long size, unsigned long *last, unsigned long *count)
{
    size_t broken = 0;
    const char *end = text + (size < 0 ? 0 : size);
    while (text < end) {
        const char *newline = memchr(text, '\n', (size_t)(end - text));
        size_t length = (size_t)((newline != NULL ? newline : end) - text);
        unsigned long number = newline != NULL ? number_of(text, length) : 0;
        if (number == 0) {
            broken++;
        } else if (number <= *last) {
            ck_abort_msg("line %lu follows line %lu", number, *last);
        } else {
            *last = number;
            ++*count;
        }
        text += length + (newline != NULL);
    }
    return broken;
}

START_TEST(lines_stand_one_below_the_other_and_a_closed_log_is_durable)
{
    for (uint64_t seed = base_seed; seed < base_seed + 30; seed++) {
        struct fault_disk disk;
        struct log log;
        fault_disk_make(&disk, seed);
        ck_assert(log_open(&log, &disk.files));
        ck_assert(log_write(&log, "{\"moved\":1}"));
        ck_assert(log_write(&log, "{\"moved\":2}"));
        log_close(&log);
        ck_assert(log_open(&log, &disk.files));
        ck_assert(log_write(&log, "{}"));
        log_close(&log);
        ck_assert_uint_eq(log.lost, 0);
        ck_assert_uint_eq(disk.opened, 0);
        fault_disk_cut(&disk);
        read_both(&disk);
        ck_assert_str_eq(newer, "{\"moved\":1}\n{\"moved\":2}\n{}\n");
        fault_disk_free(&disk);
    }
}
END_TEST

/* All pages of what is not before `from`, one behind the other. */
static void read_pages(const struct files *files, const char *from, size_t most, char *all)
{
    struct log_page page = {.more = true};
    size_t skip = 0;
    *all = '\0';
    while (page.more) {
        ck_assert(log_read_page(files, from, skip, most, &page));
        ck_assert_uint_le(strlen(page.lines), most + LOG_LINE_MAX);
        for (const char *at = page.lines; *at != '\0'; at++) {
            skip += *at == '\n';
        }
        strcat(all, page.lines);
        free(page.lines);
    }
}

START_TEST(pages_hold_all_whole_lines_from_a_time_on_across_both_files)
{
    static char all[4096];
    struct fault_disk disk;
    struct log log;
    fault_disk_make(&disk, 3);
    ck_assert(log_open(&log, &disk.files));
    ck_assert(log_write(&log, "{\"a\":1,\"time\":\"2026-01-01T10:00:00Z\"}"));
    ck_assert(log_write(&log, "{\"a\":2,\"time\":\"2026-01-02T10:00:00Z\"}"));
    log_close(&log);
    ck_assert_int_eq(disk.files.call->rename(disk.files.disk, LOG_NAME, LOG_NAME_OLDER), 0);
    ck_assert(log_open(&log, &disk.files));
    ck_assert(log_write(&log, "{\"a\":3,\"time\":\"2026-01-02T11:00:00Z\"}"));
    ck_assert(log_write(&log, "{\"torn\":3,\"time\":\"2026-01-"));
    ck_assert(log_write(&log, "{\"a\":4,\"time\":\"2026-01-03T10:00:00Z\"}"));
    static const size_t mosts[] = {1, 60, 100, 4000};
    for (size_t i = 0; i < sizeof mosts / sizeof *mosts; i++) {
        read_pages(&disk.files, "", mosts[i], all);
        ck_assert_str_eq(all, "{\"a\":1,\"time\":\"2026-01-01T10:00:00Z\"}\n"
                              "{\"a\":2,\"time\":\"2026-01-02T10:00:00Z\"}\n"
                              "{\"a\":3,\"time\":\"2026-01-02T11:00:00Z\"}\n"
                              "{\"a\":4,\"time\":\"2026-01-03T10:00:00Z\"}\n");
        read_pages(&disk.files, "2026-01-02T10:30", mosts[i], all);
        ck_assert_str_eq(all, "{\"a\":3,\"time\":\"2026-01-02T11:00:00Z\"}\n"
                              "{\"a\":4,\"time\":\"2026-01-03T10:00:00Z\"}\n");
        read_pages(&disk.files, "2027", mosts[i], all);
        ck_assert_str_eq(all, "");
    }
    log_close(&log);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_page_that_the_disk_does_not_give_is_refused)
{
    struct fault_disk disk;
    struct log_page page;
    fault_disk_make(&disk, 4);
    ck_assert(log_read_page(&disk.files, "", 0, 100, &page)); /* no file: no lines */
    ck_assert_str_eq(page.lines, "");
    ck_assert(!page.more);
    free(page.lines);
    struct log log;
    ck_assert(log_open(&log, &disk.files));
    ck_assert(log_write(&log, "{\"time\":\"2026-01-01T10:00:00Z\"}"));
    disk.fail_first = disk.operations + 1;
    disk.fail_last = disk.operations + 100;
    disk.fail_error = EIO;
    ck_assert(!log_read_page(&disk.files, "", 0, 100, &page));
    ck_assert_int_eq(errno, EIO);
    ck_assert_ptr_null(page.lines);
    disk.fail_first = disk.fail_last = 0;
    log_close(&log);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_line_that_is_none_is_refused_and_counted)
{
    struct fault_disk disk;
    struct log log;
    char longest[LOG_LINE_MAX + 1];
    fault_disk_make(&disk, 1);
    ck_assert(log_open(&log, &disk.files));
    ck_assert(!log_write(&log, ""));
    ck_assert_int_eq(errno, EINVAL);
    ck_assert(!log_write(&log, "{}\n{}"));
    ck_assert_int_eq(errno, EINVAL);
    memset(longest, 'a', sizeof longest);
    longest[LOG_LINE_MAX] = '\0';
    ck_assert(!log_write(&log, longest));
    ck_assert_int_eq(errno, EINVAL);
    longest[LOG_LINE_MAX - 1] = '\0';
    ck_assert(log_write(&log, longest));
    ck_assert_uint_eq(log.lost, 3);
    ck_assert_int_eq(log.size, LOG_LINE_MAX);
    log_close(&log);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(the_log_turns_over_exactly_when_a_line_has_no_room)
{
    struct fault_disk disk;
    struct log log;
    fault_disk_make(&disk, 1);
    ck_assert(log_open(&log, &disk.files));
    unsigned long number = 0;
    unsigned long lines = LOG_SIZE_MAX / LOG_LINE_MAX;
    for (int round = 0; round < 3; round++) {
        for (unsigned long i = 0; i < lines; i++) {
            ck_assert(log_write(&log, make_line(++number, LOG_LINE_MAX)));
        }
        /* Full to the last byte, and not turned over before there is another line. */
        read_both(&disk);
        ck_assert_uint_eq(strlen(newer), LOG_SIZE_MAX);
        ck_assert_uint_eq(strlen(older), round == 0 ? 0 : LOG_SIZE_MAX);
    }
    ck_assert(log_write(&log, make_line(++number, 40)));
    read_both(&disk);
    ck_assert_uint_eq(strlen(newer), 40);
    unsigned long last = 2 * lines; /* the third thousand, more or less, and the last line */
    unsigned long count = 0;
    ck_assert_uint_eq(read_lines(older, older_size, &last, &count), 0);
    ck_assert_uint_eq(count, lines);
    ck_assert_uint_eq(read_lines(newer, newer_size, &last, &count), 0);
    ck_assert_uint_eq(last, number);
    log_close(&log);
    ck_assert_uint_eq(disk.opened, 0);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(half_a_line_is_closed_off_at_the_next_start)
{
    struct fault_disk disk;
    struct log log;
    fault_disk_make(&disk, 1);
    fault_disk_put(&disk, LOG_NAME, "{\"a\":1}\n{\"b\":", 13);
    ck_assert(log_open(&log, &disk.files));
    ck_assert(log_write(&log, "{\"c\":3}"));
    log_close(&log);
    read_both(&disk);
    ck_assert_str_eq(newer, "{\"a\":1}\n{\"b\":\n{\"c\":3}\n");
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_line_that_does_not_go_in_whole_does_not_go_in_at_all)
{
    for (size_t room = 0; room < 60; room++) {
        for (int cannot_cut = 0; cannot_cut < 2; cannot_cut++) {
            struct fault_disk disk;
            struct log log;
            fault_disk_make(&disk, room);
            ck_assert(log_open(&log, &disk.files));
            ck_assert(log_write(&log, make_line(1, 60)));
            disk.room = room;
            if (cannot_cut) { /* the write after the partial one fails, and cutting it off too */
                disk.fail_first = disk.operations + 2;
                disk.fail_last = disk.operations + 3;
                disk.fail_error = ENOSPC;
            }
            ck_assert(!log_write(&log, make_line(2, 60)));
            ck_assert_int_eq(errno, ENOSPC);
            ck_assert_uint_eq(log.lost, 1);
            disk.fail_first = disk.fail_last = 0;
            disk.room = SIZE_MAX;
            ck_assert(log_write(&log, make_line(3, 30))); /* shorter than what may lie there */
            log_close(&log);
            read_both(&disk);
            unsigned long last = 0;
            unsigned long count = 0;
            ck_assert_uint_eq(read_lines(newer, newer_size, &last, &count), 0);
            ck_assert_uint_eq(count, 2);
            ck_assert_int_eq(newer_size, 90);
            fault_disk_free(&disk);
        }
    }
}
END_TEST

START_TEST(a_log_that_cannot_be_opened_counts_its_lines_and_is_tried_again)
{
    struct fault_disk disk;
    struct log log;
    fault_disk_make(&disk, 1);
    disk.read_only = true;
    ck_assert(!log_open(&log, &disk.files));
    ck_assert_int_eq(errno, EROFS);
    ck_assert_int_eq(log.fd, -1);
    for (unsigned long i = 1; i <= 5; i++) {
        ck_assert(!log_write(&log, "{}"));
        ck_assert_int_eq(errno, EROFS);
        ck_assert_uint_eq(log.lost, i);
    }
    disk.read_only = false;
    ck_assert(log_write(&log, "{\"back\":1}"));
    ck_assert_uint_eq(log.lost, 5);
    log_close(&log);
    read_both(&disk);
    ck_assert_str_eq(newer, "{\"back\":1}\n");
    fault_disk_free(&disk);
}
END_TEST

/* A log that has room for `left` more bytes, durable, with lines from 1; the last one's number. */
static unsigned long put_nearly_full(struct fault_disk *disk, size_t left)
{
    size_t size = 0;
    unsigned long number = 0;
    while (LOG_SIZE_MAX - left - size >= 2 * LOG_LINE_MAX) {
        strcpy(newer + size, make_line(++number, LOG_LINE_MAX));
        size += LOG_LINE_MAX;
        newer[size - 1] = '\n';
    }
    while (LOG_SIZE_MAX - left > size) {
        size_t rest = LOG_SIZE_MAX - left - size;
        size_t line = rest > LOG_LINE_MAX ? rest / 2 : rest;
        strcpy(newer + size, make_line(++number, line));
        size += line;
        newer[size - 1] = '\n';
    }
    fault_disk_put(disk, LOG_NAME, newer, size);
    fault_disk_put(disk, LOG_NAME_OLDER, "{\"line\":0}\n", 11);
    return number;
}

START_TEST(a_line_with_just_enough_room_stays_and_one_with_a_byte_too_little_begins_the_next)
{
    for (size_t left = 59; left <= 61; left++) {
        struct fault_disk disk;
        struct log log;
        fault_disk_make(&disk, 1);
        unsigned long number = put_nearly_full(&disk, left);
        ck_assert(log_open(&log, &disk.files));
        ck_assert(log_write(&log, make_line(number + 1, 60)));
        log_close(&log);
        read_both(&disk);
        ck_assert_int_eq(newer_size, left < 60 ? 60 : LOG_SIZE_MAX - (long)left + 60);
        ck_assert_int_eq(older_size, left < 60 ? LOG_SIZE_MAX - (long)left : 11);
        fault_disk_free(&disk);
    }
}
END_TEST

/* Some lines across the turning over, and a failed call or a cut at one operation; the same log,
 * or a new one, goes on. */
static bool turn_over(uint64_t seed, unsigned long fail_at, unsigned long die_at)
{
    struct fault_disk disk;
    struct log log;
    fault_disk_make(&disk, seed);
    unsigned long durable = put_nearly_full(&disk, 150);
    unsigned long number = durable;
    disk.choppy = seed % 2 == 0;
    disk.fail_first = disk.fail_last = fail_at;
    disk.fail_error = EIO;
    disk.die_at = die_at;
    unsigned long lost = 0;
    bool opened = log_open(&log, &disk.files);
    for (int i = 0; i < 5; i++) { /* two have room, three are the first of the next */
        bool kept_now = log_write(&log, make_line(++number, 60));
        lost += !kept_now;
        durable += kept_now && i == 2 && lost == 0 ? 2 : 0; /* turned over: the two before */
    }
    bool reached = disk.dead || disk.failed != NULL;
    if (log.lost != lost || (!reached && (lost > 0 || !opened))) {
        ck_abort_msg("%lu lost, %lu counted: REGLET_SEED=%" PRIu64, lost, log.lost, seed);
    }
    if (disk.dead) {
        fault_disk_cut(&disk);
        ck_assert(log_open(&log, &disk.files));
    }
    disk.fail_first = disk.fail_last = disk.die_at = 0;
    unsigned long after = number;
    for (int i = 0; i < 3; i++) {
        ck_assert(log_write(&log, make_line(++number, 60)));
    }
    log_close(&log);
    ck_assert_uint_eq(disk.opened, 0);
    read_both(&disk);
    unsigned long last = 0;
    unsigned long count = 0;
    size_t broken = read_lines(older, older_size, &last, &count);
    broken += read_lines(newer, newer_size, &last, &count);
    broken -= strncmp(older, "{\"line\":0}", 10) == 0;
    /* Of what was durable nothing is gone; nor what was written after; and the five between are
     * there unless they were lost, or the power was cut. */
    bool fewer = die_at == 0 ? count != number - lost : count < durable + number - after;
    if (last != number || fewer || (die_at == 0 && broken > 0)) {
        ck_abort_msg("%lu of %lu lines, %zu broken: REGLET_SEED=%" PRIu64
                     ", failed at %lu, cut at %lu",
                     count, number, broken, seed, fail_at, die_at);
    }
    fault_disk_free(&disk);
    return reached;
}

START_TEST(turning_over_survives_a_failed_call_and_a_power_cut_at_any_operation)
{
    for (uint64_t seed = base_seed; seed < base_seed + 3; seed++) {
        unsigned long at = 1;
        while (turn_over(seed, at, 0)) {
            at++;
        }
        ck_assert_uint_gt(at, 12);
        at = 1;
        while (turn_over(seed, 0, at)) {
            at++;
        }
        ck_assert_uint_gt(at, 12);
    }
}
END_TEST

START_TEST(the_full_log_keeps_a_name_whatever_names_a_cut_leaves)
{
    for (uint64_t seed = base_seed; seed < base_seed + 150; seed++) {
        (void)turn_over(2 * seed + 1, 0, 9 + seed % 5); /* odd: the calls are always the same */
    }
}
END_TEST

/* After a power cut on a simple file system both names may be of one file. */
START_TEST(a_log_with_two_names_still_turns_over)
{
    struct fault_disk disk;
    struct log log;
    fault_disk_make(&disk, 1);
    unsigned long number = put_nearly_full(&disk, 0);
    for (int i = 0; i < disk.cached.count; i++) {
        disk.cached.of[i].file = disk.cached.of[0].file;
    }
    ck_assert(log_open(&log, &disk.files));
    ck_assert(log_write(&log, make_line(++number, 60)));
    log_close(&log);
    read_both(&disk);
    ck_assert_uint_eq(strlen(newer), 60);
    ck_assert_uint_eq(strlen(older), LOG_SIZE_MAX);
    fault_disk_free(&disk);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("log");
    TCase *all = tcase_create("lines");
    tcase_set_timeout(all, 100);
    tcase_add_test(all, lines_stand_one_below_the_other_and_a_closed_log_is_durable);
    tcase_add_test(all, a_line_that_is_none_is_refused_and_counted);
    tcase_add_test(all, pages_hold_all_whole_lines_from_a_time_on_across_both_files);
    tcase_add_test(all, a_page_that_the_disk_does_not_give_is_refused);
    tcase_add_test(all, the_log_turns_over_exactly_when_a_line_has_no_room);
    tcase_add_test(
        all, a_line_with_just_enough_room_stays_and_one_with_a_byte_too_little_begins_the_next);
    tcase_add_test(all, half_a_line_is_closed_off_at_the_next_start);
    tcase_add_test(all, a_line_that_does_not_go_in_whole_does_not_go_in_at_all);
    tcase_add_test(all, a_log_that_cannot_be_opened_counts_its_lines_and_is_tried_again);
    tcase_add_test(all, turning_over_survives_a_failed_call_and_a_power_cut_at_any_operation);
    tcase_add_test(all, the_full_log_keeps_a_name_whatever_names_a_cut_leaves);
    tcase_add_test(all, a_log_with_two_names_still_turns_over);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
