/* SPDX-License-Identifier: MIT */
#include "clients/bench/screw_thread.h"

#include <stdio.h>

#include "clients/bench/screw_parts.h"

bool screw_thread_named(const char *name, struct screw_thread *out, char *why)
{
    struct screw_scan scan;
    *out = (struct screw_thread){.pitch_den = 1, .starts = 1};
    if (!screw_prepare(&scan, name, why)) {
        return false;
    }
    if (screw_take(&scan, "tr")) {
        return screw_read_trapezoidal(&scan, out);
    }
    return screw_take(&scan, "m") ? screw_read_metric(&scan, out) : screw_read_inch(&scan, out);
}

bool screw_thread_given(enum screw_form form, int64_t mean_nm, int64_t lead_num_nm,
                        int64_t lead_den, struct screw_thread *out, char *why)
{
    if (form < SCREW_SQUARE || form > SCREW_VEE || mean_nm <= 0 || mean_nm > SCREW_MAJOR_MAX_NM ||
        lead_num_nm <= 0 || lead_num_nm > 4 * SCREW_MAJOR_MAX_NM || lead_den <= 0 ||
        lead_den > SCREW_MICRO) {
        return screw_wrong(
            why, "a screw has a mean diameter above 0 and up to 12 in, and a lead above 0");
    }
    *out = (struct screw_thread){.form = form,
                                 .mean_nm = mean_nm,
                                 .pitch_num_nm = lead_num_nm,
                                 .pitch_den = lead_den,
                                 .starts = 1};
    (void)snprintf(out->name, sizeof out->name, "lead %gmm, mean %gmm",
                   (double)lead_num_nm / (double)lead_den / SCREW_MICRO,
                   (double)mean_nm / SCREW_MICRO);
    return true;
}

/* --- What is made of it --- */

double screw_half_angle_deg(enum screw_form form)
{
    switch (form) {
    case SCREW_ACME:
        return 14.5;
    case SCREW_TRAPEZOIDAL:
        return 15;
    case SCREW_VEE:
        return 30;
    default:
        return 0;
    }
}

double screw_lead_m(const struct screw_thread *thread)
{
    return (double)thread->starts * (double)thread->pitch_num_nm / (double)thread->pitch_den * 1e-9;
}

static struct screw_ratio lowest_terms(ratio_wide above, ratio_wide below)
{
    ratio_wide a = above;
    ratio_wide b = below;
    while (b != 0) {
        ratio_wide rest = a % b;
        a = b;
        b = rest;
    }
    return (struct screw_ratio){(int64_t)(above / a), (int64_t)(below / a)};
}

struct screw_ratio screw_steps_in(const struct screw_thread *thread, int64_t steps_per_turn,
                                  int64_t length_nm)
{
    return lowest_terms((ratio_wide)length_nm * steps_per_turn * thread->pitch_den,
                        (ratio_wide)thread->pitch_num_nm * thread->starts);
}

struct screw_ratio screw_step_worth(const struct screw_thread *thread, int64_t steps_per_turn)
{
    return lowest_terms((ratio_wide)thread->pitch_num_nm * thread->starts,
                        (ratio_wide)thread->pitch_den * steps_per_turn);
}
