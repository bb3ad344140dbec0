/* SPDX-License-Identifier: MIT */
/* What was measured of the screw: used, kept, taken back, and never half. */
#include <check.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

static cJSON *ask(struct rig *rig, const char *method, const char *params)
{
    cJSON *answer = rig_call(rig, method, params);
    ck_assert_msg(rig_done(answer), "refused: %s", rig_reason(answer));
    cJSON *result = cJSON_DetachItemFromObject(answer, "result");
    cJSON_Delete(answer);
    return result;
}

/* Lead and lash in use, and where they come from. */
static void expect_values(struct rig *rig, double lead_nm, const char *lead_from, double lash_nm,
                          const char *lash_from)
{
    cJSON *now = ask(rig, "calibration", NULL);
    ck_assert_double_eq(rig_number(now, "lead_nm"), lead_nm);
    ck_assert_double_eq(rig_number(now, "lash_nm"), lash_nm);
    ck_assert_double_eq(rig_number(now, "take_up_nm"), lash_nm + 254000); /* .010 in */
    ck_assert_str_eq(cJSON_GetObjectItem(now, "lead_from")->valuestring, lead_from);
    ck_assert_str_eq(cJSON_GetObjectItem(now, "lash_from")->valuestring, lash_from);
    cJSON_Delete(now);
}

START_TEST(a_measured_lash_is_used_from_the_next_move_on_and_kept)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_values(&rig, 2e6, "configured", 0.20e6, "configured");
    rig_tell(&rig, "set lash_nm 350000");
    cJSON_Delete(ask(&rig, "calibrate", "{\"lash\":\"0.35mm\"}"));
    expect_values(&rig, 2e6, "configured", 0.35e6, "measured");
    expect_status(&rig, rig.client, "table_zero", "sure"); /* it was touched off coming up */
    for (int i = 0; i < 6; i++) {
        expect_done(rig_length(&rig, "to", "height", (i % 2 ? 3 : -2) * 1000000 * i));
        expect_agreement(&rig);
    }
    rig_end_daemon(&rig, SIGKILL);
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    expect_values(&rig, 2e6, "configured", 0.35e6, "measured");
    expect_done(rig_call(&rig, "to", "{\"height\":\"2mm\"}"));
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(a_measured_lead_makes_the_heights_true_and_the_old_zero_lost)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_tell(&rig, "set lead_error 0.003"); /* 2.006 mm a turn */
    rig_touch_off(&rig);
    cJSON_Delete(ask(&rig, "calibrate", "{\"lead\":\"2.006mm\"}"));
    expect_values(&rig, 2.006e6, "measured", 0.20e6, "configured");
    expect_status(&rig, rig.client, "table_zero", "lost");
    expect_status(&rig, rig.client, "reference", "lost");
    expect_reason(rig_call(&rig, "to", "{\"height\":\"1mm\"}"), "height-unknown");
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"30mm\"}"));
    expect_agreement(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"-30mm\"}"));
    expect_agreement(&rig);
    /* Back, and back again: the two change places. */
    cJSON_Delete(ask(&rig, "calibrate", "{\"back\":true}"));
    expect_values(&rig, 2e6, "configured", 0.20e6, "configured");
    expect_status(&rig, rig.client, "table_zero", "lost");
    cJSON_Delete(ask(&rig, "calibrate", "{\"back\":true}"));
    expect_values(&rig, 2.006e6, "measured", 0.20e6, "configured");
    rig_end(&rig);
}
END_TEST

START_TEST(what_cannot_be_is_refused_and_changes_nothing)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_reason(rig_call(&rig, "calibrate", "{\"back\":true}"), "nothing-before");
    expect_reason(rig_call(&rig, "calibrate", "{\"lead\":\"2.2mm\"}"), "disagrees");
    expect_reason(rig_call(&rig, "calibrate", "{\"lead\":\"0mm\"}"), "disagrees");
    expect_reason(rig_call(&rig, "calibrate", "{\"lash\":\"4mm\"}"), "disagrees");
    expect_reason(rig_call(&rig, "calibrate", "{\"lash\":\"-0.1mm\"}"), "disagrees");
    cJSON *answer = rig_call(&rig, "calibrate", "{\"lash\":\"0.1mm\",\"back\":true}");
    ck_assert(!rig_done(answer));
    cJSON_Delete(answer);
    int id = rig_send(&rig, rig.client, "to", "{\"height\":\"10mm\"}");
    cJSON_Delete(rig_answer(rig.client, rig_send(&rig, rig.client, "hello", NULL)));
    rig_run(&rig, 300);
    expect_reason(
        rig_answer(rig.client, rig_send(&rig, rig.client, "calibrate", "{\"lash\":\"0.1mm\"}")),
        "busy");
    expect_done(rig_settle(&rig, rig.client, id));
    expect_values(&rig, 2e6, "configured", 0.20e6, "configured");
    expect_status(&rig, rig.client, "table_zero", "sure");
    rig_end(&rig);
}
END_TEST

