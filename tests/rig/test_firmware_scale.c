/* SPDX-License-Identifier: MIT */
/*
 * A two-wire scale at the pins of the microcontroller's own firmware. Its frames of 24 bits, the
 * bit of 0.3 to 1 ms and the gap of some 100 ms are common practice, no source. Good ones are told
 * as they are, others not at all, and none delays an edge.
 */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>

#include "tests/rig/board_avr.h"
#include "tests/rig/firmware_host.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum {
    FRAME_BITS = 24,
    SHORTEST_BIT_TICKS = 3 * BOARD_TICKS_PER_MS / 10,
    LONGEST_BIT_TICKS = BOARD_TICKS_PER_MS,
    GAP_TICKS = 100 * BOARD_TICKS_PER_MS,
    SILENCE_MS = 3000,
};

static struct host *host;
static uint32_t readings; /* told so far */

static void start(void)
{
    start_random();
    host = host_open((uint32_t)base_seed, 1);
    ck_assert_msg(host != NULL, "no firmware: build it, or name it in REGLET_FIRMWARE");
    readings = 0;
    host_set_all(host, SILENCE_MS);
    HOST_SAY(host, LINK_SYNC, 1, 0);
    host_run(host, GAP_TICKS);
}

static void end(void)
{
    ck_assert(!board_avr_figures(host->board)->crashed);
    ck_assert_uint_eq(host->spoilt, 0);
    ck_assert_str_eq(board_avr_complaints(host->board), "");
    host_close(host);
}

static uint32_t some_raw(void)
{
    return (uint32_t)below(1u << FRAME_BITS);
}

static uint64_t some_bit_ticks(void)
{
    return SHORTEST_BIT_TICKS + below(LONGEST_BIT_TICKS - SHORTEST_BIT_TICKS);
}

/* It says so once, with the number after the last, within the gap. */
static void expect_reading(uint32_t raw)
{
    size_t from = host->lines;
    host_run(host, GAP_TICKS);
    ck_assert_uint_eq(host->lines, from + 1);
    const struct link_line *scale = host_last(host, LINK_SCALE, from);
    ck_assert_ptr_nonnull(scale);
    ck_assert_uint_eq(scale->value[0], 1);
    ck_assert_uint_eq(scale->value[1], ++readings % 256);
    ck_assert_uint_eq(scale->value[2], raw);
}

static void expect_nothing(void)
{
    size_t from = host->lines;
    host_run(host, GAP_TICKS);
    ck_assert_uint_eq(host->lines, from);
}

static void expect_good_frame(void)
{
    uint32_t raw = some_raw();
    host_scale(host, raw, FRAME_BITS, some_bit_ticks());
    expect_reading(raw);
}

START_TEST(a_frame_is_told_as_it_is)
{
    static const uint32_t raws[] = {0, 0xffffff, 0x800000, 1, 0x555555, 0xaaaaaa};
    for (size_t i = 0; i < sizeof raws / sizeof *raws; i++) {
        host_scale(host, raws[i], FRAME_BITS, i % 2 ? SHORTEST_BIT_TICKS : LONGEST_BIT_TICKS);
        expect_reading(raws[i]);
    }
    for (int i = 0; i < 20; i++) {
        expect_good_frame();
    }
}
END_TEST

START_TEST(a_frame_of_another_length_is_dropped)
{
    static const unsigned lengths[] = {1, 8, 23, 25, 26, 48, 255, 256 + 24};
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++) {
        host_scale(host, some_raw(), lengths[i], SHORTEST_BIT_TICKS);
        expect_nothing();
        expect_good_frame();
    }
}
END_TEST

/* A spike on the clock is a bit too many, wherever it stands. */
START_TEST(a_frame_with_a_spike_is_dropped)
{
    for (unsigned before = 0; before <= FRAME_BITS; before += 3) {
        host_scale(host, some_raw(), before, SHORTEST_BIT_TICKS);
        host_scale(host, some_raw(), 1, 200);
        host_scale(host, some_raw(), FRAME_BITS - before, SHORTEST_BIT_TICKS);
        expect_nothing();
        expect_good_frame();
    }
}
END_TEST

