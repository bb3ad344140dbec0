/* SPDX-License-Identifier: MIT */
#include "clients/drawing/view_parts.h"

#include <stdio.h>
#include <string.h>

/* --- Putting shapes --- */

void view_put_shape(struct view *view, enum view_what what, int mark,
                    const struct view_point point[VIEW_POINTS])
{
    if (view->shapes < VIEW_SHAPES) {
        struct view_shape *shape = &view->shape[view->shapes++];
        *shape = (struct view_shape){.what = what, .mark = mark};
        memcpy(shape->point, point, sizeof shape->point);
    }
}

static int64_t within(int64_t nm, int64_t low, int64_t high)
{
    return nm < low ? low : nm > high ? high : nm;
}

void view_put_box(struct view *view, enum view_what what, int mark, struct view_box box)
{
    const struct view_point point[VIEW_POINTS] = {
        {box.x0, box.y0}, {box.x1, box.y0}, {box.x1, box.y1}, {box.x0, box.y1}};
    view_put_shape(view, what, mark, point);
}

/* The cutter, and of the stock what it takes. */
void view_put_cut(struct view *view, int mark, struct view_box box)
{
    struct view_box cut = {within(box.x0, 0, view->wide_nm), within(box.y0, 0, view->high_nm),
                           within(box.x1, 0, view->wide_nm), within(box.y1, 0, view->high_nm)};
    if (cut.x1 > cut.x0 && cut.y1 > cut.y0) {
        view_put_box(view, VIEW_CUT, mark, cut);
    }
    if (box.x0 <= 0) { /* it stands out of the work, as far as it is drawn */
        box.x0 -= (box.x1 - box.x0) / 4;
    } else {
        box.y0 -= VIEW_BELOW_NM;
    }
    view_put_box(view, VIEW_CUTTER, mark, box);
}

void view_put_label(struct view *view, const struct joint_mark *mark, int number, int64_t x_nm)
{
    int64_t y_nm = mark->turned ? view->high_nm - mark->height_nm : mark->height_nm;
    view->label[view->labels++] =
        (struct view_label){number, mark->height_nm, x_nm, y_nm, mark->turned, ""};
}

void view_put_dim(struct view *view, bool upright, int64_t from_nm, int64_t to_nm, const char *what)
{
    if (view->dims < VIEW_DIMS) {
        view->dim[view->dims++] = (struct view_dim){upright, from_nm, to_nm, what};
    }
}

void view_begin(struct view *view, enum joint_part part, const char *title, int64_t wide_nm,
                int64_t high_nm)
{
    memset(view, 0, sizeof *view);
    view->part = part;
    view->wide_nm = wide_nm;
    view->high_nm = high_nm;
    view->edge = "";
    (void)snprintf(view->title, sizeof view->title, "%s", title);
    view_put_dim(view, true, 0, high_nm, "");
}

/* --- Cuts of one width that end at different heights --- */

/* Every mark of the part takes x0 to x1, from its low to its high; with a flip from both faces. */
static void put_marks(const struct joint_plan *plan, struct view *view, int64_t x0, int64_t x1)
{
    for (int i = 0; i < plan->count; i++) {
        const struct joint_mark *mark = &plan->mark[i];
        if (mark->part != view->part) {
            continue;
        }
        bool turn = mark->turned;
        struct view_box box = {x0, turn ? view->high_nm - mark->high_nm : mark->low_nm, x1,
                               turn ? view->high_nm - mark->low_nm : mark->high_nm};
        view_put_cut(view, i + 1, box);
        if (mark->flip) {
            view_put_cut(view, i + 1,
                         (struct view_box){x0, view->high_nm - box.y1, x1, view->high_nm - box.y0});
        }
        view_put_label(view, mark, i + 1, x1);
    }
}

static void one(const struct joint_plan *plan, struct view *view, const char *title,
                struct view_box cut, int64_t wide_nm, int64_t high_nm)
{
    view_begin(view, JOINT_EACH, title, wide_nm, high_nm);
    view->edge = "this face down";
    view->broken = true;
    view_put_dim(view, false, cut.x0, cut.x1, "");
    if (cut.x0 > 0) {
        view_put_dim(view, false, 0, cut.x0, "");
    }
    put_marks(plan, view, cut.x0, cut.x1);
}

/* By a straight bit that the fence moves: the first pass of each of its settings has a note on
 * the fence. */
static void put_walls(const struct joint_plan *plan, struct view *view, int64_t edge_nm,
                      int64_t width_nm, int64_t bit_nm)
{
    int settings = 0;
    int setting = -1;
    for (int i = 0; i < plan->count; i++) {
        settings += plan->mark[i].fence[0] != '\0';
    }
    for (int i = 0; i < plan->count; i++) {
        setting += plan->mark[i].fence[0] != '\0';
        int64_t along = settings > 1 ? setting * (width_nm - bit_nm) / (settings - 1) : 0;
        view_put_cut(
            view, i + 1,
            (struct view_box){edge_nm + along, 0, edge_nm + along + bit_nm, plan->mark[i].high_nm});
        view_put_label(view, &plan->mark[i], i + 1, edge_nm + along + bit_nm);
    }
}

