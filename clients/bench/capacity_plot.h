/* SPDX-License-Identifier: MIT */
/*
 * Torque against speed as a drawing: what the motor gives, that over the margin, what raising asks
 * for with and without the advised acceleration; where it stalls and what is advised. SVG, black on
 * white, told apart by the kind of line; one page in A4 or letter, landscape. Pure.
 */
#ifndef REGLET_BENCH_CAPACITY_PLOT_H
#define REGLET_BENCH_CAPACITY_PLOT_H

#include <stddef.h>

#include "clients/bench/capacity.h"
#include "protocol/length.h"

enum { CAPACITY_PLOT_SIZE = 32768 };

/* The drawing's length, NUL-terminated in out; 0 where it does not fit (CAPACITY_PLOT_SIZE is
 * enough). `title` is one line of any text. The motor's figures are those that capacity_work_out
 * took. */
size_t capacity_plot(const struct capacity *in, const struct capacity_answer *answer,
                     const char *title, enum length_style style, char *out, size_t size);

#endif
