/* SPDX-License-Identifier: MIT */
/*
 * Stop at any instant: real moves, as the daemon encodes them, are stopped at thousands of moments
 * and must come to rest as uniformly accelerated motion says, v^2/2a (any mechanics textbook),
 * with an exact count, short of the planned end, and for good.
 */
#include <check.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "contrib/stepgen/core.h"
#include "daemon/motion/encode.h"
#include "daemon/motion/profile.h"

enum { TICK_HZ = 16000000, MS = TICK_HZ / 1000, INSIDE_MIN = 266, FIRST_MIN = 330 };
enum {
    STRIDES_MAX = 512,
    INSTANTS = 1000,
    SPAN = 5,
    POLL_MS = 25,
    SILENCE_MS = 100,
    DEBOUNCE_MS = 5
};
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
static uint64_t seed;
static uint64_t state;

/* splitmix64 (public domain algorithm). */
static uint64_t next_random(void)
{
    uint64_t z = (state += UINT64_C(0x9e3779b97f4a7c15));
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static uint64_t below(uint64_t limit)
{
    return next_random() % limit;
}

/* --- The rig --- */

static void hear(const struct link_line *line)
{
    if (line->word == LINK_STOPPED) {
        rig.stops++;
        rig.stopped = *line;
    }
    rig.ends += line->word == LINK_ENDED;
}

static void settle(void)
{
    uint32_t ticks;
    if (generator_start(&rig.g, &ticks)) {
        rig.armed = true;
        rig.begun_at = rig.now;
        rig.edge_at = rig.now + ticks;
        rig.interval = ticks;
    }
    struct link_line line;
    for (int byte; (byte = generator_send(&rig.g)) >= 0;)
        if (link_reader_byte(&rig.reader, (uint8_t)byte, &line) == LINK_GOT_LINE)
            hear(&line);
}

static void tell_line(const struct link_line *line)
{
    char text[LINK_LINE_MAX];
    uint8_t size = link_write(line, text);
    for (uint8_t i = 0; i < size; i++)
        generator_byte(&rig.g, (uint8_t)text[i]);
    settle();
}

static void tell_values(uint8_t word, const uint32_t *value)
{
    struct link_line line = {.word = word, .count = link_values(word)};
    memcpy(line.value, value, line.count * sizeof *value);
    tell_line(&line);
}

#define TELL(word, ...) tell_values(word, (uint32_t[LINK_VALUES_MAX]){__VA_ARGS__})

static void tell_stride(const struct stride *stride, unsigned sequence)
{
    struct link_line line;
    link_stride_line(stride, (uint8_t)sequence, &line);
    tell_line(&line);
}

static void feed(void)
{
    while (rig.fed < rig.limit && generator_queued(&rig.g) < rig.ahead &&
           (rig.g.state == LINK_STATE_STILL || rig.g.state == LINK_STATE_RUNNING)) {
        tell_stride(&strides[rig.fed], rig.fed);
        rig.fed++;
    }
}

static void make_edge(void)
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

static void make_millisecond(void)
{
    rig.now = rig.ms_at;
    rig.ms_at += MS;
    generator_millisecond(&rig.g, rig.levels);
    if (rig.polls && rig.now / MS % POLL_MS == 0)
        TELL(LINK_POLL, rig.g.epoch, (uint8_t)(rig.g.taken + 1), 0);
    settle();
}

/* The next thing that happens. */
static void pass_one(void)
{
    if (rig.armed && rig.edge_at <= rig.ms_at)
        make_edge();
    else
        make_millisecond();
}

static void pass_until(uint64_t end)
{
    while ((rig.armed && rig.edge_at <= rig.ms_at ? rig.edge_at : rig.ms_at) <= end)
        pass_one();
    rig.now = end;
    settle();
}

static void pass_to_rest(void)
{
    while (rig.armed)
        pass_one();
    settle();
}

/* --- Moves --- */

static void encode(const struct move *move, bool down)
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

/* The same edges as strides of one step each, so that any of them can be the last one queued. */
static void split_strides(void)
{
    static struct stride whole[STRIDES_MAX];
    unsigned count = stride_count;
    memcpy(whole, strides, sizeof whole);
    stride_count = 0;
    for (unsigned i = 0; i < count; i++) {
        struct stride_run run;
        stride_run_start(&run, &whole[i]);
        while (run.steps_left > 0) {
            uint32_t ticks = stride_run_next(&run);
            bool last = run.steps_left == 0 && whole[i].flags & STRIDE_REST;
            strides[stride_count++] =
                (struct stride){.interval = ticks << STRIDE_SLOW_BITS,
                                .steps = 1,
                                .flags = (uint8_t)((whole[i].flags & STRIDE_DOWN) | STRIDE_SLOW |
                                                   (last ? STRIDE_REST : 0))};
            ck_assert_uint_lt(stride_count, STRIDES_MAX);
        }
    }
}

/* The bounds are the two ends of the move: a step beyond either is a step out of them. */
static void begin(unsigned ahead, unsigned limit)
{
    static const struct generator_board board = {.id = 1,
                                                 .boot = 1,
                                                 .tick_hz = TICK_HZ,
                                                 .inside_min_ticks = INSIDE_MIN,
                                                 .first_min_ticks = FIRST_MIN,
                                                 .inputs_present = STOP_BIT | TOP_BIT};
    int32_t end = (int32_t)profile.asked.steps;
    bool down = strides[0].flags & STRIDE_DOWN;
    memset(&rig, 0, sizeof rig);
    generator_init(&rig.g, &board);
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

static struct speed speed_at(double position_steps)
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

static struct speed speed_now(void)
{
    double time_s = (double)(rig.now - rig.begun_at) / TICK_HZ;
    return speed_at(profile_position_steps(&profile, time_s));
}

/* --- What a stop must be --- */

static double steps_to_rest(double rate_hz)
{
    return rate_hz * rate_hz / 2.0 / brake_hz_s;
}

/* It has been told to stop at that speed and at the count `latched`, and `edges` had been made
 * before the first braking interval. */
static void check_rest(struct speed speed, uint8_t why, int32_t latched, uint32_t edges)
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
static void check_for_good(void)
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

static uint8_t cause_stop(unsigned cause)
{
    switch (cause % 3) {
    case 0:
        generator_byte(&rig.g, LINK_BRAKE_BYTE);
        return LINK_WHY_BYTE;
    case 1:
        TELL(LINK_BRAKE, 1);
        return LINK_WHY_BRAKE;
    default:
        rig.levels |= STOP_BIT;
        generator_stop_circuit(&rig.g, true);
        return LINK_WHY_INPUT + LINK_INPUT_STOP_CIRCUIT;
    }
}

static int earlier(const void *a, const void *b)
{
    const uint64_t *x = a;
    const uint64_t *y = b;
    return (*x > *y) - (*x < *y);
}

/* Runs the move once, and at each of `count` instants stops a copy of it. Half of the instants are
 * even in time, a quarter right at an edge or a tick before it, a quarter among the last steps. */
static void stop_at_instants(unsigned count, unsigned ahead)
{
    static uint64_t at[INSTANTS];
    static struct rig going_on;
    uint64_t total = (uint64_t)(profile.total_s * TICK_HZ);
    for (unsigned i = 0; i < count; i++)
        at[i] = i % 4 == 3 ? total - below(1 + total / (1 + below(300))) : below(total);
    qsort(at, count, sizeof *at, earlier);
    begin(ahead, stride_count);
    for (unsigned i = 0; i < count; i++) {
        if (rig.begun_at + at[i] > rig.now)
            pass_until(rig.begun_at + at[i]);
        if (rig.armed && i % 4 == 1)
            pass_until(rig.edge_at - below(2));
        if (!rig.armed)
            break;
        going_on = rig;
        struct speed speed = speed_now();
        int32_t latched = rig.count;
        uint8_t why = cause_stop(i);
        check_rest(speed, why, latched, going_on.edges + 1);
        check_for_good();
        rig = going_on;
    }
    pass_to_rest();
    ck_assert_int_eq(abs(rig.count), (int32_t)profile.asked.steps);
    ck_assert_uint_eq(rig.ends, 1);
    ck_assert_uint_eq(rig.stops, 0);
}

static const struct move long_moves[] = {
    {318, 8000, 80000}, {48000, 13840, 120000}, {96000, 27680, 240000}};

START_TEST(a_long_move_stops_at_any_instant)
{
    state = seed;
    const struct move *move = &long_moves[_i / 4];
    encode(move, _i % 2);
    stop_at_instants(INSTANTS, _i / 2 % 2 ? GENERATOR_QUEUE : 1);
}
END_TEST

START_TEST(a_short_move_stops_at_any_instant)
{
    state = seed;
    for (unsigned steps = 1; steps <= 40; steps++) {
        struct move move = {steps, 8000, 80000};
        encode(&move, steps % 2);
        stop_at_instants(40, GENERATOR_QUEUE);
        split_strides();
        stop_at_instants(40, GENERATOR_QUEUE);
        stop_at_instants(40, 1); /* the last one not yet queued */
    }
}
END_TEST

START_TEST(a_queue_run_empty_brakes_from_the_last_step)
{
    state = seed;
    for (unsigned trial = 0; trial < 3 * 40; trial++) {
        encode(&long_moves[trial % 3], trial / 3 % 2);
        if (trial % 3 == 0)
            split_strides();
        unsigned limit = 1 + (unsigned)below(stride_count - 1);
        uint32_t steps = 0;
        for (unsigned i = 0; i < limit; i++)
            steps += strides[i].steps;
        begin(GENERATOR_QUEUE, limit);
        while (rig.edges < steps)
            pass_one();
        int32_t latched = rig.count;
        check_rest(speed_at(steps - 0.5), LINK_WHY_UNDERRUN, latched, rig.edges);
        check_for_good();
    }
}
END_TEST

START_TEST(silence_brakes_when_its_time_is_over_and_not_before)
{
    state = seed;
    encode(&long_moves[1], false);
    for (unsigned trial = 0; trial < 40; trial++) {
        begin(GENERATOR_QUEUE, stride_count);
        pass_until(rig.begun_at + below((uint64_t)3 * TICK_HZ));
        TELL(LINK_POLL, 1, stride_count, 0);
        rig.polls = false;
        uint64_t heard = rig.now;
        /* Another epoch's poll and lines of other words are no sign of the daemon. */
        pass_until(heard + below(90 * MS));
        TELL(LINK_POLL, 2, stride_count, 0);
        TELL(LINK_OUT, 1, 1);
        while (rig.g.state == LINK_STATE_RUNNING)
            pass_one();
        ck_assert_uint_ge(rig.now, heard + (SILENCE_MS - 1) * MS);
        ck_assert_uint_le(rig.now, heard + SILENCE_MS * MS);
        check_rest(speed_now(), LINK_WHY_SILENCE, rig.count, rig.edges + 1);
        rig.polls = true;
        check_for_good();
    }
}
END_TEST

START_TEST(the_awaited_input_ends_the_leg_once_it_is_steady)
{
    state = seed;
    encode(&long_moves[1], false);
    for (unsigned trial = 0; trial < 40; trial++) {
        begin(GENERATOR_QUEUE, stride_count);
        pass_until(rig.begun_at + below((uint64_t)3 * TICK_HZ));
        rig.levels = TOP_BIT;
        pass_until(rig.now + (DEBOUNCE_MS - 1) * MS);
        rig.levels = 0; /* a contact that bounces */
        pass_until(rig.now + MS);
        rig.levels = TOP_BIT;
        pass_until(rig.now + DEBOUNCE_MS * MS);
        ck_assert_uint_eq(rig.g.state, LINK_STATE_RUNNING);
        pass_until(rig.ms_at);
        ck_assert_uint_eq(rig.g.state, LINK_STATE_BRAKING);
        check_rest(speed_now(), LINK_WHY_INPUT + LINK_INPUT_TOP_SWITCH, rig.count, rig.edges + 1);
        check_for_good();
    }
}
END_TEST

START_TEST(the_stop_circuit_acts_at_once_and_closes_only_when_steady)
{
    state = seed;
    encode(&long_moves[0], false);
    begin(GENERATOR_QUEUE, stride_count);
    pass_until(rig.begun_at + 20 * MS + 5);
    generator_stop_circuit(&rig.g, false);
    ck_assert_uint_eq(rig.g.state, LINK_STATE_RUNNING);
    rig.levels = STOP_BIT; /* nobody tells of it but the millisecond */
    pass_until(rig.ms_at);
    check_rest(speed_now(), LINK_WHY_INPUT + LINK_INPUT_STOP_CIRCUIT, rig.count, rig.edges + 1);
    rig.levels = 0;
    generator_stop_circuit(&rig.g, false);
    ck_assert_uint_eq(rig.g.inputs, STOP_BIT);
    pass_until(rig.now + (DEBOUNCE_MS + 1) * MS);
    ck_assert_uint_eq(rig.g.inputs, 0);
    ck_assert_uint_eq(rig.g.state, LINK_STATE_ADRIFT); /* closing it starts nothing */
    check_for_good();
}
END_TEST

START_TEST(a_brake_before_the_first_edge_is_armed_lets_none_be_made)
{
    encode(&long_moves[0], false);
    begin(GENERATOR_QUEUE, stride_count);
    rig.armed = false; /* as if the timer had not been set yet */
    rig.g.starting = true;
    generator_brake(&rig.g, LINK_WHY_BYTE);
    settle();
    ck_assert(!rig.armed);
    ck_assert_uint_eq(rig.stops, 1);
    ck_assert_int_eq((int32_t)rig.stopped.value[2], 0);
    check_for_good();
}
END_TEST

START_TEST(of_two_reasons_the_first_one_stands)
{
    encode(&long_moves[2], true);
    begin(GENERATOR_QUEUE, stride_count);
    pass_until(rig.begun_at + TICK_HZ);
    struct speed speed = speed_now();
    int32_t latched = rig.count;
    uint32_t edges = rig.edges;
    TELL(LINK_BRAKE, 0xffff); /* of any epoch: a brake is always obeyed */
    pass_until(rig.now + 2 * MS);
    ck_assert_uint_eq(rig.g.state, LINK_STATE_BRAKING);
    generator_byte(&rig.g, LINK_BRAKE_BYTE);
    check_rest(speed, LINK_WHY_BRAKE, latched, edges + 1);
    generator_byte(&rig.g, LINK_BRAKE_BYTE);
    TELL(LINK_POLL, 1, 0, 0);
    ck_assert_uint_eq(rig.stopped.value[1], LINK_WHY_BRAKE);
    check_for_good();
}
END_TEST

START_TEST(a_brake_at_rest_sets_it_adrift_and_says_so)
{
    encode(&long_moves[0], false);
    begin(GENERATOR_QUEUE, stride_count);
    pass_to_rest();
    ck_assert_uint_eq(rig.ends, 1);
    rig.ends = 0;
    generator_byte(&rig.g, LINK_BRAKE_BYTE);
    settle();
    ck_assert_uint_eq(rig.stops, 1);
    ck_assert_int_eq((int32_t)rig.stopped.value[2], 318);
    ck_assert_int_eq((int32_t)rig.stopped.value[3], 318);
    check_for_good();
}
END_TEST

int main(void)
{
    const char *given = getenv("REGLET_SEED");
    seed = given ? strtoull(given, NULL, 0) : (uint64_t)time(NULL) * 65537 + (uint64_t)getpid();
    printf("REGLET_SEED=%" PRIu64 "\n", seed);
    (void)fflush(stdout);

    Suite *suite = suite_create("core_stop");
    TCase *cases = tcase_create("stop");
    tcase_set_timeout(cases, 60);
    tcase_add_loop_test(cases, a_long_move_stops_at_any_instant, 0, 12);
    tcase_add_test(cases, a_short_move_stops_at_any_instant);
    tcase_add_test(cases, a_queue_run_empty_brakes_from_the_last_step);
    tcase_add_test(cases, silence_brakes_when_its_time_is_over_and_not_before);
    tcase_add_test(cases, the_awaited_input_ends_the_leg_once_it_is_steady);
    tcase_add_test(cases, the_stop_circuit_acts_at_once_and_closes_only_when_steady);
    tcase_add_test(cases, a_brake_before_the_first_edge_is_armed_lets_none_be_made);
    tcase_add_test(cases, of_two_reasons_the_first_one_stands);
    tcase_add_test(cases, a_brake_at_rest_sets_it_adrift_and_says_so);
    suite_add_tcase(suite, cases);

    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
