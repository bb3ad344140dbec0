/* SPDX-License-Identifier: MIT */
/* What follows from a bit: speeds, steps, how low its ring lets it go. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/shop/shop.h"
#include "protocol/length.h"
#include "tests/seed.h"
#include "tests/suite.h"

#define IN INT64_C(25400000)

/* Worked by hand from pi D n with D in metres and n in turns a second, to a hundredth: 1 in at
 * 24 000 turns a minute is 0.0254 pi 400; 3.5 in at 12 000 is 0.0889 pi 200. The diameters and
 * speeds are those of printed charts (common practice, no source), whose own products are often
 * wrong. */
START_TEST(the_rim_speed_is_pi_times_diameter_times_turns)
{
    static const struct {
        int64_t diameter_nm;
        double turns_min;
        double m_s;
    } rows[] = {
        {IN, 24000, 31.92},
        {7 * IN / 2, 12000, 55.86},
        {IN / 2, 24000, 15.96},
        {2 * IN, 18000, 47.88},
        {3 * IN, 12000, 47.88},
        {INT64_C(1000000000), 60, 3.14},
        {IN, 0, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double found = bit_rim_m_s(rows[i].diameter_nm, rows[i].turns_min);
        ck_assert_msg(fabs(found - rows[i].m_s) <= 0.005, "row %zu: %f", i, found);
    }
}
END_TEST

/* Highest speeds by diameter as charts commonly print them: common practice, no source. */
START_TEST(the_highest_speed_is_the_charts_or_the_marked_one_if_that_is_lower)
{
    static const struct {
        int64_t diameter_nm;
        uint32_t marked;
        uint32_t most;
    } rows[] = {
        {IN / 64, 0, 24000},        {IN, 0, 24000},         {IN + 1, 0, 18000},
        {2 * IN, 0, 18000},         {2 * IN + 1, 0, 16000}, {5 * IN / 2, 0, 16000},
        {5 * IN / 2 + 1, 0, 12000}, {3 * IN, 0, 12000},     {3 * IN + 1, 0, 10000},
        {8 * IN, 0, 10000},         {IN / 2, 18000, 18000}, {IN / 2, 30000, 24000},
        {3 * IN, 18000, 12000},     {3 * IN, 11999, 11999},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bit bit = {.diameter_nm = rows[i].diameter_nm, .speed_most = rows[i].marked};
        ck_assert_msg(bit_speed_most(&bit) == rows[i].most, "row %zu: %u", i, bit_speed_most(&bit));
    }
}
END_TEST

START_TEST(a_wider_bit_is_never_told_to_turn_faster)
{
    for (int i = 0; i < 2000; i++) {
        struct bit narrow = {.diameter_nm = between(IN / 64, 8 * IN)};
        struct bit wide = narrow;
        wide.diameter_nm = between(narrow.diameter_nm, 8 * IN);
        narrow.speed_most = wide.speed_most = (uint32_t)below(2) * (uint32_t)between(1, 60000);
        ck_assert_uint_le(bit_speed_most(&wide), bit_speed_most(&narrow));
        if (wide.speed_most != 0) {
            ck_assert_uint_le(bit_speed_most(&wide), wide.speed_most);
        }
    }
}
END_TEST

/* Those that widen or undercut: common practice, no source. */
START_TEST(some_kinds_cannot_be_stepped_by_height)
{
    static const uint32_t unstepped[] = {
        BIT_DOVETAIL,           BIT_T_SLOT,          BIT_KEYHOLE, BIT_LOCK_MITRE, BIT_STILE_RAIL,
        BIT_RAISER_BACK_CUTTER, BIT_VERTICAL_RAISER,
    };
    int refused = 0;
    for (uint32_t shape = BIT_STRAIGHT; shape <= BIT_OTHER; shape++) {
        bool listed = false;
        for (size_t i = 0; i < sizeof unstepped / sizeof *unstepped; i++) {
            listed = listed || unstepped[i] == shape;
        }
        struct bit bit = {.shape = shape};
        ck_assert_msg(bit_steps(&bit) == !listed, "kind number %u", shape);
        refused += !bit_steps(&bit);
    }
    ck_assert_int_eq(refused, 7);
}
END_TEST

START_TEST(a_bit_that_passes_its_ring_goes_as_low_as_it_likes)
{
    struct ring ring = {.opening_nm = 2 * IN};
    struct bit bit = {.diameter_nm = 15 * IN / 8, .point = POINT_TOP_EDGE, .cutting_nm = IN};
    int64_t nm;
    ck_assert(!bit_lowest(&bit, NULL, &nm));
    ck_assert(!bit_lowest(&bit, &ring, &nm)); /* just 1/8 in less than the opening */
    bit.diameter_nm++;
    ck_assert(bit_lowest(&bit, &ring, &nm));
    ck_assert_int_eq(nm, IN);
    ck_assert(!bit_lowest(&bit, NULL, &nm));
}
END_TEST

START_TEST(a_wide_bit_stays_over_the_table_with_all_of_its_cutter)
{
    struct ring ring = {.opening_nm = IN};
    static const struct {
        uint32_t point;
        int64_t lowest_nm;
    } rows[] = {{POINT_TOP_EDGE, 19 * IN / 16},
                {POINT_LOWER_EDGE, 0},
                {POINT_SHOULDER, 19 * IN / 16},
                {POINT_CENTRE, 19 * IN / 16}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bit bit = {
            .diameter_nm = 3 * IN, .point = rows[i].point, .cutting_nm = 19 * IN / 16};
        int64_t nm = -1;
        ck_assert(bit_lowest(&bit, &ring, &nm));
        ck_assert_int_eq(nm, rows[i].lowest_nm);
    }
}
END_TEST

/* Whatever the point: at its lowest, the underside is at the table or over it. */
START_TEST(at_its_lowest_no_bit_is_in_its_ring)
{
    for (int i = 0; i < 5000; i++) {
        struct ring ring = {.opening_nm = between(IN / 8, 12 * IN)};
        struct bit bit = {.diameter_nm = between(IN / 64, 8 * IN),
                          .cutting_nm = between(1, 6 * IN),
                          .point = (uint32_t)between(POINT_TOP_EDGE, POINT_CENTRE)};
        /* How far its point is over its underside; of shoulder and centre somewhere between. */
        int64_t over_nm = bit.point == POINT_TOP_EDGE     ? bit.cutting_nm
                          : bit.point == POINT_LOWER_EDGE ? 0
                                                          : between(0, bit.cutting_nm);
        int64_t nm;
        bool stopped = bit_lowest(&bit, &ring, &nm);
        ck_assert(stopped == (bit.diameter_nm > ring.opening_nm - IN / 8));
        ck_assert(!stopped || nm - over_nm >= 0);
    }
}
END_TEST

/* Nobody knows how far its underside is down: then the most that any cutter may have. */
START_TEST(a_wide_bit_of_unknown_cutting_length_is_held_as_high_as_the_longest)
{
    struct ring ring = {.opening_nm = IN};
    struct bit bit = {.diameter_nm = 3 * IN, .point = POINT_TOP_EDGE};
    int64_t nm = 0;
    ck_assert(bit_lowest(&bit, &ring, &nm));
    ck_assert_int_eq(nm, 6 * IN);
    bit.point = POINT_LOWER_EDGE;
    ck_assert(bit_lowest(&bit, &ring, &nm));
    ck_assert_int_eq(nm, 0);
}
END_TEST

START_TEST(how_far_the_point_is_below_the_top_is_known_of_both_edges_alone)
{
    struct bit bit = {.point = POINT_TOP_EDGE};
    int64_t nm = -1;
    ck_assert(bit_below_top(&bit, &nm));
    ck_assert_int_eq(nm, 0);
    bit.point = POINT_LOWER_EDGE;
    ck_assert(!bit_below_top(&bit, &nm));
    bit.cutting_nm = IN;
    ck_assert(bit_below_top(&bit, &nm));
    ck_assert_int_eq(nm, IN);
    bit.point = POINT_SHOULDER;
    ck_assert(!bit_below_top(&bit, &nm));
    bit.point = POINT_CENTRE;
    ck_assert(!bit_below_top(&bit, &nm));
}
END_TEST

/* The rule is what a pair is, by its definition in daemon/shop/things.h; the rows are worked by
 * hand. In words: a rail bit that is kept 3/8 in higher than its stile bit goes 3/8 in over where
 * that one stood, and the stile bit 3/8 in below where the rail bit stood. */
START_TEST(of_a_pair_the_second_stands_higher_by_the_difference)
{
    static const struct {
        int64_t difference_nm;
        bool second;
        int64_t other_nm;
        int64_t height_nm;
    } rows[] = {
        {3 * IN / 8, true, IN / 4, 5 * IN / 8},  {3 * IN / 8, false, 5 * IN / 8, IN / 4},
        {-IN / 16, true, IN / 4, 3 * IN / 16},   {-IN / 16, false, 3 * IN / 16, IN / 4},
        {3 * IN / 8, false, IN / 4, -IN / 8},    {0, true, IN, IN},
        {INT64_C(50800), true, -IN, 50800 - IN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct pair pair = {.difference_nm = rows[i].difference_nm};
        ck_assert_int_eq(pair_height_nm(&pair, rows[i].second, rows[i].other_nm),
                         rows[i].height_nm);
    }
    for (int i = 0; i < 2000; i++) { /* there and back is where one was */
        struct pair pair = {.difference_nm = between(-4 * IN, 4 * IN)};
        int64_t nm = between(-4 * IN, 4 * IN);
        ck_assert_int_eq(pair_height_nm(&pair, false, pair_height_nm(&pair, true, nm)), nm);
    }
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("shop bits");
    TCase *cases = tcase_create("bits");
    tcase_add_test(cases, the_rim_speed_is_pi_times_diameter_times_turns);
    tcase_add_test(cases, the_highest_speed_is_the_charts_or_the_marked_one_if_that_is_lower);
    tcase_add_test(cases, a_wider_bit_is_never_told_to_turn_faster);
    tcase_add_test(cases, some_kinds_cannot_be_stepped_by_height);
    tcase_add_test(cases, a_bit_that_passes_its_ring_goes_as_low_as_it_likes);
    tcase_add_test(cases, a_wide_bit_stays_over_the_table_with_all_of_its_cutter);
    tcase_add_test(cases, at_its_lowest_no_bit_is_in_its_ring);
    tcase_add_test(cases, a_wide_bit_of_unknown_cutting_length_is_held_as_high_as_the_longest);
    tcase_add_test(cases, how_far_the_point_is_below_the_top_is_known_of_both_edges_alone);
    tcase_add_test(cases, of_a_pair_the_second_stands_higher_by_the_difference);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
