/* SPDX-License-Identifier: MIT */
/* What a key begins, and how it ends. */
#include <string.h>

#include "clients/pedal/gate_parts.h"

static void set_deed(struct gate *gate, const struct gate_key *key, enum gate_deed_kind kind,
                     double id)
{
    gate->deed =
        (struct gate_deed){.kind = kind, .device = key->device, .code = key->code, .id = id};
}

void gate_forget_deed(struct gate *gate)
{
    gate->deed = (struct gate_deed){0};
}

/* A hold that has no token yet is stopped: requests of one connection are taken in their order, so
 * the stop comes behind it. */
void gate_let_go(struct gate *gate)
{
    struct gate_deed deed = gate->deed;
    gate_forget_deed(gate);
    if (deed.kind == DEED_HOLD && deed.token[0] != '\0') {
        (void)gate_send(gate, &(struct gate_request){.ask = GATE_RELEASE, .text = deed.token});
    } else if (deed.kind == DEED_HOLD || deed.kind == DEED_TO) {
        gate->halted = gate->motion_id > 0;
        (void)gate_send(gate, &(struct gate_request){.ask = GATE_STOP});
    }
}

static void move(struct gate *gate, struct gate_request request)
{
    gate->motion_id = gate_send(gate, &request);
    gate->halted = false;
}

static void hold(struct gate *gate, int64_t now_ms, const struct gate_key *key)
{
    double id = gate_send(gate, &(struct gate_request){.ask = GATE_HOLD,
                                                       .up = key->action->up,
                                                       .fast = key->action->fast,
                                                       .next = key->action->kind == ACTION_NEXT});
    if (id > 0) {
        set_deed(gate, key, DEED_HOLD, id);
        gate->deed.renew_ms = now_ms + GATE_RENEW_MS;
    }
}

/* --- next --- */

static void next(struct gate *gate, int64_t now_ms, const struct gate_key *key)
{
    if (now_ms - gate->rest_ms < GATE_NEXT_REST_MS) {
        gate_say(gate, "Too soon after the lift came to rest: the key was not heeded. Press it "
                       "anew.");
        return;
    }
    if (gate->lift.router_turning) { /* then only what is held may move, if anything may */
        hold(gate, now_ms, key);
    } else {
        set_deed(gate, key, DEED_NEXT, 0);
    }
}

void gate_next_let_go(struct gate *gate, int64_t now_ms)
{
    const struct gate_key *key = gate_deed_key(gate);
    bool long_enough = key && now_ms - key->down_ms >= GATE_NEXT_DOWN_MS;
    gate_forget_deed(gate);
    if (gate_in_motion(gate)) {
        return; /* somebody else's; it was not asked to stop by a press */
    }
    if (long_enough) {
        move(gate, (struct gate_request){.ask = GATE_NEXT});
    } else {
        gate_say(gate, "The key was down too short a time to count. Press it a little longer.");
    }
}

/* --- A height that is typed --- */

static bool must_hold(const struct gate *gate, int64_t nm)
{
    return !gate->lift.height_known || nm - gate->lift.height_nm > GATE_RISE_NM;
}

static void show(const struct gate *gate, enum gate_typing state)
{
    char why[WORDS_WHY] = "";
    struct gate_shown shown = {.state = state,
                               .text = gate->typed.text,
                               .unit = typed_unit(&gate->typed, gate->style),
                               .why = why};
    shown.read = typed_read(&gate->typed, gate->style, &shown.nm, why);
    shown.must_hold = shown.read && must_hold(gate, shown.nm);
    gate->sink.show(gate->sink.owner, &shown);
}

static void drop_typed(struct gate *gate)
{
    gate->typed = (struct typed){0};
}

void gate_clear_typed(struct gate *gate)
{
    if (gate->typed.used > 0) {
        drop_typed(gate);
        show(gate, GATE_CLEARED);
    }
}

static void enter(struct gate *gate, const struct gate_key *key)
{
    int64_t nm;
    char why[WORDS_WHY];
    if (gate->typed.used == 0) {
        gate_say(gate, "Enter was pressed, but no height is typed: nothing was asked of the "
                       "lift.");
        return;
    }
    if (!typed_read(&gate->typed, gate->style, &nm, why)) {
        show(gate, GATE_TYPING); /* says what was expected */
        return;
    }
    show(gate, GATE_SENT);
    drop_typed(gate);
    move(gate, (struct gate_request){.ask = GATE_TO, .nm = nm});
    if (gate->motion_id > 0 && must_hold(gate, nm)) {
        set_deed(gate, key, DEED_TO, gate->motion_id);
    }
}

static void type(struct gate *gate, int64_t now_ms, const struct gate_key *key)
{
    char types = key->action->types;
    if (gate->follows && gate->typed.used == 0 && gate->lift.unit != 0) {
        gate->style = gate->lift.unit; /* and not later: what is typed keeps its meaning */
    }
    if (types == ACTION_ENTER) {
        enter(gate, key);
    } else if (types == ACTION_CLEAR) {
        gate_clear_typed(gate);
    } else if (!typed_add(&gate->typed, types)) {
        gate_clear_typed(gate);
        gate_say(gate, "No height is so long: it was cleared. Type it anew.");
    } else {
        gate->clear_ms = now_ms + TYPED_CLEAR_MS;
        show(gate, GATE_TYPING);
    }
}

void gate_begin(struct gate *gate, int64_t now_ms, const struct gate_key *key)
{
    const struct action *action = key->action;
    if (action->kind != ACTION_KEYPAD) {
        gate_clear_typed(gate); /* not to be sent behind something else */
    }
    switch (action->kind) {
    case ACTION_HOLD:
        hold(gate, now_ms, key);
        break;
    case ACTION_NUDGE:
        move(gate, (struct gate_request){.ask = GATE_BY, .nm = action->nm});
        break;
    case ACTION_TO:
        move(gate, (struct gate_request){.ask = GATE_TO, .nm = action->nm});
        break;
    case ACTION_RECALL:
        move(gate, (struct gate_request){.ask = GATE_RECALL, .text = action->name});
        break;
    case ACTION_NEXT:
        next(gate, now_ms, key);
        break;
    case ACTION_STOP:
        (void)gate_send(gate, &(struct gate_request){.ask = GATE_STOP});
        break;
    case ACTION_KEYPAD:
        type(gate, now_ms, key);
        break;
    }
}
