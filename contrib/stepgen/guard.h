/* SPDX-License-Identifier: MIT */
/*
 * A few statements that no interrupt may divide. Off the microcontroller one context runs the
 * core, and there is nothing to guard against. Guards nest, and are short: while the motor moves,
 * one delays the next edge's interrupt by its own length.
 *
 * Two bits belong to the guarded: which way the next edge may take (core.h). The microcontroller
 * keeps them where an instruction tests one without a register.
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

/* Of GPIOR0. */
#define EDGE_PLAIN_BIT 0
#define EDGE_LOAD_BIT 1

/* Inside a guard: the next edge must take the long way. */
static inline void guard_edge_long_way(void)
{
    GPIOR0 = 0;
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

static inline void guard_edge_long_way(void) {}
#endif

#endif
