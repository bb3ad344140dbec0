/* SPDX-License-Identifier: MIT */
/* The messages of the local interface, against the JSON-RPC 2.0 Specification (JSON-RPC Working
 * Group, 2010, updated 2013-01-04), by its section numbers. */
#include <check.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "protocol/local.h"
#include "tests/suite.h"

/* The text with " for ', which spares the tables a backslash before each quote. */
static const char *quoted(const char *text)
{
    static char copy[2048];
    size_t size = strlen(text) + 1;
    ck_assert_uint_le(size, sizeof copy);
    for (size_t i = 0; i < size; i++) {
        copy[i] = text[i] == '\'' ? '"' : text[i];
    }
    return copy;
}

static cJSON *parsed(const char *text)
{
    struct json_fault fault;
    cJSON *document = json_parse(text, strlen(text), &fault);
    ck_assert_msg(document != NULL, "'%s': %s", text, fault.text);
    return document;
}

static bool same_json(const char *one, const char *other)
{
    cJSON *a = parsed(one);
    cJSON *b = parsed(other);
    bool same = cJSON_Compare(a, b, true);
    cJSON_Delete(a);
    cJSON_Delete(b);
    return same;
}

/* A server as small as the standard's examples need. */
static cJSON *toy_call(const struct local_request *request)
{
    static const struct local_param shape[] = {
        {"minuend", LOCAL_INTEGER, true}, {"subtrahend", LOCAL_INTEGER, true}, {NULL, 0, false}};
    const cJSON *found[2];
    char why[200];
    if (strcmp(request->method, "subtract") == 0) {
        ck_assert(local_params(request->params, shape, found, why, sizeof why));
        return cJSON_CreateNumber(found[0]->valuedouble - found[1]->valuedouble);
    }
    if (strcmp(request->method, "sum") == 0) {
        double sum = 0;
        for (const cJSON *item = request->params->child; item != NULL; item = item->next) {
            sum += item->valuedouble;
        }
        return cJSON_CreateNumber(sum);
    }
    return strcmp(request->method, "get_data") == 0 ? parsed("[\"hello\", 5]") : NULL;
}

static cJSON *toy_answer(const struct local_request *request)
{
    if (!request->valid) {
        return local_error(request->id, LOCAL_INVALID_REQUEST, "Invalid Request", NULL);
    }
    cJSON *result = toy_call(request);
    if (request->notification) {
        cJSON_Delete(result);
        return NULL;
    }
    return result != NULL
               ? local_answer(request->id, result)
               : local_error(request->id, LOCAL_METHOD_NOT_FOUND, "Method not found", NULL);
}

/* The line that answers `text`, for cJSON_free; NULL for no answer at all. */
static char *toy_serve(const char *text)
{
    struct local_line line;
    cJSON *answer = NULL;
    if (!local_line_open(&line, text, strlen(text))) {
        answer = local_error(NULL, LOCAL_PARSE_ERROR, "Parse error", NULL);
    }
    cJSON *batch = cJSON_CreateArray();
    for (size_t i = 0; i < line.count; i++) {
        struct local_request request;
        local_line_request(&line, i, &request);
        answer = toy_answer(&request);
        if (line.batch && answer != NULL) {
            cJSON_AddItemToArray(batch, answer);
            answer = NULL;
        }
    }
    size_t size;
    char *print = local_print(cJSON_GetArraySize(batch) > 0 ? batch : answer, &size);
    cJSON_Delete(batch);
    cJSON_Delete(answer);
    local_line_close(&line);
    return print;
}

#define J "{'jsonrpc': '2.0', "
#define RESULT(result, id) J "'result': " result ", 'id': " id "}"
#define ERROR(code, message, id)                                                                   \
    J "'error': {'code': " code ", 'message': '" message "'}, 'id': " id "}"
#define INVALID ERROR("-32600", "Invalid Request", "null")
#define PARSE ERROR("-32700", "Parse error", "null")
#define UNKNOWN(id) ERROR("-32601", "Method not found", id)

