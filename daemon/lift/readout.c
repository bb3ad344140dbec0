/* SPDX-License-Identifier: MIT */
/*
 * The readout: a digital scale's readings of the carriage. They come while the motor is at rest,
 * some ten a second. READOUT_GROUP of them that lie together are a reading, and each is compared
 * (readout_check.c) as soon as it is there: at the end of a motion, and at rest.
 */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "daemon/lift/state.h"

enum {
    AMOUNT = 0xfffff,
    MINUS = 1 << 20,
    UNUSED = 3 << 21,
    IN_INCHES = 1 << 23,
    UNIT_MM_NM = 10000, /* .01 mm */
    UNIT_IN_NM = 12700, /* .0005 in */
    PATIENCE_MS = 2000, /* at the end of a motion: some twenty frames */
    SILENT_MS = 1500,   /* without any frame */
    MISREAD_MOST = 12,  /* frames without a whole group among them */
};

static void on_patience(void *owner);

void readout_init(struct lift *lift)
{
    lift->readout = (struct lift_readout){
        .state = lift->config.readout ? LIFT_READOUT_WAITS : LIFT_READOUT_ABSENT,
        .timer = {.due = on_patience, .owner = lift},
    };
}

/* --- In words --- */

void readout_note(struct lift *lift, const char *event, const char *sentence)
{
    const struct lift_readout *r = &lift->readout;
    cJSON *line = cJSON_CreateObject();
    cJSON_AddStringToObject(line, "event", event);
    cJSON_AddStringToObject(line, "what", sentence);
    cJSON_AddNumberToObject(line, "reading_nm", (double)r->reading_nm);
    cJSON_AddNumberToObject(line, "position_nm", (double)lift_carriage_nm(lift));
    if (r->apart_known) {
        cJSON_AddNumberToObject(line, "apart_nm", (double)r->apart_nm);
    }
    cJSON_AddNumberToObject(line, "drift_nm", round(r->drift_nm));
    keeper_log(lift->keeper, line);
}

static const char *state_sentence(enum lift_readout_state state)
{
    switch (state) {
    case LIFT_READOUT_SILENT:
        return "the readout tells nothing. Moves are not checked. Look at the scale, its battery "
               "and its cable";
    case LIFT_READOUT_GARBLED:
        return "what the readout tells makes no sense. Moves are not checked. Look at its cable, "
               "and away from the router's and the motor's";
    case LIFT_READOUT_FROZEN:
        return "the readout does not change though the lift moves. Moves are not checked";
    default:
        return "the readout reads again";
    }
}

void readout_enter(struct lift *lift, enum lift_readout_state state)
{
    enum lift_readout_state before = lift->readout.state;
    lift->readout.state = state;
    bool was_bad = before >= LIFT_READOUT_SILENT;
    bool bad = state >= LIFT_READOUT_SILENT;
    if (state == before || (!bad && !was_bad) || state == LIFT_READOUT_WAITS) {
        return;
    }
    fprintf(stderr, "regletd: %s\n", state_sentence(state));
    readout_note(lift, bad ? "readout-lost" : "readout-back", state_sentence(state));
}

void readout_leave(struct lift *lift)
{
    struct lift_readout *r = &lift->readout;
    r->before_known = r->known && r->state == LIFT_READOUT_READS;
    r->before_nm = r->reading_nm;
    r->before_position_nm = lift_carriage_nm(lift);
    r->known = r->apart_known = r->second_look = false;
    r->passed = false;
    r->count = 0;
    r->misread = 0;
    if (r->state == LIFT_READOUT_READS) {
        readout_enter(lift, LIFT_READOUT_WAITS);
    }
    r->gauging = lift->move.active && lift->move.kind == MOVE_GAUGE;
    if (r->gauging) {
        readout_unmatch(lift); /* the screw is being measured: nothing is known to agree with */
    }
}

/* --- A whole group --- */

