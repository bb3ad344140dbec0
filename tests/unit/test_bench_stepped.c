/* SPDX-License-Identifier: MIT */
/*
 * The finger joint that a slot cutter steps by height. Formulas derived and recomputed; the cuts
 * are made in a board of numbers here, and the two parts put together.
 */
#include <stdlib.h>

#include "clients/bench/joint_finger.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/test_bench_joint.h"

enum { TRIALS = 3000 };

static struct joint_plan plan;

static struct joint_stepped job_of(double width, double kerf, double clearance)
{
    return (struct joint_stepped){.width_nm = in(width),
                                  .thick_a_nm = in(.5),
                                  .thick_b_nm = in(.5),
                                  .proud_nm = in(1.0 / 64),
                                  .clearance_nm = in(clearance),
                                  .cutter = slot(kerf),
                                  .pieces_a = 4,
                                  .pieces_b = 4};
}

/* k 1/8, c .003, width 3/4. */
START_TEST(the_worked_example)
{
    static const double a_bottom[] = {.122, .369, .616};
    static const double b_bottom[] = {-.0015, .2455, .4925};
    static const double b_top[] = {.1235, .3705, .6175};
    struct joint_shop shop = wide_shop();
    struct joint_stepped job = job_of(.75, .125, .003);
    ck_plan(joint_stepped(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 7); /* and the run-out of A, whose last finger would be .009 */
    for (int i = 0; i < 3; i++) {
        ck_assert_int_eq(plan.mark[i].part, JOINT_A);
        ck_assert_int_eq(plan.mark[i].low_nm, in(a_bottom[i]));
        ck_assert_int_eq(plan.mark[4 + i].part, JOINT_B);
        ck_assert_int_eq(plan.mark[4 + i].low_nm, in(b_bottom[i]));
        ck_assert_int_eq(plan.mark[4 + i].high_nm, in(b_top[i]));
        ck_assert_int_eq(plan.mark[4 + i].height_nm, in(b_top[i]));
        ck_assert(!plan.mark[i].turned && !plan.mark[4 + i].turned);
    }
    ck_assert_int_eq(plan.mark[3].part, JOINT_A);
    ck_assert(strstr(plan.mark[3].words, "run-out") != NULL);
    ck_assert_int_le(plan.mark[3].low_nm, in(.741));
    ck_assert_int_ge(plan.mark[3].high_nm, in(.75));
    job.cutter.reference = JOINT_LOWER;
    ck_plan(joint_stepped(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.mark[0].height_nm, in(.122));
    ck_assert_int_eq(plan.mark[4].height_nm, -in(.0015));
}
END_TEST

/* B's third finger begins at .6175; A's fourth at .741. A finger of 1/32 in stays, one that is a
 * nanometre thinner is run out, and the other part then has no slot for it. */
START_TEST(a_sliver_is_thinner_than_a_32nd)
{
    struct joint_shop shop = wide_shop();
    static const double begins[] = {.6175, .741};
    for (int i = 0; i < 2; i++) {
        struct joint_stepped job = job_of(1, .125, .003);
        job.width_nm = in(begins[i]) + in(1.0 / 32);
        ck_plan(joint_stepped(&job, &shop, &plan), &plan);
        ck_assert_int_eq(plan.count, 6 + i); /* slots alone: as many as fingers */
        for (int mark = 0; mark < plan.count; mark++)
            ck_assert(strstr(plan.mark[mark].words, "run-out") == NULL);
        job.width_nm--;
        ck_plan(joint_stepped(&job, &shop, &plan), &plan);
        ck_assert_int_eq(plan.count, 6 + i);
        const struct joint_mark *last = &plan.mark[i == 0 ? plan.count - 1 : 3];
        ck_assert(strstr(last->words, i == 0 ? "B, run-out" : "A, run-out") != NULL);
        ck_assert_int_gt(last->high_nm, job.width_nm);
        ck_assert_int_lt(last->low_nm, in(begins[i]));
    }
}
END_TEST

/* Turned other edge down the bottom is at width - bottom - k. */
START_TEST(what_is_out_of_travel_is_cut_from_the_other_edge)
{
    struct joint_shop shop = {LENGTH_STYLE_64, -in(1), in(.5)};
    struct joint_stepped job = job_of(.75, .125, .003);
    ck_plan(joint_stepped(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 7);
    ck_assert_int_eq(plan.mark[0].low_nm, in(.122)); /* tops .247, .494 are within */
    ck_assert_int_eq(plan.mark[1].low_nm, in(.369));
    ck_assert(!plan.mark[1].turned);
    ck_assert(plan.mark[2].turned);
    ck_assert_int_eq(plan.mark[2].low_nm, in(.75) - in(.616) - in(.125));
    ck_assert(strstr(plan.mark[2].words, "Turn the board") != NULL);
    ck_assert(plan.mark[3].turned); /* the run-out */
    ck_assert(strstr(plan.mark[3].words, "Turn the board") == NULL);
    ck_assert(strstr(plan.note, "turned") != NULL);
}
END_TEST

START_TEST(a_board_that_cannot_be_reached_is_refused)
{
    struct joint_shop shop = {LENGTH_STYLE_64, -in(1), in(.9)};
    struct joint_stepped job = job_of(3, .125, .003);
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_BOARD);
    ck_assert(strstr(plan.why, "3in wide") != NULL);
    job.width_nm = in(1.6);
    ck_plan(joint_stepped(&job, &shop, &plan), &plan);
    shop.lowest_nm = in(.2); /* too low from below, too high turned */
    shop.highest_nm = in(.5);
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_BOARD);
    shop.lowest_nm = in(1.55);
    shop.highest_nm = in(9);
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_TRAVEL);
}
END_TEST

