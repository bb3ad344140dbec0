/* SPDX-License-Identifier: MIT */
/*
 * The moves that tests and benches share, named and random, and their ideal edge times, computed
 * here in long double straight from the formulas of uniformly accelerated motion and not by
 * daemon/motion.
 */
#ifndef REGLET_TESTS_BENCH_MOVES_H
#define REGLET_TESTS_BENCH_MOVES_H

#include <math.h>
#include <stdbool.h>
#include <stdint.h>

#include "daemon/motion/encode.h"
#include "daemon/motion/profile.h"

struct move {
    const char *name;
    struct profile_request asked;
    unsigned strides_most; /* what the encoder needs, so that a loss is seen */
    bool published;        /* one of moves (i) to (v) */
};

/* Smallest intervals as a microcontroller at 16 MHz would announce them: 20.6 us and 26.3 us. */
static const struct encode_limits MOVE_LIMITS = {
    .tick_hz = 16e6,
    .tolerance_ticks = 4.0,
    .inside_min_ticks = 330,
    .first_min_ticks = 420,
};

/* From 1000 to 27 680 steps/s in half of 3600 steps. */
#define MOVE_V_HZ_S ((27680.0 * 27680.0 - 1000.0 * 1000.0) / 3600.0)

/* Move (iii). */
enum { MOVE_TRAVEL = 3 };

static const struct move MOVES[] = {
    /* 1/64 in at 800 steps a millimetre is 317.5 steps */
    {"i", {318, 0, 0, 8000, 80000, 80000}, 22, true},
    {"i-317", {317, 0, 0, 8000, 80000, 80000}, 22, true},
    {"ii", {48000, 0, 0, 13840, 120000, 120000}, 33, true},
    {"iii", {96000, 0, 0, 27680, 240000, 240000}, 36, true},
    {"iv", {1600, 0, 0, 8000, 80000, 80000}, 29, true},
    {"iv-3200", {3200, 0, 0, 8000, 80000, 80000}, 29, true},
    {"v", {3600, 1000, 1000, 27680, MOVE_V_HZ_S, MOVE_V_HZ_S}, 34, true},
    {"1-a-second", {10, 0, 0, 1, 1, 1}, 1, false},
    {"100-a-second", {400, 0, 0, 100, 200, 200}, 18, false},
};

enum { MOVE_COUNT = sizeof MOVES / sizeof MOVES[0] };

/* A leg in long double. */
struct move_ideal {
    long double steps, start, end, rise, fall; /* as in struct profile_request */
    long double peak, rise_end, fall_start, rise_end_s, fall_start_s, total_s;
};

static inline struct move_ideal move_ideal(const struct profile_request *asked)
{
    struct move_ideal leg = {
        .steps = asked->steps,
        .start = asked->start_hz,
        .end = asked->end_hz,
        .rise = asked->rise_hz_s,
        .fall = asked->fall_hz_s,
        .peak = asked->rate_hz,
    };
    /* the peak of the triangle: (peak^2 - start^2) / 2 rise + (peak^2 - end^2) / 2 fall = steps */
    long double ends = leg.start * leg.start * leg.fall + leg.end * leg.end * leg.rise;
    long double triangle =
        sqrtl((2 * leg.rise * leg.fall * leg.steps + ends) / (leg.rise + leg.fall));
    if (triangle < leg.peak)
        leg.peak = triangle;
    leg.rise_end = (leg.peak * leg.peak - leg.start * leg.start) / (2 * leg.rise);
    leg.fall_start = leg.steps - (leg.peak * leg.peak - leg.end * leg.end) / (2 * leg.fall);
    leg.rise_end_s = (leg.peak - leg.start) / leg.rise;
    leg.fall_start_s = leg.rise_end_s + (leg.fall_start - leg.rise_end) / leg.peak;
    leg.total_s = leg.fall_start_s + (leg.peak - leg.end) / leg.fall;
    return leg;
}

static inline long double move_time_s(const struct move_ideal *leg, long double position)
{
    if (position < leg->rise_end)
        return (sqrtl(leg->start * leg->start + 2 * leg->rise * position) - leg->start) / leg->rise;
    if (position < leg->fall_start)
        return leg->rise_end_s + (position - leg->rise_end) / leg->peak;
    long double rate = sqrtl(leg->end * leg->end + 2 * leg->fall * (leg->steps - position));
    return leg->total_s - (rate - leg->end) / leg->fall;
}

/* The ideal tick of step k = 1, 2, ... of a leg. */
static inline long double move_edge_ticks(const struct move_ideal *leg, double tick_hz, double k)
{
    return tick_hz * move_time_s(leg, k - 0.5L);
}

/* Whether every ideal interval leaves room for the tolerance at both of its ends. */
static inline bool move_roomy(const struct profile_request *asked,
                              const struct encode_limits *limits)
{
    struct move_ideal ideal = move_ideal(asked);
    double least = fmax(limits->first_min_ticks, limits->inside_min_ticks);
    long double before = 0;
    for (uint32_t k = 1; k <= asked->steps; k++) {
        long double edge = move_edge_ticks(&ideal, limits->tick_hz, k);
        if (edge - before < least + 2 * limits->tolerance_ticks || edge - before > 16777214)
            return false;
        before = edge;
    }
    return true;
}

/* splitmix64 (public domain algorithm): the same legs for the same seed. */
static inline uint64_t move_random(uint64_t *seed)
{
    uint64_t z = (*seed += UINT64_C(0x9e3779b97f4a7c15));
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

/* From 0 to just under 1. */
static inline double move_random_even(uint64_t *seed)
{
    return (double)(move_random(seed) >> 11) / 9007199254740992.0;
}

/* As many between 1 and 10 as between 10 and 100. */
static inline double move_random_between(uint64_t *seed, double low, double high)
{
    return low * pow(high / low, move_random_even(seed));
}

/* 1 to 200 000 steps, a quarter of the legs begun in motion and a quarter ended in motion. */
static inline struct profile_request move_random_request(uint64_t *seed, double rate_most_hz,
                                                         double gain_least)
{
    struct profile_request asked = {0}; /* filled in order: the seed moves on with each */
    asked.steps = floor(move_random_between(seed, 1, 200001));
    asked.rate_hz = move_random_between(seed, 1, rate_most_hz);
    asked.rise_hz_s = move_random_between(seed, gain_least, 1e6);
    asked.fall_hz_s = move_random_between(seed, gain_least, 1e6);
    if (move_random(seed) % 2)
        asked.fall_hz_s = asked.rise_hz_s;
    /* a leg that begins in motion makes its first step after half an interval */
    if (move_random(seed) % 4 == 0)
        asked.start_hz = move_random_between(seed, 1e-3, fmin(asked.rate_hz, 15000));
    if (move_random(seed) % 4 == 0)
        asked.end_hz = move_random_between(seed, 1e-3, fmin(asked.rate_hz, 15000));
    return asked;
}

#endif
