/* SPDX-License-Identifier: MIT */
/*
 * Half-laps, rabbets and dadoes; dovetails, lock mitre, raised panel. Formulas derived and
 * recomputed; sizes and proportions of the trade are common practice, no source.
 */
#include "clients/bench/joint_flat.h"
#include "clients/bench/joint_profile.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/test_bench_joint.h"

enum { TRIALS = 5000 };

static struct joint_plan plan;

static struct joint_cutter profile(enum joint_kind kind, double width)
{
    struct joint_cutter cutter = straight(width);
    cutter.kind = kind;
    return cutter;
}

static struct joint_dovetail dovetail_of(double width, int32_t slope_mdeg, double spacing)
{
    struct joint_dovetail job = {.spacing_nm = in(spacing),
                                 .front_nm = in(.75),
                                 .cutter = profile(JOINT_DOVETAIL, width),
                                 .pieces = 4};
    job.cutter.slope_mdeg = slope_mdeg;
    return job;
}

static struct joint_sliding sliding_of(double depth, double waste)
{
    struct joint_sliding job = {.depth_nm = in(depth),
                                .thick_a_nm = in(.75),
                                .thick_b_nm = in(.75),
                                .clearance_nm = in(.004),
                                .cutter = profile(JOINT_DOVETAIL, .5),
                                .waste = straight(waste),
                                .pieces_a = 2,
                                .pieces_b = 3};
    job.cutter.slope_mdeg = 14000;
    return job;
}

static struct joint_dado dado_of(double part, double cutter)
{
    return (struct joint_dado){.thick_nm = in(.75),
                               .part_nm = in(part),
                               .edge_nm = in(6),
                               .cutter = straight(cutter),
                               .pieces = 2};
}

/* --- Flat --- */

