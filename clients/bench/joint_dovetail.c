/* SPDX-License-Identifier: MIT */
#include <math.h>

#include "clients/bench/joint_parts.h"
#include "clients/bench/joint_profile.h"

/* Half-blind, in a template. A dovetail's height is of its top edge, the tip. */
static bool half_blind_height(const struct joint_dovetail *in, struct joint_plan *plan,
                              int64_t *height_nm)
{
    long double tangent;
    if (!joint_slope(plan, in->cutter.slope_mdeg, &tangent)) {
        return false;
    }
    int64_t over_nm = 2 * in->cutter.width_nm - in->spacing_nm - in->clearance_nm;
    if (over_nm <= 0) {
        return joint_refuse(plan, JOINT_FAULT_SPACING,
                            "At a spacing of %s a bit that cuts %s at its tip leaves sockets and "
                            "tails apart at any height. Take a bit of more than %s, or a template "
                            "of closer spacing.",
                            joint_say(plan, in->spacing_nm).text,
                            joint_say(plan, in->cutter.width_nm).text,
                            joint_say(plan, (in->spacing_nm + in->clearance_nm) / 2).text);
    }
    if (in->cutter.width_nm >= in->spacing_nm) {
        return joint_refuse(
            plan, JOINT_FAULT_WIDE,
            "A bit that cuts %s at its tip takes all of a spacing of %s. Take one "
            "of %s to %s.",
            joint_say(plan, in->cutter.width_nm).text, joint_say(plan, in->spacing_nm).text,
            joint_say(plan, in->spacing_nm / 2).text, joint_say(plan, in->spacing_nm).text);
    }
    *height_nm = (int64_t)llroundl((long double)over_nm / (2 * tangent));
    return true;
}

static bool check_front(const struct joint_dovetail *in, struct joint_plan *plan, int64_t height_nm)
{
    if (in->front_nm - height_nm < JOINT_SLIVER_NM) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "The sockets come to %s, and of a front %s thick no lap is left. Take "
                            "a front of more than %s, or a steeper bit.",
                            joint_say(plan, height_nm).text, joint_say(plan, in->front_nm).text,
                            joint_say(plan, height_nm + JOINT_SLIVER_NM).text);
    }
    return joint_within_length(plan, &in->cutter, height_nm);
}

bool joint_dovetail(const struct joint_dovetail *in, const struct joint_shop *shop,
                    struct joint_plan *plan)
{
    int64_t height_nm = 0;
    if (!joint_begin(plan, shop) || !joint_size(plan, "The spacing", in->spacing_nm) ||
        !joint_size(plan, "The thickness of the front", in->front_nm) ||
        !joint_cutter_is(plan, &in->cutter, JOINT_DOVETAIL) ||
        !joint_clearance(plan, in->clearance_nm, in->cutter.width_nm) ||
        !joint_pieces(plan, in->pieces) || !half_blind_height(in, plan, &height_nm) ||
        !check_front(in, plan, height_nm)) {
        return false;
    }
    struct joint_mark mark = {.height_nm = height_nm,
                              .high_nm = height_nm,
                              .part = JOINT_EACH,
                              .bit = JOINT_BIT,
                              .pieces = in->pieces};
    joint_words(&mark, "Half-blind dovetails at the full height in one go: tails and sockets.");
    joint_fence(&mark, "Template: in and out for flush faces; it does not change how tight they "
                       "are.");
    joint_note(plan, "Too loose: raise. Too tight: lower. %s of the front is left as the lap.",
               joint_say(plan, in->front_nm - height_nm).text);
    return joint_put(plan, &mark);
}

/* --- Sliding --- */

/* Shallower than the socket: 1/32 in (common practice, no source). */
enum { WASTE_SHORT_NM = LENGTH_NM_PER_IN / 32 };

