/* SPDX-License-Identifier: MIT */
/*
 * Strides and legs told to the step generator's core: what is taken, what is refused, and where
 * each edge stands. What it must answer is what protocol/LINK.md says.
 */
#include <check.h>
#include <inttypes.h>
#include <string.h>

#include "tests/suite.h"
#include "tests/unit/core_rig.h"

/* --- Strides --- */

START_TEST(a_stride_is_taken_once_and_told_with_end_and_sum)
{
    ready();
    struct stride one = even(10, MS, 0);
    struct stride two = even(20, 2 * MS, STRIDE_REST);
    tell_stride(&one, 0);
    uint16_t sum = link_sum_stride(LINK_SUM_START, &one, 0);
    SAID(LINK_TOOK, 1, 0, 0xff, 10, sum);
    forget();
    tell_stride(&one, 0); /* its answer was lost */
    SAID(LINK_TOOK, 1, 0, 0xff, 10, sum);
    tell_stride(&two, 1);
    sum = link_sum_stride(sum, &two, 1);
    SAID(LINK_TOOK, 1, 1, 0xff, 30, sum);
    TELL(LINK_BEGIN, 1, 0, 0);
    pass_ms(10);
    SAID(LINK_USED, 1, 0);
    pass_ms(40);
    SAID(LINK_USED, 1, 1);
    SAID(LINK_ENDED, 1, 30);
    ck_assert_int_eq(rig.count, 30);
    ck_assert_uint_eq(rig.starts, 1);
}
END_TEST

START_TEST(a_gap_is_told_once_and_mended_by_the_next_poll)
{
    ready();
    struct stride stride = even(1, MS, 0);
    for (uint8_t sequence = 2; sequence < 10; sequence++)
        tell_stride(&stride, sequence);
    ck_assert_uint_eq(times(LINK_WANT), 1);
    SAID(LINK_WANT, 1, 0);
    forget();
    TELL(LINK_POLL, 1, 10, 1); /* that WANT was lost */
    SAID(LINK_WANT, 1, 0);
    forget();
    tell_stride(&stride, 0);
    TELL(LINK_POLL, 1, 1, 2);
    ck_assert_uint_eq(times(LINK_WANT), 0);
    tell_stride(&stride, 2);
    SAID(LINK_WANT, 1, 1);
    ck_assert_uint_eq(generator_queued(&rig.g), 1);
}
END_TEST

START_TEST(the_queue_takes_64_strides_and_sequence_numbers_go_round)
{
    ready();
    for (unsigned round = 0; round < 6; round++) {
        for (unsigned i = 0; i < GENERATOR_QUEUE - 1; i++)
            queue_steps(1, round % 2 ? STRIDE_DOWN : 0);
        queue_steps(1, STRIDE_REST | (round % 2 ? STRIDE_DOWN : 0));
        ck_assert_uint_eq(times(LINK_REFUSED), 0);
        struct stride more = even(1, MS, 0);
        tell_stride(&more, rig.sequence);
        check_refused(LINK_STRIDE, LINK_REFUSED_QUEUE);
        TELL(LINK_BEGIN, 1, (uint8_t)(rig.sequence - 1), 0);
        for (int i = 0; i < 3; i++) { /* or silence stops it */
            pass_ms(30);
            TELL(LINK_POLL, 1, rig.sequence, 0);
        }
        ck_assert_int_eq(rig.count, round % 2 ? 0 : GENERATOR_QUEUE);
        ck_assert_uint_eq(times(LINK_ENDED), 1);
        forget();
    }
}
END_TEST

START_TEST(strides_must_keep_bounds_direction_and_the_smallest_interval)
{
    ready();
    queue_steps(HIGH, 0);
    struct stride stride = even(1, MS, 0);
    tell_stride(&stride, 1);
    check_refused(LINK_STRIDE, LINK_REFUSED_BOUNDS);
    stride.flags = STRIDE_DOWN;
    tell_stride(&stride, 1);
    check_refused(LINK_STRIDE, LINK_REFUSED_DIRECTION);
    sync_again(2);
    queue_steps((uint16_t)-LOW, STRIDE_DOWN | STRIDE_REST);
    tell_stride(&stride, 1);
    check_refused(LINK_STRIDE, LINK_REFUSED_BOUNDS);
    sync_again(3);
    /* The recurrence begins at one half: half a tick less still makes a first interval of
     * FIRST_MIN. */
    stride = (struct stride){.interval = (FIRST_MIN << 16) - 0x8001, .steps = 1};
    tell_stride(&stride, 0);
    check_refused(LINK_STRIDE, LINK_REFUSED_VALUE);
    stride.interval =
        UINT32_MAX; /* past the recurrence's 32 bits: no long interval but a short one */
    tell_stride(&stride, 0);
    check_refused(LINK_STRIDE, LINK_REFUSED_VALUE);
    stride.interval = (FIRST_MIN << 16) - 0x8000;
    tell_stride(&stride, 0);
    ck_assert_uint_eq(times(LINK_TOOK), 1);
}
END_TEST

