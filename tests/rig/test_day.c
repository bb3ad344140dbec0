/* SPDX-License-Identifier: MIT */
/* What a working day asks of the lift: a change of the bit, what rides, the plate, test cuts, and
 * the interlocks in both states and changing in mid-move. */
#include <check.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rig/config_rig.h"
#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

static double true_height(struct rig *rig)
{
    cJSON *truth = rig_ask(rig, "truth");
    double nm = rig_number(truth, "height_nm");
    cJSON_Delete(truth);
    return nm;
}

static double said_height(struct rig *rig)
{
    cJSON *answer = rig_call(rig, "status", NULL);
    double nm = rig_number(cJSON_GetObjectItem(answer, "result"), "height_nm");
    cJSON_Delete(answer);
    return nm;
}

/* What must never happen, as the practice lift saw it. */
static void expect_no_harm(struct rig *rig)
{
    cJSON *truth = rig_ask(rig, "truth");
    ck_assert_double_eq(rig_number(truth, "cutter_in_ring"), 0);
    ck_assert_double_eq(rig_number(truth, "against_lock"), 0);
    ck_assert_double_eq(rig_number(truth, "turning_in_work"), 0);
    cJSON_Delete(truth);
}

static void expect_near(double a, double b)
{
    ck_assert_msg(fabs(a - b) <= 625, "%g and %g", a, b); /* half a step */
}

static int begin(struct rig *rig, const char *method, const char *params, int ms)
{
    int id = rig_send(rig, rig->client, method, params);
    cJSON_Delete(rig_answer(rig->client, rig_send(rig, rig->client, "hello", NULL)));
    rig_run(rig, ms);
    return id;
}

START_TEST(a_bit_is_changed_with_everything_asked_and_its_zero_ended)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    expect_reason(rig_call(&rig, "change", "{\"clear\":true}"), "top-unknown");
    rig_touch_off(&rig);
    expect_reason(rig_call(&rig, "change", NULL), "say-clear");
    expect_status(&rig, rig.client, "table_zero", "sure");
    expect_done(rig_call(&rig, "change", "{\"clear\":true}"));
    expect_status(&rig, rig.client, "table_zero", "lost");
    expect_status(&rig, rig.client, "reference", "sure");
    expect_status(&rig, rig.client, "stage", "changing");
    static const char *const asked[][2] = {
        {"to", "{\"height\":\"1mm\"}"},     {"by", "{\"distance\":\"1mm\"}"},
        {"hold", "{\"direction\":\"up\"}"}, {"find-top", NULL},
        {"change", "{\"clear\":true}"},     {"touch", "{\"height\":\"0mm\"}"},
    };
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        expect_reason(rig_call(&rig, asked[i][0], asked[i][1]), "bit-out");
    }
    rig_end_daemon(&rig, SIGKILL); /* hands are there still */
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    expect_reason(rig_call(&rig, "by", "{\"distance\":\"1mm\"}"), "bit-out");
    expect_reason(rig_call(&rig, "fit", NULL), "say-clear");
    expect_done(rig_call(&rig, "fit", "{\"clear\":true}"));
    expect_status(&rig, rig.client, "stage", "fitted");
    expect_reason(rig_call(&rig, "by", "{\"distance\":\"-1mm\"}"), "hold-first");
    expect_reason(rig_call(&rig, "find-top", NULL), "hold-first");
    cJSON *held = rig_call(&rig, "hold", "{\"direction\":\"down\"}");
    ck_assert(rig_done(held));
    cJSON_Delete(held);
    rig_run(&rig, 600); /* not renewed: it ends by itself */
    expect_done(rig_call(&rig, "by", "{\"distance\":\"-1mm\"}"));
    expect_reason(rig_call(&rig, "to", "{\"height\":\"1mm\"}"), "height-unknown");
    expect_done(rig_call(&rig, "by", "{\"distance\":\"1mm\"}"));
    rig_tell(&rig, "bit 2000000");
    expect_done(rig_call(&rig, "touch", "{\"height\":\"2mm\"}"));
    expect_done(rig_call(&rig, "to", "{\"height\":\"-3mm\"}"));
    expect_agreement(&rig);
    expect_no_harm(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(what_carries_the_work_is_added_until_it_is_taken_away)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"5mm\"}"));
    expect_done(rig_call(&rig, "riding", "{\"thickness\":\"3/8in\"}"));
    expect_status(&rig, rig.client, "riding", "9.525mm");
    expect_status(&rig, rig.client, "height", "-4.525mm"); /* over the sled */
    expect_done(rig_call(&rig, "to", "{\"height\":\"5mm\"}"));
    expect_near(true_height(&rig), 14.525e6);
    rig_end_daemon(&rig, SIGKILL);
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    expect_reason(rig_call(&rig, "to", "{\"height\":\"5mm\"}"), "ask-riding");
    expect_done(rig_call(&rig, "by", "{\"distance\":\"1/64in\"}"));
    expect_done(rig_call(&rig, "riding", "{\"thickness\":\"3/8in\"}"));
    expect_done(rig_call(&rig, "to", "{\"height\":\"6mm\"}"));
    expect_near(true_height(&rig), 15.525e6);
    /* Touched off over the sled. */
    rig_tell(&rig, "bit 9525000");
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0mm\"}"));
    expect_status(&rig, rig.client, "zero_moved", "6mm");
    expect_done(rig_call(&rig, "riding", "{\"thickness\":\"0mm\"}"));
    expect_done(rig_call(&rig, "to", "{\"height\":\"2mm\"}"));
    expect_near(true_height(&rig), 2e6);
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(a_correction_moves_the_same_height_and_can_be_undone)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"6mm\"}"));
    expect_reason(rig_call(&rig, "undo", NULL), "nothing-before");
    expect_reason(rig_call(&rig, "correct", "{\"raise\":\"4mm\"}"), "disagrees");
    expect_done(rig_call(&rig, "correct", "{\"raise\":\".002in\"}"));
    expect_near(said_height(&rig), 6e6);
    expect_status(&rig, rig.client, "corrected", "0.0508mm");
    expect_near(true_height(&rig), 6.0508e6);
    expect_done(rig_call(&rig, "to", "{\"height\":\"1mm\"}"));
    expect_near(true_height(&rig), 1.0508e6);
    expect_done(rig_call(&rig, "undo", NULL));
    expect_near(true_height(&rig), 1e6);
    expect_near(said_height(&rig), 1e6);
    expect_reason(rig_call(&rig, "undo", NULL), "nothing-before");
    expect_done(rig_call(&rig, "correct", "{\"raise\":\"-.01in\"}"));
    expect_near(true_height(&rig), 1e6 - 254000);
    /* What cannot be gone to is not taken into the zero either. */
    rig_tell(&rig, "lock on");
    rig_run(&rig, 300);
    expect_reason(rig_call(&rig, "correct", "{\"raise\":\".002in\"}"), "carriage-locked");
    expect_reason(rig_call(&rig, "undo", NULL), "carriage-locked");
    rig_tell(&rig, "lock off");
    rig_run(&rig, 300);
    expect_near(said_height(&rig), 1e6);
    expect_near(true_height(&rig), 1e6 - 254000);
    rig_end(&rig);
}
END_TEST

