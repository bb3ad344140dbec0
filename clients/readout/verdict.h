/* SPDX-License-Identifier: MIT */
/*
 * What is to be said of a lift: whether its height is the present one, the word that stands there
 * if it is not, and the words around it. No I/O.
 */
#ifndef REGLET_CLIENTS_READOUT_VERDICT_H
#define REGLET_CLIENTS_READOUT_VERDICT_H

#include <stdbool.h>

#include "clients/readout/face.h"

enum {
    VERDICT_HEADS = 3,
    VERDICT_NOTES = 5,
    VERDICT_LINE = 160,
    VERDICT_TEXT = 400,
};

struct verdict {
    const char *word; /* in place of the figures; NULL: the height is present */
    bool sure;        /* the height may be believed */
    /* One line, in forms that get shorter; the first that fits is shown whole, so that no height
     * is ever cut. Empty ones are none. */
    char head[VERDICT_HEADS][VERDICT_LINE];
    char text[VERDICT_TEXT];                /* below the word: what happened, what to do */
    char note[VERDICT_NOTES][VERDICT_LINE]; /* below the figures; the weightiest first */
    int notes;
};

void verdict_reach(const struct face *face, struct verdict *verdict);

#endif
