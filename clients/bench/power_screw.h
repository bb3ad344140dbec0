/* SPDX-License-Identifier: MIT */
/*
 * What a power screw asks of its motor. Shigley, Mechanical Engineering Design, 9th ed., section
 * 8-2; SI units, double. Pure.
 *
 * Mean diameter dm, lead l, friction f of the thread, half thread angle a, load F, collar of
 * friction fc at diameter dc:
 *
 *     raise  T = (F dm/2) (l + pi f dm sec a)/(pi dm - f l sec a) + F fc dc/2
 *     lower  T = (F dm/2) (pi f dm sec a - l)/(pi dm + f l sec a) + F fc dc/2
 *     efficiency e = F l/(2 pi T)
 *     self-locking, by the thread alone, where f > tan(lead angle) cos a
 */
#ifndef REGLET_BENCH_POWER_SCREW_H
#define REGLET_BENCH_POWER_SCREW_H

#include <stdbool.h>

#include "protocol/attributes.h"

struct power_screw {
    double mean_m;         /* dm */
    double lead_m;         /* l */
    double half_angle_deg; /* square 0, Acme 14.5, trapezoidal 15, metric and unified 30 */
    double friction;       /* f */
    double collar_friction;
    double collar_m; /* mean diameter of the collar or bearing; 0: none */
    double load_n;
};

/* Whether the load stays where it is with the motor off. Vibration lowers friction, so that a
 * thread is called self-locking only with a margin: 1.3 to 1.5 (common practice, no source). */
enum power_screw_hold {
    POWER_SCREW_HOLDS = 1, /* margin 1.5 or more */
    POWER_SCREW_JUST,      /* 1.3 to 1.5 */
    POWER_SCREW_DOUBTFUL,  /* 1 to 1.3: holds at rest, and may creep when shaken */
    POWER_SCREW_RUNS_DOWN, /* the thread alone runs down; the collar's friction may yet hold it */
};

struct power_screw_torque {
    double raise_thread_n_m;
    double lower_thread_n_m; /* below 0: the load drives the screw */
    double collar_n_m;
    double raise_n_m; /* with the collar */
    double lower_n_m;
    double efficiency;    /* raising, with the collar */
    double hold_friction; /* the friction at which the thread just holds */
    double hold_margin;   /* friction over that */
    enum power_screw_hold hold;
};

/* False: a size or a load is not above 0, a friction below 0, an angle outside 0 to 45 degrees, or
 * friction so large that the nut jams and no torque raises it. */
REGLET_MUST_CHECK bool power_screw_torque(const struct power_screw *screw,
                                          struct power_screw_torque *out);

#endif
