/* SPDX-License-Identifier: MIT */
/*
 * A noisy cable: bytes flipped and lost both ways. No move may end at a wrong height that is
 * called sure; each ends, or fails in plain words.
 */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "protocol/link.h"
#include "tests/rig/harness.h"
#include "tests/suite.h"

enum { MOVES = 2000, PER_MILLION = 1000 }; /* flips and losses each: 1 byte in 500 */

/* Said and true agree wherever the height is called sure. False where it is not. */
static bool check_said(struct rig *rig)
{
    cJSON *answer = rig_call(rig, "status", NULL);
    const cJSON *status = cJSON_GetObjectItem(answer, "result");
    cJSON *truth = rig_ask(rig, "truth");
    bool sure = strcmp(cJSON_GetObjectItem(status, "table_zero")->valuestring, "sure") == 0;
    if (sure) {
        double off_nm = rig_number(status, "height_nm") - rig_number(truth, "height_nm");
        ck_assert_double_le(fabs(off_nm), rig_number(truth, "step_nm") / 2);
    }
    cJSON_Delete(truth);
    cJSON_Delete(answer);
    return sure;
}

/* What was lost is found again, as an operator would. */
static void recover(struct rig *rig)
{
    cJSON_Delete(rig_call(rig, "all-clear", NULL));
    cJSON_Delete(rig_call(rig, "find-top", NULL));
}

START_TEST(two_thousand_moves_through_noise_end_right_or_fail_plainly)
{
    struct rig rig;
    uint64_t seed = rig_seed("moves through noise");
    int reached = 0;
    int failed = 0;
    int lost = 0;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    rig_tell(&rig, "noise %d %d %u", PER_MILLION, PER_MILLION, (unsigned)rig_draw(&seed, 1u << 31));
    for (int i = 0; i < MOVES; i++) {
        int64_t wanted_nm = -10000000 + (int64_t)rig_draw(&seed, 20000000);
        cJSON *answer = rig_length(&rig, "to", "height", wanted_nm);
        if (rig_done(answer)) {
            double said_nm = rig_number(cJSON_GetObjectItem(answer, "result"), "height_nm");
            ck_assert_double_le(fabs(said_nm - (double)wanted_nm), 1250 / 2.0);
            reached++;
        } else {
            ck_assert_str_ne(rig_reason(answer), "");
            failed++;
        }
        cJSON_Delete(answer);
        rig_run(&rig, 500); /* what a failed move leaves behind is put right by itself */
        if (!check_said(&rig)) {
            lost++;
            recover(&rig);
        }
    }
    cJSON *truth = rig_ask(&rig, "truth");
    printf("link.noise.lost\t%d\tmoves\n", lost);
    printf("link.noise.reached\t%d\tmoves\nlink.noise.failed\t%d\tmoves\nlink.noise.hits\t%.0f\t"
           "bytes\n",
           reached, failed, rig_number(truth, "noise_hits"));
    ck_assert_double_gt(rig_number(truth, "noise_hits"), MOVES); /* there was noise */
    ck_assert_int_gt(reached, MOVES * 9 / 10);                   /* and the link lives with it */
    cJSON_Delete(truth);
    rig_end(&rig);
}
END_TEST

START_TEST(a_brake_byte_made_by_noise_ends_the_move_as_stopped)
{
    struct rig rig;
    uint64_t seed = rig_seed("brake byte");
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (int i = 0; i < 20; i++) {
        int64_t wanted_nm = i % 2 ? 0 : 10000000;
        char params[64];
        snprintf(params, sizeof params, "{\"height_nm\":%ld}", (long)wanted_nm);
        int id = rig_send(&rig, rig.client, "to", params);
        int barrier = rig_send(&rig, rig.client, "hello", NULL);
        cJSON_Delete(rig_answer(rig.client, barrier));
        rig_run(&rig, 100 + (int)rig_draw(&seed, 700));
        rig_tell(&rig, "byte %d", LINK_BRAKE_BYTE);
        cJSON *answer = rig_settle(&rig, rig.client, id);
        ck_assert_str_eq(rig_reason(answer), "stopped");
        cJSON_Delete(answer);
        ck_assert(check_said(&rig));
        answer = rig_length(&rig, "to", "height", wanted_nm); /* and it goes on when asked */
        ck_assert(rig_done(answer));
        cJSON_Delete(answer);
        ck_assert(check_said(&rig));
    }
    rig_end(&rig);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("noise");
    TCase *cases = tcase_create("noise");
    tcase_set_timeout(cases, 400);
    tcase_add_test(cases, two_thousand_moves_through_noise_end_right_or_fail_plainly);
    tcase_add_test(cases, a_brake_byte_made_by_noise_ends_the_move_as_stopped);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
