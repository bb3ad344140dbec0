/* SPDX-License-Identifier: MIT */
/*
 * Documents under power cuts, kills and a failing disk, at every operation: what is read is the
 * one before or the one that was being saved, and no third; and no damaged one is ever overwritten.
 */
#include <check.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/document.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/fault_disk.c"
#include "tests/unit/story.h"

enum { TEXT_SIZE = 4096, TREASURES = 3 };

static const char name[] = "shop.json";

/* What was damaged from the beginning of the story that is being told. */
static struct {
    bool good_may_be_taken;           /* the document was planted damaged */
    bool may_be_lost;                 /* so was the last good one */
    const char *treasures[TREASURES]; /* damaged files; each must be there under some name */
} planted;

static void begin_story(struct story *story, uint64_t seed)
{
    memset(&planted, 0, sizeof planted);
    make_story(story, seed);
}

/* A document that its number makes, of changing length. */
static const char *make_text(int number)
{
    static char text[TEXT_SIZE];
    uint64_t random = (uint64_t)number;
    int length = (int)seed_below(&random, 3 * FAULT_SECTOR);
    (void)snprintf(text, sizeof text, "{\"version\": 1, \"number\": %d, \"wood\": \"%0*d\"}",
                   number, length, number);
    return text;
}

static void expect_document(const struct story *story, const cJSON *document, int *number)
{
    char *text = cJSON_PrintUnformatted(document);
    *number = cJSON_GetObjectItem(document, "number")->valueint;
    cJSON *meant = cJSON_Parse(make_text(*number));
    if (text == NULL || !cJSON_Compare(document, meant, true)) {
        broken(story, "a document that was never saved");
    }
    cJSON_free(text);
    cJSON_Delete(meant);
}

static bool expected(enum document_found found)
{
    switch (found) {
    case DOCUMENT_FRESH:
        return !planted.good_may_be_taken;
    case DOCUMENT_WHOLE:
        return true;
    case DOCUMENT_LAST_GOOD:
        return planted.good_may_be_taken && !planted.may_be_lost;
    case DOCUMENT_LOST:
        return planted.may_be_lost;
    default:
        return false;
    }
}

/* False when the process died, or the disk failed, first. */
static bool load(struct story *story)
{
    cJSON *document = NULL;
    char why[DOCUMENT_WHY_SIZE];
    enum document_found found =
        document_load(&story->disk.files, name, 1, NULL, &document, why, sizeof why);
    int number = 0;
    if (document != NULL) {
        expect_document(story, document, &number);
    }
    cJSON_Delete(document);
    if (story->disk.dead || (story->disk.failed != NULL && found == DOCUMENT_UNREADABLE)) {
        return false;
    }
    if (!expected(found)) {
        broken(story, why[0] != '\0' ? why : "found fresh, after a document");
    }
    bool silent = found == DOCUMENT_FRESH || found == DOCUMENT_WHOLE;
    if (silent != (why[0] == '\0') || (document == NULL) != (number == 0)) {
        broken(story, "no sentence, or one too many");
    }
    if (!is_possible(story, number)) {
        broken(story, "neither the document before nor the one being saved");
    }
    only_possible(story, number); /* for loading makes durable what it gives */
    return true;
}

static bool save(struct story *story)
{
    const char *step = NULL;
    int number = story->next++;
    bool kept = document_save(&story->disk.files, name, make_text(number), &step);
    if (kept) {
        only_possible(story, number);
        return true;
    }
    if (!story->disk.dead && story->disk.failed == NULL) {
        broken(story, "refused without a cause");
    }
    if (step == NULL) {
        broken(story, "the step that failed is not told");
    }
    also_possible(story, number);
    return false;
}

static bool lies_somewhere(const struct story *story, const char *text)
{
    for (int i = 0; i < story->disk.cached.count; i++) {
        char bytes[TEXT_SIZE] = "";
        long size =
            fault_disk_get(&story->disk, story->disk.cached.of[i].name, bytes, sizeof bytes - 1);
        if (size == (long)strlen(text) && strcmp(bytes, text) == 0) {
            return true;
        }
    }
    return false;
}

