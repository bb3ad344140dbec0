/* SPDX-License-Identifier: MIT */
/*
 * Answers taken apart, what --json prints of them, exit codes, and the sentences for each kind of
 * trouble. The messages are those of the JSON-RPC 2.0 Specification, section 7, where marked.
 */
#include <check.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/client.h"
#include "protocol/reason.h"
#include "tests/suite.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

static enum client_end read_answer(const char *line, struct client_answer *answer)
{
    return client_answer_read(line, strlen(line), answer);
}

/* --- What is an answer --- */

static const struct {
    const char *line;
    enum client_end end;
    double id; /* -1: has none */
} lines[] = {
    /* Section 7. */
    {"{\"jsonrpc\": \"2.0\", \"result\": 19, \"id\": 1}", CLIENT_ANSWERED, 1},
    {"{\"jsonrpc\": \"2.0\", \"error\": {\"code\": -32700, \"message\": \"Parse error\"}, "
     "\"id\": null}",
     CLIENT_ANSWERED, -1},
    {"{\"jsonrpc\": \"2.0\", \"error\": {\"code\": -32601, \"message\": \"Method not found\"}, "
     "\"id\": \"1\"}",
     CLIENT_ANSWERED, -1}, /* we never name a request by a string */
    {"{\"jsonrpc\": \"2.0\", \"method\": \"update\", \"params\": [1,2,3,4,5]}", CLIENT_SILENT, -1},
    {"{\"foo\": \"boo\"}", CLIENT_GARBLED, -1},
    {"[]", CLIENT_GARBLED, -1},
    {"[1]", CLIENT_GARBLED, -1},
    /* Of our own. */
    {"{\"jsonrpc\":\"2.0\",\"id\":7,\"result\":null}", CLIENT_ANSWERED, 7},
    {"{\"jsonrpc\":\"2.0\",\"id\":7,\"result\":{},\"new\":true}", CLIENT_ANSWERED, 7},
    {"", CLIENT_GARBLED, -1},
    {"HTTP/1.1 400 Bad Request", CLIENT_GARBLED, -1},
    {"{\"jsonrpc\":\"1.0\",\"id\":7,\"result\":1}", CLIENT_GARBLED, -1},
    {"{\"jsonrpc\":\"2.0\",\"id\":7}", CLIENT_GARBLED, -1},
    {"{\"jsonrpc\":\"2.0\",\"result\":1}", CLIENT_GARBLED, -1},
    {"{\"jsonrpc\":\"2.0\",\"id\":7,\"result\":1,\"error\":{\"code\":1,\"message\":\"\"}}",
     CLIENT_GARBLED, -1},
    {"{\"jsonrpc\":\"2.0\",\"id\":7,\"error\":\"no\"}", CLIENT_GARBLED, -1},
    {"{\"jsonrpc\":\"2.0\",\"id\":7,\"error\":{\"code\":1}}", CLIENT_GARBLED, -1},
    /* What cJSON would read, and the strict scan refuses. */
    {"{\"jsonrpc\":\"2.0\",\"id\":7,\"result\":{\"height_nm\":1,\"height_nm\":2}}", CLIENT_GARBLED,
     -1},
    {"{\"jsonrpc\":\"2.0\",\"id\":7,\"result\":1} {}", CLIENT_GARBLED, -1},
    {"{\"jsonrpc\":\"2.0\",\"id\":7,\"result\":1e999}", CLIENT_GARBLED, -1},
};

START_TEST(lines_are_answers_or_they_are_not)
{
    struct client_answer answer;
    enum client_end end = read_answer(lines[_i].line, &answer);
    ck_assert_msg(end == lines[_i].end, "%s: %d", lines[_i].line, end);
    ck_assert(answer.has_id == (lines[_i].id >= 0));
    if (end == CLIENT_ANSWERED) {
        ck_assert(!answer.result != !answer.error);
        ck_assert_str_eq(answer.text, lines[_i].line);
        ck_assert(!answer.has_id || answer.id == lines[_i].id);
    } else {
        ck_assert_ptr_null(answer.document);
        ck_assert_ptr_null(answer.text);
    }
    client_answer_free(&answer);
    client_answer_free(&answer); /* harmless */
}
END_TEST

