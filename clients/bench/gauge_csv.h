/* SPDX-License-Identifier: MIT */
/*
 * Readings as a table of text, a reading a line, to be kept, looked at and read again:
 *
 *     target,side,run,reading
 *     -72.1mm,up,1,-72.102mm
 *
 * Targets are positions of the lift. Any order; blank lines and lines that begin with # are left
 * out, and so is the heading. A number without a unit is in the unit that is named. Pure.
 */
#ifndef REGLET_BENCH_GAUGE_CSV_H
#define REGLET_BENCH_GAUGE_CSV_H

#include <stdbool.h>
#include <stddef.h>

#include "clients/bench/gauge.h"
#include "protocol/attributes.h"
#include "protocol/length.h"

enum { GAUGE_CSV_SIZE = 65536, GAUGE_CSV_WHY = 200 };

/* Each target has the same runs, each of both sides, from 1 on. After false `why` names line and
 * cause, as a clause. */
REGLET_MUST_CHECK bool gauge_csv_read(const char *text, enum length_bare bare,
                                      struct gauge_readings *out, char why[GAUGE_CSV_WHY]);

/* The text's length, NUL-terminated; 0 where it does not fit (GAUGE_CSV_SIZE is enough). */
size_t gauge_csv_write(const struct gauge_readings *readings, char *out, size_t size);

#endif
