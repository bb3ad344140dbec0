/* SPDX-License-Identifier: MIT */
/*
 * Where the table's surface lies in the lift's own frame, through the seasons: what touch-offs with
 * a plain pin have found. A pin that is put in to the same shoulder each time stands alike in the
 * collet, so what differs is table, ring and frame. Kept in surface.json; its one owner.
 */
#ifndef REGLET_DAEMON_MACHINE_SURFACE_H
#define REGLET_DAEMON_MACHINE_SURFACE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "daemon/store/keeper.h"
#include "protocol/attributes.h"

enum { SURFACE_VERSION = 1, SURFACE_MOST = 80, SURFACE_NAME_SIZE = 64, SURFACE_TIME_SIZE = 24 };

struct surface_point {
    char time[SURFACE_TIME_SIZE]; /* as the log has it */
    char pin[SURFACE_NAME_SIZE];  /* the bit's name then */
    int64_t position_nm;          /* of the table zero, below the top */
};

struct surface;

/* NULL, and a sentence in `why`, when the daemon must not start on what it found. */
REGLET_MUST_CHECK struct surface *surface_open(struct keeper *keeper, char *why, size_t why_size);
void surface_free(struct surface *surface);

size_t surface_count(const struct surface *surface);
const struct surface_point *surface_at(const struct surface *surface, size_t index);

/* One more, of now. When there is no room the second oldest goes: the first is what all are
 * compared with. A disk that does not take it is complained of; the lift works on. */
void surface_add(struct surface *surface, const char *pin, int64_t position_nm);

#endif
