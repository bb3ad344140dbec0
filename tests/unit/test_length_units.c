/* SPDX-License-Identifier: MIT */
/*
 * Heights as they are printed, and heights both ways against reckoners that share no code with
 * ours: the GNU units program, long division, scanf. 1 in = 25.4 mm exactly: international yard
 * and pound agreement, 1959; NIST SP 811 appendix B.
 */
#include <check.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include "protocol/length.h"
#include "tests/seed.h"
#include "tests/suite.h"

enum { THOUSANDTH_NM = 25400, TRIALS = 300000 };

/* Every size of height is tried as often: lift heights matter more than metres. */
static int64_t random_nm(void)
{
    int64_t limit = LENGTH_NM_MAX - LENGTH_NM_PER_IN;
    for (uint64_t tens = below(8); tens > 0; tens--)
        limit /= 10;
    return between(-limit, limit);
}

/* --- What is printed --- */

struct printing {
    int64_t nm;
    enum length_style style;
    const char *text;
};

static const struct printing printings[] = {
    /* Heights and remainders to the nearest 1/64 recomputed from NIST SP 811: .7 in (-.003125),
     * 1/3 in (+.005208), 3 mm (-.006890), 10 mm (+.003076), 18 mm (+.005536), 25 mm (-.000123),
     * and the carry, 2.9999 in (-.0001). */
    {17780000, LENGTH_STYLE_64, "45/64 - .003"},
    {8466667, LENGTH_STYLE_64, "21/64 + .005"},
    {3000000, LENGTH_STYLE_64, "1/8 - .007"},
    {10000000, LENGTH_STYLE_64, "25/64 + .003"},
    {18000000, LENGTH_STYLE_64, "45/64 + .006"},
    {25000000, LENGTH_STYLE_64, "63/64"},
    {76197460, LENGTH_STYLE_64, "3in"},
    {76149200, LENGTH_STYLE_64, "3in - .002"},
    /* Lowest terms, whole inches, nothing */
    {0, LENGTH_STYLE_64, "0"},
    {9525000, LENGTH_STYLE_32, "3/8"},
    {9525000, LENGTH_STYLE_128, "3/8"},
    {-9525000, LENGTH_STYLE_64, "-3/8"},
    {36512500, LENGTH_STYLE_64, "1-7/16"},
    {-36512500, LENGTH_STYLE_32, "-1-7/16"},
    {25400000, LENGTH_STYLE_64, "1in"},
    {-50800000, LENGTH_STYLE_64, "-2in"},
    {76200, LENGTH_STYLE_64, ".003in"},
    {-76200, LENGTH_STYLE_64, "-.003in"},
    {-12699, LENGTH_STYLE_64, "0"},
    /* The remainder's sign is its own: -.372 in, -.378 in */
    {-9448800, LENGTH_STYLE_64, "-3/8 + .003"},
    {-9601200, LENGTH_STYLE_64, "-3/8 - .003"},
    /* Ties go away from zero: 1/64 in 32nds (15.625 thousandths), a remainder of .0005 in */
    {396875, LENGTH_STYLE_32, "1/32 - .016"},
    {-396875, LENGTH_STYLE_32, "-1/32 + .016"},
    {396874, LENGTH_STYLE_32, ".016in"},
    {9525000 + 12700, LENGTH_STYLE_64, "3/8 + .001"},
    {9525000 - 12700, LENGTH_STYLE_64, "3/8 - .001"},
    {9525000 + 12699, LENGTH_STYLE_64, "3/8"},
    {12700, LENGTH_STYLE_64, ".001in"},
    /* 1/128 in is no whole nanometre: 198 437.5 and 595 312.5 nm */
    {198438, LENGTH_STYLE_128, "1/128"},
    {-198438, LENGTH_STYLE_128, "-1/128"},
    {595313, LENGTH_STYLE_128, "3/128"},
    {595313, LENGTH_STYLE_64, "1/32 - .008"},
    {274638, LENGTH_STYLE_128, "1/128 + .003"},
    {9525000, LENGTH_STYLE_IN, ".375in"},
    {9128125, LENGTH_STYLE_IN, ".3594in"},
    {4813300, LENGTH_STYLE_IN, ".1895in"},
    {38100000, LENGTH_STYLE_IN, "1.500in"},
    {-38100000, LENGTH_STYLE_IN, "-1.500in"},
    {0, LENGTH_STYLE_IN, ".000in"},
    {-1269, LENGTH_STYLE_IN, ".000in"},
    {1270, LENGTH_STYLE_IN, ".0001in"},
    {-1270, LENGTH_STYLE_IN, "-.0001in"},
    {25398730, LENGTH_STYLE_IN, "1.000in"},
    {9525000, LENGTH_STYLE_MM, "9.525mm"},
    {9500000, LENGTH_STYLE_MM, "9.5mm"},
    {19000000, LENGTH_STYLE_MM, "19mm"},
    {100000000, LENGTH_STYLE_MM, "100mm"},
    {-396875, LENGTH_STYLE_MM, "-0.397mm"},
    {500, LENGTH_STYLE_MM, "0.001mm"},
    {-499, LENGTH_STYLE_MM, "0mm"},
    {9999500, LENGTH_STYLE_MM, "10mm"}};

