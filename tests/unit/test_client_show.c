/* SPDX-License-Identifier: MIT */
/*
 * Status objects as text. The statuses of the tables are of the shape that regletd answers. Lengths
 * by 1 in = 25.4 mm exactly (NIST SP 811 appendix B).
 */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/show.h"
#include "protocol/json.h"
#include "tests/suite.h"
#include "tests/unit/client_screen.h"

/* --- The bare status --- */

static const struct screen statuses[] = {
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"practice\":false}", LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table\n"
     "\n"
     "Trust:   sure: counted without a break since the last touch-off\n"
     "Lift:    still\n"},
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"practice\":true}", LENGTH_STYLE_MM,
     "  9.525mm   (.375in)   above the table   PRACTICE\n"
     "\n"
     "Trust:   sure: counted without a break since the last touch-off\n"
     "Lift:    still\n"},
    {"{" STILL ",\"table_zero\":\"sure\",\"height_nm\":-9204325,\"play\":\"taken-up\"}",
     LENGTH_STYLE_64,
     "  -23/64 - .003in   (-9.204mm)   below the table\n"
     "\n"
     "Trust:   sure: counted without a break since the last touch-off\n"
     "Lift:    still\n"},
    {"{" STILL ",\"table_zero\":\"sure\",\"height_nm\":0,\"play\":\"open\"}", LENGTH_STYLE_IN,
     "  .000in   flush with the table; lash open\n"
     "\n"
     "Trust:   sure but for the lash, which is not taken up: the bit may stand off\n"
     "         this height by that much until the next move has ended\n"
     "Lift:    still\n"},
    {"{\"activity\":\"moving\",\"table_zero\":\"sure\",\"height_nm\":6747000,\"age_ms\":6,"
     "\"going_to\":\"9.525mm\",\"going_to_nm\":9525000,\"play\":\"open\",\"practice\":true}",
     LENGTH_STYLE_64,
     "  17/64in   (6.747mm)   above the table; moving   PRACTICE\n"
     "\n"
     "Trust:   sure: counted without a break since the last touch-off\n"
     "Lift:    moving to 3/8in (9.525mm)\n"
     "Next:    'reglet -p stop' stops it\n"},
    {"{\"activity\":\"moving\",\"table_zero\":\"lost\",\"position_nm\":1000000,"
     "\"going_to_position_nm\":7350000,\"play\":\"open\"}",
     LENGTH_STYLE_64,
     "  HEIGHT NOT KNOWN; moving\n"
     "\n"
     "Trust:   none: the lift does not know where this bit stands\n"
     "Lift:    moving, 1/4in (6.35mm) still to go up\n"
     "Next:    'reglet stop' stops it\n"},
    {"{\"activity\":\"braking\"," SURE ",\"play\":\"open\"}", LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table; braking\n"
     "\n"
     "Trust:   sure: counted without a break since the last touch-off\n"
     "Lift:    braking; it is at rest in a moment\n"
     "Next:    'reglet stop' stops it\n"},
    {"{" STILL ",\"table_zero\":\"lost\",\"position_nm\":1000000,\"play\":\"unknown\"}",
     LENGTH_STYLE_64,
     "  HEIGHT NOT KNOWN\n"
     "\n"
     "Trust:   none: the lift does not know where this bit stands\n"
     "Lift:    still\n"
     "Next:    touch off, so that the lift knows where the bit is:\n"
     "         1. Unplug the router before your hands go near the bit: switched off\n"
     "            is not enough. The makers' manuals come first.\n"
     "         2. Bring the bit to a height that you can see or measure: from afar by\n"
     "            'reglet hold up' or 'reglet hold down', then by 'reglet up' or\n"
     "            'reglet down 1/64in'. Come up to it, so that the lash is taken up.\n"
     "         3. Say that height: 'reglet touch flush', or 'reglet touch 1/4in'\n"
     "            where it just meets a setup block of 1/4in.\n"},
    {"{\"activity\":\"unplugged\"," SURE ",\"play\":\"taken-up\",\"practice\":true,"
     "\"why\":\"the serial port is gone\"}",
     LENGTH_STYLE_64,
     "  NO ANSWER   last known height 3/8in (9.525mm)   PRACTICE\n"
     "\n"
     "Trust:   not the present height, but the last that was known; it was sure then\n"
     "Lift:    nothing can move: the serial port is gone\n"
     "Next:    check its cable and its supply; it is found again by itself. Look\n"
     "         where the bit stands before you go on.\n"},
    {"{\"activity\":\"unplugged\",\"table_zero\":\"lost\",\"play\":\"unknown\",\"why\":\"\"}",
     LENGTH_STYLE_64,
     "  NO ANSWER   height not known\n"
     "\n"
     "Trust:   none: the lift does not know where this bit stands\n"
     "Lift:    nothing can move: there is no step generator\n"
     "Next:    check its cable and its supply; it is found again by itself. Look\n"
     "         where the bit stands before you go on.\n"},
    {"{\"activity\":\"barred\"," SURE ",\"stop_open\":true,\"play\":\"taken-up\","
     "\"why\":\"the stop circuit was opened\"}",
     LENGTH_STYLE_64,
     "  BARRED   last known height 3/8in (9.525mm)\n"
     "\n"
     "Trust:   not the present height, but the last that was known; it was sure then\n"
     "Lift:    nothing can move: the stop circuit is open\n"
     "Next:    see why it was opened, and close it. When that is put right and hands\n"
     "         and work are clear of the bit: 'reglet all-clear'\n"},
    {"{\"activity\":\"barred\"," SURE ",\"stop_open\":false,\"play\":\"taken-up\","
     "\"practice\":true,\"why\":\"the stop circuit was opened\"}",
     LENGTH_STYLE_128,
     "  BARRED   last known height 3/8in (9.525mm)   PRACTICE\n"
     "\n"
     "Trust:   not the present height, but the last that was known; it was sure then\n"
     "Lift:    nothing can move until all-clear: the stop circuit was opened\n"
     "Next:    see why. When that is put right and hands and work are clear of the\n"
     "         bit: 'reglet -p all-clear'\n"},
    {"{\"activity\":\"still\"," SURE ",\"play\":\"taken-up\",\"age_ms\":2500}", LENGTH_STYLE_64,
     "  OLD   last known height 3/8in (9.525mm)\n"
     "\n"
     "Trust:   not the present height, but the last that was known; it was sure then\n"
     "Lift:    still\n"
     "Next:    the step generator was heard 2500 ms ago; look where the bit stands,\n"
     "         and ask again in a second\n"},
    {"{" STILL ",\"table_zero\":\"unchecked\",\"height_nm\":9525000,\"play\":\"taken-up\"}",
     LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   UNCHECKED\n"
     "\n"
     "Trust:   unchecked: the screw may have turned since this height was sure\n"
     "Lift:    still\n"
     "Next:    unplug the router, and compare the bit with a rule or a setup block.\n"
     "         It stands at this height: 'reglet confirm'\n"
     "         It does not: 'reglet find-top', or touch off again\n"},
    {"{\"activity\":\"unpowered\",\"table_zero\":\"unchecked\",\"height_nm\":9525000,"
     "\"play\":\"taken-up\"}",
     LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   UNCHECKED\n"
     "\n"
     "Trust:   unchecked: the screw may have turned since this height was sure\n"
     "Lift:    still; its motor has no supply\n"
     "Next:    switch the motor's supply on; the screw may have turned meanwhile, so\n"
     "         compare the bit then, with the router unplugged\n"},
    {"{\"activity\":\"unpowered\",\"table_zero\":\"lost\",\"play\":\"unknown\"}", LENGTH_STYLE_64,
     "  HEIGHT NOT KNOWN\n"
     "\n"
     "Trust:   none: the lift does not know where this bit stands\n"
     "Lift:    still; its motor has no supply\n"
     "Next:    switch the motor's supply on; then touch off, with the router\n"
     "         unplugged\n"},
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"why\":\"the disk is full\"}", LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table\n"
     "\n"
     "Trust:   sure: counted without a break since the last touch-off\n"
     "Lift:    still\n"
     "Note:    the disk is full\n"},
    /* The lift's own travel: said only where nothing else is to be said. */
    {"{" STILL "," SURE ",\"reference\":\"lost\",\"play\":\"taken-up\",\"practice\":true}",
     LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table   PRACTICE\n"
     "\n"
     "Trust:   sure: counted without a break since the last touch-off\n"
     "Lift:    still\n"
     "Next:    it moves slowly until it knows its own travel: 'reglet -p find-top',\n"
     "         or 'reglet -p here --top' where there is no switch\n"},
    {"{" STILL "," SURE ",\"reference\":\"unchecked\",\"play\":\"taken-up\"}", LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table\n"
     "\n"
     "Trust:   sure: counted without a break since the last touch-off\n"
     "Lift:    still\n"},
    {"{" STILL ",\"table_zero\":\"unchecked\",\"height_nm\":9525000,\"reference\":\"lost\","
     "\"play\":\"taken-up\",\"practice\":true,\"preset\":\"drawer-groove\"}",
     LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   UNCHECKED   PRACTICE\n"
     "\n"
     "Trust:   unchecked: the screw may have turned since this height was sure\n"
     "Lift:    still\n"
     "Next:    unplug the router, and compare the bit with a rule or a setup block.\n"
     "         It stands at this height: 'reglet -p confirm'\n"
     "         It does not: 'reglet -p find-top', or touch off again\n"},
    /* The kept height at which it stands. */
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"preset\":\"drawer-groove\"}", LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table\n"
     "\n"
     "At:      drawer-groove\n"
     "Trust:   sure: counted without a break since the last touch-off\n"
     "Lift:    still\n"},
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"preset\":\"a\\u009b31mb\"}", LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table\n"
     "\n"
     "At:      a?31mb\n"
     "Trust:   sure: counted without a break since the last touch-off\n"
     "Lift:    still\n"},
    {"{\"activity\":\"barred\"," SURE ",\"play\":\"taken-up\",\"why\":\"it slipped\","
     "\"preset\":\"drawer-groove\"}",
     LENGTH_STYLE_64,
     "  BARRED   last known height 3/8in (9.525mm)\n"
     "\n"
     "Trust:   not the present height, but the last that was known; it was sure then\n"
     "Lift:    nothing can move until all-clear: it slipped\n"
     "Next:    see why. When that is put right and hands and work are clear of the\n"
     "         bit: 'reglet all-clear'\n"},
    /* Without a step generator the height has another name. */
    {"{\"activity\":\"unplugged\",\"table_zero\":\"sure\",\"last_height\":\"9.525mm\","
     "\"last_height_nm\":9525000,\"play\":\"taken-up\",\"why\":\"\"}",
     LENGTH_STYLE_64,
     "  NO ANSWER   last known height 3/8in (9.525mm)\n"
     "\n"
     "Trust:   not the present height, but the last that was known; it was sure then\n"
     "Lift:    nothing can move: there is no step generator\n"
     "Next:    check its cable and its supply; it is found again by itself. Look\n"
     "         where the bit stands before you go on.\n"},
    {"{\"activity\":\"unplugged\",\"table_zero\":\"lost\",\"last_height_nm\":9525000,"
     "\"play\":\"taken-up\",\"why\":\"\"}",
     LENGTH_STYLE_64,
     "  NO ANSWER   height not known\n"
     "\n"
     "Trust:   none: the lift does not know where this bit stands\n"
     "Lift:    nothing can move: there is no step generator\n"
     "Next:    check its cable and its supply; it is found again by itself. Look\n"
     "         where the bit stands before you go on.\n"},
    /* Of a newer daemon: what is not understood is not taken for the present. */
    {"{\"activity\":\"dancing\"," SURE ",\"play\":\"taken-up\",\"feet\":[2]}", LENGTH_STYLE_64,
     "  NOT UNDERSTOOD   last known height 3/8in (9.525mm)\n"
     "\n"
     "Trust:   not the present height, but the last that was known; it was sure then\n"
     "Lift:    'dancing', a word that this reglet does not know yet\n"},
};

