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

/* Has the members behind a pointer reached from it, which is shorter than by their own addresses.
 */
#define KEEP_POINTER(pointer) __asm__("" : "+b"(pointer))

/* A long number in given registers, those that a function may use up: to save others costs time,
 * which inside a guard is dear. */
#define LONG_IN(name, place) register uint32_t name __asm__(place)
#define KEEP_LONG(name) __asm__("" : "+r"(name))

__attribute__((always_inline)) static inline uint8_t guard_enter(void)
{
    uint8_t before = SREG;
    cli();
    return before;
}

__attribute__((always_inline)) static inline void guard_leave(uint8_t before)
{
    __asm__ volatile("" ::: "memory");
    SREG = before;
}

/* Of GPIOR0. */
#define EDGE_PLAIN_BIT 0
#define EDGE_LOAD_BIT 1

/* Inside a guard: the next edge must take the long way. */
__attribute__((always_inline)) static inline void guard_edge_long_way(void)
{
    GPIOR0 = 0;
}

/* By the edge: the stride is at its last step, or has more. */
__attribute__((always_inline)) static inline void guard_stride_ends(void)
{
    GPIOR0 &= (uint8_t) ~(1 << EDGE_PLAIN_BIT);
}

__attribute__((always_inline)) static inline void guard_stride_goes_on(void)
{
    GPIOR0 |= 1 << EDGE_PLAIN_BIT;
}
#else
#define KEEP_POINTER(pointer) ((void)0)
#define LONG_IN(name, place) uint32_t name
#define KEEP_LONG(name) ((void)0)

__attribute__((always_inline)) static inline uint8_t guard_enter(void)
{
    return 0;
}

__attribute__((always_inline)) static inline void guard_leave(uint8_t before)
{
    (void)before;
}

__attribute__((always_inline)) static inline void guard_edge_long_way(void) {}
__attribute__((always_inline)) static inline void guard_stride_ends(void) {}
__attribute__((always_inline)) static inline void guard_stride_goes_on(void) {}
#endif

#endif