START_TEST(heights_print_as_the_trade_writes_them)
{
    for (size_t i = 0; i < sizeof printings / sizeof *printings; i++) {
        const struct printing *want = &printings[i];
        char text[LENGTH_TEXT_SIZE];
        size_t size = length_print(want->nm, want->style, text, sizeof text);
        ck_assert_str_eq(text, want->text);
        ck_assert_uint_eq(size, strlen(text));
    }
}
END_TEST

START_TEST(the_exact_form_keeps_every_nanometre)
{
    static const struct printing exact[] = {
        {0, 0, "0mm"},
        {9525000, 0, "9.525mm"},
        {-396875, 0, "-0.396875mm"},
        {1, 0, "0.000001mm"},
        {LENGTH_NM_MAX, 0, "10000mm"},
        {INT64_MIN, 0, "-9223372036854.775808mm"},
    };
    for (size_t i = 0; i < sizeof exact / sizeof *exact; i++) {
        char text[LENGTH_TEXT_SIZE];
        ck_assert_uint_eq(length_print_exact(exact[i].nm, text, sizeof text), strlen(text));
        ck_assert_str_eq(text, exact[i].text);
    }
}
END_TEST

START_TEST(what_does_not_fit_is_not_cut_short)
{
    static const int64_t widest[] = {INT64_MIN, INT64_MAX, INT64_MIN + 12345678901};
    char text[LENGTH_TEXT_SIZE] = "old";
    ck_assert_uint_eq(length_print(36512500, LENGTH_STYLE_64, text, 6), 0);
    ck_assert_str_eq(text, "");
    ck_assert_uint_eq(length_print(36512500, LENGTH_STYLE_64, text, 7), 6);
    ck_assert_str_eq(text, "1-7/16");
    ck_assert_uint_eq(length_print_exact(9525000, NULL, 0), 0);
    for (size_t i = 0; i < sizeof widest / sizeof *widest; i++)
        for (int style = LENGTH_STYLE_32; style <= LENGTH_STYLE_MM; style++)
            ck_assert_uint_gt(length_print(widest[i], (enum length_style)style, text, sizeof text),
                              0);
}
END_TEST

/* --- Printed and read back --- */

static int64_t read_back(const char *text)
{
    int64_t nm = 0;
    struct length_fault fault = {0, ""};
    if (!length_parse(text, LENGTH_BARE_IN, &nm, &fault))
        ck_abort_msg("REGLET_SEED=%" PRIu64 ": %s does not read back: %s", base_seed, text,
                     fault.text);
    return nm;
}

