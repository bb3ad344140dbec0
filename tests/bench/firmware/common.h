/* SPDX-License-Identifier: MIT */
/* What the parts of bench_firmware share: one board, what is said to it, and what is printed. */
#ifndef REGLET_TESTS_BENCH_FIRMWARE_COMMON_H
#define REGLET_TESTS_BENCH_FIRMWARE_COMMON_H

#include <stdbool.h>
#include <stdint.h>

#include "contrib/stepgen/core.h"
#include "tests/rig/board_avr.h"
#include "tests/rig/firmware_host.h"

enum {
    BENCH_ID = 0x5eed1234,
    BENCH_BRAKE_HZ_S = 300000,
    BENCH_SILENCE_MS = 500,
    BENCH_SPEED_TICKS = 578, /* 27 682 steps/s, the rate of move iii */
    BENCH_QUICK_TICKS = 400, /* to begin with, on the way to the smallest interval */
};

enum bench_traffic {
    BENCH_IDLE,  /* one poll in 90 ms, lest the silence should end it */
    BENCH_FULL,  /* polls without a gap */
    BENCH_NOISY, /* the same, with 1 in 200 bytes spoilt */
    BENCH_TRAFFICS,
};

struct bench {
    struct host *host;
    uint64_t seed;
    uint16_t epoch;
    uint8_t poll;
    bool missed; /* a figure has missed what it must reach */
};

/* A number below `below`. */
uint64_t bench_draw(struct bench *bench, uint64_t below);

/* Ends the program: what was to be measured could not be. */
__attribute__((noreturn)) void bench_fail(const char *what);

/* Prints firmware.NAME. A figure over `most`, or under `least`, is missed. */
void bench_print(const char *name, double value, const char *unit);
void bench_most(struct bench *bench, const char *name, double value, const char *unit, double most);
void bench_least(struct bench *bench, const char *name, double value, const char *unit,
                 double least);

/* Settings, then a new epoch at the count at which the motor stands. */
void bench_set_up(struct bench *bench);
void bench_sync(struct bench *bench);

/* Queues a leg from sequence number 0 on, and begins it `phase_ticks` after a while of rest. The
 * host forgets the edges and lines from before. */
void bench_begin(struct bench *bench, const struct stride *strides, unsigned count,
                 uint64_t phase_ticks);

/* Polls until the motor is at rest; a leg that was refused, or has not come to its own end, was not
 * measured. */
void bench_finish(struct bench *bench, enum bench_traffic traffic, unsigned count);

void bench_poll(struct bench *bench, enum bench_traffic traffic, uint8_t next);

/* Edges of a leg that are not on their tick, counted from its first, or not there at all. *at is
 * its first edge among the host's, and is moved on behind its last. */
unsigned bench_edges_off(const struct bench *bench, const struct stride *strides, unsigned count,
                         size_t *at);

/* The parts; each prints its figures. */
void bench_moves(struct bench *bench);
void bench_rate(struct bench *bench);
void bench_loads(struct bench *bench);
void bench_short(struct bench *bench);
void bench_stops(struct bench *bench);
void bench_starts(struct bench *bench);

#endif
