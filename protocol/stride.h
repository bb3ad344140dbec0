/* SPDX-License-Identifier: MIT */
/*
 * The stride: a run of steps whose times follow one finite-difference recurrence.
 *
 * Per step, each value used and then updated (forward differences of a cubic in the step number):
 *
 *     acc += interval; interval += change; change += curve;
 *     edge = start + (acc >> fraction bits)
 *
 * acc starts at one half, `start` is the integer tick of the step before (or of `begin`), so a
 * stride is a self-contained statement: no rounding is carried from one to the next.
 *
 * The step generator keeps only the fraction of acc and adds the integer part to its last edge,
 * in 32-bit unsigned arithmetic; the daemon may use 64 bits. Both give the same ticks; the golden
 * vectors in tests/unit/test_stride.c prove it.
 *
 * Freestanding: no allocation, no floating point; also compiled for the microcontroller.
 */
#ifndef REGLET_PROTOCOL_STRIDE_H
#define REGLET_PROTOCOL_STRIDE_H

#include <stdbool.h>
#include <stdint.h>

enum stride_flag {
    STRIDE_DOWN = 1, /* steps count downward; upward without it */
    STRIDE_SLOW = 2, /* fractions of 8 bits (intervals to 2^24 ticks) instead of 16 */
    STRIDE_REST = 4, /* the last stride of a leg: the motor is at rest after it */
};

enum {
    STRIDE_FAST_BITS = 16,
    STRIDE_SLOW_BITS = 8,
    STRIDE_STEPS_MAX = 0xffff,
};

struct stride {
    uint32_t interval; /* first interval, in ticks / 2^fraction bits */
    int32_t change;    /* added to the interval after each step, same unit */
    int32_t curve;     /* added to the change after each step, same unit */
    uint16_t steps;    /* 1 to STRIDE_STEPS_MAX */
    uint8_t flags;     /* of enum stride_flag */
};

/* A stride as it runs. */
struct stride_run {
    uint32_t interval;
    uint32_t change;
    uint32_t curve;
    uint16_t fraction; /* of acc, below 2^bits */
    uint16_t steps_left;
    uint8_t bits;
};

static inline uint8_t stride_bits(uint8_t flags)
{
    return flags & STRIDE_SLOW ? STRIDE_SLOW_BITS : STRIDE_FAST_BITS;
}

static inline void stride_run_start(struct stride_run *run, const struct stride *stride)
{
    run->bits = stride_bits(stride->flags);
    run->fraction = (uint16_t)(1u << (run->bits - 1));
    run->interval = stride->interval;
    run->change = (uint32_t)stride->change;
    run->curve = (uint32_t)stride->curve;
    run->steps_left = stride->steps;
}

__attribute__((always_inline)) static inline uint32_t stride_run_acc(struct stride_run *run)
{
    uint32_t acc = run->fraction + run->interval;
    run->interval += run->change;
    run->change += run->curve;
    run->steps_left--;
    return acc;
}

/* Ticks from the last edge to the next one, of a stride without STRIDE_SLOW. Call at most `steps`
 * times. */
__attribute__((always_inline)) static inline uint16_t stride_run_next_fast(struct stride_run *run)
{
    uint32_t acc = stride_run_acc(run);
    run->fraction = (uint16_t)acc;
    return (uint16_t)(acc >> STRIDE_FAST_BITS);
}

/* The same, of any stride. */
static inline uint32_t stride_run_next(struct stride_run *run)
{
    uint32_t acc = stride_run_acc(run);
    if (run->bits == STRIDE_FAST_BITS) {
        run->fraction = (uint16_t)acc;
        return acc >> STRIDE_FAST_BITS;
    }
    run->fraction = acc & 0xff;
    return acc >> STRIDE_SLOW_BITS;
}

#endif