/* --- What is told unasked --- */

START_TEST(a_notification_is_told_apart_from_answers)
{
    /* Section 7 of the specification; the last is a request, which a client is not sent. */
    static const struct {
        const char *line;
        enum client_end end;
        const char *method;
        const char *params;
    } told[] = {
        {"{\"jsonrpc\": \"2.0\", \"method\": \"update\", \"params\": [1,2,3,4,5]}", CLIENT_TOLD,
         "update", "[1,2,3,4,5]"},
        {"{\"jsonrpc\": \"2.0\", \"method\": \"foobar\"}", CLIENT_TOLD, "foobar", NULL},
        {"{\"jsonrpc\":\"2.0\",\"method\":\"m\",\"params\":{\"result\":{}},\"result\":1}",
         CLIENT_TOLD, "m", "{\"result\":{}}"},
        {"{\"jsonrpc\": \"2.0\", \"method\": 1, \"params\": \"bar\"}", CLIENT_SILENT, NULL, NULL},
        {"{\"jsonrpc\": \"2.0\", \"method\": \"get_data\", \"id\": \"9\"}", CLIENT_SILENT, NULL,
         NULL},
    };
    for (size_t i = 0; i < COUNT(told); i++) {
        struct client_answer message;
        const char *value = NULL;
        size_t size = 0;
        enum client_end end = client_message_read(told[i].line, strlen(told[i].line), &message);
        ck_assert_msg(end == told[i].end, "%s: %d", told[i].line, end);
        ck_assert_pstr_eq(message.method, told[i].method);
        ck_assert(!message.result && !message.error);
        ck_assert((message.params != NULL) == (told[i].params != NULL));
        if (told[i].params) {
            ck_assert(client_value(&message, &value, &size));
            ck_assert_uint_eq(size, strlen(told[i].params));
            ck_assert_int_eq(strncmp(value, told[i].params, size), 0);
        }
        client_answer_free(&message);
        ck_assert_int_eq(read_answer(told[i].line, &message), CLIENT_SILENT);
        ck_assert_ptr_null(message.document);
    }
}
END_TEST

START_TEST(answers_belong_to_their_request)
{
    struct client_answer seven;
    struct client_answer nameless;
    ck_assert_int_eq(read_answer("{\"jsonrpc\":\"2.0\",\"id\":7,\"result\":1}", &seven),
                     CLIENT_ANSWERED);
    ck_assert(client_answers(&seven, 7));
    ck_assert(!client_answers(&seven, 8));
    ck_assert(!client_answers(&seven, 0));
    ck_assert_int_eq(read_answer("{\"jsonrpc\":\"2.0\",\"id\":null,\"error\":{\"code\":-32700,"
                                 "\"message\":\"line\"}}",
                                 &nameless),
                     CLIENT_ANSWERED);
    ck_assert(client_answers(&nameless, 7));
    client_answer_free(&seven);
    client_answer_free(&nameless);
}
END_TEST

/* --- What --json prints: byte for byte --- */

static const struct {
    const char *line;
    const char *value;
} values[] = {
    {"{\"jsonrpc\":\"2.0\",\"id\":1,\"result\":{\"height\":\"9.525mm\",\"height_nm\":9525000}}",
     "{\"height\":\"9.525mm\",\"height_nm\":9525000}"},
    {"{\"result\":9007199254740991,\"id\":1,\"jsonrpc\":\"2.0\"}", "9007199254740991"},
    {" { \"jsonrpc\" : \"2.0\" , \"result\" : [ 1 , {\"result\":2} ] , \"id\" : 1 } ",
     "[ 1 , {\"result\":2} ]"},
    {"{\"jsonrpc\":\"2.0\",\"id\":1,\"result\":\"a \\\"result\\\": }\"}",
     "\"a \\\"result\\\": }\""},
    {"{\"jsonrpc\":\"2.0\",\"new\":{\"error\":[\"}\",\"\\\\\"]},\"id\":1,\"result\":true}", "true"},
    {"{\"jsonrpc\":\"2.0\",\"id\":1,\"error\":{\"code\":1,\"message\":\"no\",\"data\":"
     "{\"reason\":\"busy\"}}}",
     "{\"code\":1,\"message\":\"no\",\"data\":{\"reason\":\"busy\"}}"},
    {"{\"jsonrpc\":\"2.0\",\"id\":1,\"result\":null}", "null"},
    {"{\"jsonrpc\":\"2.0\",\"id\":1,\"result\":{}}", "{}"},
    {"{\"jsonrpc\":\"2.0\",\"id\":1,\"result\":-1.50e0\t}", "-1.50e0"},
};

