/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <stdlib.h>

#include "daemon/serve/method.h"
#include "protocol/length.h"

static cJSON *preset_object(const struct preset *preset)
{
    cJSON *object = cJSON_CreateObject();
    cJSON_AddStringToObject(object, "name", preset->name);
    method_add_length(object, "height", preset->height_nm);
    return object;
}

static void presets(struct call *call)
{
    const struct shop *shop = call_shop(call);
    cJSON *object = cJSON_CreateObject();
    cJSON *list = cJSON_AddArrayToObject(object, "presets");
    for (size_t i = 0; i < shop_count(shop); i++) {
        cJSON_AddItemToArray(list, preset_object(shop_preset(shop, i)));
    }
    call_result(call, object);
}

static void on_kept(void *owner, enum reason reason, const char *sentence)
{
    struct call *call = owner;
    if (reason != REASON_NONE) {
        method_refuse(call, reason, sentence);
        return;
    }
    presets(call);
}

/* The height given, or where the bit stands. */
static bool height_to_keep(struct call *call, int64_t *nm)
{
    struct lift_status status;
    if (call->found[1] || call->found[2]) {
        return method_length(call, call->found[1], call->found[2], nm);
    }
    lift_status(call_lift(call), &status);
    if (status.table_zero != TRUST_SURE || status.activity == LIFT_MOVING ||
        status.activity == LIFT_BRAKING || status.activity == LIFT_UNPLUGGED) {
        method_refuse(call, REASON_HEIGHT_UNKNOWN,
                      "Where the bit stands is not sure now, so it cannot be kept. Nothing has "
                      "changed. Touch off or confirm first, or give the height.");
        return false;
    }
    *nm = status.height_nm;
    return true;
}

static void refuse_taken(struct call *call, const struct preset *preset, int64_t nm)
{
    char old[LENGTH_TEXT_SIZE];
    char new[LENGTH_TEXT_SIZE];
    char sentence[300];
    length_print_exact(preset->height_nm, old, sizeof old);
    length_print_exact(nm, new, sizeof new);
    snprintf(sentence, sizeof sentence,
             "There is a preset of that name at %s already; the new height would be %s. Nothing "
             "has changed. Say to replace it, or take another name.",
             old, new);
    method_refuse(call, REASON_NAME_TAKEN, sentence);
}

static void keep(struct call *call)
{
    enum reason reason;
    char sentence[300];
    int64_t nm;
    const char *name = call->found[0]->valuestring;
    if (!shop_name_valid(name)) {
        call_error(call, LOCAL_INVALID_PARAMS,
                   "A name is 1 to 63 bytes long, without control characters and without spaces "
                   "at its ends.",
                   NULL);
        return;
    }
    if (!height_to_keep(call, &nm)) {
        return;
    }
    const struct preset *old = shop_find(call_shop(call), name);
    if (old && !cJSON_IsTrue(call->found[3])) {
        refuse_taken(call, old, nm);
    } else if (!shop_keep(call_shop(call), name, nm, on_kept, call, &reason, sentence,
                          sizeof sentence)) {
        method_refuse(call, reason, sentence);
    }
}

/* The journal knows no more of it: now the shop. */
static void on_journal_forgot(void *owner, const struct lift_refusal *refusal)
{
    struct call *call = owner;
    enum reason reason;
    char sentence[300];
    if (refusal) {
        call_refused(call, refusal);
    } else if (!shop_forget(call_shop(call), call->name, on_kept, call, &reason, sentence,
                            sizeof sentence)) {
        method_refuse(call, reason, sentence);
    }
}

static void forget(struct call *call)
{
    const struct preset *preset = shop_find(call_shop(call), call->found[0]->valuestring);
    if (!preset) {
        method_refuse(call, REASON_NO_SUCH_PRESET,
                      "There is no preset of that name. Nothing has changed.");
        return;
    }
    snprintf(call->name, sizeof call->name, "%s", preset->name);
    lift_forget_preset(call_lift(call), preset->id, on_journal_forgot, call);
}

static const struct local_param keep_params[] = {{"name", LOCAL_STRING, true},
                                                 {"height", LOCAL_STRING, false},
                                                 {"height_nm", LOCAL_INTEGER, false},
                                                 {"replace", LOCAL_BOOLEAN, false},
                                                 {NULL, 0, false}};
static const struct local_param forget_params[] = {{"name", LOCAL_STRING, true}, {NULL, 0, false}};

const struct method methods_shop[] = {{"forget", forget_params, forget, false},
                                      {"keep", keep_params, keep, false},
                                      {"presets", method_no_params, presets, true},
                                      {NULL, NULL, NULL, false}};
