/* SPDX-License-Identifier: MIT */
#include "clients/bench/joint_finger.h"

#include "clients/bench/joint_parts.h"

/* Places that may be half nanometres are kept doubled. */
struct layout {
    int64_t finger_nm; /* f */
    int64_t pitch_nm;  /* P */
    int64_t fingers_a; /* a sliver that is run out is not counted */
    int64_t fingers_b;
    enum joint_part run_out; /* the part with the sliver, or JOINT_EACH */
};

static ratio_wide slot_low2(const struct joint_stepped *in, const struct layout *layout,
                            enum joint_part part, int64_t i)
{
    ratio_wide low2 = 2 * (ratio_wide)i * layout->pitch_nm;
    return part == JOINT_A ? low2 + 2 * layout->finger_nm : low2 - in->clearance_nm;
}

/* Where the far sides of the slots of `part` begin, which is where its next finger does. */
static ratio_wide finger_low2(const struct joint_stepped *in, const struct layout *layout,
                              enum joint_part part, int64_t i)
{
    ratio_wide low2 = 2 * (ratio_wide)i * layout->pitch_nm;
    return part == JOINT_A ? low2 : low2 + 2 * layout->finger_nm + in->clearance_nm;
}

/* Fingers of a part that begin below the far edge. */
static int64_t count_fingers(const struct joint_stepped *in, const struct layout *layout,
                             enum joint_part part)
{
    ratio_wide room2 = 2 * (ratio_wide)in->width_nm - finger_low2(in, layout, part, 0);
    ratio_wide pitch2 = 2 * (ratio_wide)layout->pitch_nm;
    return room2 <= 0 ? 0 : (int64_t)((room2 + pitch2 - 1) / pitch2);
}

static struct layout lay_out(const struct joint_stepped *in)
{
    struct layout layout = {.finger_nm = in->cutter.kerf_nm - in->clearance_nm,
                            .pitch_nm = 2 * in->cutter.kerf_nm - in->clearance_nm,
                            .run_out = JOINT_EACH};
    layout.fingers_a = count_fingers(in, &layout, JOINT_A);
    layout.fingers_b = count_fingers(in, &layout, JOINT_B);
    bool last_is_a = layout.fingers_a > layout.fingers_b;
    enum joint_part last = last_is_a ? JOINT_A : JOINT_B;
    int64_t *count = last_is_a ? &layout.fingers_a : &layout.fingers_b;
    if (*count > 0 && 2 * (ratio_wide)in->width_nm - finger_low2(in, &layout, last, *count - 1) <
                          2 * JOINT_SLIVER_NM) {
        layout.run_out = last;
        (*count)--;
    }
    return layout;
}

static bool refuse_board(const struct joint_stepped *in, struct joint_plan *plan)
{
    int64_t above_nm = in->cutter.reference == JOINT_LOWER ? 0 : in->cutter.kerf_nm;
    int64_t widest_nm = 2 * (plan->shop.highest_nm - above_nm) + in->cutter.kerf_nm;
    return joint_refuse(
        plan, JOINT_FAULT_BOARD,
        "A board %s wide has slots that are reached from neither edge: the lift "
        "goes from %s to %s. Cut boards of at most about %s and glue them up, or "
        "cut the joint upright with a straight bit.",
        joint_say(plan, in->width_nm).text, joint_say(plan, plan->shop.lowest_nm).text,
        joint_say(plan, plan->shop.highest_nm).text, joint_say(plan, widest_nm).text);
}

static void place(const struct joint_stepped *in, ratio_wide low2, struct joint_mark *mark)
{
    mark->low_nm = ratio_nearest(low2, 2);
    mark->high_nm = mark->low_nm + in->cutter.kerf_nm;
    mark->height_nm = joint_slot_height(&in->cutter, mark->low_nm);
}

/* One slot, from below or turned. Where it is too low both ways, joint_put says so. */
static bool set_slot(const struct joint_stepped *in, struct joint_plan *plan, ratio_wide low2,
                     struct joint_mark *mark)
{
    place(in, low2, mark);
    if (joint_reached(plan, mark->height_nm)) {
        return true;
    }
    bool too_low = mark->height_nm <= plan->shop.lowest_nm;
    place(in, 2 * (ratio_wide)(in->width_nm - in->cutter.kerf_nm) - low2, mark);
    mark->turned = joint_reached(plan, mark->height_nm);
    if (!mark->turned && too_low) {
        place(in, low2, mark);
        return true;
    }
    return mark->turned || refuse_board(in, plan);
}

/* Midway between the highest that still takes up the last slot, and the lowest that runs out. */
static ratio_wide run_out_low2(const struct joint_stepped *in, const struct layout *layout)
{
    int64_t i = layout->run_out == JOINT_A ? layout->fingers_a : layout->fingers_b;
    ratio_wide top2 = finger_low2(in, layout, layout->run_out, i);
    return (2 * (ratio_wide)(in->width_nm - in->cutter.kerf_nm) + top2) / 2;
}

struct part_job {
    const struct joint_stepped *in;
    const struct layout *layout;
    enum joint_part part;
    int64_t slots;
    int64_t cuts; /* slots and the run-out */
};

static ratio_wide low2_of(const struct part_job *job, int64_t i)
{
    return i < job->slots ? slot_low2(job->in, job->layout, job->part, i)
                          : run_out_low2(job->in, job->layout);
}

