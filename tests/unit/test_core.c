/* SPDX-License-Identifier: MIT */
/*
 * The step generator's core in conversation, on a virtual timer: bytes in, edges out. What it must
 * answer is what protocol/LINK.md says. How it stops is in test_core_stop.c.
 */
#include <check.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "contrib/stepgen/core.h"

enum { TICK_HZ = 16000000, MS = TICK_HZ / 1000, INSIDE_MIN = 266, FIRST_MIN = 330, HEARD = 512 };
enum { LOW = -1000, HIGH = 1000, DEBOUNCE = 5, SILENCE = 100, ALL_INPUTS = 0x7f };
enum { STOP_BIT = 1 << LINK_INPUT_STOP_CIRCUIT, TOP_BIT = 1 << LINK_INPUT_TOP_SWITCH };

struct rig {
    struct generator g;
    uint64_t now;
    uint64_t edge_at;
    uint64_t ms_at;
    int32_t count; /* of the edges seen here */
    unsigned starts;
    unsigned heard_count;
    uint16_t levels;
    uint8_t sequence;
    bool armed;
    bool deaf; /* answers stay in the generator */
    struct link_line heard[HEARD];
};

static struct rig rig;
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

static uint32_t below(uint32_t limit)
{
    return (uint32_t)(next_random() % limit);
}

/* --- The rig --- */

static void listen(void)
{
    static struct link_reader reader;
    struct link_line line;
    for (int byte; !rig.deaf && (byte = generator_send(&rig.g)) >= 0;) {
        enum link_got got = link_reader_byte(&reader, (uint8_t)byte, &line);
        ck_assert(got == LINK_GOT_NOTHING || got == LINK_GOT_LINE);
        if (got == LINK_GOT_LINE)
            rig.heard[rig.heard_count++ % HEARD] = line;
    }
}

static void settle(void)
{
    uint32_t ticks;
    if (generator_start(&rig.g, &ticks)) {
        rig.armed = true;
        rig.edge_at = rig.now + ticks;
        rig.starts++;
    }
    listen();
}

static void make_edge(void)
{
    rig.now = rig.edge_at;
    rig.count += rig.g.down ? -1 : 1;
    uint32_t ticks = generator_edge(&rig.g);
    rig.armed = ticks > 0;
    rig.edge_at += ticks;
    if (rig.count != generator_count(&rig.g))
        ck_abort_msg("counted %" PRId32 ", it says %" PRId32, rig.count, generator_count(&rig.g));
}

static void pass_ticks(uint64_t ticks)
{
    uint64_t end = rig.now + ticks;
    for (;;) {
        bool edge = rig.armed && rig.edge_at <= rig.ms_at;
        if ((edge ? rig.edge_at : rig.ms_at) > end)
            break;
        if (edge) {
            make_edge();
        } else {
            rig.now = rig.ms_at;
            rig.ms_at += MS;
            generator_millisecond(&rig.g, rig.levels);
        }
        settle();
    }
    rig.now = end;
}

static void pass_ms(unsigned ms)
{
    pass_ticks((uint64_t)ms * MS);
}

static void send_bytes(const char *bytes, size_t size)
{
    for (size_t i = 0; i < size; i++) {
        generator_byte(&rig.g, (uint8_t)bytes[i]);
        settle();
    }
}

static void tell_line(const struct link_line *line)
{
    char text[LINK_LINE_MAX];
    send_bytes(text, link_write(line, text));
}

static void tell_values(uint8_t word, const uint32_t *value)
{
    struct link_line line = {.word = word, .count = link_values(word)};
    memcpy(line.value, value, line.count * sizeof *value);
    tell_line(&line);
}

#define TELL(word, ...) tell_values(word, (uint32_t[LINK_VALUES_MAX]){__VA_ARGS__})

static void tell_stride(const struct stride *stride, uint8_t sequence)
{
    struct link_line line;
    link_stride_line(stride, sequence, &line);
    tell_line(&line);
}

static struct stride even(uint16_t steps, uint32_t ticks, uint8_t flags)
{
    uint8_t bits = stride_bits(flags);
    return (struct stride){.interval = ticks << bits, .steps = steps, .flags = flags};
}

/* The next stride: 1 ms a step. */
static void queue_steps(uint16_t steps, uint8_t flags)
{
    struct stride stride = even(steps, MS, flags);
    tell_stride(&stride, rig.sequence++);
}

