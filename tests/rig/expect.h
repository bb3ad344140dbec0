/* SPDX-License-Identifier: MIT */
/* What tests of the rig expect of an answer, and of the lift at rest. */
#ifndef REGLET_TESTS_RIG_EXPECT_H
#define REGLET_TESTS_RIG_EXPECT_H

#include <math.h>

#include "tests/rig/harness.h"

static inline void expect_reason(cJSON *answer, const char *reason)
{
    ck_assert_str_eq(rig_reason(answer), reason);
    cJSON_Delete(answer);
}

static inline void expect_done(cJSON *answer)
{
    ck_assert_msg(rig_done(answer), "refused: %s", rig_reason(answer));
    cJSON_Delete(answer);
}

static inline void expect_status(struct rig *rig, FILE *client, const char *name, const char *word)
{
    cJSON *answer = rig_answer(client, rig_send(rig, client, "status", NULL));
    const cJSON *status = cJSON_GetObjectItem(answer, "result");
    ck_assert_str_eq(cJSON_GetObjectItem(status, name)->valuestring, word);
    cJSON_Delete(answer);
}

/* Said and true, wherever the lift has come to rest. */
static inline void expect_agreement(struct rig *rig)
{
    cJSON *answer = rig_call(rig, "status", NULL);
    cJSON *truth = rig_ask(rig, "truth");
    double said_nm = rig_number(cJSON_GetObjectItem(answer, "result"), "height_nm");
    ck_assert_double_le(fabs(said_nm - rig_number(truth, "height_nm")),
                        rig_number(truth, "step_nm") / 2);
    ck_assert(cJSON_IsFalse(cJSON_GetObjectItem(truth, "moving")));
    cJSON_Delete(truth);
    cJSON_Delete(answer);
}

#endif
