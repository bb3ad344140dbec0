/* SPDX-License-Identifier: MIT */
/* One motion, from its intent on disk to its result there. */
#include <stdio.h>
#include <string.h>

#include "daemon/lift/state.h"

static bool next_stride(void *owner, struct stride *stride, uint64_t *leg_ticks, bool *failed)
{
    struct lift *lift = owner;
    enum encode_result result = encoder_next(&lift->move.encoder, stride);
    *leg_ticks = encoder_ticks(&lift->move.encoder);
    *failed = result != ENCODE_STRIDE && result != ENCODE_DONE;
    return result == ENCODE_STRIDE;
}

void move_leg(struct lift *lift, uint8_t awaited)
{
    struct lift_move *move = &lift->move;
    const struct link_board *board = link_board(lift->link);
    int32_t end = move->plan.end[move->leg];
    int64_t steps = (int64_t)end - lift->count;
    double acceleration = lift->config.brake_hz_s * LIFT_PLAN_PERCENT / 100;
    struct encode_limits limits = {
        .tick_hz = board->tick_hz,
        .tolerance_ticks = board->tick_hz * 0.25e-6,
        .inside_min_ticks = board->inside_min_ticks,
        .first_min_ticks = board->first_min_ticks,
    };
    double most_hz = encode_rate_max_hz(&limits);
    struct profile_request asked = {
        .steps = (double)(steps < 0 ? -steps : steps),
        .rate_hz = move->rate_hz < most_hz ? move->rate_hz : most_hz,
        .rise_hz_s = acceleration,
        .fall_hz_s = acceleration,
    };
    if (!profile_plan(&move->profile, &asked)) {
        move_finish(lift, REASON_LINK_FAULT,
                    "The move could not be worked out. The lift has not "
                    "moved; check the speeds in the configuration.");
        return;
    }
    encoder_init(&move->encoder, &move->profile, &limits, steps < 0);
    link_leg(lift->link, next_stride, lift, end, awaited);
}

/* Its record is on disk, or the disk has said why not; either way the lift is where it is. */
static void then_result(struct lift *lift, bool kept, const char *why)
{
    (void)kept;
    (void)why;
    lift->move.kept = true;
    move_tell(lift);
}

void move_finish(struct lift *lift, enum reason reason, const char *sentence)
{
    struct lift_move *move = &lift->move;
    if (!move->active || move->ended) {
        return;
    }
    move->ended = true;
    outputs_update(lift);
    lift->moved_ns = clock_now_ns(lift->clock);
    if (move->kind == MOVE_HOLD && move->begun && lift->zero.stage == LIFT_STAGE_FITTED) {
        lift->zero.stage = LIFT_STAGE_NONE; /* the new bit was brought down by eye */
    }
    move->outcome.reason = reason;
    snprintf(move->outcome.sentence, sizeof move->outcome.sentence, "%s", sentence);
    if (move->kept) {
        clock_set(lift->clock, &lift->done_timer, clock_now_ns(lift->clock));
        return;
    }
    lift->under_way = false;
    lift_save(lift, then_result);
}

void move_reach(struct lift *lift)
{
    if (readout_awaited(lift)) {
        return;
    }
    if (lift->move.kind == MOVE_CHANGE) {
        lift->zero.stage = LIFT_STAGE_CHANGING; /* hands go to the collet now */
    }
    if (lift->move.marks) {
        lift->zero.place = lift->move.place;
    }
    if (lift->move.dust != 0) {
        lift_set_dust(lift, lift->move.dust);
    }
    lift->zero.wanted_known = !lift->move.holding && lift->move.kind != MOVE_GAUGE;
    lift->zero.wanted_nm = lift->move.target_nm;
    lift->zero.preset = lift->move.preset;
    lift->move.reached = true;
    move_finish(lift, REASON_NONE, "");
    lift_note(lift, "reached", "a move ended where it was told to");
    if (lift->top_open_allowed) {
        lift->top_open_allowed = false; /* the search is over: the switch brakes again */
        lift_resync(lift);
    }
}

