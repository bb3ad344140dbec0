/* SPDX-License-Identifier: MIT */
/* A lift whose screw is off, and readings of it as an indicator would give them. */
#ifndef REGLET_TESTS_RIG_GAUGE_RIG_H
#define REGLET_TESTS_RIG_GAUGE_RIG_H

#include <math.h>

#include "tests/rig/harness.h"

/* Hidden from the daemon: what the practice lift is built like. */
#define HIDDEN_LEAD_ERROR 0.003
#define HIDDEN_LASH_NM 180000
#define HIDDEN_WOBBLE_NM 20000
#define NOISE_NM 3000

static inline void gauge_hide(struct rig *rig)
{
    rig_tell(rig, "set lead_error %g", HIDDEN_LEAD_ERROR);
    rig_tell(rig, "set lash_nm %d", HIDDEN_LASH_NM);
    rig_tell(rig, "set wobble_nm %d", HIDDEN_WOBBLE_NM);
}

/* Normal, with standard deviation 1: twelve uniform numbers less their mean. */
static inline double gauge_noise(uint64_t *seed)
{
    double sum = 0;
    for (int i = 0; i < 12; i++) {
        sum += (double)rig_draw(seed, 1000001) / 1e6;
    }
    return sum - 6;
}

static inline double gauge_truth(struct rig *rig)
{
    cJSON *truth = rig_ask(rig, "truth");
    double height_nm = rig_number(truth, "height_nm");
    cJSON_Delete(truth);
    return height_nm;
}

/* The worst true error of moves to random heights. */
static inline double gauge_worst(struct rig *rig, uint64_t *seed, int moves)
{
    double worst = 0;
    for (int i = 0; i < moves; i++) {
        int64_t wanted_nm = -28000000 + (int64_t)rig_draw(seed, 56000000);
        cJSON *answer = rig_length(rig, "to", "height", wanted_nm);
        ck_assert_msg(rig_done(answer), "move %d refused: %s", i,
                      cJSON_PrintUnformatted(cJSON_GetObjectItem(answer, "error")));
        cJSON_Delete(answer);
        worst = fmax(worst, fabs(gauge_truth(rig) - (double)wanted_nm));
    }
    return worst;
}

#endif
