/* SPDX-License-Identifier: MIT */
/*
 * The encoder against ideal times computed apart from it (tests/bench/moves.h, long double), with
 * every stride run by the generator's 32-bit form and by a 64-bit form side by side.
 */
#include <check.h>
#include <inttypes.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "daemon/motion/encode.h"
#include "tests/bench/moves.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum { RANDOM_LEGS = 800, RANDOM_REQUESTS = 400 };

/* Fits and proofs that one stride may take: 5 predicted lengths, 15 doublings, 16 halvings, 8
 * shorter ones for a good end, 7 cuts of one fit and one proof each, one single step. */
enum { TRIALS_MOST = 60 };

/* The strides of 500 legs of seed 1. */
enum { STRIDES_MEASURED = 12930 };

/* What came of a leg. */
struct outcome {
    enum encode_result result; /* ENCODE_DONE or a refusal */
    unsigned strides;
    unsigned slow;
    uint32_t longest;
    uint64_t ticks;
};

/* What is the same for every stride of a leg. */
struct leg {
    const struct encode_limits *limits;
    struct move_ideal ideal;
    struct encoder encoder;
    uint64_t edge; /* as the generator makes it */
    uint32_t done;
};

/* Check notes each assertion in a file, too slow for every step: only what fails is told. */
static void step_must(bool holds, const struct leg *leg, const char *what)
{
    if (!holds)
        ck_abort_msg("step %" PRIu32 " at tick %" PRIu64 ": %s", leg->done, leg->edge, what);
}

/* One stride, run as the generator runs it, every edge and interval checked. */
static void check_stride(struct leg *leg, const struct stride *stride)
{
    unsigned bits = stride_bits(stride->flags);
    uint64_t start = leg->edge;
    int64_t acc = (int64_t)1 << (bits - 1);
    int64_t interval = stride->interval;
    int64_t change = stride->change;
    struct stride_run run;
    stride_run_start(&run, stride);
    ck_assert_uint_ge(stride->steps, 1);
    for (unsigned i = 0; i < stride->steps; i++) {
        step_must(interval >= 0, leg, "interval below nothing");
        step_must(interval + run.fraction <= UINT32_MAX, leg, "interval over 32 bits");
        acc += interval;
        interval += change;
        change += stride->curve;
        uint32_t gap = stride_run_next(&run);
        uint32_t least = i == 0 ? leg->limits->first_min_ticks : leg->limits->inside_min_ticks;
        leg->edge += gap;
        leg->done++;
        step_must(gap >= least && gap >= 1, leg, "interval too short");
        step_must(leg->edge == start + (uint64_t)(acc >> bits), leg, "the two forms differ");
        long double error =
            (long double)leg->edge - move_edge_ticks(&leg->ideal, leg->limits->tick_hz, leg->done);
        step_must(fabsl(error) <= leg->limits->tolerance_ticks, leg, "too far from its time");
    }
}

static void check_leg_end(const struct leg *leg, const struct profile_request *asked,
                          const struct stride *last, struct outcome *outcome)
{
    if (outcome->result != ENCODE_DONE)
        return;
    struct stride kept = *last;
    struct encoder ended = leg->encoder;
    ck_assert_uint_eq(leg->done, (uint32_t)asked->steps);
    ck_assert_int_eq((last->flags & STRIDE_REST) != 0, asked->end_hz == 0.0);
    ck_assert_int_eq(encoder_next(&ended, &kept), ENCODE_DONE);
    ck_assert_mem_eq(&kept, last, sizeof kept);
    outcome->ticks = leg->edge;
}

/* Encodes a leg and checks everything that the header promises. */
static struct outcome check_leg(const struct profile_request *asked,
                                const struct encode_limits *limits, bool down)
{
    struct profile profile;
    struct outcome outcome = {.result = ENCODE_STRIDE};
    struct leg leg = {.limits = limits, .ideal = move_ideal(asked)};
    struct stride stride;
    struct stride next;
    ck_assert(profile_plan(&profile, asked));
    encoder_init(&leg.encoder, &profile, limits, down);
    memset(&stride, 0, sizeof stride);
    memset(&next, 0xa5, sizeof next);
    struct stride untouched = next;
    while ((outcome.result = encoder_next(&leg.encoder, &next)) == ENCODE_STRIDE) {
        ck_assert_uint_eq(stride.flags & STRIDE_REST, 0);
        stride = next;
        ck_assert_int_eq((stride.flags & STRIDE_DOWN) != 0, down);
        check_stride(&leg, &stride);
        ck_assert_uint_eq(encoder_ticks(&leg.encoder), leg.edge);
        ck_assert_uint_le(leg.encoder.trials, TRIALS_MOST);
        outcome.strides++;
        outcome.slow += (stride.flags & STRIDE_SLOW) != 0;
        if (stride.steps > outcome.longest)
            outcome.longest = stride.steps;
        memset(&next, 0xa5, sizeof next);
    }
    ck_assert_mem_eq(&next, &untouched, sizeof next);
    check_leg_end(&leg, asked, &stride, &outcome);
    return outcome;
}

