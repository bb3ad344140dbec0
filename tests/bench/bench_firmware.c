/* SPDX-License-Identifier: MIT */
/*
 * The microcontroller's own firmware, cycle by cycle on simavr: edges against the recurrence, the
 * cycles of each path of the edge's interrupt, the quickest rate, the brake, pulses, sizes.
 *
 * A figure that misses what it must reach is an error, so that a test can run this.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/motion/encode.h"
#include "tests/bench/moves.h"
#include "tests/rig/board_avr.h"
#include "tests/rig/firmware_host.h"

enum { STRIDES_MOST = 64, PHASES = 8, ID = 0x5eed1234, BRAKE_HZ_S = 300000, SILENCE_MS = 500 };

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

/* Move (i) in all phases, the long ones in those that fall to this traffic. */
static unsigned measure_moves(enum traffic traffic)
{
    static const unsigned chosen[] = {0, 2, MOVE_TRAVEL};
    unsigned off = 0;
    for (unsigned m = 0; m < sizeof chosen / sizeof *chosen; m++) {
        const struct move *move = &MOVES[chosen[m]];
        struct stride strides[STRIDES_MOST];
        unsigned count = encode(move, strides);
        for (unsigned phase = m > 0 ? traffic : 0; phase<PHASES; phase += m> 0 ? TRAFFICS : 1) {
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

/* How often the main loop comes round in a while. */
static double passes_in(enum traffic traffic, uint64_t ticks)
{
    uint64_t from = board_avr_figures(host->board)->passes;
    uint64_t start = host->now;
    while (host->now < start + ticks) {
        if (traffic == IDLE) {
            host_run(host, BOARD_TICKS_PER_MS);
        } else {
            poll(traffic, 1);
        }
    }
    return (double)(board_avr_figures(host->board)->passes - from) / (double)(host->now - start);
}

/* The share of the processor that is not spent going round with nothing to do, with the link full:
 * in a leg of one stride that has been running for so long. */
static double measure_load(const struct stride *stride, uint64_t after_ticks)
{
    enum { WHILE_TICKS = 30 * BOARD_TICKS_PER_MS };
    sync_to(board_look(host->board).count);
    double idle = passes_in(IDLE, WHILE_TICKS);
    begin(stride, 1, 0, 0);
    host_run(host, after_ticks);
    double busy = passes_in(FULL, WHILE_TICKS);
    if (!board_look(host->board).moving || idle <= 0.0) {
        fail("the load was not measured in a motion");
    }
    finish(FULL, 1);
    return 100.0 * (1.0 - busy / idle);
}

/* At 27 682 steps/s, and around the smallest interval: a parabola from 400 ticks to 257 and back.
 */
static void print_loads(void)
{
    enum { STEPS = 8600, RISE = 143, DROP = (INT64_C(4) * RISE << 16) / STEPS, BEND = 1 };
    const struct stride travel = {578u << 16, 0, 0, 20000, STRIDE_REST};
    const struct stride quick = {400u << 16, -DROP, BEND, STEPS, STRIDE_REST};
    printf("firmware.load\t%.1f\t%%\n", measure_load(&travel, 100 * BOARD_TICKS_PER_MS));
    printf("firmware.load.most\t%.1f\t%%\n", measure_load(&quick, 65 * BOARD_TICKS_PER_MS));
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

/* --- Brakes: what each cause takes, at 27 682 steps/s --- */

enum {
    SPEED_TICKS = 578,
    SPEED_HZ = BOARD_TICK_HZ / SPEED_TICKS,
    NEEDS_STEPS = SPEED_HZ * SPEED_HZ / 2 / BRAKE_HZ_S + 1, /* v^2/2a, any mechanics textbook */
    BRAKES_MOST = NEEDS_STEPS + 2,
    SHORT_LEG = 3000, /* steps of a leg whose strides do not say that it ends */
    BOUND_AFTER = 100,
    QUIET_MS = 60,
    DEBOUNCE_US = 3000, /* 2 ms, and looks that are 1 ms apart */
};

/* What stops a motion. */
enum brake_kind { BY_LINE, BY_BYTE, BY_INPUT, BY_SILENCE, BY_UNDERRUN, BY_BOUND };

static const struct cause {
    const char *name;
    enum brake_kind kind;
    uint8_t why;
    uint8_t input;
    double most_us; /* from the cause to the edge at which the first braking interval begins */
    unsigned trials;
} CAUSES[] = {
    {"byte", BY_BYTE, LINK_WHY_BYTE, 0, 120, 24},
    {"frame", BY_LINE, LINK_WHY_BRAKE, 0, 800, 8}, /* it is read, behind an answer */
    {"stop", BY_INPUT, LINK_WHY_INPUT + 3, LINK_INPUT_STOP_CIRCUIT, 120, 8},
    {"top", BY_INPUT, LINK_WHY_INPUT + 0, LINK_INPUT_TOP_SWITCH, DEBOUNCE_US + 800, 4},
    {"bottom", BY_INPUT, LINK_WHY_INPUT + 1, LINK_INPUT_BOTTOM_SWITCH, DEBOUNCE_US + 800, 4},
    {"plate", BY_INPUT, LINK_WHY_INPUT + 2, LINK_INPUT_TOUCH_PLATE, DEBOUNCE_US + 800, 4},
    {"router", BY_INPUT, LINK_WHY_INPUT + 4, LINK_INPUT_ROUTER, DEBOUNCE_US + 800, 4},
    {"lock", BY_INPUT, LINK_WHY_INPUT + 5, LINK_INPUT_CARRIAGE_LOCK, DEBOUNCE_US + 800, 4},
    {"supply", BY_INPUT, LINK_WHY_INPUT + 6, LINK_INPUT_MOTOR_SUPPLY, DEBOUNCE_US + 800, 4},
    {"silence", BY_SILENCE, LINK_WHY_SILENCE, 0, 1800, 4},
    {"underrun", BY_UNDERRUN, LINK_WHY_UNDERRUN, 0, 250, 4},
    {"bounds", BY_BOUND, LINK_WHY_UNDERRUN, 0, 250, 4},
};

/* What brakes of one cause came to. */
struct brakes {
    unsigned wrong; /* told otherwise than it was */
    double worst_us;
    unsigned most_steps; /* from the edge at which the first braking interval begins */
    unsigned least_steps;
};

static bool runs_out(const struct cause *cause)
{
    return cause->kind == BY_UNDERRUN || cause->kind == BY_BOUND;
}

static void set_for(const struct cause *cause, int32_t before)
{
    const uint32_t all = (1u << LINK_INPUTS) - 1;
    int32_t high = cause->kind == BY_BOUND ? before + SHORT_LEG + BOUND_AFTER : INT32_MAX;
    HOST_SAY(host, LINK_SET, LINK_SET_BRAKE_RATE, BRAKE_HZ_S);
    HOST_SAY(host, LINK_SET, LINK_SET_INPUT_BRAKE, all);
    HOST_SAY(host, LINK_SET, LINK_SET_BOUND_HIGH, (uint32_t)high);
    HOST_SAY(host, LINK_SET, LINK_SET_SILENCE_MS,
             cause->kind == BY_SILENCE ? (uint32_t)QUIET_MS : (uint32_t)SILENCE_MS);
    sync_to(before);
}

/* Brings the cause about. Returns the tick at which it was there. */
static uint64_t bring_about(const struct cause *cause)
{
    switch (cause->kind) {
    case BY_LINE:
        HOST_SAY(host, LINK_BRAKE, epoch);
        break;
    case BY_BYTE:
        host_byte(host, LINK_BRAKE_BYTE);
        break;
    case BY_INPUT:
        board_levels(host->board, (uint16_t)(1u << cause->input));
        break;
    case BY_SILENCE:
        poll(FULL, 1);
        host_run(host, (uint64_t)(QUIET_MS - 2) * BOARD_TICKS_PER_MS);
        return host->now + (uint64_t)2 * BOARD_TICKS_PER_MS;
    default:
        while (host->edges < SHORT_LEG - 1) {
            host_run(host, SPEED_TICKS / 2);
        }
        return host->edge[SHORT_LEG - 2].tick + SPEED_TICKS; /* the last that was queued */
    }
    return host->now;
}

static void brake_once(const struct cause *cause, uint16_t state_at, struct brakes *b)
{
    enum { LATEST_MS = 10, REST_MS = 150 };
    const struct stride stride = {(uint32_t)SPEED_TICKS << 16, 0, 0,
                                  (uint16_t)(runs_out(cause) ? SHORT_LEG : 60000),
                                  runs_out(cause) ? 0 : STRIDE_REST};
    int32_t before = board_look(host->board).count;
    set_for(cause, before);
    begin(&stride, 1, 0, 0);
    host_run(host, 20 * BOARD_TICKS_PER_MS + draw(5000));
    if (draw(2) == 0) {
        poll(FULL, 1); /* it is busy with the answers */
    }
    uint64_t caused = bring_about(cause);
    while (board_avr_peek(host->board, state_at) == LINK_STATE_RUNNING &&
           host->now < caused + (uint64_t)LATEST_MS * BOARD_TICKS_PER_MS) {
        host_run(host, 1);
    }
    size_t first = host->edges - (runs_out(cause) ? 1 : 0); /* else the armed one */
    host_run(host, REST_MS * BOARD_TICKS_PER_MS);
    board_levels(host->board, 0);
    host_run(host, 10 * BOARD_TICKS_PER_MS);
    const struct link_line *stopped = host_last(host, LINK_STOPPED, 0);
    b->wrong += !stopped || stopped->value[1] != cause->why ||
                (int32_t)stopped->value[2] != before + (int32_t)host->edges;
    double us = ((double)host->edge[first].tick - (double)caused) / 16.0;
    unsigned steps = (unsigned)(host->edges - first - 1);
    b->worst_us = us > b->worst_us ? us : b->worst_us;
    b->most_steps = steps > b->most_steps ? steps : b->most_steps;
    b->least_steps = steps < b->least_steps ? steps : b->least_steps;
}

/* Returns how many were wrong, and in *over how far one was longer than it may be. */
static unsigned print_cause(const struct cause *cause, uint16_t state_at, unsigned *over)
{
    char name[64];
    struct brakes b = {.least_steps = UINT32_MAX};
    unsigned most = cause->kind == BY_BOUND ? BOUND_AFTER : BRAKES_MOST;
    for (unsigned trial = 0; trial < cause->trials; trial++) {
        brake_once(cause, state_at, &b);
    }
    (void)snprintf(name, sizeof name, "brake.%s.us", cause->name);
    print_most(name, b.worst_us, "us", cause->most_us);
    (void)snprintf(name, sizeof name, "brake.%s.steps", cause->name);
    print_most(name, b.most_steps, "steps", most);
    /* Nor may it stop too hard: in much fewer steps than the brake rate asks for, but for those
     * that went by while it was prepared. */
    if (b.least_steps + 20 < most) {
        fail("a brake was too short");
    }
    unsigned needs = cause->kind == BY_BOUND ? BOUND_AFTER : NEEDS_STEPS;
    *over = b.most_steps > needs + *over ? b.most_steps - needs : *over;
    return b.wrong;
}

static void print_brakes(void)
{
    const struct stride stride = {(uint32_t)SPEED_TICKS << 16, 0, 0, 60000, STRIDE_REST};
    uint16_t state_at = find_state(&stride, 1);
    unsigned wrong = 0;
    unsigned over = 0;
    for (size_t i = 0; i < sizeof CAUSES / sizeof *CAUSES; i++) {
        wrong += print_cause(&CAUSES[i], state_at, &over);
    }
    print_most("brake.wrong", wrong, "brakes", 0);
    print_most("brake.over", over, "steps", 2);
}

static void print_paths(void)
{
    enum { RAM = 2048 };
    static const char *const path[] = {"cycles.plain", "cycles.brake", "cycles.load"};
    static const double most[] = {215, 420, 330};
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
    print_most("flash", board_avr_flash_used(host->board), "bytes", 8192);
    print_most("ram", ram, "bytes", 1536);
}

int main(void)
{
    /* The second is every edge that is neither: the brake, the end of a leg, slow strides. */
    static const char *const names[] = {"__vector_plain", "__vector_other", "edge_loads"};
    host = host_open(ID, 1);
    if (!host || !board_avr_handlers(host->board, names, sizeof names / sizeof *names)) {
        fail("no firmware");
    }
    host_set_all(host, SILENCE_MS);
    board_avr_clear(host->board);
    for (enum traffic traffic = IDLE; traffic < TRAFFICS; traffic++) {
        print_most(traffic_name[traffic], measure_moves(traffic), "edges", 0);
    }
    unsigned ticks = quickest();
    print_least("rate.max", ticks > 0 ? 16e6 / ticks : 0.0, "steps/s", 60000);
    print_loads();
    print_brakes();
    print_paths();
    host_close(host);
    return missed ? EXIT_FAILURE : EXIT_SUCCESS;
}
