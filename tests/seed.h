/* SPDX-License-Identifier: MIT */
/*
 * Random numbers that a failure can be found again by: the seed is drawn anew for each run, or is
 * REGLET_SEED of the environment, and is printed. Check runs each test in a process of its own, so
 * that each draws the same numbers whatever ran before it.
 */
#ifndef REGLET_TESTS_SEED_H
#define REGLET_TESTS_SEED_H

#include <inttypes.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/random.h>

static uint64_t base_seed;
static uint64_t random_state;

/* The next number of the generator that has this state: splitmix64 (public domain algorithm). */
static inline uint64_t seed_next(uint64_t *state)
{
    uint64_t z = (*state += UINT64_C(0x9e3779b97f4a7c15));
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static inline uint64_t seed_below(uint64_t *state, uint64_t limit)
{
    return seed_next(state) % limit;
}

static inline uint64_t next_random(void)
{
    return seed_next(&random_state);
}

static inline uint64_t below(uint64_t limit)
{
    return seed_below(&random_state, limit);
}

/* Both ends can come up. */
static inline int64_t between(int64_t lowest, int64_t highest)
{
    return (int64_t)((uint64_t)lowest + below((uint64_t)highest - (uint64_t)lowest + 1));
}

/* The numbers from the first one on, for a test that does not want to rest on the fork. */
static inline void start_random(void)
{
    random_state = base_seed;
}

/* To be called once, by main, before anything is drawn. */
static inline void read_seed(void)
{
    const char *given = getenv("REGLET_SEED");
    if (given != NULL) {
        base_seed = strtoull(given, NULL, 0);
    } else if (getrandom(&base_seed, sizeof base_seed, 0) != sizeof base_seed) {
        perror("no seed can be drawn; set REGLET_SEED");
        exit(EXIT_FAILURE);
    } else {
        base_seed >>= 16; /* so that a test can count on from it */
    }
    start_random();
    printf("REGLET_SEED=%" PRIu64 "\n", base_seed);
    (void)fflush(stdout);
}

#endif
