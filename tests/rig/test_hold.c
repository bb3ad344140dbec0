/* SPDX-License-Identifier: MIT */
/* Hold-to-run: it moves while it is renewed, and rests in bounds whatever else happens. */
#include <check.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

/* The practice lift: 2 mm a turn, 1600 steps a turn, brake 125 mm/s^2. */
enum {
    SLOW_HZ = 635,  /* 1/32 in/s */
    FAST_HZ = 5080, /* 1/4 in/s */
    BRAKE_HZ_S = 100000,
    LEASE_MS = 150,
    RENEW_MS = 50,
    NOTICE_MS = 10,   /* for the brake to reach the generator: the bytes that are ahead of it */
    SILENCE_MS = 100, /* the generator's own, when nobody speaks to it */
    POLL_MS = 25,     /* it may have heard the daemon so long after the last renewal */
};

static double true_count(struct rig *rig)
{
    cJSON *truth = rig_ask(rig, "truth");
    double count = rig_number(truth, "count");
    cJSON_Delete(truth);
    return count;
}

static bool moves(struct rig *rig)
{
    cJSON *truth = rig_ask(rig, "truth");
    bool moving = cJSON_IsTrue(cJSON_GetObjectItem(truth, "moving"));
    cJSON_Delete(truth);
    return moving;
}

/* Steps at most from the moment at which the reason to stop came, `ms` before the brake begins. */
static double bound(double rate_hz, int ms)
{
    return rate_hz * ms / 1000 + rate_hz * rate_hz / (2.0 * BRAKE_HZ_S) + 3;
}

/* Begins to hold; the token stays in `token` (of 32 bytes). */
static void begin(struct rig *rig, const char *direction, const char *speed, char *token)
{
    char params[80];
    snprintf(params, sizeof params, "{\"direction\":\"%s\",\"speed\":\"%s\"}", direction, speed);
    cJSON *answer = rig_answer(rig->client, rig_send(rig, rig->client, "hold", params));
    ck_assert_msg(rig_done(answer), "refused: %s", rig_reason(answer));
    const cJSON *result = cJSON_GetObjectItem(answer, "result");
    snprintf(token, 32, "%s", cJSON_GetObjectItem(result, "token")->valuestring);
    ck_assert_int_eq((int)rig_number(result, "lease_ms"), LEASE_MS);
    ck_assert_int_eq((int)rig_number(result, "renew_ms"), RENEW_MS);
    cJSON_Delete(answer);
}

static cJSON *ask(struct rig *rig, FILE *client, const char *method, const char *token)
{
    char params[80];
    snprintf(params, sizeof params, "{\"token\":\"%s\"}", token);
    return rig_answer(client, rig_send(rig, client, method, params));
}

/* Holds on for some multiples of 50 ms. */
static void keep_on(struct rig *rig, const char *token, int ms)
{
    for (int t = 0; t < ms; t += RENEW_MS) {
        rig_run(rig, RENEW_MS);
        expect_done(ask(rig, rig->client, "renew", token));
    }
}

/* It has come to rest within `most` steps since `from`, and stays there whatever the token says. */
static void expect_rest(struct rig *rig, double from, double most, const char *token)
{
    rig_run(rig, 1000);
    ck_assert(!moves(rig));
    double rest = true_count(rig);
    ck_assert_msg(fabs(rest - from) <= most, "%g steps; at most %g may be", rest - from, most);
    if (token) {
        expect_reason(ask(rig, rig->client, "renew", token), "hold-over");
        expect_reason(ask(rig, rig->client, "release", token), "hold-over");
        rig_run(rig, 1000);
        ck_assert(!moves(rig));
        ck_assert_double_eq(true_count(rig), rest);
        expect_agreement(rig);
    }
}

