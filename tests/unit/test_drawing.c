/* SPDX-License-Identifier: MIT */
/*
 * Drawings read back by an XML parser (expat): every mark's cutter stands at its height to the
 * scale that the sheet says, its number and its height are written, nothing leaves the page or lies
 * over another. A move's curves against the published trapezoid.
 */
#include <expat.h>
#include <stdio.h>
#include <stdlib.h>

#include "clients/common/say.h"
#include "clients/drawing/sheet.h"
#include "clients/drawing/svg.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/test_bench_joint.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

enum { POLYGONS = 4000, TEXTS = 2000, CURVE = 400, WORDS_MAX = 40 };

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

static const char *attribute(const char **list, const char *name)
{
    for (; *list; list += 2) {
        if (strcmp(list[0], name) == 0) {
            return list[1];
        }
    }
    return "";
}

static void on_page(double x, double y)
{
    ck_assert_msg(x >= 0 && x <= SVG_WIDE_MM && y >= 0 && y <= SVG_HIGH_MM, "%g, %g", x, y);
}

static int read_points(const char *text, int most, double *x, double *y)
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

static void take_polygon(const char **list)
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

static void take_curve(const char **list)
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

static void begins(void *data, const char *name, const char **list)
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
        text->x = atof(attribute(list, "x"));
        text->y = atof(attribute(list, "y"));
        on_page(text->x, text->y);
        sheet.in_text = true;
    }
}

static void ends(void *data, const char *name)
{
    (void)data;
    if (strcmp(name, "text") == 0)
        sheet.in_text = false;
}

static void says(void *data, const char *text, int size)
{
    (void)data;
    if (sheet.in_text) {
        char *out = sheet.text[sheet.texts - 1].text;
        size_t used = strlen(out);
        snprintf(out + used, sizeof sheet.text[0].text - used, "%.*s", size, text);
    }
}

static void read_svg(char *svg)
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

/* --- Joints --- */

static struct joint_plan plan;
static struct joint_job job;
static struct view view[2];

static bool no_stock(void *owner, const char *name, int64_t *nm, char *why)
{
    (void)owner;
    (void)name;
    *nm = 0;
    why[0] = '\0';
    return false;
}

static bool no_bit(void *owner, const char *name, enum joint_kind wanted,
                   struct joint_cutter *cutter, char *fitted, char *why)
{
    (void)owner;
    (void)name;
    (void)wanted;
    (void)fitted;
    *cutter = straight(0);
    why[0] = '\0';
    return false;
}

static const struct joint_shelf shelf = {NULL, no_stock, no_bit};

static void draw(const char *line)
{
    char text[512];
    char why[JOINT_JOB_WHY];
    char *word[WORDS_MAX];
    char *rest;
    int count = 0;
    snprintf(text, sizeof text, "%s", line);
    for (char *at = strtok_r(text, " ", &rest); at; at = strtok_r(NULL, " ", &rest))
        word[count++] = at;
    ck_assert_msg(joint_job_read(count, word, LENGTH_BARE_IN, &shelf, &job, why), "%s: %s", line,
                  why);
    struct joint_shop shop = wide_shop();
    if (job.travel_said) {
        shop.lowest_nm = job.lowest_nm;
        shop.highest_nm = job.highest_nm;
    }
    bool made = joint_job_plan(&job, &shop, &plan);
    ck_assert_msg(made, "%s: %s", line, plan.why);
    int views = view_joint(&job, &plan, view);
    const struct sheet_text about = {job.kind->title, line, plan.note, LENGTH_STYLE_64};
    read_svg(sheet_views(&about, view, views));
}

/* In nanometres of the joint. Paper is written to a ten-thousandth of a millimetre. */
static double real_nm(double paper_mm)
{
    return paper_mm / sheet.scale * 1e6;
}

static double tolerance_nm(void)
{
    return 2 * real_nm(.0001) + 1;
}

struct bounds {
    double low;
    double high;
    double left;
    double right;
};

static struct bounds bounds_of(const struct polygon *polygon)
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

/* Is there a polygon of this class and mark whose upper end is there? */
static bool is_drawn(const char *class, int mark, double high_nm)
{
    for (int i = 0; i < sheet.polygons; i++) {
        const struct polygon *polygon = &sheet.polygon[i];
        if (polygon->mark == mark && strcmp(polygon->class, class) == 0 &&
            fabs(bounds_of(polygon).high - high_nm) <= tolerance_nm()) {
            return true;
        }
    }
    return false;
}

