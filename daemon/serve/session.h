/* SPDX-License-Identifier: MIT */
/* The inside of serve: sessions, exchanges (a line and its answer) and calls (one request). */
#ifndef REGLET_DAEMON_SERVE_SESSION_H
#define REGLET_DAEMON_SERVE_SESSION_H

#include <cjson/cJSON.h>
#include <sys/types.h>
#include <uv.h>

#include "daemon/lift/lift.h"
#include "daemon/serve/server.h"
#include "daemon/shop/shop.h"
#include "protocol/local.h"

enum {
    SESSIONS_MAX = 128,
    STRANGERS_MAX = 64, /* of them, those who may only look and stop */
    CALL_PARAMS_MAX = 32,
    CALLS_MAX = 64,           /* requests of one session that are not answered yet */
    SESSION_BACKLOG = 262144, /* unsent bytes at which a client that does not read is dropped */
    SESSION_BEHIND = 8192,    /* unsent bytes at which a watcher is not told positions */
    CLIENT_NAME_SIZE = 32,
};

struct session;
struct method;
struct reading;

/* Text that several sessions are sent; goes with its last user. */
struct shared {
    unsigned users;
    char *text; /* cJSON's */
    size_t size;
};

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
    char name[SHOP_NAME_SIZE];     /* kept by forget beyond its first call */
    char old_name[SHOP_NAME_SIZE]; /* of rename, the same */
    const struct method *method;
    int64_t height_nm; /* to come back to, of correct */
    int kind;          /* enum shop_kind, of what is kept or forgotten */
    bool with_others;
    struct call *next; /* of the session */
};

struct session {
    uv_pipe_t pipe;
    struct server *server;
    struct call *calls; /* not answered yet */
    size_t call_count;
    bool may_command; /* else only look and stop */
    uid_t uid;
    bool watching;
    char client[CLIENT_NAME_SIZE]; /* by its hello, or "" */
    char *text;                    /* LOCAL_LINE_MAX bytes */
    size_t size;
    uint32_t round; /* in which its last line was taken */
    bool closing;
    struct shared *last; /* sent in this turn of the loop and not written yet, or NULL */
    struct session *next;
};

/* What was told last to those who watch. */
struct watch {
    uv_prepare_t turn;
    bool known;
    struct lift_status told;
    char why[LIFT_SENTENCE];
    char unit[8];
    int64_t told_ns;
    size_t watchers;
    struct clock_timer life;
};

/* All that the printed status depends on, but for what never changes; compared byte by byte. */
struct status_key {
    struct lift_status lift; /* ages in whole ms, as they are printed; barred_why NULL */
    char why[LIFT_SENTENCE];
    char in_charge[CLIENT_NAME_SIZE];
    uint32_t shop_changes;
    uint32_t stories_changes;
};

/* The status as it was printed last, and of what. */
struct status_text {
    char *text; /* cJSON's; NULL: none */
    size_t size;
    struct status_key key;
};

/* The hold-to-run motion under way, or the last one. */
struct hold {
    char token[17];
    struct session *session; /* NULL: it has gone */
    bool held;               /* the lease runs */
    struct clock_timer lease;
    char over[LIFT_SENTENCE]; /* why it is over */
};

struct server {
    uv_pipe_t listener;
    uv_idle_t idle; /* runs while a session has a whole line waiting */
    struct clock *clock;
    struct lift *lift;
    struct shop *shop;
    struct calibration *calibration;
    struct stories *stories;
    struct surface *surface;
    struct keeper *keeper;    /* for the log */
    struct reading *readings; /* of the log, that are under way */
    struct session *sessions;
    size_t count;
    size_t strangers;
    uint32_t round;                   /* of taking a line of each client that has one */
    int turn_lines;                   /* taken in this turn of the loop */
    char in_charge[CLIENT_NAME_SIZE]; /* who asked for the motion */
    struct watch watch;
    struct status_text status_text;
    struct hold hold;
    int64_t refused_ns;    /* when a refusal was last put into the log */
    unsigned refused_more; /* and how many since were not */
    bool practice;
    bool closing;
};

/* server.c */
void server_more(struct server *server); /* a session has a whole line waiting */
void server_turn(struct server *server); /* to be called once a turn of the loop */
/* Writes what was sent in this turn; to be called behind all that sends. */
void server_flush(struct server *server);
/* May a line of that session be taken now? Each has its own in turn; and a crowd has no more than
 * so many in one turn of the loop, so that the serial port is never kept waiting for all of it. */
bool server_grants(struct server *server, struct session *session);

/* session.c */
void session_accept(struct server *server);
bool session_waits(const struct session *session); /* it has a whole line */
void session_take_line(struct session *session);
void session_close(struct session *session);
void session_send(struct session *session, const cJSON *message);
/* cJSON's text, which is taken over; NULL, memory being short, ends the session. */
void session_send_line(struct session *session, char *line, size_t size);
void session_send_shared(struct session *session, struct shared *shared);
/* Writes what was sent last. Once a turn of the loop, behind all lines of a crowd: each answer that
 * is written wakes its client, who would take the processor from the others' answers. */
void session_flush(struct session *session);
size_t session_backlog(const struct session *session);
/* NULL when memory is short. One user, the caller, who ends with shared_drop. */
REGLET_MUST_CHECK struct shared *shared_print(const cJSON *message);
void shared_drop(struct shared *shared);

/* peer.c */
/* Who is at the other end, by the kernel: may he command? */
bool peer_may_command(int fd, uid_t *uid);

/* watch.c */
void watch_open(struct server *server, uv_loop_t *loop);
void watch_close(struct server *server);
void watch_begin(struct session *session);
void watch_end(struct session *session);

/* hold.c */
void hold_open(struct server *server);
void hold_close(struct server *server);
void hold_abandon(struct session *session);

/* call.c */
/* The client's name for people, or "a client". */
const char *session_name(const struct session *session);
void exchange_take(struct session *session, const char *text, size_t size);
void call_result(struct call *call, cJSON *result);
/* The same with a result that is printed already and stays the caller's, for a call that
 * call_alone. */
void call_result_text(struct call *call, const char *result, size_t size);
bool call_alone(const struct call *call); /* it is to be answered, and by a line of its own */
void call_error(struct call *call, int code, const char *message, cJSON *data);
void call_refused(struct call *call, const struct lift_refusal *refusal);
struct lift *call_lift(const struct call *call);
struct shop *call_shop(const struct call *call);
/* Gives up what a session that closes has asked for. */
void calls_abandon(struct session *session);

/* dispatch.c */
void dispatch(struct call *call, const struct local_request *request);

#endif