static void take_group(struct lift *lift)
{
    struct lift_readout *r = &lift->readout;
    int64_t sum_nm = 0;
    bool steady = true;
    for (int i = 0; i < READOUT_GROUP; i++) {
        sum_nm += r->group_nm[i];
        steady = steady && r->group_nm[i] == r->group_nm[0];
    }
    int64_t mean_nm = (int64_t)llround((double)sum_nm / READOUT_GROUP);
    bool hangs = r->state == LIFT_READOUT_FROZEN && steady && mean_nm == r->reading_nm;
    r->steady = steady;
    r->reading_nm = mean_nm;
    r->read_ns = clock_now_ns(lift->clock);
    r->count = 0;
    r->misread = 0;
    if (hangs) {
        return;
    }
    r->known = true;
    readout_enter(lift, LIFT_READOUT_READS);
    readout_compare(lift);
}

/* Of the carriage, higher is more. False: no scale of this kind tells that. */
static bool decode(const struct lift *lift, uint32_t raw, int64_t *nm)
{
    bool inches = raw & IN_INCHES;
    int64_t unit_nm = lift->config.readout_unit_nm;
    if (raw & UNUSED || (inches && unit_nm != 0)) {
        return false;
    }
    unit_nm = unit_nm != 0 ? unit_nm : inches ? UNIT_IN_NM : UNIT_MM_NM;
    *nm = (int64_t)(raw & AMOUNT) * unit_nm;
    *nm = !(raw & MINUS) == !lift->config.readout_falls ? *nm : -*nm;
    return true;
}

static void misread(struct lift *lift)
{
    struct lift_readout *r = &lift->readout;
    r->count = 0;
    if (++r->misread >= MISREAD_MOST) {
        r->known = r->apart_known = false;
        readout_enter(lift, LIFT_READOUT_GARBLED);
        if (lift->move.active && lift->move.checking && !lift->move.ended) {
            readout_end_check(lift);
        }
    }
}

static bool at_rest(const struct lift *lift)
{
    return !lift->move.active || lift->move.checking || lift->move.ended || !lift->move.begun;
}

void readout_heard(struct lift *lift, uint32_t raw)
{
    struct lift_readout *r = &lift->readout;
    int64_t nm;
    if (!lift->config.readout || !lift->synced || !at_rest(lift)) {
        return;
    }
    r->heard_ns = clock_now_ns(lift->clock);
    if (!decode(lift, raw, &nm)) {
        misread(lift);
        return;
    }
    if (!r->passed) {
        r->passed = true;
        return;
    }
    if (r->count > 0 && llabs(nm - r->group_nm[0]) >= lift->config.readout_bar_nm) {
        misread(lift); /* and a new group begins with this one */
    }
    r->group_nm[r->count++] = nm;
    if (r->count == READOUT_GROUP) {
        take_group(lift);
    }
}

void readout_look(struct lift *lift)
{
    struct lift_readout *r = &lift->readout;
    int64_t now_ns = clock_now_ns(lift->clock);
    if (!lift->config.readout || !link_ready(lift->link) || lift->move.active) {
        r->heard_ns = now_ns; /* nothing is to be heard */
    } else if (now_ns - r->heard_ns > (int64_t)SILENT_MS * CLOCK_NS_PER_MS) {
        r->known = r->apart_known = false;
        readout_enter(lift, LIFT_READOUT_SILENT);
    }
}

/* The motion is over, and the readout has not told a thing, or no two alike. */
static void on_patience(void *owner)
{
    struct lift *lift = owner;
    struct lift_readout *r = &lift->readout;
    if (lift->move.active && lift->move.checking && !lift->move.ended) {
        readout_enter(lift, r->misread > 0 ? LIFT_READOUT_GARBLED : LIFT_READOUT_SILENT);
        readout_end_check(lift);
    }
}

bool readout_awaited(struct lift *lift)
{
    struct lift_move *move = &lift->move;
    struct lift_readout *r = &lift->readout;
    bool hears = r->state == LIFT_READOUT_WAITS || r->state == LIFT_READOUT_READS;
    if (!lift->config.readout || !hears || !move->begun || move->checked) {
        return false;
    }
    move->checking = true;
    r->passed = false;
    r->count = 0;
    r->misread = 0;
    clock_set(lift->clock, &r->timer,
              clock_now_ns(lift->clock) + (int64_t)PATIENCE_MS * CLOCK_NS_PER_MS);
    return true;
}