START_TEST(every_edge_of_the_named_moves_is_within_a_quarter_microsecond)
{
    const struct move *move = &MOVES[_i];
    for (int down = 0; down <= 1; down++) {
        struct outcome outcome = check_leg(&move->asked, &MOVE_LIMITS, down != 0);
        ck_assert_int_eq(outcome.result, ENCODE_DONE);
        ck_assert_msg(outcome.strides <= move->strides_most, "%s takes %u strides, not %u",
                      move->name, outcome.strides, move->strides_most);
    }
}
END_TEST

START_TEST(a_cruise_is_as_few_strides_as_can_count_its_steps)
{
    struct outcome outcome = check_leg(&MOVES[MOVE_TRAVEL].asked, &MOVE_LIMITS, false);
    ck_assert_uint_eq(outcome.longest, STRIDE_STEPS_MAX);
    struct profile_request longer = MOVES[MOVE_TRAVEL].asked;
    longer.steps += 10 * STRIDE_STEPS_MAX;
    ck_assert_uint_le(check_leg(&longer, &MOVE_LIMITS, false).strides, outcome.strides + 10);
}
END_TEST

START_TEST(legs_of_a_few_steps_work_at_every_rate)
{
    static const double rates[] = {1.0, 100.0, 243.0, 245.0, 8000.0, 30000.0};
    static const double gains[] = {1.0, 200.0, 59604.6, 59605.0, 80000.0, 240000.0, 2e6};
    for (unsigned steps = 1; steps <= 40; steps++) {
        for (unsigned r = 0; r < sizeof rates / sizeof rates[0]; r++) {
            for (unsigned g = 0; g < sizeof gains / sizeof gains[0]; g++) {
                struct profile_request asked = {steps, 0, 0, rates[r], gains[g], gains[g]};
                ck_assert_int_eq(check_leg(&asked, &MOVE_LIMITS, false).result, ENCODE_DONE);
            }
        }
    }
}
END_TEST

START_TEST(one_step_from_rest_to_rest_falls_halfway)
{
    /* 1/2 = a t^2 / 2 at a = 10 000: t = 10 ms = 160 000 ticks, in the slow scale */
    struct profile_request asked = {1, 0, 0, 8000, 10000, 10000};
    struct outcome outcome = check_leg(&asked, &MOVE_LIMITS, false);
    ck_assert_uint_eq(outcome.ticks, 160000);
    ck_assert_uint_eq(outcome.strides, 1);
    ck_assert_uint_eq(outcome.slow, 1);
}
END_TEST

START_TEST(the_slow_scale_is_used_where_intervals_need_it_and_only_there)
{
    ck_assert_uint_eq(check_leg(&MOVES[MOVE_TRAVEL].asked, &MOVE_LIMITS, false).slow, 0);
    /* slow at both ends, fast in the middle */
    struct profile_request asked = {20000, 0, 0, 2000, 200, 200};
    struct outcome outcome = check_leg(&asked, &MOVE_LIMITS, false);
    ck_assert_uint_ge(outcome.slow, 2);
    ck_assert_uint_gt(outcome.strides, outcome.slow);
    /* 4.096 ms is 65 536 ticks; just above and just below, all along */
    struct profile_request below = {3000, 200, 200, 245, 100, 100};
    struct profile_request above = {3000, 200, 200, 243, 100, 100};
    ck_assert_int_eq(check_leg(&below, &MOVE_LIMITS, false).result, ENCODE_DONE);
    ck_assert_int_eq(check_leg(&above, &MOVE_LIMITS, false).result, ENCODE_DONE);
}
END_TEST

START_TEST(a_cruise_at_the_border_of_the_scales_is_not_broken_up)
{
    for (int i = 0; i < 70; i++) {
        double rate_hz = MOVE_LIMITS.tick_hz / (65520.0 + 0.37 * i);
        struct profile_request asked = {3000, rate_hz, rate_hz, rate_hz, 1, 1};
        struct outcome outcome = check_leg(&asked, &MOVE_LIMITS, false);
        ck_assert_int_eq(outcome.result, ENCODE_DONE);
        ck_assert_uint_le(outcome.strides, 4);
    }
}
END_TEST

