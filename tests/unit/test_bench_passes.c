/* SPDX-License-Identifier: MIT */
/*
 * Deep cuts in passes. The worked plans are recomputed by exact arithmetic; how deep a pass may be
 * is common practice, no source.
 */
#include "clients/bench/passes.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/test_bench_joint.h"

enum { TRIALS = 20000 };

static struct joint_plan plan;

static int heights(double total, double from, double most, double last, int64_t *height_nm)
{
    struct passes passes = {in(total), in(from), in(most), in(last)};
    int count = -1;
    ck_assert_int_eq(passes_heights(&passes, height_nm, &count), JOINT_POSSIBLE);
    return count;
}

/* 3/4, 1/4, 1/32 in: 23/96, 23/48, 23/32, 3/4. 23/96 in is 6 085 416.67 nm. */
START_TEST(equal_passes_and_a_light_last_one)
{
    int64_t height_nm[JOINT_MARKS_MAX];
    ck_assert_int_eq(heights(.75, 0, .25, 1.0 / 32, height_nm), 4);
    ck_assert_int_eq(height_nm[0], 6085417);
    ck_assert_int_eq(height_nm[1], 12170833);
    ck_assert_int_eq(height_nm[2], in(23.0 / 32));
    ck_assert_int_eq(height_nm[3], in(.75));
}
END_TEST

START_TEST(the_ends_of_the_rule)
{
    int64_t height_nm[JOINT_MARKS_MAX];
    ck_assert_int_eq(heights(1.0 / 32, 0, .25, 1.0 / 32, height_nm), 1); /* H = f: one pass */
    ck_assert_int_eq(height_nm[0], in(1.0 / 32));
    ck_assert_int_eq(heights(1.0 / 64, 0, .25, 1.0 / 32, height_nm), 1); /* H < f */
    ck_assert_int_eq(height_nm[0], in(1.0 / 64));
    ck_assert_int_eq(heights(.75, 0, .25, 0, height_nm), 3); /* f = 0: H is not repeated */
    ck_assert_int_eq(height_nm[2], in(.75));
    ck_assert_int_eq(heights(.25, 0, .25, .25, height_nm), 1);
    ck_assert_int_eq(heights(.5, 0, .25, .25, height_nm), 2); /* f = p */
    ck_assert_int_eq(heights(.75, 0, 0, 0, height_nm), 1);    /* in one */
    ck_assert_int_eq(heights(.75, .5, .25, 1.0 / 32, height_nm),
                     2); /* from a depth that is there */
    ck_assert_int_eq(height_nm[0], in(23.0 / 32));
    ck_assert_int_eq(heights(.75, .74, .25, 1.0 / 32, height_nm), 1);
}
END_TEST

START_TEST(what_is_no_plan_is_refused)
{
    static const struct {
        struct passes passes;
        enum joint_fault fault;
    } wrong[] = {
        {{10, 0, 4, 5}, JOINT_FAULT_LAST}, /* f > p */
        {{10, 10, 4, 1}, JOINT_FAULT_DONE},
        {{10, 11, 4, 1}, JOINT_FAULT_DONE},
        {{0, 0, 4, 1}, JOINT_FAULT_SIZE},
        {{-10, 0, 4, 1}, JOINT_FAULT_SIZE},
        {{10, -1, 4, 1}, JOINT_FAULT_SIZE},
        {{10, 0, -4, 1}, JOINT_FAULT_SIZE},
        {{10, 0, 4, -1}, JOINT_FAULT_SIZE},
        {{LENGTH_NM_MAX + 1, 0, 4, 1}, JOINT_FAULT_SIZE},
        {{201, 0, 1, 0}, JOINT_FAULT_MARKS},
        {{201, 0, 1, 1}, JOINT_FAULT_MARKS},
        {{LENGTH_NM_MAX, 0, 1, 1}, JOINT_FAULT_MARKS},
    };
    int64_t height_nm[JOINT_MARKS_MAX];
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        int count = -1;
        ck_assert_msg(passes_heights(&wrong[i].passes, height_nm, &count) == wrong[i].fault,
                      "case %zu", i);
        ck_assert_int_eq(count, 0);
    }
    int count;
    struct passes most = {200, 0, 1, 0};
    ck_assert_int_eq(passes_heights(&most, height_nm, &count), JOINT_POSSIBLE);
    ck_assert_int_eq(count, 200);
}
END_TEST

