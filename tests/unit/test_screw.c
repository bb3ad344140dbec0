/* SPDX-License-Identifier: MIT */
/*
 * Heights to steps and back. Screws as they are sold: 16 and 10 threads an inch, 2 mm lead, 12
 * threads an inch as a lead that is no whole number of nanometres; 200 full steps a revolution
 * (1.8 degree motors: common practice, no source). 1 in = 25.4 mm: NIST SP 811 appendix B.
 */
#include <check.h>
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>

#include "daemon/motion/screw.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum { NM_PER_IN = 25400000, NM_PER_64TH = 396875, TRIALS = 300000, MILLION = 1000000 };

__extension__ typedef __int128 wide_int;

/* Every size of number is tried as often. */
static int64_t random_scale(int64_t least_shift)
{
    return between(-INT64_MAX, INT64_MAX) / (INT64_C(1) << between(least_shift, 62));
}

static struct screw threads_per_inch(int64_t threads, int64_t microsteps)
{
    return (struct screw){200 * microsteps, NM_PER_IN, threads};
}

static int32_t steps_at(const struct screw *screw, int64_t position_nm)
{
    int32_t steps = 0;
    if (!screw_steps(screw, position_nm, &steps))
        ck_abort_msg("%" PRId64 " nm has no step count", position_nm);
    return steps;
}

/* --- Tables --- */

/* 1/64 in is 50 full steps on 16 threads an inch, 31.25 on 10, 39.6875 on a 2 mm lead: exact, and
 * shown so with microsteps that make whole numbers of them. */
START_TEST(a_sixty_fourth_is_the_steps_that_the_thread_makes_it)
{
    struct screw sixteen = threads_per_inch(16, 1);
    struct screw ten = threads_per_inch(10, 1);
    struct screw ten_fine = threads_per_inch(10, 16);
    struct screw metric = {200, 2000000, 1};
    struct screw metric_fine = {3200, 2000000, 1};

    ck_assert_int_eq(steps_at(&sixteen, NM_PER_64TH), 50);
    ck_assert_int_eq(steps_at(&sixteen, -NM_PER_64TH), -50);
    ck_assert_int_eq(screw_position_nm(&sixteen, 50), NM_PER_64TH);
    ck_assert_int_eq(steps_at(&ten, NM_PER_64TH), 31);
    ck_assert_int_eq(steps_at(&ten, INT64_C(4) * NM_PER_64TH), 125);
    ck_assert_int_eq(steps_at(&ten_fine, NM_PER_64TH), 500);
    ck_assert_int_eq(screw_position_nm(&ten_fine, 500), NM_PER_64TH);
    ck_assert_int_eq(steps_at(&metric, NM_PER_64TH), 40);
    ck_assert_int_eq(steps_at(&metric_fine, NM_PER_64TH), 635); /* 39.6875 * 16 */
    ck_assert_int_eq(screw_position_nm(&metric_fine, 635), NM_PER_64TH);
}
END_TEST

START_TEST(one_turn_is_one_lead)
{
    struct screw twelve = threads_per_inch(12, 16);
    ck_assert_int_eq(steps_at(&twelve, NM_PER_IN), 38400);
    ck_assert_int_eq(screw_position_nm(&twelve, 38400), NM_PER_IN);
    ck_assert_int_eq(screw_position_nm(&twelve, 3200), 2116667); /* 25.4 / 12 mm = 2 116 666.67 */
    ck_assert_int_eq(screw_position_nm(&twelve, -3200), -2116667);
    ck_assert_int_eq(steps_at(&twelve, 0), 0);
    ck_assert_int_eq(screw_position_nm(&twelve, 0), 0);
}
END_TEST

/* 8 nm a step, then 3 steps to 2 nm (1.5 steps a nanometre). */
START_TEST(ties_go_away_from_zero)
{
    struct screw coarse = {1, 8, 1};
    struct screw fine = {3, 2, 1};
    ck_assert_int_eq(steps_at(&coarse, 3), 0);
    ck_assert_int_eq(steps_at(&coarse, 4), 1);
    ck_assert_int_eq(steps_at(&coarse, -3), 0);
    ck_assert_int_eq(steps_at(&coarse, -4), -1);
    ck_assert_int_eq(steps_at(&coarse, 12), 2);
    ck_assert_int_eq(steps_at(&fine, 1), 2);
    ck_assert_int_eq(steps_at(&fine, -1), -2);
    struct screw half = {2, 1, 1}; /* half a nanometre a step */
    ck_assert_int_eq(screw_position_nm(&half, 1), 1);
    ck_assert_int_eq(screw_position_nm(&half, -1), -1);
    ck_assert_int_eq(screw_position_nm(&half, -3), -2);
}
END_TEST

