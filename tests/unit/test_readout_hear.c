/* SPDX-License-Identifier: MIT */
/* What the readout makes of the lines of a connection; the lines are of the shape of
 * protocol/LOCAL.md (hello, watch, stop). */
#include <check.h>
#include <stdio.h>
#include <string.h>

#include "clients/readout/hear.h"
#include "protocol/local.h"
#include "tests/suite.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

#define HELLO(practice)                                                                            \
    "{'jsonrpc':'2.0','id':1,'result':{'major':1,'minor':1,'version':'0.1.0','practice':" practice \
    ",'may':'command'}}"
#define STATUS                                                                                     \
    "{'practice':true,'activity':'still','reference':'sure','table_zero':'sure',"                  \
    "'height':'9.525mm','height_nm':9525000,'position':'-12.7mm','position_nm':-12700000,"         \
    "'preset':'drawer-groove','play':'taken-up','stop_open':false,'count':7620,'age_ms':12}"
#define WATCHED "{'jsonrpc':'2.0','id':2,'result':" STATUS "}"
#define TOLD(method, params) "{'jsonrpc':'2.0','method':'" method "','params':" params "}"

/* A line with ' for ", which spares the tables a backslash before each. */
static enum hear_said hear(struct hear *hearer, const char *line)
{
    char text[2048];
    size_t size = strlen(line);
    ck_assert_uint_lt(size, sizeof text);
    for (size_t i = 0; i <= size; i++) {
        text[i] = line[i] == '\'' ? '"' : line[i];
    }
    return hear_line(hearer, text, size);
}

static struct face face_of(const struct hear *hearer)
{
    struct face face = {.bit = ""};
    ck_assert(hear_lift(hearer, &face));
    return face;
}

START_TEST(the_greeting_is_hello_by_name_and_watch)
{
    size_t size = 0;
    char *text = hear_greeting(&size);
    ck_assert_pstr_eq(text, "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"hello\","
                            "\"params\":{\"client\":\"reglet-readout\"}}\n"
                            "{\"jsonrpc\":\"2.0\",\"id\":2,\"method\":\"watch\"}\n");
    ck_assert_uint_eq(size, strlen(text));
    cJSON_free(text);
}
END_TEST

START_TEST(a_status_is_known_from_the_answer_to_watch_on)
{
    struct hear hearer = {0};
    struct face face = {0};
    ck_assert(!hear_lift(&hearer, &face));
    ck_assert_int_eq(hear(&hearer, HELLO("true")), HEAR_OTHER);
    ck_assert_int_eq(hear(&hearer, TOLD("position", "{'activity':'still'}")), HEAR_OTHER);
    ck_assert(!hear_lift(&hearer, &face));
    ck_assert_int_eq(hear(&hearer, WATCHED), HEAR_LIFT);
    face = face_of(&hearer);
    ck_assert_str_eq(face.lift.preset, "drawer-groove");
    ck_assert_int_eq(face.lift.height_nm, 9525000);
    ck_assert_str_eq(face.bit, "");
    ck_assert(!face.riding_known);
    hear_end(&hearer);
    ck_assert(!hear_lift(&hearer, &face)); /* forgotten with the connection */
}
END_TEST

START_TEST(a_place_takes_the_place_of_all_that_it_names_and_no_more)
{
    struct hear hearer = {0};
    ck_assert_int_eq(hear(&hearer, WATCHED), HEAR_LIFT);
    ck_assert_int_eq(hear(&hearer, TOLD("position", "{'activity':'moving','height':'9.6mm',"
                                                    "'height_nm':9600000,'position_nm':-12625000,"
                                                    "'position':'-12.625mm','age_ms':3}")),
                     HEAR_LIFT);
    struct face face = face_of(&hearer);
    ck_assert_str_eq(face.lift.activity, "moving");
    ck_assert_int_eq(face.lift.height_nm, 9600000);
    ck_assert_int_eq(face.lift.age_ms, 3);
    ck_assert_str_eq(face.lift.trust, "sure");
    ck_assert(face.lift.practice);
    /* a height that is not said any more is not known any more */
    ck_assert_int_eq(hear(&hearer, TOLD("position", "{'activity':'still','age_ms':7}")), HEAR_LIFT);
    face = face_of(&hearer);
    ck_assert(!face.lift.height_known);
    ck_assert_int_eq(hear(&hearer, TOLD("position", "{'activity':'unplugged',"
                                                    "'last_height_nm':9600000}")),
                     HEAR_LIFT);
    face = face_of(&hearer);
    ck_assert(face.lift.height_known);
    ck_assert_int_eq(face.lift.age_ms, 0);
    hear_end(&hearer);
}
END_TEST

START_TEST(a_change_takes_the_place_of_everything)
{
    struct hear hearer = {0};
    ck_assert_int_eq(hear(&hearer, WATCHED), HEAR_LIFT);
    ck_assert_int_eq(hear(&hearer, TOLD("changed", "{'activity':'still','table_zero':'lost',"
                                                   "'bit':'straight-half','riding':'9.525mm',"
                                                   "'riding_nm':9525000}")),
                     HEAR_LIFT);
    struct face face = face_of(&hearer);
    ck_assert_str_eq(face.lift.preset, "");
    ck_assert(!face.lift.practice);
    ck_assert(!face.lift.height_known);
    ck_assert_str_eq(face.bit, "straight-half");
    ck_assert(face.riding_known);
    ck_assert_int_eq(face.riding_nm, 9525000);
    hear_end(&hearer);
}
END_TEST

