/* SPDX-License-Identifier: MIT */
#include "clients/bench/joint_finger.h"

#include "clients/bench/joint_parts.h"

enum { FINGERS_MAX = 10000 };

struct joint_fingers joint_fingers_of(int64_t width_nm, int64_t cutter_nm, int64_t clearance_nm)
{
    int64_t pitch_nm = 2 * cutter_nm - clearance_nm;
    int64_t whole = width_nm / pitch_nm;
    int64_t rest_nm = width_nm % pitch_nm;
    struct joint_fingers out = {.count = (int)(2 * whole), .gap_nm = cutter_nm - clearance_nm};
    int64_t a_nm = rest_nm < out.gap_nm ? rest_nm : out.gap_nm;
    int64_t b_nm = rest_nm > cutter_nm ? rest_nm - cutter_nm : 0;
    bool has_a = a_nm >= JOINT_SLIVER_NM;
    bool has_b = b_nm >= JOINT_SLIVER_NM;
    out.count += has_a + has_b;
    out.last_nm = has_b ? b_nm : has_a ? a_nm : out.gap_nm;
    out.sliver_nm = has_b ? 0 : has_a ? b_nm : a_nm;
    out.of_a = (out.count + 1) / 2;
    out.of_b = out.count / 2;
    out.handed = out.count % 2 == 0;
    return out;
}

static bool check(const struct joint_upright *in, struct joint_plan *plan)
{
    if (!joint_size(plan, "The width of the boards", in->width_nm) ||
        !joint_size(plan, "The thickness of part A", in->thick_a_nm) ||
        !joint_size(plan, "The thickness of part B", in->thick_b_nm) ||
        !joint_size_or_0(plan, "What is left to sand off", in->proud_nm) ||
        !joint_size_or_0(plan, "The base of the sled", in->base_nm) ||
        !joint_cutter_is(plan, &in->cutter, JOINT_STRAIGHT) ||
        !joint_clearance(plan, in->clearance_nm, in->cutter.width_nm) ||
        !joint_pieces(plan, in->pieces_a) || !joint_pieces(plan, in->pieces_b)) {
        return false;
    }
    if (in->cutter.width_nm - in->clearance_nm < JOINT_SLIVER_NM ||
        in->width_nm / in->cutter.width_nm >= FINGERS_MAX) {
        return joint_refuse(plan, JOINT_FAULT_NARROW,
                            "With a cutter %s wide and %s clearance the fingers would be too thin "
                            "to hold. Take a wider cutter: at least %s and the clearance.",
                            joint_say(plan, in->cutter.width_nm).text,
                            joint_say(plan, in->clearance_nm).text,
                            joint_say(plan, JOINT_SLIVER_NM).text);
    }
    int64_t least_nm = in->cutter.width_nm + JOINT_SLIVER_NM;
    if (in->width_nm < least_nm) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "A board %s wide has no room for a finger and a slot of %s. Take a "
                            "narrower cutter, or a board of at least %s.",
                            joint_say(plan, in->width_nm).text,
                            joint_say(plan, in->cutter.width_nm).text,
                            joint_say(plan, least_nm).text);
    }
    return true;
}

static bool put_part(const struct joint_upright *in, struct joint_plan *plan, enum joint_part part)
{
    struct joint_fingers fingers =
        joint_fingers_of(in->width_nm, in->cutter.width_nm, in->clearance_nm);
    bool is_a = part == JOINT_A;
    int64_t depth_nm = (is_a ? in->thick_b_nm : in->thick_a_nm) + in->proud_nm;
    struct joint_mark mark = {
        .low_nm = 0, .part = part, .bit = JOINT_BIT, .pieces = is_a ? in->pieces_a : in->pieces_b};
    if (is_a) {
        joint_words(&mark,
                    "Part A on end, %d slots: marked edge against the key, then each slot "
                    "over the key.",
                    fingers.of_b);
        joint_fence(&mark,
                    "Key as wide as a slot (%s), %s from the cutter; backer behind the "
                    "work.",
                    joint_say(plan, in->cutter.width_nm).text,
                    joint_say(plan, fingers.gap_nm).text);
    } else {
        joint_words(&mark,
                    "Part B on end, %d slots: the first one at the marked edge, beside a "
                    "part A whose first slot stands over the key.",
                    fingers.of_a);
    }
    return joint_within_length(plan, &in->cutter, depth_nm) &&
           joint_put_depth(plan, &mark, in->base_nm, in->base_nm + depth_nm, &in->depth);
}

static void add_note(const struct joint_upright *in, struct joint_plan *plan)
{
    struct joint_fingers fingers =
        joint_fingers_of(in->width_nm, in->cutter.width_nm, in->clearance_nm);
    joint_note(plan,
               "%d fingers on part A and %d on part B, each %s wide; the last one, at the far "
               "edge, is %s.%s%s Boards are measured, and cut from one marked edge.",
               fingers.of_a, fingers.of_b, joint_say(plan, fingers.gap_nm).text,
               joint_say(plan, fingers.last_nm).text,
               fingers.sliver_nm > 0 ? " A sliver stands behind it: trim the boards first." : "",
               fingers.handed ? " The corners are handed: mark which face is inside." : "");
}

bool joint_upright(const struct joint_upright *in, const struct joint_shop *shop,
                   struct joint_plan *plan)
{
    if (!joint_begin(plan, shop) || !check(in, plan) || !put_part(in, plan, JOINT_A) ||
        !put_part(in, plan, JOINT_B)) {
        return false;
    }
    add_note(in, plan);
    return true;
}
