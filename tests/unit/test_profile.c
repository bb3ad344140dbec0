/* SPDX-License-Identifier: MIT */
/*
 * The leg's closed form against published values, against the long double formulas of
 * tests/bench/moves.h and against itself.
 */
#include <check.h>
#include <math.h>
#include <stdint.h>

#include "daemon/motion/profile.h"
#include "tests/bench/moves.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum { RANDOM_LEGS = 2000, PLACES = 50 };

static const double TICK_HZ = 16e6;
static const double PI = 3.14159265358979323846;

static void must_be_near(double found, double expected, double most_off)
{
    if (!(fabs(found - expected) <= most_off))
        ck_abort_msg("%.12g is not %.12g within %g", found, expected, most_off);
}

static struct profile plan_rest(double steps, double rate_hz, double rise, double fall)
{
    struct profile profile;
    struct profile_request asked = {steps, 0, 0, rate_hz, rise, fall};
    ck_assert(profile_plan(&profile, &asked));
    return profile;
}

/* h >= v^2/a: T = h/v + v/a; else T = 2 sqrt(h/a), peak sqrt(h a): the trapezoid, any textbook. */
static double textbook_total_s(double h, double v, double a)
{
    return h >= v * v / a ? h / v + v / a : 2.0 * sqrt(h / a);
}

struct published {
    const char *source;
    double length;
    double rate;
    double gain;
    double total;
    double peak;
    double digits; /* to which the source gives them */
};

static const struct published PUBLISHED[] = {
    /* T = (a + v^2)/(v a) on a path of length 1 */
    {"Lynch and Park, Modern Robotics, 9.2.2.2 (from memory, recomputed)", 1, 0.5, 1, 2.5, 0.5,
     1e-12},
    {"Lynch and Park, three stages that just touch", 1, 1, 2, 1.5, 1, 1e-12},
    /* in inches: v .5 in/s, a 2 in/s^2 (recomputed) */
    {"a lift: 1 in", 1, 0.5, 2, 2.25, 0.5, 1e-12},
    {"a lift: 1/8 in just reaches the speed", 0.125, 0.5, 2, 0.5, 0.5, 1e-12},
    {"a lift: 1/16 in", 0.0625, 0.5, 2, 0.353553, 0.353553, 5e-7},
    {"a lift: 1/64 in", 0.015625, 0.5, 2, 0.176777, 0.176777, 5e-7},
};

enum { PUBLISHED_COUNT = sizeof PUBLISHED / sizeof PUBLISHED[0] };

START_TEST(published_trapezoids_take_their_published_time)
{
    const struct published *row = &PUBLISHED[_i];
    struct profile profile = plan_rest(row->length, row->rate, row->gain, row->gain);
    must_be_near(profile.total_s, row->total, row->digits);
    must_be_near(profile.peak_hz, row->peak, row->digits);
    must_be_near(profile.total_s, textbook_total_s(row->length, row->rate, row->gain), 1e-12);
}
END_TEST

/* Siciliano and others, Robotics: Modelling, Planning and Control, 4.2 (from memory, recomputed):
 * 0 to pi in 1 s at 6 pi rad/s^2 blends for .211325 s and cruises at 3.98338 rad/s. */
START_TEST(a_path_of_pi_in_one_second_blends_as_published)
{
    struct profile profile = plan_rest(PI, 3.98338, 6.0 * PI, 6.0 * PI);
    must_be_near(profile.rise_end_s, 0.211325, 1e-6);
    must_be_near(profile.total_s - profile.fall_start_s, 0.211325, 1e-6);
    must_be_near(profile.total_s, 1.0, 2e-6);
}
END_TEST

/* Unequal accelerations: peak sqrt(2 h a d/(a + d)). */
START_TEST(a_lopsided_triangle_peaks_where_it_should)
{
    struct profile profile = plan_rest(900, 1e9, 100, 800);
    must_be_near(profile.peak_hz, 400.0, 1e-9); /* sqrt(2 * 900 * 100 * 800 / 900) */
    must_be_near(profile.rise_end_steps, 800.0, 1e-9);
    must_be_near(profile.rise_end_s, 4.0, 1e-12);
    must_be_near(profile.total_s, 4.5, 1e-12);
    must_be_near(profile.fall_start_steps, profile.rise_end_steps, 0.0);
}
END_TEST

/* Austin, 'Generate stepper-motor speed profiles in real time', Embedded Systems Programming,
 * January 2005: t_n = sqrt(2 n alpha/a), so the intervals c_n = t_(n+1) - t_n have the ratios
 * below (exact column, recomputed). They stand at whole positions; our edges at k - 1/2. */
START_TEST(intervals_from_rest_shrink_as_published)
{
    struct profile profile = plan_rest(1e6, 1e6, 1234, 1234);
    double c[12];
    for (int n = 0; n < 12; n++)
        c[n] = profile_time_s(&profile, n + 1) - profile_time_s(&profile, n);
    must_be_near(profile_time_s(&profile, 8), sqrt(2.0 * 8.0 / 1234.0), 1e-15);
    must_be_near(c[1] / c[0], 0.4142, 5e-5);
    must_be_near(c[2] / c[1], 0.7673, 5e-5);
    must_be_near(c[10] / c[9], 0.9511, 5e-5);
}
END_TEST

