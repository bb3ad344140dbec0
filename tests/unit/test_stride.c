/* SPDX-License-Identifier: MIT */
/*
 * Golden vectors of the recurrence: the generator's 32-bit form against ticks written out (from an
 * independent computation in integers of any size) and against a 64-bit form here.
 */
#include <check.h>
#include <inttypes.h>
#include <stdint.h>
#include <string.h>

#include "protocol/stride.h"
#include "tests/rig/avr_unit/chip.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum { RANDOM_STRIDES = 20000, GAPS_MAX = 13 };

static int32_t random_register(void)
{
    int32_t value = (int32_t)(uint32_t)next_random();
    return value / ((int32_t)1 << next_random() % 31);
}

struct vector {
    const char *what;
    struct stride stride;
    uint32_t gaps[GAPS_MAX];
};

static const IN_FLASH struct vector VECTORS[] = {
    /* 1/2 + 1.5 = 2, 3.5, 5, 6.5, ...: by hand */
    {"one and a half ticks", {0x18000, 0, 0, 8, 0}, {2, 1, 2, 1, 2, 1, 2, 1}},
    {"a tick less each time", {10L << 16, -0x10000, 0, 9, 0}, {10, 9, 8, 7, 6, 5, 4, 3, 2}},
    {"a change that shrinks",
     {100L << 16, -0x54000, 0x2000, 12, 0},
     {100, 95, 89, 85, 80, 75, 70, 66, 62, 57, 53, 49}},
    {"a curve below nothing, the change turns",
     {0x640000, 0x30000, -0x8000L, 12, 0},
     {100, 103, 106, 107, 109, 110, 111, 110, 110, 109, 108, 105}},
    {"the first three steps from rest at 240 000 steps/s^2",
     {2140396797, -573517593, 85435126, 3, 0},
     {32660, 23909, 16461}},
    {"three steps near the end of that move",
     {677853488, 80379271, 38272865, 3, STRIDE_DOWN},
     {10343, 11570, 13380}},
    {"slow: 1 step/s and faster",
     {4096000000, -1000000000, 0, 5, STRIDE_SLOW},
     {16000000, 12093750, 8187500, 4281250, 375000}},
    {"slow: the largest interval, and the largest change, which then wraps unused",
     {4294967167, INT32_MIN, -1, 2, STRIDE_SLOW | STRIDE_REST},
     {16777215, 8388608}},
    {"fast: the largest interval", {0xffff0000, 0, 0, 3, 0}, {65535, 65535, 65535}},
    {"slow: the largest even interval",
     {0xffffff00, 0, 0, 3, STRIDE_SLOW},
     {16777215, 16777215, 16777215}},
    {"fast: the largest sum with the half", {0xffff7fff, 0, 0, 1, 0}, {65535}},
    {"slow: the largest sum with the half", {0xffffff7f, 0, 0, 1, STRIDE_SLOW}, {16777215}},
    {"nothing but its own half", {1, 0, 0, 1, 0}, {0}},
};

enum { VECTOR_COUNT = sizeof VECTORS / sizeof VECTORS[0] };

/* Runs both forms; the ticks of all steps, or -1 where they differ. */
static int64_t run_both(const struct stride *stride)
{
    unsigned bits = stride->flags & STRIDE_SLOW ? 8 : 16;
    int64_t acc = (int64_t)1 << (bits - 1);
    int64_t interval = stride->interval;
    int64_t change = stride->change;
    int64_t edge = 0;
    struct stride_run run;
    stride_run_start(&run, stride);
    for (unsigned i = 0; i < stride->steps; i++) {
        acc += interval;
        interval += change;
        change += stride->curve;
        edge += stride_run_next(&run);
        if (edge != acc >> bits)
            return -1;
    }
    return run.steps_left == 0 ? edge : -1;
}

START_TEST(the_generators_form_gives_the_ticks_written_out)
{
    const struct vector vector = VECTORS[_i];
    struct stride_run run;
    int64_t sum = 0;
    stride_run_start(&run, &vector.stride);
    for (unsigned i = 0; i < vector.stride.steps; i++) {
        uint32_t gap = stride_run_next(&run);
        ck_assert_msg(gap == vector.gaps[i], "%s: step %u after %" PRIu32 ", not %" PRIu32,
                      vector.what, i + 1, gap, vector.gaps[i]);
        sum += gap;
    }
    ck_assert_int_eq(run.steps_left, 0);
    ck_assert_int_eq(run_both(&vector.stride), sum);
}
END_TEST

START_TEST(a_long_cruise_drifts_by_nothing)
{
    /* 65 535 * 37 882 081 / 65 536 + 1/2 = 37 881 503.47 */
    struct stride stride = {.interval = 37882081, .steps = STRIDE_STEPS_MAX};
    ck_assert_int_eq(run_both(&stride), 37881503);
}
END_TEST

START_TEST(the_scale_follows_the_flag_alone)
{
    ck_assert_uint_eq(stride_bits(0), 16);
    ck_assert_uint_eq(stride_bits(STRIDE_DOWN | STRIDE_REST), 16);
    ck_assert_uint_eq(stride_bits(STRIDE_SLOW), 8);
    ck_assert_uint_eq(stride_bits(STRIDE_SLOW | STRIDE_DOWN | STRIDE_REST), 8);
}
END_TEST

/* As many steps of `stride` as keep acc and interval in 32 bits. */
static uint16_t steps_in_range(const struct stride *stride)
{
    int64_t mask = stride->flags & STRIDE_SLOW ? 0xff : 0xffff;
    int64_t acc = (mask + 1) / 2;
    int64_t interval = stride->interval;
    int64_t change = stride->change;
    uint16_t steps = 0;
    while (steps < 2000 && interval >= 0 && (acc & mask) + interval <= UINT32_MAX) {
        acc += interval;
        interval += change;
        change += stride->curve;
        steps++;
    }
    return steps;
}

START_TEST(both_forms_agree_wherever_the_registers_are_in_range)
{
    unsigned long long long_runs = 0;
    for (int i = 0; i < TRIALS(RANDOM_STRIDES); i++) {
        uint64_t from = random_state;
        /* changes and curves of every size and sign, from long runs to a step or two */
        struct stride stride = {.interval = (uint32_t)next_random()};
        stride.change = random_register();
        stride.curve = random_register();
        stride.flags = (uint8_t)(next_random() % 8);
        stride.steps = steps_in_range(&stride);
        if (stride.steps == 0)
            continue;
        long_runs += stride.steps > 50;
        ck_assert_msg(run_both(&stride) >= 0, "REGLET_SEED=%" PRIu64 ": the forms differ", from);
    }
    ck_assert_uint_ge(long_runs, TRIALS(1000));
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("stride");
    TCase *all = tcase_create("recurrence");
    tcase_add_loop_test(all, the_generators_form_gives_the_ticks_written_out, 0, VECTOR_COUNT);
    tcase_add_test(all, a_long_cruise_drifts_by_nothing);
    tcase_add_test(all, the_scale_follows_the_flag_alone);
    tcase_add_test(all, both_forms_agree_wherever_the_registers_are_in_range);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
