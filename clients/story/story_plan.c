/* SPDX-License-Identifier: MIT */
#include "clients/story/story_plan.h"

#include <stdio.h>
#include <string.h>

_Static_assert((int)JOINT_WORDS <= (int)STORY_TEXT_SIZE, "a mark's words fit a story");
_Static_assert((int)JOINT_MARKS_MAX <= (int)STORY_MARKS_MAX, "a plan's marks fit a story");

static void set_mark(const struct joint_mark *from, const char *bit, struct story_mark *to)
{
    *to = (struct story_mark){.has_height = true, .height_nm = from->height_nm};
    to->pieces = (uint16_t)(from->pieces > STORY_PIECES_MAX ? STORY_PIECES_MAX : from->pieces);
    (void)snprintf(to->bit, sizeof to->bit, "%s", bit);
    (void)snprintf(to->words, sizeof to->words, "%s", from->words);
    (void)snprintf(to->fence, sizeof to->fence, "%s", from->fence);
    (void)snprintf(to->part, sizeof to->part, "%s",
                   from->part == JOINT_A   ? "A"
                   : from->part == JOINT_B ? "B"
                                           : "");
}

void story_of_plan(const struct joint_plan *plan, const char *bit, const char *second,
                   struct story_file *story)
{
    memset(story, 0, sizeof *story);
    for (int i = 0; i < plan->count; i++) {
        const struct joint_mark *mark = &plan->mark[i];
        set_mark(mark, mark->bit == JOINT_SECOND_BIT ? second : bit, &story->mark[i]);
    }
    story->count = (size_t)plan->count;
}
