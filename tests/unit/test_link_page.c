/* SPDX-License-Identifier: MIT */
/* The lines of the serial link that its specification, protocol/LINK.md, shows. */
#include <check.h>
#include <stdio.h>
#include <string.h>

#include "protocol/link.h"
#include "tests/suite.h"
#include "tests/unit/link_lines.h"

static FILE *open_specification(void)
{
    char path[4096];
    (void)snprintf(path, sizeof path, "%s", __FILE__);
    char *slash = strrchr(path, '/');
    size_t folder = slash ? (size_t)(slash - path) + 1 : 0;
    (void)snprintf(path + folder, sizeof path - folder, "../../protocol/LINK.md");
    return fopen(path, "r");
}

START_TEST(every_example_line_of_the_specification_is_read_and_written_the_same)
{
    FILE *file = open_specification();
    ck_assert_ptr_nonnull(file);
    unsigned seen[LINK_WORDS] = {0};
    char row[256];
    bool inside = false;
    while (fgets(row, sizeof row, file) != NULL) {
        if (strncmp(row, "```", 3) == 0) {
            inside = strcmp(row, "```line\n") == 0;
            continue;
        }
        if (!inside)
            continue;
        /* Who speaks stands in front where lines of both are shown. */
        const char *text = strncmp(row, "> ", 2) == 0 || strncmp(row, "< ", 2) == 0 ? row + 2 : row;
        size_t size = strlen(text);
        char again[LINK_LINE_MAX];
        struct link_line line;
        ck_assert_msg(size <= LINK_LINE_MAX && link_read(text, (uint8_t)(size - 1), &line),
                      "LINK.md has a line that cannot be read: %s", text);
        ck_assert_uint_eq(link_write(&line, again), size);
        ck_assert_mem_eq(again, text, size);
        if (text != row)
            ck_assert_int_eq(row[0], line.word < LINK_BOARD ? '>' : '<');
        seen[line.word]++;
    }
    (void)fclose(file);
    for (int word = 0; word < LINK_WORDS; word++)
        ck_assert_msg(seen[word] > 0, "LINK.md has no example of %s", shapes[word].word);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("link: the specification");
    TCase *all = tcase_create("page");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, every_example_line_of_the_specification_is_read_and_written_the_same);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
