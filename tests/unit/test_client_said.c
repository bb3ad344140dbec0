/* SPDX-License-Identifier: MIT */
/* A line of words with their values. 1 in = 25.4 mm exactly (NIST SP 811 appendix B). */
#include <check.h>
#include <string.h>

#include "clients/common/said.h"
#include "tests/suite.h"

enum { SCREW, LOAD, LEAD, FIELDS, WORDS_MOST = 12 };

static const char *const names[FIELDS] = {"screw", "load", "lead"};

/* Cut at '|' where the shell would cut it. */
static bool take(struct said *said, const char *text)
{
    static char copy[400];
    char *word[WORDS_MOST];
    int count = 0;
    *said = (struct said){.name = names, .count = FIELDS};
    ck_assert_uint_lt(strlen(text), sizeof copy);
    memcpy(copy, text, strlen(text) + 1);
    for (char *rest = copy, *one = strsep(&rest, "|"); one && *text; one = strsep(&rest, "|")) {
        ck_assert_int_lt(count, WORDS_MOST);
        word[count++] = one;
    }
    return said_take(said, count, word, "screw, load or lead");
}

START_TEST(a_value_goes_on_to_the_next_name)
{
    struct said said;
    ck_assert(take(&said, "load|10kg|screw|1/2-10|Acme|lead|1|1/16in"));
    ck_assert_str_eq(said.value[SCREW], "1/2-10 Acme");
    ck_assert_str_eq(said.value[LOAD], "10kg");
    ck_assert_str_eq(said.value[LEAD], "1 1/16in");
    int64_t nm = 7;
    ck_assert(said_length(&said, LEAD, LENGTH_BARE_REFUSED, "a length", &nm));
    ck_assert_int_eq(nm, 26987500);
}
END_TEST

START_TEST(what_is_not_said_is_empty_and_leaves_a_length_alone)
{
    struct said said;
    int64_t nm = 7;
    ck_assert(take(&said, ""));
    for (int i = 0; i < FIELDS; i++) {
        ck_assert(!said_is(&said, i));
    }
    ck_assert(said_length(&said, LEAD, LENGTH_BARE_REFUSED, "a length", &nm));
    ck_assert_int_eq(nm, 7);
}
END_TEST

START_TEST(each_mistake_is_told_with_its_word)
{
    static const struct {
        const char *text;
        const char *why;
    } wrong[] = {
        {"weight|10kg", "'weight' can be screw, load or lead"},
        {"10kg", "'10kg' can be screw, load or lead"},
        {"load", "'load' is followed by its value"},
        {"load|screw|Tr8x2", "'load' is followed by its value"},
        {"load|1kg|load|2kg", "'load' is said twice"},
        {"load|", "what follows 'load' is too long, or empty"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        struct said said;
        ck_assert(!take(&said, wrong[i].text));
        ck_assert_str_eq(said.why, wrong[i].why);
    }
}
END_TEST

START_TEST(a_value_that_is_too_long_is_refused_and_not_cut)
{
    struct said said;
    char text[40 + 2 * WORDS_SIZE] = "load|";
    memset(text + 5, 'x', WORDS_SIZE - 1);
    ck_assert(take(&said, text));
    ck_assert_uint_eq(strlen(said.value[LOAD]), WORDS_SIZE - 1);
    memset(text + 5, 'x', WORDS_SIZE);
    ck_assert(!take(&said, text));
    ck_assert_str_eq(said.why, "what follows 'load' is too long, or empty");
}
END_TEST

START_TEST(a_length_that_is_none_is_told)
{
    struct said said;
    int64_t nm = 7;
    ck_assert(take(&said, "lead|3/0in"));
    ck_assert(!said_length(&said, LEAD, LENGTH_BARE_REFUSED, "a length", &nm));
    ck_assert_ptr_nonnull(strstr(said.why, "3/0in"));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("client said");
    TCase *cases = tcase_create("said");
    tcase_add_test(cases, a_value_goes_on_to_the_next_name);
    tcase_add_test(cases, what_is_not_said_is_empty_and_leaves_a_length_alone);
    tcase_add_test(cases, each_mistake_is_told_with_its_word);
    tcase_add_test(cases, a_value_that_is_too_long_is_refused_and_not_cut);
    tcase_add_test(cases, a_length_that_is_none_is_told);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
