/* SPDX-License-Identifier: MIT */
#include "daemon/link/talk.h"

#include <stdio.h>

static void enter(struct link *link, enum link_phase phase)
{
    link->phase = phase;
    link_poll_soon(link);
}

static void hear_board(struct link *link, const uint32_t *v)
{
    link->board.major = v[0];
    link->board.minor = v[1];
    link->board.id = v[2];
    link->board.boot = v[3];
    link->board_known = true;
}

static void hear_able(struct link *link, const uint32_t *v)
{
    link->board.tick_hz = v[0];
    link->board.queue = v[1] < QUEUE_MOST ? v[1] : QUEUE_MOST;
    link->board.inside_min_ticks = v[2];
    link->board.first_min_ticks = v[3];
    link->board.inputs_present = v[4];
    link->able_known = true;
}

static void found(struct link *link)
{
    link->epoch = link->at_epoch;
    enter(link, PHASE_FOUND);
    link->events->found(link->owner);
}

/* A report's two lines are here while the two sides are coming to an agreement. */
static void meet(struct link *link)
{
    bool at_rest = link->report.state < LINK_STATE_RUNNING;
    if (link->phase == PHASE_GREETING && link->board_known && link->able_known &&
        link->board.major == LINK_MAJOR) {
        link->epoch = link->at_epoch;
        if (at_rest) {
            found(link);
        } else {
            enter(link, PHASE_CALMING);
        }
    } else if (link->phase == PHASE_CALMING && at_rest) {
        found(link);
    } else if (link->phase == PHASE_SETTING && link->owe_setting == LINK_SETTINGS) {
        if (link->settings_sum == link_sum_settings(link->setting)) {
            enter(link, PHASE_SYNCING);
        } else if (link->at_poll == link->poll_number) {
            link->owe_setting = 0; /* one of them was lost */
            link_poll_soon(link);
        }
    }
}

/* In the new epoch. If it was braked meanwhile it says so with the next poll. */
static void synced(struct link *link)
{
    link->epoch = link->sync_epoch;
    link->phase = PHASE_READY;
    link->out_repeats = link->outputs_used ? OUT_REPEATS : 0;
    if (link->report.state == LINK_STATE_STILL) {
        link->events->ready(link->owner);
    } else {
        link_poll_soon(link);
    }
}

/* An epoch that is not ours, from a board that was in ours: it has started afresh. */
static bool strange(struct link *link, uint32_t epoch)
{
    bool awaited = link->phase == PHASE_SYNCING && epoch == link->sync_epoch;
    if (epoch == link->epoch || awaited || link->phase < PHASE_FOUND) {
        return false;
    }
    link_regreet(link, "the step generator has started afresh");
    return true;
}

static void hear_at(struct link *link, const uint32_t *v)
{
    if (strange(link, v[0])) {
        return;
    }
    link->at_known = true;
    link->at_epoch = (uint16_t)v[0];
    link->at_poll = (uint8_t)v[1];
    link->report.state = (enum link_state)v[2];
    link->report.count = (int32_t)v[3];
    link->report.reversal_count = (int32_t)v[4];
    if (link->phase == PHASE_SYNCING && v[0] == link->sync_epoch) {
        synced(link);
    }
}

static void hear_see(struct link *link, const uint32_t *v)
{
    if (strange(link, v[0]) || !link->at_known || v[1] != link->at_poll) {
        return; /* half a report; the next poll brings a whole one */
    }
    link->report.inputs = v[2];
    link->report.late = v[5];
    link->settings_sum = v[6];
    link->report_known = true;
    meet(link);
    if (link->phase < PHASE_FOUND) {
        return;
    }
    if (link->phase == PHASE_LEG) {
        feed_used(link, (uint8_t)v[4]);
        feed_report(link);
    }
    link->events->report(link->owner);
}

static void hear_ended(struct link *link, const uint32_t *v)
{
    if (link->phase != PHASE_LEG || v[0] != link->epoch) {
        return;
    }
    int32_t count = (int32_t)v[1];
    link->phase = PHASE_READY;
    link->report.count = count;
    link->report.state = LINK_STATE_STILL;
    link->used = link->leg.last;
    link_poll_soon(link);
    link->events->ended(link->owner, count);
}

static void hear_stopped(struct link *link, const uint32_t *v)
{
    bool ours = v[0] == link->epoch && link->phase >= PHASE_READY;
    if (!ours) {
        return; /* told already, or of an older epoch */
    }
    link->phase = PHASE_FOUND;
    link->braking = false;
    link->owe_brake = false;
    link->report.count = (int32_t)v[2];
    link->report.state = LINK_STATE_ADRIFT;
    if (v[1] >= LINK_WHY_INPUT) {
        link->report.inputs |= 1u << (v[1] - LINK_WHY_INPUT); /* the report that says so follows */
    }
    link->leg = (struct leg){.source = NULL};
    link->events->stopped(link->owner, (uint8_t)v[1], (int32_t)v[2], (int32_t)v[3]);
}

static void hear_refused(struct link *link, const uint32_t *v)
{
    if (link->phase == PHASE_SYNCING && v[1] == LINK_SYNC && v[2] == LINK_REFUSED_COUNT) {
        link_regreet(link, "the step generator keeps another count than ours");
        return;
    }
    /* What was refused on the way to an agreement is said again by itself; a refused stride or
     * begin means that the two sides differ about what may be done. */
    if (link->phase != PHASE_LEG || v[0] != link->epoch ||
        (v[1] != LINK_STRIDE && v[1] != LINK_BEGIN)) {
        return;
    }
    char sentence[160];
    snprintf(sentence, sizeof sentence,
             "the step generator refused %s (reason %u): the lift did not go on",
             v[1] == LINK_STRIDE ? "a piece of the move" : "to begin", (unsigned)v[2]);
    link_fault(link, sentence);
}

void link_hear(struct link *link, const struct link_line *line)
{
    const uint32_t *v = line->value;
    bool ours = v[0] == link->epoch && link->phase >= PHASE_READY;
    switch (line->word) {
    case LINK_BOARD:
        hear_board(link, v);
        break;
    case LINK_ABLE:
        hear_able(link, v);
        break;
    case LINK_AT:
        hear_at(link, v);
        break;
    case LINK_SEE:
        hear_see(link, v);
        break;
    case LINK_ENDED:
        hear_ended(link, v);
        break;
    case LINK_STOPPED:
        hear_stopped(link, v);
        break;
    case LINK_REFUSED:
        hear_refused(link, v);
        break;
    case LINK_TOOK:
        if (ours) {
            feed_took(link, (uint8_t)v[1], (uint8_t)v[2], (int32_t)v[3], (uint16_t)v[4]);
        }
        break;
    case LINK_USED:
        if (ours) {
            feed_used(link, (uint8_t)v[1]);
        }
        break;
    case LINK_WANT:
        if (ours) {
            feed_want(link, (uint8_t)v[1]);
        }
        break;
    case LINK_SCALE:
        if (ours && link->phase == PHASE_READY) {
            link->events->scale(link->owner, v[2]);
        }
        break;
    default:
        break; /* a request: not for the daemon */
    }
}
