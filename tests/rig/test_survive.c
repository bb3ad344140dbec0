/* SPDX-License-Identifier: MIT */
/* What outlives a killed daemon, and what a cut of each supply does to each of the two truths. */
#include <check.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

enum { KILLS = 200, LOW_NM = -20000000, SPAN_NM = 45000000 };

static void must(cJSON *answer)
{
    ck_assert_msg(rig_done(answer), "refused: %s", rig_reason(answer));
    cJSON_Delete(answer);
}

static void expect_trust(struct rig *rig, const char *reference, const char *table_zero)
{
    cJSON *answer = rig_call(rig, "status", NULL);
    const cJSON *status = cJSON_GetObjectItem(answer, "result");
    ck_assert_str_eq(cJSON_GetObjectItem(status, "reference")->valuestring, reference);
    ck_assert_str_eq(cJSON_GetObjectItem(status, "table_zero")->valuestring, table_zero);
    cJSON_Delete(answer);
}

static void send_to(struct rig *rig, int64_t height_nm)
{
    char params[64];
    snprintf(params, sizeof params, "{\"height_nm\":%lld}", (long long)height_nm);
    rig_send(rig, rig->client, "to", params);
    cJSON_Delete(rig_answer(rig->client, rig_send(rig, rig->client, "hello", NULL)));
}

static int count_presets(struct rig *rig)
{
    cJSON *answer = rig_call(rig, "presets", NULL);
    const cJSON *list = cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "result"), "presets");
    int count = cJSON_GetArraySize(list);
    cJSON_Delete(answer);
    return count;
}

START_TEST(a_daemon_killed_at_any_instant_of_a_move_comes_back_sure_and_true)
{
    struct rig rig;
    uint64_t seed = rig_seed("killed at any instant");
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    must(rig_call(&rig, "keep", "{\"name\":\"drawer-groove\",\"height\":\"1/4in\"}"));
    for (int i = 0; i < KILLS; i++) {
        send_to(&rig, LOW_NM + (int64_t)rig_draw(&seed, SPAN_NM));
        rig_run(&rig, (int)rig_draw(&seed, 3000));
        rig_end_daemon(&rig, SIGKILL);
        if (rig_draw(&seed, 2)) {
            rig_run(&rig, (int)rig_draw(&seed, 500)); /* back before or after it has braked */
        }
        rig_start_daemon(&rig);
        rig_run(&rig, 1000);
        expect_trust(&rig, "sure", "sure");
        expect_agreement(&rig);
        ck_assert_int_eq(count_presets(&rig), 1);
    }
    rig_end(&rig);
}
END_TEST

/* One scripted stretch of work, in which the daemon may be killed at any disk write. */
static void work(struct rig *rig)
{
    rig_send(rig, rig->client, "to", "{\"height_nm\":3000000}");
    rig_send(rig, rig->client, "keep", "{\"name\":\"b\",\"height_nm\":2000000,\"replace\":true}");
    rig_run(rig, 1500);
    rig_send(rig, rig->client, "recall", "{\"name\":\"a\"}");
    rig_run(rig, 1500);
    rig_send(rig, rig->client, "forget", "{\"name\":\"b\"}");
    rig_send(rig, rig->client, "by", "{\"distance\":\"-1/64in\"}");
    rig_run(rig, 1500);
}

START_TEST(a_daemon_killed_at_any_disk_write_comes_back_sure_and_true)
{
    struct rig rig;
    int crashes = 0;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    must(rig_call(&rig, "keep", "{\"name\":\"a\",\"height_nm\":1000000}"));
    bool crashed = true;
    for (int at = 1; crashed; at++) {
        for (int after = 0; after < 2; after++) {
            rig_end_daemon(&rig, SIGTERM);
            rig.crash_at_sync = at;
            rig.crash_after_sync = after;
            rig_start_daemon(&rig);
            rig_tell(&rig, "free");
            rig_tell(&rig, "hold");
            rig_run(&rig, 500);
            if (!rig_hung_up(&rig)) {
                work(&rig);
            }
            if (!rig_hung_up(&rig)) {
                kill(rig.daemon, SIGTERM); /* its last write may still be the one */
                rig_tell(&rig, "free");
            }
            crashed = rig_crashed(&rig);
            crashes += crashed;
            rig_tell(&rig, "hold");
            rig.crash_at_sync = 0;
            rig_run(&rig, 1000);
            rig_start_daemon(&rig);
            rig_run(&rig, 1000);
            expect_trust(&rig, "sure", "sure");
            expect_agreement(&rig);
            int presets = count_presets(&rig);
            ck_assert(presets == 1 || presets == 2);
        }
    }
    printf("survive.crashes\t%d\tplaces\n", crashes);
    ck_assert_int_gt(crashes, 30);
    rig_end(&rig);
}
END_TEST

