/* SPDX-License-Identifier: MIT */
/*
 * Power screws, threads by name, what a motor does with them. Shigley, Mechanical Engineering
 * Design, 9th ed., section 8-2; ISO 261, ISO 724, ISO 2904, ASME B1.1, B1.5 for the threads.
 * 'Recomputed' values were worked out independently.
 */
#include <check.h>
#include <math.h>
#include <string.h>

#include "clients/bench/capacity.h"
#include "clients/bench/screw_thread.h"
#include "protocol/length.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum { TRIALS = 20000, NM_PER_64TH = 396875 };

/* NIST SP 811. */
static const double n_m_per_ozf_in = 0.00706155181422604;
static const double n_m_per_lbf_in = 0.112984829027617;
static const double n_per_lbf = 4.4482216152605;

static struct power_screw_torque torque_of(struct power_screw screw)
{
    struct power_screw_torque torque;
    ck_assert(power_screw_torque(&screw, &torque));
    return torque;
}

static struct screw_thread named(const char *name)
{
    struct screw_thread thread;
    char why[SCREW_WHY];
    ck_assert_msg(screw_thread_named(name, &thread, why), "%s", why);
    return thread;
}

static struct power_screw screw_of(const char *name, double friction, double load_n)
{
    struct screw_thread thread = named(name);
    return (struct power_screw){.mean_m = (double)thread.mean_nm * 1e-9,
                                .lead_m = screw_lead_m(&thread),
                                .half_angle_deg = screw_half_angle_deg(thread.form),
                                .friction = friction,
                                .load_n = load_n};
}

/* --- Torque --- */

/* Shigley example 8-1: raise 15.94 + 10.24 = 26.18 N m, lower -.4656 + 10.24 = 9.774, e .3113; the
 * thread alone runs down (recomputed). */
START_TEST(shigley_example_8_1)
{
    struct power_screw_torque torque = torque_of((struct power_screw){.mean_m = .030,
                                                                      .lead_m = .008,
                                                                      .friction = .08,
                                                                      .collar_friction = .08,
                                                                      .collar_m = .040,
                                                                      .load_n = 6400});
    ck_assert_double_eq_tol(torque.raise_thread_n_m, 15.94, .005);
    ck_assert_double_eq_tol(torque.collar_n_m, 10.24, .005);
    ck_assert_double_eq_tol(torque.raise_n_m, 26.18, .005);
    ck_assert_double_eq_tol(torque.lower_thread_n_m, -.4656, .00005);
    ck_assert_double_eq_tol(torque.lower_n_m, 9.774, .0005);
    ck_assert_double_eq_tol(torque.efficiency, .3113, .00005);
    ck_assert_int_eq(torque.hold, POWER_SCREW_RUNS_DOWN);
}
END_TEST

/* A statics textbook problem: 10 000 lb, 2 threads an inch, square, mean diameter 2 in, f .2: 2840
 * lb in (recomputed 2840.99; lower 1185.36; e .28010). */
START_TEST(a_statics_problem)
{
    struct power_screw_torque torque = torque_of((struct power_screw){
        .mean_m = .0508, .lead_m = .0127, .friction = .2, .load_n = 10000 * n_per_lbf});
    ck_assert_double_eq_tol(torque.raise_n_m / n_m_per_lbf_in, 2840.99, .005);
    ck_assert_double_eq_tol(torque.lower_n_m / n_m_per_lbf_in, 1185.36, .005);
    ck_assert_double_eq_tol(torque.efficiency, .28010, .000005);
}
END_TEST

