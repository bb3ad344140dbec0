/* SPDX-License-Identifier: MIT */
/* How the shop has its heights typed and shown: clients ask for it, nothing that is stored heeds
 * it.
 */
#include <string.h>

#include "daemon/serve/method.h"
#include "protocol/unit.h"

const char *display_unit(const struct server *server)
{
    const char *unit = shop_unit(server->shop);
    return unit[0] != '\0' ? unit : UNIT_DEFAULT;
}

static cJSON *display_object(const struct call *call)
{
    cJSON *object = cJSON_CreateObject();
    cJSON_AddStringToObject(object, "unit", display_unit(call->exchange->session->server));
    return object;
}

static void display(struct call *call)
{
    call_result(call, display_object(call));
}

static void on_kept(void *owner, enum reason reason, const char *sentence)
{
    struct call *call = owner;
    if (reason != REASON_NONE) {
        method_refuse(call, reason, sentence);
    } else {
        call_result(call, display_object(call));
    }
}

static void keep_display(struct call *call)
{
    enum length_style style;
    struct shop_refusal refusal;
    const char *unit = call->found[0]->valuestring;
    if (!unit_style(unit, &style)) {
        method_invalid(
            call, "Found \"%.40s\" for 'unit'; \"in\", \"mm\", \"32\", \"64\" or \"128\" would do.",
            unit);
    } else if (!shop_set_unit(call_shop(call), unit, on_kept, call, &refusal)) {
        method_refuse(call, refusal.reason, refusal.sentence);
    }
}

static const struct local_param keep_params[] = {{"unit", LOCAL_STRING, true}, {NULL, 0, false}};

const struct method methods_display[] = {{"display", method_no_params, display, true},
                                         {"keep-display", keep_params, keep_display, false},
                                         {NULL, NULL, NULL, false}};