START_TEST(impossible_fingers_are_refused)
{
    struct joint_shop shop = wide_shop();
    struct joint_stepped job = job_of(.75, .125, .003);
    job.clearance_nm = in(.125);
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_CLEARANCE);
    job.clearance_nm = -1;
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_CLEARANCE);
    job = job_of(.75, .03, .003);
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_NARROW);
    job = job_of(.15, .125, .003);
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_STOCK);
    job = job_of(30, .125, .003);
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_MARKS);
    job = job_of(300, .125, .003);
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_MARKS);
    job = job_of(.75, .125, .003);
    job.cutter.reach_nm = in(.5); /* 1/2 and 1/64 to sand off */
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_REACH);
    job.cutter.reach_nm = in(.5) + in(1.0 / 64);
    ck_plan(joint_stepped(&job, &shop, &plan), &plan);
    job.thick_b_nm = in(.6);
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_REACH);
    job = job_of(.75, .125, .003);
    job.cutter = straight(.25);
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_KIND);
    job = job_of(.75, .125, .003);
    job.cutter.reference = JOINT_CENTRE;
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_KIND);
    job = job_of(.75, .125, .003);
    job.pieces_b = 0;
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_PIECES);
    job.width_nm = 0;
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_SIZE);
    job.width_nm = INT64_MAX;
    ck_refused(joint_stepped(&job, &shop, &plan), &plan, JOINT_FAULT_SIZE);
}
END_TEST

/* --- Put together --- */

struct span {
    int64_t low_nm;
    int64_t high_nm;
};

static int by_low(const void *left, const void *right)
{
    const struct span *a = left;
    const struct span *b = right;
    return a->low_nm < b->low_nm ? -1 : a->low_nm > b->low_nm;
}

/* What the cuts leave of a part, as spans over its marked edge. `width_nm` is the board's true
 * width, `kerf_nm` what the cutter truly takes up from its lower edge. */
