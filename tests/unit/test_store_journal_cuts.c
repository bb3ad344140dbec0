/* SPDX-License-Identifier: MIT */
/*
 * The journal under power cuts, kills and a failing disk, at every operation: what is read is the
 * record before or the one that was being written, and no third.
 */
#include <check.h>
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/journal.h"
#include "daemon/store/record.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/fault_disk.c"
#include "tests/unit/story.h"

static uint32_t read_number; /* of the record that was read in this life */

static void begin_story(struct story *story, uint64_t seed)
{
    make_story(story, seed);
    story->disk.fail_error = EIO;
}

/* A record that its number makes, of changing length. */
static struct journal_record make_record(uint32_t number)
{
    uint64_t random = number;
    struct journal_record record = {
        .count_known = true,
        .count = (int32_t)number,
        .leg_under_way = number % 2 == 0,
        .leg_end = number % 2 == 0 ? (int32_t)seed_next(&random) : 0,
        .reference = TRUST_SURE,
        .table_zero = TRUST_UNCHECKED,
        .zero_nm = (int64_t)(seed_next(&random) >> 12),
        .epoch = (uint16_t)number,
        .screw_digest = (uint32_t)seed_next(&random),
    };
    memset(record.bit, 'a', seed_below(&random, sizeof record.bit));
    return record;
}

static void expect_record(const struct story *story, const struct journal_record *record)
{
    char got[JOURNAL_SLOT_SIZE];
    char meant[JOURNAL_SLOT_SIZE];
    struct journal_record made = make_record((uint32_t)record->count);
    size_t size = record_print(record, got, sizeof got);
    if (size == 0 || record_print(&made, meant, sizeof meant) != size ||
        memcmp(got, meant, size) != 0) {
        broken(story, "a record that was never written");
    }
}

/* Opens and judges what is found; false when the process died first. */
static bool open_journal(struct story *story, struct journal *journal, bool cut)
{
    struct journal_record record = {0};
    enum journal_found found = journal_open(journal, &story->disk.files, &record);
    if (story->disk.dead || (story->disk.failed != NULL && found == JOURNAL_UNREADABLE)) {
        return false;
    }
    if (found != JOURNAL_WHOLE && found != JOURNAL_FRESH) {
        broken(story, "neither a whole journal nor none");
    }
    uint32_t number = 0;
    if (found == JOURNAL_WHOLE) {
        expect_record(story, &record);
        number = (uint32_t)record.count;
    }
    if (!is_possible(story, number)) {
        broken(story, "neither the record before nor the one being written");
    }
    if (cut) {
        only_possible(story, number);
    }
    read_number = number;
    return true;
}

/* One process: it reads, and writes so many records, or dies. */
static void live(struct story *story, int writes, bool cut)
{
    struct journal journal;
    if (!open_journal(story, &journal, cut)) {
        return;
    }
    for (int i = 0; i < writes && !story->disk.dead; i++) {
        uint32_t number = story->next++;
        struct journal_record record = make_record(number);
        unsigned long before = story->disk.alterations;
        bool kept = journal_write(&journal, &record);
        if (kept) {
            only_possible(story, number);
            continue;
        }
        if (!story->disk.dead && story->disk.failed == NULL) {
            broken(story, "refused without a cause");
        }
        /* Before any byte is altered, what was read must be safe; over itself it may be written. */
        if (before == 0 && story->disk.alterations > 0) {
            only_possible(story, read_number);
        }
        also_possible(story, number);
    }
    if (!story->disk.dead) {
        journal_close(&journal);
        if (story->disk.opened != 0) {
            broken(story, "a descriptor was left open");
        }
    }
}

/* The end of a life: of the process only, or of the power. */
static void end_life(struct story *story, bool cut)
{
    (cut ? fault_disk_cut : fault_disk_restart)(&story->disk);
}

enum { FIRST_WRITES = 3, LATER_WRITES = 2 };

/* A life that dies at that operation (0: at its end); how many it took. */
static unsigned long short_life(struct story *story, int writes, bool cut_before, unsigned long die,
                                bool cut)
{
    story->disk.choppy = story->seed % 2 == 0;
    story->disk.die_at = die;
    add_place(story, cut ? "cut" : "killed", die);
    live(story, writes, cut_before);
    unsigned long operations = story->disk.operations;
    story->disk.random += die;
    end_life(story, cut);
    return operations;
}

