/* SPDX-License-Identifier: MIT */
/* The closed form that the brake is held against; test_brake.c names its sources. */
#ifndef REGLET_TESTS_UNIT_BRAKE_CURVE_H
#define REGLET_TESTS_UNIT_BRAKE_CURVE_H

#include <math.h>
#include <stdint.h>

#include "tests/seed.h"

enum { TICK_HZ = 16000000, RATES = 300 };

/* 200 to 2 000 000 steps/s^2, as many in each octave; the ends and round ones first. */
static inline uint32_t some_rate(int trial)
{
    static const uint32_t rates[] = {200, 1000, 80000, 100000, 150000, 300000, 2000000};
    if (trial < (int)(sizeof rates / sizeof *rates))
        return rates[trial];
    long double span = (long double)(next_random() >> 11) / 9007199254740992.0L;
    return (uint32_t)(200.0L * powl(10000.0L, span));
}

/* k = f sqrt(2/a): ticks. */
static inline long double scale_ticks(uint32_t rate_hz_s)
{
    return TICK_HZ * sqrtl(2.0L / rate_hz_s);
}

/* sqrt(m + 1/2) - sqrt(m - 1/2), written so that it does not cancel. */
static inline long double curve(unsigned steps)
{
    return 1.0L / (sqrtl(steps + 0.5L) + sqrtl(steps - 0.5L));
}

#endif
