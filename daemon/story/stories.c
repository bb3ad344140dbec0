/* SPDX-License-Identifier: MIT */
#include "daemon/story/stories.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/document.h"

#define STORIES_FILE "stories.json"

struct list {
    struct story *stories; /* in the order of their names */
    size_t count;
    uint32_t next_id;
};

struct stories {
    struct keeper *keeper;
    struct list now;
    struct list next; /* on its way to the disk */
    bool changing;
    uint32_t changes;
    shop_done *done;
    void *owner;
};

static void free_list(struct list *list)
{
    for (size_t i = 0; i < list->count; i++) {
        free(list->stories[i].marks);
    }
    free(list->stories);
    *list = (struct list){.next_id = 1};
}

static size_t place(const struct list *list, const char *name)
{
    size_t index = 0;
    while (index < list->count && strcmp(list->stories[index].name, name) < 0) {
        index++;
    }
    return index;
}

static bool is_at(const struct list *list, size_t index, const char *name)
{
    return index < list->count && strcmp(list->stories[index].name, name) == 0;
}

/* Takes the marks over, also when memory is short. */
static bool insert(struct list *list, const struct story *story)
{
    size_t index = place(list, story->name);
    struct story *stories = realloc(list->stories, (list->count + 1) * sizeof *stories);
    if (!stories) {
        free(story->marks);
        return false;
    }
    list->stories = stories;
    memmove(&stories[index + 1], &stories[index], (list->count - index) * sizeof *stories);
    stories[index] = *story;
    list->count++;
    list->next_id = story->id >= list->next_id ? story->id + 1 : list->next_id;
    return true;
}

static void take_out(struct list *list, size_t index)
{
    free(list->stories[index].marks);
    list->count--;
    memmove(&list->stories[index], &list->stories[index + 1],
            (list->count - index) * sizeof *list->stories);
}

static bool copy_list(struct list *to, const struct list *from)
{
    *to = (struct list){.next_id = from->next_id};
    for (size_t i = 0; i < from->count; i++) {
        struct story story = from->stories[i];
        story.marks = malloc(story.count * sizeof *story.marks + 1);
        if (!story.marks) {
            free_list(to);
            return false;
        }
        memcpy(story.marks, from->stories[i].marks, story.count * sizeof *story.marks);
        if (!insert(to, &story)) {
            free_list(to);
            return false;
        }
    }
    return true;
}

/* --- The document --- */

static bool read_marks(const cJSON *array, struct story *story, char *why, size_t size)
{
    const cJSON *item;
    size_t number = 0;
    if (!cJSON_IsArray(array) || cJSON_GetArraySize(array) > STORY_MARKS_MAX) {
        snprintf(why, size, "the story %s has no marks, or too many", story->name);
        return false;
    }
    story->marks = calloc((size_t)cJSON_GetArraySize(array) + 1, sizeof *story->marks);
    cJSON_ArrayForEach(item, array)
    {
        char detail[STORY_WHY_SIZE] = "";
        if (!story->marks ||
            !story_mark_read(item, number + 1, &story->marks[number], detail, sizeof detail)) {
            free(story->marks);
            snprintf(why, size, "the story %s: %s", story->name, detail);
            return false;
        }
        number++;
    }
    story->count = number;
    return story->marks != NULL;
}

/* Older documents have none. */
static bool read_made_by(const cJSON *item, struct story *story)
{
    const cJSON *made_by = cJSON_GetObjectItemCaseSensitive(item, "made_by");
    if (!made_by) {
        return true;
    }
    if (!cJSON_IsString(made_by) || strlen(made_by->valuestring) >= sizeof story->made_by) {
        return false;
    }
    strcpy(story->made_by, made_by->valuestring);
    return true;
}

static bool read_story(const cJSON *item, struct list *list, char *why, size_t size)
{
    const cJSON *id = cJSON_GetObjectItemCaseSensitive(item, "id");
    const cJSON *name = cJSON_GetObjectItemCaseSensitive(item, "name");
    struct story story = {.count = 0};
    if (!cJSON_IsNumber(id) || id->valuedouble < 1 || id->valuedouble > UINT32_MAX ||
        !cJSON_IsString(name) || !things_name_valid(name->valuestring) ||
        is_at(list, place(list, name->valuestring), name->valuestring)) {
        snprintf(why, size, "a story has no id, or no name of its own");
        return false;
    }
    if (!read_made_by(item, &story)) {
        snprintf(why, size, "it is not said in one line what made the story %s", name->valuestring);
        return false;
    }
    story.id = (uint32_t)id->valuedouble;
    strcpy(story.name, name->valuestring);
    return read_marks(cJSON_GetObjectItemCaseSensitive(item, "marks"), &story, why, size) &&
           insert(list, &story);
}

