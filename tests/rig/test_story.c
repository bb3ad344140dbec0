/* SPDX-License-Identifier: MIT */
/* Stories gone through on the practice lift: by several clients, over a restart, with two bits. */
#include <check.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

/* Finger joint stepped with a slot cutter, kerf .1, clearance .003: bottoms i * .197 + .097 for
 * part A, i * .197 - .0015 for part B (recomputed); tops are .1 above. */
static void finger_joint(char *params, size_t size)
{
    int used = snprintf(params, size, "{\"name\":\"box\",\"marks\":[");
    for (int i = 0; i < 7; i++) {
        used += snprintf(params + used, size - (size_t)used,
                         "%s{\"height\":\"%.4fin\",\"part\":\"A\",\"pieces\":8},"
                         "{\"height\":\"%.4fin\",\"part\":\"B\",\"pieces\":8}",
                         i == 0 ? "" : ",", i * .197 + .097 + .1, i * .197 - .0015 + .1);
    }
    snprintf(params + used, size - (size_t)used, "]}");
}

static double height_of(int mark)
{
    int i = (mark - 1) / 2;
    return (mark % 2 ? i * .197 + .097 + .1 : i * .197 - .0015 + .1) * 25.4e6;
}

static void expect_mark(struct rig *rig, int mark, int cut)
{
    cJSON *answer = rig_call(rig, "status", NULL);
    const cJSON *story = cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "result"), "story");
    ck_assert_ptr_nonnull(story);
    ck_assert_double_eq(rig_number(story, "mark"), mark);
    if (mark > 0) {
        ck_assert_double_eq(rig_number(story, "cut"), cut);
    }
    cJSON_Delete(answer);
    cJSON *truth = rig_ask(rig, "truth");
    if (mark > 0) {
        ck_assert_double_le(fabs(rig_number(truth, "height_nm") - height_of(mark)), 626);
    }
    cJSON_Delete(truth);
}

START_TEST(fourteen_marks_by_three_clients_and_a_restart_in_the_middle)
{
    struct rig rig;
    char params[4000];
    FILE *client[3];
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    finger_joint(params, sizeof params);
    expect_done(rig_call(&rig, "keep-story", params));
    expect_reason(rig_call(&rig, "keep-story", params), "name-taken");
    expect_reason(rig_call(&rig, "next", NULL), "no-such-story");
    expect_done(rig_call(&rig, "load", "{\"name\":\"box\"}"));
    expect_reason(rig_call(&rig, "forget-story", "{\"name\":\"box\"}"), "in-use");
    expect_reason(rig_call(&rig, "back", NULL), "story-end");
    expect_reason(rig_call(&rig, "cut", NULL), "story-end");
    for (int mark = 1; mark <= 14; mark++) {
        for (int i = 0; i < 3; i++) {
            client[i] = rig_connect(&rig);
        }
        FILE *whose = client[mark % 3];
        expect_done(rig_settle(&rig, whose, rig_send(&rig, whose, "next", NULL)));
        expect_mark(&rig, mark, 0);
        expect_done(rig_settle(&rig, whose, rig_send(&rig, whose, "cut", NULL)));
        for (int i = 0; i < 3; i++) {
            fclose(client[i]);
        }
        if (mark == 7) {
            rig_end_daemon(&rig, SIGKILL);
            rig_start_daemon(&rig);
            rig_run(&rig, 1000);
        }
        expect_mark(&rig, mark, 1);
    }
    expect_reason(rig_call(&rig, "next", NULL), "story-end");
    expect_done(rig_call(&rig, "back", NULL));
    expect_mark(&rig, 13, 0);
    expect_done(rig_call(&rig, "to", "{\"height\":\"0mm\"}"));
    expect_done(rig_call(&rig, "again", NULL));
    expect_mark(&rig, 13, 0);
    expect_done(rig_call(&rig, "abandon", NULL));
    expect_done(rig_call(&rig, "forget-story", "{\"name\":\"box\"}"));
    expect_reason(rig_call(&rig, "load", "{\"name\":\"box\"}"), "no-such-story");
    rig_end(&rig);
}
END_TEST

