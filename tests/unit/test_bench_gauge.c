/* SPDX-License-Identifier: MIT */
/*
 * The gauge's figures and its fit. ISO 230-2, editions 1997 to 2014 (formulas and their properties
 * from memory of the standard). The lifts are synthetic, and what is hidden in them is known here.
 */
#include <check.h>
#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "clients/bench/cause.h"
#include "clients/bench/gauge.h"
#include "clients/bench/table_fit.h"
#include "protocol/length.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum { SEEDS = 200, TRIALS = 20000, MM = 1000000, UM = 1000 };

static const double two_pi = 6.28318530717958647692;

static struct gauge_readings readings;
static struct gauge_iso iso;
static struct error_table table;

/* --- ISO 230-2 --- */

static void set_deviation(int side, int target, int run, int64_t nm)
{
    readings.reached_nm[side][target][run] = readings.target_nm[target] + nm;
}

/* In whole micrometres: up as written, down the same minus 5. Every s .70711; B 5; R 7.8284; E up
 * 4; E 9; M 4; A up 6.8284; A 11.8284. */
START_TEST(the_hand_example)
{
    static const int up[5][5] = {
        {2, 1, 0, 1, 1}, {4, 3, 2, 3, 3}, {6, 5, 4, 5, 5}, {5, 4, 3, 4, 4}, {3, 2, 1, 2, 2}};
    readings = (struct gauge_readings){.targets = 5, .runs = 5};
    for (int i = 0; i < 5; i++) {
        readings.target_nm[i] = (int64_t)i * i * 3 * MM;
        for (int run = 0; run < 5; run++) {
            set_deviation(GAUGE_UP, i, run, (int64_t)up[i][run] * UM);
            set_deviation(GAUGE_DOWN, i, run, (int64_t)(up[i][run] - 5) * UM);
        }
    }
    ck_assert(gauge_iso(&readings, &iso));
    for (int i = 0; i < 5; i++) {
        ck_assert_double_eq_tol(iso.target[i].sd_nm[GAUGE_UP] / UM, .70711, .000005);
        ck_assert_double_eq_tol(iso.target[i].sd_nm[GAUGE_DOWN] / UM, .70711, .000005);
        ck_assert_double_eq_tol(iso.target[i].reversal_nm / UM, 5, 1e-9);
    }
    ck_assert_double_eq_tol(iso.reversal_nm / UM, 5, 1e-9);
    ck_assert_double_eq_tol(iso.reversal_mean_nm / UM, 5, 1e-9);
    ck_assert_double_eq_tol(iso.repeat_both_nm / UM, 7.8284, .00005);
    ck_assert_double_eq_tol(iso.repeat_nm[GAUGE_UP] / UM, 4 * .70711, .00005);
    ck_assert_double_eq_tol(iso.repeat_nm[GAUGE_DOWN] / UM, 4 * .70711, .00005);
    ck_assert_double_eq_tol(iso.systematic_nm[GAUGE_UP] / UM, 4, 1e-9);
    ck_assert_double_eq_tol(iso.systematic_both_nm / UM, 9, 1e-9);
    ck_assert_double_eq_tol(iso.mean_deviation_nm / UM, 4, 1e-9);
    ck_assert_double_eq_tol(iso.accuracy_nm[GAUGE_UP] / UM, 6.8284, .00005);
    ck_assert_double_eq_tol(iso.accuracy_both_nm / UM, 11.8284, .00005);
}
END_TEST

