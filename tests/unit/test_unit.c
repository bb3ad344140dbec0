/* SPDX-License-Identifier: MIT */
/* The words for how heights are typed and shown. */
#include <check.h>

#include "protocol/unit.h"
#include "tests/suite.h"

START_TEST(each_style_has_a_word_that_is_read_as_it)
{
    for (int i = LENGTH_STYLE_32; i <= LENGTH_STYLE_MM; i++) {
        enum length_style style = (enum length_style)0;
        ck_assert(unit_style(unit_word((enum length_style)i), &style));
        ck_assert_int_eq(style, i);
    }
}
END_TEST

START_TEST(anything_else_is_none_and_changes_nothing)
{
    static const char *const none[] = {"", "16", "064", "inch", "IN", " mm", "mm ", "1/64"};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) {
        enum length_style style = LENGTH_STYLE_MM;
        ck_assert_msg(!unit_style(none[i], &style), "'%s'", none[i]);
        ck_assert_int_eq(style, LENGTH_STYLE_MM);
    }
}
END_TEST

START_TEST(the_default_is_one_of_them)
{
    enum length_style style;
    ck_assert(unit_style(UNIT_DEFAULT, &style));
    ck_assert_int_eq(style, LENGTH_STYLE_64);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("unit");
    TCase *cases = tcase_create("unit");
    tcase_add_test(cases, each_style_has_a_word_that_is_read_as_it);
    tcase_add_test(cases, anything_else_is_none_and_changes_nothing);
    tcase_add_test(cases, the_default_is_one_of_them);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
