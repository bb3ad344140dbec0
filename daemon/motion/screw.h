/* SPDX-License-Identifier: MIT */
/*
 * Between lift position in nanometres and the step count: exact rationals in 128-bit integers,
 * always from the absolute position, so that a million moves drift by nothing. Pure.
 *
 *     steps = position * steps_per_turn / lead,  lead = lead_num_nm / lead_den
 *
 * Twelve threads an inch is a lead of 25 400 000 / 12 nm, no whole number, and kept as the ratio.
 */
#ifndef REGLET_DAEMON_MOTION_SCREW_H
#define REGLET_DAEMON_MOTION_SCREW_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol/attributes.h"
#include "protocol/error_table.h"

struct screw {
    int64_t steps_per_turn; /* full steps times microsteps, 1 to 1 000 000 */
    int64_t lead_num_nm;    /* 1 to 1 000 000 000 */
    int64_t lead_den;       /* 1 to 1 000 000 */
};

/* Whether all three are within their ranges. The functions below ask for a valid screw. */
REGLET_MUST_CHECK bool screw_valid(const struct screw *screw);

/* Nearest step, ties away from zero. False when the result does not fit 32 bits; *steps is then
 * untouched. */
REGLET_MUST_CHECK bool screw_steps(const struct screw *screw, int64_t position_nm, int32_t *steps);

/*
 * Nearest nanometre, ties away from zero. Every count of 32 bits has one; beyond, what does not
 * fit 64 bits becomes the nearest number that does. Where a step is 1 nm or more, screw_steps
 * gives the same count back.
 */
int64_t screw_position_nm(const struct screw *screw, int64_t steps);

/*
 * The same two where the screw was gauged: the lead gives the said position, and the table
 * (protocol/error_table.h; valid, or NULL for none) makes it the true one. There and back gives the
 * same count where a step is 4 nm or more: three roundings and a slope of 1 +- 1/20 stay below half
 * of that. Positions over 20 m, which no lift has, are taken without the table.
 */
REGLET_MUST_CHECK bool screw_true_steps(const struct screw *screw, const struct error_table *table,
                                        int64_t position_nm, int32_t *steps);
int64_t screw_true_position_nm(const struct screw *screw, const struct error_table *table,
                               int64_t steps);

/* The lift travel of one step, in nanometres, rounded up: the resolution to compare against. */
int64_t screw_step_nm(const struct screw *screw);

#endif
