/* SPDX-License-Identifier: MIT */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "daemon/serve/session.h"
#include "protocol/length.h"

/* Adds a length in both its forms: NAME as text with its unit, and NAME_nm. */
static void add_length(cJSON *object, const char *name, int64_t nm)
{
    char text[LENGTH_TEXT_SIZE];
    char name_nm[48];
    length_print_exact(nm, text, sizeof text);
    snprintf(name_nm, sizeof name_nm, "%s_nm", name);
    cJSON_AddStringToObject(object, name, text);
    cJSON_AddNumberToObject(object, name_nm, (double)nm);
}

static const char *activity_word(enum lift_activity activity)
{
    static const char *const words[] = {
        [LIFT_STILL] = "still",   [LIFT_MOVING] = "moving",       [LIFT_BRAKING] = "braking",
        [LIFT_BARRED] = "barred", [LIFT_UNPLUGGED] = "unplugged",
    };
    return words[activity];
}

static const char *trust_word(enum lift_trust trust)
{
    static const char *const words[] = {
        [LIFT_SURE] = "sure", [LIFT_UNCHECKED] = "unchecked", [LIFT_LOST] = "lost"};
    return words[trust];
}

static cJSON *status_object(struct call *call)
{
    cJSON *object = cJSON_CreateObject();
    struct lift_status s;
    lift_status(call_lift(call), &s);
    cJSON_AddBoolToObject(object, "practice", call->exchange->session->server->practice);
    cJSON_AddStringToObject(object, "activity", activity_word(s.activity));
    cJSON_AddStringToObject(object, "table_zero", trust_word(s.table_zero));
    if (s.table_zero != LIFT_LOST) {
        add_length(object, "height", s.height_nm);
    }
    add_length(object, "position", s.position_nm);
    if (s.moving_to_known) {
        add_length(object, s.table_zero != LIFT_LOST ? "going_to" : "going_to_position",
                   s.moving_to_nm);
    }
    cJSON_AddStringToObject(object, "play", s.play_taken_up ? "taken-up"
                                            : s.play_known  ? "open"
                                                            : "unknown");
    cJSON_AddBoolToObject(object, "stop_open", s.stop_open);
    if (s.activity == LIFT_UNPLUGGED || s.activity == LIFT_BARRED) {
        cJSON_AddStringToObject(object, "why", s.barred_why);
    } else {
        cJSON_AddNumberToObject(object, "count", s.count);
        cJSON_AddNumberToObject(object, "age_ms", (double)(s.age_ns / CLOCK_NS_PER_MS));
        cJSON_AddNumberToObject(object, "board", s.board);
        cJSON_AddNumberToObject(object, "boot", s.boot);
    }
    return object;
}

static void hello(struct call *call)
{
    cJSON *object = cJSON_CreateObject();
    cJSON_AddNumberToObject(object, "major", LOCAL_MAJOR);
    cJSON_AddNumberToObject(object, "minor", LOCAL_MINOR);
    cJSON_AddStringToObject(object, "version", REGLET_VERSION);
    cJSON_AddBoolToObject(object, "practice", call->exchange->session->server->practice);
    call_result(call, object);
}

static void status(struct call *call)
{
    call_result(call, status_object(call));
}

static void on_moved(void *owner, const struct lift_refusal *refusal)
{
    struct call *call = owner;
    if (refusal) {
        call_refused(call, refusal);
    } else {
        call_result(call, status_object(call));
    }
}

/* The length in `text` (with its unit) or `nm`; just one of the two. Answers when it is wrong. */
static bool get_length(struct call *call, const cJSON *text, const cJSON *nm, int64_t *length_nm)
{
    struct length_fault fault = {0, "Give the length once: as text with its unit, or as _nm."};
    if (text && !nm) {
        if (length_parse(text->valuestring, LENGTH_BARE_REFUSED, length_nm, &fault)) {
            return true;
        }
    } else if (nm && !text) {
        *length_nm = (int64_t)nm->valuedouble;
        if (*length_nm <= LENGTH_NM_MAX && *length_nm >= -LENGTH_NM_MAX) {
            return true;
        }
        snprintf(fault.text, sizeof fault.text, "A length is at most 10 m either way.");
    }
    call_error(call, LOCAL_INVALID_PARAMS, fault.text, NULL);
    return false;
}