START_TEST(bounds_hold_at_the_ends_of_the_number_range)
{
    static const int32_t ends[] = {INT32_MAX, INT32_MIN};
    for (int i = 0; i < 2; i++) {
        boot();
        for (uint8_t k = 0; k < LINK_SETTINGS; k++)
            TELL(LINK_SET, k, settings[k]);
        TELL(LINK_SET, LINK_SET_BOUND_LOW, (uint32_t)INT32_MIN);
        TELL(LINK_SET, LINK_SET_BOUND_HIGH, INT32_MAX);
        TELL(LINK_SYNC, 1, (uint32_t)ends[i]);
        rig.count = ends[i];
        struct stride away = even(STRIDE_STEPS_MAX, MS, i == 0 ? 0 : STRIDE_DOWN);
        tell_stride(&away, 0);
        check_refused(LINK_STRIDE, LINK_REFUSED_BOUNDS);
        queue_steps(3, STRIDE_REST | (i == 0 ? STRIDE_DOWN : 0));
        TELL(LINK_BEGIN, 1, 0, 0);
        pass_ms(4);
        SAID(LINK_ENDED, 1, (uint32_t)(i == 0 ? INT32_MAX - 3 : INT32_MIN + 3));
    }
}
END_TEST

START_TEST(every_edge_stands_where_the_recurrence_in_64_bits_puts_it)
{
    ready();
    for (int trial = 0; trial < 200; trial++) { /* back and forth, within the bounds */
        struct stride strides[20];
        unsigned count = 1 + below(20);
        for (unsigned i = 0; i < count; i++) {
            bool slow = below(2);
            uint32_t ticks = slow ? 30000 + below(200000) : 5000 + below(57000);
            strides[i] = even((uint16_t)(1 + below(12)), ticks, slow ? STRIDE_SLOW : 0);
            strides[i].interval += below(256);
            strides[i].change = (int32_t)below(2000) - 1000;
            strides[i].curve = (int32_t)below(20) - 10;
            strides[i].flags |= rig.count > 0 ? STRIDE_DOWN : 0;
            strides[i].flags |= i + 1 == count ? STRIDE_REST : 0;
            tell_stride(&strides[i], rig.sequence++);
        }
        TELL(LINK_BEGIN, 1, (uint8_t)(rig.sequence - 1), 0);
        ck_assert(rig.armed);
        int64_t edge = (int64_t)rig.now;
        for (unsigned i = 0; i < count; i++) {
            uint8_t bits = stride_bits(strides[i].flags);
            int64_t acc = INT64_C(1) << (bits - 1);
            int64_t interval = strides[i].interval;
            int64_t change = strides[i].change;
            for (unsigned k = 0; k < strides[i].steps; k++) {
                acc += interval;
                interval += change;
                change += strides[i].curve;
                ck_assert_int_eq((int64_t)rig.edge_at, edge + (acc >> bits));
                make_edge();
            }
            edge += acc >> bits;
        }
        listen();
        rig.ms_at = rig.now + MS;
        ck_assert(!rig.armed);
        ck_assert_uint_eq(rig.g.late, 0);
    }
}
END_TEST

START_TEST(an_interval_too_short_for_the_board_is_lengthened_and_counted_late)
{
    ready();
    struct stride stride = {
        .interval = FIRST_MIN << 16, .change = -(200 << 16), .steps = 3, .flags = STRIDE_REST};
    tell_stride(&stride, 0);
    TELL(LINK_BEGIN, 1, 0, 0);
    pass_ticks(FIRST_MIN + INSIDE_MIN);
    ck_assert_int_eq(rig.count, 2);
    pass_ms(1);
    TELL(LINK_POLL, 1, 1, 1);
    SAID(LINK_SEE, 1, 1, 0, 0, 0, 2, rig.g.settings_sum);
}
END_TEST

/* --- Legs --- */