START_TEST(it_moves_while_it_is_held_and_rests_when_it_is_released)
{
    struct rig rig;
    char token[32];
    static const char *const directions[] = {"up", "down"};
    static const char *const speeds[] = {"slow", "fast"};
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (int i = 0; i < 4; i++) {
        double rate_hz = i & 2 ? FAST_HZ : SLOW_HZ;
        double from = true_count(&rig);
        begin(&rig, directions[i & 1], speeds[i >> 1], token);
        keep_on(&rig, token, 1000);
        expect_status(&rig, rig.client, "activity", "moving");
        double here = true_count(&rig);
        ck_assert_double_ge(fabs(here - from), rate_hz * 0.7); /* the start takes some of it */
        ck_assert_double_le(fabs(here - from), rate_hz);
        ck_assert_int_eq(here > from, i % 2 == 0);
        char params[80];
        snprintf(params, sizeof params, "{\"token\":\"%s\"}", token);
        int id = rig_send(&rig, rig.client, "release", params);
        cJSON *released = rig_settle(&rig, rig.client, id);
        const cJSON *status = cJSON_GetObjectItem(released, "result");
        ck_assert_str_eq(cJSON_GetObjectItem(status, "activity")->valuestring, "still");
        cJSON_Delete(released);
        expect_rest(&rig, here, bound(rate_hz, NOTICE_MS), token);
    }
    rig_end(&rig);
}
END_TEST

START_TEST(without_renewal_it_rests_when_the_lease_runs_out)
{
    struct rig rig;
    char token[32];
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (int late_ms = 0; late_ms < 120; late_ms += 7) {
        begin(&rig, late_ms % 2 ? "up" : "down", "fast", token);
        keep_on(&rig, token, 300);
        double from = true_count(&rig);
        rig_run(&rig, LEASE_MS + late_ms);
        expect_reason(ask(&rig, rig.client, "renew", token), "hold-over"); /* too late for it */
        expect_rest(&rig, from, bound(FAST_HZ, LEASE_MS + NOTICE_MS), token);
    }
    rig_end(&rig);
}
END_TEST

START_TEST(a_client_that_goes_away_while_it_holds_lets_go)
{
    struct rig rig;
    char token[32];
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    begin(&rig, "up", "fast", token);
    keep_on(&rig, token, 300);
    double from = true_count(&rig);
    fclose(rig.client);
    rig.client = rig_connect(&rig);
    cJSON_Delete(rig_answer(rig.client, rig_send(&rig, rig.client, "hello", NULL)));
    expect_rest(&rig, from, bound(FAST_HZ, NOTICE_MS), NULL);
    expect_reason(ask(&rig, rig.client, "renew", token), "hold-over");
    expect_rest(&rig, from, bound(FAST_HZ, NOTICE_MS), token);
    rig_end(&rig);
}
END_TEST

START_TEST(anyone_may_stop_it_and_nobody_else_renew_it)
{
    struct rig rig;
    char token[32];
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    FILE *other = rig_connect(&rig);
    begin(&rig, "up", "fast", token);
    keep_on(&rig, token, 200);
    expect_reason(ask(&rig, other, "renew", token), "hold-over");
    expect_reason(ask(&rig, other, "release", token), "hold-over");
    expect_reason(rig_answer(other, rig_send(&rig, other, "hold", "{\"direction\":\"up\"}")),
                  "busy");
    keep_on(&rig, token, 200);
    double from = true_count(&rig);
    expect_done(rig_settle(&rig, other, rig_send(&rig, other, "stop", NULL)));
    expect_rest(&rig, from, bound(FAST_HZ, NOTICE_MS), token);
    fclose(other);
    rig_end(&rig);
}
END_TEST