START_TEST(what_is_not_known_here_is_passed_over)
{
    static const char *const lines[] = {
        TOLD("weather", "{'rain':true}"), "{'jsonrpc':'2.0','id':99,'result':null}",
        "{'jsonrpc':'2.0','id':99,'error':{'code':1,'message':'no'}}",
        "{'jsonrpc':'2.0','id':3,'result':" STATUS "}", /* no stop was asked for */
    };
    struct hear hearer = {0};
    ck_assert_int_eq(hear(&hearer, WATCHED), HEAR_LIFT);
    for (size_t i = 0; i < COUNT(lines); i++) {
        ck_assert_int_eq(hear(&hearer, lines[i]), HEAR_OTHER);
    }
    ck_assert_int_eq(face_of(&hearer).lift.height_nm, 9525000);
    ck_assert_int_eq(hearer.stop, FACE_STOP_NONE);
    hear_end(&hearer);
}
END_TEST

START_TEST(a_connection_that_is_of_no_use_says_why)
{
    static const struct {
        const char *line;
        const char *why; /* how it begins */
    } lines[] = {
        {"", "What answers there does not speak"},
        {"{", "What answers there does not speak"},
        {"[1]", "What answers there does not speak"},
        {"{'id':2,'result':" STATUS "}", "What answers there does not speak"},
        {"{'jsonrpc':'2.0','id':2,'result':{}}", "What answers there does not speak"},
        {TOLD("changed", "{'activity':'still'}"), "What answers there does not speak"},
        {"{'jsonrpc':'2.0','id':1,'result':{'major':2,'minor':0}}", "The daemon speaks another"},
        {"{'jsonrpc':'2.0','id':1,'result':{}}", "The daemon speaks another"},
        {HELLO("false"), "A real lift answers, and you said --practice."},
        {"{'jsonrpc':'2.0','id':2,'error':{'code':-32601,'message':'no such method'}}",
         "The daemon is older than this readout"},
        {"{'jsonrpc':'2.0','id':null,'error':{'code':1,'message':'Too many clients.',"
         "'data':{'reason':'too-many'}}}",
         "Too many clients."},
    };
    for (size_t i = 0; i < COUNT(lines); i++) {
        struct hear hearer = {.practice = true};
        ck_assert_msg(hear(&hearer, lines[i].line) == HEAR_USELESS, "%s", lines[i].line);
        ck_assert_msg(strncmp(hearer.why, lines[i].why, strlen(lines[i].why)) == 0, "%s",
                      hearer.why);
        hear_end(&hearer);
    }
    struct hear hearer = {0};
    ck_assert_int_eq(hear(&hearer, HELLO("false")), HEAR_OTHER); /* where it was not said */
    ck_assert_int_eq(hear(&hearer, WATCHED), HEAR_LIFT);
    ck_assert_int_eq(hear(&hearer, TOLD("position", "{'height_nm':1}")), HEAR_USELESS);
    hear_end(&hearer);
}
END_TEST

/* --- Stop requests --- */

static void ask_to_stop(struct hear *hearer, int id)
{
    char expected[100];
    size_t size = 0;
    char *text = hear_stop_request(hearer, &size);
    (void)snprintf(expected, sizeof expected,
                   "{\"jsonrpc\":\"2.0\",\"id\":%d,\"method\":\"stop\"}\n", id);
    ck_assert_pstr_eq(text, expected);
    ck_assert_uint_eq(size, strlen(expected));
    ck_assert_int_eq(hearer->stop, FACE_STOP_ASKED);
    cJSON_free(text);
}

START_TEST(a_stop_is_done_when_its_own_answer_says_so)
{
    struct hear hearer = {0};
    ask_to_stop(&hearer, 3);
    ask_to_stop(&hearer, 4);
    ck_assert_int_eq(hear(&hearer, "{'jsonrpc':'2.0','id':3,'result':" STATUS "}"), HEAR_OTHER);
    ck_assert_int_eq(hearer.stop, FACE_STOP_ASKED);
    ck_assert_int_eq(hear(&hearer, "{'jsonrpc':'2.0','id':4,'result':" STATUS "}"), HEAR_STOP);
    ck_assert_int_eq(hearer.stop, FACE_STOP_DONE);
    ask_to_stop(&hearer, 5);
    ck_assert_int_eq(
        hear(&hearer, "{'jsonrpc':'2.0','id':5,'error':{'code':-32603,'message':'memory'}}"),
        HEAR_STOP);
    ck_assert_int_eq(hearer.stop, FACE_STOP_REFUSED);
    hear_end(&hearer);
    ck_assert_int_eq(hearer.stop, FACE_STOP_REFUSED);
}
END_TEST

START_TEST(a_stop_that_the_connection_took_with_it_is_unanswered)
{
    struct hear hearer = {0};
    ask_to_stop(&hearer, 3);
    hear_end(&hearer);
    ck_assert_int_eq(hearer.stop, FACE_STOP_UNANSWERED);
    /* the next connection counts anew */
    ask_to_stop(&hearer, 3);
    ck_assert_int_eq(hear(&hearer, "{'jsonrpc':'2.0','id':3,'result':" STATUS "}"), HEAR_STOP);
    hear_end(&hearer);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("readout_hear");
    TCase *lines = tcase_create("lines");
    tcase_add_test(lines, the_greeting_is_hello_by_name_and_watch);
    tcase_add_test(lines, a_status_is_known_from_the_answer_to_watch_on);
    tcase_add_test(lines, a_place_takes_the_place_of_all_that_it_names_and_no_more);
    tcase_add_test(lines, a_change_takes_the_place_of_everything);
    tcase_add_test(lines, what_is_not_known_here_is_passed_over);
    tcase_add_test(lines, a_connection_that_is_of_no_use_says_why);
    tcase_add_test(lines, a_stop_is_done_when_its_own_answer_says_so);
    tcase_add_test(lines, a_stop_that_the_connection_took_with_it_is_unanswered);
    suite_add_tcase(suite, lines);
    return run_suite(suite);
}
