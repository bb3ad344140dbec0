/* SPDX-License-Identifier: MIT */
/* Views of a joint, laid out on the page. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/say.h"
#include "clients/drawing/sheet_placed.h"

enum {
    LEFT_MM = 20,     /* for the upright dimension */
    NOTES_MM = 126,   /* the same with notes behind them */
    NOTE_AT_MM = 38,  /* where these begin, behind the number */
    BELOW_MM = 24,    /* for dimensions below the table */
    OUT_MM = 3,       /* of a cutter that stands out at the left, so much is drawn */
    STEP_TENTHS = 42, /* between two labels */
    LEAST_TENTHS = 27,
    NAME_MM = 7, /* for what a part is called */
    LABELS_MOST = 40,
    NOTE_SIZE = 3 * JOINT_WHY,
};

static const struct {
    double scale;
    const char *name;
} scales[] = {{10, "10:1"},
              {5, "5:1"},
              {4, "4:1"},
              {3, "3:1"},
              {2, "2:1"},
              {1, "1:1"},
              {1. / 2, "1:2"},
              {1. / 3, "1:3"},
              {1. / 4, "1:4"},
              {1. / 5, "1:5"},
              {1. / 8, "1:8"},
              {1. / 10, "1:10"},
              {1. / 20, "1:20"},
              {1. / 50, "1:50"},
              {1. / 100, "1:100"},
              {1. / 1000, "1:1000"},
              {1. / 10000, "1:10000"}};

enum { SCALES = sizeof scales / sizeof *scales };

static double mm(int64_t nm)
{
    return (double)nm / 1e6;
}

struct svg_point sheet_on_paper(const struct sheet_placed *placed, int64_t x_nm, int64_t y_nm)
{
    return (struct svg_point){placed->x + mm(x_nm) * placed->scale,
                              placed->y - mm(y_nm) * placed->scale};
}

/* All of it, with what is below the table. */
static double high_mm(const struct view *view)
{
    return mm(view->high_nm - view->low_nm);
}

/* A view with notes leaves to them what it does not need. */
static double labels_mm(const struct view *view)
{
    return view->notes ? NOTES_MM : SHEET_LABELS_MM;
}

/* --- Scale --- */

/* The place that each view has for itself, titles and labels and all. */
struct field {
    double wide;
    double high[2];
    bool below; /* the second view stands below the first */
};

static int scale_in(const struct view *view, int views, const struct field *field)
{
    int chosen = 0;
    for (int i = 0; i < views; i++) {
        while (chosen < SCALES - 1 && (mm(view[i].wide_nm) * scales[chosen].scale >
                                           field->wide - LEFT_MM - labels_mm(&view[i]) ||
                                       high_mm(&view[i]) * scales[chosen].scale >
                                           field->high[i] - SHEET_HEAD_MM - BELOW_MM)) {
            chosen++;
        }
    }
    return chosen;
}

/* For its labels at the least, or for what the parts are called. */
static double least_high(const struct view *view)
{
    int labels = view->labels < LABELS_MOST ? view->labels : LABELS_MOST;
    double high = labels * LEAST_TENTHS / 10.0;
    return SHEET_HEAD_MM + BELOW_MM + high + view->names * NAME_MM;
}

/* Each has half, or what it needs. False: that is more than there is. */
static bool share(const struct view *view, int views, double high, struct field *below)
{
    double first = least_high(&view[0]);
    double second = views > 1 ? least_high(&view[1]) : 0;
    below->high[0] = high / views > first ? high / views : first;
    if (views > 1 && high - below->high[0] < second) {
        below->high[0] = high - second;
    }
    below->high[1] = high - below->high[0];
    return views < 2 || first + second <= high;
}

