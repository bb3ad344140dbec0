/* SPDX-License-Identifier: MIT */
/*
 * The pedal's gate: which requests come out of which keys, in order and with their times. The
 * figures (50 ms, 0.7 s, 80 ms) are the design's own; protocol/LOCAL.md has the lease. That foot
 * switches chatter for some milliseconds is common practice, no source.
 */
#include <stdlib.h>

#include "tests/suite.h"
#include "tests/unit/test_pedal_bench.h"

static const struct action up_slow = {.kind = ACTION_HOLD, .up = true};
static const struct action down_fast = {.kind = ACTION_HOLD, .fast = true};
static const struct action nudge = {.kind = ACTION_NUDGE, .nm = 396875};
static const struct action to_height = {.kind = ACTION_TO, .nm = 9525000};
static const struct action groove = {.kind = ACTION_RECALL, .name = "drawer-groove"};
static const struct action next_mark = {.kind = ACTION_NEXT};
static const struct action stop = {.kind = ACTION_STOP};

static struct bench bench;

static void begin(void)
{
    bench_begin(&bench, LENGTH_STYLE_64);
}

static void down(int64_t ms, unsigned code, const struct action *action)
{
    bench_key(&bench, ms, 0, code, action, true);
}

static void up(int64_t ms, unsigned code, const struct action *action)
{
    bench_key(&bench, ms, 0, code, action, false);
}

/* --- Hold-to-run --- */

START_TEST(a_held_key_is_a_lease)
{
    down(1000, KEY_A, &up_slow);
    bench_answer(&bench, 1003, GATE_HOLD, "5f3a");
    for (int64_t ms = 1052; ms < 1200; ms += 50) {
        bench_answer(&bench, ms, GATE_RENEW, NULL);
    }
    up(1220, KEY_A, &up_slow);
    bench_answer(&bench, 1300, GATE_RELEASE, NULL);
    bench_to(&bench, 5000);
    bench_expect(&bench, "1000 hold up slow\n1050 renew 5f3a\n1100 renew 5f3a\n1150 renew 5f3a\n"
                         "1200 renew 5f3a\n1220 release 5f3a\n");
}
END_TEST

START_TEST(a_lease_that_is_answered_goes_on)
{
    down(1000, KEY_A, &up_slow);
    bench_answer(&bench, 1001, GATE_HOLD, "aa");
    for (int64_t ms = 1055; ms <= 3055; ms += 50) {
        bench_answer(&bench, ms, GATE_RENEW, NULL);
    }
    bench.used = 0;
    bench_to(&bench, 3100);
    bench_expect(&bench, "3100 renew aa\n");
}
END_TEST

START_TEST(each_direction_and_speed_is_asked_as_mapped)
{
    static const struct action all[] = {{.kind = ACTION_HOLD, .up = true},
                                        {.kind = ACTION_HOLD, .up = true, .fast = true},
                                        {.kind = ACTION_HOLD},
                                        {.kind = ACTION_HOLD, .fast = true}};
    static const char *const lines[] = {
        "100 hold up slow\n200 stop\n", "100 hold up fast\n200 stop\n",
        "100 hold down slow\n200 stop\n", "100 hold down fast\n200 stop\n"};
    down(100, KEY_A, &all[_i]);
    up(200, KEY_A, &all[_i]);
    bench_expect(&bench, lines[_i]);
}
END_TEST

START_TEST(a_key_let_go_before_the_token_came_is_stopped_and_released)
{
    down(1000, KEY_A, &up_slow);
    up(1100, KEY_A, &up_slow);
    bench_answer(&bench, 1130, GATE_HOLD, "aa");
    bench_to(&bench, 3000);
    bench_expect(&bench, "1000 hold up slow\n1100 stop\n1130 release aa\n");
}
END_TEST

START_TEST(a_token_that_comes_late_is_renewed_at_once)
{
    down(1000, KEY_A, &up_slow);
    bench_answer(&bench, 1120, GATE_HOLD, "aa");
    bench_to(&bench, 1170);
    bench_expect(&bench, "1000 hold up slow\n1120 renew aa\n1170 renew aa\n");
}
END_TEST

