/* SPDX-License-Identifier: MIT */
/*
 * protocol/LOCAL.md against the daemon: every example request is asked in the page's order, and
 * whatever is answered or told is what the tables say.
 */
#include <check.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "tests/rig/config_rig.h"
#include "tests/rig/harness.h"
#include "tests/rig/page_reader.h"
#include "tests/rig/readout_rig.h"
#include "tests/suite.h"

/* What has come by now is checked, whatever it is. */
static void let_go_on(struct reader *r, int ms)
{
    rig_run(r->rig, ms);
    ck_assert_ptr_null(answer_so_far(r, -1));
}

/* --- The examples --- */

/* What an example needs in its place on the page: requests before it ("run": that time goes on),
 * one after it, or a refusal that cannot be otherwise there. All others are carried out. */
static const struct need {
    const char *method;
    const char *refused;
    struct {
        const char *method;
        const char *params;
    } before[8], after;
} needs[] = {
    {.method = "renew", .refused = "hold-over"},   /* the token is the page's, not that hold's */
    {.method = "release", .refused = "hold-over"}, /* the same */
    {.method = "here-top", .refused = "top-switch-fitted"}, /* see a_lift_without_a_top_switch */
    {.method = "confirm", .before = {{"to", "{\"height\":\"9.5mm\"}"}}},
    /* Behind a change: held down, brought up to where the new bit is touched off. */
    {.method = "correct",
     .before = {{"hold", "{\"direction\":\"down\"}"},
                {"run", "2000"},
                {"by", "{\"distance\":\"-12mm\"}"},
                {"by", "{\"distance\":\"-12mm\"}"},
                {"by", "{\"distance\":\"2mm\"}"},
                {"touch", "{\"height\":\"0in\"}"},
                {"to", "{\"height\":\"1mm\"}"}}},
    {.method = "under", /* a bit whose size is known */
     .before = {{"keep-bit", "{\"name\":\"small\",\"kind\":\"straight\",\"diameter\":\"1/4in\"}"},
                {"fit", "{\"bit\":\"small\",\"clear\":true}"},
                {"by", "{\"distance\":\"-2mm\"}"},
                {"by", "{\"distance\":\"2mm\"}"},
                {"touch", "{\"height\":\"1mm\"}"}}},
    {.method = "keep-pair", /* two bits of the list */
     .before = {{"keep-bit", "{\"name\":\"stile-bit\",\"kind\":\"stile-rail\",\"diameter\":"
                             "\"1-5/8in\",\"cutting_length\":\"3/4in\"}"},
                {"keep-bit", "{\"name\":\"rail-bit\",\"kind\":\"stile-rail\",\"diameter\":"
                             "\"1-5/8in\",\"cutting_length\":\"3/4in\"}"}}},
    {.method = "match",
     .before = {{"fit", "{\"bit\":\"rail-bit\",\"clear\":true}"},
                {"by", "{\"distance\":\"-2mm\"}"},
                {"by", "{\"distance\":\"2mm\"}"},
                {"touch", "{\"height\":\"1mm\"}"}}},
    {.method = "forget-bit", /* not the one in the collet */
     .before = {{"fit", "{\"bit\":\"small\",\"clear\":true}"},
                {"by", "{\"distance\":\"-2mm\"}"},
                {"by", "{\"distance\":\"2mm\"}"},
                {"touch", "{\"height\":\"1mm\"}"}}},
    {.method = "forget-ring",
     .before = {{"keep-ring", "{\"name\":\"ring-old\",\"opening\":\"2in\"}"}}},
    {.method = "marks",
     .before = {{"keep-story", "{\"name\":\"sides\",\"marks\":[{\"height\":\"1/4in\"}]}"}},
     .after = {"forget-story", "{\"name\":\"sides\"}"}},
};

static const struct need *need_of(const char *method)
{
    static const struct need none = {.method = NULL};
    for (size_t i = 0; i < sizeof needs / sizeof *needs; i++) {
        if (strcmp(needs[i].method, method) == 0) {
            return &needs[i];
        }
    }
    return &none;
}

static void prepare(struct reader *r, const struct need *need)
{
    for (size_t i = 0; need->before[i].method; i++) {
        if (strcmp(need->before[i].method, "run") == 0) {
            let_go_on(r, atoi(need->before[i].params));
        } else {
            ask_done(r, need->before[i].method, need->before[i].params);
        }
    }
}

/* The example's own parameters are those of the page. */
static void check_params(const struct reader *r, const char *method, const cJSON *request)
{
    static struct table own;
    const cJSON *params = cJSON_GetObjectItem(request, "params");
    struct part part = page_method(r->page, method);
    if (!params && page_is_shared(part)) {
        return; /* its table may be another's; the daemon says whether one is missing */
    }
    if (page_table(part, "parameter", &own)) {
        cJSON *none = cJSON_CreateObject();
        page_check(params ? params : none, &own, false, method);
        cJSON_Delete(none);
    } else if (page_table(part, "method", &own)) {
        page_check_named(params, &own, method);
    } else {
        ck_assert_msg(params == NULL, "%s has parameters and no table of them", method);
    }
    const cJSON *mark;
    cJSON_ArrayForEach(mark, cJSON_GetObjectItem(params, "marks"))
    {
        page_check_mark(r->page, mark, false);
    }
}

