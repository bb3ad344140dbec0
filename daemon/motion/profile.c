/* SPDX-License-Identifier: MIT */
#include "daemon/motion/profile.h"

/* A caller that works out the acceleration so that the change of rate just fits the leg may be
 * off by its own rounding. */
static const double ROUNDING = 1e-12;

static bool request_valid(const struct profile_request *asked)
{
    return isfinite(asked->steps) && asked->steps > 0.0 && isfinite(asked->rate_hz) &&
           asked->rate_hz > 0.0 && asked->start_hz >= 0.0 && asked->start_hz <= asked->rate_hz &&
           asked->end_hz >= 0.0 && asked->end_hz <= asked->rate_hz && isfinite(asked->rise_hz_s) &&
           asked->rise_hz_s > 0.0 && isfinite(asked->fall_hz_s) && asked->fall_hz_s > 0.0;
}

/* Distance between two rates, slow <= fast. */
static double ramp_steps(double slow_hz, double fast_hz, double gain_hz_s)
{
    return (fast_hz - slow_hz) * (fast_hz + slow_hz) / (2.0 * gain_hz_s);
}

static bool end_in_reach(const struct profile_request *asked)
{
    double least_steps = asked->end_hz > asked->start_hz
                             ? ramp_steps(asked->start_hz, asked->end_hz, asked->rise_hz_s)
                             : ramp_steps(asked->end_hz, asked->start_hz, asked->fall_hz_s);
    return least_steps <= asked->steps * (1.0 + ROUNDING);
}

/* Where rise and fall meet: start^2 + 2 rise p = end^2 + 2 fall (steps - p). */
static double meeting_steps(const struct profile_request *asked)
{
    double ends = (asked->end_hz - asked->start_hz) * (asked->end_hz + asked->start_hz) / 2.0;
    double meeting =
        (asked->fall_hz_s * asked->steps + ends) / (asked->rise_hz_s + asked->fall_hz_s);
    return fmin(fmax(meeting, 0.0), asked->steps);
}

bool profile_plan(struct profile *profile, const struct profile_request *asked)
{
    if (!request_valid(asked) || !end_in_reach(asked))
        return false;
    double rise_steps = ramp_steps(asked->start_hz, asked->rate_hz, asked->rise_hz_s);
    double fall_steps = ramp_steps(asked->end_hz, asked->rate_hz, asked->fall_hz_s);
    struct profile plan = {.asked = *asked, .peak_hz = asked->rate_hz};
    if (rise_steps + fall_steps <= asked->steps) {
        plan.rise_end_steps = rise_steps;
        plan.fall_start_steps = fmax(rise_steps, asked->steps - fall_steps);
    } else {
        plan.rise_end_steps = plan.fall_start_steps = meeting_steps(asked);
        plan.peak_hz =
            sqrt(asked->start_hz * asked->start_hz + 2.0 * asked->rise_hz_s * plan.rise_end_steps);
        plan.peak_hz = fmin(plan.peak_hz, asked->rate_hz);
    }
    if (plan.rise_end_steps > 0.0)
        plan.rise_end_s = profile_rise_s(&plan, plan.rise_end_steps);
    plan.fall_start_s = profile_cruise_s(&plan, plan.fall_start_steps);
    double left_steps = asked->steps - plan.fall_start_steps;
    plan.total_s = plan.fall_start_s;
    if (left_steps > 0.0)
        plan.total_s += profile_ramp_s(asked->end_hz, asked->fall_hz_s, left_steps);
    if (!isfinite(plan.total_s))
        return false;
    *profile = plan;
    return true;
}

double profile_time_s(const struct profile *profile, double position_steps)
{
    if (position_steps <= 0.0)
        return 0.0;
    if (position_steps >= profile->asked.steps)
        return profile->total_s;
    if (position_steps <= profile->rise_end_steps)
        return profile_rise_s(profile, position_steps);
    if (position_steps <= profile->fall_start_steps)
        return profile_cruise_s(profile, position_steps);
    return profile_fall_s(profile, position_steps);
}

double profile_rate_hz(const struct profile *profile, double position_steps)
{
    const struct profile_request *asked = &profile->asked;
    double position = fmin(fmax(position_steps, 0.0), asked->steps);
    if (position < profile->rise_end_steps)
        return sqrt(asked->start_hz * asked->start_hz + 2.0 * asked->rise_hz_s * position);
    if (position <= profile->fall_start_steps)
        return profile->peak_hz;
    double left_steps = asked->steps - position;
    return sqrt(asked->end_hz * asked->end_hz + 2.0 * asked->fall_hz_s * left_steps);
}

double profile_position_steps(const struct profile *profile, double time_s)
{
    const struct profile_request *asked = &profile->asked;
    if (time_s <= 0.0)
        return 0.0;
    if (time_s >= profile->total_s)
        return asked->steps;
    if (time_s <= profile->rise_end_s)
        return time_s * (asked->start_hz + asked->rise_hz_s * time_s / 2.0);
    if (time_s <= profile->fall_start_s)
        return profile->rise_end_steps + profile->peak_hz * (time_s - profile->rise_end_s);
    double left_s = profile->total_s - time_s;
    return asked->steps - left_s * (asked->end_hz + asked->fall_hz_s * left_s / 2.0);
}
