/* SPDX-License-Identifier: MIT */
/*
 * Every kind of joint with random sizes, drawn and read back: nothing leaves the page, no label
 * lies over another, what is cut lies within the stock, and each mark has its number and height.
 */
#include <stdio.h>
#include <stdlib.h>

#include "clients/common/say.h"
#include "clients/drawing/sheet.h"
#include "tests/suite.h"
#include "tests/unit/drawing_read.h"
#include "tests/unit/joint_random.h"

enum { TRIALS = 30 };

static struct joint_plan plan;
static struct view view[2];

static void expect_within_stock(void)
{
    for (int i = 0; i < sheet.polygons; i++) {
        const struct polygon *polygon = &sheet.polygon[i];
        if (polygon->mark == 0 || strcmp(polygon->class, "cut") != 0)
            continue;
        const struct view *its = &view[strcmp(polygon->part, "B") == 0];
        struct bounds b = bounds_of(polygon);
        ck_assert_msg(b.low >= -tolerance_nm() && b.left >= -tolerance_nm() &&
                          b.high <= (double)its->high_nm + tolerance_nm() &&
                          b.right <= (double)its->wide_nm + tolerance_nm(),
                      "%s: mark %d", line, polygon->mark);
    }
}

/* Is the number written, and the height beside it? Where marks are many, some have none. */
static bool is_labelled(int mark)
{
    char number[16];
    char height[SAY_LENGTH_SIZE];
    snprintf(number, sizeof number, "%d", mark);
    say_length(plan.mark[mark - 1].height_nm, LENGTH_STYLE_64, height, sizeof height);
    for (int i = 0; i + 1 < sheet.texts; i++) {
        if (strcmp(sheet.text[i].class, "number") == 0 && strcmp(sheet.text[i].text, number) == 0)
            return strncmp(sheet.text[i + 1].text, height, strlen(height)) == 0;
    }
    return false;
}

static void draw(int views)
{
    const struct sheet_text about = {job.kind->title, line, plan.note, LENGTH_STYLE_64};
    read_svg(sheet_views(&about, view, views));
    expect_legible(line);
    expect_within_stock();
}

START_TEST(every_kind_over_random_sizes)
{
    const struct joint_shop shop = wide_shop();
    for (int kind = 0; kind < KINDS; kind++) {
        int made = 0;
        for (int trial = 0; trial < TRIALS; trial++) {
            (void)say_kind(kind);
            read_job();
            if (!joint_job_plan(&job, &shop, &plan))
                continue;
            made++;
            int views = view_joint(&job, &plan, view);
            draw(views);
            bool all = view[0].labels <= 40 && (views < 2 || view[1].labels <= 40);
            for (int mark = 1; all && mark <= plan.count; mark++)
                ck_assert_msg(is_labelled(mark), "%s: mark %d", line, mark);
        }
        ck_assert_msg(made >= 3, "%s: %d made", joint_kinds[kind].word, made);
    }
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("drawing of every kind");
    TCase *cases = tcase_create("drawing of every kind");
    tcase_add_test(cases, every_kind_over_random_sizes);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