static unsigned times(uint8_t word)
{
    unsigned count = 0;
    for (unsigned i = 0; i < rig.heard_count && i < HEARD; i++)
        count += rig.heard[i].word == word;
    return count;
}

static void forget(void)
{
    rig.heard_count = 0;
}

/* The latest answer of that word must be there, and say this. */
static void check_said(uint8_t word, const uint32_t *value)
{
    ck_assert_uint_le(rig.heard_count, HEARD);
    for (unsigned i = rig.heard_count; i > 0; i--) {
        const struct link_line *line = &rig.heard[i - 1];
        if (line->word != word)
            continue;
        for (uint8_t k = 0; k < line->count; k++)
            ck_assert_msg(line->value[k] == value[k], "word %u, value %u: %" PRIx32 " not %" PRIx32,
                          word, k, line->value[k], value[k]);
        return;
    }
    ck_abort_msg("it never said word %u", word);
}

#define SAID(word, ...) check_said(word, (uint32_t[LINK_VALUES_MAX]){__VA_ARGS__})

static void check_refused(uint8_t word, uint8_t why)
{
    SAID(LINK_REFUSED, rig.g.epoch, word, why);
    forget();
}

static const uint32_t settings[LINK_SETTINGS] = {100000,   (uint32_t)LOW, HIGH,   0,
                                                 STOP_BIT, DEBOUNCE,      SILENCE};

static void boot(void)
{
    static const struct generator_board board = {.id = 0xb0a4d,
                                                 .boot = 7,
                                                 .tick_hz = TICK_HZ,
                                                 .inside_min_ticks = INSIDE_MIN,
                                                 .first_min_ticks = FIRST_MIN,
                                                 .inputs_present = ALL_INPUTS};
    state = seed;
    memset(&rig, 0, sizeof rig);
    generator_init(&rig.g, &board);
    rig.ms_at = MS;
}

/* Booted, set and synced: epoch 1, count 0. */
static void ready(void)
{
    boot();
    for (uint8_t i = 0; i < LINK_SETTINGS; i++)
        TELL(LINK_SET, i, settings[i]);
    TELL(LINK_SYNC, 1, 0);
    ck_assert_uint_eq(rig.g.state, LINK_STATE_STILL);
    ck_assert_uint_eq(rig.heard_count, 0);
}

static void sync_again(uint16_t epoch)
{
    TELL(LINK_SYNC, epoch, (uint32_t)rig.count);
    rig.sequence = 0;
    ck_assert_uint_eq(rig.g.state, LINK_STATE_STILL);
    forget();
}

/* --- Handshake, settings, sync --- */

START_TEST(a_hail_is_answered_with_board_abilities_and_state)
{
    boot();
    TELL(LINK_HAIL, 0);
    ck_assert_uint_eq(rig.heard_count, 4);
    SAID(LINK_BOARD, LINK_MAJOR, LINK_MINOR, 0xb0a4d, 7);
    SAID(LINK_ABLE, TICK_HZ, GENERATOR_QUEUE, INSIDE_MIN, FIRST_MIN, ALL_INPUTS);
    SAID(LINK_AT, 0, 0, LINK_STATE_ADRIFT, 0, 0);
    SAID(LINK_SEE, 0, 0, 0, 0xff, 0xff, 0, 0);
}
END_TEST

START_TEST(the_sum_of_the_settings_is_in_every_report)
{
    boot();
    uint32_t so_far[LINK_SETTINGS] = {0};
    for (uint8_t i = LINK_SETTINGS; i > 0; i--) {
        so_far[i - 1] = settings[i - 1];
        TELL(LINK_SET, i - 1u, settings[i - 1]);
        TELL(LINK_POLL, 0, 0, i);
        SAID(LINK_SEE, 0, i, 0, 0xff, 0xff, 0, link_sum_settings(so_far));
    }
    ck_assert_uint_eq(times(LINK_REFUSED), 0);
}
END_TEST

