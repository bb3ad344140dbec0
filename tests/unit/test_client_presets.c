/* SPDX-License-Identifier: MIT */
/*
 * The list of presets as a table. Lengths by 1 in = 25.4 mm exactly (NIST SP 811 appendix B).
 */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/presets.h"
#include "protocol/json.h"
#include "tests/suite.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))
#define LONGEST "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx" /* 63 bytes */

static cJSON *read_json(const char *json)
{
    struct json_fault fault = {0};
    cJSON *document = json_parse(json, strlen(json), &fault);
    ck_assert_msg(document != NULL, "%s: %s", json, fault.text);
    return document;
}

/* --- What is a list --- */

START_TEST(what_is_no_list_of_presets_is_refused)
{
    static const char *const wrong[] = {
        "null",
        "[]",
        "{}",
        "{\"presets\":7}",
        "{\"presets\":{}}",
        "{\"presets\":[7]}",
        "{\"presets\":[{\"name\":\"a\"}]}",
        "{\"presets\":[{\"height_nm\":1}]}",
        "{\"presets\":[{\"name\":1,\"height_nm\":1}]}",
        "{\"presets\":[{\"name\":\"a\",\"height_nm\":\"1\"}]}",
        "{\"presets\":[{\"name\":\"a\",\"height_nm\":1},{\"name\":\"b\"}]}"};
    for (size_t i = 0; i < COUNT(wrong); i++) {
        cJSON *document = read_json(wrong[i]);
        ck_assert_msg(presets_list(document) == NULL, "%s", wrong[i]);
        cJSON_Delete(document);
    }
    ck_assert_ptr_null(presets_list(NULL));
}
END_TEST

START_TEST(presets_are_found_by_their_whole_name)
{
    cJSON *document = read_json("{\"presets\":[{\"name\":\"drawer\",\"height\":\"6.35mm\","
                                "\"height_nm\":6350000},{\"name\":\"drawer side\",\"height_nm\":"
                                "-9525000,\"new\":[]}],\"new\":1}");
    const cJSON *list = presets_list(document);
    struct preset preset;
    ck_assert_ptr_nonnull(list);
    ck_assert(presets_find(list, "drawer", &preset));
    ck_assert_str_eq(preset.name, "drawer");
    ck_assert_int_eq(preset.height_nm, 6350000);
    ck_assert(presets_find(list, "drawer side", &preset));
    ck_assert_str_eq(preset.name, "drawer side");
    ck_assert_int_eq(preset.height_nm, -9525000);
    ck_assert(!presets_find(list, "drawe", &preset));
    ck_assert(!presets_find(list, "Drawer", &preset));
    ck_assert(!presets_find(list, "", &preset));
    cJSON_Delete(document);
}
END_TEST

START_TEST(a_list_of_none_is_one)
{
    cJSON *document = read_json("{\"presets\":[]}");
    struct preset preset;
    const cJSON *list = presets_list(document);
    ck_assert_ptr_nonnull(list);
    ck_assert(!presets_find(list, "a", &preset));
    struct presets_widths widths = presets_measure(list, LENGTH_STYLE_64);
    ck_assert_uint_eq(widths.name, 0);
    ck_assert_uint_eq(widths.height, 0);
    cJSON_Delete(document);
}
END_TEST

/* --- The table --- */

static const struct {
    const char *json;
    enum length_style style;
    const char *text;
} tables[] = {
    {"{\"presets\":[{\"name\":\"drawer-groove\",\"height_nm\":6350000},"
     "{\"name\":\"flush\",\"height_nm\":0},"
     "{\"name\":\"n\303\251 \342\200\223 bit\",\"height_nm\":9204325},"
     "{\"name\":\"tenon\",\"height_nm\":-9525000}]}",
     LENGTH_STYLE_64,
     "  drawer-groove   1/4in            (6.35mm)\n"
     "  flush           0\n"
     "  n\303\251 \342\200\223 bit        23/64 + .003in   (9.204mm)\n"
     "  tenon           -3/8in           (-9.525mm)\n"},
    {"{\"presets\":[{\"name\":\"drawer-groove\",\"height_nm\":6350000},"
     "{\"name\":\"flush\",\"height_nm\":0}]}",
     LENGTH_STYLE_MM,
     "  drawer-groove   6.35mm   (.250in)\n"
     "  flush           0mm\n"},
    /* A name too long for the column makes it no wider, and one as wide as it stands in it. */
    {"{\"presets\":[{\"name\":\"a\",\"height_nm\":6350000},"
     "{\"name\":\"" LONGEST "\",\"height_nm\":9525000}]}",
     LENGTH_STYLE_64,
     "  a   1/4in   (6.35mm)\n"
     "  " LONGEST "\n"
     "      3/8in   (9.525mm)\n"},
    {"{\"presets\":[{\"name\":\"12345678901234567890123456789012\",\"height_nm\":6350000},"
     "{\"name\":\"b\",\"height_nm\":0}]}",
     LENGTH_STYLE_64,
     "  12345678901234567890123456789012   1/4in   (6.35mm)\n"
     "  b                                  0\n"},
    {"{\"presets\":[{\"name\":\"" LONGEST "\",\"height_nm\":6350000}]}", LENGTH_STYLE_64,
     "  " LONGEST "\n"
     "     1/4in   (6.35mm)\n"},
    /* A name does nothing to a terminal, and its blanks are its own. */
    {"{\"presets\":[{\"name\":\"a\\u009b31m\\u001b[2J\",\"height_nm\":6350000},"
     "{\"name\":\"two  blanks\",\"height_nm\":6350000}]}",
     LENGTH_STYLE_64,
     "  a?31m?[2J     1/4in   (6.35mm)\n"
     "  two  blanks   1/4in   (6.35mm)\n"},
};

