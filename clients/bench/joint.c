/* SPDX-License-Identifier: MIT */
#include "clients/bench/joint.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#include "clients/bench/joint_parts.h"
#include "clients/common/say.h"

static const char *const kind_names[] = {
    [JOINT_STRAIGHT] = "a straight bit",
    [JOINT_SLOT] = "a slot cutter",
    [JOINT_EDGE] = "an edge-forming bit",
    [JOINT_DOVETAIL] = "a dovetail bit",
    [JOINT_T_SLOT] = "a T-slot bit",
    [JOINT_KEYHOLE] = "a keyhole bit",
    [JOINT_LOCK_MITRE] = "a lock mitre bit",
    [JOINT_GLUE] = "a reverse glue joint bit",
    [JOINT_STILE_RAIL] = "a stile and rail bit",
    [JOINT_RAISER] = "a panel raiser",
    [JOINT_RAISER_BACK] = "a panel raiser with a back cutter",
    [JOINT_RAISER_VERTICAL] = "a vertical panel raiser",
};

static bool is_kind(enum joint_kind kind)
{
    return kind >= JOINT_STRAIGHT && kind <= JOINT_RAISER_VERTICAL;
}

const char *joint_kind_name(enum joint_kind kind)
{
    return is_kind(kind) ? kind_names[kind] : "a cutter of a kind that is not known";
}

bool joint_can_step(enum joint_kind kind)
{
    return kind == JOINT_STRAIGHT || kind == JOINT_SLOT || kind == JOINT_EDGE ||
           kind == JOINT_RAISER;
}

const char *joint_instead(enum joint_kind kind)
{
    switch (kind) {
    case JOINT_DOVETAIL:
    case JOINT_T_SLOT:
        return "Waste most of the groove with a straight bit first, then cut at the full height in "
               "one go.";
    case JOINT_KEYHOLE:
        return "Plunge to the full height, and run along and back at that height.";
    case JOINT_LOCK_MITRE:
    case JOINT_GLUE:
    case JOINT_STILE_RAIL:
    case JOINT_RAISER_BACK:
    case JOINT_RAISER_VERTICAL:
        return "Set the full height once, and make the passes by the fence: begin with it closed "
               "over the bit and move it back.";
    default:
        return "It may be stepped by height.";
    }
}

/* --- Numbers --- */

bool joint_slope(struct joint_plan *plan, int32_t slope_mdeg, long double *tangent)
{
    if (slope_mdeg < 1000 || slope_mdeg > 45000) {
        return joint_refuse(plan, JOINT_FAULT_SPACING,
                            "The slope of the dovetail is given as %.3f degrees. It can be 1 to "
                            "45; most bits have 7, 8, 14 or 18.",
                            slope_mdeg / 1000.0);
    }
    *tangent = tanl((long double)slope_mdeg * acosl(-1.0L) / 180000.0L);
    return true;
}

/* --- The plan --- */

bool joint_begin(struct joint_plan *plan, const struct joint_shop *shop)
{
    plan->shop = *shop;
    plan->fault = JOINT_POSSIBLE;
    plan->why[0] = '\0';
    plan->note[0] = '\0';
    plan->count = 0;
    if (shop->lowest_nm < shop->highest_nm && shop->lowest_nm >= -LENGTH_NM_MAX &&
        shop->highest_nm <= LENGTH_NM_MAX) {
        return true;
    }
    return joint_refuse(plan, JOINT_FAULT_TRAVEL,
                        "The travel is given as %s to %s, which is none. Give its lower end first, "
                        "and both within 10 m.",
                        joint_say(plan, shop->lowest_nm).text,
                        joint_say(plan, shop->highest_nm).text);
}

bool joint_refuse(struct joint_plan *plan, enum joint_fault fault, const char *format, ...)
{
    if (plan->fault == JOINT_POSSIBLE) {
        va_list arguments;
        va_start(arguments, format);
        (void)vsnprintf(plan->why, sizeof plan->why, format, arguments);
        va_end(arguments);
        plan->fault = fault;
        plan->count = 0;
    }
    return false;
}

void joint_note(struct joint_plan *plan, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(plan->note, sizeof plan->note, format, arguments);
    va_end(arguments);
}

void joint_words(struct joint_mark *mark, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(mark->words, sizeof mark->words, format, arguments);
    va_end(arguments);
}

void joint_fence(struct joint_mark *mark, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(mark->fence, sizeof mark->fence, format, arguments);
    va_end(arguments);
}

struct joint_text joint_say(const struct joint_plan *plan, int64_t nm)
{
    struct joint_text out;
    say_length(nm, plan->shop.style, out.text, sizeof out.text);
    return out;
}

bool joint_reached(const struct joint_plan *plan, int64_t height_nm)
{
    return height_nm > plan->shop.lowest_nm && height_nm < plan->shop.highest_nm;
}

bool joint_put(struct joint_plan *plan, const struct joint_mark *mark)
{
    if (plan->fault != JOINT_POSSIBLE) {
        return false;
    }
    if (!joint_reached(plan, mark->height_nm)) {
        return joint_refuse(plan, JOINT_FAULT_TRAVEL,
                            "The height %s is needed, and the lift reaches from %s to %s with this "
                            "bit: this cannot be cut so. Change how far the shank stands in the "
                            "collet and touch off again, or take another sled or bit.",
                            joint_say(plan, mark->height_nm).text,
                            joint_say(plan, plan->shop.lowest_nm).text,
                            joint_say(plan, plan->shop.highest_nm).text);
    }
    if (plan->count == JOINT_MARKS_MAX) {
        return joint_refuse(plan, JOINT_FAULT_MARKS,
                            "This takes more than %d marks, and a story holds no more. Take deeper "
                            "passes or a thicker cutter, or make two stories of it.",
                            JOINT_MARKS_MAX);
    }
    plan->mark[plan->count++] = *mark;
    return true;
}
