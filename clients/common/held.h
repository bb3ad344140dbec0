/* SPDX-License-Identifier: MIT */
/*
 * A key that is held, as a terminal tells it: it says nothing when a key is released, and repeats
 * one that is held after a while, again and again. So holding begins with the first repeat, and has
 * ended when no repeat has come for HELD_END_MS. No I/O; the caller says what time it is.
 */
#ifndef REGLET_CLIENTS_HELD_H
#define REGLET_CLIENTS_HELD_H

#include <stddef.h>
#include <stdint.h>

#include "protocol/attributes.h"

enum {
    HELD_END_MS = 150, /* behind the last repeat */
    /* A terminal repeats a held key for the first time within a second, and no sooner than a tenth
     * of one (common practice, no source): what comes sooner had queued up somewhere. */
    HELD_SOONEST_MS = 100,
    HELD_FIRST_MS = 1000,
    HELD_KEY_SIZE = 8, /* bytes of a key: an arrow sends three or more */
};

/* What the caller is to do now. */
enum held_does {
    HELD_NOTHING = 1,
    HELD_BEGIN, /* the key is held */
    HELD_END,   /* let go, or another key came in between */
    HELD_QUIT,  /* q, Enter, Ctrl-C, Ctrl-D; where it was held, that has ended too */
};

enum held_state {
    HELD_IDLE = 0,
    HELD_PRESSED, /* once; its repeat is waited for */
    HELD_RUNNING,
    HELD_SPENT, /* no key counts until none has come for HELD_FIRST_MS: a fresh press */
};

/* Begins as {0}. */
struct held {
    enum held_state state;
    size_t size; /* of the key */
    char key[HELD_KEY_SIZE];
    int64_t heard_ms; /* when a key last came */
};

/* What was read at once: repeats that had queued up count as one, for nobody knows when they came.
 */
REGLET_MUST_CHECK enum held_does held_keys(struct held *held, int64_t now_ms, const char *text,
                                           size_t size);

/* Time has passed. */
REGLET_MUST_CHECK enum held_does held_time(struct held *held, int64_t now_ms);

/* In how many ms held_time is to be asked; -1: only keys matter. */
int64_t held_left_ms(const struct held *held, int64_t now_ms);

/* The lift has stopped for another reason: a fresh press is needed. */
void held_over(struct held *held, int64_t now_ms);

#endif
