/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/serve/method.h"

#define REFUSED_NS (INT64_C(1000) * CLOCK_NS_PER_MS) /* between two refusals in the log */

/* Sends when the last answer is there, and ends the exchange. */
static void settle(struct exchange *exchange)
{
    if (--exchange->open > 0) {
        return;
    }
    if (exchange->session && exchange->batch && cJSON_GetArraySize(exchange->answers) > 0) {
        session_send(exchange->session, exchange->answers);
    }
    cJSON_Delete(exchange->answers);
    free(exchange);
}

/* Takes `answer` over. */
static void give(struct exchange *exchange, cJSON *answer)
{
    if (exchange->batch && answer) {
        cJSON_AddItemToArray(exchange->answers, answer);
        return;
    }
    if (exchange->session) {
        session_send(exchange->session, answer); /* NULL, memory being short, ends the session */
    }
    cJSON_Delete(answer);
}

static void unlink_call(struct call *call)
{
    struct session *session = call->exchange->session;
    struct call **at = session ? &session->calls : NULL;
    while (at && *at && *at != call) {
        at = &(*at)->next;
    }
    if (at && *at) {
        *at = call->next;
        session->call_count--;
    }
}

static void free_call(struct call *call)
{
    struct exchange *exchange = call->exchange;
    cJSON_Delete(call->id);
    free(call);
    settle(exchange);
}

static void end_call(struct call *call, cJSON *answer, bool answered)
{
    unlink_call(call);
    if (answered) {
        give(call->exchange, answer);
    }
    free_call(call);
}

bool call_alone(const struct call *call)
{
    return call->id && !call->exchange->batch && call->exchange->session;
}

void call_result_text(struct call *call, const char *result, size_t size)
{
    size_t line_size = 0;
    char *line = local_answer_line(call->id, result, size, &line_size);
    unlink_call(call);
    session_send_line(call->exchange->session, line, line_size);
    free_call(call);
}

void call_result(struct call *call, cJSON *result)
{
    bool answered = call->id != NULL;
    cJSON *answer = NULL;
    if (answered) {
        answer = local_answer(call->id, result);
    } else {
        cJSON_Delete(result);
    }
    end_call(call, answer, answered);
}

void call_error(struct call *call, int code, const char *message, cJSON *data)
{
    bool answered = call->id != NULL;
    cJSON *answer = NULL;
    if (answered) {
        answer = local_error(call->id, code, message, data);
    } else {
        cJSON_Delete(data);
        fprintf(stderr, "regletd: a notification was not carried out: %s\n", message);
    }
    end_call(call, answer, answered);
}

const char *session_name(const struct session *session)
{
    return session && session->client[0] != '\0' ? session->client : "a client";
}

/* Every one, but no faster than a disk should be written to. Whether all is clear is a question,
 * not a refusal: a client asks it of its user, and says it again. */
static void log_refusal(struct call *call, const struct lift_refusal *refusal)
{
    struct session *session = call->exchange->session;
    struct server *server = session->server;
    int64_t now_ns = clock_now_ns(server->clock);
    char line[LIFT_SENTENCE + 160];
    char more[48] = "";
    if (refusal->reason == REASON_SAY_CLEAR) {
        return;
    }
    if (server->refused_ns != 0 && now_ns - server->refused_ns < REFUSED_NS) {
        server->refused_more++;
        return;
    }
    if (server->refused_more > 0) {
        snprintf(more, sizeof more, " (and %u more since the last)", server->refused_more);
    }
    snprintf(line, sizeof line, "%s, asked by %s (user %u): %s%s", call->method->name,
             session_name(session), (unsigned)session->uid, refusal->sentence, more);
    lift_note(server->lift, "refused", line);
    server->refused_ns = now_ns > 0 ? now_ns : 1;
    server->refused_more = 0;
}

void call_refused(struct call *call, const struct lift_refusal *refusal)
{
    log_refusal(call, refusal);
    cJSON *data = cJSON_CreateObject();
    struct lift_status status;
    lift_status(call_lift(call), &status);
    cJSON_AddStringToObject(data, "reason", reason_word(refusal->reason));
    if (status.height_known && status.activity != LIFT_UNPLUGGED) {
        cJSON_AddNumberToObject(data, "height_nm", (double)status.height_nm);
    }
    call_error(call, LOCAL_REFUSED, refusal->sentence, data);
}

struct lift *call_lift(const struct call *call)
{
    return call->exchange->session->server->lift;
}

struct shop *call_shop(const struct call *call)
{
    return call->exchange->session->server->shop;
}

static void take_request(struct exchange *exchange, const struct local_request *request)
{
    if (!request->valid) {
        give(exchange, local_error(request->id, LOCAL_INVALID_REQUEST, request->why, NULL));
        return;
    }
    struct call *call = calloc(1, sizeof *call);
    cJSON *id = request->notification ? NULL : cJSON_Duplicate(request->id, true);
    if (!call || (!request->notification && !id)) {
        free(call);
        cJSON_Delete(id);
        session_close(exchange->session);
        return;
    }
    call->exchange = exchange;
    call->id = id;
    call->next = exchange->session->calls;
    exchange->session->calls = call;
    exchange->session->call_count++;
    exchange->open++;
    dispatch(call, request);
}

void exchange_take(struct session *session, const char *text, size_t size)
{
    struct local_line line;
    struct exchange *exchange = calloc(1, sizeof *exchange);
    if (!exchange) {
        session_close(session);
        return;
    }
    exchange->session = session;
    exchange->open = 1;
    if (!local_line_open(&line, text, size)) {
        give(exchange, local_error(NULL, LOCAL_PARSE_ERROR, line.fault.text, NULL));
    } else {
        exchange->batch = line.batch;
        exchange->answers = line.batch ? cJSON_CreateArray() : NULL;
    }
    for (size_t i = 0; i < line.count && exchange->session && !session->closing; i++) {
        struct local_request request;
        local_line_request(&line, i, &request);
        take_request(exchange, &request);
    }
    local_line_close(&line);
    settle(exchange);
}

/* The exchanges outlive the session only as far as a call of theirs is being taken apart. */
void calls_abandon(struct session *session)
{
    lift_abandon(session->server->lift, session);
    hold_abandon(session);
    while (session->calls) {
        struct call *call = session->calls;
        session->calls = call->next;
        session->call_count--;
        lift_abandon(session->server->lift, call);
        shop_abandon(session->server->shop, call);
        stories_abandon(session->server->stories, call);
        calibration_abandon(session->server->calibration, call);
        log_abandon(session->server, call);
        lift_await_cancel(session->server->lift, &call->waiter);
        call->exchange->session = NULL;
        free_call(call);
    }
}
