/* SPDX-License-Identifier: MIT */
/*
 * Which pin does what. WIRING.md beside this file says how they are wired; the co-simulation of
 * the tests reads this file too, so it holds nothing but numbers.
 *
 * Port letters and bits are the microcontroller's; the numbers that many boards print beside
 * their holes stand in WIRING.md.
 */
#ifndef REGLET_CONTRIB_STEPGEN_PINS_H
#define REGLET_CONTRIB_STEPGEN_PINS_H

enum {
    /* Port B: to the motor driver. The step pin is the timer's own compare output, OC1A. */
    PIN_DIRECTION = 0, /* high: down */
    PIN_STEP = 1,      /* a rising edge is a step */
    PIN_ENABLE = 2,    /* low: the motor is energised */

    /* Port C: inputs, each with a pull-up. */
    PIN_TOP_SWITCH = 0,
    PIN_BOTTOM_SWITCH = 1,
    PIN_TOUCH_PLATE = 2,
    PIN_ROUTER = 3,
    PIN_CARRIAGE_LOCK = 4,
    PIN_MOTOR_SUPPLY = 5,

    /* Port D. 0 and 1 are the serial line. */
    PIN_STOP_CIRCUIT = 2, /* INT0, so that it is acted on at once */
    PIN_SCALE_CLOCK = 3,  /* INT1 */
    PIN_SCALE_DATA = 4,
    PIN_OUTPUT_1 = 5,
    PIN_OUTPUT_2 = 6,
};

#endif
