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
#include "tests/seed.h"
#include "tests/suite.h"

enum { TICK_HZ = 16000000, TABLE_STEPS = 8, TRIALS = 300 };

/* What is asserted: each interval within this share of the closed form, and half a tick. */
static const long double INTERVAL_BOUND = 8e-4L;

/* Steps to rest: within one, and this share of them (k is kept in 16 bits). */
static const long double STEPS_BOUND = 2.5e-4L;

/* 200 to 2 000 000 steps/s^2, as many in each octave; the ends and round ones first. */
static uint32_t some_rate(int trial)
{
    static const uint32_t rates[] = {200, 1000, 80000, 100000, 150000, 300000, 2000000};
    if (trial < (int)(sizeof rates / sizeof *rates))
        return rates[trial];
    long double span = (long double)(next_random() >> 11) / 9007199254740992.0L;
    return (uint32_t)(200.0L * powl(10000.0L, span));
}

/* k = f sqrt(2/a): ticks. */
static long double scale_ticks(uint32_t rate_hz_s)
{
    return TICK_HZ * sqrtl(2.0L / rate_hz_s);
}

/* sqrt(m + 1/2) - sqrt(m - 1/2), written so that it does not cancel. */
static long double curve(unsigned steps)
{
    return 1.0L / (sqrtl(steps + 0.5L) + sqrtl(steps - 0.5L));
}

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
    for (int trial = 0; trial < 100000; trial++) {
        uint32_t rate_hz_s =
            trial < TRIALS ? some_rate(trial) : 1 + (below(INT32_MAX) >> below(31));
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
        long double ideal = k * curve(left);
        long double made = brake_interval(&brake, &rate, (uint16_t)left);
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
    for (int trial = 0; trial < 40; trial++)
        follow_brake(some_rate(trial), trial < 20 ? UINT16_MAX : (uint16_t)(1 + below(UINT16_MAX)),
                     &worst);
    for (uint16_t steps = 1; steps < 1200; steps++)
        follow_brake(some_rate(steps % TRIALS), steps, &worst);
    printf("intervals: within %.2Le and half a tick\n", worst);
}
END_TEST

START_TEST(every_length_begins_on_the_curve)
{
    /* The first interval rests on the first guess; all 65 535 of them. */
    struct brake_rate rate;
    brake_rate_init(&rate, TICK_HZ, 200);
    long double worst = 0.0L;
    for (unsigned steps = 1; steps <= BRAKE_STEPS_MAX; steps++) {
        struct brake brake;
        brake_start(&brake, (uint16_t)steps);
        long double ideal = scale_ticks(200) * curve(steps);
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
    for (int trial = 0; trial < 200000; trial++) {
        uint32_t rate_hz_s = some_rate(trial % TRIALS);
        uint8_t bits = (uint8_t)(8 * below(3)); /* whole ticks, and the two scales of a stride */
        uint32_t interval = 100 + (below(1 << 24) >> below(18));
        interval = bits == 16 ? interval << 16 | below(1 << 16) : interval << bits;
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

/* One brake from a rate. *shorter is the greatest share by which an interval, more than a tick,
 * falls short of the one before; *most the greatest deceleration over the rate that was set,
 * over stretches long enough that whole ticks do not hide it. */
static void brake_from(uint32_t rate_hz_s, uint32_t interval, long double *shorter,
                       long double *most)
{
    static uint32_t made[BRAKE_STEPS_MAX];
    struct brake_rate rate;
    struct brake brake;
    unsigned count = 0;
    brake_rate_init(&rate, TICK_HZ, rate_hz_s);
    uint16_t left = brake_steps(&rate, interval, 0);
    brake_start(&brake, left);
    for (; left > 0; left--) {
        uint32_t ticks = brake_interval(&brake, &rate, left);
        if (count > 0 && ticks + 1 < made[count - 1])
            *shorter = fmaxl(*shorter, 1.0L - (long double)(ticks + 1) / made[count - 1]);
        made[count++] = ticks;
    }
    /* A stretch is judged by the rates at its two ends, each known to within half a tick:
     * a = (v0^2 - v1^2)/(2 steps). */
    for (unsigned from = 0; from < count; from++) {
        unsigned steps = (count - from) / 4 > 8 ? (count - from) / 4 : 8;
        if (from + steps >= count)
            break;
        long double v0 = TICK_HZ / (made[from] + 0.5L);
        long double v1 = TICK_HZ / (made[from + steps] - 0.5L);
        *most = fmaxl(*most, (v0 * v0 - v1 * v1) / 2.0L / steps / rate_hz_s);
    }
}

START_TEST(a_whole_brake_slows_steadily_and_no_harder_than_set)
{
    start_random();
    long double shorter = 0.0L;
    long double most = 0.0L;
    for (int trial = 0; trial < TRIALS; trial++) {
        uint32_t rate_hz_s = some_rate(trial);
        uint32_t least = (uint32_t)(scale_ticks(rate_hz_s) * curve(60000)) + 1;
        least = least > 266 ? least : 266;
        brake_from(rate_hz_s, least + (least << below(8)) / (1 + below(20)), &shorter, &most);
    }
    printf("an interval is shorter than the last by at most %.2Le of it and a tick\n", shorter);
    printf("deceleration over stretches: at most %.4Lf of the rate set\n", most);
    ck_assert(shorter <= 1.0L / 16384.0L);
    ck_assert(most <= 1.012L);
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
    tcase_add_test(cases, a_whole_brake_slows_steadily_and_no_harder_than_set);
    suite_add_tcase(suite, cases);

    return run_suite(suite);
}
