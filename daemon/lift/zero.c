/* SPDX-License-Identifier: MIT */
/* What the operator tells the lift at rest: touch-off, the top by hand, confirm, all-clear. */
#include <stdio.h>

#include "daemon/lift/state.h"

void lift_set_zero(struct lift *lift, int64_t position_nm, int64_t height_nm)
{
    struct lift_zero *zero = &lift->zero;
    int64_t zero_nm = position_nm - height_nm - zero->riding_nm;
    zero->moved_known = zero->trusted.table_zero == TRUST_SURE;
    zero->moved_nm = zero_nm - zero->zero_nm;
    zero->zero_nm = zero_nm;
    zero->preset = 0;
    zero->asks = 0;
    zero->stage = LIFT_STAGE_NONE;
    zero->corrected_known = false;
    trust_apply(&zero->trusted, TRUST_TOUCHED);
}

/* Hands or eyes are at the bit, or it stands where the spindle may be locked: it must not turn. */
static bool hands_allowed(const struct lift *lift, struct lift_refusal *refusal)
{
    if (!rules_ready(lift, refusal)) {
        return false;
    }
    if (rules_turning(lift)) {
        lift_refuse(refusal, REASON_ROUTER_RUNNING,
                    "The router turns, or has not run down yet. Nothing has changed. Switch it "
                    "off, unplug it, and wait.");
        return false;
    }
    return true;
}

/* Has it come to where it stands as moves come to their heights? */
static bool come_to(const struct lift *lift)
{
    bool above = lift->config.finish == PLAN_DOWNWARD;
    int32_t come = above ? -lift->play.risen_steps : lift->play.risen_steps;
    return plan_taken_up(&lift->play, above ? PLAN_DOWNWARD : PLAN_UPWARD, lift_lash_steps(lift)) &&
           come >= lift_steps_up(lift, lift->config.take_up_nm);
}

bool lift_touch(struct lift *lift, int64_t height_nm, lift_done *done, void *owner,
                struct lift_refusal *refusal)
{
    struct lift_zero before = lift->zero;
    if (!hands_allowed(lift, refusal)) {
        return false;
    }
    if (lift->zero.stage == LIFT_STAGE_CHANGING) {
        lift_refuse(refusal, REASON_BIT_OUT,
                    "The bit is being changed. Nothing has changed. Say fit and its name first.");
        return false;
    }
    if (lift->zero.stage == LIFT_STAGE_FITTED) { /* else a move to a height would bring it down */
        lift_refuse(refusal, REASON_HOLD_FIRST,
                    "A bit was fitted and stands high. Nothing has changed. Bring it down by 'hold "
                    "down', looking at it, then touch off.");
        return false;
    }
    if (!come_to(lift)) {
        bool above = lift->config.finish == PLAN_DOWNWARD;
        char least[128];
        lift_say_length(lift->config.take_up_nm, least, sizeof least);
        lift_refuse(refusal, REASON_COME_UP_FIRST,
                    "The bit has not come %s far enough since it last went %s: lash would be in "
                    "the zero. Nothing has changed. Go %s, come %s at least %s, then touch off.",
                    above ? "down" : "up", above ? "up" : "down", above ? "above" : "below",
                    above ? "down" : "up", least);
        return false;
    }
    lift->zero.wanted_known = true;
    lift->zero.wanted_nm = lift_carriage_nm(lift);
    lift_set_zero(lift, lift->zero.wanted_nm, height_nm);
    lift_keep_change(lift, &before, done, owner);
    lift_note(lift, "touched-off", "the bit was said to stand at this height");
    return true;
}

void lift_remember_bit(struct lift *lift)
{
    struct lift_zero *zero = &lift->zero;
    if (zero->bit != 0 && zero->trusted.table_zero == TRUST_SURE) {
        int64_t stands_nm = zero->wanted_known ? zero->wanted_nm : lift_carriage_nm(lift);
        zero->before_bit = zero->bit;
        zero->before_nm = stands_nm - zero->zero_nm - zero->riding_nm;
    }
}

bool lift_fit(struct lift *lift, uint32_t bit, lift_done *done, void *owner,
              struct lift_refusal *refusal)
{
    struct lift_zero before = lift->zero;
    struct lift_zero *zero = &lift->zero;
    if (!hands_allowed(lift, refusal)) {
        return false;
    }
    lift_remember_bit(lift);
    trust_apply(&zero->trusted, TRUST_BIT_CHANGED);
    zero->bit = bit;
    zero->preset = 0;
    zero->corrected_known = false;
    zero->moved_known = false;
    zero->asks = zero->riding_nm != 0 ? LIFT_ASK_RIDING : 0;
    zero->stage = zero->stage == LIFT_STAGE_CHANGING ? LIFT_STAGE_FITTED : zero->stage;
    lift_keep_change(lift, &before, done, owner);
    lift_note(lift, "fitted", "another bit, or the same one anew");
    return true;
}

