/* SPDX-License-Identifier: MIT */
/* The cutting ticket: to hang by the table, and to tick. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/say.h"
#include "clients/common/stories.h"
#include "clients/story/story_file.h"

enum { NOTES_INDENT = 6 };

static bool seen_before(const struct story_file *story, size_t i)
{
    for (size_t j = 0; j < i; j++) {
        if (strcmp(story->mark[j].bit, story->mark[i].bit) == 0) {
            return true;
        }
    }
    return false;
}

static void add_bits(struct say *say, const struct story_file *story)
{
    struct say list = {0};
    for (size_t i = 0; i < story->count; i++) {
        if (story->mark[i].bit[0] != '\0' && !seen_before(story, i)) {
            say_add(&list, "%s%s", list.used > 0 ? ", " : "", story->mark[i].bit);
        }
    }
    say_paragraph(say, "Bits:", SAY_INDENT, list.used > 0 ? list.text : "the one that is fitted");
}

static void write_head(FILE *out, const struct story_file *story)
{
    struct say say = {0};
    say_add(&say, "CUTTING TICKET   ");
    say_harmless(&say, story->name);
    say_add(&say, "   %zu marks\n", story->count);
    if (story->made_by[0] != '\0') {
        say_paragraph(&say, "Made by:", SAY_INDENT, story->made_by);
    }
    add_bits(&say, story);
    say_add(&say, "\n");
    (void)fputs(say.text, out);
}

/* A box for each piece, where they are few. */
static void add_boxes(struct say *say, const struct story_mark *mark)
{
    say_add(say, "%*s%d piece%s: ", NOTES_INDENT, "", (int)mark->pieces,
            mark->pieces == 1 ? "" : "s");
    for (int i = 0; i < mark->pieces && mark->pieces <= 16; i++) {
        say_add(say, "[ ] ");
    }
    say_add(say, "%s\n", mark->pieces > 16 ? "______ cut" : "");
}

static void write_mark(FILE *out, const struct story_file *story, size_t i, enum length_style style)
{
    struct say say = {0};
    const struct story_mark *mark = &story->mark[i];
    bool other = i > 0 && strcmp(mark->bit, story->mark[i - 1].bit) != 0;
    if (other) {
        say_wrap(&say, "", 0, "---- CHANGE THE BIT: fit %.63s, touch off ----",
                 mark->bit[0] != '\0' ? mark->bit : "the one without a name");
    }
    say_add(&say, "[ ]   ");
    stories_mark_head(&say, mark, (int)i + 1, (int)story->count, style);
    say_add(&say, "\n");
    stories_mark_notes(&say, mark, NOTES_INDENT);
    if (mark->pieces > 0) {
        add_boxes(&say, mark);
    }
    (void)fputs(say.text, out);
}

static void write_tail(FILE *out)
{
    struct say say = {0};
    say_add(&say, "\n");
    say_wrap(&say, "", 0, "%s",
             "Cut a test piece first. Unplug the router before your hands go near the bit. No move "
             "with work on or over the bit. Guards on; eye and ear protection. Feed against the "
             "rotation, work against the fence, never between bit and fence.");
    (void)fputs(say.text, out);
}

char *story_ticket(const struct story_file *story, enum length_style style)
{
    char *text = NULL;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    if (!out) {
        return NULL;
    }
    write_head(out, story);
    for (size_t i = 0; i < story->count; i++) {
        write_mark(out, story, i, style);
    }
    write_tail(out);
    bool good = !ferror(out);
    if (fclose(out) != 0 || !good) {
        free(text);
        return NULL;
    }
    return text;
}
