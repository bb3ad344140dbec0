/* SPDX-License-Identifier: MIT */
/* A connection that is told what changes. */
#ifndef REGLET_CLIENTS_WATCHING_H
#define REGLET_CLIENTS_WATCHING_H

#include <stdbool.h>

#include "clients/reglet/run.h"
#include "protocol/attributes.h"

enum { WATCHING_SILENT_MS = 3000 }; /* then the daemon hangs (protocol/LOCAL.md, watch) */

/* What was just told. */
enum watching_heard {
    WATCHING_CHANGED = 1, /* the whole status; also the first */
    WATCHING_MOVED,       /* the place alone */
    WATCHING_TIME,        /* the deadline has passed */
    WATCHING_OVER,        /* `code` is the exit code, and was told */
};

/* Begins as {.run = run}; watching_end releases it. */
struct watching {
    struct run *run;
    struct show_lift lift;        /* as last told */
    struct client_answer status;  /* of which the lift's words are */
    struct client_answer message; /* what was just told */
    int64_t heard_ms;
    enum client_exit code;
};

/* Connects and says `watch`. CLIENT_DONE: the lift is there, as WATCHING_CHANGED would tell it.
 * Anything else is the exit code, and was told. */
REGLET_MUST_CHECK enum client_exit watching_begin(struct watching *watching);

/* Waits for what is told next, until deadline_ms (client_now_ms) at the most; below 0 is for ever.
 * `wipe` (may be NULL) is called before anything is said of an end, with `owner`. */
REGLET_MUST_CHECK enum watching_heard watching_next(struct watching *watching, int64_t deadline_ms,
                                                    void (*wipe)(void *owner), void *owner);

void watching_end(struct watching *watching);

#endif