/* clang-format off */
/* Section 7, all of it in its order, with ' for ": a line and its answer, NULL for none. */
static const char *const examples[][2] = {
    {J "'method': 'subtract', 'params': [42, 23], 'id': 1}", RESULT("19", "1")},
    {J "'method': 'subtract', 'params': [23, 42], 'id': 2}", RESULT("-19", "2")},
    {J "'method': 'subtract', 'params': {'subtrahend': 23, 'minuend': 42}, 'id': 3}",
     RESULT("19", "3")},
    {J "'method': 'subtract', 'params': {'minuend': 42, 'subtrahend': 23}, 'id': 4}",
     RESULT("19", "4")},
    {J "'method': 'update', 'params': [1,2,3,4,5]}", NULL}, {J "'method': 'foobar'}", NULL},
    {J "'method': 'foobar', 'id': '1'}", UNKNOWN("'1'")},
    {J "'method': 'foobar, 'params': 'bar', 'baz]", PARSE},
    {J "'method': 1, 'params': 'bar'}", INVALID},
    {"[ " J "'method': 'sum', 'params': [1,2,4], 'id': '1'},  " J "'method' ]", PARSE},
    {"[]", INVALID},
    {"[1]", "[" INVALID "]"},
    {"[1,2,3]", "[" INVALID "," INVALID "," INVALID "]"},
    {"[ " J "'method': 'sum', 'params': [1,2,4], 'id': '1'}, "
     J "'method': 'notify_hello', 'params': [7]}, "
     J "'method': 'subtract', 'params': [42,23], 'id': '2'}, {'foo': 'boo'}, "
     J "'method': 'foo.get', 'params': {'name': 'myself'}, 'id': '5'}, "
     J "'method': 'get_data', 'id': '9'} ]",
     "[" RESULT("7", "'1'") "," RESULT("19", "'2'") "," INVALID "," UNKNOWN("'5'") ","
     RESULT("['hello', 5]", "'9'") "]"},
    {"[ " J "'method': 'notify_sum', 'params': [1,2,4]}, "
     J "'method': 'notify_hello', 'params': [7]} ]", NULL},
};
/* clang-format on */

START_TEST(every_example_of_the_standard_is_answered_as_there)
{
    for (size_t i = 0; i < sizeof examples / sizeof *examples; i++) {
        const char *wanted = examples[i][1];
        char *answer = toy_serve(quoted(examples[i][0]));
        bool right =
            wanted == NULL ? answer == NULL : answer != NULL && same_json(answer, quoted(wanted));
        ck_assert_msg(right, "%s\nis answered: %s", examples[i][0], answer);
        cJSON_free(answer);
    }
}
END_TEST

struct judged {
    const char *text;
    char kind;      /* r a request, n a notification, or invalid: i */
    const char *id; /* as it is answered */
};

#define V "{'jsonrpc':'2.0',"
#define M V "'method':'m'"

/* Sections 4 and 5. Members that the standard does not know: our own choice to refuse. */
/* clang-format off */
static const struct judged requests[] = {
    {M "}", 'n', "null"}, {M ",'id':1}", 'r', "1"},
    {"{'id':1,'method':'m','jsonrpc':'2.0'}", 'r', "1"},
    {M ",'id':''}", 'r', "''"}, {M ",'id':null}", 'r', "null"}, {M ",'id':1.5}", 'r', "1.5"},
    {M ",'params':[],'id':1}", 'r', "1"}, {M ",'params':{}}", 'n', "null"},
    {"{'method':'m','\\u006asonrpc':'2.0'}", 'n', "null"}, {V "'method':'','id':1}", 'r', "1"},
    {"{}", 'i', "null"}, {"{'id':1}", 'i', "1"}, {"{'method':'m','id':1}", 'i', "1"},
    {V "'id':'a'}", 'i', "'a'"}, {"{'jsonrpc':2.0,'method':'m','id':1}", 'i', "1"},
    {"{'jsonrpc':'2','method':'m','id':1}", 'i', "1"},
    {"{'jsonrpc':'2.0 ','method':'m','id':1}", 'i', "1"},
    {"{'jsonrpc':'1.0','method':'m'}", 'i', "null"},
    {"{'JSONRPC':'2.0','method':'m','id':1}", 'i', "1"}, {V "'Method':'m','id':1}", 'i', "1"},
    {V "'method':null,'id':1}", 'i', "1"}, {V "'method':['m']}", 'i', "null"},
    {M ",'params':null,'id':1}", 'i', "1"}, {M ",'params':'a','id':1}", 'i', "1"},
    {M ",'params':1}", 'i', "null"}, {M ",'params':true}", 'i', "null"},
    {M ",'id':true}", 'i', "null"}, {M ",'id':[1]}", 'i', "null"}, {M ",'id':{}}", 'i', "null"},
    {M ",'ID':1}", 'i', "null"}, {M ",'id':1,'extra':0}", 'i', "1"},
    {M ",'extra':0}", 'i', "null"}, {V "'result':1,'id':7}", 'i', "7"},
    {"1", 'i', "null"}, {"'a'", 'i', "null"}, {"null", 'i', "null"}, {"true", 'i', "null"},
    {"[]", 'i', "null"},
};

