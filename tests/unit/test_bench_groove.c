/* SPDX-License-Identifier: MIT */
/*
 * Grooves, tongues, tenons, mortises. Formulas derived and recomputed; sizes and proportions of
 * the trade are common practice, no source.
 */
#include <stdlib.h>

#include "clients/bench/joint_groove.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/test_bench_joint.h"

enum { TRIALS = 5000 };

static struct joint_plan plan;

static struct joint_groove groove_of(double width, double kerf, double edge)
{
    return (struct joint_groove){.width_nm = in(width),
                                 .edge_nm = in(edge),
                                 .into_nm = in(.25),
                                 .cutter = slot(kerf),
                                 .pieces = 4};
}

static struct joint_tongue tongue_of(double thick, double groove, double clearance, double kerf)
{
    return (struct joint_tongue){.thick_nm = in(thick),
                                 .groove_nm = in(groove),
                                 .clearance_nm = in(clearance),
                                 .tongue_nm = in(.25),
                                 .room_nm = in(1.0 / 32),
                                 .groove_cutter = slot(kerf),
                                 .tongue_cutter = straight(.75),
                                 .pieces_a = 5,
                                 .pieces_b = 5};
}

static struct joint_tenon tenon_of(double thick, double mortise, double clearance)
{
    return (struct joint_tenon){.thick_nm = in(thick),
                                .mortise_nm = in(mortise),
                                .clearance_nm = in(clearance),
                                .length_nm = in(1),
                                .cutter = straight(.75),
                                .pieces = 8};
}

static struct joint_mortise mortise_of(double width, double bit)
{
    struct joint_mortise job = {.thick_nm = in(.75),
                                .deep_nm = in(2),
                                .width_nm = in(width),
                                .length_nm = in(2),
                                .tenon_nm = in(1),
                                .room_nm = in(1.0 / 16),
                                .cutter = straight(bit),
                                .pieces = 8};
    job.cutter.plunging = true;
    return job;
}

static struct joint_drawer drawer_of(struct joint_cutter cutter)
{
    return (struct joint_drawer){.bottom_nm = in(.205),
                                 .clearance_nm = in(.004),
                                 .edge_nm = in(.25),
                                 .into_nm = in(.25),
                                 .stock_nm = in(.5),
                                 .cutter = cutter,
                                 .pieces = 4};
}

/* --- Worked numbers --- */

