/* SPDX-License-Identifier: MIT */
/* A session of hold-to-run at a terminal: the keys decide, and each hold is renewed while one is
 * held. */
#ifndef REGLET_CLIENTS_HOLDING_H
#define REGLET_CLIENTS_HOLDING_H

#include <stdbool.h>
#include <stdint.h>

#include "clients/common/held.h"
#include "clients/reglet/draw.h"
#include "clients/reglet/keys.h"
#include "clients/reglet/run.h"
#include "protocol/attributes.h"

enum { HOLDING_TOKEN_SIZE = 64 };

/* Begins as {.run, .direction, .speed}; the status is the caller's to free. */
struct holding {
    struct run *run;
    const char *direction;
    const char *speed;
    struct held held;
    struct keys keys;
    struct client_answer status; /* of which the lift's words are */
    struct draw draw;
    struct show_lift lift; /* as last heard */
    bool from_known;       /* where it stood at first, on its own scale */
    int64_t from_nm;
    char token[HOLDING_TOKEN_SIZE]; /* "": nothing runs */
    int64_t renew_every_ms;         /* as the daemon wants it */
    int64_t renew_ms;               /* when to renew next */
    double renew_id;                /* 0: none is unanswered */
    int64_t deadline_ms;            /* by when that one must be answered */
    enum client_exit code;          /* of the program, once it is over */
    bool over;
};

/* Takes the answer over, whose words the lift borrows. False: it is no status, and nothing is
 * taken. */
REGLET_MUST_CHECK bool holding_keep_status(struct holding *holding, struct client_answer *answer);

/* Until the operator ends it, or it is refused. The terminal is as before behind it. The exit code;
 * everything was told. */
REGLET_MUST_CHECK enum client_exit holding_run(struct holding *holding);

#endif