bool lift_ride(struct lift *lift, int64_t riding_nm, lift_done *done, void *owner,
               struct lift_refusal *refusal)
{
    struct lift_zero before = lift->zero;
    if (!rules_ready(lift, refusal)) {
        return false;
    }
    lift->zero.riding_nm = riding_nm;
    lift->zero.asks &= ~(unsigned)LIFT_ASK_RIDING;
    lift->zero.preset = 0;
    lift_keep_change(lift, &before, done, owner);
    lift_note(lift, "riding", riding_nm != 0 ? "the work rides on something" : "on the table");
    return true;
}

/* More is no fault of a cut: it is a wrong measure, or another bit. */
#define CORRECTION_MOST_NM INT64_C(3175000) /* 1/8 in */

/* Moves the zero, when the lift may go to the same height over it; else all is as it was. */
static bool shift_zero(struct lift *lift, int64_t raise_nm, struct lift_refusal *refusal)
{
    struct plan plan;
    struct lift_zero *zero = &lift->zero;
    int64_t stands_nm = zero->wanted_known ? zero->wanted_nm : lift_carriage_nm(lift);
    zero->zero_nm += raise_nm;
    if (!move_plan(lift, stands_nm + raise_nm, lift->config.finish, &plan, refusal)) {
        zero->zero_nm -= raise_nm;
        return false;
    }
    zero->preset = 0;
    return true;
}

bool lift_correct(struct lift *lift, int64_t raise_nm, lift_done *done, void *owner,
                  struct lift_refusal *refusal)
{
    struct lift_zero before = lift->zero;
    if (!rules_allow(lift, MOVE_HEIGHT, refusal)) {
        return false;
    }
    if (raise_nm > CORRECTION_MOST_NM || raise_nm < -CORRECTION_MOST_NM) {
        lift_refuse(refusal, REASON_DISAGREES,
                    "A correction over 1/8in is none. Nothing has changed. Measure again, and "
                    "touch off.");
        return false;
    }
    if (!shift_zero(lift, raise_nm, refusal)) {
        return false;
    }
    lift->zero.corrected_known = true;
    lift->zero.corrected_nm = raise_nm;
    lift_keep_change(lift, &before, done, owner);
    lift_note(lift, "corrected", "by what a test cut measured");
    return true;
}

bool lift_undo(struct lift *lift, lift_done *done, void *owner, struct lift_refusal *refusal)
{
    struct lift_zero before = lift->zero;
    if (!rules_allow(lift, MOVE_HEIGHT, refusal)) {
        return false;
    }
    if (!lift->zero.corrected_known) {
        lift_refuse(refusal, REASON_NOTHING_BEFORE,
                    "There is no correction of this fitting to undo. Nothing has changed.");
        return false;
    }
    if (!shift_zero(lift, -lift->zero.corrected_nm, refusal)) {
        return false;
    }
    lift->zero.corrected_known = false;
    lift_keep_change(lift, &before, done, owner);
    lift_note(lift, "correction-undone", "the zero is where it was before");
    return true;
}

bool lift_set_place(struct lift *lift, const struct lift_place *place, lift_done *done, void *owner,
                    struct lift_refusal *refusal)
{
    struct lift_zero before = lift->zero;
    if (!lift_at_rest(lift, refusal)) {
        return false;
    }
    lift->zero.place = *place;
    lift_keep_change(lift, &before, done, owner);
    return true;
}

void lift_set_bit_facts(struct lift *lift, const struct lift_bit_facts *facts)
{
    lift->bit = *facts;
}

/* The zero was touched off with a count that had no place: it keeps its distance from that count,
 * as the lead tells it; from here on the count has a place, and so has the table. */
static void carry_zero(struct lift *lift, int32_t top_count)
{
    struct lift_zero *zero = &lift->zero;
    const struct error_table *table = lift_table(lift);
    int64_t said_nm = table ? error_table_said_nm(table, zero->zero_nm) : zero->zero_nm;
    said_nm += screw_position_nm(&lift->config.screw, (int64_t)zero->origin - top_count);
    zero->zero_nm = error_table_true_nm(&lift->config.table, said_nm);
}

