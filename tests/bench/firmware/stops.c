/* SPDX-License-Identifier: MIT */
/* What stops a motion, at 27 682 steps/s or more: how long each cause takes until the first braking
 * interval begins, how many steps from there, and whether what is told of it is true. */
#include <stddef.h>
#include <stdio.h>

#include "tests/bench/firmware/common.h"

enum {
    /* The quickest that the daemon plans: the smallest first interval, and its encoder's tolerance
     * at both ends (encode_rate_max_hz). */
    PLANNED_TICKS = GENERATOR_FIRST_MIN_TICKS + 8,
    SHORT_LEG = 3000, /* steps of a leg whose strides do not say that it ends */
    BOUND_AFTER = 100,
    QUIET_MS = 60,
    DEBOUNCE_US = 3000, /* 2 ms, and looks that are 1 ms apart */
    LATEST_MS = 10,
    REST_MS = 150,
};

enum kind { BY_LINE, BY_BYTE, BY_INPUT, BY_SILENCE, BY_UNDERRUN, BY_BOUND };

static const struct cause {
    const char *name;
    enum kind kind;
    uint8_t why;
    double most_us;
    unsigned trials;
    uint32_t speed_ticks; /* 0: BENCH_SPEED_TICKS */
} CAUSES[] = {
    {"byte", BY_BYTE, LINK_WHY_BYTE, 120, 100, 0},
    {"quick", BY_BYTE, LINK_WHY_BYTE, 120, 40, PLANNED_TICKS},
    {"frame", BY_LINE, LINK_WHY_BRAKE, 800, 12, 0}, /* it is read, behind an answer */
    {"stop", BY_INPUT, LINK_WHY_INPUT + LINK_INPUT_STOP_CIRCUIT, 120, 120, 0},
    {"top", BY_INPUT, LINK_WHY_INPUT + LINK_INPUT_TOP_SWITCH, DEBOUNCE_US + 800, 6, 0},
    {"bottom", BY_INPUT, LINK_WHY_INPUT + LINK_INPUT_BOTTOM_SWITCH, DEBOUNCE_US + 800, 6, 0},
    {"plate", BY_INPUT, LINK_WHY_INPUT + LINK_INPUT_TOUCH_PLATE, DEBOUNCE_US + 800, 6, 0},
    {"router", BY_INPUT, LINK_WHY_INPUT + LINK_INPUT_ROUTER, DEBOUNCE_US + 800, 6, 0},
    {"lock", BY_INPUT, LINK_WHY_INPUT + LINK_INPUT_CARRIAGE_LOCK, DEBOUNCE_US + 800, 6, 0},
    {"supply", BY_INPUT, LINK_WHY_INPUT + LINK_INPUT_MOTOR_SUPPLY, DEBOUNCE_US + 800, 6, 0},
    {"silence", BY_SILENCE, LINK_WHY_SILENCE, 1800, 6, 0},
    {"underrun", BY_UNDERRUN, LINK_WHY_UNDERRUN, 250, 6, 0},
    {"bounds", BY_BOUND, LINK_WHY_UNDERRUN, 250, 6, 0},
};

/* What the trials of one cause, or of all, have come to. */
struct worst {
    unsigned wrong_why;
    unsigned wrong_rest;
    unsigned wrong_latched;
    unsigned ran_after; /* edges before a new sync */
    double us;
    unsigned steps; /* between the cause and the first braking interval */
    unsigned rest_most;
    unsigned rest_least;
};

static uint32_t speed_ticks(const struct cause *cause)
{
    return cause->speed_ticks > 0 ? cause->speed_ticks : (uint32_t)BENCH_SPEED_TICKS;
}

/* v^2/2a, any mechanics textbook. */
static unsigned needs_steps(const struct cause *cause)
{
    uint64_t hz = BOARD_TICK_HZ / speed_ticks(cause);
    return (unsigned)(hz * hz / 2 / BENCH_BRAKE_HZ_S) + 1;
}

static bool runs_out(const struct cause *cause)
{
    return cause->kind == BY_UNDERRUN || cause->kind == BY_BOUND;
}

