/* SPDX-License-Identifier: MIT */
#include "protocol/reason.h"

#define REASON_WORD(name, word) [name] = word,
static const char *const words[REASON_COUNT] = {[REASON_NONE] = "none", REASON_LIST(REASON_WORD)};

const char *reason_word(enum reason reason)
{
    return words[reason];
}
