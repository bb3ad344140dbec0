/* SPDX-License-Identifier: MIT */
/*
 * Heights read as a shop writes them. 1 in = 25.4 mm exactly: international yard and pound
 * agreement, 1959; NIST SP 811 appendix B. Everything else follows by exact arithmetic, done here
 * by hand or by another method than the parser's.
 */
#include <check.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "protocol/length.h"
#include "tests/seed.h"
#include "tests/suite.h"

/* For the tables alone. */
#define REFUSED LENGTH_BARE_REFUSED
#define IN LENGTH_BARE_IN
#define MM LENGTH_BARE_MM

enum { TRIALS = 300000 };

/* --- What is read --- */

struct reading {
    const char *text;
    enum length_bare bare;
    int64_t nm;
};

static const struct reading readings[] = {
    /* The forms of the header, each worked by hand from 1 in = 25 400 000 nm. */
    {"3/8", IN, 9525000},
    {"1-7/16", IN, 36512500},
    {"1 7/16", IN, 36512500},
    {"1   7/16", IN, 36512500},
    {"-3/8", IN, -9525000},
    {"-1-7/16", IN, -36512500},
    {"-1 7/16", IN, -36512500},
    {"+3/8", IN, 9525000},
    {"13/8", IN, 41275000},
    {".375in", REFUSED, 9525000},
    {".375 in", REFUSED, 9525000},
    {"0.375in", REFUSED, 9525000},
    {"3/8\"", REFUSED, 9525000},
    {"3/8 \"", REFUSED, 9525000},
    {"3/8in", REFUSED, 9525000},
    {"1-7/16 in", REFUSED, 36512500},
    {"1-7/16 in", MM, 36512500},
    {"9.5mm", REFUSED, 9500000},
    {"9.5 mm", IN, 9500000},
    {"-.5", IN, -12700000},
    {"-.5", MM, -500000},
    {".5", IN, 12700000},
    {"12", IN, 304800000},
    {"12", MM, 12000000},
    {"19mm", IN, 19000000},
    {"1.5\"", MM, 38100000},
    {"  3/8  ", IN, 9525000},
    {"0", IN, 0},
    {"0", MM, 0},
    {"-0", IN, 0},
    {"0in", REFUSED, 0},
    {"0/8", IN, 0},
    {"1-0/8", IN, 25400000},
    {"007.500mm", IN, 7500000},
    {"0000000000000000003/8", IN, 9525000},
    /* Spellings that general libraries misread (common practice, no source). */
    {"1-1/2", IN, 38100000},
    {"1 1/2", IN, 38100000},
    {"3/4\"", IN, 19050000},
    /* Remainders: 23/64 in = 9 128 125 nm, 45/64 in = 17 859 375 nm, .003 in = 76 200 nm. */
    {"23/64 + .003", IN, 9204325},
    {"23/64+.003", IN, 9204325},
    {"23/64 + .003in", IN, 9204325},
    {"23/64in + .003in", REFUSED, 9204325},
    {"23/64in + .003", REFUSED, 9204325},
    {"23/64\" + .003", MM, 9204325},
    {"45/64 - .003", IN, 17783175},
    {"45/64-.003", IN, 17783175},
    {"45/64 -.003", IN, 17783175},
    {"-3/8 + .003", IN, -9448800},
    {"-3/8 - .003", IN, -9601200},
    {"1-7/16 - 1/64", IN, 36115625},
    {"1 7/16 + 1-1/64", IN, 62309375},
    {"3/8in + 1mm", REFUSED, 10525000},
    {"1mm - 3/8in", MM, -8525000},
    {"9.5mm + .1", REFUSED, 9600000},
    {"9.5 + .1mm", MM, 9600000},
    {"1 + .003in", IN, 25476200},
    {"0 + .003", IN, 76200},
    {"1 - .003", IN, 25323800},
    {"1in-.003", REFUSED, 25323800},
    {"1in - 1/2in", REFUSED, 12700000},
    {"1 + 1/2", IN, 38100000},
    {"2 - 1.5", IN, 12700000},
    /* NIST SP 811: 1/64 in = 0.396875 mm, .0001 in = 2540 nm; 1/128 in = 198 437.5 nm, a tie. */
    {"1/64", IN, 396875},
    {".0001in", IN, 2540},
    {"1/128", IN, 198438},
    {"-1/128", IN, -198438},
    {"1/128 + 1/128", IN, 396875}, /* rounded once: not 396 876 */
    {"1/128 - .003", IN, 122238},
    {"1/3", IN, 8466667},
    {"2/3", IN, 16933333},
    {".3333333333in", IN, 8466667},
    {"0.0000005mm", IN, 1},
    {"-0.0000005mm", IN, -1},
    {"0.000000499999mm", IN, 0},
    {"1/999999999999 + 1/999999999998", IN, 0},
    /* The greatest length. 10 m = 393 + 89/127 in. */
    {"10000mm", IN, LENGTH_NM_MAX},
    {"-10000mm", IN, -LENGTH_NM_MAX},
    {"393-89/127", IN, LENGTH_NM_MAX},
    {"9999.9999995mm", IN, LENGTH_NM_MAX}};