static int solid_of(enum joint_part part, int64_t width_nm, int64_t kerf_nm, struct span *solid)
{
    struct span cut[JOINT_MARKS_MAX];
    int cuts = 0;
    for (int i = 0; i < plan.count; i++) {
        const struct joint_mark *mark = &plan.mark[i];
        if (mark->part != part)
            continue;
        int64_t low_nm = mark->turned ? width_nm - mark->low_nm - kerf_nm : mark->low_nm;
        cut[cuts++] = (struct span){low_nm, low_nm + kerf_nm};
    }
    qsort(cut, (size_t)cuts, sizeof *cut, by_low);
    int count = 0;
    int64_t at_nm = 0;
    for (int i = 0; i < cuts; i++) {
        if (cut[i].low_nm > at_nm)
            solid[count++] = (struct span){at_nm, cut[i].low_nm};
        if (cut[i].high_nm > at_nm)
            at_nm = cut[i].high_nm;
    }
    if (at_nm < width_nm)
        solid[count++] = (struct span){at_nm, width_nm};
    return count;
}

struct joined {
    int64_t least_gap_nm; /* below 0: the parts want the same room */
    int64_t most_gap_nm;
    int64_t thinnest_nm;
    int fingers;
};

/* The fingers of both by turns from the marked edge up, and the gaps between them; edges too. */
static struct joined join(int64_t width_nm, int64_t kerf_nm)
{
    struct span all[2 * JOINT_MARKS_MAX + 2];
    int count = solid_of(JOINT_A, width_nm, kerf_nm, all);
    count += solid_of(JOINT_B, width_nm, kerf_nm, all + count);
    qsort(all, (size_t)count, sizeof *all, by_low);
    struct joined out = {INT64_MAX, INT64_MIN, INT64_MAX, count};
    int64_t at_nm = 0;
    for (int i = 0; i <= count; i++) {
        int64_t next_nm = i < count ? all[i].low_nm : width_nm;
        int64_t gap_nm = next_nm - at_nm;
        bool edge = i == 0 || i == count;
        if (!edge && gap_nm < out.least_gap_nm)
            out.least_gap_nm = gap_nm;
        if (gap_nm > out.most_gap_nm)
            out.most_gap_nm = gap_nm;
        if (i < count) {
            int64_t thick_nm = all[i].high_nm - all[i].low_nm;
            out.thinnest_nm = thick_nm < out.thinnest_nm ? thick_nm : out.thinnest_nm;
            at_nm = all[i].high_nm;
        }
    }
    return out;
}

static struct joint_stepped random_job(struct joint_shop *shop)
{
    struct joint_stepped job = {.thick_a_nm = between(in(.1), in(2)),
                                .thick_b_nm = between(in(.1), in(2)),
                                .proud_nm = between(0, in(.05)),
                                .clearance_nm = between(0, in(.02)),
                                .cutter = slot(.1),
                                .pieces_a = (int)between(1, 20),
                                .pieces_b = (int)between(1, 20)};
    job.cutter.kerf_nm = between(in(.06), in(.5));
    job.cutter.reference = between(0, 1) ? JOINT_TOP : JOINT_LOWER;
    job.width_nm = between(in(.3) + 2 * job.cutter.kerf_nm, in(6));
    /* Any travel from which both halves can be reached. */
    shop->highest_nm = job.width_nm / 2 + job.cutter.kerf_nm + between(in(.2), in(4));
    shop->lowest_nm = -in(1);
    return job;
}

/* Over the whole width there is a finger of A or of B, and between two of them the clearance: half
 * of it on each side of a finger, none at the edges. Nothing is thinner than 1/32 in. */
