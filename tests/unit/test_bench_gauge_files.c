/* SPDX-License-Identifier: MIT */
/* Readings as CSV, and the drawing of what was gauged. The figures are those of the hand example:
 * ISO 230-2, editions 1997 to 2014 (formulas from memory of the standard). */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "clients/bench/gauge_csv.h"
#include "clients/bench/gauge_plot.h"
#include "tests/seed.h"
#include "tests/suite.h"

static struct gauge_readings readings;
static struct gauge_readings back;
static struct gauge_result result;
static char text[GAUGE_CSV_SIZE];
static char svg[GAUGE_PLOT_SIZE];

static void random_readings(int targets, int runs)
{
    readings = (struct gauge_readings){.targets = targets, .runs = runs};
    int64_t at_nm = between(-900000000, 0);
    for (int i = 0; i < targets; i++) {
        readings.target_nm[i] = at_nm += between(1, 9000000);
        for (int side = 0; side < 2; side++)
            for (int run = 0; run < runs; run++)
                readings.reached_nm[side][i][run] = between(-900000000, 900000000);
    }
}

START_TEST(what_is_written_reads_back)
{
    char why[GAUGE_CSV_WHY];
    start_random();
    for (int i = 0; i < 100; i++) {
        random_readings((int)between(5, GAUGE_TARGETS_MAX), (int)between(2, GAUGE_RUNS_MAX));
        ck_assert_uint_gt(gauge_csv_write(&readings, text, sizeof text), 0);
        ck_assert_msg(gauge_csv_read(text, LENGTH_BARE_REFUSED, &back, why), "%s", why);
        ck_assert_int_eq(back.targets, readings.targets);
        ck_assert_int_eq(back.runs, readings.runs);
        ck_assert(memcmp(back.target_nm, readings.target_nm,
                         (size_t)readings.targets * sizeof(int64_t)) == 0);
        for (int side = 0; side < 2; side++)
            for (int at = 0; at < readings.targets; at++)
                for (int run = 0; run < readings.runs; run++)
                    ck_assert_int_eq(back.reached_nm[side][at][run],
                                     readings.reached_nm[side][at][run]);
    }
    random_readings(GAUGE_TARGETS_MAX, GAUGE_RUNS_MAX);
    ck_assert_uint_eq(gauge_csv_write(&readings, text, 1000), 0);
}
END_TEST

/* 5 targets, 2 runs, in any order, as a spreadsheet may leave them. */
static void write_plain(const char *more)
{
    size_t used = (size_t)snprintf(text, sizeof text, "target,side,run,reading\r\n# note\n\n");
    for (int i = 19; i >= 0; i--)
        used += (size_t)snprintf(text + used, sizeof text - used, "%d; \"%s\", %d ,%d.5\r\n", i / 4,
                                 i % 2 ? "up" : "down", i / 2 % 2 + 1, i);
    (void)snprintf(text + used, sizeof text - used, "%s", more);
}

START_TEST(order_blanks_and_the_shop_s_unit_are_taken)
{
    char why[GAUGE_CSV_WHY] = "";
    write_plain("");
    ck_assert_msg(gauge_csv_read(text, LENGTH_BARE_MM, &back, why), "%s", why);
    ck_assert_int_eq(back.targets, 5);
    ck_assert_int_eq(back.target_nm[4], 4000000);
    ck_assert_int_eq(back.reached_nm[GAUGE_UP][4][1], 19500000);
    ck_assert_int_eq(back.reached_nm[GAUGE_DOWN][0][0], 500000);
    ck_assert(!gauge_csv_read(text, LENGTH_BARE_REFUSED, &back, why));
    ck_assert_msg(strstr(why, "line 4"), "%s", why);
}
END_TEST

START_TEST(what_is_wrong_is_named_by_its_line)
{
    static const struct {
        const char *more;
        const char *why;
    } wrong[] = {
        {"1,up,1,0.1", "line 24: that target has"},
        {"9,up,1", "line 24: it needs"},
        {"9,up,1,2,3", "line 24: it needs"},
        {"x,up,1,2", "line 24: its target"},
        {"9,left,1,2", "line 24: the side"},
        {"9,up,0,2", "line 24: the run"},
        {"9,up,1x,2", "line 24: the run"},
        {"9,up,11,2", "line 24: the run"},
        {"9,up,1,1,5", "line 24: it needs"},
        {"9,up,1,", "line 24: its reading"},
        {"9,up,1,2", "target 6 from the lowest has no reading up in run 2"},
    };
    char why[GAUGE_CSV_WHY];
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        write_plain(wrong[i].more);
        ck_assert_msg(!gauge_csv_read(text, LENGTH_BARE_MM, &back, why), "%s", wrong[i].more);
        ck_assert_msg(strncmp(why, wrong[i].why, strlen(wrong[i].why)) == 0, "%s: %s",
                      wrong[i].more, why);
    }
    ck_assert(!gauge_csv_read("", LENGTH_BARE_MM, &back, why));
    ck_assert_msg(strstr(why, "found 0 targets"), "%s", why);
}
END_TEST

/* Bytes of any kind are read or refused. */
START_TEST(no_text_does_harm)
{
    char why[GAUGE_CSV_WHY];
    static const char bytes[] = "0123456789.,;-\"updown\n\r mm#t\xff";
    start_random();
    for (int i = 0; i < 3000; i++) {
        size_t size = (size_t)between(0, 400);
        for (size_t at = 0; at < size; at++)
            text[at] = bytes[between(0, (int64_t)sizeof bytes - 2)];
        text[size] = '\0';
        (void)!gauge_csv_read(text, LENGTH_BARE_MM, &back, why);
    }
}
END_TEST