/* E >= E up, E down; A >= E; R >= B; M <= E. */
START_TEST(the_figures_stand_in_their_order)
{
    for (int trial = 0; trial < TRIALS / 10; trial++) {
        readings =
            (struct gauge_readings){.targets = (int)between(5, 60), .runs = (int)between(2, 10)};
        int64_t at = between(-50 * MM, 50 * MM);
        for (int i = 0; i < readings.targets; i++) {
            at += between(1, 5 * MM);
            readings.target_nm[i] = at;
            for (int run = 0; run < readings.runs; run++) {
                set_deviation(GAUGE_UP, i, run, between(-20 * UM, 20 * UM));
                set_deviation(GAUGE_DOWN, i, run, between(-20 * UM, 20 * UM));
            }
        }
        bool made = gauge_iso(&readings, &iso);
        double few = 1e-6;
        if (!made || iso.systematic_both_nm < iso.systematic_nm[GAUGE_UP] - few ||
            iso.systematic_both_nm < iso.systematic_nm[GAUGE_DOWN] - few ||
            iso.accuracy_both_nm < iso.systematic_both_nm - few ||
            iso.repeat_both_nm < iso.reversal_nm - few ||
            iso.mean_deviation_nm > iso.systematic_both_nm + few)
            ck_abort_msg("E %g, A %g, R %g, B %g, M %g", iso.systematic_both_nm,
                         iso.accuracy_both_nm, iso.repeat_both_nm, iso.reversal_nm,
                         iso.mean_deviation_nm);
    }
}
END_TEST

/* --- Synthetic lifts --- */

struct lift {
    double lead_nm;
    double scale;
    double lash_nm;
    double amplitude_nm;
    double phase;
    double noise_nm[2]; /* sd of the readout, by side */
};

/* Normal by twelve uniform numbers. */
static double normal(void)
{
    double sum = 0;
    for (int i = 0; i < 12; i++)
        sum += (double)below(1u << 24) / (double)(1u << 24);
    return sum - 6;
}

/* Coming down the carriage hangs behind the screw by the lash. */
static double true_of(const struct lift *lift, double said, int side)
{
    return said * lift->scale +
           lift->amplitude_nm * sin(two_pi * said / lift->lead_nm + lift->phase) +
           (side == GAUGE_DOWN ? lift->lash_nm : 0);
}

static void gauge_it(const struct lift *lift, int targets, int runs)
{
    readings = (struct gauge_readings){.targets = targets, .runs = runs};
    if (!gauge_targets(2 * MM, 73 * MM, lift->lead_nm, targets, readings.target_nm))
        ck_abort_msg("no targets");
    for (int side = 0; side < 2; side++)
        for (int i = 0; i < targets; i++)
            for (int run = 0; run < runs; run++)
                readings.reached_nm[side][i][run] =
                    llround(true_of(lift, (double)readings.target_nm[i], side) +
                            lift->noise_nm[side] * normal() + 5000);
}

static struct lift hidden_lift(void)
{
    static const double leads_nm[] = {2e6, 2.54e6, 3.175e6, 25.4e6 / 12, 5e6};
    return (struct lift){.lead_nm = leads_nm[below(5)],
                         .scale = 1 + (below(2) ? .003 : -.003),
                         .lash_nm = 180000,
                         .amplitude_nm = 20000,
                         .phase = two_pi * (double)below(1000) / 1000,
                         .noise_nm = {3000, 3000}};
}

/* .3 % of lead error, .18 mm of lash, once a turn .02 mm, readout noise .003 mm, 21 targets, 5 runs
 * each way: scale to within .01 %, lash to within .01 mm, the sine to within a fifth of it. */
START_TEST(a_hidden_lift_is_found_out)
{
    for (int seed = 0; seed < SEEDS; seed++) {
        struct lift lift = hidden_lift();
        struct gauge_fit fit;
        gauge_it(&lift, GAUGE_TARGETS, GAUGE_RUNS);
        bool made = gauge_fit(&readings, lift.lead_nm, &fit);
        if (!made || fabs(fit.scale - lift.scale) > 1e-4 ||
            fabs(fit.lash_nm - lift.lash_nm) > 10000 || fit.reversal_nm < 0 || !fit.has_sine ||
            fabs(fit.amplitude_nm - lift.amplitude_nm) > 4000)
            ck_abort_msg("lead %g: scale %.6f, lash %g, amplitude %g", lift.lead_nm, fit.scale,
                         fit.lash_nm, fit.amplitude_nm);
    }
}
END_TEST

/* The standard errors say how far off the figures are: nine in ten within twice, as a normal law
 * would have it for 95 in 100. */