/* As the page has it, but with the token of the hold that is under way. */
static void ask_with_token(struct reader *r, const char *method, const char *token)
{
    char params[64];
    snprintf(params, sizeof params, "{\"token\":\"%s\"}", token);
    ask_done(r, method, params);
}

static void replay(struct reader *r, const char *line, const char *method)
{
    static char token[32];
    const struct need *need = need_of(method);
    prepare(r, need);
    cJSON *answer = ask(r, line);
    const char *reason = rig_done(answer) ? "none" : rig_reason(answer);
    ck_assert_msg(strcmp(reason, need->refused ? need->refused : "none") == 0,
                  "the example of %s was refused: %s", method, reason);
    if (strcmp(method, "hold") == 0) {
        const cJSON *result = cJSON_GetObjectItem(answer, "result");
        snprintf(token, sizeof token, "%s", cJSON_GetObjectItem(result, "token")->valuestring);
    } else if (strcmp(method, "renew") == 0 || strcmp(method, "release") == 0) {
        ask_with_token(r, method, token);
    }
    if (need->after.method) {
        ask_done(r, need->after.method, need->after.params);
    }
    cJSON_Delete(answer);
}

/* The one example at `text`; true when it is a request. */
static bool take_example(struct reader *r, const char *text)
{
    char line[1024];
    size_t size = strcspn(text, "\n");
    ck_assert_uint_lt(size, sizeof line);
    snprintf(line, sizeof line, "%.*s", (int)size, text);
    cJSON *request = cJSON_Parse(line);
    ck_assert_msg(request != NULL, "no JSON: %s", line);
    const char *method = cJSON_GetObjectItem(request, "method")->valuestring;
    bool is_request = cJSON_HasObjectItem(request, "id");
    if (is_request) {
        check_params(r, method, request);
        replay(r, line, method);
    } else {
        check_told(r, request);
        r->places--; /* it was the page that told it */
    }
    cJSON_Delete(request);
    return is_request;
}

/* Every method that the heading names has one; how many it names. */
static int expect_own_examples(struct part part, char *heading)
{
    char *rest = NULL;
    int methods = 0;
    for (char *word = strtok_r(heading + 4, ", ", &rest); word;
         word = strtok_r(NULL, ", ", &rest)) {
        char own[80];
        snprintf(own, sizeof own, "\"method\":\"%.48s\"", word);
        const char *found = strstr(part.start, own);
        ck_assert_msg(found && found < part.end, "%s has no example", word);
        methods++;
    }
    return methods;
}

START_TEST(every_example_of_the_page_is_answered_as_the_page_says)
{
    struct rig rig;
    struct reader r;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    reader_open(&r, &rig);
    int methods = 0;
    for (const char *at = strstr(r.page, "\n### "); at; at = strstr(at + 1, "\n### ")) {
        char heading[80];
        int examples = 0;
        snprintf(heading, sizeof heading, "%.*s", (int)strcspn(at + 1, "\n"), at + 1);
        struct part part = page_section(r.page, heading);
        for (const char *text = strstr(part.start, "\n{\"jsonrpc\""); text && text < part.end;
             text = strstr(text + 1, "\n{\"jsonrpc\"")) {
            examples += take_example(&r, text + 1) ? 1 : 0;
        }
        ck_assert_int_gt(examples, 0);
        methods += expect_own_examples(part, heading);
    }
    ck_assert_int_ge(methods, 50);
    ck_assert_int_ge(r.changes, 10);
    ck_assert_int_ge(r.places, 50);
    reader_close(&r);
    rig_end(&rig);
}
END_TEST

/* --- States that no example comes by --- */

static void expect_all_seen(const struct table *table)
{
    for (int i = 0; i < table->rows; i++) {
        for (int n = 0; n < table->row[i].names; n++) {
            ck_assert_msg(table->row[i].seen[n], "%s was never there", table->row[i].name[n]);
        }
    }
}

