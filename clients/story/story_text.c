/* SPDX-License-Identifier: MIT */
/* A story as plain text: HEIGHT | BIT | WORDS | fence ... | part A | pieces 8 | router off */
#include <string.h>

#include "clients/story/story_parts.h"

enum { FIELDS_MAX = 12 };

static char *trim(char *text)
{
    text += strspn(text, " \t");
    size_t size = strlen(text);
    while (size > 0 && strchr(" \t\r", text[size - 1])) {
        text[--size] = '\0';
    }
    return text;
}

/* Cuts the line at its bars, in place; \| is a bar and \\ a backslash of the text. -1: too many. */
static int split(char *line, char **field)
{
    int count = 1;
    char *to = line;
    field[0] = line;
    for (char *at = line; *at != '\0'; at++) {
        if (*at == '\\' && (at[1] == '|' || at[1] == '\\')) {
            *to++ = *++at;
        } else if (*at == '|') {
            if (count == FIELDS_MAX) {
                return -1;
            }
            *to++ = '\0';
            field[count++] = to;
        } else {
            *to++ = *at;
        }
    }
    *to = '\0';
    for (int i = 0; i < count; i++) {
        field[i] = trim(field[i]);
    }
    return count;
}

/* "pieces 8": the name in front of the first blank. */
static bool add_named(cJSON *mark, char *field, unsigned line, struct story_fault *fault)
{
    static const char *const names[] = {"fence", "part", "pieces", "router", "dust", "lock"};
    size_t size = strcspn(field, " \t");
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (strlen(names[i]) == size && memcmp(field, names[i], size) == 0) {
            const char *text = trim(field + size);
            return text[0] != '\0' ? story_add_member(mark, names[i], text, line, fault)
                                   : story_refuse(fault, line,
                                                  "Nothing stands behind '%s'. Say it, as in "
                                                  "'pieces 8', or leave it out.",
                                                  names[i]);
        }
    }
    return field[0] == '\0' ||
           story_refuse(fault, line,
                        "Nobody knows '%.60s'. Behind height, bit and words can stand: fence ..., "
                        "part A, pieces 8, router off, dust on, lock on.",
                        field);
}

static bool add_mark(struct story_file *story, char *text, unsigned line, struct story_fault *fault)
{
    static const char *const first[] = {"height", "bit", "words"};
    char *field[FIELDS_MAX];
    int count = split(text, field);
    cJSON *mark = cJSON_CreateObject();
    bool good = count > 0 ||
                story_refuse(fault, line, "There are more than %d fields in the line.", FIELDS_MAX);
    for (int i = 0; good && i < count; i++) {
        good = i < 3 ? story_add_member(mark, first[i], field[i], line, fault)
                     : add_named(mark, field[i], line, fault);
    }
    if (!good) {
        cJSON_Delete(mark);
        return false;
    }
    return story_add_object(story, mark, line, fault);
}

/* "name: sides"; NULL when the line is no such. */
static char *behind(char *line, const char *word)
{
    size_t size = strlen(word);
    return strncmp(line, word, size) == 0 && line[size] == ':' ? trim(line + size + 1) : NULL;
}

static bool read_line(struct story_file *story, char *text, unsigned line,
                      struct story_fault *fault)
{
    char *value;
    text = trim(text);
    if (text[0] == '\0' || text[0] == '#') {
        return true;
    }
    if ((value = behind(text, "version"))) {
        return story_set_version(value, line, fault);
    }
    if ((value = behind(text, "name"))) {
        return story_set_name(story, value, line, fault);
    }
    if ((value = behind(text, "made by"))) {
        return story_set_made_by(story, value, line, fault);
    }
    return add_mark(story, text, line, fault);
}

bool story_read_text(char *text, struct story_file *story, struct story_fault *fault)
{
    unsigned line = 0;
    char *next = text;
    while (next) {
        char *here = next;
        next = strchr(here, '\n');
        if (next) {
            *next++ = '\0';
        }
        if (!read_line(story, here, ++line, fault)) {
            return false;
        }
    }
    return story->count > 0 ||
           story_refuse(fault, line,
                        "There is no mark in the file. One line for each, with its "
                        "height and unit, would do: 1/4in");
}

/* --- Writing --- */

static void write_field(FILE *out, const char *text)
{
    for (; *text != '\0'; text++) {
        (void)fprintf(out, "%s%c", *text == '|' || *text == '\\' ? "\\" : "", *text);
    }
}

static void write_named(FILE *out, const char *name, const char *text)
{
    if (text[0] != '\0') {
        (void)fprintf(out, " | %s ", name);
        write_field(out, text);
    }
}

void story_write_text(FILE *out, const struct story_file *story, enum length_style style)
{
    (void)fprintf(out, "version: %d\n", STORY_VERSION);
    if (story->name[0] != '\0') {
        (void)fprintf(out, "name: %s\n", story->name);
    }
    if (story->made_by[0] != '\0') {
        (void)fprintf(out, "made by: %s\n", story->made_by);
    }
    (void)fputs("# height | bit | words | fence, part, pieces, router, dust, lock\n", out);
    for (size_t i = 0; i < story->count; i++) {
        const struct story_mark *mark = &story->mark[i];
        char text[LENGTH_TEXT_SIZE + 2] = "";
        if (mark->has_height) {
            story_height_text(mark->height_nm, style, text, sizeof text);
        }
        (void)fprintf(out, "%s | ", text);
        write_field(out, mark->bit);
        (void)fputs(" | ", out);
        write_field(out, mark->words);
        write_named(out, "fence", mark->fence);
        write_named(out, "part", mark->part);
        (void)snprintf(text, sizeof text, "%d", mark->pieces);
        write_named(out, "pieces", mark->pieces > 0 ? text : "");
        write_named(out, "router", story_router_word(mark->router));
        write_named(out, "dust", story_dust_word(mark->dust));
        write_named(out, "lock", story_lock_word(mark->lock));
        (void)fputs("\n", out);
    }
}