/* Beside each other or below: what lets them be larger. */
static int choose(const struct view *view, int views, struct field *field)
{
    const double wide = SVG_WIDE_MM - 2 * SHEET_MARGIN_MM;
    const double high = SHEET_FOOT_MM - 17 - SHEET_TOP_MM;
    struct field beside = {wide / views, {high, high}, false};
    struct field below = {.wide = wide, .below = true};
    int one = scale_in(view, views, &beside);
    int other = share(view, views, high, &below) ? scale_in(view, views, &below) : SCALES;
    *field = other < one ? below : beside;
    return other < one ? other : one;
}

/* --- Shapes --- */

static void put_shape(const struct sheet_placed *placed, const struct view_shape *shape)
{
    static const char *const class[] = {"", "cut", "cutter", "level"};
    char data[32];
    struct svg_point point[VIEW_POINTS];
    for (int i = 0; i < VIEW_POINTS; i++) {
        point[i] = sheet_on_paper(placed, shape->point[i].x_nm, shape->point[i].y_nm);
        point[i].x = point[i].x < placed->x - OUT_MM ? placed->x - OUT_MM : point[i].x;
    }
    (void)snprintf(data, sizeof data, "data-mark=\"%d\"", shape->mark);
    svg_polygon(placed->out, class[shape->what], data, point, VIEW_POINTS);
}

static void put_shapes(const struct sheet_placed *placed, enum view_what what)
{
    for (int i = 0; i < placed->view->shapes; i++) {
        if (placed->view->shape[i].what == what) {
            put_shape(placed, &placed->view->shape[i]);
        }
    }
}

/* A side that goes on is open, with a wavy line for its edge. */
static void put_stock(const struct sheet_placed *placed)
{
    const struct view *view = placed->view;
    struct svg_point left = sheet_on_paper(placed, 0, view->low_nm);
    struct svg_point right = sheet_on_paper(placed, view->wide_nm, view->low_nm);
    struct svg_point above_left = sheet_on_paper(placed, 0, view->high_nm);
    struct svg_point above_right = sheet_on_paper(placed, view->wide_nm, view->high_nm);
    struct svg_point round[] = {above_right, right, left, above_left, above_right};
    if (!view->broken && !view->broken_above) {
        svg_polygon(placed->out, "stock", "", round, 4);
        return;
    }
    svg_polyline(placed->out, "stock", view->broken ? round + 1 : round,
                 4 - (view->broken && view->broken_above));
    if (view->broken) {
        sheet_wave(placed->out, right, above_right);
    }
    if (view->broken_above) {
        sheet_wave(placed->out, above_left, above_right);
    }
}

/* The table, and a triangle on it at the reference edge; that alone where all is cut. */
static void put_table(const struct sheet_placed *placed)
{
    struct svg_point at = sheet_on_paper(placed, 0, 0);
    struct svg_point end = sheet_on_paper(placed, placed->view->wide_nm, 0);
    struct svg_point triangle[] = {{at.x - 4, at.y}, {at.x - 7, at.y}, {at.x - 5.5, at.y - 2.6}};
    if (placed->view->pieces == 0) {
        svg_line(placed->out, "table", (struct svg_point){at.x - 8, at.y},
                 (struct svg_point){end.x + 6, end.y});
    }
    svg_polygon(placed->out, "mark", "", triangle, 3);
}

static void put_title(const struct sheet_placed *placed)
{
    char edge[VIEW_TITLE];
    struct svg_point at = {placed->x - LEFT_MM, placed->top + 3};
    struct svg_point mark[] = {
        {at.x + 3, at.y + 4.5}, {at.x, at.y + 4.5}, {at.x + 1.5, at.y + 1.9}};
    svg_text(placed->out, "number", at, SVG_START, placed->view->title);
    svg_polygon(placed->out, "mark", "", mark, 3);
    (void)snprintf(edge, sizeof edge, "%s",
                   placed->view->edge[0] != '\0' ? placed->view->edge : "on the table");
    svg_text(placed->out, "small", (struct svg_point){at.x + 4.5, at.y + 4.4}, SVG_START, edge);
}

/* --- Dimensions --- */

/* Where a dimension's line runs: the next one stands further out. */
struct lane {
    double below;
    double left;
};