START_TEST(settings_out_of_range_are_refused_and_change_nothing)
{
    static const uint32_t wrong[][2] = {{LINK_SET_BRAKE_RATE, 0},
                                        {LINK_SET_BRAKE_RATE, 0x80000000},
                                        {LINK_SET_DEBOUNCE_MS, 251},
                                        {LINK_SET_INPUT_INVERT, 0x80},
                                        {LINK_SET_INPUT_BRAKE, 0x80},
                                        {LINK_SET_SILENCE_MS, 9},
                                        {LINK_SET_SILENCE_MS, 60001},
                                        {LINK_SETTINGS, 1},
                                        {255, 1}};
    ready();
    uint16_t sum = rig.g.settings_sum;
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        TELL(LINK_SET, wrong[i][0], wrong[i][1]);
        check_refused(LINK_SET, LINK_REFUSED_VALUE);
    }
    ck_assert_uint_eq(rig.g.settings_sum, sum);
    ck_assert_mem_eq(rig.g.setting, settings, sizeof settings);
}
END_TEST

START_TEST(settings_are_refused_while_moving)
{
    ready();
    queue_steps(10, STRIDE_REST);
    TELL(LINK_BEGIN, 1, 0, 0);
    TELL(LINK_SET, LINK_SET_BOUND_HIGH, 5);
    check_refused(LINK_SET, LINK_REFUSED_MOVING);
    TELL(LINK_SYNC, 2, 0);
    check_refused(LINK_SYNC, LINK_REFUSED_MOVING);
    pass_ms(11);
    TELL(LINK_SET, LINK_SET_BOUND_HIGH, 500);
    ck_assert_uint_eq(times(LINK_REFUSED), 0);
    ck_assert_uint_eq(rig.g.state, LINK_STATE_STILL);
}
END_TEST

START_TEST(a_setting_voids_strides_that_were_accepted_under_others)
{
    ready();
    queue_steps(10, STRIDE_REST);
    TELL(LINK_SET, LINK_SET_BOUND_HIGH, 5);
    ck_assert_uint_eq(times(LINK_REFUSED), 0);
    TELL(LINK_BEGIN, 1, 0, 0);
    TELL(LINK_POLL, 1, 1, 1);
    SAID(LINK_AT, 1, 1, LINK_STATE_ADRIFT, 0, 0);
    ck_assert_uint_eq(times(LINK_STOPPED), 0);
    sync_again(2);
    TELL(LINK_BEGIN, 2, 0xff, 0);
    check_refused(LINK_BEGIN, LINK_REFUSED_QUEUE);
    queue_steps(10, STRIDE_REST);
    check_refused(LINK_STRIDE, LINK_REFUSED_BOUNDS);
    ck_assert_uint_eq(rig.starts, 0);
}
END_TEST

START_TEST(without_all_settings_no_stride_is_taken)
{
    for (uint8_t missing = 0; missing < LINK_SETTINGS; missing++) {
        boot();
        for (uint8_t i = 0; i < LINK_SETTINGS; i++)
            if (i != missing)
                TELL(LINK_SET, i, settings[i]);
        TELL(LINK_SYNC, 1, 0);
        queue_steps(10, STRIDE_REST);
        check_refused(LINK_STRIDE, LINK_REFUSED_SETTINGS);
        TELL(LINK_BEGIN, 1, 0xff, 0);
        check_refused(LINK_BEGIN, LINK_REFUSED_SETTINGS);
    }
}
END_TEST

START_TEST(a_sync_sets_the_count_once_and_then_must_name_it)
{
    ready();
    TELL(LINK_SYNC, 1, 0); /* once more: nothing */
    ck_assert_uint_eq(rig.heard_count, 0);
    TELL(LINK_SYNC, 1, 5); /* the same epoch with another count */
    check_refused(LINK_SYNC, LINK_REFUSED_VALUE);
    TELL(LINK_SYNC, 0, 0); /* the epoch of a board just started */
    check_refused(LINK_SYNC, LINK_REFUSED_VALUE);
    TELL(LINK_SYNC, 2, 5);
    check_refused(LINK_SYNC, LINK_REFUSED_COUNT);
    ck_assert_uint_eq(rig.g.epoch, 1);
    TELL(LINK_SYNC, 0xffff, 0);
    TELL(LINK_SYNC, 2, 0); /* any other epoch will do, lower ones too */
    ck_assert_uint_eq(rig.heard_count, 0);
    ck_assert_uint_eq(rig.g.epoch, 2);
    boot();
    TELL(LINK_SYNC, 9, (uint32_t)-77);
    TELL(LINK_POLL, 9, 0, 1);
    SAID(LINK_AT, 9, 1, LINK_STATE_STILL, (uint32_t)-77, (uint32_t)-77);
}
END_TEST

