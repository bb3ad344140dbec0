/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <string.h>

#include "daemon/serve/method.h"
#include "protocol/length.h"
#include "protocol/link.h"

void method_length_text(int64_t nm, char *text, size_t size)
{
    char inch[LENGTH_TEXT_SIZE];
    char mm[LENGTH_TEXT_SIZE];
    length_print(nm, LENGTH_STYLE_IN, inch, sizeof inch);
    length_print(nm, LENGTH_STYLE_MM, mm, sizeof mm);
    snprintf(text, size, "%s (%s)", inch, mm);
}

static void add_integer(cJSON *object, const char *name, int64_t value)
{
    cJSON_AddItemToObject(object, name, local_integer(value));
}

void method_add_length(cJSON *object, const char *name, int64_t nm)
{
    char text[LENGTH_TEXT_SIZE];
    char name_nm[48];
    length_print_exact(nm, text, sizeof text);
    snprintf(name_nm, sizeof name_nm, "%s_nm", name);
    cJSON_AddStringToObject(object, name, text);
    add_integer(object, name_nm, nm);
}

const char *status_activity(enum lift_activity activity)
{
    static const char *const words[] = {
        [LIFT_STILL] = "still",         [LIFT_MOVING] = "moving", [LIFT_BRAKING] = "braking",
        [LIFT_UNPOWERED] = "unpowered", [LIFT_BARRED] = "barred", [LIFT_UNPLUGGED] = "unplugged",
    };
    return words[activity];
}

static void add_place(cJSON *object, const struct lift_status *s)
{
    if (s->height_known) {
        bool present = s->activity != LIFT_UNPLUGGED;
        method_add_length(object, present ? "height" : "last_height", s->height_nm);
    }
    method_add_length(object, "position", s->position_nm);
}

static void add_reach(cJSON *object, const struct lift_status *s)
{
    if (s->reach_known) {
        method_add_length(object, "lowest", s->lowest_nm);
        method_add_length(object, "highest", s->highest_nm);
    }
}

static void add_target(cJSON *object, const struct lift_status *s)
{
    bool known = s->table_zero != TRUST_LOST;
    if (s->moving_to_known) {
        method_add_length(object, known ? "going_to" : "going_to_position", s->moving_to_nm);
    }
}

static void add_inputs(cJSON *object, uint32_t inputs)
{
    static const char *const names[LINK_INPUTS] = {
        [LINK_INPUT_TOP_SWITCH] = "top-switch",
        [LINK_INPUT_BOTTOM_SWITCH] = "bottom-switch",
        [LINK_INPUT_TOUCH_PLATE] = "touch-plate",
        [LINK_INPUT_STOP_CIRCUIT] = "stop-circuit",
        [LINK_INPUT_ROUTER] = "router",
        [LINK_INPUT_CARRIAGE_LOCK] = "carriage-lock",
        [LINK_INPUT_MOTOR_SUPPLY] = "motor-supply",
    };
    cJSON *list = cJSON_AddArrayToObject(object, "inputs");
    for (unsigned i = 0; i < LINK_INPUTS; i++) {
        if (inputs & 1u << i && names[i]) {
            cJSON_AddItemToArray(list, cJSON_CreateString(names[i]));
        }
    }
}

static void add_count(cJSON *object, const struct lift_status *s)
{
    if (s->activity != LIFT_UNPLUGGED) {
        add_integer(object, "count", s->count);
        add_integer(object, "age_ms", s->age_ns / CLOCK_NS_PER_MS);
    }
}

/* Those that there are and that are on; a lock, that it holds. */
static void add_outputs(cJSON *object, const struct lift_status *s)
{
    if (!s->dust_fitted && !s->lock_fitted) {
        return;
    }
    cJSON *list = cJSON_AddArrayToObject(object, "outputs");
    if (s->dust_on) {
        cJSON_AddItemToArray(list, cJSON_CreateString("dust"));
    }
    if (s->lock_set) {
        cJSON_AddItemToArray(list, cJSON_CreateString("carriage-lock"));
    }
}

static void add_link(cJSON *object, const struct lift_status *s)
{
    if (s->activity == LIFT_UNPLUGGED || s->barred_why[0] != '\0') {
        cJSON_AddStringToObject(object, "why", s->barred_why);
    }
    add_count(object, s);
    if (s->activity != LIFT_UNPLUGGED) {
        add_integer(object, "board", s->board);
        add_integer(object, "boot", s->boot);
        add_inputs(object, s->inputs);
        add_outputs(object, s);
    }
}

static void add_bit(cJSON *object, const struct server *server, const struct lift_status *s)
{
    static const char *const stages[] = {
        [LIFT_STAGE_CHANGING] = "changing", [LIFT_STAGE_FITTED] = "fitted"};
    if (s->bit != 0) {
        cJSON_AddStringToObject(object, "bit", fitted_name(server, s->bit));
    }
    if (s->riding_nm != 0) {
        method_add_length(object, "riding", s->riding_nm);
    }
    if (s->stage != LIFT_STAGE_NONE) {
        cJSON_AddStringToObject(object, "stage", stages[s->stage]);
    }
    if (s->asks != 0) {
        cJSON *asks = cJSON_AddArrayToObject(object, "asks");
        if (s->asks & LIFT_ASK_BIT) {
            cJSON_AddItemToArray(asks, cJSON_CreateString("bit"));
        }
        if (s->asks & LIFT_ASK_RIDING) {
            cJSON_AddItemToArray(asks, cJSON_CreateString("riding"));
        }
    }
    if (s->zero_moved_known) {
        method_add_length(object, "zero_moved", s->zero_moved_nm);
    }
    if (s->corrected_known) {
        method_add_length(object, "corrected", s->corrected_nm);
    }
    cJSON_AddBoolToObject(object, "router_turning", s->router_turning);
}

