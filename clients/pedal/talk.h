/* SPDX-License-Identifier: MIT */
/*
 * The connection to the daemon on libuv: greets, watches, comes back by itself when it is lost.
 * Nothing here blocks. A daemon that is silent for TALK_SILENCE_MS counts as lost: a watcher hears
 * from it each second.
 */
#ifndef REGLET_CLIENTS_PEDAL_TALK_H
#define REGLET_CLIENTS_PEDAL_TALK_H

#include <stdbool.h>
#include <stddef.h>
#include <uv.h>

#include "clients/line/line.h"
#include "clients/pedal/gate.h"
#include "clients/pedal/speak.h"
#include "protocol/paths.h"

enum {
    TALK_SILENCE_MS = 3000,
    TALK_AGAIN_MS = 100,       /* doubled at each try, */
    TALK_AGAIN_MOST_MS = 3200, /* up to this */
    TALK_ID_HELLO = 1,
    TALK_ID_WATCH = 2,
    TALK_ID_FIRST = 10, /* requests have greater ones */
    TALK_WHY_SIZE = 512,
};

/* What happens. None is called from within talk_send, but `say`. */
struct talk_events {
    void *owner;
    void (*ready)(void *owner, const struct gate_lift *lift);
    void (*lost)(void *owner); /* only behind ready */
    void (*told)(void *owner, const struct gate_lift *lift);
    void (*answered)(void *owner, const struct gate_answer *answer);
    void (*say)(void *owner, const char *sentence);
};

struct talk {
    uv_loop_t *loop;
    struct talk_events events;
    char path[PATHS_SIZE];
    bool practice; /* only a practice lift will do */
    enum talk_state { TALK_AWAY, TALK_GREETING, TALK_WATCHING, TALK_READY, TALK_CLOSING } state;
    bool ended; /* do not come back */
    bool tell_lost;
    unsigned tries;
    char why[TALK_WHY_SIZE]; /* said last; "" while all is well */
    uv_timer_t timer;        /* until the next try, or until the silence is too long */
    struct line line;
};

/* Begins to connect, and goes on trying. The struct is the caller's, and stays until the loop has
 * run out behind talk_close. 0, or an error of libuv. */
REGLET_MUST_CHECK int talk_start(struct talk *talk, uv_loop_t *loop, const char *path,
                                 bool practice, const struct talk_events *events);

/* Sends while ready; else the request is dropped, as `lost` has said or will say. */
void talk_send(struct talk *talk, const struct gate_request *request);

/* Ends the connection, which brakes what moves for it, and all trying. */
void talk_close(struct talk *talk);

#endif
