/* SPDX-License-Identifier: MIT */
/*
 * What a joint's drawing shows, in nanometres: pieces of stock as they stand on the table under or
 * beside the bit, and what the cutter takes from each at each mark. Pure. x runs along the table
 * from the fence or the end of the work, y upward from the table.
 */
#ifndef REGLET_DRAWING_VIEW_H
#define REGLET_DRAWING_VIEW_H

#include "clients/bench/joint_job.h"
#include "clients/bench/passes.h"

enum {
    VIEW_SHAPES = 4 * JOINT_MARKS_MAX,
    VIEW_POINTS = 4,
    VIEW_DIMS = 6,
    VIEW_TITLE = 64,
    VIEW_NOTE = 328,
    VIEW_PIECES = 3,
    VIEW_CORNERS = 8,
    VIEW_NAMES = 3
};

struct view_point {
    int64_t x_nm;
    int64_t y_nm;
};

enum view_what {
    VIEW_CUT = 1, /* wood that goes; within the stock */
    VIEW_CUTTER,  /* where the cutter itself is, as far as the view reaches */
    VIEW_LEVEL,   /* a height alone: all four points are at it */
};

struct view_shape {
    enum view_what what;
    int mark; /* from 1 */
    struct view_point point[VIEW_POINTS];
};

/* Along the table (y below it), or upright (x left of the stock). */
struct view_dim {
    bool upright;
    int64_t from_nm;
    int64_t to_nm;
    const char *what; /* "into", or "" */
};

/* One mark's height, as it is set, and where that is in the view. */
struct view_label {
    int mark;
    int64_t height_nm;
    int64_t x_nm; /* where its line begins */
    int64_t y_nm;
    bool turned;
    char note[VIEW_NOTE]; /* behind the height, cut off where there is no room; or "" */
};

/* A part as it is when all is cut, in a view of both together. */
struct view_piece {
    bool mate; /* the part that is not cut here */
    int corners;
    struct view_point corner[VIEW_CORNERS];
    unsigned broken; /* bit i: from corner i to the next one it goes on, and how far is not said */
};

/* What something is called, and a size of it: "shelf, 45/64in thick". */
struct view_name {
    const char *what;
    int64_t size_nm;     /* 0: none is said */
    const char *of_what; /* behind the size: " thick", or "" */
    struct view_point at;
};

struct view {
    char title[VIEW_TITLE];
    enum joint_part part;
    int64_t wide_nm; /* of the stock that is drawn; it goes on beyond where `broken` */
    int64_t high_nm;
    int64_t low_nm;        /* how far it goes below the table: 0 or less; dimensions begin there */
    bool notes;            /* labels have notes, and the page's width is theirs */
    bool broken;           /* the stock is longer than is drawn */
    bool broken_above;     /* it goes on upward, and high_nm is none of its sizes */
    const char *schematic; /* of the first view: what of all is not to scale; or NULL */
    bool centre;           /* the profile's centre is at centre_nm */
    int64_t centre_nm;
    const char *edge; /* of the reference: "marked edge", "this face down" */
    int shapes;
    struct view_shape shape[VIEW_SHAPES];
    int labels;
    struct view_label label[JOINT_MARKS_MAX];
    int dims;
    struct view_dim dim[VIEW_DIMS];
    int pieces; /* more than 0: they are what is drawn, no stock and no table */
    struct view_piece piece[VIEW_PIECES];
    int names;
    struct view_name name[VIEW_NAMES]; /* from above to below */
    const char *left_out;              /* what of the mating part is not given, or NULL */
};

/* One view, or two: of both parts where both are cut, else of the cut part with its marks and of
 * both parts together, the mating part as far as its sizes are given. Returns how many. */
int view_joint(const struct joint_job *job, const struct joint_plan *plan, struct view view[2]);

/* A cut of `width_nm` in the middle of the work, in passes. */
void view_passes(const struct joint_plan *plan, int64_t width_nm, struct view *view);

#endif
