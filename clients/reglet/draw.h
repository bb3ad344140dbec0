/* SPDX-License-Identifier: MIT */
/* One line of the terminal (stderr) that is drawn over and over again. */
#ifndef REGLET_CLIENTS_DRAW_H
#define REGLET_CLIENTS_DRAW_H

#include <stddef.h>

#include "clients/common/show.h"

/* Begins as {0}. */
struct draw {
    size_t drawn; /* columns of the line that stands there */
};

/* Over what was drawn before: where the lift is and goes, as show_progress says it. */
void draw_progress(struct draw *draw, const struct show_lift *lift, enum length_style style);

/* Takes the line away, and `more` columns behind it; does nothing where none stands. */
void draw_wipe(struct draw *draw, size_t more);

#endif