/* The friction at which a thread just holds (recomputed). */
START_TEST(the_friction_that_holds)
{
    static const struct {
        const char *name;
        double friction;
    } threads[] = {
        {"M10x1.5", .0458}, {"3/8-16 UNC", .0515}, {"1/2-10 Acme", .0685}, {"Tr8x2", .0878}};
    for (size_t i = 0; i < sizeof threads / sizeof *threads; i++) {
        struct power_screw_torque torque = torque_of(screw_of(threads[i].name, .15, 100));
        ck_assert_double_eq_tol(torque.hold_friction, threads[i].friction, .00005);
    }
    /* An 8 mm lead on 7 mm mean diameter: .3514, always runs down (recomputed). */
    struct power_screw_torque fast = torque_of(screw_of("Tr8x8(P2)", .2, 100));
    ck_assert_double_eq_tol(fast.hold_friction, .3514, .00005);
    ck_assert_int_eq(fast.hold, POWER_SCREW_RUNS_DOWN);
    ck_assert_double_lt(fast.lower_n_m, 0);
}
END_TEST

/* Only with a margin of 1.3 to 1.5 (common practice, no source). */
START_TEST(holding_has_a_margin)
{
    static const struct {
        double margin;
        enum power_screw_hold hold;
    } margins[] = {{.99, POWER_SCREW_RUNS_DOWN}, {1.01, POWER_SCREW_DOUBTFUL},
                   {1.29, POWER_SCREW_DOUBTFUL}, {1.31, POWER_SCREW_JUST},
                   {1.49, POWER_SCREW_JUST},     {1.51, POWER_SCREW_HOLDS}};
    struct power_screw screw = screw_of("1/2-10 Acme", .1, 100);
    double hold_friction = torque_of(screw).hold_friction;
    for (size_t i = 0; i < sizeof margins / sizeof *margins; i++) {
        screw.friction = margins[i].margin * hold_friction;
        struct power_screw_torque torque = torque_of(screw);
        ck_assert_int_eq(torque.hold, margins[i].hold);
        ck_assert_double_eq_tol(torque.hold_margin, margins[i].margin, 1e-9);
    }
}
END_TEST

static double random_double(double lowest, double highest)
{
    return lowest + (highest - lowest) * (double)below(1u << 30) / (double)(1u << 30);
}

/* Efficiency is below one half for every thread that is self-locking, a collar only lowers it, and
 * a thread is self-locking just where lowering takes torque. */
START_TEST(what_holds_by_itself_wastes_more_than_half)
{
    int held = 0;
    for (int trial = 0; trial < TRIALS; trial++) {
        struct power_screw screw = {.mean_m = random_double(.003, .05),
                                    .lead_m = random_double(.0003, .04),
                                    .half_angle_deg = random_double(0, 30),
                                    .friction = random_double(0, .4),
                                    .load_n = random_double(1, 1e4)};
        struct power_screw_torque torque;
        if (!power_screw_torque(&screw, &torque))
            continue; /* the nut jams */
        bool locks = torque.hold_margin > 1;
        held += locks;
        bool lowering = torque.lower_thread_n_m > 0;
        screw.collar_friction = random_double(.01, .3);
        screw.collar_m = random_double(.005, .05);
        double alone = torque.efficiency;
        double collared = torque_of(screw).efficiency;
        if ((locks && alone >= .5) || collared >= alone || alone <= 0 || alone > 1 + 1e-12 ||
            (fabs(torque.hold_margin - 1) > 1e-9 && locks != lowering))
            ck_abort_msg("margin %g, efficiency %g, with a collar %g", torque.hold_margin, alone,
                         collared);
    }
    ck_assert_int_gt(held, TRIALS / 10);
}
END_TEST

START_TEST(impossible_screws_are_refused)
{
    struct power_screw fine = screw_of("1/2-10 Acme", .15, 100);
    struct power_screw_torque torque;
    for (int i = 0; i < 8; i++) {
        struct power_screw screw = fine;
        double *const fields[] = {&screw.mean_m,         &screw.lead_m,   &screw.load_n,
                                  &screw.friction,       &screw.collar_m, &screw.collar_friction,
                                  &screw.half_angle_deg, &screw.friction};
        *fields[i] = i < 7 ? -1 : 10; /* the last: it jams */
        if (i == 7)
            screw.lead_m = .02;
        ck_assert_msg(!power_screw_torque(&screw, &torque), "field %d", i);
        *fields[i] = (double)NAN;
        ck_assert_msg(!power_screw_torque(&screw, &torque), "field %d is no number", i);
    }
    fine.half_angle_deg = 46;
    ck_assert(!power_screw_torque(&fine, &torque));
}
END_TEST

