/* SPDX-License-Identifier: MIT */
/* What was measured of the screw: shown, set, and taken back. */
#include "daemon/machine/describe.h"
#include "daemon/serve/method.h"

static const char *origin(bool measured, bool written)
{
    if (measured) {
        return "measured";
    }
    return written ? "configured" : "assumed";
}

static cJSON *calibration_object(const struct call *call)
{
    const struct calibration *calibration = call->exchange->session->server->calibration;
    struct calibration_values now = calibration_now(calibration);
    struct calibration_values before;
    struct config config;
    cJSON *object = cJSON_CreateObject();
    calibration_config(calibration, &config);
    method_add_length(object, "lead", config.screw.lead_num_nm / config.screw.lead_den);
    cJSON_AddStringToObject(object, "lead_from", origin(now.lead_known, true));
    method_add_length(object, "lash", config.lash_nm);
    cJSON_AddStringToObject(object, "lash_from", origin(now.lash_known, config.lash_known));
    method_add_length(object, "take_up", config.take_up_nm);
    cJSON_AddBoolToObject(object, "back", calibration_before(calibration, &before));
    return object;
}

static void calibration(struct call *call)
{
    call_result(call, calibration_object(call));
}

static void on_agreed(void *owner)
{
    calibration(owner);
}

/* At rest, and the new values are on disk: the lift goes by them from here on. */
static void on_rested(void *owner)
{
    struct call *call = owner;
    const struct server *server = call->exchange->session->server;
    struct config config;
    struct lift_config machine;
    calibration_config(server->calibration, &config);
    machine_describe(&config, &machine);
    machine.port_path = lift_port_path(server->lift);
    lift_recalibrate(server->lift, &machine);
    call->waiter = (struct lift_waiter){.rested = on_agreed, .owner = call};
    lift_await_rest(server->lift, &call->waiter);
}

static void on_kept(void *owner, enum reason reason, const char *sentence)
{
    struct call *call = owner;
    if (reason != REASON_NONE) {
        method_refuse(call, reason, sentence);
        return;
    }
    call->waiter = (struct lift_waiter){.rested = on_rested, .owner = call};
    lift_await_rest(call_lift(call), &call->waiter);
}

/* The lengths given, the others as they are; or those before. */
static bool wanted(struct call *call, struct calibration_values *values)
{
    const struct calibration *calibration = call->exchange->session->server->calibration;
    bool lead = call->found[0] || call->found[1];
    bool lash = call->found[2] || call->found[3];
    bool back = cJSON_IsTrue(call->found[4]);
    if (back == (lead || lash)) {
        method_invalid(call,
                       "Found %s; a lead, a lash or both, or only \"back\" as true, would do.",
                       back ? "\"back\" together with a value" : "nothing to calibrate");
        return false;
    }
    if (back && !calibration_before(calibration, values)) {
        method_refuse(call, REASON_NOTHING_BEFORE,
                      "There is no calibration before this one. Nothing has changed.");
        return false;
    }
    if (back) {
        return true;
    }
    *values = calibration_now(calibration);
    values->lead_known = values->lead_known || lead;
    values->lash_known = values->lash_known || lash;
    return (!lead || method_length(call, 0, &values->lead_nm)) &&
           (!lash || method_length(call, 2, &values->lash_nm));
}

static void calibrate(struct call *call)
{
    struct calibration_values values;
    struct lift_refusal refusal;
    if (!wanted(call, &values)) {
        return;
    }
    if (!lift_at_rest(call_lift(call), &refusal)) {
        call_refused(call, &refusal);
    } else if (!calibration_set(call->exchange->session->server->calibration, &values, on_kept,
                                call, &refusal.reason, refusal.sentence, sizeof refusal.sentence)) {
        call_refused(call, &refusal);
    }
}

static const struct local_param calibrate_params[] = {
    {"lead", LOCAL_STRING, false},  {"lead_nm", LOCAL_INTEGER, false},
    {"lash", LOCAL_STRING, false},  {"lash_nm", LOCAL_INTEGER, false},
    {"back", LOCAL_BOOLEAN, false}, {NULL, 0, false}};

const struct method methods_calibration[] = {{"calibrate", calibrate_params, calibrate, false},
                                             {"calibration", method_no_params, calibration, true},
                                             {NULL, NULL, NULL, false}};
