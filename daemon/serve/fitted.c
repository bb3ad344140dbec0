/* SPDX-License-Identifier: MIT */
/* The bit in the collet: what the shop knows of it, for the lift and for people. */
#include <stdio.h>

#include "daemon/serve/method.h"
#include "protocol/length.h"

static const struct bit *fitted(const struct server *server)
{
    uint32_t bit = lift_bit(server->lift);
    return bit != 0 ? shop_find_id(server->shop, SHOP_BIT, bit) : NULL;
}

static const struct ring *ring_of(const struct server *server, const struct bit *bit)
{
    return bit->ring != 0 ? shop_find_id(server->shop, SHOP_RING, bit->ring) : NULL;
}

void fitted_tell_lift(const struct server *server)
{
    struct lift_bit_facts facts = {.lowest_known = false};
    const struct bit *bit = fitted(server);
    if (bit) {
        facts.lowest_known = bit_lowest(bit, ring_of(server, bit), &facts.lowest_nm);
        facts.plunging = bit->plunging;
    }
    lift_set_bit_facts(server->lift, &facts);
}

const char *fitted_name(const struct server *server, uint32_t bit)
{
    const struct thing *thing = shop_find_id(server->shop, SHOP_BIT, bit);
    return thing ? thing->name : "a bit that is not in the list any more";
}

bool fitted_find(struct call *call, const cJSON *name, uint32_t *bit)
{
    const struct thing *thing =
        name ? shop_find(call_shop(call), SHOP_BIT, name->valuestring) : NULL;
    *bit = thing ? thing->id : 0;
    if (name && !thing) {
        method_refuse(call, REASON_NO_SUCH_BIT,
                      "There is no bit of that name. Nothing has changed. 'bits' lists them.");
        return false;
    }
    return true;
}

#define UNDER_NM INT64_C(793750) /* 1/32 in below the table */

bool fitted_under(struct call *call, int64_t *height_nm)
{
    const struct server *server = call->exchange->session->server;
    const struct bit *bit = fitted(server);
    struct lift_status status;
    int64_t below_nm;
    int64_t lowest_nm;
    char sentence[LIFT_SENTENCE];
    if (!bit) {
        method_refuse(call, REASON_NO_SUCH_BIT,
                      "Nothing is known of the bit in the collet, so nobody can say when all of it "
                      "is below the table. Nothing has moved. Fit it by its name.");
        return false;
    }
    lift_status(server->lift, &status);
    if (bit_lowest(bit, ring_of(server, bit), &lowest_nm) || !bit_below_top(bit, &below_nm)) {
        snprintf(sentence, sizeof sentence,
                 "The bit '%s' cannot be hidden below the table: %s. Nothing has moved.",
                 bit->thing.name,
                 bit_below_top(bit, &below_nm) ? "it is too wide for its ring"
                                               : "nobody knows how much of it is over the point "
                                                 "that its height is measured at");
        method_refuse(call, REASON_NOT_UNDER, sentence);
        return false;
    }
    *height_nm = -UNDER_NM - below_nm - status.riding_nm;
    return true;
}

int64_t fitted_offset_nm(const struct server *server)
{
    const struct bit *bit = fitted(server);
    return bit ? bit->offset_nm : 0;
}

bool fitted_allows_preset(struct call *call, const struct preset *preset)
{
    const struct server *server = call->exchange->session->server;
    struct lift_status status;
    char sentence[LIFT_SENTENCE];
    char riding[2 * LENGTH_TEXT_SIZE + 4];
    lift_status(server->lift, &status);
    if (preset->bit != 0 && preset->bit != status.bit) {
        snprintf(sentence, sizeof sentence,
                 "That height belongs to the bit '%s', and %s%s%s is in the collet. Nothing has "
                 "moved. Change the bit, or touch off and keep the height anew.",
                 fitted_name(server, preset->bit), status.bit != 0 ? "'" : "",
                 status.bit != 0 ? fitted_name(server, status.bit) : "one without a name",
                 status.bit != 0 ? "'" : "");
        method_refuse(call, REASON_WRONG_BIT, sentence);
        return false;
    }
    if (preset->recompute) {
        method_refuse(call, REASON_RECOMPUTE,
                      "The bit was ground since that height was kept, and its size is another. "
                      "Nothing has moved. Touch off, find the height by a test cut, and keep it "
                      "anew.");
        return false;
    }
    if (preset->riding_nm != status.riding_nm) {
        method_length_text(preset->riding_nm, riding, sizeof riding);
        snprintf(sentence, sizeof sentence,
                 "That height was kept with the work riding on %s, and now it rides on something "
                 "else. Nothing has moved. Put that there, and say riding.",
                 preset->riding_nm != 0 ? riding : "the table itself");
        method_refuse(call, REASON_OTHER_RIDING, sentence);
        return false;
    }
    return true;
}