START_TEST(standard_errors_are_honest)
{
    int scale = 0;
    int lash = 0;
    for (int seed = 0; seed < SEEDS; seed++) {
        struct lift lift = hidden_lift();
        struct gauge_fit fit;
        gauge_it(&lift, GAUGE_TARGETS, GAUGE_RUNS);
        ck_assert(gauge_fit(&readings, lift.lead_nm, &fit));
        scale += fabs(fit.scale - lift.scale) <= 2 * fit.scale_sd;
        lash += fabs(fit.reversal_nm - lift.lash_nm) <= 2 * fit.reversal_sd_nm;
        ck_assert_double_eq_tol(fit.residual_sd_nm, 3000, 900);
    }
    ck_assert_int_ge(scale, SEEDS * 87 / 100);
    ck_assert_int_ge(lash, SEEDS * 87 / 100);
}
END_TEST

/* What is left between said and true after the table, over the whole travel, touched off anywhere:
 * under .012 mm. */
START_TEST(the_table_takes_the_error_out)
{
    double worst = 0;
    int limits = 0;
    for (int seed = 0; seed < SEEDS; seed++) {
        struct lift lift = hidden_lift();
        struct gauge_fit fit;
        double off_nm;
        bool with_scale = below(2) == 0; /* or the lead is set anew */
        gauge_it(&lift, GAUGE_TARGETS, GAUGE_RUNS);
        ck_assert(gauge_fit(&readings, lift.lead_nm, &fit));
        ck_assert(table_fit(&fit, lift.lead_nm, 0, 75 * MM, 75 * MM, with_scale, &table, &off_nm));
        limits += off_nm > 1;
        double rest = with_scale ? 1 : fit.scale;
        double zero = (double)between(0, 75 * MM);
        double offset = true_of(&lift, zero, GAUGE_UP) -
                        (double)error_table_true_nm(&table, llround(zero)) - (rest - 1) * zero;
        for (int i = 0; i < 200; i++) {
            double said = (double)between(0, 75 * MM);
            double left = true_of(&lift, said, GAUGE_UP) -
                          (double)error_table_true_nm(&table, llround(said)) - (rest - 1) * said -
                          offset;
            worst = fmax(worst, fabs(left));
        }
    }
    printf("worst error left: %.4f mm, the table limited in %d of %d\n", worst / MM, limits, SEEDS);
    ck_assert_double_lt(worst, 12000);
}
END_TEST

/* A sine that is steeper than the table's bound, on 16 threads an inch: the table is the nearest
 * that is not, and says by how much it is off. */
START_TEST(a_steep_sine_is_taken_out_as_far_as_may_be)
{
    struct gauge_fit fit = {.scale = 1, .has_sine = true, .sine_nm = 20000, .amplitude_nm = 20000};
    double off_nm;
    double lead_nm = 25.4e6 / 16;
    ck_assert(table_fit(&fit, lead_nm, 0, 75 * MM, 0, true, &table, &off_nm));
    double highest = -HUGE_VAL;
    double lowest = HUGE_VAL;
    for (int i = 0; i < 5000; i++) {
        double said = (double)between(0, 75 * MM);
        double wanted = said + 20000 * sin(two_pi * said / lead_nm);
        double left = (double)error_table_true_nm(&table, llround(said)) - wanted;
        highest = fmax(highest, left);
        lowest = fmin(lowest, left);
    }
    ck_assert_double_gt(off_nm, 1000);
    ck_assert_double_lt(off_nm, 5000);
    ck_assert_double_lt((highest - lowest) / 2, off_nm + 400); /* and the chords */
    ck_assert(table_fit(&fit, 5e6, 0, 75 * MM, 0, true, &table, &off_nm));
    ck_assert_double_eq(off_nm, 0);
}
END_TEST

/* Without the table it is far more: the check above can fail. */
START_TEST(without_the_table_it_is_left_in)
{
    struct lift lift = hidden_lift();
    double worst = 0;
    for (int i = 0; i < 1000; i++) {
        double said = (double)between(0, 75 * MM);
        worst = fmax(worst, fabs(true_of(&lift, said, GAUGE_UP) - said));
    }
    ck_assert_double_gt(worst, 100000);
}
END_TEST

