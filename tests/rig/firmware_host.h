/* SPDX-License-Identifier: MIT */
/*
 * A host at the cable of a board, in process: it writes lines at the wire's pace, and keeps what
 * the board says and does.
 */
#ifndef REGLET_TESTS_RIG_FIRMWARE_HOST_H
#define REGLET_TESTS_RIG_FIRMWARE_HOST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "contrib/practice/board.h"
#include "protocol/link.h"

enum { HOST_EDGES = 200000, HOST_LINES = 4096 };

struct host_edge {
    uint64_t tick;
    bool down;
};

struct host {
    struct board *board;
    uint64_t now;
    struct link_reader reader;
    struct link_line line[HOST_LINES]; /* all that the board has said */
    uint64_t line_tick[HOST_LINES];    /* when the last byte of each was there */
    size_t lines;
    size_t spoilt; /* lines that could not be read */
    struct host_edge edge[HOST_EDGES];
    size_t edges;
};

/* Opens a board with all its inputs low, and gives it time to come up. It is static, there is but
 * one at a time; NULL without a board. */
struct host *host_open(uint32_t id, uint32_t boot);
void host_close(struct host *host);

void host_run(struct host *host, uint64_t ticks);

/* Bytes one behind the other at 115 200 baud; it is over when the last is there. */
void host_byte(struct host *host, uint8_t byte);
void host_line(struct host *host, uint8_t word, const uint32_t *value, uint8_t count);
void host_stride(struct host *host, const struct stride *stride, uint8_t sequence);

/* All settings: a brake rate of 100 000 steps/s^2, no bounds to speak of, every input active when
 * it is high, none that brakes but the stop circuit, 2 ms, and silence after `silence_ms`. */
void host_set_all(struct host *host, uint32_t silence_ms);

/* A frame of a two-wire scale: bits of `raw`, lowest first, one each `period_ticks`. Its clock
 * rests high; the gap behind it is the caller's. */
void host_scale(struct host *host, uint32_t raw, unsigned bits, uint64_t period_ticks);

/* The last line of a word since `from` (of host->lines), or NULL. */
const struct link_line *host_last(const struct host *host, uint8_t word, size_t from);

#define HOST_SAY(host, word, ...)                                                                  \
    host_line(host, word, (const uint32_t[]){__VA_ARGS__},                                         \
              sizeof((const uint32_t[]){__VA_ARGS__}) / sizeof(uint32_t))

#endif