START_TEST(trade_spellings_read_as_exact_nanometres)
{
    for (size_t i = 0; i < sizeof readings / sizeof *readings; i++) {
        const struct reading *want = &readings[i];
        struct length_fault fault = {0, ""};
        int64_t nm = 77;
        ck_assert_msg(length_parse(want->text, want->bare, &nm, &fault), "%s refused at %zu: %s",
                      want->text, fault.at, fault.text);
        ck_assert_msg(nm == want->nm, "%s read as %" PRId64, want->text, nm);
        ck_assert_msg(fault.text[0] == '\0', "%s read, and a fault left behind", want->text);
    }
}
END_TEST

/* --- What is refused --- */

struct refusal {
    const char *text;
    enum length_bare bare;
    size_t at;
    const char *words; /* the sentence contains them */
};

static const struct refusal refusals[] = {
    /* Nothing, or no number */
    {"", IN, 0, "expected a length"},
    {"   ", IN, 3, "expected a length"},
    {"junk", IN, 0, "a digit or a point"},
    {"in", IN, 0, "a digit or a point"},
    {"/8", IN, 0, "a digit or a point"},
    {"-", IN, 1, "a digit or a point"},
    {"--3/8", IN, 1, "a digit or a point"},
    {"+-3/8", IN, 1, "a digit or a point"},
    {"- 3/8", IN, 1, "a digit or a point"},
    {"$3", IN, 0, "a digit or a point"},
    {".", IN, 1, "a digit behind the point"},
    {"5.", IN, 2, "a digit behind the point"},
    {"5.in", IN, 2, "a digit behind the point"},
    {"..5", IN, 1, "a digit behind the point"},
    /* Not a number of this trade */
    {"nan", IN, 0, "a digit or a point"},
    {"inf", IN, 0, "a digit or a point"},
    {"-infinity", IN, 1, "a digit or a point"},
    {"0x10", IN, 1, "the unit in"},
    {"1e3", IN, 1, "the unit in"},
    {"1.5e-3in", IN, 3, "the unit in"},
    {"1_000", IN, 1, "the end"},
    {"1.2.3", IN, 3, "the end"},
    {"12 34", IN, 5, "as in 1-7/16"},
    {"3/8/2", IN, 3, "the end"},
    {"3 / 8", IN, 2, "the end"},
    {"3/ 8", IN, 2, "a denominator"},
    {"3/", IN, 2, "a denominator"},
    {"3/-8", IN, 2, "a denominator"},
    {"3/.8", IN, 2, "a denominator"},
    {"3.5/8", IN, 3, "the end"},
    {"3/8.5", IN, 3, "the end"},
    {"3*8", IN, 1, "the end"},
    {"(3/8)", IN, 0, "a digit or a point"},
    /* A comma is told to be a point */
    {"12,5", MM, 2, "write 12.5 for 12,5"},
    {"12,5mm", REFUSED, 2, "not a comma"},
    {",5", IN, 0, "not a comma"},
    {"23/64 + ,003", IN, 8, "not a comma"},
    {"1,000.0", IN, 1, "not a comma"},
    /* Division by zero: general libraries make infinity of it */
    {"1/0", IN, 2, "a denominator above zero"},
    {"0/0", IN, 2, "a denominator above zero"},
    {"1-1/00in", IN, 4, "a denominator above zero"},
    {"3/8 + 1/0", IN, 8, "a denominator above zero"},
    /* Mixed numbers */
    {"1-9/8", IN, 2, "a fraction below one"},
    {"1 8/8", IN, 2, "a fraction below one"},
    {"1--1/2", IN, 2, "as in 1-7/16"},
    {"1-", IN, 2, "as in 1-7/16"},
    {"1-3", IN, 3, "as in 1-7/16"},
    {"1-.003", IN, 2, "between blanks"},
    {"1- 1/2", IN, 2, "as in 1-7/16"},
    {"1 -1/2", IN, 2, "as in 1-7/16"},
    {"1.5-1/2", IN, 3, "between blanks"},
    {"1.5- .5", IN, 3, "between blanks"},
    {"1.5 1/2", IN, 4, "the end"},
    {"1 - 1/2", IN, 2, "1in - 1/2in"},
    {"-1 - 1/2in", IN, 3, "the sum as 1-1/2"},
    {"1-1-1/2", IN, 3, "as in 1-7/16"},
    /* Units */
    {"9.5cm", IN, 3, "the unit in"},
    {"9.5 m", IN, 4, "the unit in"},
    {"9.5MM", IN, 3, "the unit in"},
    {"9.5inch", IN, 3, "the unit in"},
    {"5'", IN, 1, "the end"},
    {"3/8\"\"", IN, 4, "the end"},
    {"3/8in in", IN, 6, "the end"},
    {"3/8in2", IN, 5, "the end"},
    {"3/8mm", IN, 3, "a fraction is inches, always"},
    {"1-7/16 mm", MM, 7, "write 3/8in"},
    {"9.5mm + 1/64mm", MM, 12, "a fraction is inches, always"},
    /* Remainders */
    {"3/8 +", IN, 5, "a digit or a point"},
    {"3/8 + + .003", IN, 6, "a digit or a point"},
    {"3/8 + -.003", IN, 6, "a digit or a point"},
    {"3/8 .003", IN, 4, "a remainder such as"},
    {"3/8 + .003 + .001", IN, 11, "two such as"},
    {"3/8 + 1mm", IN, 3, "a unit with each"},
    {"9.5 + .003in", MM, 3, "a unit with each"},
    {"1 + 1mm", IN, 1, "a unit with each"},
    /* Too long, wherever it happens */
    {"10001mm", IN, 0, "at most 10 m"},
    {"10000.000001mm", IN, 0, "at most 10 m"},
    {"-394", IN, 0, "at most 10 m"},
    {"10000mm + .000001mm", IN, 0, "at most 10 m"},
    {"10001mm - 2mm", IN, 0, "at most 10 m"},
    {"1mm - 10001mm", IN, 6, "at most 10 m"},
    {"999999999999", IN, 0, "at most 10 m"},
    {"999999999999-999999999998/999999999999", IN, 0, "at most 10 m"},
    {"9223372036854775808mm", IN, 0, "at most 12 digits"},
    {"99999999999999999999999999999999999999999mm", IN, 0, "at most 12 digits"},
    {"1/18446744073709551617", IN, 2, "at most 12 digits"},
    {"1-18446744073709551617/2", IN, 2, "at most 12 digits"},
    {".1234567890123in", IN, 13, "at most 12 decimals"},
    /* Not plain text: a half, a prime, a minus sign and a no-break space in UTF-8; controls */
    {"\xc2\xbd", IN, 0, "plain characters"},
    {"3/8\xe2\x80\xb3", IN, 3, "plain characters"},
    {"\xe2\x88\x92"
     "3/8",
     IN, 0, "plain characters"},
    {"1\xc2\xa0"
     "1/2",
     IN, 1, "plain characters"},
    {"3\xff", IN, 1, "plain characters"},
    {"3/8\n", IN, 3, "control character"},
    {"\t3/8", IN, 0, "control character"},
    {"1\t1/2", IN, 1, "control character"},
    {"3/8\x7f", IN, 3, "control character"},
    {"3\x01/8", IN, 1, "control character"},
    /* No unit where one is needed */
    {"9.5", REFUSED, 3, "9.5 of what? write 9.5in or 9.5mm"},
    {"0", REFUSED, 1, "0 of what? write 0in or 0mm"},
    {"-3/8", REFUSED, 4, "-3/8 of what? write -3/8in"},
    {"23/64 + .003", REFUSED, 5, "23/64 of what? write 23/64in"},
    {"23/64 + .003in", REFUSED, 5, "23/64 of what? write 23/64in"},
    {"9.5mm + 1/64", REFUSED, 12, "1/64 of what? write 1/64in"},
    {"0 + 3/8", MM, 7, "3/8 of what? write 3/8in"},
    {"1-7/16", MM, 6, "1-7/16 of what? write 1-7/16in"},
    {"0000000000000000000000000000000000000000003/8", MM, 45, "a length of what?"}};

