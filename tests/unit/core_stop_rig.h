/* SPDX-License-Identifier: MIT */
/*
 * The step generator's core on a virtual timer, for the tests of its stops: a move as the daemon
 * encodes it, run edge by edge, and what its stop must be.
 */
#ifndef REGLET_TESTS_UNIT_CORE_STOP_RIG_H
#define REGLET_TESTS_UNIT_CORE_STOP_RIG_H

#include <check.h>
#include <inttypes.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "contrib/stepgen/core.h"
#include "daemon/motion/encode.h"
#include "daemon/motion/profile.h"
#include "tests/seed.h"
#include "tests/unit/core_tell.h"

enum {
    TICK_HZ = 16000000,
    MS = TICK_HZ / 1000,
    INSIDE_MIN = GENERATOR_INSIDE_MIN_TICKS,
    FIRST_MIN = GENERATOR_FIRST_MIN_TICKS
};
enum { STRIDES_MAX = 512, SPAN = 5, POLL_MS = 25, SILENCE_MS = 100, DEBOUNCE_MS = 5 };
enum { STOP_BIT = 1 << LINK_INPUT_STOP_CIRCUIT, TOP_BIT = 1 << LINK_INPUT_TOP_SWITCH };

struct rig {
    struct generator g;
    struct link_reader reader;
    struct link_line stopped;
    uint64_t now;
    uint64_t begun_at;
    uint64_t edge_at;
    uint64_t made_at[SPAN]; /* the last edges, at their number modulo SPAN */
    uint64_t ms_at;
    int32_t count; /* of the edges seen here */
    uint32_t edges;
    uint32_t interval; /* ticks to the armed edge from the one before */
    uint32_t unsteady; /* intervals shorter than the one before, while braking */
    uint16_t levels;
    unsigned fed;   /* strides sent */
    unsigned limit; /* strides that will be sent at all */
    unsigned ahead; /* strides kept in the queue */
    unsigned stops;
    unsigned ends;
    bool armed;
    bool polls;
};

/* A move: what is asked for, its ideal course and its strides. */
struct move {
    double steps;
    double rate_hz;
    double rise_hz_s;
};

static struct rig rig;
static struct profile profile;
static struct stride strides[STRIDES_MAX];
static unsigned stride_count;
static double brake_hz_s;

static inline void hear(const struct link_line *line)
{
    if (line->word == LINK_STOPPED) {
        rig.stops++;
        rig.stopped = *line;
    }
    rig.ends += line->word == LINK_ENDED;
}

static inline void settle(void)
{
    if (generator_start(&rig.g)) {
        rig.armed = true;
        rig.begun_at = rig.now;
        rig.edge_at = rig.now + rig.g.interval;
        rig.interval = rig.g.interval;
    }
    struct link_line line;
    for (int byte; (byte = generator_send(&rig.g)) >= 0;)
        if (link_reader_byte(&rig.reader, (uint8_t)byte, &line) == LINK_GOT_LINE)
            hear(&line);
}

static inline void tell_line(const struct link_line *line)
{
    char text[LINK_LINE_MAX];
    uint8_t size = link_write(line, text);
    for (uint8_t i = 0; i < size; i++)
        generator_byte(&rig.g, (uint8_t)text[i]);
    settle();
}

static inline void feed(void)
{
    while (rig.fed < rig.limit && generator_queued(&rig.g) < rig.ahead &&
           (rig.g.state == LINK_STATE_STILL || rig.g.state == LINK_STATE_RUNNING)) {
        tell_stride(&strides[rig.fed], rig.fed);
        rig.fed++;
    }
}

static inline void make_edge(void)
{
    rig.now = rig.edge_at;
    rig.count += rig.g.down ? -1 : 1;
    rig.made_at[rig.edges++ % SPAN] = rig.now;
    uint32_t ticks = generator_edge(&rig.g);
    rig.armed = ticks > 0;
    rig.edge_at += ticks;
    rig.unsteady += rig.armed && rig.g.state == LINK_STATE_BRAKING && ticks < rig.interval;
    rig.interval = ticks;
    feed();
}

