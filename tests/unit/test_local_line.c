/* SPDX-License-Identifier: MIT */
/* An answer whose result is printed already, against the one that is put together. */
#include <string.h>

#include "protocol/local.h"
#include "tests/suite.h"

/* The line with a printed result is that of the answer which is put together, for any id. */
START_TEST(a_printed_result_makes_the_same_line)
{
    static const char *const echoed[] = {"null", "0",   "-0",   "7",    "-9007199254740991",
                                         "1.5",  "0.1", "1e-9", "\"\"", "\"a\\n\\\"b\""};
    static const char result[] = "{\"a\":[1,\"b\"]}";
    for (size_t i = 0; i < sizeof echoed / sizeof *echoed; i++) {
        size_t size = 0;
        size_t wanted_size = 0;
        cJSON *id = cJSON_Parse(echoed[i]);
        cJSON *answer = local_answer(id, cJSON_Parse(result));
        char *wanted = local_print(answer, &wanted_size);
        char *line = local_answer_line(id, result, sizeof result - 1, &size);
        ck_assert_str_eq(line, wanted);
        ck_assert_uint_eq(size, wanted_size);
        cJSON_free(line);
        cJSON_free(wanted);
        cJSON_Delete(answer);
        cJSON_Delete(id);
    }
    size_t size = 1;
    ck_assert(local_answer_line(NULL, NULL, 0, &size) == NULL && size == 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("local_line");
    TCase *all = tcase_create("line");
    tcase_add_test(all, a_printed_result_makes_the_same_line);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
