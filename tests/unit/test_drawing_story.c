/* SPDX-License-Identifier: MIT */
/* The drawing of a story that was written by hand, read back: each mark's line is at its height. */
#include <stdio.h>
#include <stdlib.h>

#include "clients/common/say.h"
#include "clients/drawing/sheet.h"
#include "clients/drawing/view_story.h"
#include "tests/seed.h"
#include "tests/suite.h"
#include "tests/unit/drawing_read.h"

enum { TRIALS = 40 };

static struct story_file story;
static struct view view;

static void add(int64_t height_nm, const char *part, const char *bit, const char *words)
{
    struct story_mark *mark = &story.mark[story.count++];
    *mark = (struct story_mark){.has_height = true, .height_nm = height_nm};
    snprintf(mark->part, sizeof mark->part, "%s", part);
    snprintf(mark->bit, sizeof mark->bit, "%s", bit);
    snprintf(mark->words, sizeof mark->words, "%s", words);
}

static void add_note(const char *fence)
{
    struct story_mark *mark = &story.mark[story.count++];
    *mark = (struct story_mark){.has_height = false};
    snprintf(mark->fence, sizeof mark->fence, "%s", fence);
}

static void draw(void)
{
    const struct sheet_text about = {"Story", "", "A note.", LENGTH_STYLE_64};
    ck_assert(view_story(&story, &view));
    read_svg(sheet_views(&about, &view, 1));
    expect_legible("story");
}

static const struct polygon *level_of(int mark)
{
    for (int i = 0; i < sheet.polygons; i++) {
        const struct polygon *polygon = &sheet.polygon[i];
        if (polygon->mark == mark && strcmp(polygon->class, "level") == 0)
            return polygon;
    }
    return NULL;
}

static const struct text *text_of(const char *class, const char *text)
{
    for (int i = 0; i < sheet.texts; i++) {
        if (strcmp(sheet.text[i].class, class) == 0 && strcmp(sheet.text[i].text, text) == 0)
            return &sheet.text[i];
    }
    return NULL;
}

static void expect_level(int mark, int64_t height_nm)
{
    const struct polygon *level = level_of(mark);
    ck_assert_msg(level != NULL, "mark %d is not drawn", mark);
    struct bounds b = bounds_of(level);
    ck_assert_double_le(fabs(b.low - (double)height_nm), tolerance_nm());
    ck_assert_double_le(fabs(b.high - (double)height_nm), tolerance_nm());
    ck_assert_double_gt(b.right, b.left);
}

START_TEST(every_mark_is_a_line_at_its_height)
{
    static const double heights[] = {.25, 0, .375, -.0625, .5, .53125};
    char height[SAY_LENGTH_SIZE];
    char number[8];
    story = (struct story_file){.count = 0};
    add(in(.25), "", "straight-half", "First pass.");
    add_note("Fence to 2in from the bit.");
    add(in(.375), "", "straight-half", "Last pass.");
    add(in(-.0625), "", "", "");
    add(in(.5), "A", "slot", "Lower wall.");
    add(in(.53125), "B", "", "");
    draw();
    ck_assert_ptr_null(level_of(2));
    for (int mark = 1; mark <= 6; mark++) {
        if (mark == 2)
            continue;
        expect_level(mark, in(heights[mark - 1]));
        snprintf(number, sizeof number, "%d", mark);
        say_length(in(heights[mark - 1]), LENGTH_STYLE_64, height, sizeof height);
        const struct text *at = text_of("number", number);
        ck_assert_ptr_nonnull(at);
        ck_assert_str_eq(at[1].text, height);
        ck_assert_double_eq(at[0].y, at[1].y);
    }
    ck_assert_ptr_nonnull(text_of("small", "bit straight-half: First pass."));
    ck_assert_ptr_nonnull(text_of("small", "part A, bit slot: Lower wall."));
    ck_assert_ptr_nonnull(text_of("label", "17/32in")); /* from the table to the highest */
    ck_assert_ptr_nonnull(text_of("label", "1/16in"));  /* and to the lowest */
    ck_assert_double_le(bounds_of(level_of(5)).right, bounds_of(level_of(6)).left + tolerance_nm());
}
END_TEST

/* A letter of several bytes is not cut in two: the parser would refuse what is left. */
START_TEST(long_words_are_cut_at_a_letter)
{
    char words[200];
    for (int shift = 0; shift < 2; shift++) {
        size_t used = (size_t)snprintf(words, sizeof words, "%s", shift ? "x" : "");
        while (used + 3 < 180)
            used += (size_t)snprintf(words + used, sizeof words - used, "\xc3\xa9");
        story = (struct story_file){.count = 0};
        add(in(.25), "", "", words);
        draw();
    }
}
END_TEST

START_TEST(nothing_but_notes_is_not_drawn)
{
    story = (struct story_file){.count = 0};
    add_note("Fence to 2in from the bit.");
    ck_assert(!view_story(&story, &view));
}
END_TEST

START_TEST(random_stories)
{
    static const char *const parts[] = {"", "A", "B", "left"};
    for (int trial = 0; trial < TRIALS; trial++) {
        int marks = (int)between(1, STORY_MARKS_MAX);
        story = (struct story_file){.count = 0};
        for (int i = 0; i < marks; i++)
            add(between(-in(trial % 3), in(4)), parts[below(4)], "straight-half", "What to do.");
        draw();
        for (int mark = 1; mark <= marks; mark++)
            expect_level(mark, story.mark[mark - 1].height_nm);
    }
}
END_TEST

int main(void)
{
    read_seed();
    Suite *suite = suite_create("drawing of a story");
    TCase *cases = tcase_create("drawing of a story");
    tcase_add_test(cases, every_mark_is_a_line_at_its_height);
    tcase_add_test(cases, long_words_are_cut_at_a_letter);
    tcase_add_test(cases, nothing_but_notes_is_not_drawn);
    tcase_add_test(cases, random_stories);
    suite_add_tcase(suite, cases);
    return run_suite(suite);
}
