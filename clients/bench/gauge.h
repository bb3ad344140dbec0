/* SPDX-License-Identifier: MIT */
/*
 * What a screw is found to do against an indicator or a readout. Pure. Positions are the lift's,
 * in nanometres; figures that are means or spreads are double nanometres.
 *
 * ISO 230-2, editions 1997 to 2014 (formulas from memory of the standard). Targets i, runs j each
 * way, deviation x = reached - wanted, side by side for both directions of approach.
 */
#ifndef REGLET_BENCH_GAUGE_H
#define REGLET_BENCH_GAUGE_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol/attributes.h"

enum {
    GAUGE_TARGETS_MIN = 5,
    GAUGE_TARGETS_MAX = 60,
    GAUGE_TARGETS = 21, /* unless fewer are asked for */
    GAUGE_RUNS_MIN = 2,
    GAUGE_RUNS_MAX = 10,
    GAUGE_RUNS = 5,
};

enum gauge_side { GAUGE_UP = 0, GAUGE_DOWN = 1 };

/* Large; the caller's. Target positions ascend; all are within 10 m. */
struct gauge_readings {
    int targets;
    int runs;
    int64_t target_nm[GAUGE_TARGETS_MAX];
    int64_t reached_nm[2][GAUGE_TARGETS_MAX][GAUGE_RUNS_MAX]; /* [side][target][run] */
};

struct gauge_target {
    double mean_nm[2];     /* of the deviations, by side */
    double mean_both_nm;   /* their middle */
    double reversal_nm;    /* B: up less down */
    double sd_nm[2];       /* s, with n - 1 */
    double repeat_nm[2];   /* R = 4 s */
    double repeat_both_nm; /* max(2s up + 2s down + |B|, R up, R down) */
};

struct gauge_iso {
    struct gauge_target target[GAUGE_TARGETS_MAX];
    double reversal_nm;        /* B, the largest either way, without its sign */
    double reversal_mean_nm;   /* with its sign */
    double repeat_nm[2];       /* the largest of a side */
    double repeat_both_nm;     /* R */
    double systematic_nm[2];   /* E of a side: its highest mean less its lowest */
    double systematic_both_nm; /* E over both */
    double mean_deviation_nm;  /* M: of the middles */
    double accuracy_nm[2];     /* A of a side: highest mean + 2s less lowest mean - 2s */
    double accuracy_both_nm;   /* A over both */
};

/* Are there enough targets and runs, ascending and within bounds? */
REGLET_MUST_CHECK bool gauge_valid(const struct gauge_readings *readings);

/* False where they are not valid. */
REGLET_MUST_CHECK bool gauge_iso(const struct gauge_readings *readings, struct gauge_iso *out);

/*
 * deviation = offset + (scale - 1) position -/+ reversal/2 (up, down)
 *             + sine sin(2 pi position/lead) + cosine cos(2 pi position/lead)
 *
 * by least squares over all readings. Where targets and runs cannot show the last two (all targets
 * at one place of the turn) has_sine is false and both are 0.
 */
struct gauge_fit {
    double offset_nm;
    double scale; /* travel reached for travel said: the true lead over the configured one */
    double scale_sd;
    double reversal_nm; /* deviation coming down less that coming up */
    double reversal_sd_nm;
    double reversal_spread_nm; /* sd of the targets' own reversals */
    double lash_nm;            /* reversal without its sign */
    bool has_sine;
    double sine_nm;
    double cosine_nm;
    double amplitude_nm;
    double amplitude_sd_nm;
    double residual_sd_nm;
};

/* lead_nm is what a turn of the screw is said to rise. False where not valid, or a lead of 0. */
REGLET_MUST_CHECK bool gauge_fit(const struct gauge_readings *readings, double lead_nm,
                                 struct gauge_fit *out);

/* The side from which the lift repeats better: up, unless coming down spreads clearly less (a third
 * the variance or below, and more than the readout's resolution is to blame for). */
enum gauge_side gauge_finish(const struct gauge_readings *readings, const struct gauge_iso *iso,
                             double resolution_nm);

/*
 * `count` targets between two positions at irregular intervals, so that the error of each turn is
 * met at all places of the turn; whole micrometres. False where they would not ascend.
 */
REGLET_MUST_CHECK bool gauge_targets(int64_t lowest_nm, int64_t highest_nm, double lead_nm,
                                     int count, int64_t target_nm[GAUGE_TARGETS_MAX]);

#endif
