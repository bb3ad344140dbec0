/* SPDX-License-Identifier: MIT */
#include "clients/bench/passes.h"

#include "clients/bench/joint_parts.h"

enum { NM_PER_8TH = LENGTH_NM_PER_IN / 8, STOUT_SHANK_NM = 12000000 };

static bool is_size(int64_t nm)
{
    return nm >= 0 && nm <= LENGTH_NM_MAX;
}

static enum joint_fault check(const struct passes *in, int64_t last_most_nm)
{
    if (!is_size(in->total_nm) || !is_size(in->from_nm) || !is_size(in->most_nm) ||
        !is_size(in->last_nm) || in->total_nm == 0) {
        return JOINT_FAULT_SIZE;
    }
    if (in->from_nm >= in->total_nm) {
        return JOINT_FAULT_DONE;
    }
    return in->most_nm > 0 && in->last_nm > last_most_nm ? JOINT_FAULT_LAST : JOINT_POSSIBLE;
}

static int64_t divide_up(int64_t above, int64_t below)
{
    return above / below + (above % below > 0);
}

/* `count` equal passes that end at to_nm. */
static void put_equal(int64_t from_nm, int64_t to_nm, int64_t count, int64_t *height_nm, int *used)
{
    for (int64_t i = 1; i <= count; i++) {
        ratio_wide above = (ratio_wide)from_nm * count + (ratio_wide)i * (to_nm - from_nm);
        height_nm[(*used)++] = ratio_nearest(above, count);
    }
}

enum joint_fault passes_heights(const struct passes *in, int64_t height_nm[JOINT_MARKS_MAX],
                                int *count)
{
    *count = 0;
    enum joint_fault fault = check(in, in->most_nm);
    if (fault != JOINT_POSSIBLE) {
        return fault;
    }
    int64_t rough_nm = in->total_nm - in->from_nm - in->last_nm;
    if (in->most_nm == 0 || rough_nm <= 0) {
        height_nm[(*count)++] = in->total_nm;
        return JOINT_POSSIBLE;
    }
    int64_t equal = divide_up(rough_nm, in->most_nm);
    if (equal + (in->last_nm > 0) > JOINT_MARKS_MAX) {
        return JOINT_FAULT_MARKS;
    }
    put_equal(in->from_nm, in->from_nm + rough_nm, equal, height_nm, count);
    if (in->last_nm > 0) {
        height_nm[(*count)++] = in->total_nm;
    }
    return JOINT_POSSIBLE;
}

/* So that none is deeper than the one before: what is left after the full passes, where it would
 * be lighter than the last one, is shared with the pass in front of it. */
static void put_lighter(const struct passes *in, int64_t full, int64_t *height_nm, int *count)
{
    int64_t end_nm = in->total_nm - in->last_nm;
    int64_t rest_nm = end_nm - in->from_nm - full * in->most_nm;
    bool share = full > 0 && rest_nm > 0 && rest_nm < in->last_nm;
    int64_t plain = full - share;
    for (int64_t i = 1; i <= plain; i++) {
        height_nm[(*count)++] = in->from_nm + i * in->most_nm;
    }
    int64_t at_nm = in->from_nm + plain * in->most_nm;
    put_equal(at_nm, end_nm, share ? 2 : rest_nm > 0, height_nm, count);
    if (in->last_nm > 0) {
        height_nm[(*count)++] = in->total_nm;
    }
}

enum joint_fault passes_lighter(const struct passes *in, int64_t height_nm[JOINT_MARKS_MAX],
                                int *count)
{
    *count = 0;
    enum joint_fault fault = check(in, in->most_nm / 2);
    if (fault != JOINT_POSSIBLE) {
        return fault;
    }
    int64_t all_nm = in->total_nm - in->from_nm;
    if (in->most_nm == 0 || all_nm < 2 * in->last_nm) {
        put_equal(in->from_nm, in->total_nm, in->most_nm > 0 && all_nm > in->last_nm ? 2 : 1,
                  height_nm, count);
        return JOINT_POSSIBLE;
    }
    int64_t full = (all_nm - in->last_nm) / in->most_nm;
    if (full + 2 > JOINT_MARKS_MAX) {
        return JOINT_FAULT_MARKS;
    }
    put_lighter(in, full, height_nm, count);
    return JOINT_POSSIBLE;
}

