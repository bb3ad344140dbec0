/* SPDX-License-Identifier: MIT */
#include "contrib/practice/scale.h"

#include <math.h>

#include "contrib/practice/board.h"

enum { BITS = 24, AMOUNT = 0xfffff, MINUS = 1 << 20, IN_INCHES = 1 << 23, PERIOD_MS = 100 };

/* A bit takes .8 ms. */
static const uint64_t half_ticks = BOARD_TICKS_PER_MS * 4 / 10;
static const double half_thousandth_nm = 12700;

void scale_init(struct scale *s)
{
    *s = (struct scale){.unit_nm = 10000, .seed = 1, .due = SCALE_NEVER};
}

void scale_switch(struct scale *s, bool on, uint64_t now)
{
    s->half = 0;
    s->due = on ? now + (uint64_t)PERIOD_MS * BOARD_TICKS_PER_MS : SCALE_NEVER;
}

static uint64_t draw(struct scale *s)
{
    uint64_t z = s->seed += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ z >> 27) * UINT64_C(0x94d049bb133111eb);
    return z ^ z >> 31;
}

/* Normal, with standard deviation 1: twelve uniform numbers less their mean. */
static double noise(struct scale *s)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        sum += (double)(draw(s) >> 11) / 9007199254740992.0;
    }
    return sum;
}

static void measure(struct scale *s, double carriage_nm)
{
    double unit_nm = s->inches ? half_thousandth_nm : s->unit_nm;
    double nm = carriage_nm - s->zero_nm + s->noise_nm * noise(s);
    double amount = round((s->falling ? -nm : nm) / unit_nm);
    if (s->frozen) {
        return;
    }
    s->raw = (uint32_t)fmin(fabs(amount), AMOUNT) | (amount < 0 ? MINUS : 0) |
             (s->inches ? IN_INCHES : 0);
    if (s->garbled) {
        s->raw = (uint32_t)(draw(s) & ((1u << BITS) - 1));
    }
}

void scale_step(struct scale *s, double carriage_nm, bool *clock, bool *data)
{
    if (s->half == 0) {
        measure(s, carriage_nm);
    }
    *data = s->raw >> s->half / 2 & 1;
    *clock = s->half % 2;
    s->due += half_ticks;
    if (++s->half == 2 * BITS) {
        s->half = 0;
        s->due += (uint64_t)PERIOD_MS * BOARD_TICKS_PER_MS - 2 * BITS * half_ticks;
    }
}
