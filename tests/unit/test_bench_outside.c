/* SPDX-License-Identifier: MIT */
/*
 * Rim speeds, passes and test cuts against a reckoner that shares no code with ours: the GNU units
 * program, which knows the inch (25.4 mm exactly: NIST SP 811, appendix B), pi and the tangent. The
 * rules themselves are what the trade goes by (common practice, no source): v = pi D n; (H - f)/p
 * equal passes, rounded up, to H - f, then H; and the shares of clients/bench/correct.h, which its
 * own test derives by simulated cuts. EN 847-1 asks for a highest speed to be marked on a cutter.
 */
#include <check.h>
#include <inttypes.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include "clients/bench/correct.h"
#include "clients/bench/passes.h"
#include "daemon/shop/shop.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum { CASES_MAX = 2000, TEXT = 160 };

static struct {
    char theirs[TEXT]; /* in GNU units' spelling */
    const char *unit;
    double ours;
    double tolerance;
} cases[CASES_MAX];
static size_t count;

__attribute__((format(printf, 4, 5))) static void add(double ours, double tolerance,
                                                      const char *unit, const char *format, ...)
{
    va_list arguments;
    ck_assert_uint_lt(count, CASES_MAX);
    va_start(arguments, format);
    vsnprintf(cases[count].theirs, TEXT, format, arguments);
    va_end(arguments);
    cases[count].unit = unit;
    cases[count].ours = ours;
    cases[count++].tolerance = tolerance;
}

static FILE *ask_units(void)
{
    char *command = NULL;
    size_t size = 0;
    FILE *text = open_memstream(&command, &size);
    ck_assert_ptr_nonnull(text);
    (void)fputs("LC_ALL=C units -q -t -o %.17g <<'END'\n", text);
    for (size_t i = 0; i < count; i++) {
        (void)fprintf(text, "%s\n%s\n", cases[i].theirs, cases[i].unit);
    }
    (void)fputs("END\n", text);
    ck_assert_int_eq(fclose(text), 0);
    FILE *answers = popen(command, "r");
    ck_assert_ptr_nonnull(answers);
    free(command);
    return answers;
}

/* All cases so far are as GNU units has them. */
static void expect_agreement(size_t least)
{
    char line[TEXT];
    size_t answered = 0;
    FILE *units = ask_units();
    for (; fgets(line, sizeof line, units); answered++) {
        char *end = line;
        double value = strtod(line, &end);
        ck_assert_uint_lt(answered, count);
        ck_assert_msg(end != line && *end == '\n', "units answers '%s' to %s", line,
                      cases[answered].theirs);
        ck_assert_msg(fabs(value - cases[answered].ours) <= cases[answered].tolerance,
                      "REGLET_SEED=%" PRIu64 ": %s is %.9g %s by us, %.9g by units", base_seed,
                      cases[answered].theirs, cases[answered].ours, cases[answered].unit, value);
    }
    int status = pclose(units);
    ck_assert_msg(!WIFEXITED(status) || WEXITSTATUS(status) != 127,
                  "the GNU units program is not installed; this check needs it: install the "
                  "package 'units'");
    ck_assert_msg(status == 0, "the GNU units program ended with status %d", status);
    ck_assert_uint_eq(answered, count);
    ck_assert_uint_ge(count, least);
}

static void add_rim(int64_t diameter_nm, int turns_min)
{
    double ours = bit_rim_m_s(diameter_nm, turns_min);
    add(ours, 1e-9 * ours, "m/s", "pi * %" PRId64 " nm * %d / min", diameter_nm, turns_min);
}

START_TEST(rim_speeds)
{
    static const double printed[][2] = {
        {1, 24000}, {2, 18000}, {2.5, 16000}, {3, 12000}, {3.5, 10000}};
    for (size_t i = 0; i < sizeof printed / sizeof *printed; i++) {
        add_rim((int64_t)(printed[i][0] * LENGTH_NM_PER_IN), (int)printed[i][1]);
    }
    for (int i = 0; i < 300; i++) {
        add_rim(between(LENGTH_NM_PER_IN / 64, 8 * LENGTH_NM_PER_IN), (int)between(1, 60000));
    }
    expect_agreement(300);
}
END_TEST

