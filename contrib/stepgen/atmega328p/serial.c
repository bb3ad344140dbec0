/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/atmega328p/serial.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "contrib/stepgen/atmega328p/edge.h"

#ifndef SERIAL_DIVISOR
#define SERIAL_DIVISOR 16 /* 115 200 baud; 7 is 250 000. LINK.md section 1 has the table */
#endif

enum {
    ROOM = 64, /* a power of two; the daemon is never further ahead of the wire */
    QUIET = 1 << RXEN0 | 1 << TXEN0,
    HEARING = QUIET | 1 << RXCIE0,
};

static volatile uint8_t came[ROOM];
static volatile uint8_t put_at; /* the interrupt's */
static uint8_t take_at;

/* Edges may interrupt at once: nothing but this one's own repetition has to wait. */
ISR(USART_RX_vect, ISR_NAKED)
{
    __asm__ volatile("push r24\n\t"
                     "ldi r24, %0\n\t"
                     "sts %1, r24\n\t"
                     "pop r24\n\t"
                     "sei\n\t"
                     "jmp __vector_byte"
                     :
                     : "M"(QUIET), "n"(_SFR_MEM_ADDR(UCSR0B)));
}

void __vector_byte(void) __attribute__((signal, used, externally_visible));
void __vector_byte(void)
{
    uint8_t byte = UDR0;
    uint8_t at = put_at;
    uint8_t next = (uint8_t)(at + 1) % ROOM;
    came[at] = byte;
    if (next != take_at) {
        put_at = next; /* a byte too many spoils its line, and the next poll finds the gap */
    }
    if (byte == LINK_BRAKE_BYTE) {
        generator_brake(&the_generator, LINK_WHY_BYTE);
    }
    UCSR0B = HEARING;
}

void serial_init(void)
{
    UBRR0L = SERIAL_DIVISOR;
    UCSR0A = 1 << U2X0; /* 8 bits, no parity, 1 stop bit after a reset */
    UCSR0B = HEARING;
}

int serial_take(void)
{
    uint8_t at = take_at;
    if (at == put_at) {
        return -1;
    }
    uint8_t byte = came[at];
    take_at = (uint8_t)(at + 1) % ROOM;
    return byte;
}

bool serial_may_send(void)
{
    return UCSR0A & 1 << UDRE0;
}

void serial_send(uint8_t byte)
{
    UDR0 = byte;
}
