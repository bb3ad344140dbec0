/* SPDX-License-Identifier: MIT */
/* What the views of joints are put together from. For this module alone. */
#ifndef REGLET_DRAWING_VIEW_PARTS_H
#define REGLET_DRAWING_VIEW_PARTS_H

#include "clients/drawing/view.h"

enum { VIEW_BELOW_NM = 1500000 }; /* so much of a bit is drawn below the table */

struct view_box {
    int64_t x0;
    int64_t y0;
    int64_t x1;
    int64_t y1;
};

/* Empties the view; its height is its first dimension. */
void view_begin(struct view *view, enum joint_part part, const char *title, int64_t wide_nm,
                int64_t high_nm);

void view_put_shape(struct view *view, enum view_what what, int mark,
                    const struct view_point point[VIEW_POINTS]);
void view_put_box(struct view *view, enum view_what what, int mark, struct view_box box);

/* The cutter, and of the stock what it takes. */
void view_put_cut(struct view *view, int mark, struct view_box box);

/* The height of a mark, its line from x_nm on. */
void view_put_label(struct view *view, const struct joint_mark *mark, int number, int64_t x_nm);

void view_put_dim(struct view *view, bool upright, int64_t from_nm, int64_t to_nm,
                  const char *what);

int64_t view_greater(int64_t one_nm, int64_t other_nm);

/* How far the cuts of this plan reach up, in all. */
int64_t view_highest(const struct joint_plan *plan);

/* Of a kind that cuts one part: both parts together. False, and left_out is set, where nothing of
 * the mating part is given. */
REGLET_MUST_CHECK bool view_together(const struct joint_job *job, const struct joint_plan *plan,
                                     struct view *view);

/* Joints whose shape is the bit's. */
int view_half_blind(const struct joint_dovetail *in, const struct joint_plan *plan,
                    struct view view[2]);
int view_sliding(const struct joint_sliding *in, const struct joint_plan *plan,
                 struct view view[2]);
int view_centred(const struct joint_centred *in, const struct joint_plan *plan,
                 struct view view[2]);
void view_panel(const struct joint_panel *in, const struct joint_plan *plan, struct view *view);

#endif
