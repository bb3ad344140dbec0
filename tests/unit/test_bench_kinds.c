/* SPDX-License-Identifier: MIT */
/*
 * What holds for every kind of joint over random sizes: heights strictly inside the travel, passes
 * no deeper than asked and their sum exact, and one correction by a test cut that brings what a
 * cutter with a hidden error has made to what was wanted. The cuts are simulated from what each
 * mark takes, not by the formulas.
 */
#include <stdlib.h>

#include "clients/bench/correct.h"
#include "tests/suite.h"
#include "tests/unit/joint_random.h"

enum { TRIALS = 400, LEAST_MADE = TRIALS / 8 };

static struct joint_plan plan;

/* --- Heights --- */

/* Whatever the sizes and the travel are: refused, with nothing to cut from, or strictly within. */
START_TEST(heights_are_strictly_inside_the_travel)
{
    ck_assert_ptr_null(joint_kinds[KINDS].word);
    for (int kind = 0; kind < KINDS; kind++) {
        int made = 0;
        int out = 0;
        for (int trial = 0; trial < TRIALS; trial++) {
            (void)say_kind(kind);
            read_job();
            struct joint_shop shop = {LENGTH_STYLE_64, between(-in(.5), in(.3)), 0};
            shop.highest_nm = shop.lowest_nm + between(1, in(2.5));
            bool good = joint_job_plan(&job, &shop, &plan);
            if (good) {
                ck_plan(good, &plan); /* strictly within */
            } else {
                ck_refused(good, &plan, plan.fault);
            }
            made += good;
            out += plan.fault == JOINT_FAULT_TRAVEL || plan.fault == JOINT_FAULT_BOARD;
        }
        ck_assert_msg(made >= LEAST_MADE, "%s: %d made", joint_kinds[kind].word, made);
        ck_assert_msg(out >= TRIALS / 20, "%s: %d out of travel", joint_kinds[kind].word, out);
    }
}
END_TEST

/* --- Passes --- */

/* The deepest pass that was asked for; 0: this kind goes to its depth in one, or by steps of a
 * kerf. */
static int64_t most_of(void)
{
    const struct joint_field *field = job.kind->field;
    for (int i = 0; field[i].word; i++) {
        if (field[i].type == JOINT_FIELD_MOST)
            return *(const int64_t *)(const void *)((const char *)&job.in + field[i].offset);
    }
    return 0;
}

/* A cut in passes ends at its depth to the nanometre, which is the one height that a plan in one
 * pass has. */
static void expect_passes(int64_t most_nm)
{
    static struct joint_plan whole;
    struct joint_shop shop = wide_shop();
    int64_t at_nm = job.kind->joint == JOINT_IS_UPRIGHT ? job.in.upright.base_nm : 0;
    int64_t base_nm = at_nm;
    for (int i = 0; i < plan.count; i++) {
        const struct joint_mark *mark = &plan.mark[i];
        const struct joint_cutter *cutter = joint_job_cutter(&job, mark->bit);
        if (cutter->kind != JOINT_STRAIGHT && cutter->kind != JOINT_RAISER)
            continue;
        bool anew = mark->fence[0] != '\0' || (i > 0 && mark[-1].part != mark->part) ||
                    mark->height_nm < at_nm;
        at_nm = anew ? base_nm : at_nm;
        ck_assert_msg(mark->height_nm > at_nm && mark->height_nm - at_nm <= most_nm,
                      "%s: mark %d is %" PRId64 " deep", line, i + 1, mark->height_nm - at_nm);
        at_nm = mark->height_nm;
    }
    struct joint_job once = job;
    for (int i = 0; job.kind->field[i].word; i++) {
        if (job.kind->field[i].type == JOINT_FIELD_MOST)
            *(int64_t *)(void *)((char *)&once.in + job.kind->field[i].offset) = in(40);
    }
    if (joint_job_plan(&once, &shop, &whole))
        ck_assert_int_eq(plan.mark[plan.count - 1].height_nm,
                         whole.mark[whole.count - 1].height_nm);
}

