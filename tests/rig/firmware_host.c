/* SPDX-License-Identifier: MIT */
#include "tests/rig/firmware_host.h"

#include <string.h>

#include "tests/rig/board_avr.h"

enum { COME_UP_TICKS = 100 * BOARD_TICKS_PER_MS }; /* ten bytes of EEPROM, and more */

static void on_edge(void *owner, uint64_t tick, bool down)
{
    struct host *h = owner;
    if (h->edges < HOST_EDGES) {
        h->edge[h->edges++] = (struct host_edge){tick, down};
    }
}

static void on_byte(void *owner, uint64_t tick, uint8_t byte)
{
    struct host *h = owner;
    struct link_line line;
    enum link_got got = link_reader_byte(&h->reader, byte, &line);
    if (got == LINK_GOT_LINE && h->lines < HOST_LINES) {
        h->line_tick[h->lines] = tick;
        h->line[h->lines++] = line;
    }
    h->spoilt += got == LINK_GOT_SPOILT;
}

struct host *host_open(uint32_t id, uint32_t boot)
{
    static struct host host;
    const struct board_events events = {.edge = on_edge, .byte = on_byte, .owner = &host};
    memset(&host, 0, sizeof host);
    host.board = board_open(id, boot, &events);
    if (!host.board) {
        return NULL;
    }
    board_levels(host.board, 0);
    host_run(&host, COME_UP_TICKS);
    return &host;
}

void host_close(struct host *h)
{
    board_close(h->board);
    h->board = NULL;
}

void host_run(struct host *h, uint64_t ticks)
{
    h->now += ticks;
    board_run(h->board, h->now);
}

void host_byte(struct host *h, uint8_t byte)
{
    host_run(h, BOARD_BYTE_TICKS);
    board_byte(h->board, byte);
}

void host_line(struct host *h, uint8_t word, const uint32_t *value, uint8_t count)
{
    struct link_line line = {.word = word, .count = count};
    char text[LINK_LINE_MAX];
    for (uint8_t i = 0; i < count; i++) {
        line.value[i] = value[i];
    }
    uint8_t size = link_write(&line, text);
    for (uint8_t i = 0; i < size; i++) {
        host_byte(h, (uint8_t)text[i]);
    }
}

void host_stride(struct host *h, const struct stride *stride, uint8_t sequence)
{
    struct link_line line;
    link_stride_line(stride, sequence, &line);
    host_line(h, line.word, line.value, line.count);
}

void host_set_all(struct host *h, uint32_t silence_ms)
{
    const uint32_t setting[LINK_SETTINGS] = {
        [LINK_SET_BRAKE_RATE] = 100000,  [LINK_SET_BOUND_LOW] = (uint32_t)-1000000,
        [LINK_SET_BOUND_HIGH] = 1000000, [LINK_SET_INPUT_BRAKE] = 1u << LINK_INPUT_STOP_CIRCUIT,
        [LINK_SET_DEBOUNCE_MS] = 2,      [LINK_SET_SILENCE_MS] = silence_ms,
    };
    for (uint32_t i = 0; i < LINK_SETTINGS; i++) {
        HOST_SAY(h, LINK_SET, i, setting[i]);
    }
}

void host_scale(struct host *h, uint32_t raw, unsigned bits, uint64_t period_ticks)
{
    for (unsigned i = 0; i < bits; i++) {
        bool data = i < 32 && raw >> i & 1;
        board_avr_scale(h->board, false, data);
        host_run(h, period_ticks / 2);
        board_avr_scale(h->board, true, data);
        host_run(h, period_ticks - period_ticks / 2);
    }
}

const struct link_line *host_last(const struct host *h, uint8_t word, size_t from)
{
    for (size_t i = h->lines; i > from; i--) {
        if (h->line[i - 1].word == word) {
            return &h->line[i - 1];
        }
    }
    return NULL;
}