static void check_round_trip(int64_t nm, enum length_style style, int64_t tolerance_nm)
{
    char text[LENGTH_TEXT_SIZE];
    char again[LENGTH_TEXT_SIZE];
    (void)length_print(nm, style, text, sizeof text);
    int64_t back = read_back(text);
    if (llabs(back - nm) > tolerance_nm)
        ck_abort_msg("REGLET_SEED=%" PRIu64 ": %" PRId64 " nm printed %s, read back %" PRId64,
                     base_seed, nm, text, back);
    int64_t other = 0;
    if (length_parse(text, LENGTH_BARE_MM, &other, NULL) && other != back)
        ck_abort_msg("REGLET_SEED=%" PRIu64 ": %s is another height in a millimetre shop",
                     base_seed, text);
    (void)length_print(back, style, again, sizeof again);
    /* In fractions, half way between two divisions, rounding may lead to the other one. */
    if (style > LENGTH_STYLE_128 && strcmp(text, again) != 0)
        ck_abort_msg("REGLET_SEED=%" PRIu64 ": %s read back and printed is %s", base_seed, text,
                     again);
}

START_TEST(printed_heights_read_back_within_half_a_thousandth)
{
    start_random();
    for (int i = 0; i < TRIALS; i++) {
        int64_t nm = random_nm();
        check_round_trip(nm, LENGTH_STYLE_32, THOUSANDTH_NM / 2);
        check_round_trip(nm, LENGTH_STYLE_64, THOUSANDTH_NM / 2);
        check_round_trip(nm, LENGTH_STYLE_128, THOUSANDTH_NM / 2);
        check_round_trip(nm, LENGTH_STYLE_IN, THOUSANDTH_NM / 20);
        check_round_trip(nm, LENGTH_STYLE_MM, LENGTH_NM_PER_MM / 2000);
    }
}
END_TEST

/* A division and up to so many thousandths that it stays the nearest one. */
START_TEST(exact_heights_read_back_exactly)
{
    start_random();
    for (int i = 0; i < TRIALS; i++) {
        int64_t parts = 32 << (i % 3);
        int64_t most = 500 / parts; /* below half a division, in thousandths */
        int64_t thousandths = between(-most, most);
        int64_t doubled =
            between(-300 * parts, 300 * parts - 1) * (INT64_C(2) * LENGTH_NM_PER_IN / parts) +
            thousandths * 2 * THOUSANDTH_NM;
        int64_t nm = (doubled < 0 ? doubled - 1 : doubled + 1) / 2;
        check_round_trip(nm, (enum length_style)(LENGTH_STYLE_32 + i % 3), 0);
        check_round_trip(between(-3000000, 2999999) * 2540, LENGTH_STYLE_IN, 0);
        check_round_trip(between(-9000000, 8999999) * 1000, LENGTH_STYLE_MM, 0);
    }
}
END_TEST

START_TEST(the_exact_form_reads_back_to_the_same_nanometre)
{
    start_random();
    for (int i = 0; i < TRIALS; i++) {
        char text[LENGTH_TEXT_SIZE];
        int64_t nm = random_nm();
        int64_t back = 0;
        (void)length_print_exact(nm, text, sizeof text);
        if (!length_parse(text, LENGTH_BARE_REFUSED, &back, NULL) || back != nm)
            ck_abort_msg("REGLET_SEED=%" PRIu64 ": %" PRId64 " nm became %s", base_seed, nm, text);
    }
}
END_TEST

/* --- Against other reckoners --- */

/* Read by sscanf, not by the parser: the division printed is the nearest, in lowest terms. */
START_TEST(printed_fractions_are_the_nearest_in_lowest_terms)
{
    start_random();
    for (int i = 0; i < TRIALS; i++) {
        int64_t parts = 32 << (i % 3);
        int64_t nm = LENGTH_NM_PER_IN / 64 + llabs(random_nm());
        char text[LENGTH_TEXT_SIZE];
        char *digits = text;
        long long whole = 0;
        long long above = 0;
        long long below = 1;
        (void)length_print(nm, (enum length_style)(LENGTH_STYLE_32 + i % 3), text, sizeof text);
        if (sscanf(digits, "%lld-%lld/%lld", &whole, &above, &below) != 3) {
            whole = 0;
            if (sscanf(digits, "%lld/%lld", &above, &below) != 2) {
                ck_assert_int_eq(sscanf(digits, "%lldin", &whole), 1);
                above = 0;
                below = 1;
            }
        }
        int64_t off = 128 * nm - (whole * 128 + above * 128 / below) * LENGTH_NM_PER_IN;
        if (128 % below != 0 || below > parts || (below > 1 && above % 2 == 0) || above >= below ||
            2 * llabs(off) > 128 / parts * LENGTH_NM_PER_IN)
            ck_abort_msg("REGLET_SEED=%" PRIu64 ": %" PRId64 " nm printed %s", base_seed, nm, text);
    }
}
END_TEST

