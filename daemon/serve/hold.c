/* SPDX-License-Identifier: MIT */
/* Hold-to-run: motion only while the operator keeps holding, told by a lease that is renewed. */
#include <stdio.h>
#include <string.h>
#include <sys/random.h>

#include "daemon/serve/method.h"

enum { LEASE_MS = 150, RENEW_MS = 50 };

static void renew_lease(struct server *server)
{
    clock_set(server->clock, &server->hold.lease,
              clock_now_ns(server->clock) + (int64_t)LEASE_MS * CLOCK_NS_PER_MS);
}

/* The first reason is the one that is told; nothing moves again by this token. */
static void end(struct server *server, const char *over)
{
    struct hold *hold = &server->hold;
    if (hold->held) {
        hold->held = false;
        clock_clear(server->clock, &hold->lease);
        snprintf(hold->over, sizeof hold->over, "%s", over);
    }
}

static void on_lease_due(void *owner)
{
    struct server *server = owner;
    end(server, "The hold was not renewed in time, so the lift was stopped. Let go, and press "
                "anew.");
    lift_stop(server->lift, "the end of a hold that was not renewed in time");
}

/* A lift_done: the motion is over. */
static void on_done(void *owner, const struct lift_refusal *refusal)
{
    end(owner, refusal ? refusal->sentence
                       : "The lift has reached the end of what it was held for, and stands there.");
}

static bool make_token(struct hold *hold)
{
    unsigned char random[8];
    if (getrandom(random, sizeof random, 0) != sizeof random) {
        return false;
    }
    for (size_t i = 0; i < sizeof random; i++) {
        snprintf(hold->token + 2 * i, 3, "%02x", random[i]);
    }
    return true;
}

/* What is held for: a direction, a height, a distance or the next mark. */
static bool read_words(struct call *call, bool *up, bool *fast)
{
    const char *direction = call->found[0] ? call->found[0]->valuestring : "up";
    const char *speed = call->found[1] ? call->found[1]->valuestring : "slow";
    bool height = call->found[2] || call->found[3];
    bool distance = call->found[4] || call->found[5];
    int given = (call->found[0] != NULL) + height + distance + cJSON_IsTrue(call->found[6]);
    if (given != 1) {
        method_invalid(call,
                       "Found %s of a direction, a height, a distance and \"next\": true; just "
                       "one of them would do.",
                       given == 0 ? "none" : "more than one");
        return false;
    }
    *up = strcmp(direction, "up") == 0;
    *fast = strcmp(speed, "fast") == 0;
    if (!*up && strcmp(direction, "down") != 0) {
        method_invalid(call, "Found \"%.40s\" for 'direction'; \"up\" or \"down\" would do.",
                       direction);
        return false;
    }
    if (!*fast && strcmp(speed, "slow") != 0) {
        method_invalid(call, "Found \"%.40s\" for 'speed'; \"slow\" or \"fast\" would do.", speed);
        return false;
    }
    return true;
}

/* False, and answered, when it is not taken. */
static bool ask(struct call *call)
{
    struct server *server = call->exchange->session->server;
    struct lift_refusal refusal;
    bool up;
    bool fast;
    int64_t nm = 0;
    bool height = call->found[2] || call->found[3];
    bool distance = call->found[4] || call->found[5];
    int at = height ? 2 : 4;
    if (!method_may_move(call) || !read_words(call, &up, &fast) ||
        ((height || distance) && !method_length(call, at, &nm))) {
        return false;
    }
    if (cJSON_IsTrue(call->found[6])) {
        return stories_hold_next(call, on_done, server);
    }
    bool taken = height     ? lift_hold_to(server->lift, nm, on_done, server, &refusal)
                 : distance ? lift_hold_by(server->lift, nm, on_done, server, &refusal)
                            : lift_hold(server->lift, up, fast, on_done, server, &refusal);
    if (!taken) {
        call_refused(call, &refusal);
    }
    return taken;
}

static void begin_hold(struct call *call)
{
    struct session *session = call->exchange->session;
    struct server *server = session->server;
    struct hold *hold = &server->hold;
    if (!ask(call)) {
        return;
    }
    hold->held = true;
    hold->session = session;
    if (!make_token(hold)) { /* it could never be renewed */
        end(server, "No token could be drawn.");
        lift_stop(server->lift, "the daemon, which could draw no token for the hold");
        call_error(call, LOCAL_INTERNAL_ERROR, "No token could be drawn for the hold.", NULL);
        return;
    }
    renew_lease(server);
    method_in_charge(call);
    cJSON *object = cJSON_CreateObject();
    cJSON_AddStringToObject(object, "token", hold->token);
    cJSON_AddNumberToObject(object, "lease_ms", LEASE_MS);
    cJSON_AddNumberToObject(object, "renew_ms", RENEW_MS);
    call_result(call, object);
}

/* Is it the hold that the call names, and does it go on? Else answers. */
static bool goes_on(struct call *call)
{
    struct session *session = call->exchange->session;
    struct hold *hold = &session->server->hold;
    bool known = hold->session == session && strcmp(call->found[0]->valuestring, hold->token) == 0;
    /* What came too late is too late, also when it was read before the timer was. */
    if (hold->held && clock_now_ns(session->server->clock) >= hold->lease.at_ns) {
        on_lease_due(session->server);
    }
    if (known && hold->held) {
        return true;
    }
    method_refuse(call, REASON_HOLD_OVER,
                  known ? hold->over
                        : "There is no such hold of this connection. Nothing moves by it.");
    return false;
}

static void renew(struct call *call)
{
    struct server *server = call->exchange->session->server;
    struct lift_status status;
    if (goes_on(call)) {
        renew_lease(server);
        lift_status(server->lift, &status);
        call_result(call, status_place(&status));
    }
}

static void release(struct call *call)
{
    struct server *server = call->exchange->session->server;
    if (goes_on(call)) {
        end(server, "The operator has let go.");
        lift_stop(server->lift, "the operator, who let go");
        method_await_rest(call);
    }
}

void hold_open(struct server *server)
{
    server->hold.lease = (struct clock_timer){.due = on_lease_due, .owner = server};
}

void hold_close(struct server *server)
{
    clock_clear(server->clock, &server->hold.lease);
}

void hold_abandon(struct session *session)
{
    struct server *server = session->server;
    if (server->hold.session == session) {
        server->hold.session = NULL;
        if (server->hold.held) {
            end(server, "The client went away.");
            lift_stop(server->lift, "the end of the connection of the client that held");
        }
    }
}

static const struct local_param hold_params[] = {
    {"direction", LOCAL_STRING, false}, {"speed", LOCAL_STRING, false},
    {"height", LOCAL_STRING, false},    {"height_nm", LOCAL_INTEGER, false},
    {"distance", LOCAL_STRING, false},  {"distance_nm", LOCAL_INTEGER, false},
    {"next", LOCAL_BOOLEAN, false},     {NULL, 0, false}};
static const struct local_param token_params[] = {{"token", LOCAL_STRING, true}, {NULL, 0, false}};

const struct method methods_hold[] = {{"hold", hold_params, begin_hold, false},
                                      {"release", token_params, release, false},
                                      {"renew", token_params, renew, false},
                                      {NULL, NULL, NULL, false}};
