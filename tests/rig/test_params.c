/* SPDX-License-Identifier: MIT */
/*
 * Parameters that are not those of a method: each is answered by error -32602 and one whole
 * sentence that says what was found and what would do, and nothing is done.
 */
#include <check.h>
#include <ctype.h>
#include <string.h>

#include "protocol/local.h"
#include "tests/rig/expect.h"
#include "tests/rig/page.h"
#include "tests/suite.h"

/* "Found ...; ... would do.", or what protocol/length.h says of a length. A mark of a story says
 * its number first. */
static bool is_whole(const char *sentence)
{
    const char *from = strncmp(sentence, "Mark ", 5) == 0 ? strchr(sentence, ':') : sentence;
    size_t size = strlen(sentence);
    bool length = (strstr(sentence, "': ") || strstr(sentence, "\": ")) &&
                  (strstr(sentence, "expected ") || strstr(sentence, " of what? write "));
    bool found = strncmp(sentence, "Found ", 6) == 0 || (from && strstr(from, " its "));
    return found && (length || strstr(sentence, "; ")) && size > 0 && sentence[size - 1] == '.' &&
           (length || (size > 9 && strcmp(sentence + size - 9, "would do.") == 0));
}

/* `words` (NULL: any) are in the sentence. */
static void expect_invalid(struct rig *rig, const char *method, const char *params,
                           const char *words)
{
    cJSON *answer = rig_call(rig, method, params);
    const cJSON *error = cJSON_GetObjectItem(answer, "error");
    ck_assert_msg(error != NULL, "%s took %s", method, params);
    const char *message = cJSON_GetObjectItem(error, "message")->valuestring;
    ck_assert_msg(cJSON_GetObjectItem(error, "code")->valueint == LOCAL_INVALID_PARAMS, "%s %s: %s",
                  method, params, message);
    ck_assert(!cJSON_HasObjectItem(error, "data"));
    ck_assert_msg(is_whole(message), "%s %s is no whole sentence: %s", method, params, message);
    ck_assert_msg(!words || strstr(message, words), "%s %s has no '%s': %s", method, params, words,
                  message);
    for (const char *at = message; *at; at++) {
        ck_assert_msg(isprint((unsigned char)*at), "%s %s: %s", method, params, message);
    }
    cJSON_Delete(answer);
}

/* Whatever the page has a table of, each of its parameters is null once. */
static int refuse_nulls(struct rig *rig, const char *page, const char *method)
{
    static struct table own;
    char params[80];
    int refused = 0;
    if (!page_table(page_method(page, method), "parameter", &own)) {
        return 0;
    }
    for (int i = 0; i < own.rows; i++) {
        for (int n = 0; n < own.row[i].names; n++) {
            snprintf(params, sizeof params, "{\"%s\":null}", own.row[i].name[n]);
            expect_invalid(rig, method, params, NULL);
            refused++;
        }
    }
    return refused;
}

START_TEST(every_method_of_the_page_says_what_it_found_and_what_would_do)
{
    struct rig rig;
    int methods = 0;
    int nulls = 0;
    rig_start(&rig, true, 1);
    const char *page = page_read();
    for (const char *at = strstr(page, "\n### "); at; at = strstr(at + 1, "\n### ")) {
        char heading[80];
        char *rest = NULL;
        snprintf(heading, sizeof heading, "%.*s", (int)strcspn(at + 5, "\n"), at + 5);
        bool alone = !strchr(heading, ',');
        for (char *word = strtok_r(heading, ", ", &rest); word;
             word = strtok_r(NULL, ", ", &rest)) {
            expect_invalid(&rig, word, "{\"nobody\":1}", "a parameter 'nobody'; ");
            expect_invalid(&rig, word, "{\"\\u001b[2J\\u00e9\":1}", "'?[2J?");
            expect_invalid(&rig, word,
                           "[1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1]",
                           "Found 32 parameters; ");
            nulls += alone ? refuse_nulls(&rig, page, word) : 0;
            methods++;
        }
    }
    ck_assert_int_ge(methods, 40);
    ck_assert_int_ge(nulls, 40);
    rig_end(&rig);
}
END_TEST

