/* SPDX-License-Identifier: MIT */
/*
 * Every cause of a stop on the microcontroller's own firmware, at 16 000 steps/s: the count at rest
 * is that of the edges at the pin, it comes to rest within v^2/2a (any mechanics textbook) and what
 * is made until the brake has taken over, no step is quicker than the one before, and nothing moves
 * until it is synced anew. Then: no bytes whatever move it, or confuse it.
 */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>

#include "tests/rig/board_avr.h"
#include "tests/rig/firmware_host.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum {
    TICKS = 1000, /* 16 000 steps/s */
    RATE_HZ_S = 300000,
    STEPS_TO_REST = 427, /* 16 000^2 / 600 000 = 426.7 */
    STEPS = 20000,
    /* What may be made between the cause and the brake: the armed edge and 600 us of preparing. */
    STEPS_PREPARING = 10,
    STEPS_DEBOUNCING = 3 * 16 + 16, /* 2 ms, and looks 1 ms apart */
    CRUISE_MS = 60,
    FUZZ_BYTES = 20000,
};

static struct host *host;

static void start(void)
{
    host = host_open(0x5eed1234, 7);
    ck_assert_msg(host != NULL, "no firmware: build it, or name it in REGLET_FIRMWARE");
    host_set_all(host, 200);
    HOST_SAY(host, LINK_SET, LINK_SET_BRAKE_RATE, RATE_HZ_S);
    HOST_SAY(host, LINK_SYNC, 1, 0);
}

static void end(void)
{
    const struct board_avr_figures *f = board_avr_figures(host->board);
    ck_assert(!f->crashed);
    ck_assert_uint_eq(f->resets, 0);
    ck_assert_uint_ge(f->high_min, 80);
    ck_assert_uint_ge(f->low_min, 80);
    ck_assert_str_eq(board_avr_complaints(host->board), "");
    host_close(host);
}

/* Begins a long leg, and lets it run for a while. */
static void cruise(uint8_t flags, uint8_t awaited, unsigned steps)
{
    const struct stride stride = {(uint32_t)TICKS << 16, 0, 0, (uint16_t)steps, flags};
    host_stride(host, &stride, 0);
    HOST_SAY(host, LINK_BEGIN, 1, 0, awaited);
    host_run(host, CRUISE_MS * BOARD_TICKS_PER_MS);
    ck_assert_uint_gt(host->edges, 100);
}

static void expect_late(uint32_t late)
{
    size_t from = host->lines;
    HOST_SAY(host, LINK_POLL, 1, 0, 1);
    host_run(host, 20 * BOARD_TICKS_PER_MS);
    const struct link_line *see = host_last(host, LINK_SEE, from);
    ck_assert_ptr_nonnull(see);
    ck_assert_uint_eq(see->value[5], late);
}

/* `made` edges had been made when the cause came. */
static void expect_stop(uint32_t why, size_t made, unsigned before_brake)
{
    host_run(host, 300 * BOARD_TICKS_PER_MS);
    const struct link_line *stopped = host_last(host, LINK_STOPPED, 0);
    ck_assert_msg(stopped != NULL, "it has said nothing of a stop");
    ck_assert_uint_eq(stopped->value[1], why);
    ck_assert_int_eq((int32_t)stopped->value[2], (int32_t)host->edges);
    ck_assert_int_le((int32_t)stopped->value[3], (int32_t)host->edges);
    size_t took = host->edges - made;
    ck_assert_uint_ge(took, STEPS_TO_REST - 2);
    ck_assert_uint_le(took, STEPS_TO_REST + 2 + before_brake);
    for (size_t i = made + 2; i < host->edges; i++) {
        uint64_t ticks = host->edge[i].tick - host->edge[i - 1].tick;
        ck_assert_uint_ge(ticks + 1, host->edge[i - 1].tick - host->edge[i - 2].tick);
    }
    expect_late(0);

    /* What was sent before the stop, or without a sync, does not run. */
    size_t edges = host->edges;
    const struct stride stride = {(uint32_t)TICKS << 16, 0, 0, 10, STRIDE_REST};
    host_stride(host, &stride, 1);
    HOST_SAY(host, LINK_BEGIN, 1, 1, 0);
    host_run(host, 50 * BOARD_TICKS_PER_MS);
    ck_assert_uint_eq(host->edges, edges);
    HOST_SAY(host, LINK_SYNC, 2, (uint32_t)edges);
    host_stride(host, &stride, 0);
    HOST_SAY(host, LINK_BEGIN, 2, 0, 0);
    host_run(host, 50 * BOARD_TICKS_PER_MS);
    ck_assert_uint_eq(host->edges, edges + 10);
}

START_TEST(the_brake_byte)
{
    cruise(STRIDE_REST, 0, STEPS);
    host_byte(host, LINK_BRAKE_BYTE);
    expect_stop(LINK_WHY_BYTE, host->edges, STEPS_PREPARING);
}
END_TEST

START_TEST(the_brake_line)
{
    enum { LINE_EDGES = 3 }; /* to be read and understood, behind what comes before it */
    cruise(STRIDE_REST, 0, STEPS);
    HOST_SAY(host, LINK_BRAKE, 1);
    expect_stop(LINK_WHY_BRAKE, host->edges, STEPS_PREPARING + LINE_EDGES);
}
END_TEST