/* Three lives; the first two die at the operations given (0: at their end). The operations that
 * the second took. */
static unsigned long three_lives(uint64_t seed, unsigned long first, unsigned long second,
                                 unsigned ways)
{
    struct story story;
    begin_story(&story, seed);
    bool cut_first = (ways & 1) != 0, cut_second = (ways & 2) != 0;
    (void)short_life(&story, FIRST_WRITES, true, first, cut_first);
    unsigned long operations = short_life(&story, LATER_WRITES, cut_first, second, cut_second);
    live(&story, LATER_WRITES, cut_second);
    end_life(&story, true);
    live(&story, 0, true);
    fault_disk_free(&story.disk);
    return operations;
}

static unsigned long operations_of_first_life(uint64_t seed)
{
    struct story story;
    begin_story(&story, seed);
    unsigned long operations = short_life(&story, FIRST_WRITES, true, 0, true);
    fault_disk_free(&story.disk);
    return operations;
}

START_TEST(a_cut_or_kill_at_any_operation_and_again_at_any_of_the_next_start_leaves_old_or_new)
{
    unsigned long schedules = 0;
    for (uint64_t seed = base_seed; seed < base_seed + 3; seed++) {
        unsigned long first_count = operations_of_first_life(seed);
        for (unsigned long first = 1; first <= first_count; first++) {
            for (unsigned ways = 0; ways < 4; ways++) {
                unsigned long second_count = three_lives(seed, first, 0, ways);
                for (unsigned long second = 1; second <= second_count; second++) {
                    (void)three_lives(seed, first, second, ways);
                    schedules++;
                }
            }
        }
    }
    printf("journal: %lu schedules\n", schedules);
    ck_assert_uint_gt(schedules, 2000);
}
END_TEST

/* A life in which the process dies, or an operation fails, or both. It does not die between a
 * failed sync and the write that makes the slot void in the cache, or makes what was read be tried
 * again: that is two faults within microseconds, which journal.h does not promise to outlive. */
static void troubled_life(struct story *story, uint64_t *random, bool cut)
{
    unsigned long at = 1 + seed_below(random, 16);
    size_t trouble = seed_below(random, 4);
    story->disk.choppy = trouble < 3 && seed_below(random, 2) == 0;
    if (trouble == 0) {
        story->disk.die_at = at;
        add_place(story, "died", at);
    } else if (trouble == 1 || trouble == 3) {
        story->disk.fail_first = story->disk.fail_last = at;
        add_place(story, "failed", at);
    }
    if (trouble == 3) {
        story->disk.die_at = at + 2 + seed_below(random, 6);
        add_place(story, "died", story->disk.die_at);
    }
    live(story, (int)seed_below(random, 5), cut);
}

START_TEST(random_lives_with_failing_calls_kills_and_cuts_leave_old_or_new)
{
    for (uint64_t seed = base_seed; seed < base_seed + 3000; seed++) {
        struct story story;
        begin_story(&story, seed);
        uint64_t random = seed ^ 0x5eed;
        bool cut = true;
        for (int life = 0; life < 6; life++) {
            troubled_life(&story, &random, cut);
            cut = seed_below(&random, 2) == 0 || story.possible_count > POSSIBLE_MAX / 2;
            add_place(&story, cut ? "power cut, life" : "new process, life", (unsigned long)life);
            end_life(&story, cut);
            if (cut) {
                live(&story, 0, true); /* so that the next one knows what is possible */
                end_life(&story, false);
                cut = false;
            }
        }
        fault_disk_free(&story.disk);
    }
}
END_TEST