/* --- Names --- */

START_TEST(threads_by_name)
{
    static const struct {
        const char *name;
        const char *written;
        int64_t mean_nm; /* ISO 724 and ASME B1.1 tables print micrometres and tenths of a mil */
        double pitch_mm;
        int starts;
        bool standard;
    } threads[] = {
        {"M10x1.5", "M10x1.5", 9025721, 1.5, 1, true}, /* ISO 724: 9.026 */
        {"m10", "M10x1.5", 9025721, 1.5, 1, true},
        {"M8 x 1", "M8x1", 7350481, 1, 1, true}, /* ISO 724: 7.350 */
        {"M10\xc3\x97"
         "1.25",
         "M10x1.25", 9188101, 1.25, 1, true},         /* ISO 724: 9.188 */
        {"M12", "M12x1.75", 10863342, 1.75, 1, true}, /* ISO 724: 10.863 */
        {"M10x1.4", "M10x1.4", 9090673, 1.4, 1, false},
        {"Tr8x1.5", "Tr8x1.5", 7250000, 1.5, 1, true}, /* ISO 2904: 7.25 */
        {"Tr8x2", "Tr8x2", 7000000, 2, 1, false},
        {"tr 8 x 8 (P2)", "Tr8x8(P2)", 7000000, 2, 4, false},
        {"Tr20x4", "Tr20x4", 18000000, 4, 1, true},              /* ISO 2904: 18 */
        {"1/2-10 Acme", "1/2-10 Acme", 11430000, 2.54, 1, true}, /* .4500 in */
        {"1/2 acme", "1/2-10 Acme", 11430000, 2.54, 1, true},
        {"1-5 Acme", "1-5 Acme", 22860000, 5.08, 1, true},
        {"1/2-8 Acme", "1/2-8 Acme", 11112500, 3.175, 1, false},
        {"3/8-16 UNC", "3/8-16 UNC", 8493888, 1.5875, 1, true}, /* ASME B1.1: .3344 in */
        {"3/8-16", "3/8-16", 8493888, 1.5875, 1, true},
        {"3/8 UNF", "3/8-24 UNF", 8837592, 25.4 / 24, 1, true}, /* ASME B1.1: .3479 in */
        {"3/8-24 UNC", "3/8-24 UNC", 8837592, 25.4 / 24, 1, false},
        {"#10-24 UNC", "#10-24 UNC", 4138592, 25.4 / 24, 1, true}, /* ASME B1.1: .1629 in */
        {"1-8", "1-8", 23337777, 3.175, 1, true},
        {"1-1/8-7 UNC", "1-1/8-7 UNC", 26218174, 25.4 / 7, 1, true},
        {"1 1/8-7 UNC", "1 1/8-7 UNC", 26218174, 25.4 / 7, 1, true},
        {".5-10 Acme", ".5-10 Acme", 11430000, 2.54, 1, true},
    };
    for (size_t i = 0; i < sizeof threads / sizeof *threads; i++) {
        struct screw_thread thread = named(threads[i].name);
        ck_assert_str_eq(thread.name, threads[i].written);
        ck_assert_msg(llabs(thread.mean_nm - threads[i].mean_nm) <= 1, "%s: mean %lld",
                      threads[i].name, (long long)thread.mean_nm);
        ck_assert_double_eq_tol((double)thread.pitch_num_nm / (double)thread.pitch_den / 1e6,
                                threads[i].pitch_mm, 1e-9);
        ck_assert_int_eq(thread.starts, threads[i].starts);
        ck_assert_msg(thread.standard == threads[i].standard, "%s", threads[i].name);
    }
}
END_TEST

