/* SPDX-License-Identifier: MIT */
/* What may be asked of the lift when: interlocks, the change of a bit, trust. */
#include <stdio.h>

#include "daemon/lift/state.h"

#define ASK_AGAIN_NS (INT64_C(6) * 3600 * 1000 * CLOCK_NS_PER_MS) /* a night, or half a day */
#define PASS_MOST_NM INT64_C(3175000) /* 1/8 in, with the router running between two cuts */

/* One row a kind of motion. */
static const struct rule {
    bool when_fitted;     /* behind a change, before the first hold-to-run */
    bool between_cuts;    /* while the router turns, where the configuration lets it */
    bool plunging;        /* the same, with a bit that plunges */
    bool needs_zero;      /* sure, and nothing left to be asked */
    bool needs_reference; /* sure */
} rules[MOVE_KINDS] = {
    [MOVE_HEIGHT] = {false, false, false, true, false},
    [MOVE_NUDGE] = {false, false, false, false, false},
    [MOVE_HOLD] = {true, false, false, false, false},
    [MOVE_HELD_HEIGHT] = {false, true, true, true, false},
    [MOVE_HELD_NUDGE] = {false, true, true, false, false},
    [MOVE_FIND_TOP] = {false, false, false, false, false},
    [MOVE_CHANGE] = {true, false, false, false, true},
    [MOVE_PLATE] = {false, false, false, false, false},
    [MOVE_GAUGE] = {false, false, false, false, true},
};

bool rules_ready(const struct lift *lift, struct lift_refusal *refusal)
{
    if (!link_report(lift->link)) {
        lift_refuse(refusal, REASON_UNPLUGGED,
                    "No step generator: %s. Nothing can move. Check its cable and supply; it is "
                    "found again by itself.",
                    lift->gone_why);
    } else if (lift_input(lift, LINK_INPUT_STOP_CIRCUIT)) {
        lift_refuse(refusal, REASON_STOP_OPEN,
                    "The stop circuit is open. Nothing can move. See why it was opened, close it, "
                    "then say all-clear.");
    } else if (lift->barred) {
        lift_refuse(refusal, REASON_BARRED,
                    "Motion is barred: %s. When that is put right and the lift is clear, say "
                    "all-clear.",
                    lift->why);
    } else if (lift_input(lift, LINK_INPUT_MOTOR_SUPPLY)) {
        lift_refuse(refusal, REASON_UNPOWERED,
                    "The motor has no supply. Nothing can move. Switch it on, and compare the "
                    "height shown with the bit before you trust it.");
    } else if (lift->move.active || lift->changes) {
        lift_refuse(refusal, REASON_BUSY,
                    "The lift is moving already. Wait until it is there, or stop it first.");
    } else if (lift->retry_timer.set) {
        lift_refuse(refusal, REASON_NOT_KEPT,
                    "Nothing moves: %s. See to the disk; it is tried again by itself.", lift->why);
    } else {
        return true;
    }
    return false;
}

bool rules_turning(const struct lift *lift)
{
    if (!(lift->config.inputs & 1u << LINK_INPUT_ROUTER) || !link_report(lift->link)) {
        return false;
    }
    return !lift->router_known || lift->router_on ||
           (lift->router_off_ns != 0 &&
            clock_now_ns(lift->clock) - lift->router_off_ns < lift->config.run_down_ns);
}

/* May a motion of this kind go on while the router turns? */
static bool turning_allows(const struct lift *lift, enum move_kind kind)
{
    switch (lift->config.while_running) {
    case LIFT_RUNNING_BETWEEN_CUTS:
        return rules[kind].between_cuts;
    case LIFT_RUNNING_PLUNGE:
        return rules[kind].plunging && lift->bit.plunging;
    default:
        return false;
    }
}

static void refuse_turning(const struct lift *lift, struct lift_refusal *refusal)
{
    lift_refuse(refusal, REASON_ROUTER_RUNNING,
                "The router %s. Nothing has moved. Switch it off, and wait until it has run "
                "down.",
                lift->router_on ? "runs" : "still turns, or nobody has heard yet that it does not");
}

static bool stage_allows(const struct lift *lift, enum move_kind kind, struct lift_refusal *refusal)
{
    if (lift->zero.stage == LIFT_STAGE_CHANGING) {
        lift_refuse(refusal, REASON_BIT_OUT,
                    "The bit is being changed, with hands at the collet. Nothing has moved. When a "
                    "bit is in, its nut tight, wrenches off and ring in, say fit and its name.");
        return false;
    }
    if (lift->zero.stage == LIFT_STAGE_FITTED && !rules[kind].when_fitted) {
        lift_refuse(refusal, REASON_HOLD_FIRST,
                    "A bit was fitted and stands high, and nobody knows how high. Nothing has "
                    "moved. Bring it down by 'hold down', looking at it.");
        return false;
    }
    return true;
}

static bool asks_allow(struct lift *lift, struct lift_refusal *refusal)
{
    if (clock_now_ns(lift->clock) - lift->moved_ns > ASK_AGAIN_NS) {
        lift->zero.asks |= LIFT_ASK_BIT;
    }
    if (lift->zero.asks & LIFT_ASK_BIT) {
        lift_refuse(refusal, REASON_ASK_BIT,
                    "The lift has stood for long, or was without power. Is it the same bit still, "
                    "untouched in its collet? Nothing has moved. Compare the height shown with the "
                    "bit, then say confirm; or touch off.");
    } else if (lift->zero.asks & LIFT_ASK_RIDING) {
        char riding[128];
        lift_say_length(lift->zero.riding_nm, riding, sizeof riding);
        lift_refuse(refusal, REASON_ASK_RIDING,
                    "Does the work still ride on %s, which is added to every height? Nothing has "
                    "moved. Say riding and its thickness, or riding 0 for the table itself.",
                    riding);
    }
    return lift->zero.asks == 0;
}

