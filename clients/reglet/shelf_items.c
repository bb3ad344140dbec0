/* SPDX-License-Identifier: MIT */
/* Stories in the file that the shop's lists are taken to another lift by. */
#include <stdio.h>
#include <string.h>

#include "clients/common/stories.h"
#include "clients/reglet/shelf.h"

enum client_exit shelf_names(struct run *run, cJSON **names)
{
    struct client_answer answer = {0};
    enum client_exit code = run_call(run, "stories", NULL, &answer);
    const cJSON *item;
    *names = NULL;
    if (code == CLIENT_DONE && answer.error) {
        code = run_tell(run, &answer);
    } else if (code == CLIENT_DONE) {
        const cJSON *list = stories_list(answer.result, "stories");
        *names = list ? cJSON_CreateArray() : NULL;
        cJSON_ArrayForEach(item, list)
        {
            const cJSON *name = cJSON_GetObjectItemCaseSensitive(item, "name");
            if (cJSON_IsString(name)) {
                (void)cJSON_AddItemToArray(*names, cJSON_CreateString(name->valuestring));
            }
        }
        code = *names ? CLIENT_DONE : run_trouble(run, CLIENT_GARBLED);
    }
    client_answer_free(&answer);
    return code;
}

/* NULL when memory is short. */
static cJSON *item_of(const struct story_file *story)
{
    cJSON *item = cJSON_CreateObject();
    bool whole =
        cJSON_AddStringToObject(item, "name", story->name) &&
        (story->made_by[0] == '\0' || cJSON_AddStringToObject(item, "made_by", story->made_by));
    cJSON *marks = whole ? cJSON_AddArrayToObject(item, "marks") : NULL;
    whole = marks != NULL;
    for (size_t i = 0; i < story->count && whole; i++) {
        cJSON *mark = story_mark_print(&story->mark[i], false);
        whole = mark && cJSON_AddItemToArray(marks, mark);
    }
    if (!whole) {
        cJSON_Delete(item);
        return NULL;
    }
    return item;
}

enum client_exit shelf_add_all(struct run *run, cJSON *document)
{
    static struct story_file story;
    cJSON *names;
    const cJSON *name;
    enum client_exit code = shelf_names(run, &names);
    cJSON *list = cJSON_AddArrayToObject(document, SHELF_LIST);
    cJSON_ArrayForEach(name, names)
    {
        if (code == CLIENT_DONE) {
            code = shelf_read(run, name->valuestring, &story);
        }
        cJSON *item = code == CLIENT_DONE ? item_of(&story) : NULL;
        if (code == CLIENT_DONE && !(item && cJSON_AddItemToArray(list, item))) {
            code = run_trouble(run, CLIENT_NO_MEMORY);
        }
    }
    cJSON_Delete(names);
    return code;
}

static bool take_text(const cJSON *item, const char *name, char *text, size_t size)
{
    const cJSON *value = cJSON_GetObjectItemCaseSensitive(item, name);
    bool fits = !value || (cJSON_IsString(value) && strlen(value->valuestring) < size);
    (void)snprintf(text, size, "%s", value && fits ? value->valuestring : "");
    return fits;
}

bool shelf_item(const cJSON *item, struct story_file *story, char *why, size_t size)
{
    const cJSON *mark;
    const cJSON *marks = cJSON_GetObjectItemCaseSensitive(item, "marks");
    memset(story, 0, sizeof *story);
    if (!take_text(item, "name", story->name, sizeof story->name) || story->name[0] == '\0' ||
        !take_text(item, "made_by", story->made_by, sizeof story->made_by)) {
        (void)snprintf(why, size, "has a story whose name or maker is none");
        return false;
    }
    if (cJSON_GetArraySize(marks) < 1 || cJSON_GetArraySize(marks) > STORY_MARKS_MAX) {
        (void)snprintf(why, size, "has a story '%s' of %d marks; 1 to %d would do", story->name,
                       cJSON_GetArraySize(marks), STORY_MARKS_MAX);
        return false;
    }
    cJSON_ArrayForEach(mark, marks)
    {
        char fault[STORY_WHY_SIZE];
        if (!story_mark_read(mark, story->count + 1, &story->mark[story->count], fault,
                             sizeof fault)) {
            int length = (int)strlen(fault) - 1; /* the caller ends the sentence */
            (void)snprintf(why, size, "has a story '%s' with a mistake. %.*s", story->name,
                           length > 0 ? length : 0, fault);
            return false;
        }
        story->count++;
    }
    return true;
}

static bool same_mark(const struct story_mark *a, const struct story_mark *b)
{
    return a->has_height == b->has_height && a->height_nm == b->height_nm &&
           strcmp(a->bit, b->bit) == 0 && strcmp(a->words, b->words) == 0 &&
           strcmp(a->fence, b->fence) == 0 && strcmp(a->part, b->part) == 0 &&
           a->pieces == b->pieces && a->router == b->router && a->dust == b->dust &&
           a->lock == b->lock;
}

bool shelf_same(const struct story_file *one, const struct story_file *other)
{
    bool same = one->count == other->count && strcmp(one->made_by, other->made_by) == 0;
    for (size_t i = 0; same && i < one->count; i++) {
        same = same_mark(&one->mark[i], &other->mark[i]);
    }
    return same;
}
