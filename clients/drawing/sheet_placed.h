/* SPDX-License-Identifier: MIT */
/* One view at its place on the page. For this module alone. */
#ifndef REGLET_DRAWING_SHEET_PLACED_H
#define REGLET_DRAWING_SHEET_PLACED_H

#include "clients/drawing/sheet_parts.h"

enum {
    SHEET_LABELS_MM = 42, /* for heights, or names, at the right of a view */
    SHEET_HEAD_MM = 12,   /* for its title */
};

struct sheet_placed {
    FILE *out;
    const struct view *view;
    enum length_style style;
    double scale;
    double top; /* of its field */
    double x;   /* of the view's origin, which lies on the table */
    double y;
    double right; /* where its labels end */
};

struct svg_point sheet_on_paper(const struct sheet_placed *placed, int64_t x_nm, int64_t y_nm);

/* A wavy line, where something is broken off. */
void sheet_wave(FILE *out, struct svg_point from, struct svg_point to);

/* Both parts together, and what they are called. */
void sheet_pieces(const struct sheet_placed *placed);
void sheet_names(const struct sheet_placed *placed);

#endif