#define IN64 (LENGTH_NM_PER_IN / 64)

/* In 64ths: how many passes there are, units says as (H - f)/p, to be rounded up; and each height.
 */
static void add_passes(int total, int most, int last)
{
    struct passes passes = {total * IN64, 0, most * IN64, last * IN64};
    int64_t height_nm[JOINT_MARKS_MAX];
    int made = 0;
    ck_assert_int_eq(passes_heights(&passes, height_nm, &made), JOINT_POSSIBLE);
    int equal = last > 0 ? made - 1 : made;
    add(equal - .5 + 1e-7, .5, "1" /* above equal - 1, and at most equal */,
        "(%d|64 in - %d|64 in) / (%d|64 in)", total, last, most);
    for (int i = 1; i <= equal; i++) {
        add((double)height_nm[i - 1], .5000001, "nm", "%d|%d * (%d|64 in - %d|64 in)", i, equal,
            total, last);
    }
    add((double)height_nm[made - 1], 0.5, "nm", "%d|64 in", total);
}

START_TEST(passes_and_their_number)
{
    add_passes(48, 16, 2); /* 3/4, 1/4 at most, 1/32 at last: 23/96, 23/48, 23/32, 3/4 */
    for (int i = 0; i < 60; i++) {
        int most = (int)between(4, 16);
        int last = (int)between(0, 3);
        add_passes((int)between(last + 1, 128), most, last);
    }
    expect_agreement(150);
}
END_TEST

static double raise_of(enum correct_kind kind, double measured_in, double wanted_in,
                       int32_t slope_mdeg)
{
    struct correction out;
    struct correct cut = {kind, llround(measured_in * LENGTH_NM_PER_IN),
                          llround(wanted_in * LENGTH_NM_PER_IN), false, slope_mdeg};
    ck_assert_msg(correct_work_out(&cut, LENGTH_STYLE_64, &out), "%s", out.words);
    return (double)out.raise_nm;
}

static void add_cuts(double m, double w, int32_t slope_mdeg)
{
    static const struct {
        enum correct_kind kind;
        bool raised_by_less; /* a smaller measure wants a higher bit */
        int share;
    } kinds[] = {
        {CORRECT_DEPTH, true, 1},   {CORRECT_LOWER_WALL, true, 1}, {CORRECT_LEFT, false, 1},
        {CORRECT_TONGUE, false, 2}, {CORRECT_GROOVE, false, 2},    {CORRECT_LAP, false, 2},
    };
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        bool less = kinds[i].raised_by_less;
        add(raise_of(kinds[i].kind, m, w, 0), .500001, "nm", "(%.4f in - %.4f in) / %d",
            less ? w : m, less ? m : w, kinds[i].share);
    }
    add(raise_of(CORRECT_DOVETAIL, m, w, slope_mdeg), .500001, "nm",
        "(%.4f in - %.4f in) / (2 * tan(%d|1000 degree))", m, w, (int)slope_mdeg);
}

START_TEST(what_a_test_cut_raises)
{
    add_cuts(.250, .246, 14000); /* a tongue that came out .004 too thick: raise .002 */
    add_cuts(.005, 0, 14000);    /* the gap of a dovetail: .0100, and */
    add_cuts(.005, 0, 8000);     /* .0178, */
    add_cuts(.005, 0, 7000);     /* .0204 */
    for (int i = 0; i < 100; i++) {
        add_cuts((double)between(0, 7500) / 10000, (double)between(0, 7500) / 10000,
                 (int32_t)between(5000, 20000));
    }
    expect_agreement(700);
}
END_TEST

static void begin(void)
{
    start_random();
    count = 0;
}

int main(void)
{
    read_seed();
    Suite *suite = suite_create("bench outside");
    TCase *tests = tcase_create("GNU units");
    tcase_add_checked_fixture(tests, begin, NULL);
    tcase_add_test(tests, rim_speeds);
    tcase_add_test(tests, passes_and_their_number);
    tcase_add_test(tests, what_a_test_cut_raises);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
