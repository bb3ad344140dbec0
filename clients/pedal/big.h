/* SPDX-License-Identifier: MIT */
/* A height in digits that can be read from where the pedal is. No I/O. */
#ifndef REGLET_CLIENTS_PEDAL_BIG_H
#define REGLET_CLIENTS_PEDAL_BIG_H

#include "clients/common/say.h"
#include "clients/pedal/gate.h"

enum { BIG_ROWS = 5 };

/* BIG_ROWS lines. What has no shape here (it has digits, . - / + blank, i n m) is left out. */
void big_text(struct say *say, const char *text);

/* What is typed: large (where that is wanted) with its unit, and in one plain line. */
void big_shown(struct say *say, const struct gate_shown *shown, enum length_style style,
               bool large);

#endif