/* By whole numbers alone: n/d in = (n * 25 400 000 / d) nm, with the remainder for the rounding. */
START_TEST(every_fraction_agrees_with_long_division)
{
    for (int parts = 1; parts <= 130; parts++) {
        for (int above = 0; above < parts; above++) {
            int whole = 1 + (above + parts) % 11;
            int64_t product = INT64_C(25400000) * (whole * parts + above);
            int64_t want = product / parts + (2 * (product % parts) >= parts);
            const char *join = above % 2 ? "-" : "  ";
            const char *sign = parts % 2 ? "-" : "";
            char text[40];
            int64_t nm = 0;
            (void)snprintf(text, sizeof text, "%s%d%s%d/%d", sign, whole, join, above, parts);
            if (!length_parse(text, LENGTH_BARE_IN, &nm, NULL) || nm != (*sign ? -want : want))
                ck_abort_msg("%s read as %" PRId64 ", not %" PRId64, text, nm, want);
        }
    }
}
END_TEST

enum { CASES = 120, TEXT = 96, EXPRESSION = 3 * TEXT };

/* One height in our spelling and in that of GNU units, and the nanometres that we say it is. */
struct pair {
    char ours[TEXT];
    char theirs[EXPRESSION];
    double nm;
    double tolerance_nm;
};

static void make_reading(struct pair *pair)
{
    int whole = (int)below(12);
    int parts = below(2) ? 128 : 2 + (int)below(999);
    int above = (int)below((uint64_t)parts);
    int thousandths = (int)below(1000);
    const char *sign = below(2) ? "-" : "";
    int remainder = below(2) ? '-' : '+';
    int64_t nm = 0;
    switch (below(4)) {
    case 0:
        (void)snprintf(pair->ours, TEXT, "%s%d-%d/%d", sign, whole, above, parts);
        (void)snprintf(pair->theirs, EXPRESSION, "%s1 (%d + %d|%d) inch", sign, whole, above,
                       parts);
        break;
    case 1:
        (void)snprintf(pair->ours, TEXT, "%d/%d %c .%03d", above, parts, remainder, thousandths);
        (void)snprintf(pair->theirs, EXPRESSION, "%d|%d inch %c .%03d inch", above, parts,
                       remainder, thousandths);
        break;
    case 2:
        (void)snprintf(pair->ours, TEXT, "%s%d.%03d%dmm", sign, whole, thousandths, above);
        (void)snprintf(pair->theirs, EXPRESSION, "%s1 %d.%03d%d mm", sign, whole, thousandths,
                       above);
        break;
    default:
        (void)snprintf(pair->ours, TEXT, "%d %d/%d\" %c .%03d mm", whole, above, parts, remainder,
                       thousandths);
        (void)snprintf(pair->theirs, EXPRESSION, "(%d + %d|%d) inch %c .%03d mm", whole, above,
                       parts, remainder, thousandths);
    }
    nm = read_back(pair->ours);
    pair->nm = (double)nm;
    pair->tolerance_nm = 0.5 + 1e-5; /* our one rounding, and that of a double at 10 m */
}

