/* SPDX-License-Identifier: MIT */
/* What was measured of the screw: used, kept, taken back, and never half. */
#include <check.h>
#include <math.h>
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

/* A sine of .02 mm each turn in the screw, hidden from the daemon, and the table that takes it out.
 */
enum { PER_TURN = 16, TRAVEL_MM = 74, LEAD_MM = 4 };
static char *sine_params(double amplitude_nm)
{
    static char text[16384];
    int used = snprintf(text, sizeof text,
                        "{\"table\":{\"from\":\"-%dmm\",\"to\":\"0mm\",\"errors_nm\":[", TRAVEL_MM);
    int count = TRAVEL_MM / LEAD_MM * PER_TURN;
    for (int i = 0; i <= count; i++) {
        double turns = (double)i * TRAVEL_MM / count / LEAD_MM;
        used += snprintf(text + used, sizeof text - (size_t)used, "%s%ld", i > 0 ? "," : "",
                         lround(amplitude_nm * sin(6.283185307179586 * turns)));
    }
    snprintf(text + used, sizeof text - (size_t)used, "]}}");
    return text;
}

static double worst_error(struct rig *rig, uint64_t *seed, int moves)
{
    double worst = 0;
    for (int i = 0; i < moves; i++) {
        int64_t wanted_nm = -25000000 + (int64_t)rig_draw(seed, 50000000);
        expect_done(rig_length(rig, "to", "height", wanted_nm));
        cJSON *truth = rig_ask(rig, "truth");
        worst = fmax(worst, fabs(rig_number(truth, "height_nm") - (double)wanted_nm));
        cJSON_Delete(truth);
    }
    return worst;
}

START_TEST(an_error_table_makes_the_heights_true_and_outlives_the_daemon)
{
    struct rig rig;
    uint64_t seed = rig_seed("an error table");
    rig_start(&rig, true, 1);
    cJSON_Delete(ask(&rig, "calibrate", "{\"lead\":\"2mm\",\"lash\":\"0.2mm\"}"));
    rig_tell(&rig, "set wobble_nm 15000");
    rig_touch_off(&rig);
    double before = worst_error(&rig, &seed, 40);
    ck_assert_double_gt(before, 15000);
    /* The practice lift's error is by its rotor's turns, and the table's by the distance from the
     * top: they meet where the count of the top says so. */
    cJSON *truth = rig_ask(&rig, "truth");
    cJSON *status = ask(&rig, "status", NULL);
    double turns = rig_number(truth, "rotor_steps") / 1600;
    double position_turns = rig_number(status, "position_nm") / 2e6;
    double phase = (turns - position_turns) - floor(turns - position_turns);
    cJSON_Delete(truth);
    cJSON_Delete(status);
    static char text[16384];
    int used = snprintf(text, sizeof text,
                        "{\"table\":{\"from\":\"-78mm\",\"to\":\"0mm\",\"errors_nm\":[");
    for (int i = 0; i <= 39 * PER_TURN; i++) {
        double at = -39 + (double)i / PER_TURN + phase;
        used += snprintf(
            text + used, sizeof text - (size_t)used, "%s%ld", i > 0 ? "," : "",
            lround(15000 * (sin(6.283185307179586 * at) - sin(6.283185307179586 * phase))));
    }
    snprintf(text + used, sizeof text - (size_t)used, "]}}");
    cJSON_Delete(ask(&rig, "calibrate", text));
    expect_status(&rig, rig.client, "table_zero", "lost");
    expect_status(&rig, rig.client, "reference", "lost");
    rig_touch_off(&rig);
    double with = worst_error(&rig, &seed, 60);
    rig_end_daemon(&rig, SIGKILL);
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    expect_status(&rig, rig.client, "table_zero", "sure");
    with = fmax(with, worst_error(&rig, &seed, 20));
    printf("worst error without the table %.1f um, with it %.1f um\n", before / 1000, with / 1000);
    ck_assert_double_lt(with, 2500); /* a step is 1.25 um, the chords are off by .3 um */
    /* The ends of the travel are where they were. */
    expect_reason(rig_call(&rig, "to", "{\"height\":\"60mm\"}"), "above-travel");
    expect_reason(rig_call(&rig, "to", "{\"height\":\"-60mm\"}"), "below-travel");
    cJSON_Delete(ask(&rig, "calibrate", "{\"back\":true}"));
    rig_touch_off(&rig);
    ck_assert_double_gt(worst_error(&rig, &seed, 40), 15000);
    /* Another lead ends it. */
    cJSON_Delete(ask(&rig, "calibrate", "{\"back\":true}"));
    cJSON_Delete(ask(&rig, "calibrate", "{\"lead\":\"2.0001mm\"}"));
    cJSON *now = ask(&rig, "calibration", NULL);
    ck_assert_ptr_null(cJSON_GetObjectItem(now, "table"));
    cJSON_Delete(now);
    rig_end(&rig);
}
END_TEST

