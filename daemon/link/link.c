/* SPDX-License-Identifier: MIT */
#include "daemon/link/link.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/link/talk.h"

static int64_t after_ms(const struct link *link, int64_t ms)
{
    return clock_now_ns(link->clock) + ms * CLOCK_NS_PER_MS;
}

bool link_is_moving(const struct link *link)
{
    return link->phase == PHASE_LEG || link->phase == PHASE_CALMING || link->braking;
}

static bool send_words(struct link *link, uint8_t word, uint32_t a, uint32_t b, uint32_t c)
{
    struct link_line line = {.word = word, .count = link_values(word), .value = {a, b, c}};
    return wire_send(&link->wire, &line);
}

static bool send_brake(struct link *link)
{
    link->owe_brake = !send_words(link, LINK_BRAKE, link->epoch, 0, 0);
    return !link->owe_brake;
}

static bool send_hail(struct link *link)
{
    link->owe_hail = !send_words(link, LINK_HAIL, 0, 0, 0);
    return !link->owe_hail;
}

static bool send_setting(struct link *link)
{
    uint8_t setting = link->owe_setting;
    if (!send_words(link, LINK_SET, setting, link->setting[setting], 0)) {
        return false;
    }
    link->owe_setting++;
    return true;
}

static bool send_sync(struct link *link)
{
    link->owe_sync = !send_words(link, LINK_SYNC, link->sync_epoch, (uint32_t)link->sync_count, 0);
    return !link->owe_sync;
}

static bool send_poll(struct link *link)
{
    uint8_t number = (uint8_t)(link->poll_number + 1);
    if (!send_words(link, LINK_POLL, link->epoch, link->next_send, number)) {
        return false;
    }
    link->poll_number = number;
    link->unanswered += link->unanswered < MUTE_POLLS ? 1 : 0;
    link->owe_poll = false;
    return true;
}

static bool send_out(struct link *link)
{
    if (!send_words(link, LINK_OUT, link->epoch, link->outputs, 0)) {
        return false;
    }
    link->owe_out = false;
    link->out_repeats -= link->out_repeats > 0;
    return true;
}

/* One thing that is owed; false when the wire has no room or nothing is owed. */
static bool send_one(struct link *link)
{
    if (link->owe_brake) {
        return send_brake(link);
    }
    if (link->owe_hail) {
        return send_hail(link);
    }
    if (link->owe_setting < LINK_SETTINGS) {
        return send_setting(link);
    }
    if (link->owe_sync) {
        return send_sync(link);
    }
    if (link->owe_poll) {
        return send_poll(link);
    }
    if (link->owe_out) {
        return send_out(link);
    }
    return link->phase == PHASE_LEG && !link->braking && feed_send(link);
}

void link_pump(struct link *link)
{
    while (link->phase != PHASE_CLOSED && send_one(link)) {
    }
}

/* What each phase says again with every poll, until its answer has come. */
static void repeat(struct link *link)
{
    link->owe_brake = link->braking || link->phase == PHASE_CALMING;
    link->owe_hail = link->phase == PHASE_GREETING;
    link->owe_sync = link->phase == PHASE_SYNCING;
    link->owe_poll = link->phase != PHASE_GREETING;
    /* Another epoch's would be ignored. */
    link->owe_out = link->outputs_used && link->phase >= PHASE_FOUND && link->epoch != 0 &&
                    link->at_epoch == link->epoch &&
                    (link->out_repeats > 0 || link->phase != PHASE_LEG);
}

static void note_heard(struct link *link)
{
    link->report.heard_ns = clock_now_ns(link->clock);
    link->unanswered = 0;
}

static void open_port(struct link *link)
{
    char why[320];
    if (wire_open(&link->wire, link->config.path, link->config.baud, why, sizeof why)) {
        link->phase = PHASE_GREETING;
        link->at_known = link->board_known = link->able_known = link->report_known = false;
        note_heard(link);
        plug_rest(&link->plug);
    } else {
        plug_watch(&link->plug);
        link->events->gone(link->owner, why);
    }
}

static bool is_calm(const struct link *link)
{
    return (link->phase == PHASE_READY || link->phase == PHASE_FOUND) && !link->braking &&
           link->out_repeats == 0;
}

/* Doubled from one try to the next. */
static int64_t next_try_ms(struct link *link)
{
    int64_t ms = link->reopen_ms;
    link->reopen_ms = ms * 2 < REOPEN_MOST_MS ? ms * 2 : REOPEN_MOST_MS;
    return ms;
}

static int64_t period_ms(struct link *link)
{
    if (link->phase == PHASE_CLOSED) {
        return next_try_ms(link);
    }
    return is_calm(link) && link->unanswered == 0 ? POLL_STILL_MS : POLL_MOVING_MS;
}

static bool is_mute(const struct link *link)
{
    int64_t silent_ns = clock_now_ns(link->clock) - link->report.heard_ns;
    return link->unanswered >= MUTE_POLLS && silent_ns > MUTE_MS * CLOCK_NS_PER_MS;
}

static void on_poll_timer(void *owner)
{
    struct link *link = owner;
    if (link->phase == PHASE_CLOSED) {
        open_port(link);
    } else if (link->phase != PHASE_GREETING && is_mute(link)) {
        link_regreet(link, "the step generator does not answer");
    }
    repeat(link);
    link_pump(link);
    if (is_calm(link) && link->unanswered == 1) {
        wire_leave(&link->wire, LEAVE_MS * CLOCK_NS_PER_MS);
    }
    clock_set(link->clock, &link->poll_timer, after_ms(link, period_ms(link)));
}

