/* SPDX-License-Identifier: MIT */
/* Moves (i), (ii), (iii) edge by edge, the quickest rate, the processor's load, short strides. */
#include "tests/bench/moves.h"

#include <stdio.h>

#include "tests/bench/firmware/common.h"

enum {
    STRIDES_MOST = 64,
    PHASES = 8,
    PHASE_TICKS = BOARD_TICKS_PER_MS / PHASES + 3, /* through a millisecond of its clock */
    WHILE_TICKS = 30 * BOARD_TICKS_PER_MS,
};

static unsigned encode(const struct move *move, bool down, struct stride *strides)
{
    struct profile profile;
    struct encoder encoder;
    unsigned count = 0;
    const struct encode_limits limits = MOVE_LIMITS;
    if (!profile_plan(&profile, &move->asked)) {
        bench_fail("a move cannot be planned");
    }
    encoder_init(&encoder, &profile, &limits, down);
    while (count < STRIDES_MOST && encoder_next(&encoder, &strides[count]) == ENCODE_STRIDE) {
        count++;
    }
    return count;
}

/* Off edges of the only leg since the host forgot the others. */
static unsigned leg_off(const struct bench *bench, const struct stride *strides, unsigned count)
{
    size_t at = 0;
    unsigned off = bench_edges_off(bench, strides, count, &at);
    return off + (bench->host->edges > at);
}

/* Each time the other way than before, so that it stays within its bounds. */
static unsigned measure_move(struct bench *bench, const struct move *move,
                             enum bench_traffic traffic)
{
    unsigned off = 0;
    for (unsigned phase = 0; phase < PHASES; phase++) {
        struct stride strides[STRIDES_MOST];
        unsigned count = encode(move, phase % 2, strides);
        bench_sync(bench);
        bench_begin(bench, strides, count, (uint64_t)phase * PHASE_TICKS);
        bench_finish(bench, traffic, count);
        off += leg_off(bench, strides, count);
    }
    return off;
}

void bench_moves(struct bench *bench)
{
    static const char *const traffic_name[BENCH_TRAFFICS] = {"idle", "full", "noisy"};
    static const unsigned chosen[] = {0, 2, MOVE_TRAVEL};
    unsigned all = 0;
    for (enum bench_traffic traffic = 0; traffic < BENCH_TRAFFICS; traffic++) {
        for (unsigned m = 0; m < sizeof chosen / sizeof *chosen; m++) {
            char name[64];
            const struct move *move = &MOVES[chosen[m]];
            unsigned off = measure_move(bench, move, traffic);
            (void)snprintf(name, sizeof name, "edges.off.%s.%s", move->name, traffic_name[traffic]);
            bench_most(bench, name, off, "edges", 0);
            all += off;
        }
    }
    bench_most(bench, "edges.off", all, "edges", 0);
}

/* A parabola from the smallest first interval to the smallest inside a stride and back:
 * interval(k) = first - change k + curve k (k - 1)/2. */
static struct stride quick_stride(unsigned steps)
{
    const int64_t rise = BENCH_QUICK_TICKS - GENERATOR_INSIDE_MIN_TICKS;
    return (struct stride){
        .interval = (uint32_t)BENCH_QUICK_TICKS << 16,
        .change = -(int32_t)((4 * rise << 16) / steps),
        .curve = (int32_t)((8 * rise << 16) / ((int64_t)steps * steps)) + 1,
        .steps = (uint16_t)steps,
        .flags = STRIDE_REST,
    };
}

/* 0 unless each edge was made in its time. */
void bench_rate(struct bench *bench)
{
    const struct stride stride = quick_stride(600);
    uint64_t least = UINT64_MAX;
    bench_sync(bench);
    bench_begin(bench, &stride, 1, 0);
    bench_finish(bench, BENCH_FULL, 1);
    for (size_t i = 1; i < bench->host->edges; i++) {
        uint64_t ticks = bench->host->edge[i].tick - bench->host->edge[i - 1].tick;
        least = ticks < least ? ticks : least;
    }
    bool good = leg_off(bench, &stride, 1) == 0;
    bench_least(bench, "rate.max", good ? 16e6 / (double)least : 0.0, "steps/s", 60000);
}

/* The share of the processor that is not spent going round with nothing to do, in a leg of one
 * stride that has been running for so long. */