/* -1-7/16 + .003 becomes (-(1+7|16) + .003) inch. */
static void make_printing(struct pair *pair, enum length_style style)
{
    int64_t nm = random_nm();
    (void)length_print(nm, style, pair->ours, TEXT);
    const char *from = pair->ours;
    char first[TEXT] = "";
    bool negative = *from == '-';
    size_t size = 0;
    for (from += negative; *from && *from != ' '; from++)
        if (strchr("0123456789./-", *from))
            first[size++] = (char)(*from == '/' ? '|' : *from == '-' ? '+' : *from);
    (void)snprintf(pair->theirs, EXPRESSION, "(%s(%s)%s) %s", negative ? "-" : "", first, from,
                   style == LENGTH_STYLE_MM ? "mm" : "inch");
    pair->nm = (double)nm;
    pair->tolerance_nm = style == LENGTH_STYLE_MM   ? 500.0 + 1e-5
                         : style == LENGTH_STYLE_IN ? 1270.0 + 1e-5
                                                    : 12700.0 + 1e-5;
}

static FILE *ask_units(const struct pair *pairs, size_t count)
{
    char *command = NULL;
    size_t size = 0;
    FILE *text = open_memstream(&command, &size);
    ck_assert_ptr_nonnull(text);
    (void)fputs("LC_ALL=C units -q -t -o %.17g <<'END'\n", text);
    for (size_t i = 0; i < count; i++)
        (void)fprintf(text, "%s\nnm\n", pairs[i].theirs);
    (void)fputs("END\n", text);
    ck_assert_int_eq(fclose(text), 0);
    FILE *answers = popen(command, "r");
    ck_assert_ptr_nonnull(answers);
    free(command);
    return answers;
}

START_TEST(gnu_units_agrees_with_what_is_read_and_printed)
{
    static struct pair pairs[CASES];
    static char answers[CASES][TEXT];
    size_t count = 0;
    start_random();
    for (size_t i = 0; i < CASES; i++) {
        if (i < CASES / 2)
            make_reading(&pairs[i]);
        else
            make_printing(&pairs[i], (enum length_style)(LENGTH_STYLE_32 + (int)(i % 5)));
    }
    FILE *units = ask_units(pairs, CASES);
    char line[TEXT];
    for (; fgets(line, sizeof line, units); count++) {
        if (count < CASES)
            memcpy(answers[count], line, sizeof line);
    }
    int status = pclose(units);
    ck_assert_msg(
        !WIFEXITED(status) || WEXITSTATUS(status) != 127,
        "the GNU units program is not installed; this check needs it: install the package "
        "'units'");
    ck_assert_msg(status == 0, "the GNU units program ended with status %d", status);
    for (size_t i = 0; i < CASES; i++) {
        char *end = NULL;
        double theirs = strtod(answers[i], &end);
        ck_assert_msg(end != answers[i] && *end == '\n', "units answers '%s' to %s", answers[i],
                      pairs[i].theirs);
        ck_assert_msg(fabs(theirs - pairs[i].nm) <= pairs[i].tolerance_nm,
                      "REGLET_SEED=%" PRIu64 ": %s is %.1f nm, units makes it %s", base_seed,
                      pairs[i].ours, pairs[i].nm, answers[i]);
    }
    ck_assert_uint_eq(count, CASES);
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("length_units");
    TCase *tables = tcase_create("tables");
    TCase *properties = tcase_create("properties");
    tcase_add_test(tables, heights_print_as_the_trade_writes_them);
    tcase_add_test(tables, the_exact_form_keeps_every_nanometre);
    tcase_add_test(tables, what_does_not_fit_is_not_cut_short);
    tcase_add_test(properties, printed_heights_read_back_within_half_a_thousandth);
    tcase_add_test(properties, exact_heights_read_back_exactly);
    tcase_add_test(properties, the_exact_form_reads_back_to_the_same_nanometre);
    tcase_add_test(properties, printed_fractions_are_the_nearest_in_lowest_terms);
    tcase_add_test(properties, every_fraction_agrees_with_long_division);
    tcase_add_test(properties, gnu_units_agrees_with_what_is_read_and_printed);
    tcase_set_timeout(properties, 60);
    suite_add_tcase(suite, tables);
    suite_add_tcase(suite, properties);

    return run_suite(suite);
}
