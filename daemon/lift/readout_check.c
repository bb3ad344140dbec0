/* SPDX-License-Identifier: MIT */
/* What the readout says beside what the count says: what they were matched with, and what it means
 * when they are apart. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "daemon/lift/state.h"

enum {
    DRIFT_PART = 8, /* of a new difference that goes into the drift */
    FULL_STEPS_CYCLE = 4,
};

#define LOG_AGAIN_NS (INT64_C(3600) * 1000 * CLOCK_NS_PER_MS)

int32_t readout_slack_steps(const struct lift *lift)
{
    return lift->config.readout ? lift_steps_up(lift, lift->config.readout_bar_nm) : 0;
}

/* --- What stands beside it --- */

void readout_unmatch(struct lift *lift)
{
    struct lift_readout *r = &lift->readout;
    r->matched = r->recalled = r->apart_known = r->second_look = false;
    r->corrections_nm = 0;
    r->drift_nm = 0;
    r->logged_drift_nm = 0;
}

void readout_recall(struct lift *lift, int64_t offset_nm, int64_t corrections_nm)
{
    struct lift_readout *r = &lift->readout;
    r->matched = r->recalled = true;
    r->offset_nm = offset_nm;
    r->corrections_nm = corrections_nm;
}

/* Where nothing says that they differ, they agree. But a count that is in doubt is not what a
 * readout is matched with: it would vouch for it. */
static void match(struct lift *lift)
{
    struct lift_readout *r = &lift->readout;
    const struct trusted *trusted = &lift->zero.trusted;
    if (trusted->reference == TRUST_UNCHECKED || trusted->table_zero == TRUST_UNCHECKED) {
        return;
    }
    readout_unmatch(lift);
    r->matched = r->apart_known = true;
    r->apart_nm = 0;
    r->offset_nm = r->reading_nm - lift_carriage_nm(lift);
}

/* Of a screw that was measured, or its own error would look like slip. On one flank of it alone:
 * how far the other is away is known no better than the lash. */
static bool comparable(const struct lift *lift)
{
    bool above = lift->config.finish == PLAN_DOWNWARD;
    enum plan_finish side = above ? PLAN_DOWNWARD : PLAN_UPWARD;
    return lift->config.readout_checks && lift->play.known &&
           plan_taken_up(&lift->play, side, lift_lash_steps(lift)) &&
           lift->readout.state == LIFT_READOUT_READS && !lift->readout.gauging;
}

/* The drift over the day: each time it has gone on by a quarter of the tolerance, and each hour. */
static void follow_drift(struct lift *lift)
{
    struct lift_readout *r = &lift->readout;
    double whole_nm = (double)(r->apart_nm + r->corrections_nm);
    int64_t now_ns = clock_now_ns(lift->clock);
    r->drift_nm += (whole_nm - r->drift_nm) / DRIFT_PART;
    int64_t drift_nm = (int64_t)llround(r->drift_nm);
    bool moved = llabs(drift_nm - r->logged_drift_nm) >= lift->config.readout_tolerance_nm / 4;
    if (moved || now_ns - r->logged_ns >= LOG_AGAIN_NS) {
        r->logged_drift_nm = drift_nm;
        r->logged_ns = now_ns;
        readout_note(lift, "drift", "how far the readout is from the count, in the long run");
    }
}

/* --- Beyond what may be --- */

/* Both places, and what it looks like. */
static void say_both(const struct lift *lift, int64_t apart_nm, const char *means,
                     struct lift_refusal *out)
{
    int64_t counted_nm = lift_carriage_nm(lift);
    double full_step_nm = (double)lift->config.readout_bar_nm / 2;
    double whole_nm = fabs((double)(apart_nm + lift->readout.corrections_nm));
    double cycle_nm = FULL_STEPS_CYCLE * full_step_nm;
    double off_nm = fabs(whole_nm - cycle_nm * round(whole_nm / cycle_nm));
    bool slip = whole_nm >= cycle_nm / 2 && off_nm <= (double)lift->config.readout_tolerance_nm;
    char read[128];
    char counted[128];
    lift_say_height(lift, counted_nm + apart_nm, read, sizeof read);
    lift_say_height(lift, counted_nm, counted, sizeof counted);
    lift_refuse(out, REASON_READOUT_APART,
                "Readout: %s; count: %s. They are %.1f full steps of the motor apart, %s. %s", read,
                counted, whole_nm / full_step_nm,
                slip ? "as if it had slipped" : "as by noise, a loose coupling or a hand", means);
}

