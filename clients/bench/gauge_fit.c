/* SPDX-License-Identifier: MIT */
#include <math.h>

#include "clients/bench/gauge.h"
#include "clients/bench/stats.h"

enum { ROWS_MAX = 2 * GAUGE_TARGETS_MAX * GAUGE_RUNS_MAX, LINE = 3, WHOLE = 5 };
enum term { OFFSET, SCALE, REVERSAL, SINE, COSINE };

static const long double two_pi = 6.283185307179586476925287L;

/* Positions from the middle of the targets in units of their span, so that the terms are alike in
 * size. */
struct frame {
    long double middle;
    long double span;
    long double lead;
};

static void set_row(const struct frame *frame, int64_t target_nm, int side, size_t terms,
                    long double *row)
{
    row[OFFSET] = 1;
    row[SCALE] = ((long double)target_nm - frame->middle) / frame->span;
    row[REVERSAL] = side == GAUGE_DOWN ? 0.5L : -0.5L;
    if (terms == WHOLE) {
        long double turn = fmodl((long double)target_nm, frame->lead) / frame->lead;
        row[SINE] = sinl(two_pi * turn);
        row[COSINE] = cosl(two_pi * turn);
    }
}

static bool fit_terms(const struct gauge_readings *in, const struct frame *frame, size_t terms,
                      struct stats_fit *fit)
{
    long double row[ROWS_MAX * WHOLE];
    long double y[ROWS_MAX];
    size_t count = 0;
    for (int side = 0; side < 2; side++) {
        for (int i = 0; i < in->targets; i++) {
            for (int run = 0; run < in->runs; run++, count++) {
                set_row(frame, in->target_nm[i], side, terms, row + count * terms);
                y[count] = (long double)(in->reached_nm[side][i][run] - in->target_nm[i]);
            }
        }
    }
    return stats_fit(row, y, count, terms, fit);
}

static double reversal_spread(const struct gauge_readings *in)
{
    struct gauge_iso iso;
    struct stats_summary summary = {0};
    double reversal[GAUGE_TARGETS_MAX];
    if (!gauge_iso(in, &iso)) {
        return 0;
    }
    for (int i = 0; i < in->targets; i++) {
        reversal[i] = iso.target[i].reversal_nm;
    }
    return stats_summary(reversal, (size_t)in->targets, &summary) ? summary.sd : 0;
}

static void set_line(const struct frame *frame, const struct stats_fit *fit, struct gauge_fit *out)
{
    double per_nm = fit->coefficient[SCALE] / (double)frame->span;
    out->scale = 1 + per_nm;
    out->scale_sd = fit->sd[SCALE] / (double)frame->span;
    out->offset_nm = fit->coefficient[OFFSET] - per_nm * (double)frame->middle;
    out->reversal_nm = fit->coefficient[REVERSAL];
    out->reversal_sd_nm = fit->sd[REVERSAL];
    out->lash_nm = fabs(out->reversal_nm);
    out->residual_sd_nm = fit->residual_sd;
}

static void set_sine(const struct stats_fit *fit, struct gauge_fit *out)
{
    out->has_sine = true;
    out->sine_nm = fit->coefficient[SINE];
    out->cosine_nm = fit->coefficient[COSINE];
    out->amplitude_nm = hypot(out->sine_nm, out->cosine_nm);
    out->amplitude_sd_nm = fmax(fit->sd[SINE], fit->sd[COSINE]);
}

bool gauge_fit(const struct gauge_readings *in, double lead_nm, struct gauge_fit *out)
{
    struct stats_fit fit;
    if (!gauge_valid(in) || !isfinite(lead_nm) || !(lead_nm > 0)) {
        return false;
    }
    int64_t lowest_nm = in->target_nm[0];
    int64_t highest_nm = in->target_nm[in->targets - 1];
    struct frame frame = {.middle = ((long double)lowest_nm + (long double)highest_nm) / 2,
                          .span = (long double)(highest_nm - lowest_nm),
                          .lead = lead_nm};
    *out = (struct gauge_fit){.reversal_spread_nm = reversal_spread(in)};
    bool whole = fit_terms(in, &frame, WHOLE, &fit);
    if (!whole && !fit_terms(in, &frame, LINE, &fit)) {
        return false;
    }
    set_line(&frame, &fit, out);
    if (whole) {
        set_sine(&fit, out);
    }
    return true;
}
