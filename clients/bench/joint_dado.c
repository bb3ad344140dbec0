/* SPDX-License-Identifier: MIT */
#include <stddef.h>
#include <stdio.h>

#include "clients/bench/joint_flat.h"
#include "clients/bench/joint_parts.h"

static void set_fence(const struct joint_plan *plan, const struct joint_wall *wall, int64_t setting,
                      int64_t from_nm, int64_t back_nm, struct joint_mark *mark)
{
    if (setting == 0) {
        joint_fence(mark, "Fence: %s from it to the side of the bit next to it.%s",
                    joint_say(plan, from_nm).text, wall->stops ? wall->stops : "");
    } else {
        joint_fence(mark,
                    "Fence: move it back by %s, so that this cut takes the wall nearest you; the "
                    "other way is a climb cut.",
                    joint_say(plan, back_nm).text);
    }
}

/* As the fence goes back, away from the operator, each cut comes to lie further from the edge that
 * runs along it: so the first is the one next to that edge. */
bool joint_put_walls(struct joint_plan *plan, const struct joint_wall *wall,
                     const struct joint_cutter *cutter, const struct joint_depth *depth)
{
    if (!joint_cutter_is(plan, cutter, JOINT_STRAIGHT) ||
        !joint_within_length(plan, cutter, wall->total_nm)) {
        return false;
    }
    int64_t room_nm = wall->width_nm - cutter->width_nm;
    if (room_nm < 0) {
        return joint_refuse(plan, JOINT_FAULT_WIDE,
                            "The groove is to be %s wide and the bit is %s: it would come out too "
                            "wide. Take a bit of at most %s.",
                            joint_say(plan, wall->width_nm).text,
                            joint_say(plan, cutter->width_nm).text,
                            joint_say(plan, wall->width_nm).text);
    }
    int64_t moves = (room_nm + cutter->width_nm - 1) / cutter->width_nm;
    if (moves >= JOINT_MARKS_MAX) {
        return joint_refuse(plan, JOINT_FAULT_MARKS,
                            "A bit of %s takes more than %d fence settings for a groove of %s. "
                            "Take a wider bit.",
                            joint_say(plan, cutter->width_nm).text, JOINT_MARKS_MAX,
                            joint_say(plan, wall->width_nm).text);
    }
    int64_t before_nm = 0;
    for (int64_t i = 0; i <= moves; i++) {
        struct joint_mark mark = {.part = JOINT_EACH, .bit = JOINT_BIT, .pieces = wall->pieces};
        int64_t along_nm = moves == 0 ? 0 : ratio_nearest((ratio_wide)i * room_nm, moves);
        joint_words(&mark, moves > 0 ? "%s Cut %d of %d across." : "%s", wall->words, (int)i + 1,
                    (int)moves + 1);
        set_fence(plan, wall, i, wall->edge_nm, along_nm - before_nm, &mark);
        before_nm = along_nm;
        if (!joint_put_depth(plan, &mark, 0, wall->total_nm, depth)) {
            return false;
        }
    }
    return true;
}

/* --- Stops --- */

static bool check_stops(const struct joint_dado *in, struct joint_plan *plan)
{
    if (!joint_size_or_0(plan, "What stays uncut at the last end", in->stop_last_nm) ||
        !joint_size_or_0(plan, "What stays uncut at the first end", in->stop_first_nm)) {
        return false;
    }
    if (in->stop_last_nm == 0 && in->stop_first_nm == 0) {
        return true;
    }
    int64_t taken_nm = in->stop_last_nm + in->stop_first_nm + in->cutter.width_nm;
    if (!joint_size(plan, "The length of the board", in->board_nm)) {
        return false;
    }
    if (taken_nm > in->board_nm) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "On a board %s long the stops leave no room for the bit: they and it "
                            "take %s. Leave less uncut.",
                            joint_say(plan, in->board_nm).text, joint_say(plan, taken_nm).text);
    }
    if (in->stop_first_nm > 0 && !in->cutter.plunging) {
        return joint_refuse(plan, JOINT_FAULT_PLUNGE,
                            "A dado that begins within the board is plunged into, and this bit "
                            "does not cut with its end. Take a plunging bit, or let the dado run "
                            "out at the end that comes first past the bit.");
    }
    return true;
}

static void say_stops(const struct joint_dado *in, const struct joint_plan *plan, char *text,
                      size_t size)
{
    text[0] = '\0';
    int64_t room_nm = in->board_nm - in->cutter.width_nm;
    int used = 0;
    if (in->stop_last_nm > 0) {
        used = snprintf(text, size, " Stop block %s to the left of the bit's left side.",
                        joint_say(plan, room_nm - in->stop_last_nm).text);
    }
    if (in->stop_first_nm > 0) {
        (void)snprintf(text + used, size - (size_t)used,
                       " Start block %s to the right of its right side.",
                       joint_say(plan, room_nm - in->stop_first_nm).text);
    }
}

/* --- Dado --- */

static bool check(const struct joint_dado *in, struct joint_plan *plan)
{
    if (!joint_size(plan, "The thickness of the stock", in->thick_nm) ||
        !joint_size(plan, "The thickness of the mating part", in->part_nm) ||
        !joint_size_or_0(plan, "The depth of the dado", in->depth_nm) ||
        !joint_size_or_0(plan, "The distance from the edge", in->edge_nm) ||
        !joint_clearance(plan, in->clearance_nm, in->part_nm) || !joint_pieces(plan, in->pieces) ||
        !joint_cutter_is(plan, &in->cutter, JOINT_STRAIGHT)) {
        return false;
    }
    if (in->depth_nm >= in->thick_nm) {
        return joint_refuse(plan, JOINT_FAULT_STOCK,
                            "A dado %s deep goes through stock that is %s thick. About a third of "
                            "it, %s, is common.",
                            joint_say(plan, in->depth_nm).text, joint_say(plan, in->thick_nm).text,
                            joint_say(plan, in->thick_nm / 3).text);
    }
    return check_stops(in, plan);
}

bool joint_dado(const struct joint_dado *in, const struct joint_shop *shop, struct joint_plan *plan)
{
    char stops[JOINT_WORDS];
    if (!joint_begin(plan, shop) || !check(in, plan)) {
        return false;
    }
    int64_t total_nm = in->depth_nm > 0 ? in->depth_nm : in->thick_nm / 3;
    if (!joint_size(plan, "The depth of the dado", total_nm)) {
        return false;
    }
    say_stops(in, plan, stops, sizeof stops);
    struct joint_wall wall = {
        .width_nm = in->part_nm + in->clearance_nm,
        .edge_nm = in->edge_nm,
        .total_nm = total_nm,
        .pieces = in->pieces,
        .words = in->stop_first_nm > 0  ? "Stopped dado: lower the work onto the bit at the "
                                          "start block, run to the stop, switch off."
                 : in->stop_last_nm > 0 ? "Stopped dado: run to the stop block, switch off, "
                                          "then lift the work."
                                        : "Dado: marked edge to the fence.",
        .stops = stops};
    return joint_put_walls(plan, &wall, &in->cutter, &in->depth);
}
