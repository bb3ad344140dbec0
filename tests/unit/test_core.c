/* SPDX-License-Identifier: MIT */
/*
 * The step generator's core in conversation, on a virtual timer: handshake, settings, sync, inputs
 * and outputs. What it must answer is what protocol/LINK.md says. Strides and legs are in
 * test_core_strides.c, noise is in test_core_noise.c, and how it stops in test_core_stop*.c.
 */
#include <check.h>
#include <inttypes.h>

#include "tests/suite.h"
#include "tests/unit/core_rig.h"

/* --- Handshake, settings, sync --- */

START_TEST(a_hail_is_answered_with_board_abilities_and_state)
{
    boot();
    TELL(LINK_HAIL, 0);
    ck_assert_uint_eq(rig.heard_count, 4);
    SAID(LINK_BOARD, LINK_MAJOR, LINK_MINOR, 0xb0a4d, 7);
    SAID(LINK_ABLE, TICK_HZ, GENERATOR_QUEUE, INSIDE_MIN, FIRST_MIN, ALL_INPUTS);
    SAID(LINK_AT, 0, 0, LINK_STATE_ADRIFT, 0, 0);
    SAID(LINK_SEE, 0, 0, 0, 0xff, 0xff, 0, 0);
}
END_TEST

START_TEST(the_sum_of_the_settings_is_in_every_report)
{
    boot();
    uint32_t so_far[LINK_SETTINGS] = {0};
    for (uint8_t i = LINK_SETTINGS; i > 0; i--) {
        so_far[i - 1] = settings[i - 1];
        TELL(LINK_SET, i - 1u, settings[i - 1]);
        TELL(LINK_POLL, 0, 0, i);
        SAID(LINK_SEE, 0, i, 0, 0xff, 0xff, 0, link_sum_settings(so_far));
    }
    ck_assert_uint_eq(times(LINK_REFUSED), 0);
}
END_TEST

START_TEST(settings_out_of_range_are_refused_and_change_nothing)
{
    static const uint32_t wrong[][2] = {{LINK_SET_BRAKE_RATE, 0},
                                        {LINK_SET_BRAKE_RATE, 0x80000000},
                                        {LINK_SET_DEBOUNCE_MS, 251},
                                        {LINK_SET_INPUT_INVERT, 0x80},
                                        {LINK_SET_INPUT_BRAKE, 0x80},
                                        {LINK_SET_SILENCE_MS, 9},
                                        {LINK_SET_SILENCE_MS, 60001},
                                        {LINK_SETTINGS, 1},
                                        {255, 1}};
    ready();
    uint16_t sum = rig.g.settings_sum;
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        TELL(LINK_SET, wrong[i][0], wrong[i][1]);
        check_refused(LINK_SET, LINK_REFUSED_VALUE);
    }
    ck_assert_uint_eq(rig.g.settings_sum, sum);
    ck_assert_mem_eq(rig.g.setting, settings, sizeof settings);
}
END_TEST

START_TEST(settings_are_refused_while_moving)
{
    ready();
    queue_steps(10, STRIDE_REST);
    TELL(LINK_BEGIN, 1, 0, 0);
    TELL(LINK_SET, LINK_SET_BOUND_HIGH, 5);
    check_refused(LINK_SET, LINK_REFUSED_MOVING);
    TELL(LINK_SYNC, 2, 0);
    check_refused(LINK_SYNC, LINK_REFUSED_MOVING);
    pass_ms(11);
    TELL(LINK_SET, LINK_SET_BOUND_HIGH, 500);
    ck_assert_uint_eq(times(LINK_REFUSED), 0);
    ck_assert_uint_eq(rig.g.state, LINK_STATE_STILL);
}
END_TEST

START_TEST(a_setting_voids_strides_that_were_accepted_under_others)
{
    ready();
    queue_steps(10, STRIDE_REST);
    TELL(LINK_SET, LINK_SET_BOUND_HIGH, 5);
    ck_assert_uint_eq(times(LINK_REFUSED), 0);
    TELL(LINK_BEGIN, 1, 0, 0);
    TELL(LINK_POLL, 1, 1, 1);
    SAID(LINK_AT, 1, 1, LINK_STATE_ADRIFT, 0, 0);
    ck_assert_uint_eq(times(LINK_STOPPED), 0);
    sync_again(2);
    TELL(LINK_BEGIN, 2, 0xff, 0);
    check_refused(LINK_BEGIN, LINK_REFUSED_QUEUE);
    queue_steps(10, STRIDE_REST);
    check_refused(LINK_STRIDE, LINK_REFUSED_BOUNDS);
    ck_assert_uint_eq(rig.starts, 0);
}
END_TEST

START_TEST(without_all_settings_no_stride_is_taken)
{
    for (uint8_t missing = 0; missing < LINK_SETTINGS; missing++) {
        boot();
        for (uint8_t i = 0; i < LINK_SETTINGS; i++)
            if (i != missing)
                TELL(LINK_SET, i, settings[i]);
        TELL(LINK_SYNC, 1, 0);
        queue_steps(10, STRIDE_REST);
        check_refused(LINK_STRIDE, LINK_REFUSED_SETTINGS);
        TELL(LINK_BEGIN, 1, 0xff, 0);
        check_refused(LINK_BEGIN, LINK_REFUSED_SETTINGS);
    }
}
END_TEST