/* Tip 8 mm under the plate's face, which lies 1 mm over the table. */
static void prepare_plate(struct rig *rig)
{
    rig_touch_off(rig);
    expect_done(rig_call(rig, "to", "{\"height\":\"-7mm\"}"));
    rig_tell(rig, "bit -7300000"); /* the bit slipped: the zero is 0.3 mm wrong */
    rig_tell(rig, "plate touch");
    rig_run(rig, 300);
    rig_tell(rig, "plate untouch");
    rig_run(rig, 300);
    rig_tell(rig, "plate lay 0");
}

START_TEST(the_plate_finds_the_zero_after_it_was_seen_to_work)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_reason(rig_call(&rig, "touch", "{\"plate\":true}"), "plate-check");
    rig_tell(&rig, "plate touch");
    rig_run(&rig, 300);
    expect_reason(rig_call(&rig, "touch", "{\"plate\":true}"), "plate-closed");
    rig_tell(&rig, "plate untouch");
    rig_run(&rig, 300);
    prepare_plate(&rig);
    expect_done(rig_call(&rig, "touch", "{\"plate\":true}"));
    rig_tell(&rig, "plate lift");
    expect_status(&rig, rig.client, "table_zero", "sure");
    cJSON *answer = rig_call(&rig, "status", NULL);
    double moved = rig_number(cJSON_GetObjectItem(answer, "result"), "zero_moved_nm");
    ck_assert_double_le(fabs(moved - 300000), 2500); /* two steps */
    cJSON_Delete(answer);
    expect_done(rig_call(&rig, "to", "{\"height\":\"4mm\"}"));
    ck_assert_double_le(fabs(true_height(&rig) - 4e6), 2500);
    /* It was used up: the contact must be seen to work again. */
    expect_done(rig_call(&rig, "to", "{\"height\":\"-4mm\"}"));
    expect_reason(rig_call(&rig, "touch", "{\"plate\":true}"), "plate-check");
    rig_end(&rig);
}
END_TEST