/* A zero that was touched off before the top was found stays where it is. */
START_TEST(a_zero_without_a_reference_is_carried_into_the_table)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    cJSON_Delete(ask(&rig, "calibrate", sine_params(15000)));
    for (int i = 0; i < 3; i++) {
        expect_done(rig_call(&rig, "by", "{\"distance\":\"3.1mm\"}"));
    }
    rig_tell(&rig, "bit 0");
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0mm\"}"));
    cJSON *before = rig_ask(&rig, "truth");
    expect_done(rig_call(&rig, "find-top", NULL));
    expect_done(rig_call(&rig, "to", "{\"height\":\"0mm\"}"));
    cJSON *after = rig_ask(&rig, "truth");
    double step_nm = rig_number(after, "step_nm");
    ck_assert_double_le(fabs(rig_number(after, "height_nm") - rig_number(before, "height_nm")),
                        step_nm);
    cJSON_Delete(before);
    cJSON_Delete(after);
    rig_end(&rig);
}
END_TEST

START_TEST(tables_that_cannot_be_are_refused)
{
    static const char *const wrong[] = {
        "{}",
        "{\"from\":\"-1mm\",\"to\":\"0mm\"}",
        "{\"from\":\"-1mm\",\"to\":\"0mm\",\"errors_nm\":[0]}",
        "{\"from\":\"0mm\",\"to\":\"-1mm\",\"errors_nm\":[0,0]}",
        "{\"from\":\"-1mm\",\"to\":\"0mm\",\"errors_nm\":[0,50001]}",
        "{\"from\":\"-1mm\",\"to\":\"0mm\",\"errors_nm\":[0,0.5]}",
        "{\"from\":\"-1mm\",\"to\":\"0mm\",\"errors_nm\":[0,\"0\"]}",
        "{\"from\":\"-1\",\"to\":\"0mm\",\"errors_nm\":[0,0]}",
        "{\"from\":-1,\"to\":\"0mm\",\"errors_nm\":[0,0]}",
    };
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        char text[200];
        snprintf(text, sizeof text, "{\"table\":%s}", wrong[i]);
        cJSON *answer = rig_call(&rig, "calibrate", text);
        ck_assert_msg(!rig_done(answer), "taken: %s", wrong[i]);
        cJSON_Delete(answer);
    }
    expect_status(&rig, rig.client, "table_zero", "sure");
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
    write_file(&rig, "{\"version\":3}");
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
    tcase_add_test(cases, an_error_table_makes_the_heights_true_and_outlives_the_daemon);
    tcase_add_test(cases, a_zero_without_a_reference_is_carried_into_the_table);
    tcase_add_test(cases, tables_that_cannot_be_are_refused);
    tcase_add_test(cases, what_cannot_be_is_refused_and_changes_nothing);
    tcase_add_test(cases, a_kill_at_any_write_leaves_the_old_or_the_new);
    tcase_add_test(cases, a_file_that_is_damaged_or_of_another_screw_or_newer_is_said);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
