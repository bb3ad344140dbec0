/* SPDX-License-Identifier: MIT */
/* The drawing of a move, read back: its curves against the published trapezoid. */
#include <stdio.h>

#include "clients/drawing/sheet.h"
#include "tests/suite.h"
#include "tests/unit/drawing_read.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

static void draw_move(const struct sheet_move *move)
{
    const struct sheet_text about = {"A move", "", "", LENGTH_STYLE_64};
    read_svg(sheet_move(&about, move));
    ck_assert_int_gt(sheet.heights, 10);
    ck_assert_int_ge(sheet.speeds, 4);
}

/* v .5 in/s, a 2 in/s2: 1 in takes 2.25 s; 1/8 in just reaches the speed, in .5 s; 1/16 in peaks at
 * .353553 in/s (Lynch and Park, Modern Robotics, 9.2.2.2; recomputed). */
START_TEST(moves_as_published)
{
    static const struct {
        double inches;
        double seconds;
        double peak;
    } published[] = {{1, 2.25, .5}, {1. / 8, .5, .5}, {1. / 16, .353553, .353553}};
    for (size_t i = 0; i < COUNT(published); i++) {
        struct sheet_move move = {
            .to_nm = in(published[i].inches), .rate_nm_s = in(.5), .gain_nm_s2 = in(2)};
        draw_move(&move);
        double peak = 0;
        for (int k = 0; k < sheet.speeds; k++)
            peak = sheet.speed_mm_s[k] > peak ? sheet.speed_mm_s[k] : peak;
        ck_assert_double_le(fabs(peak / 25.4 - published[i].peak), 1e-5);
        ck_assert_double_le(fabs(sheet.speed_s[sheet.speeds - 1] - published[i].seconds), 1e-5);
        ck_assert_double_le(fabs(sheet.height_s[sheet.heights - 1] - published[i].seconds), 1e-5);
        ck_assert_double_le(fabs(sheet.height_mm[0]), 1e-4);
        ck_assert_double_le(fabs(sheet.height_mm[sheet.heights - 1] - published[i].inches * 25.4),
                            1e-4);
        expect_legible("move");
    }
}
END_TEST

/* Downward it goes below by the take-up and comes up to the height; the area under the speed is the
 * way. */
START_TEST(a_move_downward_finishes_upward)
{
    struct sheet_move move = {.from_nm = in(.375),
                              .to_nm = in(-.375),
                              .take_up_nm = in(1. / 32),
                              .rate_nm_s = in(.5),
                              .gain_nm_s2 = in(2)};
    draw_move(&move);
    double lowest = 1e9;
    double area = 0;
    for (int i = 0; i < sheet.heights; i++)
        lowest = sheet.height_mm[i] < lowest ? sheet.height_mm[i] : lowest;
    for (int i = 1; i < sheet.speeds; i++)
        area += (sheet.speed_s[i] - sheet.speed_s[i - 1]) *
                (sheet.speed_mm_s[i] + sheet.speed_mm_s[i - 1]) / 2;
    ck_assert_double_le(fabs(lowest - (-.375 - 1. / 32) * 25.4), 1e-3);
    ck_assert_double_le(fabs(area + .75 * 25.4), 1e-3);
    ck_assert_double_le(fabs(sheet.height_mm[sheet.heights - 1] + .375 * 25.4), 1e-3);
}
END_TEST

START_TEST(moves_that_are_none)
{
    struct sheet_leg leg[SHEET_LEGS_MAX];
    int legs;
    struct sheet_move move = {.to_nm = in(1), .rate_nm_s = in(.5), .gain_nm_s2 = in(2)};
    ck_assert(sheet_legs(&move, leg, &legs));
    ck_assert_int_eq(legs, 1);
    move.rate_nm_s = 0;
    ck_assert(!sheet_legs(&move, leg, &legs));
    move.rate_nm_s = in(.5);
    move.gain_nm_s2 = -1;
    ck_assert(!sheet_legs(&move, leg, &legs));
    move.gain_nm_s2 = in(2);
    move.to_nm = 0;
    ck_assert(!sheet_legs(&move, leg, &legs));
    move.to_nm = LENGTH_NM_MAX;
    ck_assert(!sheet_legs(&move, leg, &legs));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("drawing of a move");
    TCase *cases = tcase_create("drawing of a move");
    tcase_add_test(cases, moves_as_published);
    tcase_add_test(cases, a_move_downward_finishes_upward);
    tcase_add_test(cases, moves_that_are_none);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
