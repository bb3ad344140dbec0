/* SPDX-License-Identifier: MIT */
/*
 * Torques, loads and inertias as they stand on motors and scales: a decimal number and a unit,
 * "425ozf-in", "3 Nm", "10kg". Into SI units. Pure; points only, whatever the locale.
 *
 * Factors: NIST SP 811. A load given as a mass weighs 9.80665 m/s2 times that.
 */
#ifndef REGLET_BENCH_QUANTITY_H
#define REGLET_BENCH_QUANTITY_H

#include <stdbool.h>

#include "protocol/attributes.h"

enum quantity_kind {
    QUANTITY_NUMBER = 1, /* no unit */
    QUANTITY_TORQUE,     /* N m: Nm, Ncm, ozf-in, lbf-in, kgf-cm; - . * and blanks are one */
    QUANTITY_LOAD,       /* N: N, kg, lb, and kgf, lbf */
    QUANTITY_INERTIA,    /* kg m2: kg-m2, kg-cm2, g-cm2, oz-in2 */
};

#define QUANTITY_N_M_PER_OZF_IN 0.00706155181422604

/* Above 0, or 0 as well with `zero`. False: `text` is none of that kind; quantity_units says which
 * units would do. */
REGLET_MUST_CHECK bool quantity_read(const char *text, enum quantity_kind kind, bool zero,
                                     double *value);

const char *quantity_units(enum quantity_kind kind);

#endif
