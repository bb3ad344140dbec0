/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <string.h>

#include "daemon/serve/method.h"
#include "protocol/length.h"

const struct local_param method_no_params[] = {{NULL, 0, false}};

bool method_length(struct call *call, const cJSON *text, const cJSON *nm, int64_t *length_nm)
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

void method_refuse(struct call *call, enum reason reason, const char *sentence)
{
    struct lift_refusal refusal = {.reason = reason};
    snprintf(refusal.sentence, sizeof refusal.sentence, "%s", sentence);
    call_refused(call, &refusal);
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
    static const struct method *const tables[] = {methods_state, methods_motion, methods_zero,
                                                  methods_shop};
    for (size_t t = 0; t < sizeof tables / sizeof *tables; t++) {
        for (const struct method *method = tables[t]; method->name; method++) {
            if (strcmp(name, method->name) == 0) {
                return method;
            }
        }
    }
    return NULL;
}

void dispatch(struct call *call, const struct local_request *request)
{
    char why[160];
    const struct method *method = find(request->method);
    if (!method) {
        call_error(call, LOCAL_METHOD_NOT_FOUND,
                   "There is no such method; LOCAL.md lists them all.", NULL);
    } else if (!local_params(request->params, method->params, call->found, why, sizeof why)) {
        call_error(call, LOCAL_INVALID_PARAMS, why, NULL);
    } else {
        method->carry_out(call);
    }
}