static inline void make_millisecond(void)
{
    rig.now = rig.ms_at;
    rig.ms_at += MS;
    generator_millisecond(&rig.g, rig.levels);
    if (rig.polls && rig.now / MS % POLL_MS == 0)
        TELL(LINK_POLL, rig.g.epoch, (uint8_t)(rig.g.taken + 1), 0);
    settle();
}

/* The next thing that happens. */
static inline void pass_one(void)
{
    if (rig.armed && rig.edge_at <= rig.ms_at)
        make_edge();
    else
        make_millisecond();
}

static inline void pass_until(uint64_t end)
{
    while ((rig.armed && rig.edge_at <= rig.ms_at ? rig.edge_at : rig.ms_at) <= end)
        pass_one();
    rig.now = end;
    settle();
}

static inline void pass_to_rest(void)
{
    while (rig.armed)
        pass_one();
    settle();
}

/* --- Moves --- */

static inline void encode(const struct move *move, bool down)
{
    static const struct encode_limits limits = {TICK_HZ, 4.0, INSIDE_MIN, FIRST_MIN};
    struct profile_request asked = {.steps = move->steps,
                                    .rate_hz = move->rate_hz,
                                    .rise_hz_s = move->rise_hz_s,
                                    .fall_hz_s = move->rise_hz_s};
    struct encoder encoder;
    ck_assert(profile_plan(&profile, &asked));
    encoder_init(&encoder, &profile, &limits, down);
    stride_count = 0;
    while (encoder_next(&encoder, &strides[stride_count]) == ENCODE_STRIDE) {
        stride_count++;
        ck_assert_uint_lt(stride_count, STRIDES_MAX);
    }
    ck_assert(strides[stride_count - 1].flags & STRIDE_REST);
    brake_hz_s = move->rise_hz_s / 0.8; /* plans use 0.8 of what the motor bears */
}

/* The bounds are the two ends of the move: a step beyond either is a step out of them. */
static inline void begin(unsigned ahead, unsigned limit)
{
    static const struct generator_board board = {
        .id = 1, .boot = 1, .tick_hz = TICK_HZ, .inputs_present = STOP_BIT | TOP_BIT};
    int32_t end = (int32_t)profile.asked.steps;
    bool down = strides[0].flags & STRIDE_DOWN;
    memset(&rig, 0, sizeof rig);
    generator_init(&rig.g);
    rig.g.board = board;
    rig.ms_at = MS;
    rig.polls = true;
    rig.ahead = ahead;
    rig.limit = limit;
    TELL(LINK_SET, LINK_SET_BRAKE_RATE, (uint32_t)brake_hz_s);
    TELL(LINK_SET, LINK_SET_BOUND_LOW, down ? (uint32_t)-end : 0);
    TELL(LINK_SET, LINK_SET_BOUND_HIGH, down ? 0 : (uint32_t)end);
    TELL(LINK_SET, LINK_SET_INPUT_INVERT, 0);
    TELL(LINK_SET, LINK_SET_INPUT_BRAKE, STOP_BIT);
    TELL(LINK_SET, LINK_SET_DEBOUNCE_MS, DEBOUNCE_MS);
    TELL(LINK_SET, LINK_SET_SILENCE_MS, SILENCE_MS);
    TELL(LINK_SYNC, 1, 0);
    feed();
    TELL(LINK_BEGIN, 1, 0, LINK_INPUT_TOP_SWITCH + 1);
    ck_assert(rig.armed);
    feed();
}

/* How fast it runs: by the ideal profile, and by the last edges. Edges may stand 4 ticks beside the
 * profile, so that near a corner their rate is one that the profile has some steps away. */
struct speed {
    double least_hz;
    double most_hz;
};

