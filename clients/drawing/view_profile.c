/* SPDX-License-Identifier: MIT */
/* Views of joints whose shape is the bit's: dovetails, lock mitre, reverse glue joint, panel. */
#include <math.h>
#include <string.h>

#include "clients/drawing/view_parts.h"

/* --- Dovetails --- */

static int64_t lean_nm(int64_t height_nm, int32_t slope_mdeg)
{
    return llround((double)height_nm * tan(slope_mdeg / 1000.0 * acos(-1.0) / 180.0));
}

/* Wide at its tip, which is at the top. */
static void put_dovetail(struct view *view, int mark, int64_t middle_nm, int64_t tip_nm,
                         int64_t height_nm, int32_t slope_mdeg)
{
    int64_t lean = lean_nm(height_nm, slope_mdeg);
    const struct view_point point[VIEW_POINTS] = {{middle_nm - tip_nm / 2 + lean, 0},
                                                  {middle_nm + tip_nm / 2 - lean, 0},
                                                  {middle_nm + tip_nm / 2, height_nm},
                                                  {middle_nm - tip_nm / 2, height_nm}};
    struct view_point below[VIEW_POINTS];
    memcpy(below, point, sizeof below);
    below[0].y_nm = below[1].y_nm = -VIEW_BELOW_NM;
    view_put_shape(view, VIEW_CUT, mark, point);
    view_put_shape(view, VIEW_CUTTER, mark, below);
}

/* So many cuts of the template, the first with its middle at first_nm. */
static void put_template(const struct joint_dovetail *in, const struct joint_plan *plan,
                         struct view *view, int cuts, int64_t first_nm)
{
    int64_t last_nm = first_nm + (cuts - 1) * in->spacing_nm;
    for (int i = 0; i < cuts; i++) {
        put_dovetail(view, 1, first_nm + i * in->spacing_nm, in->cutter.width_nm,
                     plan->mark[0].height_nm, in->cutter.slope_mdeg);
    }
    view_put_dim(view, false, last_nm - in->cutter.width_nm / 2, last_nm + in->cutter.width_nm / 2,
                 "");
    view_put_dim(view, false, first_nm, first_nm + in->spacing_nm, "");
    view_put_label(view, &plan->mark[0], 1, last_nm + in->cutter.width_nm / 2);
}

int view_half_blind(const struct joint_dovetail *in, const struct joint_plan *plan,
                    struct view view[2])
{
    int64_t height_nm = plan->mark[0].height_nm;
    view_begin(&view[0], plan->mark[0].part, "Front: sockets, seen from its end",
               3 * in->spacing_nm, in->front_nm);
    view[0].edge = "inside, in the template";
    view_put_dim(&view[0], true, height_nm, in->front_nm, "");
    put_template(in, plan, &view[0], 3, in->spacing_nm / 2);
    view_begin(&view[1], plan->mark[0].part, "Side: tails, seen from its face", 3 * in->spacing_nm,
               in->front_nm);
    view[1].dims = 0; /* the board goes on upward */
    view[1].broken_above = true;
    view[1].edge = "its end, in the template";
    put_template(in, plan, &view[1], 2, in->spacing_nm);
    view[0].schematic = "How many there are, and where the first one begins, is the template's; "
                        "three sockets and the tails between them are drawn.";
    return 2;
}

static void socket(const struct joint_sliding *in, const struct joint_plan *plan, struct view *view)
{
    int64_t middle_nm = 3 * in->cutter.width_nm / 2;
    int64_t half_nm = in->cutter.width_nm / 2;
    view_begin(view, JOINT_A, "Part A: socket", 2 * middle_nm, in->thick_a_nm);
    view->edge = "this face down";
    view->broken = true;
    view_put_dim(view, false, middle_nm - half_nm, middle_nm + half_nm, "");
    for (int i = 0; i < plan->count; i++) {
        const struct joint_mark *mark = &plan->mark[i];
        int64_t waste_nm = in->waste.width_nm / 2;
        if (mark->part != JOINT_A) {
            continue;
        }
        if (mark->bit == JOINT_SECOND_BIT) {
            view_put_cut(
                view, i + 1,
                (struct view_box){middle_nm - waste_nm, 0, middle_nm + waste_nm, mark->height_nm});
            view_put_label(view, mark, i + 1, middle_nm + waste_nm);
        } else {
            put_dovetail(view, i + 1, middle_nm, in->cutter.width_nm, mark->height_nm,
                         in->cutter.slope_mdeg);
            view_put_label(view, mark, i + 1, middle_nm + half_nm);
        }
    }
}

