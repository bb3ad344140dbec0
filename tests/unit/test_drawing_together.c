/* SPDX-License-Identifier: MIT */
/*
 * Of joints of which one part is cut the sheet shows both together. Read back: the mating part has
 * the sizes that were given, to the scale that the sheet says, it lies where the cut is and nowhere
 * in the other part, and what is not given is said in words.
 */
#include <stdio.h>
#include <stdlib.h>

#include "clients/common/say.h"
#include "clients/drawing/sheet.h"
#include "tests/suite.h"
#include "tests/unit/drawing_read.h"
#include "tests/unit/joint_random.h"

enum { TRIALS = 40 };

static struct joint_plan plan;
static struct view view[2];

/* --- What was read --- */

static const struct polygon *nth(const char *class, int n)
{
    for (int i = 0; i < sheet.polygons; i++) {
        if (strcmp(sheet.polygon[i].class, class) == 0 && n-- == 0)
            return &sheet.polygon[i];
    }
    ck_abort_msg("%s: no polygon of class %s", line, class);
}

static int count_of(const char *class)
{
    int count = 0;
    for (int i = 0; i < sheet.polygons; i++)
        count += strcmp(sheet.polygon[i].class, class) == 0;
    return count;
}

/* All that is written, with common blanks. */
static bool is_said(const char *words)
{
    static char all[TEXTS * 40];
    size_t filled = 0;
    for (int i = 0; i < sheet.texts; i++) {
        for (const char *at = sheet.text[i].text; *at != '\0'; at++) {
            if (*at != '\xc2')
                all[filled++] = *at == '\xa0' ? ' ' : *at;
        }
        all[filled++] = ' ';
        ck_assert_uint_lt(filled, sizeof all - sizeof sheet.text[0].text);
    }
    all[filled] = '\0';
    return strstr(all, words) != NULL;
}

static void expect_said(const char *before, int64_t nm, const char *after)
{
    char size[SAY_LENGTH_SIZE];
    char words[2 * SAY_LENGTH_SIZE];
    say_length(nm, LENGTH_STYLE_64, size, sizeof size);
    snprintf(words, sizeof words, "%s%s%s", before, size, after);
    ck_assert_msg(is_said(words), "%s: '%s' is not said", line, words);
}

/* A clearance of nothing is said as well. */
static void expect_clearance(int64_t nm)
{
    if (nm > 0)
        expect_said("clearance, ", nm, "");
    else
        ck_assert_msg(is_said("no clearance"), "%s", line);
}

/* Two nanometres more: halves of odd sizes, twice. */
static void expect_nm(const char *what, double drawn, double given)
{
    ck_assert_msg(fabs(drawn - given) <= tolerance_nm() + 2, "%s: %s is %.0f, not %.0f", line, what,
                  drawn, given);
}

static void expect_corner(const struct polygon *polygon, double x_nm, double y_nm)
{
    for (int i = 0; i < polygon->points; i++) {
        if (fabs(real_nm(polygon->px[i] - polygon->x) - x_nm) <= tolerance_nm() + 2 &&
            fabs(real_nm(polygon->y - polygon->py[i]) - y_nm) <= tolerance_nm() + 2)
            return;
    }
    ck_abort_msg("%s: no corner at %.0f, %.0f", line, x_nm, y_nm);
}

/* By the even-odd rule (crossings of a ray to the right). */
static bool is_inside(const struct polygon *polygon, double x, double y)
{
    bool inside = false;
    for (int i = 0, k = polygon->points - 1; i < polygon->points; k = i++) {
        double yi = polygon->py[i];
        double yk = polygon->py[k];
        if ((yi > y) != (yk > y) &&
            x < polygon->px[i] + (y - yi) / (yk - yi) * (polygon->px[k] - polygon->px[i]))
            inside = !inside;
    }
    return inside;
}

