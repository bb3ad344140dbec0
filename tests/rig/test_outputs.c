/* SPDX-License-Identifier: MIT */
/* The two outputs: dust extraction runs with the router and behind it, or by hand; the carriage's
 * clamp is loose before the lift moves, and holds when it is at rest. Each in both states. */
#include <check.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rig/config_rig.h"
#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

enum { DUST = 1, CLAMP = 2 };

static unsigned outputs(struct rig *rig)
{
    cJSON *truth = rig_ask(rig, "truth");
    unsigned on = (unsigned)rig_number(truth, "outputs");
    cJSON_Delete(truth);
    return on;
}

static void expect_never_against_lock(struct rig *rig)
{
    cJSON *truth = rig_ask(rig, "truth");
    ck_assert_double_eq(rig_number(truth, "against_lock"), 0);
    cJSON_Delete(truth);
}

/* Is it among the status' outputs? */
static bool said_on(struct rig *rig, const char *name)
{
    cJSON *answer = rig_call(rig, "status", NULL);
    const cJSON *list = cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "result"), "outputs");
    const cJSON *item;
    bool on = false;
    ck_assert(cJSON_IsArray(list));
    cJSON_ArrayForEach(item, list)
    {
        on = on || strcmp(item->valuestring, name) == 0;
    }
    cJSON_Delete(answer);
    return on;
}

static void start(struct rig *rig, const char *outputs_group, const char *inputs)
{
    rig_start(rig, true, 1);
    configure(rig,
              "\"lash\": {\"measured\": \"0.20mm\"},\n"
              "\"inputs\": {\"top_switch\": \"active-high\", \"stop_circuit\": \"active-high\",\n"
              "\"motor_supply\": \"active-high\", \"router\": \"active-high\"%s},\n"
              "\"outputs\": {%s},\n",
              inputs, outputs_group);
}

START_TEST(dust_extraction_runs_with_the_router_and_behind_it)
{
    struct rig rig;
    start(&rig, "\"dust\": \"output-1\", \"dust_run_on_s\": 6", "");
    ck_assert_uint_eq(outputs(&rig), 0);
    ck_assert(!said_on(&rig, "dust"));
    rig_tell(&rig, "router on");
    rig_run(&rig, 500);
    ck_assert_uint_eq(outputs(&rig), DUST);
    ck_assert(said_on(&rig, "dust"));
    rig_tell(&rig, "router off");
    rig_run(&rig, 5500);
    ck_assert_uint_eq(outputs(&rig), DUST);
    rig_run(&rig, 1500);
    ck_assert_uint_eq(outputs(&rig), 0);
    ck_assert(!said_on(&rig, "dust"));
    rig_end(&rig);
}
END_TEST

START_TEST(dust_extraction_is_switched_by_hand_until_told_otherwise)
{
    struct rig rig;
    start(&rig, "\"dust\": \"output-2\"", "");
    expect_done(rig_call(&rig, "dust", "{\"to\":\"on\"}"));
    rig_run(&rig, 300);
    ck_assert_uint_eq(outputs(&rig), 2);
    rig_touch_off(&rig); /* it runs on through every epoch */
    ck_assert_uint_eq(outputs(&rig), 2);
    rig_tell(&rig, "router on");
    expect_done(rig_call(&rig, "dust", "{\"to\":\"off\"}"));
    rig_run(&rig, 500);
    ck_assert_uint_eq(outputs(&rig), 0);
    expect_done(rig_call(&rig, "dust", "{\"to\":\"auto\"}"));
    rig_run(&rig, 500);
    ck_assert_uint_eq(outputs(&rig), 2);
    cJSON *wrong = rig_call(&rig, "dust", "{\"to\":\"up\"}");
    ck_assert(!rig_done(wrong));
    cJSON_Delete(wrong);
    /* A board that starts afresh has all outputs off, and is told again. */
    rig_tell(&rig, "reset");
    ck_assert_uint_eq(outputs(&rig), 0);
    rig_run(&rig, 3000);
    ck_assert_uint_eq(outputs(&rig), 2);
    rig_end(&rig);
}
END_TEST

START_TEST(where_no_dust_extraction_is_wired_that_is_said)
{
    struct rig rig;
    start(&rig, "", "");
    expect_reason(rig_call(&rig, "dust", "{\"to\":\"on\"}"), "no-dust");
    ck_assert_uint_eq(outputs(&rig), 0);
    rig_end(&rig);
}
END_TEST

/* The kinds of clamp: with its sense or without; a spring that holds, or air that does. */
static const struct {
    const char *group;
    const char *inputs;
    const char *clamp;
    unsigned holds;
    unsigned loose;
} clamps[] = {
    {"\"carriage_lock\": \"output-2\"", "", "clamp 2 off", 0, CLAMP},
    {"\"carriage_lock\": \"output-2\"", ", \"carriage_lock\": \"active-high\"", "clamp 2 off", 0,
     CLAMP},
    {"\"carriage_lock\": \"output-2\", \"lock_holds_when\": \"on\"", "", "clamp 2 on", CLAMP, 0},
    {"\"carriage_lock\": \"output-2\", \"lock_holds_when\": \"on\"",
     ", \"carriage_lock\": \"active-high\"", "clamp 2 on", CLAMP, 0},
};

