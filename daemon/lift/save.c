/* SPDX-License-Identifier: MIT */
/* What the lift must know again: to the journal and back. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/lift/state.h"

/* One record on its way to the disk. */
struct saving {
    struct lift *lift;
    lift_then *then;
};

/* One change that is told when it is kept. */
struct lift_change {
    struct lift *lift;
    struct lift_zero before;
    lift_done *done;
    void *owner;
    struct lift_change *next;
};

static struct journal_record record_of(const struct lift *lift)
{
    const struct lift_zero *zero = &lift->zero;
    struct journal_record record = {
        .count_known = true,
        .count = lift->count,
        .leg_under_way = lift->under_way,
        .leg_end = lift->under_way && lift->move.plan.legs > 0
                       ? lift->move.plan.end[lift->move.plan.legs - 1]
                       : 0,
        .origin = zero->origin,
        .play_known = lift->play.known,
        .slack_steps = lift->play.slack_steps,
        .risen_steps = lift->play.risen_steps,
        .reference = zero->trusted.reference,
        .table_zero = zero->trusted.table_zero,
        .zero_known = zero->trusted.zero_known,
        .zero_in_frame = zero->trusted.zero_in_frame,
        .zero_nm = zero->zero_nm,
        .wanted_known = zero->wanted_known,
        .wanted_nm = zero->wanted_nm,
        .preset = zero->preset,
        .board_known = lift->board_known,
        .board = lift->board,
        .boot = lift->boot,
        .epoch = lift->epoch,
        .screw_digest = lift->config.screw_digest,
        .barred = lift->barred,
        .riding_nm = zero->riding_nm,
        .stage = (uint16_t)zero->stage,
        .asks = (uint16_t)zero->asks,
        .corrected_known = zero->corrected_known,
        .corrected_nm = zero->corrected_nm,
        .router_on = rules_turning(lift),
        .story = zero->place.story,
        .mark = zero->place.mark,
        .cut = zero->place.cut,
        .before_bit = zero->before_bit,
        .before_nm = zero->before_nm,
        .readout_matched = lift->readout.matched,
        .readout_offset_nm = lift->readout.offset_nm,
        .readout_corrections_nm = lift->readout.corrections_nm,
    };
    if (zero->bit != 0) {
        snprintf(record.bit, sizeof record.bit, "%" PRIu32, zero->bit);
    }
    return record;
}

static void on_saved(void *owner, bool kept, const char *why)
{
    struct saving saving = *(struct saving *)owner;
    free(owner);
    saving.then(saving.lift, kept, why);
}

void lift_save(struct lift *lift, lift_then *then)
{
    struct journal_record record = record_of(lift);
    struct saving *saving = malloc(sizeof *saving);
    if (!saving) {
        then(lift, false, "there is no memory left");
        return;
    }
    *saving = (struct saving){lift, then};
    keeper_record(lift->keeper, &record, on_saved, saving);
}

static enum trust worse(enum trust a, enum trust b)
{
    return a > b ? a : b;
}

/* What was doubted since the change was made stays doubted. */
static void take_back(struct lift *lift, const struct lift_zero *before)
{
    struct trusted now = lift->zero.trusted;
    lift->zero = *before;
    lift->zero.trusted.reference = worse(lift->zero.trusted.reference, now.reference);
    lift->zero.trusted.table_zero = worse(lift->zero.trusted.table_zero, now.table_zero);
}

static void on_change_saved(void *owner, bool kept, const char *why)
{
    struct lift_change *change = owner;
    struct lift *lift = change->lift;
    struct lift_refusal refusal;
    for (struct lift_change **at = &lift->changes; *at; at = &(*at)->next) {
        if (*at == change) {
            *at = change->next;
            break;
        }
    }
    if (!kept) {
        take_back(lift, &change->before);
        lift_refuse(&refusal, REASON_NOT_KEPT,
                    "It could not be kept: %s. All is as it was before. See to the disk, then say "
                    "it again.",
                    why);
    }
    if (change->done) {
        change->done(change->owner, kept ? NULL : &refusal);
    }
    free(change);
}

void lift_keep_change(struct lift *lift, const struct lift_zero *before, lift_done *done,
                      void *owner)
{
    struct journal_record record = record_of(lift);
    struct lift_change *change = malloc(sizeof *change);
    if (!change) {
        take_back(lift, before);
        if (done) {
            struct lift_refusal refusal = {REASON_NOT_KEPT, "There is no memory left."};
            done(owner, &refusal);
        }
        return;
    }
    *change = (struct lift_change){lift, *before, done, owner, lift->changes};
    lift->changes = change;
    keeper_record(lift->keeper, &record, on_change_saved, change);
}

void lift_forget_owner(struct lift *lift, void *owner)
{
    for (struct lift_change *change = lift->changes; change; change = change->next) {
        if (change->owner == owner) {
            change->done = NULL;
        }
    }
}

