/* SPDX-License-Identifier: MIT */
/* Drawings read back by an XML parser (expat), and what is asked of each: that it is legible. */
#ifndef REGLET_TESTS_DRAWING_READ_H
#define REGLET_TESTS_DRAWING_READ_H

#include <expat.h>
#include <stdio.h>
#include <stdlib.h>

#include "clients/drawing/svg.h"
#include "tests/unit/test_bench_joint.h"

enum { POLYGONS = 4000, TEXTS = 2000, CURVE = 400 };

struct polygon {
    char class[16];
    char part[4];
    int mark;
    double x; /* of its view's origin */
    double y;
    int points;
    double px[8];
    double py[8];
};

struct text {
    char class[16];
    char anchor[8];
    bool upright; /* read from below */
    double wide;
    double x;
    double y;
    char text[200];
};

/* All that was found. */
static struct {
    double scale;
    char part[4];
    double x;
    double y;
    double x_per;
    double y_per;
    int polygons;
    struct polygon polygon[POLYGONS];
    int texts;
    struct text text[TEXTS];
    bool in_text;
    char curve_name[16];
    int heights;
    double height_s[CURVE];
    double height_mm[CURVE];
    int speeds;
    double speed_s[CURVE];
    double speed_mm_s[CURVE];
} sheet;

static inline const char *attribute(const char **list, const char *name)
{
    for (; *list; list += 2) {
        if (strcmp(list[0], name) == 0) {
            return list[1];
        }
    }
    return "";
}

static inline void on_page(double x, double y)
{
    ck_assert_msg(x >= 0 && x <= SVG_WIDE_MM && y >= 0 && y <= SVG_HIGH_MM, "%g, %g", x, y);
}

static inline int read_points(const char *text, int most, double *x, double *y)
{
    int count = 0;
    char *end;
    while (*text != '\0') {
        ck_assert_int_lt(count, most);
        x[count] = strtod(text, &end);
        ck_assert_int_eq(*end, ',');
        y[count] = strtod(end + 1, &end);
        on_page(x[count], y[count]);
        count++;
        text = *end == ' ' ? end + 1 : end;
    }
    return count;
}

static inline void take_polygon(const char **list)
{
    ck_assert_int_lt(sheet.polygons, POLYGONS);
    struct polygon *polygon = &sheet.polygon[sheet.polygons++];
    snprintf(polygon->class, sizeof polygon->class, "%s", attribute(list, "class"));
    snprintf(polygon->part, sizeof polygon->part, "%s", sheet.part);
    polygon->mark = atoi(attribute(list, "data-mark"));
    polygon->x = sheet.x;
    polygon->y = sheet.y;
    polygon->points = read_points(attribute(list, "points"), 8, polygon->px, polygon->py);
}

static inline void take_curve(const char **list)
{
    bool speed = strcmp(attribute(list, "class"), "speed") == 0;
    double x[CURVE];
    double y[CURVE];
    int count = read_points(attribute(list, "points"), CURVE, x, y);
    for (int i = 0; i < count; i++) {
        double s = (x[i] - sheet.x) / sheet.x_per;
        double value = (sheet.y - y[i]) / sheet.y_per;
        (speed ? sheet.speed_s : sheet.height_s)[i] = s;
        (speed ? sheet.speed_mm_s : sheet.height_mm)[i] = value;
    }
    *(speed ? &sheet.speeds : &sheet.heights) = count;
}

static inline void begins(void *data, const char *name, const char **list)
{
    (void)data;
    if (strcmp(name, "svg") == 0) {
        sheet.scale = atof(attribute(list, "data-scale"));
    } else if (strcmp(name, "g") == 0) {
        snprintf(sheet.part, sizeof sheet.part, "%s", attribute(list, "data-part"));
        sheet.x = atof(attribute(list, "data-x"));
        sheet.y = atof(attribute(list, "data-y"));
        sheet.x_per = atof(attribute(list, "data-x-per"));
        sheet.y_per = atof(attribute(list, "data-y-per"));
    } else if (strcmp(name, "polygon") == 0) {
        take_polygon(list);
    } else if (strcmp(name, "polyline") == 0) {
        const char *class = attribute(list, "class");
        if (strcmp(class, "speed") == 0 || strcmp(class, "height") == 0)
            take_curve(list);
    } else if (strcmp(name, "text") == 0) {
        ck_assert_int_lt(sheet.texts, TEXTS);
        struct text *text = &sheet.text[sheet.texts++];
        snprintf(text->class, sizeof text->class, "%s", attribute(list, "class"));
        snprintf(text->anchor, sizeof text->anchor, "%s", attribute(list, "text-anchor"));
        text->upright = strstr(attribute(list, "transform"), "rotate") != NULL;
        text->x = atof(attribute(list, "x"));
        text->y = atof(attribute(list, "y"));
        on_page(text->x, text->y);
        sheet.in_text = true;
    }
}