START_TEST(a_daemon_that_dies_or_a_cable_that_is_pulled_lets_go)
{
    struct rig rig;
    char token[32];
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    begin(&rig, "up", "fast", token);
    keep_on(&rig, token, 300);
    double from = true_count(&rig);
    rig_end_daemon(&rig, SIGKILL);
    expect_rest(&rig, from, bound(FAST_HZ, SILENCE_MS + POLL_MS), NULL);
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    expect_rest(&rig, from, bound(FAST_HZ, SILENCE_MS + POLL_MS), token);

    begin(&rig, "down", "fast", token);
    keep_on(&rig, token, 300);
    from = true_count(&rig);
    rig_tell(&rig, "unplug");
    rig_run(&rig, 10);
    expect_reason(ask(&rig, rig.client, "renew", token), "hold-over");
    rig_run(&rig, 500);
    rig_tell(&rig, "plug");
    rig_run(&rig, 2000);
    expect_rest(&rig, from, bound(FAST_HZ, SILENCE_MS + POLL_MS), token);
    rig_end(&rig);
}
END_TEST

START_TEST(it_ends_at_the_end_of_the_travel)
{
    struct rig rig;
    char token[32];
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "to", "{\"height\":\"36mm\"}"));
    begin(&rig, "up", "fast", token);
    for (int i = 0; i < 20; i++) {
        rig_run(&rig, RENEW_MS);
        cJSON_Delete(ask(&rig, rig.client, "renew", token));
    }
    expect_rest(&rig, true_count(&rig), 0, token);
    cJSON *answer = rig_call(&rig, "status", NULL);
    /* The travel ends 1 mm under the top. */
    ck_assert_double_eq(rig_number(cJSON_GetObjectItem(answer, "result"), "position_nm"), -1e6);
    cJSON_Delete(answer);
    expect_reason(rig_call(&rig, "hold", "{\"direction\":\"up\"}"), "above-travel");
    rig_end(&rig);
}
END_TEST

START_TEST(a_lost_lift_may_be_held_and_only_slowly)
{
    struct rig rig;
    char token[32];
    rig_start(&rig, true, 1);
    expect_status(&rig, rig.client, "reference", "lost");
    double from = true_count(&rig);
    begin(&rig, "down", "fast", token);
    keep_on(&rig, token, 1000);
    ck_assert_double_le(from - true_count(&rig), SLOW_HZ);
    ck_assert_double_ge(from - true_count(&rig), SLOW_HZ * 0.7);
    rig_tell(&rig, "stop-circuit open");
    rig_run(&rig, 300);
    expect_reason(ask(&rig, rig.client, "renew", token), "hold-over");
    expect_reason(rig_call(&rig, "hold", "{\"direction\":\"up\"}"), "stop-open");
    rig_end(&rig);
}
END_TEST

/* So a hold down, one up and a nudge end at heights that are true, the lash in them or not. */
START_TEST(the_lash_is_known_after_it)
{
    struct rig rig;
    char token[32];
    uint64_t seed = rig_seed("hold");
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (int i = 0; i < 40; i++) {
        begin(&rig, rig_draw(&seed, 2) ? "up" : "down", rig_draw(&seed, 2) ? "slow" : "fast",
              token);
        keep_on(&rig, token, 50 * (int)(1 + rig_draw(&seed, 8)));
        char params[80];
        snprintf(params, sizeof params, "{\"token\":\"%s\"}", token);
        expect_done(rig_settle(&rig, rig.client, rig_send(&rig, rig.client, "release", params)));
        expect_agreement(&rig);
        if (rig_draw(&seed, 3) == 0) {
            expect_done(rig_call(&rig, "by", "{\"distance\":\"1/64in\"}"));
            expect_agreement(&rig);
        }
    }
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("hold");
    TCase *cases = tcase_create("hold");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, it_moves_while_it_is_held_and_rests_when_it_is_released);
    tcase_add_test(cases, without_renewal_it_rests_when_the_lease_runs_out);
    tcase_add_test(cases, a_client_that_goes_away_while_it_holds_lets_go);
    tcase_add_test(cases, anyone_may_stop_it_and_nobody_else_renew_it);
    tcase_add_test(cases, a_daemon_that_dies_or_a_cable_that_is_pulled_lets_go);
    tcase_add_test(cases, it_ends_at_the_end_of_the_travel);
    tcase_add_test(cases, a_lost_lift_may_be_held_and_only_slowly);
    tcase_add_test(cases, the_lash_is_known_after_it);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
