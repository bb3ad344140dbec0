/* SPDX-License-Identifier: MIT */
/*
 * The microcontroller's own firmware, cycle by cycle on simavr: edges against the recurrence, the
 * cycles of each path of the edge's interrupt, the quickest rate, the brake, pulses, sizes.
 *
 * A figure that misses what it must reach is an error, so that a test can run this. Two are printed
 * only, and are not yet where they ought to be: firmware.brake.us (120) and firmware.flash (8192).
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/motion/encode.h"
#include "tests/bench/moves.h"
#include "tests/rig/board_avr.h"
#include "tests/rig/firmware_host.h"

enum { STRIDES_MOST = 64, PHASES = 8, ID = 0x5eed1234, BRAKE_HZ_S = 300000 };

enum traffic { IDLE, FULL, NOISY, TRAFFICS };
static const char *const traffic_name[TRAFFICS] = {"edges.off.idle", "edges.off.full",
                                                   "edges.off.noisy"};

static struct host *host;
static uint64_t seed = 1;
static uint16_t epoch;

/* splitmix64 (public domain algorithm). */
static uint64_t draw(uint64_t below)
{
    uint64_t z = seed += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ z >> 27) * UINT64_C(0x94d049bb133111eb);
    return (z ^ z >> 31) % below;
}

static bool missed;

/* Prints a figure. The ones with a bound must keep to it. */
static void print_most(const char *name, double value, const char *unit, double most)
{
    printf("firmware.%s\t%.4g\t%s\n", name, value, unit);
    if (value > most) {
        missed = true;
        (void)fprintf(stderr, "bench_firmware: firmware.%s is over %.4g\n", name, most);
    }
}

static void print_least(const char *name, double value, const char *unit, double least)
{
    printf("firmware.%s\t%.6g\t%s\n", name, value, unit);
    if (value < least) {
        missed = true;
        (void)fprintf(stderr, "bench_firmware: firmware.%s is under %.6g\n", name, least);
    }
}

static void fail(const char *what)
{
    (void)fprintf(stderr, "bench_firmware: %s\n", what);
    exit(EXIT_FAILURE);
}

/* One POLL; in a noisy one, 1 in 200 bytes has a bit flipped, and never into the brake byte. */
static void poll(enum traffic traffic, uint8_t next)
{
    static uint8_t number;
    struct link_line line = {LINK_POLL, 3, {epoch, next, number++}};
    char text[LINK_LINE_MAX];
    uint8_t size = link_write(&line, text);
    for (uint8_t i = 0; i < size; i++) {
        uint8_t byte = (uint8_t)text[i];
        if (traffic == NOISY && draw(200) == 0) {
            uint8_t flipped = (uint8_t)(byte ^ 1u << draw(8));
            byte = flipped == LINK_BRAKE_BYTE ? byte : flipped;
        }
        host_byte(host, byte);
    }
}

static unsigned encode(const struct move *move, struct stride *strides)
{
    struct profile profile;
    struct encoder encoder;
    unsigned count = 0;
    if (!profile_plan(&profile, &move->asked)) {
        fail("a move cannot be planned");
    }
    const struct encode_limits limits = MOVE_LIMITS;
    encoder_init(&encoder, &profile, &limits, false);
    while (count < STRIDES_MOST && encoder_next(&encoder, &strides[count]) == ENCODE_STRIDE) {
        count++;
    }
    return count;
}

static void sync_to(int32_t count)
{
    epoch++;
    HOST_SAY(host, LINK_SYNC, epoch, (uint32_t)count);
    host_run(host, 20 * BOARD_TICKS_PER_MS);
}

/* Sends a leg's strides and begins it. */
static void begin(const struct stride *strides, unsigned count, uint8_t first, unsigned phase)
{
    for (unsigned i = 0; i < count; i++) {
        host_stride(host, &strides[i], (uint8_t)(first + i));
    }
    host_run(host, 20 * BOARD_TICKS_PER_MS + phase);
    host->edges = 0;
    host->lines = 0;
    HOST_SAY(host, LINK_BEGIN, epoch, (uint8_t)(first + count - 1), 0);
}

/* Until the board says still, adrift; for a minute at most. */
static void finish(enum traffic traffic, uint8_t next)
{
    uint64_t end = host->now + UINT64_C(60000) * BOARD_TICKS_PER_MS;
    do {
        if (traffic == IDLE) {
            host_run(host, 90 * BOARD_TICKS_PER_MS); /* the silence must not end it */
        }
        poll(traffic, next);
    } while (board_look(host->board).moving && host->now < end);
    host_run(host, 10 * BOARD_TICKS_PER_MS);
}

