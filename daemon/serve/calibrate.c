/* SPDX-License-Identifier: MIT */
/* What was measured of the screw: shown, set, and taken back. */
#include "daemon/machine/describe.h"
#include "daemon/serve/method.h"
#include "protocol/error_table_json.h"

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
    const struct calibration_values *now = calibration_now(calibration);
    static const char *const finishes[] = {[CONFIG_FINISH_UPWARD] = "upward",
                                           [CONFIG_FINISH_DOWNWARD] = "downward",
                                           [CONFIG_FINISH_EITHER] = "either"};
    struct config config;
    cJSON *object = cJSON_CreateObject();
    calibration_config(calibration, &config);
    method_add_length(object, "lead", config.screw.lead_num_nm / config.screw.lead_den);
    cJSON_AddStringToObject(object, "lead_from", origin(now->lead_known, true));
    method_add_length(object, "lash", config.lash_nm);
    cJSON_AddStringToObject(object, "lash_from", origin(now->lash_known, config.lash_known));
    method_add_length(object, "take_up", config.take_up_nm);
    cJSON_AddStringToObject(object, "finish", finishes[config.finish]);
    method_add_length(object, "highest", -config.top_margin_nm);
    method_add_length(object, "lowest", -config.travel_nm);
    cJSON_AddNumberToObject(object, "full_steps", (double)config.full_steps);
    if (now->table.count > 0 && !error_table_add(object, &now->table)) {
        cJSON_Delete(object);
        return NULL; /* answered as any lack of memory */
    }
    cJSON_AddBoolToObject(object, "back", calibration_before(calibration) != NULL);
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
    machine_describe(&config, calibration_now(server->calibration), &machine);
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

/* The values given, the others as they are. Another lead without a table of its own ends the table:
 * its positions would be others. */
static bool given(struct call *call, struct calibration_values *values)
{
    bool lead = call->found[0] || call->found[1];
    bool lash = call->found[2] || call->found[3];
    *values = *calibration_now(call->exchange->session->server->calibration);
    values->lead_known = values->lead_known || lead;
    values->lash_known = values->lash_known || lash;
    if (lead) {
        values->table.count = 0;
    }
    if (call->found[5] && !error_table_read(call->found[5], &values->table)) {
        method_invalid(call,
                       "Found a 'table' that is none; {\"from\": LENGTH, \"to\": LENGTH, "
                       "\"errors_nm\": [INTEGER, ...]} would do, with 2 to 1024 errors, or none; "
                       "from one to the next they change by a twentieth of the distance at the "
                       "most.");
        return false;
    }
    return (!lead || method_length(call, 0, &values->lead_nm)) &&
           (!lash || method_length(call, 2, &values->lash_nm));
}

/* The values given; or those before. */
static bool wanted(struct call *call, struct calibration_values *values)
{
    bool any = false;
    for (size_t i = 0; i < 4; i++) {
        any = any || call->found[i];
    }
    any = any || call->found[5];
    bool back = cJSON_IsTrue(call->found[4]);
    if (back == any) {
        method_invalid(call,
                       "Found %s; a lead, a lash, a table or several of them, or only \"back\" as "
                       "true, would do.",
                       back ? "\"back\" together with a value" : "nothing to calibrate");
        return false;
    }
    if (!back) {
        return given(call, values);
    }
    const struct calibration_values *before =
        calibration_before(call->exchange->session->server->calibration);
    if (!before) {
        method_refuse(call, REASON_NOTHING_BEFORE,
                      "There is no calibration before this one. Nothing has changed.");
        return false;
    }
    *values = *before;
    return true;
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

static const struct local_param calibrate_params[] = {{"lead", LOCAL_STRING, false},
                                                      {"lead_nm", LOCAL_INTEGER, false},
                                                      {"lash", LOCAL_STRING, false},
                                                      {"lash_nm", LOCAL_INTEGER, false},
                                                      {"back", LOCAL_BOOLEAN, false},
                                                      {"table", LOCAL_OBJECT, false},
                                                      {NULL, 0, false}};

const struct method methods_calibration[] = {{"calibrate", calibrate_params, calibrate, false},
                                             {"calibration", method_no_params, calibration, true},
                                             {NULL, NULL, NULL, false}};