/* As an id comes and as it is echoed: the same number, in the shortest digits where it has a
 * fraction. 5e-324 is the least double, 0.1 + 0.2 is 0.30000000000000004 (IEEE 754 binary64). */
static const char *const ids[][2] = {
    {"0", "0"}, {"-0", "-0"}, {"1.0", "1"}, {"1e3", "1000"}, {"1e15", "1000000000000000"},
    {"9007199254740991", "9007199254740991"}, {"-9007199254740991", "-9007199254740991"},
    {"9007199254740990", "9007199254740990"}, {"9.007199254740989e15", "9007199254740989"},
    {"1.5", "1.5"}, {"-0.1", "-0.1"}, {"0.30000000000000004", "0.30000000000000004"},
    {"4503599627370495.5", "4503599627370495.5"}, {"1e-7", "1e-07"},
    {"5e-324", "4.94065645841247e-324"}, {"'9007199254740993'", "'9007199254740993'"},
    {"'\\u00e9\\n\\''", "'\xc3\xa9\\n\\''"}, {"null", "null"},
};
/* clang-format on */

static void check_id(const cJSON *id, const char *wanted)
{
    size_t size;
    cJSON *answer = local_answer(id, cJSON_CreateNull());
    char *print = local_print(answer, &size);
    char line[100];
    (void)snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"id\":%s,\"result\":null}\n", wanted);
    ck_assert_str_eq(print, line);
    cJSON_free(print);
    cJSON_Delete(answer);
}

START_TEST(a_request_is_valid_as_the_standard_says_and_its_id_found_where_it_can_be)
{
    for (size_t i = 0; i < sizeof requests / sizeof *requests; i++) {
        const struct judged *row = &requests[i];
        const char *text = quoted(row->text);
        struct local_line line;
        struct local_request request;
        ck_assert_msg(local_line_open(&line, text, strlen(text)), "%s", text);
        ck_assert(!line.batch && line.count == 1);
        local_line_request(&line, 0, &request);
        ck_assert_msg(request.valid == (row->kind != 'i'), "%s: %s", text, request.why);
        ck_assert_msg(request.notification == (row->kind == 'n'), "%s", text);
        ck_assert_msg((request.why != NULL) == (row->kind == 'i'), "%s", text);
        ck_assert_msg((request.method != NULL) == request.valid, "%s", text);
        ck_assert_msg(request.params == NULL || request.valid, "%s", text);
        ck_assert(!cJSON_IsTrue(request.id) && !cJSON_IsArray(request.id));
        check_id(request.id, quoted(row->id));
        local_line_close(&line);
        local_line_close(&line);
    }
}
END_TEST

