/* SPDX-License-Identifier: MIT */
/* A lift that has lost its count comes to its bottom switch: it stops there before it meets iron,
 * goes no lower, and comes up again. */
#include <check.h>
#include <string.h>

#include "tests/rig/config_rig.h"
#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

static bool said_met(struct rig *rig)
{
    cJSON *answer = rig_call(rig, "status", NULL);
    const cJSON *list = cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "result"), "inputs");
    const cJSON *item;
    bool met = false;
    ck_assert(cJSON_IsArray(list));
    cJSON_ArrayForEach(item, list)
    {
        met = met || strcmp(item->valuestring, "bottom-switch") == 0;
    }
    cJSON_Delete(answer);
    return met;
}

static void start(struct rig *rig, const char *bottom)
{
    rig_start(rig, true, 1);
    configure(rig,
              "\"lash\": {\"measured\": \"0.20mm\"},\n"
              "\"inputs\": {\"top_switch\": \"active-high\", \"bottom_switch\": \"%s\"},\n",
              bottom);
    expect_status(rig, rig->client, "reference", "lost");
}

static double steps_lost(struct rig *rig)
{
    cJSON *truth = rig_ask(rig, "truth");
    double lost = rig_number(truth, "steps_lost");
    cJSON_Delete(truth);
    return lost;
}

/* Down by 12 mm at a time, from the middle of 80 mm. */
static cJSON *go_down(struct rig *rig)
{
    cJSON *answer = NULL;
    for (int i = 0; i < 4; i++) {
        cJSON_Delete(answer);
        answer = rig_call(rig, "by", "{\"distance\":\"-12mm\"}");
        ck_assert_msg(rig_done(answer) || i == 3, "%s after %d", rig_reason(answer), i);
    }
    return answer;
}

START_TEST(it_stops_there_and_comes_up_again)
{
    struct rig rig;
    start(&rig, "active-high");
    cJSON *answer = go_down(&rig);
    const cJSON *error = cJSON_GetObjectItem(answer, "error");
    const char *said = cJSON_GetObjectItem(error, "message")->valuestring;
    ck_assert_str_eq(rig_reason(answer), "stopped");
    ck_assert_msg(strstr(said, "the bottom switch"), "%s", said);
    cJSON_Delete(answer);
    ck_assert(said_met(&rig));
    ck_assert_double_eq(steps_lost(&rig), 0);
    expect_status(&rig, rig.client, "activity", "barred");
    expect_done(rig_call(&rig, "all-clear", NULL));
    expect_reason(rig_call(&rig, "by", "{\"distance\":\"-1mm\"}"), "below-travel");
    expect_reason(rig_call(&rig, "hold", "{\"direction\":\"down\"}"), "below-travel");
    expect_done(rig_call(&rig, "by", "{\"distance\":\"5mm\"}"));
    ck_assert(!said_met(&rig));
    expect_done(rig_call(&rig, "by", "{\"distance\":\"-1mm\"}"));
    expect_done(rig_call(&rig, "find-top", NULL));
    ck_assert_double_eq(steps_lost(&rig), 0);
    rig_end(&rig);
}
END_TEST

/* What the switch is good for: without it the same lift is driven against its end. */
START_TEST(without_one_it_meets_iron)
{
    struct rig rig;
    start(&rig, "absent");
    cJSON_Delete(go_down(&rig));
    ck_assert(!said_met(&rig));
    ck_assert_double_gt(steps_lost(&rig), 0);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("bottom switch");
    TCase *cases = tcase_create("bottom switch");
    tcase_add_test(cases, it_stops_there_and_comes_up_again);
    tcase_add_test(cases, without_one_it_meets_iron);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
