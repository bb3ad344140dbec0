/* SPDX-License-Identifier: MIT */
/*
 * A step generator as the machine sees it: by its pins and its serial line. There are two. The
 * portable core on a virtual timer (board.c) is the practice lift's; the microcontroller's own
 * firmware, run instruction by instruction (tests/rig/board_avr.c), is the tests'. A program is
 * linked with one of them.
 *
 * Time is in ticks of 1/16 000 000 s since the first start, and only goes on inside board_run.
 */
#ifndef REGLET_CONTRIB_PRACTICE_BOARD_H
#define REGLET_CONTRIB_PRACTICE_BOARD_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol/attributes.h"

enum {
    BOARD_TICK_HZ = 16000000,
    BOARD_TICKS_PER_MS = 16000,
    BOARD_BYTE_TICKS = 1389, /* ten bits at 115 200 baud */
};

struct board;

/* What a board does to the world. Called from inside board_run, in order of time; an event may
 * call board_stop and board_levels, nothing else. */
struct board_events {
    /* A rising edge at the step pin, at `tick`. */
    void (*edge)(void *owner, uint64_t tick, bool down);
    /* A byte whose last bit leaves the board at `tick`, which may lie ahead. */
    void (*byte)(void *owner, uint64_t tick, uint8_t byte);
    void *owner;
};

/* What can be seen from outside without disturbing it. */
struct board_view {
    uint32_t id;
    uint32_t boot;
    int32_t count;
    bool moving;         /* an edge is due */
    bool energised;      /* the enable pin */
    uint8_t outputs;     /* bit an output, set: on */
    uint64_t first_edge; /* ticks, of the leg that began last; it may lie ahead */
};

/* Starts one; `boot` is the number that this start has. NULL without memory, or when what the
 * board is made of is not there. `events` is copied. All its levels are low at first. */
REGLET_MUST_CHECK struct board *board_open(uint32_t id, uint32_t boot,
                                           const struct board_events *events);
void board_close(struct board *board);

/* The reset pin: it starts again, with the next boot number. */
void board_reset(struct board *board);

/* Power off, which stops everything at once; on again, which is a start like a reset. Power that
 * is on already is as if it had been off for a moment. */
void board_power(struct board *board, bool on);

/* A byte has just arrived whole. Without power it is lost. */
void board_byte(struct board *board, uint8_t byte);

/* The electrical levels at the input pins from now on (bits of enum link_input; set: high). */
void board_levels(struct board *board, uint16_t levels);

/* The levels of a two-wire scale's clock and data from now on; both are high at first. */
void board_scale(struct board *board, bool clock, bool data);

/* Runs until `until`, edges due then included, or until board_stop was called from an event;
 * returns the tick reached. It may run over by an instruction's length. What it would send or
 * begin just then waits for the next run, since a byte that is handed in meanwhile comes first. */
uint64_t board_run(struct board *board, uint64_t until);
void board_stop(struct board *board);

struct board_view board_look(const struct board *board);

#endif