START_TEST(the_value_is_printed_as_it_came)
{
    struct client_answer answer;
    const char *value = NULL;
    size_t size = 0;
    ck_assert_int_eq(read_answer(values[_i].line, &answer), CLIENT_ANSWERED);
    ck_assert_msg(client_value(&answer, &value, &size), "%s", values[_i].line);
    ck_assert_msg(size == strlen(values[_i].value) && memcmp(value, values[_i].value, size) == 0,
                  "%s: %.*s", values[_i].line, (int)size, value);
    client_answer_free(&answer);
}
END_TEST

START_TEST(a_name_written_with_escapes_is_not_guessed_at)
{
    struct client_answer answer;
    const char *value;
    size_t size;
    ck_assert_int_eq(read_answer("{\"jsonrpc\":\"2.0\",\"id\":1,\"r\\u0065sult\":1}", &answer),
                     CLIENT_ANSWERED);
    ck_assert(!client_value(&answer, &value, &size));
    client_answer_free(&answer);
}
END_TEST

/* --- Exit codes: documented in --help --- */

static const struct {
    const char *answer; /* its result or error member */
    enum client_exit code;
} exits[] = {
    {"\"result\":{}", CLIENT_DONE},
    {"\"error\":{\"code\":1,\"message\":\"\",\"data\":{\"reason\":\"busy\"}}", CLIENT_REFUSED},
    {"\"error\":{\"code\":1,\"message\":\"\",\"data\":{\"reason\":\"stopped\"}}", CLIENT_REFUSED},
    {"\"error\":{\"code\":-32602,\"message\":\"\"}", CLIENT_USAGE},
    {"\"error\":{\"code\":-32601,\"message\":\"\"}", CLIENT_REFUSED},
    {"\"error\":{\"code\":-32603,\"message\":\"\"}", CLIENT_REFUSED},
    {"\"error\":{\"code\":-32700,\"message\":\"\"}", CLIENT_REFUSED},
    {"\"error\":{\"code\":5e15,\"message\":\"\"}", CLIENT_REFUSED},
};

START_TEST(answers_have_their_exit_code)
{
    char line[200];
    struct client_answer answer;
    (void)snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"id\":1,%s}", exits[_i].answer);
    ck_assert_int_eq(read_answer(line, &answer), CLIENT_ANSWERED);
    ck_assert_int_eq(client_exit_of_answer(&answer), exits[_i].code);
    client_answer_free(&answer);
}
END_TEST

START_TEST(exit_codes_are_the_documented_numbers)
{
    ck_assert_int_eq(CLIENT_DONE, 0);
    ck_assert_int_eq(CLIENT_REFUSED, 1);
    ck_assert_int_eq(CLIENT_USAGE, 2);
    ck_assert_int_eq(CLIENT_UNREACHABLE, 3);
    ck_assert_int_eq(CLIENT_BROKEN_OFF, 4);
    ck_assert_int_eq(client_exit_of_end(CLIENT_ANSWERED), 0);
    ck_assert_int_eq(client_exit_of_end(CLIENT_ABSENT), 3);
    ck_assert_int_eq(client_exit_of_end(CLIENT_SILENT), 3);
    ck_assert_int_eq(client_exit_of_end(CLIENT_CLOSED), 3);
    ck_assert_int_eq(client_exit_of_end(CLIENT_GARBLED), 3);
    ck_assert_int_eq(client_exit_of_end(CLIENT_NO_MEMORY), 3);
    ck_assert_int_eq(client_exit_of_end(CLIENT_INTERRUPTED), 4);
}
END_TEST