START_TEST(a_loop_that_was_late_renews_once)
{
    down(1000, KEY_A, &up_slow);
    bench_answer(&bench, 1001, GATE_HOLD, "aa");
    bench.now_ms = 1333;
    gate_tick(&bench.gate, 1333);
    bench_to(&bench, 1383);
    bench_expect(&bench, "1000 hold up slow\n1333 renew aa\n1383 renew aa\n");
}
END_TEST

START_TEST(a_hold_that_is_over_is_begun_by_a_new_press_only)
{
    bench.words = true;
    down(1000, KEY_A, &up_slow);
    bench_answer(&bench, 1001, GATE_HOLD, "aa");
    bench_refuse(&bench, 1051, GATE_RENEW, "hold-over", "The end of the travel.");
    bench_to(&bench, 2000);
    up(2000, KEY_A, &up_slow);
    bench_expect(&bench, "1000 hold up slow\n1050 renew aa\n1051 \"The end of the travel.\"\n");
    down(2100, KEY_A, &up_slow);
    bench_expect(&bench, "2100 hold up slow\n");
}
END_TEST

START_TEST(a_refused_hold_is_said_and_not_asked_again)
{
    bench.words = true;
    down(1000, KEY_A, &up_slow);
    bench_refuse(&bench, 1002, GATE_HOLD, "stop-open", "The stop circuit is open.");
    bench_to(&bench, 3000);
    up(3000, KEY_A, &up_slow);
    bench_expect(&bench, "1000 hold up slow\n1002 \"The stop circuit is open.\"\n");
}
END_TEST

/* The refusal of an older hold's renewal must not end the present one. */
START_TEST(an_old_renewal_does_not_end_a_new_hold)
{
    down(1000, KEY_A, &up_slow);
    bench_answer(&bench, 1001, GATE_HOLD, "aa");
    bench_to(&bench, 1050);
    double old = bench.id[GATE_RENEW];
    up(1060, KEY_A, &up_slow);
    bench_answer(&bench, 1061, GATE_RELEASE, NULL);
    down(1090, KEY_A, &up_slow);
    bench_answer(&bench, 1091, GATE_HOLD, "bb");
    gate_answered(
        &bench.gate, 1092,
        &(struct gate_answer){.id = old, .refused = true, .hold_over = true, .sentence = "over"});
    bench_to(&bench, 1140);
    bench_expect(&bench, "1000 hold up slow\n1050 renew aa\n1060 release aa\n1090 hold up slow\n"
                         "1140 renew bb\n");
}
END_TEST

START_TEST(a_daemon_that_does_not_answer_is_not_asked_for_ever)
{
    down(0, KEY_A, &up_slow);
    bench_answer(&bench, 1, GATE_HOLD, "aa");
    bench_to(&bench, 10000);
    bench_expect(&bench,
                 "0 hold up slow\n50 renew aa\n100 renew aa\n150 renew aa\n200 renew aa\n"
                 "250 renew aa\n300 renew aa\n350 renew aa\n400 renew aa\n450 release aa\n");
}
END_TEST

START_TEST(a_hold_without_a_name_is_stopped)
{
    down(1000, KEY_A, &up_slow);
    bench_answer(&bench, 1002, GATE_HOLD, NULL);
    bench_to(&bench, 2000);
    bench_expect(&bench, "1000 hold up slow\n1002 stop\n");
}
END_TEST

/* --- Contact chatter --- */

START_TEST(chatter_of_a_press_is_one_press)
{
    down(1000, KEY_A, &nudge);
    up(1001, KEY_A, &nudge);
    down(1003, KEY_A, &nudge);
    up(1004, KEY_A, &nudge);
    down(1009, KEY_A, &nudge);
    up(1200, KEY_A, &nudge);
    bench_to(&bench, 1500);
    bench_expect(&bench, "1000 by 396875\n");
}
END_TEST

START_TEST(chatter_of_a_release_is_no_press)
{
    down(1000, KEY_A, &up_slow);
    bench_answer(&bench, 1001, GATE_HOLD, "aa");
    up(1040, KEY_A, &up_slow);
    down(1042, KEY_A, &up_slow);
    up(1045, KEY_A, &up_slow);
    bench_to(&bench, 2000);
    bench_expect(&bench, "1000 hold up slow\n1040 release aa\n");
}
END_TEST

