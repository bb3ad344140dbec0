/* SPDX-License-Identifier: MIT */
#include "tests/rig/board_avr_parts.h"

enum { BITS = 10, U2X = 1 << 1, WAY_THROUGH = 2, FIFO_MASK = uart_fifo_fifo_size - 1 };

/* simavr's own pumps must not come. */
#define FAR_OFF ((avr_cycle_count_t)1 << 50)

static uint64_t byte_cycles(const struct board *b)
{
    const uint8_t *data = b->avr->data;
    uint32_t divisor = data[AT_UBRR0L] | (uint32_t)data[AT_UBRR0L + 1] << 8;
    return (uint64_t)BITS * (data[AT_UCSR0A] & U2X ? 8 : 16) * (divisor + 1);
}

/* The firmware has written a byte. (The shift register starts at the next beat of the baud rate's
 * clock, an eighth of a bit away at most; that is left out.) */
static void on_output(struct avr_irq_t *irq, uint32_t value, void *owner)
{
    struct board *b = owner;
    struct serial *s = &b->serial;
    uint64_t now = b->avr->cycle;
    (void)irq;
    s->uart->tx_cnt = 0;
    s->uart->cycles_per_byte = FAR_OFF;
    if (now < s->room) {
        b->figures.overwritten++; /* the register does not take it */
        return;
    }
    uint64_t start = s->shift_free > now ? s->shift_free : now;
    s->room = start > now ? start : now + WAY_THROUGH;
    s->shift_free = start + byte_cycles(b);
    s->sending = true;
    b->events.byte(b->events.owner, s->shift_free, (uint8_t)value);
}

static unsigned waiting(const struct serial *s)
{
    return (unsigned)(s->uart->input.write - s->uart->input.read) & FIFO_MASK;
}

void board_byte(struct board *b, uint8_t byte)
{
    struct serial *s = &b->serial;
    if (!b->powered) {
        return;
    }
    b->due = 0;
    b->figures.heard++;
    if (waiting(s) >= RECEIVER_ROOM) {
        b->figures.overruns++;
        return;
    }
    s->came[s->uart->input.write % (RECEIVER_ROOM + 1)] = b->avr->cycle;
    s->uart->cycles_per_byte = FAR_OFF;
    avr_raise_irq(s->uart->io.irq + UART_IRQ_INPUT, byte);
    serial_follow(b);
}

void serial_follow(struct board *b)
{
    struct serial *s = &b->serial;
    uint64_t now = b->avr->cycle;
    while (s->read_at != s->uart->input.read) {
        uint64_t waited = now - s->came[s->read_at % (RECEIVER_ROOM + 1)];
        s->read_at = (uint16_t)(s->read_at + 1) & FIFO_MASK;
        if (waited > b->figures.waited_most) {
            b->figures.waited_most = (uint32_t)waited;
        }
    }
    board_avr_level(b, &s->uart->rxc, waiting(s) > 0);
    board_avr_level(b, &s->uart->udrc, now >= s->room);
    if (s->sending && now >= s->shift_free) {
        s->sending = false;
        avr_raise_interrupt(b->avr, &s->uart->txc);
    }
}

uint64_t serial_due(const struct board *b)
{
    const struct serial *s = &b->serial;
    if (b->avr->cycle < s->room) {
        return s->room;
    }
    return s->sending ? s->shift_free : BOARD_AVR_NEVER;
}

void serial_open(struct board *b)
{
    uint32_t flags = 0; /* no echo, no sleeping while it is polled */
    avr_ioctl(b->avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(b->serial.uart->io.irq + UART_IRQ_OUTPUT, on_output, b);
}

void serial_reset(struct board *b)
{
    struct serial *s = &b->serial;
    s->shift_free = s->room = b->avr->cycle;
    s->sending = false;
    s->read_at = s->uart->input.read;
}