/* Targets at one place of the turn show no sine: the line alone is fitted, and says so. */
START_TEST(targets_of_one_place_in_the_turn_show_no_sine)
{
    struct lift lift = hidden_lift();
    struct gauge_fit fit;
    gauge_it(&lift, GAUGE_TARGETS, GAUGE_RUNS);
    for (int i = 0; i < readings.targets; i++) {
        readings.target_nm[i] = (int64_t)i * 5 * MM;
        for (int side = 0; side < 2; side++)
            for (int run = 0; run < readings.runs; run++)
                readings.reached_nm[side][i][run] = readings.target_nm[i] + 7 + run;
    }
    ck_assert(gauge_fit(&readings, 5e6, &fit));
    ck_assert(!fit.has_sine);
    ck_assert_double_eq(fit.amplitude_nm, 0);
    ck_assert_double_eq_tol(fit.scale, 1, 1e-12);
}
END_TEST

/* The direction that repeats better, up unless down is clearly better. */
START_TEST(the_side_to_finish_from)
{
    struct lift lift = hidden_lift();
    gauge_it(&lift, GAUGE_TARGETS, GAUGE_RUNS);
    ck_assert(gauge_iso(&readings, &iso));
    ck_assert_int_eq(gauge_finish(&readings, &iso, 1000), GAUGE_UP);
    lift.noise_nm[GAUGE_UP] = 9000; /* a counterbalanced lift that rattles on its way up */
    gauge_it(&lift, GAUGE_TARGETS, GAUGE_RUNS);
    ck_assert(gauge_iso(&readings, &iso));
    ck_assert_int_eq(gauge_finish(&readings, &iso, 1000), GAUGE_DOWN);
    ck_assert_int_eq(gauge_finish(&readings, &iso, 20000), GAUGE_UP); /* the readout's own */
    lift.noise_nm[GAUGE_UP] = 3000;
    lift.noise_nm[GAUGE_DOWN] = 9000;
    gauge_it(&lift, GAUGE_TARGETS, GAUGE_RUNS);
    ck_assert(gauge_iso(&readings, &iso));
    ck_assert_int_eq(gauge_finish(&readings, &iso, 1000), GAUGE_UP);
}
END_TEST

/* Irregular intervals, and every quarter of the turn is met. */
START_TEST(targets_meet_the_turn_everywhere)
{
    static const double leads_nm[] = {2e6, 2.54e6, 25.4e6 / 16, 25.4e6 / 12, 5e6};
    for (size_t lead = 0; lead < 5; lead++)
        for (int count = 10; count <= GAUGE_TARGETS_MAX; count++) {
            int64_t target_nm[GAUGE_TARGETS_MAX];
            int quarter[4] = {0};
            ck_assert(gauge_targets(0, 75 * MM, leads_nm[lead], count, target_nm));
            bool alike = true;
            for (int i = 0; i < count; i++) {
                quarter[(int)(4 * fmod((double)target_nm[i] / leads_nm[lead], 1))]++;
                if (i > 1 && target_nm[i] - target_nm[i - 1] != target_nm[1] - target_nm[0])
                    alike = false;
            }
            ck_assert_msg(quarter[0] && quarter[1] && quarter[2] && quarter[3] && !alike,
                          "%d targets on a lead of %g: %d %d %d %d", count, leads_nm[lead],
                          quarter[0], quarter[1], quarter[2], quarter[3]);
        }
    int64_t target_nm[GAUGE_TARGETS_MAX];
    ck_assert(!gauge_targets(0, 10 * UM, 2e6, 21, target_nm)); /* no room */
    ck_assert(!gauge_targets(10, 0, 2e6, 21, target_nm));
    ck_assert(!gauge_targets(0, 75 * MM, 0, 21, target_nm));
    ck_assert(!gauge_targets(0, 75 * MM, 2e6, 4, target_nm));
    ck_assert(!gauge_targets(0, 75 * MM, 2e6, 61, target_nm));
}
END_TEST

