/* SPDX-License-Identifier: MIT */
/*
 * What a pattern of errors suggests (facts of the trade: common practice, no source). A stepper
 * that slips loses whole electrical cycles: multiples of four full steps. Pure.
 */
#ifndef REGLET_BENCH_CAUSE_H
#define REGLET_BENCH_CAUSE_H

#include <stddef.h>
#include <stdint.h>

#include "clients/bench/gauge.h"

enum cause {
    CAUSE_NOTHING = 0, /* within the tolerance */
    CAUSE_SLIP,        /* a multiple of four full steps */
    CAUSE_NOISE,       /* any other number: electrical noise, or a loose coupling */
    CAUSE_EITHER,      /* four full steps are no more than twice the tolerance: it cannot be told */
    CAUSE_LASH,        /* constant on reversal */
    CAUSE_SCALE,       /* in proportion to travel */
    CAUSE_SCREW,       /* repeats each turn */
};

enum { CAUSES_MAX = 3 };

/* "An error that is a multiple of four full steps suggests that the motor slipped." */
const char *cause_words(enum cause cause);

/* Of the error at the end of one move. A full step is full_step_num_nm/full_step_den, above 0. With
 * CAUSE_SLIP *full_steps is how many were lost, with its sign; else 0. */
enum cause cause_of_error(int64_t error_nm, int64_t full_step_num_nm, int64_t full_step_den,
                          int64_t tolerance_nm, int64_t *full_steps);

/* Of what was gauged over `span_nm` of travel, the largest first: each that makes more than the
 * tolerance and more than three times its own uncertainty. Returns how many. */
size_t cause_of_fit(const struct gauge_fit *fit, double span_nm, double tolerance_nm,
                    enum cause out[CAUSES_MAX]);

#endif
