/* SPDX-License-Identifier: MIT */
/*
 * The digital scale on the carriage: every move is checked by it, a slip is caught in the move in
 * which it happens, and a scale that fails is said and not gone by. Facts of the trade (common
 * practice, no source): a stepper loses whole electrical cycles, four full steps or a multiple.
 */
#include <check.h>
#include <inttypes.h>
#include <stdlib.h>

#include "tests/rig/readout_rig.h"
#include "tests/rig/reglet_run.h"
#include "tests/suite.h"

/* Frames in between are 10 Hz; a full step of the practice lift is 10 000 nm, 8 steps. */
enum { FULL_STEP = 8, FULL_STEP_NM = 10000 };

static double apart_nm(struct rig *rig)
{
    cJSON *readout = readout_now(rig);
    ck_assert_ptr_nonnull(cJSON_GetObjectItem(readout, "apart_nm"));
    double nm = rig_number(readout, "apart_nm");
    cJSON_Delete(readout);
    return nm;
}

START_TEST(what_it_reads_is_told_in_either_unit_and_sense)
{
    static const struct {
        const char *config;
        const char *scale;
        double unit_nm;
    } kinds[] = {
        {"\"two_wire\": \"rising\"", "mm rising", 10000},
        {"\"two_wire\": \"rising\"", "in rising", 12700},
        {"\"two_wire\": \"falling\"", "mm falling", 10000},
        {"\"two_wire\": \"falling\", \"resolution\": \"0.001mm\"", "mm falling", 1000},
    };
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        struct rig rig;
        readout_start(&rig, kinds[i].config);
        rig_tell(&rig, "set scale_unit_nm %g", kinds[i].unit_nm == 1000 ? 1000.0 : 10000.0);
        rig_tell(&rig, "scale %s", kinds[i].scale);
        rig_run(&rig, 1000);
        rig_touch_off(&rig);
        for (int move = 0; move < 6; move++) {
            expect_done(rig_length(&rig, "to", "height", (move - 3) * 4567000));
            cJSON *readout = readout_now(&rig);
            cJSON *truth = rig_ask(&rig, "truth");
            ck_assert_str_eq(cJSON_GetObjectItem(readout, "state")->valuestring, "reads");
            ck_assert_double_le(fabs(rig_number(readout, "apart_nm")), kinds[i].unit_nm);
            cJSON_Delete(truth);
            cJSON_Delete(readout);
        }
        cJSON *low = readout_now(&rig);
        double low_nm = rig_number(low, "reading_nm");
        expect_done(rig_call(&rig, "by", "{\"distance\":\"10mm\"}"));
        cJSON *high = readout_now(&rig);
        ck_assert_double_eq_tol(rig_number(high, "reading_nm") - low_nm, 10e6,
                                kinds[i].unit_nm + 1300); /* higher is more, whatever it tells */
        cJSON_Delete(low);
        cJSON_Delete(high);
        rig_end(&rig);
    }
}
END_TEST

/* A move with a slip of so many steps in its middle. The answer is the caller's. */
static cJSON *slipping_move(struct rig *rig, int64_t height_nm, int steps, int after_ms)
{
    char params[60];
    snprintf(params, sizeof params, "{\"height_nm\":%" PRId64 "}", height_nm);
    int id = rig_send(rig, rig->client, "to", params);
    cJSON_Delete(rig_answer(rig->client, rig_send(rig, rig->client, "hello", NULL)));
    rig_run(rig, after_ms);
    cJSON *truth = rig_ask(rig, "truth");
    ck_assert_msg(cJSON_IsTrue(cJSON_GetObjectItem(truth, "moving")), "it does not move any more");
    cJSON_Delete(truth);
    rig_tell(rig, "slip %d", steps);
    return rig_settle(rig, rig->client, id);
}