static bool read_list(const cJSON *document, struct list *list, char *why, size_t size)
{
    const cJSON *array = cJSON_GetObjectItemCaseSensitive(document, "stories");
    const cJSON *next_id = cJSON_GetObjectItemCaseSensitive(document, "next_id");
    const cJSON *item;
    *list = (struct list){.next_id = 1};
    if (!cJSON_IsArray(array) || cJSON_GetArraySize(array) > STORIES_MAX ||
        !cJSON_IsNumber(next_id) || next_id->valuedouble < 1 || next_id->valuedouble > UINT32_MAX) {
        snprintf(why, size, "it has no list of stories");
        return false;
    }
    list->next_id = (uint32_t)next_id->valuedouble;
    cJSON_ArrayForEach(item, array)
    {
        if (!read_story(item, list, why, size)) {
            free_list(list);
            return false;
        }
    }
    return true;
}

static bool check(const cJSON *document, char *why, size_t size)
{
    struct list list;
    bool sound = read_list(document, &list, why, size);
    if (sound) {
        free_list(&list);
    }
    return sound;
}

static cJSON *print_story(const struct story *story)
{
    cJSON *object = cJSON_CreateObject();
    bool whole =
        cJSON_AddNumberToObject(object, "id", story->id) &&
        cJSON_AddStringToObject(object, "name", story->name) &&
        (story->made_by[0] == '\0' || cJSON_AddStringToObject(object, "made_by", story->made_by));
    cJSON *marks = whole ? cJSON_AddArrayToObject(object, "marks") : NULL;
    whole = marks != NULL;
    for (size_t i = 0; i < story->count && whole; i++) {
        cJSON *mark = story_mark_print(&story->marks[i], false);
        whole = mark && cJSON_AddItemToArray(marks, mark);
    }
    if (!whole) {
        cJSON_Delete(object);
        return NULL;
    }
    return object;
}

static char *print_list(const struct list *list)
{
    cJSON *document = cJSON_CreateObject();
    bool whole = cJSON_AddNumberToObject(document, "version", STORIES_VERSION) &&
                 cJSON_AddNumberToObject(document, "next_id", list->next_id);
    cJSON *array = whole ? cJSON_AddArrayToObject(document, "stories") : NULL;
    whole = array != NULL;
    for (size_t i = 0; i < list->count && whole; i++) {
        cJSON *item = print_story(&list->stories[i]);
        whole = item && cJSON_AddItemToArray(array, item);
    }
    char *text = whole ? cJSON_Print(document) : NULL;
    cJSON_Delete(document);
    return text;
}

struct stories *stories_open(struct keeper *keeper, char *why, size_t why_size)
{
    cJSON *document = NULL;
    struct stories *stories = calloc(1, sizeof *stories);
    if (!stories) {
        snprintf(why, why_size, "there is no memory for the stories");
        return NULL;
    }
    stories->keeper = keeper;
    stories->now.next_id = 1;
    enum document_found found = document_load(keeper_files(keeper), STORIES_FILE, STORIES_VERSION,
                                              check, &document, why, why_size);
    if (found == DOCUMENT_NEWER || found == DOCUMENT_UNREADABLE) {
        free(stories);
        return NULL;
    }
    if (found == DOCUMENT_LAST_GOOD || found == DOCUMENT_LOST) {
        fprintf(stderr, "regletd: %s\n", why);
    }
    if (document && !read_list(document, &stories->now, why, why_size)) {
        cJSON_Delete(document);
        free(stories);
        return NULL; /* it was checked: only memory can be short here */
    }
    cJSON_Delete(document);
    return stories;
}

void stories_free(struct stories *stories)
{
    if (stories) {
        free_list(&stories->now);
        free_list(&stories->next);
        free(stories);
    }
}

uint32_t stories_changes(const struct stories *stories)
{
    return stories->changes;
}

size_t stories_count(const struct stories *stories)
{
    return stories->now.count;
}

const struct story *stories_at(const struct stories *stories, size_t index)
{
    return &stories->now.stories[index];
}

const struct story *stories_find(const struct stories *stories, const char *name)
{
    size_t index = place(&stories->now, name);
    return is_at(&stories->now, index, name) ? &stories->now.stories[index] : NULL;
}

const struct story *stories_find_id(const struct stories *stories, uint32_t id)
{
    for (size_t i = 0; i < stories->now.count; i++) {
        if (stories->now.stories[i].id == id) {
            return &stories->now.stories[i];
        }
    }
    return NULL;
}

/* --- Changes --- */

static bool refuse(struct shop_refusal *refusal, enum reason reason, const char *sentence)
{
    refusal->reason = reason;
    snprintf(refusal->sentence, sizeof refusal->sentence, "%s", sentence);
    return false;
}

#define NO_MEMORY "There is no memory left. Nothing has changed."

static void on_kept(void *owner, bool kept, const char *why)
{
    struct stories *stories = owner;
    char sentence[300] = "";
    stories->changing = false;
    if (kept) {
        free_list(&stories->now);
        stories->now = stories->next;
        stories->next = (struct list){.next_id = 1};
        stories->changes++;
    } else {
        free_list(&stories->next);
        snprintf(sentence, sizeof sentence,
                 "The stories are as they were: %s. See to the disk, then say it again.", why);
    }
    if (stories->done) {
        stories->done(stories->owner, kept ? REASON_NONE : REASON_NOT_KEPT, sentence);
    }
}