/* Every reason of the closed list: it ends a motion under way, or it is a refusal before one. */
START_TEST(motions_that_had_begun_are_told_from_refusals)
{
    unsigned early = 0;
    for (int reason = REASON_NONE; reason < REASON_COUNT; reason++) {
        char line[200];
        struct client_answer answer;
        bool ends = reason == REASON_STOPPED || reason == REASON_LINK_FAULT ||
                    reason == REASON_TOP_NOT_FOUND || reason == REASON_UNPOWERED ||
                    reason == REASON_UNPLUGGED || reason == REASON_READOUT_APART ||
                    reason == REASON_READOUT_FROZEN;
        (void)snprintf(line, sizeof line,
                       "{\"jsonrpc\":\"2.0\",\"id\":1,\"error\":{\"code\":1,\"message\":\"\","
                       "\"data\":{\"reason\":\"%s\"}}}",
                       reason_word((enum reason)reason));
        ck_assert_int_eq(read_answer(line, &answer), CLIENT_ANSWERED);
        ck_assert_msg(client_ended_early(&answer) == ends, "%s", line);
        for (int other = REASON_NONE + 1; other < REASON_COUNT; other++) {
            ck_assert(client_refused_for(&answer, (enum reason)other) == (other == reason));
        }
        early += ends;
        client_answer_free(&answer);
    }
    ck_assert_uint_eq(early, 7);
}
END_TEST

START_TEST(what_names_no_reason_is_refused_for_none)
{
    static const char *const results[] = {
        "\"result\":{\"reason\":\"name-taken\"}",
        "\"error\":{\"code\":1,\"message\":\"name-taken\"}",
        "\"error\":{\"code\":1,\"message\":\"\",\"data\":{\"reason\":7}}",
        "\"error\":{\"code\":1,\"message\":\"\",\"data\":\"name-taken\"}"};
    for (size_t i = 0; i < COUNT(results); i++) {
        char line[200];
        struct client_answer answer;
        (void)snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"id\":1,%s}", results[i]);
        ck_assert_int_eq(read_answer(line, &answer), CLIENT_ANSWERED);
        ck_assert_msg(!client_refused_for(&answer, REASON_NAME_TAKEN), "%s", line);
        client_answer_free(&answer);
    }
}
END_TEST

START_TEST(an_error_says_where_the_bit_stood_or_does_not)
{
    static const struct {
        const char *data;
        bool said;
        int64_t nm;
    } errors_of[] = {
        {",\"data\":{\"reason\":\"name-taken\",\"height_nm\":-9525000}", true, -9525000},
        {",\"data\":{\"height_nm\":0}", true, 0},
        {",\"data\":{\"height_nm\":9007199254740991}", true, INT64_C(9007199254740991)},
        {",\"data\":{\"height_nm\":\"9.525mm\"}", false, 0},
        {",\"data\":{\"reason\":\"name-taken\"}", false, 0},
        {"", false, 0},
    };
    for (size_t i = 0; i < COUNT(errors_of); i++) {
        char line[200];
        int64_t nm = 1;
        struct client_answer answer;
        (void)snprintf(line, sizeof line,
                       "{\"jsonrpc\":\"2.0\",\"id\":1,\"error\":{\"code\":1,\"message\":\"\"%s}}",
                       errors_of[i].data);
        ck_assert_int_eq(read_answer(line, &answer), CLIENT_ANSWERED);
        ck_assert_msg(client_error_height(&answer, &nm) == errors_of[i].said, "%s", line);
        ck_assert_int_eq(nm, errors_of[i].nm);
        client_answer_free(&answer);
    }
}
END_TEST

/* --- Sentences --- */