/* Wood is nowhere in wood: looked at on a raster over each mate, a little within its sides. */
static void expect_apart(void)
{
    const struct polygon *own = nth("own", 0);
    for (int n = 0; n + 1 < count_of("mate"); n++) { /* the last one is in the key */
        const struct polygon *mate = nth("mate", n);
        double wide = mate->px[1] - mate->px[0];
        double high = mate->py[2] - mate->py[0];
        for (int i = 0; i <= 20; i++) {
            for (int j = 0; j <= 20; j++) {
                double x = mate->px[0] + wide * (i == 0 ? .001 : i == 20 ? .999 : i / 20.0);
                double y = mate->py[0] + high * (j == 0 ? .001 : j == 20 ? .999 : j / 20.0);
                bool in = fabs(wide) > .2 && fabs(high) > .2 && is_inside(own, x, y);
                ck_assert_msg(!in, "%s: the parts overlap", line);
            }
        }
    }
}

/* Nothing was cut off for want of room. */
static void expect_whole(void)
{
    for (int i = 0; i < sheet.texts; i++) {
        size_t length = strlen(sheet.text[i].text);
        ck_assert_msg(length < 3 || strcmp(sheet.text[i].text + length - 3, "...") != 0, "%s: %s",
                      line, sheet.text[i].text);
    }
}

/* --- What each kind gives --- */

static void check_dado(const struct joint_dado *in)
{
    struct bounds mate = bounds_of(nth("mate", 0));
    const struct polygon *own = nth("own", 0);
    double deep = (double)(in->depth_nm > 0 ? in->depth_nm : in->thick_nm / 3);
    double right = (double)(in->edge_nm + in->part_nm + in->clearance_nm);
    expect_nm("the shelf's thickness", mate.right - mate.left, (double)in->part_nm);
    expect_nm("one side's play", mate.left - (double)in->edge_nm, (double)in->clearance_nm / 2);
    expect_nm("the shelf's end", mate.high, deep);
    ck_assert_double_lt(mate.low, 0);
    expect_corner(own, (double)in->edge_nm, deep);
    expect_corner(own, right, deep);
    expect_nm("the stock", bounds_of(own).high, (double)in->thick_nm);
    ck_assert(is_said("shelf"));
    expect_clearance(in->clearance_nm);
    ck_assert(is_said("The length of the shelf is not given"));
}

static void check_rabbet(const struct joint_rabbet *in)
{
    struct bounds mate = bounds_of(nth("mate", 0));
    struct bounds own = bounds_of(nth("own", 0));
    double step = (double)(in->part_nm - in->tongue_nm);
    expect_nm("the mating part", mate.high - mate.low, step);
    expect_nm("its lower face", mate.low, 0);
    expect_nm("its edge", mate.right - own.left, (double)in->into_nm);
    expect_nm("the stock", own.high - own.low, (double)in->thick_nm);
    expect_corner(nth("own", 0), mate.right, step);
    ck_assert_double_lt(mate.left, own.left);
    expect_said("mating part, ", in->part_nm,
                in->tongue_nm > 0 ? " thick with its tongue" : " thick");
    ck_assert(is_said("The length of the mating part"));
    ck_assert(is_said("the place of its tongue") == (in->tongue_nm > 0));
}

static void check_lap(const struct joint_lap *in)
{
    struct bounds mate = bounds_of(nth("mate", 0));
    struct bounds own = bounds_of(nth("own", 0));
    double step = in->finished_nm > 0 ? (double)in->finished_nm : (double)in->thick_nm / 2;
    expect_nm("the other lap", mate.high - mate.low, step);
    expect_nm("its width", mate.right - mate.left, (double)in->length_nm);
    expect_nm("both", own.high - mate.low, (double)in->thick_nm);
    expect_corner(nth("own", 0), (double)in->length_nm, step);
    ck_assert(is_said("lap of the other part, "));
}

static void check_tenon(const struct joint_tenon *in)
{
    struct bounds lower = bounds_of(nth("mate", 0));
    struct bounds upper = bounds_of(nth("mate", 1));
    const struct polygon *own = nth("own", 0);
    double left = bounds_of(own).left;
    double half = (double)(in->mortise_nm - in->clearance_nm) / 2;
    double centre = (double)in->thick_nm / 2;
    expect_nm("the mortise", upper.low - lower.high, (double)in->mortise_nm);
    expect_nm("its middle", (upper.low + lower.high) / 2, centre);
    expect_corner(own, left, centre - half);
    expect_corner(own, left, centre + half);
    expect_nm("the shoulder", lower.right - left, (double)in->length_nm);
    expect_nm("the stock", bounds_of(own).high, (double)in->thick_nm);
    expect_said("tenon, ", in->mortise_nm - in->clearance_nm, " thick");
    expect_clearance(in->clearance_nm);
    ck_assert(is_said("How deep the mortise is"));
}