START_TEST(no_pass_of_any_kind_is_deeper_than_asked)
{
    struct joint_shop shop = wide_shop();
    for (int kind = 0; kind < KINDS; kind++) {
        int made = 0;
        for (int trial = 0; trial < TRIALS; trial++) {
            (void)say_kind(kind);
            read_job();
            if (joint_job_plan(&job, &shop, &plan)) {
                made++;
                if (most_of() > 0)
                    expect_passes(most_of());
            }
        }
        ck_assert_msg(made >= LEAST_MADE, "%s: %d made", joint_kinds[kind].word, made);
    }
}
END_TEST

/* --- Test cuts --- */

/* What stands between the lift and the wood: the bit stands so much higher than it was touched off,
 * and a slot cutter's kerf is thicker by so much. */
struct hidden {
    int64_t high_nm;
    int64_t kerf_nm;
};

/* What all marks of a part take together, over the table. */
struct taken {
    int64_t low_nm;
    int64_t high_nm;
};

static struct taken cut_part(enum joint_part part, enum joint_bit bit, int64_t thick_nm,
                             const struct hidden *hidden, int64_t raise_nm)
{
    struct taken all = {INT64_MAX, INT64_MIN};
    for (int i = 0; i < plan.count; i++) {
        const struct joint_mark *mark = &plan.mark[i];
        if ((mark->part != part && mark->part != JOINT_EACH) || mark->bit != bit)
            continue;
        bool slot = joint_job_cutter(&job, mark->bit)->kind == JOINT_SLOT;
        int64_t low = mark->low_nm + hidden->high_nm + raise_nm - (slot ? hidden->kerf_nm : 0);
        int64_t high = mark->high_nm + hidden->high_nm + raise_nm;
        for (int face = 0; face <= mark->flip; face++) {
            int64_t from = face ? thick_nm - high : low;
            int64_t to = face ? thick_nm - low : high;
            all.low_nm = from < all.low_nm ? from : all.low_nm;
            all.high_nm = to > all.high_nm ? to : all.high_nm;
        }
    }
    ck_assert_int_lt(all.low_nm, all.high_nm);
    return all;
}

/* As deep as the deepest of its marks goes from one face. */
static int64_t depth_of(enum joint_part part, enum joint_bit bit, const struct hidden *hidden,
                        int64_t raise_nm)
{
    int64_t depth = INT64_MIN;
    for (int i = 0; i < plan.count; i++) {
        const struct joint_mark *mark = &plan.mark[i];
        int64_t high = mark->high_nm + hidden->high_nm + raise_nm;
        if ((mark->part == part || mark->part == JOINT_EACH) && mark->bit == bit && high > depth)
            depth = high;
    }
    return depth;
}

/* The gap between socket and tail: the mouth, less what two tips leave of the spacing. */
static int64_t dovetail_gap(const struct hidden *hidden, int64_t raise_nm)
{
    const struct joint_dovetail *in = &job.in.dovetail;
    double depth = (double)depth_of(JOINT_EACH, JOINT_BIT, hidden, raise_nm);
    double mouth =
        (double)in->cutter.width_nm - 2 * depth * tan(in->cutter.slope_mdeg * M_PI / 180000);
    return (int64_t)llround(mouth) - (in->spacing_nm - in->cutter.width_nm);
}

/* Two pieces, profile in profile: each one's upper face over the centre that they share. The one
 * that is turned over has its lower face there. */
static int64_t turned_proud(const struct hidden *hidden, int64_t raise_nm)
{
    const struct joint_centred *in = &job.in.centred;
    int64_t centre = plan.mark[0].height_nm - in->above_centre_nm + hidden->high_nm + raise_nm;
    int64_t as_cut = in->thick_nm - centre;
    int64_t turned = centre;
    return turned - as_cut;
}

/* One cut of a kind: what it is to come to, what comes out, and the rule that mends it. */
struct test_cut {
    enum correct_kind kind;
    int64_t wanted_nm;
    int64_t measured_nm;
};