static bool begin(struct stories *stories, struct shop_refusal *refusal)
{
    if (stories->changing) {
        return refuse(refusal, REASON_BUSY,
                      "Another change of the stories is being written. Nothing has changed; say "
                      "it again.");
    }
    return copy_list(&stories->next, &stories->now) || refuse(refusal, REASON_NOT_KEPT, NO_MEMORY);
}

static bool give_up(struct stories *stories, struct shop_refusal *refusal, const char *sentence)
{
    free_list(&stories->next);
    return refuse(refusal, REASON_NOT_KEPT, sentence);
}

static bool commit(struct stories *stories, shop_done *done, void *owner,
                   struct shop_refusal *refusal)
{
    char *text = print_list(&stories->next);
    if (!text) {
        return give_up(stories, refusal, NO_MEMORY);
    }
    stories->changing = true;
    stories->done = done;
    stories->owner = owner;
    keeper_document(stories->keeper, STORIES_FILE, text, on_kept, stories);
    return true;
}

/* The story as it will be; its marks are the caller's to free. False when memory is short. */
static bool compose(struct story *story, const struct story *old, const struct stories_kept *kept)
{
    size_t before = old && kept->behind ? old->count : 0;
    snprintf(story->name, sizeof story->name, "%s", kept->name);
    snprintf(story->made_by, sizeof story->made_by, "%s",
             before > 0 ? old->made_by : kept->made_by);
    story->count = before + kept->count;
    story->marks = calloc(story->count + 1, sizeof *story->marks);
    if (!story->marks) {
        return false;
    }
    if (before > 0) {
        memcpy(story->marks, old->marks, before * sizeof *story->marks);
    }
    memcpy(story->marks + before, kept->marks, kept->count * sizeof *story->marks);
    return true;
}

bool stories_keep(struct stories *stories, const struct stories_kept *kept, shop_done *done,
                  void *owner, struct shop_refusal *refusal)
{
    struct story story = {.id = 0};
    if (!begin(stories, refusal)) {
        return false;
    }
    struct list *list = &stories->next;
    size_t index = place(list, kept->name);
    const struct story *old = is_at(list, index, kept->name) ? &list->stories[index] : NULL;
    if ((old && kept->behind ? old->count : 0) + kept->count > STORY_MARKS_MAX) {
        return give_up(stories, refusal,
                       "A story has 200 marks at the most. Nothing has changed; make two of it.");
    }
    if (!old && list->count >= STORIES_MAX) {
        return give_up(stories, refusal,
                       "There are 100 stories, and there can be no more. Nothing has changed; "
                       "forget some first.");
    }
    story.id = old ? old->id : list->next_id;
    if (!compose(&story, old, kept)) {
        return give_up(stories, refusal, NO_MEMORY);
    }
    if (old) {
        take_out(list, index);
    }
    if (!insert(list, &story)) {
        return give_up(stories, refusal, NO_MEMORY);
    }
    return commit(stories, done, owner, refusal);
}

bool stories_forget(struct stories *stories, const char *name, shop_done *done, void *owner,
                    struct shop_refusal *refusal)
{
    if (!stories_find(stories, name)) {
        return refuse(refusal, REASON_NO_SUCH_STORY,
                      "There is no story of that name. Nothing has changed.");
    }
    if (!begin(stories, refusal)) {
        return false;
    }
    take_out(&stories->next, place(&stories->next, name));
    return commit(stories, done, owner, refusal);
}

static bool has_bit(const struct story *story, const char *bit)
{
    for (size_t i = 0; i < story->count; i++) {
        if (strcmp(story->marks[i].bit, bit) == 0) {
            return true;
        }
    }
    return false;
}

const struct story *stories_of_bit(const struct stories *stories, const char *bit)
{
    for (size_t i = 0; i < stories->now.count; i++) {
        if (has_bit(&stories->now.stories[i], bit)) {
            return &stories->now.stories[i];
        }
    }
    return NULL;
}

bool stories_rename_bit(struct stories *stories, const char *from, const char *to, shop_done *done,
                        void *owner, struct shop_refusal *refusal)
{
    if (!begin(stories, refusal)) {
        return false;
    }
    struct list *list = &stories->next;
    for (size_t i = 0; i < list->count; i++) {
        for (size_t m = 0; m < list->stories[i].count; m++) {
            struct story_mark *mark = &list->stories[i].marks[m];
            if (strcmp(mark->bit, from) == 0) {
                snprintf(mark->bit, sizeof mark->bit, "%s", to);
            }
        }
    }
    return commit(stories, done, owner, refusal);
}

void stories_abandon(struct stories *stories, void *owner)
{
    if (stories->owner == owner) {
        stories->done = NULL;
        stories->owner = NULL;
    }
}