/* Where the number stands; the height stands right of it, at the same level. */
static void expect_label(int mark)
{
    char number[16];
    char height[SAY_LENGTH_SIZE];
    snprintf(number, sizeof number, "%d", mark);
    say_length(plan.mark[mark - 1].height_nm, LENGTH_STYLE_64, height, sizeof height);
    for (int i = 0; i + 1 < sheet.texts; i++) {
        const struct text *text = &sheet.text[i];
        if (strcmp(text->class, "number") == 0 && strcmp(text->text, number) == 0) {
            ck_assert_double_eq(text[0].y, text[1].y);
            ck_assert_double_lt(text[0].x, text[1].x);
            ck_assert_msg(strncmp(text[1].text, height, strlen(height)) == 0, "mark %d: %s, not %s",
                          mark, text[1].text, height);
            return;
        }
    }
    ck_abort_msg("mark %d has no number", mark);
}

/* A letter is seen to take no more than .66 of its size. */
static double width_of(const struct text *text)
{
    double size = strcmp(text->class, "title") == 0   ? 5.5
                  : strcmp(text->class, "small") == 0 ? 2.7
                                                      : 3;
    return .66 * size * (double)strlen(text->text);
}

static double left_of(const struct text *text)
{
    return strcmp(text->anchor, "end") == 0      ? text->x - width_of(text)
           : strcmp(text->anchor, "middle") == 0 ? text->x - width_of(text) / 2
                                                 : text->x;
}

/* No label lies over another, and none leaves the page. */
static void expect_legible(const char *line)
{
    for (int i = 0; i < sheet.texts; i++) {
        const struct text *one = &sheet.text[i];
        if (strcmp(one->anchor, "start") == 0)
            ck_assert_msg(one->x + width_of(one) * .8 <= SVG_WIDE_MM, "%s: '%s'", line, one->text);
        for (int j = 0; j < i; j++) {
            const struct text *two = &sheet.text[j];
            bool level = fabs(one->y - two->y) < 2.6;
            bool apart = left_of(one) + width_of(one) * .8 <= left_of(two) ||
                         left_of(two) + width_of(two) * .8 <= left_of(one);
            bool across = strcmp(one->anchor, "middle") == 0 || strcmp(two->anchor, "middle") == 0;
            ck_assert_msg(!level || apart || across, "%s: '%s' over '%s'", line, one->text,
                          two->text);
        }
    }
}

/* What is cut lies within the stock. */
static void expect_inside(const char *line)
{
    for (int i = 0; i < sheet.polygons; i++) {
        const struct polygon *polygon = &sheet.polygon[i];
        int which = strcmp(polygon->part, "B") == 0;
        if (strcmp(polygon->class, "cut") != 0 || polygon->mark == 0) {
            continue;
        }
        struct bounds b = bounds_of(polygon);
        ck_assert_msg(b.low >= -tolerance_nm() && b.left >= -tolerance_nm() &&
                          b.high <= (double)view[which].high_nm + tolerance_nm() &&
                          b.right <= (double)view[which].wide_nm + tolerance_nm(),
                      "%s: mark %d", line, polygon->mark);
    }
}

static const char *const lines[] = {
    "upright width 3 thick 1/2 bit 1/4",
    "upright width 2 thick-a 1/2 thick-b 3/8 bit 1/4 base 1/2 most 0",
    "stepped width 3/4 thick 1/2 kerf 1/8",
    "groove width .209 edge 1/4 into 1/4 kerf 5/32",
    "drawer bottom .205 into 1/4 thick 1/2 kerf 5/32",
    "drawer bottom .205 into 1/4 thick 1/2 bit 3/16",
    "tongue thick .742 groove .25 tongue 1/4 kerf 5/32",
    "tongue thick .742 groove .25 tongue 1/4 kerf 5/32 second 1/2",
    "tenon thick .750 mortise .371 clearance 0 length 1 bit 1/2",
    "mortise thick 3/4 deep 3 width 1/4 length 2 tenon 1/2 bit 1/4",
    "lap thick 3/4 length 2 bit 1/2",
    "rabbet thick 3/4 part 1/2 into 3/8 bit 1/2",
    "dado thick 3/4 part .709 edge 2 bit 1/2",
    "dovetail spacing 7/8 front 3/4 bit 1/2 slope 14",
    "sliding depth 3/8 thick 3/4 bit 1/2 slope 14 waste 1/4",
    "panel panel 5/8 groove 1/4 clearance 0 bit 3",
};

