/* SPDX-License-Identifier: MIT */
#include <stdio.h>

#include "daemon/serve/method.h"
#include "protocol/length.h"

void method_add_length(cJSON *object, const char *name, int64_t nm)
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
        [LIFT_STILL] = "still",         [LIFT_MOVING] = "moving", [LIFT_BRAKING] = "braking",
        [LIFT_UNPOWERED] = "unpowered", [LIFT_BARRED] = "barred", [LIFT_UNPLUGGED] = "unplugged",
    };
    return words[activity];
}

static void add_heights(cJSON *object, const struct lift_status *s)
{
    bool known = s->table_zero != TRUST_LOST;
    if (s->height_known) {
        bool present = s->activity != LIFT_UNPLUGGED;
        method_add_length(object, present ? "height" : "last_height", s->height_nm);
    }
    method_add_length(object, "position", s->position_nm);
    if (s->moving_to_known) {
        method_add_length(object, known ? "going_to" : "going_to_position", s->moving_to_nm);
    }
}

static void add_link(cJSON *object, const struct lift_status *s)
{
    if (s->activity == LIFT_UNPLUGGED || s->barred_why[0] != '\0') {
        cJSON_AddStringToObject(object, "why", s->barred_why);
    }
    if (s->activity != LIFT_UNPLUGGED) {
        cJSON_AddNumberToObject(object, "count", s->count);
        cJSON_AddNumberToObject(object, "age_ms", (double)(s->age_ns / CLOCK_NS_PER_MS));
        cJSON_AddNumberToObject(object, "board", s->board);
        cJSON_AddNumberToObject(object, "boot", s->boot);
    }
}

cJSON *method_status(const struct call *call)
{
    const struct server *server = call->exchange->session->server;
    cJSON *object = cJSON_CreateObject();
    struct lift_status s;
    lift_status(server->lift, &s);
    cJSON_AddBoolToObject(object, "practice", server->practice);
    cJSON_AddStringToObject(object, "activity", activity_word(s.activity));
    cJSON_AddStringToObject(object, "reference", trust_word(s.reference));
    cJSON_AddStringToObject(object, "table_zero", trust_word(s.table_zero));
    add_heights(object, &s);
    const struct preset *preset = s.preset ? shop_find_id(server->shop, s.preset) : NULL;
    if (preset) {
        cJSON_AddStringToObject(object, "preset", preset->name);
    }
    cJSON_AddStringToObject(object, "play",
                            s.play_taken_up ? "taken-up"
                            : s.play_known  ? "open"
                                            : "unknown");
    cJSON_AddBoolToObject(object, "stop_open", s.stop_open);
    add_link(object, &s);
    return object;
}

static void status(struct call *call)
{
    call_result(call, method_status(call));
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

static void stop(struct call *call)
{
    lift_stop(call_lift(call), "a stop request");
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

const struct method methods_state[] = {{"all-clear", method_no_params, all_clear},
                                       {"hello", method_no_params, hello},
                                       {"status", method_no_params, status},
                                       {"stop", method_no_params, stop},
                                       {NULL, NULL, NULL}};
