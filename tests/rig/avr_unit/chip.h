/* SPDX-License-Identifier: MIT */
/*
 * What a unit test has to say so that the same file runs on the host and, compiled by avr-gcc, on a
 * simulated ATmega328P (tests/rig/test_avr_unit.c). There an int has 16 bits, data memory is 2 KB,
 * and each instruction is simulated.
 */
#ifndef REGLET_TESTS_RIG_AVR_UNIT_CHIP_H
#define REGLET_TESTS_RIG_AVR_UNIT_CHIP_H

#include <stdint.h>

#ifdef __AVR__
#define IN_FLASH __flash
enum { SPARSE = 101 }; /* a prime, so that it falls in step with nothing */
#else
#define IN_FLASH /* goes with const: a table too large for the microcontroller's data memory */
enum { SPARSE = 1 }; /* of what is gone through one by one, each SPARSEth is looked at */
#endif

/* How many of `count` random trials are made: all, or on the microcontroller one in SPARSE and at
 * least one. */
#define TRIALS(count) (((count) + SPARSE - INT32_C(1)) / SPARSE)

#endif