START_TEST(what_cannot_be_read_is_refused_with_place_and_expectation)
{
    for (size_t i = 0; i < sizeof refusals / sizeof *refusals; i++) {
        const struct refusal *want = &refusals[i];
        struct length_fault fault = {999, ""};
        int64_t nm = 77;
        ck_assert_msg(!length_parse(want->text, want->bare, &nm, &fault),
                      "'%s' was read as %" PRId64, want->text, nm);
        ck_assert_msg(nm == 77, "'%s' was refused, but wrote the height", want->text);
        ck_assert_msg(fault.at == want->at, "'%s' refused at %zu, not %zu: %s", want->text,
                      fault.at, want->at, fault.text);
        ck_assert_msg(strstr(fault.text, want->words) != NULL, "'%s' refused with '%s', not '%s'",
                      want->text, fault.text, want->words);
        ck_assert(!length_parse(want->text, want->bare, &nm, NULL));
    }
}
END_TEST

START_TEST(a_bare_fraction_in_a_millimetre_shop_is_refused_in_these_words)
{
    struct length_fault fault = {0, ""};
    int64_t nm = 0;
    ck_assert(!length_parse("3/8", LENGTH_BARE_MM, &nm, &fault));
    ck_assert_str_eq(fault.text, "3/8 of what? write 3/8in");
    ck_assert_uint_eq(fault.at, 3);
}
END_TEST

