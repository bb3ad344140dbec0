/* SPDX-License-Identifier: MIT */
/*
 * A two-wire scale behind the step generator's core: frames of 24 bits, lowest first, ended by a
 * gap (common practice, no source; protocol/LINK.md, SCALE).
 */
#include <check.h>

#include "tests/suite.h"
#include "tests/unit/core_rig.h"

enum { BITS = GENERATOR_SCALE_BITS, GAP_MS = GENERATOR_SCALE_GAP_MS };

/* A bit a millisecond, the slowest there is. */
static void clock_bits(uint32_t raw, unsigned bits)
{
    for (unsigned i = 0; i < bits; i++) {
        pass_ms(1);
        generator_scale_bit(&rig.g, raw >> (i % 32) & 1);
    }
}

static void expect_reading(uint32_t number, uint32_t raw)
{
    forget();
    pass_ms(2 * GAP_MS);
    ck_assert_uint_eq(times(LINK_SCALE), 1);
    SAID(LINK_SCALE, rig.g.epoch, number, raw);
}

static void expect_none(void)
{
    pass_ms(2 * GAP_MS);
    ck_assert_uint_eq(times(LINK_SCALE), 0);
}

START_TEST(a_frame_is_told_at_its_end_and_once)
{
    ready();
    clock_bits(0x8004b1, BITS);
    ck_assert_uint_eq(times(LINK_SCALE), 0);
    expect_reading(1, 0x8004b1);
    forget();
    expect_none();
    for (uint32_t number = 2; number < 300; number++) {
        uint32_t raw = (uint32_t)below(UINT32_C(1) << BITS);
        clock_bits(raw, BITS);
        expect_reading(number % 256, raw);
    }
}
END_TEST

START_TEST(bits_that_come_slowly_are_one_frame_as_long_as_there_is_no_gap)
{
    ready();
    for (unsigned i = 0; i < BITS; i++) {
        generator_scale_bit(&rig.g, true);
        pass_ms(GAP_MS - 1);
    }
    expect_reading(1, 0xffffff);
}
END_TEST

START_TEST(a_frame_of_another_length_is_none)
{
    ready();
    for (unsigned bits = 0; bits < 700; bits++) {
        if (bits != BITS) {
            clock_bits((uint32_t)next_random(), bits);
            expect_none();
        }
    }
    clock_bits(1, BITS);
    expect_reading(1, 1);
}
END_TEST

START_TEST(a_frame_that_a_leg_has_cut_is_none)
{
    ready();
    for (unsigned before = 0; before <= BITS; before++) {
        clock_bits(0, before);
        queue_steps(1, STRIDE_REST); /* it takes a millisecond */
        TELL(LINK_BEGIN, rig.g.epoch, (uint8_t)(rig.sequence - 1), 0);
        ck_assert(rig.armed);
        pass_ms(2);
        ck_assert(!rig.armed);
        clock_bits(0, BITS - before);
        if (before > 0) { /* else it has come after all */
            expect_none();
        } else {
            pass_ms(2 * GAP_MS);
        }
        forget();
    }
}
END_TEST

START_TEST(what_is_owed_of_a_reading_is_void_when_a_leg_begins)
{
    ready();
    rig.deaf = true;
    clock_bits(5, BITS);
    pass_ms(2 * GAP_MS);
    queue_steps(10, STRIDE_REST);
    TELL(LINK_BEGIN, rig.g.epoch, 0, 0);
    rig.deaf = false;
    pass_ms(1);
    ck_assert_uint_eq(times(LINK_TOOK), 1);
    ck_assert_uint_eq(times(LINK_SCALE), 0);
}
END_TEST

START_TEST(a_reading_is_kept_by_a_sync_and_told_in_its_epoch)
{
    ready();
    rig.deaf = true;
    clock_bits(7, BITS);
    pass_ms(2 * GAP_MS);
    TELL(LINK_SYNC, 2, 0);
    rig.deaf = false;
    pass_ms(1);
    SAID(LINK_SCALE, 2, 1, 7);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("core: scale");
    TCase *all = tcase_create("scale");
    tcase_add_test(all, a_frame_is_told_at_its_end_and_once);
    tcase_add_test(all, bits_that_come_slowly_are_one_frame_as_long_as_there_is_no_gap);
    tcase_add_test(all, a_frame_of_another_length_is_none);
    tcase_add_test(all, a_frame_that_a_leg_has_cut_is_none);
    tcase_add_test(all, what_is_owed_of_a_reading_is_void_when_a_leg_begins);
    tcase_add_test(all, a_reading_is_kept_by_a_sync_and_told_in_its_epoch);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
