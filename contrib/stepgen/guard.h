/* SPDX-License-Identifier: MIT */
/*
 * A few statements that no interrupt may divide. Off the microcontroller one context runs the
 * core, and there is nothing to guard against. Guards nest, and are short: while the motor moves,
 * one delays the next edge's interrupt by its own length.
 *
 * One bit belongs to the guarded: that the next edge may take the short way. The microcontroller
 * keeps it where an instruction tests it without a register.
 */
#ifndef REGLET_CONTRIB_STEPGEN_GUARD_H
#define REGLET_CONTRIB_STEPGEN_GUARD_H

#include <stdint.h>

#ifdef __AVR__
#include <avr/interrupt.h>
#include <avr/io.h>

static inline uint8_t guard_enter(void)
{
    uint8_t before = SREG;
    cli();
    return before;
}

static inline void guard_leave(uint8_t before)
{
    __asm__ volatile("" ::: "memory");
    SREG = before;
}

#define EDGE_PLAIN_BIT 0 /* of GPIOR0 */

/* Inside a guard: the next edge must not take the short way. */
static inline void guard_edge_not_plain(void)
{
    GPIOR0 &= (uint8_t) ~(1 << EDGE_PLAIN_BIT);
}
#else
static inline uint8_t guard_enter(void)
{
    return 0;
}

static inline void guard_leave(uint8_t before)
{
    (void)before;
}

static inline void guard_edge_not_plain(void) {}
#endif

#endif
