/* SPDX-License-Identifier: MIT */
/* The words for how heights are typed and shown: what a shop chooses, and a person for himself. */
#ifndef REGLET_PROTOCOL_UNIT_H
#define REGLET_PROTOCOL_UNIT_H

#include <stdbool.h>

#include "protocol/attributes.h"
#include "protocol/length.h"

/* What is shown where nobody has chosen. */
#define UNIT_DEFAULT "64"

/* "in", "mm", "32", "64" or "128": the last three are fractions of an inch. False: it is none, and
 * *style stays as it is. */
REGLET_MUST_CHECK bool unit_style(const char *word, enum length_style *style);

/* The word of a style. */
const char *unit_word(enum length_style style);

#endif
