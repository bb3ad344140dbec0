/* SPDX-License-Identifier: MIT */
/* What happened, in words; and the table's surface, found with a plain pin. */
#include <signal.h>

#include "tests/rig/expect.h"
#include "tests/rig/harness.h"
#include "tests/rig/reglet_run.h"
#include "tests/suite.h"

START_TEST(the_day_is_told_in_plain_sentences)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    reglet_expect(&rig, "log", 0, "Nothing is in the log of that time.");
    rig_touch_off(&rig);
    expect_done(rig_call(&rig, "keep-bit",
                         "{\"name\":\"half\",\"kind\":\"straight\",\"diameter\":\"1/2in\"}"));
    expect_done(rig_call(&rig, "fit", "{\"bit\":\"half\",\"clear\":true}"));
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0in\"}"));
    expect_done(rig_call(&rig, "keep", "{\"name\":\"groove\",\"height\":\"1/4in\"}"));
    expect_done(rig_call(&rig, "recall", "{\"name\":\"groove\"}"));
    expect_done(rig_call(&rig, "correct", "{\"raise\":\".002in\"}"));
    expect_reason(rig_call(&rig, "to", "{\"height\":\"9in\"}"), "above-travel");
    reglet_expect(&rig, "log all", 0, "Found the top.");
    reglet_expect(&rig, "log all", 0, "Fitted half.");
    reglet_expect(&rig, "log all", 0, "Touched off 'half': it stood at 0.");
    reglet_expect(&rig, "log all", 0, "groove");
    reglet_expect(&rig, "log all", 0, "Corrected by a test cut: the bit .002in higher");
    reglet_expect(&rig, "log all", 0, "Refused: to, asked by a client");
    reglet_expect(&rig, "log 1970-01-01", 0, "Found the top.");
    reglet_expect(&rig, "log 1970-01-03", 0, "Nothing is in the log of that time.");
    reglet_expect(&rig, "log all --json", 0, "\"event\":\"fitted\"");
    reglet_expect(&rig, "log tomorrow", 2, "2026-01-31");
    /* A name that is not in the lists any more. */
    expect_done(rig_call(&rig, "fit", "{\"clear\":true}"));
    expect_done(rig_call(&rig, "forget-bit", "{\"name\":\"half\",\"with_others\":true}"));
    reglet_expect(&rig, "log all", 0, "Fitted ?.");
    rig_end(&rig);
}
END_TEST

START_TEST(a_long_log_comes_in_pages_and_survives_a_kill)
{
    struct rig rig;
    char params[64];
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (int i = 0; i < 120; i++) {
        snprintf(params, sizeof params, "{\"thickness\":\"%dmm\"}", i % 2);
        expect_done(rig_call(&rig, "riding", params));
    }
    rig_end_daemon(&rig, SIGKILL);
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    int lines = 0;
    int pages = 0;
    for (bool more = true; more; pages++) {
        snprintf(params, sizeof params, "{\"skip\":%d}", lines);
        cJSON *answer = rig_call(&rig, "log", params);
        const cJSON *result = cJSON_GetObjectItem(answer, "result");
        int got = cJSON_GetArraySize(cJSON_GetObjectItem(result, "lines"));
        ck_assert_int_gt(got, 0);
        lines += got;
        more = cJSON_IsTrue(cJSON_GetObjectItem(result, "more"));
        cJSON_Delete(answer);
    }
    ck_assert_int_ge(lines, 120);
    ck_assert_int_ge(pages, 3);
    snprintf(params, sizeof params, "{\"skip\":%d}", lines);
    cJSON *answer = rig_call(&rig, "log", params);
    ck_assert_int_eq(
        cJSON_GetArraySize(cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "result"), "lines")), 0);
    cJSON_Delete(answer);
    rig_end(&rig);
}
END_TEST

/* Asked for, and gone before the answer is there. */
START_TEST(who_asks_for_the_log_and_goes_away_harms_nobody)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (int i = 0; i < 30; i++) {
        FILE *other = rig_connect(&rig);
        for (int n = 0; n < 10; n++) {
            rig_send(&rig, other, "log", NULL);
        }
        (void)fclose(other);
    }
    expect_done(rig_call(&rig, "to", "{\"height\":\"1mm\"}"));
    expect_agreement(&rig);
    rig_end(&rig);
}
END_TEST

START_TEST(a_plain_pin_shows_how_the_table_moves_through_the_seasons)
{
    struct rig rig;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    reglet_expect(&rig, "log surface", 0, "Nothing is known of the table's surface");
    expect_done(
        rig_call(&rig, "keep-bit", "{\"name\":\"pin\",\"kind\":\"pin\",\"diameter\":\"1/4in\"}"));
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0in\"}")); /* no pin: not a point */
    expect_done(rig_call(&rig, "fit", "{\"bit\":\"pin\",\"clear\":true}"));
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0in\"}"));
    reglet_expect(&rig, "log surface", 0, "pin   the first");
    /* The table has swollen by 0.2 mm: the pin must come up so much more to be flush. */
    expect_done(rig_call(&rig, "to", "{\"height\":\"0.2mm\"}"));
    expect_done(rig_call(&rig, "touch", "{\"height\":\"0in\"}"));
    rig_end_daemon(&rig, SIGKILL);
    rig_start_daemon(&rig);
    rig_run(&rig, 1000);
    reglet_expect(&rig, "log surface -u mm", 0, "pin   0.2mm higher");
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("log");
    TCase *cases = tcase_create("log");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, the_day_is_told_in_plain_sentences);
    tcase_add_test(cases, a_long_log_comes_in_pages_and_survives_a_kill);
    tcase_add_test(cases, who_asks_for_the_log_and_goes_away_harms_nobody);
    tcase_add_test(cases, a_plain_pin_shows_how_the_table_moves_through_the_seasons);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
