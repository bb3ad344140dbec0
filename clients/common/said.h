/* SPDX-License-Identifier: MIT */
/* A line of words with their values, as "load 10kg screw 1/2-10 Acme": which value was said to
 * which word. No I/O. */
#ifndef REGLET_CLIENTS_SAID_H
#define REGLET_CLIENTS_SAID_H

#include <stdbool.h>

#include "clients/common/words.h"
#include "protocol/attributes.h"

enum { SAID_MAX = 20 };

struct said {
    const char *const *name; /* `count` of them, SAID_MAX at the most; borrowed */
    int count;
    char value[SAID_MAX][WORDS_SIZE]; /* empty: not said */
    char why[WORDS_WHY];              /* what was wrong */
};

/* Writes `why`, and is false: what a reader of words returns at once. */
REGLET_PRINTF(2, 3) bool said_wrong(struct said *said, const char *format, ...);

/* Each value goes on to the next word that is a name. False, and `why`, for what stands before a
 * name (`expected` says what would do: "screw, load or motor"), for a name without a value, twice,
 * or with one that is too long. */
REGLET_MUST_CHECK bool said_take(struct said *said, int count, char *const *word,
                                 const char *expected);

/* A length, untouched where it was not said. `what` is what it should be. */
REGLET_MUST_CHECK bool said_length(struct said *said, int at, enum length_bare bare,
                                   const char *what, int64_t *nm);

static inline bool said_is(const struct said *said, int at)
{
    return said->value[at][0] != '\0';
}

#endif
