/* SPDX-License-Identifier: MIT */
/*
 * One leg of a move: accelerate, cruise, decelerate, in closed form. Pure: no I/O, no clock, no
 * globals.
 *
 * Position counts steps from the start of the leg (0) to its end (`steps`), always positive; the
 * direction belongs to the stride. Times are seconds from the start of the leg.
 *
 * Source of the formulas: uniformly accelerated motion; Lynch and Park, Modern Robotics, 9.2.2.2
 * (trapezoidal time scaling).
 */
#ifndef REGLET_DAEMON_MOTION_PROFILE_H
#define REGLET_DAEMON_MOTION_PROFILE_H

#include <math.h>
#include <stdbool.h>

#include "protocol/attributes.h"

/* What is asked for. A leg of a move has start_hz = end_hz = 0 (rest to rest). */
struct profile_request {
    double steps;     /* > 0 */
    double start_hz;  /* >= 0, <= rate_hz */
    double end_hz;    /* >= 0, <= rate_hz */
    double rate_hz;   /* the cruising rate, > 0; not reached on a short leg */
    double rise_hz_s; /* acceleration, steps/s^2, > 0 */
    double fall_hz_s; /* deceleration, steps/s^2, > 0 */
};

struct profile {
    struct profile_request asked;
    double peak_hz;        /* reached: asked.rate_hz, or less on a short leg (a triangle) */
    double rise_end_steps; /* position at which the peak is reached */
    double fall_start_steps;
    double rise_end_s;
    double fall_start_s;
    double total_s;
};

/* False when a value is out of its range, or end_hz cannot be reached from start_hz within
 * `steps`. */
REGLET_MUST_CHECK bool profile_plan(struct profile *profile, const struct profile_request *asked);

/* The time at which `position_steps` (0 to asked.steps, clamped) is passed. */
double profile_time_s(const struct profile *profile, double position_steps);

/* The rate at `position_steps` (0 to asked.steps, clamped). */
double profile_rate_hz(const struct profile *profile, double position_steps);

/* The position at a time (0 to total_s, clamped). */
double profile_position_steps(const struct profile *profile, double time_s);

/*
 * Time to cover `distance_steps` at a constant `gain_hz_s` from `slow_hz`: the root of
 * distance = slow t + gain t^2 / 2 in the form 2 distance / (slow + sqrt(slow^2 + 2 gain
 * distance)), which cancels nowhere. distance_steps > 0.
 */
static inline double profile_ramp_s(double slow_hz, double gain_hz_s, double distance_steps)
{
    double square = slow_hz * slow_hz + 2.0 * gain_hz_s * distance_steps;
    return 2.0 * distance_steps / (slow_hz + sqrt(square));
}

/* profile_time_s within one phase, for loops that stay in it. The fall is timed from the end of
 * the leg backward, so that the last steps lose no accuracy. */
static inline double profile_rise_s(const struct profile *profile, double position_steps)
{
    return profile_ramp_s(profile->asked.start_hz, profile->asked.rise_hz_s, position_steps);
}

static inline double profile_cruise_s(const struct profile *profile, double position_steps)
{
    return profile->rise_end_s + (position_steps - profile->rise_end_steps) / profile->peak_hz;
}

static inline double profile_fall_s(const struct profile *profile, double position_steps)
{
    double left_steps = profile->asked.steps - position_steps;
    return profile->total_s -
           profile_ramp_s(profile->asked.end_hz, profile->asked.fall_hz_s, left_steps);
}

#endif
