/* SPDX-License-Identifier: MIT */
/*
 * The whole of reglet-pedal on one loop, but for its command line: devices, gate, connection.
 */
#ifndef REGLET_CLIENTS_PEDAL_PEDAL_H
#define REGLET_CLIENTS_PEDAL_PEDAL_H

#include <stdbool.h>
#include <stdio.h>
#include <uv.h>

#include "clients/common/client.h"
#include "clients/pedal/finder.h"
#include "clients/pedal/gate.h"
#include "clients/pedal/map.h"
#include "clients/pedal/talk.h"

enum {
    PEDAL_END_MS = 2000, /* for the lift to come to rest when the program is told to end */
    PEDAL_SIGNALS = 4,
};

struct pedal_setup {
    const struct map *map;
    const char *folder; /* of the devices' nodes */
    const char *socket;
    bool practice;
    enum length_style style;
    bool follows; /* only until the shop's is known, which counts from then on */
    bool large;   /* what is typed is shown in large digits too */
    FILE *shows;  /* what is typed */
    FILE *says;   /* one line a change */
};

/* Large; one a program. */
struct pedal {
    struct pedal_setup setup;
    uv_loop_t *loop;
    struct gate gate;
    struct finder finder;
    struct talk talk;
    uv_timer_t timer; /* what the gate wants, then the end */
    uv_signal_t signal[PEDAL_SIGNALS];
    bool ending;
    bool stopped; /* something was, by the end */
    bool closing;
};

/* Begins all of it. 0, or an error of libuv. The loop then runs until the program is told to end
 * by a signal, or by pedal_end. */
REGLET_MUST_CHECK int pedal_start(struct pedal *pedal, uv_loop_t *loop,
                                  const struct pedal_setup *setup);

/* Releases what is held, stops what moves for a key, waits PEDAL_END_MS at the most for its rest,
 * and lets go of everything. A second call waits no more. */
void pedal_end(struct pedal *pedal);

/* When the loop has run out. */
enum client_exit pedal_exit(const struct pedal *pedal);

/* "reglet-pedal: SENTENCE", one line, control characters made harmless. */
void pedal_say(FILE *file, const char *sentence);

#endif
