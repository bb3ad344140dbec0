/* SPDX-License-Identifier: MIT */
/*
 * Statistics against NIST's Statistical Reference Datasets (public domain): NumAcc1 and Michelso
 * of the univariate ones, Norris of the linear regressions, with their certified values, each to
 * at least 9 digits.
 */
#include <check.h>
#include <math.h>

#include "clients/bench/stats.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum { TRIALS = 500, TERMS = 5, ROWS = 60 };

/* NIST StRD, Norris.dat, J. Norris, calibration of ozone monitors: y, x. */
static const double norris[][2] = {
    {0.1, 0.2},     {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6}, {9.2, 10.1},    {228.1, 226.5},
    {668.5, 666.3}, {998.5, 996.3}, {449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4},
    {0.1, 0.6},     {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0}, {448.9, 447.5}, {10.8, 11.6},
    {557.7, 556.0}, {228.3, 228.1}, {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3},
    {0.6, 0.3},     {557.6, 556.8}, {339.3, 339.1}, {888.0, 887.2}, {998.5, 999.0}, {778.9, 779.0},
    {10.2, 11.1},   {117.6, 118.3}, {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5}};

/* NIST StRD, Michelso.dat: E. N. Dorsey, The Velocity of Light, 1944, table 22. */
static const double michelso[] = {
    299.85, 299.74, 299.90, 300.07, 299.93, 299.85, 299.95, 299.98, 299.98, 299.88, 300.00, 299.98,
    299.93, 299.65, 299.76, 299.81, 300.00, 300.00, 299.96, 299.96, 299.96, 299.94, 299.96, 299.94,
    299.88, 299.80, 299.85, 299.88, 299.90, 299.84, 299.83, 299.79, 299.81, 299.88, 299.88, 299.83,
    299.80, 299.79, 299.76, 299.80, 299.88, 299.88, 299.88, 299.86, 299.72, 299.72, 299.62, 299.86,
    299.97, 299.95, 299.88, 299.91, 299.85, 299.87, 299.84, 299.84, 299.85, 299.84, 299.84, 299.84,
    299.89, 299.81, 299.81, 299.82, 299.80, 299.77, 299.76, 299.74, 299.75, 299.76, 299.91, 299.92,
    299.89, 299.86, 299.88, 299.72, 299.84, 299.85, 299.85, 299.78, 299.89, 299.84, 299.78, 299.81,
    299.76, 299.81, 299.79, 299.81, 299.82, 299.85, 299.87, 299.87, 299.81, 299.74, 299.81, 299.94,
    299.95, 299.80, 299.81, 299.87};

static void ck_digits(double value, double certified)
{
    double digits = value == certified ? 15 : -log10(fabs(value - certified) / fabs(certified));
    ck_assert_msg(digits >= 9, "%.17g, certified %.17g: %.1f digits", value, certified, digits);
}

START_TEST(numacc1)
{
    static const double values[] = {10000001, 10000003, 10000002};
    struct stats_summary out;
    ck_assert(stats_summary(values, 3, &out));
    ck_digits(out.mean, 10000002);
    ck_digits(out.sd, 1);
    ck_digits(out.autocorrelation, -.5);
}
END_TEST

START_TEST(michelson)
{
    struct stats_summary out;
    ck_assert_uint_eq(sizeof michelso / sizeof *michelso, 100);
    ck_assert(stats_summary(michelso, 100, &out));
    ck_digits(out.mean, 299.8524);
    ck_digits(out.sd, .0790105478190518);
    ck_digits(out.autocorrelation, .535199668621283);
}
END_TEST

START_TEST(norris_by_a_line)
{
    double x[36];
    double y[36];
    struct stats_line out;
    ck_assert_uint_eq(sizeof norris / sizeof *norris, 36);
    for (int i = 0; i < 36; i++) {
        x[i] = norris[i][1];
        y[i] = norris[i][0];
    }
    ck_assert(stats_line(x, y, 36, &out));
    ck_digits(out.intercept, -.262323073774029);
    ck_digits(out.slope, 1.00211681802045);
    ck_digits(out.intercept_sd, .232818234301152);
    ck_digits(out.slope_sd, .000429796848199937);
    ck_digits(out.residual_sd, .884796396144373);
}
END_TEST

