/* SPDX-License-Identifier: MIT */
/* What a working day says to the lift besides heights: the bit, what the work rides on, test cuts.
 */
#include <stdio.h>
#include <string.h>

#include "daemon/serve/method.h"
#include "protocol/length.h"

static void change(struct call *call)
{
    struct method_asker asker;
    struct lift_refusal refusal;
    if (!method_asker(call, call->found[1], &asker) ||
        !method_said_clear(
            call, call->found[0],
            "The bit comes up to where it is changed. Work, guard, hold-downs, sled and "
            "fence must be clear of it, the router unplugged and run down.")) {
        return;
    }
    method_asked(call, lift_change(call_lift(call), asker.done, asker.owner, &refusal), &asker,
                 &refusal);
}

static void fit(struct call *call)
{
    uint32_t bit;
    struct lift_refusal refusal;
    if (!fitted_find(call, call->found[0], &bit) ||
        !method_said_clear(
            call, call->found[1],
            "A bit is in: its shank drawn back from the bottom of the collet, the nut "
            "tight, wrenches off, the ring in, hands clear, the router still unplugged?")) {
        return;
    }
    if (!lift_fit(call_lift(call), bit, method_done, call, &refusal)) {
        call_refused(call, &refusal);
    }
}

static void riding(struct call *call)
{
    int64_t nm;
    struct lift_refusal refusal;
    if (!method_length(call, 0, &nm)) {
        return;
    }
    if (nm < 0 || nm > INT64_C(254000000)) {
        char found[LENGTH_TEXT_SIZE];
        method_length_text(nm, found, sizeof found);
        method_invalid(call, "Found a thickness of %s; one from 0 to 10in would do.", found);
        return;
    }
    if (!lift_ride(call_lift(call), nm, method_done, call, &refusal)) {
        call_refused(call, &refusal);
    }
}

/* The zero has moved and that is on disk: to the same height, which is another place now. */
static void on_corrected(void *owner, const struct lift_refusal *refused)
{
    struct call *call = owner;
    struct lift_refusal refusal;
    if (refused) {
        call_refused(call, refused);
    } else if (!lift_to(call_lift(call), call->height_nm, 0, method_done, call, &refusal)) {
        call_refused(call, &refusal);
    } else {
        method_in_charge(call);
    }
}

/* Where the lift is at rest, as a height to come back to; whether that is known, the lift says. */
static void remember_height(struct call *call)
{
    struct lift_status status;
    lift_status(call_lift(call), &status);
    call->height_nm = status.wanted_known ? status.wanted_nm : status.height_nm;
}

static void correct(struct call *call)
{
    int64_t nm;
    struct lift_refusal refusal;
    if (!method_may_move(call) || !method_length(call, 0, &nm)) {
        return;
    }
    remember_height(call);
    if (!lift_correct(call_lift(call), nm, on_corrected, call, &refusal)) {
        call_refused(call, &refusal);
    }
}

static void undo(struct call *call)
{
    struct lift_refusal refusal;
    if (!method_may_move(call)) {
        return;
    }
    remember_height(call);
    if (!lift_undo(call_lift(call), on_corrected, call, &refusal)) {
        call_refused(call, &refusal);
    }
}

static void under(struct call *call)
{
    int64_t nm;
    struct method_asker asker;
    struct lift_refusal refusal;
    if (!method_asker(call, call->found[0], &asker) || !fitted_under(call, &nm)) {
        return;
    }
    method_asked(call, lift_to(call_lift(call), nm, 0, asker.done, asker.owner, &refusal), &asker,
                 &refusal);
}

static void dust(struct call *call)
{
    static const char *const words[] = {
        [LIFT_DUST_AUTO] = "auto", [LIFT_DUST_ON] = "on", [LIFT_DUST_OFF] = "off"};
    struct lift_status status;
    lift_status(call_lift(call), &status);
    if (!status.dust_fitted) {
        method_refuse(call, REASON_NO_DUST,
                      "No dust extraction is wired to this lift. Nothing has changed. The "
                      "configuration, under outputs, says what is.");
        return;
    }
    for (int i = LIFT_DUST_AUTO; i <= LIFT_DUST_OFF; i++) {
        if (strcmp(call->found[0]->valuestring, words[i]) == 0) {
            lift_set_dust(call_lift(call), (enum lift_dust)i);
            call_result(call, method_status(call));
            return;
        }
    }
    method_invalid(call,
                   "Found \"%.40s\" for the extraction; \"on\", \"off\" or \"auto\" would do.",
                   call->found[0]->valuestring);
}

static const struct local_param dust_params[] = {{"to", LOCAL_STRING, true}, {NULL, 0, false}};
static const struct local_param change_params[] = {
    {"clear", LOCAL_BOOLEAN, false}, {"wait", LOCAL_BOOLEAN, false}, {NULL, 0, false}};
static const struct local_param fit_params[] = {
    {"bit", LOCAL_STRING, false}, {"clear", LOCAL_BOOLEAN, false}, {NULL, 0, false}};
static const struct local_param riding_params[] = {
    {"thickness", LOCAL_STRING, false}, {"thickness_nm", LOCAL_INTEGER, false}, {NULL, 0, false}};
static const struct local_param correct_params[] = {
    {"raise", LOCAL_STRING, false}, {"raise_nm", LOCAL_INTEGER, false}, {NULL, 0, false}};
static const struct local_param wait_params[] = {{"wait", LOCAL_BOOLEAN, false}, {NULL, 0, false}};

const struct method methods_day[] = {
    {"change", change_params, change, false}, {"correct", correct_params, correct, false},
    {"dust", dust_params, dust, false},       {"fit", fit_params, fit, false},
    {"riding", riding_params, riding, false}, {"under", wait_params, under, false},
    {"undo", method_no_params, undo, false},  {NULL, NULL, NULL, false}};
