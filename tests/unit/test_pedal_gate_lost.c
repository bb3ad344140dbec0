/* SPDX-License-Identifier: MIT */
/* The pedal's gate where something goes away: the device, its events, the daemon, the program; and
 * where the router turns. */
#include "tests/suite.h"
#include "tests/unit/test_pedal_bench.h"

static const struct action up_slow = {.kind = ACTION_HOLD, .up = true};
static const struct action to_height = {.kind = ACTION_TO, .nm = 9525000};
static const struct action next_mark = {.kind = ACTION_NEXT};

static struct bench bench;

static void begin(void)
{
    bench_begin(&bench, LENGTH_STYLE_64);
}

static void down(int64_t ms, const struct action *action)
{
    bench_key(&bench, ms, 0, KEY_A, action, true);
}

static void up(int64_t ms, const struct action *action)
{
    bench_key(&bench, ms, 0, KEY_A, action, false);
}

static void holding(void)
{
    down(1000, &up_slow);
    bench_answer(&bench, 1001, GATE_HOLD, "aa");
    bench_lift(&bench, 1002, true, 0);
    bench_to(&bench, 1070);
    bench_expect(&bench, "1000 hold up slow\n1050 renew aa\n");
}

/* --- The device --- */

START_TEST(a_device_unplugged_while_held_is_released)
{
    holding();
    gate_gone(&bench.gate, 0);
    bench_to(&bench, 3000);
    bench_expect(&bench, "1070 release aa\n");
    bench_lift(&bench, 3000, false, 0);
    down(3100, &up_slow); /* it is plugged in again */
    bench_expect(&bench, "3100 hold up slow\n");
}
END_TEST

START_TEST(another_device_unplugged_lets_a_hold_go_on)
{
    holding();
    gate_gone(&bench.gate, 1);
    bench_to(&bench, 1100);
    bench_expect(&bench, "1100 renew aa\n");
}
END_TEST

/* Whoever began the move may have lost what he would stop it with. */
START_TEST(a_device_unplugged_in_a_move_stops_it)
{
    down(1000, &to_height);
    up(1100, &to_height);
    gate_gone(&bench.gate, 0);
    bench_expect(&bench, "1000 to 9525000\n1100 stop\n");
}
END_TEST

START_TEST(a_device_unplugged_at_rest_asks_for_nothing)
{
    down(1000, &next_mark);
    gate_gone(&bench.gate, 0);
    bench_to(&bench, 3000);
    bench_expect(&bench, "");
}
END_TEST

/* --- Its events --- */

/* The release was lost: the comparison behind it tells it. */
START_TEST(a_release_lost_while_held_ends_the_hold)
{
    holding();
    gate_dropped(&bench.gate, 0);
    gate_key(
        &bench.gate, 1070,
        &(struct gate_event){.code = KEY_A, .action = &up_slow, .synced = true, .at_ms = 1070});
    bench_to(&bench, 2000);
    bench_expect(&bench, "1070 release aa\n");
    bench_lift(&bench, 2000, false, 0);
    down(2000, &up_slow);
    bench_expect(&bench, "2000 hold up slow\n");
}
END_TEST

/* It is down still, but it may have been let go between. */
START_TEST(a_key_that_is_down_behind_lost_events_is_spent)
{
    holding();
    gate_dropped(&bench.gate, 0);
    bench_lift(&bench, 1500, false, 0);
    bench_to(&bench, 2000);
    up(2000, &up_slow);
    bench_expect(&bench, "1070 release aa\n");
    down(2100, &up_slow);
    bench_expect(&bench, "2100 hold up slow\n");
}
END_TEST

START_TEST(a_press_found_behind_lost_events_begins_nothing)
{
    gate_dropped(&bench.gate, 0);
    gate_key(&bench.gate, 0,
             &(struct gate_event){.code = KEY_A, .action = &up_slow, .down = true, .synced = true});
    bench_to(&bench, 1000);
    up(1000, &up_slow);
    bench_expect(&bench, "");
    down(1100, &up_slow);
    bench_expect(&bench, "1100 hold up slow\n");
}
END_TEST

