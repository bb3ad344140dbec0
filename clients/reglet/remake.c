/* SPDX-License-Identifier: MIT */
#include "clients/reglet/remake.h"

#include <stdio.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/plan_passes.h"
#include "clients/story/story_plan.h"

enum { WORDS_MOST = STORY_MADE_SIZE / 2 };

/* Of this run; too large for the stack. */
static struct joint_plan plan;
static struct joint_job job;
static struct story_file again;
static char bit[JOINT_NAME_SIZE];

/* --- The line that made it --- */

struct line {
    char text[STORY_MADE_SIZE];
    int count;
    char *word[WORDS_MOST + 1];
};

/* As plan_made_by writes it: parted by blanks, a word with blanks in it between quotes. */
static void split(const char *made_by, struct line *line)
{
    char *at = line->text;
    (void)snprintf(line->text, sizeof line->text, "%s", made_by);
    line->count = 0;
    for (at += strspn(at, " "); *at != '\0' && line->count < WORDS_MOST; at += strspn(at, " ")) {
        const char *end = *at == '\'' ? "'" : " ";
        at += *at == '\'';
        line->word[line->count++] = at;
        at += strcspn(at, end);
        if (*at != '\0') {
            *at++ = '\0';
        }
    }
    line->word[line->count] = NULL;
}

/* The words up to the next option, as one. They lie behind each other in the line. */
static char *joined(struct line *line, int *i)
{
    char *value = line->word[++*i];
    while (value && *i + 1 < line->count && strncmp(line->word[*i + 1], "--", 2) != 0) {
        line->word[*i + 1][-1] = ' ';
        (*i)++;
    }
    return value;
}

/* The line of `passes` as the options that it was. */
static bool read_options(struct line *line, struct run *run)
{
    const struct {
        const char *word;
        char **value;
    } options[] = {{"--from", &run->from},
                   {"--most", &run->most},
                   {"--last", &run->last},
                   {"--bit", &run->bit},
                   {"--pieces", &run->pieces}};
    enum { OPTIONS = sizeof options / sizeof *options };
    run->word = line->word + 2;
    for (int i = 2; i < line->count; i++) {
        int option = 0;
        while (option < OPTIONS && strcmp(options[option].word, line->word[i]) != 0) {
            option++;
        }
        if (option < OPTIONS) {
            *options[option].value = joined(line, &i);
        } else if (run->count == i - 2) {
            run->count++;
        } else {
            return false;
        }
    }
    return true;
}

/* --- The plan again --- */

/* Whatever was reached then holds all its heights, and what was turned for want of it lies above
 * them. */
static struct joint_shop travel_of(const struct story_file *story)
{
    struct joint_shop travel = {LENGTH_STYLE_64, LENGTH_NM_MAX, -LENGTH_NM_MAX};
    for (size_t i = 0; i < story->count; i++) {
        int64_t nm = story->mark[i].height_nm;
        travel.lowest_nm = nm - 1 < travel.lowest_nm ? nm - 1 : travel.lowest_nm;
        travel.highest_nm = nm + 1 > travel.highest_nm ? nm + 1 : travel.highest_nm;
    }
    return travel;
}

static bool is_same(const struct story_mark *one, const struct story_mark *other)
{
    return one->has_height == other->has_height && one->height_nm == other->height_nm &&
           strcmp(one->bit, other->bit) == 0 && strcmp(one->part, other->part) == 0 &&
           strcmp(one->fence, other->fence) == 0; /* where a width is that no height tells */
}

static bool comes_to(const struct story_file *story, const char *first, const char *second)
{
    bool same = (size_t)plan.count == story->count;
    story_of_plan(&plan, first, second, &again);
    for (size_t i = 0; same && i < story->count; i++) {
        same = is_same(&story->mark[i], &again.mark[i]);
    }
    return same;
}

static bool joint_again(const struct story_file *story, struct plan_shop *shop,
                        const struct joint_shop *travel, struct plan_made *made)
{
    struct line line;
    char why[JOINT_JOB_WHY];
    const struct joint_shelf shelf = plan_shop_shelf(shop);
    split(story->made_by, &line);
    if (!joint_job_read(line.count - 2, line.word + 2, words_bare(travel->style), &shelf, &job,
                        why)) {
        return false;
    }
    struct joint_shop reach = *travel;
    if (job.travel_said) {
        reach.lowest_nm = job.lowest_nm;
        reach.highest_nm = job.highest_nm;
    }
    *made = (struct plan_made){.plan = &plan,
                               .title = job.kind->title,
                               .bit = job.bit,
                               .second = job.second,
                               .made_by = story->made_by,
                               .job = &job};
    return joint_job_plan(&job, &reach, &plan) && comes_to(story, job.bit, job.second);
}

static bool passes_again(const struct story_file *story, struct plan_shop *shop,
                         const struct joint_shop *travel, struct plan_made *made)
{
    struct line line;
    char why[JOINT_JOB_WHY];
    struct joint_passes in;
    struct run run = {.style = travel->style};
    split(story->made_by, &line);
    if (!read_options(&line, &run) || !plan_passes_read(&run, &in, why) ||
        !plan_passes_bit(&run, shop, &in, bit, why)) {
        return false;
    }
    *made = (struct plan_made){.plan = &plan,
                               .title = "Passes",
                               .bit = bit,
                               .second = "",
                               .made_by = story->made_by,
                               .width_nm = in.cutter.width_nm};
    return joint_passes(&in, travel, &plan) && comes_to(story, bit, "");
}

typedef bool again_fn(const struct story_file *story, struct plan_shop *shop,
                      const struct joint_shop *travel, struct plan_made *made);

static bool with_bit(const struct story_file *story, const char *fitted, struct plan_shop *shop,
                     again_fn *make, struct plan_made *made)
{
    static const enum length_style styles[] = {LENGTH_STYLE_64, LENGTH_STYLE_MM, LENGTH_STYLE_IN,
                                               LENGTH_STYLE_32, LENGTH_STYLE_128};
    struct joint_shop travel = travel_of(story);
    (void)snprintf(shop->fitted, sizeof shop->fitted, "%s", fitted);
    for (size_t i = 0; i < sizeof styles / sizeof *styles && shop->trouble == CLIENT_DONE; i++) {
        travel.style = styles[i];
        if (make(story, shop, &travel, made)) {
            return true;
        }
    }
    return false;
}

/* The line does not say in which unit its bare numbers were, nor which bit was fitted then: what
 * comes to the story's marks is it. */
static bool found(const struct story_file *story, struct plan_shop *shop, again_fn *make,
                  struct plan_made *made)
{
    for (size_t i = 0; i < story->count; i++) {
        bool seen = i > 0 && strcmp(story->mark[i].bit, story->mark[i - 1].bit) == 0;
        if (!seen && with_bit(story, story->mark[i].bit, shop, make, made)) {
            return true;
        }
    }
    return false;
}

enum remake remake_story(const struct story_file *story, struct plan_shop *shop,
                         struct plan_made *made)
{
    static struct line line;
    split(story->made_by, &line);
    if (line.count < 3 || strcmp(line.word[0], "reglet") != 0) {
        return REMAKE_NONE;
    }
    bool joint = strcmp(line.word[1], "joint") == 0;
    if (!joint && strcmp(line.word[1], "passes") != 0) {
        return REMAKE_NONE;
    }
    return found(story, shop, joint ? joint_again : passes_again, made) ? REMAKE_DONE
                                                                        : REMAKE_OTHER;
}
