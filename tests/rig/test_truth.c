/* SPDX-License-Identifier: MIT */
/*
 * What Reglet says beside what is: random moves on the practice lift, in lockstep time. The
 * practice lift's model is the outside truth; the daemon never sees it.
 */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "tests/rig/harness.h"
#include "tests/suite.h"

enum { LOW_NM = -20000000, HIGH_NM = 25000000 };

static int moves_asked(int usual)
{
    const char *given = getenv("REGLET_MOVES");
    return given ? atoi(given) : usual;
}

/* Every so often a nudge, else anywhere in the range; always a whole number of nanometres. */
static int64_t next_target(uint64_t *seed, int64_t now_nm)
{
    const int64_t nudges[] = {396875, -396875, 25400, -25400};
    if (rig_draw(seed, 3) == 0) {
        int64_t target = now_nm + nudges[rig_draw(seed, 4)];
        return target > HIGH_NM || target < LOW_NM ? now_nm : target;
    }
    return LOW_NM + (int64_t)rig_draw(seed, HIGH_NM - LOW_NM);
}

static void check_move(struct rig *rig, int64_t wanted_nm, double start_nm, double *worst)
{
    cJSON *answer = rig_length(rig, "to", "height", wanted_nm);
    ck_assert_msg(rig_done(answer), "refused: %s", rig_reason(answer));
    double said_nm = rig_number(cJSON_GetObjectItem(answer, "result"), "height_nm");
    cJSON *truth = rig_ask(rig, "truth");
    double true_nm = rig_number(truth, "height_nm");
    double step_nm = rig_number(truth, "step_nm");
    double limit_nm = fmax(start_nm, (double)wanted_nm) + step_nm;
    ck_assert_double_le(fabs(said_nm - true_nm), step_nm / 2);
    ck_assert_double_le(fabs(said_nm - (double)wanted_nm), step_nm / 2);
    ck_assert_double_le(rig_number(truth, "highest_nm"), limit_nm);
    *worst = fmax(*worst, fabs(said_nm - true_nm) / step_nm);
    cJSON_Delete(truth);
    cJSON_Delete(answer);
}

static void run_moves(int latency_ms, int moves, const char *name)
{
    struct rig rig;
    uint64_t seed = rig_seed(name);
    int64_t wanted_nm = 0;
    double worst = 0;
    rig_start(&rig, true, latency_ms);
    rig_touch_off(&rig);
    for (int i = 0; i < moves; i++) {
        cJSON *before = rig_ask(&rig, "truth");
        double start_nm = rig_number(before, "height_nm");
        cJSON_Delete(before);
        rig_tell(&rig, "mark");
        wanted_nm = next_target(&seed, wanted_nm);
        check_move(&rig, wanted_nm, start_nm, &worst);
    }
    printf("truth.steps.max\t%.4f\tsteps\n", worst);
    rig_end(&rig);
}

START_TEST(a_thousand_moves_end_where_reglet_says)
{
    run_moves(1, moves_asked(1000), "a thousand moves");
}
END_TEST

START_TEST(the_same_behind_a_slow_adapter)
{
    run_moves(16, moves_asked(100), "behind a slow adapter");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("truth");
    TCase *moves = tcase_create("moves");
    tcase_set_timeout(moves, 600);
    tcase_add_test(moves, a_thousand_moves_end_where_reglet_says);
    tcase_add_test(moves, the_same_behind_a_slow_adapter);
    suite_add_tcase(suite, moves);
    return run_suite(suite);
}
