/* SPDX-License-Identifier: MIT */
/*
 * The whole machine behind the cable on one simulated timer: a step generator (board.h), the lift
 * it drives, and the cable's two directions. Pure but for what it is handed; the practice lift's
 * program and the tests run it.
 *
 * Time is counted in ticks of the generator's timer, 16 000 000 a second, from its first start.
 */
#ifndef REGLET_CONTRIB_PRACTICE_MACHINE_H
#define REGLET_CONTRIB_PRACTICE_MACHINE_H

#include <stdbool.h>
#include <stdint.h>

#include "contrib/practice/board.h"
#include "contrib/practice/model.h"
#include "contrib/practice/scale.h"
#include "contrib/practice/wire.h"
#include "protocol/attributes.h"

/* What stands around the lift, and what went wrong there: nobody but the practice lift knows. */
struct bench {
    bool router_on;
    uint64_t router_off;      /* tick at which it was switched off; it coasts from there */
    uint64_t coast;           /* ticks */
    bool locked;              /* the carriage, by hand */
    uint8_t lock_output;      /* bit of the output that works its clamp as well; 0: none */
    bool lock_on_holds;       /* it holds while that is on */
    bool lock_told;           /* to hold, as the output was seen last */
    uint64_t lock_loose;      /* tick at which it lets go, once told to */
    uint64_t lock_takes;      /* ticks until it lets go */
    bool plate_laid;          /* the touch plate lies over the bit */
    bool plate_by_hand;       /* or its contact is closed by hand */
    double plate_nm;          /* height of its lower face */
    double ring_nm;           /* opening of the ring; 0: none that matters */
    double cutter_nm;         /* diameter of the bit */
    double cutting_nm;        /* from its top down to its underside */
    bool work_on_bit;         /* lies on or over it */
    uint64_t cutter_in_ring;  /* steps with a cutter in a ring too narrow for it */
    uint64_t against_lock;    /* steps against a locked carriage */
    uint64_t turning_in_work; /* steps of a turning cutter with work on it */
};

/* Called for every edge, with the tick at which it is made; for tests. May be NULL. */
typedef void machine_edge_fn(void *context, uint64_t ticks, bool down);

struct machine {
    struct model model;
    struct board *board; /* owned */
    struct wire to_generator;
    struct wire to_host; /* paced by the board itself */
    uint64_t now;        /* ticks */
    bool stop_open;      /* the stop circuit; it cuts the motor's supply */
    bool supply_lost;    /* the motor's, not the board's */
    struct bench bench;
    struct scale scale; /* on the carriage */
    uint64_t edges;
    uint64_t last_edge; /* ticks */
    bool stop_at_byte;  /* of the advance that is under way */
    machine_edge_fn *edge;
    void *edge_context;
};

/* `latency_ms`: how long the adapter may hold answers back. False when there is no board to be
 * had. The machine must not be moved while its board is open. */
REGLET_MUST_CHECK bool machine_open(struct machine *machine, uint32_t board_id, uint32_t boot,
                                    uint32_t latency_ms);
void machine_close(struct machine *machine);

/* The host writes a byte to the port, now. */
void machine_write(struct machine *machine, uint8_t byte);

/* The next byte that the host can read, or -1. */
int machine_read(struct machine *machine);

/* Goes on to `until`, or to the first instant at which the host can read a byte when
 * `stop_at_byte`. */
void machine_advance(struct machine *machine, uint64_t until, bool stop_at_byte);

/* The board starts afresh (a reset, or power back): its next boot number, count 0. */
void machine_reset(struct machine *machine);

/* It is switched on or off; off is not stopped. */
void machine_router(struct machine *machine, bool on);
bool machine_router_turns(const struct machine *machine);

/* The carriage is held, by hand or by a clamp on an output: that holds at once when it is told to,
 * and takes its time to let go. At `tick`, which is never before the one asked about last. */
bool machine_locked(struct machine *machine, uint64_t tick);

/* The board's supply goes: the motor is let go at once. It comes back, or blinks. */
void machine_power(struct machine *machine, bool on);

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