START_TEST(a_status_reads_as_it_should)
{
    check_screen(&statuses[_i], show_status);
}
END_TEST

/* --- Behind a motion --- */

static const struct screen rests[] = {
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"practice\":true}", LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table   PRACTICE\n"},
    {"{" STILL "," SURE ",\"play\":\"taken-up\",\"reference\":\"lost\",\"preset\":\"tenon\"}",
     LENGTH_STYLE_64, "  3/8in   (9.525mm)   above the table\n"},
    /* 250 nm is a fifth of a practice step: flush, and no "0 above the table". */
    {"{" STILL ",\"table_zero\":\"sure\",\"height_nm\":250,\"play\":\"taken-up\"}", LENGTH_STYLE_64,
     "  0   flush with the table\n"},
    /* A lost height is none, even where one is given. */
    {"{" STILL ",\"table_zero\":\"lost\",\"height_nm\":9525000,\"play\":\"taken-up\"}",
     LENGTH_STYLE_64,
     "  HEIGHT NOT KNOWN\n"
     "Next:    router unplugged; when you have come up to a height that you can see\n"
     "         or measure: 'reglet touch flush', or 'reglet touch HEIGHT'\n"},
    {"{" STILL "," SURE ",\"play\":\"unknown\"}", LENGTH_STYLE_64,
     "  3/8in   (9.525mm)   above the table; lash unknown\n"
     "Trust:   sure but for the lash, which may not be taken up: the bit may stand\n"
     "         off this height by that much until the next move has ended\n"
     "Lift:    still\n"},
};

