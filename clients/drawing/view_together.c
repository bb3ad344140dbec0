/* SPDX-License-Identifier: MIT */
/*
 * Both parts of a joint of which one is cut: as they lie on the table, the mating part in place. A
 * piece whose length is not given is broken off.
 */
#include <stdio.h>
#include <string.h>

#include "clients/drawing/view_parts.h"

/* Sides of a box, as bits of `broken`. */
enum { BELOW = 1, RIGHT = 2, ABOVE = 4, LEFT = 8 };

int64_t view_highest(const struct joint_plan *plan)
{
    int64_t highest_nm = 0;
    for (int i = 0; i < plan->count; i++) {
        highest_nm = view_greater(highest_nm, plan->mark[i].high_nm);
    }
    return highest_nm;
}

static void begin(struct view *view, const char *edge, int64_t wide_nm, int64_t high_nm,
                  int64_t low_nm)
{
    view_begin(view, JOINT_EACH, "Both parts together", wide_nm, high_nm);
    view->dims = 0;
    view->low_nm = low_nm;
    view->edge = edge;
}

static void put_own(struct view *view, unsigned broken, int corners, const struct view_point *at)
{
    struct view_piece *piece = &view->piece[view->pieces++];
    *piece = (struct view_piece){.corners = corners, .broken = broken};
    memcpy(piece->corner, at, (size_t)corners * sizeof *at);
}

static void put_mate(struct view *view, unsigned broken, struct view_box box)
{
    view->piece[view->pieces++] = (struct view_piece){
        .mate = true,
        .corners = 4,
        .corner = {{box.x0, box.y0}, {box.x1, box.y0}, {box.x1, box.y1}, {box.x0, box.y1}},
        .broken = broken};
}

/* From above to below. */
static void put_name(struct view *view, const char *what, int64_t size_nm, const char *of_what,
                     struct view_point at)
{
    int i = view->names++;
    for (; i > 0 && view->name[i - 1].at.y_nm < at.y_nm; i--) {
        view->name[i] = view->name[i - 1];
    }
    view->name[i] = (struct view_name){what, size_nm, of_what, at};
}

static void put_clearance(struct view *view, int64_t clearance_nm, struct view_point at)
{
    put_name(view, clearance_nm > 0 ? "clearance, " : "no clearance", clearance_nm, "", at);
}

/* --- Cuts from below, in which the mating part stands --- */

struct slot {
    int64_t edge_nm;
    int64_t width_nm;
    int64_t deep_nm;
    int64_t wide_nm; /* of the stock as it is drawn */
    int64_t high_nm;
    unsigned broken; /* sides of the stock */
};

/* The stock with its slot; side i of a box is another one here. */
static void put_slotted(struct view *view, const struct slot *slot)
{
    int64_t x1 = slot->edge_nm + slot->width_nm;
    const struct view_point at[] = {
        {0, 0},  {slot->edge_nm, 0}, {slot->edge_nm, slot->deep_nm}, {x1, slot->deep_nm},
        {x1, 0}, {slot->wide_nm, 0}, {slot->wide_nm, slot->high_nm}, {0, slot->high_nm}};
    put_own(view, (slot->broken & RIGHT ? 1U << 5 : 0) | (slot->broken & ABOVE ? 1U << 6 : 0), 8,
            at);
}

static void dado(const struct joint_dado *in, const struct joint_plan *plan, struct view *view)
{
    int64_t width_nm = in->part_nm + in->clearance_nm;
    int64_t x0 = in->edge_nm + in->clearance_nm / 2;
    const struct slot slot = {
        in->edge_nm, width_nm, view_highest(plan), in->edge_nm + 3 * width_nm, in->thick_nm, RIGHT};
    begin(view, "the face that lay on the table", slot.wide_nm, slot.high_nm, -in->part_nm);
    put_slotted(view, &slot);
    put_mate(view, BELOW, (struct view_box){x0, -in->part_nm, x0 + in->part_nm, slot.deep_nm});
    put_name(view, "shelf", 0, "", (struct view_point){x0 + 3 * in->part_nm / 4, -in->part_nm / 2});
    put_clearance(view, in->clearance_nm,
                  (struct view_point){slot.edge_nm + width_nm, slot.deep_nm / 2});
    view_put_dim(view, false, x0, x0 + in->part_nm, "");
    view_put_dim(view, true, 0, slot.deep_nm, "");
    view->left_out = "The length of the shelf is not given: it is broken off.";
}

