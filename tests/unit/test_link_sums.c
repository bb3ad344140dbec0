/* SPDX-License-Identifier: MIT */
/*
 * Strides in lines of the serial link, and the sums over strides and settings. Fletcher's sum is
 * followed by another method than the code's.
 */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "protocol/link.h"
#include "tests/rig/avr_unit/chip.h"
#include "tests/suite.h"
#include "tests/unit/link_lines.h"

START_TEST(a_stride_goes_into_a_line_and_comes_out_the_same)
{
    start_random();
    for (int trial = 0; trial < TRIALS(20000); trial++) {
        struct stride stride = random_stride();
        uint8_t sequence = (uint8_t)next_random();
        struct link_line line;
        link_stride_line(&stride, sequence, &line);
        check_round_trip(&line);
        struct stride back;
        uint8_t number;
        ck_assert(link_line_stride(&line, &back, &number));
        ck_assert_uint_eq(number, sequence);
        ck_assert_uint_eq(back.interval, stride.interval);
        ck_assert_int_eq(back.change, stride.change);
        ck_assert_int_eq(back.curve, stride.curve);
        ck_assert_uint_eq(back.steps, stride.steps);
        ck_assert_uint_eq(back.flags, stride.flags);
    }
}
END_TEST

START_TEST(a_stride_of_no_steps_or_of_unknown_flags_is_none)
{
    struct stride stride;
    uint8_t sequence;
    struct link_line line = {LINK_STRIDE, 5, {0x7ff, 1, 0, 0, 0}};
    ck_assert(link_line_stride(&line, &stride, &sequence));
    line.value[1] = 0;
    ck_assert(!link_line_stride(&line, &stride, &sequence));
    line.value[1] = 1;
    line.value[0] = 0x8ff;
    ck_assert(!link_line_stride(&line, &stride, &sequence));
    line.value[0] = 0;
    line.word = LINK_SEE;
    ck_assert(!link_line_stride(&line, &stride, &sequence));
}
END_TEST

/* Fletcher's sum by its closed form: of n bytes, low = sum b, high = sum (n - i) b_i, modulo 255.
 */
static uint16_t other_sum(const uint8_t *bytes, size_t size)
{
    uint64_t low = 0;
    uint64_t high = 0;
    for (size_t i = 0; i < size; i++) {
        low += bytes[i];
        high += (uint64_t)(size - i) * bytes[i];
    }
    return (uint16_t)(high % 255 << 8 | low % 255);
}

static size_t put(uint8_t *bytes, uint32_t value, size_t size)
{
    for (size_t i = 0; i < size; i++)
        bytes[i] = (uint8_t)(value >> (8 * i));
    return size;
}

START_TEST(the_sum_agrees_with_fletchers_modulo_255)
{
    start_random();
    for (int trial = 0; trial < TRIALS(2000); trial++) {
        uint8_t bytes[16 * 40];
        size_t size = 0;
        uint16_t sum = LINK_SUM_START;
        for (uint32_t strides = below(41); strides > 0; strides--) {
            struct stride s = random_stride();
            uint8_t sequence = (uint8_t)next_random();
            sum = link_sum_stride(sum, &s, sequence);
            size += put(bytes + size, sequence, 1);
            size += put(bytes + size, s.flags, 1);
            size += put(bytes + size, s.steps, 2);
            size += put(bytes + size, s.interval, 4);
            size += put(bytes + size, (uint32_t)s.change, 4);
            size += put(bytes + size, (uint32_t)s.curve, 4);
        }
        ck_assert_uint_eq(sum, other_sum(bytes, size));
        uint32_t setting[LINK_SETTINGS];
        size = 0;
        for (uint8_t i = 0; i < LINK_SETTINGS; i++) {
            setting[i] = (uint32_t)next_random();
            size += put(bytes + size, i + 1u, 1);
            size += put(bytes + size, setting[i], 4);
        }
        ck_assert_uint_eq(link_sum_settings(setting), other_sum(bytes, size));
    }
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("link: sums");
    TCase *all = tcase_create("sums");
    tcase_add_test(all, a_stride_goes_into_a_line_and_comes_out_the_same);
    tcase_add_test(all, a_stride_of_no_steps_or_of_unknown_flags_is_none);
    tcase_add_test(all, the_sum_agrees_with_fletchers_modulo_255);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
