/* SPDX-License-Identifier: MIT */
/*
 * The connection to the daemon: made, kept up, and made again with growing pauses when it ends.
 * What was said over one that has ended is forgotten at once.
 */
#ifndef REGLET_CLIENTS_READOUT_TALK_H
#define REGLET_CLIENTS_READOUT_TALK_H

#include <stdbool.h>
#include <uv.h>

#include "clients/readout/face.h"
#include "protocol/attributes.h"

enum {
    TALK_PAUSE_MS = 100, /* before the second attempt; doubled for each further one */
    TALK_PAUSE_MOST_MS = 2000,
    TALK_ANSWER_MS = 3000, /* a stop request without an answer is said to have none */
    TALK_SAID_MS = 6000,   /* so long what became of a stop request stands on the screen */
    TALK_AGAIN_MS = 500,   /* a key that is held down asks no oftener */
};

struct talk;

/* Begins at once. `path` is borrowed until talk_close; `changed` is called whenever there is
 * something new for a face. NULL when memory is short. */
REGLET_MUST_CHECK struct talk *talk_open(uv_loop_t *loop, const char *path, bool practice,
                                         void (*changed)(void *owner), void *owner);

/* Ends it. It is freed in the last turn of the loop. */
void talk_close(struct talk *talk);

/* Asks the daemon to stop the lift. What became of it is in the face. */
void talk_stop(struct talk *talk);

/* Puts what is known at this moment of the loop into the face; its texts are borrowed until the
 * next turn. Style and terminal are the caller's. */
void talk_face(const struct talk *talk, struct face *face);

#endif