/* Nobody knows where it is: never corrected, always said. */
static void bar_apart(struct lift *lift)
{
    struct lift_refusal said;
    say_both(lift, lift->readout.apart_nm,
             "Position and height are lost. See why, say all-clear, find the top.", &said);
    readout_note(lift, "readout-apart", said.sentence);
    trust_apply(&lift->zero.trusted, TRUST_IN_MOVE_LOSS);
    lift->zero.wanted_known = false;
    readout_unmatch(lift);
    lift_bar(lift, "readout and count are apart by what a slipped motor makes");
    if (lift->move.active && !lift->move.ended) {
        move_finish(lift, REASON_READOUT_APART, said.sentence);
    } else {
        lift_keep_change(lift, &lift->zero, NULL, NULL);
    }
}

/* Nobody watched: the screw was turned, or the scale was set to a zero of its own. */
static void doubt_apart(struct lift *lift)
{
    struct lift_refusal said;
    say_both(lift, lift->readout.apart_nm,
             "That happened while the daemon did not run: the screw was turned, or the scale set "
             "to zero. Compare the height with the bit, then confirm it.",
             &said);
    fprintf(stderr, "regletd: %s\n", said.sentence);
    readout_note(lift, "readout-off", said.sentence);
    trust_apply(&lift->zero.trusted, TRUST_AT_REST_DOUBT);
    readout_unmatch(lift);
    if (!lift->move.active) { /* else it is kept with the motion's result */
        lift_keep_change(lift, &lift->zero, NULL, NULL);
    }
}

/* It told the same to the last digit as before the motion: it hangs, or the motor has not turned.
 */
static bool frozen(const struct lift *lift)
{
    const struct lift_readout *r = &lift->readout;
    return r->before_known && r->steady && r->reading_nm == r->before_nm && lift->play.known &&
           llabs(lift_carriage_nm(lift) - r->before_position_nm) >= lift->config.readout_bar_nm;
}

static void bar_frozen(struct lift *lift)
{
    char way[128];
    struct lift_refusal said;
    lift_say_length(llabs(lift_carriage_nm(lift) - lift->readout.before_position_nm), way,
                    sizeof way);
    lift_refuse(&said, REASON_READOUT_FROZEN,
                "The lift should have moved by %s, and the readout has not changed: it hangs, or "
                "the motor did not turn. Look at bit and scale, say all-clear, and compare the "
                "height before you confirm it.",
                way);
    readout_enter(lift, LIFT_READOUT_FROZEN);
    readout_unmatch(lift);
    trust_apply(&lift->zero.trusted, TRUST_AT_REST_DOUBT);
    lift->zero.wanted_known = false;
    lift_bar(lift, "the readout did not change though the lift should have moved");
    move_finish(lift, REASON_READOUT_FROZEN, said.sentence);
}

/* --- At the end of a motion --- */

void readout_end_check(struct lift *lift)
{
    clock_clear(lift->clock, &lift->readout.timer);
    lift->move.checking = false;
    lift->move.checked = true;
    move_reach(lift);
}

/* It could not be made to agree: said, and not believed until somebody has looked. */
static void end_doubtful(struct lift *lift)
{
    struct lift_refusal said;
    say_both(lift, lift->readout.apart_nm, "Compare the height with the bit, then confirm it.",
             &said);
    readout_note(lift, "readout-off", said.sentence);
    trust_apply(&lift->zero.trusted, TRUST_AT_REST_DOUBT);
    readout_end_check(lift);
}

/* The readout is right, by so little: the count means that place, and the motion goes on to its
 * own. Once. */