/* Is each pass above 0 and at most most_nm, and do they end at the total? */
static bool are_passes(const struct passes *passes, const int64_t *height_nm, int count)
{
    int64_t before = passes->from_nm;
    for (int i = 0; i < count; i++) {
        int64_t pass = height_nm[i] - before;
        if (pass <= 0 || pass > passes->most_nm) {
            return false;
        }
        before = height_nm[i];
    }
    return before == passes->total_nm;
}

/* The most by which a pass is deeper than another of the first `rough`. */
static int64_t unevenness(const struct passes *passes, const int64_t *height_nm, int rough)
{
    int64_t least = INT64_MAX;
    int64_t deepest = 0;
    int64_t before = passes->from_nm;
    for (int i = 0; i < rough; i++) {
        int64_t pass = height_nm[i] - before;
        least = pass < least ? pass : least;
        deepest = pass > deepest ? pass : deepest;
        before = height_nm[i];
    }
    return deepest - least;
}

static struct passes random_passes(int64_t most, int64_t last_most)
{
    struct passes passes = {.from_nm = between(0, 3) ? 0 : between(0, 1000000),
                            .most_nm = most,
                            .last_nm = between(0, last_most)};
    passes.total_nm = passes.from_nm + between(1, 150 * most);
    return passes;
}

/* The last pass comes to the total to the nanometre, none is deeper than asked, none is idle, the
 * rough ones are equal within the rounding, and there is no plan with fewer. */
START_TEST(no_pass_is_deeper_than_asked_and_their_sum_is_exact)
{
    int64_t height_nm[JOINT_MARKS_MAX];
    for (int trial = 0; trial < TRIALS; trial++) {
        int64_t most = between(1, INT64_C(1) << between(1, 24));
        struct passes passes = random_passes(most, most);
        int count = 0;
        bool made = passes_heights(&passes, height_nm, &count) == JOINT_POSSIBLE;
        int rough = passes.last_nm > 0 && count > 1 ? count - 1 : count;
        int64_t rough_nm = passes.total_nm - passes.from_nm - passes.last_nm;
        bool light = count == 1 || passes.last_nm == 0 ||
                     height_nm[count - 1] - height_nm[count - 2] == passes.last_nm;
        bool fewest = count == 1 || (rough - 1) * most < rough_nm;
        if (!made || !are_passes(&passes, height_nm, count) || !light || !fewest ||
            unevenness(&passes, height_nm, rough) > 1)
            ck_abort_msg("total %" PRId64 " from %" PRId64 " most %" PRId64 " last %" PRId64,
                         passes.total_nm, passes.from_nm, passes.most_nm, passes.last_nm);
    }
}
END_TEST

/* A raised panel: 5/8 - 1/4 comes to 1/8, 1/4, 11/32, 3/8 in. */
START_TEST(a_profile_that_widens_is_cut_lighter_and_lighter)
{
    int64_t height_nm[JOINT_MARKS_MAX];
    struct passes passes = {in(.375), 0, in(.125), in(1.0 / 32)};
    int count;
    ck_assert_int_eq(passes_lighter(&passes, height_nm, &count), JOINT_POSSIBLE);
    ck_assert_int_eq(count, 4);
    ck_assert_int_eq(height_nm[0], in(.125));
    ck_assert_int_eq(height_nm[1], in(.25));
    ck_assert_int_eq(height_nm[2], in(11.0 / 32));
    ck_assert_int_eq(height_nm[3], in(.375));
    passes.last_nm = in(.0626);
    ck_assert_int_eq(passes_lighter(&passes, height_nm, &count), JOINT_FAULT_LAST);
    passes = (struct passes){201, 0, 1, 0};
    ck_assert_int_eq(passes_lighter(&passes, height_nm, &count), JOINT_FAULT_MARKS);
    ck_assert_int_eq(count, 0);
}
END_TEST

