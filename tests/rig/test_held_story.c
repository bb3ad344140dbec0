/* SPDX-License-Identifier: MIT */
/* A story gone through by a held pedal: with the router at rest, running, and switched in mid-move.
 * The place goes on when the mark was reached, and not before. */
#include <signal.h>

#include "tests/rig/config_rig.h"
#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/rig/shop_rig.h"
#include "tests/suite.h"

/* Rises of at most a pass (1/8 in), but the fifth; the last is downward. */
static const char story[] =
    "{\"name\":\"passes\",\"marks\":[{\"height\":\"2mm\"},{\"height\":\"4mm\"},"
    "{\"fence\":\"out by 1/8in\"},{\"height\":\"4.5mm\",\"router\":\"off\"},"
    "{\"height\":\"12mm\"},{\"height\":\"3mm\"}]}";

static double true_height(struct rig *rig)
{
    cJSON *truth = rig_ask(rig, "truth");
    double nm = rig_number(truth, "height_nm");
    cJSON_Delete(truth);
    return nm;
}

static void expect_at(struct rig *rig, int mark, double nm)
{
    cJSON *status = ask(rig, "status", NULL);
    ck_assert_double_eq(rig_number(cJSON_GetObjectItem(status, "story"), "mark"), mark);
    ck_assert_msg(fabs(true_height(rig) - nm) <= 625, "%g, not %g", true_height(rig), nm);
    cJSON_Delete(status);
    expect_agreement(rig);
}

static void start(struct rig *rig, const char *running)
{
    rig_start(rig, true, 1);
    configure(rig,
              "\"lash\": {\"measured\": \"0.20mm\"},\n"
              "\"inputs\": {\"top_switch\": \"active-high\", \"stop_circuit\": \"active-high\",\n"
              "\"motor_supply\": \"active-high\", \"router\": \"active-high\"},\n"
              "\"router\": {\"while_running\": \"%s\"},\n",
              running);
    rig_touch_off(rig);
    expect_reason(rig_call(rig, "hold", "{\"next\":true}"), "no-such-story");
    expect_done(rig_call(rig, "keep-story", story));
    expect_done(rig_call(rig, "load", "{\"name\":\"passes\"}"));
}

static void router(struct rig *rig, bool on)
{
    rig_tell(rig, on ? "router on" : "router off");
    rig_run(rig, on ? 300 : 11000); /* it runs down for 10 s */
}

/* The pedal goes down: the parameters of its renewals. */
static void press(struct rig *rig, char params[80])
{
    cJSON *held = rig_answer(rig->client, rig_send(rig, rig->client, "hold", "{\"next\":true}"));
    ck_assert_msg(rig_done(held), "%s", rig_reason(held));
    snprintf(params, 80, "{\"token\":\"%s\"}",
             cJSON_GetObjectItem(cJSON_GetObjectItem(held, "result"), "token")->valuestring);
    cJSON_Delete(held);
}

/* It stays down for so long, or until the hold is over: then true. */
static bool keep_down(struct rig *rig, const char *params, int ms)
{
    bool over = false;
    for (int i = 0; i < ms / 50 && !over; i++) {
        rig_run(rig, 50);
        cJSON *answer = rig_answer(rig->client, rig_send(rig, rig->client, "renew", params));
        over = strcmp(rig_reason(answer), "hold-over") == 0;
        ck_assert(over || rig_done(answer));
        cJSON_Delete(answer);
    }
    return over;
}

static void hold_to_end(struct rig *rig)
{
    char params[80];
    press(rig, params);
    ck_assert(keep_down(rig, params, 20000));
}

START_TEST(with_the_router_running_a_held_pedal_goes_on_by_one_pass)
{
    struct rig rig;
    char params[80];
    start(&rig, "between-cuts");
    router(&rig, true);
    expect_reason(rig_call(&rig, "next", NULL), "router-running");
    rig_tell(&rig, "mark");
    hold_to_end(&rig);
    expect_at(&rig, 1, 2e6);
    /* Let go in mid-move: the lift is at the mark before still, wherever it stands. */
    press(&rig, params);
    ck_assert(!keep_down(&rig, params, 1000));
    expect_done(rig_call(&rig, "release", params));
    double nm = true_height(&rig);
    ck_assert(nm > 2.1e6 && nm < 3.9e6);
    expect_at(&rig, 1, nm);
    /* Not renewed: the same. */
    press(&rig, params);
    rig_run(&rig, 600);
    nm = true_height(&rig);
    ck_assert(nm < 3.9e6);
    expect_at(&rig, 1, nm);
    hold_to_end(&rig);
    expect_at(&rig, 2, 4e6);
    cJSON *truth = rig_ask(&rig, "truth");
    ck_assert_double_ge(rig_number(truth, "lowest_nm"), -625); /* it never went down */
    cJSON_Delete(truth);
    hold_to_end(&rig); /* a note: nothing moves */
    expect_at(&rig, 3, 4e6);
    /* A mark that wants the router off, one over a pass, one downward. */
    expect_reason(rig_call(&rig, "hold", "{\"next\":true}"), "router-running");
    router(&rig, false);
    hold_to_end(&rig);
    expect_at(&rig, 4, 4.5e6);
    router(&rig, true);
    expect_said(rig_call(&rig, "hold", "{\"next\":true}"), "router-running", "one pass");
    router(&rig, false);
    hold_to_end(&rig);
    expect_at(&rig, 5, 12e6);
    router(&rig, true);
    expect_said(rig_call(&rig, "hold", "{\"next\":true}"), "router-running", "go down");
    router(&rig, false);
    hold_to_end(&rig);
    expect_at(&rig, 6, 3e6);
    expect_reason(rig_call(&rig, "hold", "{\"next\":true}"), "story-end");
    rig_end(&rig);
}
END_TEST

