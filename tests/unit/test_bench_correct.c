/* SPDX-License-Identifier: MIT */
/*
 * Corrections by a test cut. The rules are derived and recomputed; here each kind is cut by a
 * cutter whose error is hidden, measured, corrected once, and cut again.
 */
#include <math.h>
#include <string.h>

#include "clients/bench/correct.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/test_bench_joint.h"

enum { TRIALS = 20000 };

static struct correction work_out(struct correct correct)
{
    struct correction out;
    ck_assert_msg(correct_work_out(&correct, LENGTH_STYLE_64, &out), "%s", out.words);
    return out;
}

/* t .742, the tongue came out .250, wanted .246: raise .002. */
START_TEST(a_thick_tongue_is_raised_by_half)
{
    struct correction out =
        work_out((struct correct){CORRECT_TONGUE, in(.250), in(.246), false, 0});
    ck_assert_int_eq(out.raise_nm, in(.002));
    ck_assert(!out.ask);
    ck_assert_str_eq(out.words, "Raise .002in: the tongue gets thinner.");
    out = work_out((struct correct){CORRECT_TONGUE, in(.246), in(.250), false, 0});
    ck_assert_int_eq(out.raise_nm, -in(.002));
    ck_assert_str_eq(out.words, "Lower .002in: the tongue gets thicker.");
}
END_TEST

/* A .005 gap closes by raising .0100 at 14 degrees, .0178 at 8, .0204 at 7 (recomputed). */
START_TEST(a_loose_dovetail_is_raised)
{
    static const struct {
        int32_t slope_mdeg;
        double raise_in;
    } slopes[] = {{14000, .0100}, {8000, .0178}, {7000, .0204}};
    for (size_t i = 0; i < sizeof slopes / sizeof *slopes; i++) {
        struct correction out =
            work_out((struct correct){CORRECT_DOVETAIL, in(.005), 0, false, slopes[i].slope_mdeg});
        double raise_in = (double)out.raise_nm / NM_PER_IN;
        ck_assert_double_eq_tol(raise_in, slopes[i].raise_in, .00005);
        ck_assert(strstr(out.words, "Raise") && strstr(out.words, "tighter"));
    }
}
END_TEST

/* Each kind's sign and share: what was measured is .010 in more than wanted. */
START_TEST(every_kind_has_its_sign)
{
    static const struct {
        enum correct_kind kind;
        bool one_stays;
        double raise_in;
        const char *words;
    } kinds[] = {
        {CORRECT_DEPTH, false, -.010, "the cut gets shallower"},
        {CORRECT_LEFT, false, .010, "less wood is left"},
        {CORRECT_TONGUE, false, .005, "the tongue gets thinner"},
        {CORRECT_GROOVE, false, .005, "the groove gets narrower"},
        {CORRECT_LOWER_WALL, false, -.010, "the lower wall gets thinner"},
        {CORRECT_LAP, false, .005, "the laps get thinner"},
        {CORRECT_LAP, true, .010, "the laps get thinner"},
        {CORRECT_PROUD_TURNED, false, -.005, "turned over comes down"},
        {CORRECT_PROUD_TURNED, true, -.010, "turned over comes down"},
        {CORRECT_PROUD_AS_CUT, false, .005, "as it was cut comes down"},
        {CORRECT_PROUD_AS_CUT, true, .010, "as it was cut comes down"},
    };
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        bool proud = kinds[i].kind >= CORRECT_DOVETAIL;
        struct correct correct = {kinds[i].kind, in(proud ? .010 : .510), in(proud ? 0 : .5),
                                  kinds[i].one_stays, 0};
        struct correction out = work_out(correct);
        ck_assert_msg(out.raise_nm == in(kinds[i].raise_in), "kind %zu: %s", i, out.words);
        ck_assert_msg(strstr(out.words, kinds[i].words) != NULL, "kind %zu: %s", i, out.words);
        ck_assert(strncmp(out.words, out.raise_nm > 0 ? "Raise" : "Lower", 5) == 0);
    }
}
END_TEST

