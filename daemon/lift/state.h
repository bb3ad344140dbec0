/* SPDX-License-Identifier: MIT */
/* The inside of the lift module, shared by its files. */
#ifndef REGLET_DAEMON_LIFT_STATE_H
#define REGLET_DAEMON_LIFT_STATE_H

#include "daemon/lift/lift.h"
#include "daemon/link/link.h"
#include "daemon/motion/encode.h"
#include "daemon/motion/plan.h"
#include "daemon/motion/profile.h"

/* The motion under way; done is NULL when there is none or its asker has gone. */
struct lift_move {
    bool active;
    struct plan plan;
    int leg;             /* the one under way */
    int32_t leg_start;
    int64_t target_nm;   /* position */
    struct profile profile;
    struct encoder encoder;
    lift_done *done;
    void *owner;
    char stopped_by[80]; /* who asked for the brake, if anybody did */
    bool ended;          /* its outcome stands, and waits for the generator to be ready again */
    bool reached;
    struct lift_refusal outcome;
};

struct lift {
    struct lift_config config;
    struct clock *clock;
    struct link *link;
    struct lift_move move;

    int32_t count; /* at rest */
    bool count_known;
    struct play play;
    enum lift_trust table_zero;
    int64_t zero_nm;   /* position at which the bit stands at height 0 */
    bool wanted_known; /* the last move reached its target: nudges go on from there, exactly */
    int64_t wanted_nm; /* position */

    uint32_t board;
    uint32_t boot;
    bool board_known;
    bool barred;
    char why[LIFT_SENTENCE]; /* barred or unplugged */
    bool reported_gone;

    struct lift_waiter *waiters;

    struct clock_timer close_timer;
    struct clock_timer done_timer;
    void (*closed)(void *owner);
    void *closed_owner;
};

/* move.c */
enum { LIFT_PLAN_PERCENT = 80 }; /* of the acceleration that the motor bears */
int32_t lift_steps_up(const struct lift *lift, int64_t nm); /* a length in steps, rounded up */
void move_leg(struct lift *lift);
void move_ended(struct lift *lift, int32_t count);
/* The outcome stands; the asker is told when the generator is ready, or there is none. */
void move_finish(struct lift *lift, enum reason reason, const char *sentence);
void move_tell(struct lift *lift);

/* lift.c */
REGLET_PRINTF(3, 4) void lift_refuse(struct lift_refusal *refusal, enum reason reason,
                                     const char *format, ...);
int64_t lift_position_nm(const struct lift *lift, int32_t count);
int64_t lift_carriage_nm(const struct lift *lift); /* at rest, its play counted in */
/* A position for people: a height when there is a table zero, in mm and inches. */
void lift_say_height(const struct lift *lift, int64_t position_nm, char *text, size_t size);

#endif