/* What began with the router at rest may be fast and far: it is not to go on by a turning cutter,
 * whatever is allowed between cuts. */
START_TEST(a_router_that_starts_in_mid_move_ends_the_hold_before_its_mark)
{
    static const char *const running[] = {"never", "between-cuts", "plunge"};
    struct rig rig;
    char params[80];
    start(&rig, running[_i]);
    hold_to_end(&rig);
    hold_to_end(&rig);
    hold_to_end(&rig);
    hold_to_end(&rig);
    expect_at(&rig, 4, 4.5e6);
    press(&rig, params);
    ck_assert(!keep_down(&rig, params, 600));
    rig_tell(&rig, "router on");
    ck_assert(keep_down(&rig, params, 1000));
    rig_run(&rig, 500);
    double nm = true_height(&rig);
    ck_assert_msg(nm < 11.5e6, "%g", nm);
    expect_at(&rig, 4, nm);
    expect_status(&rig, rig.client, "table_zero", "sure");
    router(&rig, false);
    hold_to_end(&rig);
    expect_at(&rig, 5, 12e6);
    rig_end(&rig);
}
END_TEST

START_TEST(switched_off_in_mid_move_it_goes_on_to_its_mark)
{
    struct rig rig;
    char params[80];
    start(&rig, "between-cuts");
    router(&rig, true);
    press(&rig, params);
    ck_assert(!keep_down(&rig, params, 600));
    rig_tell(&rig, "router off");
    ck_assert(keep_down(&rig, params, 5000));
    expect_at(&rig, 1, 2e6);
    rig_end(&rig);
}
END_TEST

START_TEST(a_hold_to_a_mark_survives_a_kill_at_the_mark_before)
{
    struct rig rig;
    char params[80];
    start(&rig, "never");
    hold_to_end(&rig);
    press(&rig, params);
    ck_assert(!keep_down(&rig, params, 200));
    rig_end_daemon(&rig, SIGKILL);
    rig_start_daemon(&rig);
    rig_run(&rig, 2000);
    cJSON *status = ask(&rig, "status", NULL);
    ck_assert_double_eq(rig_number(cJSON_GetObjectItem(status, "story"), "mark"), 1);
    cJSON_Delete(status);
    hold_to_end(&rig);
    expect_at(&rig, 2, 4e6);
    rig_end(&rig);
}
END_TEST

START_TEST(what_is_no_hold_to_a_mark_is_told)
{
    struct rig rig;
    start(&rig, "never");
    expect_wrong(rig_call(&rig, "hold", "{\"next\":false}"), "none of a direction");
    expect_wrong(rig_call(&rig, "hold", "{\"next\":true,\"direction\":\"up\"}"), "more than one");
    expect_wrong(rig_call(&rig, "hold", "{\"next\":1}"), "next");
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"other\",\"kind\":\"straight\",\"diameter\":\"1/2in\"}"));
    expect_done(rig_call(&rig, "keep-story",
                         "{\"name\":\"b\",\"marks\":[{\"height\":\"2mm\",\"bit\":\"other\"}]}"));
    expect_done(rig_call(&rig, "load", "{\"name\":\"b\"}"));
    expect_reason(rig_call(&rig, "hold", "{\"next\":true}"), "wrong-bit");
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("held story");
    TCase *cases = tcase_create("held story");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, with_the_router_running_a_held_pedal_goes_on_by_one_pass);
    tcase_add_loop_test(cases, a_router_that_starts_in_mid_move_ends_the_hold_before_its_mark, 0,
                        3);
    tcase_add_test(cases, switched_off_in_mid_move_it_goes_on_to_its_mark);
    tcase_add_test(cases, a_hold_to_a_mark_survives_a_kill_at_the_mark_before);
    tcase_add_test(cases, what_is_no_hold_to_a_mark_is_told);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