/* What goes at one side of the tail: narrow at the table, where the tail is wide. */
static void put_side(struct view *view, int mark, int64_t from_nm, int way, int64_t foot_nm,
                     int64_t lean, int64_t height_nm)
{
    const struct view_point point[VIEW_POINTS] = {{from_nm, 0},
                                                  {from_nm + way * foot_nm, 0},
                                                  {from_nm + way * (foot_nm + lean), height_nm},
                                                  {from_nm, height_nm}};
    struct view_point outside[VIEW_POINTS];
    memcpy(outside, point, sizeof outside);
    outside[0].x_nm = outside[3].x_nm = from_nm - way * (foot_nm + lean) / 2;
    view_put_shape(view, VIEW_CUT, mark, point);
    view_put_shape(view, VIEW_CUTTER, mark, outside);
}

/* On end: what is left between two cuts is the tail, narrow above and wide at its end, which is at
 * the table. */
static void tail(const struct joint_sliding *in, const struct joint_plan *plan, struct view *view)
{
    int64_t foot_nm = (in->thick_b_nm - in->cutter.width_nm + in->clearance_nm) / 2;
    view_begin(view, JOINT_B, "Part B: tail, on end", in->thick_b_nm, 3 * in->depth_nm);
    view->dims = 0;
    view->broken_above = true;
    view->edge = "its end on the table";
    view_put_dim(view, false, foot_nm, in->thick_b_nm - foot_nm, "");
    view_put_dim(view, false, 0, in->thick_b_nm, "");
    for (int i = 0; i < plan->count; i++) {
        const struct joint_mark *mark = &plan->mark[i];
        int64_t lean = lean_nm(mark->height_nm, in->cutter.slope_mdeg);
        if (mark->part == JOINT_B) {
            put_side(view, i + 1, 0, 1, foot_nm, lean, mark->height_nm);
            put_side(view, i + 1, in->thick_b_nm, -1, foot_nm, lean, mark->height_nm);
            view_put_label(view, mark, i + 1, in->thick_b_nm);
        }
    }
}

int view_sliding(const struct joint_sliding *in, const struct joint_plan *plan, struct view view[2])
{
    socket(in, plan, &view[0]);
    tail(in, plan, &view[1]);
    return 2;
}

/* --- Lock mitre --- */

/* Of the mitre a fence pass takes what lies between two lines at 45 degrees, x + y = from and
 * x + y = to. The bit is drawn no further than a little over the stock. */
static void put_mitre(struct view *view, int mark, int64_t thick_nm, int64_t from_nm, int64_t to_nm,
                      const struct view_box *bit)
{
    const struct view_point cut[VIEW_POINTS] = {{from_nm, 0}, {to_nm, 0}, {0, to_nm}, {0, from_nm}};
    int64_t high_nm = bit->y1 < to_nm + thick_nm / 20 ? bit->y1 : to_nm + thick_nm / 20;
    const struct view_point cutter[VIEW_POINTS] = {{-thick_nm / 4, bit->y0},
                                                   {to_nm - bit->y0, bit->y0},
                                                   {to_nm - high_nm, high_nm},
                                                   {-thick_nm / 4, high_nm}};
    view_put_shape(view, VIEW_CUT, mark, cut);
    view_put_shape(view, VIEW_CUTTER, mark, cutter);
}

static bool is_of(const struct joint_mark *mark, const struct view *view)
{
    return mark->part == view->part || mark->part == JOINT_EACH;
}

static int count_of(const struct joint_plan *plan, const struct view *view)
{
    int count = 0;
    for (int i = 0; i < plan->count; i++) {
        count += is_of(&plan->mark[i], view);
    }
    return count;
}

/* As high as its profile, but no more than a little over the stock; as the stock where the
 * profile's height is not known. Of a joint that is centred both are the same at each pass. */
static struct view_box profile(const struct joint_centred *in, const struct joint_mark *mark)
{
    int64_t most_nm = in->thick_nm + in->thick_nm / 10;
    int64_t high_nm = in->cutter.length_nm > 0 ? in->cutter.length_nm : in->thick_nm;
    int64_t half_nm = (high_nm < most_nm ? high_nm : most_nm) / 2;
    int64_t centre_nm = mark->height_nm - in->above_centre_nm;
    return (struct view_box){0, centre_nm - half_nm, 0, centre_nm + half_nm};
}

static void mitre(const struct joint_centred *in, const struct joint_plan *plan, struct view *view)
{
    int passes = count_of(plan, view);
    int pass = 0;
    for (int m = 0; m < plan->count; m++) {
        const struct joint_mark *mark = &plan->mark[m];
        if (is_of(mark, view)) {
            const struct view_box bit = profile(in, mark);
            put_mitre(view, m + 1, in->thick_nm, pass * in->thick_nm / passes,
                      (pass + 1) * in->thick_nm / passes, &bit);
            view_put_label(view, mark, m + 1, view->wide_nm);
            pass++;
        }
    }
    view_put_dim(view, false, 0, in->thick_nm, "");
}