/* w .209, k 5/32, e 1/4: .250, .30275. */
START_TEST(a_groove_wider_than_the_cutter)
{
    struct joint_shop shop = wide_shop();
    struct joint_groove job = groove_of(.209, 5.0 / 32, .25);
    ck_plan(joint_groove(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 2);
    ck_assert_int_eq(plan.mark[0].low_nm, in(.25));
    ck_assert_int_eq(plan.mark[1].low_nm, in(.30275));
    ck_assert_int_eq(plan.mark[1].height_nm, in(.30275) + in(5.0 / 32));
    job.cutter.reference = JOINT_LOWER;
    ck_plan(joint_groove(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.mark[1].height_nm, in(.30275));
    struct joint_drawer drawer = drawer_of(slot(5.0 / 32)); /* a bottom of .205, clearance .004 */
    ck_plan(joint_drawer(&drawer, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 2);
    ck_assert_int_eq(plan.mark[0].low_nm, in(.25));
    ck_assert_int_eq(plan.mark[1].low_nm, in(.30275));
}
END_TEST

START_TEST(a_drawer_bottom_groove_by_a_straight_bit)
{
    struct joint_shop shop = wide_shop();
    struct joint_drawer drawer = drawer_of(straight(.125));
    drawer.depth = (struct joint_depth){in(.125), 0};
    ck_plan(joint_drawer(&drawer, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 4); /* two passes at each of two settings */
    ck_assert_int_eq(plan.mark[0].height_nm, in(.125));
    ck_assert_int_eq(plan.mark[1].height_nm, in(.25));
    ck_assert_int_eq(plan.mark[3].height_nm, in(.25));
    ck_assert(strstr(plan.mark[2].fence, "move it back") != NULL);
    ck_assert(strstr(plan.mark[2].fence, "nearest you") != NULL);
    ck_assert(plan.mark[1].fence[0] == '\0');
    drawer.cutter = straight(.209);
    drawer.depth.most_nm = 0;
    ck_plan(joint_drawer(&drawer, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 1);
}
END_TEST

/* t .742, g .25, c .004: b .246, h .248, tongue .246. */
START_TEST(tongue_and_groove)
{
    struct joint_shop shop = wide_shop();
    struct joint_tongue job = tongue_of(.742, .25, .004, .125);
    ck_plan(joint_tongue(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 2);
    ck_assert_int_eq(plan.mark[0].part, JOINT_A);
    ck_assert_int_eq(plan.mark[0].low_nm, in(.246));
    ck_assert_int_eq(plan.mark[1].part, JOINT_B);
    ck_assert_int_eq(plan.mark[1].height_nm, in(.248));
    ck_assert_int_eq(job.thick_nm - 2 * plan.mark[1].height_nm, in(.246));
    ck_assert(plan.mark[0].flip && plan.mark[1].flip);
    ck_assert_int_eq(plan.mark[1].bit, JOINT_SECOND_BIT);
    job.same_cutter = true; /* 1/8 in makes .248 in two steps, the upper one last */
    ck_plan(joint_tongue(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 3);
    ck_assert_int_eq(plan.mark[1].bit, JOINT_BIT);
    ck_assert_int_eq(plan.mark[1].high_nm, in(.124));
    ck_assert_int_eq(plan.mark[2].high_nm, in(.248));
    ck_assert_int_eq(plan.mark[2].height_nm, in(.248));
}
END_TEST

/* Stock .750, tenon .371: .1895. */
START_TEST(tenon_cheeks)
{
    struct joint_shop shop = wide_shop();
    struct joint_tenon job = tenon_of(.75, .371, 0);
    ck_plan(joint_tenon(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 1);
    ck_assert_int_eq(plan.mark[0].height_nm, in(.1895));
    ck_assert(plan.mark[0].flip);
    job = tenon_of(.75, .375, .004); /* to a mortise that is there */
    ck_plan(joint_tenon(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.mark[0].height_nm, in(.1895));
    job.depth.most_nm = in(.1);
    ck_plan(joint_tenon(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 2);
}
END_TEST

/* Passes of half the diameter, 1/16 in deeper than the tenon. */
START_TEST(mortise_by_passes)
{
    struct joint_shop shop = wide_shop();
    struct joint_mortise job = mortise_of(.25, .25);
    ck_plan(joint_mortise(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 9); /* 1 1/16 by eighths */
    ck_assert_int_eq(plan.mark[8].height_nm, in(1.0625));
    ck_assert(!plan.mark[0].flip);
    job = mortise_of(.375, .25);
    ck_plan(joint_mortise(&job, &shop, &plan), &plan);
    ck_assert(plan.mark[0].flip);
    ck_assert(strstr(plan.mark[0].words, "other face") != NULL);
}
END_TEST

/* --- Properties --- */

/* A wide groove is taken from end to end without a rib, by cuts within it, and at most one more
 * than the fewest. */
START_TEST(a_wide_groove_is_all_taken)
{
    struct joint_shop shop = wide_shop();
    for (int trial = 0; trial < TRIALS; trial++) {
        struct joint_groove job = groove_of(.25, .1, .25);
        job.cutter.kerf_nm = between(in(.03), in(.5));
        job.width_nm = job.cutter.kerf_nm + between(0, in(2));
        job.edge_nm = between(0, in(2));
        if (!joint_groove(&job, &shop, &plan))
            ck_abort_msg("refused: %s", plan.why);
        int64_t at_nm = job.edge_nm;
        for (int i = 0; i < plan.count; i++) {
            if (plan.mark[i].low_nm > at_nm || plan.mark[i].low_nm < job.edge_nm)
                ck_abort_msg("a rib below %" PRId64, plan.mark[i].low_nm);
            at_nm = plan.mark[i].high_nm;
        }
        if (plan.mark[0].low_nm != job.edge_nm || at_nm != job.edge_nm + job.width_nm ||
            (plan.count - 1) * job.cutter.kerf_nm >= job.width_nm)
            ck_abort_msg("%d cuts for %" PRId64 " of %" PRId64, plan.count, job.width_nm,
                         job.cutter.kerf_nm);
    }
}
END_TEST

/* From both faces, by a cutter that stands wrong: its height by `low`, its kerf by `kerf`. */
static void flip(int64_t thick_nm, int64_t low_nm, int64_t kerf_nm, int64_t *from_nm,
                 int64_t *to_nm)
{
    int64_t far_low_nm = thick_nm - low_nm - kerf_nm;
    *from_nm = low_nm < far_low_nm ? low_nm : far_low_nm;
    *to_nm = low_nm > far_low_nm ? low_nm + kerf_nm : far_low_nm + kerf_nm;
}

/* A flip-centred groove, tongue or tenon is centred whatever the cutter's error; and with none, the
 * tongue goes into the groove by the clearance. */
START_TEST(a_flip_centres_whatever_the_error)
{
    struct joint_shop shop = wide_shop();
    for (int trial = 0; trial < TRIALS; trial++) {
        struct joint_tongue job = tongue_of(.742, .25, .004, .125);
        job.thick_nm = between(in(.4), in(2));
        job.groove_nm = between(job.thick_nm / 5, job.thick_nm / 2);
        job.clearance_nm = between(0, in(.01));
        job.groove_cutter.kerf_nm = between((job.groove_nm + 1) / 2, job.groove_nm);
        if (!joint_tongue(&job, &shop, &plan))
            ck_abort_msg("refused: %s", plan.why);
        int64_t error_nm = between(-in(.01), in(.01));
        int64_t from_nm;
        int64_t to_nm;
        flip(job.thick_nm, plan.mark[0].low_nm + error_nm,
             job.groove_cutter.kerf_nm + between(-in(.005), in(.005)), &from_nm, &to_nm);
        int64_t tongue_from = plan.mark[1].height_nm + error_nm;
        int64_t tongue_to = job.thick_nm - tongue_from;
        if (from_nm + to_nm != job.thick_nm || tongue_from + tongue_to != job.thick_nm)
            ck_abort_msg("groove %" PRId64 " to %" PRId64 " of %" PRId64, from_nm, to_nm,
                         job.thick_nm);
        int64_t groove = job.thick_nm - 2 * plan.mark[0].low_nm;
        int64_t tongue = job.thick_nm - 2 * plan.mark[1].height_nm;
        if (llabs(groove - job.groove_nm) > 1 || llabs(groove - tongue - job.clearance_nm) > 2)
            ck_abort_msg("groove %" PRId64 ", tongue %" PRId64 ", clearance %" PRId64, groove,
                         tongue, job.clearance_nm);
    }
}
END_TEST

/* A rabbet by a slot cutter is taken down to the table without a rib, its wall last. */
START_TEST(a_rabbet_by_a_slot_cutter_is_all_taken)
{
    struct joint_shop shop = wide_shop();
    for (int trial = 0; trial < TRIALS; trial++) {
        struct joint_tenon job = tenon_of(.75, .371, 0);
        job.cutter = slot(.1);
        job.cutter.kerf_nm = between(in(.03), in(.4));
        job.thick_nm = between(in(.5), in(3));
        job.mortise_nm = between(in(.1), job.thick_nm - 2);
        if (!joint_tenon(&job, &shop, &plan))
            ck_abort_msg("refused: %s", plan.why);
        int64_t at_nm = 0;
        for (int i = 0; i < plan.count; i++) {
            if (plan.mark[i].low_nm > at_nm || plan.mark[i].high_nm <= at_nm)
                ck_abort_msg("a rib below %" PRId64, plan.mark[i].low_nm);
            at_nm = plan.mark[i].high_nm;
        }
        int64_t tenon_nm = job.thick_nm - 2 * at_nm;
        if (llabs(tenon_nm - job.mortise_nm) > 1)
            ck_abort_msg("tenon %" PRId64 ", not %" PRId64, tenon_nm, job.mortise_nm);
    }
}
END_TEST

/* --- Refused --- */

START_TEST(impossible_grooves_are_refused)
{
    struct joint_shop shop = wide_shop();
    struct joint_groove job = groove_of(.125, 5.0 / 32, .25);
    ck_refused(joint_groove(&job, &shop, &plan), &plan, JOINT_FAULT_WIDE);
    job = groove_of(.209, 5.0 / 32, .25);
    job.cutter.reach_nm = in(.2);
    ck_refused(joint_groove(&job, &shop, &plan), &plan, JOINT_FAULT_REACH);
    job = groove_of(.209, 5.0 / 32, -.25);
    ck_refused(joint_groove(&job, &shop, &plan), &plan, JOINT_FAULT_SIZE);
    job = groove_of(3, .01, .25);
    ck_refused(joint_groove(&job, &shop, &plan), &plan, JOINT_FAULT_MARKS);
    job = groove_of(.209, 5.0 / 32, 39.8);
    ck_refused(joint_groove(&job, &shop, &plan), &plan, JOINT_FAULT_TRAVEL);
    job.cutter = straight(.125);
    ck_refused(joint_groove(&job, &shop, &plan), &plan, JOINT_FAULT_KIND);
    struct joint_drawer drawer = drawer_of(slot(5.0 / 32));
    drawer.into_nm = in(.26);
    ck_refused(joint_drawer(&drawer, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    drawer = drawer_of(slot(.25));
    ck_refused(joint_drawer(&drawer, &shop, &plan), &plan, JOINT_FAULT_WIDE);
    drawer = drawer_of(straight(.25));
    ck_refused(joint_drawer(&drawer, &shop, &plan), &plan, JOINT_FAULT_WIDE);
    drawer = drawer_of(straight(.125));
    drawer.cutter.kind = JOINT_DOVETAIL;
    ck_refused(joint_drawer(&drawer, &shop, &plan), &plan, JOINT_FAULT_KIND);
    drawer = drawer_of(straight(.0005));
    ck_refused(joint_drawer(&drawer, &shop, &plan), &plan, JOINT_FAULT_MARKS);
    drawer = drawer_of(slot(5.0 / 32));
    drawer.clearance_nm = in(.205);
    ck_refused(joint_drawer(&drawer, &shop, &plan), &plan, JOINT_FAULT_CLEARANCE);
}
END_TEST

START_TEST(impossible_tongues_are_refused)
{
    struct joint_shop shop = wide_shop();
    struct joint_tongue job = tongue_of(.742, .25, .004, .26);
    ck_refused(joint_tongue(&job, &shop, &plan), &plan, JOINT_FAULT_WIDE);
    job = tongue_of(.742, .25, .004, .124);
    ck_refused(joint_tongue(&job, &shop, &plan), &plan, JOINT_FAULT_NARROW);
    job = tongue_of(.742, .25, .25, .125);
    ck_refused(joint_tongue(&job, &shop, &plan), &plan, JOINT_FAULT_CLEARANCE);
    job = tongue_of(.742, .7, .004, .5);
    ck_refused(joint_tongue(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job = tongue_of(.742, .25, .004, .125);
    job.groove_cutter.reach_nm = in(.25); /* tongue and room */
    ck_refused(joint_tongue(&job, &shop, &plan), &plan, JOINT_FAULT_REACH);
    job = tongue_of(.742, .25, .004, .125);
    job.tongue_cutter.length_nm = in(.2);
    ck_refused(joint_tongue(&job, &shop, &plan), &plan, JOINT_FAULT_REACH);
    job = tongue_of(.742, .25, .004, .125);
    job.tongue_cutter.kind = JOINT_LOCK_MITRE;
    ck_refused(joint_tongue(&job, &shop, &plan), &plan, JOINT_FAULT_KIND);
    struct joint_tenon tenon = tenon_of(.75, .75, 0);
    ck_refused(joint_tenon(&tenon, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    tenon = tenon_of(.75, .371, .371);
    ck_refused(joint_tenon(&tenon, &shop, &plan), &plan, JOINT_FAULT_CLEARANCE);
    tenon = tenon_of(0, .371, 0);
    ck_refused(joint_tenon(&tenon, &shop, &plan), &plan, JOINT_FAULT_SIZE);
}
END_TEST

START_TEST(impossible_mortises_are_refused)
{
    struct joint_shop shop = wide_shop();
    struct joint_mortise job = mortise_of(.25, .25);
    job.cutter.plunging = false;
    ck_refused(joint_mortise(&job, &shop, &plan), &plan, JOINT_FAULT_PLUNGE);
    job = mortise_of(.25, .375);
    ck_refused(joint_mortise(&job, &shop, &plan), &plan, JOINT_FAULT_WIDE);
    job = mortise_of(.6, .25);
    ck_refused(joint_mortise(&job, &shop, &plan), &plan, JOINT_FAULT_NARROW);
    job = mortise_of(.7, .5);
    ck_refused(joint_mortise(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job = mortise_of(.25, .25);
    job.deep_nm = in(1.0625);
    ck_refused(joint_mortise(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job = mortise_of(.25, .25);
    job.cutter.length_nm = in(1);
    ck_refused(joint_mortise(&job, &shop, &plan), &plan, JOINT_FAULT_REACH);
    job = mortise_of(.25, .25);
    job.length_nm = in(.2);
    ck_refused(joint_mortise(&job, &shop, &plan), &plan, JOINT_FAULT_WIDE);
    job = mortise_of(.25, .25);
    job.depth.most_nm = in(.126); /* over half the diameter */
    ck_refused(joint_mortise(&job, &shop, &plan), &plan, JOINT_FAULT_LAST);
}
END_TEST

static Suite *groove_suite(void)
{
    Suite *suite = suite_create("grooves and tongues");
    TCase *tests = tcase_create("grooves and tongues");
    tcase_add_test(tests, a_groove_wider_than_the_cutter);
    tcase_add_test(tests, a_drawer_bottom_groove_by_a_straight_bit);
    tcase_add_test(tests, tongue_and_groove);
    tcase_add_test(tests, tenon_cheeks);
    tcase_add_test(tests, mortise_by_passes);
    tcase_add_test(tests, a_wide_groove_is_all_taken);
    tcase_add_test(tests, a_flip_centres_whatever_the_error);
    tcase_add_test(tests, a_rabbet_by_a_slot_cutter_is_all_taken);
    tcase_add_test(tests, impossible_grooves_are_refused);
    tcase_add_test(tests, impossible_tongues_are_refused);
    tcase_add_test(tests, impossible_mortises_are_refused);
    suite_add_tcase(suite, tests);
    return suite;
}

int main(void)
{
    read_seed();
    return run_suite(groove_suite());
}
