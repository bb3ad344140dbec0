/* SPDX-License-Identifier: MIT */
#include "clients/bench/gauge.h"

#include <math.h>

#include "clients/bench/stats.h"
#include "protocol/length.h"

static bool within(int64_t nm)
{
    return nm >= -LENGTH_NM_MAX && nm <= LENGTH_NM_MAX;
}

static bool readings_within(const struct gauge_readings *in, int target)
{
    for (int run = 0; run < in->runs; run++) {
        if (!within(in->reached_nm[GAUGE_UP][target][run]) ||
            !within(in->reached_nm[GAUGE_DOWN][target][run])) {
            return false;
        }
    }
    return true;
}

bool gauge_valid(const struct gauge_readings *in)
{
    if (in->targets < GAUGE_TARGETS_MIN || in->targets > GAUGE_TARGETS_MAX ||
        in->runs < GAUGE_RUNS_MIN || in->runs > GAUGE_RUNS_MAX) {
        return false;
    }
    for (int i = 0; i < in->targets; i++) {
        if (!within(in->target_nm[i]) || !readings_within(in, i) ||
            (i > 0 && in->target_nm[i] <= in->target_nm[i - 1])) {
            return false;
        }
    }
    return true;
}

/* --- ISO 230-2 --- */

static void summarise(const struct gauge_readings *in, int i, struct gauge_target *out)
{
    for (int side = 0; side < 2; side++) {
        double deviation[GAUGE_RUNS_MAX];
        struct stats_summary summary = {0};
        for (int run = 0; run < in->runs; run++) {
            deviation[run] = (double)(in->reached_nm[side][i][run] - in->target_nm[i]);
        }
        (void)!stats_summary(deviation, (size_t)in->runs, &summary); /* there are runs */
        out->mean_nm[side] = summary.mean;
        out->sd_nm[side] = summary.sd;
        out->repeat_nm[side] = 4 * summary.sd;
    }
    out->mean_both_nm = (out->mean_nm[GAUGE_UP] + out->mean_nm[GAUGE_DOWN]) / 2;
    out->reversal_nm = out->mean_nm[GAUGE_UP] - out->mean_nm[GAUGE_DOWN];
    double across = 2 * out->sd_nm[GAUGE_UP] + 2 * out->sd_nm[GAUGE_DOWN] + fabs(out->reversal_nm);
    out->repeat_both_nm = fmax(across, fmax(out->repeat_nm[GAUGE_UP], out->repeat_nm[GAUGE_DOWN]));
}

struct range {
    double lowest;
    double highest;
};

static const struct range nothing = {HUGE_VAL, -HUGE_VAL};

static void take(struct range *range, double lowest, double highest)
{
    range->lowest = fmin(range->lowest, lowest);
    range->highest = fmax(range->highest, highest);
}

static double width(struct range range)
{
    return range.highest - range.lowest;
}

/* E and A, of each side and over both; M. */
static void set_ranges(int targets, struct gauge_iso *out)
{
    struct range means = nothing;
    struct range both = nothing;
    struct range both_wide = nothing;
    for (int side = 0; side < 2; side++) {
        struct range one = nothing;
        struct range wide = nothing;
        for (int i = 0; i < targets; i++) {
            double mean = out->target[i].mean_nm[side];
            double two_sd = 2 * out->target[i].sd_nm[side];
            take(&one, mean, mean);
            take(&wide, mean - two_sd, mean + two_sd);
        }
        out->systematic_nm[side] = width(one);
        out->accuracy_nm[side] = width(wide);
        take(&both, one.lowest, one.highest);
        take(&both_wide, wide.lowest, wide.highest);
    }
    for (int i = 0; i < targets; i++) {
        take(&means, out->target[i].mean_both_nm, out->target[i].mean_both_nm);
    }
    out->systematic_both_nm = width(both);
    out->accuracy_both_nm = width(both_wide);
    out->mean_deviation_nm = width(means);
}

bool gauge_iso(const struct gauge_readings *in, struct gauge_iso *out)
{
    if (!gauge_valid(in)) {
        return false;
    }
    *out = (struct gauge_iso){0};
    for (int i = 0; i < in->targets; i++) {
        struct gauge_target *target = &out->target[i];
        summarise(in, i, target);
        out->reversal_nm = fmax(out->reversal_nm, fabs(target->reversal_nm));
        out->reversal_mean_nm += target->reversal_nm / in->targets;
        out->repeat_both_nm = fmax(out->repeat_both_nm, target->repeat_both_nm);
        for (int side = 0; side < 2; side++) {
            out->repeat_nm[side] = fmax(out->repeat_nm[side], target->repeat_nm[side]);
        }
    }
    set_ranges(in->targets, out);
    return true;
}

/* The mean of the targets' variances. */
static double pooled_variance(int targets, const struct gauge_iso *iso, enum gauge_side side)
{
    double sum = 0;
    for (int i = 0; i < targets; i++) {
        sum += iso->target[i].sd_nm[side] * iso->target[i].sd_nm[side];
    }
    return sum / targets;
}

enum gauge_side gauge_finish(const struct gauge_readings *in, const struct gauge_iso *iso,
                             double resolution_nm)
{
    double up = pooled_variance(in->targets, iso, GAUGE_UP);
    double down = pooled_variance(in->targets, iso, GAUGE_DOWN);
    return up >= 3 * down && up > resolution_nm * resolution_nm ? GAUGE_DOWN : GAUGE_UP;
}

/* --- Targets --- */

/* The place next to `at` that has this fraction of the turn. */
static double at_place(double at, double lead_nm, double fraction)
{
    double first = at - lead_nm / 2;
    double ahead = fmod(fraction * lead_nm - first, lead_nm);
    return first + (ahead < 0 ? ahead + lead_nm : ahead);
}

/* Fractions of multiples of the golden section fall evenly, whatever their number. Where targets
 * are a turn apart or more each is given its place in the turn; where they are closer, equal
 * intervals only have to be shaken. */
bool gauge_targets(int64_t lowest_nm, int64_t highest_nm, double lead_nm, int count,
                   int64_t target_nm[GAUGE_TARGETS_MAX])
{
    static const double golden = 0.61803398874989484820;
    if (count < GAUGE_TARGETS_MIN || count > GAUGE_TARGETS_MAX || !within(lowest_nm) ||
        !within(highest_nm) || !(lead_nm > 0)) {
        return false;
    }
    double spacing = (double)(highest_nm - lowest_nm) / count;
    int64_t before_nm = INT64_MIN;
    for (int i = 0; i < count; i++) {
        double fraction = fmod(i * golden, 1);
        double at = (double)lowest_nm + spacing * (i + 0.5);
        at = spacing >= lead_nm ? at_place(at, lead_nm, fraction)
                                : at + 0.8 * spacing * (fraction - 0.5);
        target_nm[i] = (int64_t)llround(at / 1000) * 1000;
        if (target_nm[i] <= before_nm || target_nm[i] < lowest_nm || target_nm[i] > highest_nm) {
            return false;
        }
        before_nm = target_nm[i];
    }
    return true;
}
