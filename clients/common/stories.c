/* SPDX-License-Identifier: MIT */
#include "clients/common/stories.h"

#include <stdio.h>
#include <string.h>

static const cJSON *member(const cJSON *object, const char *name)
{
    return cJSON_GetObjectItemCaseSensitive(object, name);
}

static int whole(const cJSON *object, const char *name)
{
    const cJSON *item = member(object, name);
    bool fits = cJSON_IsNumber(item) && item->valuedouble >= 0 && item->valuedouble <= 1e6;
    return fits ? (int)item->valuedouble : 0;
}

static void text_of(const cJSON *object, const char *name, char *out, size_t size)
{
    const cJSON *item = member(object, name);
    (void)snprintf(out, size, "%s", cJSON_IsString(item) ? item->valuestring : "");
}

struct story_mark stories_mark(const cJSON *object)
{
    struct story_mark mark = {.has_height = false};
    char word[8];
    const cJSON *height = member(object, "height_nm");
    mark.has_height = cJSON_IsNumber(height);
    mark.height_nm = mark.has_height ? (int64_t)height->valuedouble : 0; /* json_scan saw it */
    text_of(object, "bit", mark.bit, sizeof mark.bit);
    text_of(object, "words", mark.words, sizeof mark.words);
    text_of(object, "fence", mark.fence, sizeof mark.fence);
    text_of(object, "part", mark.part, sizeof mark.part);
    text_of(object, "router", word, sizeof word);
    for (int i = STORY_ROUTER_ANY; i <= STORY_ROUTER_ON; i++) {
        mark.router = strcmp(word, story_router_word(i)) == 0 ? (enum story_router)i : mark.router;
    }
    text_of(object, "dust", word, sizeof word);
    for (int i = STORY_DUST_ANY; i <= STORY_DUST_OFF; i++) {
        mark.dust = strcmp(word, story_dust_word(i)) == 0 ? (enum story_dust)i : mark.dust;
    }
    text_of(object, "lock", word, sizeof word);
    mark.lock = strcmp(word, "on") == 0;
    int pieces = whole(object, "pieces");
    mark.pieces = (uint16_t)(pieces <= STORY_PIECES_MAX ? pieces : STORY_PIECES_MAX);
    return mark;
}

const cJSON *stories_list(const cJSON *result, const char *name)
{
    const cJSON *list = member(result, name);
    return cJSON_IsArray(list) ? list : NULL;
}

bool stories_place(const struct show_lift *lift, struct stories_place *place)
{
    const cJSON *name = member(lift->story, "name");
    const cJSON *at = member(lift->story, "at");
    const cJSON *next = member(lift->story, "next");
    if (!cJSON_IsString(name)) {
        return false;
    }
    *place = (struct stories_place){.name = name->valuestring,
                                    .mark = whole(lift->story, "mark"),
                                    .marks = whole(lift->story, "marks"),
                                    .cut = whole(lift->story, "cut"),
                                    .at_known = cJSON_IsObject(at),
                                    .next_known = cJSON_IsObject(next)};
    place->at = stories_mark(at);
    place->next = stories_mark(next);
    return true;
}

/* --- One mark --- */

void stories_mark_head(struct say *say, const struct story_mark *mark, int number, int marks,
                       enum length_style style)
{
    char text[SAY_LENGTH_SIZE];
    say_add(say, "%d of %d", number, marks);
    if (mark->part[0] != '\0') {
        say_add(say, "   PART ");
        say_harmless(say, mark->part);
    }
    if (mark->has_height) {
        say_both(mark->height_nm, style, text, sizeof text);
        say_add(say, "   %s", text);
    } else {
        say_add(say, "   no height: nothing moves");
    }
    if (mark->bit[0] != '\0') {
        say_add(say, "   bit ");
        say_harmless(say, mark->bit);
    }
}

static void add_note(struct say *say, size_t indent, const char *label, const char *text)
{
    char line[STORY_TEXT_SIZE + 16];
    char left[16];
    if (text[0] == '\0') {
        return;
    }
    (void)snprintf(line, sizeof line, "%s%s", label, text);
    (void)snprintf(left, sizeof left, "%*s", (int)(indent < 15 ? indent : 15), "");
    say_paragraph(say, left, indent, line);
}

