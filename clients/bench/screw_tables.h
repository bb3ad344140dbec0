/* SPDX-License-Identifier: MIT */
/* Which pitches go with which diameters. For screw_thread.c alone. */
#ifndef REGLET_BENCH_SCREW_TABLES_H
#define REGLET_BENCH_SCREW_TABLES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The first pitch of a metric diameter, coarse (ISO 261), in nanometres; 0: none. */
int64_t screw_metric_coarse(int64_t major_nm);
bool screw_metric_has(int64_t major_nm, int64_t pitch_nm);
bool screw_trapezoidal_has(int64_t major_nm, int64_t pitch_nm);

/* Threads an inch; 0: none. A unified diameter has a coarse and a fine number. */
int screw_acme_threads(int64_t major_nm);
int screw_unified_threads(int64_t major_nm, bool fine);

#endif
