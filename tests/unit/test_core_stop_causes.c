/* SPDX-License-Identifier: MIT */
/*
 * What stops the step generator's core of itself, and what of two reasons counts: silence, inputs,
 * the stop circuit, a brake before, during and after the move. How far it runs on is v^2/2a (any
 * mechanics textbook).
 */
#include <check.h>
#include <string.h>

#include "tests/suite.h"
#include "tests/unit/core_stop_rig.h"

START_TEST(silence_brakes_when_its_time_is_over_and_not_before)
{
    start_random();
    encode(&long_moves[1], false);
    for (unsigned trial = 0; trial < 40; trial++) {
        begin(GENERATOR_QUEUE, stride_count);
        pass_until(rig.begun_at + below((uint64_t)3 * TICK_HZ));
        TELL(LINK_POLL, 1, stride_count, 0);
        rig.polls = false;
        uint64_t heard = rig.now;
        /* Another epoch's poll and lines of other words are no sign of the daemon. */
        pass_until(heard + below(90 * MS));
        TELL(LINK_POLL, 2, stride_count, 0);
        TELL(LINK_OUT, 1, 1);
        while (rig.g.state == LINK_STATE_RUNNING)
            pass_one();
        ck_assert_uint_ge(rig.now, heard + (SILENCE_MS - 1) * MS);
        ck_assert_uint_le(rig.now, heard + SILENCE_MS * MS);
        check_rest(speed_now(), LINK_WHY_SILENCE, rig.count, rig.edges + 1);
        rig.polls = true;
        check_for_good();
    }
}
END_TEST

START_TEST(the_awaited_input_ends_the_leg_once_it_is_steady)
{
    start_random();
    encode(&long_moves[1], false);
    for (unsigned trial = 0; trial < 40; trial++) {
        begin(GENERATOR_QUEUE, stride_count);
        pass_until(rig.begun_at + below((uint64_t)3 * TICK_HZ));
        rig.levels = TOP_BIT;
        pass_until(rig.now + (DEBOUNCE_MS - 1) * MS);
        rig.levels = 0; /* a contact that bounces */
        pass_until(rig.now + MS);
        rig.levels = TOP_BIT;
        pass_until(rig.now + DEBOUNCE_MS * MS);
        ck_assert_uint_eq(rig.g.state, LINK_STATE_RUNNING);
        pass_until(rig.ms_at);
        ck_assert_uint_eq(rig.g.state, LINK_STATE_BRAKING);
        check_rest(speed_now(), LINK_WHY_INPUT + LINK_INPUT_TOP_SWITCH, rig.count, rig.edges + 1);
        check_for_good();
    }
}
END_TEST

START_TEST(the_stop_circuit_acts_at_once_and_closes_only_when_steady)
{
    start_random();
    encode(&long_moves[0], false);
    begin(GENERATOR_QUEUE, stride_count);
    pass_until(rig.begun_at + 20 * MS + 5);
    generator_stop_circuit(&rig.g, false);
    ck_assert_uint_eq(rig.g.state, LINK_STATE_RUNNING);
    rig.levels = STOP_BIT; /* nobody tells of it but the millisecond */
    pass_until(rig.ms_at);
    check_rest(speed_now(), LINK_WHY_INPUT + LINK_INPUT_STOP_CIRCUIT, rig.count, rig.edges + 1);
    rig.levels = 0;
    generator_stop_circuit(&rig.g, false);
    ck_assert_uint_eq(rig.g.inputs, STOP_BIT);
    pass_until(rig.now + (DEBOUNCE_MS + 1) * MS);
    ck_assert_uint_eq(rig.g.inputs, 0);
    ck_assert_uint_eq(rig.g.state, LINK_STATE_ADRIFT); /* closing it starts nothing */
    check_for_good();
}
END_TEST

START_TEST(a_brake_before_the_first_edge_is_armed_lets_none_be_made)
{
    encode(&long_moves[0], false);
    begin(GENERATOR_QUEUE, stride_count);
    rig.armed = false; /* as if the timer had not been set yet */
    rig.g.starting = true;
    generator_brake(&rig.g, LINK_WHY_BYTE);
    settle();
    ck_assert(!rig.armed);
    ck_assert_uint_eq(rig.stops, 1);
    ck_assert_int_eq((int32_t)rig.stopped.value[2], 0);
    check_for_good();
}
END_TEST

START_TEST(of_two_reasons_the_first_one_stands)
{
    encode(&long_moves[2], true);
    begin(GENERATOR_QUEUE, stride_count);
    pass_until(rig.begun_at + TICK_HZ);
    struct speed speed = speed_now();
    int32_t latched = rig.count;
    uint32_t edges = rig.edges;
    TELL(LINK_BRAKE, 0xffff); /* of any epoch: a brake is always obeyed */
    pass_until(rig.now + 2 * MS);
    ck_assert_uint_eq(rig.g.state, LINK_STATE_BRAKING);
    generator_byte(&rig.g, LINK_BRAKE_BYTE);
    check_rest(speed, LINK_WHY_BRAKE, latched, edges + 1);
    generator_byte(&rig.g, LINK_BRAKE_BYTE);
    TELL(LINK_POLL, 1, 0, 0);
    ck_assert_uint_eq(rig.stopped.value[1], LINK_WHY_BRAKE);
    check_for_good();
}
END_TEST

START_TEST(a_brake_at_rest_sets_it_adrift_and_says_so)
{
    encode(&long_moves[0], false);
    begin(GENERATOR_QUEUE, stride_count);
    pass_to_rest();
    ck_assert_uint_eq(rig.ends, 1);
    rig.ends = 0;
    generator_byte(&rig.g, LINK_BRAKE_BYTE);
    settle();
    ck_assert_uint_eq(rig.stops, 1);
    ck_assert_int_eq((int32_t)rig.stopped.value[2], 318);
    ck_assert_int_eq((int32_t)rig.stopped.value[3], 318);
    check_for_good();
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("core_stop: causes");
    TCase *all = tcase_create("stop");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, silence_brakes_when_its_time_is_over_and_not_before);
    tcase_add_test(all, the_awaited_input_ends_the_leg_once_it_is_steady);
    tcase_add_test(all, the_stop_circuit_acts_at_once_and_closes_only_when_steady);
    tcase_add_test(all, a_brake_before_the_first_edge_is_armed_lets_none_be_made);
    tcase_add_test(all, of_two_reasons_the_first_one_stands);
    tcase_add_test(all, a_brake_at_rest_sets_it_adrift_and_says_so);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