static void check_mortise(const struct joint_mortise *in)
{
    struct bounds mate = bounds_of(nth("mate", 0));
    double deep = (double)(in->tenon_nm + in->room_nm);
    double left = (double)(in->thick_nm - in->width_nm) / 2;
    expect_nm("the tenon's end", mate.high, (double)in->tenon_nm);
    expect_nm("the tenon's side", mate.left, left);
    expect_nm("its width", mate.right - mate.left, (double)in->width_nm);
    expect_corner(nth("own", 0), left, deep);
    expect_nm("the stock", bounds_of(nth("own", 0)).right, (double)in->thick_nm);
    expect_said("tenon of the other part, ", in->tenon_nm, " long");
    expect_said("room, ", in->room_nm, "");
    ck_assert(is_said("The thickness of the tenon and its shoulders are not given"));
}

static void check_drawer(const struct joint_drawer *in)
{
    struct bounds mate = bounds_of(nth("mate", 0));
    const struct polygon *own = nth("own", 0);
    double top = (double)(in->edge_nm + in->bottom_nm + in->clearance_nm);
    if (in->cutter.kind == JOINT_SLOT) {
        expect_nm("the bottom's thickness", mate.high - mate.low, (double)in->bottom_nm);
        expect_nm("the wall it lies on", mate.low, (double)in->edge_nm);
        expect_nm("its edge", mate.right - bounds_of(own).left, (double)in->into_nm);
        expect_nm("the side", bounds_of(own).right - bounds_of(own).left, (double)in->stock_nm);
        expect_corner(own, mate.right, top);
    } else {
        expect_nm("the bottom's thickness", mate.right - mate.left, (double)in->bottom_nm);
        expect_nm("the wall it lies on", mate.left, (double)in->edge_nm);
        expect_nm("its edge", mate.high, (double)in->into_nm);
        expect_nm("the side", bounds_of(own).high, (double)in->stock_nm);
        expect_corner(own, top, (double)in->into_nm);
    }
    ck_assert(is_said("drawer's bottom"));
    expect_clearance(in->clearance_nm);
}

static void check_panel(const struct joint_panel *in)
{
    struct bounds lower = bounds_of(nth("mate", 0));
    struct bounds upper = bounds_of(nth("mate", 1));
    struct bounds own = bounds_of(nth("own", 0));
    double edge = (double)(in->groove_nm - in->clearance_nm);
    expect_nm("the groove", upper.low - lower.high, (double)in->groove_nm);
    expect_nm("its middle", (upper.low + lower.high) / 2, own.high - edge / 2);
    expect_nm("the panel", own.high, (double)in->panel_nm);
    expect_corner(nth("own", 0), own.left, own.high - edge);
    ck_assert_double_lt(lower.right, own.left);
    expect_said("panel's edge, ", in->groove_nm - in->clearance_nm, " thick");
    expect_clearance(in->clearance_nm);
    ck_assert(is_said("drawn before the panel's edge"));
}

/* False: of this kind both parts are cut, or nothing of the other is given. */
static bool check_kind(void)
{
    switch (job.kind->joint) {
    case JOINT_IS_DADO:
        check_dado(&job.in.dado);
        return true;
    case JOINT_IS_RABBET:
        check_rabbet(&job.in.rabbet);
        return true;
    case JOINT_IS_LAP:
        check_lap(&job.in.lap);
        return true;
    case JOINT_IS_TENON:
        check_tenon(&job.in.tenon);
        return true;
    case JOINT_IS_MORTISE:
        check_mortise(&job.in.mortise);
        return true;
    case JOINT_IS_DRAWER:
        check_drawer(&job.in.drawer);
        return true;
    case JOINT_IS_PANEL:
        check_panel(&job.in.panel);
        return true;
    default:
        return false;
    }
}

