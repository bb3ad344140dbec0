/* SPDX-License-Identifier: MIT */
/* The adapter pulled out and put in again, a hundred times, at rest and in mid-move. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

enum { ROUNDS = 100, TOLD_MS = 10, BACK_MS = 1000, SILENT_MS = 500, SILENT_ROUNDS = 30 };

/* The last activity that a watcher was told since he was last asked, or "". */
static void last_heard(struct rig *rig, FILE *watcher, char *word)
{
    cJSON *heard = rig_heard(rig, watcher);
    const cJSON *last = cJSON_GetArrayItem(heard, cJSON_GetArraySize(heard) - 1);
    const cJSON *activity = cJSON_GetObjectItem(cJSON_GetObjectItem(last, "params"), "activity");
    snprintf(word, 32, "%s", activity ? activity->valuestring : "");
    cJSON_Delete(heard);
}

/* In 5 ms steps: how long until the watcher has heard `wanted`. */
static int until_heard(struct rig *rig, FILE *watcher, const char *wanted, int most_ms)
{
    char word[32];
    for (int ms = 0; ms <= most_ms; ms += 5) {
        last_heard(rig, watcher, word);
        if (strcmp(word, wanted) == 0) {
            return ms;
        }
        rig_run(rig, 5);
    }
    ck_abort_msg("'%s' was not heard within %d ms", wanted, most_ms);
    return -1;
}

static void pull_and_put(struct rig *rig, FILE *watcher, uint64_t *seed)
{
    rig_tell(rig, "unplug");
    until_heard(rig, watcher, "unplugged", TOLD_MS);
    rig_run(rig, (int)rig_draw(seed, 3) * (int)rig_draw(seed, 4000));
    rig_tell(rig, "plug");
    until_heard(rig, watcher, "still", BACK_MS);
    expect_status(rig, rig->client, "table_zero", "sure");
    expect_status(rig, rig->client, "reference", "sure");
    expect_agreement(rig);
}

START_TEST(at_rest)
{
    struct rig rig;
    uint64_t seed = rig_seed("plug-at-rest");
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    FILE *watcher = rig_connect(&rig);
    cJSON_Delete(rig_answer(watcher, rig_send(&rig, watcher, "watch", NULL)));
    for (int i = 0; i < ROUNDS; i++) {
        rig_run(&rig, (int)rig_draw(&seed, 300));
        pull_and_put(&rig, watcher, &seed);
    }
    expect_done(rig_call(&rig, "to", "{\"height\":\"10mm\"}"));
    expect_agreement(&rig);
    fclose(watcher);
    rig_end(&rig);
}
END_TEST

START_TEST(in_mid_move)
{
    struct rig rig;
    uint64_t seed = rig_seed("plug-in-mid-move");
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    FILE *watcher = rig_connect(&rig);
    cJSON_Delete(rig_answer(watcher, rig_send(&rig, watcher, "watch", NULL)));
    for (int i = 0; i < ROUNDS; i++) {
        cJSON *truth = rig_ask(&rig, "truth");
        bool high = rig_number(truth, "height_nm") > 0;
        cJSON_Delete(truth);
        int id = rig_send(&rig, rig.client, "to",
                          high ? "{\"height\":\"-10mm\"}" : "{\"height\":\"10mm\"}");
        cJSON_Delete(rig_answer(rig.client, rig_send(&rig, rig.client, "hello", NULL)));
        rig_run(&rig, 20 + (int)rig_draw(&seed, 900)); /* the shortest of them takes longer */
        expect_status(&rig, rig.client, "activity", "moving");
        rig_tell(&rig, "unplug");
        rig_run(&rig, TOLD_MS);
        expect_reason(rig_answer(rig.client, id), "unplugged");
        until_heard(&rig, watcher, "unplugged", 0);
        rig_run(&rig, (int)rig_draw(&seed, 1000));
        rig_tell(&rig, "plug");
        until_heard(&rig, watcher, "still", BACK_MS);
        expect_status(&rig, rig.client, "table_zero", "sure"); /* the generator counted on */
        expect_agreement(&rig);
    }
    fclose(watcher);
    rig_end(&rig);
}
END_TEST

/* Its board loses power, and the cable stays in: nothing is told but silence. Until that is said
 * the age of what is shown tells it. */
static void fall_silent(struct rig *rig, FILE *watcher, int after_ms)
{
    int ms = 0;
    rig_run(rig, after_ms);
    rig_tell(rig, "power off");
    for (bool unplugged = false; !unplugged; ms += 5) {
        cJSON *answer = rig_answer(rig->client, rig_send(rig, rig->client, "status", NULL));
        const cJSON *status = cJSON_GetObjectItem(answer, "result");
        const char *word = cJSON_GetObjectItem(status, "activity")->valuestring;
        unplugged = strcmp(word, "unplugged") == 0;
        ck_assert_msg(ms <= SILENT_MS, "%d ms after its end it is '%s'", ms, word);
        if (unplugged) {
            ck_assert(!cJSON_HasObjectItem(status, "height"));
            ck_assert(!cJSON_HasObjectItem(status, "age_ms"));
        } else { /* what was heard last lies at most one poll before the end */
            ck_assert_double_ge(rig_number(status, "age_ms"), ms - 25);
        }
        cJSON_Delete(answer);
        rig_run(rig, 5);
    }
    until_heard(rig, watcher, "unplugged", 0);
    rig_tell(rig, "power on");
    until_heard(rig, watcher, "still", BACK_MS);
}

START_TEST(a_board_that_falls_silent_is_known_within_half_a_second)
{
    struct rig rig;
    uint64_t seed = rig_seed("silent board");
    rig_start(&rig, true, 16);
    rig_touch_off(&rig);
    FILE *watcher = rig_connect(&rig);
    cJSON_Delete(rig_answer(watcher, rig_send(&rig, watcher, "watch", NULL)));
    for (int i = 0; i < SILENT_ROUNDS; i++) {
        fall_silent(&rig, watcher, (int)rig_draw(&seed, 600));
        expect_status(&rig, rig.client, "table_zero", "unchecked");
        expect_done(rig_call(&rig, "confirm", NULL));
        int id = rig_send(&rig, rig.client, "by",
                          i % 2 ? "{\"distance\":\"-10mm\"}" : "{\"distance\":\"10mm\"}");
        cJSON_Delete(rig_answer(rig.client, rig_send(&rig, rig.client, "hello", NULL)));
        if (i < SILENT_ROUNDS - 1) {
            expect_done(rig_settle(&rig, rig.client, id));
        }
    }
    fall_silent(&rig, watcher, 300); /* in the last of these moves */
    expect_status(&rig, rig.client, "table_zero", "lost");
    fclose(watcher);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("plug");
    TCase *cases = tcase_create("plug");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, at_rest);
    tcase_add_test(cases, in_mid_move);
    tcase_add_test(cases, a_board_that_falls_silent_is_known_within_half_a_second);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
