/* SPDX-License-Identifier: MIT */
#include "clients/reglet/plan.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/stories.h"
#include "clients/common/words.h"
#include "clients/drawing/sheet.h"
#include "clients/reglet/file.h"
#include "clients/reglet/shelf.h"
#include "clients/story/story_plan.h"

static struct story_file story; /* too large for the stack */

enum client_exit plan_refused(const struct joint_plan *plan)
{
    run_say(plan->why);
    run_say("Nothing was asked of the lift.");
    return CLIENT_REFUSED;
}

static size_t add_option(char *text, size_t size, size_t used, const char *name, const char *value)
{
    int added = value && used < size ? snprintf(text + used, size - used, " --%s %s", name,
                                                value + strspn(value, " "))
                                     : 0;
    return used + (added > 0 ? (size_t)added : 0);
}

void plan_made_by(const struct run *run, char *text, size_t size)
{
    size_t used = (size_t)snprintf(text, size, "reglet %s", run->command->word);
    for (int i = 0; i < run->count && used < size; i++) {
        bool quote = strchr(run->word[i] + strspn(run->word[i], " "), ' ') != NULL;
        int added = snprintf(text + used, size - used, quote ? " '%s'" : " %s",
                             run->word[i] + strspn(run->word[i], " "));
        used += added > 0 ? (size_t)added : 0;
    }
    used = add_option(text, size, used, "from", run->from);
    used = add_option(text, size, used, "most", run->most);
    used = add_option(text, size, used, "last", run->last);
    used = add_option(text, size, used, "bit", run->bit);
    (void)add_option(text, size, used, "pieces", run->pieces);
}

/* --- Shown --- */

static void show_mark(const struct run *run, size_t i)
{
    struct say say = {0};
    const struct story_mark *mark = &story.mark[i];
    say_add(&say, "  ");
    stories_mark_head(&say, mark, (int)i + 1, (int)story.count, run->style);
    if (mark->pieces > 1) {
        say_add(&say, "   %d piece%s", (int)mark->pieces, mark->pieces == 1 ? "" : "s");
    }
    say_add(&say, "\n");
    stories_mark_notes(&say, mark, 6);
    run_print(&say);
}

static void show_tail(const struct run *run, const struct plan_made *made)
{
    struct say say = {0};
    if (made->plan->note[0] != '\0') {
        say_paragraph(&say, "Note:", SAY_INDENT, made->plan->note);
    }
    if (made->plan->shop.highest_nm == LENGTH_NM_MAX) {
        say_wrap(&say, "Travel:", SAY_INDENT, "%s",
                 "not looked at, since the bit is not the fitted one, touched off; the lift looks "
                 "at each mark before it moves");
    }
    say_wrap(&say, "Caution:", SAY_INDENT, "%s",
             "cut a test piece first; router unplugged before hands go near the bit; no work on or "
             "over the bit while it moves; guards on");
    if (run->draw) {
        say_wrap(&say, "Drawn:", SAY_INDENT, "%.200s; look at it before you cut", run->draw);
    }
    if (!run->keep) {
        /* The same line over again would be refused for the drawing that is there now. */
        say_wrap(&say, "Next:", SAY_INDENT, "the same %s'--keep NAME --load' to cut it",
                 run->draw ? "without the drawing, and with "
                           : "with '--draw FILE.svg' to look at it, with ");
    }
    run_print(&say);
}

static void show(const struct run *run, const struct plan_made *made)
{
    struct say say = {0};
    say_add(&say, "%s: %zu mark%s\n", made->title, story.count, story.count == 1 ? "" : "s");
    run_print(&say);
    for (size_t i = 0; i < story.count; i++) {
        show_mark(run, i);
    }
    show_tail(run, made);
}

/* --- Drawn --- */

enum client_exit plan_draw(const struct run *run, const struct plan_made *made)
{
    static struct view view[2]; /* too large for the stack */
    int views = 1;
    const struct sheet_text text = {.title = made->title,
                                    .made_by = made->made_by,
                                    .note = made->plan->note,
                                    .style = run->style};
    if (made->job) {
        views = view_joint(made->job, made->plan, view);
    } else {
        view_passes(made->plan, made->width_nm, view);
    }
    char *svg = sheet_views(&text, view, views);
    if (!svg) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    bool good = file_write(run->draw, svg, run->replace);
    free(svg);
    return good ? CLIENT_DONE : CLIENT_USAGE;
}

/* --- Kept --- */

static bool has_second(const struct joint_plan *plan)
{
    for (int i = 0; i < plan->count; i++) {
        if (plan->mark[i].bit == JOINT_SECOND_BIT) {
            return true;
        }
    }
    return false;
}

static enum client_exit load(struct run *run)
{
    cJSON *params = words_params_text("name", story.name);
    return params ? run_call_status(run, "load", params, stories_show)
                  : run_trouble(run, CLIENT_NO_MEMORY);
}

static enum client_exit connect(struct run *run, struct plan_shop *shop)
{
    enum client_exit code = shop->connected ? CLIENT_DONE : run_connect(run);
    shop->connected = shop->connected || code == CLIENT_DONE;
    return code;
}

static enum client_exit keep(struct run *run, struct plan_shop *shop)
{
    struct say say = {0};
    enum client_exit code = connect(run, shop);
    if (code == CLIENT_DONE) {
        code = shelf_keep(run, &story, run->replace);
    }
    if (code != CLIENT_DONE || run->json) {
        return code;
    }
    say_add(&say, "Kept the story ");
    say_harmless(&say, story.name);
    say_add(&say, ", %zu marks.%s", story.count, run->load ? "\n" : "");
    if (!run->load) {
        say_add(&say, " Next: '%s load ", run_name(run));
        say_harmless(&say, story.name);
        say_add(&say, "'.\n");
    }
    run_print(&say);
    return run->load ? load(run) : CLIENT_DONE;
}

static enum client_exit check(const struct run *run, const struct plan_made *made, char *why)
{
    if (run->load && !run->keep) {
        return run_usage(run, "--load belongs to --keep NAME");
    }
    if (run->keep && !words_only_name(1, (char *const *)&run->keep, why)) {
        return run_usage(run, why);
    }
    if (run->keep && has_second(made->plan) && (!made->bit[0] || !made->second[0])) {
        return run_usage(run,
                         "a story of two bits needs both by their names, or nobody can tell "
                         "whether the right one is fitted; keep them in the lift's list first");
    }
    return CLIENT_DONE;
}

enum client_exit plan_use(struct run *run, struct plan_shop *shop, const struct plan_made *made)
{
    char why[WORDS_WHY];
    enum client_exit code = check(run, made, why);
    if (code != CLIENT_DONE) {
        return code;
    }
    story_of_plan(made->plan, made->bit, made->second, &story);
    (void)snprintf(story.made_by, sizeof story.made_by, "%s", made->made_by);
    (void)snprintf(story.name, sizeof story.name, "%s", run->keep ? run->keep : "");
    if (run->draw) {
        code = plan_draw(run, made);
    }
    if (code != CLIENT_DONE || (run->draw && strcmp(run->draw, "-") == 0)) {
        return code;
    }
    if (!run->json) {
        show(run, made);
    } else if (!run->keep) {
        char *text = story_file_print(&story, STORY_FORM_JSON, run->style);
        (void)fputs(text ? text : "", stdout);
        free(text);
        return text ? CLIENT_DONE : run_trouble(run, CLIENT_NO_MEMORY);
    }
    return run->keep ? keep(run, shop) : CLIENT_DONE;
}
