/* SPDX-License-Identifier: MIT */
/* The step generator's half of the conversation: lines in, answers owed, lines out. Inside the
 * core only; protocol/LINK.md says what each line means. */
#ifndef REGLET_CONTRIB_STEPGEN_TALK_H
#define REGLET_CONTRIB_STEPGEN_TALK_H

#include <stdint.h>

#include "contrib/stepgen/core.h"

/* Answers, in the order in which they are sent: the end of a motion before anything that looks like
 * its state, reports last. A leg can end and then a brake come, but not the other way round. */
enum {
    OWED_ENDED = 1 << 0,
    OWED_STOPPED = 1 << 1,
    OWED_REFUSED = 1 << 2,
    OWED_BOARD = 1 << 3,
    OWED_ABLE = 1 << 4,
    OWED_WANT = 1 << 5,
    OWED_TOOK = 1 << 6,
    OWED_USED = 1 << 7,
    OWED_AT = 1 << 8,
    OWED_SEE = 1 << 9,
    OWED_SCALE = 1 << 10,
};

/* Notes that answers are owed. Answers of one word are folded into one that tells the latest, so
 * that a slow line is never behind. */
void generator_owe(struct generator *generator, uint16_t answers);

/* Takes the oldest stride of the queue as the running one. Returns its first interval, in ticks. */
uint32_t generator_load(struct generator *generator);

/* A count that is so many steps on. */
int32_t generator_onward(int32_t count, bool down, uint32_t steps);

#endif
