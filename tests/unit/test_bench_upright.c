/* SPDX-License-Identifier: MIT */
/*
 * The finger joint of upright boards, a straight bit and a key. How many fingers there are is
 * derived and recomputed; what is left to sand off is common practice, no source.
 */
#include <stdlib.h>

#include "clients/bench/joint_finger.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/test_bench_joint.h"

enum { TRIALS = 5000, SLOTS_MAX = 400 };

static struct joint_plan plan;

static struct joint_upright job_of(double width, double cutter, double clearance)
{
    return (struct joint_upright){.width_nm = in(width),
                                  .thick_a_nm = in(.5),
                                  .thick_b_nm = in(.742),
                                  .proud_nm = in(1.0 / 32),
                                  .clearance_nm = in(clearance),
                                  .cutter = straight(cutter),
                                  .pieces_a = 4,
                                  .pieces_b = 6};
}

/* W/d odd: A has (n + 1)/2 fingers, B (n - 1)/2; even: the same number, and corners are handed. */
START_TEST(fingers_are_shared_between_the_parts)
{
    for (int n = 2; n <= 60; n++) {
        struct joint_fingers fingers = joint_fingers_of(n * in(.25), in(.25), 0);
        ck_assert_int_eq(fingers.count, n);
        ck_assert_int_eq(fingers.of_a, n % 2 ? (n + 1) / 2 : n / 2);
        ck_assert_int_eq(fingers.of_b, n % 2 ? (n - 1) / 2 : n / 2);
        ck_assert_int_eq(fingers.handed, n % 2 == 0);
        ck_assert_int_eq(fingers.gap_nm, in(.25));
        ck_assert_int_eq(fingers.last_nm, in(.25));
        ck_assert_int_eq(fingers.sliver_nm, 0);
    }
    struct joint_fingers part = joint_fingers_of(in(1.1), in(.25), 0);
    ck_assert_int_eq(part.count, 5);
    ck_assert_int_eq(part.last_nm, in(.1));
    part = joint_fingers_of(in(1.02), in(.25), 0);
    ck_assert_int_eq(part.count, 4);
    ck_assert_int_eq(part.sliver_nm, in(.02));
    part = joint_fingers_of(in(1.27), in(.25), 0);
    ck_assert_int_eq(part.count, 5);
    ck_assert_int_eq(part.sliver_nm, in(.02));
}
END_TEST