/* The next poll goes out at once, and the ones after it from there. */
void link_poll_soon(struct link *link)
{
    repeat(link);
    clock_set(link->clock, &link->poll_timer, after_ms(link, POLL_MOVING_MS));
}

void link_regreet(struct link *link, const char *why)
{
    link->phase = PHASE_GREETING;
    link->braking = false;
    link->board_known = link->able_known = link->report_known = link->at_known = false;
    link->leg = (struct leg){.source = NULL};
    link->owe_setting = LINK_SETTINGS;
    note_heard(link);
    link_poll_soon(link);
    link->events->gone(link->owner, why);
}

void link_fault(struct link *link, const char *sentence)
{
    link_brake(link);
    link->events->fault(link->owner, sentence);
}

static void on_line(void *owner, const struct link_line *line)
{
    struct link *link = owner;
    bool asked = link->unanswered > 0;
    note_heard(link);
    if (asked && is_calm(link)) {
        clock_set(link->clock, &link->poll_timer, after_ms(link, POLL_STILL_MS));
    }
    link_hear(link, line);
    link_pump(link);
}

static void on_room(void *owner)
{
    link_pump(owner);
}

static void on_gone(void *owner, const char *why)
{
    struct link *link = owner;
    link->phase = PHASE_CLOSED;
    link->braking = false;
    link->board_known = false;
    link->leg = (struct leg){.source = NULL};
    link->reopen_ms = REOPEN_MS;
    plug_watch(&link->plug);
    clock_set(link->clock, &link->poll_timer, after_ms(link, next_try_ms(link)));
    link->events->gone(link->owner, why);
}

/* As soon as the loop comes round: several things happen to a name when it comes. */
static void on_came(void *owner)
{
    struct link *link = owner;
    if (link->phase == PHASE_CLOSED) {
        link->reopen_ms = REOPEN_MS;
        clock_set(link->clock, &link->poll_timer, clock_now_ns(link->clock));
    }
}

static const struct wire_events wire_events = {on_line, on_room, on_gone};

struct link *link_create(uv_loop_t *loop, struct clock *clock, const struct serial_operations *port,
                         const struct link_config *config, const struct link_events *events,
                         void *owner)
{
    struct link *link = calloc(1, sizeof *link);
    if (!link) {
        return NULL;
    }
    link->config = *config;
    link->events = events;
    link->owner = owner;
    link->clock = clock;
    link->phase = PHASE_CLOSED;
    link->owe_setting = LINK_SETTINGS;
    link->reopen_ms = REOPEN_MS;
    plug_init(&link->plug, loop, config->path, on_came, link);
    wire_init(&link->wire, loop, clock, port, &wire_events, link);
    link->poll_timer = (struct clock_timer){.due = on_poll_timer, .owner = link};
    clock_set(clock, &link->poll_timer, clock_now_ns(clock));
    return link;
}

void link_close(struct link *link)
{
    clock_clear(link->clock, &link->poll_timer);
    wire_close(&link->wire);
    plug_rest(&link->plug);
    link->phase = PHASE_CLOSED;
}

void link_free(struct link *link)
{
    free(link);
}

void link_sync(struct link *link, uint16_t epoch, int32_t count,
               const uint32_t setting[LINK_SETTINGS])
{
    if (link->phase != PHASE_FOUND && link->phase != PHASE_READY) {
        return; /* the generator went away meanwhile; it will be found again */
    }
    link->sync_epoch = epoch;
    link->sync_count = count;
    link->phase = PHASE_SETTING;
    memcpy(link->setting, setting, sizeof link->setting);
    link->owe_setting = 0;
    feed_reset(link);
    link_poll_soon(link);
    link_pump(link);
}

void link_leg(struct link *link, link_source *source, void *source_owner, int32_t end_count,
              uint8_t awaited)
{
    link->phase = PHASE_LEG;
    link->leg = (struct leg){
        .source = source,
        .source_owner = source_owner,
        .end_count = end_count,
        .awaited = awaited,
        .last = (uint8_t)(link->next_new - 1),
    };
    link_pump(link);
    clock_set(link->clock, &link->poll_timer, after_ms(link, POLL_MOVING_MS));
}

void link_brake(struct link *link)
{
    if (link->phase < PHASE_READY) {
        return; /* nothing of ours can move */
    }
    bool again = link->braking;
    link->braking = true;
    if (!again && !wire_brake(&link->wire)) {
        link->owe_brake = true;
    }
    link_poll_soon(link);
    link_pump(link);
}

void link_outputs(struct link *link, uint8_t outputs)
{
    if (link->outputs_used && link->outputs == outputs) {
        return;
    }
    link->outputs_used = true;
    link->outputs = outputs;
    link->out_repeats = OUT_REPEATS;
    link_poll_soon(link);
    link_pump(link);
}

bool link_ready(const struct link *link)
{
    return link->phase == PHASE_READY && !link->braking;
}

const struct link_board *link_board(const struct link *link)
{
    return link->phase >= PHASE_FOUND ? &link->board : NULL;
}

const struct link_report *link_report(const struct link *link)
{
    return link->phase >= PHASE_FOUND ? &link->report : NULL;
}

uint16_t link_epoch(const struct link *link)
{
    return link->at_epoch;
}

uint64_t link_spoilt(const struct link *link)
{
    return link->wire.spoilt;
}