/* The key was let go within the quiet time: that is seen at its end, not lost. */
START_TEST(a_release_within_the_quiet_time_is_believed_at_its_end)
{
    down(1000, KEY_A, &up_slow);
    bench_answer(&bench, 1001, GATE_HOLD, "aa");
    up(1007, KEY_A, &up_slow);
    bench_to(&bench, 2000);
    bench_expect(&bench, "1000 hold up slow\n1020 release aa\n");
}
END_TEST

/* --- One at a time, and nothing queues --- */

START_TEST(each_action_asks_for_its_own)
{
    static const struct action *const all[] = {&nudge, &to_height, &groove, &stop};
    static const char *const lines[] = {"500 by 396875\n", "500 to 9525000\n",
                                        "500 recall drawer-groove\n", "500 stop\n"};
    down(500, KEY_B, all[_i]);
    up(600, KEY_B, all[_i]);
    bench_to(&bench, 9000);
    bench_expect(&bench, lines[_i]);
}
END_TEST

START_TEST(a_press_while_the_lift_moves_stops_it_whatever_it_is_for)
{
    static const struct action *const all[] = {&up_slow, &nudge,     &to_height, &groove,
                                               &stop,    &next_mark, NULL};
    bench_lift(&bench, 100, true, 0);
    down(200, KEY_B, all[_i]);
    bench_lift(&bench, 300, false, 0);
    bench_to(&bench, 2000);
    up(2000, KEY_B, all[_i]);
    bench_to(&bench, 5000);
    bench_expect(&bench, "200 stop\n");
}
END_TEST

/* Before the watch has told that anything moves. */
START_TEST(a_double_press_stops_what_the_first_began)
{
    down(1000, KEY_A, &to_height);
    up(1060, KEY_A, &to_height);
    down(1130, KEY_A, &to_height);
    up(1190, KEY_A, &to_height);
    bench_refuse(&bench, 1400, GATE_TO, "stopped", "Stopped by reglet-pedal.");
    bench_to(&bench, 3000);
    bench_expect(&bench, "1000 to 9525000\n1130 stop\n");
    down(3000, KEY_A, &to_height);
    bench_expect(&bench, "3000 to 9525000\n");
}
END_TEST

/* What the operator did is said once; what others did, in the daemon's words. */
START_TEST(only_a_stop_by_others_is_said_in_the_daemon_s_words)
{
    bench.words = true;
    down(1000, KEY_A, &to_height);
    up(1100, KEY_A, &to_height);
    down(1200, KEY_A, &to_height);
    bench_refuse(&bench, 1400, GATE_TO, "stopped", "Stopped by reglet-pedal.");
    up(1500, KEY_A, &to_height);
    bench_expect(&bench, "1000 to 9525000\n1200 stop\n1200 \"A key was pressed while the lift "
                         "moves: it is stopped.\"\n");
    down(2000, KEY_A, &to_height);
    bench_refuse(&bench, 2400, GATE_TO, "stopped", "Stopped by reglet.");
    bench_expect(&bench, "2000 to 9525000\n2400 \"Stopped by reglet.\"\n");
}
END_TEST

START_TEST(a_second_key_ends_a_hold)
{
    down(1000, KEY_A, &up_slow);
    bench_answer(&bench, 1001, GATE_HOLD, "aa");
    bench_lift(&bench, 1002, true, 0);
    down(1030, KEY_B, &down_fast);
    bench_lift(&bench, 1100, false, 0);
    up(1500, KEY_A, &up_slow);
    bench_to(&bench, 2000);
    up(2000, KEY_B, &down_fast);
    bench_expect(&bench, "1000 hold up slow\n1030 stop\n");
    down(2100, KEY_B, &down_fast);
    bench_expect(&bench, "2100 hold down fast\n");
}
END_TEST

