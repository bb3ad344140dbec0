/* SPDX-License-Identifier: MIT */
/* Two bits whose profiles fit each other: one is set from where the other stood. */
#include <stdio.h>
#include <string.h>

#include "daemon/serve/method.h"
#include "protocol/length.h"

/* Its name, or what to say of one that has gone. */
static const char *name_of(const struct call *call, uint32_t bit)
{
    return fitted_name(call->exchange->session->server, bit);
}

/* Is a bit of the pair in the collet, and do the two still fit each other as they were kept? Else
 * answers. */
static bool pair_is_set(struct call *call, const struct pair *pair)
{
    struct lift_status status;
    char sentence[LIFT_SENTENCE];
    lift_status(call_lift(call), &status);
    if (status.bit == 0 || (pair->first != status.bit && pair->second != status.bit)) {
        snprintf(sentence, sizeof sentence,
                 "Neither bit of the pair '%.63s' is in the collet: they are '%.63s' and '%.63s'. "
                 "Nothing has moved. Change the bit and touch off first.",
                 pair->thing.name, name_of(call, pair->first), name_of(call, pair->second));
        method_refuse(call, REASON_WRONG_BIT, sentence);
        return false;
    }
    if (pair->recompute) {
        method_refuse(call, REASON_RECOMPUTE,
                      "A bit of the pair was ground since its difference was kept, and its profile "
                      "is another. Nothing has moved. Find the height by a test cut, and keep the "
                      "difference anew.");
        return false;
    }
    return true;
}

/* The height of the other bit, said or remembered. Else answers, and false. */
static bool other_height(struct call *call, uint32_t other, int64_t *nm)
{
    struct lift_status status;
    char sentence[LIFT_SENTENCE];
    if (call->found[1] || call->found[2]) {
        return method_length(call, 1, nm);
    }
    lift_status(call_lift(call), &status);
    *nm = status.before_nm;
    if (status.before_bit == other) {
        return true;
    }
    snprintf(sentence, sizeof sentence,
             "At what height the bit '%.63s' cut is not known: it is not the one that was in the "
             "collet before. Nothing has moved. Say its height.",
             name_of(call, other));
    method_refuse(call, REASON_HEIGHT_UNKNOWN, sentence);
    return false;
}

static void match(struct call *call)
{
    int64_t nm;
    struct method_asker asker;
    struct lift_refusal refusal;
    struct lift_status status;
    if (!method_asker(call, call->found[3], &asker)) {
        return;
    }
    const struct pair *pair = shop_find(call_shop(call), SHOP_PAIR, call->found[0]->valuestring);
    if (!pair) {
        method_refuse(call, REASON_NO_SUCH_THING,
                      "There is no pair of that name. Nothing has moved. 'pairs' lists them.");
        return;
    }
    lift_status(call_lift(call), &status);
    bool second = pair->second == status.bit;
    if (pair_is_set(call, pair) && other_height(call, second ? pair->first : pair->second, &nm)) {
        bool taken = lift_to(call_lift(call), pair_height_nm(pair, second, nm), 0, asker.done,
                             asker.owner, &refusal);
        method_asked(call, taken, &asker, &refusal);
    }
}

void pair_add_status(cJSON *object, const struct server *server, const struct lift_status *s)
{
    const struct thing *bit =
        s->before_bit != 0 ? shop_find_id(server->shop, SHOP_BIT, s->before_bit) : NULL;
    if (bit) {
        cJSON *before = cJSON_AddObjectToObject(object, "before");
        cJSON_AddStringToObject(before, "bit", bit->name);
        method_add_length(before, "height", s->before_nm);
    }
}

static const struct local_param match_params[] = {{"name", LOCAL_STRING, true},
                                                  {"other", LOCAL_STRING, false},
                                                  {"other_nm", LOCAL_INTEGER, false},
                                                  {"wait", LOCAL_BOOLEAN, false},
                                                  {NULL, 0, false}};

const struct method methods_pair[] = {{"match", match_params, match, false},
                                      {NULL, NULL, NULL, false}};
