/* SPDX-License-Identifier: MIT */
#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "daemon/serve/method.h"
#include "protocol/length.h"

const struct local_param method_no_params[] = {{NULL, 0, false}};

void method_invalid(struct call *call, const char *format, ...)
{
    char sentence[LIFT_SENTENCE];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(sentence, sizeof sentence, format, arguments);
    va_end(arguments);
    local_plain(sentence);
    call_error(call, LOCAL_INVALID_PARAMS, sentence, NULL);
}

void method_invalid_name(struct call *call, const char *name)
{
    method_invalid(
        call,
        "Found \"%.70s\", %zu bytes, for a name; 1 to 63 bytes without control characters "
        "and without spaces at the ends would do.",
        name, strlen(name));
}

bool method_length(struct call *call, int at, int64_t *length_nm)
{
    const cJSON *text = call->found[at];
    const cJSON *nm = call->found[at + 1];
    const char *name = call->method->params[at].name;
    struct length_fault fault;
    if ((text != NULL) == (nm != NULL)) {
        method_invalid(call, "Found %s '%s' %s '%s_nm'; one of the two would do.",
                       text ? "both" : "neither", name, text ? "and" : "nor", name);
        return false;
    }
    if (nm) {
        *length_nm = (int64_t)nm->valuedouble;
        if (*length_nm <= LENGTH_NM_MAX && *length_nm >= -LENGTH_NM_MAX) {
            return true;
        }
        method_invalid(call, "Found %" PRId64 " for '%s_nm'; at most 10 m either way would do.",
                       *length_nm, name);
        return false;
    }
    if (length_parse(text->valuestring, LENGTH_BARE_REFUSED, length_nm, &fault)) {
        return true;
    }
    method_invalid(call, "Found \"%.40s\" for '%s': %s.", text->valuestring, name, fault.text);
    return false;
}

void method_refuse(struct call *call, enum reason reason, const char *sentence)
{
    struct lift_refusal refusal = {.reason = reason};
    snprintf(refusal.sentence, sizeof refusal.sentence, "%s", sentence);
    call_refused(call, &refusal);
}

bool method_may_move(struct call *call)
{
    if (call->id) {
        return true;
    }
    lift_note(call_lift(call), "refused", "a motion without an id, which could not be answered");
    call_error(call, LOCAL_INVALID_REQUEST,
               "A motion needs an id, so that its end can be answered.", NULL);
    return false;
}

void method_in_charge(struct call *call)
{
    struct session *session = call->exchange->session;
    snprintf(session->server->in_charge, CLIENT_NAME_SIZE, "%s", session_name(session));
}

void method_done(void *owner, const struct lift_refusal *refusal)
{
    struct call *call = owner;
    if (refusal) {
        call_refused(call, refusal);
    } else {
        call_result(call, method_status(call));
    }
}

static void on_rested(void *owner)
{
    struct call *call = owner;
    call_result(call, method_status(call));
}

void method_await_rest(struct call *call)
{
    call->waiter = (struct lift_waiter){.rested = on_rested, .owner = call};
    lift_await_rest(call_lift(call), &call->waiter);
}

static const struct method *find(const char *name)
{
    static const struct method *const tables[] = {
        methods_state, methods_motion,  methods_hold,   methods_day,
        methods_zero,  methods_stories, methods_shop,   methods_calibration,
        methods_log,   methods_pair,    methods_display};
    for (size_t t = 0; t < sizeof tables / sizeof *tables; t++) {
        for (const struct method *method = tables[t]; method->name; method++) {
            if (strcmp(name, method->name) == 0) {
                return method;
            }
        }
    }
    return NULL;
}

static void refuse_stranger(struct call *call)
{
    char sentence[LIFT_SENTENCE];
    snprintf(sentence, sizeof sentence,
             "User %u may look and stop, and no more. Nothing was done. Members of the daemon's "
             "group (%u) may command: let root add that user to it, and log in anew.",
             (unsigned)call->exchange->session->uid, (unsigned)getegid());
    method_refuse(call, REASON_NOT_PERMITTED, sentence);
}

/* What is under way was asked for by the one before. */
static void tell_who(const struct call *call)
{
    struct lift_status status;
    if (call->method->for_all) {
        return;
    }
    lift_status(call_lift(call), &status);
    if (!status.in_motion) {
        lift_asked_by(call_lift(call), session_name(call->exchange->session));
    }
}

void dispatch(struct call *call, const struct local_request *request)
{
    char why[512];
    const struct session *session = call->exchange->session;
    const struct method *method = find(request->method);
    call->method = method;
    if (method && strcmp(method->name, "stop") == 0) {
        method_brake(call); /* first: whatever is wrong with the request is no reason to go on */
    }
    if (!method) {
        call_error(call, LOCAL_METHOD_NOT_FOUND,
                   "There is no such method; LOCAL.md lists them all.", NULL);
    } else if (!session->may_command && !method->for_all) {
        refuse_stranger(call);
    } else if (session->call_count > CALLS_MAX) {
        method_refuse(call, REASON_TOO_MANY,
                      "Too many requests of this connection wait for their answers. Nothing was "
                      "done by this one, but that a stop brakes all the same. Read the answers "
                      "first.");
    } else if (!local_params(request->params, method->params, call->found, why, sizeof why)) {
        call_error(call, LOCAL_INVALID_PARAMS, why, NULL);
    } else {
        fitted_tell_lift(session->server);
        tell_who(call);
        method->carry_out(call);
    }
}
