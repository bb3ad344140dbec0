/* SPDX-License-Identifier: MIT */
#include "clients/bench/joint_parts.h"
#include "clients/bench/joint_profile.h"
#include "clients/bench/passes.h"

/* Common practice, no source. */
enum { PANEL_MOST_NM = LENGTH_NM_PER_IN / 8, PANEL_LAST_NM = LENGTH_NM_PER_IN / 32 };

static bool check_kind(const struct joint_panel *in, struct joint_plan *plan)
{
    enum joint_kind kind = in->cutter.kind;
    if (kind == JOINT_RAISER_BACK || kind == JOINT_RAISER_VERTICAL) {
        return joint_refuse(plan, JOINT_FAULT_KIND,
                            "With %s no panel is raised by steps of height. %s",
                            joint_kind_name(kind), joint_instead(kind));
    }
    return joint_cutter_is(plan, &in->cutter, JOINT_RAISER);
}

static bool check(const struct joint_panel *in, struct joint_plan *plan)
{
    if (!check_kind(in, plan) || !joint_size(plan, "The thickness of the panel", in->panel_nm) ||
        !joint_size(plan, "The width of the groove", in->groove_nm) ||
        !joint_clearance(plan, in->clearance_nm, in->groove_nm) ||
        !joint_pieces(plan, in->pieces)) {
        return false;
    }
    int64_t tongue_nm = in->groove_nm - in->clearance_nm;
    if (tongue_nm >= in->panel_nm) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "An edge of %s cannot be raised on a panel %s thick: there is nothing "
                            "to take off. Take a thicker panel or a narrower groove.",
                            joint_say(plan, tongue_nm).text, joint_say(plan, in->panel_nm).text);
    }
    return joint_within_length(plan, &in->cutter, in->panel_nm - tongue_nm);
}

bool joint_panel(const struct joint_panel *in, const struct joint_shop *shop,
                 struct joint_plan *plan)
{
    int64_t height_nm[JOINT_MARKS_MAX];
    int count;
    if (!joint_begin(plan, shop) || !check(in, plan)) {
        return false;
    }
    bool given = in->depth.most_nm != 0;
    struct passes passes = {.total_nm = in->panel_nm - in->groove_nm + in->clearance_nm,
                            .most_nm = given ? in->depth.most_nm : PANEL_MOST_NM,
                            .last_nm = given ? in->depth.last_nm : PANEL_LAST_NM};
    enum joint_fault fault = passes_lighter(&passes, height_nm, &count);
    if (fault != JOINT_POSSIBLE) {
        return joint_refuse_passes(plan, fault, &passes);
    }
    for (int i = 0; i < count; i++) {
        struct joint_mark mark = {.height_nm = height_nm[i],
                                  .high_nm = height_nm[i],
                                  .part = JOINT_EACH,
                                  .bit = JOINT_BIT,
                                  .pieces = in->pieces};
        joint_words(&mark, "Raised panel, face down, across the grain first. Pass %d of %d.", i + 1,
                    count);
        if (i == 0) {
            joint_fence(&mark, "Fence: in line with the bearing, closed around the bit.");
        }
        if (!joint_put(plan, &mark)) {
            return false;
        }
    }
    return true;
}