/* A loss in the fit, the search or the choice of ends shows in the sum over many legs. The bound
 * is what was measured and one in a hundred. */
START_TEST(strides_are_as_few_as_they_were_measured_to_be)
{
    unsigned strides = 0;
    uint64_t fixed_seed = 1;
    for (int i = 0; i < 500; i++) {
        struct profile profile;
        struct profile_request asked = move_random_request(&fixed_seed, 30000, 1);
        if (profile_plan(&profile, &asked))
            strides += check_leg(&asked, &MOVE_LIMITS, false).strides;
    }
    ck_assert_msg(strides <= STRIDES_MEASURED + STRIDES_MEASURED / 100, "%u strides", strides);
}
END_TEST

START_TEST(what_the_generator_cannot_do_is_refused)
{
    /* 16e6 / 40 000 = 400 ticks, under the smallest of 420 */
    struct profile_request fast = {5000, 0, 0, 40000, 2e6, 2e6};
    ck_assert_int_eq(check_leg(&fast, &MOVE_LIMITS, false).result, ENCODE_TOO_FAST);
    /* 1 step in 1/0.9 s = 17.8e6 ticks, over 2^24 - 1 = 16 777 215 */
    struct profile_request slow = {5, 0, 0, 0.9, 1, 1};
    ck_assert_int_eq(check_leg(&slow, &MOVE_LIMITS, false).result, ENCODE_TOO_SLOW);
    /* the first step 1/sqrt(a) = 1.41 s after the start */
    struct profile_request lazy = {5, 0, 0, 100, 0.5, 0.5};
    struct outcome outcome = check_leg(&lazy, &MOVE_LIMITS, false);
    ck_assert_int_eq(outcome.result, ENCODE_TOO_SLOW);
    ck_assert_uint_eq(outcome.strides, 0);
}
END_TEST

START_TEST(the_rate_that_is_promised_is_kept)
{
    static const double gains[] = {2000.0, 240000.0, 5e6};
    static const uint32_t firsts[] = {1, 100, 420, 533, 1000};
    for (unsigned f = 0; f < sizeof firsts / sizeof firsts[0]; f++) {
        struct encode_limits limits = MOVE_LIMITS;
        limits.first_min_ticks = firsts[f];
        limits.inside_min_ticks = firsts[f] > 400 ? 330 : firsts[f];
        double rate_hz = encode_rate_max_hz(&limits);
        for (unsigned g = 0; g < sizeof gains / sizeof gains[0]; g++) {
            struct profile_request asked = {100000, 0, 0, rate_hz, gains[g], gains[g]};
            ck_assert_int_eq(check_leg(&asked, &limits, false).result, ENCODE_DONE);
        }
    }
}
END_TEST

/* Runs a stride from where the encoder stands, in full: the largest error in ticks, or infinite
 * when an interval is too short. */
static long double full_run_error(const struct encoder *encoder, const struct move_ideal *ideal,
                                  const struct stride *stride, uint64_t *edge)
{
    struct stride_run run;
    long double largest = 0;
    *edge = encoder_ticks(encoder);
    stride_run_start(&run, stride);
    for (unsigned i = 1; i <= stride->steps; i++) {
        uint32_t gap = stride_run_next(&run);
        if (gap < (i == 1 ? MOVE_LIMITS.first_min_ticks : MOVE_LIMITS.inside_min_ticks))
            return HUGE_VALL;
        *edge += gap;
        long double due = move_edge_ticks(ideal, MOVE_LIMITS.tick_hz, encoder->step + i);
        largest = fmaxl(largest, fabsl((long double)*edge - due));
    }
    return largest;
}

/* The proof says of this stride what a run in full says. True when it is within the tolerance. */
static bool proof_agrees(const struct encoder *encoder, const struct move_ideal *ideal,
                         const struct stride *stride)
{
    uint64_t proved_edge = 0;
    uint64_t edge;
    long double error = full_run_error(encoder, ideal, stride, &edge);
    bool proved = encoder_proves(encoder, stride, &proved_edge);
    if (proved) {
        ck_assert(error <= 4.0L);
        ck_assert_uint_eq(proved_edge, edge);
    } else {
        ck_assert(error > 4.0L - 0.002L);
    }
    return proved;
}

/* The stride slower and faster by what comes to some eight ticks at its end, from an edge before it
 * that is early or late by up to as much. */