START_TEST(a_press_while_another_device_s_key_is_down_begins_nothing)
{
    down(1000, KEY_A, &stop); /* which moves nothing */
    bench_key(&bench, 1500, 1, KEY_A, &up_slow, true);
    up(2000, KEY_A, &stop);
    bench_to(&bench, 3000);
    bench_key(&bench, 3000, 1, KEY_A, &up_slow, false);
    bench_expect(&bench, "1000 stop\n1500 stop\n");
    bench_key(&bench, 3100, 1, KEY_A, &up_slow, true);
    bench_expect(&bench, "3100 hold up slow\n");
}
END_TEST

START_TEST(a_key_that_is_not_mapped_does_nothing_at_rest)
{
    bench.words = true;
    down(1000, KEY_NUMLOCK, NULL);
    down(1100, KEY_A, &nudge);
    bench_expect(&bench, "1100 by 396875\n");
}
END_TEST

START_TEST(a_motion_that_is_refused_is_said)
{
    bench.words = true;
    down(1000, KEY_A, &to_height);
    bench_refuse(&bench, 1002, GATE_TO, "height-unknown", "Touch off first.");
    up(1100, KEY_A, &to_height);
    bench_expect(&bench, "1000 to 9525000\n1002 \"Touch off first.\"\n");
}
END_TEST

START_TEST(a_press_that_is_read_late_begins_nothing_but_stops)
{
    struct gate_event event = {.code = KEY_A, .action = &up_slow, .down = true, .at_ms = 1000};
    bench_to(&bench, 1301);
    gate_key(&bench.gate, 1301, &event);
    bench_to(&bench, 2000);
    up(2000, KEY_A, &up_slow);
    bench_expect(&bench, "");
    bench_lift(&bench, 2100, true, 0);
    event.at_ms = 2100;
    bench_to(&bench, 5000);
    gate_key(&bench.gate, 5000, &event);
    bench_expect(&bench, "5000 stop\n");
}
END_TEST

START_TEST(more_keys_than_there_is_room_for_stop)
{
    for (unsigned i = 0; i < GATE_KEYS_MAX; i++) {
        bench_key(&bench, 1000, 3, 100 + i, NULL, true);
    }
    bench_expect(&bench, "");
    down(1001, KEY_A, &up_slow);
    bench_expect(&bench, "1001 stop\n");
}
END_TEST

/* --- next --- */

START_TEST(next_goes_when_its_key_is_let_go)
{
    down(1000, KEY_A, &next_mark);
    bench_expect(&bench, "");
    up(1080, KEY_A, &next_mark);
    bench_expect(&bench, "1080 next\n");
}
END_TEST

START_TEST(next_wants_its_key_down_for_80_ms)
{
    down(1000, KEY_A, &next_mark);
    up(1079, KEY_A, &next_mark);
    bench_to(&bench, 3000);
    bench_expect(&bench, "");
}
END_TEST

START_TEST(next_is_not_heeded_for_700_ms_behind_a_mark)
{
    down(1000, KEY_A, &next_mark);
    up(1100, KEY_A, &next_mark);
    bench_answer(&bench, 2000, GATE_NEXT, NULL); /* the mark is reached */
    down(2699, KEY_A, &next_mark);
    up(2900, KEY_A, &next_mark);
    bench_expect(&bench, "1100 next\n");
    down(2950, KEY_A, &next_mark);
    up(3050, KEY_A, &next_mark);
    bench_answer(&bench, 4000, GATE_NEXT, NULL);
    down(4700, KEY_A, &next_mark);
    up(4800, KEY_A, &next_mark);
    bench_expect(&bench, "3050 next\n4800 next\n");
}
END_TEST

START_TEST(next_counts_the_rest_of_others_motions_too)
{
    bench_lift(&bench, 1000, true, 0);
    bench_lift(&bench, 2000, false, 0);
    down(2300, KEY_A, &next_mark);
    up(2500, KEY_A, &next_mark);
    bench_expect(&bench, "");
    down(2700, KEY_A, &next_mark);
    up(2800, KEY_A, &next_mark);
    bench_expect(&bench, "2800 next\n");
}
END_TEST