/* --- Hostile text --- */

/* Buffers of the exact size, so that the address sanitizer sees the first byte too many. */
static void check_hostile(const char *text, size_t size)
{
    char *exact = malloc(size + 1);
    struct length_fault fault = {0, ""};
    int64_t nm = 77;
    ck_assert_ptr_nonnull(exact);
    memcpy(exact, text, size);
    exact[size] = '\0';
    enum length_bare bare = (enum length_bare)(LENGTH_BARE_REFUSED + (int)below(3));
    if (length_parse(exact, bare, &nm, &fault)) {
        if (llabs(nm) > LENGTH_NM_MAX)
            ck_abort_msg("REGLET_SEED=%" PRIu64 ": '%s' read as %" PRId64, base_seed, exact, nm);
    } else if (nm != 77 || fault.at > strlen(exact) || fault.text[0] == '\0' ||
               strlen(fault.text) >= sizeof fault.text - 1) {
        ck_abort_msg("REGLET_SEED=%" PRIu64 ": '%s' refused badly at %zu: %s", base_seed, exact,
                     fault.at, fault.text);
    }
    free(exact);
}

START_TEST(random_bytes_are_never_read_out_of_bounds)
{
    static const char likely[] = "0123456789/-+. \"inm,\t\xc2";
    char text[64];
    start_random();
    for (int i = 0; i < TRIALS; i++) {
        size_t size = below(sizeof text);
        for (size_t at = 0; at < size; at++)
            text[at] = i % 4 == 0 ? (char)below(256) : likely[below(sizeof likely - 1)];
        check_hostile(text, size);
    }
}
END_TEST

START_TEST(damaged_heights_are_never_read_out_of_bounds)
{
    start_random();
    for (int i = 0; i < TRIALS; i++) {
        char text[LENGTH_TEXT_SIZE];
        const char *whole = readings[below(sizeof readings / sizeof *readings)].text;
        size_t size = strlen(whole);
        (void)snprintf(text, sizeof text, "%s", whole);
        for (uint64_t hits = below(3); hits > 0; hits--)
            text[below(size)] = (char)below(256);
        check_hostile(text, below(size + 1));
    }
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("length");
    TCase *tables = tcase_create("tables");
    TCase *properties = tcase_create("properties");
    tcase_add_test(tables, trade_spellings_read_as_exact_nanometres);
    tcase_add_test(tables, what_cannot_be_read_is_refused_with_place_and_expectation);
    tcase_add_test(tables, a_bare_fraction_in_a_millimetre_shop_is_refused_in_these_words);
    tcase_add_test(properties, random_bytes_are_never_read_out_of_bounds);
    tcase_add_test(properties, damaged_heights_are_never_read_out_of_bounds);
    tcase_set_timeout(properties, 60);
    suite_add_tcase(suite, tables);
    suite_add_tcase(suite, properties);

    return run_suite(suite);
}
