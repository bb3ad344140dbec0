/* SPDX-License-Identifier: MIT */
#include "daemon/link/talk.h"

/* How far `sequence` is ahead of `base`, modulo the window. */
static uint8_t ahead(uint8_t sequence, uint8_t base)
{
    return (uint8_t)(sequence - base);
}

static struct sent *slot(struct link *link, uint8_t sequence)
{
    return &link->sent[sequence % SENT_RING];
}

void feed_reset(struct link *link)
{
    link->next_new = link->next_send = 0;
    link->took = link->used = LINK_WINDOW - 1;
    slot(link, link->took)->sum = LINK_SUM_START;
    slot(link, link->took)->end_count = link->sync_count;
    link->leg = (struct leg){.source = NULL};
}

/* Makes the next stride of the leg, if the generator has a place for it. */
static bool make(struct link *link)
{
    struct leg *leg = &link->leg;
    if (!leg->source || ahead(link->next_new, link->used) > link->board.queue) {
        return false;
    }
    const struct sent *before = slot(link, (uint8_t)(link->next_new - 1));
    struct sent next;
    bool failed = false;
    if (!leg->source(leg->source_owner, &next.stride, &next.leg_ticks, &failed)) {
        leg->source = NULL;
        if (failed) {
            link_fault(link, "the rest of the move could not be worked out: the lift was stopped");
        }
        return false;
    }
    int32_t steps = next.stride.steps;
    next.sum = link_sum_stride(before->sum, &next.stride, link->next_new);
    next.end_count = before->end_count + (next.stride.flags & STRIDE_DOWN ? -steps : steps);
    *slot(link, link->next_new) = next;
    leg->last = link->next_new++;
    leg->made = true;
    if (next.stride.flags & STRIDE_REST) {
        leg->source = NULL;
    }
    return true;
}

static bool send_stride(struct link *link)
{
    struct link_line line;
    link_stride_line(&slot(link, link->next_send)->stride, link->next_send, &line);
    if (!wire_send(&link->wire, &line)) {
        return false;
    }
    link->next_send++;
    return true;
}

/* Right behind the stride that brings the queue to enough motion, or behind the last. */
static bool begin_due(struct link *link)
{
    const struct leg *leg = &link->leg;
    if (!leg->made || leg->begin_sent || link->next_send != link->next_new) {
        return false;
    }
    uint64_t enough = (uint64_t)link->board.tick_hz / 1000 * BEGIN_AHEAD_MS;
    bool full = ahead(link->next_new, link->used) > link->board.queue;
    return !leg->source || full || slot(link, leg->last)->leg_ticks >= enough;
}

static bool send_begin(struct link *link)
{
    struct link_line line = {.word = LINK_BEGIN,
                             .count = link_values(LINK_BEGIN),
                             .value = {link->epoch, link->leg.last, link->leg.awaited}};
    if (!wire_send(&link->wire, &line)) {
        return false;
    }
    link->leg.begin_sent = true;
    link->leg.begin_poll = (uint8_t)(link->poll_number + 1);
    return true;
}

bool feed_send(struct link *link)
{
    if (link->next_send == link->next_new && !begin_due(link) && !make(link)) {
        /* The source may just have ended, which makes the begin due. */
        return begin_due(link) && link->phase == PHASE_LEG && send_begin(link);
    }
    return begin_due(link) ? send_begin(link) : send_stride(link);
}

void feed_used(struct link *link, uint8_t used)
{
    if (ahead(used, link->used) <= ahead((uint8_t)(link->next_new - 1), link->used)) {
        link->used = used;
    }
}

void feed_took(struct link *link, uint8_t took, uint8_t used, int32_t end_count, uint16_t sum)
{
    if (ahead(took, link->used) > ahead((uint8_t)(link->next_new - 1), link->used)) {
        return; /* folded answers may come late, never early */
    }
    const struct sent *sent = slot(link, took);
    if (sent->sum != sum || sent->end_count != end_count) {
        link_fault(link, "what the step generator accepted is not what was sent: the lift was "
                         "stopped and its height is not to be trusted");
        return;
    }
    link->took = took;
    feed_used(link, used);
}

void feed_want(struct link *link, uint8_t sequence)
{
    if (link->phase != PHASE_LEG || link->braking ||
        ahead(sequence, link->used) > ahead(link->next_new, link->used)) {
        return;
    }
    link->next_send = sequence;
    if (!link->leg.running) {
        link->leg.begin_sent = false; /* it was not obeyed with a stride missing */
    }
}

void feed_report(struct link *link)
{
    struct leg *leg = &link->leg;
    if (link->report.state >= LINK_STATE_RUNNING) {
        leg->running = true;
        return;
    }
    bool after_begin = leg->begin_sent && (int8_t)(link->at_poll - leg->begin_poll) >= 0;
    if (link->report.state != LINK_STATE_STILL || !after_begin) {
        return;
    }
    if (!leg->source && link->used == leg->last && link->report.count == leg->end_count) {
        link->phase = PHASE_READY; /* the word that it has ended was lost */
        link->events->ended(link->owner, link->report.count);
    } else if (!leg->running) {
        leg->begin_sent = false; /* the begin was lost */
    }
}