/* Preferred Acme numbers: Shigley Table 8-3. */
START_TEST(acme_has_its_preferred_pitches)
{
    static const char *const names[] = {"1/4-16", "5/16-14", "3/8-12", "1/2-10",
                                        "5/8-8",  "3/4-6",   "1-5"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char full[32];
        char bare[32];
        (void)snprintf(full, sizeof full, "%s Acme", names[i]);
        (void)snprintf(bare, sizeof bare, "%.*s Acme", (int)(strrchr(names[i], '-') - names[i]),
                       names[i]);
        ck_assert(named(full).standard);
        ck_assert_str_eq(named(bare).name, full);
    }
}
END_TEST

START_TEST(what_is_no_thread_is_refused)
{
    static const char *const wrong[] = {
        "",
        "M",
        "Mx1",
        "M10x",
        "M10x0",
        "M10x6",
        "M11",
        "M10x1.5y",
        "M-10",
        "M0x1",
        "M1234567",
        "M400x3",
        "Tr",
        "Tr8",
        "Tr8x",
        "Tr8x3(P2)",
        "Tr8x2(P0)",
        "Tr8x2(P2",
        "Tr8x2P2)",
        "Tr8x26(P2)",
        "1/2",
        "1/2-",
        "1/0-10",
        "1/2-0",
        "1/2-1",
        "1/2-10 Whatever",
        "#99-24",
        "#-24",
        "7/16 UNS",
        "0-10 Acme",
        "12,7-10",
        "13-4 Acme",
        "-1/2-10",
        "1/2-10 Acme Acme",
        "1/-2",
        "x",
        "M10x1.5000000",
        ".",
        "a name that is much longer than any thread has ever been written down with",
    };
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        struct screw_thread thread;
        char why[SCREW_WHY] = "";
        ck_assert_msg(!screw_thread_named(wrong[i], &thread, why), "'%s' is read", wrong[i]);
        ck_assert_msg(strlen(why) > 20, "'%s': no reason", wrong[i]);
    }
}
END_TEST

/* Any bytes end in a thread or in a sentence. */
START_TEST(any_text_is_read_or_refused)
{
    static const char alphabet[] = "mMtTrR0123456789..--//xX(pP) #acmeunf\xc3\x97";
    for (int trial = 0; trial < TRIALS; trial++) {
        char text[24];
        size_t size = below(sizeof text - 1);
        for (size_t i = 0; i < size; i++)
            text[i] = alphabet[below(sizeof alphabet - 1)];
        text[size] = '\0';
        struct screw_thread thread;
        char why[SCREW_WHY] = "";
        bool read = screw_thread_named(text, &thread, why);
        if (read ? thread.mean_nm <= 0 || thread.mean_nm >= thread.major_nm ||
                       !(screw_lead_m(&thread) > 0)
                 : why[0] == '\0')
            ck_abort_msg("'%s'", text);
    }
}
END_TEST

START_TEST(a_screw_that_is_given)
{
    struct screw_thread thread;
    char why[SCREW_WHY];
    ck_assert(screw_thread_given(SCREW_SQUARE, 30000000, 8000000, 1, &thread, why));
    ck_assert_double_eq_tol(screw_lead_m(&thread), .008, 1e-12);
    ck_assert(!screw_thread_given(SCREW_SQUARE, 0, 8000000, 1, &thread, why));
    ck_assert(!screw_thread_given(SCREW_SQUARE, 30000000, 0, 1, &thread, why));
    ck_assert(!screw_thread_given(SCREW_SQUARE, 30000000, 8000000, 0, &thread, why));
    ck_assert(!screw_thread_given((enum screw_form)9, 30000000, 8000000, 1, &thread, why));
}
END_TEST

/* --- Steps --- */