START_TEST(a_rest_says_only_what_is_out_of_the_ordinary)
{
    check_screen(&rests[_i], show_rest);
}
END_TEST

START_TEST(a_top_is_said_to_be_known_only_where_it_is)
{
    static const char *const references[] = {"sure", "unchecked", "lost"};
    for (size_t i = 0; i < COUNT(references); i++) {
        char json[200];
        struct say rest = {0};
        struct say top = {0};
        struct show_lift lift;
        (void)snprintf(json, sizeof json, "{" STILL "," SURE ",\"reference\":\"%s\"}",
                       references[i]);
        cJSON *status = read_status(json, &lift);
        say_add(&rest, i == 0 ? "The top is known, and with it the lift's own travel.\n" : "");
        show_rest(&rest, &lift, LENGTH_STYLE_64);
        show_top(&top, &lift, LENGTH_STYLE_64);
        ck_assert_str_eq(top.text, rest.text);
        cJSON_Delete(status);
    }
}
END_TEST

/* --- What a last height is not --- */

START_TEST(a_last_height_is_never_one_of_now)
{
    static const char *const present[] = {"still", "moving", "braking", "unpowered"};
    static const char *const absent[] = {"unplugged", "barred", "dancing"};
    char json[200];
    struct show_lift lift;
    for (size_t i = 0; i < COUNT(present) + COUNT(absent); i++) {
        bool now = i < COUNT(present);
        (void)snprintf(json, sizeof json,
                       "{\"activity\":\"%s\",\"table_zero\":\"sure\",\"last_height_nm\":9525000}",
                       now ? present[i] : absent[i - COUNT(present)]);
        cJSON *status = read_status(json, &lift);
        ck_assert_msg(lift.height_known == !now, "%s", json);
        ck_assert_int_eq(lift.height_nm, now ? 0 : 9525000);
        ck_assert(!show_stands(&lift));
        cJSON_Delete(status);
    }
}
END_TEST