void stories_mark_notes(struct say *say, const struct story_mark *mark, size_t indent)
{
    static const char *const router[] = {"", "off, and run down", "running"};
    static const char *const dust[] = {"", "with the router", "runs", "off"};
    add_note(say, indent, "", mark->words);
    add_note(say, indent, strncmp(mark->fence, "Fence", 5) == 0 ? "" : "Fence: ", mark->fence);
    add_note(say, indent, "Router: ", router[mark->router]);
    add_note(say, indent, "Dust extraction: ", dust[mark->dust]);
    add_note(say, indent, "Carriage: ", mark->lock ? "its clamp holds" : "");
}

/* --- Where it is --- */

static void add_pieces(struct say *say, const struct stories_place *place)
{
    if (place->at.pieces > 0) {
        say_add(say, "   CUT %d OF %d", place->cut, (int)place->at.pieces);
    } else if (place->cut > 0) {
        say_add(say, "   CUT %d", place->cut);
    }
}

static void add_at(struct say *say, const struct stories_place *place, enum length_style style)
{
    size_t start = say->used;
    if (place->mark == 0 || !place->at_known) {
        say_add(say, "  BEFORE THE FIRST OF %d MARKS", place->marks);
    } else {
        say_add(say, "  MARK ");
        stories_mark_head(say, &place->at, place->mark, place->marks, style);
        add_pieces(say, place);
    }
    size_t line = say_columns(say->text + start);
    bool fits = line + sizeof "   []" - 1 + say_columns(place->name) <= SAY_COLUMNS;
    say_add(say, "%s[", fits ? "   " : "\n    ");
    say_harmless(say, place->name);
    say_add(say, "]\n");
    if (place->mark > 0 && place->at_known) {
        stories_mark_notes(say, &place->at, 4);
    }
}

/* What 'next' will do. */
static void add_to_come(struct say *say, const struct stories_place *place,
                        const struct show_lift *lift, enum length_style style)
{
    const char *name = lift->practice ? "reglet -p" : "reglet";
    char text[SAY_LENGTH_SIZE] = "a note, nothing moves";
    char left[80] = "";
    bool other = place->next.bit[0] != '\0' && strcmp(place->next.bit, lift->bit) != 0;
    if (place->next.has_height) {
        say_both(place->next.height_nm, style, text, sizeof text);
    }
    if (place->at.pieces > place->cut && place->mark > 0) {
        (void)snprintf(left, sizeof left, "cut %d more, '%s cut' after each; then ",
                       place->at.pieces - place->cut, name);
    }
    if (other) {
        say_wrap(say, "Next:", SAY_INDENT,
                 "%smark %d is cut by ANOTHER BIT, %s: '%s change', fit it, touch off, and then "
                 "'%s next': %s",
                 left, place->mark + 1, place->next.bit, name, name, text);
    } else {
        say_wrap(say, "Next:", SAY_INDENT, "%s'%s next' for mark %d: %s", left, name,
                 place->mark + 1, text);
    }
}

static void add_end(struct say *say, const struct stories_place *place,
                    const struct show_lift *lift)
{
    const char *name = lift->practice ? "reglet -p" : "reglet";
    if (place->at.pieces > place->cut) {
        say_wrap(say, "Next:", SAY_INDENT,
                 "cut %d more, '%s cut' after each; this is the last mark: then '%s abandon'",
                 place->at.pieces - place->cut, name, name);
    } else {
        say_wrap(say, "Next:", SAY_INDENT,
                 "this is the last mark: '%s abandon' when all is cut, or '%s back'", name, name);
    }
}

void stories_show(struct say *say, const struct show_lift *lift, enum length_style style)
{
    struct stories_place place;
    show_rest(say, lift, style);
    if (!stories_place(lift, &place)) {
        say_add(say, "  No story is loaded.\n");
        return;
    }
    add_at(say, &place, style);
    if (place.next_known) {
        add_to_come(say, &place, lift, style);
    } else {
        add_end(say, &place, lift);
    }
}

void stories_brief(struct say *say, const struct show_lift *lift)
{
    struct stories_place place;
    if (stories_place(lift, &place)) {
        const char *name = lift->practice ? "reglet -p" : "reglet";
        if (place.mark == 0) {
            say_wrap(say, "Story:", SAY_INDENT,
                     "%.63s, before the first of %d marks; '%s where' says what comes", place.name,
                     place.marks, name);
            return;
        }
        say_wrap(say, "Story:", SAY_INDENT, "%.63s, at mark %d of %d; '%s where' says what to cut",
                 place.name, place.mark, place.marks, name);
    }
}
