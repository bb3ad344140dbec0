/* SPDX-License-Identifier: MIT */
#include "daemon/serve/method.h"

static void touch(struct call *call)
{
    int64_t nm;
    struct lift_refusal refusal;
    if (method_length(call, call->found[0], call->found[1], &nm) &&
        !lift_touch(call_lift(call), nm, method_done, call, &refusal)) {
        call_refused(call, &refusal);
    }
}

static void here_top(struct call *call)
{
    struct lift_refusal refusal;
    if (!lift_here_top(call_lift(call), method_done, call, &refusal)) {
        call_refused(call, &refusal);
    }
}

static void confirm(struct call *call)
{
    int64_t nm;
    struct lift_refusal refusal;
    bool given = call->found[0] || call->found[1];
    if (given && !method_length(call, call->found[0], call->found[1], &nm)) {
        return;
    }
    if (!lift_confirm(call_lift(call), given ? &nm : NULL, method_done, call, &refusal)) {
        call_refused(call, &refusal);
    }
}

static const struct local_param height_params[] = {
    {"height", LOCAL_STRING, false}, {"height_nm", LOCAL_INTEGER, false}, {NULL, 0, false}};

const struct method methods_zero[] = {{"confirm", height_params, confirm, false},
                                      {"here-top", method_no_params, here_top, false},
                                      {"touch", height_params, touch, false},
                                      {NULL, NULL, NULL, false}};
