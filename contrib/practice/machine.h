/* SPDX-License-Identifier: MIT */
/*
 * The whole machine behind the cable on one simulated timer: the step generator's core, as the
 * microcontroller runs it, the lift it drives, and the cable's two directions. Pure but for what it
 * is handed; the practice lift's program and the tests run it.
 *
 * Time is counted in ticks of the generator's timer, 16 000 000 a second, from its first start.
 */
#ifndef REGLET_CONTRIB_PRACTICE_MACHINE_H
#define REGLET_CONTRIB_PRACTICE_MACHINE_H

#include <stdbool.h>
#include <stdint.h>

#include "contrib/practice/model.h"
#include "contrib/practice/wire.h"
#include "contrib/stepgen/core.h"

enum {
    MACHINE_TICK_HZ = 16000000,
    MACHINE_TICKS_PER_MS = 16000,
    MACHINE_BYTE_TICKS = 1389, /* ten bits at 115 200 baud */
    MACHINE_INSIDE_MIN_TICKS = 266,
    MACHINE_FIRST_MIN_TICKS = 330,
};

/* Called for every edge, with the tick at which it is made; for tests. May be NULL. */
typedef void machine_edge_fn(void *context, uint64_t ticks, bool down);

struct machine {
    struct model model;
    struct generator generator;
    struct wire to_generator;
    struct wire to_host;
    uint64_t now;      /* ticks */
    uint64_t edge_due; /* WIRE_NEVER while the motor is at rest */
    uint64_t millisecond_due;
    bool powered;
    bool stop_open;   /* the stop circuit; it cuts the motor's supply */
    bool supply_lost; /* the motor's, not the board's */
    uint64_t edges;
    uint64_t first_edge;  /* ticks, of the last leg that began */
    uint64_t still_since; /* ticks at which the motor last came to rest */
    machine_edge_fn *edge;
    void *edge_context;
};

/* `latency_ms`: how long the adapter may hold answers back. */
void machine_init(struct machine *machine, uint32_t board_id, uint32_t boot, uint32_t latency_ms);

/* The host writes a byte to the port, now. */
void machine_write(struct machine *machine, uint8_t byte);

/* The next byte that the host can read, or -1. */
int machine_read(struct machine *machine);

/* Goes on to `until`, or to the first instant at which the host can read a byte when
 * `stop_at_byte`. */
void machine_advance(struct machine *machine, uint64_t until, bool stop_at_byte);

/* The board starts afresh (a reset, or power back): its next boot number, count 0. */
void machine_reset(struct machine *machine);

/* The board's supply goes: the motor is let go at once. machine_reset brings it back. */
void machine_power_off(struct machine *machine);

static inline int64_t machine_ns(uint64_t ticks)
{
    return (int64_t)(ticks * 125 / 2);
}

/* The first tick that is not before a time. */
static inline uint64_t machine_ticks(int64_t ns)
{
    return ns <= 0 ? 0 : ((uint64_t)ns * 2 + 124) / 125;
}

#endif