START_TEST(one_step_is_a_triangle_and_nothing_is_refused)
{
    struct profile profile = plan_rest(1, 8000, 10000, 10000);
    must_be_near(profile.total_s, 0.02, 1e-15); /* 2 sqrt(1 / 10 000) */
    must_be_near(profile_time_s(&profile, 0.5), 0.01, 1e-15);
    struct profile_request nothing = {0, 0, 0, 8000, 10000, 10000};
    ck_assert(!profile_plan(&profile, &nothing));
    must_be_near(profile.total_s, 0.02, 1e-15); /* a refusal changes nothing */
}
END_TEST

/* clang-format off */
static const struct profile_request REFUSED[] = {
    {-1, 0, 0, 1, 1, 1},
    {NAN, 0, 0, 1, 1, 1},
    {INFINITY, 0, 0, 1, 1, 1},
    {10, -1, 0, 5, 1, 1},
    {10, 0, -1, 5, 1, 1},
    {10, NAN, 0, 5, 1, 1},
    {10, 0, NAN, 5, 1, 1},
    {10, 6, 0, 5, 100, 100},     /* begins faster than it may go */
    {10, 0, 6, 5, 100, 100},
    {10, 0, 0, 0, 1, 1},
    {10, 0, 0, -5, 1, 1},
    {10, 0, 0, INFINITY, 1, 1},
    {10, 0, 0, NAN, 1, 1},
    {10, 0, 0, 5, 0, 1},
    {10, 0, 0, 5, 1, 0},
    {10, 0, 0, 5, -1, 1},
    {10, 0, 0, 5, 1, -1},
    {10, 0, 0, 5, NAN, 1},
    {10, 0, 0, 5, 1, NAN},
    {1e10, 0, 0, 1e-308, 1, 1},  /* longer than a double counts */
    {10, 5, 0, 5, 1, 1.2},       /* 25/2.4 = 10.4 steps to stop */
    {10, 0, 5, 5, 1.2, 1},       /* and to get up to 5 */
};
/* clang-format on */

enum { REFUSED_COUNT = sizeof REFUSED / sizeof REFUSED[0] };

START_TEST(impossible_requests_are_refused)
{
    struct profile profile;
    ck_assert(!profile_plan(&profile, &REFUSED[_i]));
}
END_TEST

START_TEST(a_change_of_rate_may_take_the_whole_leg)
{
    struct profile profile;
    struct profile_request up = {10, 0, 5, 5, 1.25, 1}; /* 25/2.5 = 10 steps */
    ck_assert(profile_plan(&profile, &up));
    must_be_near(profile.total_s, 4.0, 1e-12);
    must_be_near(profile_rate_hz(&profile, 10), 5.0, 1e-12);
    struct profile_request down = {10, 5, 0, 5, 1, 1.25};
    ck_assert(profile_plan(&profile, &down));
    must_be_near(profile.total_s, 4.0, 1e-12);
    must_be_near(profile_rate_hz(&profile, 0), 5.0, 1e-12);
    struct profile_request even = {10, 5, 5, 5, 1, 1};
    ck_assert(profile_plan(&profile, &even));
    must_be_near(profile.total_s, 2.0, 1e-12);
}
END_TEST

/* An acceleration or a length worked out from the rates is exact but for its own rounding. */
START_TEST(a_leg_that_only_just_fits_is_planned_whichever_way_it_rounds)
{
    for (int i = 0; i < 1000; i++) {
        struct profile profile;
        double rate = move_random_between(&random_state, 1, 30000);
        double steps = move_random_between(&random_state, 1, 30000);
        struct profile_request whole = {steps, 0, rate, rate, rate * rate / (2.0 * steps), 1};
        if (!profile_plan(&profile, &whole))
            ck_abort_msg("%.17g steps to %.17g steps/s", steps, rate);
        double gain = move_random_between(&random_state, 1, 1e6);
        struct profile_request touching = {rate * rate / gain, 0, 0, rate, gain, gain};
        if (!profile_plan(&profile, &touching) ||
            profile.fall_start_steps < profile.rise_end_steps ||
            profile.fall_start_s < profile.rise_end_s)
            ck_abort_msg("%.17g steps/s, %.17g steps/s^2", rate, gain);
        must_be_near(profile.total_s, 2.0 * rate / gain, 1e-14 * rate / gain);
        must_be_near(profile.peak_hz, rate, 1e-14 * rate);
    }
}
END_TEST

START_TEST(positions_and_times_beyond_the_leg_are_its_ends)
{
    struct profile profile = plan_rest(1000, 500, 200, 300);
    ck_assert(profile_time_s(&profile, -1) == 0.0);
    ck_assert(profile_time_s(&profile, 0) == 0.0);
    ck_assert(profile_time_s(&profile, 1000) == profile.total_s);
    ck_assert(profile_time_s(&profile, 1001) == profile.total_s);
    ck_assert(profile_position_steps(&profile, -1) == 0.0);
    ck_assert(profile_position_steps(&profile, profile.total_s + 1) == 1000.0);
    ck_assert(profile_rate_hz(&profile, -1) == 0.0);
    ck_assert(profile_rate_hz(&profile, 1001) == 0.0);
}
END_TEST

