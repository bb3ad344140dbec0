/* SPDX-License-Identifier: MIT */
#include "clients/bench/capacity.h"

#include <math.h>

static const double two_pi = 6.28318530717958647692;

static bool above_0(double value)
{
    return isfinite(value) && value > 0;
}

static bool is_motor(const struct capacity *in)
{
    return above_0(in->holding_n_m) && above_0(in->share) && in->share <= 1 &&
           above_0(in->knee_rpm) && isfinite(in->inertia_kg_m2) && in->inertia_kg_m2 >= 0 &&
           isfinite(in->margin) && in->margin >= 1 && above_0(in->full_steps) &&
           above_0(in->microsteps) && isfinite(in->rate_most_hz) && in->rate_most_hz >= 0;
}

double capacity_running_n_m(const struct capacity *in, double rpm)
{
    double running = in->holding_n_m * in->share;
    return rpm > in->knee_rpm ? running * in->knee_rpm / rpm : running;
}

double capacity_asked_n_m(const struct capacity *in, const struct power_screw_torque *torque,
                          double acceleration_m_s2)
{
    return torque->raise_n_m * (1 + acceleration_m_s2 / CAPACITY_G_M_S2) +
           in->inertia_kg_m2 * two_pi * acceleration_m_s2 / in->screw.lead_m;
}

/* Where the motor's torque has come down to this; only for what it has at the knee. */
static double rpm_of(const struct capacity *in, double torque_n_m)
{
    return in->knee_rpm * in->holding_n_m * in->share / torque_n_m;
}

static void set_speed(const struct capacity *in, struct capacity_answer *out)
{
    double usable = out->running_n_m / in->margin;
    double over = usable - out->torque.raise_n_m;
    double a_unit = capacity_asked_n_m(in, &out->torque, 1) - out->torque.raise_n_m;
    double steps = in->full_steps * in->microsteps;
    out->acceleration_m_s2 = over / 2 / a_unit;
    out->speed_rpm = rpm_of(in, in->margin * (out->torque.raise_n_m + over / 2));
    if (in->rate_most_hz > 0 && out->speed_rpm / 60 * steps > in->rate_most_hz) {
        out->speed_rpm = in->rate_most_hz * 60 / steps;
        out->rate_limited = true;
    }
    out->speed_m_s = out->speed_rpm / 60 * in->screw.lead_m;
    out->rate_hz = out->speed_rpm / 60 * steps;
}

bool capacity_work_out(const struct capacity *in, struct capacity_answer *out)
{
    *out = (struct capacity_answer){0};
    if (!is_motor(in) || !power_screw_torque(&in->screw, &out->torque)) {
        return false;
    }
    out->running_n_m = in->holding_n_m * in->share;
    out->margin = out->running_n_m / out->torque.raise_n_m;
    out->lifts = out->margin >= 1;
    out->enough = out->margin > in->margin;
    if (out->lifts) {
        out->stall_rpm = rpm_of(in, out->torque.raise_n_m);
    }
    if (out->enough) {
        set_speed(in, out);
    }
    return true;
}
