/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/brake.h"

#ifdef __AVR__
#define ROM const __flash
#else
#define ROM const
#endif

enum {
    TABLE_STEPS = 8,
    STEEP_STEPS = 32,  /* below, the curve bends too much for one turn a step */
    ROOT_OF_8 = 46341, /* in 2^-14 */
};

/* x(1) to x(8) in 2^-16: sqrt(m + 1/2) - sqrt(m - 1/2). tests/unit/test_brake.c recomputes them. */
static ROM uint16_t last_x[TABLE_STEPS] = {33924, 23357, 18985, 16416, 14673, 13389, 12393, 11591};

__attribute__((noinline)) static uint32_t product(uint16_t a, uint16_t b)
{
    return (uint32_t)a * b;
}

static uint16_t high_product(uint16_t a, uint16_t b)
{
    return (uint16_t)(product(a, b) >> 16);
}

/* The exponent for which m/4^exponent is 1/4 to 1, and that in 2^-16 in the place of *steps. */
static uint8_t normalise(uint16_t *steps)
{
    uint8_t exponent = 8;
    for (; *steps < 0x4000; *steps = (uint16_t)(*steps << 2)) {
        exponent--;
    }
    return exponent;
}

/* One turn of Newton's iteration towards 1/(2 sqrt m): x' = x (3 - 4 m x^2)/2. */
static void refine(struct brake *brake, uint16_t steps)
{
    uint8_t exponent = normalise(&steps);
    uint16_t x = brake->x;
    if (exponent < brake->exponent) {
        brake->exponent = exponent;
        x >>= 1;
    }
    uint16_t found = high_product(steps, high_product(x, x)); /* 4 m x^2 in 2^-14 */
    uint32_t next = product(x, (uint16_t)(0xc000 - found));   /* x' in 2^-31 */
    brake->x = next >> 31 ? UINT16_MAX : (uint16_t)(next << 1 >> 16);
}

void brake_start(struct brake *brake, uint16_t steps)
{
    /* The middle of either half is within a fifth. Two turns here and the one before the first step
     * make it good. */
    uint16_t scaled = steps;
    if (steps <= TABLE_STEPS) {
        return;
    }
    brake->exponent = normalise(&scaled);
    brake->x = scaled < 0x8000 ? 0xd700 : 0x9800;
    refine(brake, steps);
    refine(brake, steps);
}

/* The highest 16 bits of a number, from its highest 1 on; *shift counts how far it was shifted up.
 */
static uint16_t highest(uint32_t value, int8_t *shift)
{
    int8_t up = *shift;
    for (; !(value >> 31); value <<= 1) {
        up++;
    }
    *shift = up;
    return (uint16_t)(value >> 16);
}

void brake_rate_init(struct brake_rate *rate, uint32_t tick_hz, uint32_t rate_hz_s)
{
    /* k = f sqrt(8) / (2 sqrt a), and the iteration is the one for the root; of an even number of
     * bits, so that the root moves by whole ones. */
    struct brake root;
    int8_t up = 0;
    int8_t down = -2;
    uint16_t steps = highest(rate_hz_s, &up);
    if (up & 1) {
        steps >>= 1;
    }
    brake_start(&root, steps);
    refine(&root, steps);
    uint16_t x = (uint16_t)(high_product(root.x, ROOT_OF_8) + 1); /* rounded */
    rate->mantissa = highest(product(highest(tick_hz, &down), x), &down);
    rate->shift = (int8_t)((up >> 1) - down);
}

/* One bit of a division's quotient, and the rest doubled, less b if it is that much. */
__attribute__((always_inline)) static inline uint16_t divide_bit(uint16_t quotient, uint16_t *rest,
                                                                 uint16_t b)
{
    uint16_t lacks = (uint16_t)(b - *rest);
    quotient = (uint16_t)(quotient << 1);
    if (*rest >= lacks) {
        *rest = (uint16_t)(*rest - lacks);
        return quotient | 1;
    }
    *rest = (uint16_t)(*rest << 1);
    return quotient;
}

/* (a << 15) / b, both 2^15 to 2^16 - 1; in a third of a long division's time. */
static uint16_t divide(uint16_t a, uint16_t b)
{
    uint16_t quotient = a >= b;
    uint16_t rest = quotient ? (uint16_t)(a - b) : a;
    for (uint8_t threes = 5; threes > 0; threes--) {
        quotient = divide_bit(quotient, &rest, b);
        quotient = divide_bit(quotient, &rest, b);
        quotient = divide_bit(quotient, &rest, b);
    }
    return quotient;
}

__attribute__((noinline)) uint16_t brake_steps(const struct brake_rate *rate, uint32_t interval,
                                               uint8_t fraction_bits)
{
    if (interval == 0) {
        return BRAKE_STEPS_MAX;
    }
    /* v^2/2a = (k/T)^2/4, and k/T = ratio 2^(shift - 15), so it is ratio^2 / 2^(32 - 2 shift). */
    int8_t shift = (int8_t)(rate->shift + fraction_bits - 16);
    uint16_t divisor = highest(interval, &shift);
    if (shift < 0) {
        return 0; /* less than half a step */
    }
    if (shift > 9) {
        return BRAKE_STEPS_MAX; /* 2^16 or more */
    }
    uint16_t ratio = divide(rate->mantissa, divisor);
    uint32_t square = product(ratio, ratio);
    if (shift < 8) { /* most of it at once: the microcontroller shifts bit by bit */
        square >>= 16;
        shift = (int8_t)(shift + 8);
    }
    square >>= (uint8_t)(2 * (15 - shift));
    square = (square + 2) >> 2;
    return square > BRAKE_STEPS_MAX ? BRAKE_STEPS_MAX : (uint16_t)square;
}

uint32_t brake_interval(struct brake *brake, const struct brake_rate *rate, uint16_t steps)
{
    uint16_t x;
    int8_t shift = (int8_t)(15 - rate->shift); /* and one for rounding */
    if (steps <= TABLE_STEPS) {
        x = last_x[steps - 1];
    } else {
        refine(brake, steps);
        if (steps < STEEP_STEPS) {
            refine(brake, steps);
        }
        x = brake->x;
        shift = (int8_t)(shift + brake->exponent);
    }
    uint32_t ticks = product(rate->mantissa, x);
    if (shift >= 16) {
        ticks >>= 16;
        shift = (int8_t)(shift - 16);
    }
    for (; shift > 0; shift--) {
        ticks >>= 1;
    }
    return (ticks + 1) >> 1;
}