START_TEST(a_slip_is_caught_at_the_end_of_its_move)
{
    struct rig rig;
    uint64_t seed = rig_seed("slips");
    readout_start(&rig, "\"two_wire\": \"rising\"");
    rig_tell(&rig, "set scale_noise_nm %d", NOISE_NM);
    static const int slips[] = {4, 8, 12};
    for (int i = 0; i < 12; i++) {
        int full_steps = slips[i % 3] * (i / 3 % 2 == 0 ? -1 : 1);
        bool down = i >= 6;
        rig_touch_off(&rig);
        expect_done(rig_length(&rig, "to", "height", down ? 15000000 : -10000000));
        int64_t to_nm = (down ? -20000000 : 20000000) + (int64_t)rig_draw(&seed, 5000000);
        cJSON *answer =
            slipping_move(&rig, to_nm, full_steps * FULL_STEP, 600 + (int)rig_draw(&seed, 1200));
        ck_assert_msg(strcmp(rig_reason(answer), "readout-apart") == 0,
                      "a slip of %d full steps: %s", full_steps, rig_reason(answer));
        /* Both figures, and what it looks like. */
        const char *said = readout_sentence(answer);
        ck_assert_msg(strstr(said, "Readout: ") && strstr(said, "count: ") &&
                          strstr(said, "as if it had slipped"),
                      "%s", said);
        double told = atof(strstr(said, "They are ") + strlen("They are "));
        ck_assert_double_eq_tol(told, abs(full_steps), 1.2);
        cJSON_Delete(answer);
        expect_status(&rig, rig.client, "activity", "barred");
        expect_status(&rig, rig.client, "reference", "lost");
        expect_status(&rig, rig.client, "table_zero", "lost");
        expect_reason(rig_call(&rig, "to", "{\"height\":\"0mm\"}"), "barred");
        expect_done(rig_call(&rig, "all-clear", NULL));
        expect_reason(rig_call(&rig, "to", "{\"height\":\"0mm\"}"), "height-unknown");
    }
    rig_end(&rig);
}
END_TEST

START_TEST(none_is_reported_in_two_thousand_moves_without_one)
{
    struct rig rig;
    uint64_t seed = rig_seed("no slips");
    const char *given = getenv("REGLET_MOVES");
    int moves = given ? atoi(given) : 2000;
    readout_start(&rig, "\"two_wire\": \"rising\"");
    rig_tell(&rig, "set scale_noise_nm %d", NOISE_NM);
    rig_tell(&rig, "set wobble_nm 4000"); /* what an error table leaves, and more */
    rig_touch_off(&rig);
    double worst = gauge_worst(&rig, &seed, moves);
    printf("%d moves, worst true error %.1f um, drift %.1f um\n", moves, worst / 1000,
           apart_nm(&rig) / 1000);
    ck_assert_double_lt(worst, 2 * FULL_STEP_NM);
    expect_status(&rig, rig.client, "table_zero", "sure");
    ck_assert(!rig_log_has(&rig, "barred"));
    rig_end(&rig);
}
END_TEST

/* Off by more than the tolerance and less than half a cycle: set right once, and said in the log.
 */
START_TEST(a_small_difference_is_corrected_once)
{
    struct rig rig;
    readout_start(&rig, "\"two_wire\": \"rising\", \"resolution\": \"0.001mm\", \"tolerance\": "
                        "\"0.005mm\"");
    rig_tell(&rig, "set scale_unit_nm 1000");
    rig_run(&rig, 1000);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"-10mm\"}"));
    cJSON *answer = slipping_move(&rig, 10000000, -10, 900); /* 12.5 um, by no motor */
    ck_assert_msg(rig_done(answer), "%s", readout_sentence(answer));
    cJSON_Delete(answer);
    ck_assert_double_le(fabs(gauge_truth(&rig) - 10e6), 2000);
    expect_status(&rig, rig.client, "table_zero", "sure");
    ck_assert_double_le(fabs(apart_nm(&rig)), 2000);
    /* And again: together they are what a slip is, and that is not corrected away by and by. */
    answer = slipping_move(&rig, -10000000, -10, 900);
    expect_reason(answer, "readout-apart");
    rig_end(&rig);
}
END_TEST

START_TEST(a_hand_on_the_screw_at_rest_is_noticed)
{
    struct rig rig;
    readout_start(&rig, "\"two_wire\": \"rising\"");
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"5mm\"}"));
    rig_tell(&rig, "slip %d", 5 * FULL_STEP);
    rig_run(&rig, 1000);
    expect_status(&rig, rig.client, "activity", "barred");
    expect_status(&rig, rig.client, "table_zero", "lost");
    expect_reason(rig_call(&rig, "by", "{\"distance\":\"1mm\"}"), "barred");
    rig_end(&rig);
}
END_TEST

/* A shop warms up: the frame grows by some thousandths of a millimetre, and that goes into the log.
 */
