/* SPDX-License-Identifier: MIT */
/* The log in plain sentences, and the table's surface through the seasons. */
#include <check.h>
#include <stdlib.h>

#include "clients/common/show_log.h"
#include "tests/suite.h"

#define AT(time) "\"time\":\"2026-01-31T" time "Z\",\"reference\":\"sure\",\"table_zero\":\"sure\""

static void show_all(struct say *say, const char *const *lines, enum length_style style)
{
    static struct show_log log;
    log = (struct show_log){.style = style};
    for (; *lines; lines++) {
        cJSON *line = cJSON_Parse(*lines);
        ck_assert_ptr_nonnull(line);
        show_log_line(say, &log, line);
        cJSON_Delete(line);
    }
    show_log_end(say, &log);
}

START_TEST(a_day_is_told_in_sentences)
{
    static const char *const lines[] = {
        "{\"event\":\"top-found\",\"what\":\"w\"," AT("08:02:10") ",\"who\":\"reglet\"}",
        "{\"event\":\"fitted\",\"what\":\"w\",\"bit\":\"straight-half\"," AT("08:03:10") "}",
        "{\"event\":\"touched-off\",\"what\":\"w\",\"bit\":\"straight-half\",\"height_nm\":0,"
        "\"moved_nm\":-50800," AT("08:05:00") "}",
        "{\"event\":\"reached\",\"what\":\"w\",\"height_nm\":9525000," AT("08:06:00") "}",
        "{\"event\":\"reached\",\"what\":\"w\",\"height_nm\":9921875," AT("08:06:20") "}",
        "{\"event\":\"reached\",\"what\":\"w\",\"height_nm\":6350000,\"preset\":\"drawer-groove\","
        "\"who\":\"reglet-pedal\"," AT("08:20:00") "}",
        "{\"event\":\"corrected\",\"what\":\"w\",\"by_nm\":50800,\"height_nm\":6299200," AT(
            "08:21:00") "}",
        "{\"event\":\"riding\",\"what\":\"w\",\"riding_nm\":9525000," AT("08:22:00") "}",
        "{\"event\":\"refused\",\"what\":\"to, asked by reglet (user 1): no.\"," AT("09:00:00") "}",
        "{}",
        "{\"event\":\"sung\",\"what\":\"a song\"," AT("09:10:00") "}",
        NULL};
    struct say say = {0};
    show_all(&say, lines, LENGTH_STYLE_64);
    ck_assert_str_eq(
        say.text,
        "Saturday, 2026-01-31\n"
        "  08:02  Found the top.\n"
        "  08:03  Fitted straight-half.\n"
        "  08:05  Touched off 'straight-half': it stood at 0; its zero is .002in lower\n"
        "         than before.\n"
        "  08:06  Moved 2 times, at last to 25/64in (9.922mm).\n"
        "  08:20  Moved to 1/4in (6.35mm), drawer-groove. (by reglet-pedal)\n"
        "  08:21  Corrected by a test cut: the bit .002in higher, and still called 1/4in\n"
        "         (6.35mm).\n"
        "  08:22  The work rides on 3/8in (9.525mm) from here on.\n"
        "  09:00  Refused: to, asked by reglet (user 1): no.\n"
        "  09:10  a song\n");
}
END_TEST

START_TEST(days_have_headings_and_moves_far_apart_are_told_apart)
{
    static const char *const lines[] = {
        "{\"event\":\"reached\",\"height_nm\":1000000,\"time\":\"2026-01-30T23:50:00Z\"}",
        "{\"event\":\"reached\",\"height_nm\":2000000,\"time\":\"2026-01-31T00:10:00Z\"}",
        "{\"event\":\"reached\",\"time\":\"never\"}", NULL};
    struct say say = {0};
    show_all(&say, lines, LENGTH_STYLE_MM);
    ck_assert_str_eq(say.text, "Friday, 2026-01-30\n"
                               "  23:50  Moved to 1mm (.0394in).\n"
                               "Saturday, 2026-01-31\n"
                               "  00:10  Moved to 2mm (.0787in).\n");
}
END_TEST

START_TEST(the_surface_is_compared_with_where_it_was_first)
{
    struct say say = {0};
    cJSON *points = cJSON_Parse(
        "[{\"time\":\"2026-01-31T09:00:00Z\",\"pin\":\"pin\",\"position_nm\":-20000000},"
        "{\"time\":\"2026-04-30T09:00:00Z\",\"pin\":\"pin\",\"position_nm\":-20101600},"
        "{\"time\":\"2026-07-31T09:00:00Z\",\"pin\":\"pin\",\"position_nm\":-19949200},"
        "{\"time\":\"2026-07-31T09:00:00Z\",\"pin\":\"pin\",\"position_nm\":-20000100}]");
    show_log_surface(&say, points, LENGTH_STYLE_64);
    ck_assert_str_eq(say.text, "  2026-01-31   pin   the first: what the others are compared with\n"
                               "  2026-04-30   pin   .004in lower\n"
                               "  2026-07-31   pin   .002in higher\n"
                               "  2026-07-31   pin   where it was\n");
    cJSON_Delete(points);
}
END_TEST

START_TEST(only_a_whole_time_is_one)
{
    time_t when;
    ck_assert(show_log_time("1970-01-01T00:01:00Z", &when) && when == 60);
    ck_assert(!show_log_time("2026-01-31", &when));
    ck_assert(!show_log_time("2026-01-31T09:00:00Zx", &when));
    ck_assert(!show_log_time("", &when));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("client_show_log");
    TCase *cases = tcase_create("client_show_log");
    setenv("TZ", "UTC", 1);
    setenv("LC_ALL", "C", 1);
    tcase_add_test(cases, a_day_is_told_in_sentences);
    tcase_add_test(cases, days_have_headings_and_moves_far_apart_are_told_apart);
    tcase_add_test(cases, the_surface_is_compared_with_where_it_was_first);
    tcase_add_test(cases, only_a_whole_time_is_one);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
