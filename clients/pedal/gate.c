/* SPDX-License-Identifier: MIT */
/* The keys: what is down, what is believed, what stops. */
#include "clients/pedal/gate.h"

#include <string.h>

#include "clients/pedal/gate_parts.h"

void gate_start(struct gate *gate, const struct gate_sink *sink, enum length_style style,
                int debounce_ms, double first_id)
{
    memset(gate, 0, sizeof *gate);
    gate->sink = *sink;
    gate->style = style;
    gate->debounce_ms = debounce_ms;
    gate->last_id = first_id;
    gate->rest_ms = INT64_MIN / 2;
}

void gate_say(const struct gate *gate, const char *sentence)
{
    gate->sink.say(gate->sink.owner, sentence);
}

bool gate_in_motion(const struct gate *gate)
{
    return gate->lift.moving || gate->motion_id > 0 || gate->deed.kind == DEED_HOLD;
}

void gate_halt(struct gate *gate, const char *sentence)
{
    gate->halted = gate->motion_id > 0;
    gate->deed = (struct gate_deed){0};
    (void)gate_send(gate, &(struct gate_request){.ask = GATE_STOP});
    gate_say(gate, sentence);
}

/* --- One key --- */

static struct gate_key *find_key(struct gate *gate, unsigned device, unsigned code)
{
    for (size_t i = 0; i < GATE_KEYS_MAX; i++) {
        struct gate_key *key = &gate->key[i];
        if (key->used && key->device == device && key->code == code) {
            return key;
        }
    }
    return NULL;
}

/* NULL when there is no room. A key that is up and quiet gives up its place. */
static struct gate_key *take_key(struct gate *gate, const struct gate_event *event)
{
    struct gate_key *key = find_key(gate, event->device, event->code);
    for (size_t i = 0; i < GATE_KEYS_MAX && !key; i++) {
        struct gate_key *free = &gate->key[i];
        if (!free->used || (!free->down && !free->raw && free->quiet_ms <= event->at_ms)) {
            *free = (struct gate_key){
                .used = true, .device = event->device, .code = event->code, .quiet_ms = INT64_MIN};
            key = free;
        }
    }
    if (key) {
        key->action = event->action;
    }
    return key;
}

static bool types_digit(const struct action *action)
{
    return action->kind == ACTION_KEYPAD && action->types != ACTION_ENTER;
}

/* Fingers overlap when they type. */
static bool another_is_down(const struct gate *gate, const struct gate_key *key)
{
    for (size_t i = 0; i < GATE_KEYS_MAX; i++) {
        const struct gate_key *other = &gate->key[i];
        if (other != key && other->used && other->down && other->action &&
            !(types_digit(key->action) && types_digit(other->action))) {
            return true;
        }
    }
    return false;
}

static void press(struct gate *gate, int64_t now_ms, struct gate_key *key, bool late)
{
    if (!gate->ready) {
        if (key->action) {
            gate_say(gate, "A key was pressed, but regletd is away: nothing was asked of the "
                           "lift.");
        }
    } else if (gate_in_motion(gate)) {
        gate_halt(gate, "A key was pressed while the lift moves: it is stopped.");
    } else if (!key->action) {
        return;
    } else if (another_is_down(gate, key)) {
        gate_halt(gate,
                  "A key was pressed while another is down: stop was asked for, and nothing is "
                  "begun. Let go of both.");
    } else if (late && key->action->kind != ACTION_STOP) {
        gate_say(gate, "A press of a key was read too late, so nothing is begun. Let go, and "
                       "press anew.");
    } else {
        gate_begin(gate, now_ms, key);
    }
}

/* The contact is believed: what it is now, the key is. */
static void believe(struct gate *gate, int64_t now_ms, int64_t at_ms, struct gate_key *key)
{
    if (key->raw == key->down) {
        return;
    }
    key->down = key->raw;
    key->quiet_ms = at_ms + gate->debounce_ms;
    if (key->down) {
        key->down_ms = at_ms;
        press(gate, now_ms, key, key->raw_late);
    } else if (gate_deed_key(gate) == key) {
        if (gate->deed.kind == DEED_NEXT) {
            gate_next_let_go(gate, at_ms);
        } else {
            gate_let_go(gate);
        }
    }
}

