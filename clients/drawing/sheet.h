/* SPDX-License-Identifier: MIT */
/* Drawings on one page, as SVG: a joint, a pass plan, a move. Pure: text in memory. */
#ifndef REGLET_DRAWING_SHEET_H
#define REGLET_DRAWING_SHEET_H

#include <stdbool.h>
#include <stdint.h>

#include "clients/bench/joint.h"
#include "clients/drawing/view.h"
#include "protocol/attributes.h"

/* What stands on the sheet beside the drawing. */
struct sheet_text {
    const char *title;
    const char *made_by; /* or "" */
    const char *note;    /* of the plan, or "" */
    enum length_style style;
};

/*
 * One view or two, beside or below each other, at one scale of the usual ones, dimensioned in the
 * style. Each polygon of class cut or cutter has data-mark, and stands in a group with data-part
 * and the place of the view's origin on paper (data-x, data-y), so that a program can measure it.
 * In a view of both parts together the class of the cut part is own and of the mating part mate.
 * The caller frees the text; NULL when memory is short.
 */
REGLET_MUST_CHECK char *sheet_views(const struct sheet_text *text, const struct view *view,
                                    int views);

/* A move from height to height that finishes upward, as the daemon plans it. */
struct sheet_move {
    int64_t from_nm;
    int64_t to_nm;
    int64_t take_up_nm; /* lash and margin */
    int64_t rate_nm_s;  /* cruising */
    int64_t gain_nm_s2; /* of the plan: at most 0.8 of what the motor bears */
};

enum { SHEET_LEGS_MAX = 2 };

/* The legs of it. False when it cannot be: a rate or gain that is none, or nothing to move. */
struct sheet_leg {
    int64_t from_nm;
    int64_t to_nm;
    double begin_s;
    double end_s;
    double peak_nm_s;
};

REGLET_MUST_CHECK bool sheet_legs(const struct sheet_move *move,
                                  struct sheet_leg leg[SHEET_LEGS_MAX], int *legs);

/* Height and speed over time. Its polylines of class height and speed stand in groups with data-x,
 * data-y (the axes' origin), data-x-per (mm on paper a second) and data-y-per (mm on paper for a mm
 * of height, or for a mm a second). The same; NULL also where sheet_legs says false. */
REGLET_MUST_CHECK char *sheet_move(const struct sheet_text *text, const struct sheet_move *move);

#endif
