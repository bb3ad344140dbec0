/* SPDX-License-Identifier: MIT */
#include "clients/bench/joint_flat.h"
#include "clients/bench/joint_parts.h"

bool joint_lap(const struct joint_lap *in, const struct joint_shop *shop, struct joint_plan *plan)
{
    if (!joint_begin(plan, shop) || !joint_size(plan, "The thickness of the stock", in->thick_nm) ||
        !joint_size_or_0(plan, "The thickness of the finished lap", in->finished_nm) ||
        !joint_size(plan, "The length of the lap", in->length_nm) ||
        !joint_pieces(plan, in->pieces)) {
        return false;
    }
    if (in->finished_nm >= in->thick_nm) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "The finished lap is %s thick and the stock %s: nothing would be left "
                            "of this part. Measure both again.",
                            joint_say(plan, in->finished_nm).text,
                            joint_say(plan, in->thick_nm).text);
    }
    int64_t height_nm = in->finished_nm > 0 ? in->finished_nm : ratio_nearest(in->thick_nm, 2);
    struct joint_mark mark = {.part = JOINT_EACH, .bit = JOINT_BIT, .pieces = in->pieces};
    joint_words(&mark, in->finished_nm > 0
                           ? "Half-lap to suit the finished one: show face up, backer behind."
                           : "Half-lap: one part show face up, the other show face down, backer "
                             "behind.");
    joint_fence(&mark, "Fence: %s to the far side of the bit, for the length of the lap.",
                joint_say(plan, in->length_nm).text);
    return joint_put_rabbet(plan, &mark, &in->cutter, height_nm, in->length_nm, &in->depth);
}

bool joint_rabbet(const struct joint_rabbet *in, const struct joint_shop *shop,
                  struct joint_plan *plan)
{
    if (!joint_begin(plan, shop) || !joint_size(plan, "The thickness of the stock", in->thick_nm) ||
        !joint_size(plan, "The thickness of the mating part", in->part_nm) ||
        !joint_size_or_0(plan, "The tongue", in->tongue_nm) ||
        !joint_size(plan, "The width of the rabbet", in->into_nm) ||
        !joint_pieces(plan, in->pieces)) {
        return false;
    }
    int64_t height_nm = in->part_nm - in->tongue_nm;
    if (height_nm <= 0) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "A tongue of %s leaves no rabbet for a part %s thick. Make the tongue "
                            "thinner than the part.",
                            joint_say(plan, in->tongue_nm).text, joint_say(plan, in->part_nm).text);
    }
    if (height_nm >= in->thick_nm) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "A rabbet %s high takes all of stock that is %s thick. Leave a tongue "
                            "on the mating part, or take thicker stock.",
                            joint_say(plan, height_nm).text, joint_say(plan, in->thick_nm).text);
    }
    struct joint_mark mark = {.part = JOINT_EACH, .bit = JOINT_BIT, .pieces = in->pieces};
    joint_words(&mark, "Rabbet.");
    joint_fence(&mark, "Fence: the cutter stands out by %s.", joint_say(plan, in->into_nm).text);
    return joint_put_rabbet(plan, &mark, &in->cutter, height_nm, in->into_nm, &in->depth);
}
