/* SPDX-License-Identifier: MIT */
#include "daemon/serve/method.h"

#include <inttypes.h>

/* Flush or a height seen is the reference point's own; a block meets what the bit says. */
static bool touched_height(struct call *call, int64_t *nm)
{
    const struct server *server = call->exchange->session->server;
    const cJSON *name = call->found[4];
    bool block = call->found[2] || call->found[3];
    if (name) {
        const struct preset *preset = shop_find(server->shop, SHOP_PRESET, name->valuestring);
        if (!preset) {
            method_refuse(call, REASON_NO_SUCH_PRESET,
                          "There is no preset of that name. Nothing has changed; 'presets' lists "
                          "them.");
            return false;
        }
        *nm = preset->height_nm;
        return fitted_allows_preset(call, preset);
    }
    if (cJSON_IsTrue(call->found[8])) {
        struct lift_status status;
        lift_status(server->lift, &status);
        *nm = status.reading_nm;
        if (!status.reading_known || status.readout != LIFT_READOUT_READS) {
            method_refuse(call, REASON_NO_READOUT,
                          "There is no readout, or it tells nothing now. Nothing has changed. Look "
                          "at the scale, or touch off another way.");
            return false;
        }
        return true;
    }
    int at = block ? 2 : 0;
    if (!method_length(call, at, nm)) {
        return false;
    }
    *nm += block ? fitted_offset_nm(server) : 0;
    return true;
}

/* With a plain pin, in the lift's own frame: so the table's surface lies there. */
static void on_touched(void *owner, const struct lift_refusal *refused)
{
    struct call *call = owner;
    const struct server *server = call->exchange->session->server;
    struct lift_status status;
    lift_status(server->lift, &status);
    const struct bit *bit =
        status.bit != 0 ? shop_find_id(server->shop, SHOP_BIT, status.bit) : NULL;
    if (!refused && bit && bit->shape == BIT_PIN && status.reference == TRUST_SURE) {
        surface_add(server->surface, bit->thing.name,
                    status.position_nm - status.height_nm - status.riding_nm);
    }
    method_done(owner, refused);
}

#define PLATE_MOST_NM INT64_C(12700000) /* 1/2 in, unless more is said */

static void touch_plate(struct call *call)
{
    struct method_asker asker;
    struct lift_refusal refusal;
    int64_t most_nm = PLATE_MOST_NM;
    const struct server *server = call->exchange->session->server;
    if (!method_asker(call, NULL, &asker) ||
        ((call->found[6] || call->found[7]) && !method_length(call, 6, &most_nm))) {
        return;
    }
    if (most_nm <= 0) {
        method_invalid(call, "Found %" PRId64 " nm for 'most'; a length above nothing would do.",
                       most_nm);
        return;
    }
    bool taken = lift_touch_plate(call_lift(call), most_nm, fitted_offset_nm(server), on_touched,
                                  asker.owner, &refusal);
    method_asked(call, taken, &asker, &refusal);
}

static void touch(struct call *call)
{
    int64_t nm;
    struct lift_refusal refusal;
    bool plate = cJSON_IsTrue(call->found[5]);
    int given = (call->found[0] || call->found[1]) + (call->found[2] || call->found[3]) +
                (call->found[4] != NULL) + plate + cJSON_IsTrue(call->found[8]);
    if (given != 1) {
        method_invalid(call,
                       "Found %s of a height, a block, a preset, the plate and the readout; "
                       "just one of them would do.",
                       given == 0 ? "none" : "more than one");
    } else if (plate) {
        touch_plate(call);
    } else if (touched_height(call, &nm) &&
               !lift_touch(call_lift(call), nm, on_touched, call, &refusal)) {
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
    if (cJSON_IsTrue(call->found[2])) {
        if (given) {
            method_invalid(call, "Found a height and the readout; one of the two would do.");
        } else if (!lift_confirm_by_readout(call_lift(call), method_done, call, &refusal)) {
            call_refused(call, &refusal);
        }
        return;
    }
    if (given && !method_length(call, 0, &nm)) {
        return;
    }
    if (!lift_confirm(call_lift(call), given ? &nm : NULL, method_done, call, &refusal)) {
        call_refused(call, &refusal);
    }
}

static const struct local_param confirm_params[] = {{"height", LOCAL_STRING, false},
                                                    {"height_nm", LOCAL_INTEGER, false},
                                                    {"readout", LOCAL_BOOLEAN, false},
                                                    {NULL, 0, false}};

static const struct local_param touch_params[] = {
    {"height", LOCAL_STRING, false},   {"height_nm", LOCAL_INTEGER, false},
    {"block", LOCAL_STRING, false},    {"block_nm", LOCAL_INTEGER, false},
    {"preset", LOCAL_STRING, false},   {"plate", LOCAL_BOOLEAN, false},
    {"most", LOCAL_STRING, false},     {"most_nm", LOCAL_INTEGER, false},
    {"readout", LOCAL_BOOLEAN, false}, {NULL, 0, false}};

const struct method methods_zero[] = {{"confirm", confirm_params, confirm, false},
                                      {"here-top", method_no_params, here_top, false},
                                      {"touch", touch_params, touch, false},
                                      {NULL, NULL, NULL, false}};