/* Times of every phase, dense near both ends, to a thousandth of a tick and far better. */
static void check_times(const struct profile *profile, double most_off_ticks)
{
    const struct profile_request *asked = &profile->asked;
    struct move_ideal ideal = move_ideal(asked);
    double before = 0.0;
    for (int i = 1; i < PLACES; i++) {
        double part = (1.0 - cos(PI * i / PLACES)) / 2.0;
        double places[] = {asked->steps * part, asked->steps - 0.5 * i, 0.5 * i};
        for (int j = 0; j < 3; j++) {
            if (places[j] <= 0.0 || places[j] >= asked->steps)
                continue;
            double time = profile_time_s(profile, places[j]);
            double off = (double)((time - move_time_s(&ideal, places[j])) * TICK_HZ);
            must_be_near(off, 0.0, most_off_ticks);
            double back = profile_position_steps(profile, time);
            must_be_near(back, places[j], 1e-9 * asked->steps + 1e-9);
        }
        double time = profile_time_s(profile, places[0]);
        if (time <= before)
            ck_abort_msg("time stands still at %g", places[0]);
        before = time;
    }
}

START_TEST(times_of_legs_of_minutes_are_exact_to_a_thousandth_of_a_tick)
{
    /* 2 to 17 minutes; to be well below the 1e-3 that is asked */
    static const struct profile_request legs[] = {
        {3000000, 0, 0, 27680, 240000, 240000},
        {200000, 0, 0, 1000, 0.9, 0.7},
        {1000, 0, 0, 1, 1, 1},
        {1e6, 999, 3, 1000, 0.01, 25},
        {1e6, 0, 0, 8000, 80000, 2.2},
    };
    for (unsigned i = 0; i < sizeof legs / sizeof legs[0]; i++) {
        struct profile profile;
        ck_assert(profile_plan(&profile, &legs[i]));
        ck_assert(profile.total_s > 100.0 && profile.total_s < 1100.0);
        check_times(&profile, 2e-5);
    }
}
END_TEST

/* The rate is the slope of the position, and never changes faster than was asked. */
static void check_rates(const struct profile *profile)
{
    const struct profile_request *asked = &profile->asked;
    for (int i = 1; i < PLACES; i++) {
        double position = asked->steps * i / PLACES;
        double span_s = profile->total_s * 1e-6;
        double at_s = profile_time_s(profile, position);
        double slope = (profile_position_steps(profile, at_s + span_s / 2) -
                        profile_position_steps(profile, at_s - span_s / 2)) /
                       span_s;
        double rate = profile_rate_hz(profile, position);
        double gain = fmax(asked->rise_hz_s, asked->fall_hz_s);
        must_be_near(slope, rate, gain * span_s + 1e-6 * rate + 1e-14 * asked->steps / span_s);
        if (rate > asked->rate_hz * (1.0 + 1e-12))
            ck_abort_msg("rate %g over %g", rate, asked->rate_hz);
    }
}

START_TEST(random_legs_agree_with_the_formulas_and_with_themselves)
{
    int planned = 0;
    for (int i = 0; i < RANDOM_LEGS; i++) {
        struct profile profile;
        struct profile_request asked = move_random_request(&random_state, 30000, 1);
        if (!profile_plan(&profile, &asked))
            continue;
        planned++;
        /* double has 53 bits; the sums of the three phases lose one or two */
        check_times(&profile, 1e-6 + profile.total_s * TICK_HZ * 1e-15);
        check_rates(&profile);
    }
    ck_assert_int_gt(planned, RANDOM_LEGS / 2);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("profile");
    TCase *all = tcase_create("legs");
    tcase_set_timeout(all, 60);
    tcase_add_loop_test(all, published_trapezoids_take_their_published_time, 0, PUBLISHED_COUNT);
    tcase_add_test(all, a_path_of_pi_in_one_second_blends_as_published);
    tcase_add_test(all, a_lopsided_triangle_peaks_where_it_should);
    tcase_add_test(all, intervals_from_rest_shrink_as_published);
    tcase_add_test(all, one_step_is_a_triangle_and_nothing_is_refused);
    tcase_add_loop_test(all, impossible_requests_are_refused, 0, REFUSED_COUNT);
    tcase_add_test(all, a_change_of_rate_may_take_the_whole_leg);
    tcase_add_test(all, a_leg_that_only_just_fits_is_planned_whichever_way_it_rounds);
    tcase_add_test(all, positions_and_times_beyond_the_leg_are_its_ends);
    tcase_add_test(all, times_of_legs_of_minutes_are_exact_to_a_thousandth_of_a_tick);
    tcase_add_test(all, random_legs_agree_with_the_formulas_and_with_themselves);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
