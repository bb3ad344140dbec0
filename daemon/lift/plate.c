/* SPDX-License-Identifier: MIT */
/* Touching off by the touch plate: up to it, back, and up to it slowly, several times. */
#include <math.h>
#include <stdio.h>

#include "daemon/lift/state.h"

enum {
    BACK_MORE_NM = 500000, /* beyond the take-up, so that the contact opens for sure */
    SLOW_PART = 4,         /* of the search speed, for the touches that count */
    LEAVE_NM = 3175000,    /* 1/8 in: the plate can be taken away */
};

void plate_heard(struct lift *lift)
{
    bool closed = lift_input(lift, LINK_INPUT_TOUCH_PLATE);
    if (lift->move.active) {
        return; /* what the lift closes by itself proves nothing */
    }
    if (closed) {
        lift->plate.seen_closed = true;
        lift->plate.seen_open = false;
    } else if (lift->plate.seen_closed) {
        lift->plate.seen_open = true;
    }
}

/* One straight leg, up to the plate or down from it. */
static void leg(struct lift *lift, enum search_stage stage, int64_t distance_nm, double rate_hz)
{
    int32_t steps = lift_steps_up(lift, distance_nm < 0 ? -distance_nm : distance_nm);
    struct plan_limits limits = move_limits(lift);
    int32_t end = lift->count + (distance_nm < 0 ? -steps : steps);
    end = end > limits.high ? limits.high : end;
    end = end < limits.low ? limits.low : end;
    lift->move.search = stage;
    lift->move.rate_hz = rate_hz;
    lift->move.leg = 0;
    lift->move.plan = (struct plan){.legs = 1, .end = {end}};
    move_leg(lift, distance_nm > 0 ? LINK_INPUT_TOUCH_PLATE + 1 : 0);
}

static void back(struct lift *lift)
{
    bool all = lift->plate.touches == PLATE_TOUCHES;
    leg(lift, all ? PLATE_LEAVE : PLATE_BACK,
        all ? -LEAVE_NM : -(lift->config.take_up_nm + BACK_MORE_NM), lift->config.search_hz);
}

/* The touches agree: the mean of them is where the bit meets the plate. */
static void take_zero(struct lift *lift)
{
    const struct lift_plate *plate = &lift->plate;
    int32_t least = plate->count[0];
    int32_t most = plate->count[0];
    int64_t sum = 0;
    char spread[128];
    for (int i = 0; i < PLATE_TOUCHES; i++) {
        least = plate->count[i] < least ? plate->count[i] : least;
        most = plate->count[i] > most ? plate->count[i] : most;
        sum += lift_position_nm(lift, plate->count[i]);
    }
    int64_t spread_nm = lift_position_nm(lift, most) - lift_position_nm(lift, least);
    lift_say_length(spread_nm, spread, sizeof spread);
    if (spread_nm > lift->config.plate_spread_nm) {
        char sentence[LIFT_SENTENCE];
        snprintf(sentence, sizeof sentence,
                 "The touches differ by %s, more than may be. The zero is as it was. Clean plate "
                 "and bit, see that the collet is tight and the plate lies flat, and touch off "
                 "again.",
                 spread);
        move_finish(lift, REASON_PLATE_SPREAD, sentence);
        return;
    }
    lift_set_zero(lift, sum / PLATE_TOUCHES, lift->config.plate_height_nm + plate->offset_nm);
    lift->move.target_nm = lift_position_nm(lift, lift->count);
    lift_note(lift, "touched-off", "by the touch plate");
    move_reach(lift);
}

void plate_ended(struct lift *lift)
{
    bool closed = lift_input(lift, LINK_INPUT_TOUCH_PLATE);
    enum search_stage stage = lift->move.search;
    if (stage == PLATE_SEEK || stage == PLATE_SLOW) {
        move_finish(lift, REASON_PLATE_NOT_MET,
                    "The bit has come up as far as was said and met no plate. The zero is as it "
                    "was. See that the plate lies over the bit and its wire is on.");
    } else if (closed) {
        move_finish(lift, REASON_PLATE_CLOSED,
                    "The plate's contact stays closed though the bit went down. The zero is as it "
                    "was. Look at the plate and its wires.");
    } else if (stage == PLATE_BACK) {
        leg(lift, PLATE_SLOW, lift->config.take_up_nm + 4 * (int64_t)BACK_MORE_NM,
            lift->config.search_hz / SLOW_PART);
    } else {
        take_zero(lift);
    }
}

bool plate_stopped(struct lift *lift, uint8_t why, int32_t latched_count)
{
    struct lift_move *move = &lift->move;
    bool met = why == LINK_WHY_INPUT + LINK_INPUT_TOUCH_PLATE;
    if (!move->active || move->ended || !met || move->stopped_by[0] != '\0') {
        return false;
    }
    if (move->search == PLATE_SLOW) {
        /* A contact is believed after it has been quiet; meanwhile the lift went on. */
        double late_steps = move->rate_hz * lift->config.debounce_ms / 1000;
        lift->plate.count[lift->plate.touches++] = latched_count - (int32_t)lround(late_steps);
    } else if (move->search != PLATE_SEEK) {
        return false;
    }
    lift_resync(lift); /* and on from plate_synced */
    return true;
}

void plate_synced(struct lift *lift)
{
    back(lift); /* behind a touch */
}

void plate_begin(struct lift *lift)
{
    leg(lift, PLATE_SEEK, lift->plate.most_nm, lift->config.search_hz);
}

static bool plate_allowed(const struct lift *lift, struct lift_refusal *refusal)
{
    if (!(lift->config.inputs & 1u << LINK_INPUT_TOUCH_PLATE)) {
        lift_refuse(refusal, REASON_NO_PLATE,
                    "This lift has no touch plate. Nothing has moved. Touch off flush or on a "
                    "block.");
    } else if (lift_input(lift, LINK_INPUT_TOUCH_PLATE)) {
        lift_refuse(refusal, REASON_PLATE_CLOSED,
                    "The plate's contact is closed already. Nothing has moved. The bit must be "
                    "below the plate; look at plate and wires.");
    } else if (!lift->plate.seen_open) {
        lift_refuse(refusal, REASON_PLATE_CHECK,
                    "First touch the plate to the bit by hand once, and lift it off again, so that "
                    "its contact is seen to work. Nothing has moved. Then lay it down and say it "
                    "again.");
    } else if (lift->count >= move_limits(lift).high) {
        lift_refuse(refusal, REASON_ABOVE_TRAVEL,
                    "The lift stands at the upper end of its travel, with no way up to the plate. "
                    "Nothing has moved. Take the plate away, bring the bit down, then lay it down "
                    "and say it again.");
    } else {
        return true;
    }
    return false;
}

bool lift_touch_plate(struct lift *lift, int64_t most_nm, int64_t offset_nm, lift_done *done,
                      void *owner, struct lift_refusal *refusal)
{
    struct lift_move move = {
        .kind = MOVE_PLATE, .search = PLATE_SEEK, .done = done, .owner = owner};
    if (!rules_allow(lift, MOVE_PLATE, refusal) || !plate_allowed(lift, refusal)) {
        return false;
    }
    lift->plate = (struct lift_plate){.offset_nm = offset_nm, .most_nm = most_nm};
    move_begin(lift, &move);
    return true;
}