/* It was told within the quiet time, so the comparison behind the loss finds nothing new. */
START_TEST(a_release_not_yet_believed_is_not_lost)
{
    down(1000, &up_slow);
    up(1010, &up_slow);
    gate_dropped(&bench.gate, 0);
    bench_to(&bench, 2000);
    bench_expect(&bench, "1000 hold up slow\n1010 stop\n");
    down(2000, &up_slow);
    bench_expect(&bench, "2000 hold up slow\n");
}
END_TEST

/* The press that was lost may have been the one that stops. */
START_TEST(events_lost_in_a_move_stop_it)
{
    down(1000, &to_height);
    up(1100, &to_height);
    gate_dropped(&bench.gate, 0);
    bench_expect(&bench, "1000 to 9525000\n1100 stop\n");
}
END_TEST

/* --- The daemon --- */

START_TEST(keys_do_nothing_while_the_daemon_is_away)
{
    gate_lost(&bench.gate);
    bench.words = true;
    down(1000, &up_slow);
    bench_to(&bench, 2000);
    bench_expect(&bench, "1000 \"A key was pressed, but regletd is away: nothing was asked of the "
                         "lift.\"\n");
    gate_ready(&bench.gate, 2000, &(struct gate_lift){.height_known = true});
    bench_to(&bench, 3000);
    up(3000, &up_slow);
    bench_expect(&bench, "");
    down(3100, &up_slow);
    bench_expect(&bench, "3100 hold up slow\n");
}
END_TEST

START_TEST(a_key_held_while_the_daemon_goes_and_comes_does_not_count)
{
    holding();
    gate_lost(&bench.gate);
    bench_to(&bench, 2000);
    gate_ready(&bench.gate, 2000, &(struct gate_lift){.height_known = true});
    bench_to(&bench, 4000);
    up(4000, &up_slow);
    bench_expect(&bench, "");
    down(4100, &up_slow);
    bench_expect(&bench, "4100 hold up slow\n");
}
END_TEST

START_TEST(an_answer_to_what_was_asked_before_is_not_heeded)
{
    down(1000, &up_slow);
    gate_lost(&bench.gate);
    gate_ready(&bench.gate, 1000, &(struct gate_lift){.height_known = true});
    bench_answer(&bench, 1100, GATE_HOLD, "aa");
    bench_to(&bench, 3000);
    bench_expect(&bench, "1000 hold up slow\n");
}
END_TEST

static size_t count_of(const char *line)
{
    size_t count = 0;
    for (const char *at = bench.log; (at = strstr(at, line)) != NULL; at++) {
        count++;
    }
    return count;
}

/* Without answers there is an end to what is asked, but places are kept for what stops. */
START_TEST(a_daemon_without_answers_is_still_told_to_stop)
{
    static const struct action stop = {.kind = ACTION_STOP};
    for (int64_t ms = 1000; ms < 10000; ms += 100) {
        down(ms, &up_slow);
        up(ms + 50, &up_slow);
    }
    ck_assert_uint_eq(count_of("hold up slow\n"), 20);
    ck_assert_uint_eq(count_of("stop\n"), 20);
    for (int64_t ms = 10000; ms < 20000; ms += 100) {
        down(ms, &stop);
        up(ms + 50, &stop);
    }
    ck_assert_uint_eq(count_of("stop\n"), 40);
    ck_assert_int_le(GATE_WAITING_MAX, 64); /* protocol/LOCAL.md: at most 64 of a connection */
}
END_TEST

/* --- The program --- */

START_TEST(the_end_releases_what_is_held)
{
    holding();
    ck_assert(gate_end(&bench.gate));
    ck_assert(gate_waits(&bench.gate));
    bench_to(&bench, 1200);
    bench_answer(&bench, 1200, GATE_RELEASE, NULL);
    ck_assert(!gate_waits(&bench.gate));
    bench_expect(&bench, "1070 release aa\n");
}
END_TEST