static void add_readout(cJSON *object, const struct lift_status *s)
{
    static const char *const states[] = {[LIFT_READOUT_WAITS] = "waits",
                                         [LIFT_READOUT_READS] = "reads",
                                         [LIFT_READOUT_SILENT] = "silent",
                                         [LIFT_READOUT_FROZEN] = "frozen",
                                         [LIFT_READOUT_GARBLED] = "garbled"};
    if (s->readout == LIFT_READOUT_ABSENT) {
        return;
    }
    cJSON *readout = cJSON_AddObjectToObject(object, "readout");
    cJSON_AddStringToObject(readout, "state", states[s->readout]);
    cJSON_AddBoolToObject(readout, "checks", s->readout_checks);
    if (s->reading_known) {
        method_add_length(readout, "reading", s->reading_nm);
        add_integer(readout, "age_ms", s->reading_age_ns / CLOCK_NS_PER_MS);
    }
    if (s->apart_known) {
        method_add_length(readout, "apart", s->apart_nm);
        method_add_length(readout, "drift", s->drift_nm);
    }
}

static const char *play_word(const struct lift_status *s)
{
    if (s->play_taken_up) {
        return "taken-up";
    }
    return s->play_known ? "open" : "unknown";
}

cJSON *status_place(const struct lift_status *s)
{
    cJSON *object = cJSON_CreateObject();
    cJSON_AddStringToObject(object, "activity", status_activity(s->activity));
    add_place(object, s);
    add_count(object, s);
    return object;
}

cJSON *status_object(const struct server *server, const struct lift_status *s)
{
    cJSON *object = cJSON_CreateObject();
    cJSON_AddBoolToObject(object, "practice", server->practice);
    cJSON_AddStringToObject(object, "activity", status_activity(s->activity));
    cJSON_AddStringToObject(object, "reference", trust_word(s->reference));
    cJSON_AddStringToObject(object, "table_zero", trust_word(s->table_zero));
    add_place(object, s);
    add_target(object, s);
    add_reach(object, s);
    const struct thing *preset =
        s->preset ? shop_find_id(server->shop, SHOP_PRESET, s->preset) : NULL;
    if (preset) {
        cJSON_AddStringToObject(object, "preset", preset->name);
    }
    cJSON_AddStringToObject(object, "play", play_word(s));
    cJSON_AddBoolToObject(object, "stop_open", s->stop_open);
    if (s->in_motion) {
        cJSON_AddStringToObject(object, "in_charge", server->in_charge);
        cJSON_AddBoolToObject(object, "holding", s->holding);
    }
    add_bit(object, server, s);
    pair_add_status(object, server, s);
    stories_add_status(object, server, s);
    add_readout(object, s);
    cJSON_AddStringToObject(object, "unit", display_unit(server));
    add_link(object, s);
    return object;
}

cJSON *method_status(const struct call *call)
{
    struct lift_status s;
    const struct server *server = call->exchange->session->server;
    lift_status(server->lift, &s);
    return status_object(server, &s);
}

static void status(struct call *call)
{
    size_t size = 0;
    if (call_alone(call)) {
        const char *text = status_text(call->exchange->session->server, &size);
        call_result_text(call, text, size);
    } else {
        call_result(call, method_status(call));
    }
}

static void watch(struct call *call)
{
    watch_begin(call->exchange->session);
    status(call);
}

/* What goes into the log and into sentences: nothing but what can be read there. */
static bool name_valid(const char *name)
{
    size_t size = strlen(name);
    bool printable = size > 0 && size < CLIENT_NAME_SIZE;
    for (size_t i = 0; printable && i < size; i++) {
        printable = name[i] >= ' ' && name[i] <= '~';
    }
    return printable;
}

static void hello(struct call *call)
{
    struct session *session = call->exchange->session;
    const char *name = call->found[0] ? call->found[0]->valuestring : NULL;
    if (name && !name_valid(name)) {
        method_invalid(
            call,
            "Found \"%.40s\" for 'client', %zu bytes; 1 to 31 printable ASCII characters "
            "would do.",
            name, strlen(name));
        return;
    }
    if (name) {
        snprintf(session->client, sizeof session->client, "%s", name);
    }
    cJSON *object = cJSON_CreateObject();
    cJSON_AddNumberToObject(object, "major", LOCAL_MAJOR);
    cJSON_AddNumberToObject(object, "minor", LOCAL_MINOR);
    cJSON_AddStringToObject(object, "version", REGLET_VERSION);
    cJSON_AddBoolToObject(object, "practice", session->server->practice);
    cJSON_AddStringToObject(object, "unit", display_unit(session->server));
    cJSON_AddStringToObject(object, "may", session->may_command ? "command" : "look-and-stop");
    call_result(call, object);
}

void method_brake(const struct call *call)
{
    char who[80];
    const struct session *session = call->exchange->session;
    snprintf(who, sizeof who, "a stop request of %s", session_name(session));
    lift_stop(call_lift(call), who);
}

/* It brakes already, since before its parameters were looked at. */
static void stop(struct call *call)
{
    method_await_rest(call);
}

static void all_clear(struct call *call)
{
    struct lift_refusal refusal;
    if (lift_all_clear(call_lift(call), &refusal)) {
        method_await_rest(call);
    } else {
        call_refused(call, &refusal);
    }
}

static const struct local_param hello_params[] = {{"client", LOCAL_STRING, false},
                                                  {NULL, 0, false}};

const struct method methods_state[] = {
    {"all-clear", method_no_params, all_clear, false}, {"hello", hello_params, hello, true},
    {"status", method_no_params, status, true},        {"stop", method_no_params, stop, true},
    {"watch", method_no_params, watch, true},          {NULL, NULL, NULL, false}};
