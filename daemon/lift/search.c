/* SPDX-License-Identifier: MIT */
/* find-top: the reference, from the top switch. */
#include <stdio.h>

#include "daemon/lift/state.h"

enum {
    CLEAR_NM = 6350000, /* 1/4 in, off a closed switch; and back after the first approach */
    SLOW_PART = 4,      /* of the search speed, for the approach that counts */
};

/* One straight leg, up or down. */
static void leg(struct lift *lift, enum search_stage stage, int64_t distance_nm, double rate_hz,
                uint8_t awaited)
{
    int32_t steps = lift_steps_up(lift, distance_nm < 0 ? -distance_nm : distance_nm);
    lift->move.search = stage;
    lift->move.rate_hz = rate_hz;
    lift->move.leg = 0;
    lift->move.plan =
        (struct plan){.legs = 1, .end = {lift->count + (distance_nm < 0 ? -steps : steps)}};
    move_leg(lift, awaited);
}

static void seek(struct lift *lift, enum search_stage stage, double rate_hz)
{
    int64_t most_nm = lift->config.travel_nm + lift->config.top_margin_nm + CLEAR_NM;
    leg(lift, stage, most_nm, rate_hz, LINK_INPUT_TOP_SWITCH + 1);
}

static void begin(struct lift *lift)
{
    if (lift_input(lift, LINK_INPUT_TOP_SWITCH)) {
        leg(lift, SEARCH_CLEAR, -CLEAR_NM, lift->config.search_hz, 0);
    } else {
        seek(lift, SEARCH_SEEK, lift->config.search_hz);
    }
}

static void fail(struct lift *lift, const char *sentence)
{
    lift->top_open_allowed = false;
    move_finish(lift, REASON_TOP_NOT_FOUND, sentence);
}

/* A leg has come to its end without meeting the switch. */
void search_ended(struct lift *lift)
{
    bool closed = lift_input(lift, LINK_INPUT_TOP_SWITCH);
    switch (lift->move.search) {
    case SEARCH_CLEAR:
        if (closed) {
            fail(lift, "The top switch stays closed though the lift went down. Nothing is known "
                       "of the top. Look at the switch and its cable.");
        } else {
            seek(lift, SEARCH_SEEK, lift->config.search_hz);
        }
        break;
    case SEARCH_BACK:
        if (closed) {
            fail(lift, "The top switch did not open again. Nothing is known of the top. Look at "
                       "the switch and its cable.");
        } else {
            seek(lift, SEARCH_SLOW, lift->config.search_hz / SLOW_PART);
        }
        break;
    default:
        /* It was driven on, perhaps against an end: nobody knows how many steps it made. */
        trust_apply(&lift->zero.trusted, TRUST_IN_MOVE_LOSS);
        fail(lift, "The lift has gone up by its whole travel and met no top switch. Position "
                   "and height are lost. Look at the switch, and whether the lift moves at all.");
        break;
    }
}

bool search_stopped(struct lift *lift, uint8_t why, int32_t latched_count)
{
    struct lift_move *move = &lift->move;
    if (move->search >= PLATE_SEEK) {
        return plate_stopped(lift, why, latched_count);
    }
    bool met = why == LINK_WHY_INPUT + LINK_INPUT_TOP_SWITCH;
    if (!move->active || move->ended || !met || move->stopped_by[0] != '\0') {
        return false;
    }
    if (move->search == SEARCH_SEEK) {
        move->search = SEARCH_BACK;
    } else if (move->search == SEARCH_SLOW) {
        move->search = SEARCH_LEAVE;
        lift_place_top(lift, latched_count);
    } else {
        return false;
    }
    lift_resync(lift); /* and on from search_synced */
    return true;
}

/* The generator takes strides again. */
void search_synced(struct lift *lift)
{
    struct lift_move *move = &lift->move;
    struct lift_refusal refusal;
    if (move->search >= PLATE_SEEK) {
        plate_synced(lift);
        return;
    }
    if (move->search == SEARCH_CLEAR) {
        begin(lift);
        return;
    }
    if (move->search == SEARCH_BACK) {
        leg(lift, SEARCH_BACK, -CLEAR_NM, lift->config.search_hz, 0);
        return;
    }
    /* The switch may brake again once the lift is off it. */
    move->search = SEARCH_LEAVE;
    move->rate_hz = move_rate_hz(lift);
    move->target_nm = lift_high_nm(lift);
    move->leg = 0;
    if (!move_plan(lift, move->target_nm, PLAN_UPWARD, &move->plan, &refusal)) {
        fail(lift, refusal.sentence);
        return;
    }
    move_leg(lift, 0);
}

bool lift_find_top(struct lift *lift, lift_done *done, void *owner, struct lift_refusal *refusal)
{
    struct lift_move move = {
        .kind = MOVE_FIND_TOP, .search = SEARCH_CLEAR, .done = done, .owner = owner};
    if (!rules_allow(lift, MOVE_FIND_TOP, refusal)) {
        return false;
    }
    if (!(lift->config.inputs & 1u << LINK_INPUT_TOP_SWITCH)) {
        lift_refuse(refusal, REASON_NO_TOP_SWITCH,
                    "This lift has no top switch. Nothing has moved. Bring it up to its mechanical "
                    "top by nudges, then say here --top.");
        return false;
    }
    lift->top_open_allowed = true;
    move_begin(lift, &move);
    return true;
}