START_TEST(a_drift_over_the_day_is_logged_and_alarms_nobody)
{
    struct rig rig;
    readout_start(&rig, "\"two_wire\": \"rising\"");
    rig_tell(&rig, "set scale_noise_nm %d", NOISE_NM);
    rig_touch_off(&rig);
    for (int i = 0; i < 60; i++) {
        rig_tell(&rig, "set scale_zero_nm %d", -12345678 - i * 120);
        expect_done(rig_length(&rig, "to", "height", (i % 7 - 3) * 3000000));
    }
    cJSON *readout = readout_now(&rig);
    ck_assert_double_eq_tol(rig_number(readout, "drift_nm"), 59 * 120, 4000);
    cJSON_Delete(readout);
    expect_status(&rig, rig.client, "table_zero", "sure");
    char path[128];
    char line[600];
    int drifts = 0;
    double last_nm = 0;
    snprintf(path, sizeof path, "%s/log", rig.folder);
    FILE *log = fopen(path, "re");
    ck_assert_ptr_nonnull(log);
    while (fgets(line, sizeof line, log)) {
        cJSON *entry = cJSON_Parse(line);
        if (strcmp(cJSON_GetObjectItem(entry, "event")->valuestring, "drift") == 0) {
            drifts++;
            last_nm = rig_number(entry, "drift_nm");
        }
        cJSON_Delete(entry);
    }
    fclose(log);
    ck_assert_int_ge(drifts, 2);
    ck_assert_int_le(drifts, 30);
    ck_assert_double_eq_tol(last_nm, 59 * 120, 6000);
    rig_end(&rig);
}
END_TEST

/* Before the lead was measured its error would look like slip: it is shown, and not gone by. */
START_TEST(without_a_measured_lead_it_checks_nothing)
{
    struct rig rig;
    readout_start_unmeasured(&rig, "\"two_wire\": \"rising\"");
    rig_tell(&rig, "set lead_error 0.003");
    rig_touch_off(&rig);
    for (int i = 0; i < 6; i++) {
        expect_done(rig_length(&rig, "to", "height", (i % 2 ? 20 : -20) * 1000000));
    }
    cJSON *readout = readout_now(&rig);
    ck_assert(cJSON_IsFalse(cJSON_GetObjectItem(readout, "checks")));
    ck_assert_ptr_null(cJSON_GetObjectItem(readout, "apart"));
    ck_assert_ptr_nonnull(cJSON_GetObjectItem(readout, "reading_nm"));
    cJSON_Delete(readout);
    rig_end(&rig);
}
END_TEST

/* --- A scale that fails --- */

START_TEST(a_silent_one_is_said_and_not_waited_for)
{
    struct rig rig;
    readout_start(&rig, "\"two_wire\": \"rising\"");
    rig_touch_off(&rig);
    expect_readout(&rig, "reads");
    rig_tell(&rig, "scale off");
    expect_done(rig_call(&rig, "to", "{\"height\":\"5mm\"}"));
    expect_readout(&rig, "silent");
    ck_assert(rig_log_has(&rig, "the readout tells nothing"));
    expect_status(&rig, rig.client, "table_zero", "sure");
    for (int i = 0; i < 4; i++) {
        expect_done(rig_length(&rig, "to", "height", i * 1000000));
    }
    rig_tell(&rig, "scale on");
    rig_run(&rig, 1500);
    expect_readout(&rig, "reads");
    ck_assert(rig_log_has(&rig, "the readout reads again"));
    /* At rest it is noticed too. */
    rig_tell(&rig, "scale off");
    rig_run(&rig, 3000);
    expect_readout(&rig, "silent");
    rig_end(&rig);
}
END_TEST

START_TEST(a_garbled_one_is_said_and_moves_nothing)
{
    struct rig rig;
    readout_start(&rig, "\"two_wire\": \"rising\"");
    rig_touch_off(&rig);
    rig_tell(&rig, "scale garble");
    rig_tell(&rig, "mark");
    for (int i = 1; i < 20; i++) {
        expect_done(rig_length(&rig, "to", "height", i * 500000));
        expect_agreement(&rig);
    }
    expect_readout(&rig, "garbled");
    ck_assert(rig_log_has(&rig, "makes no sense"));
    expect_status(&rig, rig.client, "table_zero", "sure");
    rig_tell(&rig, "scale clear");
    rig_run(&rig, 1500);
    expect_readout(&rig, "reads");
    expect_done(rig_call(&rig, "to", "{\"height\":\"5mm\"}"));
    rig_end(&rig);
}
END_TEST