static double measure_load(struct bench *bench, const struct stride *stride, uint64_t after_ms,
                           enum bench_traffic traffic)
{
    struct host *host = bench->host;
    bench_sync(bench);
    bench_begin(bench, stride, 1, 0);
    host_run(host, after_ms * BOARD_TICKS_PER_MS);
    const struct board_avr_figures before = *board_avr_figures(host->board);
    for (uint64_t end = host->now + WHILE_TICKS; host->now < end;) {
        if (traffic == BENCH_IDLE) {
            host_run(host, BOARD_TICKS_PER_MS);
        } else {
            bench_poll(bench, traffic, 1);
        }
    }
    const struct board_avr_figures *after = board_avr_figures(host->board);
    double idle = (double)(after->idle - before.idle) / (double)(after->cycles - before.cycles);
    if (!board_look(host->board).moving) {
        bench_fail("the load was not measured in a motion");
    }
    bench_finish(bench, traffic, 1);
    return 100.0 * (1.0 - idle);
}

void bench_loads(struct bench *bench)
{
    enum { HALF_WAY_MS = 65 };
    const struct stride travel = {(uint32_t)BENCH_SPEED_TICKS << 16, 0, 0, 20000, STRIDE_REST};
    const struct stride quick = quick_stride(8600);
    bench_print("load.idle", measure_load(bench, &travel, 100, BENCH_IDLE), "%");
    bench_print("load", measure_load(bench, &travel, 100, BENCH_FULL), "%");
    bench_print("load.most", measure_load(bench, &quick, HALF_WAY_MS, BENCH_FULL), "%");
}

enum { SHORT_STRIDES = 4, LONG_STEPS = 50, LONG_TICKS = 600 };

/* Long enough for a line, then the shortest strides at the smallest intervals. Returns its time. */
static uint32_t draw_leg(struct bench *bench, bool down, struct stride *strides)
{
    uint32_t ticks = LONG_STEPS * LONG_TICKS;
    uint8_t flags = down ? STRIDE_DOWN : 0;
    strides[0] = (struct stride){(uint32_t)LONG_TICKS << 16, 0, 0, LONG_STEPS, flags};
    for (unsigned i = 1; i < SHORT_STRIDES; i++) {
        uint32_t interval = GENERATOR_FIRST_MIN_TICKS + (uint32_t)bench_draw(bench, 40);
        strides[i] =
            (struct stride){interval << 16, 0, 0, (uint16_t)(1 + bench_draw(bench, 2)), flags};
        ticks += interval * strides[i].steps;
    }
    strides[SHORT_STRIDES - 1].flags = (uint8_t)(flags | STRIDE_REST);
    return ticks;
}

static void queue_leg(struct bench *bench, const struct stride *strides, uint8_t sequence)
{
    for (unsigned i = 0; i < SHORT_STRIDES; i++) {
        host_stride(bench->host, &strides[i], (uint8_t)(sequence + i));
    }
}

/* A leg up and one down, the second begun as close behind the end of the first as its BEGIN can
 * come; one that comes before is ignored, and said again. Returns the edges that are off, and in
 * *gap_ticks the shortest time from the last edge up to the first one down. */
static unsigned measure_turn(struct bench *bench, uint64_t *gap_ticks)
{
    enum { LINE_TICKS = 17 * BOARD_BYTE_TICKS, SPREAD_TICKS = 1000, LAST = 2 * SHORT_STRIDES - 1 };
    struct host *host = bench->host;
    struct stride legs[2][SHORT_STRIDES];
    size_t at = 0;
    uint32_t ticks = draw_leg(bench, false, legs[0]);
    (void)draw_leg(bench, true, legs[1]);
    bench_sync(bench);
    queue_leg(bench, legs[0], 0);
    queue_leg(bench, legs[1], SHORT_STRIDES);
    host_run(host, (uint64_t)20 * BOARD_TICKS_PER_MS);
    host->edges = host->lines = 0;
    HOST_SAY(host, LINK_BEGIN, bench->epoch, SHORT_STRIDES - 1, 0);
    host_run(host, ticks - LINE_TICKS + bench_draw(bench, SPREAD_TICKS));
    HOST_SAY(host, LINK_BEGIN, bench->epoch, LAST, 0);
    HOST_SAY(host, LINK_BEGIN, bench->epoch, LAST, 0);
    host_run(host, ticks + (uint64_t)20 * BOARD_TICKS_PER_MS);
    unsigned off = bench_edges_off(bench, legs[0], SHORT_STRIDES, &at);
    uint64_t gap = at < host->edges ? host->edge[at].tick - host->edge[at - 1].tick : UINT64_MAX;
    *gap_ticks = gap < *gap_ticks ? gap : *gap_ticks;
    off += bench_edges_off(bench, legs[1], SHORT_STRIDES, &at);
    return off + (host->edges > at);
}

void bench_short(struct bench *bench)
{
    enum { TURNS = 60 };
    uint64_t gap_ticks = UINT64_MAX;
    unsigned off = 0;
    for (unsigned turn = 0; turn < TURNS; turn++) {
        off += measure_turn(bench, &gap_ticks);
    }
    bench_most(bench, "edges.off.short", off, "edges", 0);
    bench_print("turn.us", (double)gap_ticks / 16.0, "us");
}