static void bend_and_shift(const struct encoder *before, const struct move_ideal *ideal,
                           const struct stride *stride, unsigned *proved, unsigned *refused)
{
    int64_t unit = ((int64_t)1 << stride_bits(stride->flags)) * 4 / 3 / stride->steps + 1;
    for (int64_t shift = -8; shift <= 8; shift += stride->steps > 1000 ? 4 : 1) {
        if (before->edge_ticks == 0 && shift != 0)
            continue;
        for (int64_t bend = -6; bend <= 6; bend++) {
            struct stride bent = *stride;
            struct encoder shifted = *before;
            bent.interval = (uint32_t)(stride->interval + bend * unit);
            shifted.edge_ticks += (uint64_t)shift;
            if (proof_agrees(&shifted, ideal, &bent))
                ++*proved;
            else
                ++*refused;
        }
    }
}

START_TEST(the_proof_agrees_with_a_run_in_full)
{
    const struct profile_request *asked = &MOVES[_i].asked;
    struct profile profile;
    struct move_ideal ideal = move_ideal(asked);
    struct encoder encoder;
    struct stride stride;
    unsigned proved = 0;
    unsigned refused = 0;
    ck_assert(profile_plan(&profile, asked));
    encoder_init(&encoder, &profile, &MOVE_LIMITS, false);
    struct encoder before = encoder;
    while (encoder_next(&encoder, &stride) == ENCODE_STRIDE) {
        ck_assert(proof_agrees(&before, &ideal, &stride));
        bend_and_shift(&before, &ideal, &stride, &proved, &refused);
        before = encoder;
    }
    ck_assert_uint_ge(proved, 3);
    ck_assert_uint_ge(refused, 3);
}
END_TEST

/* An encoder that stands in an even run of intervals of so many ticks, on an edge. */
static struct encoder in_even_run(struct profile *profile, double interval_ticks,
                                  const struct encode_limits *limits)
{
    double rate_hz = limits->tick_hz / interval_ticks;
    struct profile_request asked = {1000, rate_hz, rate_hz, rate_hz, 1, 1};
    struct encoder encoder;
    ck_assert(profile_plan(profile, &asked));
    encoder_init(&encoder, profile, limits, false);
    encoder.step = 1;
    encoder.edge_ticks = (uint64_t)(interval_ticks / 2.0);
    return encoder;
}

/* Both are on time in 64 bits, but the generator's sum of fraction and interval would wrap. */
START_TEST(the_proof_refuses_a_sum_over_32_bits)
{
    struct profile profile;
    uint64_t end;
    struct encoder encoder = in_even_run(&profile, 65536, &MOVE_LIMITS);
    struct stride fast = {.interval = UINT32_MAX, .steps = 1};
    ck_assert(!encoder_proves(&encoder, &fast, &end));
    fast.interval = UINT32_MAX - 0x8000; /* with the half just within */
    ck_assert(encoder_proves(&encoder, &fast, &end));
    ck_assert_uint_eq(end, 32768 + 65535);
    fast.change = 0x8000; /* and over it at the second step */
    fast.steps = 2;
    ck_assert(!encoder_proves(&encoder, &fast, &end));

    encoder = in_even_run(&profile, 16777216, &MOVE_LIMITS);
    struct stride slow = {.interval = UINT32_MAX, .steps = 1, .flags = STRIDE_SLOW};
    ck_assert(!encoder_proves(&encoder, &slow, &end));
    slow.interval = UINT32_MAX - 0x80;
    ck_assert(encoder_proves(&encoder, &slow, &end));
}
END_TEST

START_TEST(the_proof_sees_an_even_interval_that_is_sometimes_too_short)
{
    struct profile profile;
    uint64_t end;
    struct encode_limits limits = MOVE_LIMITS;
    struct stride stride = {.interval = 578u * 65536u + 39322u, .steps = 100}; /* 578.6 */
    limits.inside_min_ticks = limits.first_min_ticks = 578;
    struct encoder encoder = in_even_run(&profile, 578.6, &limits);
    ck_assert(encoder_proves(&encoder, &stride, &end));
    limits.inside_min_ticks = limits.first_min_ticks = 579; /* the first is 579, not the third */
    encoder = in_even_run(&profile, 578.6, &limits);
    ck_assert(!encoder_proves(&encoder, &stride, &end));
    stride.steps = 1;
    ck_assert(encoder_proves(&encoder, &stride, &end));
}
END_TEST

