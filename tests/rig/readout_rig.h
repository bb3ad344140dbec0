/* SPDX-License-Identifier: MIT */
/* A rig whose configuration names a two-wire scale, which the practice lift then has. */
#ifndef REGLET_TESTS_RIG_READOUT_RIG_H
#define REGLET_TESTS_RIG_READOUT_RIG_H

#include <string.h>

#include "tests/rig/config_rig.h"
#include "tests/rig/expect.h"
#include "tests/rig/gauge_rig.h"
#include "tests/rig/harness.h"

/* The scale hangs on the carriage of the practice lift, with a zero of its own. */
static inline void readout_hang(struct rig *rig)
{
    rig_tell(rig, "set scale_zero_nm -12345678");
    rig_tell(rig, "scale on");
    rig_run(rig, 2000);
}

/* `readout`: what stands in that group. Nobody has measured the screw. */
static inline void readout_start_unmeasured(struct rig *rig, const char *readout)
{
    rig_start(rig, true, 1);
    configure(rig,
              "\"lash\": {\"measured\": \"0.20mm\"},\n"
              "\"inputs\": {\"top_switch\": \"active-high\", \"stop_circuit\": \"active-high\",\n"
              "\"motor_supply\": \"active-high\"},\n"
              "\"readout\": {%s},\n",
              readout);
    readout_hang(rig);
}

/* With a screw that was measured, and is as it was said to be. */
static inline void readout_start(struct rig *rig, const char *readout)
{
    readout_start_unmeasured(rig, readout);
    expect_done(rig_call(rig, "calibrate", "{\"lead\":\"2mm\"}"));
}

/* A member of the status' readout, whichever it is; the caller deletes it. */
static inline cJSON *readout_now(struct rig *rig)
{
    cJSON *answer = rig_answer(rig->client, rig_send(rig, rig->client, "status", NULL));
    cJSON *status = cJSON_GetObjectItem(answer, "result");
    cJSON *readout = cJSON_DetachItemFromObject(status, "readout");
    cJSON_Delete(answer);
    ck_assert_ptr_nonnull(readout);
    return readout;
}

static inline void expect_readout(struct rig *rig, const char *state)
{
    cJSON *readout = readout_now(rig);
    ck_assert_str_eq(cJSON_GetObjectItem(readout, "state")->valuestring, state);
    cJSON_Delete(readout);
}

static inline const char *readout_sentence(const cJSON *answer)
{
    return cJSON_GetObjectItem(cJSON_GetObjectItem(answer, "error"), "message")->valuestring;
}

#endif
