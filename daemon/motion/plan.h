/* SPDX-License-Identifier: MIT */
/*
 * The legs of a move, and how much of the lash is taken up. Pure.
 *
 * A place is reached from one side, by a last leg that takes the play up, so that the carriage
 * always rests on the same flank of the screw: from below, or from above where a counterweight or a
 * spring makes that the better side. Or from either, the measured lash added where the screw turns
 * back. After a downward leg the nut is ahead of the carriage by the lash: it ends that much lower.
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
    int32_t risen_steps; /* upward motion since the last downward one, as far as it matters; below
                          * zero: downward motion since the last upward one */
};

/* Nobody knows: the worst is assumed. */
void play_forget(struct play *play, int32_t lash_steps);

/* The screw has gone from one count to another, in one direction. */
void play_moved(struct play *play, int32_t from, int32_t to, int32_t lash_steps);

enum plan_finish { PLAN_UPWARD, PLAN_DOWNWARD, PLAN_EITHER };

/* What plan_move must know. All in steps; take_up is the lash and a margin. */
struct plan_limits {
    int32_t low;
    int32_t high;
    int32_t take_up;
    int32_t lash;
    enum plan_finish finish;
};

enum plan_result {
    PLAN_MADE = 1,
    PLAN_ABOVE,   /* the target is above the travel */
    PLAN_BELOW,   /* the target is below it */
    PLAN_NO_ROOM, /* so close to an end that the play cannot be taken up */
};

struct plan {
    int legs; /* 0: the lift is there already, its play taken up */
    int32_t end[2];
};

/* Does the carriage rest on the flank that moves finish on? */
bool plan_taken_up(const struct play *play, enum plan_finish finish, int32_t lash_steps);

/* The lowest and highest place that plan_move reaches, wherever it begins. */
void plan_reach(const struct plan_limits *limits, int32_t *low, int32_t *high);

/* `to` is where the carriage is to be, as a count of a nut that has come up to it. */
REGLET_MUST_CHECK enum plan_result plan_move(struct plan *plan, const struct plan_limits *limits,
                                             const struct play *play, int32_t from, int32_t to);

#endif