/* h = t/2; to a finished lap, its thickness. */
START_TEST(half_lap)
{
    struct joint_shop shop = wide_shop();
    struct joint_lap job = {
        .thick_nm = in(.742), .length_nm = in(2), .cutter = straight(.75), .pieces = 4};
    ck_plan(joint_lap(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.mark[0].height_nm, in(.371));
    job.finished_nm = in(.375); /* this one fills .367 of .742 */
    ck_plan(joint_lap(&job, &shop, &plan), &plan);
    ck_assert_int_eq(job.thick_nm - plan.mark[0].height_nm, in(.367));
    job.finished_nm = in(.742);
    ck_refused(joint_lap(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job.finished_nm = 0;
    job.cutter = profile(JOINT_DOVETAIL, .5);
    ck_refused(joint_lap(&job, &shop, &plan), &plan, JOINT_FAULT_KIND);
}
END_TEST

/* h = the measured mating part, or part - tongue. */
START_TEST(rabbet)
{
    struct joint_shop shop = wide_shop();
    struct joint_rabbet job = {.thick_nm = in(.742),
                               .part_nm = in(.205),
                               .into_nm = in(.375),
                               .cutter = straight(.75),
                               .pieces = 4};
    ck_plan(joint_rabbet(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.mark[0].height_nm, in(.205));
    job.part_nm = in(.5);
    job.tongue_nm = in(.25);
    ck_plan(joint_rabbet(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.mark[0].height_nm, in(.25));
    job.tongue_nm = in(.5);
    ck_refused(joint_rabbet(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job.tongue_nm = 0;
    job.thick_nm = in(.5);
    ck_refused(joint_rabbet(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job.thick_nm = in(.742);
    job.cutter.length_nm = in(.4);
    ck_refused(joint_rabbet(&job, &shop, &plan), &plan, JOINT_FAULT_REACH);
    job.cutter = slot(.25);
    job.cutter.reach_nm = in(.3);
    ck_refused(joint_rabbet(&job, &shop, &plan), &plan, JOINT_FAULT_REACH);
    job.cutter.reach_nm = in(.375);
    ck_plan(joint_rabbet(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 2);
    ck_assert_int_eq(plan.mark[1].height_nm, in(.5));
}
END_TEST

/* About a third of the stock deep; widened by moving the fence back. */
START_TEST(dado)
{
    struct joint_shop shop = wide_shop();
    struct joint_dado job = dado_of(.5, .5);
    ck_plan(joint_dado(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 1);
    ck_assert_int_eq(plan.mark[0].height_nm, in(.25));
    job = dado_of(.7, .5); /* .2 back */
    job.depth_nm = in(.3);
    job.depth = (struct joint_depth){in(.15), 0};
    ck_plan(joint_dado(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 4);
    ck_assert_int_eq(plan.mark[3].height_nm, in(.3));
    ck_assert(strstr(plan.mark[2].fence, "back by 13/64 - .003in") != NULL);
    job = dado_of(.5, .51);
    ck_refused(joint_dado(&job, &shop, &plan), &plan, JOINT_FAULT_WIDE);
    job = dado_of(.5, .5);
    job.depth_nm = in(.75);
    ck_refused(joint_dado(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job.depth_nm = in(.25);
    job.cutter.length_nm = in(.2);
    ck_refused(joint_dado(&job, &shop, &plan), &plan, JOINT_FAULT_REACH);
}
END_TEST

START_TEST(stopped_dado)
{
    struct joint_shop shop = wide_shop();
    struct joint_dado job = dado_of(.5, .5);
    job.board_nm = in(10);
    job.stop_last_nm = in(1);
    ck_plan(joint_dado(&job, &shop, &plan), &plan); /* 10 - .5 - 1 */
    ck_assert(strstr(plan.mark[0].fence, "8-1/2in to the left") != NULL);
    ck_assert(strstr(plan.mark[0].words, "Stopped") != NULL);
    job.stop_first_nm = in(2);
    ck_refused(joint_dado(&job, &shop, &plan), &plan, JOINT_FAULT_PLUNGE);
    job.cutter.plunging = true;
    ck_plan(joint_dado(&job, &shop, &plan), &plan);
    ck_assert(strstr(plan.mark[0].fence, "7-1/2in to the right") != NULL);
    job.stop_first_nm = in(8.6);
    ck_refused(joint_dado(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job.board_nm = 0;
    ck_refused(joint_dado(&job, &shop, &plan), &plan, JOINT_FAULT_SIZE);
}
END_TEST

/* --- Dovetails --- */

/* D 1/2, 14 degrees, S 7/8, c 0: .25067. */
START_TEST(half_blind_dovetail)
{
    struct joint_shop shop = wide_shop();
    struct joint_dovetail job = dovetail_of(.5, 14000, .875);
    ck_plan(joint_dovetail(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 1);
    ck_assert_double_eq_tol((double)plan.mark[0].height_nm / NM_PER_IN, .25067, .000005);
    job.clearance_nm = in(.005); /* lower is looser: by .0050/(2 tan 14) = .01003 */
    int64_t height_nm = plan.mark[0].height_nm;
    ck_plan(joint_dovetail(&job, &shop, &plan), &plan);
    ck_assert_double_eq_tol((double)(height_nm - plan.mark[0].height_nm) / NM_PER_IN, .0100,
                            .00005);
    ck_assert(strstr(plan.note, "Too loose: raise") != NULL);
}
END_TEST

/* At that height, by plain geometry, sockets and tails fill the spacing but for the clearance: half
 * way up each is as wide as half of it. */
START_TEST(sockets_and_tails_fill_the_spacing)
{
    struct joint_shop shop = wide_shop();
    int made = 0;
    for (int trial = 0; trial < TRIALS; trial++) {
        struct joint_dovetail job = dovetail_of(.5, (int32_t)between(5000, 20000), .875);
        job.cutter.width_nm = between(in(.25), in(1));
        job.spacing_nm = between(job.cutter.width_nm, 2 * job.cutter.width_nm);
        job.clearance_nm = between(0, in(.01));
        if (!joint_dovetail(&job, &shop, &plan))
            continue; /* no such dovetail: over or under what can be */
        made++;
        double tangent = tan(job.cutter.slope_mdeg * M_PI / 180000);
        double at_table =
            (double)job.cutter.width_nm - 2 * tangent * (double)plan.mark[0].height_nm;
        /* The tail is what two sockets leave at their tips; the socket's mouth is at_table. */
        double tail_end = (double)(job.spacing_nm - job.cutter.width_nm);
        double gap = at_table - tail_end;
        ck_assert_double_eq_tol(gap, (double)job.clearance_nm, 2);
    }
    ck_assert_int_gt(made, TRIALS / 10);
}
END_TEST

START_TEST(impossible_dovetails_are_refused)
{
    struct joint_shop shop = wide_shop();
    struct joint_dovetail job = dovetail_of(.5, 14000, 1);
    ck_refused(joint_dovetail(&job, &shop, &plan), &plan, JOINT_FAULT_SPACING);
    job = dovetail_of(.5, 0, .875);
    ck_refused(joint_dovetail(&job, &shop, &plan), &plan, JOINT_FAULT_SPACING);
    job = dovetail_of(.5, 45001, .875);
    ck_refused(joint_dovetail(&job, &shop, &plan), &plan, JOINT_FAULT_SPACING);
    job = dovetail_of(.9, 14000, .875);
    ck_refused(joint_dovetail(&job, &shop, &plan), &plan, JOINT_FAULT_WIDE);
    job = dovetail_of(.5, 14000, .875);
    job.front_nm = in(.26);
    ck_refused(joint_dovetail(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job = dovetail_of(.5, 14000, .875);
    job.cutter.length_nm = in(.25);
    ck_refused(joint_dovetail(&job, &shop, &plan), &plan, JOINT_FAULT_REACH);
    job = dovetail_of(.5, 14000, .875);
    job.cutter = straight(.5);
    ck_refused(joint_dovetail(&job, &shop, &plan), &plan, JOINT_FAULT_KIND);
}
END_TEST

/* Socket and tail at the same height; waste by a bit narrower than D - 2h tan, 1/32 shallower.
 * D 1/2, h 1/4, 14 degrees: .3753 (recomputed). */
START_TEST(sliding_dovetail)
{
    struct joint_shop shop = wide_shop();
    struct joint_sliding job = sliding_of(.25, .25);
    ck_plan(joint_sliding(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 3);
    ck_assert_int_eq(plan.mark[0].bit, JOINT_SECOND_BIT);
    ck_assert_int_eq(plan.mark[0].height_nm, in(.25) - in(1.0 / 32));
    ck_assert_int_eq(plan.mark[1].bit, JOINT_BIT);
    ck_assert_int_eq(plan.mark[1].height_nm, in(.25));
    ck_assert_int_eq(plan.mark[2].part, JOINT_B);
    ck_assert_int_eq(plan.mark[2].height_nm, plan.mark[1].height_nm);
    ck_assert_int_eq(plan.mark[2].pieces, 3);
    job = sliding_of(.25, .3754);
    ck_refused(joint_sliding(&job, &shop, &plan), &plan, JOINT_FAULT_WIDE);
    job = sliding_of(.25, .3753);
    ck_plan(joint_sliding(&job, &shop, &plan), &plan);
    job = sliding_of(.75, .1);
    ck_refused(joint_sliding(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job = sliding_of(1.0 / 32, .1);
    ck_refused(joint_sliding(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job = sliding_of(.25, .25);
    job.thick_b_nm = in(.49);
    ck_refused(joint_sliding(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job = sliding_of(.5, .25);
    job.cutter.slope_mdeg = 30000;
    ck_refused(joint_sliding(&job, &shop, &plan), &plan, JOINT_FAULT_SPACING);
    job = sliding_of(.25, .25);
    job.cutter.length_nm = in(.2);
    ck_refused(joint_sliding(&job, &shop, &plan), &plan, JOINT_FAULT_REACH);
    job = sliding_of(.25, .25);
    job.waste.kind = JOINT_EDGE;
    ck_refused(joint_sliding(&job, &shop, &plan), &plan, JOINT_FAULT_KIND);
}
END_TEST

/* --- Lock mitre, panel --- */

START_TEST(the_profile_stands_on_half_the_stock)
{
    struct joint_shop shop = wide_shop();
    struct joint_centred job = {.thick_nm = in(.742),
                                .cutter = profile(JOINT_LOCK_MITRE, 2),
                                .fence_passes = 2,
                                .pieces_a = 4,
                                .pieces_b = 4};
    job.cutter.reference = JOINT_CENTRE;
    ck_plan(joint_centred(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 4);
    for (int i = 0; i < plan.count; i++) /* passes by the fence only */
        ck_assert_int_eq(plan.mark[i].height_nm, in(.371));
    job.cutter.kind = JOINT_GLUE;
    job.cutter.reference = JOINT_TOP;
    job.above_centre_nm = in(.3);
    ck_plan(joint_centred(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.mark[0].height_nm, in(.671));
    ck_assert(strstr(plan.mark[2].words, "turned over") != NULL);
    job.cutter.length_nm = in(.7);
    ck_refused(joint_centred(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job.cutter.length_nm = 0;
    job.fence_passes = 0;
    ck_refused(joint_centred(&job, &shop, &plan), &plan, JOINT_FAULT_MARKS);
    job.fence_passes = 1;
    job.above_centre_nm = INT64_MAX;
    ck_refused(joint_centred(&job, &shop, &plan), &plan, JOINT_FAULT_SIZE);
    job.above_centre_nm = 0;
    job.cutter.kind = JOINT_STILE_RAIL;
    ck_refused(joint_centred(&job, &shop, &plan), &plan, JOINT_FAULT_KIND);
}
END_TEST

/* 5/8 - 1/4: 1/8, 1/4, 11/32, 3/8. */
START_TEST(raised_panel)
{
    struct joint_shop shop = wide_shop();
    struct joint_panel job = {.panel_nm = in(.625),
                              .groove_nm = in(.25),
                              .cutter = profile(JOINT_RAISER, 3),
                              .pieces = 2};
    static const double heights[] = {.125, .25, 11.0 / 32, .375};
    ck_plan(joint_panel(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 4);
    for (int i = 0; i < 4; i++)
        ck_assert_int_eq(plan.mark[i].height_nm, in(heights[i]));
    job.clearance_nm = in(.005); /* a tongue of .245 */
    ck_plan(joint_panel(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.mark[plan.count - 1].height_nm, in(.38));
    job.panel_nm = in(.245);
    ck_refused(joint_panel(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job.panel_nm = in(.625);
    job.depth = (struct joint_depth){in(.125), in(.1)};
    ck_refused(joint_panel(&job, &shop, &plan), &plan, JOINT_FAULT_LAST);
    job.depth = (struct joint_depth){in(.001), 0};
    ck_refused(joint_panel(&job, &shop, &plan), &plan, JOINT_FAULT_MARKS);
    job.depth = (struct joint_depth){0, 0};
    job.cutter.kind = JOINT_RAISER_BACK;
    ck_refused(joint_panel(&job, &shop, &plan), &plan, JOINT_FAULT_KIND);
    ck_assert(strstr(plan.why, "fence") != NULL);
    job.cutter.kind = JOINT_RAISER_VERTICAL;
    ck_refused(joint_panel(&job, &shop, &plan), &plan, JOINT_FAULT_KIND);
    job.cutter.kind = JOINT_STRAIGHT;
    ck_refused(joint_panel(&job, &shop, &plan), &plan, JOINT_FAULT_KIND);
}
END_TEST

static Suite *profile_suite(void)
{
    Suite *suite = suite_create("flat and profiled joints");
    TCase *tests = tcase_create("flat and profiled joints");
    tcase_add_test(tests, half_lap);
    tcase_add_test(tests, rabbet);
    tcase_add_test(tests, dado);
    tcase_add_test(tests, stopped_dado);
    tcase_add_test(tests, half_blind_dovetail);
    tcase_add_test(tests, sockets_and_tails_fill_the_spacing);
    tcase_add_test(tests, impossible_dovetails_are_refused);
    tcase_add_test(tests, sliding_dovetail);
    tcase_add_test(tests, the_profile_stands_on_half_the_stock);
    tcase_add_test(tests, raised_panel);
    suite_add_tcase(suite, tests);
    return suite;
}

int main(void)
{
    read_seed();
    return run_suite(profile_suite());
}