START_TEST(a_count_beyond_32_bits_is_refused)
{
    struct screw one = {1, 1, 1}; /* a nanometre a step */
    struct screw finest = {1000000, 1, 1000000};
    int32_t steps = 77;
    ck_assert_int_eq(steps_at(&one, INT32_MAX), INT32_MAX);
    ck_assert_int_eq(steps_at(&one, INT32_MIN), INT32_MIN);
    ck_assert(!screw_steps(&one, (int64_t)INT32_MAX + 1, &steps));
    ck_assert(!screw_steps(&one, (int64_t)INT32_MIN - 1, &steps));
    ck_assert(!screw_steps(&finest, INT64_MAX, &steps));
    ck_assert(!screw_steps(&finest, INT64_MIN, &steps));
    ck_assert_int_eq(steps, 77);
    /* 2 147 483 647.5 rounds up and out, its negative down and just in. */
    struct screw two = {1, 2, 1};
    ck_assert(!screw_steps(&two, INT64_C(4294967295), &steps));
    ck_assert(screw_steps(&two, -INT64_C(4294967295), &steps));
    ck_assert_int_eq(steps, INT32_MIN);
}
END_TEST

START_TEST(a_position_beyond_64_bits_becomes_the_nearest_that_fits)
{
    struct screw longest = {1, 1000000000, 1};
    ck_assert_int_eq(screw_position_nm(&longest, INT32_MAX), INT64_C(2147483647000000000));
    ck_assert_int_eq(screw_position_nm(&longest, INT32_MIN), INT64_C(-2147483648000000000));
    ck_assert(screw_position_nm(&longest, INT64_MAX) == INT64_MAX);
    ck_assert(screw_position_nm(&longest, INT64_MIN) == INT64_MIN);
}
END_TEST

START_TEST(impossible_screws_are_not_valid)
{
    static const struct screw impossible[] = {
        {0, 2000000, 1},   {-200, 2000000, 1},  {1000001, 2000000, 1},
        {200, 0, 1},       {200, -1, 1},        {200, 1000000001, 1},
        {200, 2000000, 0}, {200, 2000000, -12}, {200, 2000000, 1000001},
    };
    static const struct screw possible[] = {{1, 1, 1}, {1000000, 1000000000, 1000000}};
    for (size_t i = 0; i < sizeof impossible / sizeof *impossible; i++)
        ck_assert_msg(!screw_valid(&impossible[i]), "impossible screw %zu is called valid", i);
    for (size_t i = 0; i < sizeof possible / sizeof *possible; i++)
        ck_assert_msg(screw_valid(&possible[i]), "possible screw %zu is refused", i);
}
END_TEST

START_TEST(the_travel_of_a_step_is_rounded_up)
{
    struct screw sixteen = threads_per_inch(16, 16); /* 1 587 500 / 3200 = 496.09 nm */
    struct screw ten = threads_per_inch(10, 1);      /* 12 700 nm: .0005 in */
    struct screw least = {1000000, 1, 1000000};
    struct screw most = {1, 1000000000, 1};
    ck_assert_int_eq(screw_step_nm(&sixteen), 497);
    ck_assert_int_eq(screw_step_nm(&ten), 12700);
    ck_assert_int_eq(screw_step_nm(&least), 1);
    ck_assert_int_eq(screw_step_nm(&most), 1000000000);
}
END_TEST

/* --- Drift --- */

/* A million nudges of 1/64 in up and the same down on 12 threads an inch: after n of them the
 * count is n * 200 * 12 / 64 = 37.5 n, halves away from zero. Each nudge alone would round to 38,
 * so adding up rounded nudges would be half a million steps off at the top. */