static int begin(struct rig *rig, const char *method, const char *params, int ms)
{
    int id = rig_send(rig, rig->client, method, params);
    cJSON_Delete(rig_answer(rig->client, rig_send(rig, rig->client, "hello", NULL)));
    rig_run(rig, ms);
    return id;
}

/* Over a connection of its own, that drops no answer of the other. */
static void stop(struct rig *rig)
{
    FILE *other = rig_connect(rig);
    expect_done(rig_settle(rig, other, rig_send(rig, other, "stop", NULL)));
    (void)fclose(other);
}

START_TEST(the_clamp_is_loose_before_a_move_and_holds_after_it)
{
    struct rig rig;
    start(&rig, clamps[_i].group, clamps[_i].inputs);
    rig_tell(&rig, "%s", clamps[_i].clamp);
    rig_run(&rig, 500);
    ck_assert_uint_eq(outputs(&rig), clamps[_i].holds);
    ck_assert(said_on(&rig, "carriage-lock"));
    rig_touch_off(&rig); /* searches and nudges, many legs */
    rig_run(&rig, 500);
    ck_assert_uint_eq(outputs(&rig), clamps[_i].holds);
    rig_tell(&rig, "mark");
    int id = begin(&rig, "to", "{\"height\":\"12mm\"}", 300);
    ck_assert_uint_eq(outputs(&rig), clamps[_i].loose);
    cJSON *truth = rig_ask(&rig, "truth");
    ck_assert(cJSON_IsFalse(cJSON_GetObjectItem(truth, "moving"))); /* it waits for the clamp */
    cJSON_Delete(truth);
    rig_run(&rig, 800);
    ck_assert_uint_eq(outputs(&rig), clamps[_i].loose);
    ck_assert(!said_on(&rig, "carriage-lock"));
    expect_done(rig_settle(&rig, rig.client, id));
    rig_run(&rig, 500);
    ck_assert_uint_eq(outputs(&rig), clamps[_i].holds);
    expect_agreement(&rig);
    /* Stopped in mid-move it holds as well, once at rest. */
    id = begin(&rig, "to", "{\"height\":\"-8mm\"}", 1200);
    stop(&rig);
    expect_reason(rig_settle(&rig, rig.client, id), "stopped");
    rig_run(&rig, 500);
    ck_assert_uint_eq(outputs(&rig), clamps[_i].holds);
    expect_done(rig_call(&rig, "to", "{\"height\":\"2mm\"}"));
    expect_agreement(&rig);
    expect_never_against_lock(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(a_stop_while_the_clamp_is_loosened_leaves_the_lift_where_it_is)
{
    struct rig rig;
    start(&rig, clamps[_i].group, clamps[_i].inputs);
    rig_tell(&rig, "%s", clamps[_i].clamp);
    rig_run(&rig, 500);
    rig_touch_off(&rig);
    rig_run(&rig, 500);
    int id = begin(&rig, "to", "{\"height\":\"12mm\"}", 200);
    stop(&rig);
    expect_reason(rig_settle(&rig, rig.client, id), "stopped");
    rig_run(&rig, 500);
    ck_assert_uint_eq(outputs(&rig), clamps[_i].holds);
    expect_agreement(&rig);
    /* The router starts meanwhile: nothing moves. */
    id = begin(&rig, "to", "{\"height\":\"12mm\"}", 200);
    rig_tell(&rig, "router on");
    expect_reason(rig_settle(&rig, rig.client, id), "router-running");
    expect_agreement(&rig);
    rig_tell(&rig, "router off");
    rig_run(&rig, 11000);
    /* Killed while it is loose: the lift finds itself again, and the clamp holds. */
    id = begin(&rig, "to", "{\"height\":\"12mm\"}", 1500);
    rig_end_daemon(&rig, SIGKILL);
    rig_start_daemon(&rig);
    rig_run(&rig, 3000);
    ck_assert_uint_eq(outputs(&rig), clamps[_i].holds);
    expect_done(rig_call(&rig, "to", "{\"height\":\"1mm\"}"));
    expect_agreement(&rig);
    expect_never_against_lock(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(a_carriage_that_stays_locked_is_not_driven)
{
    struct rig rig;
    start(&rig, clamps[1].group, clamps[1].inputs);
    rig_tell(&rig, "%s", clamps[1].clamp);
    rig_run(&rig, 500);
    rig_touch_off(&rig);
    rig_tell(&rig, "lock on"); /* by hand, besides the clamp */
    rig_run(&rig, 500);
    expect_reason(rig_call(&rig, "to", "{\"height\":\"12mm\"}"), "carriage-locked");
    expect_reason(rig_call(&rig, "by", "{\"distance\":\"1mm\"}"), "carriage-locked");
    expect_reason(rig_call(&rig, "find-top", NULL), "carriage-locked");
    expect_agreement(&rig);
    rig_tell(&rig, "lock off");
    rig_run(&rig, 500);
    expect_done(rig_call(&rig, "to", "{\"height\":\"12mm\"}"));
    expect_agreement(&rig);
    expect_never_against_lock(&rig);
    rig_end(&rig);
}
END_TEST

/* Its marks: the extraction on, as it was (a note), off, with the router. */
static const char story[] =
    "{\"name\":\"s\",\"marks\":[{\"height\":\"12mm\",\"dust\":\"on\",\"lock\":\"on\"},"
    "{\"height\":\"2mm\"},{\"words\":\"sweep\",\"dust\":\"off\"},"
    "{\"height\":\"3mm\",\"dust\":\"auto\"}]}";

START_TEST(a_story_switches_the_extraction_when_its_mark_is_reached)
{
    struct rig rig;
    start(&rig, "\"dust\": \"output-1\", \"dust_run_on_s\": 2, \"carriage_lock\": \"output-2\"",
          "");
    rig_tell(&rig, "clamp 2 off");
    rig_run(&rig, 500);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "keep-story", story));
    expect_done(rig_call(&rig, "load", "{\"name\":\"s\"}"));
    rig_run(&rig, 300);
    ck_assert_uint_eq(outputs(&rig), 0);
    /* Ended before its mark, it has switched nothing. */
    int id = begin(&rig, "next", NULL, 1000);
    ck_assert_uint_eq(outputs(&rig), CLAMP);
    stop(&rig);
    expect_reason(rig_settle(&rig, rig.client, id), "stopped");
    rig_run(&rig, 500);
    ck_assert_uint_eq(outputs(&rig), 0);
    expect_done(rig_call(&rig, "next", NULL));
    rig_run(&rig, 500);
    ck_assert_uint_eq(outputs(&rig), DUST); /* and the clamp holds */
    ck_assert(said_on(&rig, "dust") && said_on(&rig, "carriage-lock"));
    expect_done(rig_call(&rig, "next", NULL));
    rig_run(&rig, 500);
    ck_assert_uint_eq(outputs(&rig), DUST);
    expect_done(rig_call(&rig, "next", NULL));
    rig_run(&rig, 500);
    ck_assert_uint_eq(outputs(&rig), 0);
    expect_done(rig_call(&rig, "next", NULL));
    rig_tell(&rig, "router on");
    rig_run(&rig, 500);
    ck_assert_uint_eq(outputs(&rig), DUST);
    rig_tell(&rig, "router off");
    rig_run(&rig, 3000);
    ck_assert_uint_eq(outputs(&rig), 0);
    expect_agreement(&rig);
    expect_never_against_lock(&rig);
    rig_end(&rig);
}
END_TEST

/* The configuration may have changed since the story was loaded. */
START_TEST(a_story_that_asks_for_what_is_not_wired_is_refused_at_load_and_at_its_mark)
{
    static const struct {
        const char *wired;
        const char *reason;
    } rows[] = {
        {"", "no-dust"},
        {"\"dust\": \"output-1\"", "no-lock"},
        {"\"carriage_lock\": \"output-2\"", "no-dust"},
    };
    struct rig rig;
    start(&rig, "\"dust\": \"output-1\", \"carriage_lock\": \"output-2\"", "");
    rig_tell(&rig, "clamp 2 off");
    rig_run(&rig, 500);
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "keep-story", story));
    expect_done(rig_call(&rig, "load", "{\"name\":\"s\"}"));
    configure(&rig,
              "\"lash\": {\"measured\": \"0.20mm\"},\n"
              "\"inputs\": {\"top_switch\": \"active-high\", \"stop_circuit\": \"active-high\",\n"
              "\"motor_supply\": \"active-high\", \"router\": \"active-high\"},\n"
              "\"outputs\": {%s},\n",
              rows[_i].wired);
    rig_run(&rig, 1000);
    expect_reason(rig_call(&rig, "next", NULL), rows[_i].reason);
    expect_reason(rig_call(&rig, "hold", "{\"next\":true}"), rows[_i].reason);
    expect_done(rig_call(&rig, "abandon", NULL));
    expect_reason(rig_call(&rig, "load", "{\"name\":\"s\"}"), rows[_i].reason);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("outputs");
    TCase *cases = tcase_create("outputs");
    int kinds = (int)(sizeof clamps / sizeof *clamps);
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, dust_extraction_runs_with_the_router_and_behind_it);
    tcase_add_test(cases, dust_extraction_is_switched_by_hand_until_told_otherwise);
    tcase_add_test(cases, where_no_dust_extraction_is_wired_that_is_said);
    tcase_add_loop_test(cases, the_clamp_is_loose_before_a_move_and_holds_after_it, 0, kinds);
    tcase_add_loop_test(cases, a_stop_while_the_clamp_is_loosened_leaves_the_lift_where_it_is, 0,
                        kinds);
    tcase_add_test(cases, a_carriage_that_stays_locked_is_not_driven);
    tcase_add_test(cases, a_story_switches_the_extraction_when_its_mark_is_reached);
    tcase_add_loop_test(
        cases, a_story_that_asks_for_what_is_not_wired_is_refused_at_load_and_at_its_mark, 0, 3);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