START_TEST(next_is_given_up_by_a_second_key_and_by_motion)
{
    down(1000, KEY_A, &next_mark);
    down(1100, KEY_B, &nudge);
    up(1200, KEY_A, &next_mark);
    up(1300, KEY_B, &nudge);
    bench_expect(&bench, "1100 stop\n");
    down(2000, KEY_A, &next_mark);
    bench_lift(&bench, 2050, true, 0); /* somebody else's */
    up(2200, KEY_A, &next_mark);
    bench_expect(&bench, "");
}
END_TEST

START_TEST(next_that_the_daemon_does_not_know_is_said)
{
    bench.words = true;
    down(1000, KEY_A, &next_mark);
    up(1100, KEY_A, &next_mark);
    bench_refuse(&bench, 1101, GATE_NEXT, "", "regletd does not know that request.");
    bench_expect(&bench, "1100 next\n1101 \"regletd does not know that request.\"\n");
}
END_TEST

static Suite *gate_suite(void)
{
    Suite *suite = suite_create("pedal-gate");
    TCase *hold = tcase_create("hold");
    tcase_add_checked_fixture(hold, begin, NULL);
    tcase_add_test(hold, a_held_key_is_a_lease);
    tcase_add_test(hold, a_lease_that_is_answered_goes_on);
    tcase_add_loop_test(hold, each_direction_and_speed_is_asked_as_mapped, 0, 4);
    tcase_add_test(hold, a_key_let_go_before_the_token_came_is_stopped_and_released);
    tcase_add_test(hold, a_token_that_comes_late_is_renewed_at_once);
    tcase_add_test(hold, a_loop_that_was_late_renews_once);
    tcase_add_test(hold, a_hold_that_is_over_is_begun_by_a_new_press_only);
    tcase_add_test(hold, a_refused_hold_is_said_and_not_asked_again);
    tcase_add_test(hold, an_old_renewal_does_not_end_a_new_hold);
    tcase_add_test(hold, a_daemon_that_does_not_answer_is_not_asked_for_ever);
    tcase_add_test(hold, a_hold_without_a_name_is_stopped);
    suite_add_tcase(suite, hold);
    TCase *chatter = tcase_create("chatter");
    tcase_add_checked_fixture(chatter, begin, NULL);
    tcase_add_test(chatter, chatter_of_a_press_is_one_press);
    tcase_add_test(chatter, chatter_of_a_release_is_no_press);
    tcase_add_test(chatter, a_release_within_the_quiet_time_is_believed_at_its_end);
    suite_add_tcase(suite, chatter);
    TCase *one = tcase_create("one at a time");
    tcase_add_checked_fixture(one, begin, NULL);
    tcase_add_loop_test(one, each_action_asks_for_its_own, 0, 4);
    tcase_add_loop_test(one, a_press_while_the_lift_moves_stops_it_whatever_it_is_for, 0, 7);
    tcase_add_test(one, a_double_press_stops_what_the_first_began);
    tcase_add_test(one, only_a_stop_by_others_is_said_in_the_daemon_s_words);
    tcase_add_test(one, a_second_key_ends_a_hold);
    tcase_add_test(one, a_press_while_another_device_s_key_is_down_begins_nothing);
    tcase_add_test(one, a_key_that_is_not_mapped_does_nothing_at_rest);
    tcase_add_test(one, a_motion_that_is_refused_is_said);
    tcase_add_test(one, a_press_that_is_read_late_begins_nothing_but_stops);
    tcase_add_test(one, more_keys_than_there_is_room_for_stop);
    suite_add_tcase(suite, one);
    TCase *next = tcase_create("next");
    tcase_add_checked_fixture(next, begin, NULL);
    tcase_add_test(next, next_goes_when_its_key_is_let_go);
    tcase_add_test(next, next_wants_its_key_down_for_80_ms);
    tcase_add_test(next, next_is_not_heeded_for_700_ms_behind_a_mark);
    tcase_add_test(next, next_counts_the_rest_of_others_motions_too);
    tcase_add_test(next, next_is_given_up_by_a_second_key_and_by_motion);
    tcase_add_test(next, next_that_the_daemon_does_not_know_is_said);
    suite_add_tcase(suite, next);
    return suite;
}

int main(void)
{
    return run_suite(gate_suite());
}