/* Killed just before or behind each disk write of it: the old values and all sure, or the new ones
 * and nothing believed. */
START_TEST(a_kill_at_any_write_leaves_the_old_or_the_new)
{
    int news = 0;
    int olds = 0;
    for (int at = 1; at < 40; at++) {
        struct rig rig;
        rig_start(&rig, true, 1);
        rig_touch_off(&rig);
        rig_end_daemon(&rig, SIGTERM);
        rig.crash_at_sync = at / 2 + 1;
        rig.crash_after_sync = at % 2;
        rig_start_daemon(&rig);
        rig_tell(&rig, "free");
        rig_tell(&rig, "hold");
        rig_run(&rig, 500);
        if (!rig_hung_up(&rig)) {
            rig_send(&rig, rig.client, "calibrate", "{\"lead\":\"2.006mm\"}");
            (void)rig_hung_up(&rig);
            rig_tell(&rig, "free");
            rig_tell(&rig, "hold");
            rig_run(&rig, 500);
        }
        if (!rig_hung_up(&rig)) {
            kill(rig.daemon, SIGTERM);
            rig_tell(&rig, "free");
        }
        bool crashed = rig_crashed(&rig);
        rig_tell(&rig, "hold");
        rig.crash_at_sync = 0;
        rig_start_daemon(&rig);
        rig_run(&rig, 1000);
        cJSON *now = ask(&rig, "calibration", NULL);
        bool new = rig_number(now, "lead_nm") == 2.006e6;
        cJSON_Delete(now);
        expect_status(&rig, rig.client, "table_zero", new ? "lost" : "sure");
        if (!new) {
            expect_agreement(&rig);
        }
        news += new;
        olds += !new;
        rig_end(&rig);
        if (!crashed) {
            break;
        }
    }
    ck_assert_int_gt(news, 1);
    ck_assert_int_gt(olds, 1);
}
END_TEST

static void write_file(const struct rig *rig, const char *text)
{
    char path[200];
    snprintf(path, sizeof path, "%s/calibration.json", rig->folder);
    FILE *file = fopen(path, "we");
    ck_assert_ptr_nonnull(file);
    fputs(text, file);
    ck_assert_int_eq(fclose(file), 0);
}

START_TEST(a_file_that_is_damaged_or_of_another_screw_or_newer_is_said)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    cJSON_Delete(ask(&rig, "calibrate", "{\"lash\":\"0.3mm\"}"));
    cJSON_Delete(ask(&rig, "calibrate", "{\"lash\":\"0.4mm\"}"));
    rig_end_daemon(&rig, SIGTERM);
    write_file(&rig, "{\"version\":1,\"screw\":");
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    ck_assert(rig_log_has(&rig, "calibration.json"));
    ck_assert(rig_log_has(&rig, "damaged"));
    expect_values(&rig, 2e6, "configured", 0.3e6, "measured"); /* the last good one */
    rig_end_daemon(&rig, SIGTERM);
    write_file(&rig, "{\"version\":1,\"screw\":7,\"now\":{\"lash\":\"0.5mm\"}}");
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    ck_assert(rig_log_has(&rig, "other screw settings"));
    expect_values(&rig, 2e6, "configured", 0.2e6, "configured");
    rig_end_daemon(&rig, SIGTERM);
    write_file(&rig, "{\"version\":2}");
    rig_refuses_to_start(&rig);
    ck_assert(rig_log_has(&rig, "newer"));
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("calibrate");
    TCase *cases = tcase_create("calibrate");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, a_measured_lash_is_used_from_the_next_move_on_and_kept);
    tcase_add_test(cases, a_measured_lead_makes_the_heights_true_and_the_old_zero_lost);
    tcase_add_test(cases, what_cannot_be_is_refused_and_changes_nothing);
    tcase_add_test(cases, a_kill_at_any_write_leaves_the_old_or_the_new);
    tcase_add_test(cases, a_file_that_is_damaged_or_of_another_screw_or_newer_is_said);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
