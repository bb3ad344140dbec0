/* SPDX-License-Identifier: MIT */
/* avr-gcc's long double is its double, of 32 bits; avr-libc has no names for it. */
#ifndef REGLET_TESTS_RIG_AVR_UNIT_MATH_H
#define REGLET_TESTS_RIG_AVR_UNIT_MATH_H

#include_next <math.h>

#define ceill ceil
#define fabsl fabs
#define fmaxl fmax
#define ldexpl ldexp
#define powl pow
#define sqrtl sqrt

#endif