START_TEST(impossible_readings_are_refused)
{
    struct lift lift = hidden_lift();
    struct gauge_fit fit;
    gauge_it(&lift, 21, 5);
    struct gauge_readings fine = readings;
    ck_assert(gauge_valid(&readings));
    ck_assert(!gauge_fit(&readings, 0, &fit));
    ck_assert(!gauge_fit(&readings, (double)NAN, &fit));
    readings.targets = 4;
    ck_assert(!gauge_valid(&readings) && !gauge_iso(&readings, &iso));
    readings.targets = 61;
    ck_assert(!gauge_valid(&readings));
    readings = fine;
    readings.runs = 1;
    ck_assert(!gauge_valid(&readings) && !gauge_fit(&readings, 2e6, &fit));
    readings.runs = 11;
    ck_assert(!gauge_valid(&readings));
    readings = fine;
    readings.target_nm[3] = readings.target_nm[2];
    ck_assert(!gauge_valid(&readings));
    readings = fine;
    readings.reached_nm[GAUGE_DOWN][20][4] = LENGTH_NM_MAX + 1;
    ck_assert(!gauge_valid(&readings));
}
END_TEST

/* --- The table --- */

static void random_table(void)
{
    table.count = (int)between(1, 60);
    table.said_nm[0] = between(-50 * MM, 50 * MM);
    table.error_nm[0] = between(-MM, MM);
    for (int i = 1; i < table.count; i++) {
        int64_t run = between(1, INT64_C(1) << between(1, 24));
        table.said_nm[i] = table.said_nm[i - 1] + run;
        table.error_nm[i] = table.error_nm[i - 1] + between(-(run / 20), run / 20);
    }
}

/* There and back is exact to a nanometre, both ways rise, the points are met, the ends hold. */
START_TEST(the_inverse_is_exact)
{
    for (int trial = 0; trial < TRIALS; trial++) {
        random_table();
        int last = table.count - 1;
        int at = (int)between(0, last);
        int64_t said = table.said_nm[at] + between(-MM, MM);
        int64_t true_nm = error_table_true_nm(&table, said);
        int64_t back = error_table_said_nm(&table, true_nm);
        int64_t next = error_table_true_nm(&table, said + 10);
        int64_t point = error_table_true_nm(&table, table.said_nm[at]);
        int64_t above = error_table_true_nm(&table, table.said_nm[last] + MM);
        if (!error_table_valid(&table) || back - said > 1 || said - back > 1 ||
            next - true_nm < 9 || next - true_nm > 11 ||
            point != table.said_nm[at] + table.error_nm[at] ||
            above != table.said_nm[last] + MM + table.error_nm[last])
            ck_abort_msg("said %" PRId64 ", true %" PRId64 ", back %" PRId64, said, true_nm, back);
    }
    table.count = 0;
    ck_assert(error_table_valid(&table));
    ck_assert_int_eq(error_table_true_nm(&table, 1234567), 1234567);
    ck_assert_int_eq(error_table_said_nm(&table, -1234567), -1234567);
}
END_TEST

START_TEST(impossible_tables_are_refused)
{
    table = (struct error_table){2, {0, 1000}, {0, 50}};
    ck_assert(error_table_valid(&table));
    table.error_nm[1] = 51;
    ck_assert(!error_table_valid(&table));
    table.error_nm[1] = -51;
    ck_assert(!error_table_valid(&table));
    table.error_nm[1] = 0;
    table.said_nm[1] = 0;
    ck_assert(!error_table_valid(&table));
    table.said_nm[1] = LENGTH_NM_MAX + 1;
    ck_assert(!error_table_valid(&table));
    table.count = -1;
    ck_assert(!error_table_valid(&table));
    table.count = ERROR_TABLE_MAX + 1;
    ck_assert(!error_table_valid(&table));
    struct gauge_fit fit = {.scale = 1.06};
    double off_nm;
    ck_assert(!table_fit(&fit, 2e6, 0, 75 * MM, 0, true, &table, &off_nm));
    ck_assert(table_fit(&fit, 2e6, 0, 75 * MM, 0, false, &table, &off_nm));
    ck_assert(!table_fit(&fit, 2e6, 75 * MM, 0, 0, false, &table, &off_nm));
    ck_assert(!table_fit(&fit, 0, 0, 75 * MM, 0, false, &table, &off_nm));
}
END_TEST

/* --- Causes --- */

