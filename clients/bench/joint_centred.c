/* SPDX-License-Identifier: MIT */
#include "clients/bench/joint_parts.h"
#include "clients/bench/joint_profile.h"

enum { FENCE_PASSES_MAX = 20 };

static bool check(const struct joint_centred *in, struct joint_plan *plan)
{
    enum joint_kind kind = in->cutter.kind == JOINT_GLUE ? JOINT_GLUE : JOINT_LOCK_MITRE;
    if (!joint_size(plan, "The thickness of the stock", in->thick_nm) ||
        !joint_cutter_is(plan, &in->cutter, kind) || !joint_pieces(plan, in->pieces_a) ||
        !joint_pieces(plan, in->pieces_b)) {
        return false;
    }
    if (in->above_centre_nm < -LENGTH_NM_MAX || in->above_centre_nm > LENGTH_NM_MAX) {
        return joint_refuse(plan, JOINT_FAULT_SIZE,
                            "The reference point cannot be %s over the profile's centre. Measure "
                            "it again.",
                            joint_say(plan, in->above_centre_nm).text);
    }
    if (in->fence_passes < 1 || in->fence_passes > FENCE_PASSES_MAX) {
        return joint_refuse(plan, JOINT_FAULT_MARKS,
                            "%d fence passes were asked for; it can be 1 to %d.", in->fence_passes,
                            FENCE_PASSES_MAX);
    }
    if (in->cutter.length_nm > 0 && in->thick_nm > in->cutter.length_nm) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "The stock is %s thick and the bit's profile %s high: its edge would "
                            "be left standing. Take stock of at most that, or a larger bit.",
                            joint_say(plan, in->thick_nm).text,
                            joint_say(plan, in->cutter.length_nm).text);
    }
    return true;
}

static bool put_part(const struct joint_centred *in, struct joint_plan *plan, enum joint_part part)
{
    bool mitre = in->cutter.kind == JOINT_LOCK_MITRE;
    struct joint_mark mark = {.low_nm = 0,
                              .high_nm = in->thick_nm,
                              .part = part,
                              .bit = JOINT_BIT,
                              .pieces = part == JOINT_A ? in->pieces_a : in->pieces_b};
    mark.height_nm =
        ratio_nearest((ratio_wide)in->thick_nm + 2 * (ratio_wide)in->above_centre_nm, 2);
    const char *how = part == JOINT_A ? mitre ? "Part A flat on the table, show face up."
                                              : "Part A, show face up."
                      : mitre         ? "Part B upright, show face away from the fence."
                                      : "Part B turned over, show face down.";
    for (int i = 0; i < in->fence_passes; i++) {
        joint_words(&mark, "%s Fence pass %d of %d.", how, i + 1, in->fence_passes);
        joint_fence(&mark,
                    i + 1 == in->fence_passes
                        ? "Fence: at its final place, the profile's centre on half the stock."
                        : "Fence: further over the bit than its final place, to take part of "
                          "the wood.");
        if (!joint_put(plan, &mark)) {
            return false;
        }
    }
    return true;
}

bool joint_centred(const struct joint_centred *in, const struct joint_shop *shop,
                   struct joint_plan *plan)
{
    if (!joint_begin(plan, shop) || !check(in, plan) || !put_part(in, plan, JOINT_A) ||
        !put_part(in, plan, JOINT_B)) {
        return false;
    }
    joint_note(plan, "Test two pieces. If the one that is turned over after the cut stands proud, "
                     "lower by half of that; if the one that is used as it was cut does, raise by "
                     "half of it.");
    return true;
}