START_TEST(a_batch_of_64_is_taken_and_one_of_65_refused_as_a_whole)
{
    for (size_t count = LOCAL_BATCH_MAX - 1; count <= LOCAL_BATCH_MAX + 1; count++) {
        static char text[8192];
        size_t size = 0;
        for (size_t i = 0; i < count; i++) {
            size += (size_t)sprintf(text + size, "%c%s,\"id\":%zu}", i ? ',' : '[', quoted(M), i);
        }
        text[size++] = ']';
        struct local_line line;
        struct local_request request;
        ck_assert(local_line_open(&line, text, size));
        bool taken = count <= LOCAL_BATCH_MAX;
        ck_assert(line.batch == taken);
        ck_assert_uint_eq(line.count, taken ? count : 1);
        for (size_t i = 0; i < line.count; i++) {
            local_line_request(&line, i, &request);
            ck_assert(request.valid == taken);
            ck_assert(taken ? request.id->valueint == (int)i : request.id == NULL);
        }
        local_line_close(&line);
    }
}
END_TEST

START_TEST(an_id_is_echoed_exactly)
{
    for (size_t i = 0; i < sizeof ids / sizeof *ids; i++) {
        cJSON *id = parsed(quoted(ids[i][0]));
        check_id(id, quoted(ids[i][1]));
        cJSON_Delete(id);
    }
    check_id(NULL, "null");
}
END_TEST

START_TEST(a_number_as_id_reads_back_as_the_same_double)
{
    for (int i = 0; i < 3000; i++) {
        double value = ldexp(9007199254740991.0 - 4503599628.0 * (i % 997), -(i % 71));
        cJSON *request = local_request_new(i % 2 ? value : -value, "m", NULL);
        size_t size;
        char *print = local_print(request, &size);
        cJSON *again = parsed(print);
        double echoed = cJSON_GetObjectItemCaseSensitive(again, "id")->valuedouble;
        ck_assert_msg(fabs(echoed) == value, "%.17g is %s", value, print);
        cJSON_free(print);
        cJSON_Delete(again);
        cJSON_Delete(request);
    }
}
END_TEST

START_TEST(a_printed_message_is_one_line)
{
    char text[] = "a?b";
    for (int letter = 1; letter < 0x80; letter++) {
        text[1] = (char)letter;
        cJSON *message = local_notification_new(text, NULL);
        size_t size;
        char *print = local_print(message, &size);
        ck_assert_uint_eq(strlen(print), size);
        ck_assert_ptr_eq(strchr(print, '\n'), print + size - 1);
        cJSON *again = parsed(print);
        ck_assert(cJSON_Compare(message, again, true));
        cJSON_free(print);
        cJSON_Delete(message);
        cJSON_Delete(again);
    }
    size_t size = 1;
    ck_assert(local_print(NULL, &size) == NULL && size == 0);
}
END_TEST

static void check_print(cJSON *message, const char *wanted)
{
    size_t size;
    char *print = local_print(message, &size);
    ck_assert_str_eq(print, quoted(wanted));
    cJSON_free(print);
    cJSON_Delete(message);
}

START_TEST(messages_hold_what_they_were_given_and_nothing_else)
{
    check_print(local_request_new(9007199254740991.0, "to", parsed("{\"wait\":false}")),
                "{'jsonrpc':'2.0','id':9007199254740991,'method':'to','params':{'wait':false}}\n");
    check_print(local_request_new(0, "stop", NULL), "{'jsonrpc':'2.0','id':0,'method':'stop'}\n");
    check_print(local_notification_new("moved", parsed("[1]")),
                "{'jsonrpc':'2.0','method':'moved','params':[1]}\n");
    check_print(local_error(NULL, LOCAL_REFUSED, "no", parsed("{\"reason\":\"busy\"}")),
                "{'jsonrpc':'2.0','id':null,'error':"
                "{'code':1,'message':'no','data':{'reason':'busy'}}}\n");
    check_print(local_error(NULL, LOCAL_INTERNAL_ERROR, "no", NULL),
                "{'jsonrpc':'2.0','id':null,'error':{'code':-32603,'message':'no'}}\n");
    ck_assert_ptr_null(local_answer(NULL, NULL));
    check_print(local_answer(NULL, cJSON_CreateTrue()),
                "{'jsonrpc':'2.0','id':null,'result':true}\n");
    cJSON *request = local_request_new(7, "again", NULL); /* its id is raw */
    check_print(local_answer(cJSON_GetObjectItemCaseSensitive(request, "id"), cJSON_CreateTrue()),
                "{'jsonrpc':'2.0','id':7,'result':true}\n");
    cJSON_Delete(request);
}
END_TEST

