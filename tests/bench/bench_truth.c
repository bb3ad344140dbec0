/* SPDX-License-Identifier: MIT */
/* A thousand random moves in lockstep: the worst of what is said against what is, and was asked. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "tests/rig/harness.h"

enum { MOVES = 1000, LOW_NM = -20000000, SPAN_NM = 45000000 };

START_TEST(print_truth)
{
    struct rig rig;
    uint64_t seed = rig_seed("bench truth");
    double said_worst = 0;
    double wanted_worst = 0;
    rig_start(&rig, true, 1);
    rig_touch_off(&rig);
    for (int i = 0; i < MOVES; i++) {
        int64_t wanted_nm = LOW_NM + (int64_t)rig_draw(&seed, SPAN_NM);
        cJSON *answer = rig_length(&rig, "to", "height", wanted_nm);
        cJSON *truth = rig_ask(&rig, "truth");
        ck_assert_msg(rig_done(answer), "refused: %s", rig_reason(answer));
        double said_nm = rig_number(cJSON_GetObjectItem(answer, "result"), "height_nm");
        double step_nm = rig_number(truth, "step_nm");
        said_worst = fmax(said_worst, fabs(said_nm - rig_number(truth, "height_nm")) / step_nm);
        wanted_worst = fmax(wanted_worst, fabs(said_nm - (double)wanted_nm) / step_nm);
        cJSON_Delete(answer);
        cJSON_Delete(truth);
    }
    rig_end(&rig);
    printf("truth.moves\t%d\tmoves\n", MOVES);
    printf("truth.steps.max\t%.3f\tsteps\n", said_worst);
    printf("truth.wanted.max\t%.3f\tsteps\n", wanted_worst);
}
END_TEST

int main(void)
{
    return rig_alone(print_truth);
}
