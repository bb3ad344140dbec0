/* SPDX-License-Identifier: MIT */
/* Hold-to-run: a move to the end of the travel, for somebody who ends it by letting go. */
#include "daemon/lift/state.h"

static double rate_hz(const struct lift *lift, bool fast)
{
    double slow_hz = lift->config.hold_slow_hz;
    if (lift->zero.trusted.reference == TRUST_LOST) {
        return slow_hz < lift->config.search_hz ? slow_hz : lift->config.search_hz;
    }
    return fast ? lift->config.hold_fast_hz : slow_hz;
}

bool lift_hold(struct lift *lift, bool up, bool fast, lift_done *done, void *owner,
               struct lift_refusal *refusal)
{
    if (!rules_allow(lift, MOVE_HOLD, refusal)) {
        return false;
    }
    if (up && lift_input(lift, LINK_INPUT_TOP_SWITCH)) {
        lift_refuse(refusal, REASON_ABOVE_TRAVEL,
                    "The lift is at its top switch, and goes no higher. Nothing has moved.");
        return false;
    }
    if (!up && lift_input(lift, LINK_INPUT_BOTTOM_SWITCH)) {
        lift_refuse(refusal, REASON_BELOW_TRAVEL,
                    "The lift is at its bottom switch, and goes no lower. Nothing has moved.");
        return false;
    }
    struct plan_limits limits = move_limits(lift);
    int32_t end = up ? limits.high : limits.low;
    if (up ? end <= lift->count : end >= lift->count) {
        lift_refuse(refusal, up ? REASON_ABOVE_TRAVEL : REASON_BELOW_TRAVEL,
                    "The lift is at the %s end of its travel already. Nothing has moved.",
                    up ? "upper" : "lower");
        return false;
    }
    struct lift_move move = {
        .kind = MOVE_HOLD,
        .holding = true,
        .target_nm = lift_position_nm(lift, end),
        .rate_hz = rate_hz(lift, fast),
        .plan = {.legs = 1, .end = {end}},
        .done = done,
        .owner = owner,
    };
    move_go(lift, &move);
    return true;
}