static void lock_mitre(const struct joint_centred *in, const struct joint_plan *plan,
                       struct view view[2])
{
    view_begin(&view[0], JOINT_A, "Part A: flat on the table", 2 * in->thick_nm, in->thick_nm);
    view[0].broken = true;
    view[0].edge = "inside down";
    view_begin(&view[1], JOINT_B, "Part B: upright, the fence at the left", in->thick_nm,
               2 * in->thick_nm);
    view[1].dims = 0; /* the board goes on upward */
    view[1].broken_above = true;
    view[1].edge = "its end down, inside to the fence";
    view[0].schematic =
        "The mitre is to scale. Its lock, tongue and groove about the centre line, is the bit's "
        "own and not drawn; fence passes are drawn equal. A profile whose height was not said is "
        "drawn as high as the stock, one that is higher no further than a little over it.";
    for (int i = 0; i < 2; i++) {
        mitre(in, plan, &view[i]);
    }
}

/* --- Reverse glue joint --- */

static void glue(const struct joint_centred *in, const struct joint_plan *plan, struct view *view)
{
    int passes = count_of(plan, view);
    int pass = 0;
    for (int m = 0; m < plan->count; m++) {
        const struct joint_mark *mark = &plan->mark[m];
        if (is_of(mark, view)) {
            struct view_box bit = profile(in, mark);
            pass++;
            bit.x0 = -in->thick_nm / 4;
            bit.x1 = pass * in->thick_nm / passes / 2;
            view_put_box(view, VIEW_CUTTER, m + 1, bit);
            view_put_label(view, mark, m + 1, view->wide_nm);
        }
    }
}

static void reverse_glue(const struct joint_centred *in, const struct joint_plan *plan,
                         struct view view[2])
{
    for (int i = 0; i < 2; i++) {
        view_begin(&view[i], i == 0 ? JOINT_A : JOINT_B,
                   i == 0 ? "Part A: used as it was cut" : "Part B: turned over after the cut",
                   2 * in->thick_nm, in->thick_nm);
        view[i].broken = true;
        view[i].edge = i == 0 ? "show face up" : "show face down";
        glue(in, plan, &view[i]);
    }
    view[0].schematic =
        "Only thickness, heights and the centre line are to scale. The profile's shape is the "
        "bit's own and not known here: a box stands for it, as deep as half the stock, its fence "
        "passes equal, and as high as the stock where the profile's height was not said.";
}

int view_centred(const struct joint_centred *in, const struct joint_plan *plan, struct view view[2])
{
    if (in->cutter.kind == JOINT_LOCK_MITRE) {
        lock_mitre(in, plan, view);
    } else {
        reverse_glue(in, plan, view);
    }
    for (int i = 0; i < 2; i++) {
        view[i].centre = true;
        view[i].centre_nm = in->thick_nm / 2;
    }
    return 2;
}

/* --- Raised panel --- */

/* The bevel widens as it rises: between two heights at the edge lies one pass. */
static void put_bevel(struct view *view, int mark, const struct view_box *pass)
{
    const struct view_point cut[VIEW_POINTS] = {
        {0, pass->y0}, {pass->x0, 0}, {pass->x1, 0}, {0, pass->y1}};
    const struct view_point cutter[VIEW_POINTS] = {
        {-pass->x1 / 4, 0}, {pass->x1, 0}, {0, pass->y1}, {-pass->x1 / 4, pass->y1}};
    view_put_shape(view, VIEW_CUT, mark, cut);
    view_put_shape(view, VIEW_CUTTER, mark, cutter);
}

void view_panel(const struct joint_panel *in, const struct joint_plan *plan, struct view *view)
{
    bool known = in->cutter.reach_nm > 0;
    int64_t into_nm = known ? in->cutter.reach_nm : in->cutter.width_nm / 2;
    int64_t last_nm = plan->mark[plan->count - 1].height_nm;
    struct view_box pass = {0, 0, 0, 0};
    view_begin(view, JOINT_EACH, "Edge of the panel", view_greater(2 * into_nm, in->panel_nm),
               in->panel_nm);
    view->broken = true;
    view->edge = "show face down";
    view->schematic =
        known ? "The heights at the edge, its tongue, and how far in the bit cuts are to scale. "
                "The profile between them is the bit's own; a straight bevel stands for it."
              : "The heights at the edge and its tongue are to scale. The profile is the bit's "
                "own: a straight bevel stands for it, as wide as half the bit, and its bearing "
                "takes some of that. 'reach' says how far in it cuts.";
    view_put_dim(view, true, last_nm, in->panel_nm, "");
    view_put_dim(view, false, 0, into_nm, "");
    for (int i = 0; i < plan->count; i++) {
        pass.y1 = plan->mark[i].height_nm;
        pass.x1 = llround((double)into_nm * (double)pass.y1 / (double)last_nm);
        put_bevel(view, i + 1, &pass);
        view_put_label(view, &plan->mark[i], i + 1, 0);
        pass.x0 = pass.x1;
        pass.y0 = pass.y1;
    }
}
