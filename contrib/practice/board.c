/* SPDX-License-Identifier: MIT */
/* The step generator's portable core, as the microcontroller runs it, on a virtual timer. */
#include "contrib/practice/board.h"

#include <stdlib.h>

#include "contrib/stepgen/core.h"

#define NEVER UINT64_MAX

struct board {
    struct generator generator;
    struct board_events events;
    uint64_t now;      /* ticks */
    uint64_t edge_due; /* NEVER while the motor is at rest */
    uint64_t millisecond_due;
    uint64_t line_free; /* when the transmitter can take a byte */
    uint64_t first_edge;
    uint16_t levels;
    bool scale_low; /* the clock of the scale */
    bool powered;
    bool stopped; /* by board_stop */
};

static void start(struct board *b, uint32_t id, uint32_t boot)
{
    b->generator = (struct generator){0};
    generator_init(&b->generator);
    b->generator.board = (struct generator_board){
        .id = id,
        .boot = boot,
        .tick_hz = BOARD_TICK_HZ,
        .inputs_present = (1u << LINK_INPUTS) - 1,
    };
    b->edge_due = NEVER;
    b->millisecond_due = b->now + BOARD_TICKS_PER_MS;
    b->powered = true;
}

struct board *board_open(uint32_t id, uint32_t boot, const struct board_events *events)
{
    struct board *b = calloc(1, sizeof *b);
    if (b) {
        b->events = *events;
        start(b, id, boot);
    }
    return b;
}

void board_close(struct board *b)
{
    free(b);
}

void board_reset(struct board *b)
{
    start(b, b->generator.board.id, b->generator.board.boot + 1);
}

void board_power(struct board *b, bool on)
{
    if (on) {
        board_reset(b);
    } else {
        b->powered = false;
        b->edge_due = NEVER;
        b->millisecond_due = NEVER;
    }
}

void board_byte(struct board *b, uint8_t byte)
{
    if (b->powered) {
        generator_byte(&b->generator, byte);
    }
}

void board_levels(struct board *b, uint16_t levels)
{
    b->levels = levels;
}

void board_scale(struct board *b, bool clock, bool data)
{
    bool rises = clock && b->scale_low;
    if (b->powered && rises && !generator_moving(&b->generator)) {
        generator_scale_bit(&b->generator, data);
    }
    b->scale_low = !clock;
}

void board_stop(struct board *b)
{
    b->stopped = true;
}

struct board_view board_look(const struct board *b)
{
    return (struct board_view){
        .id = b->generator.board.id,
        .boot = b->generator.board.boot,
        .count = generator_count(&b->generator),
        .moving = b->edge_due != NEVER,
        .energised = b->powered,
        .outputs = b->powered ? b->generator.outputs : 0,
        .first_edge = b->first_edge,
    };
}

static void make_edge(struct board *b)
{
    b->events.edge(b->events.owner, b->now, b->generator.down);
    uint32_t ticks = generator_edge(&b->generator);
    b->edge_due = ticks > 0 ? b->now + ticks : NEVER;
}

static void settle(struct board *b)
{
    if (generator_start(&b->generator)) {
        b->edge_due = b->now + b->generator.interval;
        b->first_edge = b->edge_due;
    }
    /* The transmitter takes its next byte when the line has sent the one before. */
    int byte;
    if (b->powered && b->line_free <= b->now && (byte = generator_send(&b->generator)) >= 0) {
        b->line_free = b->now + BOARD_BYTE_TICKS;
        b->events.byte(b->events.owner, b->line_free, (uint8_t)byte);
    }
}

/* When the transmitter is next free to take a byte, if it has any to take. */
static uint64_t send_due(const struct board *b)
{
    return b->powered && generator_has_news(&b->generator) ? b->line_free : NEVER;
}

static uint64_t earlier(uint64_t a, uint64_t b)
{
    return a < b ? a : b;
}

uint64_t board_run(struct board *b, uint64_t until)
{
    b->stopped = false;
    for (;;) {
        settle(b);
        uint64_t next = earlier(earlier(b->edge_due, b->millisecond_due), send_due(b));
        if (b->stopped) {
            return b->now;
        }
        if (next > until) {
            b->now = until > b->now ? until : b->now;
            return b->now;
        }
        b->now = next > b->now ? next : b->now;
        if (b->edge_due <= b->now) {
            make_edge(b);
        }
        if (b->millisecond_due <= b->now) {
            b->millisecond_due += BOARD_TICKS_PER_MS;
            generator_millisecond(&b->generator, b->levels); /* the stop circuit's too */
        }
        if (b->now == until) {
            return b->now; /* a byte that comes now is heard before the next line is begun */
        }
    }
}