void lift_place_top(struct lift *lift, int32_t top_count)
{
    struct lift_zero *zero = &lift->zero;
    if (!zero->trusted.zero_in_frame && zero->trusted.table_zero != TRUST_LOST) {
        carry_zero(lift, top_count);
    }
    zero->origin = top_count;
    readout_unmatch(lift);
    zero->wanted_known = false;
    trust_apply(&zero->trusted, TRUST_TOP_FOUND);
    lift_note(lift, "top-found", "the count has its place in the lift's frame");
}

bool lift_here_top(struct lift *lift, lift_done *done, void *owner, struct lift_refusal *refusal)
{
    struct lift_zero before = lift->zero;
    if (!hands_allowed(lift, refusal)) {
        return false;
    }
    if (lift->config.inputs & 1u << LINK_INPUT_TOP_SWITCH) {
        lift_refuse(refusal, REASON_TOP_SWITCH_FITTED,
                    "This lift has a top switch, which knows better. Nothing has changed. Say "
                    "find-top.");
        return false;
    }
    if (!lift->synced || !link_ready(lift->link)) {
        lift_refuse(refusal, REASON_BUSY,
                    "The step generator is being made ready. Nothing has changed; say it again in "
                    "a second.");
        return false;
    }
    lift_place_top(lift, lift->count);
    lift_keep_change(lift, &before, done, owner);
    lift_resync(lift); /* the bounds have moved with it */
    return true;
}

bool lift_confirm(struct lift *lift, const int64_t *height_nm, lift_done *done, void *owner,
                  struct lift_refusal *refusal)
{
    struct lift_zero before = lift->zero;
    if (!hands_allowed(lift, refusal)) {
        return false;
    }
    if (lift->zero.trusted.table_zero == TRUST_LOST) {
        lift_refuse(refusal, REASON_HEIGHT_UNKNOWN,
                    "There is no height to confirm: it is lost. Nothing has changed. Find the top "
                    "if there is a switch, or touch off.");
        return false;
    }
    int64_t said_nm = lift_carriage_nm(lift) - lift->zero.zero_nm - lift->zero.riding_nm;
    int64_t off_nm = height_nm ? *height_nm - said_nm : 0;
    if (off_nm > lift->config.confirm_nm || off_nm < -lift->config.confirm_nm) {
        char said[128];
        lift_say_height(lift, lift_carriage_nm(lift), said, sizeof said);
        lift_refuse(refusal, REASON_DISAGREES,
                    "The lift takes the bit to stand at %s, and you have found another height: the "
                    "screw has turned. Nothing has changed. Find the top, or touch off.",
                    said);
        return false;
    }
    trust_apply(&lift->zero.trusted, TRUST_CONFIRMED);
    lift->zero.asks = 0;
    lift->moved_ns = clock_now_ns(lift->clock);
    lift_keep_change(lift, &before, done, owner);
    lift_note(lift, "confirmed", "the height shown was compared with the bit");
    return true;
}

bool lift_at_rest(const struct lift *lift, struct lift_refusal *refusal)
{
    if (lift->move.active || lift->changes) {
        lift_refuse(refusal, REASON_BUSY,
                    "The lift is moving. Nothing has changed. Wait until it is there, or stop it "
                    "first.");
        return false;
    }
    return true;
}

void lift_recalibrate(struct lift *lift, const struct lift_config *config)
{
    bool other_screw = config->screw_digest != lift->config.screw_digest;
    lift->config = *config;
    readout_unmatch(lift);
    play_forget(&lift->play, lift_lash_steps(lift));
    if (other_screw) {
        trust_apply(&lift->zero.trusted, TRUST_SCREW_CHANGED);
        lift->zero.wanted_known = false;
        lift->zero.preset = 0;
    }
    lift_note(lift, "calibrated", other_screw ? "the screw" : "the lash");
    if (!lift->barred) {
        lift_resync(lift);
    } else {
        lift_keep_change(lift, &lift->zero, NULL, NULL); /* all-clear agrees with the generator */
    }
}

void lift_forget_preset(struct lift *lift, uint32_t preset, lift_done *done, void *owner)
{
    struct lift_zero before = lift->zero;
    if (lift->zero.preset == preset) {
        lift->zero.preset = 0;
    }
    lift_keep_change(lift, &before, done, owner);
}

bool lift_all_clear(struct lift *lift, struct lift_refusal *refusal)
{
    if (lift_input(lift, LINK_INPUT_STOP_CIRCUIT)) {
        lift_refuse(refusal, REASON_STOP_OPEN,
                    "The stop circuit is still open. Nothing can move. Close it, then say "
                    "all-clear again.");
        return false;
    }
    if (lift->barred) {
        lift->barred = false;
        lift->why[0] = '\0';
        lift_note(lift, "all-clear", "motion may be asked for again");
        lift_resync(lift);
    }
    return true;
}
