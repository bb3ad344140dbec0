/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <string.h>

#include "daemon/lift/state.h"
#include "protocol/length.h"

int32_t lift_steps_up(const struct lift *lift, int64_t nm)
{
    int32_t steps;
    if (!screw_steps(&lift->config.screw, nm, &steps)) {
        return INT32_MAX / 2;
    }
    return screw_position_nm(&lift->config.screw, steps) < nm ? steps + 1 : steps;
}

static bool next_stride(void *owner, struct stride *stride, uint64_t *leg_ticks, bool *failed)
{
    struct lift *lift = owner;
    enum encode_result result = encoder_next(&lift->move.encoder, stride);
    *leg_ticks = encoder_ticks(&lift->move.encoder);
    *failed = result != ENCODE_STRIDE && result != ENCODE_DONE;
    return result == ENCODE_STRIDE;
}

void move_leg(struct lift *lift)
{
    struct lift_move *move = &lift->move;
    const struct link_board *board = link_board(lift->link);
    int32_t end = move->plan.end[move->leg];
    int64_t steps = (int64_t)end - lift->count;
    double acceleration = lift->config.brake_hz_s * LIFT_PLAN_PERCENT / 100;
    struct profile_request asked = {
        .steps = (double)(steps < 0 ? -steps : steps),
        .rate_hz = lift->config.rate_hz,
        .rise_hz_s = acceleration,
        .fall_hz_s = acceleration,
    };
    struct encode_limits limits = {
        .tick_hz = board->tick_hz,
        .tolerance_ticks = board->tick_hz * 0.25e-6,
        .inside_min_ticks = board->inside_min_ticks,
        .first_min_ticks = board->first_min_ticks,
    };
    move->leg_start = lift->count;
    if (!profile_plan(&move->profile, &asked)) {
        move_finish(lift, REASON_LINK_FAULT, "The move could not be worked out. The lift has not "
                                             "moved; check the speeds in the configuration.");
        return;
    }
    encoder_init(&move->encoder, &move->profile, &limits, steps < 0);
    link_leg(lift->link, next_stride, lift, end);
}

static void take_count(struct lift *lift, int32_t count)
{
    play_moved(&lift->play, lift->count, count, lift_steps_up(lift, lift->config.lash_nm));
    lift->count = count;
}

void move_ended(struct lift *lift, int32_t count)
{
    struct lift_move *move = &lift->move;
    take_count(lift, count);
    if (!move->active || move->ended) {
        return; /* braked meanwhile, and the brake came too late to matter */
    }
    if (count != move->plan.end[move->leg]) {
        move_finish(lift, REASON_LINK_FAULT,
                    "The step generator came to rest elsewhere than it was told to. The height "
                    "shown is where it says it stands; touch off again before you cut.");
        lift->table_zero = LIFT_LOST;
        return;
    }
    if (move->stopped_by[0] == '\0' && ++move->leg < move->plan.legs) {
        move_leg(lift);
        return;
    }
    if (move->stopped_by[0] == '\0') {
        lift->wanted_known = true;
        lift->wanted_nm = move->target_nm;
        move->reached = true;
        move_finish(lift, REASON_NONE, "");
    } /* else `stopped` is on its way, and ends the move */
}

void move_finish(struct lift *lift, enum reason reason, const char *sentence)
{
    struct lift_move *move = &lift->move;
    if (!move->active || move->ended) {
        return;
    }
    move->ended = true;
    move->outcome.reason = reason;
    snprintf(move->outcome.sentence, sizeof move->outcome.sentence, "%s", sentence);
    /* Never from within the call that asked: `done` may ask for the next motion. */
    clock_set(lift->clock, &lift->done_timer, clock_now_ns(lift->clock));
}

static void tell_waiters(struct lift *lift)
{
    while (lift->waiters) {
        struct lift_waiter *waiter = lift->waiters;
        lift->waiters = waiter->next;
        waiter->rested(waiter->owner);
    }
}