/* Killed at every disk write of a step: the lift is at the mark before or at this one, and says so
 * where it stands. */
START_TEST(a_kill_at_any_write_of_a_step_leaves_one_mark_or_the_next)
{
    struct rig rig;
    char params[4000];
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    finger_joint(params, sizeof params);
    expect_done(rig_call(&rig, "keep-story", params));
    expect_done(rig_call(&rig, "load", "{\"name\":\"box\"}"));
    expect_done(rig_call(&rig, "next", NULL));
    bool crashed = true;
    for (int at = 1; crashed && at < 30; at++) {
        rig_end_daemon(&rig, SIGTERM);
        rig.crash_at_sync = at;
        rig.crash_after_sync = at % 2;
        rig_start_daemon(&rig);
        rig_tell(&rig, "free");
        rig_tell(&rig, "hold");
        rig_run(&rig, 500);
        if (!rig_hung_up(&rig)) {
            rig_send(&rig, rig.client, at % 2 ? "next" : "back", NULL);
            (void)rig_hung_up(&rig);
            rig_tell(&rig, "free");
            rig_tell(&rig, "hold");
            rig_tell(&rig, "run-rest 500");
        }
        if (!rig_hung_up(&rig)) {
            kill(rig.daemon, SIGTERM);
            rig_tell(&rig, "free");
        }
        crashed = rig_crashed(&rig);
        rig_tell(&rig, "hold");
        rig.crash_at_sync = 0;
        rig_run(&rig, 1000);
        rig_start_daemon(&rig);
        rig_run(&rig, 1000);
        expect_agreement(&rig);
        cJSON *answer = rig_call(&rig, "again", NULL);
        ck_assert_msg(rig_done(answer), "%s", rig_reason(answer));
        const cJSON *story = cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "result"), "story");
        int mark = (int)rig_number(story, "mark");
        cJSON_Delete(answer);
        ck_assert(mark == 1 || mark == 2);
        expect_mark(&rig, mark, 0);
        if (mark == 2) {
            expect_done(rig_call(&rig, "back", NULL));
        }
    }
    ck_assert(!crashed);
    rig_end(&rig);
}
END_TEST

START_TEST(a_mark_of_another_bit_waits_for_its_change)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_reason(rig_call(&rig, "keep-story",
                           "{\"name\":\"s\",\"marks\":[{\"height\":\"1mm\",\"bit\":\"waste\"}]}"),
                  "no-such-bit");
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"waste\",\"kind\":\"straight\",\"diameter\":\"1/4in\"}"));
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"tail\",\"kind\":\"dovetail\",\"diameter\":\"1/2in\"}"));
    expect_done(rig_call(&rig, "keep-story",
                         "{\"name\":\"s\",\"marks\":[{\"height\":\"5mm\",\"bit\":\"waste\"},"
                         "{\"fence\":\"fence to 2in\"},{\"height\":\"6mm\",\"bit\":\"tail\"}]}"));
    expect_done(rig_call(&rig, "load", "{\"name\":\"s\"}"));
    expect_reason(rig_call(&rig, "next", NULL), "wrong-bit");
    expect_done(rig_call(&rig, "fit", "{\"bit\":\"waste\",\"clear\":true}"));
    expect_reason(rig_call(&rig, "next", NULL), "height-unknown");
    expect_done(rig_call(&rig, "by", "{\"distance\":\"-2mm\"}"));
    expect_done(rig_call(&rig, "by", "{\"distance\":\"2mm\"}"));
    rig_tell(&rig, "bit 0");
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0mm\"}"));
    expect_done(rig_call(&rig, "next", NULL));
    expect_agreement(&rig);
    expect_done(rig_call(&rig, "next", NULL)); /* the fence: nothing moves */
    expect_reason(rig_call(&rig, "next", NULL), "wrong-bit");
    expect_done(rig_call(&rig, "change", "{\"clear\":true}"));
    expect_done(rig_call(&rig, "fit", "{\"bit\":\"tail\",\"clear\":true}"));
    expect_status(&rig, rig.client, "bit", "tail");
    expect_done(rig_call(&rig, "hold", "{\"direction\":\"down\",\"speed\":\"fast\"}"));
    rig_run(&rig, 600);
    expect_done(rig_call(&rig, "by", "{\"distance\":\"-10mm\"}"));
    expect_done(rig_call(&rig, "by", "{\"distance\":\"2mm\"}"));
    rig_tell(&rig, "bit 3000000");
    expect_done(rig_call(&rig, "touch", "{\"height\":\"3mm\"}"));
    expect_done(rig_call(&rig, "next", NULL));
    expect_agreement(&rig);
    expect_reason(rig_call(&rig, "forget-bit", "{\"name\":\"tail\"}"), "in-use");
    rig_end(&rig);
}
END_TEST

