/* SPDX-License-Identifier: MIT */
/*
 * The deviations against the lift's position as a drawing: every reading, the means of both
 * directions, and the band of two standard deviations around each. SVG, black and grey on white,
 * told apart by the kind of line; one page in A4 or letter, landscape. Pure.
 */
#ifndef REGLET_BENCH_GAUGE_PLOT_H
#define REGLET_BENCH_GAUGE_PLOT_H

#include <stddef.h>

#include "clients/bench/gauge_result.h"
#include "protocol/length.h"

enum { GAUGE_PLOT_SIZE = 131072 };

/* The drawing's length, NUL-terminated in out; 0 where it does not fit (GAUGE_PLOT_SIZE is
 * enough). `title` is one line of any text. */
size_t gauge_plot(const struct gauge_result *result, const char *title, enum length_style style,
                  char *out, size_t size);

#endif