START_TEST(a_plate_that_is_not_met_or_stays_closed_or_disagrees_changes_nothing)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    prepare_plate(&rig);
    rig_tell(&rig, "plate lift");
    expect_reason(rig_call(&rig, "touch", "{\"plate\":true,\"most\":\"5mm\"}"), "plate-not-met");
    expect_status(&rig, rig.client, "table_zero", "sure");
    prepare_plate(&rig);
    int id = begin(&rig, "touch", "{\"plate\":true}", 2200);
    rig_tell(&rig, "plate touch"); /* a wire falls on the table */
    expect_reason(rig_settle(&rig, rig.client, id), "plate-closed");
    rig_tell(&rig, "plate untouch");
    rig_run(&rig, 300);
    prepare_plate(&rig);
    id = begin(&rig, "touch", "{\"plate\":true}", 3200); /* one touch or two are made */
    rig_tell(&rig, "plate lay 200000");                  /* something lies under the plate */
    expect_reason(rig_settle(&rig, rig.client, id), "plate-spread");
    expect_status(&rig, rig.client, "table_zero", "sure");
    rig_end(&rig);
}
END_TEST

START_TEST(a_locked_carriage_is_not_driven)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    rig_tell(&rig, "lock on");
    rig_run(&rig, 300);
    static const char *const asked[][2] = {
        {"to", "{\"height\":\"1mm\"}"},     {"by", "{\"distance\":\"1mm\"}"},
        {"hold", "{\"direction\":\"up\"}"}, {"find-top", NULL},
        {"change", "{\"clear\":true}"},
    };
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        expect_reason(rig_call(&rig, asked[i][0], asked[i][1]), "carriage-locked");
    }
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0mm\"}")); /* nothing moves by it */
    rig_tell(&rig, "lock off");
    rig_run(&rig, 300);
    expect_done(rig_call(&rig, "to", "{\"height\":\"3mm\"}"));
    expect_agreement(&rig);
    expect_no_harm(&rig);
    /* Closing in mid-move brakes, and the height is not called sure. */
    int id = begin(&rig, "to", "{\"height\":\"20mm\"}", 800);
    rig_tell(&rig, "lock on");
    expect_reason(rig_settle(&rig, rig.client, id), "stopped");
    expect_status(&rig, rig.client, "table_zero", "unchecked");
    rig_tell(&rig, "lock off");
    rig_run(&rig, 300);
    expect_reason(rig_call(&rig, "to", "{\"height\":\"1mm\"}"), "unchecked");
    expect_done(rig_call(&rig, "find-top", NULL));
    expect_done(rig_call(&rig, "to", "{\"height\":\"1mm\"}"));
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(a_router_that_runs_or_runs_down_keeps_the_lift_still)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    rig_tell(&rig, "router on");
    rig_run(&rig, 300);
    static const char *const asked[][2] = {
        {"to", "{\"height\":\"1mm\"}"},     {"by", "{\"distance\":\"1mm\"}"},
        {"hold", "{\"direction\":\"up\"}"}, {"find-top", NULL},
        {"change", "{\"clear\":true}"},     {"touch", "{\"height\":\"0mm\"}"},
        {"fit", "{\"clear\":true}"},        {"hold", "{\"distance\":\"1mm\"}"},
    };
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        expect_reason(rig_call(&rig, asked[i][0], asked[i][1]), "router-running");
    }
    rig_tell(&rig, "work on");
    rig_tell(&rig, "router off");
    rig_run(&rig, 7000); /* it coasts for 8 s, which nobody senses */
    expect_reason(rig_call(&rig, "to", "{\"height\":\"1mm\"}"), "router-running");
    rig_end_daemon(&rig, SIGKILL);
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    expect_reason(rig_call(&rig, "to", "{\"height\":\"1mm\"}"), "router-running");
    rig_tell(&rig, "work off");
    rig_run(&rig, 10000);
    expect_done(rig_call(&rig, "to", "{\"height\":\"1mm\"}"));
    expect_agreement(&rig);
    /* Switched on in mid-move it brakes, and the height stays true. */
    int id = begin(&rig, "to", "{\"height\":\"20mm\"}", 800);
    rig_tell(&rig, "router on");
    expect_reason(rig_settle(&rig, rig.client, id), "stopped");
    expect_status(&rig, rig.client, "table_zero", "sure");
    expect_status(&rig, rig.client, "activity", "still");
    expect_agreement(&rig);
    expect_no_harm(&rig);
    rig_end(&rig);
}
END_TEST

/* A restart behind the run-down does not begin it again. */
START_TEST(a_router_that_has_run_down_is_not_waited_for_by_the_next_daemon)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (int i = 0; i < 2; i++) {
        rig_tell(&rig, "router on");
        rig_run(&rig, 300);
        rig_tell(&rig, "router off");
        rig_run(&rig, i == 0 ? 9000 : 11000);
        rig_end_daemon(&rig, SIGKILL);
        rig_start_daemon(&rig);
        rig_run(&rig, 1000);
        if (i == 0) {
            expect_reason(rig_call(&rig, "to", "{\"height\":\"1mm\"}"), "router-running");
        } else {
            expect_done(rig_call(&rig, "to", "{\"height\":\"1mm\"}"));
        }
    }
    expect_agreement(&rig);
    expect_no_harm(&rig);
    rig_end(&rig);
}
END_TEST