START_TEST(the_table_stands_in_columns)
{
    struct say say = {0};
    cJSON *document = read_json(tables[_i].json);
    const cJSON *list = presets_list(document);
    const cJSON *item;
    struct presets_widths widths = presets_measure(list, tables[_i].style);
    cJSON_ArrayForEach(item, list)
    {
        struct preset preset = preset_of(item);
        presets_line(&say, &preset, &widths, tables[_i].style);
    }
    ck_assert_str_eq(say.text, tables[_i].text);
    cJSON_Delete(document);
}
END_TEST

/* The widest name in the column beside the widest height that 10 m (LENGTH_NM_MAX) allows. */
START_TEST(no_line_is_wider_than_a_terminal)
{
    static const enum length_style styles[] = {LENGTH_STYLE_32, LENGTH_STYLE_64, LENGTH_STYLE_128,
                                               LENGTH_STYLE_IN, LENGTH_STYLE_MM};
    static const int64_t heights[] = {-LENGTH_NM_MAX, -9999123457, -36115623, 50800, LENGTH_NM_MAX};
    for (size_t i = 0; i < COUNT(styles) * COUNT(heights); i++) {
        struct say say = {0};
        struct preset preset = {"12345678901234567890123456789012", heights[i / COUNT(styles)]};
        struct presets_widths widths = {PRESETS_NAME_COLUMNS, 0};
        presets_line(&say, &preset, &widths, styles[i % COUNT(styles)]);
        ck_assert_msg(strlen(say.text) <= SAY_COLUMNS + 1, "%s", say.text);
        ck_assert_ptr_eq(strchr(say.text, '\n'), say.text + say.used - 1);
    }
}
END_TEST

START_TEST(one_preset_is_said_exactly)
{
    static const struct {
        struct preset preset;
        enum length_style style;
        const char *said;
    } ones[] = {
        {{"drawer-groove", 6350000}, LENGTH_STYLE_64, "drawer-groove: 1/4in (6.35mm)"},
        {{"tenon", 9204325}, LENGTH_STYLE_64, "tenon: 23/64 + .003in (9.204325mm)"},
        {{"tenon", 9204325}, LENGTH_STYLE_MM, "tenon: 9.204325mm (.3624in)"},
        {{"a\033b", 0}, LENGTH_STYLE_64, "a?b: 0"},
    };
    for (size_t i = 0; i < COUNT(ones); i++) {
        struct say say = {0};
        presets_one(&say, &ones[i].preset, ones[i].style);
        ck_assert_str_eq(say.text, ones[i].said);
    }
}
END_TEST

START_TEST(a_name_that_is_taken_is_shown_with_both_heights)
{
    struct say say = {0};
    presets_taken(&say, &(struct preset){"a\033 groove", 9204325}, -6350000, LENGTH_STYLE_64);
    ck_assert_str_eq(say.text, "a? groove is kept already:\n"
                               "  now   23/64 + .003in (9.204325mm)\n"
                               "  new   -1/4in (-6.35mm)\n");
    say = (struct say){0};
    presets_taken(&say, &(struct preset){"tenon", 0}, 6350000, LENGTH_STYLE_MM);
    ck_assert_str_eq(say.text, "tenon is kept already:\n"
                               "  now   0\n"
                               "  new   6.35mm (.250in)\n");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("client_presets");
    TCase *reading = tcase_create("reading");
    TCase *text = tcase_create("text");
    tcase_add_test(reading, what_is_no_list_of_presets_is_refused);
    tcase_add_test(reading, presets_are_found_by_their_whole_name);
    tcase_add_test(reading, a_list_of_none_is_one);
    tcase_add_loop_test(text, the_table_stands_in_columns, 0, COUNT(tables));
    tcase_add_test(text, no_line_is_wider_than_a_terminal);
    tcase_add_test(text, one_preset_is_said_exactly);
    tcase_add_test(text, a_name_that_is_taken_is_shown_with_both_heights);
    suite_add_tcase(suite, reading);
    suite_add_tcase(suite, text);
    return run_suite(suite);
}