START_TEST(every_mark_stands_at_its_height)
{
    for (size_t i = 0; i < COUNT(lines); i++) {
        draw(lines[i]);
        int64_t base_nm = job.kind->joint == JOINT_IS_UPRIGHT ? job.in.upright.base_nm : 0;
        for (int mark = 1; mark <= plan.count; mark++) {
            double high_nm = (double)(plan.mark[mark - 1].height_nm - base_nm);
            ck_assert_msg(is_drawn("cutter", mark, high_nm), "%s: mark %d", lines[i], mark);
            ck_assert_msg(is_drawn("cut", mark, high_nm) || high_nm > (double)view[0].high_nm,
                          "%s: mark %d", lines[i], mark);
            expect_label(mark);
        }
        expect_legible(lines[i]);
        expect_inside(lines[i]);
    }
}
END_TEST

/* Kerf 1/8, clearance .003, width 3/4: bottoms of A .122 .369 .616, of B -.0015 .2455 .4925, tops
 * .1235 .3705 .6175 (derived and recomputed); as deep as 1/2 and 1/64. */
START_TEST(the_worked_finger_joint)
{
    static const double low[] = {.122, .369, .616, -.0015, .2455, .4925};
    static const int mark[] = {1, 2, 3, 5, 6, 7};
    int seen = 0;
    draw("stepped width 3/4 thick 1/2 kerf 1/8 clearance .003");
    for (int i = 0; i < sheet.polygons; i++) {
        const struct polygon *polygon = &sheet.polygon[i];
        for (int k = 0; k < 6; k++) {
            if (polygon->mark == mark[k] && strcmp(polygon->class, "cutter") == 0) {
                struct bounds b = bounds_of(polygon);
                ck_assert_str_eq(polygon->part, k < 3 ? "A" : "B");
                ck_assert_double_le(fabs(b.low - low[k] * 25.4e6), tolerance_nm());
                ck_assert_double_le(fabs(b.high - (low[k] + .125) * 25.4e6), tolerance_nm());
                ck_assert_double_le(fabs(b.right - .515625 * 25.4e6), tolerance_nm());
                seen++;
            }
        }
    }
    ck_assert_int_eq(seen, 6);
}
END_TEST

/* A turned board is drawn the way its part is used: a slot at `bottom` set is at W - bottom - k. */
START_TEST(turned_marks_are_drawn_where_they_come_out)
{
    draw("stepped width 4 thick 1/2 kerf 1/8 lowest -1 highest 2.5");
    int turned = 0;
    for (int mark = 1; mark <= plan.count; mark++) {
        const struct joint_mark *m = &plan.mark[mark - 1];
        int64_t high_nm = m->turned ? in(4) - m->low_nm : m->high_nm;
        ck_assert_msg(is_drawn("cutter", mark, (double)high_nm), "mark %d", mark);
        turned += m->turned;
    }
    ck_assert_int_gt(turned, 5);
    expect_legible("turned");
}
END_TEST

/* As many as there can be, and any sizes: on the page, legible, inside the stock. */
START_TEST(random_finger_joints)
{
    char line[160];
    draw("stepped width 24 thick 1/2 kerf 1/8");
    ck_assert_int_gt(plan.count, 190);
    expect_legible("long");
    for (int trial = 0; trial < 120; trial++) {
        snprintf(line, sizeof line, "stepped width %.3f thick-a %.3f thick-b %.3f kerf %.3f",
                 .4 + (double)below(9000) / 1000, .1 + (double)below(900) / 1000,
                 .1 + (double)below(900) / 1000, .1 + (double)below(150) / 1000);
        draw(line);
        expect_legible(line);
        expect_inside(line);
        for (int mark = 1; mark <= plan.count; mark++)
            ck_assert_msg(is_drawn("cutter", mark, (double)plan.mark[mark - 1].height_nm), "%s: %d",
                          line, mark);
    }
}
END_TEST

START_TEST(a_pass_plan)
{
    static const double heights[] = {23. / 96, 23. / 48, 23. / 32, .75};
    struct joint_shop shop = wide_shop();
    struct joint_passes passes = {
        .cutter = straight(.5),
        .passes = {.total_nm = in(.75), .most_nm = in(.25), .last_nm = in(1. / 32)},
        .pieces = 1};
    ck_assert(joint_passes(&passes, &shop, &plan));
    view_passes(&plan, passes.cutter.width_nm, &view[0]);
    const struct sheet_text about = {"<Passes> & \"more\"\n", "", "", LENGTH_STYLE_64};
    read_svg(sheet_views(&about, view, 1));
    for (int mark = 1; mark <= 4; mark++) {
        ck_assert(is_drawn("cutter", mark, heights[mark - 1] * 25.4e6));
        expect_label(mark);
    }
    ck_assert_str_eq(sheet.text[0].text, "<Passes> & \"more\" ");
    expect_legible("passes");
}
END_TEST

