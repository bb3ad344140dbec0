/* SPDX-License-Identifier: MIT */
/* The inside of serve: sessions, exchanges (a line and its answer) and calls (one request). */
#ifndef REGLET_DAEMON_SERVE_SESSION_H
#define REGLET_DAEMON_SERVE_SESSION_H

#include <cjson/cJSON.h>
#include <uv.h>

#include "daemon/lift/lift.h"
#include "daemon/serve/server.h"
#include "daemon/shop/shop.h"
#include "protocol/local.h"

enum {
    SESSIONS_MAX = 64,
    CALL_PARAMS_MAX = 4,
    SESSION_BACKLOG = 262144, /* unsent bytes at which a client that does not read is dropped */
};

struct session;

/* A line and what is to be answered to it. Lives until its last call is answered. */
struct exchange {
    struct session *session; /* NULL: the client has gone */
    bool batch;
    cJSON *answers; /* array, of a batch */
    size_t open;    /* calls without an answer yet, and one for the taking apart itself */
};

/* One request that is being carried out. Ends with call_result or call_error. */
struct call {
    struct exchange *exchange;
    cJSON *id;                           /* own copy; NULL: a notification */
    const cJSON *found[CALL_PARAMS_MAX]; /* parameters; valid in the method's first call only */
    struct lift_waiter waiter;
    char name[SHOP_NAME_SIZE]; /* kept by forget beyond its first call */
    struct call *next;         /* of the session */
};

struct session {
    uv_pipe_t pipe;
    struct server *server;
    struct call *calls; /* not answered yet */
    char *text;         /* LOCAL_LINE_MAX bytes */
    size_t size;
    bool closing;
    struct session *next;
};

struct server {
    uv_pipe_t listener;
    uv_idle_t idle; /* runs while a session has a whole line waiting */
    struct lift *lift;
    struct shop *shop;
    struct session *sessions;
    size_t count;
    bool practice;
    bool closing;
};

/* server.c */
void server_more(struct server *server); /* a session has a whole line waiting */

/* session.c */
void session_accept(struct server *server);
bool session_take_line(struct session *session); /* true when one more is waiting */
void session_close(struct session *session);
void session_send(struct session *session, const cJSON *message);

/* call.c */
void exchange_take(struct session *session, const char *text, size_t size);
void call_result(struct call *call, cJSON *result);
void call_error(struct call *call, int code, const char *message, cJSON *data);
void call_refused(struct call *call, const struct lift_refusal *refusal);
struct lift *call_lift(const struct call *call);
struct shop *call_shop(const struct call *call);
/* Gives up what a session that closes has asked for. */
void calls_abandon(struct session *session);

/* dispatch.c */
void dispatch(struct call *call, const struct local_request *request);

#endif