static const struct lane first_lane = {6, 9.5};

/* The ends of the next dimension's line, in its lane; or on the stock, `out` 0. */
static struct svg_point end_of(const struct sheet_placed *placed, const struct view_dim *dim,
                               int64_t nm, double out)
{
    struct svg_point at =
        sheet_on_paper(placed, dim->upright ? 0 : nm, dim->upright ? nm : placed->view->low_nm);
    at.x -= dim->upright ? out : 0;
    at.y += dim->upright ? 0 : out;
    return at;
}

static double take_lane(struct lane *lane, bool upright)
{
    double out = upright ? lane->left : lane->below;
    lane->left += upright ? 4.5 : 0;
    lane->below += upright ? 0 : 6.5;
    return out;
}

/* All lines first: the texts break those that they come to lie over. */
static void put_dims(const struct sheet_placed *placed)
{
    struct lane lane = first_lane;
    for (int i = 0; i < placed->view->dims; i++) {
        const struct view_dim *dim = &placed->view->dim[i];
        double out = take_lane(&lane, dim->upright) + 1;
        svg_line(placed->out, "dim", end_of(placed, dim, dim->from_nm, 0),
                 end_of(placed, dim, dim->from_nm, out));
        svg_line(placed->out, "dim", end_of(placed, dim, dim->to_nm, 0),
                 end_of(placed, dim, dim->to_nm, out));
    }
    lane = first_lane;
    for (int i = 0; i < placed->view->dims; i++) {
        const struct view_dim *dim = &placed->view->dim[i];
        double out = take_lane(&lane, dim->upright);
        char text[SAY_LENGTH_SIZE];
        say_length(dim->to_nm - dim->from_nm, placed->style, text, sizeof text);
        svg_dimension(placed->out, end_of(placed, dim, dim->from_nm, out),
                      end_of(placed, dim, dim->to_nm, out), text);
    }
}

/* --- Heights at the right --- */

static int by_height(const void *one, const void *other)
{
    int64_t a = ((const struct view_label *)one)->y_nm;
    int64_t b = ((const struct view_label *)other)->y_nm;
    int first = ((const struct view_label *)one)->mark - ((const struct view_label *)other)->mark;
    return a < b ? -1 : a > b ? 1 : first;
}

/* Upward from the lowest, each at its height or over the one below; then down again where that has
 * come out at the top. */
static void spread(double *y, int count, double top, double bottom)
{
    double step = STEP_TENTHS / 10.0;
    double room = count > 1 ? (bottom - top) / (count - 1) : step;
    step = room < step ? room : step;
    for (int i = 0; i < count; i++) {
        y[i] = i > 0 && y[i] > y[i - 1] - step ? y[i - 1] - step : y[i];
    }
    for (int i = count - 1; i >= 0; i--) {
        double most = i == count - 1 ? top : y[i + 1] + step;
        y[i] = y[i] < most ? most : y[i];
    }
}

static void put_label(const struct sheet_placed *placed, const struct view_label *label, double y)
{
    char number[16];
    char height[SAY_LENGTH_SIZE];
    char text[SAY_LENGTH_SIZE + 16];
    struct svg_point from = sheet_on_paper(placed, label->x_nm, label->y_nm);
    double turn = sheet_on_paper(placed, placed->view->wide_nm, 0).x + 3;
    double x = placed->right - labels_mm(placed->view) + 9;
    turn = turn < x - 10 ? turn : x - 10;
    struct svg_point lead[] = {from, {turn, from.y}, {x - 8.3, y}, {x - 7.3, y}};
    (void)snprintf(number, sizeof number, "%d", label->mark);
    say_length(label->height_nm, placed->style, height, sizeof height);
    (void)snprintf(text, sizeof text, "%s%s", height, label->turned ? " *" : "");
    svg_polyline(placed->out, "lead", lead, 4);
    svg_text(placed->out, "number", (struct svg_point){x, y + 1.1}, SVG_END, number);
    svg_text(placed->out, "label", (struct svg_point){x + 1.5, y + 1.1}, SVG_START, text);
    (void)svg_paragraph(placed->out, "small", (struct svg_point){x + NOTE_AT_MM, y + 1.1}, 0,
                        placed->right - x - NOTE_AT_MM, 1, label->note);
}

