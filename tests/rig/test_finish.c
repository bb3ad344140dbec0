/* SPDX-License-Identifier: MIT */
/* From which side a height is reached, as configured, and that it is truly reached: the practice
 * lift has .2 mm of lash. */
#include <check.h>
#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "tests/rig/config_rig.h"
#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

enum { HALF_STEP_NM = 625, LASH_NM = 200000, TAKE_UP_NM = 454000, HEIGHTS = 60 };

static double truth(struct rig *rig, const char *name)
{
    cJSON *object = rig_ask(rig, "truth");
    double value = rig_number(object, name);
    cJSON_Delete(object);
    return value;
}

static void start(struct rig *rig, const char *lash)
{
    rig_start(rig, true, 1);
    configure(rig,
              "\"lash\": {%s},\n"
              "\"inputs\": {\"top_switch\": \"active-high\"},\n",
              lash);
    expect_done(rig_call(rig, "find-top", NULL));
    for (int i = 0; i < 4; i++) {
        expect_done(rig_call(rig, "by", "{\"distance\":\"-10mm\"}"));
    }
}

static void touch_off(struct rig *rig)
{
    char params[60];
    snprintf(params, sizeof params, "{\"height_nm\":%.0f}", truth(rig, "height_nm"));
    expect_done(rig_call(rig, "touch", params));
}

/* Goes there, and says how far the bit is from it, more is higher. */
static double go(struct rig *rig, int64_t height_nm)
{
    rig_tell(rig, "mark");
    expect_done(rig_length(rig, "to", "height", height_nm));
    return truth(rig, "height_nm") - (double)height_nm;
}

static void expect_all_true(struct rig *rig, uint64_t *seed)
{
    for (int i = 0; i < HEIGHTS; i++) {
        int64_t now_nm = (int64_t)llround(truth(rig, "height_nm"));
        int64_t near_nm = now_nm + (int64_t)rig_draw(seed, 400000) - 200000; /* within the lash */
        int64_t far_nm = (int64_t)rig_draw(seed, 30000000) - 15000000;
        double off_nm = go(rig, i % 3 == 0 ? near_nm : far_nm);
        ck_assert_msg(fabs(off_nm) <= HALF_STEP_NM + 1, "move %d is off by %g nm", i, off_nm);
        expect_status(rig, rig->client, "table_zero", "sure");
    }
}

START_TEST(downward_it_comes_down_to_every_height)
{
    struct rig rig;
    uint64_t seed = rig_seed("downward");
    start(&rig, "\"measured\": \"0.20mm\", \"finish\": \"downward\"");
    touch_off(&rig);
    expect_all_true(&rig, &seed);
    (void)go(&rig, 0);
    (void)go(&rig, 10000000); /* from below it goes over it, by take-up less lash */
    double over_nm = truth(&rig, "highest_nm") - 10e6;
    ck_assert_double_eq_tol(over_nm, TAKE_UP_NM - LASH_NM, 2 * HALF_STEP_NM);
    (void)go(&rig, 1000000); /* and from above straight to it */
    ck_assert_double_ge(truth(&rig, "lowest_nm"), 1e6 - HALF_STEP_NM - 1);
    rig_end(&rig);
}
END_TEST

START_TEST(downward_it_is_touched_off_after_it_came_down)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    configure(&rig, "\"lash\": {\"measured\": \"0.20mm\", \"finish\": \"downward\"},\n"
                    "\"inputs\": {\"top_switch\": \"active-high\"},\n");
    expect_done(rig_call(&rig, "find-top", NULL)); /* which ends upward */
    cJSON *answer = rig_call(&rig, "touch", "{\"height\":\"1in\"}");
    ck_assert_str_eq(rig_reason(answer), "come-up-first");
    const cJSON *error = cJSON_GetObjectItem(answer, "error");
    ck_assert_ptr_nonnull(
        strstr(cJSON_GetObjectItem(error, "message")->valuestring, "has not come down far enough"));
    cJSON_Delete(answer);
    expect_done(rig_call(&rig, "by", "{\"distance\":\"-5mm\"}"));
    touch_off(&rig);
    expect_reason(rig_length(&rig, "to", "height", (int64_t)truth(&rig, "height_nm") + 5000000),
                  "take-up"); /* so near the top it has no room to come down from */
    expect_done(rig_call(&rig, "by", "{\"distance\":\"-1mm\"}"));
    rig_end(&rig);
}
END_TEST

/* What it is touched off and moved by is the same flank, so a lash that is wrong is no matter. */
START_TEST(downward_the_lash_need_not_be_known)
{
    struct rig rig;
    uint64_t seed = rig_seed("downward, not measured");
    start(&rig, "\"finish\": \"downward\"");
    touch_off(&rig);
    expect_all_true(&rig, &seed);
    rig_end(&rig);
}
END_TEST

START_TEST(from_either_side_it_adds_the_lash)
{
    struct rig rig;
    uint64_t seed = rig_seed("either");
    start(&rig, "\"measured\": \"0.20mm\", \"finish\": \"either\"");
    expect_done(rig_call(&rig, "by", "{\"distance\":\"-1mm\"}"));
    expect_reason(rig_call(&rig, "touch", "{\"height\":\"1in\"}"), "come-up-first");
    expect_done(rig_call(&rig, "by", "{\"distance\":\"1mm\"}"));
    touch_off(&rig);
    expect_all_true(&rig, &seed);
    (void)go(&rig, 5000000);
    (void)go(&rig, 1000000); /* neither dips below it nor goes over it */
    ck_assert_double_ge(truth(&rig, "lowest_nm"), 1e6 - HALF_STEP_NM - 1);
    (void)go(&rig, 5000000);
    ck_assert_double_le(truth(&rig, "highest_nm"), 5e6 + HALF_STEP_NM + 1);
    rig_end(&rig);
}
END_TEST

/* A lash that nobody measured is not added: it comes up to its heights. */
START_TEST(from_either_side_asks_for_a_measured_lash)
{
    struct rig rig;
    uint64_t seed = rig_seed("either, not measured");
    start(&rig, "\"finish\": \"either\"");
    touch_off(&rig);
    expect_all_true(&rig, &seed);
    (void)go(&rig, 5000000);
    (void)go(&rig, 1000000);
    ck_assert_double_lt(truth(&rig, "lowest_nm"), 1e6 - LASH_NM);
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("finish");
    TCase *cases = tcase_create("finish");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, downward_it_comes_down_to_every_height);
    tcase_add_test(cases, downward_it_is_touched_off_after_it_came_down);
    tcase_add_test(cases, downward_the_lash_need_not_be_known);
    tcase_add_test(cases, from_either_side_it_adds_the_lash);
    tcase_add_test(cases, from_either_side_asks_for_a_measured_lash);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
