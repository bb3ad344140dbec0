/* SPDX-License-Identifier: MIT */
/* How far the lift may go now: its travel, and what the ring leaves to the fitted bit. */
#include "daemon/lift/state.h"

/* The lowest count that the ring leaves to the fitted bit; false when it is no matter, or when
 * nobody knows where the bit is. */
static bool ring_low(const struct lift *lift, int32_t *low)
{
    if (!lift->bit.lowest_known || lift->zero.trusted.table_zero == TRUST_LOST) {
        return false;
    }
    *low = lift_count_outside(lift, lift->zero.zero_nm + lift->bit.lowest_nm, true);
    return true;
}

struct plan_limits move_limits_travel(const struct lift *lift)
{
    return (struct plan_limits){
        .low = lift_count_outside(lift, lift_low_nm(lift), false),
        .high = lift_count_outside(lift, lift_high_nm(lift), true),
        .take_up = lift_steps_up(lift, lift->config.take_up_nm),
        .lash = lift_lash_steps(lift),
        .finish = lift->config.finish,
    };
}

struct plan_limits move_limits(const struct lift *lift)
{
    struct plan_limits limits = move_limits_travel(lift);
    int32_t ring;
    if (ring_low(lift, &ring) && ring > limits.low) {
        limits.low = ring;
    }
    return limits;
}

static void refuse_plan(const struct lift *lift, enum plan_result result,
                        struct lift_refusal *refusal)
{
    char most[128];
    int32_t ring;
    if (result != PLAN_ABOVE && ring_low(lift, &ring) && ring == move_limits(lift).low) {
        lift_say_height(lift, lift_position_nm(lift, ring), most, sizeof most);
        lift_refuse(refusal, REASON_RING,
                    "The bit is too wide for its ring: it must stay over %s, the take-up counted "
                    "in. Nothing has moved. Ask for a greater height, or fit a wider ring.",
                    most);
    } else if (result == PLAN_ABOVE) {
        lift_say_height(lift, lift_high_nm(lift), most, sizeof most);
        lift_refuse(refusal, REASON_ABOVE_TRAVEL,
                    "That is above the lift's travel, which ends at %s. Nothing has moved. Cut at "
                    "less height, or take a longer bit: no bit comes further out of its collet "
                    "than its maker allows.",
                    most);
    } else if (result == PLAN_BELOW) {
        lift_say_height(lift, lift_low_nm(lift), most, sizeof most);
        lift_refuse(refusal, REASON_BELOW_TRAVEL,
                    "That is below the lift's travel, which ends at %s. Nothing has moved.", most);
    } else if (lift->config.finish == PLAN_DOWNWARD) {
        lift_refuse(refusal, REASON_TAKE_UP,
                    "That is so near an end of the travel that the lash cannot be taken up from "
                    "above. Nothing has moved. Ask for a height that is further from it.");
    } else {
        lift_refuse(refusal, REASON_TAKE_UP,
                    "That is so near the lower end of the travel that the lash cannot be taken up "
                    "from below. Nothing has moved. Ask for a greater height.");
    }
}

bool move_plan_from_above(const struct lift *lift, int64_t target_nm, struct plan *plan,
                          struct lift_refusal *refusal)
{
    struct plan_limits limits = move_limits(lift);
    int32_t to;
    if (!lift_count_at(lift, target_nm, &to)) {
        to = target_nm > 0 ? INT32_MAX / 2 : INT32_MIN / 2;
    }
    if (to < limits.low) {
        refuse_plan(lift, PLAN_BELOW, refusal);
        return false;
    }
    if (to > limits.high - limits.take_up) {
        refuse_plan(lift, PLAN_ABOVE, refusal);
        return false;
    }
    *plan = lift->count >= to + limits.take_up
                ? (struct plan){.legs = 1, .end = {to}}
                : (struct plan){.legs = 2, .end = {to + limits.take_up, to}};
    return true;
}

bool move_plan(const struct lift *lift, int64_t target_nm, enum plan_finish finish,
               struct plan *plan, struct lift_refusal *refusal)
{
    struct plan_limits limits = move_limits(lift);
    int32_t to;
    limits.finish = finish;
    if (!lift_count_at(lift, target_nm, &to)) {
        to = target_nm > 0 ? INT32_MAX / 2 : INT32_MIN / 2; /* beyond any travel */
    }
    enum plan_result result = plan_move(plan, &limits, &lift->play, lift->count, to);
    if (result != PLAN_MADE) {
        refuse_plan(lift, result, refusal);
        return false;
    }
    if (lift_input(lift, LINK_INPUT_TOP_SWITCH) && plan->legs > 0 &&
        (to > lift->count || plan->end[0] > lift->count)) {
        lift_refuse(refusal, REASON_ABOVE_TRAVEL,
                    "The lift is at its top switch, and goes no higher. Nothing has moved.");
        return false;
    }
    if (lift_input(lift, LINK_INPUT_BOTTOM_SWITCH) && plan->legs > 0 &&
        plan->end[0] < lift->count) {
        lift_refuse(refusal, REASON_BELOW_TRAVEL,
                    "The lift is at its bottom switch, and goes no lower, not even to take the "
                    "lash up. Nothing has moved. Ask for a height that is further up.");
        return false;
    }
    return true;
}