/* 10 threads an inch: a full step is 12 700 nm; a readout to .003 mm. */
START_TEST(the_cause_of_an_error_has_a_name)
{
    static const struct {
        int64_t error_nm;
        enum cause cause;
        int64_t steps;
    } errors[] = {
        {0, CAUSE_NOTHING, 0},          {3000, CAUSE_NOTHING, 0},
        {-3000, CAUSE_NOTHING, 0},      {50800, CAUSE_SLIP, 4},
        {-50800, CAUSE_SLIP, -4},       {50800 + 3000, CAUSE_SLIP, 4},
        {101600 - 2999, CAUSE_SLIP, 8}, {152400, CAUSE_SLIP, 12},
        {12700, CAUSE_NOISE, 0},        {25400, CAUSE_NOISE, 0},
        {50800 + 3001, CAUSE_NOISE, 0}, {-76200, CAUSE_NOISE, 0},
    };
    int64_t steps;
    for (size_t i = 0; i < sizeof errors / sizeof *errors; i++) {
        ck_assert_msg(cause_of_error(errors[i].error_nm, 127000, 10, 3000, &steps) ==
                          errors[i].cause,
                      "error %" PRId64, errors[i].error_nm);
        ck_assert_int_eq(steps, errors[i].steps);
    }
    ck_assert_int_eq(cause_of_error(50800, 12700, 1, 25400, &steps), CAUSE_EITHER);
}
END_TEST

START_TEST(the_causes_of_a_gauge_have_names)
{
    struct gauge_fit fit = {.scale = 1.003,
                            .scale_sd = 1e-5,
                            .lash_nm = 180000,
                            .reversal_sd_nm = 400,
                            .amplitude_nm = 20000,
                            .amplitude_sd_nm = 300};
    enum cause causes[CAUSES_MAX];
    ck_assert_uint_eq(cause_of_fit(&fit, 75e6, 5000, causes), 3);
    ck_assert_int_eq(causes[0], CAUSE_SCALE);
    ck_assert_int_eq(causes[1], CAUSE_LASH);
    ck_assert_int_eq(causes[2], CAUSE_SCREW);
    ck_assert_uint_eq(cause_of_fit(&fit, 10e6, 25000, causes), 2);
    ck_assert_int_eq(causes[0], CAUSE_LASH);
    fit.reversal_sd_nm = 70000; /* not to be told from nothing */
    ck_assert_uint_eq(cause_of_fit(&fit, 10e6, 25000, causes), 1);
    ck_assert_int_eq(causes[0], CAUSE_SCALE);
    fit.scale = 1;
    ck_assert_uint_eq(cause_of_fit(&fit, 10e6, 25000, causes), 0);
    for (int i = CAUSE_NOTHING; i <= CAUSE_SCREW; i++)
        ck_assert_uint_gt(strlen(cause_words((enum cause)i)), 20);
}
END_TEST

static Suite *gauge_suite(void)
{
    Suite *suite = suite_create("gauge");
    TCase *tests = tcase_create("gauge");
    tcase_add_test(tests, the_hand_example);
    tcase_add_test(tests, the_figures_stand_in_their_order);
    tcase_add_test(tests, a_hidden_lift_is_found_out);
    tcase_add_test(tests, standard_errors_are_honest);
    tcase_add_test(tests, the_table_takes_the_error_out);
    tcase_add_test(tests, a_steep_sine_is_taken_out_as_far_as_may_be);
    tcase_add_test(tests, without_the_table_it_is_left_in);
    tcase_add_test(tests, targets_of_one_place_in_the_turn_show_no_sine);
    tcase_add_test(tests, the_side_to_finish_from);
    tcase_add_test(tests, targets_meet_the_turn_everywhere);
    tcase_add_test(tests, impossible_readings_are_refused);
    tcase_add_test(tests, the_inverse_is_exact);
    tcase_add_test(tests, impossible_tables_are_refused);
    tcase_add_test(tests, the_cause_of_an_error_has_a_name);
    tcase_add_test(tests, the_causes_of_a_gauge_have_names);
    suite_add_tcase(suite, tests);
    return suite;
}

int main(void)
{
    read_seed();
    return run_suite(gauge_suite());
}
