/* SPDX-License-Identifier: MIT */
/* Quotients of whole numbers, rounded once. */
#ifndef REGLET_PROTOCOL_RATIO_H
#define REGLET_PROTOCOL_RATIO_H

#include <stdint.h>

__extension__ typedef __int128 ratio_wide;

/* The nearest whole number, ties away from zero. `below` is positive, and the quotient fits. */
static inline int64_t ratio_nearest(ratio_wide above, int64_t below)
{
    ratio_wide size = above < 0 ? -above : above;
    int64_t nearest = (int64_t)((2 * size + below) / (2 * (ratio_wide)below));
    return above < 0 ? -nearest : nearest;
}

#endif
