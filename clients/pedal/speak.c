/* SPDX-License-Identifier: MIT */
#include "clients/pedal/speak.h"

#include <stdio.h>
#include <string.h>

#include "clients/common/words.h"
#include "protocol/json.h"
#include "protocol/local.h"
#include "protocol/unit.h"

char *speak_line(double id, const char *method, cJSON *params, size_t *size)
{
    cJSON *request = local_request_new(id, method, params);
    char *text = local_print(request, size);
    cJSON_Delete(request);
    return text;
}

static cJSON *hold_params(const struct gate_request *request)
{
    if (request->next) {
        cJSON *next = cJSON_CreateObject();
        (void)cJSON_AddTrueToObject(next, "next"); /* left out, it is refused */
        return next;
    }
    cJSON *params = words_params_text("direction", request->up ? "up" : "down");
    if (params && !cJSON_AddStringToObject(params, "speed", request->fast ? "fast" : "slow")) {
        cJSON_Delete(params);
        return NULL;
    }
    return params;
}

char *speak_request(const struct gate_request *request, size_t *size)
{
    cJSON *params = NULL;
    const char *method = NULL;
    switch (request->ask) {
    case GATE_BY:
        method = "by";
        params = words_params("distance", request->nm);
        break;
    case GATE_TO:
        method = "to";
        params = words_params("height", request->nm);
        break;
    case GATE_RECALL:
        method = "recall";
        params = words_params_text("name", request->text);
        break;
    case GATE_HOLD:
        method = "hold";
        params = hold_params(request);
        break;
    case GATE_RENEW:
    case GATE_RELEASE:
        method = request->ask == GATE_RENEW ? "renew" : "release";
        params = words_params_text("token", request->text);
        break;
    case GATE_NEXT:
        return speak_line(request->id, "next", NULL, size);
    case GATE_STOP:
        return speak_line(request->id, "stop", NULL, size);
    }
    return params ? speak_line(request->id, method, params, size) : NULL;
}

bool speak_lift(const cJSON *told, struct gate_lift *lift)
{
    const cJSON *activity = cJSON_GetObjectItemCaseSensitive(told, "activity");
    const cJSON *height = cJSON_GetObjectItemCaseSensitive(told, "height_nm");
    const cJSON *unit = cJSON_GetObjectItemCaseSensitive(told, "unit");
    const cJSON *turning = cJSON_GetObjectItemCaseSensitive(told, "router_turning");
    if (!cJSON_IsString(activity)) {
        return false;
    }
    lift->moving = strcmp(activity->valuestring, "moving") == 0 ||
                   strcmp(activity->valuestring, "braking") == 0;
    lift->unit = (enum length_style)0;
    if (cJSON_IsString(unit)) {
        (void)!unit_style(unit->valuestring, &lift->unit);
    }
    lift->router_told = cJSON_IsBool(turning);
    lift->router_turning = cJSON_IsTrue(turning);
    lift->height_known = cJSON_IsNumber(height);
    lift->height_nm = lift->height_known ? (int64_t)height->valuedouble : 0;
    return true;
}

/* Sentences of several lines become one. */
static void join_lines(const char *text, char *out)
{
    size_t used = 0;
    for (; text[used] != '\0' && used < GATE_WHY_SIZE - 1; used++) {
        out[used] = text[used] == '\n' ? ' ' : text[used];
    }
    out[used] = '\0';
    while (used > 0 && out[used - 1] == ' ') {
        out[--used] = '\0';
    }
}

void speak_answer(const struct client_answer *answer, char *sentence, struct gate_answer *out)
{
    struct say say = {0};
    const cJSON *token = cJSON_GetObjectItemCaseSensitive(answer->result, "token");
    if (answer->error) {
        client_say_error(&say, answer->error);
    }
    join_lines(say.text, sentence);
    *out = (struct gate_answer){.id = answer->has_id ? answer->id : 0,
                                .refused = answer->error != NULL,
                                .hold_over = client_refused_for(answer, REASON_HOLD_OVER),
                                .stopped = client_refused_for(answer, REASON_STOPPED),
                                .sentence = sentence,
                                .token = cJSON_IsString(token) ? token->valuestring : NULL};
}

bool speak_notification(const char *line, size_t size, struct gate_lift *lift)
{
    struct json_fault fault;
    cJSON *document = json_parse(line, size, &fault);
    const cJSON *method = cJSON_GetObjectItemCaseSensitive(document, "method");
    bool ours = cJSON_IsString(method) && (strcmp(method->valuestring, "changed") == 0 ||
                                           strcmp(method->valuestring, "position") == 0);
    bool told = ours && speak_lift(cJSON_GetObjectItemCaseSensitive(document, "params"), lift);
    cJSON_Delete(document);
    return told;
}