static bool absent_or_whole(const struct story *story, const char *file)
{
    char bytes[TEXT_SIZE] = "";
    long size = fault_disk_get(&story->disk, file, bytes, sizeof bytes - 1);
    cJSON *document = cJSON_Parse(bytes);
    cJSON_Delete(document);
    return size < 0 || document != NULL;
}

/* Every damaged file is still there, whatever it is called now; and what is called good is good. */
static void look_around(const struct story *story)
{
    for (int i = 0; i < TREASURES && planted.treasures[i] != NULL; i++) {
        if (!lies_somewhere(story, planted.treasures[i])) {
            broken(story, planted.treasures[i]);
        }
    }
    if ((!planted.good_may_be_taken && !absent_or_whole(story, name)) ||
        (!planted.may_be_lost && !absent_or_whole(story, "shop.json.good"))) {
        broken(story, "one of the two documents is not whole");
    }
}

static void live(struct story *story, int saves)
{
    if (load(story)) {
        for (int i = 0; i < saves && !story->disk.dead; i++) {
            (void)save(story);
        }
        if (!story->disk.dead && story->disk.opened != 0) {
            broken(story, "a descriptor was left open");
        }
    }
}

static void end_life(struct story *story, bool cut)
{
    if (cut) {
        fault_disk_cut(&story->disk);
    } else {
        fault_disk_restart(&story->disk);
    }
    look_around(story);
}

/* What lies on the disk at first. */
enum plant { PLANT_NOTHING, PLANT_WHOLE, PLANT_DAMAGED, PLANT_BOTH_DAMAGED, PLANTS };

static void put_text(struct story *story, const char *file, const char *text)
{
    fault_disk_put(&story->disk, file, text, strlen(text));
}

static void put_plant(struct story *story, enum plant plant)
{
    if (plant == PLANT_NOTHING) {
        return;
    }
    story->next = 3;
    put_text(story, "shop.json.good", make_text(1));
    if (plant == PLANT_WHOLE) {
        put_text(story, name, make_text(2));
        only_possible(story, 2);
        return;
    }
    planted.good_may_be_taken = true;
    planted.treasures[0] = "damaged long ago";
    planted.treasures[1] = "{\"version\": 1, \"number\":";
    put_text(story, "shop.json.damaged", planted.treasures[0]);
    put_text(story, name, planted.treasures[1]);
    only_possible(story, 1);
    if (plant == PLANT_BOTH_DAMAGED) {
        planted.may_be_lost = true;
        planted.treasures[2] = "{\"version\": 1, \"number\": 1, }";
        put_text(story, "shop.json.good", planted.treasures[2]);
        only_possible(story, 0);
    }
}

enum { FIRST_SAVES = 2, LATER_SAVES = 1 };

/* Three lives; the first two die at the operations given (0: at their end). The operations of
 * either, for the loops. */
struct counts {
    unsigned long first;
    unsigned long second;
};

static struct counts three_lives(enum plant plant, uint64_t seed, unsigned long first,
                                 unsigned long second)
{
    struct story story;
    struct counts counts;
    begin_story(&story, seed);
    put_plant(&story, plant);
    bool cut_first = (first + second) % 3 != 0;
    bool cut_second = (first + 2 * second) % 4 != 0;
    story.disk.die_at = first;
    add_place(&story, "plant", plant);
    add_place(&story, cut_first ? "cut" : "killed", first);
    live(&story, FIRST_SAVES);
    counts.first = story.disk.operations;
    story.disk.random += first;
    end_life(&story, cut_first);
    story.disk.die_at = second;
    story.disk.choppy = seed % 2 == 0;
    add_place(&story, cut_second ? "then cut" : "then killed", second);
    live(&story, LATER_SAVES);
    counts.second = story.disk.operations;
    story.disk.random += second;
    end_life(&story, cut_second);
    live(&story, 1);
    end_life(&story, true);
    live(&story, 0);
    fault_disk_free(&story.disk);
    return counts;
}