START_TEST(a_frozen_one_bars_once_for_it_may_be_the_motor)
{
    struct rig rig;
    readout_start(&rig, "\"two_wire\": \"rising\"");
    rig_touch_off(&rig);
    rig_tell(&rig, "scale freeze");
    rig_run(&rig, 500);
    cJSON *answer = rig_call(&rig, "to", "{\"height\":\"5mm\"}");
    ck_assert_msg(strstr(readout_sentence(answer), "5mm"), "%s", readout_sentence(answer));
    expect_reason(answer, "readout-frozen");
    expect_readout(&rig, "frozen");
    expect_status(&rig, rig.client, "table_zero", "unchecked"); /* it is where it should be */
    expect_done(rig_call(&rig, "all-clear", NULL));
    expect_done(rig_call(&rig, "confirm", NULL));
    expect_done(rig_call(&rig, "to", "{\"height\":\"6mm\"}")); /* not gone by any more */
    expect_readout(&rig, "frozen");
    rig_tell(&rig, "scale thaw");
    rig_run(&rig, 1500);
    expect_readout(&rig, "reads");
    expect_done(rig_call(&rig, "to", "{\"height\":\"7mm\"}"));
    rig_end(&rig);
}
END_TEST

/* --- By its word --- */

START_TEST(after_a_power_cut_it_can_vouch_for_the_height)
{
    struct rig rig;
    readout_start(&rig, "\"two_wire\": \"rising\"");
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"5mm\"}"));
    rig_tell(&rig, "power off");
    rig_run(&rig, 3000);
    rig_tell(&rig, "power on");
    rig_run(&rig, 3000);
    expect_status(&rig, rig.client, "table_zero", "unchecked");
    expect_done(rig_call(&rig, "confirm", "{\"readout\":true}"));
    expect_status(&rig, rig.client, "table_zero", "sure");
    expect_status(&rig, rig.client, "reference", "sure");
    expect_reason(rig_call(&rig, "to", "{\"height\":\"6mm\"}"), "ask-bit"); /* not its business */
    expect_done(rig_call(&rig, "confirm", NULL));
    expect_done(rig_call(&rig, "to", "{\"height\":\"6mm\"}"));
    /* The screw was turned meanwhile: it does not vouch. */
    rig_tell(&rig, "power off");
    rig_run(&rig, 1000);
    rig_tell(&rig, "slip %d", FULL_STEP * 3 / 2);
    rig_tell(&rig, "power on");
    rig_run(&rig, 3000);
    expect_reason(rig_call(&rig, "confirm", "{\"readout\":true}"), "disagrees");
    expect_status(&rig, rig.client, "table_zero", "unchecked");
    rig_end(&rig);
}
END_TEST

/* The whole bench is dark, and light again; meanwhile somebody does something to it. */
static void dark_bench(struct rig *rig, const char *command)
{
    rig_end_daemon(rig, SIGKILL);
    rig_tell(rig, "power off");
    rig_run(rig, 1000);
    rig_tell(rig, "%s", command);
    rig_tell(rig, "power on");
    rig_start_daemon(rig);
    rig_run(rig, 4000);
}

START_TEST(it_remembers_over_the_night_and_does_not_take_the_counts_word)
{
    struct rig rig;
    readout_start(&rig, "\"two_wire\": \"rising\"");
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"5mm\"}"));
    dark_bench(&rig, "slip 0");
    expect_status(&rig, rig.client, "table_zero", "unchecked");
    expect_done(rig_call(&rig, "confirm", "{\"readout\":true}"));
    expect_done(rig_call(&rig, "confirm", NULL)); /* the same bit */
    expect_done(rig_call(&rig, "to", "{\"height\":\"6mm\"}"));
    /* The screw was turned by more than a slip, and by less. */
    char turned[40];
    snprintf(turned, sizeof turned, "slip %d", FULL_STEP * 3 / 2);
    dark_bench(&rig, turned);
    expect_status(&rig, rig.client, "table_zero", "unchecked");
    expect_reason(rig_call(&rig, "confirm", "{\"readout\":true}"), "disagrees");
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"7mm\"}"));
    dark_bench(&rig, "slip 800");
    expect_reason(rig_call(&rig, "confirm", "{\"readout\":true}"), "disagrees");
    expect_done(rig_call(&rig, "by", "{\"distance\":\"1mm\"}")); /* no slip of this move */
    ck_assert(rig_log_has(&rig, "while the daemon did not run"));
    expect_status(&rig, rig.client, "activity", "still");
    expect_status(&rig, rig.client, "table_zero", "unchecked");
    expect_reason(rig_call(&rig, "confirm", "{\"readout\":true}"), "no-readout");
    rig_end(&rig);
}
END_TEST