/* So many marks to one label: the page has room for no more. */
static int every_label(const struct view *view)
{
    return (view->labels + LABELS_MOST - 1) / LABELS_MOST;
}

static void put_labels(const struct sheet_placed *placed)
{
    static struct view_label sorted[JOINT_MARKS_MAX];
    double y[JOINT_MARKS_MAX];
    int count = 0;
    int every = every_label(placed->view);
    for (int i = 0; i < placed->view->labels; i++) {
        if (every < 2 || i % every == 0 || i == placed->view->labels - 1) {
            sorted[count++] = placed->view->label[i];
        }
    }
    qsort(sorted, (size_t)count, sizeof *sorted, by_height);
    for (int i = 0; i < count; i++) {
        y[i] = sheet_on_paper(placed, 0, sorted[i].y_nm).y;
    }
    spread(y, count, placed->top + SHEET_HEAD_MM,
           sheet_on_paper(placed, 0, placed->view->low_nm).y);
    for (int i = 0; i < count; i++) {
        put_label(placed, &sorted[i], y[i]);
    }
}

/* --- The sheet --- */

static void put_centre(const struct sheet_placed *placed)
{
    struct svg_point from = sheet_on_paper(placed, 0, placed->view->centre_nm);
    struct svg_point to = sheet_on_paper(placed, placed->view->wide_nm, placed->view->centre_nm);
    if (placed->view->centre) {
        svg_line(placed->out, "centre", (struct svg_point){from.x - 4, from.y},
                 (struct svg_point){to.x + 3, to.y});
    }
}

static void put_view(const struct sheet_placed *placed)
{
    const struct view *view = placed->view;
    (void)fprintf(placed->out,
                  "<g class=\"view\" data-part=\"%s\" data-x=\"%.4f\" data-y=\"%.4f\">\n",
                  view->part == JOINT_A   ? "A"
                  : view->part == JOINT_B ? "B"
                                          : "",
                  placed->x, placed->y);
    put_title(placed);
    if (view->pieces > 0) {
        sheet_pieces(placed);
    } else {
        put_stock(placed);
    }
    put_shapes(placed, VIEW_CUT);
    put_shapes(placed, VIEW_CUTTER);
    put_shapes(placed, VIEW_LEVEL);
    put_centre(placed);
    put_table(placed);
    put_dims(placed);
    put_labels(placed);
    sheet_names(placed);
    (void)fputs("</g>\n", placed->out);
}

static void put_key_of_cuts(FILE *out, double y)
{
    struct svg_point cut[] = {{8, y - 3}, {14, y - 3}, {14, y}, {8, y}};
    struct svg_point cutter[] = {{46, y - 3}, {52, y - 3}, {52, y}, {46, y}};
    svg_polygon(out, "cut", "", cut, 4);
    svg_text(out, "small", (struct svg_point){15.5, y - .4}, SVG_START, "what is taken away");
    svg_polygon(out, "cutter", "", cutter, 4);
    svg_text(out, "small", (struct svg_point){53.5, y - .4}, SVG_START, "the cutter at each mark");
}

static void put_key_of_mate(FILE *out, double y)
{
    struct svg_point mate[] = {{8, y - 3}, {14, y - 3}, {14, y}, {8, y}};
    svg_polygon(out, "mate", "", mate, 4);
    for (int i = 0; i < 4; i++) {
        svg_line(out, "outline", mate[i], mate[(i + 1) % 4]);
    }
    svg_text(out, "small", (struct svg_point){15.5, y - .4}, SVG_START,
             "the mating part, in the view of both; a wavy edge goes on");
}