/* Edges that are not on their tick, counted from the first one. */
static unsigned edges_off(const struct stride *strides, unsigned count, unsigned steps)
{
    unsigned off = host->edges != steps;
    size_t at = 0;
    uint64_t tick = 0;
    for (unsigned s = 0; s < count; s++) {
        struct stride_run run;
        stride_run_start(&run, &strides[s]);
        for (unsigned i = 0; i < strides[s].steps && at < host->edges; i++, at++) {
            uint32_t ticks = stride_run_next(&run);
            tick = at == 0 ? host->edge[0].tick : tick + ticks;
            off += host->edge[at].tick != tick;
        }
    }
    return off;
}

static unsigned measure_moves(enum traffic traffic)
{
    static const unsigned chosen[] = {0, 2, MOVE_TRAVEL};
    unsigned off = 0;
    for (unsigned m = 0; m < sizeof chosen / sizeof *chosen; m++) {
        const struct move *move = &MOVES[chosen[m]];
        struct stride strides[STRIDES_MOST];
        unsigned count = encode(move, strides);
        for (unsigned phase = 0; phase < (m == 0 ? PHASES : m == 1 ? 2 : 1); phase++) {
            sync_to(board_look(host->board).count);
            begin(strides, count, 0, phase);
            finish(traffic, (uint8_t)count);
            off += edges_off(strides, count, (unsigned)move->asked.steps);
        }
    }
    return off;
}

/* Rises from the announced smallest first interval to the smallest inside one and back, with the
 * link full. Returns the smallest interval made in its time. */
static unsigned quickest(void)
{
    enum { STEPS = 1000, FIRST = 400, INSIDE = 256, RISE = FIRST - INSIDE - 1 };
    /* interval(k) = FIRST - change k + curve k (k - 1)/2: a parabola, lowest in the middle */
    int32_t change = -(int32_t)((INT64_C(4) * RISE << 16) / STEPS);
    int32_t curve = (int32_t)((INT64_C(8) * RISE << 16) / ((int64_t)STEPS * STEPS)) + 1;
    const struct stride stride = {(uint32_t)FIRST << 16, change, curve, STEPS, STRIDE_REST};
    sync_to(board_look(host->board).count);
    begin(&stride, 1, 0, 0);
    finish(FULL, 1);
    uint64_t least = UINT64_MAX;
    for (size_t i = 1; i < host->edges; i++) {
        uint64_t ticks = host->edge[i].tick - host->edge[i - 1].tick;
        least = ticks < least ? ticks : least;
    }
    return edges_off(&stride, 1, STEPS) == 0 ? (unsigned)least : 0;
}

/* Where in RAM the firmware keeps its state: the one byte of its data that is 1 when still, 2 when
 * running and 0 when adrift. */
static uint16_t find_state(const struct stride *strides, unsigned count)
{
    enum { SAMPLES = 3, NEAR = 64 }; /* it stands among the first */
    static const uint8_t as[SAMPLES] = {LINK_STATE_STILL, LINK_STATE_RUNNING, LINK_STATE_ADRIFT};
    bool may[NEAR];
    uint32_t address;
    uint32_t size;
    if (!board_avr_symbol(host->board, "the_generator", &address, &size) || size < NEAR) {
        fail("no generator in the firmware");
    }
    memset(may, true, sizeof may);
    sync_to(board_look(host->board).count);
    for (unsigned sample = 0; sample < SAMPLES; sample++) {
        for (uint16_t i = 0; i < NEAR; i++) {
            may[i] = may[i] && board_avr_peek(host->board, (uint16_t)(address + i)) == as[sample];
        }
        if (sample == 0) {
            begin(strides, count, 0, 0);
            host_run(host, 100 * BOARD_TICKS_PER_MS);
        } else {
            host_byte(host, LINK_BRAKE_BYTE);
            host_run(host, 500 * BOARD_TICKS_PER_MS);
        }
    }
    uint16_t found = 0;
    unsigned places = 0;
    for (uint16_t i = 0; i < NEAR; i++) {
        found = may[i] ? (uint16_t)(address + i) : found;
        places += may[i];
    }
    if (places != 1) {
        fail("the firmware's state was not found");
    }
    return found;
}

/* What ended a move at speed, and how. */
struct brakes {
    unsigned count;
    unsigned wrong;  /* counts that are not those of the edges */
    double worst_us; /* from the last byte to the edge at which the first braking interval begins */
    unsigned most_over; /* steps beyond v^2/2a from there */
};