static bool get_lighter(const struct passes *passes, const int64_t *height_nm, int count)
{
    int64_t before = passes->from_nm;
    int64_t pass_before = passes->most_nm;
    for (int i = 0; i < count; i++) {
        int64_t pass = height_nm[i] - before;
        if (pass > pass_before + 1) { /* a nanometre of rounding */
            return false;
        }
        pass_before = pass;
        before = height_nm[i];
    }
    return true;
}

START_TEST(lighter_passes_never_get_deeper)
{
    int64_t height_nm[JOINT_MARKS_MAX];
    for (int trial = 0; trial < TRIALS; trial++) {
        int64_t most = between(2, INT64_C(1) << between(1, 24));
        struct passes passes = random_passes(most, most / 2);
        int count = 0;
        bool made = passes_lighter(&passes, height_nm, &count) == JOINT_POSSIBLE;
        if (!made || !are_passes(&passes, height_nm, count) ||
            !get_lighter(&passes, height_nm, count))
            ck_abort_msg("total %" PRId64 " from %" PRId64 " most %" PRId64 " last %" PRId64,
                         passes.total_nm, passes.from_nm, passes.most_nm, passes.last_nm);
    }
}
END_TEST

/* Half the diameter, and 1/8 in with a 1/4-in shank, 1/4 in with a 1/2-in one (common practice, no
 * source). */
START_TEST(the_most_that_a_pass_takes)
{
    ck_assert_int_eq(passes_most_nm(in(.25), in(.25)), in(.125));
    ck_assert_int_eq(passes_most_nm(in(.75), in(.25)), in(.125));
    ck_assert_int_eq(passes_most_nm(in(.125), in(.25)), in(.0625));
    ck_assert_int_eq(passes_most_nm(in(.75), in(.5)), in(.25));
    ck_assert_int_eq(passes_most_nm(in(.375), in(.5)), in(.1875));
    ck_assert_int_eq(passes_most_nm(in(.75), 12000000), in(.25));
    ck_assert_int_eq(passes_most_nm(in(.75), 8000000), in(.125));
    ck_assert_int_eq(passes_most_nm(in(.75), 0), in(.125));
}
END_TEST

/* --- As a plan --- */

START_TEST(a_plan_of_passes_takes_its_most_from_the_bit)
{
    struct joint_shop shop = wide_shop();
    struct joint_passes job = {.cutter = straight(.5), .passes = {in(.75), 0, 0, 0}, .pieces = 3};
    ck_plan(joint_passes(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 6);
    job.cutter.shank_nm = in(.5);
    ck_plan(joint_passes(&job, &shop, &plan), &plan);
    ck_assert_int_eq(plan.count, 3);
    ck_assert_int_eq(plan.mark[0].height_nm, in(.25));
    ck_assert_int_eq(plan.mark[2].height_nm, in(.75));
    ck_assert_int_eq(plan.mark[2].pieces, 3);
    ck_assert_str_eq(plan.mark[1].words, "Pass 2 of 3.");
}
END_TEST

/* Kinds that can't be stepped by height are refused, and told what else would do. */
START_TEST(what_cannot_be_stepped_is_offered_another_way)
{
    struct joint_shop shop = wide_shop();
    static const struct {
        enum joint_kind kind;
        const char *offer; /* NULL: it can be stepped */
    } kinds[] = {
        {JOINT_STRAIGHT, NULL},
        {JOINT_EDGE, NULL},
        {JOINT_RAISER, NULL},
        {JOINT_SLOT, "wide groove"},
        {JOINT_DOVETAIL, "Waste most"},
        {JOINT_T_SLOT, "Waste most"},
        {JOINT_KEYHOLE, "Plunge"},
        {JOINT_LOCK_MITRE, "by the fence"},
        {JOINT_GLUE, "by the fence"},
        {JOINT_STILE_RAIL, "by the fence"},
        {JOINT_RAISER_BACK, "by the fence"},
        {JOINT_RAISER_VERTICAL, "by the fence"},
    };
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        struct joint_passes job = {
            .cutter = straight(1), .passes = {in(.375), 0, in(.125), in(1.0 / 32)}, .pieces = 1};
        job.cutter.kind = kinds[i].kind;
        bool made = joint_passes(&job, &shop, &plan);
        if (kinds[i].offer == NULL) {
            ck_plan(made, &plan);
            continue;
        }
        ck_refused(made, &plan, JOINT_FAULT_KIND);
        ck_assert_msg(strstr(plan.why, kinds[i].offer) != NULL, "%s", plan.why);
    }
}
END_TEST