static inline struct speed speed_at(double position_steps)
{
    double ideal_hz = profile_rate_hz(&profile, position_steps);
    struct speed speed = {ideal_hz, ideal_hz};
    if (rig.edges >= SPAN) {
        uint64_t ticks = rig.made_at[(rig.edges - 1) % SPAN] - rig.made_at[rig.edges % SPAN];
        double made_hz = (double)(SPAN - 1) * TICK_HZ / (double)ticks;
        speed.least_hz = fmin(ideal_hz, made_hz);
        speed.most_hz = fmax(ideal_hz, made_hz);
    }
    return speed;
}

static inline struct speed speed_now(void)
{
    double time_s = (double)(rig.now - rig.begun_at) / TICK_HZ;
    return speed_at(profile_position_steps(&profile, time_s));
}

static const struct move long_moves[] = {
    {318, 8000, 80000}, {48000, 13840, 120000}, {96000, 27680, 240000}};

/* --- What a stop must be --- */

static inline double steps_to_rest(double rate_hz)
{
    return rate_hz * rate_hz / 2.0 / brake_hz_s;
}

/* It has been told to stop at that speed and at the count `latched`, and `edges` had been made
 * before the first braking interval. */
static inline void check_rest(struct speed speed, uint8_t why, int32_t latched, uint32_t edges)
{
    double most = ceil(steps_to_rest(speed.most_hz)) + 2.0;
    double least = steps_to_rest(speed.least_hz) - 3.0;
    pass_to_rest();
    uint32_t took = rig.edges - edges;
    ck_assert_msg(took <= most && took >= least, "%u steps to rest from %.1f..%.1f steps/s", took,
                  speed.least_hz, speed.most_hz);
    int32_t planned = (int32_t)profile.asked.steps;
    ck_assert_int_le(abs(rig.count), planned);
    ck_assert_int_ge(rig.count * (rig.g.down ? -1 : 1), 0);
    ck_assert_int_eq(generator_count(&rig.g), rig.count);
    ck_assert_uint_eq(rig.unsteady, 0);
    ck_assert_uint_eq(rig.g.state, LINK_STATE_ADRIFT);
    ck_assert_uint_eq(rig.stops, 1);
    ck_assert_uint_eq(rig.ends, 0);
    ck_assert_uint_eq(rig.stopped.value[1], why);
    ck_assert_int_eq((int32_t)rig.stopped.value[2], rig.count);
    ck_assert_int_eq((int32_t)rig.stopped.value[3], latched);
}

/* Nothing more moves, whatever was on its way; a new sync makes it run again. */
static inline void check_for_good(void)
{
    uint32_t edges = rig.edges;
    for (unsigned i = 0; i < 3; i++) {
        unsigned next = (uint8_t)(rig.g.taken + 1) + i;
        tell_stride(&strides[next % stride_count], next);
    }
    TELL(LINK_BEGIN, 1, (uint8_t)(rig.g.taken + 1), 0);
    TELL(LINK_BEGIN, 1, rig.g.taken, 0);
    pass_until(rig.now + 2 * POLL_MS * MS);
    ck_assert_uint_eq(rig.edges, edges);
    ck_assert(!rig.armed);
    ck_assert_uint_ge(rig.stops, 2); /* polls repeat it */
    rig.levels = 0;
    pass_until(rig.now + (DEBOUNCE_MS + 2) * MS);
    TELL(LINK_SYNC, 2, (uint32_t)rig.count);
    int32_t home = rig.count;
    bool down = home > 0;
    struct stride stride = {.interval = 2 * MS << STRIDE_SLOW_BITS, .steps = 1};
    stride.flags = (uint8_t)(STRIDE_SLOW | STRIDE_REST | (down ? STRIDE_DOWN : 0));
    if (rig.g.setting[LINK_SET_BOUND_HIGH] == 0 && home == 0)
        stride.flags |= STRIDE_DOWN;
    tell_stride(&stride, 0);
    TELL(LINK_BEGIN, 2, 0, 0);
    pass_to_rest();
    ck_assert_uint_eq(rig.edges, edges + 1);
    ck_assert_uint_eq(rig.ends, 1);
}

#endif
