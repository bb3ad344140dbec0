/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "tests/rig/board_avr_parts.h"

enum {
    RETI = 0x9518,
    SEI = 0x9478,
    OUT_MASK = 0xfe0f, /* all but the register that is written */
    OUT_SPH = 0xbe0e,
    OUT_SPL = 0xbe0d,
};

static void note_edge(struct board *b, const struct frame *f, uint64_t own)
{
    struct board_avr_figures *s = &b->figures;
    struct board_avr_handler *h = f->handler < 0 ? &s->other : &s->handler[f->handler];
    s->in_edges += own;
    h->count++;
    uint64_t done = b->avr->cycle - f->match;
    if (f->match != BOARD_AVR_NEVER && done > h->done_worst) {
        h->done_worst = (uint32_t)done;
    }
    if (own > h->worst) {
        h->worst = (uint32_t)own;
        h->worst_at = f->start;
    }
}

static void leave(struct board *b)
{
    if (b->frames == 0) {
        return;
    }
    const struct frame *f = &b->frame[--b->frames];
    uint64_t all = b->avr->cycle - f->start;
    if (f->vector == VECTOR_TIMER1_COMPA && !f->open) {
        note_edge(b, f, all - f->inner);
    }
    if (b->frames > 0) {
        b->frame[b->frames - 1].inner += all;
    } else {
        b->figures.in_interrupts += all;
    }
}

static void note_place(struct board *b, uint32_t pc)
{
    if (b->frames == 0 || b->frame[b->frames - 1].vector != VECTOR_TIMER1_COMPA) {
        return;
    }
    struct frame *f = &b->frame[b->frames - 1];
    for (size_t i = 0; i < b->handlers; i++) {
        if (pc == b->handler_at[i] && (int)i > f->handler) {
            f->handler = (int)i;
        }
    }
}

/* The stack pointer is written in two halves, with interrupts shut. */
static void note_stack(struct board *b, uint16_t opcode)
{
    if ((opcode & OUT_MASK) == OUT_SPH) {
        b->torn = true;
    } else if ((opcode & OUT_MASK) == OUT_SPL) {
        b->torn = false;
    }
    const uint8_t *data = b->avr->data;
    uint16_t stack = (uint16_t)(data[AT_SPL] | data[AT_SPL + 1] << 8);
    if (!b->torn && stack < b->figures.stack_low) {
        b->figures.stack_low = stack;
    }
}

static void note_pass(struct board *b, uint32_t pc, uint64_t cycles)
{
    if (pc == b->pass_at) {
        b->figures.idle += b->pass_cycles <= BOARD_AVR_IDLE_PASS ? b->pass_cycles : 0;
        b->pass_cycles = 0;
    }
    b->pass_cycles += b->frames == 0 ? cycles : 0;
}

void figures_ran(struct board *b, uint32_t pc, uint16_t opcode, uint64_t start)
{
    b->figures.cycles += b->avr->cycle - start;
    note_pass(b, pc, b->avr->cycle - start);
    note_place(b, pc);
    /* What follows may be interrupted, by the next edge too. */
    struct frame *top = b->frames > 0 ? &b->frame[b->frames - 1] : NULL;
    if (opcode == SEI && top && top->vector == VECTOR_TIMER1_COMPA && !top->open) {
        top->open = true;
        note_edge(b, top, b->avr->cycle - top->start - top->inner);
    }
    note_stack(b, opcode);
    if (opcode == RETI) {
        leave(b);
    }
}

void figures_entered(struct board *b, int vector, uint64_t start)
{
    if (b->frames == FRAMES) { /* so deep that the stack is gone already */
        b->figures.crashed = true;
        return;
    }
    struct frame *f = &b->frame[b->frames++];
    *f = (struct frame){.vector = vector, .handler = -1, .match = BOARD_AVR_NEVER, .start = start};
    b->figures.cycles += b->avr->cycle - start;
    if (vector != VECTOR_TIMER1_COMPA || b->edges.match == BOARD_AVR_NEVER) {
        return;
    }
    f->match = b->edges.match;
    uint64_t latency = b->avr->cycle - b->edges.match;
    b->edges.match = BOARD_AVR_NEVER;
    if (latency > b->figures.latency_worst) {
        b->figures.latency_worst = (uint32_t)latency;
    }
}

void board_avr_clear(struct board *b)
{
    struct board_avr_figures fresh = {
        .stack_low = BOARD_AVR_RAM_END,
        .high_min = UINT32_MAX,
        .low_min = UINT32_MAX,
        .setup_min = UINT32_MAX,
        .hold_min = UINT32_MAX,
        .other = {.name = "other"},
    };
    for (size_t i = 0; i < b->handlers; i++) {
        fresh.handler[i].name = b->figures.handler[i].name;
    }
    b->figures = fresh;
}

bool board_avr_handlers(struct board *b, const char *const *name, size_t names)
{
    b->handlers = 0;
    for (size_t i = 0; i < names && i < BOARD_AVR_HANDLERS; i++) {
        uint32_t size;
        if (!board_avr_symbol(b, name[i], &b->handler_at[i], &size)) {
            return false;
        }
        b->figures.handler[i].name = name[i];
        b->handlers = i + 1;
    }
    board_avr_clear(b);
    return names <= BOARD_AVR_HANDLERS;
}

const struct board_avr_figures *board_avr_figures(const struct board *b)
{
    return &b->figures;
}