/* The same by the general fit. */
START_TEST(norris_by_least_squares)
{
    long double row[36 * 2];
    long double y[36];
    struct stats_fit out;
    for (int i = 0; i < 36; i++) {
        row[2 * i] = 1;
        row[2 * i + 1] = norris[i][1];
        y[i] = norris[i][0];
    }
    ck_assert(stats_fit(row, y, 36, 2, &out));
    ck_digits(out.coefficient[0], -.262323073774029);
    ck_digits(out.coefficient[1], 1.00211681802045);
    ck_digits(out.sd[0], .232818234301152);
    ck_digits(out.sd[1], .000429796848199937);
    ck_digits(out.residual_sd, .884796396144373);
}
END_TEST

static double random_double(void)
{
    return (double)between(-1000000, 1000000) / 1e6;
}

/* Of rows without noise the coefficients come back, and nothing is left. */
START_TEST(coefficients_come_back)
{
    for (int trial = 0; trial < TRIALS; trial++) {
        long double row[ROWS * TERMS];
        long double y[ROWS] = {0};
        double coefficient[TERMS];
        struct stats_fit out;
        for (int j = 0; j < TERMS; j++)
            coefficient[j] = random_double();
        for (int i = 0; i < ROWS; i++)
            for (int j = 0; j < TERMS; j++) {
                row[i * TERMS + j] = j == 0 ? 1 : random_double();
                y[i] += row[i * TERMS + j] * coefficient[j];
            }
        ck_assert(stats_fit(row, y, ROWS, TERMS, &out));
        for (int j = 0; j < TERMS; j++)
            ck_assert_double_eq_tol(out.coefficient[j], coefficient[j], 1e-12);
        ck_assert_double_lt(out.residual_sd, 1e-12);
    }
}
END_TEST

START_TEST(what_cannot_be_worked_out_is_refused)
{
    static const double alike[] = {2, 2, 2, 2};
    static const double rising[] = {1, 2, 3, 4};
    double broken[] = {1, (double)NAN, 3, 4};
    struct stats_summary summary;
    struct stats_line line;
    struct stats_fit fit;
    ck_assert(!stats_summary(rising, 0, &summary));
    ck_assert(!stats_summary(broken, 4, &summary));
    ck_assert(stats_summary(alike, 4, &summary));
    ck_assert_double_eq(summary.sd, 0);
    ck_assert_double_eq(summary.autocorrelation, 0);
    ck_assert(stats_summary(rising, 1, &summary));
    ck_assert_double_eq(summary.sd, 0);
    ck_assert(!stats_line(rising, rising, 2, &line));
    ck_assert(!stats_line(alike, rising, 4, &line));
    ck_assert(!stats_line(broken, rising, 4, &line));
    ck_assert(!stats_line(rising, broken, 4, &line));
    long double row[] = {1, 2, 1, 2, 1, 2, 1, 2}; /* the second term is twice the first */
    long double y[] = {1, 2, 3, 4};
    ck_assert(!stats_fit(row, y, 4, 2, &fit));
    ck_assert(!stats_fit(row, y, 2, 2, &fit));
    ck_assert(!stats_fit(row, y, 4, 0, &fit));
    ck_assert(!stats_fit(row, y, 4, STATS_TERMS_MAX + 1, &fit));
}
END_TEST

static Suite *stats_suite(void)
{
    Suite *suite = suite_create("statistics");
    TCase *tests = tcase_create("statistics");
    tcase_add_test(tests, numacc1);
    tcase_add_test(tests, michelson);
    tcase_add_test(tests, norris_by_a_line);
    tcase_add_test(tests, norris_by_least_squares);
    tcase_add_test(tests, coefficients_come_back);
    tcase_add_test(tests, what_cannot_be_worked_out_is_refused);
    suite_add_tcase(suite, tests);
    return suite;
}

int main(void)
{
    read_seed();
    return run_suite(stats_suite());
}
