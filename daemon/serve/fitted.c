/* SPDX-License-Identifier: MIT */
/* The bit in the collet: what the shop knows of it, for the lift and for people. */
#include "daemon/serve/method.h"

void fitted_tell_lift(const struct server *server)
{
    const struct lift_bit_facts facts = {.lowest_known = false};
    lift_set_bit_facts(server->lift, &facts);
}

const char *fitted_name(const struct server *server, uint32_t bit)
{
    (void)server;
    (void)bit;
    return "a bit that is not in the list any more";
}

bool fitted_find(struct call *call, const cJSON *name, uint32_t *bit)
{
    *bit = 0;
    if (name) {
        method_refuse(call, REASON_NO_SUCH_BIT,
                      "There is no bit of that name. Nothing has changed; bits lists them.");
    }
    return !name;
}

bool fitted_under(struct call *call, int64_t *height_nm)
{
    *height_nm = 0;
    method_refuse(call, REASON_NO_SUCH_BIT,
                  "Nothing is known of the bit in the collet, so nobody can say when all of it is "
                  "below the table. Nothing has moved. Fit it by its name.");
    return false;
}

int64_t fitted_offset_nm(const struct server *server)
{
    (void)server;
    return 0;
}