START_TEST(a_million_nudges_do_not_drift)
{
    struct screw twelve = threads_per_inch(12, 1);
    int64_t position_nm = 0;
    int64_t most = 0;
    for (int64_t n = 1; n <= INT64_C(2) * MILLION; n++) {
        int64_t nudges = n <= MILLION ? n : INT64_C(2) * MILLION - n;
        position_nm += n <= MILLION ? NM_PER_64TH : -NM_PER_64TH;
        int32_t steps = steps_at(&twelve, position_nm);
        if (steps != (75 * nudges + 1) / 2)
            ck_abort_msg("after %" PRId64 " nudges: %" PRId32 " steps", n, steps);
        most = steps > most ? steps : most;
    }
    ck_assert_int_eq(most, 37500000);
    ck_assert_int_eq(position_nm, 0);
    ck_assert_int_eq(steps_at(&twelve, position_nm), 0);
}
END_TEST

/* A random walk of .001 in nudges on 12 threads an inch: k thousandths are k * 12 * 200 * 16 / 1000
 * = 38.4 k steps; in fifths of a step 192 k, never a tie. */
START_TEST(a_million_random_nudges_agree_with_the_exact_ratio)
{
    struct screw twelve = threads_per_inch(12, 16);
    int64_t position_nm = 0;
    int64_t thousandths = 0;
    start_random();
    for (int i = 0; i < MILLION; i++) {
        int64_t nudge = between(-400, 400);
        position_nm += nudge * 25400;
        thousandths += nudge;
        int64_t want = (llabs(192 * thousandths) + 2) / 5;
        int32_t steps = steps_at(&twelve, position_nm);
        if (steps != (thousandths < 0 ? -want : want))
            ck_abort_msg("REGLET_SEED=%" PRIu64 ": %" PRId64 " thousandths are %" PRId32 " steps",
                         base_seed, thousandths, steps);
    }
}
END_TEST

/* --- Properties --- */

static struct screw random_screw(void)
{
    struct screw screw = {between(1, 1000000), between(1, 1000000000),
                          between(1, between(0, 1) ? 64 : 1000000)};
    return screw;
}

START_TEST(steps_to_nanometres_and_back_is_the_identity)
{
    start_random();
    for (int i = 0; i < TRIALS; i++) {
        struct screw screw = random_screw();
        screw.lead_den = between(1, 40);
        if (screw.lead_num_nm < screw.steps_per_turn * screw.lead_den)
            screw.lead_num_nm = screw.steps_per_turn * screw.lead_den; /* 1 nm a step */
        int32_t steps = (int32_t)between(INT32_MIN, INT32_MAX);
        int32_t back = 0;
        if (!screw_steps(&screw, screw_position_nm(&screw, steps), &back) || back != steps)
            ck_abort_msg("REGLET_SEED=%" PRIu64 ": %" PRId32 " steps came back as %" PRId32,
                         base_seed, steps, back);
    }
}
END_TEST

/* A table with as many points as a gauge makes, as steep as may be, anywhere in the travel. */
static void random_table(struct error_table *table)
{
    int64_t from_nm = -between(1, 500000000);
    int64_t to_nm = from_nm + between(1000, 500000000);
    int count = (int)between(2, between(0, 1) ? 8 : ERROR_TABLE_MAX);
    count = count > to_nm - from_nm ? 2 : count;
    ck_assert(error_table_space(table, from_nm, to_nm, count));
    table->error_nm[0] = between(-1000000, 1000000);
    for (int i = 1; i < count; i++) {
        int64_t most_nm = (table->said_nm[i] - table->said_nm[i - 1]) / ERROR_TABLE_SLOPE;
        int64_t rise_nm = between(0, 2) == 0 ? most_nm : between(-most_nm, most_nm);
        table->error_nm[i] = table->error_nm[i - 1] + (between(0, 1) ? rise_nm : -rise_nm);
    }
    ck_assert(error_table_valid(table));
}

START_TEST(with_an_error_table_steps_still_come_back)
{
    static struct error_table table;
    start_random();
    for (int round = 0; round < 200; round++) {
        struct screw screw = random_screw();
        screw.lead_den = between(1, 40);
        screw.steps_per_turn = between(1, 256000);
        if (screw.lead_num_nm < 4 * screw.steps_per_turn * screw.lead_den)
            screw.lead_num_nm = 4 * screw.steps_per_turn * screw.lead_den;
        random_table(&table);
        int32_t reach = 0;
        if (!screw_steps(&screw, 600000000, &reach))
            continue;
        for (int i = 0; i < 500; i++) {
            int32_t steps = (int32_t)between(-reach, reach / 4);
            int32_t back = 0;
            int64_t position_nm = screw_true_position_nm(&screw, &table, steps);
            if (!screw_true_steps(&screw, &table, position_nm, &back) || back != steps)
                ck_abort_msg("REGLET_SEED=%" PRIu64 ": %" PRId32 " steps came back as %" PRId32,
                             base_seed, steps, back);
            if (screw_true_position_nm(&screw, &table, steps + 1) <= position_nm)
                ck_abort_msg("REGLET_SEED=%" PRIu64 ": a step up does not rise", base_seed);
        }
    }
}
END_TEST