START_TEST(the_stop_circuit_at_once)
{
    cruise(STRIDE_REST, 0, STEPS);
    board_levels(host->board, 1u << LINK_INPUT_STOP_CIRCUIT);
    size_t made = host->edges;
    host_run(host, BOARD_TICKS_PER_MS);
    board_levels(host->board, 0); /* a bounce; that it has been open is enough */
    expect_stop(LINK_WHY_INPUT + LINK_INPUT_STOP_CIRCUIT, made, STEPS_PREPARING);
}
END_TEST

START_TEST(the_input_that_the_leg_awaits)
{
    static const uint8_t inputs[] = {LINK_INPUT_TOP_SWITCH, LINK_INPUT_BOTTOM_SWITCH,
                                     LINK_INPUT_TOUCH_PLATE, LINK_INPUT_MOTOR_SUPPLY};
    uint8_t input = inputs[_i];
    cruise(STRIDE_REST, input + 1, STEPS);
    board_levels(host->board, (uint16_t)(1u << input));
    size_t made = host->edges;
    host_run(host, 5 * BOARD_TICKS_PER_MS);
    board_levels(host->board, 0);
    expect_stop(LINK_WHY_INPUT + input, made, STEPS_PREPARING + STEPS_DEBOUNCING);
}
END_TEST

START_TEST(silence)
{
    enum { SILENCE_MS = 200, LATEST_MS = 3 };
    cruise(STRIDE_REST, 0, STEPS);
    host_run(host, (SILENCE_MS - CRUISE_MS) * BOARD_TICKS_PER_MS);
    expect_stop(LINK_WHY_SILENCE, host->edges, STEPS_PREPARING + LATEST_MS * 16);
}
END_TEST

START_TEST(a_queue_run_empty)
{
    enum { FEW = 1500 };
    cruise(0, 0, FEW);
    expect_stop(LINK_WHY_UNDERRUN, FEW, STEPS_PREPARING);
}
END_TEST

/* Of all kinds, and mostly such as lines are made of. */
static uint8_t some_byte(void)
{
    static const char letters[] = "HAILSETYNCBGPORKUD 0123456789abcdef=-\n\n\n\xae";
    uint64_t z = next_random();
    uint8_t byte = (uint8_t)(z >> 8);
    return z % 3 == 0 ? byte : (uint8_t)letters[byte % (sizeof letters - 1)];
}

/* It still answers, and has counted so many. */
static void expect_count(int32_t count)
{
    host_byte(host, '\n');
    size_t from = host->lines;
    host_line(host, LINK_HAIL, NULL, 0);
    host_run(host, 60 * BOARD_TICKS_PER_MS);
    const struct link_line *at = host_last(host, LINK_AT, from);
    ck_assert_ptr_nonnull(at);
    ck_assert_int_eq((int32_t)at->value[3], count);
    ck_assert_int_eq(board_look(host->board).count, count);
}

START_TEST(no_bytes_whatever_move_it)
{
    for (int i = 0; i < FUZZ_BYTES; i++) {
        host_byte(host, some_byte());
    }
    host_run(host, 20 * BOARD_TICKS_PER_MS);
    ck_assert_uint_eq(host->edges, 0);
    expect_count(0);
}
END_TEST

/* Nor disturb what moves, but for the brake byte, which is left out here. The silence is as long as
 * the leg. */
START_TEST(no_bytes_whatever_disturb_a_leg)
{
    enum { LEG_STEPS = 3000 };
    const struct stride stride = {(uint32_t)TICKS << 16, 0, 0, LEG_STEPS, STRIDE_REST};
    for (uint32_t leg = 0; leg < 10; leg++) {
        host_byte(host, '\n');
        host_stride(host, &stride, (uint8_t)leg);
        host->edges = 0;
        HOST_SAY(host, LINK_BEGIN, 1, leg, 0);
        for (uint64_t end = host->now + 190 * BOARD_TICKS_PER_MS; host->now < end;) {
            uint8_t byte = some_byte();
            host_byte(host, byte == LINK_BRAKE_BYTE ? 0xff : byte);
        }
        ck_assert_uint_eq(host->edges, LEG_STEPS);
        for (size_t i = 1; i < host->edges; i++) {
            ck_assert_uint_eq(host->edge[i].tick - host->edge[i - 1].tick, TICKS);
        }
        expect_count((int32_t)(leg + 1) * LEG_STEPS);
    }
    expect_late(0);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("firmware_stops");
    TCase *stops = tcase_create("stops");
    tcase_add_checked_fixture(stops, start, end);
    tcase_set_timeout(stops, 120);
    tcase_add_test(stops, the_brake_byte);
    tcase_add_test(stops, the_brake_line);
    tcase_add_test(stops, the_stop_circuit_at_once);
    tcase_add_loop_test(stops, the_input_that_the_leg_awaits, 0, 4);
    tcase_add_test(stops, silence);
    tcase_add_test(stops, a_queue_run_empty);
    tcase_add_test(stops, no_bytes_whatever_move_it);
    tcase_add_test(stops, no_bytes_whatever_disturb_a_leg);
    suite_add_tcase(suite, stops);
    return run_suite(suite);
}
