/* SPDX-License-Identifier: MIT */
/*
 * What a motor can do with a screw and a load. Advice, and no more: frictions and the derating are
 * taken, not measured. SI units, double. Pure.
 *
 * A stepper's holding torque is not its running torque. What is taken here: up to the knee the
 * motor gives `share` of its holding torque, beyond it that falls inversely to the speed, as the
 * windings' inductance makes it. 0.35 and 600 rev/min stand for a small motor at 24 V (common
 * practice, no source); a motor's own torque curve is better.
 *
 * Raising with acceleration a asks T(F)(1 + a/g) + J 2 pi a/l: the load weighs more by a/g, and
 * what turns has the inertia J.
 */
#ifndef REGLET_BENCH_CAPACITY_H
#define REGLET_BENCH_CAPACITY_H

#include <stdbool.h>

#include "clients/bench/power_screw.h"
#include "protocol/attributes.h"

#define CAPACITY_SHARE 0.35
#define CAPACITY_KNEE_RPM 600.0
#define CAPACITY_MARGIN 2.0
#define CAPACITY_G_M_S2 9.80665 /* NIST SP 811 */

struct capacity {
    struct power_screw screw;
    double holding_n_m;
    double share;         /* above 0 to 1 */
    double knee_rpm;      /* above 0 */
    double inertia_kg_m2; /* of rotor, coupling and screw; 0 or more */
    double margin;        /* 1 or more */
    double full_steps;    /* a turn */
    double rate_most_hz;  /* steps a second that the generator can make; 0: no limit */
    double microsteps;
};

struct capacity_answer {
    struct power_screw_torque torque;
    double running_n_m; /* up to the knee */
    double margin;      /* running over raising torque, at no acceleration */
    bool lifts;         /* that is 1 or more: it lifts at all */
    bool enough;        /* that is the margin asked for, or more */
    double stall_rpm;   /* where the motor has just the raising torque; 0: it never lifts */
    /* With the margin asked for. The acceleration takes half of what torque is over, and the speed
     * is the highest at which it can still be kept up; 0 both where not enough. */
    double speed_rpm;
    double speed_m_s;
    double acceleration_m_s2;
    bool rate_limited; /* the generator's rate, not torque, sets that speed */
    double rate_hz;    /* steps a second at that speed */
};

/* What the motor gives at a speed. */
double capacity_running_n_m(const struct capacity *in, double rpm);

/* What it is asked for when it raises with this acceleration. */
double capacity_asked_n_m(const struct capacity *in, const struct power_screw_torque *torque,
                          double acceleration_m_s2);

/* False: as for power_screw_torque, or a figure of the motor that is none. */
REGLET_MUST_CHECK bool capacity_work_out(const struct capacity *in, struct capacity_answer *out);

#endif
