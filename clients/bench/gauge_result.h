/* SPDX-License-Identifier: MIT */
/*
 * From readings to what is to be told and set: the figures, the fit, the causes, and other values
 * for the lift to go by. Pure.
 */
#ifndef REGLET_BENCH_GAUGE_RESULT_H
#define REGLET_BENCH_GAUGE_RESULT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "clients/bench/cause.h"
#include "clients/bench/gauge.h"
#include "protocol/attributes.h"
#include "protocol/error_table.h"

/* What is smaller is not worth a word: 5 um, .0002 in (common practice, no source). */
#define GAUGE_TOLERANCE_NM 5000

/* What the lift goes by while it is measured. */
struct gauge_lift {
    int64_t lead_nm;
    int64_t lash_nm;
    int64_t lowest_nm; /* ends of its travel, positions; the top is 0 */
    int64_t highest_nm;
    struct error_table table; /* in use; without points: none */
    char finish[16];          /* of its moves: "upward", "downward" or "either" */
};

/* Large; the caller's. */
struct gauge_result {
    struct gauge_readings readings; /* shifted, so that the first one up has no deviation */
    bool turned;                    /* the readings fell where the lift rose, and were turned */
    struct gauge_iso iso;
    struct gauge_fit fit;   /* beside what the lift goes by now */
    struct gauge_fit screw; /* beside the lead alone, whatever table is in use */
    double resolution_nm;   /* the smallest difference between two readings */
    enum gauge_side finish; /* the side from which it repeats better */
    enum cause cause[CAUSES_MAX];
    size_t causes;
    bool lead_known; /* proposed: another lead; else the present one is as good */
    int64_t lead_nm;
    int64_t lash_nm;          /* proposed; whole micrometres */
    struct error_table table; /* proposed; without points: none is needed */
    double table_off_nm;      /* by which it cannot follow the screw, being too steep */
};

/* `raw`: the readings as they were read, of an indicator or a scale that has its zero anywhere.
 * False where they are not valid or tell nothing (all alike). */
REGLET_MUST_CHECK bool gauge_work_out(const struct gauge_lift *lift,
                                      const struct gauge_readings *raw, struct gauge_result *out);

#endif
