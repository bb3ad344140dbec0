/* SPDX-License-Identifier: MIT */
/* What drawings share: SVG text that grows in a caller's buffer, and the steps of an axis. Pure. */
#ifndef REGLET_BENCH_PEN_H
#define REGLET_BENCH_PEN_H

#include <stdbool.h>
#include <stddef.h>

#include "protocol/attributes.h"

/* Begins as {out, size, 0}; size is above 0. */
struct pen {
    char *out;
    size_t size;
    size_t used; /* size - 1: it may not have fitted */
};

REGLET_PRINTF(2, 3) void pen_put(struct pen *pen, const char *format, ...);

/* Any text, as SVG takes it; control characters become '?'. */
void pen_text(struct pen *pen, const char *text);

/* The drawing's length; 0, and an empty text, where it did not fit. */
size_t pen_end(struct pen *pen);

/* 1, 2 or 5 times a power of ten, so that about `ticks` of them make `most`, which is above 0. */
double pen_step(double most, int ticks);

#endif
