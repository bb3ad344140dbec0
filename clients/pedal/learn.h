/* SPDX-License-Identifier: MIT */
/*
 * reglet-pedal --learn: for each key that is pressed, what to write into the mapping file. It
 * grabs no device and never talks to the daemon.
 */
#ifndef REGLET_CLIENTS_PEDAL_LEARN_H
#define REGLET_CLIENTS_PEDAL_LEARN_H

#include <stdio.h>
#include <sys/stat.h>
#include <uv.h>

#include "clients/pedal/finder.h"

enum { LEARN_SIGNALS = 2 };

/* Large; one a program. */
struct learn {
    const char *folder;
    FILE *shows;
    FILE *says;
    struct finder finder;
    uv_signal_t signal[LEARN_SIGNALS];
    unsigned shown; /* number of the device that was shown last, plus 1 */
    bool closing;
};

/* 0, or an error of libuv. The loop then runs until a signal, or learn_end. */
REGLET_MUST_CHECK int learn_start(struct learn *learn, uv_loop_t *loop, const char *folder,
                                  FILE *shows, FILE *says);
void learn_end(struct learn *learn);

#endif