START_TEST(the_end_stops_what_moves_for_a_key)
{
    down(1000, &to_height);
    up(1100, &to_height);
    ck_assert(gate_end(&bench.gate));
    bench_expect(&bench, "1000 to 9525000\n1100 stop\n");
    ck_assert(gate_waits(&bench.gate));
}
END_TEST

START_TEST(the_end_leaves_others_motions_alone)
{
    bench_lift(&bench, 1000, true, 0);
    ck_assert(!gate_end(&bench.gate));
    ck_assert(!gate_waits(&bench.gate));
    bench_expect(&bench, "");
}
END_TEST

/* --- What the router lets the lift do --- */

START_TEST(next_is_held_while_the_router_turns)
{
    bench_router(&bench, 1000, true);
    bench_lift(&bench, 1010, false, 0); /* a place says nothing of the router */
    down(2000, &next_mark);
    bench_expect(&bench, "2000 hold next\n");
    bench_answer(&bench, 2010, GATE_HOLD, "5f");
    bench_lift(&bench, 2020, true, 0);
    bench_to(&bench, 2060);
    bench_answer(&bench, 2060, GATE_RENEW, NULL);
    up(2090, &next_mark);
    bench_expect(&bench, "2050 renew 5f\n2090 release 5f\n");
    bench_answer(&bench, 2200, GATE_RELEASE, NULL);
    bench_lift(&bench, 2200, false, 0);
    /* Reached while it is down: nothing more moves by that press. */
    down(3000, &next_mark);
    bench_answer(&bench, 3010, GATE_HOLD, "6a");
    bench_to(&bench, 3050);
    bench_refuse(&bench, 3060, GATE_RENEW, "hold-over", "The lift has reached its end.");
    up(3500, &next_mark);
    bench_expect(&bench, "3000 hold next\n3050 renew 6a\n");
    /* Run down, it goes when the key is let go, as ever. */
    bench_router(&bench, 9000, false);
    down(10000, &next_mark);
    up(10100, &next_mark);
    bench_expect(&bench, "10100 next\n");
}
END_TEST

static Suite *lost_suite(void)
{
    Suite *suite = suite_create("pedal-gate-lost");
    TCase *device = tcase_create("device");
    tcase_add_checked_fixture(device, begin, NULL);
    tcase_add_test(device, a_device_unplugged_while_held_is_released);
    tcase_add_test(device, another_device_unplugged_lets_a_hold_go_on);
    tcase_add_test(device, a_device_unplugged_in_a_move_stops_it);
    tcase_add_test(device, a_device_unplugged_at_rest_asks_for_nothing);
    tcase_add_test(device, a_release_lost_while_held_ends_the_hold);
    tcase_add_test(device, a_key_that_is_down_behind_lost_events_is_spent);
    tcase_add_test(device, a_press_found_behind_lost_events_begins_nothing);
    tcase_add_test(device, a_release_not_yet_believed_is_not_lost);
    tcase_add_test(device, events_lost_in_a_move_stop_it);
    suite_add_tcase(suite, device);
    TCase *daemon = tcase_create("daemon");
    tcase_add_checked_fixture(daemon, begin, NULL);
    tcase_add_test(daemon, keys_do_nothing_while_the_daemon_is_away);
    tcase_add_test(daemon, a_key_held_while_the_daemon_goes_and_comes_does_not_count);
    tcase_add_test(daemon, an_answer_to_what_was_asked_before_is_not_heeded);
    tcase_add_test(daemon, a_daemon_without_answers_is_still_told_to_stop);
    suite_add_tcase(suite, daemon);
    TCase *router = tcase_create("router");
    tcase_add_checked_fixture(router, begin, NULL);
    tcase_add_test(router, next_is_held_while_the_router_turns);
    suite_add_tcase(suite, router);
    TCase *end = tcase_create("end");
    tcase_add_checked_fixture(end, begin, NULL);
    tcase_add_test(end, the_end_releases_what_is_held);
    tcase_add_test(end, the_end_stops_what_moves_for_a_key);
    tcase_add_test(end, the_end_leaves_others_motions_alone);
    suite_add_tcase(suite, end);
    return suite;
}

int main(void)
{
    return run_suite(lost_suite());
}
