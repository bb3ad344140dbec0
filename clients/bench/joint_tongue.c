/* SPDX-License-Identifier: MIT */
#include "clients/bench/joint_groove.h"

#include "clients/bench/joint_parts.h"

/* --- Tongue and groove --- */

static bool check_cutters(const struct joint_tongue *in, struct joint_plan *plan)
{
    int64_t kerf_nm = in->groove_cutter.kerf_nm;
    if (!joint_cutter_is(plan, &in->groove_cutter, JOINT_SLOT) ||
        !joint_within_reach(plan, &in->groove_cutter, in->tongue_nm + in->room_nm)) {
        return false;
    }
    if (kerf_nm > in->groove_nm) {
        return joint_refuse(plan, JOINT_FAULT_WIDE,
                            "The groove is to be %s wide and the cutter makes %s: it would come "
                            "out too wide. Take a cutter of %s to %s.",
                            joint_say(plan, in->groove_nm).text, joint_say(plan, kerf_nm).text,
                            joint_say(plan, (in->groove_nm + 1) / 2).text,
                            joint_say(plan, in->groove_nm).text);
    }
    if (2 * kerf_nm < in->groove_nm) {
        return joint_refuse(plan, JOINT_FAULT_NARROW,
                            "The groove is to be %s wide and the cutter makes %s: one setting and "
                            "a flip leave a rib in the middle. Take a cutter of %s to %s.",
                            joint_say(plan, in->groove_nm).text, joint_say(plan, kerf_nm).text,
                            joint_say(plan, (in->groove_nm + 1) / 2).text,
                            joint_say(plan, in->groove_nm).text);
    }
    return true;
}

static bool check(const struct joint_tongue *in, struct joint_plan *plan)
{
    if (!joint_size(plan, "The thickness of the stock", in->thick_nm) ||
        !joint_size(plan, "The width of the groove", in->groove_nm) ||
        !joint_size(plan, "The length of the tongue", in->tongue_nm) ||
        !joint_size_or_0(plan, "The room before the tongue", in->room_nm) ||
        !joint_clearance(plan, in->clearance_nm, in->groove_nm) ||
        !joint_pieces(plan, in->pieces_a) || !joint_pieces(plan, in->pieces_b)) {
        return false;
    }
    if (in->thick_nm - in->groove_nm < 2 * JOINT_SLIVER_NM) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "A groove %s wide leaves no walls that hold in stock %s thick. About a "
                            "third of the stock, %s, is common.",
                            joint_say(plan, in->groove_nm).text, joint_say(plan, in->thick_nm).text,
                            joint_say(plan, in->thick_nm / 3).text);
    }
    return check_cutters(in, plan);
}

static bool put_groove(const struct joint_tongue *in, struct joint_plan *plan)
{
    int64_t low_nm = ratio_nearest((ratio_wide)in->thick_nm - in->groove_nm, 2);
    struct joint_mark mark = {.height_nm = joint_slot_height(&in->groove_cutter, low_nm),
                              .low_nm = low_nm,
                              .high_nm = low_nm + in->groove_cutter.kerf_nm,
                              .part = JOINT_A,
                              .bit = JOINT_BIT,
                              .pieces = in->pieces_a,
                              .flip = true};
    joint_words(&mark, "Part A, groove: cut with one face down, then with the other.");
    joint_fence(&mark, "Fence: the cutter stands out by %s.",
                joint_say(plan, in->tongue_nm + in->room_nm).text);
    return joint_put(plan, &mark);
}

static bool put_tongue(const struct joint_tongue *in, struct joint_plan *plan)
{
    ratio_wide faces_nm = (ratio_wide)in->thick_nm - in->groove_nm + in->clearance_nm;
    struct joint_mark mark = {.part = JOINT_B,
                              .bit = in->same_cutter ? JOINT_BIT : JOINT_SECOND_BIT,
                              .pieces = in->pieces_b,
                              .flip = true};
    joint_words(&mark, "Part B, tongue: a rabbet with one face down, then with the other.");
    joint_fence(&mark, "Fence: the cutter stands out by %s.", joint_say(plan, in->tongue_nm).text);
    return joint_put_rabbet(plan, &mark, in->same_cutter ? &in->groove_cutter : &in->tongue_cutter,
                            ratio_nearest(faces_nm, 2), in->tongue_nm, &in->depth);
}

bool joint_tongue(const struct joint_tongue *in, const struct joint_shop *shop,
                  struct joint_plan *plan)
{
    if (!joint_begin(plan, shop) || !check(in, plan) || !put_groove(in, plan) ||
        !put_tongue(in, plan)) {
        return false;
    }
    joint_note(plan,
               "The flip centres both, whatever the cutter's error, and carries what the stock "
               "varies in thickness: cut all from one batch. A piece of another thickness "
               "comes out of line.");
    return true;
}

/* --- Tenon --- */

static bool check_tenon(const struct joint_tenon *in, struct joint_plan *plan)
{
    if (!joint_size(plan, "The thickness of the stock", in->thick_nm) ||
        !joint_size(plan, "The width of the mortise", in->mortise_nm) ||
        !joint_size(plan, "The length of the tenon", in->length_nm) ||
        !joint_clearance(plan, in->clearance_nm, in->mortise_nm) ||
        !joint_pieces(plan, in->pieces)) {
        return false;
    }
    int64_t tenon_nm = in->mortise_nm - in->clearance_nm;
    if (tenon_nm >= in->thick_nm) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "A tenon of %s cannot be cut from stock %s thick: there is nothing to "
                            "take off its faces. Take thicker stock, or a narrower mortise.",
                            joint_say(plan, tenon_nm).text, joint_say(plan, in->thick_nm).text);
    }
    return true;
}

bool joint_tenon(const struct joint_tenon *in, const struct joint_shop *shop,
                 struct joint_plan *plan)
{
    if (!joint_begin(plan, shop) || !check_tenon(in, plan)) {
        return false;
    }
    ratio_wide faces_nm = (ratio_wide)in->thick_nm - in->mortise_nm + in->clearance_nm;
    struct joint_mark mark = {
        .part = JOINT_EACH, .bit = JOINT_BIT, .pieces = in->pieces, .flip = true};
    joint_words(&mark, "Tenon: one face down, then the other, against a square backer.");
    joint_fence(&mark, "Fence: %s to the far side of the cutter, for the length of the tenon.",
                joint_say(plan, in->length_nm).text);
    return joint_put_rabbet(plan, &mark, &in->cutter, ratio_nearest(faces_nm, 2), in->length_nm,
                            &in->depth);
}