START_TEST(a_begin_waits_for_the_stride_that_it_names)
{
    ready();
    queue_steps(10, 0);
    TELL(LINK_BEGIN, 1, 1, 0); /* the stride before it was lost */
    ck_assert_uint_eq(rig.starts, 0);
    SAID(LINK_WANT, 1, 1);
    queue_steps(10, STRIDE_REST);
    ck_assert_uint_eq(rig.starts, 0);
    TELL(LINK_POLL, 1, 2, 1); /* and shows by the state that the begin is wanted again */
    SAID(LINK_AT, 1, 1, LINK_STATE_STILL, 0, 0);
    TELL(LINK_BEGIN, 2, 1, 0); /* of another epoch */
    ck_assert_uint_eq(rig.starts, 0);
    TELL(LINK_BEGIN, 1, 1, 0);
    ck_assert_uint_eq(rig.starts, 1);
    TELL(LINK_BEGIN, 1, 1, 0);
    pass_ms(21);
    ck_assert_uint_eq(rig.starts, 1);
    ck_assert_int_eq(rig.count, 20);
}
END_TEST

START_TEST(a_begin_once_more_never_starts_the_leg_queued_behind)
{
    ready();
    queue_steps(5, STRIDE_REST);
    TELL(LINK_BEGIN, 1, 0, 0);
    queue_steps(5, STRIDE_DOWN | STRIDE_REST); /* while the first one runs */
    TELL(LINK_BEGIN, 1, 0, 0);
    pass_ms(10);
    ck_assert_int_eq(rig.count, 5);
    forget();
    TELL(LINK_POLL, 1, 2, 3); /* if its ENDED was lost, this shows the leg done */
    SAID(LINK_AT, 1, 3, LINK_STATE_STILL, 5, 0);
    SAID(LINK_SEE, 1, 3, 0, 1, 0, 0, rig.g.settings_sum);
    TELL(LINK_BEGIN, 1, 0, 0);
    check_refused(LINK_BEGIN, LINK_REFUSED_QUEUE);
    pass_ms(10);
    ck_assert_int_eq(rig.count, 5);
    TELL(LINK_BEGIN, 1, 1, 0);
    pass_ms(10);
    ck_assert_int_eq(rig.count, 0);
    TELL(LINK_POLL, 1, 2, 4); /* the direction last changed at 5 */
    SAID(LINK_AT, 1, 4, LINK_STATE_STILL, 0, 5);
}
END_TEST

START_TEST(answers_of_one_word_fold_into_the_latest)
{
    ready();
    rig.deaf = true;
    for (int i = 0; i < 10; i++)
        queue_steps(1, i == 9 ? STRIDE_REST : 0);
    TELL(LINK_BEGIN, 1, 9, 0);
    pass_ms(20);
    for (uint32_t i = 0; i < 5; i++)
        TELL(LINK_POLL, 1, 10, i);
    generator_brake(&rig.g, LINK_WHY_BRAKE); /* at rest, after the end */
    rig.deaf = false;
    settle();
    static const uint8_t order[] = {LINK_ENDED, LINK_STOPPED, LINK_TOOK,
                                    LINK_USED,  LINK_AT,      LINK_SEE};
    ck_assert_uint_eq(rig.heard_count, sizeof order);
    for (unsigned i = 0; i < sizeof order; i++)
        ck_assert_uint_eq(rig.heard[i].word, order[i]);
    SAID(LINK_AT, 1, 4, LINK_STATE_ADRIFT, 10, 0);
    SAID(LINK_USED, 1, 9);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("core: strides");
    TCase *all = tcase_create("talk");
    tcase_add_test(all, a_stride_is_taken_once_and_told_with_end_and_sum);
    tcase_add_test(all, a_gap_is_told_once_and_mended_by_the_next_poll);
    tcase_add_test(all, the_queue_takes_64_strides_and_sequence_numbers_go_round);
    tcase_add_test(all, strides_must_keep_bounds_direction_and_the_smallest_interval);
    tcase_add_test(all, bounds_hold_at_the_ends_of_the_number_range);
    tcase_add_test(all, every_edge_stands_where_the_recurrence_in_64_bits_puts_it);
    tcase_add_test(all, an_interval_too_short_for_the_board_is_lengthened_and_counted_late);
    tcase_add_test(all, a_begin_waits_for_the_stride_that_it_names);
    tcase_add_test(all, a_begin_once_more_never_starts_the_leg_queued_behind);
    tcase_add_test(all, answers_of_one_word_fold_into_the_latest);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
