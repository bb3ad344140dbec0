/* SPDX-License-Identifier: MIT */
/*
 * The brake against uniformly accelerated motion: v^2 = 2 a s, t = sqrt(2 s/a) (any mechanics
 * textbook; step times as in Austin, 'Generate stepper-motor speed profiles in real time',
 * Embedded Systems Programming, January 2005: t_n = sqrt(2 n alpha/a)). A step stands half a step
 * before the position that it completes, so with m steps to go m + 1/2 are left.
 */
#include <check.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>

#include "contrib/stepgen/brake.h"
#include "tests/rig/avr_unit/chip.h"
#include "tests/suite.h"
#include "tests/unit/brake_curve.h"

enum { TABLE_STEPS = 8 };

/* What is asserted: each interval within this share of the closed form, and half a tick. */
static const long double INTERVAL_BOUND = 8e-4L;

/* Steps to rest: within one, and this share of them (k is kept in 16 bits). */
static const long double STEPS_BOUND = 2.5e-4L;

START_TEST(the_last_eight_intervals_are_those_of_the_closed_form)
{
    /* With k = 2^16 exactly, rate 2^30/2^31 ... an interval is the table's own entry. */
    struct brake_rate rate = {.mantissa = 0x8000, .shift = 1};
    for (uint16_t steps = 1; steps <= TABLE_STEPS; steps++) {
        struct brake brake;
        brake_start(&brake, steps);
        ck_assert_uint_eq(brake_interval(&brake, &rate, steps),
                          (uint32_t)(65536.0L * curve(steps) + 0.5L));
    }
}
END_TEST

START_TEST(the_scale_is_f_times_the_root_of_two_over_the_rate)
{
    start_random();
    long double worst = 0.0L;
    for (int trial = 0; trial < TRIALS(100000); trial++) {
        uint32_t rate_hz_s = trial < RATES ? some_rate(trial) : 1 + (below(INT32_MAX) >> below(31));
        uint32_t tick_hz = trial % 2 ? TICK_HZ : 1000000 + below(200000000);
        struct brake_rate rate;
        brake_rate_init(&rate, tick_hz, rate_hz_s);
        long double k = (long double)tick_hz * sqrtl(2.0L / rate_hz_s);
        ck_assert_uint_ge(rate.mantissa, 0x8000);
        long double error = fabsl(ldexpl(rate.mantissa, rate.shift) / k - 1.0L);
        worst = error > worst ? error : worst;
    }
    printf("scale: within %.2Le\n", worst);
    ck_assert(worst <= 1e-4L);
}
END_TEST

static void follow_brake(uint32_t rate_hz_s, uint16_t steps, long double *worst)
{
    struct brake_rate rate;
    struct brake brake;
    long double k = scale_ticks(rate_hz_s);
    brake_rate_init(&rate, TICK_HZ, rate_hz_s);
    brake_start(&brake, steps);
    for (unsigned left = steps; left > 0; left--) {
        long double made = brake_interval(&brake, &rate, (uint16_t)left);
        if (left > SPARSE && left % SPARSE != 0)
            continue;
        long double ideal = k * curve(left);
        long double share = (fabsl(made - ideal) - 0.5L) / ideal;
        *worst = share > *worst ? share : *worst;
    }
    ck_assert_msg(*worst <= INTERVAL_BOUND, "rate %" PRIu32 ", brake of %u: off by %Lg", rate_hz_s,
                  steps, *worst);
}

START_TEST(every_interval_of_every_brake_follows_the_closed_form)
{
    start_random();
    long double worst = 0.0L;
    for (int trial = 0; trial < TRIALS(40); trial++)
        follow_brake(some_rate(trial), trial < 20 ? UINT16_MAX : (uint16_t)(1 + below(UINT16_MAX)),
                     &worst);
    for (uint16_t steps = 1; steps < 1200; steps += SPARSE)
        follow_brake(some_rate(steps % RATES), steps, &worst);
    printf("intervals: within %.2Le and half a tick\n", worst);
}
END_TEST

START_TEST(every_length_begins_on_the_curve)
{
    /* The first interval rests on the first guess; all 65 535 of them. */
    struct brake_rate rate;
    brake_rate_init(&rate, TICK_HZ, 200);
    long double worst = 0.0L;
    for (uint32_t steps = 1; steps <= BRAKE_STEPS_MAX; steps += SPARSE) {
        struct brake brake;
        brake_start(&brake, (uint16_t)steps);
        long double ideal = scale_ticks(200) * curve((uint16_t)steps);
        long double share =
            (fabsl(brake_interval(&brake, &rate, (uint16_t)steps) - ideal) - 0.5L) / ideal;
        worst = share > worst ? share : worst;
    }
    ck_assert_msg(worst <= INTERVAL_BOUND, "off by %Lg", worst);
}
END_TEST

START_TEST(the_steps_to_rest_are_v_squared_over_2a_less_half_a_step)
{
    start_random();
    for (int trial = 0; trial < TRIALS(200000); trial++) {
        uint32_t rate_hz_s = some_rate(trial % RATES);
        uint8_t bits = (uint8_t)(8 * below(3)); /* whole ticks, and the two scales of a stride */
        uint32_t interval = 100 + (below(UINT32_C(1) << 24) >> below(18));
        interval = bits == 16 ? interval << 16 | below(UINT32_C(1) << 16) : interval << bits;
        interval = interval > 0 ? interval : 1;
        struct brake_rate rate;
        brake_rate_init(&rate, TICK_HZ, rate_hz_s);
        long double v = TICK_HZ / ldexpl(interval, -bits);
        long double exact = ceill(v * v / 2.0L / rate_hz_s - 0.5L);
        exact = exact > BRAKE_STEPS_MAX ? BRAKE_STEPS_MAX : exact < 0 ? 0 : exact;
        long double error = fabsl(brake_steps(&rate, interval, bits) - exact);
        ck_assert_msg(error <= 1.0L + STEPS_BOUND * exact,
                      "rate %" PRIu32 ", interval %" PRIu32 "/2^%u: off by %Lg of %Lg", rate_hz_s,
                      interval, bits, error, exact);
    }
}
END_TEST

START_TEST(an_interval_of_nothing_takes_all_the_steps_there_are)
{
    struct brake_rate rate;
    brake_rate_init(&rate, TICK_HZ, 100000);
    for (uint8_t bits = 0; bits <= 16; bits += 8) {
        ck_assert_uint_eq(brake_steps(&rate, 0, bits), BRAKE_STEPS_MAX);
        ck_assert_uint_eq(brake_steps(&rate, 1, bits), BRAKE_STEPS_MAX);
    }
    ck_assert_uint_eq(brake_steps(&rate, UINT32_MAX, 0), 0);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("brake");
    TCase *cases = tcase_create("brake");
    tcase_set_timeout(cases, 60);
    tcase_add_test(cases, the_last_eight_intervals_are_those_of_the_closed_form);
    tcase_add_test(cases, the_scale_is_f_times_the_root_of_two_over_the_rate);
    tcase_add_test(cases, every_interval_of_every_brake_follows_the_closed_form);
    tcase_add_test(cases, every_length_begins_on_the_curve);
    tcase_add_test(cases, the_steps_to_rest_are_v_squared_over_2a_less_half_a_step);
    tcase_add_test(cases, an_interval_of_nothing_takes_all_the_steps_there_are);
    suite_add_tcase(suite, cases);

    return run_suite(suite);
}