void move_ended(struct lift *lift, int32_t count)
{
    struct lift_move *move = &lift->move;
    play_moved(&lift->play, lift->count, count, lift_lash_steps(lift));
    lift->count = count;
    if (!move->active || move->ended || move->stopped_by[0] != '\0') {
        return; /* braked too late to matter: `stopped` is on its way, and ends the move */
    }
    if (count != move->plan.end[move->leg]) {
        trust_apply(&lift->zero.trusted, TRUST_IN_MOVE_LOSS);
        move_finish(lift, REASON_LINK_FAULT,
                    "The step generator came to rest elsewhere than it was told to. Position and "
                    "height are lost; find the top, and touch off again before you cut.");
        return;
    }
    if (++move->leg < move->plan.legs) {
        move_leg(lift, 0);
    } else if (move->search >= PLATE_SEEK) {
        plate_ended(lift);
    } else if (move->search != SEARCH_NONE && move->search != SEARCH_LEAVE) {
        search_ended(lift);
    } else {
        move_reach(lift);
    }
}

static void tell_waiters(struct lift *lift)
{
    unsigned round = lift->waiter_round++;
    struct lift_waiter **at = &lift->waiters;
    while (*at) {
        struct lift_waiter *waiter = *at;
        if (waiter->round != round) {
            at = &waiter->next;
            continue;
        }
        *at = waiter->next;
        waiter->rested(waiter->owner);
        at = &lift->waiters; /* whoever was told may have changed the list */
    }
}

void lift_await_rest(struct lift *lift, struct lift_waiter *waiter)
{
    waiter->round = lift->waiter_round;
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
    bool settled = lift->synced || lift->barred || lift->closed || !link_board(lift->link);
    if (!settled || (move->active && !(move->ended && move->kept))) {
        return;
    }
    if (!move->active) {
        tell_waiters(lift);
        return;
    }
    struct lift_refusal outcome = move->outcome;
    lift_done *done = move->done;
    void *owner = move->owner;
    bool reached = move->reached;
    *move = (struct lift_move){.active = false};
    tell_waiters(lift);
    if (done) {
        done(owner, reached ? NULL : &outcome);
    }
    if (lift->closed &&
        !lift->down) { /* its asker has been told; now the rest of the daemon may end */
        clock_set(lift->clock, &lift->close_timer, clock_now_ns(lift->clock));
    }
}

double move_rate_hz(const struct lift *lift)
{
    return lift->zero.trusted.reference == TRUST_LOST ? lift->config.search_hz
                                                      : lift->config.move_hz;
}

static void start(struct lift *lift)
{
    readout_leave(lift);
    lift->move.begun = true;
    if (lift->move.search == PLATE_SEEK) {
        plate_begin(lift);
    } else if (lift->move.search != SEARCH_NONE) {
        lift_resync(lift); /* the top switch must not brake now; on from search_synced */
    } else {
        move_leg(lift, 0);
    }
}

/* The link is ready: the clamp first, where there is one. */
static void proceed(struct lift *lift)
{
    struct lift_refusal refusal;
    struct lift_move *move = &lift->move;
    if (lift->config.lock_output != 0 && !move->unlocked) {
        move->unlocking = true;
        outputs_unlock(lift);
    } else if (!rules_still_allow(lift, move->kind, &refusal)) {
        move_finish(lift, refusal.reason, refusal.sentence);
    } else {
        start(lift);
    }
}

void move_unlocked(struct lift *lift)
{
    struct lift_move *move = &lift->move;
    if (!move->active || move->ended || !move->unlocking) {
        return;
    }
    move->unlocking = false;
    move->unlocked = true;
    if (lift->synced && link_ready(lift->link)) {
        proceed(lift);
    } else {
        move->waiting = true;
    }
}

static void finish_unbegun(struct lift *lift)
{
    char sentence[LIFT_SENTENCE];
    snprintf(sentence, sizeof sentence, "Stopped by %s. The lift had not begun to move.",
             lift->move.stopped_by);
    move_finish(lift, REASON_STOPPED, sentence);
}

