/* SPDX-License-Identifier: MIT */
/*
 * What one connection to the daemon has said: the greeting, then the status and what changes of it
 * (protocol/LOCAL.md, watch). No I/O, no clock.
 */
#ifndef REGLET_CLIENTS_READOUT_HEAR_H
#define REGLET_CLIENTS_READOUT_HEAR_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>

#include "clients/readout/face.h"
#include "protocol/attributes.h"

enum { HEAR_HELLO_ID = 1, HEAR_WATCH_ID = 2, HEAR_STOP_ID = 3 /* and on from there */ };

enum { HEAR_WHY = 400 };

/* What a line was. */
enum hear_said {
    HEAR_OTHER = 1, /* nothing that matters here */
    HEAR_LIFT,      /* of the lift: what is in the status is of this moment */
    HEAR_STOP,      /* the answer to the last stop request */
    HEAR_USELESS,   /* nothing can be had over this connection; `why` says why */
};

/* Begins as {0}; hear_end releases it. */
struct hear {
    bool practice; /* the caller's: only the practice lift will do */
    cJSON *status; /* NULL before the first one, and after memory was short */
    int stops;     /* requests made so far */
    enum face_stop stop;
    char why[HEAR_WHY];
};

/* One line without its newline. */
REGLET_MUST_CHECK enum hear_said hear_line(struct hear *hear, const char *line, size_t size);

/* The requests that begin a connection (hello, watch), and one to stop, each as text with its
 * newline; freed with cJSON_free. NULL when memory is short. */
REGLET_MUST_CHECK char *hear_greeting(size_t *size);
REGLET_MUST_CHECK char *hear_stop_request(struct hear *hear, size_t *size);

/* Puts what is known of the lift into the face. False when there is nothing. */
REGLET_MUST_CHECK bool hear_lift(const struct hear *hear, struct face *face);

/* The connection has ended: what it said is not known any more, and a stop that was not answered
 * will not be. */
void hear_end(struct hear *hear);

#endif
