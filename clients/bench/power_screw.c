/* SPDX-License-Identifier: MIT */
#include "clients/bench/power_screw.h"

#include <math.h>

static const double pi = 3.14159265358979323846;

static bool above_0(double value)
{
    return isfinite(value) && value > 0;
}

static bool from_0(double value)
{
    return isfinite(value) && value >= 0;
}

static bool is_screw(const struct power_screw *screw)
{
    return above_0(screw->mean_m) && above_0(screw->lead_m) && above_0(screw->load_n) &&
           from_0(screw->friction) && from_0(screw->collar_friction) && from_0(screw->collar_m) &&
           from_0(screw->half_angle_deg) && screw->half_angle_deg <= 45;
}

static enum power_screw_hold hold_of(double margin)
{
    if (margin >= 1.5) {
        return POWER_SCREW_HOLDS;
    }
    if (margin >= 1.3) {
        return POWER_SCREW_JUST;
    }
    return margin > 1 ? POWER_SCREW_DOUBTFUL : POWER_SCREW_RUNS_DOWN;
}

bool power_screw_torque(const struct power_screw *screw, struct power_screw_torque *out)
{
    if (!is_screw(screw)) {
        return false;
    }
    double cosine = cos(screw->half_angle_deg * pi / 180);
    double along = pi * screw->mean_m;
    double drag = screw->friction / cosine; /* f sec a */
    if (along - drag * screw->lead_m <= 0) {
        return false;
    }
    double arm = screw->load_n * screw->mean_m / 2;
    double lead = screw->lead_m;
    out->raise_thread_n_m = arm * (lead + drag * along) / (along - drag * lead);
    out->lower_thread_n_m = arm * (drag * along - lead) / (along + drag * lead);
    out->collar_n_m = screw->load_n * screw->collar_friction * screw->collar_m / 2;
    out->raise_n_m = out->raise_thread_n_m + out->collar_n_m;
    out->lower_n_m = out->lower_thread_n_m + out->collar_n_m;
    out->efficiency = screw->load_n * lead / (2 * pi * out->raise_n_m);
    out->hold_friction = lead / along * cosine;
    out->hold_margin = screw->friction / out->hold_friction;
    out->hold = hold_of(out->hold_margin);
    return true;
}
