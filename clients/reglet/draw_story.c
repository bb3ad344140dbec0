/* SPDX-License-Identifier: MIT */
#include "clients/reglet/draw_story.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/drawing/sheet.h"
#include "clients/drawing/view_story.h"
#include "clients/reglet/file.h"
#include "clients/reglet/remake.h"
#include "clients/reglet/shelf.h"

static struct story_file story; /* of this run; too large for the stack */

enum { WHOSE_SIZE = STORY_NAME_SIZE + STORY_MADE_SIZE + 16 };

static void name_it(char whose[WHOSE_SIZE])
{
    (void)snprintf(whose, WHOSE_SIZE, "[%s]%s%s", story.name,
                   story.made_by[0] != '\0' ? "   made by: " : "", story.made_by);
}

/* Says that it is drawn, unless the drawing itself stands on stdout. */
static enum client_exit told(const struct run *run, enum client_exit code, const char *note)
{
    struct say say = {0};
    if (code != CLIENT_DONE || run->json || strcmp(run->draw, "-") == 0) {
        return code;
    }
    say_wrap(&say, "Drawn:", SAY_INDENT, "%.200s; look at it before you cut", run->draw);
    if (note[0] != '\0') {
        say_paragraph(&say, "Note:", SAY_INDENT, note);
    }
    run_print(&say);
    return code;
}

static enum client_exit draw_stick(const struct run *run, const char *note)
{
    static struct view view; /* too large for the stack */
    char whose[WHOSE_SIZE];
    name_it(whose);
    const struct sheet_text text = {
        .title = "Story", .made_by = whose, .note = note, .style = run->style};
    if (!view_story(&story, &view)) {
        run_say("No mark of this story has a height, so there is nothing to draw. 'reglet story "
                "print' writes its words as a cutting ticket.");
        return CLIENT_REFUSED;
    }
    char *svg = sheet_views(&text, &view, 1);
    if (!svg) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    bool good = file_write(run->draw, svg, run->replace);
    free(svg);
    return told(run, good ? CLIENT_DONE : CLIENT_USAGE, note);
}

/* Whose bits or stock have another size now, its drawing would show another joint. */
static const char other_note[] =
    "What made this story comes to other marks today, or to none: a bit or stock of the lift's "
    "list has another size or is gone. So its marks are drawn as they are kept; make the story "
    "again before you cut by it.";

static const char hand_note[] =
    "This story was written by hand and does not say what is cut: the stick is a rule with its "
    "heights on it, to scale, and no piece of stock.";

static enum client_exit draw_kept(struct run *run)
{
    struct plan_made made;
    struct plan_shop shop = {.run = run, .connected = true};
    enum remake how = remake_story(&story, &shop, &made);
    if (shop.trouble != CLIENT_DONE) {
        return shop.trouble;
    }
    if (how != REMAKE_DONE) {
        return draw_stick(run, how == REMAKE_OTHER ? other_note : hand_note);
    }
    char whose[WHOSE_SIZE];
    name_it(whose);
    made.made_by = whose;
    return told(run, plan_draw(run, &made), "");
}

enum client_exit draw_story(struct run *run)
{
    char why[WORDS_WHY];
    const char *name = words_only_name(run->count - 2, run->word + 2, why);
    if (!name) {
        return run_usage(run, run->count > 2 ? why
                                             : "expected the name of a story behind it, as in: "
                                               "draw sides.svg story sides");
    }
    run->draw = run->word[0];
    enum client_exit code = run_connect(run);
    if (code == CLIENT_DONE) {
        code = shelf_read(run, name, &story);
    }
    return code == CLIENT_DONE ? draw_kept(run) : code;
}