/* What a method alone can tell. */
static const struct wrong {
    const char *method;
    const char *params;
    const char *words;
} wrongs[] = {
    {"hello", "{\"client\":\"\"}", "Found \"\" for 'client', 0 bytes; "},
    {"hello", "{\"client\":\"12345678901234567890123456789012\"}", ", 32 bytes; 1 to 31"},
    {"hello", "{\"client\":\"a\\u001b\"}", "\"a?\""},
    {"to", "{}", "neither 'height' nor 'height_nm'; "},
    {"to", "{\"height\":\"1in\",\"height_nm\":1}", "both 'height' and 'height_nm'; "},
    {"to", "{\"height\":\"12,5mm\"}", "\"12,5mm\" for 'height': expected a point, not a comma"},
    {"to", "{\"height\":\"3/8\"}", "\"3/8\" for 'height': 3/8 of what? write 3/8in"},
    {"to", "{\"height\":\"\"}", "\"\" for 'height': expected a length"},
    {"to", "{\"height_nm\":10000000001}", "Found 10000000001 for 'height_nm'; at most 10 m"},
    {"to", "{\"height_nm\":1.5}", "a number for 'height_nm'; a whole number"},
    {"by", "{\"distance\":\"1ft\"}", "'distance': expected the unit in"},
    {"hold", "{}", "Found none of a direction"},
    {"hold", "{\"direction\":\"up\",\"distance\":\"1mm\"}", "Found more than one of a direction"},
    {"hold", "{\"direction\":\"left\"}", "\"left\" for 'direction'; \"up\" or \"down\""},
    {"hold", "{\"direction\":\"up\",\"speed\":\"quick\"}", "\"quick\" for 'speed'; "},
    {"touch", "{}", "Found none of a height"},
    {"touch", "{\"height\":\"0in\",\"plate\":true}", "Found more than one of a height"},
    {"touch", "{\"plate\":true,\"most\":\"0mm\"}", "Found 0 nm for 'most'; "},
    {"riding", "{\"thickness\":\"300mm\"}", "(300mm); one from 0 to 10in"},
    {"riding", "{\"thickness\":\"-1mm\"}", "(-1mm); one from 0"},
    {"correct", "{\"raise\":\"2 thou\"}", "\"2 thou\" for 'raise': "},
    {"confirm", "{\"height\":\"1\"}", "\"1\" for 'height': "},
    {"calibrate", "{}", "Found nothing to calibrate; "},
    {"calibrate", "{\"back\":true,\"lash_nm\":1}", "\"back\" together with a value; "},
    {"keep", "{\"name\":\" a\",\"height\":\"1mm\"}", "\" a\", 2 bytes, for a name; "},
    {"keep", "{\"name\":\"flush\",\"height\":\"1mm\"}", "\"flush\" for the name of a preset"},
    {"log", "{\"skip\":-1}", "\"\" for 'from' and -1 for 'skip'; "},
    {"keep", "{\"name\":\"a\",\"height\":\"1\"}", "\"1\" for 'height': "},
    {"keep-bit", "{\"name\":\"b\"}", "a bit without 'kind'; "},
    {"keep-bit", "{\"name\":\"b\",\"kind\":\"saw\"}", "\"saw\" for 'kind'; straight, spiral"},
    {"keep-bit", "{\"name\":\"b\",\"kind\":\"cove\",\"diameter\":\"1in\",\"diameter_nm\":1}",
     "both 'diameter' and 'diameter_nm'; "},
    {"keep-bit", "{\"name\":\"b\",\"kind\":\"cove\",\"diameter\":\"9in\"}",
     "228.6mm for 'diameter'; from "},
    {"keep-bit", "{\"name\":\"b\",\"kind\":\"cove\",\"diameter\":\"1in\",\"speed_most\":-1}",
     "Found -1 for 'speed_most'; from 0 to "},
    {"keep-bit", "{\"name\":\"b\",\"kind\":\"cove\",\"diameter\":\"1in\",\"note\":\"a\\nb\"}",
     "Found 3 bytes for 'note'; one line"},
    {"keep-ring", "{\"name\":\"r\"}", "a ring without 'opening'; "},
    {"keep-stock", "{\"name\":\"s\",\"size\":\"x\"}", "\"x\" for 'size': "},
    {"keep-bit", "{\"name\":\"w\",\"kind\":\"cove\",\"diameter\":\"2in\",\"ring\":\"narrow\"}",
     "without 'cutting_length'"},
    {"keep-pair", "{\"name\":\"p\",\"first\":\"one\",\"second\":\"one\",\"difference\":\"1mm\"}",
     "one bit twice in the pair; "},
    {"rename", "{\"what\":\"clamp\",\"name\":\"a\",\"to\":\"b\"}", "\"clamp\" for 'what'; "},
    {"rename", "{\"what\":\"ring\",\"name\":\"narrow\",\"to\":\"\"}",
     "\"\", 0 bytes, for a name; "},
    {"keep-story", "{\"name\":\"\",\"marks\":[]}", "for a name; "},
    {"keep-story", "{\"name\":\"s\",\"marks\":[]}", "Found 0 marks; from 1 to 200"},
    {"keep-story", "{\"name\":\"s\",\"marks\":[{\"height\":\"1/4in\"},{\"height\":\"12,5\"}]}",
     "Mark 2: its \"height\" is \"12,5\": expected"},
    {"keep-story", "{\"name\":\"s\",\"marks\":[{\"pieces\":0}]}", "Mark 1: its \"pieces\" "},
    {"keep-story", "{\"name\":\"s\",\"marks\":[{\"height\":\"1mm\",\"router\":\"idle\"}]}",
     "Mark 1: its \"router\" "},
    {"keep-story", "{\"name\":\"s\",\"marks\":[{\"height\":\"1mm\",\"depth\":1}]}",
     "its \"depth\""},
};

START_TEST(what_only_a_method_can_tell_is_said_as_well)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "keep-ring", "{\"name\":\"narrow\",\"opening\":\"1in\"}"));
    expect_done(
        rig_call(&rig, "keep-bit", "{\"name\":\"one\",\"kind\":\"cove\",\"diameter\":\"1/2in\"}"));
    cJSON *before = rig_call(&rig, "status", NULL);
    for (size_t i = 0; i < sizeof wrongs / sizeof *wrongs; i++) {
        expect_invalid(&rig, wrongs[i].method, wrongs[i].params, wrongs[i].words);
    }
    cJSON *after = rig_call(&rig, "status", NULL);
    ck_assert_double_eq(rig_number(cJSON_GetObjectItem(before, "result"), "count"),
                        rig_number(cJSON_GetObjectItem(after, "result"), "count"));
    cJSON_Delete(before);
    cJSON_Delete(after);
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("params");
    TCase *cases = tcase_create("params");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, every_method_of_the_page_says_what_it_found_and_what_would_do);
    tcase_add_test(cases, what_only_a_method_can_tell_is_said_as_well);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
