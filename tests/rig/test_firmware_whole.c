/* SPDX-License-Identifier: MIT */
/*
 * End to end: regletd and reglet drive the microcontroller's own firmware, in simavr behind a pty,
 * and that drives the practice lift's screw. What Reglet says is held against the true height.
 */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/rig/reglet_run.h"
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

static void expect_sure_agreement(void)
{
    expect_status(&rig, rig.client, "table_zero", "sure");
    expect_agreement(&rig);
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
        expect_sure_agreement();
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
    expect_sure_agreement();
}

/* Fast, let go, and at rest within v^2/2a (any mechanics textbook) and what the brake's way to the
 * generator takes. The practice lift: 5080 steps/s are 1/4 in/s, the brake is 100 000 steps/s^2. */
static void expect_a_hold_to_end_with_its_release(void)
{
    enum { FAST_HZ = 5080, BRAKE_HZ_S = 100000, NOTICE_MS = 10, RENEW_MS = 50, RENEWALS = 10 };
    char token[48];
    cJSON *answer = rig_answer(rig.client, rig_send(&rig, rig.client, "hold",
                                                    "{\"direction\":\"down\",\"speed\":\"fast\"}"));
    ck_assert_msg(rig_done(answer), "refused: %s", rig_reason(answer));
    snprintf(token, sizeof token, "{\"token\":\"%s\"}",
             cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "result"), "token")->valuestring);
    cJSON_Delete(answer);
    for (int i = 0; i < RENEWALS; i++) {
        rig_run(&rig, RENEW_MS);
        expect_done(rig_answer(rig.client, rig_send(&rig, rig.client, "renew", token)));
    }
    cJSON *truth = rig_ask(&rig, "truth");
    double before = rig_number(truth, "count");
    ck_assert(cJSON_IsTrue(cJSON_GetObjectItem(truth, "moving")));
    cJSON_Delete(truth);
    expect_done(rig_settle(&rig, rig.client, rig_send(&rig, rig.client, "release", token)));
    truth = rig_ask(&rig, "truth");
    double went = before - rig_number(truth, "count");
    cJSON_Delete(truth);
    ck_assert_double_ge(went, FAST_HZ * FAST_HZ / (2.0 * BRAKE_HZ_S) - 2);
    ck_assert_double_le(went, FAST_HZ * NOTICE_MS / 1000.0 +
                                  (double)FAST_HZ * FAST_HZ / (2.0 * BRAKE_HZ_S) + 3);
    expect_agreement(&rig);
}

/* What a person types. The tip stands 7.3 mm under the table where 7 mm are said. */
static void expect_the_plate_to_find_the_table_again(void)
{
    reglet_expect(&rig, "to -7mm", 0, "");
    rig_tell(&rig, "bit -7300000");
    rig_tell(&rig, "plate touch");
    rig_run(&rig, 300);
    reglet_expect(&rig, "", 0, "THE TOUCH PLATE IS CLOSED");
    rig_tell(&rig, "plate untouch");
    rig_run(&rig, 300);
    rig_tell(&rig, "plate lay 0");
    reglet_expect(&rig, "touch plate", 0, "THAT IS OVER .003in: the bit has slipped");
    rig_tell(&rig, "plate lift");
    rig_run(&rig, 300);
    reglet_expect(&rig, "to 5/32", 0, "");
    cJSON *truth = rig_ask(&rig, "truth");
    /* 5/32 in; two steps, one of them the plate's */
    ck_assert_double_le(fabs(rig_number(truth, "height_nm") - 3968750), 2500);
    cJSON_Delete(truth);
}

/* At rest nothing is lost, but for what the rotor may have settled by. */
static void expect_a_loss_of_power_at_rest_to_leave_it_unchecked(const char *const *told)
{
    for (; *told; told++) {
        rig_tell(&rig, "%s", *told);
        rig_run(&rig, 1000);
    }
    rig_run(&rig, 3000);
    expect_status(&rig, rig.client, "table_zero", "unchecked");
    expect_status(&rig, rig.client, "reference", "unchecked");
    rig_touch_off(&rig);
    expect_sure_agreement();
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
    expect_status(&rig, rig.client, "table_zero", "lost");
    expect_status(&rig, rig.client, "reference", "lost");
}

/* One life of one lift: to start and touch off takes as long as all of this. */
START_TEST(a_working_day_through_the_firmware)
{
    static const char *const power[] = {"power off", "power on", NULL};
    static const char *const reset[] = {"reset", NULL};
    expect_moves_to_end_where_they_are_wanted();
    expect_a_hold_to_end_with_its_release();
    expect_a_stop_to_leave_a_height_that_is_known();
    expect_the_plate_to_find_the_table_again();
    expect_a_loss_of_power_at_rest_to_leave_it_unchecked(power);
    expect_a_loss_of_power_at_rest_to_leave_it_unchecked(reset);
    expect_a_reset_to_be_seen_and_the_height_lost();
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("firmware_whole");
    TCase *whole = tcase_create("whole");
    tcase_add_checked_fixture(whole, start, end);
    tcase_set_timeout(whole, 300);
    tcase_add_test(whole, a_working_day_through_the_firmware);
    suite_add_tcase(suite, whole);
    return run_suite(suite);
}