typedef bool motion_fn(struct lift *lift, int64_t nm, lift_done *done, void *owner,
                       struct lift_refusal *refusal);

static void move(struct call *call, motion_fn *motion)
{
    int64_t nm;
    struct lift_refusal refusal;
    if (!call->id) {
        call_error(call, LOCAL_INVALID_REQUEST,
                   "A motion needs an id, so that its end can be answered.", NULL);
        return;
    }
    if (!get_length(call, call->found[0], call->found[1], &nm)) {
        return;
    }
    bool wait = !cJSON_IsFalse(call->found[2]);
    void *owner = wait ? (void *)call : (void *)call->exchange->session; /* whose end brakes it */
    bool taken = motion(call_lift(call), nm, wait ? on_moved : NULL, owner, &refusal);
    if (!taken) {
        call_refused(call, &refusal);
    } else if (!wait) {
        call_result(call, status_object(call));
    }
}

static void to(struct call *call)
{
    move(call, lift_to);
}

static void by(struct call *call)
{
    move(call, lift_by);
}

static void touch(struct call *call)
{
    int64_t nm;
    struct lift_refusal refusal;
    if (!get_length(call, call->found[0], call->found[1], &nm)) {
        return;
    }
    if (lift_touch(call_lift(call), nm, &refusal)) {
        call_result(call, status_object(call));
    } else {
        call_refused(call, &refusal);
    }
}

static void on_rested(void *owner)
{
    struct call *call = owner;
    call_result(call, status_object(call));
}

static void stop(struct call *call)
{
    lift_stop(call_lift(call), "a stop request");
    call->waiter = (struct lift_waiter){.rested = on_rested, .owner = call};
    lift_await_rest(call_lift(call), &call->waiter);
}

static void all_clear(struct call *call)
{
    struct lift_refusal refusal;
    if (lift_all_clear(call_lift(call), &refusal)) {
        call->waiter = (struct lift_waiter){.rested = on_rested, .owner = call};
        lift_await_rest(call_lift(call), &call->waiter);
    } else {
        call_refused(call, &refusal);
    }
}

static const struct local_param none[] = {{NULL, 0, false}};
static const struct local_param to_params[] = {{"height", LOCAL_STRING, false},
                                               {"height_nm", LOCAL_INTEGER, false},
                                               {"wait", LOCAL_BOOLEAN, false},
                                               {NULL, 0, false}};
static const struct local_param by_params[] = {{"distance", LOCAL_STRING, false},
                                               {"distance_nm", LOCAL_INTEGER, false},
                                               {"wait", LOCAL_BOOLEAN, false},
                                               {NULL, 0, false}};
static const struct local_param touch_params[] = {
    {"height", LOCAL_STRING, false}, {"height_nm", LOCAL_INTEGER, false}, {NULL, 0, false}};

static const struct method {
    const char *name;
    const struct local_param *params;
    void (*carry_out)(struct call *call);
} methods[] = {
    {"all-clear", none, all_clear}, {"by", by_params, by}, {"hello", none, hello},
    {"status", none, status},       {"stop", none, stop},  {"to", to_params, to},
    {"touch", touch_params, touch},
};

void dispatch(struct call *call, const struct local_request *request)
{
    char why[160];
    for (size_t i = 0; i < sizeof methods / sizeof *methods; i++) {
        if (strcmp(request->method, methods[i].name) != 0) {
            continue;
        }
        if (local_params(request->params, methods[i].params, call->found, why, sizeof why)) {
            methods[i].carry_out(call);
        } else {
            call_error(call, LOCAL_INVALID_PARAMS, why, NULL);
        }
        return;
    }
    call_error(call, LOCAL_METHOD_NOT_FOUND, "There is no such method; LOCAL.md lists them all.",
               NULL);
}