START_TEST(without_a_scale_nothing_is_told)
{
    size_t from = host->lines;
    host_run(host, 20 * GAP_TICKS);
    ck_assert_uint_eq(host->lines, from);
}
END_TEST

/* A scale that clocks on and on, in steps of half a bit. */
struct clocking {
    uint32_t raw;
    unsigned half; /* of a frame and its gap */
};

enum { HALVES = 2 * FRAME_BITS, GAP_HALVES = 60 };

static void clock_on(struct clocking *c)
{
    if (c->half < HALVES) {
        board_avr_scale(host->board, c->half % 2, c->raw >> (c->half / 2) & 1);
    }
    c->half = (c->half + 1) % (HALVES + GAP_HALVES);
    host_run(host, SHORTEST_BIT_TICKS / 2);
}

/* Edges of a leg of one stride, counted from its first. */
static void expect_edges(const struct stride *stride, size_t first)
{
    struct stride_run run;
    uint64_t tick = host->edge[first].tick;
    stride_run_start(&run, stride);
    ck_assert_uint_eq(host->edges - first, stride->steps);
    for (uint16_t i = 0; i < stride->steps; i++) {
        uint32_t ticks = stride_run_next(&run);
        tick += i > 0 ? ticks : 0;
        ck_assert_uint_eq(host->edge[first + i].tick, tick);
    }
}

/* Legs of all lengths begin and end anywhere in its frames: each edge stands, and only whole frames
 * of a motor at rest are told. */
START_TEST(while_it_moves_the_scale_is_not_heard)
{
    enum { LEGS = 60, LINE_HALVES = 30 /* a line once begun is finished */ };
    struct clocking scale = {.raw = some_raw() | 1};
    for (uint32_t leg = 0; leg < LEGS; leg++) {
        const struct stride stride = {
            .interval = (uint32_t)(400 + below(4000)) << 16,
            .change = (int32_t)below(1 << 16),
            .steps = (uint16_t)(1 + below(leg % 2 ? 3 : 200)),
            .flags = STRIDE_REST,
        };
        size_t first = host->edges;
        host_stride(host, &stride, (uint8_t)leg);
        HOST_SAY(host, LINK_BEGIN, 1, leg, 0);
        size_t from = host->lines;
        while (!board_look(host->board).moving && host->edges == first) {
            host_run(host, 100);
        }
        size_t said = 0;
        for (int half = 0; board_look(host->board).moving; half++) {
            clock_on(&scale);
            said = half == LINE_HALVES ? host->lines : said;
            ck_assert(said == 0 || !host_last(host, LINK_SCALE, said));
        }
        for (uint64_t i = GAP_HALVES + below(3 * (HALVES + GAP_HALVES)); i > 0; i--) {
            clock_on(&scale);
        }
        ck_assert_ptr_nonnull(host_last(host, LINK_ENDED, from));
        expect_edges(&stride, first);
    }
    unsigned told = 0;
    for (size_t i = 0; i < host->lines; i++) {
        if (host->line[i].word == LINK_SCALE) {
            ck_assert_uint_eq(host->line[i].value[2], scale.raw);
            told++;
        }
    }
    ck_assert_uint_gt(told, LEGS / 3);
    HOST_SAY(host, LINK_POLL, 1, LEGS, 1);
    host_run(host, GAP_TICKS);
    const struct link_line *see = host_last(host, LINK_SEE, 0);
    ck_assert_ptr_nonnull(see);
    ck_assert_uint_eq(see->value[5], 0);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("firmware_scale");
    TCase *all = tcase_create("all");
    tcase_set_timeout(all, 120);
    tcase_add_checked_fixture(all, start, end);
    tcase_add_test(all, a_frame_is_told_as_it_is);
    tcase_add_test(all, a_frame_of_another_length_is_dropped);
    tcase_add_test(all, a_frame_with_a_spike_is_dropped);
    tcase_add_test(all, without_a_scale_nothing_is_told);
    tcase_add_test(all, while_it_moves_the_scale_is_not_heard);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