START_TEST(the_proof_refuses_registers_out_of_range_and_steps_beyond_the_leg)
{
    /* 1 step/s: intervals of 16e6 ticks, near the end of the slow scale */
    struct profile_request asked = {4, 0, 0, 1, 1, 1};
    struct profile profile;
    struct encoder encoder;
    struct stride stride;
    uint64_t end;
    ck_assert(profile_plan(&profile, &asked));
    encoder_init(&encoder, &profile, &MOVE_LIMITS, false);
    struct encoder start = encoder;
    ck_assert_int_eq(encoder_next(&encoder, &stride), ENCODE_STRIDE);
    ck_assert_uint_eq(stride.steps, 4);
    ck_assert(encoder_proves(&start, &stride, &end));
    struct stride wrong = stride;
    wrong.flags &= (uint8_t)~STRIDE_SLOW; /* read at the wrong scale */
    ck_assert(!encoder_proves(&start, &wrong, &end));
    wrong = stride;
    wrong.steps = 5;
    ck_assert(!encoder_proves(&start, &wrong, &end));
    wrong.steps = 0;
    ck_assert(!encoder_proves(&start, &wrong, &end));
    wrong = stride;
    wrong.interval = UINT32_MAX; /* with the half at the start over 32 bits */
    ck_assert(!encoder_proves(&start, &wrong, &end));
    wrong = stride;
    wrong.change = INT32_MIN; /* below nothing at the third step */
    ck_assert(!encoder_proves(&start, &wrong, &end));
}
END_TEST

static struct encode_limits random_limits(void)
{
    static const double tolerances[] = {4.0, 4.0, 4.0, 1.0, 2.0, 16.0};
    struct encode_limits limits = MOVE_LIMITS;
    limits.tolerance_ticks = tolerances[move_random(&random_state) % 6];
    return limits;
}

START_TEST(random_legs_keep_every_promise)
{
    for (int i = 0; i < RANDOM_LEGS; i++) {
        uint64_t from = random_state;
        struct profile profile;
        struct encode_limits limits = random_limits();
        struct profile_request asked = move_random_request(&random_state, 30000, 1);
        if (!profile_plan(&profile, &asked))
            asked.end_hz = asked.start_hz = 0.0;
        struct outcome outcome = check_leg(&asked, &limits, move_random(&random_state) % 2 == 0);
        ck_assert_msg(outcome.result == ENCODE_DONE, "REGLET_SEED=%" PRIu64, from);
    }
}
END_TEST

START_TEST(random_requests_end_in_a_leg_or_a_true_refusal)
{
    unsigned refused = 0;
    for (int i = 0; i < RANDOM_REQUESTS; i++) {
        uint64_t from = random_state;
        struct profile profile;
        struct profile_request asked = move_random_request(&random_state, 200000, 0.05);
        if (!profile_plan(&profile, &asked))
            continue;
        struct outcome outcome = check_leg(&asked, &MOVE_LIMITS, false);
        bool due = !move_roomy(&asked, &MOVE_LIMITS);
        ck_assert_msg(outcome.result == ENCODE_DONE || due, "REGLET_SEED=%" PRIu64, from);
        refused += outcome.result != ENCODE_DONE;
    }
    ck_assert_uint_gt(refused, 0);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("encode");
    TCase *all = tcase_create("strides");
    tcase_set_timeout(all, 100);
    tcase_add_loop_test(all, every_edge_of_the_named_moves_is_within_a_quarter_microsecond, 0,
                        MOVE_COUNT);
    tcase_add_test(all, a_cruise_is_as_few_strides_as_can_count_its_steps);
    tcase_add_test(all, legs_of_a_few_steps_work_at_every_rate);
    tcase_add_test(all, one_step_from_rest_to_rest_falls_halfway);
    tcase_add_test(all, the_slow_scale_is_used_where_intervals_need_it_and_only_there);
    tcase_add_test(all, a_cruise_at_the_border_of_the_scales_is_not_broken_up);
    tcase_add_test(all, strides_are_as_few_as_they_were_measured_to_be);
    tcase_add_test(all, what_the_generator_cannot_do_is_refused);
    tcase_add_test(all, the_rate_that_is_promised_is_kept);
    tcase_add_loop_test(all, the_proof_agrees_with_a_run_in_full, 0, MOVE_COUNT);
    tcase_add_test(all, the_proof_refuses_a_sum_over_32_bits);
    tcase_add_test(all, the_proof_sees_an_even_interval_that_is_sometimes_too_short);
    tcase_add_test(all, the_proof_refuses_registers_out_of_range_and_steps_beyond_the_leg);
    tcase_add_test(all, random_legs_keep_every_promise);
    tcase_add_test(all, random_requests_end_in_a_leg_or_a_true_refusal);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