static void put_key(FILE *out, const struct view *view)
{
    double y = SHEET_FOOT_MM - 12;
    struct svg_point mark[] = {{102, y}, {99, y}, {100.5, y - 2.6}};
    if (view->notes) {
        svg_line(out, "level", (struct svg_point){8, y - 1.3}, (struct svg_point){14, y - 1.3});
        svg_text(out, "small", (struct svg_point){15.5, y - .4}, SVG_START,
                 "a mark's height; part A at the left, part B at the right");
    } else {
        put_key_of_cuts(out, y);
    }
    svg_polygon(out, "mark", "", mark, 3);
    svg_text(out, "small", (struct svg_point){104, y - .4}, SVG_START,
             "at the table; numbers are marks, in the order of cutting");
}

/* In the middle of what is free in its field. */
static void put_field(FILE *out, const struct sheet_text *text, const struct view *view,
                      double scale, const struct field *field, int i)
{
    double left = SHEET_MARGIN_MM + (field->below ? 0 : i * field->wide);
    double top = SHEET_TOP_MM + (field->below && i > 0 ? field->high[0] : 0);
    double high = high_mm(view) * scale;
    double labels = view->labels * STEP_TENTHS / 10.0;
    double used = SHEET_HEAD_MM + BELOW_MM + (labels > high ? labels : high);
    double spare = field->high[i] > used ? (field->high[i] - used) / 3 : 0;
    put_view(&(struct sheet_placed){.out = out,
                                    .view = view,
                                    .style = text->style,
                                    .scale = scale,
                                    .top = top,
                                    .x = left + LEFT_MM,
                                    .y = top + field->high[i] - BELOW_MM - spare +
                                         mm(view->low_nm) * scale,
                                    .right = left + field->wide});
}

static bool has_turned(const struct view *view, int views)
{
    for (int i = 0; i < views; i++) {
        for (int j = 0; j < view[i].labels; j++) {
            if (view[i].label[j].turned) {
                return true;
            }
        }
    }
    return false;
}

/* What is not to scale, what is not drawn, and the plan's own. */
static const char *say_note(const struct sheet_text *text, const struct view *view, int views,
                            char note[NOTE_SIZE])
{
    const char *schematic = view[0].schematic;
    const char *left_out = view[views - 1].left_out;
    (void)snprintf(note, NOTE_SIZE, "%s%s%s%s%s%s", schematic ? "Schematic: " : "",
                   schematic ? schematic : "", schematic ? " " : "", left_out ? left_out : "",
                   left_out ? " " : "", text->note);
    return note;
}

char *sheet_views(const struct sheet_text *text, const struct view *view, int views)
{
    char under[240];
    char note[NOTE_SIZE];
    struct sheet_text with_note = *text;
    char *svg = NULL;
    size_t size;
    struct field field;
    int scale = choose(view, views, &field);
    FILE *out = open_memstream(&svg, &size);
    if (!out) {
        return NULL;
    }
    with_note.note = say_note(text, view, views, note);
    int every = every_label(&view[0]);
    int used = snprintf(under, sizeof under,
                        "Scale %s. Heights are those of the bit over what carries the work.",
                        scales[scale].name);
    if (views > 1 && every_label(&view[1]) > every) {
        every = every_label(&view[1]);
    }
    if (every > 1) {
        (void)snprintf(under + used, sizeof under - (size_t)used, " One mark in %d has its height.",
                       every);
    }
    if (has_turned(view, views)) {
        (void)snprintf(under + strlen(under), sizeof under - strlen(under),
                       " * Board turned, marked edge up.");
    }
    sheet_begin(out, text, under, scales[scale].scale);
    for (int i = 0; i < views; i++) {
        put_field(out, text, &view[i], scales[scale].scale, &field, i);
    }
    put_key(out, &view[0]);
    if (views > 1 && view[1].pieces > 0) {
        put_key_of_mate(out, SHEET_FOOT_MM - 7.2);
    }
    sheet_end(out, &with_note);
    return sheet_close(out, &svg);
}