static void work_out_example(void)
{
    static const int up[5][5] = {
        {2, 1, 0, 1, 1}, {4, 3, 2, 3, 3}, {6, 5, 4, 5, 5}, {5, 4, 3, 4, 4}, {3, 2, 1, 2, 2}};
    static const struct gauge_lift lift = {
        .lead_nm = 2000000, .lash_nm = 0, .lowest_nm = -77000000, .highest_nm = -1000000};
    readings = (struct gauge_readings){.targets = 5, .runs = 5};
    for (int i = 0; i < 5; i++) {
        readings.target_nm[i] = -70000000 + i * 13700000;
        for (int run = 0; run < 5; run++) {
            int64_t at_nm = 123456000 + readings.target_nm[i]; /* a zero anywhere */
            readings.reached_nm[GAUGE_UP][i][run] = at_nm + up[i][run] * 1000;
            readings.reached_nm[GAUGE_DOWN][i][run] = at_nm + (up[i][run] - 5) * 1000;
        }
    }
    ck_assert(gauge_work_out(&lift, &readings, &result));
}

START_TEST(the_figures_do_not_depend_on_the_indicator_s_zero_or_sense)
{
    work_out_example();
    for (int turn = 0; turn < 2; turn++) {
        ck_assert_double_eq_tol(result.iso.reversal_nm, 5000, 1e-6);
        ck_assert_double_eq_tol(result.iso.repeat_both_nm, 7828.427, .001);
        ck_assert_double_eq_tol(result.iso.accuracy_both_nm, 11828.427, .001);
        ck_assert(result.turned == (turn == 1));
        ck_assert_double_eq(result.resolution_nm, 1000);
        static const struct gauge_lift lift = {.lead_nm = 2000000, .lowest_nm = -77000000};
        for (int i = 0; i < 5; i++)
            for (int side = 0; side < 2; side++)
                for (int run = 0; run < 5; run++)
                    readings.reached_nm[side][i][run] *= -1;
        ck_assert(gauge_work_out(&lift, &readings, &result));
    }
}
END_TEST

START_TEST(readings_that_are_all_alike_tell_nothing)
{
    static const struct gauge_lift lift = {.lead_nm = 2000000, .lowest_nm = -77000000};
    work_out_example();
    for (int i = 0; i < 5; i++)
        for (int side = 0; side < 2; side++)
            for (int run = 0; run < 5; run++)
                readings.reached_nm[side][i][run] = 7;
    ck_assert(!gauge_work_out(&lift, &readings, &result));
}
END_TEST

static int times(const char *what)
{
    int count = 0;
    for (const char *at = svg; (at = strstr(at, what)) != NULL; at++)
        count++;
    return count;
}

/* Both directions, the band of each, every reading, and the figures. */
START_TEST(the_drawing_shows_both_directions_and_the_band)
{
    work_out_example();
    size_t size = gauge_plot(&result, "a <lift> & \"its\" screw", LENGTH_STYLE_MM, svg, sizeof svg);
    ck_assert_uint_eq(size, strlen(svg));
    ck_assert_int_eq(times("<polygon class=\"band\""), 2);
    ck_assert_int_eq(times("<polyline class=\"up\""), 1);
    ck_assert_int_eq(times("<polyline class=\"down\""), 1);
    ck_assert_int_eq(times("<circle class=\"dot\""), 26); /* and one in the key */
    ck_assert_int_eq(times("<path class=\"dot\""), 26);
    ck_assert_int_eq(times("a &lt;lift&gt;") + times("a &lt;lift>"), 1);
    ck_assert_ptr_nonnull(strstr(svg, "reversal B 5, mean 5 um"));
    ck_assert_ptr_nonnull(strstr(svg, "repeatability R 7.828"));
    ck_assert_ptr_nonnull(strstr(svg, "accuracy A 11.83"));
    ck_assert_ptr_null(strstr(svg, "nan"));
    ck_assert_ptr_null(strstr(svg, "inf"));
    ck_assert_uint_gt(gauge_plot(&result, "in", LENGTH_STYLE_IN, svg, sizeof svg), 0);
    ck_assert_ptr_nonnull(strstr(svg, "thousandths"));
    ck_assert_uint_eq(gauge_plot(&result, "small", LENGTH_STYLE_IN, svg, 2000), 0);
    ck_assert_str_eq(svg, "");
}
END_TEST

START_TEST(the_largest_drawing_fits)
{
    start_random();
    random_readings(GAUGE_TARGETS_MAX, GAUGE_RUNS_MAX);
    ck_assert(gauge_iso(&readings, &result.iso));
    result.readings = readings;
    ck_assert_uint_gt(gauge_plot(&result, "all", LENGTH_STYLE_MM, svg, sizeof svg), 50000);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("gauge files");
    TCase *tests = tcase_create("gauge files");
    tcase_add_test(tests, what_is_written_reads_back);
    tcase_add_test(tests, order_blanks_and_the_shop_s_unit_are_taken);
    tcase_add_test(tests, what_is_wrong_is_named_by_its_line);
    tcase_add_test(tests, no_text_does_harm);
    tcase_add_test(tests, the_figures_do_not_depend_on_the_indicator_s_zero_or_sense);
    tcase_add_test(tests, readings_that_are_all_alike_tell_nothing);
    tcase_add_test(tests, the_drawing_shows_both_directions_and_the_band);
    tcase_add_test(tests, the_largest_drawing_fits);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
