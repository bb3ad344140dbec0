/* SPDX-License-Identifier: MIT */
#include "daemon/motion/plan.h"

void play_forget(struct play *play, int32_t lash_steps)
{
    *play = (struct play){.known = lash_steps == 0, .slack_steps = lash_steps};
}

static void sunk(struct play *play, int64_t steps, int32_t lash_steps)
{
    int64_t slack = play->slack_steps + steps;
    play->slack_steps = (int32_t)(slack < lash_steps ? slack : lash_steps);
    play->known = play->known || steps >= lash_steps;
    play->risen_steps = 0;
}

static void risen(struct play *play, int64_t steps)
{
    int64_t slack = play->slack_steps - steps;
    int64_t all = play->risen_steps + steps;
    play->slack_steps = (int32_t)(slack > 0 ? slack : 0);
    play->known = play->known || slack <= 0;
    play->risen_steps = (int32_t)(all < INT32_MAX ? all : INT32_MAX);
}

void play_moved(struct play *play, int32_t from, int32_t to, int32_t lash_steps)
{
    int64_t moved = (int64_t)to - from;
    if (moved < 0) {
        sunk(play, -moved, lash_steps);
    } else if (moved > 0) {
        risen(play, moved);
    }
}

enum plan_result plan_move(struct plan *plan, const struct plan_limits *limits,
                           const struct play *play, int32_t from, int32_t to)
{
    if (to > limits->high) {
        return PLAN_ABOVE;
    }
    if (to < limits->low) {
        return PLAN_BELOW;
    }
    bool taken_up = play->slack_steps == 0;
    int64_t rise = (int64_t)to - from;
    if (rise == 0 && taken_up) {
        *plan = (struct plan){.legs = 0};
        return PLAN_MADE;
    }
    if (rise > 0 && (taken_up || rise >= limits->take_up)) {
        *plan = (struct plan){.legs = 1, .end = {to}};
        return PLAN_MADE;
    }
    int64_t dip = (int64_t)to - limits->take_up;
    if (dip < limits->low) {
        return PLAN_NO_ROOM;
    }
    if (dip == from) {
        *plan = (struct plan){.legs = 1, .end = {to}};
    } else {
        *plan = (struct plan){.legs = 2, .end = {(int32_t)dip, to}};
    }
    return PLAN_MADE;
}