bool move_link_ready(struct lift *lift)
{
    struct lift_move *move = &lift->move;
    if (!move->active || move->ended || !move->waiting) {
        return false;
    }
    move->waiting = false;
    proceed(lift);
    return true;
}

static void then_begin(struct lift *lift, bool kept, const char *why)
{
    struct lift_move *move = &lift->move;
    char sentence[LIFT_SENTENCE];
    if (!move->active || move->ended) {
        return; /* the generator went away meanwhile */
    }
    if (!kept) {
        snprintf(sentence, sizeof sentence,
                 "The lift has not moved: %s. See to the disk, then ask again.", why);
        move_finish(lift, REASON_NOT_KEPT, sentence);
    } else if (move->stopped_by[0] != '\0') {
        finish_unbegun(lift);
    } else if (lift->barred) {
        move_finish(lift, REASON_STOPPED,
                    "Stopped by the step generator, which was braked. The "
                    "lift had not begun to move.");
    } else if (lift->synced && link_ready(lift->link)) {
        proceed(lift);
    } else {
        move->waiting = true;
    }
}

void move_begin(struct lift *lift, const struct lift_move *move)
{
    lift->move = *move;
    lift->move.active = true;
    lift->under_way = true;
    lift->zero.wanted_known = false;
    lift->zero.preset = 0;
    lift_save(lift, then_begin);
}

void move_go(struct lift *lift, const struct lift_move *move)
{
    if (move->plan.legs > 0) {
        move_begin(lift, move);
        return;
    }
    lift->move = *move;
    lift->move.active = true;
    move_reach(lift); /* it is there already */
}

/* The speed of a kind of motion: slow where the eye has to follow. */
static double kind_rate_hz(const struct lift *lift, enum move_kind kind)
{
    bool slowly = (kind == MOVE_HELD_HEIGHT || kind == MOVE_HELD_NUDGE) && rules_turning(lift);
    double rate_hz = move_rate_hz(lift);
    return slowly && lift->config.hold_slow_hz < rate_hz ? lift->config.hold_slow_hz : rate_hz;
}

/* `mark`: the one that it is the height of, or NULL. */
static bool go(struct lift *lift, enum move_kind kind, int64_t target_nm, uint32_t preset,
               const struct lift_mark *mark, lift_done *done, void *owner,
               struct lift_refusal *refusal)
{
    struct lift_move move = {
        .kind = kind,
        .marks = mark != NULL,
        .place = mark ? mark->place : (struct lift_place){0},
        .dust = mark ? mark->dust : (enum lift_dust)0,
        .target_nm = target_nm,
        .preset = preset,
        .rate_hz = kind_rate_hz(lift, kind),
        .done = done,
        .owner = owner,
    };
    enum plan_finish finish = kind == MOVE_CHANGE ? PLAN_UPWARD : lift->config.finish;
    if (!move_plan(lift, target_nm, finish, &move.plan, refusal) ||
        !rules_allow_plan(lift, &move.plan, refusal)) {
        return false;
    }
    move_go(lift, &move);
    return true;
}

static bool to_height(struct lift *lift, enum move_kind kind, int64_t height_nm, uint32_t preset,
                      const struct lift_mark *mark, lift_done *done, void *owner,
                      struct lift_refusal *refusal)
{
    int64_t target_nm = lift->zero.zero_nm + lift->zero.riding_nm + height_nm;
    return rules_allow(lift, kind, refusal) &&
           go(lift, kind, target_nm, preset, mark, done, owner, refusal);
}

static bool by_distance(struct lift *lift, enum move_kind kind, int64_t distance_nm,
                        lift_done *done, void *owner, struct lift_refusal *refusal)
{
    int64_t most_nm = lift->config.nudge_most_nm;
    bool sure = lift->zero.trusted.table_zero == TRUST_SURE;
    if (!rules_allow(lift, kind, refusal)) {
        return false;
    }
    if (!sure && (distance_nm > most_nm || distance_nm < -most_nm)) {
        char most[128];
        lift_say_length(most_nm, most, sizeof most);
        lift_refuse(refusal, REASON_NUDGE_TOO_FAR,
                    "The height of the bit is not sure, so a nudge goes %s at the most. Nothing "
                    "has moved. Nudge in smaller steps and look, then touch off.",
                    most);
        return false;
    }
    int64_t from_nm = lift->zero.wanted_known ? lift->zero.wanted_nm : lift_carriage_nm(lift);
    return go(lift, kind, from_nm + distance_nm, 0, NULL, done, owner, refusal);
}