/* --- Moves --- */

static void draw_move(const struct sheet_move *move)
{
    const struct sheet_text about = {"A move", "", "", LENGTH_STYLE_64};
    read_svg(sheet_move(&about, move));
    ck_assert_int_gt(sheet.heights, 10);
    ck_assert_int_ge(sheet.speeds, 4);
}

/* v .5 in/s, a 2 in/s2: 1 in takes 2.25 s; 1/8 in just reaches the speed, in .5 s; 1/16 in peaks at
 * .353553 in/s (Lynch and Park, Modern Robotics, 9.2.2.2; recomputed). */
START_TEST(moves_as_published)
{
    static const struct {
        double inches;
        double seconds;
        double peak;
    } published[] = {{1, 2.25, .5}, {1. / 8, .5, .5}, {1. / 16, .353553, .353553}};
    for (size_t i = 0; i < COUNT(published); i++) {
        struct sheet_move move = {
            .to_nm = in(published[i].inches), .rate_nm_s = in(.5), .gain_nm_s2 = in(2)};
        draw_move(&move);
        double peak = 0;
        for (int k = 0; k < sheet.speeds; k++)
            peak = sheet.speed_mm_s[k] > peak ? sheet.speed_mm_s[k] : peak;
        ck_assert_double_le(fabs(peak / 25.4 - published[i].peak), 1e-5);
        ck_assert_double_le(fabs(sheet.speed_s[sheet.speeds - 1] - published[i].seconds), 1e-5);
        ck_assert_double_le(fabs(sheet.height_s[sheet.heights - 1] - published[i].seconds), 1e-5);
        ck_assert_double_le(fabs(sheet.height_mm[0]), 1e-4);
        ck_assert_double_le(fabs(sheet.height_mm[sheet.heights - 1] - published[i].inches * 25.4),
                            1e-4);
        expect_legible("move");
    }
}
END_TEST

/* Downward it goes below by the take-up and comes up to the height; the area under the speed is the
 * way. */
START_TEST(a_move_downward_finishes_upward)
{
    struct sheet_move move = {.from_nm = in(.375),
                              .to_nm = in(-.375),
                              .take_up_nm = in(1. / 32),
                              .rate_nm_s = in(.5),
                              .gain_nm_s2 = in(2)};
    draw_move(&move);
    double lowest = 1e9;
    double area = 0;
    for (int i = 0; i < sheet.heights; i++)
        lowest = sheet.height_mm[i] < lowest ? sheet.height_mm[i] : lowest;
    for (int i = 1; i < sheet.speeds; i++)
        area += (sheet.speed_s[i] - sheet.speed_s[i - 1]) *
                (sheet.speed_mm_s[i] + sheet.speed_mm_s[i - 1]) / 2;
    ck_assert_double_le(fabs(lowest - (-.375 - 1. / 32) * 25.4), 1e-3);
    ck_assert_double_le(fabs(area + .75 * 25.4), 1e-3);
    ck_assert_double_le(fabs(sheet.height_mm[sheet.heights - 1] + .375 * 25.4), 1e-3);
}
END_TEST

START_TEST(moves_that_are_none)
{
    struct sheet_leg leg[SHEET_LEGS_MAX];
    int legs;
    struct sheet_move move = {.to_nm = in(1), .rate_nm_s = in(.5), .gain_nm_s2 = in(2)};
    ck_assert(sheet_legs(&move, leg, &legs));
    ck_assert_int_eq(legs, 1);
    move.rate_nm_s = 0;
    ck_assert(!sheet_legs(&move, leg, &legs));
    move.rate_nm_s = in(.5);
    move.gain_nm_s2 = -1;
    ck_assert(!sheet_legs(&move, leg, &legs));
    move.gain_nm_s2 = in(2);
    move.to_nm = 0;
    ck_assert(!sheet_legs(&move, leg, &legs));
    move.to_nm = LENGTH_NM_MAX;
    ck_assert(!sheet_legs(&move, leg, &legs));
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("drawing");
    TCase *cases = tcase_create("drawing");
    tcase_add_test(cases, every_mark_stands_at_its_height);
    tcase_add_test(cases, the_worked_finger_joint);
    tcase_add_test(cases, turned_marks_are_drawn_where_they_come_out);
    tcase_add_test(cases, random_finger_joints);
    tcase_add_test(cases, a_pass_plan);
    tcase_add_test(cases, moves_as_published);
    tcase_add_test(cases, a_move_downward_finishes_upward);
    tcase_add_test(cases, moves_that_are_none);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