START_TEST(a_sync_voids_the_queue_and_what_was_owed)
{
    ready();
    rig.deaf = true;
    queue_steps(10, STRIDE_REST);
    TELL(LINK_SYNC, 2, 0);
    rig.deaf = false;
    settle();
    ck_assert_uint_eq(times(LINK_TOOK), 0);
    TELL(LINK_BEGIN, 2, 0xff, 0);
    check_refused(LINK_BEGIN, LINK_REFUSED_QUEUE);
}
END_TEST

/* --- Strides --- */

START_TEST(a_stride_is_taken_once_and_told_with_end_and_sum)
{
    ready();
    struct stride one = even(10, MS, 0);
    struct stride two = even(20, 2 * MS, STRIDE_REST);
    tell_stride(&one, 0);
    uint16_t sum = link_sum_stride(LINK_SUM_START, &one, 0);
    SAID(LINK_TOOK, 1, 0, 0xff, 10, sum);
    forget();
    tell_stride(&one, 0); /* its answer was lost */
    SAID(LINK_TOOK, 1, 0, 0xff, 10, sum);
    tell_stride(&two, 1);
    sum = link_sum_stride(sum, &two, 1);
    SAID(LINK_TOOK, 1, 1, 0xff, 30, sum);
    TELL(LINK_BEGIN, 1, 0, 0);
    pass_ms(10);
    SAID(LINK_USED, 1, 0);
    pass_ms(40);
    SAID(LINK_USED, 1, 1);
    SAID(LINK_ENDED, 1, 30);
    ck_assert_int_eq(rig.count, 30);
    ck_assert_uint_eq(rig.starts, 1);
}
END_TEST

START_TEST(a_gap_is_told_once_and_mended_by_the_next_poll)
{
    ready();
    struct stride stride = even(1, MS, 0);
    for (uint8_t sequence = 2; sequence < 10; sequence++)
        tell_stride(&stride, sequence);
    ck_assert_uint_eq(times(LINK_WANT), 1);
    SAID(LINK_WANT, 1, 0);
    forget();
    TELL(LINK_POLL, 1, 10, 1); /* that WANT was lost */
    SAID(LINK_WANT, 1, 0);
    forget();
    tell_stride(&stride, 0);
    TELL(LINK_POLL, 1, 1, 2);
    ck_assert_uint_eq(times(LINK_WANT), 0);
    tell_stride(&stride, 2);
    SAID(LINK_WANT, 1, 1);
    ck_assert_uint_eq(generator_queued(&rig.g), 1);
}
END_TEST

START_TEST(the_queue_takes_64_strides_and_sequence_numbers_go_round)
{
    ready();
    for (unsigned round = 0; round < 6; round++) {
        for (unsigned i = 0; i < GENERATOR_QUEUE - 1; i++)
            queue_steps(1, round % 2 ? STRIDE_DOWN : 0);
        queue_steps(1, STRIDE_REST | (round % 2 ? STRIDE_DOWN : 0));
        ck_assert_uint_eq(times(LINK_REFUSED), 0);
        struct stride more = even(1, MS, 0);
        tell_stride(&more, rig.sequence);
        check_refused(LINK_STRIDE, LINK_REFUSED_QUEUE);
        TELL(LINK_BEGIN, 1, (uint8_t)(rig.sequence - 1), 0);
        for (int i = 0; i < 3; i++) { /* or silence stops it */
            pass_ms(30);
            TELL(LINK_POLL, 1, rig.sequence, 0);
        }
        ck_assert_int_eq(rig.count, round % 2 ? 0 : GENERATOR_QUEUE);
        ck_assert_uint_eq(times(LINK_ENDED), 1);
        forget();
    }
}
END_TEST