void lift_await_rest(struct lift *lift, struct lift_waiter *waiter)
{
    waiter->next = lift->waiters;
    lift->waiters = waiter;
    if (!lift->move.active) {
        clock_set(lift->clock, &lift->done_timer, clock_now_ns(lift->clock));
    }
}

void lift_await_cancel(struct lift *lift, struct lift_waiter *waiter)
{
    for (struct lift_waiter **at = &lift->waiters; *at; at = &(*at)->next) {
        if (*at == waiter) {
            *at = waiter->next;
            return;
        }
    }
}

void move_tell(struct lift *lift)
{
    struct lift_move *move = &lift->move;
    bool settled = link_ready(lift->link) || lift->barred || !link_board(lift->link);
    if (!settled || (move->active && !move->ended)) {
        return;
    }
    tell_waiters(lift);
    if (!move->active) {
        return;
    }
    struct lift_refusal outcome = move->outcome;
    lift_done *done = move->done;
    void *owner = move->owner;
    bool reached = move->reached;
    *move = (struct lift_move){.active = false};
    if (done) {
        done(owner, reached ? NULL : &outcome);
    }
}

/* What stands in the way of any motion. */
static bool may_move(const struct lift *lift, struct lift_refusal *refusal)
{
    const struct link_report *report = link_report(lift->link);
    if (!report) {
        lift_refuse(refusal, REASON_UNPLUGGED,
                    "No step generator: %s. Nothing can move. Check its cable and supply; it is "
                    "found again by itself.", lift->why);
    } else if (report->inputs & 1u << LINK_INPUT_STOP_CIRCUIT) {
        lift_refuse(refusal, REASON_STOP_OPEN,
                    "The stop circuit is open. Nothing can move. See why it was opened, close it, "
                    "then say all-clear.");
    } else if (lift->barred) {
        lift_refuse(refusal, REASON_BARRED,
                    "Motion is barred: %s. When that is put right and the lift is clear, say "
                    "all-clear.", lift->why);
    } else if (lift->move.active) {
        lift_refuse(refusal, REASON_BUSY,
                    "The lift is moving already. Wait until it is there, or stop it first.");
    } else if (!link_ready(lift->link)) {
        lift_refuse(refusal, REASON_BUSY,
                    "The step generator is being made ready. Nothing has moved; ask again in a "
                    "second.");
    } else {
        return true;
    }
    return false;
}

static bool planned(const struct lift *lift, int32_t to, struct plan *plan,
                    struct lift_refusal *refusal)
{
    struct plan_limits limits = {
        .low = -lift_steps_up(lift, -lift->config.low_nm),
        .high = lift_steps_up(lift, lift->config.high_nm),
        .take_up = lift_steps_up(lift, lift->config.take_up_nm),
    };
    char most[64];
    enum plan_result result = plan_move(plan, &limits, &lift->play, lift->count, to);
    if (result == PLAN_ABOVE) {
        lift_say_height(lift, lift->config.high_nm, most, sizeof most);
        lift_refuse(refusal, REASON_ABOVE_TRAVEL,
                    "That is above the lift's travel, which ends at %s. Nothing has moved. Set the "
                    "bit further out of the collet if the cut needs it, and touch off again.",
                    most);
    } else if (result == PLAN_BELOW) {
        lift_say_height(lift, lift->config.low_nm, most, sizeof most);
        lift_refuse(refusal, REASON_BELOW_TRAVEL,
                    "That is below the lift's travel, which ends at %s. Nothing has moved.", most);
    } else if (result == PLAN_NO_ROOM) {
        lift_refuse(refusal, REASON_TAKE_UP,
                    "That is so near the lower end of the travel that the lash cannot be taken up "
                    "from below. Nothing has moved. Ask for a greater height.");
    }
    return result == PLAN_MADE;
}

