/* SPDX-License-Identifier: MIT */
/*
 * Statistics that hold where numbers are large and differ little: sums of deviations from the mean
 * in two passes, least squares by an orthogonal factorisation, all in long double. Pure.
 */
#ifndef REGLET_BENCH_STATS_H
#define REGLET_BENCH_STATS_H

#include <stdbool.h>
#include <stddef.h>

#include "protocol/attributes.h"

struct stats_summary {
    double mean;
    double sd;              /* with n - 1; 0 for one value */
    double autocorrelation; /* lag 1; 0 where all are alike */
};

/* For at least one value, all finite. False otherwise. */
REGLET_MUST_CHECK bool stats_summary(const double *value, size_t count, struct stats_summary *out);

/* y = intercept + slope x */
struct stats_line {
    double intercept;
    double slope;
    double intercept_sd;
    double slope_sd;
    double residual_sd; /* with n - 2 */
};

/* For at least three points that do not all have one x. False otherwise. */
REGLET_MUST_CHECK bool stats_line(const double *x, const double *y, size_t count,
                                  struct stats_line *out);

enum { STATS_TERMS_MAX = 8 };

/* y = the sum of coefficient[j] times the j-th term of each row. */
struct stats_fit {
    double coefficient[STATS_TERMS_MAX];
    double sd[STATS_TERMS_MAX];
    double residual_sd; /* with n - terms */
};

/*
 * Least squares (modified Gram-Schmidt, Bjorck 1967; from memory). `row` holds count rows of
 * `terms` numbers and is overwritten, as is y by the residuals. False where there are no more rows
 * than terms, or where the terms cannot be told apart (one is a sum of others to 1 in 10^10).
 */
REGLET_MUST_CHECK bool stats_fit(long double *row, long double *y, size_t count, size_t terms,
                                 struct stats_fit *out);

#endif