START_TEST(strides_must_keep_bounds_direction_and_the_smallest_interval)
{
    ready();
    queue_steps(HIGH, 0);
    struct stride stride = even(1, MS, 0);
    tell_stride(&stride, 1);
    check_refused(LINK_STRIDE, LINK_REFUSED_BOUNDS);
    stride.flags = STRIDE_DOWN;
    tell_stride(&stride, 1);
    check_refused(LINK_STRIDE, LINK_REFUSED_DIRECTION);
    sync_again(2);
    queue_steps((uint16_t)-LOW, STRIDE_DOWN | STRIDE_REST);
    tell_stride(&stride, 1);
    check_refused(LINK_STRIDE, LINK_REFUSED_BOUNDS);
    sync_again(3);
    /* The recurrence begins at one half: 329.5 ticks make a first interval of 330. */
    stride = (struct stride){.interval = (FIRST_MIN << 16) - 0x8001, .steps = 1};
    tell_stride(&stride, 0);
    check_refused(LINK_STRIDE, LINK_REFUSED_VALUE);
    stride.interval =
        UINT32_MAX; /* past the recurrence's 32 bits: no long interval but a short one */
    tell_stride(&stride, 0);
    check_refused(LINK_STRIDE, LINK_REFUSED_VALUE);
    stride.interval = (FIRST_MIN << 16) - 0x8000;
    tell_stride(&stride, 0);
    ck_assert_uint_eq(times(LINK_TOOK), 1);
}
END_TEST

START_TEST(bounds_hold_at_the_ends_of_the_number_range)
{
    static const int32_t ends[] = {INT32_MAX, INT32_MIN};
    for (int i = 0; i < 2; i++) {
        boot();
        for (uint8_t k = 0; k < LINK_SETTINGS; k++)
            TELL(LINK_SET, k, settings[k]);
        TELL(LINK_SET, LINK_SET_BOUND_LOW, (uint32_t)INT32_MIN);
        TELL(LINK_SET, LINK_SET_BOUND_HIGH, INT32_MAX);
        TELL(LINK_SYNC, 1, (uint32_t)ends[i]);
        rig.count = ends[i];
        struct stride away = even(STRIDE_STEPS_MAX, MS, i == 0 ? 0 : STRIDE_DOWN);
        tell_stride(&away, 0);
        check_refused(LINK_STRIDE, LINK_REFUSED_BOUNDS);
        queue_steps(3, STRIDE_REST | (i == 0 ? STRIDE_DOWN : 0));
        TELL(LINK_BEGIN, 1, 0, 0);
        pass_ms(4);
        SAID(LINK_ENDED, 1, (uint32_t)(i == 0 ? INT32_MAX - 3 : INT32_MIN + 3));
    }
}
END_TEST

START_TEST(every_edge_stands_where_the_recurrence_in_64_bits_puts_it)
{
    ready();
    for (int trial = 0; trial < 200; trial++) { /* back and forth, within the bounds */
        struct stride strides[20];
        unsigned count = 1 + below(20);
        for (unsigned i = 0; i < count; i++) {
            bool slow = below(2);
            uint32_t ticks = slow ? 30000 + below(200000) : 2000 + below(60000);
            strides[i] = even((uint16_t)(1 + below(12)), ticks, slow ? STRIDE_SLOW : 0);
            strides[i].interval += below(256);
            strides[i].change = (int32_t)below(2000) - 1000;
            strides[i].curve = (int32_t)below(20) - 10;
            strides[i].flags |= rig.count > 0 ? STRIDE_DOWN : 0;
            strides[i].flags |= i + 1 == count ? STRIDE_REST : 0;
            tell_stride(&strides[i], rig.sequence++);
        }
        TELL(LINK_BEGIN, 1, (uint8_t)(rig.sequence - 1), 0);
        ck_assert(rig.armed);
        int64_t edge = (int64_t)rig.now;
        for (unsigned i = 0; i < count; i++) {
            uint8_t bits = stride_bits(strides[i].flags);
            int64_t acc = INT64_C(1) << (bits - 1);
            int64_t interval = strides[i].interval;
            int64_t change = strides[i].change;
            for (unsigned k = 0; k < strides[i].steps; k++) {
                acc += interval;
                interval += change;
                change += strides[i].curve;
                ck_assert_int_eq((int64_t)rig.edge_at, edge + (acc >> bits));
                make_edge();
            }
            edge += acc >> bits;
        }
        listen();
        rig.ms_at = rig.now + MS;
        ck_assert(!rig.armed);
        ck_assert_uint_eq(rig.g.late, 0);
    }
}
END_TEST

START_TEST(an_interval_too_short_for_the_board_is_lengthened_and_counted_late)
{
    ready();
    struct stride stride = {
        .interval = FIRST_MIN << 16, .change = -(100 << 16), .steps = 3, .flags = STRIDE_REST};
    tell_stride(&stride, 0);
    TELL(LINK_BEGIN, 1, 0, 0);
    pass_ticks(FIRST_MIN + INSIDE_MIN);
    ck_assert_int_eq(rig.count, 2);
    pass_ms(1);
    TELL(LINK_POLL, 1, 1, 1);
    SAID(LINK_SEE, 1, 1, 0, 0, 0, 2, rig.g.settings_sum);
}
END_TEST