/* 1/64 in is 50 full steps on 16 threads an inch, 31.25 on 10, 39.6875 on a 2 mm lead. */
START_TEST(a_sixty_fourth_in_steps)
{
    static const struct {
        const char *name;
        int64_t above;
        int64_t below;
    } threads[] = {{"3/8-16", 50, 1}, {"1/2-10 Acme", 125, 4}, {"Tr8x2", 635, 16}};
    for (size_t i = 0; i < sizeof threads / sizeof *threads; i++) {
        struct screw_thread thread = named(threads[i].name);
        struct screw_ratio steps = screw_steps_in(&thread, 200, NM_PER_64TH);
        ck_assert_int_eq(steps.above, threads[i].above);
        ck_assert_int_eq(steps.below, threads[i].below);
    }
    struct screw_thread four = named("Tr8x8(P2)");
    struct screw_ratio steps = screw_steps_in(&four, 200, 8000000);
    ck_assert_int_eq(steps.above, 200);
    ck_assert_int_eq(steps.below, 1);
    /* 4 steps are .002 in on 10 threads an inch. */
    struct screw_thread ten = named("1/2-10 Acme");
    struct screw_ratio worth = screw_step_worth(&ten, 200);
    ck_assert_int_eq(4 * worth.above, worth.below * LENGTH_NM_PER_IN * 2 / 1000);
}
END_TEST

/* --- The motor --- */

static struct capacity motor_on(const char *thread, double holding_ozf_in)
{
    struct capacity in = {.screw = screw_of(thread, .15, 10 * CAPACITY_G_M_S2),
                          .holding_n_m = holding_ozf_in * n_m_per_ozf_in,
                          .share = CAPACITY_SHARE,
                          .knee_rpm = CAPACITY_KNEE_RPM,
                          .margin = CAPACITY_MARGIN,
                          .full_steps = 200,
                          .microsteps = 16};
    in.screw.collar_friction = .15;
    in.screw.collar_m = .016;
    return in;
}

/* 10 kg on 1/2-10 Acme, f .15, collar .15 at 16 mm: raise .2456, lower .1644 N m; 425 ozf in has a
 * margin of 3.84 on .2733 N m in all, 55 ozf in .50: it stalls (recomputed). */
START_TEST(ten_kilograms_on_a_half_inch_acme)
{
    struct capacity in = motor_on("1/2-10 Acme", 425);
    struct capacity_answer answer;
    ck_assert(capacity_work_out(&in, &answer));
    ck_assert_double_eq_tol(answer.torque.raise_n_m, .2456, .00005);
    ck_assert_double_eq_tol(answer.torque.lower_n_m, .1644, .00005);
    ck_assert_double_eq_tol(answer.running_n_m / .2733, 3.84, .005);
    ck_assert(answer.enough);
    /* An acceleration that asks for .2733 in all. */
    in.inertia_kg_m2 = 2e-5;
    double a = (.2733 - answer.torque.raise_n_m) /
               (capacity_asked_n_m(&in, &answer.torque, 1) - answer.torque.raise_n_m);
    ck_assert_double_gt(a, 0);
    ck_assert_double_eq_tol(capacity_asked_n_m(&in, &answer.torque, a), .2733, 1e-9);
    in = motor_on("1/2-10 Acme", 55);
    ck_assert(capacity_work_out(&in, &answer));
    ck_assert_double_eq_tol(answer.running_n_m / .2733, .50, .005);
    ck_assert(!answer.lifts && !answer.enough);
    ck_assert_double_eq(answer.speed_rpm, 0);
    ck_assert_double_eq(answer.stall_rpm, 0);
}
END_TEST

/* 518 rev/min: 1726.67 full steps/s, 27 627 steps/s at 16 microsteps; .863 in/s on 10 threads an
 * inch. */