/* Of the counts around the asked position none is nearer than the one that is given. */
START_TEST(with_an_error_table_the_nearest_step_is_taken)
{
    static struct error_table table;
    const struct screw screw = threads_per_inch(10, 16);
    start_random();
    for (int round = 0; round < 200; round++) {
        random_table(&table);
        for (int i = 0; i < 500; i++) {
            int64_t wanted_nm = between(-600000000, 100000000);
            int32_t steps = 0;
            ck_assert(screw_true_steps(&screw, &table, wanted_nm, &steps));
            int64_t off_nm = llabs(screw_true_position_nm(&screw, &table, steps) - wanted_nm);
            for (int beside = -2; beside <= 2; beside++)
                if (llabs(screw_true_position_nm(&screw, &table, steps + beside) - wanted_nm) <
                    off_nm - 3)
                    ck_abort_msg("REGLET_SEED=%" PRIu64 ": %d beside is nearer to %" PRId64,
                                 base_seed, beside, wanted_nm);
        }
    }
}
END_TEST

START_TEST(without_points_or_without_a_table_nothing_changes)
{
    static struct error_table none;
    const struct screw screw = threads_per_inch(16, 8);
    none.count = 0;
    start_random();
    for (int i = 0; i < TRIALS; i++) {
        int32_t steps = (int32_t)between(INT32_MIN, INT32_MAX);
        int64_t position_nm = screw_position_nm(&screw, steps);
        ck_assert_int_eq(screw_true_position_nm(&screw, &none, steps), position_nm);
        ck_assert_int_eq(screw_true_position_nm(&screw, NULL, steps), position_nm);
        int32_t back;
        ck_assert(screw_true_steps(&screw, NULL, position_nm, &back));
        ck_assert_int_eq(back, steps);
    }
    /* Beyond all lifts the table is left alone, and nothing overflows. */
    none = (struct error_table){2, {0, 1000}, {50, 100}};
    ck_assert(screw_true_position_nm(&screw, &none, INT64_MAX) ==
              screw_position_nm(&screw, INT64_MAX));
    ck_assert(!screw_true_steps(&screw, &none, INT64_MIN, &(int32_t){0}));
    ck_assert_int_eq(screw_true_position_nm(&screw, &none, 0), 50);
}
END_TEST

START_TEST(tables_are_spaced_evenly_or_refused)
{
    static struct error_table table;
    ck_assert(error_table_space(&table, -10, 0, 4));
    ck_assert_int_eq(table.said_nm[1], -7); /* -6.67 */
    ck_assert_int_eq(table.said_nm[2], -3);
    ck_assert_int_eq(table.said_nm[3], 0);
    ck_assert(error_table_space(&table, 0, 0, 0) && table.count == 0);
    ck_assert(!error_table_space(&table, 0, 100, 1));
    ck_assert(!error_table_space(&table, 0, 100, -1));
    ck_assert(!error_table_space(&table, 0, 100000, ERROR_TABLE_MAX + 1));
    ck_assert(!error_table_space(&table, 0, 2, 4));
    ck_assert(!error_table_space(&table, 5, -5, 2));
    ck_assert(!error_table_space(&table, 0, INT64_MAX, 2));
}
END_TEST

START_TEST(every_count_of_an_everyday_travel_comes_back)
{
    const struct screw screws[] = {threads_per_inch(16, 16),
                                   threads_per_inch(10, 16),
                                   threads_per_inch(12, 16),
                                   {3200, 2000000, 1}};
    for (size_t which = 0; which < sizeof screws / sizeof *screws; which++)
        for (int32_t steps = -200000; steps <= 200000; steps++)
            if (steps_at(&screws[which], screw_position_nm(&screws[which], steps)) != steps)
                ck_abort_msg("screw %zu loses count %" PRId32, which, steps);
}
END_TEST

/* The definition, by multiplying out: the nearest is off by at most half a divisor, and by half
 * only on the side away from zero. No division and no rounding of its own. */
