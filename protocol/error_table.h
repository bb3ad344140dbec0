/* SPDX-License-Identifier: MIT */
/*
 * What a screw does beside its lead, as a table of the lift's position: piecewise linear, whole
 * nanometres, exact rationals in between. Pure. The daemon goes by one; a client that gauges the
 * screw makes one.
 *
 *     true = said + error(said)
 *
 * Beyond the ends the end's error holds; without points it is the identity. The slope of true over
 * said stays within 1 +- 1/20, so that both ways are single-valued.
 */
#ifndef REGLET_PROTOCOL_ERROR_TABLE_H
#define REGLET_PROTOCOL_ERROR_TABLE_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol/attributes.h"

enum { ERROR_TABLE_MAX = 1024, ERROR_TABLE_SLOPE = 20 /* one in so many */ };

struct error_table {
    int count;
    int64_t said_nm[ERROR_TABLE_MAX]; /* ascending, within 10 m */
    int64_t error_nm[ERROR_TABLE_MAX];
};

REGLET_MUST_CHECK bool error_table_valid(const struct error_table *table);

/* Puts `count` points (0, or 2 and up) at equal distances from the one place to the other, each to
 * the nearest nanometre; their errors stay as they are. False where they would not ascend. */
REGLET_MUST_CHECK bool error_table_space(struct error_table *table, int64_t from_nm, int64_t to_nm,
                                         int count);

/* Nearest nanometre, ties away from zero. For a valid table and positions within 20 m. */
int64_t error_table_true_nm(const struct error_table *table, int64_t said_nm);

/* The inverse: the said position whose true one is nearest. There and back is exact to a
 * nanometre, which is far below a step. */
int64_t error_table_said_nm(const struct error_table *table, int64_t true_nm);

#endif