/* False: this cannot be cut. */
static bool draw(void)
{
    const struct joint_shop shop = wide_shop();
    read_job();
    if (!joint_job_plan(&job, &shop, &plan))
        return false;
    const struct sheet_text about = {job.kind->title, line, plan.note, LENGTH_STYLE_64};
    read_svg(sheet_views(&about, view, view_joint(&job, &plan, view)));
    expect_legible(line);
    expect_whole();
    return true;
}

/* --- Tests --- */

static const char *const lines[] = {
    "drawer bottom .205in into 1/4in thick 1/2in kerf 5/32in",
    "drawer bottom .205in into 1/4in thick 1/2in bit 3/16in clearance 0in",
    "tenon thick .750in mortise .371in clearance 0in length 1in bit 1/2in",
    "tenon thick .750in mortise .375in clearance .02in length 1in bit 1/2in",
    "mortise thick 3/4in deep 3in width 1/4in length 2in tenon 1/2in bit 1/4in",
    "mortise thick 3/4in deep 1in width 3/8in length 2in tenon 1/2in room 1/8in bit 1/4in",
    "lap thick 3/4in length 2in bit 1/2in",
    "lap thick 3/4in finished .36in length 2in bit 1/2in",
    "rabbet thick 3/4in part 1/2in into 3/8in bit 1/2in",
    "rabbet thick 3/4in part 1/2in tongue 1/8in into 3/8in bit 1/2in",
    "dado thick 3/4in part .709in edge 2in bit 1/2in",
    "dado thick 3/4in part .709in edge 0in clearance 0in bit 1/2in most 0in",
    "dado thick 3/4in part .709in edge 8in bit 1/8in most .03in",
    "panel panel 5/8in groove 1/4in clearance 0in bit 3in reach 1-1/4in",
    "panel panel 5/8in groove 1/4in clearance .01in bit 3in",
};

START_TEST(the_mating_part_has_the_sizes_that_were_given)
{
    snprintf(line, sizeof line, "%s", lines[_i]);
    ck_assert_msg(draw(), "%s: %s", line, plan.why);
    ck_assert(check_kind());
    expect_apart();
}
END_TEST

/* Part .709 with .003 of play in a dado of .712 that begins 2 from the edge, 1/4 deep: the shelf is
 * from 2.0015 to 2.7105 (by hand). */
START_TEST(the_worked_dado)
{
    snprintf(line, sizeof line, "dado thick .75in part .709in clearance .003in edge 2in bit .5in");
    ck_assert(draw());
    struct bounds mate = bounds_of(nth("mate", 0));
    expect_nm("left", mate.left, 2.0015 * 25.4e6);
    expect_nm("right", mate.right, 2.7105 * 25.4e6);
    expect_nm("high", mate.high, .25 * 25.4e6);
    ck_assert_int_eq(count_of("own"), 1);
    ck_assert_int_eq(count_of("mate"), 2); /* and one in the key */
}
END_TEST

/* A groove's width has the clearance in it: how thick the other part is nobody said. */
START_TEST(what_is_not_given_is_left_out_and_said)
{
    snprintf(line, sizeof line, "groove width .209in edge 1/4in into 1/4in kerf 5/32in");
    ck_assert(draw());
    ck_assert(!check_kind());
    ck_assert_int_eq(count_of("mate") + count_of("own"), 0);
    ck_assert(is_said("The mating part is not drawn"));
}
END_TEST

START_TEST(random_sizes)
{
    for (int kind = 0; kind < KINDS; kind++) {
        int made = 0;
        for (int trial = 0; trial < TRIALS; trial++) {
            (void)say_kind(kind);
            if (!draw())
                continue;
            made++;
            if (check_kind())
                expect_apart();
            else
                ck_assert_int_eq(count_of("mate"), 0);
        }
        ck_assert_msg(made >= 3, "%s: %d made", joint_kinds[kind].word, made);
    }
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("drawing of both parts");
    TCase *cases = tcase_create("drawing of both parts");
    tcase_add_loop_test(cases, the_mating_part_has_the_sizes_that_were_given, 0,
                        (int)(sizeof lines / sizeof *lines));
    tcase_add_test(cases, the_worked_dado);
    tcase_add_test(cases, what_is_not_given_is_left_out_and_said);
    tcase_add_test(cases, random_sizes);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