void lift_load(struct lift *lift, const struct journal_record *record, enum journal_found found)
{
    lift->zero.trusted = TRUSTED_NOTHING;
    play_forget(&lift->play, lift_lash_steps(lift));
    if (found != JOURNAL_WHOLE) {
        return;
    }
    lift->count = record->count;
    lift->under_way = record->leg_under_way;
    if (record->play_known) {
        lift->play = (struct play){true, record->slack_steps, record->risen_steps};
    }
    lift->zero = (struct lift_zero){
        .trusted = {record->reference, record->table_zero, record->zero_known,
                    record->zero_in_frame},
        .origin = record->origin,
        .zero_nm = record->zero_nm,
        .wanted_known = record->wanted_known,
        .wanted_nm = record->wanted_nm,
        .preset = record->preset,
        .bit = (uint32_t)strtoul(record->bit, NULL, 10), /* we wrote it */
        .riding_nm = record->riding_nm,
        .stage = (enum lift_stage)(record->stage <= LIFT_STAGE_FITTED ? record->stage : 0),
        .asks = record->asks | (record->riding_nm != 0 ? LIFT_ASK_RIDING : 0u),
        .place = {record->story, record->mark, record->cut},
        .before_bit = record->before_bit,
        .before_nm = record->before_nm,
        .corrected_known = record->corrected_known,
        .corrected_nm = record->corrected_nm,
    };
    lift->router_on = record->router_on;
    lift->board_known = record->board_known;
    lift->board = record->board;
    lift->boot = record->boot;
    lift->epoch = record->epoch;
    if (record->readout_matched) {
        readout_recall(lift, record->readout_offset_nm, record->readout_corrections_nm);
    }
    if (record->screw_digest != lift->config.screw_digest) {
        fprintf(stderr, "regletd: the screw settings have changed, so that the count means other "
                        "lengths now. Position and zero are lost: find the top, and touch off\n");
        trust_apply(&lift->zero.trusted, TRUST_SCREW_CHANGED);
        lift->zero.wanted_known = false;
        play_forget(&lift->play, lift_lash_steps(lift));
        readout_unmatch(lift);
    }
    if (record->barred) {
        lift_bar(lift, "it was barred when the daemon ended");
    }
}

static bool is_one_of(const char *event, const char *const *events)
{
    while (*events && strcmp(*events, event) != 0) {
        events++;
    }
    return *events != NULL;
}

/* What one wants to know of it a season later, where it belongs to the event. */
static void add_circumstances(const struct lift *lift, cJSON *line, const char *event)
{
    static const char *const asked[] = {"reached",    "touched-off",       "fitted",    "riding",
                                        "corrected",  "correction-undone", "confirmed", "top-found",
                                        "calibrated", "all-clear",         NULL};
    const struct lift_zero *zero = &lift->zero;
    if (is_one_of(event, asked) && lift->asker[0] != '\0') {
        cJSON_AddStringToObject(line, "who", lift->asker);
    }
    if (zero->bit != 0) {
        cJSON_AddNumberToObject(line, "bit", zero->bit);
    }
    if (zero->preset != 0 && strcmp(event, "reached") == 0) {
        cJSON_AddNumberToObject(line, "preset", zero->preset);
    }
    if (zero->riding_nm != 0) {
        cJSON_AddNumberToObject(line, "riding_nm", (double)zero->riding_nm);
    }
    if (strcmp(event, "corrected") == 0) {
        cJSON_AddNumberToObject(line, "by_nm", (double)zero->corrected_nm);
    }
    if (strcmp(event, "touched-off") == 0 && zero->moved_known) {
        cJSON_AddNumberToObject(line, "moved_nm", (double)zero->moved_nm);
    }
}

void lift_asked_by(struct lift *lift, const char *who)
{
    snprintf(lift->asker, sizeof lift->asker, "%s", who);
}

void lift_note(struct lift *lift, const char *event, const char *sentence)
{
    cJSON *line = cJSON_CreateObject();
    cJSON_AddStringToObject(line, "event", event);
    cJSON_AddStringToObject(line, "what", sentence);
    cJSON_AddNumberToObject(line, "position_nm", (double)lift_carriage_nm(lift));
    if (lift->zero.trusted.table_zero != TRUST_LOST) {
        cJSON_AddNumberToObject(
            line, "height_nm",
            (double)(lift_carriage_nm(lift) - lift->zero.zero_nm - lift->zero.riding_nm));
    }
    add_circumstances(lift, line, event);
    cJSON_AddStringToObject(line, "reference", trust_word(lift->zero.trusted.reference));
    cJSON_AddStringToObject(line, "table_zero", trust_word(lift->zero.trusted.table_zero));
    keeper_log(lift->keeper, line);
}