/* Writes two records, has a failure, and wants all to be well again afterwards. */
static const char *one_failure(uint64_t seed, unsigned long at, unsigned long count, int error)
{
    struct story story;
    begin_story(&story, seed);
    add_place(&story, "failed", at);
    live(&story, 2, true);
    end_life(&story, false);
    story.disk.fail_first = at;
    story.disk.fail_last = at + count - 1;
    story.disk.fail_error = error;
    struct journal journal;
    uint32_t before = story.possible[0];
    struct journal_record record = make_record(story.next++);
    if (open_journal(&story, &journal, false)) {
        errno = 0;
        bool kept = journal_write(&journal, &record);
        /* A close after reading has nothing to lose. */
        bool told = story.disk.failed != NULL && strcmp(story.disk.failed, "close") != 0;
        if (kept == told || (!kept && errno != error)) {
            broken(&story, "a failed call was not told, or another was");
        }
        story.disk.fail_first = story.disk.fail_last = 0;
        if (kept) {
            only_possible(&story, (uint32_t)record.count);
        } else {
            /* A new process reads the old record, and this one can write again. */
            struct journal other;
            struct journal_record read;
            if (journal_open(&other, &story.disk.files, &read) != JOURNAL_WHOLE ||
                (uint32_t)read.count != before || !journal_write(&journal, &record)) {
                broken(&story, "the old record is not read, or no new one can be written");
            }
            only_possible(&story, (uint32_t)record.count);
        }
        journal_close(&journal);
    } else if (errno != error) {
        broken(&story, "unreadable, for another reason");
    }
    const char *failed = story.disk.failed;
    end_life(&story, true);
    live(&story, 1, true);
    fault_disk_free(&story.disk);
    return failed;
}

START_TEST(a_call_that_fails_is_told_and_leaves_the_old_record_and_later_writes_work)
{
    static const int errors[] = {EIO, ENOSPC, EROFS, EDQUOT};
    for (uint64_t seed = base_seed; seed < base_seed + 50; seed++) {
        for (unsigned long at = 1; at <= 9; at++) {
            bool last = at == 9; /* there are eight, and the end of reading */
            const char *failed = one_failure(seed, at, 1, errors[seed % 4]);
            if ((failed == NULL) != last) {
                ck_abort_msg("the operations are not those that this test knows: %lu", at);
            }
        }
    }
}
END_TEST

static void next_process(struct story *story, int writes, unsigned long fail, unsigned long die)
{
    end_life(story, false);
    story->disk.fail_first = story->disk.fail_last = fail;
    story->disk.die_at = die;
    live(story, writes, false);
}

/* The newest record is in the cache alone, or (refused) the slot beside it is void there alone, and
 * the sync that is to make what was found durable fails. The next sync, in the same process or a
 * new one, succeeds and keeps nothing. False when the end came before the cut. */
static bool settling_fails(uint64_t seed, bool refused, bool same_process, unsigned long at)
{
    enum { FOUND = 5, WRITTEN = 8 }; /* the operations that sync it */
    struct story story;
    begin_story(&story, seed);
    add_place(&story, refused ? "refused, settling failed, cut" : "settling failed, cut", at);
    live(&story, 2, true);
    next_process(&story, 1, refused ? WRITTEN : 0, refused ? 0 : WRITTEN);
    next_process(&story, same_process ? 2 : 1, FOUND, same_process ? FOUND + 1 + at : 0);
    ck_assert_str_eq(story.disk.failed, "sync");
    if (!same_process) {
        next_process(&story, 1, 0, at);
    }
    bool died = story.disk.dead;
    end_life(&story, true);
    live(&story, 0, true);
    fault_disk_free(&story.disk);
    return died;
}

START_TEST(what_was_found_is_written_again_when_its_sync_has_failed)
{
    for (uint64_t seed = base_seed; seed < base_seed + 200; seed++) {
        for (unsigned way = 0; way < 4; way++) {
            unsigned long at = 1;
            while (settling_fails(seed, (way & 1) != 0, (way & 2) != 0, at)) {
                at++;
            }
            ck_assert_uint_gt(at, 5);
        }
    }
}
END_TEST