static void brake_once(uint16_t state_at, int32_t before, struct brakes *b)
{
    const unsigned needs = 27680u * 27680u / 2 / BRAKE_HZ_S + 1;
    size_t lines = host->lines;
    host_byte(host, LINK_BRAKE_BYTE);
    uint64_t heard = host->now;
    while (board_avr_peek(host->board, state_at) == LINK_STATE_RUNNING &&
           host->now < heard + BOARD_TICKS_PER_MS) {
        host_run(host, 1);
    }
    size_t first = host->edges; /* the armed one */
    host_run(host, 500 * BOARD_TICKS_PER_MS);
    const struct link_line *stopped = host_last(host, LINK_STOPPED, lines);
    b->wrong += !stopped || stopped->value[1] != LINK_WHY_BYTE ||
                (int32_t)stopped->value[2] != before + (int32_t)host->edges;
    double us = ((double)host->edge[first].tick - (double)heard) / 16.0;
    b->worst_us = us > b->worst_us ? us : b->worst_us;
    unsigned took = (unsigned)(host->edges - first - 1);
    b->most_over = took > needs && took - needs > b->most_over ? took - needs : b->most_over;
}

/* Brakes by the byte in the middle of move (iii), between polls and in them. */
static struct brakes measure_brakes(void)
{
    enum { TRIALS = 40 };
    struct stride strides[STRIDES_MOST];
    unsigned count = encode(&MOVES[MOVE_TRAVEL], strides);
    struct brakes b = {0};
    HOST_SAY(host, LINK_SET, LINK_SET_BRAKE_RATE, BRAKE_HZ_S);
    uint16_t state_at = find_state(strides, count);
    for (b.count = 0; b.count < TRIALS; b.count++) {
        int32_t before = board_look(host->board).count;
        sync_to(before);
        begin(strides, count, 0, 0);
        host_run(host, 150 * BOARD_TICKS_PER_MS); /* cruising */
        if (b.count % 2 == 0) {
            poll(FULL, (uint8_t)count); /* it is busy with the answers */
        }
        host_run(host, draw(5000));
        brake_once(state_at, before, &b);
    }
    return b;
}

static void print_brakes(void)
{
    struct brakes b = measure_brakes();
    printf("firmware.brake.us\t%.1f\tus\n", b.worst_us);
    print_most("brake.wrong", b.wrong, "brakes", 0);
    print_most("brake.over", b.most_over, "steps", 2);
}

static void print_paths(void)
{
    enum { RAM = 2048 };
    static const char *const path[] = {"cycles.plain", "cycles.load", "cycles.brake"};
    static const double most[] = {215, 330, 420};
    const struct board_avr_figures *f = board_avr_figures(host->board);
    for (unsigned i = 0; i < sizeof path / sizeof *path; i++) {
        print_most(path[i], f->handler[i].worst, "cycles", most[i]);
    }
    /* The long way ends with a leg, or within a brake, whose steps are slower than the leg's. */
    printf("firmware.cycles.latency\t%u\tcycles\n", f->latency_worst);
    printf("firmware.busy\t%.1f\t%%\n", 100.0 * (double)f->in_interrupts / (double)f->cycles);
    int stack = BOARD_AVR_RAM_END - f->stack_low;
    uint32_t ram = board_avr_ram_used(host->board);
    print_most("stack", stack, "bytes", (RAM - (double)ram) / 2);
    uint32_t least = f->high_min < f->low_min ? f->high_min : f->low_min;
    least = f->setup_min < least ? f->setup_min : least;
    least = f->hold_min < least ? f->hold_min : least;
    print_least("pulse.min.us", least / 16.0, "us", 5);
    printf("firmware.flash\t%u\tbytes\n", board_avr_flash_used(host->board));
    print_most("ram", ram, "bytes", 1536);
}

int main(void)
{
    /* The last is every edge that is neither: the brake, the end of a leg, slow strides. */
    static const char *const names[] = {"__vector_plain", "__vector_load", "__vector_slow"};
    host = host_open(ID, 1);
    if (!host || !board_avr_handlers(host->board, names, sizeof names / sizeof *names)) {
        fail("no firmware");
    }
    host_set_all(host, 500);
    board_avr_clear(host->board);
    for (enum traffic traffic = IDLE; traffic < TRAFFICS; traffic++) {
        print_most(traffic_name[traffic], measure_moves(traffic), "edges", 0);
    }
    unsigned ticks = quickest();
    print_least("rate.max", ticks > 0 ? 16e6 / ticks : 0.0, "steps/s", 60000);
    print_brakes();
    print_paths();
    host_close(host);
    return missed ? EXIT_FAILURE : EXIT_SUCCESS;
}
