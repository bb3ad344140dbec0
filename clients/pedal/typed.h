/* SPDX-License-Identifier: MIT */
/*
 * A height while it is typed on a keypad. No I/O, no clock.
 */
#ifndef REGLET_CLIENTS_PEDAL_TYPED_H
#define REGLET_CLIENTS_PEDAL_TYPED_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "clients/common/words.h"
#include "protocol/attributes.h"
#include "protocol/length.h"

enum {
    TYPED_SIZE = 25,        /* no height is so long */
    TYPED_UNIT_SIZE = 3,    /* "in", "mm" */
    TYPED_CLEAR_MS = 10000, /* after the last key */
};

/* Begins as {0}. */
struct typed {
    char text[TYPED_SIZE];
    size_t used;
};

/* One more character. False when it is full; nothing is then added. */
REGLET_MUST_CHECK bool typed_add(struct typed *typed, char character);

/*
 * The height that stands there. A bare decimal is in the unit of `style`, a fraction is inches. In
 * a millimetre shop a text with both is refused: which of the two its decimal is cannot be told.
 * After false `why` (of WORDS_WHY bytes) says what was expected.
 */
REGLET_MUST_CHECK bool typed_read(const struct typed *typed, enum length_style style, int64_t *nm,
                                  char *why);

/* "in" or "mm": in which the text is read. */
const char *typed_unit(const struct typed *typed, enum length_style style);

#endif
