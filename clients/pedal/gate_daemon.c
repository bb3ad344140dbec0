/* SPDX-License-Identifier: MIT */
/* What goes to the daemon and what comes from it. */
#include <stdio.h>
#include <string.h>

#include "clients/pedal/gate_parts.h"

/* The last places are for what stops. */
static bool has_room(const struct gate *gate, enum gate_ask ask)
{
    enum { KEPT_FOR_STOPS = 20 };
    bool stops = ask == GATE_STOP || ask == GATE_RELEASE;
    return gate->waiting_count < (size_t)(GATE_WAITING_MAX - (stops ? 0 : KEPT_FOR_STOPS));
}

double gate_send(struct gate *gate, struct gate_request *request)
{
    if (!has_room(gate, request->ask)) {
        gate_say(gate, "regletd does not answer what it was asked, so nothing more was asked. "
                       "Stop the lift at its stop circuit if it moves.");
        return 0;
    }
    request->id = gate->last_id += 1;
    gate->waiting[gate->waiting_count++] =
        (struct gate_waiting){.id = request->id, .ask = request->ask, .hold_id = gate->deed.id};
    gate->sink.send(gate->sink.owner, request);
    return request->id;
}

static bool take_waiting(struct gate *gate, double id, struct gate_waiting *waiting)
{
    for (size_t i = 0; i < gate->waiting_count; i++) {
        if (gate->waiting[i].id == id) {
            *waiting = gate->waiting[i];
            gate->waiting[i] = gate->waiting[--gate->waiting_count];
            return true;
        }
    }
    return false;
}

/* --- What moves --- */

static void set_lift(struct gate *gate, int64_t now_ms, const struct gate_lift *lift)
{
    if (gate->lift.moving && !lift->moving) {
        gate->rest_ms = now_ms;
    }
    bool turning = lift->router_told ? lift->router_turning : gate->lift.router_turning;
    enum length_style unit = lift->unit != 0 ? lift->unit : gate->lift.unit;
    gate->lift = *lift;
    gate->lift.router_turning = turning;
    gate->lift.unit = unit;
}

void gate_ready(struct gate *gate, int64_t now_ms, const struct gate_lift *lift)
{
    gate->ready = true;
    set_lift(gate, now_ms, lift);
}

void gate_told(struct gate *gate, int64_t now_ms, const struct gate_lift *lift)
{
    if (gate->ready) {
        set_lift(gate, now_ms, lift);
    }
}

/* --- Answers --- */

/* The hold goes on only while its key is down; one that was let go before its token came was
 * stopped, and is released too, in case that the stop found nothing moving yet. */
static void hold_answered(struct gate *gate, const struct gate_answer *answer)
{
    struct gate_deed *deed = &gate->deed;
    bool ours = deed->kind == DEED_HOLD && deed->id == answer->id;
    bool usable =
        answer->token && answer->token[0] != '\0' && strlen(answer->token) < sizeof deed->token;
    if (answer->refused && ours) {
        gate_forget_deed(gate);
    } else if (!answer->refused && !usable) {
        gate_halt(gate, "regletd did not name the hold, so the lift is stopped.");
    } else if (!answer->refused && ours) {
        (void)snprintf(deed->token, sizeof deed->token, "%s", answer->token);
    } else if (!answer->refused) {
        (void)gate_send(gate, &(struct gate_request){.ask = GATE_RELEASE, .text = answer->token});
    }
    if (answer->refused) {
        gate_say(gate, answer->sentence);
    }
}

static void renew_answered(struct gate *gate, const struct gate_waiting *waiting,
                           const struct gate_answer *answer)
{
    if (gate->deed.kind != DEED_HOLD || gate->deed.id != waiting->hold_id) {
        return; /* of a hold that we have ended */
    }
    gate->deed.unanswered = 0;
    if (answer->refused) {
        gate_forget_deed(gate);
        gate_say(gate, answer->sentence);
    }
}

static void motion_answered(struct gate *gate, int64_t now_ms, const struct gate_answer *answer)
{
    if (gate->motion_id != answer->id) {
        return;
    }
    if (answer->refused && !(gate->halted && answer->stopped)) {
        gate_say(gate, answer->sentence);
    }
    if (!answer->refused) {
        gate->rest_ms = now_ms;
    }
    if (gate->deed.kind == DEED_TO) {
        gate_forget_deed(gate);
    }
    gate->motion_id = 0;
    gate->halted = false;
}

void gate_answered(struct gate *gate, int64_t now_ms, const struct gate_answer *answer)
{
    struct gate_waiting waiting;
    if (!take_waiting(gate, answer->id, &waiting)) {
        return;
    }
    switch (waiting.ask) {
    case GATE_HOLD:
        hold_answered(gate, answer);
        break;
    case GATE_RENEW:
        renew_answered(gate, &waiting, answer);
        break;
    case GATE_RELEASE: /* a hold that was over already has nothing left to be said about */
    case GATE_STOP:
        if (answer->refused && !answer->hold_over) {
            gate_say(gate, answer->sentence);
        }
        break;
    case GATE_BY:
    case GATE_NEXT:
    case GATE_RECALL:
    case GATE_TO:
        motion_answered(gate, now_ms, answer);
        break;
    }
}

/* --- The end --- */

bool gate_end(struct gate *gate)
{
    bool stops = gate->deed.kind == DEED_HOLD || gate->motion_id > 0;
    if (gate->deed.kind == DEED_HOLD) {
        gate_let_go(gate);
    } else if (gate->motion_id > 0) {
        gate_halt(gate, "The program ends: the lift is stopped.");
    }
    gate->ready = false;
    gate_clear_typed(gate);
    return stops;
}

bool gate_waits(const struct gate *gate)
{
    for (size_t i = 0; i < gate->waiting_count; i++) {
        if (gate->waiting[i].ask == GATE_STOP || gate->waiting[i].ask == GATE_RELEASE) {
            return true;
        }
    }
    return false;
}
