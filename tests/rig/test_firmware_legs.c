/* SPDX-License-Identifier: MIT */
/*
 * Legs drawn by lot, of fast and slow strides, while polls come at any time: each edge is on its
 * tick, and the count that the firmware tells is that of the edges at its pin.
 */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>

#include "tests/rig/board_avr.h"
#include "tests/rig/firmware_host.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum {
    LEGS = 100,
    STRIDES = 4,
    SILENCE_MS = 100,
    POLL_TICKS = 25 * BOARD_TICKS_PER_MS,
    /* Intervals grow by as much within a stride at most: ticks. */
    GROWTH_TICKS = 8,
};

struct leg {
    struct stride stride[STRIDES];
    unsigned strides;
    unsigned steps;
    bool down;
};

static struct host *host;
static uint32_t sequence;
static uint32_t poll;

static uint32_t draw(uint32_t limit)
{
    return (uint32_t)below(limit);
}

static struct stride draw_stride(uint32_t first_min, uint8_t before, bool down, bool rests)
{
    bool slow = draw(6) == 0;
    uint8_t bits = slow ? STRIDE_SLOW_BITS : STRIDE_FAST_BITS;
    uint32_t least = slow || before & STRIDE_SLOW ? LINK_SLOW_MIN_TICKS : first_min;
    uint32_t ticks = least + draw(slow ? 100000 : 3000);
    return (struct stride){
        .interval = ticks << bits | draw(1u << bits),
        .change = (int32_t)draw(GROWTH_TICKS << bits),
        .curve = (int32_t)draw(40),
        .steps = (uint16_t)(1 + draw(draw(3) == 0 ? 3 : 60)),
        .flags = (uint8_t)((down ? STRIDE_DOWN : 0) | (slow ? STRIDE_SLOW : 0) |
                           (rests ? STRIDE_REST : 0)),
    };
}

static void say_poll(void)
{
    HOST_SAY(host, LINK_POLL, 1, sequence % LINK_WINDOW, poll++ % LINK_WINDOW);
}

static void run_leg(const struct leg *leg)
{
    for (unsigned i = 0; i < leg->strides; i++) {
        host_stride(host, &leg->stride[i], (uint8_t)(sequence + i));
    }
    sequence += leg->strides;
    HOST_SAY(host, LINK_BEGIN, 1, (sequence - 1) % LINK_WINDOW, 0);
    for (int i = 0; i < 1000 && !host_last(host, LINK_ENDED, 0); i++) {
        say_poll();
        host_run(host, draw(POLL_TICKS));
    }
    const struct link_line *refused = host_last(host, LINK_REFUSED, 0);
    ck_assert_msg(!refused, "word %u was refused: %u", refused->value[1], refused->value[2]);
    const struct link_line *stopped = host_last(host, LINK_STOPPED, 0);
    ck_assert_msg(!stopped, "stopped: %u", stopped->value[1]);
    ck_assert_ptr_nonnull(host_last(host, LINK_ENDED, 0));
    say_poll();
    host_run(host, POLL_TICKS);
}

static void check_leg(const struct leg *leg)
{
    size_t edge = 0;
    uint64_t expected = host->edge[0].tick; /* the first runs from the BEGIN */
    ck_assert_uint_eq(host->edges, leg->steps);
    for (unsigned i = 0; i < leg->strides; i++) {
        struct stride_run run;
        stride_run_start(&run, &leg->stride[i]);
        for (unsigned k = 0; k < leg->stride[i].steps; k++, edge++) {
            uint32_t ticks = stride_run_next(&run);
            expected += edge > 0 ? ticks : 0;
            ck_assert_msg(host->edge[edge].tick == expected,
                          "stride %u, step %u, interval %u: %+lld ticks from where it should be", i,
                          k, ticks, (long long)(host->edge[edge].tick - expected));
            ck_assert_int_eq(host->edge[edge].down, leg->down);
        }
    }
}

START_TEST(edges_and_count_agree_through_polls)
{
    int32_t count = 0;
    host = host_open((uint32_t)base_seed, 1);
    ck_assert_msg(host != NULL, "no firmware: build it, or name it in REGLET_FIRMWARE");
    host_line(host, LINK_HAIL, NULL, 0);
    host_run(host, POLL_TICKS);
    ck_assert_ptr_nonnull(host_last(host, LINK_ABLE, 0));
    uint32_t first_min = host_last(host, LINK_ABLE, 0)->value[3];
    host_set_all(host, SILENCE_MS);
    HOST_SAY(host, LINK_SYNC, 1, 0);
    for (int i = 0; i < LEGS; i++) {
        struct leg leg = {.strides = 1 + draw(STRIDES), .down = draw(2) == 0};
        for (unsigned k = 0; k < leg.strides; k++) {
            uint8_t before = k > 0 ? leg.stride[k - 1].flags : 0;
            leg.stride[k] = draw_stride(first_min, before, leg.down, k + 1 == leg.strides);
            leg.steps += leg.stride[k].steps;
        }
        host->lines = host->edges = 0;
        host_run(host, draw(70000));
        run_leg(&leg);
        count += leg.down ? -(int32_t)leg.steps : (int32_t)leg.steps;
        const struct link_line *at = host_last(host, LINK_AT, 0);
        ck_assert_ptr_nonnull(at);
        check_leg(&leg);
        ck_assert_int_eq((int32_t)at->value[3], count);
        ck_assert_int_eq(board_look(host->board).count, count);
        ck_assert_uint_eq(host_last(host, LINK_SEE, 0)->value[5], 0);
    }
    ck_assert_uint_eq(board_avr_figures(host->board)->overruns, 0);
    ck_assert_uint_eq(host->spoilt, 0);
    ck_assert_str_eq(board_avr_complaints(host->board), "");
    host_close(host);
}
END_TEST

int main(void)
{
    read_seed();
    fflush(stdout);
    Suite *suite = suite_create("firmware_legs");
    TCase *all = tcase_create("all");
    tcase_set_timeout(all, 300);
    tcase_add_test(all, edges_and_count_agree_through_polls);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
