/* SPDX-License-Identifier: MIT */
/*
 * The words of a command line. 1 in = 25.4 mm exactly (NIST SP 811 appendix B), so 1/64 in is
 * 396 875 nm; the rest follows by hand. The spellings are common practice, no source.
 */
#include <check.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/words.h"
#include "protocol/unit.h"
#include "tests/suite.h"

enum { WORDS_MOST = 6 };

/* A command line behind its subcommand, cut at '|' where the shell would cut it. */
struct line {
    char text[64];
    char *word[WORDS_MOST + 1];
    int count;
};

static void cut(struct line *line, const char *text)
{
    char *rest = line->text;
    line->count = 0;
    ck_assert_uint_lt(strlen(text), sizeof line->text);
    memcpy(line->text, text, strlen(text) + 1);
    for (char *word = strsep(&rest, "|"); word && *text; word = strsep(&rest, "|")) {
        ck_assert_int_lt(line->count, WORDS_MOST);
        line->word[line->count++] = word;
    }
    line->word[line->count] = NULL;
}

/* As main does it: shield, (option parser), join and read. */
static bool read_length(const char *text, enum length_bare bare, int64_t *nm, char *why)
{
    struct line line;
    cut(&line, text);
    char **word = words_shield(line.count, line.word);
    ck_assert_ptr_nonnull(word);
    bool read = words_length(line.count, word, bare, "a height, such as 3/8", nm, why);
    free(word);
    return read;
}

/* --- What is read --- */

static const struct {
    const char *text;
    enum length_bare bare;
    int64_t nm;
} readings[] = {
    {"3/8", LENGTH_BARE_IN, 9525000},
    {"-3/8", LENGTH_BARE_IN, -9525000},
    {"-1/64", LENGTH_BARE_IN, -396875},
    {"-1-7/16", LENGTH_BARE_IN, -36512500},
    {"1-7/16", LENGTH_BARE_IN, 36512500},
    {"1|7/16", LENGTH_BARE_IN, 36512500},
    {"-1|7/16", LENGTH_BARE_IN, -36512500},
    {"-.5", LENGTH_BARE_IN, -12700000},
    {"-.5", LENGTH_BARE_MM, -500000},
    {".375", LENGTH_BARE_IN, 9525000},
    {"9.5", LENGTH_BARE_MM, 9500000},
    {"9.5|mm", LENGTH_BARE_IN, 9500000},
    {"3/8|in", LENGTH_BARE_MM, 9525000},
    {"23/64|+|.003", LENGTH_BARE_IN, 9204325},
    {"23/64 + .003", LENGTH_BARE_IN, 9204325},
    {"23/64|+.003", LENGTH_BARE_IN, 9204325},
    {"45/64|-|.003", LENGTH_BARE_IN, 17783175},
    {"45/64|-.003", LENGTH_BARE_IN, 17783175},
    {"-45/64|+|.003", LENGTH_BARE_IN, -17783175},
    {"1|7/16|-|1/64", LENGTH_BARE_IN, 36115625},
    {"0", LENGTH_BARE_IN, 0},
    {"-0", LENGTH_BARE_IN, 0},
    {"-19mm", LENGTH_BARE_IN, -19000000},
};

START_TEST(heights_are_read_as_they_are_typed)
{
    int64_t nm = -1;
    char why[WORDS_WHY] = "";
    ck_assert_msg(read_length(readings[_i].text, readings[_i].bare, &nm, why), "'%s': %s",
                  readings[_i].text, why);
    ck_assert_msg(nm == readings[_i].nm, "'%s' is %" PRId64 " nm", readings[_i].text, nm);
    ck_assert_str_eq(why, "");
}
END_TEST

/* --- What is refused, and with which words in the sentence --- */

static const struct {
    const char *text;
    enum length_bare bare;
    const char *says;
} refusals[] = {
    {"", LENGTH_BARE_IN, "expected a height, such as 3/8"},
    {"3/8x", LENGTH_BARE_IN, "'3/8x': expected the unit in"},
    {"3/8", LENGTH_BARE_MM, "3/8 of what? write 3/8in"},
    {"-3/8", LENGTH_BARE_MM, "'-3/8': -3/8 of what? write -3/8in"},
    {"12,5", LENGTH_BARE_MM, "write 12.5 for 12,5"},
    {"-|3/8", LENGTH_BARE_IN, "'- 3/8': expected a digit"},
    {"1/0", LENGTH_BARE_IN, "denominator above zero"},
    {"drawer|groove", LENGTH_BARE_IN, "'drawer groove': expected a digit"},
    {"3/8|1/4", LENGTH_BARE_IN, "'3/8 1/4': expected"},
    {"99999", LENGTH_BARE_IN, "at most 10 m"},
};

