/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/brake.h"

#include <stdbool.h>

#ifdef __AVR__
#define ROM const __flash
#else
#define ROM const
#endif

enum { TABLE_STEPS = 8, RATIO_BITS = 7 };

#define ONE (UINT32_C(1) << 31)

/* x(1) to x(8) in 2^-16: sqrt(m + 1/2) - sqrt(m - 1/2). tests/unit/test_brake.c recomputes them. */
static ROM uint16_t last_x[TABLE_STEPS] = {33924, 23357, 18985, 16416, 14673, 13389, 12393, 11591};

/* Rounded to nearest; of values below 2^32 - 2^16. */
static uint16_t square_root(uint32_t value)
{
    uint32_t root = 0;
    for (uint32_t bit = ONE >> 1; bit != 0; bit >>= 2) {
        uint32_t trial = root | bit;
        root >>= 1;
        if (value >= trial) {
            value -= trial;
            root |= bit;
        }
    }
    return (uint16_t)(value > root ? root + 1 : root);
}

/* sqrt(2 / rate) = result * 2^(*shift - 30): the rate is brought to 2^30..2^32 by pairs of bits,
 * so that its root moves by whole ones. */
static uint16_t root_of_two_over(uint32_t rate, uint8_t *shift)
{
    for (*shift = 0; rate < ONE >> 1; rate <<= 2) {
        (*shift)++;
    }
    uint32_t inverse = UINT32_MAX / (rate >> 16);
    return square_root(inverse << 13);
}

void brake_rate_init(struct brake_rate *rate, uint32_t tick_hz, uint32_t rate_hz_s)
{
    uint8_t up;
    uint16_t root = root_of_two_over(rate_hz_s, &up);
    int8_t shift = (int8_t)(up - 30);
    for (; tick_hz > 0xffff; tick_hz >>= 1) {
        shift++;
    }
    uint32_t k = tick_hz * root; /* k * 2^-shift */
    for (; k < ONE; k <<= 1) {
        shift--;
    }
    rate->mantissa = (uint16_t)(k >> 16);
    rate->shift = (int8_t)(shift + 16);
}

/* (a << 16) / b, both 2^15 to 2^16 - 1: 17 bits, in a third of a long division's time. */
static uint32_t divide(uint16_t a, uint16_t b)
{
    bool whole = a >= b;
    uint16_t rest = whole ? (uint16_t)(a - b) : a;
    uint16_t quotient = 0;
    for (uint8_t bit = 0; bit < 16; bit++) {
        bool carry = rest & 0x8000;
        rest = (uint16_t)(rest << 1);
        quotient = (uint16_t)(quotient << 1);
        if (carry || rest >= b) {
            rest = (uint16_t)(rest - b);
            quotient |= 1;
        }
    }
    return (uint32_t)whole << 16 | quotient;
}

uint16_t brake_steps(const struct brake_rate *rate, uint32_t interval, uint8_t fraction_bits)
{
    /* v^2/2a = (k/T)^2/4. The ratio k/T in 2^-7: 2^9 * 2^7 is as far as 65 535 steps go. */
    int8_t shift = (int8_t)(rate->shift + fraction_bits + RATIO_BITS - 16);
    if (interval == 0) {
        return BRAKE_STEPS_MAX;
    }
    if (interval > 0xffffff) {
        interval >>= 8;
        shift = (int8_t)(shift - 8);
    }
    for (; interval > 0xffff; interval >>= 1) {
        shift--;
    }
    for (; interval < 0x8000; interval <<= 1) {
        shift++;
    }
    uint32_t ratio = divide(rate->mantissa, (uint16_t)interval); /* 2^15 to 2^17 */
    ratio = shift > -18 ? ratio >> (shift < 0 ? -shift : 0) : 0;
    if (shift > 0 || ratio > 0xffff) {
        return BRAKE_STEPS_MAX;
    }
    return (uint16_t)((ratio * ratio + 0x8000) >> 16);
}

/* One turn of Halley's iteration towards 1/(2 sqrt m): x += x (e/2 + 3 e^2/8), e = 1 - 4 m x^2. */
static void refine(struct brake *brake, uint16_t steps)
{
    uint16_t x = brake->x;
    uint16_t square = (uint16_t)((uint32_t)x * x >> 16);
    uint32_t found = (uint32_t)steps * square; /* 4 m x^2 2^(14 + 2 exponent) */
    uint8_t shift = (uint8_t)(17 - 2 * brake->exponent);
    if (shift >= 8) { /* the microcontroller shifts bit by bit, but whole bytes at once */
        found <<= 8;
        shift = (uint8_t)(shift - 8);
    }
    found <<= shift;
    if (found > ONE) { /* by rounding, and after the first guess: Newton's term is enough */
        uint16_t half = (uint16_t)((found - ONE) >> 16);
        brake->x = (uint16_t)(x - ((uint32_t)x * half >> 16));
        return;
    }
    uint16_t half = (uint16_t)((ONE - found) >> 16); /* e/2 in 2^-16 */
    unsigned top = (half + 128u) >> 8;               /* its square is enough of e^2/4, in 2^-16 */
    half = (uint16_t)(half + top * top + top * top / 2);
    x = (uint16_t)(x + ((uint32_t)x * half >> 16));
    if (x < brake->x) { /* past 2^16: the next power of two */
        x = (uint16_t)(x >> 1 | 0x8000);
        brake->exponent--;
    }
    brake->x = x;
}

void brake_start(struct brake *brake, uint16_t steps)
{
    if (steps <= TABLE_STEPS) {
        return;
    }
    /* The straight line 1.0665 - 0.6094 M is within 9 % of 1/(2 sqrt M) where M = m/4^exponent is
     * 1/4 to 1. One turn here and the one before the first step make it good. */
    uint32_t scaled = steps;
    for (brake->exponent = 8; scaled <= 0x4000; scaled <<= 2) {
        brake->exponent--;
    }
    uint32_t line = UINT32_C(69895) - (39938 * scaled >> 16);
    brake->x = line < 0x8000 ? 0x8000 : (uint16_t)line;
    refine(brake, steps);
}

uint32_t brake_interval(struct brake *brake, const struct brake_rate *rate, uint16_t steps)
{
    uint16_t x;
    int8_t shift = (int8_t)(16 - rate->shift);
    if (steps <= TABLE_STEPS) {
        x = last_x[steps - 1];
    } else {
        refine(brake, steps);
        x = brake->x;
        shift = (int8_t)(shift + brake->exponent);
    }
    uint32_t product = (uint32_t)rate->mantissa * x;
    if (shift > 16) { /* most of a long shift at once: the microcontroller shifts bit by bit */
        product >>= 16;
        shift = (int8_t)(shift - 16);
    }
    if (shift <= 0) {
        return product;
    }
    return shift > 31 ? 1 : ((product >> (shift - 1)) + 1) >> 1;
}
