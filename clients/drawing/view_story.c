/* SPDX-License-Identifier: MIT */
#include "clients/drawing/view_story.h"

#include <stdio.h>
#include <string.h>

/* The stick is so many times as long as wide: it is a rule, and no piece of stock. */
enum { SLENDER = 8, LEAST_NM = 1000000 };

static bool span(const struct story_file *story, int64_t *low_nm, int64_t *high_nm)
{
    bool any = false;
    *low_nm = *high_nm = 0;
    for (size_t i = 0; i < story->count; i++) {
        const struct story_mark *mark = &story->mark[i];
        if (mark->has_height) {
            *low_nm = mark->height_nm < *low_nm ? mark->height_nm : *low_nm;
            *high_nm = mark->height_nm > *high_nm ? mark->height_nm : *high_nm;
            any = true;
        }
    }
    if (*high_nm - *low_nm < LEAST_NM) { /* all at the table: a stick has a length */
        *high_nm = *low_nm + LEAST_NM;
    }
    return any;
}

static void put_level(struct view *view, const struct story_mark *mark, int number)
{
    bool a = strcmp(mark->part, "A") == 0;
    bool b = strcmp(mark->part, "B") == 0;
    int64_t x0 = b ? view->wide_nm / 2 : 0;
    int64_t x1 = a ? view->wide_nm / 2 : view->wide_nm;
    struct view_shape *shape = &view->shape[view->shapes++];
    struct view_label *label = &view->label[view->labels++];
    const char *part = mark->part[0] != '\0' ? "part " : "";
    const char *then = mark->part[0] != '\0' && mark->bit[0] != '\0' ? ", " : "";
    const char *bit = mark->bit[0] != '\0' ? "bit " : "";
    *shape = (struct view_shape){.what = VIEW_LEVEL,
                                 .mark = number,
                                 .point = {{x0, mark->height_nm},
                                           {x1, mark->height_nm},
                                           {x1, mark->height_nm},
                                           {x0, mark->height_nm}}};
    *label = (struct view_label){
        .mark = number, .height_nm = mark->height_nm, .x_nm = x1, .y_nm = mark->height_nm};
    (void)snprintf(label->note, sizeof label->note, "%s%.7s%s%s%.63s%s%.239s", part, mark->part,
                   then, bit, mark->bit, part[0] != '\0' || bit[0] != '\0' ? ": " : "",
                   mark->words);
}

static void put_dim(struct view *view, int64_t from_nm, int64_t to_nm)
{
    if (from_nm < to_nm) {
        view->dim[view->dims++] = (struct view_dim){true, from_nm, to_nm, ""};
    }
}

bool view_story(const struct story_file *story, struct view *view)
{
    memset(view, 0, sizeof *view);
    if (!span(story, &view->low_nm, &view->high_nm)) {
        return false;
    }
    view->part = JOINT_EACH;
    view->wide_nm = (view->high_nm - view->low_nm) / SLENDER;
    view->notes = true;
    view->edge = "table: heights are over it";
    (void)snprintf(view->title, sizeof view->title, "Story stick");
    put_dim(view, 0, view->high_nm);
    put_dim(view, view->low_nm, 0);
    for (size_t i = 0; i < story->count; i++) {
        if (story->mark[i].has_height) {
            put_level(view, &story->mark[i], (int)i + 1);
        }
    }
    return true;
}