START_TEST(what_is_no_height_is_refused_with_a_reason)
{
    int64_t nm = 42;
    char why[WORDS_WHY] = "";
    ck_assert(!read_length(refusals[_i].text, refusals[_i].bare, &nm, why));
    ck_assert_msg(strstr(why, refusals[_i].says) != NULL, "'%s' says: %s", refusals[_i].text, why);
    ck_assert_int_eq(nm, 42);
}
END_TEST

START_TEST(a_text_longer_than_any_height_is_refused_whole)
{
    char long_word[WORDS_SIZE];
    char text[WORDS_SIZE] = "x";
    char why[WORDS_WHY] = "";
    int64_t nm = 42;
    memset(long_word, '1', sizeof long_word);
    long_word[sizeof long_word - 1] = '\0';
    char *fits[] = {long_word};
    char *over[] = {long_word, long_word};
    ck_assert(words_join(1, fits, text, sizeof text));
    ck_assert_str_eq(text, long_word);
    ck_assert(!words_join(2, over, text, sizeof text));
    ck_assert_str_eq(text, "");
    ck_assert(!words_join(1, fits, text, sizeof text - 1));
    ck_assert(!words_length(2, over, LENGTH_BARE_IN, "a height", &nm, why));
    ck_assert_ptr_nonnull(strstr(why, "expected a height"));
    ck_assert_int_eq(nm, 42);
}
END_TEST

/* --- Before the option parser --- */

START_TEST(only_heights_below_zero_are_shielded)
{
    static char program[] = "reglet";
    static char height[] = "-3/8";
    static char point[] = "-.5";
    static char option[] = "-p";
    static char long_option[] = "--unit=mm";
    static char dash[] = "-";
    static char end[] = "--";
    static char positive[] = "3/8";
    char *word[] = {program, option, height, point, long_option, dash, end, positive, NULL};
    char **shielded = words_shield(8, word);
    ck_assert_ptr_nonnull(shielded);
    ck_assert_str_eq(shielded[2], " -3/8");
    ck_assert_str_eq(shielded[3], " -.5");
    for (int i = 0; i < 8; i++) {
        if (i != 2 && i != 3) {
            ck_assert_ptr_eq(shielded[i], word[i]);
        }
    }
    ck_assert_ptr_null(shielded[8]);
    ck_assert_str_eq(height, "-3/8");
    free(shielded);
}
END_TEST

START_TEST(heights_are_told_from_words)
{
    static const char *const heights[] = {"3/8", "-3/8", " -3/8", ".5", "-.5", "+1", "12mm"};
    static const char *const words[] = {"to", "", "-", "--", "-p", "all-clear", "x3", "+", "- 3"};
    for (size_t i = 0; i < sizeof heights / sizeof *heights; i++) {
        ck_assert_msg(words_is_height(heights[i]), "'%s'", heights[i]);
    }
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        ck_assert_msg(!words_is_height(words[i]), "'%s'", words[i]);
    }
}
END_TEST

/* --- The subcommands' own rules --- */

START_TEST(a_nudge_is_above_zero_and_two_thousandths_by_itself)
{
    int64_t nm = 0;
    char why[WORDS_WHY] = "";
    struct line line;
    cut(&line, "");
    ck_assert(words_nudge(line.count, line.word, LENGTH_BARE_MM, &nm, why));
    ck_assert_int_eq(nm, 50800); /* .002 in, also in a millimetre shop */
    cut(&line, "1/64");
    ck_assert(words_nudge(line.count, line.word, LENGTH_BARE_IN, &nm, why));
    ck_assert_int_eq(nm, 396875);
    static const char *const wrong[] = {"0", "-1/64", "-.1mm"};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        cut(&line, wrong[i]);
        ck_assert_msg(!words_nudge(line.count, line.word, LENGTH_BARE_IN, &nm, why), "'%s'",
                      wrong[i]);
        ck_assert_ptr_nonnull(strstr(why, "above zero"));
    }
    cut(&line, "far");
    ck_assert(!words_nudge(line.count, line.word, LENGTH_BARE_IN, &nm, why));
    ck_assert_ptr_nonnull(strstr(why, "'far': expected a digit"));
}
END_TEST

