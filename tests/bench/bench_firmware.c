/* SPDX-License-Identifier: MIT */
/*
 * The microcontroller's own firmware, cycle by cycle on simavr: edges against the recurrence, the
 * cycles of each path of the edge's interrupt, the quickest rate, stops, pulses, sizes, starts.
 *
 * A figure that misses what it must reach is an error, so that a test can run this.
 */
#include <stdio.h>
#include <stdlib.h>

#include "tests/bench/firmware/common.h"

/* The second is every edge that is neither: the brake, the end of a leg, slow strides. */
enum { PLAIN, OTHER, LOAD, PATHS };
static const char *const path_name[PATHS] = {"__vector_plain", "__vector_other", "edge_loads"};

/* From the match: to be done before the next one, which is no sooner than ABLE says. */
static void print_paths(struct bench *bench, const struct board_avr_figures *f)
{
    bench_most(bench, "cycles.plain", f->handler[PLAIN].worst, "cycles", 215);
    bench_most(bench, "cycles.load", f->handler[LOAD].worst, "cycles", 330);
    bench_most(bench, "cycles.brake", f->handler[OTHER].worst, "cycles", 420);
    bench_print("cycles.latency", f->latency_worst, "cycles");
    bench_most(bench, "done.plain", f->handler[PLAIN].done_worst, "cycles",
               GENERATOR_INSIDE_MIN_TICKS);
    bench_most(bench, "done.load", f->handler[LOAD].done_worst, "cycles",
               GENERATOR_FIRST_MIN_TICKS);
    bench_print("done.brake", f->handler[OTHER].done_worst, "cycles");
}

static void print_pulses(struct bench *bench, const struct board_avr_figures *f)
{
    const uint32_t ticks[] = {f->high_min, f->low_min, f->setup_min, f->hold_min};
    static const char *const name[] = {"pulse.high.us", "pulse.low.us", "pulse.setup.us",
                                       "pulse.hold.us"};
    uint32_t least = UINT32_MAX;
    for (size_t i = 0; i < sizeof ticks / sizeof *ticks; i++) {
        bench_least(bench, name[i], ticks[i] / 16.0, "us", 5);
        least = ticks[i] < least ? ticks[i] : least;
    }
    bench_least(bench, "pulse.min.us", least / 16.0, "us", 5);
}

/* Half of what is left of the RAM is to stay free. */
static void print_sizes(struct bench *bench, const struct board_avr_figures *f)
{
    enum { RAM = 2048 };
    uint32_t ram = board_avr_ram_used(bench->host->board);
    bench_most(bench, "flash", board_avr_flash_used(bench->host->board), "bytes", 8192);
    bench_most(bench, "ram", ram, "bytes", 1536);
    bench_most(bench, "stack", BOARD_AVR_RAM_END - f->stack_low, "bytes", (RAM - (double)ram) / 2);
}

/* Edges that it says it has put off, bytes that it had no room for. */
static void print_faults(struct bench *bench, const struct board_avr_figures *f)
{
    struct host *host = bench->host;
    host->lines = 0;
    bench_poll(bench, BENCH_IDLE, 0);
    host_run(host, (uint64_t)30 * BOARD_TICKS_PER_MS);
    const struct link_line *see = host_last(host, LINK_SEE, 0);
    if (!see) {
        bench_fail("the board does not answer");
    }
    bench_most(bench, "late", see->value[5], "edges", 0);
    bench_most(bench, "overruns", f->overruns, "bytes", 0);
    bench_most(bench, "spoilt", (double)host->spoilt, "lines", 0);
    if (f->crashed || f->resets > 0 || board_avr_complaints(host->board)[0] != '\0') {
        bench_fail("the firmware has crashed, or the simulator complains");
    }
}

int main(void)
{
    struct bench bench = {.host = host_open(BENCH_ID, 1), .seed = 1};
    if (!bench.host || !board_avr_handlers(bench.host->board, path_name, PATHS)) {
        bench_fail("no firmware");
    }
    const struct board_avr_figures *figures = board_avr_figures(bench.host->board);
    bench_set_up(&bench);
    board_avr_clear(bench.host->board);
    bench_moves(&bench);
    bench_rate(&bench);
    bench_short(&bench);
    bench_loads(&bench);
    bench_stops(&bench);
    print_paths(&bench, figures);
    print_pulses(&bench, figures);
    print_sizes(&bench, figures);
    print_faults(&bench, figures);
    bench_starts(&bench);
    host_close(bench.host);
    return bench.missed ? EXIT_FAILURE : EXIT_SUCCESS;
}
