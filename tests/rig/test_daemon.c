/* SPDX-License-Identifier: MIT */
/* What the daemon allows, refuses and brakes, seen from a client and from the lift. */
#include <check.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

/* Starts a move and lets it go on for a while. */
static int begin_move(struct rig *rig, const char *height, int ms)
{
    char params[80];
    snprintf(params, sizeof params, "{\"height\":\"%s\"}", height);
    int id = rig_send(rig, rig->client, "to", params);
    cJSON_Delete(rig_answer(rig->client, rig_send(rig, rig->client, "hello", NULL)));
    rig_run(rig, ms);
    return id;
}

START_TEST(a_height_needs_a_touch_off_and_a_touch_off_needs_coming_up)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    expect_reason(rig_call(&rig, "to", "{\"height\":\"3/8in\"}"), "height-unknown");
    expect_reason(rig_call(&rig, "touch", "{\"height\":\"0in\"}"), "come-up-first");
    expect_reason(rig_call(&rig, "by", "{\"distance\":\"1in\"}"), "nudge-too-far");
    expect_reason(rig_call(&rig, "confirm", NULL), "height-unknown");
    expect_reason(rig_call(&rig, "keep", "{\"name\":\"a\"}"), "height-unknown");
    expect_done(rig_call(&rig, "by", "{\"distance\":\"-1/4in\"}"));
    expect_done(rig_call(&rig, "by", "{\"distance\":\"1/4in\"}"));
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0in\"}"));
    rig_end(&rig);
}
END_TEST

START_TEST(no_move_leaves_the_travel)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_reason(rig_call(&rig, "to", "{\"height\":\"39mm\"}"), "above-travel");
    expect_reason(rig_call(&rig, "to", "{\"height\":\"-40mm\"}"), "below-travel");
    expect_reason(rig_call(&rig, "to", "{\"height\":\"-37.8mm\"}"), "take-up");
    expect_done(rig_call(&rig, "to", "{\"height\":\"38mm\"}"));
    expect_agreement(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"-37mm\"}"));
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(the_top_is_found_from_anywhere_and_keeps_the_zero)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (int i = 0; i < 3; i++) {
        expect_done(rig_call(&rig, "find-top", NULL));
        expect_agreement(&rig);
        expect_status(&rig, rig.client, "reference", "sure");
        expect_done(rig_length(&rig, "to", "height", i * 5000000));
        expect_agreement(&rig);
    }
    expect_reason(rig_call(&rig, "here-top", NULL), "top-switch-fitted");
    rig_end(&rig);
}
END_TEST

START_TEST(a_zero_touched_off_before_the_top_was_found_keeps_its_place)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    expect_done(rig_call(&rig, "by", "{\"distance\":\"-1/4in\"}"));
    expect_done(rig_call(&rig, "by", "{\"distance\":\"1/4in\"}"));
    rig_tell(&rig, "bit 3000000");
    expect_done(rig_call(&rig, "touch", "{\"height\":\"3mm\"}"));
    expect_status(&rig, rig.client, "reference", "lost");
    expect_done(rig_call(&rig, "to", "{\"height\":\"1mm\"}"));
    expect_agreement(&rig);
    expect_done(rig_call(&rig, "find-top", NULL));
    expect_agreement(&rig);
    expect_status(&rig, rig.client, "table_zero", "sure");
    rig_end(&rig);
}
END_TEST

START_TEST(a_hundred_nudges_there_and_back_end_where_they_began)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (int i = 0; i < 100; i++) {
        expect_done(rig_call(&rig, "by",
                             i % 2 ? "{\"distance\":\"-1/64in\"}" : "{\"distance\":\"1/64in\"}"));
    }
    cJSON *answer = rig_call(&rig, "status", NULL);
    ck_assert_double_eq(rig_number(cJSON_GetObjectItem(answer, "result"), "height_nm"), 0);
    cJSON_Delete(answer);
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(a_stop_from_another_client_ends_the_move_and_says_so)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    FILE *other = rig_connect(&rig);
    for (int ms = 45; ms < 1200; ms += 127) {
        int move = begin_move(&rig, ms % 2 ? "12mm" : "-12mm", ms);
        int stop = rig_send(&rig, other, "stop", NULL);
        cJSON_Delete(rig_answer(other, rig_send(&rig, other, "hello", NULL)));
        expect_reason(rig_settle(&rig, rig.client, move), "stopped");
        expect_done(rig_settle(&rig, other, stop));
        expect_agreement(&rig);
        expect_done(rig_call(&rig, "to", "{\"height\":\"0in\"}"));
    }
    fclose(other);
    rig_end(&rig);
}
END_TEST

START_TEST(motion_during_motion_is_refused_and_changes_nothing)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    FILE *other = rig_connect(&rig);
    int move = begin_move(&rig, "12mm", 500);
    expect_status(&rig, other, "activity", "moving");
    int id = rig_send(&rig, other, "to", "{\"height\":\"1mm\"}");
    expect_reason(rig_answer(other, id), "busy");
    id = rig_send(&rig, other, "touch", "{\"height\":\"1mm\"}");
    expect_reason(rig_answer(other, id), "busy");
    expect_done(rig_settle(&rig, rig.client, move));
    expect_agreement(&rig);
    fclose(other);
    rig_end(&rig);
}
END_TEST