bool lift_to(struct lift *lift, int64_t height_nm, uint32_t preset, lift_done *done, void *owner,
             struct lift_refusal *refusal)
{
    return to_height(lift, MOVE_HEIGHT, height_nm, preset, NULL, done, owner, refusal);
}

bool lift_to_mark(struct lift *lift, const struct lift_mark *mark, lift_done *done, void *owner,
                  struct lift_refusal *refusal)
{
    return to_height(lift, MOVE_HEIGHT, mark->height_nm, 0, mark, done, owner, refusal);
}

bool lift_hold_to_mark(struct lift *lift, const struct lift_mark *mark, lift_done *done,
                       void *owner, struct lift_refusal *refusal)
{
    enum move_kind kind = mark->router_off ? MOVE_HEIGHT : MOVE_HELD_HEIGHT;
    return to_height(lift, kind, mark->height_nm, 0, mark, done, owner, refusal);
}

bool lift_hold_to(struct lift *lift, int64_t height_nm, lift_done *done, void *owner,
                  struct lift_refusal *refusal)
{
    return to_height(lift, MOVE_HELD_HEIGHT, height_nm, 0, NULL, done, owner, refusal);
}

bool lift_by(struct lift *lift, int64_t distance_nm, lift_done *done, void *owner,
             struct lift_refusal *refusal)
{
    return by_distance(lift, MOVE_NUDGE, distance_nm, done, owner, refusal);
}

bool lift_hold_by(struct lift *lift, int64_t distance_nm, lift_done *done, void *owner,
                  struct lift_refusal *refusal)
{
    return by_distance(lift, MOVE_HELD_NUDGE, distance_nm, done, owner, refusal);
}

bool lift_change(struct lift *lift, lift_done *done, void *owner, struct lift_refusal *refusal)
{
    struct lift_zero before = lift->zero;
    if (!rules_allow(lift, MOVE_CHANGE, refusal)) {
        return false;
    }
    lift_remember_bit(lift);
    trust_apply(&lift->zero.trusted, TRUST_BIT_CHANGED);
    lift->zero.corrected_known = false;
    if (!go(lift, MOVE_CHANGE, -lift->config.change_nm, 0, NULL, done, owner, refusal)) {
        lift->zero = before;
        return false;
    }
    return true;
}

bool lift_approach(struct lift *lift, int64_t position_nm, bool from_above, lift_done *done,
                   void *owner, struct lift_refusal *refusal)
{
    struct lift_move move = {
        .kind = MOVE_GAUGE,
        .target_nm = position_nm,
        .rate_hz = move_rate_hz(lift),
        .done = done,
        .owner = owner,
    };
    if (!rules_allow(lift, MOVE_GAUGE, refusal) ||
        !(from_above ? move_plan_from_above(lift, position_nm, &move.plan, refusal)
                     : move_plan(lift, position_nm, PLAN_UPWARD, &move.plan, refusal))) {
        return false;
    }
    move_go(lift, &move);
    return true;
}

bool lift_stop(struct lift *lift, const char *who)
{
    struct lift_move *move = &lift->move;
    if (!move->active || move->ended) {
        return false;
    }
    snprintf(move->stopped_by, sizeof move->stopped_by, "%s", who);
    if (move->begun) {
        link_brake(lift->link);
    } else if (move->waiting || move->unlocking) {
        move->waiting = move->unlocking = false;
        finish_unbegun(lift);
    }
    return true;
}

void lift_abandon(struct lift *lift, void *owner)
{
    lift_forget_owner(lift, owner);
    if (lift->move.active && lift->move.owner == owner) {
        lift->move.done = NULL;
        lift->move.owner = NULL;
        lift_stop(lift, "the client that asked for the move went away");
    }
}