/* --- Legs --- */

START_TEST(a_begin_waits_for_the_stride_that_it_names)
{
    ready();
    queue_steps(10, 0);
    TELL(LINK_BEGIN, 1, 1, 0); /* the stride before it was lost */
    ck_assert_uint_eq(rig.starts, 0);
    SAID(LINK_WANT, 1, 1);
    queue_steps(10, STRIDE_REST);
    ck_assert_uint_eq(rig.starts, 0);
    TELL(LINK_POLL, 1, 2, 1); /* and shows by the state that the begin is wanted again */
    SAID(LINK_AT, 1, 1, LINK_STATE_STILL, 0, 0);
    TELL(LINK_BEGIN, 2, 1, 0); /* of another epoch */
    ck_assert_uint_eq(rig.starts, 0);
    TELL(LINK_BEGIN, 1, 1, 0);
    ck_assert_uint_eq(rig.starts, 1);
    TELL(LINK_BEGIN, 1, 1, 0);
    pass_ms(21);
    ck_assert_uint_eq(rig.starts, 1);
    ck_assert_int_eq(rig.count, 20);
}
END_TEST

START_TEST(a_begin_once_more_never_starts_the_leg_queued_behind)
{
    ready();
    queue_steps(5, STRIDE_REST);
    TELL(LINK_BEGIN, 1, 0, 0);
    queue_steps(5, STRIDE_DOWN | STRIDE_REST); /* while the first one runs */
    TELL(LINK_BEGIN, 1, 0, 0);
    pass_ms(10);
    ck_assert_int_eq(rig.count, 5);
    forget();
    TELL(LINK_POLL, 1, 2, 3); /* if its ENDED was lost, this shows the leg done */
    SAID(LINK_AT, 1, 3, LINK_STATE_STILL, 5, 0);
    SAID(LINK_SEE, 1, 3, 0, 1, 0, 0, rig.g.settings_sum);
    TELL(LINK_BEGIN, 1, 0, 0);
    check_refused(LINK_BEGIN, LINK_REFUSED_QUEUE);
    pass_ms(10);
    ck_assert_int_eq(rig.count, 5);
    TELL(LINK_BEGIN, 1, 1, 0);
    pass_ms(10);
    ck_assert_int_eq(rig.count, 0);
    TELL(LINK_POLL, 1, 2, 4); /* the direction last changed at 5 */
    SAID(LINK_AT, 1, 4, LINK_STATE_STILL, 0, 5);
}
END_TEST

START_TEST(answers_of_one_word_fold_into_the_latest)
{
    ready();
    rig.deaf = true;
    for (int i = 0; i < 10; i++)
        queue_steps(1, i == 9 ? STRIDE_REST : 0);
    TELL(LINK_BEGIN, 1, 9, 0);
    pass_ms(20);
    for (uint32_t i = 0; i < 5; i++)
        TELL(LINK_POLL, 1, 10, i);
    generator_brake(&rig.g, LINK_WHY_BRAKE); /* at rest, after the end */
    rig.deaf = false;
    settle();
    static const uint8_t order[] = {LINK_ENDED, LINK_STOPPED, LINK_TOOK,
                                    LINK_USED,  LINK_AT,      LINK_SEE};
    ck_assert_uint_eq(rig.heard_count, sizeof order);
    for (unsigned i = 0; i < sizeof order; i++)
        ck_assert_uint_eq(rig.heard[i].word, order[i]);
    SAID(LINK_AT, 1, 4, LINK_STATE_ADRIFT, 10, 0);
    SAID(LINK_USED, 1, 9);
}
END_TEST

START_TEST(outputs_follow_the_epoch)
{
    ready();
    TELL(LINK_OUT, 1, 0x83);
    ck_assert_uint_eq(rig.g.outputs, 0x83);
    TELL(LINK_OUT, 2, 0x01);
    ck_assert_uint_eq(rig.g.outputs, 0x83);
}
END_TEST

/* --- Inputs --- */

