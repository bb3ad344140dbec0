/* SPDX-License-Identifier: MIT */
#include "tests/bench/firmware/common.h"

#include <stdio.h>
#include <stdlib.h>

enum { REST_MS = 20, POLL_GAP_MS = 90, LEG_MOST_MS = 60000 };

uint64_t bench_draw(struct bench *bench, uint64_t below)
{
    /* splitmix64 (public domain algorithm) */
    uint64_t z = bench->seed += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ z >> 27) * UINT64_C(0x94d049bb133111eb);
    return (z ^ z >> 31) % below;
}

void bench_fail(const char *what)
{
    (void)fprintf(stderr, "bench_firmware: %s\n", what);
    exit(EXIT_FAILURE);
}

void bench_print(const char *name, double value, const char *unit)
{
    printf("firmware.%s\t%.6g\t%s\n", name, value, unit);
    (void)fflush(stdout);
}

static void miss(struct bench *bench, const char *name, const char *how, double bound)
{
    bench->missed = true;
    (void)fprintf(stderr, "bench_firmware: firmware.%s is %s %.6g\n", name, how, bound);
}

void bench_most(struct bench *bench, const char *name, double value, const char *unit, double most)
{
    bench_print(name, value, unit);
    if (!(value <= most)) {
        miss(bench, name, "over", most);
    }
}

void bench_least(struct bench *bench, const char *name, double value, const char *unit,
                 double least)
{
    bench_print(name, value, unit);
    if (!(value >= least)) {
        miss(bench, name, "under", least);
    }
}

void bench_set_up(struct bench *bench)
{
    struct host *host = bench->host;
    host_set_all(host, BENCH_SILENCE_MS);
    HOST_SAY(host, LINK_SET, LINK_SET_BRAKE_RATE, BENCH_BRAKE_HZ_S);
    bench_sync(bench);
}

void bench_sync(struct bench *bench)
{
    struct host *host = bench->host;
    bench->epoch++;
    HOST_SAY(host, LINK_SYNC, bench->epoch, (uint32_t)board_look(host->board).count);
    host_run(host, REST_MS * BOARD_TICKS_PER_MS);
}

void bench_begin(struct bench *bench, const struct stride *strides, unsigned count,
                 uint64_t phase_ticks)
{
    struct host *host = bench->host;
    host->lines = 0;
    for (unsigned i = 0; i < count; i++) {
        host_stride(host, &strides[i], (uint8_t)i);
    }
    host_run(host, REST_MS * BOARD_TICKS_PER_MS + phase_ticks);
    host->edges = 0;
    HOST_SAY(host, LINK_BEGIN, bench->epoch, count - 1, 0);
}

void bench_poll(struct bench *bench, enum bench_traffic traffic, uint8_t next)
{
    struct link_line line = {LINK_POLL, 3, {bench->epoch, next, bench->poll++}};
    char text[LINK_LINE_MAX];
    uint8_t size = link_write(&line, text);
    for (uint8_t i = 0; i < size; i++) {
        uint8_t byte = (uint8_t)text[i];
        if (traffic == BENCH_NOISY && bench_draw(bench, 200) == 0) {
            uint8_t spoilt = (uint8_t)(byte ^ 1u << bench_draw(bench, 8));
            byte = spoilt == LINK_BRAKE_BYTE ? byte : spoilt;
        }
        host_byte(bench->host, byte);
    }
}

void bench_finish(struct bench *bench, enum bench_traffic traffic, unsigned count)
{
    struct host *host = bench->host;
    uint64_t end = host->now + (uint64_t)LEG_MOST_MS * BOARD_TICKS_PER_MS;
    do {
        if (traffic == BENCH_IDLE) {
            host_run(host, (uint64_t)POLL_GAP_MS * BOARD_TICKS_PER_MS);
        }
        bench_poll(bench, traffic, (uint8_t)count);
        host->lines = host_last(host, LINK_REFUSED, 0) ? host->lines : 0; /* room for more */
    } while (board_look(host->board).moving && host->now < end);
    host_run(host, REST_MS * BOARD_TICKS_PER_MS);
    bench_poll(bench, BENCH_IDLE, (uint8_t)count);
    host_run(host, REST_MS * BOARD_TICKS_PER_MS);
    const struct link_line *at = host_last(host, LINK_AT, 0);
    if (host_last(host, LINK_REFUSED, 0) || !at || at->value[2] != LINK_STATE_STILL) {
        bench_fail("a leg was refused, or has not come to its own end");
    }
}

unsigned bench_edges_off(const struct bench *bench, const struct stride *strides, unsigned count,
                         size_t *at)
{
    const struct host *host = bench->host;
    unsigned off = 0;
    size_t first = *at;
    uint64_t tick = 0;
    for (unsigned s = 0; s < count; s++) {
        struct stride_run run;
        stride_run_start(&run, &strides[s]);
        for (unsigned i = 0; i < strides[s].steps; i++, (*at)++) {
            const struct host_edge *edge = &host->edge[*at];
            uint32_t ticks = stride_run_next(&run);
            if (*at >= host->edges) {
                off++;
                continue;
            }
            tick = *at == first ? edge->tick : tick + ticks;
            off += edge->tick != tick || edge->down != ((strides[s].flags & STRIDE_DOWN) != 0);
        }
    }
    return off;
}
