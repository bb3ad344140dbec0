/* SPDX-License-Identifier: MIT */
/*
 * What a key is for: the words of the mapping file, taken apart. No I/O.
 */
#ifndef REGLET_CLIENTS_PEDAL_ACTION_H
#define REGLET_CLIENTS_PEDAL_ACTION_H

#include <stdbool.h>
#include <stdint.h>

#include "clients/common/words.h"
#include "protocol/attributes.h"

enum {
    ACTION_WHY = 400,    /* bytes of the sentence that says what was wrong */
    ACTION_ENTER = '\n', /* of struct action's `types` */
    ACTION_CLEAR = '\b',
};

enum action_kind {
    ACTION_HOLD = 1, /* hold-to-run, while the key is down */
    ACTION_NUDGE,
    ACTION_TO,
    ACTION_RECALL,
    ACTION_NEXT,
    ACTION_STOP,
    ACTION_KEYPAD, /* the key types what is printed on it */
};

struct action {
    enum action_kind kind;
    bool up;                   /* hold */
    bool fast;                 /* hold */
    int64_t nm;                /* nudge: upward is positive; to: the height */
    char name[WORDS_NAME + 1]; /* recall */
    char types;                /* keypad: 0 to 9 . - / ACTION_ENTER ACTION_CLEAR */
};

/* Reads the words for the key of this code (linux/input-event-codes.h). After false `why` (of
 * ACTION_WHY bytes) says what was found and what would do. */
REGLET_MUST_CHECK bool action_read(const char *words, unsigned code, struct action *action,
                                   char *why);

/* What a key of this code types, 0 for one that types nothing here. The key for decimals is a
 * point whatever the layout prints on it. */
char action_types(unsigned code);

#endif
