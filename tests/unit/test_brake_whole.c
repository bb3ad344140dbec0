/* SPDX-License-Identifier: MIT */
/* Whole brakes, from a rate to rest, against uniformly accelerated motion: v^2 = 2 a s. */
#include <check.h>
#include <math.h>
#include <stdio.h>

#include "contrib/stepgen/brake.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/brake_curve.h"

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
    for (int trial = 0; trial < RATES; trial++) {
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
    Suite *suite = suite_create("brake: whole");
    TCase *all = tcase_create("whole");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, a_whole_brake_slows_steadily_and_no_harder_than_set);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
