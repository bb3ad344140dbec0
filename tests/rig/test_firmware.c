/* SPDX-License-Identifier: MIT */
/*
 * The microcontroller's own firmware on a simulated ATmega328P: who it is, and that each edge of a
 * move is on the very tick that the recurrence of protocol/LINK.md, section 7, gives.
 */
#include <check.h>
#include <stdlib.h>

#include "tests/rig/board_avr.h"
#include "tests/rig/firmware_host.h"
#include "tests/suite.h"

enum {
    ID = 0x5eed1234,
    BOOT = 7,
    ANSWER_TICKS = 30 * BOARD_TICKS_PER_MS,
    /* A driver of the common kind wants 2.5 us at the most of each, high and low, and 5 us from a
     * change of direction to a step: common practice, no source. The design asks for 5 us. */
    PULSE_TICKS = 80,
    SILENCE_MS = 2000,
};

static struct host *host;

static void start(void)
{
    host = host_open(ID, BOOT);
    ck_assert_msg(host != NULL, "no firmware: build it, or name it in REGLET_FIRMWARE");
}

/* Whatever a test has done, the board has neither lost a byte nor confused the simulator. */
static void end(void)
{
    const struct board_avr_figures *f = board_avr_figures(host->board);
    ck_assert_uint_eq(f->overruns, 0);
    ck_assert_uint_eq(f->overwritten, 0);
    ck_assert(!f->crashed);
    ck_assert_uint_eq(f->resets, 0);
    ck_assert_uint_eq(host->spoilt, 0);
    ck_assert_str_eq(board_avr_complaints(host->board), "");
    host_close(host);
}

static const struct link_line *hail(uint8_t word)
{
    size_t from = host->lines;
    host_line(host, LINK_HAIL, NULL, 0);
    host_run(host, ANSWER_TICKS);
    return host_last(host, word, from);
}

static void expect_start(uint32_t boot)
{
    const struct link_line *board = hail(LINK_BOARD);
    ck_assert_ptr_nonnull(board);
    ck_assert_uint_eq(board->value[0], LINK_MAJOR);
    ck_assert_uint_eq(board->value[1], LINK_MINOR);
    ck_assert_uint_eq(board->value[2], ID);
    ck_assert_uint_eq(board->value[3], boot);
    ck_assert_uint_eq(board_look(host->board).boot, boot);
}

START_TEST(it_says_who_it_is)
{
    expect_start(BOOT);
    const struct link_line *able = host_last(host, LINK_ABLE, 0);
    const struct link_line *at = host_last(host, LINK_AT, 0);
    const struct link_line *see = host_last(host, LINK_SEE, 0);
    ck_assert(able && at && see);
    ck_assert_uint_eq(able->value[0], BOARD_TICK_HZ);
    ck_assert_uint_eq(able->value[1], 64);
    ck_assert_uint_eq(at->value[0], 0);
    ck_assert_uint_eq(at->value[2], LINK_STATE_ADRIFT);
    ck_assert_uint_eq(see->value[5], 0);
}
END_TEST

START_TEST(each_start_has_the_next_boot_number)
{
    board_reset(host->board);
    host_run(host, 100 * BOARD_TICKS_PER_MS);
    expect_start(BOOT + 1);
    board_power(host->board, false);
    host_run(host, 10 * BOARD_TICKS_PER_MS);
    ck_assert_ptr_null(hail(LINK_BOARD));
    board_power(host->board, true);
    host_run(host, 100 * BOARD_TICKS_PER_MS);
    expect_start(BOOT + 2);
}
END_TEST

/* Power is cut at any time of a start: the identity stays, and no boot number is told twice. */
START_TEST(a_start_that_is_cut_short_keeps_the_identity)
{
    uint32_t told = BOOT;
    bool busy = false;
    for (uint64_t ms = 1; ms < 60; ms++) {
        board_power(host->board, true);
        host_run(host, ms * BOARD_TICKS_PER_MS);
        busy = busy || board_avr_eeprom_busy(host->board);
        board_power(host->board, false);
        host_run(host, BOARD_TICKS_PER_MS);
        board_power(host->board, true);
        host_run(host, 100 * BOARD_TICKS_PER_MS);
        const struct link_line *board = hail(LINK_BOARD);
        ck_assert_ptr_nonnull(board);
        ck_assert_uint_eq(board->value[2], ID);
        ck_assert_uint_gt(board->value[3], told);
        ck_assert_uint_eq(board_look(host->board).boot, board->value[3]);
        told = board->value[3];
    }
    ck_assert_msg(busy, "no cut fell into a write");
}
END_TEST

static void sync_at(uint32_t epoch, uint32_t count)
{
    host_set_all(host, SILENCE_MS);
    HOST_SAY(host, LINK_SYNC, epoch, count);
    HOST_SAY(host, LINK_POLL, epoch, 0, 1);
    host_run(host, ANSWER_TICKS);
    const struct link_line *at = host_last(host, LINK_AT, 0);
    ck_assert_ptr_nonnull(at);
    ck_assert_uint_eq(at->value[0], epoch);
    ck_assert_uint_eq(at->value[2], LINK_STATE_STILL);
}

