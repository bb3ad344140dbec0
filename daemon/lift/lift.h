/* SPDX-License-Identifier: MIT */
/*
 * The one owner of the lift's position: count, play, table zero, trust, activity, and the move
 * under way. Everybody else asks.
 *
 * Positions are the lift's own, in nanometres from the count 0; heights are positions less that of
 * the table zero. Up is positive.
 */
#ifndef REGLET_DAEMON_LIFT_LIFT_H
#define REGLET_DAEMON_LIFT_LIFT_H

#include <stdbool.h>
#include <stdint.h>
#include <uv.h>

#include "daemon/clock/clock.h"
#include "daemon/link/serial.h"
#include "daemon/motion/screw.h"
#include "protocol/attributes.h"
#include "protocol/reason.h"

enum { LIFT_SENTENCE = 240 };

enum lift_activity {
    LIFT_STILL = 1,
    LIFT_MOVING,
    LIFT_BRAKING,
    LIFT_BARRED,    /* motion refused until all-clear */
    LIFT_UNPLUGGED, /* no step generator */
};

/* How far a number may be believed. */
enum lift_trust { LIFT_SURE = 1, LIFT_UNCHECKED, LIFT_LOST };

/* The machine, as its owner describes it. */
struct lift_config {
    const char *port_path; /* borrowed, as long as the lift lives */
    int baud;
    struct screw screw;
    double rate_hz;          /* of moves to a height */
    double brake_hz_s;       /* the most that the motor bears; moves use 0.8 of it */
    int64_t lash_nm;
    int64_t take_up_nm;      /* lash and a margin */
    int64_t low_nm;          /* travel, as lift positions */
    int64_t high_nm;
    int64_t nudge_most_nm;   /* how far a nudge may go while the height is unknown */
};

/* What can be asked at any time. */
struct lift_status {
    enum lift_activity activity;
    enum lift_trust table_zero;
    bool play_known;
    bool play_taken_up;
    int32_t count;
    int64_t position_nm;    /* of the carriage: the count's, and what of the lash is open */
    int64_t height_nm;      /* only with a table zero that is not lost */
    bool moving_to_known;
    int64_t moving_to_nm;   /* height, or position without a table zero */
    int64_t age_ns;         /* of the count; while moving it is as old as the last report */
    bool stop_open;
    uint32_t board;
    uint32_t boot;
    const char *barred_why; /* while barred or unplugged; valid until the next turn of the loop */
};

/* Why something was refused or ended early. */
struct lift_refusal {
    enum reason reason;
    char sentence[LIFT_SENTENCE];
};

/* The end of a motion; `refusal` is NULL when it reached its target. Called once, from the loop,
 * never from within the call that asked for the motion. */
typedef void lift_done(void *owner, const struct lift_refusal *refusal);

/* Waits for the lift to be at rest; belongs to whoever declares it. */
struct lift_waiter {
    void (*rested)(void *owner);
    void *owner;
    struct lift_waiter *next;
};

struct lift;

REGLET_MUST_CHECK struct lift *lift_create(uv_loop_t *loop, struct clock *clock,
                                           const struct serial_operations *port,
                                           const struct lift_config *config);
/* Brakes what moves, waits for rest (half a second at the most), closes the port, then calls
 * `closed`. */
void lift_close(struct lift *lift, void (*closed)(void *owner), void *owner);
void lift_free(struct lift *lift);

void lift_status(const struct lift *lift, struct lift_status *status);

/* To an absolute height over the table; by a distance from where it was last told to be. When
 * false, *refusal says why and `done` will not be called. */
REGLET_MUST_CHECK bool lift_to(struct lift *lift, int64_t height_nm, lift_done *done, void *owner,
                               struct lift_refusal *refusal);
REGLET_MUST_CHECK bool lift_by(struct lift *lift, int64_t distance_nm, lift_done *done,
                               void *owner, struct lift_refusal *refusal);

/* The bit stands at `height_nm` now. */
REGLET_MUST_CHECK bool lift_touch(struct lift *lift, int64_t height_nm,
                                  struct lift_refusal *refusal);

/* Brakes; `who` goes into the answer of the motion that it ends. True when there was any. */
bool lift_stop(struct lift *lift, const char *who);

/* Calls waiter->rested once, from the loop, when no motion is under way. */
void lift_await_rest(struct lift *lift, struct lift_waiter *waiter);
void lift_await_cancel(struct lift *lift, struct lift_waiter *waiter);

/* Motion may be asked for again. */
REGLET_MUST_CHECK bool lift_all_clear(struct lift *lift, struct lift_refusal *refusal);

/* The motion asked for by `owner`, if it is under way, has lost who asked: brake, and forget him. */
void lift_abandon(struct lift *lift, void *owner);

#endif
