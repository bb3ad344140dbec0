/* SPDX-License-Identifier: MIT */
/* The step generator's half of the conversation: lines in, answers owed, lines out. Inside the
 * core only; protocol/LINK.md says what each line means. */
#ifndef REGLET_CONTRIB_STEPGEN_TALK_H
#define REGLET_CONTRIB_STEPGEN_TALK_H

#include <stdint.h>

#include "contrib/stepgen/core.h"

/* Notes that answers (bits, OWED) are owed. Answers of one word are folded into one
 * that tells the latest, so that a slow line is never behind. */
void generator_owe(struct generator *generator, uint16_t words);

/* The bit of a word. */
#define OWED(word) ((uint16_t)(1u << ((word)-LINK_BOARD)))

/* Takes the oldest stride of the queue as the running one. Returns its first interval, in ticks. */
uint32_t generator_load(struct generator *generator);

#endif