static void mortise(const struct joint_mortise *in, struct view *view)
{
    int64_t deep_nm = in->tenon_nm + in->room_nm;
    int64_t x0 = (in->thick_nm - in->width_nm) / 2;
    bool whole = in->deep_nm <= 2 * deep_nm;
    const struct slot slot = {x0,
                              in->width_nm,
                              deep_nm,
                              in->thick_nm,
                              whole ? in->deep_nm : 2 * deep_nm,
                              whole ? 0 : ABOVE};
    begin(view, "the face that lay on the table", slot.wide_nm, slot.high_nm, -in->width_nm);
    put_slotted(view, &slot);
    put_mate(view, BELOW, (struct view_box){x0, -in->width_nm, x0 + in->width_nm, in->tenon_nm});
    put_name(view, "tenon of the other part, ", in->tenon_nm, " long",
             (struct view_point){x0 + 3 * in->width_nm / 4, in->tenon_nm / 2});
    put_name(view, in->room_nm > 0 ? "room, " : "no room", in->room_nm, "",
             (struct view_point){x0 + in->width_nm / 2, in->tenon_nm + in->room_nm / 2});
    view_put_dim(view, false, x0, x0 + in->width_nm, "");
    view_put_dim(view, true, 0, in->tenon_nm, "");
    view_put_dim(view, true, 0, deep_nm, "");
    view->left_out = "The thickness of the tenon and its shoulders are not given: it is drawn as "
                     "thick as the mortise is wide, without shoulders, broken off.";
}

/* --- A drawer's bottom lies on the lower wall of its groove --- */

static void drawer_flat(const struct joint_drawer *in, struct view *view)
{
    int64_t width_nm = in->bottom_nm + in->clearance_nm;
    int64_t x1 = in->edge_nm + in->bottom_nm;
    int64_t hang_nm = view_greater(in->bottom_nm, in->into_nm);
    const struct slot slot = {in->edge_nm,  width_nm, in->into_nm, 2 * in->edge_nm + 4 * width_nm,
                              in->stock_nm, RIGHT};
    begin(view, "inside; the lower edge is at the left", slot.wide_nm, slot.high_nm, -hang_nm);
    put_slotted(view, &slot);
    put_mate(view, BELOW, (struct view_box){in->edge_nm, -hang_nm, x1, in->into_nm});
    put_name(view, "drawer's bottom", 0, "",
             (struct view_point){in->edge_nm + 3 * in->bottom_nm / 4, -hang_nm / 2});
    put_clearance(view, in->clearance_nm,
                  (struct view_point){in->edge_nm + width_nm, in->into_nm / 2});
    view_put_dim(view, false, in->edge_nm, x1, "");
    view_put_dim(view, true, 0, in->into_nm, "");
}

static void drawer_upright(const struct joint_drawer *in, struct view *view)
{
    int64_t top_nm = in->edge_nm + in->bottom_nm + in->clearance_nm;
    int64_t high_nm = 2 * top_nm;
    int64_t x0 = view_greater(2 * in->into_nm, in->bottom_nm);
    int64_t x1 = x0 + in->into_nm;
    int64_t x2 = x0 + in->stock_nm;
    const struct view_point at[] = {{x0, 0},           {x2, 0},          {x2, high_nm},
                                    {x0, high_nm},     {x0, top_nm},     {x1, top_nm},
                                    {x1, in->edge_nm}, {x0, in->edge_nm}};
    begin(view, "lower edge", x2, high_nm, 0);
    put_own(view, 1U << 2, 8, at);
    put_mate(view, LEFT, (struct view_box){0, in->edge_nm, x1, in->edge_nm + in->bottom_nm});
    put_name(view, "drawer's bottom", 0, "",
             (struct view_point){x0 + in->into_nm / 2, in->edge_nm + in->bottom_nm / 2});
    put_clearance(view, in->clearance_nm,
                  (struct view_point){x0 + in->into_nm / 2, top_nm - in->clearance_nm / 2});
    view_put_dim(view, true, in->edge_nm, in->edge_nm + in->bottom_nm, "");
    view_put_dim(view, false, x0, x1, "");
}

