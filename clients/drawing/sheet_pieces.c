/* SPDX-License-Identifier: MIT */
/* Both parts of a joint together: white the one that was cut, lightly hatched the mating part. */
#include <math.h>
#include <stdio.h>

#include "clients/common/say.h"
#include "clients/drawing/sheet_placed.h"

enum {
    WAVES = 8,
    WAVE_MM = 16,    /* what is shorter has half of them, and flatter ones */
    NAME_AT_MM = 10, /* the text, behind the line that comes to it */
    LINES_MOST = 4,
    LINE_TENTHS = 34,
    NAME_SIZE = 2 * SAY_LENGTH_SIZE + 128,
};

/* To one side of the straight line and to the other in turn. */
void sheet_wave(FILE *out, struct svg_point from, struct svg_point to)
{
    double length = hypot(to.x - from.x, to.y - from.y);
    int waves = length < WAVE_MM ? WAVES / 2 : WAVES;
    double high = length < WAVE_MM ? length / WAVE_MM : 1;
    double dx = (to.x - from.x) / waves;
    double dy = (to.y - from.y) / waves;
    for (int i = 0; i < waves && length > 0; i++) {
        double side = (i % 2 ? -1 : 1) * high / hypot(dx, dy);
        struct svg_point wave[] = {
            {from.x + i * dx, from.y + i * dy},
            {from.x + (i + .5) * dx - side * dy, from.y + (i + .5) * dy + side * dx},
            {from.x + (i + 1) * dx, from.y + (i + 1) * dy}};
        svg_polyline(out, "lead", wave, 3);
    }
}

static void put_piece(const struct sheet_placed *placed, const struct view_piece *piece)
{
    struct svg_point at[VIEW_CORNERS];
    for (int i = 0; i < piece->corners; i++) {
        at[i] = sheet_on_paper(placed, piece->corner[i].x_nm, piece->corner[i].y_nm);
    }
    svg_polygon(placed->out, piece->mate ? "mate" : "own", "", at, piece->corners);
    for (int i = 0; i < piece->corners; i++) {
        struct svg_point next = at[(i + 1) % piece->corners];
        if (piece->broken & 1U << i) {
            sheet_wave(placed->out, at[i], next);
        } else {
            svg_line(placed->out, piece->mate ? "outline" : "stock", at[i], next);
        }
    }
}

void sheet_pieces(const struct sheet_placed *placed)
{
    for (int i = 0; i < placed->view->pieces; i++) {
        put_piece(placed, &placed->view->piece[i]);
    }
}

/* --- Names --- */

static double name_x(const struct sheet_placed *placed)
{
    return placed->right - SHEET_LABELS_MM + NAME_AT_MM;
}

/* With blanks that no line is broken at. */
static void say_whole(int64_t nm, enum length_style style, char text[2 * SAY_LENGTH_SIZE])
{
    char size[SAY_LENGTH_SIZE];
    size_t used = 0;
    say_length(nm, style, size, sizeof size);
    for (const char *at = size; *at != '\0'; at++) {
        if (*at == ' ') {
            text[used++] = '\xc2'; /* U+00A0 in UTF-8 */
            text[used++] = '\xa0';
        } else {
            text[used++] = *at;
        }
    }
    text[used] = '\0';
}

static void say_name(const struct sheet_placed *placed, const struct view_name *name,
                     char text[NAME_SIZE])
{
    char size[2 * SAY_LENGTH_SIZE] = "";
    if (name->size_nm > 0) {
        say_whole(name->size_nm, placed->style, size);
    }
    (void)snprintf(text, NAME_SIZE, "%.60s%s%.60s", name->what, size, name->of_what);
}

static double name_high(const struct sheet_placed *placed, const struct view_name *name)
{
    char text[NAME_SIZE];
    say_name(placed, name, text);
    int lines = svg_lines("label", placed->right - name_x(placed), text);
    return (lines < LINES_MOST ? lines : LINES_MOST) * LINE_TENTHS / 10.0 + 1;
}

static void put_name(const struct sheet_placed *placed, const struct view_name *name, double y)
{
    char text[NAME_SIZE];
    struct svg_point at = sheet_on_paper(placed, name->at.x_nm, name->at.y_nm);
    struct svg_point dot[] = {
        {at.x - .6, at.y}, {at.x, at.y - .6}, {at.x + .6, at.y}, {at.x, at.y + .6}};
    double x = name_x(placed);
    struct svg_point lead[] = {at, {x - 5, at.y}, {x - 1.5, y}, {x - .7, y}};
    say_name(placed, name, text);
    svg_polyline(placed->out, "lead", lead, 4);
    svg_polygon(placed->out, "mark", "", dot, 4);
    (void)svg_paragraph(placed->out, "label", (struct svg_point){x, y + 1.1}, LINE_TENTHS / 10.0,
                        placed->right - x, LINES_MOST, text);
}

/* Each beside what it names, or below the one before it; all of them over the field's end. */
void sheet_names(const struct sheet_placed *placed)
{
    const struct view *view = placed->view;
    double y[VIEW_NAMES];
    double free_y = placed->top + SHEET_HEAD_MM;
    double end_y = sheet_on_paper(placed, 0, view->low_nm).y + SHEET_HEAD_MM;
    for (int i = view->names - 1; i >= 0; i--) {
        double want = sheet_on_paper(placed, 0, view->name[i].at.y_nm).y;
        end_y -= name_high(placed, &view->name[i]);
        y[i] = want < end_y ? want : end_y;
        end_y = y[i];
    }
    for (int i = 0; i < view->names; i++) {
        y[i] = y[i] > free_y ? y[i] : free_y;
        free_y = y[i] + name_high(placed, &view->name[i]);
        put_name(placed, &view->name[i], y[i]);
    }
}