START_TEST(inputs_count_when_steady_and_speak_by_themselves)
{
    ready();
    rig.levels = TOP_BIT;
    pass_ms(DEBOUNCE);
    rig.levels = 0;
    pass_ms(1);
    rig.levels = TOP_BIT;
    pass_ms(DEBOUNCE);
    ck_assert_uint_eq(rig.heard_count, 0);
    pass_ms(1);
    SAID(LINK_SEE, 1, 0, TOP_BIT, 0xff, 0xff, 0, rig.g.settings_sum);
    ck_assert_uint_eq(times(LINK_AT), 1);
    forget();
    TELL(LINK_SET, LINK_SET_INPUT_INVERT, TOP_BIT); /* now it is not active */
    pass_ms(DEBOUNCE + 1);
    SAID(LINK_SEE, 1, 0, 0, 0xff, 0xff, 0, rig.g.settings_sum);
}
END_TEST

START_TEST(levels_mean_nothing_before_their_senses_are_set)
{
    boot();
    rig.levels = ALL_INPUTS;
    generator_stop_circuit(&rig.g, true);
    pass_ms(300);
    ck_assert_uint_eq(rig.heard_count, 0);
    ck_assert_uint_eq(rig.g.inputs, 0);
}
END_TEST

START_TEST(a_leg_does_not_begin_with_its_end_or_a_brake_active)
{
    ready();
    queue_steps(10, STRIDE_REST);
    rig.levels = TOP_BIT;
    pass_ms(DEBOUNCE + 1);
    TELL(LINK_BEGIN, 1, 0, LINK_INPUT_TOP_SWITCH + 1);
    check_refused(LINK_BEGIN, LINK_REFUSED_INPUT);
    TELL(LINK_BEGIN, 1, 0, LINK_INPUTS + 1);
    check_refused(LINK_BEGIN, LINK_REFUSED_VALUE);
    rig.g.board.inputs_present = TOP_BIT;
    TELL(LINK_BEGIN, 1, 0, LINK_INPUT_TOUCH_PLATE + 1); /* this board has none */
    check_refused(LINK_BEGIN, LINK_REFUSED_VALUE);
    rig.g.setting[LINK_SET_INPUT_BRAKE] = TOP_BIT;
    TELL(LINK_BEGIN, 1, 0, 0);
    check_refused(LINK_BEGIN, LINK_REFUSED_INPUT);
    ck_assert_uint_eq(rig.starts, 0);
}
END_TEST

/* --- Noise --- */

static void send_noise(struct link_line *line)
{
    char text[LINK_LINE_MAX];
    size_t size = link_write(line, text);
    if (below(2)) {
        for (size_t i = 0; i < size; i++)
            text[i] = (char)next_random();
    } else {
        /* Up to three bits: test_link.c proves that no such line is read. */
        size_t bit = below((uint32_t)(8 * size));
        for (uint32_t flips = 1 + below(3); flips > 0; flips--, bit = (bit + 7) % (8 * size))
            text[bit / 8] = (char)(text[bit / 8] ^ 1 << bit % 8);
    }
    send_bytes(text, size);
    send_bytes("\n", 1);
}

START_TEST(noise_never_starts_the_motor)
{
    ready();
    queue_steps(10, STRIDE_REST);
    for (int trial = 0; trial < 30000; trial++) {
        struct link_line begin = {LINK_BEGIN, 3, {1, 0, 0}};
        send_noise(&begin);
        if (rig.g.state == LINK_STATE_ADRIFT) { /* a brake byte was in it */
            sync_again((uint16_t)(1 + rig.g.epoch % 2));
            queue_steps(10, STRIDE_REST);
        }
        pass_ticks(below(2000));
        forget();
    }
    ck_assert_uint_eq(rig.starts, 0);
    ck_assert_int_eq(rig.count, 0);
}
END_TEST

