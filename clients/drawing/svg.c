/* SPDX-License-Identifier: MIT */
#include "clients/drawing/svg.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

static const char style[] =
    "text{font-family:sans-serif;font-size:3px;fill:#000}"
    ".title{font-size:5.5px;font-weight:bold}.small{font-size:2.7px}"
    ".number{font-weight:bold}.label{font-size:3px}"
    ".stock{fill:#fff;stroke:#000;stroke-width:.5}"
    ".cut{fill:url(#hatch);stroke:#000;stroke-width:.35}"
    ".cutter{fill:none;stroke:#000;stroke-width:.25;stroke-dasharray:1.2 .8}"
    ".own{fill:#fff;stroke:none}.mate{fill:url(#light);stroke:none}"
    ".outline{fill:none;stroke:#000;stroke-width:.35}"
    ".level{fill:none;stroke:#000;stroke-width:.4}"
    ".table{fill:none;stroke:#000;stroke-width:.8}"
    ".dim{fill:none;stroke:#000;stroke-width:.18}"
    ".arrow{fill:#000;stroke:none}.mark{fill:#000;stroke:none}"
    ".lead{fill:none;stroke:#000;stroke-width:.15}"
    ".centre{fill:none;stroke:#000;stroke-width:.2;stroke-dasharray:4 1 1 1}"
    ".axis{fill:none;stroke:#000;stroke-width:.3}"
    ".grid{fill:none;stroke:#888;stroke-width:.12}"
    ".height,.speed{fill:none;stroke:#000;stroke-width:.6}";

void svg_escape(FILE *out, const char *text)
{
    for (; *text != '\0'; text++) {
        const char *as = *text == '&'   ? "&amp;"
                         : *text == '<' ? "&lt;"
                         : *text == '>' ? "&gt;"
                         : *text == '"' ? "&quot;"
                                        : NULL;
        if (as) {
            (void)fputs(as, out);
        } else {
            (void)fputc((unsigned char)*text < ' ' || *text == 0x7f ? ' ' : *text, out);
        }
    }
}

void svg_begin(FILE *out, const char *title, double scale)
{
    (void)fprintf(out,
                  "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                  "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"%dmm\" "
                  "height=\"%dmm\" viewBox=\"0 0 %d %d\" data-scale=\"%.9g\">\n<title>",
                  SVG_WIDE_MM, SVG_HIGH_MM, SVG_WIDE_MM, SVG_HIGH_MM, scale);
    svg_escape(out, title);
    (void)fprintf(out,
                  "</title>\n<style>%s</style>\n"
                  "<defs><pattern id=\"hatch\" patternUnits=\"userSpaceOnUse\" width=\"1.6\" "
                  "height=\"1.6\" patternTransform=\"rotate(45)\"><path d=\"M0,0 V1.6\" "
                  "stroke=\"#000\" stroke-width=\".22\"/></pattern>"
                  "<pattern id=\"light\" patternUnits=\"userSpaceOnUse\" width=\"2.4\" "
                  "height=\"2.4\" patternTransform=\"rotate(-45)\"><path d=\"M0,0 V2.4\" "
                  "stroke=\"#000\" stroke-width=\".13\"/></pattern></defs>\n"
                  "<rect width=\"%d\" height=\"%d\" fill=\"#fff\"/>\n",
                  style, SVG_WIDE_MM, SVG_HIGH_MM);
}

void svg_end(FILE *out)
{
    (void)fputs("</svg>\n", out);
}

void svg_line(FILE *out, const char *class, struct svg_point from, struct svg_point to)
{
    (void)fprintf(out, "<line class=\"%s\" x1=\"%.4f\" y1=\"%.4f\" x2=\"%.4f\" y2=\"%.4f\"/>\n",
                  class, from.x, from.y, to.x, to.y);
}

static void put_points(FILE *out, const struct svg_point *point, int count)
{
    (void)fputs("points=\"", out);
    for (int i = 0; i < count; i++) {
        (void)fprintf(out, "%s%.4f,%.4f", i > 0 ? " " : "", point[i].x, point[i].y);
    }
    (void)fputs("\"/>\n", out);
}

void svg_polyline(FILE *out, const char *class, const struct svg_point *point, int count)
{
    (void)fprintf(out, "<polyline class=\"%s\" ", class);
    put_points(out, point, count);
}

void svg_polygon(FILE *out, const char *class, const char *data, const struct svg_point *point,
                 int count)
{
    (void)fprintf(out, "<polygon class=\"%s\" %s ", class, data);
    put_points(out, point, count);
}

void svg_text(FILE *out, const char *class, struct svg_point at, enum svg_anchor anchor,
              const char *text)
{
    static const char *const anchors[] = {"", "start", "middle", "end"};
    (void)fprintf(out, "<text class=\"%s\" x=\"%.3f\" y=\"%.3f\" text-anchor=\"%s\">", class, at.x,
                  at.y, anchors[anchor]);
    svg_escape(out, text);
    (void)fputs("</text>\n", out);
}