/* --- Progress --- */

static const struct screen progress[] = {
    {"{\"activity\":\"moving\",\"table_zero\":\"sure\",\"height_nm\":6747000,\"age_ms\":6,"
     "\"going_to_nm\":9525000,\"play\":\"open\",\"practice\":true}",
     LENGTH_STYLE_64, "  at 17/64in, going to 3/8in   PRACTICE"},
    {"{\"activity\":\"moving\",\"table_zero\":\"lost\",\"position_nm\":0,"
     "\"going_to_position_nm\":-6350000}",
     LENGTH_STYLE_64, "  height not known, 1/4in still to go down"},
    {"{\"activity\":\"braking\",\"table_zero\":\"sure\",\"height_nm\":6350000,"
     "\"going_to_nm\":9525000}",
     LENGTH_STYLE_MM, "  at 6.35mm, braking"},
    {"{\"activity\":\"moving\",\"table_zero\":\"sure\",\"height_nm\":6350000,\"age_ms\":1001}",
     LENGTH_STYLE_MM, "  OLD: height not known"},
    /* Looking for the top there is no height to go to. */
    {"{\"activity\":\"moving\",\"table_zero\":\"sure\",\"height_nm\":6350000}", LENGTH_STYLE_64,
     "  at 1/4in, moving"},
    {"{\"activity\":\"moving\",\"table_zero\":\"lost\",\"position_nm\":0}", LENGTH_STYLE_64,
     "  height not known, moving"},
};

START_TEST(progress_is_one_line_that_fits)
{
    char line[SHOW_LINE_SIZE];
    struct show_lift lift;
    cJSON *status = read_status(progress[_i].json, &lift);
    show_progress(&lift, progress[_i].style, 79, line, sizeof line);
    ck_assert_str_eq(line, progress[_i].text);
    for (size_t columns = 0; columns <= strlen(progress[_i].text); columns++) {
        show_progress(&lift, progress[_i].style, columns, line, sizeof line);
        ck_assert_uint_eq(strlen(line), columns);
        ck_assert_int_eq(strncmp(line, progress[_i].text, columns), 0);
    }
    show_progress(&lift, progress[_i].style, 79, line, 8); /* a small buffer cuts as well */
    ck_assert_uint_eq(strlen(line), 7);
    cJSON_Delete(status);
}
END_TEST

/* --- What is no status --- */