static const struct {
    const char *text;
    enum words_touch_by by; /* 0: refused */
    int64_t nm;
    const char *says; /* the preset's name; or what is said of the refusal */
} touches[] = {
    {"flush", WORDS_TOUCH_HEIGHT, 0, NULL},
    {"1/4", WORDS_TOUCH_HEIGHT, 6350000, NULL},
    {"1|7/16", WORDS_TOUCH_HEIGHT, 36512500, NULL},
    {"-1/8", WORDS_TOUCH_HEIGHT, -3175000, NULL},
    {"block|1/4", WORDS_TOUCH_BLOCK, 6350000, NULL},
    {"block|1|1/2", WORDS_TOUCH_BLOCK, 38100000, NULL},
    {"drawer-groove", WORDS_TOUCH_PRESET, 0, "drawer-groove"},
    {"drawer side", WORDS_TOUCH_PRESET, 0, "drawer side"},
    {"flushed", WORDS_TOUCH_PRESET, 0, "flushed"},
    {"plate", WORDS_TOUCH_PLATE, 0, NULL},
    {"readout", WORDS_TOUCH_READOUT, 0, NULL},
    {"", 0, 0, "expected flush, block, plate, readout, the name of a preset, or the height"},
    {"flush|1/4", 0, 0, "'1/4' is another word"},
    {"plate|1/4", 0, 0, "'1/4' is another word"},
    {"block", 0, 0, "expected the thickness of the block"},
    {"block|thin", 0, 0, "'thin': expected a digit"},
    {"1/0", 0, 0, "'1/0'"},
    {"drawer|side", 0, 0, "'side' is another word"},
};

START_TEST(a_touch_off_is_a_height_a_block_a_preset_or_the_plate)
{
    char why[WORDS_WHY] = "";
    struct line line;
    struct words_touch touch;
    cut(&line, touches[_i].text);
    bool read = words_touch(line.count, line.word, LENGTH_BARE_IN, &touch, why);
    ck_assert_msg(read == (touches[_i].by != 0), "'%s': %s", touches[_i].text, why);
    if (read) {
        ck_assert_int_eq(touch.by, touches[_i].by);
        ck_assert_int_eq(touch.nm, touches[_i].nm);
        ck_assert_pstr_eq(touch.name, touches[_i].says);
        ck_assert_str_eq(why, "");
    } else {
        ck_assert_msg(strstr(why, touches[_i].says) != NULL, "'%s' says: %s", touches[_i].text,
                      why);
    }
}
END_TEST

START_TEST(a_name_is_one_word_and_a_new_one_is_no_height)
{
    static const struct {
        const char *text;
        const char *only;     /* the name, or NULL where `says` is said */
        const char *new_name; /* the same for a new one */
        const char *only_says;
        const char *new_says;
    } names[] = {
        {"drawer-groove", "drawer-groove", "drawer-groove", NULL, NULL},
        {"drawer side", "drawer side", "drawer side", NULL, NULL},
        {"6mm slot", "6mm slot", "6mm slot", NULL, NULL},
        {"-3/8 rabbet", "-3/8 rabbet", "-3/8 rabbet", NULL, NULL},
        {"drawer|side", NULL, "drawer", "'side' is another word", NULL},
        {"tenon|3/8", NULL, "tenon", "'3/8' is another word", NULL},
        /* One that another client has made can be recalled and forgotten. */
        {"6mm", "6mm", NULL, NULL, "'6mm' is a height; expected a name before it"},
        {"-3/8", "-3/8", NULL, NULL, "'-3/8' is a height"},
        {"1|7/16", NULL, NULL, "'7/16' is another word", "'1' is a height"},
        {"", NULL, NULL, "expected the name of a preset", "expected the name of a preset"},
    };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct line line;
        char only_why[WORDS_WHY] = "";
        char new_why[WORDS_WHY] = "";
        cut(&line, names[i].text);
        char **word = words_shield(line.count, line.word);
        ck_assert_ptr_nonnull(word);
        ck_assert_pstr_eq(words_only_name(line.count, word, only_why), names[i].only);
        ck_assert_pstr_eq(words_new_name(line.count, word, new_why), names[i].new_name);
        ck_assert_ptr_nonnull(strstr(only_why, names[i].only_says ? names[i].only_says : ""));
        ck_assert_ptr_nonnull(strstr(new_why, names[i].new_says ? names[i].new_says : ""));
        ck_assert((only_why[0] == '\0') == (names[i].only != NULL));
        ck_assert((new_why[0] == '\0') == (names[i].new_name != NULL));
        free(word);
    }
}
END_TEST

#define TEN "xxxxxxxxxx"
#define SIXTY TEN TEN TEN TEN TEN TEN

/* The rules of protocol/LOCAL.md, and RFC 3629 for what is no UTF-8: a byte that begins nothing, a
 * character cut off, a surrogate, a slash in two bytes. */
