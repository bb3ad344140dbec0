/* SPDX-License-Identifier: MIT */
/* The error table (protocol/error_table.h) that takes out what a fit has found. Pure. */
#ifndef REGLET_BENCH_TABLE_FIT_H
#define REGLET_BENCH_TABLE_FIT_H

#include <stdbool.h>
#include <stdint.h>

#include "clients/bench/gauge.h"
#include "protocol/attributes.h"
#include "protocol/error_table.h"

/*
 * From a fit, between two positions: with the scale, or without it where the lead is to be set
 * anew. The error is 0 at anchor_nm, so that nothing shifts there. Where a sine of the turn is
 * steeper than the bound, the table is the nearest that is not: *off_nm is the most by which it
 * then differs from the fit at its points, 0 where it does not. False where the scale is beyond
 * the bound, or the positions are none.
 */
REGLET_MUST_CHECK bool table_fit(const struct gauge_fit *fit, double lead_nm, int64_t lowest_nm,
                                 int64_t highest_nm, int64_t anchor_nm, bool with_scale,
                                 struct error_table *table, double *off_nm);

#endif