START_TEST(a_plan_of_passes_says_why_it_is_refused)
{
    struct joint_shop shop = wide_shop();
    struct joint_passes fine = {
        .cutter = straight(.5), .passes = {in(.75), 0, in(.25), in(1.0 / 32)}, .pieces = 1};
    struct joint_passes job = fine;
    job.passes.last_nm = in(.3);
    ck_refused(joint_passes(&job, &shop, &plan), &plan, JOINT_FAULT_LAST);
    job = fine;
    job.passes.from_nm = in(.75);
    ck_refused(joint_passes(&job, &shop, &plan), &plan, JOINT_FAULT_DONE);
    job = fine;
    job.passes.total_nm = -1;
    ck_refused(joint_passes(&job, &shop, &plan), &plan, JOINT_FAULT_SIZE);
    job = fine;
    job.passes.most_nm = job.passes.last_nm = in(.001);
    ck_refused(joint_passes(&job, &shop, &plan), &plan, JOINT_FAULT_MARKS);
    job = fine;
    job.cutter.length_nm = in(.5);
    ck_refused(joint_passes(&job, &shop, &plan), &plan, JOINT_FAULT_REACH);
    job = fine;
    job.pieces = 0;
    ck_refused(joint_passes(&job, &shop, &plan), &plan, JOINT_FAULT_PIECES);
    job = fine;
    job.cutter.width_nm = 0;
    ck_refused(joint_passes(&job, &shop, &plan), &plan, JOINT_FAULT_SIZE);
    shop.highest_nm = in(.75); /* strictly inside */
    ck_refused(joint_passes(&fine, &shop, &plan), &plan, JOINT_FAULT_TRAVEL);
    shop.highest_nm = shop.lowest_nm;
    ck_refused(joint_passes(&fine, &shop, &plan), &plan, JOINT_FAULT_TRAVEL);
}
END_TEST

static Suite *passes_suite(void)
{
    Suite *suite = suite_create("passes");
    TCase *tests = tcase_create("passes");
    tcase_add_test(tests, equal_passes_and_a_light_last_one);
    tcase_add_test(tests, the_ends_of_the_rule);
    tcase_add_test(tests, what_is_no_plan_is_refused);
    tcase_add_test(tests, no_pass_is_deeper_than_asked_and_their_sum_is_exact);
    tcase_add_test(tests, a_profile_that_widens_is_cut_lighter_and_lighter);
    tcase_add_test(tests, lighter_passes_never_get_deeper);
    tcase_add_test(tests, the_most_that_a_pass_takes);
    tcase_add_test(tests, a_plan_of_passes_takes_its_most_from_the_bit);
    tcase_add_test(tests, what_cannot_be_stepped_is_offered_another_way);
    tcase_add_test(tests, a_plan_of_passes_says_why_it_is_refused);
    suite_add_tcase(suite, tests);
    return suite;
}

int main(void)
{
    read_seed();
    return run_suite(passes_suite());
}