/* Lines of all words with values that are often right. */
static void tell_anything(void)
{
    struct stride stride = even((uint16_t)(1 + below(60)), FIRST_MIN + below(4000), below(8));
    uint32_t epoch = rig.g.epoch + (below(8) == 0);
    uint8_t sequence = (uint8_t)(rig.g.taken + 1 + (below(8) == 0));
    switch (below(8)) {
    case 0:
        if (rig.g.state == LINK_STATE_ADRIFT || below(30) == 0)
            TELL(LINK_SYNC, (rig.g.epoch + 1) & 0xffff, (uint32_t)rig.count + (below(9) == 0));
        break;
    case 1:
        TELL(LINK_BEGIN, epoch & 0xffff, (uint8_t)(sequence - 1), below(3) ? 0 : below(9));
        break;
    case 2:
        TELL(LINK_POLL, epoch & 0xffff, sequence, below(256));
        break;
    case 3:
        TELL(LINK_SET, 3 + below(4), below(12));
        break;
    case 4:
        if (below(8) == 0)
            TELL(LINK_BRAKE, epoch & 0xffff);
        break;
    default:
        stride.change = (int32_t)below(1 << 18) - (1 << 17);
        stride.curve = (int32_t)below(1 << 12) - (1 << 11);
        tell_stride(&stride, sequence);
        break;
    }
}

START_TEST(whatever_it_is_told_the_motor_stays_within_the_bounds)
{
    ready();
    unsigned moved = 0;
    for (int trial = 0; trial < 60000; trial++) {
        int32_t before = rig.count;
        tell_anything();
        if (below(20) == 0)
            rig.levels = below(8) ? 0 : 1u << below(LINK_INPUTS);
        pass_ticks(below(4) ? below(3000) : below(200000));
        forget();
        moved += before != rig.count;
        if (rig.count < LOW || rig.count > HIGH)
            ck_abort_msg("at %" PRId32, rig.count);
        ck_assert(rig.armed == generator_moving(&rig.g));
    }
    printf("moved %u times, %u legs\n", moved, rig.starts);
    ck_assert_uint_gt(rig.starts, 100);
}
END_TEST

static Suite *core_suite(void)
{
    Suite *suite = suite_create("core");
    TCase *talk = tcase_create("talk");
    tcase_add_test(talk, a_hail_is_answered_with_board_abilities_and_state);
    tcase_add_test(talk, the_sum_of_the_settings_is_in_every_report);
    tcase_add_test(talk, settings_out_of_range_are_refused_and_change_nothing);
    tcase_add_test(talk, settings_are_refused_while_moving);
    tcase_add_test(talk, a_setting_voids_strides_that_were_accepted_under_others);
    tcase_add_test(talk, without_all_settings_no_stride_is_taken);
    tcase_add_test(talk, a_sync_sets_the_count_once_and_then_must_name_it);
    tcase_add_test(talk, a_sync_voids_the_queue_and_what_was_owed);
    tcase_add_test(talk, a_stride_is_taken_once_and_told_with_end_and_sum);
    tcase_add_test(talk, a_gap_is_told_once_and_mended_by_the_next_poll);
    tcase_add_test(talk, the_queue_takes_64_strides_and_sequence_numbers_go_round);
    tcase_add_test(talk, strides_must_keep_bounds_direction_and_the_smallest_interval);
    tcase_add_test(talk, bounds_hold_at_the_ends_of_the_number_range);
    tcase_add_test(talk, every_edge_stands_where_the_recurrence_in_64_bits_puts_it);
    tcase_add_test(talk, an_interval_too_short_for_the_board_is_lengthened_and_counted_late);
    tcase_add_test(talk, a_begin_waits_for_the_stride_that_it_names);
    tcase_add_test(talk, a_begin_once_more_never_starts_the_leg_queued_behind);
    tcase_add_test(talk, answers_of_one_word_fold_into_the_latest);
    tcase_add_test(talk, outputs_follow_the_epoch);
    tcase_add_test(talk, inputs_count_when_steady_and_speak_by_themselves);
    tcase_add_test(talk, levels_mean_nothing_before_their_senses_are_set);
    tcase_add_test(talk, a_leg_does_not_begin_with_its_end_or_a_brake_active);
    TCase *noise = tcase_create("noise");
    tcase_set_timeout(noise, 60);
    tcase_add_test(noise, noise_never_starts_the_motor);
    tcase_add_test(noise, whatever_it_is_told_the_motor_stays_within_the_bounds);
    suite_add_tcase(suite, talk);
    suite_add_tcase(suite, noise);
    return suite;
}

int main(void)
{
    const char *given = getenv("REGLET_SEED");
    seed = given ? strtoull(given, NULL, 0) : (uint64_t)time(NULL) * 65537 + (uint64_t)getpid();
    printf("REGLET_SEED=%" PRIu64 "\n", seed);
    (void)fflush(stdout);
    SRunner *runner = srunner_create(core_suite());
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