/* A named bit, touched off twice, and corrected by a test cut. */
static void change_bit(struct reader *r)
{
    static const char *const asked[][2] = {
        {"keep-bit", "{\"name\":\"straight-half\",\"kind\":\"straight\",\"diameter\":\"1/2in\"}"},
        {"fit", "{\"bit\":\"straight-half\",\"clear\":true}"}, /* it is the one before, later */
        {"touch", "{\"height\":\"1/4in\"}"},
        {"keep-story", "{\"name\":\"sides\",\"marks\":[{\"height\":\"1/4in\",\"bit\":"
                       "\"straight-half\",\"words\":\"first\",\"pieces\":2},{\"fence\":\"b\"}]}"},
        {"marks", "{\"name\":\"sides\"}"},
        {"stories", "{}"},
        {"bits", "{}"},
        {"keep-bit", "{\"name\":\"b\",\"kind\":\"cove\",\"diameter\":\"1in\",\"meets\":\"bearing\","
                     "\"offset\":\"-3/16in\",\"note\":\"n\"}"},
        {"keep-pair", "{\"name\":\"p\",\"first\":\"straight-half\",\"second\":\"b\","
                      "\"difference\":\"2mm\"}"},
        {"pairs", "{}"},
        {"forget-pair", "{\"name\":\"p\"}"},
        {"forget-bit", "{\"name\":\"b\"}"},
        {"keep-ring", "{\"name\":\"r\",\"opening\":\"2in\"}"},
        {"rings", "{}"},
        {"forget-ring", "{\"name\":\"r\"}"},
        {"change", "{\"clear\":true}"},
        {"fit", "{\"bit\":\"straight-half\",\"clear\":true}"},
        {"hold", "{\"direction\":\"down\"}"},
        {"run", "2000"},
        {"by", "{\"distance\":\"-12mm\"}"},
        {"by", "{\"distance\":\"-12mm\"}"},
        {"by", "{\"distance\":\"2mm\"}"},
        {"touch", "{\"height\":\"0in\"}"},
        {"to", "{\"height\":\"1mm\"}"},
        {"touch", "{\"height\":\"1.1mm\"}"},
        {"to", "{\"height\":\"6mm\"}"},
        {"correct", "{\"raise\":\".002in\"}"},
    };
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        if (strcmp(asked[i][0], "run") == 0) {
            let_go_on(r, atoi(asked[i][1]));
        } else {
            ask_done(r, asked[i][0], asked[i][1]);
        }
    }
}

START_TEST(every_member_of_the_status_comes_and_is_as_the_page_says)
{
    struct rig rig;
    struct reader r;
    rig_start(&rig, true, 1);
    configure(&rig,
              "\"lash\": {\"measured\": \"0.20mm\"},\n"
              "\"inputs\": {\"top_switch\": \"active-high\", \"stop_circuit\": \"active-high\",\n"
              "\"motor_supply\": \"active-high\", \"router\": \"active-high\"},\n"
              "\"outputs\": {\"dust\": \"output-1\"},\n"
              "\"readout\": {\"two_wire\": \"rising\"},\n");
    readout_hang(&rig);
    reader_open(&r, &rig);
    ask_done(&r, "calibrate", "{\"lead\":\"2mm\"}");
    ask_done(&r, "watch", "{}");
    ask_done(&r, "by", "{\"distance\":\"-2mm\"}"); /* without a table zero */
    rig_touch_off(&rig);
    ask_done(&r, "keep", "{\"name\":\"drawer-groove\",\"height\":\"1/4in\"}");
    ask_done(&r, "recall", "{\"name\":\"drawer-groove\"}");
    change_bit(&r);
    ask_done(&r, "load", "{\"name\":\"sides\"}");
    ask_done(&r, "next", "{}");
    ask_done(&r, "cut", "{}");
    ask_done(&r, "riding", "{\"thickness\":\"3/8in\"}");
    ask_done(&r, "hold", "{\"direction\":\"up\"}");
    let_go_on(&r, 1000);
    rig_tell(&rig, "stop-circuit open");
    let_go_on(&r, 100);
    rig_tell(&rig, "stop-circuit closed");
    let_go_on(&r, 100);
    ask_done(&r, "all-clear", "{}");
    rig_tell(&rig, "motor-supply off");
    let_go_on(&r, 100);
    rig_tell(&rig, "motor-supply on");
    let_go_on(&r, 100);
    ask_done(&r, "confirm", "{}");
    rig_tell(&rig, "unplug");
    let_go_on(&r, 2500);
    rig_tell(&rig, "plug");
    let_go_on(&r, 5000);
    ask_done(&r, "status", "{}");
    expect_all_seen(&r.status);
    expect_all_seen(&r.place);
    reader_close(&r);
    rig_end(&rig);
}
END_TEST

START_TEST(a_lift_without_a_top_switch_takes_the_example_of_here_top)
{
    struct rig rig;
    struct reader r;
    rig_start(&rig, true, 1);
    configure(&rig, "%s", "");
    reader_open(&r, &rig);
    const char *text = strstr(page_section(r.page, "### here-top").start, "{\"jsonrpc\"");
    char line[256];
    snprintf(line, sizeof line, "%.*s", (int)strcspn(text, "\n"), text);
    cJSON *answer = ask(&r, line);
    const cJSON *result = cJSON_GetObjectItem(answer, "result");
    ck_assert_msg(result != NULL, "it was refused: %s", rig_reason(answer));
    ck_assert_str_eq(cJSON_GetObjectItem(result, "reference")->valuestring, "sure");
    cJSON_Delete(answer);
    reader_close(&r);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("page");
    TCase *cases = tcase_create("page");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, every_example_of_the_page_is_answered_as_the_page_says);
    tcase_add_test(cases, every_member_of_the_status_comes_and_is_as_the_page_says);
    tcase_add_test(cases, a_lift_without_a_top_switch_takes_the_example_of_here_top);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