static const struct local_param to_shape[] = {{"height", LOCAL_STRING, true},
                                              {"speed_hz", LOCAL_INTEGER, false},
                                              {"wait", LOCAL_BOOLEAN, false},
                                              {NULL, 0, false}};
static const struct local_param no_shape[] = {{NULL, 0, false}};

struct params {
    const char *params; /* NULL: absent */
    const char *found;  /* which of the shape, 1 or 0 each; NULL: refused */
    const char *why;    /* part of it */
};

/* clang-format off */
static const struct params to_params[] = {
    {"{'height':'3/8'}", "100", ""}, {"{'wait':true,'height':'9mm'}", "101", ""},
    {"{'speed_hz':5,'height':'','wait':false}", "111", ""}, {"['3/8']", "100", ""},
    {"['3/8',-2]", "110", ""}, {"['3/8',1e3,true]", "111", ""}, {"['3/8',2.0]", "110", ""},
    {"['',9007199254740991]", "110", ""},
    {NULL, NULL, "Found no 'height'; a string would do."}, {"{}", NULL, "Found no 'height'"},
    {"[]", NULL, "Found no 'height'; a string would do."},
    {"{'wait':true}", NULL, "Found no 'height'"},
    {"{'height':'a','hight':1}", NULL, "Found a parameter 'hight'; height, speed_hz, wait would do."},
    {"{'Height':'a'}", NULL, "'Height'"}, {"{'':1}", NULL, "a parameter ''"},
    {"['a',1,true,4]", NULL, "Found 4 parameters; at most 3 would do."},
    {"{'height':3}", NULL, "Found a number for 'height'; a string would do."},
    {"[null]", NULL, "null for 'height'"}, {"{'height':null}", NULL, "null for 'height'"},
    {"[['a']]", NULL, "an array for 'height'"}, {"[{}]", NULL, "an object for 'height'"},
    {"['a',1.5]", NULL, "Found a number for 'speed_hz'; a whole number"},
    {"['a','1']", NULL, "a string for 'speed_hz'"}, {"['a',true]", NULL, "true or false for 'spee"},
    {"['a',null,true]", NULL, "null for 'speed_hz'"}, {"{'height':'a','wait':1}", NULL, "true or f"},
    {"{'height':'a','wait':'true'}", NULL, "Found a string for 'wait'; true or false would do."},
    {"'a'", NULL, "Found a string for the parameters"}, {"1", NULL, "Found a number for the"},
    {"null", NULL, "Found null for the parameters; an object"},
    {"{'\\u001b[2J\\n\x7f\xc3\xa9':1}", NULL, "a parameter '?[2J?\?\?\?'"},
    {"{'0123456789012345678901234567890123456789':1}", NULL, "'01234567890123456789012345678901'"},
};
/* clang-format on */

START_TEST(parameters_are_found_by_name_and_by_position_or_refused)
{
    for (size_t i = 0; i < sizeof to_params / sizeof *to_params; i++) {
        const struct params *row = &to_params[i];
        cJSON *params = row->params == NULL ? NULL : parsed(quoted(row->params));
        const cJSON *found[3];
        char why[200] = "";
        bool good = local_params(params, to_shape, found, why, sizeof why);
        ck_assert_msg(good == (row->found != NULL), "%s: %s", row->params, why);
        ck_assert_msg(strstr(why, row->why) != NULL, "%s: %s", row->params, why);
        for (size_t k = 0; good && k < 3; k++) {
            ck_assert_msg((found[k] != NULL) == (row->found[k] == '1'), "%s", row->params);
            ck_assert(found[k] == NULL || !cJSON_IsArray(params) ||
                      found[k] == cJSON_GetArrayItem(params, (int)k));
            ck_assert(found[k] == NULL || !cJSON_IsObject(params) ||
                      strcmp(found[k]->string, to_shape[k].name) == 0);
        }
        char tight[10];
        ck_assert(good || !local_params(params, to_shape, found, tight, sizeof tight));
        ck_assert(good || strlen(tight) == sizeof tight - 1);
        cJSON_Delete(params);
    }
}
END_TEST

