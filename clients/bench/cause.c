/* SPDX-License-Identifier: MIT */
#include "clients/bench/cause.h"

#include <math.h>

#include "protocol/ratio.h"

enum { CYCLE = 4 }; /* full steps of an electrical cycle */

const char *cause_words(enum cause cause)
{
    switch (cause) {
    case CAUSE_SLIP:
        return "An error of a multiple of four full steps suggests that the motor slipped: too "
               "fast, too sharp an acceleration, or something in its way.";
    case CAUSE_NOISE:
        return "An error that is no multiple of four full steps suggests electrical noise on the "
               "step wire, or a coupling that is loose.";
    case CAUSE_EITHER:
        return "The readout is too coarse to tell a slipped motor from noise or a loose coupling.";
    case CAUSE_LASH:
        return "An error that is the same at each reversal is lash: set it, and finish moves from "
               "one side.";
    case CAUSE_SCALE:
        return "An error in proportion to the travel is the scale: set the lead that was measured.";
    case CAUSE_SCREW:
        return "An error that repeats with each turn is the screw, or its bearing: an error table "
               "takes it out.";
    default:
        return "The error is within what the readout can tell.";
    }
}

enum cause cause_of_error(int64_t error_nm, int64_t full_step_num_nm, int64_t full_step_den,
                          int64_t tolerance_nm, int64_t *full_steps)
{
    ratio_wide error = (ratio_wide)error_nm * full_step_den;
    ratio_wide tolerance = (ratio_wide)tolerance_nm * full_step_den;
    ratio_wide cycle = CYCLE * (ratio_wide)full_step_num_nm;
    ratio_wide size = error < 0 ? -error : error;
    *full_steps = 0;
    if (size <= tolerance) {
        return CAUSE_NOTHING;
    }
    if (cycle <= 2 * tolerance) {
        return CAUSE_EITHER;
    }
    ratio_wide cycles = (2 * size + cycle) / (2 * cycle);
    ratio_wide off = size - cycles * cycle;
    if (cycles == 0 || off > tolerance || -off > tolerance) {
        return CAUSE_NOISE;
    }
    *full_steps = (int64_t)(error < 0 ? -cycles : cycles) * CYCLE;
    return CAUSE_SLIP;
}

struct part {
    enum cause cause;
    double size_nm;
};

size_t cause_of_fit(const struct gauge_fit *fit, double span_nm, double tolerance_nm,
                    enum cause out[CAUSES_MAX])
{
    double scale_nm = fabs(fit->scale - 1) * span_nm;
    struct part parts[] = {
        {CAUSE_LASH, fit->lash_nm > 3 * fit->reversal_sd_nm ? fit->lash_nm : 0},
        {CAUSE_SCALE, scale_nm > 3 * fit->scale_sd * span_nm ? scale_nm : 0},
        {CAUSE_SCREW, fit->amplitude_nm > 3 * fit->amplitude_sd_nm ? fit->amplitude_nm : 0}};
    size_t count = 0;
    for (size_t round = 0; round < CAUSES_MAX; round++) {
        struct part *largest = &parts[0];
        for (size_t i = 1; i < CAUSES_MAX; i++) {
            largest = parts[i].size_nm > largest->size_nm ? &parts[i] : largest;
        }
        if (largest->size_nm > tolerance_nm) {
            out[count++] = largest->cause;
        }
        largest->size_nm = -1;
    }
    return count;
}