static bool check_sliding(const struct joint_sliding *in, struct joint_plan *plan)
{
    if (!joint_size(plan, "The depth of the socket", in->depth_nm) ||
        !joint_size(plan, "The thickness of part A", in->thick_a_nm) ||
        !joint_size(plan, "The thickness of part B", in->thick_b_nm) ||
        !joint_cutter_is(plan, &in->cutter, JOINT_DOVETAIL) ||
        !joint_cutter_is(plan, &in->waste, JOINT_STRAIGHT) ||
        !joint_clearance(plan, in->clearance_nm, in->cutter.width_nm) ||
        !joint_within_length(plan, &in->cutter, in->depth_nm) ||
        !joint_within_length(plan, &in->waste, in->depth_nm - WASTE_SHORT_NM) ||
        !joint_pieces(plan, in->pieces_a) || !joint_pieces(plan, in->pieces_b)) {
        return false;
    }
    if (in->depth_nm >= in->thick_a_nm || in->depth_nm <= WASTE_SHORT_NM) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "A socket %s deep cannot be cut in stock %s thick. Make it deeper than "
                            "%s and less deep than the stock; a third of it is common.",
                            joint_say(plan, in->depth_nm).text,
                            joint_say(plan, in->thick_a_nm).text,
                            joint_say(plan, WASTE_SHORT_NM).text);
    }
    if (in->thick_b_nm < in->cutter.width_nm - in->clearance_nm) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "The tail is %s wide at its end, and part B is %s thick. Take a "
                            "narrower bit or thicker stock.",
                            joint_say(plan, in->cutter.width_nm - in->clearance_nm).text,
                            joint_say(plan, in->thick_b_nm).text);
    }
    return true;
}

/* D - 2h tan slope, which the waste bit has to be narrower than. */
static bool check_mouth(const struct joint_sliding *in, struct joint_plan *plan, int64_t *mouth_nm)
{
    long double tangent;
    if (!joint_slope(plan, in->cutter.slope_mdeg, &tangent)) {
        return false;
    }
    *mouth_nm = in->cutter.width_nm - (int64_t)llroundl(2 * (long double)in->depth_nm * tangent);
    if (*mouth_nm < JOINT_SLIVER_NM) {
        return joint_refuse(plan, JOINT_FAULT_SPACING,
                            "At a depth of %s nothing is left of the bit's width, %s at its tip, "
                            "where it enters. Cut less deep, or take a wider or steeper bit.",
                            joint_say(plan, in->depth_nm).text,
                            joint_say(plan, in->cutter.width_nm).text);
    }
    if (in->waste.width_nm >= *mouth_nm) {
        return joint_refuse(plan, JOINT_FAULT_WIDE,
                            "The socket is %s wide at its mouth and the straight bit for its waste "
                            "is %s: it would cut into the walls. Take one narrower than the mouth.",
                            joint_say(plan, *mouth_nm).text,
                            joint_say(plan, in->waste.width_nm).text);
    }
    return true;
}

static bool put_socket(const struct joint_sliding *in, struct joint_plan *plan, int64_t mouth_nm)
{
    struct joint_mark waste = {.part = JOINT_A, .bit = JOINT_SECOND_BIT, .pieces = in->pieces_a};
    struct joint_mark socket = {.height_nm = in->depth_nm,
                                .high_nm = in->depth_nm,
                                .part = JOINT_A,
                                .bit = JOINT_BIT,
                                .pieces = in->pieces_a};
    joint_words(&waste, "Part A, waste of the socket, with the straight bit.");
    joint_fence(&waste,
                "Fence: the middle of the bit on the middle of the socket, which is %s at "
                "its mouth.",
                joint_say(plan, mouth_nm).text);
    joint_words(&socket, "Part A, socket, with the dovetail bit, in one go at the full height.");
    joint_fence(&socket, "Fence: as it was for the waste, by the middle of the bit.");
    return joint_put_depth(plan, &waste, 0, in->depth_nm - WASTE_SHORT_NM, &in->depth) &&
           joint_put(plan, &socket);
}

static bool put_tail(const struct joint_sliding *in, struct joint_plan *plan)
{
    int64_t tail_nm = in->cutter.width_nm - in->clearance_nm;
    struct joint_mark tail = {.height_nm = in->depth_nm,
                              .high_nm = in->depth_nm,
                              .part = JOINT_B,
                              .bit = JOINT_BIT,
                              .pieces = in->pieces_b,
                              .flip = true};
    joint_words(&tail, "Part B, tail, on end: one face to the fence, then the other. The height "
                       "stays as it was for the socket.");
    joint_fence(&tail,
                "Fence: closed over the bit, until the tail is %s at its end; begin with "
                "less of the bit showing. A move of the fence counts twice.",
                joint_say(plan, tail_nm).text);
    return joint_put(plan, &tail);
}

bool joint_sliding(const struct joint_sliding *in, const struct joint_shop *shop,
                   struct joint_plan *plan)
{
    int64_t mouth_nm = 0;
    if (!joint_begin(plan, shop) || !check_sliding(in, plan) || !check_mouth(in, plan, &mouth_nm) ||
        !put_socket(in, plan, mouth_nm) || !put_tail(in, plan)) {
        return false;
    }
    joint_note(plan,
               "Socket and tail are cut at the same height. How tight they are is made by the "
               "fence, never by the height.");
    return true;
}