START_TEST(no_name_goes_out_that_no_preset_can_have)
{
    static const struct {
        const char *name;
        const char *says; /* NULL: it is a name */
    } names[] = {
        {SIXTY "xxx", NULL},
        {SIXTY "x\303\251", NULL},
        {SIXTY "xxxx", "at most 63 bytes"},
        {SIXTY "xx\303\251", "at most 63 bytes"},
        {"n\303\251 \342\200\223 \360\237\252\232", NULL},
        {"3/4\" \\ bit\"", NULL},
        {"two  blanks", NULL},
        {"groove ", "no blank at its end"},
        {"groo\tve", "no control characters"},
        {"groove\n", "no control characters"},
        {"groove\177", "no control characters"},
        {" ", "expected the name of a preset"},
        {"groove\377", "UTF-8"},
        {"groove\303", "UTF-8"},
        {"\355\240\200", "UTF-8"},
        {"a\300\257b", "UTF-8"},
    };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char text[100];
        char *word[] = {text, NULL};
        char only_why[WORDS_WHY] = "";
        char new_why[WORDS_WHY] = "";
        (void)snprintf(text, sizeof text, "%s", names[i].name);
        const char *name = names[i].says ? NULL : names[i].name;
        ck_assert_pstr_eq(words_only_name(1, word, only_why), name);
        ck_assert_pstr_eq(words_new_name(1, word, new_why), name);
        ck_assert_str_eq(only_why, new_why);
        ck_assert_msg(names[i].says ? strstr(new_why, names[i].says) != NULL : new_why[0] == '\0',
                      "%s: %s", names[i].name, new_why);
    }
}
END_TEST

START_TEST(units_are_named_and_say_how_a_bare_decimal_is_read)
{
    static const struct {
        const char *word;
        enum length_style style;
        enum length_bare bare;
    } units[] = {
        {"in", LENGTH_STYLE_IN, LENGTH_BARE_IN},   {"mm", LENGTH_STYLE_MM, LENGTH_BARE_MM},
        {"32", LENGTH_STYLE_32, LENGTH_BARE_IN},   {"64", LENGTH_STYLE_64, LENGTH_BARE_IN},
        {"128", LENGTH_STYLE_128, LENGTH_BARE_IN},
    };
    static const char *const wrong[] = {"", "IN", "cm", "6", "640", "in "};
    enum length_style style;
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        ck_assert(unit_style(units[i].word, &style));
        ck_assert_int_eq(style, units[i].style);
        ck_assert_int_eq(words_bare(style), units[i].bare);
    }
    style = LENGTH_STYLE_MM;
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        ck_assert_msg(!unit_style(wrong[i], &style), "'%s'", wrong[i]);
        ck_assert_int_eq(style, LENGTH_STYLE_MM);
    }
}
END_TEST

START_TEST(lengths_go_out_exact_and_with_their_unit)
{
    static const struct {
        int64_t nm;
        const char *text;
    } lengths[] = {{9525000, "{\"height\":\"9.525mm\"}"},
                   {-396875, "{\"height\":\"-0.396875mm\"}"},
                   {0, "{\"height\":\"0mm\"}"}};
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++) {
        cJSON *params = words_params("height", lengths[i].nm);
        char *text = cJSON_PrintUnformatted(params);
        ck_assert_str_eq(text, lengths[i].text);
        cJSON_free(text);
        cJSON_Delete(params);
    }
}
END_TEST

START_TEST(a_name_and_a_height_go_out_together)
{
    cJSON *params = words_params_text("name", "drawer \"1\"");
    ck_assert(words_add_length(params, "height", -396875));
    char *text = cJSON_PrintUnformatted(params);
    ck_assert_str_eq(text, "{\"name\":\"drawer \\\"1\\\"\",\"height\":\"-0.396875mm\"}");
    cJSON_free(text);
    cJSON_Delete(params);
    ck_assert(!words_add_length(NULL, "height", 0)); /* after a want of memory */
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("client_words");
    TCase *reading = tcase_create("reading");
    TCase *rules = tcase_create("rules");
    tcase_add_loop_test(reading, heights_are_read_as_they_are_typed, 0,
                        sizeof readings / sizeof *readings);
    tcase_add_loop_test(reading, what_is_no_height_is_refused_with_a_reason, 0,
                        sizeof refusals / sizeof *refusals);
    tcase_add_test(reading, a_text_longer_than_any_height_is_refused_whole);
    tcase_add_test(rules, only_heights_below_zero_are_shielded);
    tcase_add_test(rules, heights_are_told_from_words);
    tcase_add_test(rules, a_nudge_is_above_zero_and_two_thousandths_by_itself);
    tcase_add_loop_test(rules, a_touch_off_is_a_height_a_block_a_preset_or_the_plate, 0,
                        sizeof touches / sizeof *touches);
    tcase_add_test(rules, a_name_is_one_word_and_a_new_one_is_no_height);
    tcase_add_test(rules, no_name_goes_out_that_no_preset_can_have);
    tcase_add_test(rules, units_are_named_and_say_how_a_bare_decimal_is_read);
    tcase_add_test(rules, lengths_go_out_exact_and_with_their_unit);
    tcase_add_test(rules, a_name_and_a_height_go_out_together);
    suite_add_tcase(suite, reading);
    suite_add_tcase(suite, rules);
    return run_suite(suite);
}