static void walls(const struct joint_plan *plan, struct view *view, const char *title,
                  int64_t edge_nm, int64_t width_nm, int64_t bit_nm)
{
    view->part = JOINT_EACH;
    view->edge = "this face down; the edge at the fence is at the left";
    view->broken = true;
    (void)snprintf(view->title, sizeof view->title, "%s", title);
    view_put_dim(view, false, edge_nm, edge_nm + width_nm, "");
    if (edge_nm > 0) {
        view_put_dim(view, false, 0, edge_nm, "");
    }
    put_walls(plan, view, edge_nm, width_nm, bit_nm);
}

int64_t view_greater(int64_t one_nm, int64_t other_nm)
{
    return one_nm > other_nm ? one_nm : other_nm;
}

/* --- Finger joints --- */

static void stepped(const struct joint_stepped *in, const struct joint_plan *plan,
                    struct view view[2])
{
    for (int i = 0; i < 2; i++) {
        int64_t depth_nm = (i == 0 ? in->thick_b_nm : in->thick_a_nm) + in->proud_nm;
        view_begin(&view[i], i == 0 ? JOINT_A : JOINT_B, i == 0 ? "Part A" : "Part B",
                   8 * depth_nm / 5, in->width_nm);
        view[i].broken = true;
        view[i].edge = "marked edge";
        view_put_dim(&view[i], false, 0, depth_nm, "");
        put_marks(plan, &view[i], 0, depth_nm);
    }
}

/* Slots side by side; A begins with a finger at the marked edge, B with a slot. */
static void upright(const struct joint_upright *in, const struct joint_plan *plan,
                    struct view view[2])
{
    int64_t gap_nm = joint_fingers_of(in->width_nm, in->cutter.width_nm, in->clearance_nm).gap_nm;
    int64_t pitch_nm = gap_nm + in->cutter.width_nm;
    for (int p = 0; p < 2; p++) {
        view_begin(&view[p], p == 0 ? JOINT_A : JOINT_B, p == 0 ? "Part A" : "Part B", in->width_nm,
                   2 * (view_greater(in->thick_a_nm, in->thick_b_nm) + in->proud_nm));
        view[p].dims = 0; /* the board goes on upward */
        view[p].broken_above = true;
        view[p].edge = "marked edge at the left";
        if (p == 0) {
            view_put_dim(&view[p], false, gap_nm, pitch_nm, "");
            view_put_dim(&view[p], false, 0, gap_nm, "");
        }
        view_put_dim(&view[p], false, 0, in->width_nm, "");
        int64_t first_nm = p == 0 ? gap_nm : -in->clearance_nm / 2;
        for (int i = 0; i < plan->count; i++) {
            const struct joint_mark *mark = &plan->mark[i];
            if (mark->part != view[p].part && mark->part != JOINT_EACH) {
                continue;
            }
            for (int64_t x = first_nm; x < in->width_nm; x += pitch_nm) {
                view_put_cut(
                    &view[p], i + 1,
                    (struct view_box){x, 0, x + in->cutter.width_nm, mark->high_nm - in->base_nm});
            }
            view_put_label(&view[p], mark, i + 1, in->width_nm);
            view[p].label[view[p].labels - 1].y_nm -= in->base_nm; /* the board stands on it */
        }
    }
}

/* --- Tongue and groove --- */

static void tongue(const struct joint_tongue *in, const struct joint_plan *plan,
                   struct view view[2])
{
    int64_t into_nm[] = {in->tongue_nm + in->room_nm, in->tongue_nm};
    for (int i = 0; i < 2; i++) {
        view_begin(&view[i], i == 0 ? JOINT_A : JOINT_B,
                   i == 0 ? "Part A: groove" : "Part B: tongue",
                   view_greater(3 * into_nm[i], in->thick_nm), in->thick_nm);
        view[i].broken = true;
        view[i].edge = "one face down, then the other";
        view_put_dim(&view[i], false, 0, into_nm[i], "");
        put_marks(plan, &view[i], 0, into_nm[i]);
    }
}

/* --- All kinds --- */

