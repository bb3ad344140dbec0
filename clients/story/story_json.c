/* SPDX-License-Identifier: MIT */
/* A story as JSON. The strict scan comes first, so that what is walked here is well formed. */
#include <stdlib.h>
#include <string.h>

#include "clients/story/story_parts.h"
#include "protocol/json.h"
#include "protocol/json_walk.h"

/* --- Which line a value stands on: the parser keeps none --- */

/* The k-th member or item of the object or array that begins at `at`; for a member its name. */
static const char *child(const char *at, int k)
{
    bool object = *at == '{';
    at = json_past_space(at + 1);
    for (int i = 0; i < k; i++) {
        if (object) {
            at = json_past_space(json_past_space(json_past_string(at)) + 1);
        }
        at = json_past_space(json_past_value(at));
        at = json_past_space(at + 1); /* over the comma */
    }
    return at;
}

/* The value of a member whose name begins at `at`. */
static const char *value(const char *at)
{
    return json_past_space(json_past_space(json_past_string(at)) + 1);
}

static unsigned line_of(const char *text, const char *at)
{
    unsigned line = 1;
    for (; text < at; text++) {
        line += *text == '\n';
    }
    return line;
}

/* --- Reading --- */

struct reader {
    const char *text;
    const char *root; /* where its object begins */
    struct story_file *story;
    struct story_fault *fault;
};

static unsigned member_line(const struct reader *reader, int k)
{
    return line_of(reader->text, child(reader->root, k));
}

/* The first member that is wrong by itself tells the line; a mark with nothing in it is wrong as a
 * whole. */
static bool read_mark(const struct reader *reader, const cJSON *object, const char *at)
{
    struct story_file *story = reader->story;
    struct story_mark *mark = &story->mark[story->count];
    char why[STORY_WHY_SIZE];
    size_t number = story->count + 1;
    unsigned line = line_of(reader->text, at);
    int k = 0;
    *mark = (struct story_mark){.has_height = false};
    if (!story_room(story, line, reader->fault)) {
        return false;
    }
    for (const cJSON *item = cJSON_IsObject(object) ? object->child : NULL; item;
         item = item->next) {
        if (!story_member_read(item, number, mark, why, sizeof why)) {
            return story_refuse(reader->fault, line_of(reader->text, child(at, k)), "%s", why);
        }
        k++;
    }
    if (!story_mark_read(object, number, mark, why, sizeof why)) {
        return story_refuse(reader->fault, line, "%s", why);
    }
    story->count++;
    return true;
}

static bool read_marks(const struct reader *reader, const cJSON *array, int k)
{
    const char *at = value(child(reader->root, k));
    int i = 0;
    if (!cJSON_IsArray(array) || !array->child) {
        return story_refuse(reader->fault, member_line(reader, k),
                            "\"marks\" is no list of marks; [ {\"height\": \"1/4in\"} ] would do.");
    }
    for (const cJSON *item = array->child; item; item = item->next) {
        if (!read_mark(reader, item, child(at, i++))) {
            return false;
        }
    }
    return true;
}

static bool read_version(const struct reader *reader, const cJSON *item, int k)
{
    char text[32] = "no number";
    if (cJSON_IsNumber(item)) {
        (void)snprintf(text, sizeof text, "%.10g", item->valuedouble);
    }
    return story_set_version(text, member_line(reader, k), reader->fault);
}

static bool read_member(const struct reader *reader, const cJSON *item, int k)
{
    unsigned line = member_line(reader, k);
    if (strcmp(item->string, "version") == 0) {
        return read_version(reader, item, k);
    }
    if (strcmp(item->string, "marks") == 0) {
        return read_marks(reader, item, k);
    }
    bool name = strcmp(item->string, "name") == 0;
    if (!name && strcmp(item->string, "made_by") != 0) {
        return story_refuse(reader->fault, line,
                            "Nobody knows \"%.40s\" in a story; version, name, made_by or marks "
                            "would do.",
                            item->string);
    }
    if (!cJSON_IsString(item)) {
        return story_refuse(reader->fault, line, "\"%s\" is no text; one in quotes would do.",
                            item->string);
    }
    return name ? story_set_name(reader->story, item->valuestring, line, reader->fault)
                : story_set_made_by(reader->story, item->valuestring, line, reader->fault);
}

