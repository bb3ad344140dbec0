/* SPDX-License-Identifier: MIT */
/*
 * The legs of a move that finishes upward, and how much of the lash is taken up. Pure.
 *
 * Every height is reached from below, by an upward leg that takes the play up, so that the
 * carriage always rests on the same flank of the screw.
 */
#ifndef REGLET_DAEMON_MOTION_PLAN_H
#define REGLET_DAEMON_MOTION_PLAN_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol/attributes.h"

/* How the nut lies in its play. */
struct play {
    bool known;          /* slack_steps is exact, not just the most that it can be */
    int32_t slack_steps; /* upward steps that do not move the carriage yet: 0 to the lash */
    int32_t risen_steps; /* upward motion since the last downward one, as far as it matters */
};

/* Nobody knows: the worst is assumed. */
void play_forget(struct play *play, int32_t lash_steps);

/* The screw has gone from one count to another, in one direction. */
void play_moved(struct play *play, int32_t from, int32_t to, int32_t lash_steps);

/* What plan_move must know. All in steps; take_up is the lash and a margin. */
struct plan_limits {
    int32_t low;
    int32_t high;
    int32_t take_up;
};

enum plan_result {
    PLAN_MADE = 1,
    PLAN_ABOVE,   /* the target is above the travel */
    PLAN_BELOW,   /* the target is below it */
    PLAN_NO_ROOM, /* so close to the lower end that the play cannot be taken up */
};

struct plan {
    int legs; /* 0: the lift is there already, its play taken up */
    int32_t end[2];
};

REGLET_MUST_CHECK enum plan_result plan_move(struct plan *plan, const struct plan_limits *limits,
                                             const struct play *play, int32_t from, int32_t to);

#endif
