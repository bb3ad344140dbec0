/* SPDX-License-Identifier: MIT */
/*
 * The step generator's core on a virtual timer, for the tests of its conversation: bytes in, edges
 * out, and all that it answers is kept.
 */
#ifndef REGLET_TESTS_UNIT_CORE_RIG_H
#define REGLET_TESTS_UNIT_CORE_RIG_H

#include <check.h>
#include <inttypes.h>
#include <stdbool.h>
#include <string.h>

#include "contrib/stepgen/core.h"
#include "tests/seed.h"
#include "tests/unit/core_tell.h"

enum {
    TICK_HZ = 16000000,
    MS = TICK_HZ / 1000,
    INSIDE_MIN = GENERATOR_INSIDE_MIN_TICKS,
    FIRST_MIN = GENERATOR_FIRST_MIN_TICKS,
    HEARD = 512
};
enum { LOW = -1000, HIGH = 1000, DEBOUNCE = 5, SILENCE = 100, ALL_INPUTS = 0x7f };
enum { STOP_BIT = 1 << LINK_INPUT_STOP_CIRCUIT, TOP_BIT = 1 << LINK_INPUT_TOP_SWITCH };

struct rig {
    struct generator g;
    uint64_t now;
    uint64_t edge_at;
    uint64_t ms_at;
    int32_t count; /* of the edges seen here */
    unsigned starts;
    unsigned heard_count;
    uint16_t levels;
    uint8_t sequence;
    bool armed;
    bool deaf; /* answers stay in the generator */
    struct link_line heard[HEARD];
};

static struct rig rig;

static inline void listen(void)
{
    static struct link_reader reader;
    struct link_line line;
    for (int byte; !rig.deaf && (byte = generator_send(&rig.g)) >= 0;) {
        enum link_got got = link_reader_byte(&reader, (uint8_t)byte, &line);
        ck_assert(got == LINK_GOT_NOTHING || got == LINK_GOT_LINE);
        if (got == LINK_GOT_LINE)
            rig.heard[rig.heard_count++ % HEARD] = line;
    }
}

static inline void settle(void)
{
    if (generator_start(&rig.g)) {
        rig.armed = true;
        rig.edge_at = rig.now + rig.g.interval;
        rig.starts++;
    }
    listen();
}

static inline void make_edge(void)
{
    rig.now = rig.edge_at;
    rig.count += rig.g.down ? -1 : 1;
    uint32_t ticks = generator_edge(&rig.g);
    rig.armed = ticks > 0;
    rig.edge_at += ticks;
    if (rig.count != generator_count(&rig.g))
        ck_abort_msg("counted %" PRId32 ", it says %" PRId32, rig.count, generator_count(&rig.g));
}

static inline void pass_ticks(uint64_t ticks)
{
    uint64_t end = rig.now + ticks;
    for (;;) {
        bool edge = rig.armed && rig.edge_at <= rig.ms_at;
        if ((edge ? rig.edge_at : rig.ms_at) > end)
            break;
        if (edge) {
            make_edge();
        } else {
            rig.now = rig.ms_at;
            rig.ms_at += MS;
            generator_millisecond(&rig.g, rig.levels);
        }
        settle();
    }
    rig.now = end;
}

static inline void pass_ms(unsigned ms)
{
    pass_ticks((uint64_t)ms * MS);
}

static inline void send_bytes(const char *bytes, size_t size)
{
    for (size_t i = 0; i < size; i++) {
        generator_byte(&rig.g, (uint8_t)bytes[i]);
        settle();
    }
}

static inline void tell_line(const struct link_line *line)
{
    char text[LINK_LINE_MAX];
    send_bytes(text, link_write(line, text));
}

static inline struct stride even(uint16_t steps, uint32_t ticks, uint8_t flags)
{
    uint8_t bits = stride_bits(flags);
    return (struct stride){.interval = ticks << bits, .steps = steps, .flags = flags};
}

/* The next stride: 1 ms a step. */
static inline void queue_steps(uint16_t steps, uint8_t flags)
{
    struct stride stride = even(steps, MS, flags);
    tell_stride(&stride, rig.sequence++);
}

static inline unsigned times(uint8_t word)
{
    unsigned count = 0;
    for (unsigned i = 0; i < rig.heard_count && i < HEARD; i++)
        count += rig.heard[i].word == word;
    return count;
}

static inline void forget(void)
{
    rig.heard_count = 0;
}

/* The latest answer of that word must be there, and say this. */
static inline void check_said(uint8_t word, const uint32_t *value)
{
    ck_assert_uint_le(rig.heard_count, HEARD);
    for (unsigned i = rig.heard_count; i > 0; i--) {
        const struct link_line *line = &rig.heard[i - 1];
        if (line->word != word)
            continue;
        for (uint8_t k = 0; k < line->count; k++)
            ck_assert_msg(line->value[k] == value[k], "word %u, value %u: %" PRIx32 " not %" PRIx32,
                          word, k, line->value[k], value[k]);
        return;
    }
    ck_abort_msg("it never said word %u", word);
}

#define SAID(word, ...) check_said(word, (uint32_t[LINK_VALUES_MAX]){__VA_ARGS__})

static inline void check_refused(uint8_t word, uint8_t why)
{
    SAID(LINK_REFUSED, rig.g.epoch, word, why);
    forget();
}

static const uint32_t settings[LINK_SETTINGS] = {100000,   (uint32_t)LOW, HIGH,   0,
                                                 STOP_BIT, DEBOUNCE,      SILENCE};

static inline void boot(void)
{
    static const struct generator_board board = {
        .id = 0xb0a4d, .boot = 7, .tick_hz = TICK_HZ, .inputs_present = ALL_INPUTS};
    start_random();
    memset(&rig, 0, sizeof rig);
    generator_init(&rig.g);
    rig.g.board = board;
    rig.ms_at = MS;
}

/* Booted, set and synced: epoch 1, count 0. */
static inline void ready(void)
{
    boot();
    for (uint8_t i = 0; i < LINK_SETTINGS; i++)
        TELL(LINK_SET, i, settings[i]);
    TELL(LINK_SYNC, 1, 0);
    ck_assert_uint_eq(rig.g.state, LINK_STATE_STILL);
    ck_assert_uint_eq(rig.heard_count, 0);
}

static inline void sync_again(uint16_t epoch)
{
    TELL(LINK_SYNC, epoch, (uint32_t)rig.count);
    rig.sequence = 0;
    ck_assert_uint_eq(rig.g.state, LINK_STATE_STILL);
    forget();
}

#endif