static void set_for(struct bench *bench, const struct cause *cause)
{
    struct host *host = bench->host;
    int32_t before = board_look(host->board).count;
    int32_t high = cause->kind == BY_BOUND ? before + SHORT_LEG + BOUND_AFTER : INT32_MAX;
    HOST_SAY(host, LINK_SET, LINK_SET_INPUT_BRAKE, (1u << LINK_INPUTS) - 1);
    HOST_SAY(host, LINK_SET, LINK_SET_BOUND_HIGH, (uint32_t)high);
    HOST_SAY(host, LINK_SET, LINK_SET_SILENCE_MS,
             cause->kind == BY_SILENCE ? (uint32_t)QUIET_MS : (uint32_t)BENCH_SILENCE_MS);
    bench_sync(bench);
}

/* Brings the cause about. Returns the tick at which it was there. */
static uint64_t bring_about(struct bench *bench, const struct cause *cause)
{
    struct host *host = bench->host;
    switch (cause->kind) {
    case BY_LINE:
        HOST_SAY(host, LINK_BRAKE, bench->epoch);
        break;
    case BY_BYTE:
        host_byte(host, LINK_BRAKE_BYTE);
        break;
    case BY_INPUT:
        board_levels(host->board, (uint16_t)(1u << (cause->why - LINK_WHY_INPUT)));
        break;
    case BY_SILENCE:
        bench_poll(bench, BENCH_FULL, 1);
        /* Its milliseconds have begun before: they are over up to one sooner. */
        host_run(host, (uint64_t)(QUIET_MS - 1) * BOARD_TICKS_PER_MS);
        break;
    default:
        while (host->edges < SHORT_LEG - 1) {
            host_run(host, BENCH_SPEED_TICKS / 2);
        }
        return host->edge[SHORT_LEG - 2].tick + BENCH_SPEED_TICKS; /* the last that was queued */
    }
    return host->now;
}

/* The generator as it stands in the microcontroller's memory. Its first members lie there as they
 * do here: each is aligned by its own size anyway. */
static uint8_t peek(const struct bench *bench, size_t member)
{
    uint32_t address;
    uint32_t size;
    _Static_assert(offsetof(struct generator, brake_made) == 25, "nothing is put between");
    if (!board_avr_symbol(bench->host->board, "the_generator", &address, &size)) {
        bench_fail("no generator in the firmware");
    }
    return board_avr_peek(bench->host->board, (uint16_t)(address + member));
}

/* Until the brake has taken over: the edge that is armed then begins its first interval. Returns
 * the edges made, without that one. */
static size_t await_brake(struct bench *bench, uint64_t caused)
{
    enum { SETTLE_TICKS = 100 }; /* a queue run empty brakes at once, but its brake is to be made */
    struct host *host = bench->host;
    uint64_t end = caused + (uint64_t)LATEST_MS * BOARD_TICKS_PER_MS;
    while (peek(bench, offsetof(struct generator, state)) == LINK_STATE_RUNNING &&
           host->now < end) {
        host_run(host, 1);
    }
    size_t made = host->edges;
    bool waits = !peek(bench, offsetof(struct generator, brake_made));
    for (int i = 0; i < SETTLE_TICKS && !waits; i++) {
        waits = !peek(bench, offsetof(struct generator, brake_made));
        host_run(host, waits ? 0 : 1);
    }
    while (waits && !peek(bench, offsetof(struct generator, brake_made)) && host->now < end) {
        host_run(host, 1);
        made = host->edges;
    }
    return made;
}

/* Strides and a BEGIN that were under way when it stopped. */
static unsigned try_to_run(struct bench *bench)
{
    struct host *host = bench->host;
    const struct stride stride = {1000u << 16, 0, 0, 10, STRIDE_REST};
    size_t edges = host->edges;
    host_stride(host, &stride, 1);
    HOST_SAY(host, LINK_BEGIN, bench->epoch, 1, 0);
    host_run(host, (uint64_t)10 * BOARD_TICKS_PER_MS);
    return (unsigned)(host->edges - edges);
}

static void note_told(const struct bench *bench, const struct cause *cause, int32_t before,
                      size_t caused_edges, size_t braked_edges, struct worst *worst)
{
    const struct host *host = bench->host;
    const struct link_line *stopped = host_last(host, LINK_STOPPED, 0);
    if (!stopped) {
        worst->wrong_why++;
        return;
    }
    int32_t latched = (int32_t)stopped->value[3] - before;
    worst->wrong_why += stopped->value[1] != cause->why;
    worst->wrong_rest += (int32_t)stopped->value[2] != before + (int32_t)host->edges ||
                         board_look(host->board).count != before + (int32_t)host->edges;
    worst->wrong_latched += latched < (int32_t)caused_edges || latched > (int32_t)braked_edges ||
                            (runs_out(cause) && latched != SHORT_LEG);
}