static bool go(struct lift *lift, int64_t target_nm, lift_done *done, void *owner,
               struct lift_refusal *refusal)
{
    int32_t to;
    struct plan plan;
    if (!screw_steps(&lift->config.screw, target_nm, &to)) {
        to = target_nm > 0 ? INT32_MAX : INT32_MIN; /* beyond any travel; the plan says so */
    }
    if (!planned(lift, to, &plan, refusal)) {
        return false;
    }
    lift->move = (struct lift_move){
        .active = true,
        .plan = plan,
        .target_nm = target_nm,
        .done = done,
        .owner = owner,
    };
    lift->wanted_known = false;
    if (plan.legs == 0) {
        lift->wanted_known = true;
        lift->wanted_nm = target_nm;
        lift->move.reached = true;
        move_finish(lift, REASON_NONE, "");
    } else {
        move_leg(lift);
    }
    return true;
}

bool lift_to(struct lift *lift, int64_t height_nm, lift_done *done, void *owner,
             struct lift_refusal *refusal)
{
    if (!may_move(lift, refusal)) {
        return false;
    }
    if (lift->table_zero != LIFT_SURE) {
        lift_refuse(refusal, REASON_HEIGHT_UNKNOWN,
                    "The height of the bit is not known. Nothing has moved. Nudge the bit to a "
                    "height that you can see or measure, coming up to it, and touch off there.");
        return false;
    }
    return go(lift, lift->zero_nm + height_nm, done, owner, refusal);
}

bool lift_by(struct lift *lift, int64_t distance_nm, lift_done *done, void *owner,
             struct lift_refusal *refusal)
{
    if (!may_move(lift, refusal)) {
        return false;
    }
    int64_t most_nm = lift->config.nudge_most_nm;
    if (lift->table_zero != LIFT_SURE && (distance_nm > most_nm || distance_nm < -most_nm)) {
        char most[LENGTH_TEXT_SIZE];
        length_print(most_nm, LENGTH_STYLE_64, most, sizeof most);
        lift_refuse(refusal, REASON_NUDGE_TOO_FAR,
                    "The height of the bit is not known, so a nudge goes %s in at the most. "
                    "Nothing has moved. Nudge in smaller steps and look, then touch off.", most);
        return false;
    }
    int64_t from_nm = lift->wanted_known ? lift->wanted_nm : lift_carriage_nm(lift);
    return go(lift, from_nm + distance_nm, done, owner, refusal);
}

bool lift_touch(struct lift *lift, int64_t height_nm, struct lift_refusal *refusal)
{
    if (!may_move(lift, refusal)) {
        return false;
    }
    if (lift->play.slack_steps > 0 ||
        lift->play.risen_steps < lift_steps_up(lift, lift->config.take_up_nm)) {
        char least[LENGTH_TEXT_SIZE];
        length_print(lift->config.take_up_nm, LENGTH_STYLE_IN, least, sizeof least);
        lift_refuse(refusal, REASON_COME_UP_FIRST,
                    "The bit has not come up far enough since it last went down: lash would be in "
                    "the zero. Nothing has changed. Go below, come up at least %s, then touch off.",
                    least);
        return false;
    }
    lift->zero_nm = lift_position_nm(lift, lift->count) - height_nm;
    lift->table_zero = LIFT_SURE;
    lift->wanted_known = true;
    lift->wanted_nm = lift_position_nm(lift, lift->count);
    return true;
}

bool lift_stop(struct lift *lift, const char *who)
{
    struct lift_move *move = &lift->move;
    if (!move->active || move->ended) {
        return false;
    }
    snprintf(move->stopped_by, sizeof move->stopped_by, "%s", who);
    link_brake(lift->link);
    return true;
}

void lift_abandon(struct lift *lift, void *owner)
{
    if (!lift->move.active || lift->move.owner != owner) {
        return;
    }
    lift->move.done = NULL;
    lift->move.owner = NULL;
    lift_stop(lift, "the client that asked for the move went away");
}