START_TEST(what_is_no_status_is_refused)
{
    static const char *const wrong[] = {"{}",
                                        "[]",
                                        "null",
                                        "7",
                                        "{\"activity\":\"still\"}",
                                        "{\"table_zero\":\"sure\"}",
                                        "{\"activity\":1,\"table_zero\":\"sure\"}",
                                        "{\"activity\":\"\",\"table_zero\":\"sure\"}"};
    struct show_lift lift;
    struct json_fault fault;
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        cJSON *status = json_parse(wrong[i], strlen(wrong[i]), &fault);
        ck_assert_ptr_nonnull(status);
        ck_assert_msg(!show_read(status, &lift), "%s", wrong[i]);
        cJSON_Delete(status);
    }
    ck_assert(!show_read(NULL, &lift));
}
END_TEST

/* --- Lengths and paragraphs --- */

START_TEST(lengths_are_said_with_their_unit)
{
    static const struct {
        int64_t nm;
        enum length_style style;
        const char *both;
        const char *exact;
    } lengths[] = {
        {9525000, LENGTH_STYLE_64, "3/8in (9.525mm)", "3/8in (9.525mm)"},
        {9525000, LENGTH_STYLE_MM, "9.525mm (.375in)", "9.525mm (.375in)"},
        {9525000, LENGTH_STYLE_IN, ".375in (9.525mm)", ".375in (9.525mm)"},
        {9204325, LENGTH_STYLE_64, "23/64 + .003in (9.204mm)", "23/64 + .003in (9.204325mm)"},
        {-396875, LENGTH_STYLE_64, "-1/64in (-0.397mm)", "-1/64in (-0.396875mm)"},
        {50800, LENGTH_STYLE_64, ".002in (0.051mm)", ".002in (0.0508mm)"},
        {50800, LENGTH_STYLE_MM, "0.051mm (.002in)", "0.0508mm (.002in)"},
        {25400000, LENGTH_STYLE_32, "1in (25.4mm)", "1in (25.4mm)"},
        {0, LENGTH_STYLE_64, "0", "0"},
        {499, LENGTH_STYLE_64, "0", "0 (0.000499mm)"},
    };
    char text[SAY_LENGTH_SIZE];
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++) {
        say_both(lengths[i].nm, lengths[i].style, text, sizeof text);
        ck_assert_str_eq(text, lengths[i].both);
        say_exact(lengths[i].nm, lengths[i].style, text, sizeof text);
        ck_assert_str_eq(text, lengths[i].exact);
    }
}
END_TEST

START_TEST(what_comes_from_a_socket_does_nothing_to_a_terminal)
{
    static const struct {
        const char *text;
        const char *said;
    } texts[] = {
        {"a\033[2Jb\tc\177", "a?[2Jb?c?\n"},
        {"\302\23331m \303\251 \342\200\223", "?31m \303\251 \342\200\223\n"}, /* U+009B, é, – */
        {"  two   blanks ", "two blanks\n"},
        {"line\nbreak", "line?break\n"},
        {"", "\n"},
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        struct say say = {0};
        say_paragraph(&say, "", 0, texts[i].text);
        ck_assert_str_eq(say.text, texts[i].said);
    }
}
END_TEST

START_TEST(a_text_over_its_size_is_cut_and_still_ends)
{
    struct say say = {0};
    char word[SAY_SIZE];
    memset(word, 'x', sizeof word);
    word[sizeof word - 1] = '\0';
    say_add(&say, "first ");
    say_paragraph(&say, "", 0, word);
    say_add(&say, "more");
    ck_assert_uint_eq(say.used, SAY_SIZE - 1);
    ck_assert_uint_eq(strlen(say.text), SAY_SIZE - 1);
    ck_assert_int_eq(strncmp(say.text, "first xxx", 9), 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("client_show");
    TCase *screens = tcase_create("screens");
    TCase *text = tcase_create("text");
    tcase_add_loop_test(screens, a_status_reads_as_it_should, 0, COUNT(statuses));
    tcase_add_loop_test(screens, a_rest_says_only_what_is_out_of_the_ordinary, 0, COUNT(rests));
    tcase_add_loop_test(screens, progress_is_one_line_that_fits, 0, COUNT(progress));
    tcase_add_test(screens, a_top_is_said_to_be_known_only_where_it_is);
    tcase_add_test(screens, a_last_height_is_never_one_of_now);
    tcase_add_test(screens, what_is_no_status_is_refused);
    tcase_add_test(text, lengths_are_said_with_their_unit);
    tcase_add_test(text, what_comes_from_a_socket_does_nothing_to_a_terminal);
    tcase_add_test(text, a_text_over_its_size_is_cut_and_still_ends);
    suite_add_tcase(suite, screens);
    suite_add_tcase(suite, text);
    return run_suite(suite);
}