static void drawer(const struct joint_drawer *in, struct view *view)
{
    if (in->cutter.kind == JOINT_SLOT) {
        drawer_upright(in, view);
    } else {
        drawer_flat(in, view);
    }
    view->left_out = "How wide the drawer's bottom is, is not given: it is broken off.";
}

/* --- Rabbet and lap --- */

/* The stock without its lower corner, which the mating part fills; it begins at x0. */
static void put_stepped(struct view *view, int64_t x0, int64_t into_nm, int64_t step_nm)
{
    const struct view_point at[] = {
        {x0, step_nm},      {x0 + into_nm, step_nm},        {x0 + into_nm, 0},
        {view->wide_nm, 0}, {view->wide_nm, view->high_nm}, {x0, view->high_nm}};
    put_own(view, 1U << 3, 6, at);
    view_put_dim(view, true, 0, step_nm, "");
    view_put_dim(view, false, x0, x0 + into_nm, "");
}

static void rabbet(const struct joint_rabbet *in, struct view *view)
{
    int64_t step_nm = in->part_nm - in->tongue_nm;
    int64_t x0 = view_greater(in->into_nm, in->part_nm);
    begin(view, "the face that lay on the table", x0 + view_greater(2 * in->into_nm, in->thick_nm),
          in->thick_nm, 0);
    put_stepped(view, x0, in->into_nm, step_nm);
    put_mate(view, LEFT, (struct view_box){0, 0, x0 + in->into_nm, step_nm});
    put_name(view, "mating part, ", in->part_nm,
             in->tongue_nm > 0 ? " thick with its tongue" : " thick",
             (struct view_point){x0 + in->into_nm / 2, step_nm / 2});
    view->left_out =
        in->tongue_nm > 0
            ? "The length of the mating part and the place of its tongue are not given: what fills "
              "the rabbet is drawn, broken off."
            : "The length of the mating part is not given: it is broken off.";
}

static void lap(const struct joint_lap *in, const struct joint_plan *plan, struct view *view)
{
    int64_t step_nm = view_highest(plan);
    int64_t mate_nm = in->finished_nm > 0 ? in->finished_nm : in->thick_nm - step_nm;
    begin(view, "the face that lay on the table", 2 * in->length_nm, in->thick_nm, 0);
    put_stepped(view, 0, in->length_nm, step_nm);
    put_mate(view, 0, (struct view_box){0, 0, in->length_nm, mate_nm});
    put_name(view, "lap of the other part, ", mate_nm, " thick",
             (struct view_point){3 * in->length_nm / 4, mate_nm / 2});
    view->left_out = "Of the other part only its lap is drawn: how far it goes on is not given.";
}

/* --- Two cheeks about an edge --- */

/* From the left to x1, between them low_nm to high_nm; further out they are broken off. */
static void put_cheeks(struct view *view, int64_t x1, int64_t low_nm, int64_t high_nm)
{
    put_mate(view, BELOW | LEFT, (struct view_box){0, view->low_nm, x1, low_nm});
    put_mate(view, ABOVE | LEFT, (struct view_box){0, high_nm, x1, view->high_nm});
    view_put_dim(view, true, low_nm, high_nm, "");
}

