/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <string.h>

#include "daemon/serve/method.h"

bool method_asker(struct call *call, const cJSON *wait, struct method_asker *asker)
{
    if (!method_may_move(call)) {
        return false;
    }
    *asker = cJSON_IsFalse(wait) ? (struct method_asker){NULL, call->exchange->session}
                                 : (struct method_asker){method_done, call};
    return true;
}

void method_asked(struct call *call, bool taken, const struct method_asker *asker,
                  const struct lift_refusal *refusal)
{
    if (!taken) {
        call_refused(call, refusal);
        return;
    }
    method_in_charge(call);
    if (!asker->done) {
        call_result(call, method_status(call));
    }
}

bool method_said_clear(struct call *call, const cJSON *clear, const char *what)
{
    char sentence[LIFT_SENTENCE];
    if (cJSON_IsTrue(clear)) {
        return true;
    }
    snprintf(sentence, sizeof sentence, "%s Nothing has been done. Look, then say that it is so.",
             what);
    method_refuse(call, REASON_SAY_CLEAR, sentence);
    return false;
}

static void to(struct call *call)
{
    int64_t nm;
    struct method_asker asker;
    struct lift_refusal refusal;
    if (method_asker(call, call->found[2], &asker) && method_length(call, 0, &nm)) {
        bool taken = lift_to(call_lift(call), nm, 0, asker.done, asker.owner, &refusal);
        method_asked(call, taken, &asker, &refusal);
    }
}

static void by(struct call *call)
{
    int64_t nm;
    struct method_asker asker;
    struct lift_refusal refusal;
    if (method_asker(call, call->found[2], &asker) && method_length(call, 0, &nm)) {
        bool taken = lift_by(call_lift(call), nm, asker.done, asker.owner, &refusal);
        method_asked(call, taken, &asker, &refusal);
    }
}

static void approach(struct call *call)
{
    int64_t nm;
    struct method_asker asker;
    struct lift_refusal refusal;
    const char *from = call->found[2]->valuestring;
    bool above = strcmp(from, "above") == 0;
    if (!above && strcmp(from, "below") != 0) {
        method_invalid(call, "Found \"%.40s\" for 'from'; \"below\" or \"above\" would do.", from);
        return;
    }
    if (method_asker(call, call->found[4], &asker) && method_length(call, 0, &nm) &&
        method_said_clear(call, call->found[3],
                          "The lift goes up and down by itself while it is measured, with hands "
                          "and an indicator near it. The router must be disconnected from its "
                          "supply, the bit out or its cutter where no hand goes, the table "
                          "clear, hands away while it moves.")) {
        bool taken = lift_approach(call_lift(call), nm, above, asker.done, asker.owner, &refusal);
        method_asked(call, taken, &asker, &refusal);
    }
}

static void find_top(struct call *call)
{
    struct method_asker asker;
    struct lift_refusal refusal;
    if (method_asker(call, call->found[0], &asker)) {
        bool taken = lift_find_top(call_lift(call), asker.done, asker.owner, &refusal);
        method_asked(call, taken, &asker, &refusal);
    }
}

static void recall(struct call *call)
{
    struct method_asker asker;
    struct lift_refusal refusal;
    if (!method_asker(call, call->found[1], &asker)) {
        return;
    }
    const struct preset *preset =
        shop_find(call_shop(call), SHOP_PRESET, call->found[0]->valuestring);
    if (!preset) {
        method_refuse(call, REASON_NO_SUCH_PRESET,
                      "There is no preset of that name. Nothing has moved. 'presets' lists them.");
        return;
    }
    if (!fitted_allows_preset(call, preset)) {
        return;
    }
    bool taken = lift_to(call_lift(call), preset->height_nm, preset->thing.id, asker.done,
                         asker.owner, &refusal);
    method_asked(call, taken, &asker, &refusal);
}

static const struct local_param to_params[] = {{"height", LOCAL_STRING, false},
                                               {"height_nm", LOCAL_INTEGER, false},
                                               {"wait", LOCAL_BOOLEAN, false},
                                               {NULL, 0, false}};
static const struct local_param by_params[] = {{"distance", LOCAL_STRING, false},
                                               {"distance_nm", LOCAL_INTEGER, false},
                                               {"wait", LOCAL_BOOLEAN, false},
                                               {NULL, 0, false}};
static const struct local_param approach_params[] = {
    {"position", LOCAL_STRING, false}, {"position_nm", LOCAL_INTEGER, false},
    {"from", LOCAL_STRING, true},      {"clear", LOCAL_BOOLEAN, false},
    {"wait", LOCAL_BOOLEAN, false},    {NULL, 0, false}};
static const struct local_param wait_params[] = {{"wait", LOCAL_BOOLEAN, false}, {NULL, 0, false}};
static const struct local_param recall_params[] = {
    {"name", LOCAL_STRING, true}, {"wait", LOCAL_BOOLEAN, false}, {NULL, 0, false}};

const struct method methods_motion[] = {{"approach", approach_params, approach, false},
                                        {"by", by_params, by, false},
                                        {"find-top", wait_params, find_top, false},
                                        {"recall", recall_params, recall, false},
                                        {"to", to_params, to, false},
                                        {NULL, NULL, NULL, false}};