/* Begins what is queued, waits for its end, and looks at each edge. */
static void expect_leg(uint32_t epoch, const struct stride *stride, uint8_t strides, uint8_t first)
{
    size_t edge = host->edges;
    size_t line = host->lines;
    for (uint8_t i = 0; i < strides; i++) {
        host_stride(host, &stride[i], (uint8_t)(first + i));
    }
    HOST_SAY(host, LINK_BEGIN, epoch, (uint32_t)(first + strides - 1), 0);
    for (int ms = 0; ms < SILENCE_MS - 100 && !host_last(host, LINK_ENDED, line); ms++) {
        host_run(host, BOARD_TICKS_PER_MS);
    }
    ck_assert_ptr_nonnull(host_last(host, LINK_ENDED, line));
    uint64_t expected = host->edge[edge].tick;
    ck_assert_uint_eq(board_look(host->board).first_edge, expected);
    for (uint8_t i = 0; i < strides; i++) {
        struct stride_run run;
        stride_run_start(&run, &stride[i]);
        for (uint16_t k = 0; k < stride[i].steps; k++, edge++) {
            uint32_t ticks = stride_run_next(&run);
            expected += i == 0 && k == 0 ? 0 : ticks; /* the first runs from the BEGIN */
            ck_assert_uint_lt(edge, host->edges);
            ck_assert_msg(host->edge[edge].tick == expected,
                          "stride %d, step %d: on tick %+lld of where it should be", i, k,
                          (long long)(host->edge[edge].tick - expected));
            ck_assert_int_eq(host->edge[edge].down, (stride[i].flags & STRIDE_DOWN) != 0);
        }
    }
    ck_assert_uint_eq(edge, host->edges);
}

static void expect_pulses(void)
{
    const struct board_avr_figures *f = board_avr_figures(host->board);
    ck_assert_uint_ge(f->high_min, PULSE_TICKS);
    ck_assert_uint_ge(f->low_min, PULSE_TICKS);
    ck_assert_uint_ge(f->setup_min, PULSE_TICKS);
    ck_assert_uint_ge(f->hold_min, PULSE_TICKS);
    ck_assert_uint_eq(hail(LINK_SEE)->value[5], 0);
}

START_TEST(each_edge_of_a_leg_is_on_its_tick)
{
    const struct stride up[] = {
        {.interval = 4000u << 16, .change = -(9 << 16) - 12345, .curve = 67, .steps = 300},
        {.interval = 1300u << 16 | 777,
         .change = (5 << 16) + 1,
         .curve = 9,
         .steps = 200,
         .flags = STRIDE_REST},
    };
    const struct stride down[] = {
        {.interval = 1000u << 16, .change = -(1 << 16), .steps = 500, .flags = STRIDE_DOWN},
        {.interval = 700u << 16 | 0x8000, .steps = 400, .flags = STRIDE_DOWN | STRIDE_REST},
    };
    sync_at(1, 0);
    expect_leg(1, up, 2, 0);
    expect_leg(1, down, 2, 2);
    expect_pulses();
    ck_assert_int_eq(board_look(host->board).count, 500 - 900);
    ck_assert(board_look(host->board).energised);
}
END_TEST

/* It keeps what ABLE says of the smallest intervals: from each side, and several times over. */
START_TEST(the_smallest_intervals_are_kept)
{
    const struct link_line *able = hail(LINK_ABLE);
    ck_assert_ptr_nonnull(able);
    uint32_t inside = able->value[2];
    uint32_t first = able->value[3];
    const struct stride quick[] = {
        {.interval = (inside + 250) << 16, .change = -(1 << 16), .steps = 251},
        {.interval = first << 16, .change = -((int32_t)(first - inside) << 16), .steps = 2},
        {.interval = first << 16, .steps = 1},
        {.interval = first << 16, .steps = 1},
        {.interval = first << 16, .change = -(1 << 16), .steps = (uint16_t)(first - inside + 1)},
        {.interval = first << 16, .change = 1 << 16, .steps = 200, .flags = STRIDE_REST},
    };
    sync_at(1, 0);
    expect_leg(1, quick, 6, 0);
    ck_assert_uint_ge(board_avr_figures(host->board)->high_min, PULSE_TICKS);
    ck_assert_uint_ge(board_avr_figures(host->board)->low_min, PULSE_TICKS);
    ck_assert_uint_eq(hail(LINK_SEE)->value[5], 0);
}
END_TEST

/* Intervals around the timer's own length, 65 536 ticks, and far over it. */
START_TEST(so_is_each_edge_of_a_slow_leg)
{
    const struct stride slow[] = {
        {.interval = 65400u << 8, .change = 3 << 8 | 0x55, .steps = 90, .flags = STRIDE_SLOW},
        {.interval = 3000000u << 8, .change = -(900000 << 8), .steps = 4, .flags = STRIDE_SLOW},
        {.interval = 300000u << 8,
         .change = -(40000 << 8),
         .steps = 6,
         .flags = STRIDE_SLOW | STRIDE_REST},
    };
    sync_at(1, 0);
    expect_leg(1, slow, 3, 0);
    ck_assert_uint_ge(board_avr_figures(host->board)->high_min, PULSE_TICKS);
    ck_assert_uint_eq(hail(LINK_SEE)->value[5], 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("firmware");
    TCase *all = tcase_create("all");
    tcase_set_timeout(all, 300);
    tcase_add_checked_fixture(all, start, end);
    tcase_add_test(all, it_says_who_it_is);
    tcase_add_test(all, each_start_has_the_next_boot_number);
    tcase_add_test(all, a_start_that_is_cut_short_keeps_the_identity);
    tcase_add_test(all, each_edge_of_a_leg_is_on_its_tick);
    tcase_add_test(all, the_smallest_intervals_are_kept);
    tcase_add_test(all, so_is_each_edge_of_a_slow_leg);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
