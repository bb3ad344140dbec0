/* SPDX-License-Identifier: MIT */
/*
 * Stop at any instant: real moves, as the daemon encodes them, are stopped at thousands of moments
 * and must come to rest as uniformly accelerated motion says, v^2/2a (any mechanics textbook),
 * with an exact count, short of the planned end, and for good.
 */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "tests/suite.h"
#include "tests/unit/core_stop_rig.h"

enum { INSTANTS = 1000 };

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
            uint8_t flags = (uint8_t)((whole[i].flags & STRIDE_DOWN) | (last ? STRIDE_REST : 0) |
                                      (ticks > UINT16_MAX ? STRIDE_SLOW : 0));
            strides[stride_count++] = (struct stride){
                .interval = ticks << stride_bits(flags), .steps = 1, .flags = flags};
            ck_assert_uint_lt(stride_count, STRIDES_MAX);
        }
    }
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

START_TEST(a_long_move_stops_at_any_instant)
{
    start_random();
    const struct move *move = &long_moves[_i / 4];
    encode(move, _i % 2);
    stop_at_instants(INSTANTS, _i / 2 % 2 ? GENERATOR_QUEUE : 1);
}
END_TEST

START_TEST(a_short_move_stops_at_any_instant)
{
    start_random();
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
    start_random();
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

int main(void)
{
    read_seed();
    Suite *suite = suite_create("core_stop");
    TCase *all = tcase_create("stop");
    tcase_set_timeout(all, 60);
    tcase_add_loop_test(all, a_long_move_stops_at_any_instant, 0, 12);
    tcase_add_test(all, a_short_move_stops_at_any_instant);
    tcase_add_test(all, a_queue_run_empty_brakes_from_the_last_step);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