START_TEST(a_method_without_parameters_takes_none)
{
    const cJSON *found[1];
    char why[200];
    cJSON *params = parsed("[1]");
    ck_assert(local_params(NULL, no_shape, found, why, sizeof why));
    ck_assert(!local_params(params, no_shape, found, why, sizeof why));
    ck_assert_str_eq(why, "Found 1 parameters; none would do.");
    cJSON_Delete(params);
}
END_TEST

static size_t allocations_left;
static size_t live;

/* Fails once, and gives what is asked for after that: a failure that is swallowed shows. */
static void *failing_malloc(size_t size)
{
    if (allocations_left-- == 0) {
        return NULL;
    }
    live++;
    return malloc(size);
}

static void counting_free(void *memory)
{
    live -= memory != NULL;
    free(memory);
}

static const char line_text[] = "[{\"jsonrpc\":\"2.0\",\"method\":\"m\",\"id\":\"a\"},{}]";

/* Makes one of the things that need memory, and says whether it could. `taken` is taken over. */
static bool make(int what, const cJSON *id, cJSON *taken)
{
    struct local_line line = {.document = NULL};
    size_t size = 0;
    bool opened = what == 0 && local_line_open(&line, line_text, sizeof line_text - 1);
    char *print = what == 5   ? local_print(id, &size)
                  : what == 6 ? local_answer_line(id, "{}", 2, &size)
                              : NULL;
    cJSON *message = what == 1   ? local_answer(id, taken)
                     : what == 2 ? local_error(id, LOCAL_REFUSED, "no", taken)
                     : what == 3 ? local_request_new(1.5, "m", taken)
                     : what == 4 ? local_notification_new("m", taken)
                                 : NULL;
    ck_assert(opened == (line.count == 2) && (print != NULL) == (size > 0));
    ck_assert(what > 0 || opened || strncmp(line.fault.text, "memory is short", 15) == 0);
    bool good = opened || print != NULL || message != NULL;
    local_line_close(&line);
    cJSON_Delete(message);
    cJSON_free(print);
    return good;
}

START_TEST(short_memory_at_any_allocation_gives_nothing_and_leaks_nothing)
{
    cJSON_InitHooks(&(cJSON_Hooks){.malloc_fn = failing_malloc, .free_fn = counting_free});
    for (int what = 0; what <= 6; what++) {
        for (int kind = 0; kind < 3; kind++) {
            bool good = false;
            size_t tries = 0;
            for (; !good && tries < 100; tries++) {
                allocations_left = SIZE_MAX;
                cJSON *id = kind == 0 ? cJSON_CreateNumber(7) : cJSON_CreateString("an id");
                bool takes = what == 1 || (what > 1 && what < 5 && kind < 2);
                cJSON *taken = takes ? parsed("{\"a\":[1,\"b\"]}") : NULL;
                allocations_left = tries;
                good = make(what, id, taken);
                cJSON_Delete(id);
                ck_assert_uint_eq(live, 0);
            }
            ck_assert(good && tries > 2);
        }
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("local");
    TCase *all = tcase_create("messages");
    tcase_add_test(all, every_example_of_the_standard_is_answered_as_there);
    tcase_add_test(all, a_request_is_valid_as_the_standard_says_and_its_id_found_where_it_can_be);
    tcase_add_test(all, a_batch_of_64_is_taken_and_one_of_65_refused_as_a_whole);
    tcase_add_test(all, an_id_is_echoed_exactly);
    tcase_add_test(all, a_number_as_id_reads_back_as_the_same_double);
    tcase_add_test(all, a_printed_message_is_one_line);
    tcase_add_test(all, messages_hold_what_they_were_given_and_nothing_else);
    tcase_add_test(all, parameters_are_found_by_name_and_by_position_or_refused);
    tcase_add_test(all, a_method_without_parameters_takes_none);
    tcase_add_test(all, short_memory_at_any_allocation_gives_nothing_and_leaks_nothing);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
