/* SPDX-License-Identifier: MIT */
#include "clients/bench/joint_groove.h"

#include "clients/bench/joint_parts.h"

static bool refuse_wide(struct joint_plan *plan, int64_t groove_nm, int64_t cutter_nm)
{
    return joint_refuse(plan, JOINT_FAULT_WIDE,
                        "The groove is to be %s wide and the cutter makes %s: it would come out "
                        "too wide. Take a cutter of at most %s.",
                        joint_say(plan, groove_nm).text, joint_say(plan, cutter_nm).text,
                        joint_say(plan, groove_nm).text);
}

bool joint_groove(const struct joint_groove *in, const struct joint_shop *shop,
                  struct joint_plan *plan)
{
    if (!joint_begin(plan, shop) || !joint_size(plan, "The width of the groove", in->width_nm) ||
        !joint_size_or_0(plan, "The distance from the edge", in->edge_nm) ||
        !joint_size(plan, "The depth of the groove", in->into_nm) ||
        !joint_cutter_is(plan, &in->cutter, JOINT_SLOT) || !joint_pieces(plan, in->pieces) ||
        !joint_within_reach(plan, &in->cutter, in->into_nm)) {
        return false;
    }
    if (in->cutter.kerf_nm > in->width_nm) {
        return refuse_wide(plan, in->width_nm, in->cutter.kerf_nm);
    }
    struct joint_mark mark = {.part = JOINT_EACH, .bit = JOINT_BIT, .pieces = in->pieces};
    joint_words(&mark, "Groove, marked edge or face on the table.");
    joint_fence(&mark, "Fence: the cutter stands out by %s.", joint_say(plan, in->into_nm).text);
    return joint_put_slot(plan, &mark, &in->cutter, in->edge_nm, in->edge_nm + in->width_nm, false);
}

/* --- A drawer's bottom --- */

static bool check_drawer(const struct joint_drawer *in, struct joint_plan *plan)
{
    if (!joint_size(plan, "The thickness of the bottom", in->bottom_nm) ||
        !joint_size(plan, "The distance from the edge", in->edge_nm) ||
        !joint_size(plan, "The depth of the groove", in->into_nm) ||
        !joint_size(plan, "The thickness of the sides", in->stock_nm) ||
        !joint_clearance(plan, in->clearance_nm, in->bottom_nm) ||
        !joint_pieces(plan, in->pieces)) {
        return false;
    }
    if (2 * in->into_nm > in->stock_nm) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "A groove %s deep leaves less than half of a side that is %s thick. "
                            "Make it %s deep at the most.",
                            joint_say(plan, in->into_nm).text, joint_say(plan, in->stock_nm).text,
                            joint_say(plan, in->stock_nm / 2).text);
    }
    return true;
}

static bool put_drawer_slot(const struct joint_drawer *in, struct joint_plan *plan)
{
    int64_t width_nm = in->bottom_nm + in->clearance_nm;
    struct joint_mark mark = {.part = JOINT_EACH, .bit = JOINT_BIT, .pieces = in->pieces};
    if (!joint_cutter_is(plan, &in->cutter, JOINT_SLOT) ||
        !joint_within_reach(plan, &in->cutter, in->into_nm)) {
        return false;
    }
    if (in->cutter.kerf_nm > width_nm) {
        return refuse_wide(plan, width_nm, in->cutter.kerf_nm);
    }
    joint_words(&mark, "Drawer-bottom groove: lower edge on the table, inside to the fence.");
    joint_fence(&mark, "Fence: the cutter stands out by %s.", joint_say(plan, in->into_nm).text);
    return joint_put_slot(plan, &mark, &in->cutter, in->edge_nm, in->edge_nm + width_nm, false);
}

bool joint_drawer(const struct joint_drawer *in, const struct joint_shop *shop,
                  struct joint_plan *plan)
{
    if (!joint_begin(plan, shop) || !check_drawer(in, plan)) {
        return false;
    }
    if (in->cutter.kind == JOINT_SLOT) {
        return put_drawer_slot(in, plan);
    }
    struct joint_wall wall = {.width_nm = in->bottom_nm + in->clearance_nm,
                              .edge_nm = in->edge_nm,
                              .total_nm = in->into_nm,
                              .pieces = in->pieces,
                              .words = "Drawer-bottom groove: inside down, lower edge to the "
                                       "fence."};
    return joint_put_walls(plan, &wall, &in->cutter, &in->depth);
}