static struct test_cut of_tongue(const struct hidden *hidden, int64_t raise_nm, bool groove)
{
    const struct joint_tongue *in = &job.in.tongue;
    enum joint_bit bit = in->same_cutter ? JOINT_BIT : JOINT_SECOND_BIT;
    if (groove) {
        struct taken taken = cut_part(JOINT_A, JOINT_BIT, in->thick_nm, hidden, raise_nm);
        return (struct test_cut){CORRECT_GROOVE, in->groove_nm, taken.high_nm - taken.low_nm};
    }
    return (struct test_cut){CORRECT_TONGUE, in->groove_nm - in->clearance_nm,
                             in->thick_nm - 2 * depth_of(JOINT_B, bit, hidden, raise_nm)};
}

/* Cuts whose depth is not all that counts. `groove` chooses the part of tongue and groove. */
static struct test_cut of_faces(const struct hidden *hidden, int64_t raise_nm, bool groove)
{
    const union joint_input *in = &job.in;
    int64_t depth_nm = depth_of(JOINT_EACH, JOINT_BIT, hidden, raise_nm);
    switch (job.kind->joint) {
    case JOINT_IS_TONGUE:
        return of_tongue(hidden, raise_nm, groove);
    case JOINT_IS_GROOVE:
        return (struct test_cut){CORRECT_LOWER_WALL, in->groove.edge_nm,
                                 cut_part(JOINT_EACH, JOINT_BIT, 0, hidden, raise_nm).low_nm};
    case JOINT_IS_DRAWER:
        return (struct test_cut){CORRECT_LOWER_WALL, in->drawer.edge_nm,
                                 cut_part(JOINT_EACH, JOINT_BIT, 0, hidden, raise_nm).low_nm};
    case JOINT_IS_TENON:
        return (struct test_cut){CORRECT_TONGUE, in->tenon.mortise_nm - in->tenon.clearance_nm,
                                 in->tenon.thick_nm - 2 * depth_nm};
    case JOINT_IS_LAP: /* one on the other */
        return (struct test_cut){CORRECT_LAP, in->lap.thick_nm, 2 * (in->lap.thick_nm - depth_nm)};
    case JOINT_IS_HALF_BLIND:
        return (struct test_cut){CORRECT_DOVETAIL, in->dovetail.clearance_nm,
                                 dovetail_gap(hidden, raise_nm)};
    case JOINT_IS_CENTRED:
        return (struct test_cut){CORRECT_PROUD_TURNED, 0, turned_proud(hidden, raise_nm)};
    default: /* a panel: the edge that is left */
        return (struct test_cut){CORRECT_LEFT, in->panel.groove_nm - in->panel.clearance_nm,
                                 in->panel.panel_nm - depth_nm};
    }
}

static struct test_cut of_depth(const struct hidden *hidden, int64_t raise_nm)
{
    const union joint_input *in = &job.in;
    struct test_cut cut = {CORRECT_DEPTH, 0, depth_of(JOINT_A, JOINT_BIT, hidden, raise_nm)};
    switch (job.kind->joint) {
    case JOINT_IS_UPRIGHT: /* as deep as the other part is thick, and what is sanded off */
        cut.wanted_nm = in->upright.thick_b_nm + in->upright.proud_nm + in->upright.base_nm;
        break;
    case JOINT_IS_DRAWER:
        cut.wanted_nm = in->drawer.into_nm;
        break;
    case JOINT_IS_MORTISE:
        cut.wanted_nm = in->mortise.tenon_nm + in->mortise.room_nm;
        break;
    case JOINT_IS_RABBET:
        cut.wanted_nm = in->rabbet.part_nm - in->rabbet.tongue_nm;
        break;
    case JOINT_IS_DADO:
        cut.wanted_nm = in->dado.depth_nm;
        break;
    default:
        ck_assert_int_eq(job.kind->joint, JOINT_IS_SLIDING);
        cut.wanted_nm = in->sliding.depth_nm;
        break;
    }
    return cut;
}

static struct test_cut test_cut(const struct hidden *hidden, int64_t raise_nm, bool groove)
{
    switch (job.kind->joint) {
    case JOINT_IS_UPRIGHT:
    case JOINT_IS_MORTISE:
    case JOINT_IS_RABBET:
    case JOINT_IS_DADO:
    case JOINT_IS_SLIDING:
        return of_depth(hidden, raise_nm);
    case JOINT_IS_DRAWER:
        return job.in.drawer.cutter.kind == JOINT_SLOT ? of_faces(hidden, raise_nm, groove)
                                                       : of_depth(hidden, raise_nm);
    default:
        return of_faces(hidden, raise_nm, groove);
    }
}

