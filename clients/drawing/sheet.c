/* SPDX-License-Identifier: MIT */
#include "clients/drawing/sheet_parts.h"

#include <stdlib.h>
#include <string.h>

enum { WIDE_MM = SVG_WIDE_MM - 2 * SHEET_MARGIN_MM, MADE_LINES = 3, NOTE_LINES = 5, LINES = 3 };

void sheet_begin(FILE *out, const struct sheet_text *text, const char *under, double scale)
{
    struct svg_point at = {SHEET_MARGIN_MM, 13};
    svg_begin(out, text->title, scale);
    svg_text(out, "title", at, SVG_START, text->title);
    at.y += 6;
    svg_text(out, "label", at, SVG_START, under);
    at.y += 5;
    if (text->made_by[0] != '\0') {
        (void)svg_paragraph(out, "small", at, 3.6, WIDE_MM, MADE_LINES, text->made_by);
    }
}

void sheet_end(FILE *out, const struct sheet_text *text)
{
    struct svg_point at = {SHEET_MARGIN_MM, SHEET_FOOT_MM};
    svg_line(out, "axis", (struct svg_point){SHEET_MARGIN_MM, at.y - 5},
             (struct svg_point){SVG_WIDE_MM - SHEET_MARGIN_MM, at.y - 5});
    if (text->note[0] != '\0') {
        at.y = svg_paragraph(out, "small", at, 3.8, WIDE_MM, NOTE_LINES, text->note) + 1;
    }
    (void)svg_paragraph(
        out, "small", at, 3.8, WIDE_MM, LINES,
        "Cut a test piece first. Unplug the router before hands go near the bit. No "
        "move with work on or over the bit. Guards on; eye and ear protection. A "
        "drawing is no permission to cut: the lift and the person look again.");
    svg_end(out);
}

char *sheet_close(FILE *out, char **text)
{
    bool good = !ferror(out);
    if (fclose(out) != 0 || !good) {
        free(*text);
        return NULL;
    }
    return *text;
}