START_TEST(more_than_a_32nd_is_asked_again)
{
    struct correct correct = {CORRECT_DEPTH, in(.5), in(.5) + CORRECT_ASK_NM, false, 0};
    struct correction out = work_out(correct);
    ck_assert(!out.ask);
    correct.wanted_nm++;
    out = work_out(correct);
    ck_assert(out.ask);
    ck_assert(strstr(out.words, "measure again") != NULL);
    correct.wanted_nm = in(.5) - CORRECT_ASK_NM - 1;
    out = work_out(correct);
    ck_assert(out.ask);
    correct.wanted_nm = in(.5);
    out = work_out(correct);
    ck_assert_int_eq(out.raise_nm, 0);
    ck_assert(strstr(out.words, "nothing to change") != NULL);
}
END_TEST

START_TEST(what_cannot_be_corrected_says_why)
{
    static const struct {
        struct correct correct;
        const char *words;
    } wrong[] = {
        {{CORRECT_FINGER, 10, 20, false, 0}, "make the plan again"},
        {{(enum correct_kind)0, 10, 20, false, 0}, "no such kind"},
        {{(enum correct_kind)99, 10, 20, false, 0}, "no such kind"},
        {{CORRECT_DEPTH, -1, 20, false, 0}, "Measure"},
        {{CORRECT_DEPTH, 10, -1, false, 0}, "Measure"},
        {{CORRECT_DEPTH, LENGTH_NM_MAX + 1, 1, false, 0}, "Measure"},
        {{CORRECT_DOVETAIL, 10, 0, false, 999}, "slope"},
        {{CORRECT_DOVETAIL, 10, 0, false, 45001}, "slope"},
        {{CORRECT_DOVETAIL, INT64_MIN, 0, false, 14000}, "Measure"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        struct correction out;
        ck_assert(!correct_work_out(&wrong[i].correct, LENGTH_STYLE_64, &out));
        ck_assert_int_eq(out.raise_nm, 0);
        ck_assert_msg(strstr(out.words, wrong[i].words) != NULL, "case %zu: %s", i, out.words);
    }
}
END_TEST

START_TEST(kinds_have_names_of_their_own)
{
    for (int i = CORRECT_DEPTH; i <= CORRECT_FINGER; i++)
        for (int j = CORRECT_DEPTH; j < i; j++)
            ck_assert_str_ne(correct_name((enum correct_kind)i),
                             correct_name((enum correct_kind)j));
    ck_assert_ptr_null(correct_name((enum correct_kind)0));
    ck_assert_ptr_null(correct_name((enum correct_kind)(CORRECT_FINGER + 1)));
}
END_TEST

/* --- Simulated cuts --- */

/* A cutter that stands `hidden_nm` higher than said, and a kerf that is wrong as well. */
struct bench {
    int64_t thick_nm;
    int64_t hidden_nm;
    int64_t kerf_nm;
    int64_t other_nm; /* what the part that stays measures, or where its profile's centre is */
    double tangent;
};

/* What comes out at the said height. */
static int64_t cut(enum correct_kind kind, const struct bench *bench, int64_t height_nm,
                   bool one_stays)
{
    int64_t true_nm = height_nm + bench->hidden_nm;
    int64_t centre_nm = bench->thick_nm / 2;
    int64_t other_nm = one_stays ? bench->other_nm : true_nm;
    switch (kind) {
    case CORRECT_DEPTH:
        return true_nm;
    case CORRECT_LEFT:
        return bench->thick_nm - true_nm;
    case CORRECT_TONGUE: /* a rabbet of true_nm on each face */
        return bench->thick_nm - 2 * true_nm;
    case CORRECT_GROOVE: /* from true_nm up, then from the other face */
        return (bench->thick_nm - true_nm) - true_nm;
    case CORRECT_LOWER_WALL: /* said of the top edge */
        return true_nm - bench->kerf_nm;
    case CORRECT_LAP: /* of both parts what is left, one on the other */
        return (bench->thick_nm - true_nm) + (bench->thick_nm - other_nm);
    case CORRECT_DOVETAIL: /* the gap: deeper is tighter, by twice the tangent */
        return (int64_t)llround(2 * bench->tangent * (double)(bench->other_nm - true_nm));
    /* The profiles meet where each part's centre line is: one part counts it from the table up,
     * the turned one from its upper face down. Where the profile is e too high, the as-cut piece
     * comes to lie 2e lower against the turned one, shared by both; the turned piece is proud by
     * what it lies higher. Where only one is cut again its own share moves. */
    case CORRECT_PROUD_TURNED:
        return (true_nm - centre_nm) + (other_nm - centre_nm);
    case CORRECT_PROUD_AS_CUT:
        return -(true_nm - centre_nm) - (other_nm - centre_nm);
    default:
        ck_abort_msg("no such cut");
    }
}

/* One correction brings it to what was wanted, but for the rounding of half a nanometre to twice
 * that. */
START_TEST(one_correction_ends_it_for_every_kind)
{
    for (int trial = 0; trial < TRIALS; trial++) {
        enum correct_kind kind = (enum correct_kind)between(CORRECT_DEPTH, CORRECT_PROUD_AS_CUT);
        int32_t slope_mdeg = (int32_t)between(5000, 20000);
        bool two = kind == CORRECT_LAP || kind >= CORRECT_PROUD_TURNED;
        struct bench bench = {.thick_nm = between(in(.4), in(2)),
                              .hidden_nm = between(-in(.04), in(.04)),
                              .kerf_nm = between(in(.05), in(.15)),
                              .tangent = tan(slope_mdeg * M_PI / 180000)};
        struct correct correct = {
            .kind = kind, .one_stays = two && between(0, 1), .slope_mdeg = slope_mdeg};
        int64_t height_nm = bench.thick_nm / 4 + between(0, in(.01));
        if (kind >= CORRECT_PROUD_TURNED || kind == CORRECT_LAP)
            height_nm = bench.thick_nm / 2;
        bench.other_nm = height_nm + bench.hidden_nm + (kind == CORRECT_DOVETAIL ? in(.03) : 0);
        int64_t first = cut(kind, &bench, height_nm, false);
        correct.measured_nm = kind >= CORRECT_DOVETAIL || first > 0 ? first : 0;
        if (correct.measured_nm != first)
            continue; /* nothing was left to measure */
        correct.wanted_nm = kind == CORRECT_LAP        ? bench.thick_nm
                            : kind >= CORRECT_DOVETAIL ? 0
                                                       : first + between(-first / 4, in(.03));
        struct correction out = work_out(correct);
        int64_t second = cut(kind, &bench, height_nm + out.raise_nm, correct.one_stays);
        if (llabs(second - correct.wanted_nm) > 1)
            ck_abort_msg("%s: wanted %" PRId64 ", came out %" PRId64 ", then %" PRId64,
                         correct_name(kind), correct.wanted_nm, first, second);
    }
}
END_TEST

static Suite *correct_suite(void)
{
    Suite *suite = suite_create("correct");
    TCase *tests = tcase_create("correct");
    tcase_add_test(tests, a_thick_tongue_is_raised_by_half);
    tcase_add_test(tests, a_loose_dovetail_is_raised);
    tcase_add_test(tests, every_kind_has_its_sign);
    tcase_add_test(tests, more_than_a_32nd_is_asked_again);
    tcase_add_test(tests, what_cannot_be_corrected_says_why);
    tcase_add_test(tests, kinds_have_names_of_their_own);
    tcase_add_test(tests, one_correction_ends_it_for_every_kind);
    suite_add_tcase(suite, tests);
    return suite;
}

int main(void)
{
    read_seed();
    return run_suite(correct_suite());
}