START_TEST(a_cut_or_kill_at_any_operation_and_again_at_any_of_the_next_start_leaves_old_or_new)
{
    unsigned long schedules = 0;
    for (uint64_t seed = base_seed; seed < base_seed + 3; seed++) {
        for (enum plant plant = PLANT_NOTHING; plant < PLANTS; plant++) {
            unsigned long first_count = three_lives(plant, seed, 0, 0).first;
            for (unsigned long first = 1; first <= first_count; first++) {
                unsigned long second_count = three_lives(plant, seed, first, 0).second;
                for (unsigned long second = 1; second <= second_count; second++) {
                    (void)three_lives(plant, seed, first, second);
                    schedules++;
                }
            }
        }
    }
    printf("document: %lu schedules\n", schedules);
    ck_assert_uint_gt(schedules, 2000);
}
END_TEST

START_TEST(random_lives_with_failing_calls_kills_and_cuts_leave_old_or_new)
{
    for (uint64_t seed = base_seed; seed < base_seed + 2000; seed++) {
        struct story story;
        begin_story(&story, seed);
        uint64_t random = seed ^ 0x5eed;
        put_plant(&story, (enum plant)seed_below(&random, PLANTS));
        for (int life = 0; life < 6; life++) {
            size_t trouble = seed_below(&random, 4);
            unsigned long at = 1 + seed_below(&random, 40);
            if ((trouble & 1) != 0) {
                story.disk.fail_first = at;
                story.disk.fail_last = at + seed_below(&random, 3);
                story.disk.fail_error = EIO;
                add_place(&story, "failed", at);
            }
            if ((trouble & 2) != 0) {
                story.disk.die_at = at + seed_below(&random, 20);
                add_place(&story, "died", story.disk.die_at);
            }
            live(&story, (int)seed_below(&random, 4));
            bool cut = seed_below(&random, 2) == 0;
            add_place(&story, cut ? "power cut, life" : "new process, life", (unsigned long)life);
            end_life(&story, cut);
        }
        fault_disk_free(&story.disk);
    }
}
END_TEST

/* The document goes bad under a running daemon, which then saves and is cut. */
static bool spoilt_cut(uint64_t seed, unsigned long at)
{
    struct story story;
    begin_story(&story, seed);
    put_plant(&story, PLANT_WHOLE);
    add_place(&story, "cut", at);
    ck_assert(load(&story));
    planted.treasures[0] = "{\"version\": 1, \"number\": 2";
    put_text(&story, name, planted.treasures[0]);
    planted.good_may_be_taken = true;
    only_possible(&story, 1);
    fault_disk_restart(&story.disk);
    story.disk.die_at = at;
    bool kept = save(&story);
    end_life(&story, at % 4 != 0);
    live(&story, 1);
    end_life(&story, true);
    live(&story, 0);
    fault_disk_free(&story.disk);
    return !kept;
}

START_TEST(a_document_spoilt_in_the_meantime_does_not_replace_the_good_one_and_is_kept)
{
    for (uint64_t seed = base_seed; seed < base_seed + 100; seed++) {
        unsigned long at = 1;
        while (spoilt_cut(seed, at)) {
            at++;
        }
        ck_assert_uint_gt(at, 12);
    }
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("document cuts");
    TCase *all = tcase_create("cuts");
    tcase_set_timeout(all, 100);
    tcase_add_test(
        all, a_cut_or_kill_at_any_operation_and_again_at_any_of_the_next_start_leaves_old_or_new);
    tcase_add_test(all, random_lives_with_failing_calls_kills_and_cuts_leave_old_or_new);
    tcase_add_test(all,
                   a_document_spoilt_in_the_meantime_does_not_replace_the_good_one_and_is_kept);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
