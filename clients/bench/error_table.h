/* SPDX-License-Identifier: MIT */
/*
 * What a screw does beside its lead, as a table of the lift's position: piecewise linear, whole
 * nanometres, exact rationals in between. Pure.
 *
 *     true = said + error(said)
 *
 * Beyond the ends the end's error holds; without points it is the identity. The slope of true over
 * said stays within 1 +- 1/20, so that both ways are single-valued.
 */
#ifndef REGLET_BENCH_ERROR_TABLE_H
#define REGLET_BENCH_ERROR_TABLE_H

#include <stdbool.h>
#include <stdint.h>

#include "clients/bench/gauge.h"
#include "protocol/attributes.h"

enum { ERROR_TABLE_MAX = 1024, ERROR_TABLE_SLOPE = 20 /* one in so many */ };

struct error_table {
    int count;
    int64_t said_nm[ERROR_TABLE_MAX]; /* ascending, within 10 m */
    int64_t error_nm[ERROR_TABLE_MAX];
};

REGLET_MUST_CHECK bool error_table_valid(const struct error_table *table);

/* Nearest nanometre, ties away from zero. For a valid table and positions within 20 m. */
int64_t error_table_true_nm(const struct error_table *table, int64_t said_nm);

/* The inverse: the said position whose true one is nearest. There and back is exact to a
 * nanometre, which is far below a step. */
int64_t error_table_said_nm(const struct error_table *table, int64_t true_nm);

/*
 * From a fit, between two positions: with the scale, or without it where the lead is to be set
 * anew. The error is 0 at anchor_nm, so that nothing shifts there. Where a sine of the turn is
 * steeper than the bound, the table is the nearest that is not: *off_nm is the most by which it
 * then differs from the fit at its points, 0 where it does not. False where the scale is beyond
 * the bound, or the positions are none.
 */
REGLET_MUST_CHECK bool error_table_from_fit(const struct gauge_fit *fit, double lead_nm,
                                            int64_t lowest_nm, int64_t highest_nm,
                                            int64_t anchor_nm, bool with_scale,
                                            struct error_table *table, double *off_nm);

#endif
