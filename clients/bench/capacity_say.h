/* SPDX-License-Identifier: MIT */
/* What capacity_work_out found, in sentences, and what they rest on. No I/O. */
#ifndef REGLET_BENCH_CAPACITY_SAY_H
#define REGLET_BENCH_CAPACITY_SAY_H

#include "clients/bench/capacity.h"
#include "clients/bench/screw_thread.h"
#include "clients/common/say.h"

/* The thread, and what a step and 1/64 in are; without a motor as well. */
void capacity_say_screw(struct say *say, const struct screw_thread *thread, int full_steps,
                        int microsteps, enum length_style style);

/* Torques, and whether the load stays where it is with the motor off. */
void capacity_say_torque(struct say *say, const struct capacity *in,
                         const struct power_screw_torque *torque);

/* Whether the motor raises it, and speed and acceleration to configure. */
void capacity_say_motor(struct say *say, const struct capacity *in,
                        const struct capacity_answer *answer, enum length_style style);

/* That it is advice. */
void capacity_say_advice(struct say *say);

/* "holds", "just", "doubtful", "runs down" */
const char *capacity_hold_name(enum power_screw_hold hold);

#endif