START_TEST(a_bit_that_stories_name_is_renamed_in_them_and_not_forgotten)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"a\",\"kind\":\"straight\",\"diameter\":\"1/2in\"}"));
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"b\",\"kind\":\"straight\",\"diameter\":\"1/4in\"}"));
    expect_done(rig_call(&rig, "keep-story",
                         "{\"name\":\"box\",\"marks\":[{\"height\":\"1/4in\",\"bit\":\"a\"},"
                         "{\"height\":\"3/8in\",\"bit\":\"b\"}]}"));
    expect_reason(rig_call(&rig, "forget-bit", "{\"name\":\"a\"}"), "in-use");
    expect_reason(rig_call(&rig, "forget-bit", "{\"name\":\"a\",\"with_others\":true}"), "in-use");
    expect_reason(rig_call(&rig, "rename", "{\"what\":\"bit\",\"name\":\"a\",\"to\":\"b\"}"),
                  "name-taken");
    expect_done(rig_call(&rig, "rename", "{\"what\":\"bit\",\"name\":\"a\",\"to\":\"half\"}"));
    expect_done(rig_call(&rig, "load", "{\"name\":\"box\"}"));
    expect_reason(rig_call(&rig, "next", NULL), "wrong-bit");
    rig_end_daemon(&rig, SIGKILL);
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    cJSON *answer = rig_call(&rig, "marks", "{\"name\":\"box\"}");
    const cJSON *list = cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "result"), "list");
    static const char *const bits[] = {"half", "b"};
    for (int i = 0; i < 2; i++) {
        const cJSON *bit = cJSON_GetObjectItem(cJSON_GetArrayItem(list, i), "bit");
        ck_assert_str_eq(bit->valuestring, bits[i]);
    }
    cJSON_Delete(answer);
    expect_done(rig_call(&rig, "fit", "{\"bit\":\"half\",\"clear\":true}"));
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0in\"}"));
    expect_done(rig_call(&rig, "next", NULL));
    expect_done(rig_call(&rig, "abandon", NULL));
    expect_done(rig_call(&rig, "fit", "{\"clear\":true}"));
    expect_done(rig_call(&rig, "forget-story", "{\"name\":\"box\"}"));
    expect_done(rig_call(&rig, "forget-bit", "{\"name\":\"half\"}"));
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("story");
    TCase *cases = tcase_create("story");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, fourteen_marks_by_three_clients_and_a_restart_in_the_middle);
    tcase_add_test(cases, a_kill_at_any_write_of_a_step_leaves_one_mark_or_the_next);
    tcase_add_test(cases, a_mark_of_another_bit_waits_for_its_change);
    tcase_add_test(cases, a_bit_that_stories_name_is_renamed_in_them_and_not_forgotten);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
