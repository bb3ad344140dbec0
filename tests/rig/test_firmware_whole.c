/* SPDX-License-Identifier: MIT */
/*
 * End to end: regletd drives the microcontroller's own firmware, in simavr behind a pty, and that
 * drives the practice lift's screw. What Reglet says is held against the true height.
 */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "protocol/link.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

enum { MOVES = 10 };

static struct rig rig;

static void start(void)
{
    ck_assert_int_eq(setenv("REGLET_RIG_LIFT", "reglet-practice-avr", 1), 0);
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
}

static void end(void)
{
    rig_end(&rig);
}

static void expect_agreement(void)
{
    cJSON *answer = rig_call(&rig, "status", NULL);
    cJSON *truth = rig_ask(&rig, "truth");
    const cJSON *status = cJSON_GetObjectItem(answer, "result");
    ck_assert_str_eq(cJSON_GetObjectItem(status, "table_zero")->valuestring, "sure");
    double off_nm = rig_number(status, "height_nm") - rig_number(truth, "height_nm");
    ck_assert_double_le(fabs(off_nm), rig_number(truth, "step_nm") / 2);
    cJSON_Delete(truth);
    cJSON_Delete(answer);
}

static void expect_moves_to_end_where_they_are_wanted(void)
{
    uint64_t seed = rig_seed("firmware whole");
    for (int i = 0; i < MOVES; i++) {
        int64_t wanted_nm = -4000000 + (int64_t)rig_draw(&seed, 8000000);
        cJSON *answer = rig_length(&rig, "to", "height", wanted_nm);
        ck_assert_msg(rig_done(answer), "refused: %s", rig_reason(answer));
        double said_nm = rig_number(cJSON_GetObjectItem(answer, "result"), "height_nm");
        ck_assert_double_le(fabs(said_nm - (double)wanted_nm), 1250 / 2.0);
        cJSON_Delete(answer);
        expect_agreement();
    }
}

static void expect_a_stop_to_leave_a_height_that_is_known(void)
{
    int move = rig_send(&rig, rig.client, "to", "{\"height\":\"-10mm\"}");
    cJSON_Delete(rig_answer(rig.client, rig_send(&rig, rig.client, "hello", NULL)));
    rig_run(&rig, 600);
    FILE *other = rig_connect(&rig);
    int stop = rig_send(&rig, other, "stop", NULL);
    cJSON *answer = rig_settle(&rig, rig.client, move);
    ck_assert_str_eq(rig_reason(answer), "stopped");
    cJSON_Delete(answer);
    cJSON_Delete(rig_settle(&rig, other, stop));
    fclose(other);
    answer = rig_length(&rig, "to", "height", 0); /* the lash is taken up again */
    ck_assert(rig_done(answer));
    cJSON_Delete(answer);
    expect_agreement();
}

static void expect_a_reset_to_be_seen_and_the_height_lost(void)
{
    int move = rig_send(&rig, rig.client, "to", "{\"height\":\"-10mm\"}");
    cJSON_Delete(rig_answer(rig.client, rig_send(&rig, rig.client, "hello", NULL)));
    rig_run(&rig, 600);
    rig_tell(&rig, "reset");
    rig_run(&rig, 3000);
    cJSON *answer = rig_settle(&rig, rig.client, move);
    ck_assert(!rig_done(answer));
    cJSON_Delete(answer);
    answer = rig_call(&rig, "status", NULL);
    const cJSON *status = cJSON_GetObjectItem(answer, "result");
    ck_assert_str_eq(cJSON_GetObjectItem(status, "table_zero")->valuestring, "lost");
    ck_assert_str_eq(cJSON_GetObjectItem(status, "reference")->valuestring, "lost");
    cJSON_Delete(answer);
}

/* One life of one lift: to start and touch off takes as long as all of this. */
START_TEST(moves_a_stop_and_a_reset_through_the_firmware)
{
    expect_moves_to_end_where_they_are_wanted();
    expect_a_stop_to_leave_a_height_that_is_known();
    expect_a_reset_to_be_seen_and_the_height_lost();
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("firmware_whole");
    TCase *whole = tcase_create("whole");
    tcase_add_checked_fixture(whole, start, end);
    tcase_set_timeout(whole, 300);
    tcase_add_test(whole, moves_a_stop_and_a_reset_through_the_firmware);
    suite_add_tcase(suite, whole);
    return run_suite(suite);
}
