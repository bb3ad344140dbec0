/* SPDX-License-Identifier: MIT */
/*
 * What the readout shows, as a grid of cells: the present height as large as the terminal allows,
 * and in words how far it may be believed and what the lift does. No I/O, no clock.
 *
 * A height that is not the present one has no large figures, ever: a word stands in their place.
 * What bold and reversed cells say is said by characters as well.
 */
#ifndef REGLET_CLIENTS_READOUT_FACE_H
#define REGLET_CLIENTS_READOUT_FACE_H

#include <stdbool.h>
#include <stdint.h>

#include "clients/common/show.h"
#include "clients/readout/grid.h"
#include "protocol/length.h"

enum {
    FACE_ROWS_MIN = 10, /* of a smaller terminal only a sentence */
    FACE_COLUMNS_MIN = 40,
    FACE_SILENT_MS = 3000, /* protocol/LOCAL.md, watch */
    /* While the lift moves a watcher hears much oftener; at the latest the sign of life comes,
     * after a second, and this is a little later than that. */
    FACE_MOTION_OLD_MS = 1500,
};

enum face_link {
    FACE_AWAY = 1, /* no connection to the daemon, or none that can be used */
    FACE_WAITING,  /* connected, and nothing said about the lift so far */
    FACE_TOLD,     /* `lift` is what was said last */
};

/* What became of the last stop request made at this screen. */
enum face_stop {
    FACE_STOP_NONE = 0,
    FACE_STOP_ASKED,
    FACE_STOP_DONE,       /* the lift was at rest */
    FACE_STOP_UNSENT,     /* there was nobody to ask */
    FACE_STOP_UNANSWERED, /* too long ago, or the connection ended before */
    FACE_STOP_REFUSED,
};

/* All that the face is made of. Texts are borrowed. */
struct face {
    enum length_style style;
    bool reversible; /* the terminal can reverse; else figures are made of '#' */
    bool practice;   /* the practice lift was asked for, whether or not it answers */
    enum face_link link;
    const char *why;  /* while away: a sentence */
    int64_t heard_ms; /* since something was said about the lift; while waiting, since connecting */
    struct show_lift lift; /* while told; else not looked at */
    const char *bit;       /* "" where not said */
    bool riding_known;
    int64_t riding_nm;
    enum face_stop stop;
};

/* Draws over all of the grid, whose size is set. */
void face_draw(struct grid *grid, const struct face *face);

#endif