void gate_key(struct gate *gate, int64_t now_ms, const struct gate_event *event)
{
    struct gate_key *key = take_key(gate, event);
    if (!key) {
        if (event->down && gate->ready) {
            gate_halt(gate, "Too many keys are down at once: stop was asked for.");
        }
        return;
    }
    key->raw = event->down;
    key->raw_late = event->synced || now_ms - event->at_ms > GATE_LATE_MS;
    if (event->at_ms >= key->quiet_ms) {
        believe(gate, now_ms, event->at_ms, key);
    }
}

/* --- A device --- */

struct gate_key *gate_deed_key(struct gate *gate)
{
    return gate->deed.kind == DEED_NONE ? NULL : find_key(gate, gate->deed.device, gate->deed.code);
}

/* What this device holds ends; what else moves for us might have been stopped by it, so it is. */
static void end_of_device(struct gate *gate, unsigned device, const char *sentence)
{
    bool holds = gate->deed.kind != DEED_NONE && gate->deed.device == device;
    if (holds && gate->deed.kind == DEED_HOLD) {
        gate_let_go(gate);
        gate_say(gate, sentence);
    } else if (gate->motion_id > 0) {
        gate_halt(gate, sentence);
    } else if (holds) {
        gate_forget_deed(gate);
    }
}

void gate_dropped(struct gate *gate, unsigned device)
{
    end_of_device(gate, device,
                  "What a device told was lost in part, so the lift is stopped. Let go, and press "
                  "anew.");
    for (size_t i = 0; i < GATE_KEYS_MAX; i++) {
        struct gate_key *key = &gate->key[i];
        if (key->used && key->device == device) {
            key->down = key->raw; /* a press begins nothing any more */
            key->quiet_ms = INT64_MIN;
        }
    }
}

void gate_gone(struct gate *gate, unsigned device)
{
    end_of_device(gate, device,
                  "The device went away while the lift moved for it: the lift is stopped.");
    gate_clear_typed(gate);
    for (size_t i = 0; i < GATE_KEYS_MAX; i++) {
        if (gate->key[i].device == device) {
            gate->key[i] = (struct gate_key){0};
        }
    }
}

void gate_lost(struct gate *gate)
{
    gate->ready = false;
    gate->lift = (struct gate_lift){0};
    gate->motion_id = 0;
    gate->halted = false;
    gate->deed = (struct gate_deed){0};
    gate->waiting_count = 0;
    gate_clear_typed(gate);
}

/* --- Time --- */

static int64_t least(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

int64_t gate_next_ms(const struct gate *gate)
{
    int64_t next_ms = INT64_MAX;
    for (size_t i = 0; i < GATE_KEYS_MAX; i++) {
        const struct gate_key *key = &gate->key[i];
        next_ms = key->used && key->raw != key->down ? least(next_ms, key->quiet_ms) : next_ms;
    }
    if (gate->deed.kind == DEED_HOLD && gate->deed.token[0] != '\0') {
        next_ms = least(next_ms, gate->deed.renew_ms);
    }
    return gate->typed.used > 0 ? least(next_ms, gate->clear_ms) : next_ms;
}

static void renew(struct gate *gate, int64_t now_ms)
{
    struct gate_deed *deed = &gate->deed;
    if (deed->unanswered >= GATE_RENEW_MOST) {
        gate_let_go(gate);
        gate_say(gate, "regletd does not answer, so the lift is not held any more. Let go, look "
                       "whether it stands, and press anew.");
        return;
    }
    deed->renew_ms += GATE_RENEW_MS;
    if (deed->renew_ms <= now_ms) {
        deed->renew_ms = now_ms + GATE_RENEW_MS; /* we were late: one is enough */
    }
    deed->unanswered++;
    (void)gate_send(gate, &(struct gate_request){.ask = GATE_RENEW, .text = deed->token});
}

void gate_tick(struct gate *gate, int64_t now_ms)
{
    for (size_t i = 0; i < GATE_KEYS_MAX; i++) {
        struct gate_key *key = &gate->key[i];
        if (key->used && key->raw != key->down && now_ms >= key->quiet_ms) {
            believe(gate, now_ms, now_ms, key);
        }
    }
    if (gate->deed.kind == DEED_HOLD && gate->deed.token[0] != '\0' &&
        now_ms >= gate->deed.renew_ms) {
        renew(gate, now_ms);
    }
    if (gate->typed.used > 0 && now_ms >= gate->clear_ms) {
        gate_clear_typed(gate);
    }
}
