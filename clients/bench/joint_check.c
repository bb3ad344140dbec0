/* SPDX-License-Identifier: MIT */
/* Whether what was given can be sizes, and cutters of the kind that is asked for. */
#include "clients/bench/joint_parts.h"

/* A clearance for glue: .003 to .006 in (common practice, no source). */
enum { USUAL_LEAST_NM = 76200, USUAL_MOST_NM = 152400 };

bool joint_size_or_0(struct joint_plan *plan, const char *what, int64_t nm)
{
    if (nm >= 0 && nm <= LENGTH_NM_MAX) {
        return true;
    }
    return joint_refuse(plan, JOINT_FAULT_SIZE,
                        "%s is given as %s, which is no size. It can be 0 to 10 m; measure it "
                        "again.",
                        what, joint_say(plan, nm).text);
}

bool joint_size(struct joint_plan *plan, const char *what, int64_t nm)
{
    if (nm == 0) {
        return joint_refuse(plan, JOINT_FAULT_SIZE,
                            "%s is 0, or was not given. Measure it and give it.", what);
    }
    return joint_size_or_0(plan, what, nm);
}

bool joint_clearance(struct joint_plan *plan, int64_t nm, int64_t most_nm)
{
    if (nm < 0) {
        return joint_refuse(plan, JOINT_FAULT_CLEARANCE,
                            "The clearance is given as %s: below 0 the parts would be larger than "
                            "the room for them. Give 0 or more; %s to %s is common.",
                            joint_say(plan, nm).text, joint_say(plan, USUAL_LEAST_NM).text,
                            joint_say(plan, USUAL_MOST_NM).text);
    }
    if (nm >= most_nm) {
        return joint_refuse(plan, JOINT_FAULT_CLEARANCE,
                            "The clearance is given as %s, and there is only %s to take it from. "
                            "Give less; %s to %s is common.",
                            joint_say(plan, nm).text, joint_say(plan, most_nm).text,
                            joint_say(plan, USUAL_LEAST_NM).text,
                            joint_say(plan, USUAL_MOST_NM).text);
    }
    return true;
}

bool joint_pieces(struct joint_plan *plan, int pieces)
{
    if (pieces >= 1 && pieces <= JOINT_PIECES_MAX) {
        return true;
    }
    return joint_refuse(plan, JOINT_FAULT_PIECES,
                        "%d pieces were asked for. It can be 1 to %d at each mark.", pieces,
                        JOINT_PIECES_MAX);
}

static bool sizes_are_sizes(struct joint_plan *plan, const struct joint_cutter *cutter)
{
    return joint_size_or_0(plan, "The cutting length", cutter->length_nm) &&
           joint_size_or_0(plan, "The cutter's reach", cutter->reach_nm) &&
           joint_size_or_0(plan, "The shank's diameter", cutter->shank_nm) &&
           (cutter->kind == JOINT_SLOT ? joint_size(plan, "The cutter's kerf", cutter->kerf_nm)
                                       : joint_size(plan, "The cutter's width", cutter->width_nm));
}

static bool reference_fits(struct joint_plan *plan, const struct joint_cutter *cutter)
{
    bool lower = cutter->kind == JOINT_SLOT && cutter->reference == JOINT_LOWER;
    bool centre = !joint_can_step(cutter->kind) && cutter->kind != JOINT_DOVETAIL &&
                  cutter->reference == JOINT_CENTRE;
    if (cutter->reference == JOINT_TOP || lower || centre) {
        return true;
    }
    return joint_refuse(plan, JOINT_FAULT_KIND,
                        "Heights of %s are not counted from that point of it. Give its height by "
                        "the top cutting edge.",
                        joint_kind_name(cutter->kind));
}

bool joint_cutter_is(struct joint_plan *plan, const struct joint_cutter *cutter,
                     enum joint_kind kind)
{
    if (cutter->kind != kind) {
        return joint_refuse(plan, JOINT_FAULT_KIND,
                            "This is cut with %s, and the cutter given is %s. Fit the other, or "
                            "choose a joint that this one cuts.",
                            joint_kind_name(kind), joint_kind_name(cutter->kind));
    }
    return sizes_are_sizes(plan, cutter) && reference_fits(plan, cutter);
}

bool joint_within_length(struct joint_plan *plan, const struct joint_cutter *cutter,
                         int64_t depth_nm)
{
    if (cutter->length_nm == 0 || depth_nm <= cutter->length_nm) {
        return true;
    }
    return joint_refuse(plan, JOINT_FAULT_REACH,
                        "The cut is %s deep and the cutting edges are %s long: above them the "
                        "shank would rub. Take a bit with edges of at least %s, or cut less deep.",
                        joint_say(plan, depth_nm).text, joint_say(plan, cutter->length_nm).text,
                        joint_say(plan, depth_nm).text);
}

bool joint_within_reach(struct joint_plan *plan, const struct joint_cutter *cutter,
                        int64_t depth_nm)
{
    if (cutter->reach_nm == 0 || depth_nm <= cutter->reach_nm) {
        return true;
    }
    return joint_refuse(plan, JOINT_FAULT_REACH,
                        "The cut goes %s into the work and the cutter reaches %s beyond its "
                        "bearing. Fit a smaller bearing or a larger cutter, or cut less deep.",
                        joint_say(plan, depth_nm).text, joint_say(plan, cutter->reach_nm).text);
}