/* Half a nanometre of each rounding, counted twice where both faces are cut. */
static void expect_wanted(const char *when, const struct test_cut *cut)
{
    ck_assert_msg(llabs(cut->measured_nm - cut->wanted_nm) <= 2,
                  "%s, %s: %" PRId64 ", wanted %" PRId64, line, when, cut->measured_nm,
                  cut->wanted_nm);
}

/* The lift is sent to the top edge, which is where the cut ends. */
static void expect_cuts_at_heights(void)
{
    for (int i = 0; i < plan.count && job.kind->joint != JOINT_IS_CENTRED; i++)
        ck_assert_msg(plan.mark[i].height_nm == plan.mark[i].high_nm, "%s: mark %d", line, i + 1);
}

static void expect_one_step(void)
{
    const struct hidden none_hidden = {0, 0};
    const struct hidden hidden = {between(-300000, 300000), between(-100000, 100000)};
    bool groove = below(2) == 0;
    struct correction out;
    expect_cuts_at_heights();
    struct test_cut cut = test_cut(&none_hidden, 0, groove);
    expect_wanted("without error", &cut);
    cut = test_cut(&hidden, 0, groove);
    struct correct how = {.kind = cut.kind,
                          .measured_nm = cut.measured_nm,
                          .wanted_nm = cut.wanted_nm,
                          .slope_mdeg = job.kind->joint == JOINT_IS_HALF_BLIND
                                            ? job.in.dovetail.cutter.slope_mdeg
                                            : 0};
    ck_assert_msg(correct_work_out(&how, LENGTH_STYLE_64, &out), "%s: %s", line, out.words);
    cut = test_cut(&hidden, out.raise_nm, groove);
    expect_wanted("corrected", &cut);
}

/* What stands between a finger of one part and the walls of its slot in the other, by the true
 * kerf. */
static int64_t finger_gap(int64_t kerf_nm)
{
    int64_t finger_nm = plan.mark[1].low_nm - (plan.mark[0].low_nm + kerf_nm);
    return kerf_nm - finger_nm;
}

/* Fingers are never mended by the height: the plan is made again by the slot that was cut. */
static void expect_new_plan(const struct joint_shop *shop)
{
    struct correction out;
    struct joint_stepped *in = &job.in.stepped;
    int64_t true_nm = in->cutter.kerf_nm + between(-100000, 100000);
    const struct correct how = {
        .kind = CORRECT_FINGER, .measured_nm = true_nm, .wanted_nm = in->cutter.kerf_nm};
    ck_assert(!correct_work_out(&how, LENGTH_STYLE_64, &out));
    ck_assert_int_eq(finger_gap(true_nm) - in->clearance_nm, 2 * (true_nm - in->cutter.kerf_nm));
    in->cutter.kerf_nm = true_nm;
    bool again = joint_job_plan(&job, shop, &plan);
    ck_plan(again, &plan);
    ck_assert_int_eq(finger_gap(true_nm), in->clearance_nm);
}

START_TEST(one_test_cut_mends_every_kind)
{
    struct joint_shop shop = wide_shop();
    for (int kind = 0; kind < KINDS; kind++) {
        int made = 0;
        for (int trial = 0; trial < TRIALS; trial++) {
            const struct joint_kind_words *words = say_kind(kind);
            read_job();
            if (!joint_job_plan(&job, &shop, &plan))
                continue;
            made++;
            if (words->joint == JOINT_IS_STEPPED)
                expect_new_plan(&shop);
            else
                expect_one_step();
        }
        ck_assert_msg(made >= LEAST_MADE, "%s: %d made", joint_kinds[kind].word, made);
    }
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("every kind of joint");
    TCase *cases = tcase_create("every kind of joint");
    tcase_add_test(cases, heights_are_strictly_inside_the_travel);
    tcase_add_test(cases, no_pass_of_any_kind_is_deeper_than_asked);
    tcase_add_test(cases, one_test_cut_mends_every_kind);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
