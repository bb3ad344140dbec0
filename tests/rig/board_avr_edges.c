/* SPDX-License-Identifier: MIT */
#include "contrib/stepgen/atmega328p/pins.h"
#include "tests/rig/board_avr_parts.h"

enum { COM_OFF = 0, COM_TOGGLE, COM_CLEAR, COM_SET, FOC1A = 1 << 7, COUNTS = 0x10000 };

static void note_least(uint32_t *least, uint64_t from, uint64_t to)
{
    if (from != BOARD_AVR_NEVER && to - from < *least) {
        *least = (uint32_t)(to - from);
    }
}

static void rise(struct board *b, uint64_t cycle)
{
    struct edges *e = &b->edges;
    note_least(&b->figures.low_min, e->fall, cycle);
    note_least(&b->figures.setup_min, e->turned, cycle);
    if (e->rested) {
        e->first_edge = cycle;
    }
    e->rested = false;
    e->rise = cycle;
    b->figures.rises++;
    b->count += e->down ? -1 : 1;
    b->events.edge(b->events.owner, cycle, e->down);
}

static void set_pin(struct board *b, uint64_t cycle)
{
    struct edges *e = &b->edges;
    const uint8_t *data = b->avr->data;
    bool driven = data[AT_DDRB] & 1 << PIN_STEP;
    bool high = driven && (e->mode != COM_OFF ? e->latch : data[AT_PORTB] & 1 << PIN_STEP);
    if (high == e->high) {
        return;
    }
    e->high = high;
    if (high) {
        rise(b, cycle);
    } else {
        note_least(&b->figures.high_min, e->rise, cycle);
        e->fall = cycle;
    }
}

static void drive(struct board *b, uint64_t cycle)
{
    struct edges *e = &b->edges;
    if (e->mode != COM_OFF) {
        e->latch = e->mode == COM_SET || (e->mode == COM_TOGGLE && !e->latch);
    }
    set_pin(b, cycle);
}

static uint64_t next_match(const struct board *b)
{
    const struct edges *e = &b->edges;
    if (b->timer->tov_cycles != COUNTS || b->timer->wgm_op_mode_kind != avr_timer_wgm_normal) {
        return BOARD_AVR_NEVER;
    }
    uint16_t count = (uint16_t)(e->seen - b->timer->tov_base);
    return e->seen + (uint16_t)(e->armed - count);
}

static void meet(struct board *b, uint64_t cycle)
{
    avr_int_vector_t *vector = &b->timer->comp[AVR_TIMER_COMPA].interrupt;
    drive(b, cycle);
    if (b->avr->data[AT_TIMSK1] & TIMSK1_OCIE1A && !vector->pending) {
        b->edges.match = cycle;
    }
    avr_raise_interrupt(b->avr, vector);
}

static void turn(struct board *b)
{
    struct edges *e = &b->edges;
    bool down = b->avr->data[AT_PORTB] & 1 << PIN_DIRECTION;
    if (down != e->down) {
        e->down = down;
        e->turned = b->avr->cycle;
        note_least(&b->figures.hold_min, e->rise, e->turned);
    }
}

void edges_follow(struct board *b)
{
    struct edges *e = &b->edges;
    uint8_t *data = b->avr->data;
    uint64_t match;
    while ((match = next_match(b)) < b->avr->cycle) {
        meet(b, match);
        e->seen = match + 1;
    }
    e->seen = b->avr->cycle;
    e->armed = e->written;
    e->mode = data[AT_TCCR1A] >> 6;
    turn(b);
    if (data[AT_TCCR1C] & FOC1A) { /* a strobe: it reads as 0, and raises no flag */
        data[AT_TCCR1C] = 0;
        drive(b, b->avr->cycle);
    }
    set_pin(b, b->avr->cycle);
    if (!(data[AT_TIMSK1] & TIMSK1_OCIE1A)) {
        e->rested = true;
    }
}

uint64_t edges_due(const struct board *b)
{
    uint64_t match = next_match(b);
    return match == BOARD_AVR_NEVER ? match : match + 1;
}

/* simavr puts the low byte into its place after this; what counts is both, from then on. */
static void on_write(struct avr_t *avr, avr_io_addr_t address, uint8_t value, void *owner)
{
    struct board *b = owner;
    b->edges.written = (uint16_t)(avr->data[address + 1] << 8 | value);
}

void edges_open(struct board *b)
{
    b->timer->comp[AVR_TIMER_COMPA].r_ocr = 0; /* simavr arms none that has no register */
    avr_register_io_write(b->avr, AT_OCR1AL, on_write, b);
}

void edges_reset(struct board *b)
{
    uint64_t first_edge = b->edges.first_edge;
    b->edges = (struct edges){
        .seen = b->avr->cycle,
        .rested = true,
        .rise = BOARD_AVR_NEVER,
        .fall = BOARD_AVR_NEVER,
        .turned = BOARD_AVR_NEVER,
        .match = BOARD_AVR_NEVER,
        .first_edge = first_edge,
    };
}