static bool trust_allows(struct lift *lift, enum move_kind kind, struct lift_refusal *refusal)
{
    if (rules[kind].needs_reference && lift->zero.trusted.reference != TRUST_SURE) {
        lift_refuse(refusal, REASON_TOP_UNKNOWN,
                    "Where the lift is in its own travel is not sure, and that has to be known for "
                    "it. Nothing has moved. Find the top, or confirm the height.");
        return false;
    }
    if (!rules[kind].needs_zero) {
        return true;
    }
    if (lift->zero.trusted.table_zero == TRUST_LOST) {
        lift_refuse(refusal, REASON_HEIGHT_UNKNOWN,
                    "The height of the bit is not known. Nothing has moved. Nudge the bit to a "
                    "height that you can see or measure, coming up to it, and touch off there.");
        return false;
    }
    if (lift->zero.trusted.table_zero == TRUST_UNCHECKED) {
        lift_refuse(refusal, REASON_UNCHECKED,
                    "The power was off, and the screw may have turned since. Nothing has moved. "
                    "Compare the height shown with the bit, then say confirm; or find the top, or "
                    "touch off again.");
        return false;
    }
    return asks_allow(lift, refusal);
}

bool rules_allow(struct lift *lift, enum move_kind kind, struct lift_refusal *refusal)
{
    if (!rules_ready(lift, refusal)) {
        return false;
    }
    bool ours = lift->config.lock_output != 0; /* it holds at rest, and is loosened for the move */
    if (!ours && lift_input(lift, LINK_INPUT_CARRIAGE_LOCK)) {
        lift_refuse(refusal, REASON_CARRIAGE_LOCKED,
                    "The carriage is locked. Nothing has moved. Loosen its clamp first.");
        return false;
    }
    if (rules_turning(lift) && !turning_allows(lift, kind)) {
        refuse_turning(lift, refusal);
        return false;
    }
    return stage_allows(lift, kind, refusal) && trust_allows(lift, kind, refusal);
}

bool rules_still_allow(const struct lift *lift, enum move_kind kind, struct lift_refusal *refusal)
{
    if (lift_input(lift, LINK_INPUT_CARRIAGE_LOCK)) {
        lift_refuse(refusal, REASON_CARRIAGE_LOCKED,
                    "The carriage is still locked%s. Nothing has moved. Look at its clamp.",
                    lift->config.lock_output != 0 ? ", though it was switched loose" : "");
    } else if (rules_turning(lift) && !turning_allows(lift, kind)) {
        refuse_turning(lift, refusal);
    } else {
        return true;
    }
    return false;
}

bool rules_allow_plan(const struct lift *lift, const struct plan *plan,
                      struct lift_refusal *refusal)
{
    if (!rules_turning(lift) || plan->legs == 0) {
        return true;
    }
    int32_t rise = plan->end[0] - lift->count;
    if (plan->legs > 1 || rise < 0) {
        lift_refuse(refusal, REASON_ROUTER_RUNNING,
                    "The router turns, and the bit would have to go down for that, if only to take "
                    "the lash up. Nothing has moved. Switch the router off, and wait until it has "
                    "run down.");
        return false;
    }
    bool pass = lift->config.while_running == LIFT_RUNNING_BETWEEN_CUTS;
    if (pass && rise > lift_steps_up(lift, PASS_MOST_NM)) {
        lift_refuse(refusal, REASON_ROUTER_RUNNING,
                    "The router runs, and then the bit rises by one pass at the most, 1/8in. "
                    "Nothing has moved. Take less, or switch the router off.");
        return false;
    }
    return true;
}

static void then_nothing(struct lift *lift, bool kept, const char *why)
{
    (void)lift, (void)kept, (void)why; /* not kept, it is believed to turn: that harms nobody */
}

/* It does not turn any more: a daemon that starts later must not wait for it. */
static void on_run_down(void *owner)
{
    struct lift *lift = owner;
    if (!lift->router_on) {
        lift_save(lift, then_nothing);
    }
}

void rules_init(struct lift *lift)
{
    lift->run_down_timer = (struct clock_timer){.due = on_run_down, .owner = lift};
}

void rules_close(struct lift *lift)
{
    clock_clear(lift->clock, &lift->run_down_timer);
}

bool rules_heard(struct lift *lift)
{
    bool on = lift_input(lift, LINK_INPUT_ROUTER);
    if (lift->router_on && !on) {
        lift->router_off_ns = clock_now_ns(lift->clock);
        clock_set(lift->clock, &lift->run_down_timer,
                  lift->router_off_ns + lift->config.run_down_ns);
    }
    bool changed = lift->router_on != on;
    lift->router_known = true;
    lift->router_on = on;
    if (changed) { /* a daemon that starts while it runs down must know */
        lift_keep_change(lift, &lift->zero, NULL, NULL);
    }
    plate_heard(lift);
    const struct lift_move *move = &lift->move;
    /* What began while it was at rest may be fast, and go further than a pass. */
    return move->active && !move->ended && move->begun && on &&
           (changed || !(turning_allows(lift, move->kind) && move->plan.legs == 1));
}