static const struct {
    int code;
    const char *message;
    const char *said;
} errors[] = {
    {1, "The lift is moving already. Wait until it is there, or stop it first.",
     "The lift is moving already. Wait until it is there, or stop it first.\n"},
    {-32602, "3 of what?",
     "regletd could not use what was asked: 3 of what?\n"
     "Nothing has moved. Say it another way.\n"},
    {-32601, "There is no such method",
     "regletd does not know that request: it is older than this reglet. Nothing has\n"
     "moved. Install both from one release, and start regletd again.\n"},
    {-32603, "memory",
     "regletd could not carry that out (-32603): memory\n"
     "Look where the bit stands, and what regletd's log says, before you ask again.\n"},
};

START_TEST(errors_are_told_in_sentences)
{
    struct say say = {0};
    cJSON *error = cJSON_CreateObject();
    cJSON_AddNumberToObject(error, "code", errors[_i].code);
    cJSON_AddStringToObject(error, "message", errors[_i].message);
    client_say_error(&say, error);
    ck_assert_str_eq(say.text, errors[_i].said);
    cJSON_Delete(error);
}
END_TEST

static const struct {
    struct client_trouble trouble;
    const char *happened;
    const char *means; /* for the lift */
    const char *next;
} troubles[] = {
    {{CLIENT_ABSENT, ENOENT, "/p/s", false, CLIENT_ASKED_NOTHING},
     "Nothing answers at /p/s: there is no such socket",
     "nothing has moved",
     "Start the daemon with 'regletd'"},
    {{CLIENT_ABSENT, ENOENT, "/p/s", true, CLIENT_ASKED_NOTHING},
     "Nothing answers at /p/s",
     "nothing has moved",
     "Start the practice lift with 'regletd --practice'"},
    {{CLIENT_ABSENT, ECONNREFUSED, "/p/s", false, CLIENT_ASKED_NOTHING},
     "the daemon that listened there has ended",
     "nothing has moved",
     "say 'reglet --practice'"},
    {{CLIENT_ABSENT, EACCES, "/p/s", false, CLIENT_ASKED_NOTHING},
     "You may not open /p/s",
     "nothing was asked of the lift",
     "Ask as a user who may"},
    {{CLIENT_ABSENT, ENAMETOOLONG, "/p/s", false, CLIENT_ASKED_NOTHING},
     "too long for a socket's name",
     "nothing was asked of the lift",
     "Give a shorter path"},
    {{CLIENT_SILENT, 0, "/p/s", false, CLIENT_ASKED_NOTHING},
     "regletd at /p/s has not answered for 5 seconds",
     "Nothing was asked of the lift",
     "start it again"},
    {{CLIENT_SILENT, 0, "/p/s", false, CLIENT_ASKED_MOTION},
     "regletd at /p/s has not answered for 5 seconds",
     "do not rely on it",
     "open the stop circuit"},
    {{CLIENT_CLOSED, ECONNRESET, "/p/s", false, CLIENT_ASKED_NOTHING},
     "The connection to regletd at /p/s ended before the answer came",
     "Nothing was asked of the lift",
     "see its log"},
    {{CLIENT_CLOSED, 0, "/p/s", false, CLIENT_ASKED_MOTION},
     "The connection to regletd at /p/s ended before the answer came. ",
     "do not rely on it",
     "open the stop circuit"},
    {{CLIENT_GARBLED, 0, "/p/s", false, CLIENT_ASKED_NOTHING},
     "What answers at /p/s does not speak as regletd does",
     "Nothing was asked of a lift",
     "--socket"},
    {{CLIENT_GARBLED, 0, "/p/s", false, CLIENT_ASKED_MOTION},
     "What answers at /p/s does not speak as regletd does",
     "do not rely on it",
     "look where the bit stands"},
    {{CLIENT_INTERRUPTED, 0, "/p/s", false, CLIENT_ASKED_NOTHING},
     "Interrupted",
     "before anything was asked of the lift",
     "."},
    {{CLIENT_INTERRUPTED, 0, "/p/s", false, CLIENT_ASKED_MOTION},
     "Interrupted before the answer came",
     "whether it was done is not known",
     "Ask with a bare 'reglet'"},
    {{CLIENT_SILENT, 0, "/p/s", false, CLIENT_ASKED_CHANGE},
     "regletd at /p/s has not answered for 5 seconds",
     "Whether it was done is not known; the lift does not move by it",
     "'reglet presets' what is kept"},
    {{CLIENT_CLOSED, 0, "/p/s", false, CLIENT_ASKED_CHANGE},
     "The connection to regletd at /p/s ended before the answer came. ",
     "Whether it was done is not known; the lift does not move by it",
     "if it was not done, say it again"},
    {{CLIENT_GARBLED, 0, "/p/s", false, CLIENT_ASKED_CHANGE},
     "What answers at /p/s does not speak as regletd does",
     "Whether it was done is not known; the lift does not move by it",
     "a bare 'reglet' says where the bit is"},
    {{CLIENT_INTERRUPTED, 0, "/p/s", false, CLIENT_ASKED_CHANGE},
     "Interrupted before the answer came. ",
     "Whether it was done is not known; the lift does not move by it",
     "'reglet presets' what is kept"},
    {{CLIENT_NO_MEMORY, 0, "/p/s", false, CLIENT_ASKED_NOTHING},
     "not enough memory",
     "Nothing was asked of the lift",
     "."},
};