/* h = mating thickness + what is to be sanded off, and the sled's base. */
START_TEST(the_height_is_the_other_part_and_what_is_sanded_off)
{
    struct joint_shop shop = wide_shop();
    struct joint_upright job = job_of(3, .25, 0);
    ck_plan(joint_upright(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 2);
    ck_assert_int_eq(plan.mark[0].part, JOINT_A);
    ck_assert_int_eq(plan.mark[0].height_nm, in(.742) + in(1.0 / 32));
    ck_assert_int_eq(plan.mark[0].pieces, 4);
    ck_assert_int_eq(plan.mark[1].part, JOINT_B);
    ck_assert_int_eq(plan.mark[1].height_nm, in(.5) + in(1.0 / 32));
    ck_assert_int_eq(plan.mark[1].pieces, 6);
    ck_assert(strstr(plan.note, "handed") != NULL);
    job.base_nm = in(.5);
    ck_plan(joint_upright(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.mark[0].height_nm, in(1.242) + in(1.0 / 32));
    job.depth = (struct joint_depth){in(.25), in(1.0 / 32)};
    ck_plan(joint_upright(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 7); /* .742 in three, .5 in two, and two light ones */
    ck_assert_int_eq(plan.mark[0].height_nm, in(.5) + (in(.742) + 1) / 3);
}
END_TEST

START_TEST(impossible_fingers_are_refused)
{
    struct joint_shop shop = wide_shop();
    struct joint_upright job = job_of(3, .25, .25);
    ck_refused(joint_upright(&job, &shop, &plan), &plan, JOINT_FAULT_CLEARANCE);
    job = job_of(3, .03, .001);
    ck_refused(joint_upright(&job, &shop, &plan), &plan, JOINT_FAULT_NARROW);
    job = job_of(.26, .25, .001);
    ck_refused(joint_upright(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job = job_of(3, .25, .001);
    job.cutter.length_nm = in(.75);
    ck_refused(joint_upright(&job, &shop, &plan), &plan, JOINT_FAULT_REACH);
    job.cutter.length_nm = in(.774);
    ck_plan(joint_upright(&job, &shop, &plan), &plan);
    job.cutter = slot(.25);
    ck_refused(joint_upright(&job, &shop, &plan), &plan, JOINT_FAULT_KIND);
    job = job_of(3, .25, .001);
    job.pieces_a = JOINT_PIECES_MAX + 1;
    ck_refused(joint_upright(&job, &shop, &plan), &plan, JOINT_FAULT_PIECES);
    job = job_of(3, .25, .001);
    job.depth = (struct joint_depth){in(.1), in(.2)};
    ck_refused(joint_upright(&job, &shop, &plan), &plan, JOINT_FAULT_LAST);
    job = job_of(3, .25, .001);
    job.thick_a_nm = 0;
    ck_refused(joint_upright(&job, &shop, &plan), &plan, JOINT_FAULT_SIZE);
    shop.highest_nm = in(.742) + in(1.0 / 32);
    job = job_of(3, .25, .001);
    ck_refused(joint_upright(&job, &shop, &plan), &plan, JOINT_FAULT_TRAVEL);
}
END_TEST

/* --- At the fence --- */

struct span {
    int64_t low_nm;
    int64_t high_nm;
};

/* The key fills a slot; the cutter's near side stands the gap beyond the key. A begins with its
 * edge against the key; every further slot has the last one over it. */
static int slots_by_key(int64_t first_nm, int64_t cutter_nm, int64_t gap_nm, int64_t width_nm,
                        struct span *cut)
{
    int count = 0;
    for (int64_t low_nm = first_nm; low_nm < width_nm && count < SLOTS_MAX;) {
        cut[count] = (struct span){low_nm, low_nm + cutter_nm};
        low_nm = cut[count++].high_nm + gap_nm;
    }
    return count;
}

/* Do all fingers of A go into slots of B, with the clearance on one side and none to spare? B's
 * first slot begins at its edge, where A's first slot begins behind its first finger. */
START_TEST(fingers_and_slots_complement_each_other)
{
    struct span a_slot[SLOTS_MAX];
    struct span b_slot[SLOTS_MAX];
    for (int trial = 0; trial < TRIALS; trial++) {
        int64_t cutter_nm = between(in(.1), in(.75));
        int64_t clearance_nm = between(0, in(.02));
        int64_t width_nm = between(cutter_nm + JOINT_SLIVER_NM, in(12));
        struct joint_fingers fingers = joint_fingers_of(width_nm, cutter_nm, clearance_nm);
        int64_t gap_nm = fingers.gap_nm;
        int a = slots_by_key(gap_nm, cutter_nm, gap_nm, width_nm, a_slot);
        int b = slots_by_key(0, cutter_nm, gap_nm, width_nm, b_slot);
        for (int i = 0; i < a && i < b; i++) {
            int64_t finger_low = i == 0 ? 0 : a_slot[i - 1].high_nm; /* of A, in B's slot i */
            int64_t below_nm = finger_low - b_slot[i].low_nm;
            int64_t above_nm = b_slot[i].high_nm - a_slot[i].low_nm;
            if (below_nm != 0 || above_nm != clearance_nm)
                ck_abort_msg("finger %d: %" PRId64 " below, %" PRId64 " above", i, below_nm,
                             above_nm);
        }
        /* The count agrees with the cuts, unless what is left is a sliver. A slot of A that would
         * only shave the edge has no finger of B to go into it. */
        if (a > 0 && a_slot[a - 1].low_nm + clearance_nm >= width_nm)
            a--;
        if (fingers.sliver_nm == 0 && (fingers.of_a != b || fingers.of_b != a))
            ck_abort_msg("%d and %d fingers, %d and %d slots", fingers.of_a, fingers.of_b, a, b);
    }
}
END_TEST

static Suite *upright_suite(void)
{
    Suite *suite = suite_create("upright finger joint");
    TCase *tests = tcase_create("upright finger joint");
    tcase_add_test(tests, fingers_are_shared_between_the_parts);
    tcase_add_test(tests, the_height_is_the_other_part_and_what_is_sanded_off);
    tcase_add_test(tests, impossible_fingers_are_refused);
    tcase_add_test(tests, fingers_and_slots_complement_each_other);
    suite_add_tcase(suite, tests);
    return suite;
}

int main(void)
{
    read_seed();
    return run_suite(upright_suite());
}