int64_t passes_most_nm(int64_t diameter_nm, int64_t shank_nm)
{
    int64_t shank_most_nm = shank_nm >= STOUT_SHANK_NM ? 2 * NM_PER_8TH : NM_PER_8TH;
    return diameter_nm / 2 < shank_most_nm ? diameter_nm / 2 : shank_most_nm;
}

/* --- The plan --- */

bool joint_refuse_passes(struct joint_plan *plan, enum joint_fault fault, const struct passes *in)
{
    switch (fault) {
    case JOINT_FAULT_DONE:
        return joint_refuse(plan, fault,
                            "The cut is %s deep already, and %s is wanted: there is nothing left "
                            "to cut.",
                            joint_say(plan, in->from_nm).text, joint_say(plan, in->total_nm).text);
    case JOINT_FAULT_LAST:
        return joint_refuse(plan, fault,
                            "The last pass is given as %s, and a pass may take %s at most. Give a "
                            "last pass of no more than that, or half of it for a panel.",
                            joint_say(plan, in->last_nm).text, joint_say(plan, in->most_nm).text);
    case JOINT_FAULT_MARKS:
        return joint_refuse(plan, fault,
                            "At %s a pass this takes more than %d of them, and a story holds no "
                            "more. Take deeper passes.",
                            joint_say(plan, in->most_nm).text, JOINT_MARKS_MAX);
    default:
        return joint_refuse(plan, fault,
                            "A depth below 0, or none at all, cannot be cut. Give how "
                            "deep the cut is to be, and at most how deep a pass.");
    }
}

static bool may_step(struct joint_plan *plan, enum joint_kind kind)
{
    if (kind == JOINT_SLOT) {
        return joint_refuse(plan, JOINT_FAULT_KIND,
                            "A slot cutter goes deeper by the fence, not by its height. Ask for a "
                            "wide groove to widen its slot, or take a straight bit.");
    }
    if (joint_can_step(kind)) {
        return true;
    }
    return joint_refuse(plan, JOINT_FAULT_KIND,
                        "With %s no cut is made deeper by its height: each pass would spoil the "
                        "one before. %s",
                        joint_kind_name(kind), joint_instead(kind));
}

static bool put_all(struct joint_plan *plan, const struct joint_passes *in,
                    const int64_t *height_nm, int count)
{
    for (int i = 0; i < count; i++) {
        struct joint_mark mark = {.height_nm = height_nm[i],
                                  .high_nm = height_nm[i],
                                  .part = JOINT_EACH,
                                  .bit = JOINT_BIT,
                                  .pieces = in->pieces};
        joint_words(&mark, "Pass %d of %d.", i + 1, count);
        if (!joint_put(plan, &mark)) {
            return false;
        }
    }
    return true;
}

bool joint_passes(const struct joint_passes *in, const struct joint_shop *shop,
                  struct joint_plan *plan)
{
    int64_t height_nm[JOINT_MARKS_MAX];
    int count;
    struct passes passes = in->passes;
    if (!joint_begin(plan, shop) || !may_step(plan, in->cutter.kind) ||
        !joint_cutter_is(plan, &in->cutter, in->cutter.kind) || !joint_pieces(plan, in->pieces) ||
        !joint_within_length(plan, &in->cutter, passes.total_nm)) {
        return false;
    }
    if (passes.most_nm == 0) {
        passes.most_nm = passes_most_nm(in->cutter.width_nm, in->cutter.shank_nm);
    }
    enum joint_fault fault = in->cutter.kind == JOINT_RAISER
                                 ? passes_lighter(&passes, height_nm, &count)
                                 : passes_heights(&passes, height_nm, &count);
    if (fault != JOINT_POSSIBLE) {
        return joint_refuse_passes(plan, fault, &passes);
    }
    return put_all(plan, in, height_nm, count);
}