void svg_text_upright(FILE *out, const char *class, struct svg_point at, const char *text)
{
    (void)fprintf(out,
                  "<text class=\"%s\" x=\"%.3f\" y=\"%.3f\" text-anchor=\"middle\" "
                  "transform=\"rotate(-90 %.3f %.3f)\">",
                  class, at.x, at.y, at.x, at.y);
    svg_escape(out, text);
    (void)fputs("</text>\n", out);
}

/* --- How long a text is --- */

enum { LINE_SIZE = 1024 }; /* more bytes than letters that are seen fit beside each other */

static double size_of(const char *class)
{
    return strcmp(class, "title") == 0 ? 5.5 : strcmp(class, "small") == 0 ? 2.7 : 3;
}

/* In parts of the letter's height; of several bytes the first counts. */
static double width_of(char letter)
{
    unsigned char byte = (unsigned char)letter;
    if ((byte & 0xC0) == 0x80) {
        return 0;
    }
    return strchr(" .,:;'!|()[]-/ijlftr", letter) ? .42 : strchr("mwMW%@", letter) ? 1 : .65;
}

double svg_width(const char *class, const char *text)
{
    double sum = 0;
    for (; *text != '\0'; text++) {
        sum += width_of(*text);
    }
    return sum * size_of(class);
}

/* Where the line that begins there ends: at a blank, or where a longer word must be cut. */
static size_t end_of_line(const char *class, const char *text, double wide)
{
    double room = wide / size_of(class);
    size_t blank = 0;
    size_t end = 0;
    while (text[end] != '\0' && room >= width_of(text[end]) && end < LINE_SIZE - 8) {
        room -= width_of(text[end]);
        blank = text[end] == ' ' ? end : blank;
        end++;
    }
    return text[end] == '\0' || blank == 0 ? end : blank;
}

int svg_lines(const char *class, double wide, const char *text)
{
    int lines = 0;
    for (text += strspn(text, " "); *text != '\0'; text += strspn(text, " ")) {
        size_t end = end_of_line(class, text, wide);
        if (end == 0) { /* not one letter has room */
            break;
        }
        text += end;
        lines++;
    }
    return lines;
}

double svg_paragraph(FILE *out, const char *class, struct svg_point at, double step, double wide,
                     int most, const char *text)
{
    static const char more[] = "...";
    char line[LINE_SIZE];
    text += strspn(text, " ");
    for (int i = 0; *text != '\0' && i < most; i++) {
        size_t end = end_of_line(class, text, wide);
        bool cut = i + 1 == most && text[end] != '\0';
        if (cut) {
            end = end_of_line(class, text, wide - svg_width(class, more));
        }
        (void)snprintf(line, sizeof line, "%.*s%s", (int)end, text, cut ? more : "");
        svg_text(out, class, at, SVG_START, line);
        at.y += step;
        text += end;
        text += strspn(text, " ");
    }
    return at.y;
}

/* --- Dimensions --- */

enum { ARROW_TENTHS = 16 };

static void arrow(FILE *out, struct svg_point tip, double dx, double dy)
{
    double size = ARROW_TENTHS / 10.0;
    struct svg_point point[] = {
        tip,
        {tip.x + dx * size - dy * size / 4, tip.y + dy * size + dx * size / 4},
        {tip.x + dx * size + dy * size / 4, tip.y + dy * size - dx * size / 4}};
    svg_polygon(out, "arrow", "", point, 3);
}

/* Blank, for a text over lines. */
static void paper(FILE *out, double x, double y, double wide, double high)
{
    (void)fprintf(out,
                  "<rect x=\"%.3f\" y=\"%.3f\" width=\"%.3f\" height=\"%.3f\" fill=\"#fff\"/>\n", x,
                  y, wide, high);
}

void svg_dimension(FILE *out, struct svg_point from, struct svg_point to, const char *text)
{
    double length = hypot(to.x - from.x, to.y - from.y);
    double dx = length > 0 ? (to.x - from.x) / length : 1;
    double dy = length > 0 ? (to.y - from.y) / length : 0;
    bool inside = length > 5;
    double side = inside ? 1 : -1;
    if (!inside) { /* arrows from outside */
        svg_line(out, "dim", (struct svg_point){from.x - 3 * dx, from.y - 3 * dy},
                 (struct svg_point){to.x + 3 * dx, to.y + 3 * dy});
    } else {
        svg_line(out, "dim", from, to);
    }
    arrow(out, from, side * dx, side * dy);
    arrow(out, to, -side * dx, -side * dy);
    struct svg_point middle = {(from.x + to.x) / 2, (from.y + to.y) / 2};
    double half = svg_width("label", text) / 2;
    if (fabs(dx) > fabs(dy)) {
        paper(out, middle.x - half, middle.y + .8, 2 * half, 3.6);
        svg_text(out, "label", (struct svg_point){middle.x, middle.y + 3.8}, SVG_MIDDLE, text);
    } else {
        paper(out, middle.x - 4, middle.y - half, 3.4, 2 * half);
        svg_text_upright(out, "label", (struct svg_point){middle.x - 1.2, middle.y}, text);
    }
}