static bool is_nearest(wide_int value, wide_int above, wide_int below)
{
    wide_int off = 2 * (value * below - above);
    if (off == below)
        return above > 0;
    if (off == -below)
        return above < 0;
    return off < below && off > -below;
}

START_TEST(each_result_is_the_nearest_by_definition)
{
    int counted = 0;
    start_random();
    for (int i = 0; i < TRIALS; i++) {
        struct screw screw = random_screw();
        int64_t position_nm = random_scale(0);
        int64_t any = random_scale(32);
        wide_int above = (wide_int)position_nm * screw.steps_per_turn * screw.lead_den;
        wide_int beyond = ((wide_int)INT32_MAX + 1) * screw.lead_num_nm;
        int32_t steps = 0;
        bool fits = screw_steps(&screw, position_nm, &steps);
        counted += fits;
        if (fits ? !is_nearest(steps, above, screw.lead_num_nm)
                 : above > -beyond && above < beyond - screw.lead_num_nm)
            ck_abort_msg("REGLET_SEED=%" PRIu64 ": %" PRId64 " nm is not %" PRId32 " steps",
                         base_seed, position_nm, steps);
        if (!is_nearest(screw_position_nm(&screw, any), (wide_int)any * screw.lead_num_nm,
                        (wide_int)screw.steps_per_turn * screw.lead_den))
            ck_abort_msg("REGLET_SEED=%" PRIu64 ": wrong position of %" PRId64 " steps", base_seed,
                         any);
    }
    ck_assert_int_gt(counted, TRIALS / 10);
}
END_TEST

/* In floating point, with ties left out: the error of a long double is far below a millionth of a
 * step here. */
START_TEST(floating_point_agrees_away_from_ties)
{
    int compared = 0;
    start_random();
    for (int i = 0; i < TRIALS; i++) {
        struct screw screw = {200 * (INT64_C(1) << between(0, 6)), NM_PER_IN, between(2, 40)};
        int64_t position_nm = between(-INT64_C(1000000000), INT64_C(1000000000));
        long double ideal = (long double)position_nm * (long double)screw.steps_per_turn *
                            (long double)screw.lead_den / (long double)screw.lead_num_nm;
        if (fabsl(fabsl(ideal - truncl(ideal)) - 0.5L) < 1e-6L)
            continue;
        compared++;
        if (steps_at(&screw, position_nm) != lrintl(ideal))
            ck_abort_msg("REGLET_SEED=%" PRIu64 ": %" PRId64 " nm is %.9Lf steps", base_seed,
                         position_nm, ideal);
    }
    ck_assert_int_gt(compared, TRIALS / 2);
}
END_TEST

static Suite *screw_suite(void)
{
    Suite *suite = suite_create("screw");
    TCase *tables = tcase_create("tables");
    TCase *properties = tcase_create("properties");
    tcase_add_test(tables, a_sixty_fourth_is_the_steps_that_the_thread_makes_it);
    tcase_add_test(tables, one_turn_is_one_lead);
    tcase_add_test(tables, ties_go_away_from_zero);
    tcase_add_test(tables, a_count_beyond_32_bits_is_refused);
    tcase_add_test(tables, a_position_beyond_64_bits_becomes_the_nearest_that_fits);
    tcase_add_test(tables, impossible_screws_are_not_valid);
    tcase_add_test(tables, the_travel_of_a_step_is_rounded_up);
    tcase_add_test(properties, a_million_nudges_do_not_drift);
    tcase_add_test(properties, a_million_random_nudges_agree_with_the_exact_ratio);
    tcase_add_test(properties, steps_to_nanometres_and_back_is_the_identity);
    tcase_add_test(properties, with_an_error_table_steps_still_come_back);
    tcase_add_test(properties, with_an_error_table_the_nearest_step_is_taken);
    tcase_add_test(properties, without_points_or_without_a_table_nothing_changes);
    tcase_add_test(properties, tables_are_spaced_evenly_or_refused);
    tcase_add_test(properties, every_count_of_an_everyday_travel_comes_back);
    tcase_add_test(properties, each_result_is_the_nearest_by_definition);
    tcase_add_test(properties, floating_point_agrees_away_from_ties);
    tcase_set_timeout(properties, 60);
    suite_add_tcase(suite, tables);
    suite_add_tcase(suite, properties);
    return suite;
}

int main(void)
{
    read_seed();
    return run_suite(screw_suite());
}
