/* SPDX-License-Identifier: MIT */
/* What all subcommands share that move the lift: they show what was understood, ask, and stay
 * until the lift is at rest. */
#ifndef REGLET_CLIENTS_MOTION_H
#define REGLET_CLIENTS_MOTION_H

#include <cjson/cJSON.h>
#include <stdint.h>

#include "clients/reglet/run.h"
#include "protocol/attributes.h"

/* One motion by a length. `shown_nm` is the length as the operator said it, behind `word`: down
 * 1/64. */
struct motion {
    const char *word;
    const char *method;
    const char *name; /* of the parameter */
    int64_t nm;
    int64_t shown_nm;
};

/* Shows what was understood, connects, and moves as motion_go does. */
REGLET_MUST_CHECK enum client_exit motion_run(struct run *run, const struct motion *motion);

/*
 * Moves and waits, over the connection that there is; `params` (may be NULL) is taken over, and
 * `show` shows the lift at its end. On a terminal (stderr) a move that takes a while shows where it
 * is. A first signal sends `stop` on the same connection, waits some seconds for the rest, says
 * where that is and ends with CLIENT_BROKEN_OFF; a second one leaves at once.
 */
REGLET_MUST_CHECK enum client_exit motion_go(struct run *run, const char *method, cJSON *params,
                                             run_show *show);

/* The same without a word where all goes well: then the answer is handed out, the caller's to free.
 * Else what went wrong was told. */
REGLET_MUST_CHECK enum client_exit motion_quietly(struct run *run, const char *method,
                                                  cJSON *params, struct client_answer *answer);

/* Where the lift stands now, asked for over the connection that there is; or why that is not known.
 */
void motion_show_where(struct run *run);

/* 'up' and 'down': a nudge, `way` is 1 or -1. */
REGLET_MUST_CHECK enum client_exit motion_nudge(struct run *run, int way);

#endif
