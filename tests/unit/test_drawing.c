/* SPDX-License-Identifier: MIT */
/*
 * Drawings read back by an XML parser (expat): every mark's cutter stands at its height to the
 * scale that the sheet says, its number and its height are written, nothing leaves the page or lies
 * over another.
 */
#include <stdio.h>
#include <stdlib.h>

#include "clients/common/say.h"
#include "clients/drawing/sheet.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/drawing_read.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

enum { WORDS_MAX = 40 };

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

/* --- Profiles --- */

/* Of a polygon in the order of its points (the shoelace formula), in square nanometres. */
static double area_of(const struct polygon *polygon)
{
    double twice = 0;
    for (int i = 0; i < polygon->points; i++) {
        int k = (i + 1) % polygon->points;
        twice += real_nm(polygon->px[i]) * real_nm(polygon->py[k]) -
                 real_nm(polygon->px[k]) * real_nm(polygon->py[i]);
    }
    return fabs(twice) / 2;
}

static double cut_area(const char *part)
{
    double area = 0;
    for (int i = 0; i < sheet.polygons; i++) {
        const struct polygon *polygon = &sheet.polygon[i];
        if (polygon->mark > 0 && strcmp(polygon->class, "cut") == 0 &&
            strcmp(polygon->part, part) == 0)
            area += area_of(polygon);
    }
    return area;
}

static bool is_said(const char *words)
{
    char all[4000] = "";
    size_t used = 0;
    for (int i = 0; i < sheet.texts; i++) /* a sentence goes on in the next line */
        used += (size_t)snprintf(all + used, sizeof all - used, "%s ", sheet.text[i].text);
    return strstr(all, words) != NULL;
}

/* A right angle is made by two mitres of 45 degrees: of each part goes half the square of its
 * thickness. The sides of every pass and of the bit lie at 45 degrees; at the last pass the bit's
 * reaches from the lower corner to the upper one. */
START_TEST(a_lock_mitre_is_drawn_as_a_mitre)
{
    draw("lock-mitre thick 3/4 bit 2-3/4 cutting-length 7/8 passes 4");
    double thick = .75 * 25.4e6;
    for (int p = 0; p < 2; p++)
        ck_assert_double_le(fabs(cut_area(p == 0 ? "A" : "B") - thick * thick / 2),
                            4 * thick * tolerance_nm());
    int bits = 0;
    for (int i = 0; i < sheet.polygons; i++) {
        const struct polygon *polygon = &sheet.polygon[i];
        if (polygon->mark == 0 || strcmp(polygon->class, "cutter") != 0)
            continue;
        double run = real_nm(polygon->px[1] - polygon->px[2]);
        double rise = real_nm(polygon->py[1] - polygon->py[2]);
        int pass = (polygon->mark - 1) % 4 + 1;
        ck_assert_double_le(fabs(run - rise), 2 * tolerance_nm());
        ck_assert_double_le(fabs(real_nm(polygon->px[1] - polygon->x) +
                                 real_nm(polygon->y - polygon->py[1]) - pass * thick / 4),
                            2 * tolerance_nm());
        bits++;
    }
    ck_assert_int_eq(bits, 8);
    for (int mark = 1; mark <= 8; mark++)
        expect_label(mark);
    ck_assert(
        is_said("lock, tongue and groove about the centre line, is the bit's own and not drawn"));
    expect_legible("lock-mitre");
    expect_inside("lock-mitre");
}
END_TEST

/* Where only the centre is known, the centre is what is drawn, and the sheet says so. */
START_TEST(a_reverse_glue_joint_says_what_is_schematic)
{
    draw("glue thick 3/4 bit 2 above-centre 3/8 cutting-length 3/4");
    int bits = 0;
    for (int i = 0; i < sheet.polygons; i++) {
        const struct polygon *polygon = &sheet.polygon[i];
        if (polygon->mark == 0 || strcmp(polygon->class, "cutter") != 0)
            continue;
        struct bounds b = bounds_of(polygon);
        ck_assert_double_le(fabs((b.low + b.high) / 2 - .375 * 25.4e6), tolerance_nm());
        ck_assert_double_le(fabs(b.high - b.low - .75 * 25.4e6), 2 * tolerance_nm());
        bits++;
    }
    ck_assert_int_eq(bits, 6);
    ck_assert(cut_area("A") == 0); /* nobody knows what is taken */
    ck_assert(is_said("The profile's shape is the bit's own and not known here"));
    expect_legible("glue");
}
END_TEST

/* 5/8 - 1/4, reach 1-1/4: half of 3/8 by 1-1/4 goes, and 1/4 is left at the edge. */
START_TEST(a_raised_panel_is_drawn_with_a_bevel)
{
    draw("panel panel 5/8 groove 1/4 clearance 0 bit 3 reach 1-1/4");
    double triangle = .375 * 1.25 / 2 * 25.4e6 * 25.4e6;
    ck_assert_double_le(fabs(cut_area("") - triangle), 4 * 25.4e6 * tolerance_nm());
    for (int i = 0; i < sheet.polygons; i++) {
        const struct polygon *polygon = &sheet.polygon[i];
        if (polygon->mark == plan.count && strcmp(polygon->class, "cut") == 0)
            ck_assert_double_le(fabs(bounds_of(polygon).right - 1.25 * 25.4e6), tolerance_nm());
    }
    ck_assert(is_said("a straight bevel stands for it"));
    ck_assert(!is_said("as wide as half the bit"));
    draw("panel panel 5/8 groove 1/4 clearance 0 bit 3");
    ck_assert(is_said("as wide as half the bit"));
}
END_TEST

/* Three sockets and the cuts between tails, all of one bit: D 1/2 at the tip, and with no clearance
 * as wide at the mouth as what two tips leave of the spacing, S - D. */
START_TEST(half_blind_dovetails_are_drawn_as_both_parts)
{
    draw("dovetail spacing 7/8 front 3/4 bit 1/2 slope 14");
    double mouth = (.875 - .5) * 25.4e6; /* D - 2h tan = S - D where nothing is left between */
    int cuts = 0;
    for (int i = 0; i < sheet.polygons; i++) {
        const struct polygon *polygon = &sheet.polygon[i];
        if (polygon->mark == 0 || strcmp(polygon->class, "cut") != 0)
            continue;
        double low = real_nm(polygon->px[1] - polygon->px[0]);
        double high = real_nm(polygon->px[2] - polygon->px[3]);
        ck_assert_double_le(fabs(low - mouth), 2 * tolerance_nm());
        ck_assert_double_le(fabs(high - .5 * 25.4e6), 2 * tolerance_nm());
        cuts++;
    }
    ck_assert_int_eq(cuts, 5);
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

int main(void)
{
    read_seed();
    Suite *suite = suite_create("drawing");
    TCase *cases = tcase_create("drawing");
    tcase_add_test(cases, every_mark_stands_at_its_height);
    tcase_add_test(cases, the_worked_finger_joint);
    tcase_add_test(cases, turned_marks_are_drawn_where_they_come_out);
    tcase_add_test(cases, random_finger_joints);
    tcase_add_test(cases, a_lock_mitre_is_drawn_as_a_mitre);
    tcase_add_test(cases, a_reverse_glue_joint_says_what_is_schematic);
    tcase_add_test(cases, a_raised_panel_is_drawn_with_a_bevel);
    tcase_add_test(cases, half_blind_dovetails_are_drawn_as_both_parts);
    tcase_add_test(cases, a_pass_plan);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
