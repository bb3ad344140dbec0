/* SPDX-License-Identifier: MIT */
/* What can be asked of the lift at any time. */
#include "daemon/lift/state.h"

const char *lift_port_path(const struct lift *lift)
{
    return lift->config.port_path;
}

uint32_t lift_bit(const struct lift *lift)
{
    return lift->zero.bit;
}

static enum lift_activity activity(const struct lift *lift)
{
    const struct link_report *report = link_report(lift->link);
    if (!report) {
        return LIFT_UNPLUGGED;
    }
    if (lift->move.active && !lift->move.ended) {
        return lift->move.stopped_by[0] != '\0' || report->state == LINK_STATE_BRAKING
                   ? LIFT_BRAKING
                   : LIFT_MOVING;
    }
    if (lift->barred) {
        return LIFT_BARRED;
    }
    return lift_input(lift, LINK_INPUT_MOTOR_SUPPLY) ? LIFT_UNPOWERED : LIFT_STILL;
}

/* How far a height may be asked for: the travel, the ring, and the room for the take-up. */
static void add_reach(const struct lift *lift, int64_t zero_nm, struct lift_status *status)
{
    struct plan_limits limits = move_limits(lift);
    int32_t low;
    int32_t high;
    plan_reach(&limits, &low, &high);
    status->reach_known = status->height_known && status->reference != TRUST_LOST &&
                          status->activity != LIFT_UNPLUGGED && low < high;
    status->lowest_nm = lift_position_nm(lift, low) - zero_nm;
    status->highest_nm = lift_position_nm(lift, high) - zero_nm;
}

static void add_readout(const struct lift *lift, struct lift_status *status)
{
    const struct lift_readout *r = &lift->readout;
    status->readout = r->state;
    status->readout_checks = lift->config.readout_checks;
    status->reading_known = r->known;
    status->reading_nm = r->reading_nm;
    status->reading_age_ns = clock_now_ns(lift->clock) - r->read_ns;
    status->apart_known = r->apart_known && r->matched;
    status->apart_nm = r->apart_nm;
    status->drift_nm = (int64_t)r->drift_nm;
}

void lift_status(const struct lift *lift, struct lift_status *status)
{
    const struct link_report *report = link_report(lift->link);
    bool moving = lift->move.active && !lift->move.ended;
    int32_t count = moving && report ? report->count : lift->count;
    struct play play = lift->play;
    play_moved(&play, lift->count, count, lift_lash_steps(lift));
    enum trust table_zero = lift->zero.trusted.table_zero;
    int64_t zero_nm = table_zero == TRUST_LOST ? 0 : lift->zero.zero_nm + lift->zero.riding_nm;
    bool followed = report || !lift->under_way; /* else it may stand anywhere on its way */
    *status = (struct lift_status){
        .activity = activity(lift),
        .reference = lift->zero.trusted.reference,
        .table_zero = table_zero,
        .height_known = table_zero != TRUST_LOST && followed,
        .play_known = play.known,
        .play_taken_up = plan_taken_up(&play, lift->config.finish, lift_lash_steps(lift)),
        .count = count,
        .position_nm = lift_carriage_at_nm(lift, count, &play),
        .moving_to_known = moving && lift->move.search == SEARCH_NONE && !lift->move.holding,
        .moving_to_nm = moving ? lift->move.target_nm - zero_nm : 0,
        .age_ns = report ? clock_now_ns(lift->clock) - report->heard_ns : 0,
        .bit = lift->zero.bit,
        .before_bit = lift->zero.before_bit,
        .before_nm = lift->zero.before_nm,
        .riding_nm = lift->zero.riding_nm,
        .stage = lift->zero.stage,
        .asks = lift->zero.asks,
        .router_turning = rules_turning(lift),
        .carriage_locked = lift_input(lift, LINK_INPUT_CARRIAGE_LOCK),
        .plate_closed = lift_input(lift, LINK_INPUT_TOUCH_PLATE),
        .zero_moved_known = lift->zero.moved_known,
        .zero_moved_nm = lift->zero.moved_nm,
        .corrected_known = lift->zero.corrected_known,
        .corrected_nm = lift->zero.corrected_nm,
        .preset = moving ? 0 : lift->zero.preset,
        .in_motion = moving,
        .holding = moving && lift->move.holding,
        .inputs = report ? report->inputs & lift->config.inputs : 0,
        .dust_fitted = lift->config.dust_output != 0,
        .dust_on = lift->outputs.dust_on,
        .lock_fitted = lift->config.lock_output != 0,
        .lock_set = lift->outputs.lock_set,
        .stop_open = lift_input(lift, LINK_INPUT_STOP_CIRCUIT),
        .board = lift->board,
        .boot = lift->boot,
        .barred_why = report ? lift->why : lift->gone_why,
    };
    add_readout(lift, status);
    status->height_nm = status->position_nm - zero_nm;
    add_reach(lift, zero_nm, status);
    status->place = lift->zero.place;
    status->wanted_known = lift->zero.wanted_known;
    status->wanted_nm = lift->zero.wanted_nm - zero_nm;
}
