/* SPDX-License-Identifier: MIT */
/* The parts of reglet gauge: leading the lift through its targets, and telling what was found. */
#ifndef REGLET_CLIENTS_GAUGE_H
#define REGLET_CLIENTS_GAUGE_H

#include "clients/bench/gauge_result.h"
#include "clients/reglet/run.h"
#include "protocol/attributes.h"

/* Leads through the targets of *readings (positions, ascending), up and down for each run, and
 * takes a reading at each: from the lift's readout, or typed at the terminal. Over the connection
 * that there is; the operator has said that all is clear. Else what happened was told. */
REGLET_MUST_CHECK enum client_exit gauge_lead(struct run *run, bool by_readout,
                                              struct gauge_readings *readings);

/* The report, in words or with --json in one line. */
REGLET_MUST_CHECK enum client_exit gauge_tell(const struct run *run, const struct gauge_lift *lift,
                                              const struct gauge_result *result);

/* The params of `calibrate` that set what is proposed; NULL when memory is short. */
REGLET_MUST_CHECK cJSON *gauge_proposal(const struct gauge_result *result);

#endif