/* Line ends as blanks, so that a sentence can be found wherever it was broken. */
static bool says(const struct say *say, const char *words)
{
    char flat[SAY_SIZE];
    memcpy(flat, say->text, sizeof flat);
    for (char *at = strchr(flat, '\n'); at; at = strchr(at, '\n')) {
        *at = ' ';
    }
    return strstr(flat, words) != NULL;
}

START_TEST(trouble_says_what_happened_what_it_means_and_what_to_do)
{
    struct say say = {0};
    client_say_trouble(&say, &troubles[_i].trouble);
    ck_assert_msg(says(&say, troubles[_i].happened), "%s", say.text);
    ck_assert_msg(says(&say, troubles[_i].means), "%s", say.text);
    ck_assert_msg(says(&say, troubles[_i].next), "%s", say.text);
    if (troubles[_i].trouble.asked !=
        CLIENT_ASKED_NOTHING) { /* it may have moved, or move still: never the contrary */
        ck_assert_msg(!says(&say, "othing has moved") && !says(&say, "othing was asked"), "%s",
                      say.text);
    }
    for (const char *line = say.text; *line; line += strcspn(line, "\n") + 1) {
        ck_assert_msg(strcspn(line, "\n") <= SAY_COLUMNS, "%s", say.text);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("client_answer");
    TCase *reading = tcase_create("reading");
    TCase *exit_codes = tcase_create("exit codes");
    TCase *sentences = tcase_create("sentences");
    tcase_add_loop_test(reading, lines_are_answers_or_they_are_not, 0, COUNT(lines));
    tcase_add_test(reading, answers_belong_to_their_request);
    tcase_add_test(reading, a_notification_is_told_apart_from_answers);
    tcase_add_loop_test(reading, the_value_is_printed_as_it_came, 0, COUNT(values));
    tcase_add_test(reading, a_name_written_with_escapes_is_not_guessed_at);
    tcase_add_loop_test(exit_codes, answers_have_their_exit_code, 0, COUNT(exits));
    tcase_add_test(exit_codes, exit_codes_are_the_documented_numbers);
    tcase_add_test(exit_codes, motions_that_had_begun_are_told_from_refusals);
    tcase_add_test(exit_codes, what_names_no_reason_is_refused_for_none);
    tcase_add_test(exit_codes, an_error_says_where_the_bit_stood_or_does_not);
    tcase_add_loop_test(sentences, errors_are_told_in_sentences, 0, COUNT(errors));
    tcase_add_loop_test(sentences, trouble_says_what_happened_what_it_means_and_what_to_do, 0,
                        COUNT(troubles));
    suite_add_tcase(suite, reading);
    suite_add_tcase(suite, exit_codes);
    suite_add_tcase(suite, sentences);
    return run_suite(suite);
}