static void say_slot(const struct part_job *job, int64_t i, bool first_turned,
                     struct joint_mark *mark)
{
    const char *name = job->part == JOINT_A ? "A" : "B";
    const char *how = mark->turned ? first_turned ? " Turn the board: marked edge up, the same end "
                                                    "to the fence."
                                                  : " Marked edge up."
                      : i == 0     ? " On edge, marked edge down, end to the fence."
                                   : " Marked edge down.";
    if (i < job->slots) {
        joint_words(mark, "Part %s, slot %d of %d.%s", name, (int)i + 1, (int)job->slots, how);
    } else {
        joint_words(mark, "Part %s, run-out: takes the sliver off at the edge without the mark.%s",
                    name, how);
    }
}

static void say_fence(const struct part_job *job, struct joint_plan *plan, struct joint_mark *mark)
{
    const struct joint_stepped *in = job->in;
    int64_t depth_nm = (job->part == JOINT_A ? in->thick_b_nm : in->thick_a_nm) + in->proud_nm;
    joint_fence(mark, "Fence: the cutter stands out by %s; sled with a backer behind the work.",
                joint_say(plan, depth_nm).text);
}

/* Those from below first, then the turned ones, so that boards are turned once. */
static bool put_part(const struct part_job *job, struct joint_plan *plan)
{
    bool first = true;
    for (int pass = 0; pass < 2; pass++) {
        bool first_turned = pass == 1;
        for (int64_t i = 0; i < job->cuts; i++) {
            struct joint_mark mark = {.part = job->part,
                                      .bit = JOINT_BIT,
                                      .pieces = job->part == JOINT_A ? job->in->pieces_a
                                                                     : job->in->pieces_b};
            if (!set_slot(job->in, plan, low2_of(job, i), &mark)) {
                return false;
            }
            if (mark.turned != (pass == 1)) {
                continue;
            }
            say_slot(job, i, first_turned, &mark);
            if (first) {
                say_fence(job, plan, &mark);
            }
            if (!joint_put(plan, &mark)) {
                return false;
            }
            first = false;
            first_turned = false;
        }
    }
    return true;
}

static bool check_sizes(const struct joint_stepped *in, struct joint_plan *plan)
{
    return joint_size(plan, "The width of the boards", in->width_nm) &&
           joint_size(plan, "The thickness of part A", in->thick_a_nm) &&
           joint_size(plan, "The thickness of part B", in->thick_b_nm) &&
           joint_size_or_0(plan, "What is left to sand off", in->proud_nm) &&
           joint_cutter_is(plan, &in->cutter, JOINT_SLOT) &&
           joint_clearance(plan, in->clearance_nm, in->cutter.kerf_nm) &&
           joint_within_reach(plan, &in->cutter, in->thick_a_nm + in->proud_nm) &&
           joint_within_reach(plan, &in->cutter, in->thick_b_nm + in->proud_nm) &&
           joint_pieces(plan, in->pieces_a) && joint_pieces(plan, in->pieces_b);
}

static bool check(const struct joint_stepped *in, struct joint_plan *plan)
{
    if (!check_sizes(in, plan)) {
        return false;
    }
    if (in->cutter.kerf_nm - in->clearance_nm < JOINT_SLIVER_NM) {
        return joint_refuse(plan, JOINT_FAULT_NARROW,
                            "A kerf of %s with %s clearance leaves fingers that are too thin to "
                            "hold. Take a cutter of at least %s and the clearance.",
                            joint_say(plan, in->cutter.kerf_nm).text,
                            joint_say(plan, in->clearance_nm).text,
                            joint_say(plan, JOINT_SLIVER_NM).text);
    }
    int64_t least_nm = in->cutter.kerf_nm + JOINT_SLIVER_NM;
    if (in->width_nm < least_nm) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "A board %s wide has no room for a finger and a slot of %s. Take a "
                            "thinner cutter, or a board of at least %s.",
                            joint_say(plan, in->width_nm).text,
                            joint_say(plan, in->cutter.kerf_nm).text,
                            joint_say(plan, least_nm).text);
    }
    if (in->width_nm / in->cutter.kerf_nm > 2 * JOINT_MARKS_MAX) {
        return joint_refuse(plan, JOINT_FAULT_MARKS,
                            "On a board %s wide this takes more than %d marks, and a story holds "
                            "no more. Take a thicker cutter.",
                            joint_say(plan, in->width_nm).text, JOINT_MARKS_MAX);
    }
    return true;
}

static bool put_parts(const struct joint_stepped *in, const struct layout *layout,
                      struct joint_plan *plan)
{
    struct part_job a = {in, layout, JOINT_A, layout->fingers_b,
                         layout->fingers_b + (layout->run_out == JOINT_A)};
    struct part_job b = {in, layout, JOINT_B, layout->fingers_a,
                         layout->fingers_a + (layout->run_out == JOINT_B)};
    return put_part(&a, plan) && put_part(&b, plan);
}

static void add_note(const struct layout *layout, struct joint_plan *plan)
{
    bool turned = false;
    for (int i = 0; i < plan->count; i++) {
        turned = turned || plan->mark[i].turned;
    }
    joint_note(
        plan,
        "%d fingers on part A and %d on part B, each %s. If a test joint is too tight or too "
        "loose, measure a slot and make the plan again with that kerf: shifting the heights "
        "does not mend it.%s",
        (int)layout->fingers_a, (int)layout->fingers_b, joint_say(plan, layout->finger_nm).text,
        turned ? " Boards are turned: measure their width to a thousandth of an inch, what is "
                 "wrong with it comes out in the middle."
               : "");
}

bool joint_stepped(const struct joint_stepped *in, const struct joint_shop *shop,
                   struct joint_plan *plan)
{
    if (!joint_begin(plan, shop) || !check(in, plan)) {
        return false;
    }
    struct layout layout = lay_out(in);
    if (!put_parts(in, &layout, plan)) {
        return false;
    }
    add_note(&layout, plan);
    return true;
}