START_TEST(fingers_and_slots_complement_each_other)
{
    struct joint_shop shop = wide_shop();
    int turned = 0;
    int run_out = 0;
    for (int trial = 0; trial < TRIALS; trial++) {
        struct joint_stepped job = random_job(&shop);
        if (!joint_stepped(&job, &shop, &plan))
            ck_abort_msg("refused: %s", plan.why);
        struct joined joined = join(job.width_nm, job.cutter.kerf_nm);
        int64_t half_nm = job.clearance_nm / 2;
        if (joined.least_gap_nm < half_nm - 1 || joined.most_gap_nm > half_nm + 2 ||
            joined.thinnest_nm < JOINT_SLIVER_NM - half_nm - 2 || joined.fingers < 2)
            ck_abort_msg("width %" PRId64 " kerf %" PRId64 " clearance %" PRId64 ": gaps %" PRId64
                         " to %" PRId64 ", thinnest %" PRId64,
                         job.width_nm, job.cutter.kerf_nm, job.clearance_nm, joined.least_gap_nm,
                         joined.most_gap_nm, joined.thinnest_nm);
        for (int i = 0; i < plan.count; i++) {
            if (plan.mark[i].height_nm <= shop.lowest_nm ||
                plan.mark[i].height_nm >= shop.highest_nm)
                ck_abort_msg("height %" PRId64 " out of travel", plan.mark[i].height_nm);
            turned += plan.mark[i].turned;
            run_out += strstr(plan.mark[i].words, "run-out") != NULL;
        }
    }
    ck_assert_int_gt(turned, 100); /* both were tried */
    ck_assert_int_gt(run_out, 100);
}
END_TEST

/* A kerf wrong by e changes the clearance by 2e: by e at each side of a finger. A plan made again
 * with the slot that was cut brings it back. */
START_TEST(a_wrong_kerf_counts_twice_and_a_new_plan_mends_it)
{
    struct joint_shop shop = wide_shop();
    struct joint_stepped job = job_of(3, .125, .004);
    int64_t error_nm = in(.001);
    int64_t kerf_nm = job.cutter.kerf_nm + error_nm;
    ck_plan(joint_stepped(&job, &shop, &plan), &plan);
    struct joined joined = join(job.width_nm, kerf_nm);
    ck_assert_int_eq(2 * joined.least_gap_nm, job.clearance_nm + 2 * error_nm);
    ck_assert_int_eq(2 * joined.most_gap_nm, job.clearance_nm + 2 * error_nm);
    job.cutter.kerf_nm = kerf_nm;
    ck_plan(joint_stepped(&job, &shop, &plan), &plan);
    joined = join(job.width_nm, kerf_nm);
    ck_assert_int_eq(joined.least_gap_nm, in(.002));
    ck_assert_int_eq(joined.most_gap_nm, in(.002));
}
END_TEST

/* A width measured wrong comes out at the one place where cuts from both edges meet. */
START_TEST(a_wrong_width_comes_out_in_the_middle)
{
    struct joint_shop shop = {LENGTH_STYLE_64, -in(1), in(1.7)};
    struct joint_stepped job = job_of(3, .125, .004);
    ck_plan(joint_stepped(&job, &shop, &plan), &plan);
    int64_t error_nm = in(.001);
    struct joined joined = join(job.width_nm + error_nm, job.cutter.kerf_nm);
    ck_assert_int_le(joined.most_gap_nm, in(.002) + error_nm);
    ck_assert_int_ge(joined.least_gap_nm, in(.002) - error_nm);
}
END_TEST

static Suite *stepped_suite(void)
{
    Suite *suite = suite_create("stepped finger joint");
    TCase *tests = tcase_create("stepped finger joint");
    tcase_add_test(tests, the_worked_example);
    tcase_add_test(tests, a_sliver_is_thinner_than_a_32nd);
    tcase_add_test(tests, what_is_out_of_travel_is_cut_from_the_other_edge);
    tcase_add_test(tests, a_board_that_cannot_be_reached_is_refused);
    tcase_add_test(tests, impossible_fingers_are_refused);
    tcase_add_test(tests, fingers_and_slots_complement_each_other);
    tcase_add_test(tests, a_wrong_kerf_counts_twice_and_a_new_plan_mends_it);
    tcase_add_test(tests, a_wrong_width_comes_out_in_the_middle);
    suite_add_tcase(suite, tests);
    return suite;
}

int main(void)
{
    read_seed();
    return run_suite(stepped_suite());
}
