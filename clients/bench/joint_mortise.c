/* SPDX-License-Identifier: MIT */
#include "clients/bench/joint_groove.h"

#include "clients/bench/joint_parts.h"

static bool check_sizes(const struct joint_mortise *in, struct joint_plan *plan)
{
    return joint_size(plan, "The thickness of the stock", in->thick_nm) &&
           joint_size(plan, "The depth of the stock", in->deep_nm) &&
           joint_size(plan, "The width of the mortise", in->width_nm) &&
           joint_size(plan, "The length of the mortise", in->length_nm) &&
           joint_size(plan, "The length of the tenon", in->tenon_nm) &&
           joint_size_or_0(plan, "The room below the tenon", in->room_nm) &&
           joint_cutter_is(plan, &in->cutter, JOINT_STRAIGHT) && joint_pieces(plan, in->pieces);
}

static bool check_bit(const struct joint_mortise *in, struct joint_plan *plan)
{
    int64_t bit_nm = in->cutter.width_nm;
    if (!in->cutter.plunging) {
        return joint_refuse(plan, JOINT_FAULT_PLUNGE,
                            "A mortise is plunged into, and this bit does not cut with its end. "
                            "Take a plunging bit.");
    }
    if (bit_nm > in->width_nm) {
        return joint_refuse(plan, JOINT_FAULT_WIDE,
                            "The mortise is to be %s wide and the bit is %s. Take a bit of at most "
                            "%s.",
                            joint_say(plan, in->width_nm).text, joint_say(plan, bit_nm).text,
                            joint_say(plan, in->width_nm).text);
    }
    if (2 * bit_nm < in->width_nm) {
        return joint_refuse(plan, JOINT_FAULT_NARROW,
                            "The mortise is to be %s wide and the bit is %s: a cut from each face "
                            "leaves a rib in the middle. Take a bit of %s to %s.",
                            joint_say(plan, in->width_nm).text, joint_say(plan, bit_nm).text,
                            joint_say(plan, (in->width_nm + 1) / 2).text,
                            joint_say(plan, in->width_nm).text);
    }
    return true;
}

static bool check_stock(const struct joint_mortise *in, struct joint_plan *plan)
{
    int64_t depth_nm = in->tenon_nm + in->room_nm;
    if (in->thick_nm - in->width_nm < 2 * JOINT_SLIVER_NM) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "A mortise %s wide leaves no walls that hold in stock %s thick. About "
                            "a third of the stock, %s, is common.",
                            joint_say(plan, in->width_nm).text, joint_say(plan, in->thick_nm).text,
                            joint_say(plan, in->thick_nm / 3).text);
    }
    if (depth_nm >= in->deep_nm) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "A mortise %s deep goes through a part of %s. Make the tenon shorter.",
                            joint_say(plan, depth_nm).text, joint_say(plan, in->deep_nm).text);
    }
    if (in->length_nm < in->cutter.width_nm) {
        return joint_refuse(plan, JOINT_FAULT_WIDE,
                            "The mortise is to be %s long and the bit is %s wide. Take a bit of at "
                            "most that.",
                            joint_say(plan, in->length_nm).text,
                            joint_say(plan, in->cutter.width_nm).text);
    }
    return joint_within_length(plan, &in->cutter, depth_nm);
}

/* No deeper than half the diameter, whatever was asked for. */
static bool set_depth(const struct joint_mortise *in, struct joint_plan *plan,
                      struct joint_depth *depth)
{
    int64_t half_nm = in->cutter.width_nm / 2;
    *depth = in->depth;
    if (depth->most_nm == 0) {
        depth->most_nm = half_nm;
    }
    if (depth->most_nm > half_nm) {
        return joint_refuse(plan, JOINT_FAULT_LAST,
                            "Passes of %s are more than half of a bit %s wide. Ask for at most %s "
                            "a pass.",
                            joint_say(plan, depth->most_nm).text,
                            joint_say(plan, in->cutter.width_nm).text,
                            joint_say(plan, half_nm).text);
    }
    return true;
}

bool joint_mortise(const struct joint_mortise *in, const struct joint_shop *shop,
                   struct joint_plan *plan)
{
    struct joint_depth depth;
    if (!joint_begin(plan, shop) || !check_sizes(in, plan) || !check_bit(in, plan) ||
        !check_stock(in, plan) || !set_depth(in, plan, &depth)) {
        return false;
    }
    struct joint_mark mark = {.part = JOINT_EACH,
                              .bit = JOINT_BIT,
                              .pieces = in->pieces,
                              .flip = in->width_nm > in->cutter.width_nm};
    joint_words(&mark, "Mortise: plunge at one stop, run to the other.%s",
                mark.flip ? " Then the same with the other face to the fence." : "");
    joint_fence(&mark, "Fence: %s from it to the side of the bit next to it; stops for %s of run.",
                joint_say(plan, ratio_nearest((ratio_wide)in->thick_nm - in->width_nm, 2)).text,
                joint_say(plan, in->length_nm - in->cutter.width_nm).text);
    return joint_put_depth(plan, &mark, 0, in->tenon_nm + in->room_nm, &depth);
}
