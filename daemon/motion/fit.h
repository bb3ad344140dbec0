/* SPDX-License-Identifier: MIT */
/*
 * Fitting the stride's cubic to sampled ideal times, in whole units of its registers. Pure.
 *
 * After x steps a stride stands at x I + x(x-1)/2 J + x(x-1)(x-2)/6 K. Divided by x that is a
 * polynomial q(x) of degree 2, so the smallest largest error |q(x) - t(x)/x| x is a weighted
 * minimax problem. It is solved on a few points, dense at both ends as Chebyshev nodes are.
 *
 * What can be met for some K is met on an interval of K (the constraints are linear), and so for
 * J under a given K. A whole number within a bound therefore exists only if one of the two
 * neighbours of any real number within the bound will do: rounding to both sides misses nothing.
 *
 * Source: the exchange algorithm on a discrete set of points, one point at a time (for instance
 * Powell, Approximation Theory and Methods, chapters 8 and 9; from memory).
 */
#ifndef REGLET_DAEMON_MOTION_FIT_H
#define REGLET_DAEMON_MOTION_FIT_H

#include <stdbool.h>

#include "protocol/attributes.h"

enum { FIT_POINTS_MAX = 24 };

/* Steps of a stride, and the ideal ticks from the edge before the stride at which they fall. */
struct fit_points {
    unsigned count;              /* 1 to FIT_POINTS_MAX */
    double step[FIT_POINTS_MAX]; /* ascending whole numbers >= 1, the last is the stride's last */
    double ticks[FIT_POINTS_MAX];
};

/* The registers of a stride, whole numbers of ticks / 2^fraction bits. */
struct fit {
    double interval;
    double change;
    double curve;
    /* A lower bound of what any fit of this degree errs by, near to it: for the search. */
    double level_ticks;
};

/* Which of `steps` steps to sample: all of a short stride, a spread of a long one. Fills count
 * and step[]; ticks[] is the caller's to fill. */
void fit_choose_points(struct fit_points *points, unsigned steps);

/*
 * Fits curve, change and interval; rounds curve first, then change, then interval, and fits the
 * rest again after each rounding. `unit` is 2^fraction bits. True when every point is met within
 * bound_ticks; otherwise only level_ticks is set.
 */
REGLET_MUST_CHECK bool fit_stride(const struct fit_points *points, double unit, double bound_ticks,
                                  struct fit *fit);

#endif