START_TEST(a_scale_that_was_set_to_zero_meanwhile_is_said_and_bars_nothing)
{
    struct rig rig;
    readout_start(&rig, "\"two_wire\": \"rising\"");
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"5mm\"}"));
    rig_end_daemon(&rig, SIGTERM);
    rig_tell(&rig, "set scale_zero_nm -2345678");
    rig_start_daemon(&rig);
    rig_run(&rig, 4000);
    ck_assert(rig_log_has(&rig, "while the daemon did not run"));
    expect_status(&rig, rig.client, "activity", "still");
    expect_status(&rig, rig.client, "table_zero", "unchecked");
    expect_reason(rig_call(&rig, "to", "{\"height\":\"6mm\"}"), "unchecked");
    expect_done(rig_call(&rig, "confirm", NULL));
    expect_done(rig_call(&rig, "to", "{\"height\":\"6mm\"}")); /* and is matched anew */
    ck_assert_double_le(fabs(apart_nm(&rig)), 10000);
    rig_end(&rig);
}
END_TEST

START_TEST(a_touch_off_can_go_by_it)
{
    struct rig rig;
    readout_start(&rig, "\"two_wire\": \"rising\"");
    rig_touch_off(&rig);
    cJSON *readout = readout_now(&rig);
    double reading_nm = rig_number(readout, "reading_nm");
    cJSON_Delete(readout);
    rig_tell(&rig, "bit %.0f", reading_nm); /* its own zero was set with the bit flush */
    expect_done(rig_call(&rig, "touch", "{\"readout\":true}"));
    ck_assert_double_eq_tol(gauge_truth(&rig), reading_nm, 1);
    cJSON *answer = rig_call(&rig, "status", NULL);
    ck_assert_double_eq(rig_number(cJSON_GetObjectItem(answer, "result"), "height_nm"), reading_nm);
    cJSON_Delete(answer);
    rig_tell(&rig, "scale off");
    rig_run(&rig, 4000);
    expect_reason(rig_call(&rig, "touch", "{\"readout\":true}"), "no-readout");
    reglet_expect(&rig, "", 0, "IT IS silent");
    rig_tell(&rig, "scale on");
    rig_run(&rig, 2000);
    reglet_expect(&rig, "touch readout", 0, "at what the digital scale shows");
    reglet_expect(&rig, "confirm readout", 0, "");
    rig_end(&rig);
}
END_TEST

START_TEST(without_one_nothing_is_asked_of_it)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    rig_tell(&rig, "scale on"); /* told, and not listened to */
    rig_run(&rig, 1000);
    cJSON *answer = rig_call(&rig, "status", NULL);
    ck_assert_ptr_null(cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "result"), "readout"));
    cJSON_Delete(answer);
    expect_reason(rig_call(&rig, "touch", "{\"readout\":true}"), "no-readout");
    expect_reason(rig_call(&rig, "confirm", "{\"readout\":true}"), "no-readout");
    expect_done(rig_call(&rig, "to", "{\"height\":\"3mm\"}"));
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("readout");
    TCase *cases = tcase_create("readout");
    tcase_set_timeout(cases, 300);
    tcase_add_test(cases, what_it_reads_is_told_in_either_unit_and_sense);
    tcase_add_test(cases, a_slip_is_caught_at_the_end_of_its_move);
    tcase_add_test(cases, none_is_reported_in_two_thousand_moves_without_one);
    tcase_add_test(cases, a_small_difference_is_corrected_once);
    tcase_add_test(cases, a_hand_on_the_screw_at_rest_is_noticed);
    tcase_add_test(cases, a_drift_over_the_day_is_logged_and_alarms_nobody);
    tcase_add_test(cases, without_a_measured_lead_it_checks_nothing);
    tcase_add_test(cases, a_silent_one_is_said_and_not_waited_for);
    tcase_add_test(cases, a_garbled_one_is_said_and_moves_nothing);
    tcase_add_test(cases, a_frozen_one_bars_once_for_it_may_be_the_motor);
    tcase_add_test(cases, after_a_power_cut_it_can_vouch_for_the_height);
    tcase_add_test(cases, it_remembers_over_the_night_and_does_not_take_the_counts_word);
    tcase_add_test(cases, a_scale_that_was_set_to_zero_meanwhile_is_said_and_bars_nothing);
    tcase_add_test(cases, a_touch_off_can_go_by_it);
    tcase_add_test(cases, without_one_nothing_is_asked_of_it);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