START_TEST(a_first_write_that_fails_leaves_no_journal_and_the_next_one_begins_it)
{
    for (uint64_t seed = base_seed; seed < base_seed + 50; seed++) {
        for (unsigned long at = 1; at <= 7;
             at++) { /* folder, remove, open, write, sync, rename, folder */
            struct story story;
            begin_story(&story, seed);
            add_place(&story, "failed", at);
            struct journal journal;
            (void)open_journal(&story, &journal, true);
            story.disk.fail_first = story.disk.fail_last = story.disk.operations + at;
            struct journal_record read, record = make_record(1);
            struct journal other;
            if (journal_write(&journal, &record) || errno != EIO ||
                journal_open(&other, &story.disk.files, &read) != JOURNAL_FRESH ||
                !journal_write(&journal, &record) || record.sequence != 1) {
                broken(&story, "the first write");
            }
            only_possible(&story, 1);
            end_life(&story, true);
            live(&story, 1, true);
            fault_disk_free(&story.disk);
        }
    }
}
END_TEST

/* A damaged journal is set aside and begun anew, cut at any operation: it is never overwritten,
 * and either it is still found damaged or the new record is there. */
static bool begin_anew_cut(uint64_t seed, unsigned long at)
{
    static const char junk[] = "no journal at all";
    static const char older[] = "an older damaged journal";
    struct story story;
    begin_story(&story, seed);
    add_place(&story, "cut", at);
    fault_disk_put(&story.disk, JOURNAL_NAME, junk, sizeof junk);
    fault_disk_put(&story.disk, JOURNAL_NAME_DAMAGED, older, sizeof older);
    story.disk.die_at = at;
    bool kept = false;
    for (int life = 0; life < 2; life++) {
        struct journal journal;
        struct journal_record record = {0};
        enum journal_found found = journal_open(&journal, &story.disk.files, &record);
        if (!story.disk.dead && found != (kept ? JOURNAL_WHOLE : JOURNAL_DAMAGED)) {
            /* It may have been kept without the word for it. */
            if (found != JOURNAL_WHOLE || life == 0 || record.count != 1) {
                broken(&story, "the damaged journal was forgotten");
            }
        }
        if (found == JOURNAL_DAMAGED) {
            record = make_record(1);
            kept = journal_begin_anew(&journal) && journal_write(&journal, &record);
            if (kept && record.sequence != 1) {
                broken(&story, "the new journal does not begin at 1");
            }
        }
        bool done = !story.disk.dead;
        story.disk.random += at;
        fault_disk_cut(&story.disk);
        char got[64] = "", second[64] = "";
        (void)fault_disk_get(&story.disk, JOURNAL_NAME, got, sizeof got);
        (void)fault_disk_get(&story.disk, JOURNAL_NAME_DAMAGED ".2", second, sizeof second);
        if (strcmp(got, junk) != 0 && strcmp(second, junk) != 0) {
            broken(&story, "the damaged journal is gone");
        }
        (void)fault_disk_get(&story.disk, JOURNAL_NAME_DAMAGED, got, sizeof got);
        if (strcmp(got, older) != 0) {
            broken(&story, "an older damaged journal was overwritten");
        }
        if (life == 0 && done) {
            fault_disk_free(&story.disk);
            return false;
        }
    }
    fault_disk_free(&story.disk);
    return true;
}

START_TEST(beginning_anew_can_be_cut_anywhere_and_never_overwrites_a_damaged_journal)
{
    for (uint64_t seed = base_seed; seed < base_seed + 100; seed++) {
        unsigned long at = 1;
        while (begin_anew_cut(seed, at)) {
            at++;
        }
        ck_assert_uint_gt(at, 10);
    }
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("journal cuts");
    TCase *all = tcase_create("cuts");
    tcase_set_timeout(all, 100);
    tcase_add_test(
        all, a_cut_or_kill_at_any_operation_and_again_at_any_of_the_next_start_leaves_old_or_new);
    tcase_add_test(all, random_lives_with_failing_calls_kills_and_cuts_leave_old_or_new);
    tcase_add_test(all, a_call_that_fails_is_told_and_leaves_the_old_record_and_later_writes_work);
    tcase_add_test(all, what_was_found_is_written_again_when_its_sync_has_failed);
    tcase_add_test(all, a_first_write_that_fails_leaves_no_journal_and_the_next_one_begins_it);
    tcase_add_test(all, beginning_anew_can_be_cut_anywhere_and_never_overwrites_a_damaged_journal);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
