/* SPDX-License-Identifier: MIT */
/*
 * The brake: constant deceleration to rest, a step at a time, in 16-bit multiplications.
 *
 * With the rate a (steps/s^2) and a timer of f ticks a second, the interval of the step that
 * leaves m - 1/2 steps to go is, from uniformly accelerated motion,
 *
 *     T(m) = k x(m),  k = f sqrt(2/a),  x(m) = sqrt(m + 1/2) - sqrt(m - 1/2),  x(m) ~ 1/(2 sqrt m)
 *
 * x is the same curve for every rate. It is followed by Newton's iteration for 1/(2 sqrt m), which
 * corrects itself at each step, and by a table for the last eight. No division in a step. The
 * intervals keep to the closed form within 0.08 % and half a tick (tests/unit/test_brake.c).
 *
 * What a stop waits for is brake_steps, and in it the one division, bit by bit, some 250 cycles of
 * the microcontroller. The alternatives were weighed: to keep the result ready for the present rate
 * costs the main loop as much once a millisecond, and is stale while the motor speeds up; a
 * reciprocal by Newton's iteration is no shorter. So nothing else is done before it, and the rest
 * of the brake after it has taken over (generator_brake): 112 us from the last byte at 27 700
 * steps/s, of which up to 36 are spent waiting for the edge that is armed.
 */
#ifndef REGLET_CONTRIB_STEPGEN_BRAKE_H
#define REGLET_CONTRIB_STEPGEN_BRAKE_H

#include <stdint.h>

enum { BRAKE_STEPS_MAX = 0xffff };

/* k as a 16-bit mantissa and a power of two: k = mantissa * 2^shift. */
struct brake_rate {
    uint16_t mantissa; /* 2^15 to 2^16 - 1 */
    int8_t shift;
};

/* A brake on its way. The curve's x(m) = x / 2^(16 + exponent), x in 2^15 to 2^16 - 1 or a hair
 * below; unused in the last steps, which have their table. */
struct brake {
    uint16_t x;
    uint8_t exponent;
};

/* tick_hz (1 to 10^9) and rate_hz_s (1 or more) give k; slow, for a motor at rest. */
void brake_rate_init(struct brake_rate *rate, uint32_t tick_hz, uint32_t rate_hz_s);

/* The steps that coming to rest takes from an interval in ticks / 2^fraction_bits: v^2/2a, less the
 * half step at which the last edge stands, rounded up. One division. Whole ticks are too coarse at
 * speed: half a tick of 500 is two steps of a thousand. */
uint16_t brake_steps(const struct brake_rate *rate, uint32_t interval, uint8_t fraction_bits);

/* Prepares for `steps` steps to rest. */
void brake_start(struct brake *brake, uint16_t steps);

/* The interval to the step that leaves `steps` - 1 to go. Call with steps counting down to 1; some
 * may be left out on the way, as long as two that follow each other are within 1/64. */
uint32_t brake_interval(struct brake *brake, const struct brake_rate *rate, uint16_t steps);

#endif