/* What is done to a lift, at rest or in mid-move, and what is left to believe. */
struct row {
    const char *what; /* commands to the practice lift, parted by ';'; "kill" is the daemon's end */
    bool in_move;
    const char *reference;
    const char *table_zero;
};

static const struct row rows[] = {
    {"kill", false, "sure", "sure"},
    {"kill", true, "sure", "sure"},
    {"reset", false, "unchecked", "unchecked"},
    {"reset", true, "lost", "lost"},
    {"power off;power on", false, "unchecked", "unchecked"},
    {"power off;power on", true, "lost", "lost"},
    {"kill;power off;power on", false, "unchecked", "unchecked"},
    {"kill;power off;power on", true, "lost", "lost"},
    {"kill;reset", true, "lost", "lost"},
    {"motor-supply off;motor-supply on", false, "unchecked", "unchecked"},
    {"motor-supply off;motor-supply on", true, "lost", "lost"},
    {"stop-circuit open;stop-circuit closed", false, "unchecked", "unchecked"},
    {"stop-circuit open;stop-circuit closed", true, "lost", "lost"},
    {"unplug;plug", false, "sure", "sure"},
    {"unplug;plug", true, "sure", "sure"},
};

static void befall(struct rig *rig, const char *what)
{
    char text[100];
    snprintf(text, sizeof text, "%s", what);
    char *rest;
    for (char *word = strtok_r(text, ";", &rest); word; word = strtok_r(NULL, ";", &rest)) {
        if (strcmp(word, "kill") == 0) {
            rig_end_daemon(rig, SIGKILL);
        } else {
            rig_tell(rig, "%s", word);
        }
        rig_run(rig, 300);
    }
    if (!rig->daemon) {
        rig_start_daemon(rig);
    }
    rig_run(rig, 3000);
}

START_TEST(each_loss_of_supply_leaves_the_trust_that_the_table_says)
{
    const struct row *row = &rows[_i];
    struct rig rig;
    bool sure = strcmp(row->table_zero, "sure") == 0;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    if (row->in_move) {
        send_to(&rig, 20000000);
        rig_run(&rig, 800);
    } else {
        must(rig_call(&rig, "to", "{\"height_nm\":5000000}"));
    }
    befall(&rig, row->what);
    expect_trust(&rig, row->reference, row->table_zero);
    if (strncmp(row->what, "stop-circuit", 12) == 0) {
        expect_reason(rig_call(&rig, "by", "{\"distance\":\"1/64in\"}"), "barred");
        must(rig_call(&rig, "all-clear", NULL));
    }
    if (!sure) {
        bool unchecked = strcmp(row->table_zero, "unchecked") == 0;
        expect_reason(rig_call(&rig, "to", "{\"height_nm\":0}"),
                      unchecked ? "unchecked" : "height-unknown");
        expect_reason(rig_call(&rig, "by", "{\"distance\":\"1in\"}"), "nudge-too-far");
        must(rig_call(&rig, "by", "{\"distance\":\"1/64in\"}"));
        expect_trust(&rig, row->reference, row->table_zero); /* motion alone proves nothing */
        if (unchecked && _i % 2 == 0) {
            expect_reason(rig_call(&rig, "confirm", "{\"height\":\"30mm\"}"), "disagrees");
            must(rig_call(&rig, "confirm", NULL));
        } else {
            must(rig_call(&rig, "find-top", NULL)); /* the zero was touched off in the frame */
        }
        expect_trust(&rig, "sure", "sure");
        bool off = strstr(row->what, "power") || strstr(row->what, "reset");
        if (off && !(unchecked && _i % 2 == 0)) {
            /* The screw is known again; whether the bit was touched meanwhile is not. */
            expect_reason(rig_call(&rig, "to", "{\"height_nm\":1000000}"), "ask-bit");
            must(rig_call(&rig, "confirm", NULL));
        }
    }
    must(rig_call(&rig, "to", "{\"height_nm\":1000000}"));
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(a_rotor_that_settled_while_the_power_was_off_is_not_called_sure)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    rig_tell(&rig, "power off");
    rig_tell(&rig, "slip -16");
    rig_tell(&rig, "power on");
    rig_run(&rig, 2000);
    expect_trust(&rig, "unchecked", "unchecked");
    must(rig_call(&rig, "find-top", NULL));
    expect_trust(&rig, "sure", "sure");
    expect_agreement(&rig); /* corrected by what the rotor had slipped */
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("survive");
    TCase *cases = tcase_create("survive");
    tcase_set_timeout(cases, 600);
    tcase_add_test(cases, a_daemon_killed_at_any_instant_of_a_move_comes_back_sure_and_true);
    tcase_add_test(cases, a_daemon_killed_at_any_disk_write_comes_back_sure_and_true);
    tcase_add_loop_test(cases, each_loss_of_supply_leaves_the_trust_that_the_table_says, 0,
                        sizeof rows / sizeof *rows);
    tcase_add_test(cases, a_rotor_that_settled_while_the_power_was_off_is_not_called_sure);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