/* As wide as in DejaVu Sans, a wide font that is common where SVG is looked at: digits .636 of the
 * height, most small letters .55 to .63, capitals about .68, bold ones a little more (from memory).
 */
static inline double width_of(const struct text *text)
{
    double size = strcmp(text->class, "title") == 0   ? 5.5
                  : strcmp(text->class, "small") == 0 ? 2.7
                                                      : 3;
    double width = 0;
    for (const char *at = text->text; *at != '\0'; at++)
        width += ((unsigned char)*at & 0xC0) == 0x80 ? 0 /* UTF-8 */
                 : strchr("ijl'|", *at)              ? .28
                 : strchr(" .,:;/ftr()[]!-", *at)    ? .36
                 : strchr("mwMW", *at)               ? .95
                 : *at >= 'A' && *at <= 'Z'          ? .68
                 : strchr("acekosvxyz", *at)         ? .57
                                                     : .634;
    return size * width * (strcmp(text->class, "title") == 0 ? 1.1 : 1);
}

static inline void ends(void *data, const char *name)
{
    (void)data;
    if (strcmp(name, "text") == 0) {
        sheet.in_text = false;
        sheet.text[sheet.texts - 1].wide = width_of(&sheet.text[sheet.texts - 1]);
    }
}

static inline void says(void *data, const char *text, int size)
{
    (void)data;
    if (sheet.in_text) {
        char *out = sheet.text[sheet.texts - 1].text;
        size_t used = strlen(out);
        snprintf(out + used, sizeof sheet.text[0].text - used, "%.*s", size, text);
    }
}

static inline void read_svg(char *svg)
{
    ck_assert_ptr_nonnull(svg);
    memset(&sheet, 0, sizeof sheet);
    XML_Parser parser = XML_ParserCreate(NULL);
    XML_SetElementHandler(parser, begins, ends);
    XML_SetCharacterDataHandler(parser, says);
    enum XML_Status status = XML_Parse(parser, svg, (int)strlen(svg), 1);
    ck_assert_msg(status == XML_STATUS_OK, "line %lu: %s", XML_GetCurrentLineNumber(parser),
                  XML_ErrorString(XML_GetErrorCode(parser)));
    XML_ParserFree(parser);
    free(svg);
}

/* In nanometres of the joint. Paper is written to a ten-thousandth of a millimetre. */
static inline double real_nm(double paper_mm)
{
    return paper_mm / sheet.scale * 1e6;
}

static inline double tolerance_nm(void)
{
    return 2 * real_nm(.0001) + 1;
}

struct bounds {
    double low;
    double high;
    double left;
    double right;
};

static inline struct bounds bounds_of(const struct polygon *polygon)
{
    struct bounds b = {1e18, -1e18, 1e18, -1e18};
    for (int i = 0; i < polygon->points; i++) {
        double x = real_nm(polygon->px[i] - polygon->x);
        double y = real_nm(polygon->y - polygon->py[i]);
        b.low = y < b.low ? y : b.low;
        b.high = y > b.high ? y : b.high;
        b.left = x < b.left ? x : b.left;
        b.right = x > b.right ? x : b.right;
    }
    return b;
}

static inline double left_of(const struct text *text)
{
    return strcmp(text->anchor, "end") == 0      ? text->x - text->wide
           : strcmp(text->anchor, "middle") == 0 ? text->x - text->wide / 2
                                                 : text->x;
}

static inline void expect_on_page(const char *line, const struct text *text)
{
    double half = text->wide / 2;
    double middle = text->upright ? text->y : left_of(text) + half;
    ck_assert_msg(middle - half >= 0 &&
                      middle + half <= (text->upright ? SVG_HIGH_MM : SVG_WIDE_MM),
                  "%s: '%s' leaves the page", line, text->text);
}

/* No label lies over another, and none leaves the page. */
static inline void expect_legible(const char *line)
{
    for (int i = 0; i < sheet.texts; i++) {
        const struct text *one = &sheet.text[i];
        expect_on_page(line, one);
        for (int j = 0; j < i; j++) {
            const struct text *two = &sheet.text[j];
            bool level = fabs(one->y - two->y) < 2.6;
            bool apart = left_of(one) + one->wide <= left_of(two) ||
                         left_of(two) + two->wide <= left_of(one);
            bool across = strcmp(one->anchor, "middle") == 0 || strcmp(two->anchor, "middle") == 0;
            ck_assert_msg(!level || apart || across, "%s: '%s' over '%s'", line, one->text,
                          two->text);
        }
    }
}

#endif