START_TEST(a_sync_sets_the_count_once_and_then_must_name_it)
{
    ready();
    TELL(LINK_SYNC, 1, 0); /* once more: nothing */
    ck_assert_uint_eq(rig.heard_count, 0);
    TELL(LINK_SYNC, 1, 5); /* the same epoch with another count */
    check_refused(LINK_SYNC, LINK_REFUSED_VALUE);
    TELL(LINK_SYNC, 0, 0); /* the epoch of a board just started */
    check_refused(LINK_SYNC, LINK_REFUSED_VALUE);
    TELL(LINK_SYNC, 2, 5);
    check_refused(LINK_SYNC, LINK_REFUSED_COUNT);
    ck_assert_uint_eq(rig.g.epoch, 1);
    TELL(LINK_SYNC, 0xffff, 0);
    TELL(LINK_SYNC, 2, 0); /* any other epoch will do, lower ones too */
    ck_assert_uint_eq(rig.heard_count, 0);
    ck_assert_uint_eq(rig.g.epoch, 2);
    boot();
    TELL(LINK_SYNC, 9, (uint32_t)-77);
    TELL(LINK_POLL, 9, 0, 1);
    SAID(LINK_AT, 9, 1, LINK_STATE_STILL, (uint32_t)-77, (uint32_t)-77);
}
END_TEST

START_TEST(a_sync_voids_the_queue_and_what_was_owed)
{
    ready();
    rig.deaf = true;
    queue_steps(10, STRIDE_REST);
    TELL(LINK_SYNC, 2, 0);
    rig.deaf = false;
    settle();
    ck_assert_uint_eq(times(LINK_TOOK), 0);
    TELL(LINK_BEGIN, 2, 0xff, 0);
    check_refused(LINK_BEGIN, LINK_REFUSED_QUEUE);
}
END_TEST

/* --- Inputs and outputs --- */

START_TEST(inputs_count_when_steady_and_speak_by_themselves)
{
    ready();
    rig.levels = TOP_BIT;
    pass_ms(DEBOUNCE);
    rig.levels = 0;
    pass_ms(1);
    rig.levels = TOP_BIT;
    pass_ms(DEBOUNCE);
    ck_assert_uint_eq(rig.heard_count, 0);
    pass_ms(1);
    SAID(LINK_SEE, 1, 0, TOP_BIT, 0xff, 0xff, 0, rig.g.settings_sum);
    ck_assert_uint_eq(times(LINK_AT), 1);
    forget();
    TELL(LINK_SET, LINK_SET_INPUT_INVERT, TOP_BIT); /* now it is not active */
    pass_ms(DEBOUNCE + 1);
    SAID(LINK_SEE, 1, 0, 0, 0xff, 0xff, 0, rig.g.settings_sum);
}
END_TEST

START_TEST(levels_mean_nothing_before_their_senses_are_set)
{
    boot();
    rig.levels = ALL_INPUTS;
    generator_stop_circuit(&rig.g, true);
    pass_ms(300);
    ck_assert_uint_eq(rig.heard_count, 0);
    ck_assert_uint_eq(rig.g.inputs, 0);
}
END_TEST

START_TEST(a_leg_does_not_begin_with_its_end_or_a_brake_active)
{
    ready();
    queue_steps(10, STRIDE_REST);
    rig.levels = TOP_BIT;
    pass_ms(DEBOUNCE + 1);
    TELL(LINK_BEGIN, 1, 0, LINK_INPUT_TOP_SWITCH + 1);
    check_refused(LINK_BEGIN, LINK_REFUSED_INPUT);
    TELL(LINK_BEGIN, 1, 0, LINK_INPUTS + 1);
    check_refused(LINK_BEGIN, LINK_REFUSED_VALUE);
    rig.g.board.inputs_present = TOP_BIT;
    TELL(LINK_BEGIN, 1, 0, LINK_INPUT_TOUCH_PLATE + 1); /* this board has none */
    check_refused(LINK_BEGIN, LINK_REFUSED_VALUE);
    rig.g.setting[LINK_SET_INPUT_BRAKE] = TOP_BIT;
    TELL(LINK_BEGIN, 1, 0, 0);
    check_refused(LINK_BEGIN, LINK_REFUSED_INPUT);
    ck_assert_uint_eq(rig.starts, 0);
}
END_TEST

START_TEST(outputs_follow_the_epoch)
{
    ready();
    TELL(LINK_OUT, 1, 0x83);
    ck_assert_uint_eq(rig.g.outputs, 0x83);
    TELL(LINK_OUT, 2, 0x01);
    ck_assert_uint_eq(rig.g.outputs, 0x83);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("core");
    TCase *all = tcase_create("talk");
    tcase_add_test(all, a_hail_is_answered_with_board_abilities_and_state);
    tcase_add_test(all, the_sum_of_the_settings_is_in_every_report);
    tcase_add_test(all, settings_out_of_range_are_refused_and_change_nothing);
    tcase_add_test(all, settings_are_refused_while_moving);
    tcase_add_test(all, a_setting_voids_strides_that_were_accepted_under_others);
    tcase_add_test(all, without_all_settings_no_stride_is_taken);
    tcase_add_test(all, a_sync_sets_the_count_once_and_then_must_name_it);
    tcase_add_test(all, a_sync_voids_the_queue_and_what_was_owed);
    tcase_add_test(all, inputs_count_when_steady_and_speak_by_themselves);
    tcase_add_test(all, levels_mean_nothing_before_their_senses_are_set);
    tcase_add_test(all, a_leg_does_not_begin_with_its_end_or_a_brake_active);
    tcase_add_test(all, outputs_follow_the_epoch);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