static void drawer(const struct joint_job *job, const struct joint_plan *plan, struct view *view)
{
    const struct joint_drawer *in = &job->in.drawer;
    int64_t width_nm = in->bottom_nm + in->clearance_nm;
    if (in->cutter.kind == JOINT_SLOT) {
        one(plan, view, "Side, on its lower edge", (struct view_box){0, 0, in->into_nm, 0},
            in->stock_nm, 2 * in->edge_nm + 2 * width_nm);
        view->dims = 0;
        view->broken_above = true;
        view_put_dim(view, false, 0, in->into_nm, "");
        view_put_dim(view, false, 0, in->stock_nm, "");
        view_put_dim(view, true, 0, in->edge_nm, "");
        view->broken = false;
        view->edge = "lower edge";
    } else {
        view_begin(view, JOINT_EACH, "", 2 * in->edge_nm + 4 * width_nm, in->stock_nm);
        walls(plan, view, "Side, inside down", in->edge_nm, width_nm, in->cutter.width_nm);
    }
}

static void mortise(const struct joint_mortise *in, const struct joint_plan *plan,
                    struct view *view)
{
    int64_t x0 = (in->thick_nm - in->width_nm) / 2;
    one(plan, view, "Mortise, seen from the end", (struct view_box){x0, 0, x0 + in->width_nm, 0},
        in->thick_nm, in->deep_nm);
    view->broken = false;
}

static void flat(const struct joint_job *job, const struct joint_plan *plan, struct view *view)
{
    const union joint_input *in = &job->in;
    const char *title = job->kind->title;
    int64_t into;
    switch (job->kind->joint) {
    case JOINT_IS_GROOVE:
        into = in->groove.into_nm;
        one(plan, view, title, (struct view_box){0, 0, into, 0}, 3 * into,
            2 * in->groove.edge_nm + in->groove.width_nm);
        view->dims = 0;
        view->broken_above = true;
        view_put_dim(view, true, 0, in->groove.edge_nm, "");
        view_put_dim(view, true, in->groove.edge_nm, in->groove.edge_nm + in->groove.width_nm, "");
        view_put_dim(view, false, 0, into, "");
        break;
    case JOINT_IS_TENON:
        into = in->tenon.length_nm;
        one(plan, view, title, (struct view_box){0, 0, into, 0}, 2 * into, in->tenon.thick_nm);
        view->edge = "one face down, then the other";
        break;
    case JOINT_IS_LAP:
        into = in->lap.length_nm;
        one(plan, view, in->lap.finished_nm > 0 ? "The lap that is cut" : "Both parts alike",
            (struct view_box){0, 0, into, 0}, 2 * into, in->lap.thick_nm);
        break;
    case JOINT_IS_RABBET:
        into = in->rabbet.into_nm;
        one(plan, view, title, (struct view_box){0, 0, into, 0},
            view_greater(3 * into, in->rabbet.thick_nm), in->rabbet.thick_nm);
        break;
    default: /* a dado */
        into = in->dado.part_nm + in->dado.clearance_nm;
        view_begin(view, JOINT_EACH, title, in->dado.edge_nm + 3 * into, in->dado.thick_nm);
        walls(plan, view, title, in->dado.edge_nm, into, in->dado.cutter.width_nm);
        break;
    }
}

static int together(const struct joint_job *job, const struct joint_plan *plan, struct view view[2])
{
    if (view_together(job, plan, &view[1])) {
        return 2;
    }
    view[0].left_out = view[1].left_out;
    return 1;
}

int view_joint(const struct joint_job *job, const struct joint_plan *plan, struct view view[2])
{
    const union joint_input *in = &job->in;
    switch (job->kind->joint) {
    case JOINT_IS_UPRIGHT:
        upright(&in->upright, plan, view);
        return 2;
    case JOINT_IS_STEPPED:
        stepped(&in->stepped, plan, view);
        return 2;
    case JOINT_IS_TONGUE:
        tongue(&in->tongue, plan, view);
        return 2;
    case JOINT_IS_SLIDING:
        return view_sliding(&in->sliding, plan, view);
    case JOINT_IS_CENTRED:
        return view_centred(&in->centred, plan, view);
    case JOINT_IS_HALF_BLIND:
        return view_half_blind(&in->dovetail, plan, view);
    case JOINT_IS_PANEL:
        view_panel(&in->panel, plan, &view[0]);
        break;
    case JOINT_IS_DRAWER:
        drawer(job, plan, &view[0]);
        break;
    case JOINT_IS_MORTISE:
        mortise(&in->mortise, plan, &view[0]);
        break;
    default:
        flat(job, plan, &view[0]);
        break;
    }
    return together(job, plan, view);
}

void view_passes(const struct joint_plan *plan, int64_t width_nm, struct view *view)
{
    int64_t total_nm = plan->mark[plan->count - 1].height_nm;
    one(plan, view, "Passes", (struct view_box){width_nm, 0, 2 * width_nm, 0}, 3 * width_nm,
        total_nm + view_greater(total_nm / 3, 3 * JOINT_SLIVER_NM));
    view->dims = 0;
    view->broken_above = true;
    view_put_dim(view, false, width_nm, 2 * width_nm, "");
    view_put_dim(view, true, 0, total_nm, "");
}