START_TEST(speeds_and_rates)
{
    struct capacity in = motor_on("1/2-10 Acme", 425);
    struct capacity_answer answer;
    in.rate_most_hz = 518.0 / 60 * 3200;
    ck_assert_double_eq_tol(in.rate_most_hz, 27627, .5);
    ck_assert(capacity_work_out(&in, &answer));
    ck_assert(answer.rate_limited);
    ck_assert_double_eq_tol(answer.speed_rpm, 518, 1e-6);
    ck_assert_double_eq_tol(answer.rate_hz / 16, 1726.67, .005);
    ck_assert_double_eq_tol(answer.speed_m_s / .0254, .863, .0005);
}
END_TEST

/* At the speed and acceleration that are advised the motor still has the margin, and has it just:
 * one of both a little higher does not. */
START_TEST(the_margin_is_kept_and_no_more)
{
    for (int trial = 0; trial < TRIALS / 10; trial++) {
        struct capacity in = motor_on("1/2-10 Acme", random_double(20, 800));
        in.screw.load_n = random_double(5, 400);
        in.inertia_kg_m2 = random_double(0, 1e-4);
        in.margin = random_double(1, 3);
        struct capacity_answer answer;
        ck_assert(capacity_work_out(&in, &answer));
        if (!answer.enough)
            continue;
        double asked = capacity_asked_n_m(&in, &answer.torque, answer.acceleration_m_s2);
        double has = capacity_running_n_m(&in, answer.speed_rpm);
        double stall = capacity_running_n_m(&in, answer.stall_rpm);
        if (fabs(has / (in.margin * asked) - 1) > 1e-9 || answer.acceleration_m_s2 <= 0 ||
            answer.speed_rpm < in.knee_rpm || fabs(stall / answer.torque.raise_n_m - 1) > 1e-9)
            ck_abort_msg("%g asked, %g there at %g rev/min", asked, has, answer.speed_rpm);
    }
}
END_TEST

START_TEST(impossible_motors_are_refused)
{
    for (int i = 0; i < 8; i++) {
        struct capacity in = motor_on("1/2-10 Acme", 425);
        struct capacity_answer answer;
        double *const fields[] = {&in.holding_n_m,   &in.share,       &in.knee_rpm,
                                  &in.margin,        &in.full_steps,  &in.microsteps,
                                  &in.inertia_kg_m2, &in.rate_most_hz};
        *fields[i] = -1;
        ck_assert_msg(!capacity_work_out(&in, &answer), "field %d", i);
        *fields[i] = (double)INFINITY;
        ck_assert_msg(!capacity_work_out(&in, &answer), "field %d is endless", i);
    }
}
END_TEST

static Suite *screw_suite(void)
{
    Suite *suite = suite_create("screws and motors");
    TCase *tests = tcase_create("screws and motors");
    tcase_add_test(tests, shigley_example_8_1);
    tcase_add_test(tests, a_statics_problem);
    tcase_add_test(tests, the_friction_that_holds);
    tcase_add_test(tests, holding_has_a_margin);
    tcase_add_test(tests, what_holds_by_itself_wastes_more_than_half);
    tcase_add_test(tests, impossible_screws_are_refused);
    tcase_add_test(tests, threads_by_name);
    tcase_add_test(tests, acme_has_its_preferred_pitches);
    tcase_add_test(tests, what_is_no_thread_is_refused);
    tcase_add_test(tests, any_text_is_read_or_refused);
    tcase_add_test(tests, a_screw_that_is_given);
    tcase_add_test(tests, a_sixty_fourth_in_steps);
    tcase_add_test(tests, ten_kilograms_on_a_half_inch_acme);
    tcase_add_test(tests, speeds_and_rates);
    tcase_add_test(tests, the_margin_is_kept_and_no_more);
    tcase_add_test(tests, impossible_motors_are_refused);
    suite_add_tcase(suite, tests);
    return suite;
}

int main(void)
{
    read_seed();
    return run_suite(screw_suite());
}
