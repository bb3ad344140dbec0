/* SPDX-License-Identifier: MIT */
/* Resets, power cuts and cuts of the EEPROM's writing: who the board says it is, and how often it
 * has started. Last, because each is a start. */
#include "tests/bench/firmware/common.h"

enum { COME_UP_MS = 100, TRIALS = 20 };

/* Who it says it is when it is asked. False, and wrong, when it is not the board that it was, or
 * tells a boot number that was told before. */
static bool is_next_start(struct bench *bench, uint32_t *told)
{
    struct host *host = bench->host;
    host->lines = 0;
    host_run(host, (uint64_t)COME_UP_MS * BOARD_TICKS_PER_MS);
    host_line(host, LINK_HAIL, NULL, 0);
    host_run(host, (uint64_t)30 * BOARD_TICKS_PER_MS);
    const struct link_line *board = host_last(host, LINK_BOARD, 0);
    const struct link_line *at = host_last(host, LINK_AT, 0);
    if (!board || !at) {
        bench_fail("the board says nothing after a start");
    }
    bool good = board->value[2] == BENCH_ID && board->value[3] > *told &&
                board->value[3] == board_look(host->board).boot &&
                at->value[2] == LINK_STATE_ADRIFT && at->value[0] == 0;
    *told = board->value[3];
    bench->epoch = 0;
    return good;
}

enum how { RESET, POWER };

static unsigned start_again(struct bench *bench, enum how how, bool moving, uint32_t *told)
{
    struct host *host = bench->host;
    const struct stride stride = {(uint32_t)BENCH_SPEED_TICKS << 16, 0, 0, 60000, STRIDE_REST};
    uint32_t before = *told;
    bench_set_up(bench);
    if (moving) {
        bench_begin(bench, &stride, 1, 0);
        host_run(host, (uint64_t)50 * BOARD_TICKS_PER_MS + bench_draw(bench, 5000));
        if (!board_look(host->board).moving) {
            bench_fail("a reset in mid-move was not in a move");
        }
    }
    if (how == RESET) {
        board_reset(host->board);
    } else {
        board_power(host->board, false);
        host_run(host, (uint64_t)5 * BOARD_TICKS_PER_MS);
        board_power(host->board, true);
    }
    size_t edges = host->edges;
    bool good = is_next_start(bench, told);
    return !good || *told != before + 1 || host->edges != edges;
}

/* Power is cut at any time of a start's first 45 ms, in which all is written. Returns how often
 * what was told after the next start was wrong. */
static unsigned cut_starts(struct bench *bench, uint32_t *told)
{
    enum { CUTS = 90, CUT_TICKS = BOARD_TICKS_PER_MS / 2 + 7 };
    struct host *host = bench->host;
    unsigned wrong = 0;
    unsigned busy = 0;
    for (unsigned cut = 0; cut < CUTS; cut++) {
        board_power(host->board, true);
        host_run(host, (uint64_t)cut * CUT_TICKS);
        busy += board_avr_eeprom_busy(host->board);
        board_power(host->board, false);
        host_run(host, BOARD_TICKS_PER_MS);
        board_power(host->board, true);
        wrong += !is_next_start(bench, told);
    }
    bench_least(bench, "start.cut.writes", busy, "writes", 10);
    return wrong;
}

void bench_starts(struct bench *bench)
{
    static const char *const name[2][2] = {{"start.wrong.reset.still", "start.wrong.reset.moving"},
                                           {"start.wrong.power.still", "start.wrong.power.moving"}};
    uint32_t told = board_look(bench->host->board).boot;
    for (enum how how = RESET; how <= POWER; how++) {
        for (unsigned moving = 0; moving < 2; moving++) {
            unsigned wrong = 0;
            for (unsigned trial = 0; trial < TRIALS; trial++) {
                wrong += start_again(bench, how, moving, &told);
            }
            bench_most(bench, name[how][moving], wrong, "starts", 0);
        }
    }
    bench_most(bench, "start.wrong.cut", cut_starts(bench, &told), "starts", 0);
}
