/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/atmega328p/edge.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "contrib/stepgen/atmega328p/pins.h"
#include "contrib/stepgen/guard.h"

enum {
    RISE = 1 << COM1A1 | 1 << COM1A0, /* the next match raises the pin */
    FALL = 1 << COM1A1,               /* the next match lowers it */
    /* From rise to fall, in ticks: 8.75 us. An interrupt asks for the fall some 80 ticks after it
     * is entered, so it may be entered 50 ticks late; what is left of the smallest interval is
     * still 7 us. */
    PULSE_TICKS = 140,
    LONG_TICKS = 0x8000, /* an interval beyond 16 bits is waited for in pieces of this */
    REPAIR_TICKS = 24,   /* from reading the timer to a match that is sure to be met */
    LEAVE_TICKS = 150,   /* from there to the long way's end, and to be in time for the next edge */
};

/* Ticks between the armed match and the edge behind it. */
static uint32_t wait_ticks;

/* The edge at `edge` has just been made: have the pin fall. */
GENERATOR_HOT uint16_t edge_made(void)
{
    uint16_t edge = OCR1A;
    TCCR1A = FALL;
    OCR1A = edge + PULSE_TICKS;
    return edge;
}

/* Until the pin has fallen. Had this interrupt been entered so late that the tick of the fall was
 * past when it was asked for, the pin would stay high, and the next edge be none: it is lowered
 * now. */
GENERATOR_HOT void await_fall(uint16_t edge)
{
    while ((uint16_t)(TCNT1 - edge) <= PULSE_TICKS) {
    }
    if (!(TIFR1 & 1 << OCF1A)) {
        TCCR1C = 1 << FOC1A;
    }
}

/* Arms the rise `ticks` after `edge`. When it has gone by before it could be armed it is made up
 * for at once, and counted. */
GENERATOR_HOT void arm(uint16_t edge, uint16_t ticks)
{
    await_fall(edge);
    TCCR1A = RISE;
    TIFR1 = 1 << OCF1A; /* the fall's; from here on it can only be the new one's */
    OCR1A = edge + ticks;
    if ((uint16_t)(TCNT1 - edge) >= ticks && !(TIFR1 & 1 << OCF1A)) {
        OCR1A = TCNT1 + REPAIR_TICKS;
        the_generator.late++;
    }
}

/* The same of any interval, on the long way: the edge is put off rather than that the interrupt
 * which follows it should be entered so late that the pin does not fall. */
static void arm_any(uint16_t edge, uint32_t ticks)
{
    uint8_t what = RISE;
    if (ticks > UINT16_MAX) {
        wait_ticks = ticks - LONG_TICKS;
        ticks = LONG_TICKS;
        what = FALL;
    }
    uint16_t least = TCNT1 - edge + LEAVE_TICKS;
    if ((uint16_t)ticks < least) {
        ticks = least;
        the_generator.late++;
    }
    TCCR1A = what;
    TIFR1 = 1 << OCF1A;
    OCR1A = edge + (uint16_t)ticks;
}

/* Which way the next edge takes, inside a guard or an interrupt. */
static void set_way(void)
{
    const struct generator *g = &the_generator;
    uint8_t way = 0;
    if (g->state == LINK_STATE_RUNNING) {
        if (generator_edge_loads(g)) {
            way |= 1 << EDGE_LOAD_BIT;
        }
        if (generator_edge_is_plain(g)) {
            way |= 1 << EDGE_PLAIN_BIT;
        }
    }
    GPIOR0 = way;
}

/* No way may push what another needs: each is an interrupt of its own. */
ISR(TIMER1_COMPA_vect, ISR_NAKED)
{
    __asm__ volatile("sbic %0, %1\n\t"
                     "rjmp __vector_plain\n\t"
                     "jmp __vector_other"
                     :
                     : "I"(_SFR_IO_ADDR(GPIOR0)), "I"(EDGE_PLAIN_BIT));
}

/* Inside a stride. */
void __vector_plain(void) __attribute__((signal, used, externally_visible, optimize("O2")));
void __vector_plain(void)
{
    uint16_t edge = edge_made();
    uint16_t ticks = generator_edge_plain(&the_generator);
    arm(edge, ticks);
}

/* From one fast stride to the next. The label is for whoever measures. */
GENERATOR_HOT void load(void)
{
    __asm__ volatile(".global edge_loads\nedge_loads:");
    uint16_t edge = edge_made();
    uint16_t ticks = generator_edge_load(&the_generator);
    if (!generator_edge_loads(&the_generator)) {
        GPIOR0 &= (uint8_t) ~(1 << EDGE_LOAD_BIT);
    }
    arm(edge, ticks);
}

/* All else: slow strides, the brake, a queue run empty, the end. */
void __vector_other(void) __attribute__((signal, used, externally_visible));
void __vector_other(void)
{
    if (GPIOR0 & 1 << EDGE_LOAD_BIT) {
        load();
        return;
    }
    if (wait_ticks > 0) {
        uint32_t ticks = wait_ticks;
        wait_ticks = 0;
        arm_any(OCR1A, ticks);
        return;
    }
    uint16_t edge = edge_made();
    if ((uint16_t)(TCNT1 - edge) >= PULSE_TICKS) {
        TCCR1C = 1 << FOC1A; /* the end of a brake's step before this one took so long */
    }
    uint32_t ticks = generator_edge_now(&the_generator);
    if (ticks == 0) {
        TIMSK1 = 0;
        return;
    }
    await_fall(edge);
    arm_any(edge, ticks);
    set_way();
    static bool later;
    if (the_generator.state == LINK_STATE_BRAKING && !later) {
        later = true;
        sei(); /* the next edges come meanwhile */
        generator_edge_later(&the_generator);
        cli(); /* and none that does the same on top of this one's stack */
        later = false;
    }
}

void edge_init(void)
{
    DDRB |= 1 << PIN_STEP | 1 << PIN_DIRECTION;
    TCCR1A = FALL;
    TCCR1B = 1 << CS10;
}

static void start(void)
{
    if (the_generator.down) {
        PORTB |= 1 << PIN_DIRECTION;
    } else {
        PORTB &= (uint8_t) ~(1 << PIN_DIRECTION);
    }
    EIMSK &= (uint8_t) ~(1 << INT1); /* the scale has to wait */
    wait_ticks = 0;
    uint16_t now = TCNT1;
    OCR1A = now; /* the match that is still set must not come between */
    arm_any(now, the_generator.interval);
    TIMSK1 = 1 << OCIE1A;
}

void edge_start(void)
{
    static uint8_t tail;
    if (!the_generator.starting && tail == the_generator.tail) {
        return;
    }
    tail = the_generator.tail;
    uint8_t guard = guard_enter(); /* what is begun is at rest: a long one delays no edge */
    if (generator_start(&the_generator)) {
        start();
    }
    set_way();
    guard_leave(guard);
}