static void correct(struct lift *lift)
{
    struct lift_move *move = &lift->move;
    struct lift_readout *r = &lift->readout;
    struct lift_refusal refusal;
    int32_t steps;
    if (!screw_steps(&lift->config.screw, r->apart_nm, &steps) || steps == 0) {
        readout_end_check(lift);
        return;
    }
    readout_note(lift, "corrected-by-readout", "the count was set right by what the readout says");
    lift->zero.origin -= steps;
    r->corrections_nm += r->apart_nm;
    move->corrected = true;
    move->checking = false;
    move->leg = 0;
    readout_leave(lift);
    clock_clear(lift->clock, &r->timer);
    if (!move_plan(lift, move->target_nm, lift->config.finish, &move->plan, &refusal) ||
        move->plan.legs == 0) {
        move->checked = true; /* no room for it at the end of the travel: it is where it says */
        move_reach(lift);
        return;
    }
    move_leg(lift, 0);
}

/* Only of moves to a place, and not while the router turns: it dips. */
static bool may_correct(const struct lift *lift)
{
    enum move_kind kind = lift->move.kind;
    return (kind == MOVE_HEIGHT || kind == MOVE_NUDGE) && !lift->move.corrected &&
           !rules_turning(lift) && lift->move.stopped_by[0] == '\0';
}

static void check_motion(struct lift *lift)
{
    struct lift_readout *r = &lift->readout;
    int64_t tolerance_nm = lift->config.readout_tolerance_nm;
    if (!r->matched || llabs(r->apart_nm) <= tolerance_nm) {
        readout_end_check(lift);
    } else if (!r->second_look) {
        r->second_look = true;
        r->first_apart_nm = r->apart_nm;
    } else if (llabs(r->apart_nm - r->first_apart_nm) > tolerance_nm / 2 || !may_correct(lift)) {
        end_doubtful(lift);
    } else {
        correct(lift);
    }
}

/* False: they are apart by what a slip makes, and the motion has been ended by it. */
static bool agrees(struct lift *lift)
{
    struct lift_readout *r = &lift->readout;
    bool recalled = r->recalled;
    r->apart_nm = r->reading_nm - r->offset_nm - lift_carriage_nm(lift);
    r->apart_known = true;
    r->recalled = false;
    if (llabs(r->apart_nm + r->corrections_nm) < lift->config.readout_bar_nm &&
        llabs(r->apart_nm) < lift->config.readout_bar_nm) {
        return true;
    }
    if (recalled) {
        doubt_apart(lift);
    } else {
        bar_apart(lift);
    }
    return recalled;
}

/* The lift is at rest, and this is what the readout says of the place. */
void readout_compare(struct lift *lift)
{
    struct lift_readout *r = &lift->readout;
    bool checking = lift->move.active && lift->move.checking && !lift->move.ended;
    if (checking && frozen(lift)) {
        bar_frozen(lift);
        return;
    }
    if (comparable(lift) && !lift->barred) {
        if (!r->matched) {
            match(lift);
        }
        if (r->matched && !agrees(lift)) {
            return;
        }
        if (r->matched && checking) {
            follow_drift(lift);
        }
    }
    if (checking) {
        check_motion(lift);
    }
}

bool lift_confirm_by_readout(struct lift *lift, lift_done *done, void *owner,
                             struct lift_refusal *refusal)
{
    struct lift_zero before = lift->zero;
    const struct lift_readout *r = &lift->readout;
    if (!rules_ready(lift, refusal)) {
        return false;
    }
    if (!r->known || !r->matched || r->state != LIFT_READOUT_READS) {
        lift_refuse(refusal, REASON_NO_READOUT,
                    "The readout cannot be compared with the count now. Nothing has changed. "
                    "Compare the height with the bit by eye, or find the top.");
        return false;
    }
    int64_t apart_nm = r->reading_nm - r->offset_nm - lift_carriage_nm(lift);
    if (llabs(apart_nm) > lift->config.readout_tolerance_nm) {
        say_both(lift, apart_nm, "Nothing has changed. Find the top, or touch off.", refusal);
        refusal->reason = REASON_DISAGREES;
        return false;
    }
    trust_apply(&lift->zero.trusted, TRUST_CONFIRMED);
    lift_keep_change(lift, &before, done, owner);
    lift_note(lift, "confirmed", "the readout agrees with the count");
    return true;
}
