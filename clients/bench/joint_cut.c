/* SPDX-License-Identifier: MIT */
/* Cuts that several joints are made of: in passes, by a slot cutter in steps, a rabbet. */
#include <stddef.h>

#include "clients/bench/joint_parts.h"
#include "clients/bench/passes.h"

int64_t joint_slot_height(const struct joint_cutter *cutter, int64_t bottom_nm)
{
    return cutter->reference == JOINT_LOWER ? bottom_nm : bottom_nm + cutter->kerf_nm;
}

bool joint_put_depth(struct joint_plan *plan, const struct joint_mark *mark, int64_t from_nm,
                     int64_t total_nm, const struct joint_depth *depth)
{
    int64_t height_nm[JOINT_MARKS_MAX];
    int count;
    struct passes passes = {.total_nm = total_nm,
                            .from_nm = from_nm,
                            .most_nm = depth->most_nm,
                            .last_nm = depth->last_nm};
    enum joint_fault fault = passes_heights(&passes, height_nm, &count);
    if (fault != JOINT_POSSIBLE) {
        return joint_refuse_passes(plan, fault, &passes);
    }
    for (int i = 0; i < count; i++) {
        struct joint_mark pass = *mark;
        pass.height_nm = height_nm[i];
        pass.high_nm = height_nm[i];
        if (i > 0) {
            pass.fence[0] = '\0';
        }
        if (count > 1) {
            joint_words(&pass, "%.180s Pass %d of %d.", mark->words, i + 1, count);
        }
        if (!joint_put(plan, &pass)) {
            return false;
        }
    }
    return true;
}

bool joint_put_slot(struct joint_plan *plan, const struct joint_mark *mark,
                    const struct joint_cutter *cutter, int64_t low_nm, int64_t high_nm, bool open)
{
    int64_t kerf_nm = cutter->kerf_nm;
    int64_t count = (high_nm - low_nm + kerf_nm - 1) / kerf_nm;
    if (count > JOINT_MARKS_MAX) {
        return joint_refuse(plan, JOINT_FAULT_MARKS,
                            "A kerf of %s takes more than %d steps to %s. Take a thicker cutter.",
                            joint_say(plan, kerf_nm).text, JOINT_MARKS_MAX,
                            joint_say(plan, high_nm - low_nm).text);
    }
    for (int64_t i = 0; i < count; i++) {
        struct joint_mark step = *mark;
        ratio_wide room = (ratio_wide)high_nm - low_nm - kerf_nm;
        step.low_nm =
            open ? ratio_nearest((ratio_wide)(i + 1) * (high_nm - low_nm), count) + low_nm - kerf_nm
                 : low_nm + (count == 1 ? 0 : ratio_nearest(i * room, count - 1));
        step.high_nm = step.low_nm + kerf_nm;
        step.height_nm = joint_slot_height(cutter, step.low_nm);
        if (i > 0) {
            step.fence[0] = '\0';
        }
        if (count > 1) {
            joint_words(&step, "%.180s Step %d of %d.", mark->words, (int)i + 1, (int)count);
        }
        if (!joint_put(plan, &step)) {
            return false;
        }
    }
    return true;
}

bool joint_put_rabbet(struct joint_plan *plan, const struct joint_mark *mark,
                      const struct joint_cutter *cutter, int64_t height_nm, int64_t into_nm,
                      const struct joint_depth *depth)
{
    if (cutter->kind == JOINT_SLOT) {
        return joint_cutter_is(plan, cutter, JOINT_SLOT) &&
               joint_within_reach(plan, cutter, into_nm) &&
               joint_put_slot(plan, mark, cutter, 0, height_nm, true);
    }
    return joint_cutter_is(plan, cutter, JOINT_STRAIGHT) &&
           joint_within_length(plan, cutter, height_nm) &&
           joint_put_depth(plan, mark, 0, height_nm, depth);
}