static void tenon(const struct joint_tenon *in, const struct joint_plan *plan, struct view *view)
{
    int64_t step_nm = view_highest(plan);
    int64_t t = in->thick_nm;
    int64_t x0 = in->length_nm / 4;
    int64_t x1 = x0 + in->length_nm;
    int64_t x2 = x1 + 3 * in->length_nm / 4;
    int64_t low_nm = (t - in->mortise_nm) / 2;
    int64_t high_nm = low_nm + in->mortise_nm;
    const struct view_point at[] = {{x0, step_nm},     {x1, step_nm},    {x1, 0},
                                    {x2, 0},           {x2, t},          {x1, t},
                                    {x1, t - step_nm}, {x0, t - step_nm}};
    begin(view, "a face that lay on the table", x2, t + t / 6, -t / 6);
    put_own(view, 1U << 3, 8, at);
    put_cheeks(view, x1, low_nm, high_nm);
    put_name(view, "other part, with its mortise", 0, "",
             (struct view_point){x1 - in->length_nm / 4, (high_nm + view->high_nm) / 2});
    put_name(view, "tenon, ", in->mortise_nm - in->clearance_nm, " thick",
             (struct view_point){x1 - in->length_nm / 4, t / 2});
    put_clearance(view, in->clearance_nm,
                  (struct view_point){x1 - in->length_nm / 4, low_nm + in->clearance_nm / 4});
    view_put_dim(view, false, x0, x1, "");
    view->left_out = "How deep the mortise is, and how thick the part that it is in, is not given: "
                     "that part is broken off.";
}

/* The bevel stands for a profile, so the edge cannot be shown in the groove: it stands before it.
 */
static void panel(const struct joint_panel *in, const struct joint_plan *plan, struct view *view)
{
    int64_t step_nm = view_highest(plan);
    int64_t g = in->groove_nm;
    int64_t into_nm = in->cutter.reach_nm > 0 ? in->cutter.reach_nm : in->cutter.width_nm / 2;
    int64_t low_nm = step_nm - in->clearance_nm / 2;
    int64_t x0 = 2 * g + g / 2;
    int64_t x1 = x0 + into_nm + into_nm / 4;
    const struct view_point at[] = {
        {x0, step_nm}, {x0 + into_nm, 0}, {x1, 0}, {x1, in->panel_nm}, {x0, in->panel_nm}};
    begin(view, "the show face", x1, low_nm + 2 * g, low_nm - g < 0 ? low_nm - g : 0);
    (void)snprintf(view->title, sizeof view->title, "The panel's edge before its groove");
    put_own(view, 1U << 2, 5, at);
    put_cheeks(view, 2 * g, low_nm, low_nm + g);
    put_name(view, "other part, with its groove", 0, "",
             (struct view_point){g, low_nm + g + g / 2});
    put_name(view, "panel's edge, ", in->panel_nm - step_nm, " thick",
             (struct view_point){x0, in->panel_nm - (in->panel_nm - step_nm) / 4});
    put_clearance(view, in->clearance_nm, (struct view_point){x0, step_nm});
    view->left_out = "How deep the groove is, and how thick the part that it is in, is not given: "
                     "that part is broken off, and drawn before the panel's edge.";
}

bool view_together(const struct joint_job *job, const struct joint_plan *plan, struct view *view)
{
    const union joint_input *in = &job->in;
    switch (job->kind->joint) {
    case JOINT_IS_DRAWER:
        drawer(&in->drawer, view);
        return true;
    case JOINT_IS_MORTISE:
        mortise(&in->mortise, view);
        return true;
    case JOINT_IS_TENON:
        tenon(&in->tenon, plan, view);
        return true;
    case JOINT_IS_LAP:
        lap(&in->lap, plan, view);
        return true;
    case JOINT_IS_RABBET:
        rabbet(&in->rabbet, view);
        return true;
    case JOINT_IS_DADO:
        dado(&in->dado, plan, view);
        return true;
    case JOINT_IS_PANEL:
        panel(&in->panel, plan, view);
        return true;
    default: /* a groove */
        view->left_out = "The mating part is not drawn: of it nothing is given but the width of "
                         "the groove, which has the clearance in it.";
        return false;
    }
}