static bool read_all(const struct reader *reader, const cJSON *document)
{
    int k = 0;
    unsigned line = line_of(reader->text, reader->root);
    if (!cJSON_IsObject(document)) {
        return story_refuse(reader->fault, line,
                            "A story is a group in braces { } with a version and marks.");
    }
    if (!cJSON_GetObjectItemCaseSensitive(document, "version")) {
        return story_refuse(reader->fault, line,
                            "The story has no version; \"version\": %d would "
                            "do.",
                            STORY_VERSION);
    }
    for (const cJSON *item = document->child; item; item = item->next) {
        if (!read_member(reader, item, k++)) {
            return false;
        }
    }
    return reader->story->count > 0 ||
           story_refuse(reader->fault, line,
                        "The story has no marks; \"marks\": [ {\"height\": \"1/4in\"} ] would do.");
}

bool story_read_json(const char *text, size_t size, struct story_file *story,
                     struct story_fault *fault)
{
    struct json_fault wrong;
    struct reader reader = {text, json_past_space(text), story, fault};
    cJSON *document = json_parse(text, size, &wrong);
    if (!document) {
        return story_refuse(fault, wrong.line, "%s", wrong.text);
    }
    bool good = read_all(&reader, document);
    cJSON_Delete(document);
    return good;
}

/* --- Writing --- */

static void write_string(FILE *out, const char *text)
{
    cJSON *item = cJSON_CreateString(text);
    char *quoted = item ? cJSON_PrintUnformatted(item) : NULL;
    (void)fputs(quoted ? quoted : "\"\"", out);
    cJSON_free(quoted);
    cJSON_Delete(item);
}

static void write_member(FILE *out, const char *name, const char *text, bool *first)
{
    if (text[0] != '\0') {
        (void)fprintf(out, "%s\"%s\": ", *first ? "" : ", ", name);
        write_string(out, text);
        *first = false;
    }
}

static void write_mark(FILE *out, const struct story_mark *mark, enum length_style style)
{
    char height[LENGTH_TEXT_SIZE + 2] = "";
    bool first = true;
    if (mark->has_height) {
        story_height_text(mark->height_nm, style, height, sizeof height);
    }
    (void)fputs("    {", out);
    write_member(out, "height", height, &first);
    write_member(out, "bit", mark->bit, &first);
    write_member(out, "part", mark->part, &first);
    if (mark->pieces > 0) {
        (void)fprintf(out, "%s\"pieces\": %d", first ? "" : ", ", mark->pieces);
        first = false;
    }
    write_member(out, "router", story_router_word(mark->router), &first);
    write_member(out, "dust", story_dust_word(mark->dust), &first);
    write_member(out, "lock", story_lock_word(mark->lock), &first);
    write_member(out, "words", mark->words, &first);
    write_member(out, "fence", mark->fence, &first);
    (void)fputs("}", out);
}

void story_write_json(FILE *out, const struct story_file *story, enum length_style style)
{
    (void)fprintf(out, "{\n  \"version\": %d,\n", STORY_VERSION);
    if (story->name[0] != '\0') {
        (void)fputs("  \"name\": ", out);
        write_string(out, story->name);
        (void)fputs(",\n", out);
    }
    if (story->made_by[0] != '\0') {
        (void)fputs("  \"made_by\": ", out);
        write_string(out, story->made_by);
        (void)fputs(",\n", out);
    }
    (void)fputs("  \"marks\": [\n", out);
    for (size_t i = 0; i < story->count; i++) {
        write_mark(out, &story->mark[i], style);
        (void)fputs(i + 1 < story->count ? ",\n" : "\n", out);
    }
    (void)fputs("  ]\n}\n", out);
}