static void note_times(const struct bench *bench, uint64_t caused, size_t caused_edges,
                       size_t braked_edges, struct worst *worst)
{
    const struct host *host = bench->host;
    if (host->edges <= braked_edges) {
        bench_fail("a brake made no step");
    }
    double us = ((double)host->edge[braked_edges].tick - (double)caused) / 16.0;
    unsigned steps = (unsigned)(braked_edges - caused_edges);
    unsigned rest = (unsigned)(host->edges - braked_edges - 1);
    worst->us = us > worst->us ? us : worst->us;
    worst->steps = steps > worst->steps ? steps : worst->steps;
    worst->rest_most = rest > worst->rest_most ? rest : worst->rest_most;
    worst->rest_least = rest < worst->rest_least ? rest : worst->rest_least;
}

static void brake_once(struct bench *bench, const struct cause *cause, struct worst *worst)
{
    struct host *host = bench->host;
    const struct stride stride = {speed_ticks(cause) << 16, 0, 0,
                                  (uint16_t)(runs_out(cause) ? SHORT_LEG : 60000),
                                  runs_out(cause) ? 0 : STRIDE_REST};
    set_for(bench, cause);
    int32_t before = board_look(host->board).count;
    bench_begin(bench, &stride, 1, 0);
    host_run(host, (uint64_t)20 * BOARD_TICKS_PER_MS + bench_draw(bench, 5000));
    if (bench_draw(bench, 2) == 0) {
        bench_poll(bench, BENCH_FULL, 1); /* it is busy with the answers */
    }
    uint64_t caused = bring_about(bench, cause);
    size_t caused_edges = runs_out(cause) ? SHORT_LEG : host->edges;
    size_t braked_edges = await_brake(bench, caused);
    host_run(host, (uint64_t)REST_MS * BOARD_TICKS_PER_MS);
    note_told(bench, cause, before, caused_edges, braked_edges, worst);
    note_times(bench, caused, caused_edges, braked_edges, worst);
    worst->ran_after += try_to_run(bench);
    board_levels(host->board, 0);
    host_run(host, (uint64_t)10 * BOARD_TICKS_PER_MS);
}

static void print_cause(struct bench *bench, const struct cause *cause, const struct worst *worst)
{
    char name[64];
    bool bound = cause->kind == BY_BOUND;
    (void)snprintf(name, sizeof name, "brake.%s.us", cause->name);
    bench_most(bench, name, worst->us, "us", cause->most_us);
    (void)snprintf(name, sizeof name, "brake.%s.steps", cause->name);
    bench_print(name, worst->steps, "steps");
    (void)snprintf(name, sizeof name, "brake.%s.rest", cause->name);
    bench_most(bench, name, worst->rest_most, "steps",
               bound ? BOUND_AFTER : needs_steps(cause) + 2);
    /* Nor may it stop too hard, but where the bound is too near. */
    if (!bound) {
        (void)snprintf(name, sizeof name, "brake.%s.rest.least", cause->name);
        bench_least(bench, name, worst->rest_least, "steps", needs_steps(cause) - 10);
    }
}

void bench_stops(struct bench *bench)
{
    struct worst all = {.wrong_why = 0};
    for (size_t i = 0; i < sizeof CAUSES / sizeof *CAUSES; i++) {
        struct worst worst = {.rest_least = UINT32_MAX};
        for (unsigned trial = 0; trial < CAUSES[i].trials; trial++) {
            brake_once(bench, &CAUSES[i], &worst);
        }
        print_cause(bench, &CAUSES[i], &worst);
        if (i == 0) {
            bench_most(bench, "brake.us", worst.us, "us", CAUSES[i].most_us);
        }
        all.wrong_why += worst.wrong_why;
        all.wrong_rest += worst.wrong_rest;
        all.wrong_latched += worst.wrong_latched;
        all.ran_after += worst.ran_after;
    }
    bench_most(bench, "brake.wrong.why", all.wrong_why, "stops", 0);
    bench_most(bench, "brake.wrong.rest", all.wrong_rest, "stops", 0);
    bench_most(bench, "brake.wrong.latched", all.wrong_latched, "stops", 0);
    bench_most(bench, "brake.ran.after", all.ran_after, "steps", 0);
}