static void run_with_router(struct rig *rig, const char *running)
{
    rig_start(rig, true, 1);
    configure(rig,
              "\"lash\": {\"measured\": \"0.20mm\"},\n"
              "\"inputs\": {\"top_switch\": \"active-high\", \"stop_circuit\": \"active-high\",\n"
              "\"motor_supply\": \"active-high\", \"router\": \"active-high\"},\n"
              "\"router\": {\"while_running\": \"%s\"},\n",
              running);
}

START_TEST(between_cuts_only_a_held_rise_of_one_pass)
{
    struct rig rig;
    run_with_router(&rig, "between-cuts");
    rig_touch_off(&rig);
    rig_tell(&rig, "router on");
    rig_run(&rig, 300);
    expect_reason(rig_call(&rig, "to", "{\"height\":\"1mm\"}"), "router-running");
    expect_reason(rig_call(&rig, "by", "{\"distance\":\"1mm\"}"), "router-running");
    expect_reason(rig_call(&rig, "hold", "{\"direction\":\"up\"}"), "router-running");
    expect_reason(rig_call(&rig, "hold", "{\"distance\":\"-1mm\"}"), "router-running");
    expect_reason(rig_call(&rig, "hold", "{\"height\":\"-1mm\"}"), "router-running");
    expect_reason(rig_call(&rig, "hold", "{\"height\":\"4mm\"}"), "router-running");
    cJSON *held =
        rig_answer(rig.client, rig_send(&rig, rig.client, "hold", "{\"height\":\"2mm\"}"));
    ck_assert_msg(rig_done(held), "%s", rig_reason(held));
    char params[80];
    snprintf(params, sizeof params, "{\"token\":\"%s\"}",
             cJSON_GetObjectItem(cJSON_GetObjectItem(held, "result"), "token")->valuestring);
    cJSON_Delete(held);
    rig_tell(&rig, "mark");
    for (int i = 0; i < 80; i++) {
        rig_run(&rig, 50);
        cJSON_Delete(rig_answer(rig.client, rig_send(&rig, rig.client, "renew", params)));
    }
    expect_near(true_height(&rig), 2e6);
    cJSON *truth = rig_ask(&rig, "truth");
    ck_assert_double_ge(rig_number(truth, "lowest_nm"), -625); /* straight up */
    cJSON_Delete(truth);
    expect_agreement(&rig);
    rig_tell(&rig, "router off");
    rig_run(&rig, 11000);
    /* And what moves when it is switched on, stops. */
    int id = begin(&rig, "to", "{\"height\":\"20mm\"}", 800);
    rig_tell(&rig, "router on");
    expect_reason(rig_settle(&rig, rig.client, id), "stopped");
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(after_half_a_day_the_bit_is_asked_about)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    rig_run(&rig, 5 * 3600 * 1000);
    expect_done(rig_call(&rig, "to", "{\"height\":\"1mm\"}"));
    rig_run(&rig, 6 * 3600 * 1000 + 1000);
    expect_reason(rig_call(&rig, "to", "{\"height\":\"2mm\"}"), "ask-bit");
    expect_done(rig_call(&rig, "by", "{\"distance\":\"1mm\"}"));
    expect_reason(rig_call(&rig, "to", "{\"height\":\"2mm\"}"), "ask-bit");
    expect_done(rig_call(&rig, "confirm", NULL));
    expect_done(rig_call(&rig, "to", "{\"height\":\"2mm\"}"));
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("day");
    TCase *cases = tcase_create("day");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, a_bit_is_changed_with_everything_asked_and_its_zero_ended);
    tcase_add_test(cases, what_carries_the_work_is_added_until_it_is_taken_away);
    tcase_add_test(cases, a_correction_moves_the_same_height_and_can_be_undone);
    tcase_add_test(cases, the_plate_finds_the_zero_after_it_was_seen_to_work);
    tcase_add_test(cases, a_plate_that_is_not_met_or_stays_closed_or_disagrees_changes_nothing);
    tcase_add_test(cases, a_locked_carriage_is_not_driven);
    tcase_add_test(cases, a_router_that_runs_or_runs_down_keeps_the_lift_still);
    tcase_add_test(cases, a_router_that_has_run_down_is_not_waited_for_by_the_next_daemon);
    tcase_add_test(cases, between_cuts_only_a_held_rise_of_one_pass);
    tcase_add_test(cases, after_half_a_day_the_bit_is_asked_about);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