START_TEST(a_client_that_goes_away_in_mid_move_brakes_the_lift)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    begin_move(&rig, "20mm", 700);
    fclose(rig.client);
    rig.client = rig_connect(&rig);
    cJSON_Delete(rig_call(&rig, "hello", NULL));
    rig_tell(&rig, "run-rest 300");
    cJSON *answer = rig_call(&rig, "status", NULL);
    ck_assert_double_lt(rig_number(cJSON_GetObjectItem(answer, "result"), "height_nm"), 15e6);
    cJSON_Delete(answer);
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(an_open_stop_circuit_brakes_and_bars_until_all_clear)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    int move = begin_move(&rig, "20mm", 700);
    rig_tell(&rig, "stop-circuit open");
    expect_reason(rig_settle(&rig, rig.client, move), "stopped");
    expect_status(&rig, rig.client, "activity", "barred");
    expect_reason(rig_call(&rig, "to", "{\"height\":\"0in\"}"), "stop-open");
    expect_reason(rig_call(&rig, "all-clear", NULL), "stop-open");
    rig_tell(&rig, "stop-circuit closed");
    rig_run(&rig, 400);
    expect_reason(rig_call(&rig, "by", "{\"distance\":\"1/64in\"}"), "barred");
    expect_done(rig_call(&rig, "all-clear", NULL));
    expect_status(&rig, rig.client, "activity", "still");
    expect_done(rig_call(&rig, "find-top", NULL)); /* the position was lost; this brings it back */
    expect_agreement(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"0in\"}"));
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(ending_the_daemon_in_mid_move_brakes_first)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    FILE *other = rig_connect(&rig);
    int move = rig_send(&rig, other, "to", "{\"height\":\"20mm\"}");
    cJSON_Delete(rig_answer(other, rig_send(&rig, other, "hello", NULL)));
    rig_run(&rig, 900);
    cJSON *before = rig_ask(&rig, "truth");
    rig_end_daemon(&rig, SIGTERM);
    expect_reason(rig_answer(other, move), "stopped"); /* told before the connection ends */
    fclose(other);
    cJSON *truth = rig_ask(&rig, "truth");
    ck_assert(cJSON_IsTrue(cJSON_GetObjectItem(before, "moving")));
    ck_assert(cJSON_IsFalse(cJSON_GetObjectItem(truth, "moving")));
    /* v^2/2a at 8000 steps/s and 100 000 steps/s^2 is 320 steps, and some on the way to it. */
    ck_assert_double_lt(rig_number(truth, "count") - rig_number(before, "count"), 320 + 200);
    cJSON_Delete(before);
    cJSON_Delete(truth);
    rig_end(&rig);
}
END_TEST

START_TEST(a_daemon_killed_in_mid_move_leaves_a_lift_that_brakes_by_itself)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    begin_move(&rig, "20mm", 900);
    rig_end_daemon(&rig, SIGKILL);
    rig_run(&rig, 1000);
    cJSON *truth = rig_ask(&rig, "truth");
    ck_assert(cJSON_IsFalse(cJSON_GetObjectItem(truth, "moving")));
    ck_assert_double_lt(rig_number(truth, "height_nm"), 19e6);
    cJSON_Delete(truth);
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    expect_status(&rig, rig.client, "activity", "still");
    rig_end(&rig);
}
END_TEST

START_TEST(a_port_that_is_pulled_out_is_told_and_found_again)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    int move = begin_move(&rig, "20mm", 700);
    rig_tell(&rig, "unplug");
    cJSON *answer = rig_answer(rig.client, move);
    expect_reason(answer, "unplugged");
    expect_status(&rig, rig.client, "activity", "unplugged");
    rig_tell(&rig, "plug");
    rig_run(&rig, 2000);
    expect_status(&rig, rig.client, "activity", "still");
    expect_agreement(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"0in\"}"));
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(the_same_in_real_time)
{
    struct rig rig;
    rig_start_patient(&rig);
    rig_touch_off(&rig);
    expect_done(rig_insist(&rig, "to", "{\"height\":\"-3/8in\"}"));
    expect_agreement(&rig);
    expect_done(rig_insist(&rig, "to", "{\"height\":\"7/16in\"}"));
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("daemon");
    TCase *cases = tcase_create("daemon");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, a_height_needs_a_touch_off_and_a_touch_off_needs_coming_up);
    tcase_add_test(cases, no_move_leaves_the_travel);
    tcase_add_test(cases, the_top_is_found_from_anywhere_and_keeps_the_zero);
    tcase_add_test(cases, a_zero_touched_off_before_the_top_was_found_keeps_its_place);
    tcase_add_test(cases, a_hundred_nudges_there_and_back_end_where_they_began);
    tcase_add_test(cases, a_stop_from_another_client_ends_the_move_and_says_so);
    tcase_add_test(cases, motion_during_motion_is_refused_and_changes_nothing);
    tcase_add_test(cases, a_client_that_goes_away_in_mid_move_brakes_the_lift);
    tcase_add_test(cases, an_open_stop_circuit_brakes_and_bars_until_all_clear);
    tcase_add_test(cases, ending_the_daemon_in_mid_move_brakes_first);
    tcase_add_test(cases, a_daemon_killed_in_mid_move_leaves_a_lift_that_brakes_by_itself);
    tcase_add_test(cases, a_port_that_is_pulled_out_is_told_and_found_again);
    tcase_add_test(cases, the_same_in_real_time);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
