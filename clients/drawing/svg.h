/* SPDX-License-Identifier: MIT */
/*
 * SVG 1.1 (W3C) for one printed page in black and white: 190 mm by 260 mm, which fits A4 and Letter
 * alike. One unit is one millimetre on paper, x to the right and y down. Writes to a stream in
 * memory; no other I/O. Whoever opens the stream looks at ferror.
 */
#ifndef REGLET_DRAWING_SVG_H
#define REGLET_DRAWING_SVG_H

#include <stdio.h>

#include "protocol/attributes.h"

enum { SVG_WIDE_MM = 190, SVG_HIGH_MM = 260 };

enum svg_anchor { SVG_START = 1, SVG_MIDDLE, SVG_END };

struct svg_point {
    double x;
    double y;
};

/* `scale` is how long a millimetre is on paper; it stands in data-scale for programs. */
void svg_begin(FILE *out, const char *title, double scale);
void svg_end(FILE *out);

/* Classes: stock, own, mate, outline, cut, cutter, level, table, dim, lead, centre, axis, height,
 * speed. `data` is more attributes, as in data-mark="3", or "". */
void svg_line(FILE *out, const char *class, struct svg_point from, struct svg_point to);
void svg_polyline(FILE *out, const char *class, const struct svg_point *point, int count);
void svg_polygon(FILE *out, const char *class, const char *data, const struct svg_point *point,
                 int count);

/* Classes: title, small, label, number. Escaped; control characters become blanks. */
void svg_text(FILE *out, const char *class, struct svg_point at, enum svg_anchor anchor,
              const char *text);
/* Read from below: for dimensions that stand upright. */
void svg_text_upright(FILE *out, const char *class, struct svg_point at, const char *text);

/* How long a text is, in mm: letters are taken to be no narrower than they are in common fonts
 * (widths of a wide one, DejaVu Sans, from memory). */
double svg_width(const char *class, const char *text);

/* Lines no longer than `wide` mm, broken at blanks, `step` apart, at most `most` of them; three
 * points stand where more would come. Returns the y behind the last. */
double svg_paragraph(FILE *out, const char *class, struct svg_point at, double step, double wide,
                     int most, const char *text);

/* How many lines a paragraph has, where it may have any number. */
int svg_lines(const char *class, double wide, const char *text);

/* A dimension between two points of one level or one plumb line: arrows, from outside where there
 * is no room between, and beside its middle the text, on a blank that breaks what lines there are.
 */
void svg_dimension(FILE *out, struct svg_point from, struct svg_point to, const char *text);

void svg_escape(FILE *out, const char *text);

#endif
