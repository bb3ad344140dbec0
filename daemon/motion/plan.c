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
    int64_t all = (play->risen_steps < 0 ? play->risen_steps : 0) - steps;
    play->risen_steps = (int32_t)(all > -INT32_MAX ? all : -INT32_MAX);
}

static void risen(struct play *play, int64_t steps)
{
    int64_t slack = play->slack_steps - steps;
    int64_t all = (play->risen_steps > 0 ? play->risen_steps : 0) + steps;
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

bool plan_taken_up(const struct play *play, enum plan_finish finish, int32_t lash_steps)
{
    bool above = finish == PLAN_DOWNWARD;
    return play->slack_steps == (above ? lash_steps : 0) && (play->known || !above);
}

void plan_reach(const struct plan_limits *limits, int32_t *low, int32_t *high)
{
    bool above = limits->finish == PLAN_DOWNWARD;
    *low = limits->low + (above ? limits->lash : limits->take_up);
    *high = limits->high - (above ? limits->take_up - limits->lash : 0);
}

static enum plan_result two_legs(struct plan *plan, const struct plan_limits *limits, int32_t from,
                                 int64_t turn, int32_t end)
{
    if (turn < limits->low || turn > limits->high) {
        return PLAN_NO_ROOM;
    }
    *plan = turn == from ? (struct plan){.legs = 1, .end = {end}}
                         : (struct plan){.legs = 2, .end = {(int32_t)turn, end}};
    return PLAN_MADE;
}

static enum plan_result from_below(struct plan *plan, const struct plan_limits *limits,
                                   const struct play *play, int32_t from, int32_t to)
{
    bool taken_up = plan_taken_up(play, PLAN_UPWARD, limits->lash);
    int64_t rise = (int64_t)to - from;
    if (rise == 0 && taken_up) {
        *plan = (struct plan){.legs = 0};
        return PLAN_MADE;
    }
    if (rise > 0 && (taken_up || rise >= limits->take_up)) {
        *plan = (struct plan){.legs = 1, .end = {to}};
        return PLAN_MADE;
    }
    return two_legs(plan, limits, from, (int64_t)to - limits->take_up, to);
}

static enum plan_result from_above(struct plan *plan, const struct plan_limits *limits,
                                   const struct play *play, int32_t from, int32_t to)
{
    bool taken_up = plan_taken_up(play, PLAN_DOWNWARD, limits->lash);
    int64_t end = (int64_t)to - limits->lash;
    int64_t fall = from - end;
    if (end < limits->low) {
        return PLAN_NO_ROOM;
    }
    if (fall == 0 && taken_up) {
        *plan = (struct plan){.legs = 0};
        return PLAN_MADE;
    }
    if (fall > 0 && (taken_up || fall >= limits->take_up)) {
        *plan = (struct plan){.legs = 1, .end = {(int32_t)end}};
        return PLAN_MADE;
    }
    return two_legs(plan, limits, from, end + limits->take_up, (int32_t)end);
}

/* Where it is known how the nut lies: with nothing to take up first. */
static enum plan_result from_either(struct plan *plan, const struct plan_limits *limits,
                                    const struct play *play, int32_t from, int32_t to)
{
    int64_t carriage = (int64_t)from + play->slack_steps;
    int64_t end = to > carriage ? to : (int64_t)to - limits->lash;
    if (!play->known) {
        return from_below(plan, limits, play, from, to);
    }
    if (to == carriage) {
        *plan = (struct plan){.legs = 0};
        return PLAN_MADE;
    }
    if (end < limits->low) {
        return PLAN_NO_ROOM;
    }
    *plan = (struct plan){.legs = 1, .end = {(int32_t)end}};
    return PLAN_MADE;
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
    switch (limits->finish) {
    case PLAN_DOWNWARD:
        return from_above(plan, limits, play, from, to);
    case PLAN_EITHER:
        return from_either(plan, limits, play, from, to);
    default:
        return from_below(plan, limits, play, from, to);
    }
}
