/* SPDX-License-Identifier: MIT */
/* protocol/LOCAL.md against the code: the closed list of reasons, and its example requests. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "protocol/local.h"
#include "protocol/reason.h"
#include "tests/suite.h"

static char *read_page(void)
{
    char path[512];
    snprintf(path, sizeof path, "%s", __FILE__);
    char *root = strstr(path, "tests/unit/");
    ck_assert_ptr_nonnull(root);
    strcpy(root, "protocol/LOCAL.md");
    FILE *file = fopen(path, "re");
    ck_assert_msg(file != NULL, "cannot read %s", path);
    char *text = calloc(1, 200000);
    ck_assert_ptr_nonnull(text);
    ck_assert_uint_gt(fread(text, 1, 199999, file), 0);
    fclose(file);
    return text;
}

START_TEST(every_reason_of_the_code_has_a_row_on_the_page)
{
    char *page = read_page();
    for (int reason = REASON_NONE + 1; reason < REASON_COUNT; reason++) {
        char row[80];
        snprintf(row, sizeof row, "\n| `%s` | ", reason_word((enum reason)reason));
        ck_assert_msg(strstr(page, row) != NULL, "LOCAL.md has no row for %s",
                      reason_word((enum reason)reason));
    }
    free(page);
}
END_TEST

START_TEST(every_reason_of_the_page_is_one_of_the_code)
{
    char *page = read_page();
    char *table = strstr(page, "| reason | what it means | what to do |");
    ck_assert_ptr_nonnull(table);
    int rows = 0;
    for (char *row = strstr(table, "\n| `"); row; row = strstr(row + 1, "\n| `")) {
        size_t length = strcspn(row + 4, "`");
        bool known = false;
        for (int reason = REASON_NONE + 1; reason < REASON_COUNT; reason++) {
            const char *word = reason_word((enum reason)reason);
            known = known || (strlen(word) == length && strncmp(word, row + 4, length) == 0);
        }
        ck_assert_msg(known, "LOCAL.md lists %.*s, which the code never gives", (int)length,
                      row + 4);
        rows++;
    }
    ck_assert_int_eq(rows, REASON_COUNT - 1);
    free(page);
}
END_TEST

START_TEST(every_example_on_the_page_is_a_whole_request)
{
    char *page = read_page();
    int examples = 0;
    for (char *at = strstr(page, "\n{\"jsonrpc\""); at; at = strstr(at + 1, "\n{\"jsonrpc\"")) {
        struct local_line line;
        struct local_request request;
        ck_assert_msg(local_line_open(&line, at + 1, strcspn(at + 1, "\n")), "%s", line.fault.text);
        local_line_request(&line, 0, &request);
        ck_assert(request.valid);
        ck_assert(!request.notification || strcmp(request.method, "position") == 0);
        local_line_close(&line);
        examples++;
    }
    ck_assert_int_ge(examples, 5);
    free(page);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("local page");
    TCase *cases = tcase_create("page");
    tcase_add_test(cases, every_reason_of_the_code_has_a_row_on_the_page);
    tcase_add_test(cases, every_reason_of_the_page_is_one_of_the_code);
    tcase_add_test(cases, every_example_on_the_page_is_a_whole_request);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
