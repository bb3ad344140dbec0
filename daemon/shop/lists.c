/* SPDX-License-Identifier: MIT */
#include "daemon/shop/lists.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "protocol/unit.h"

void *lists_at(const struct lists *lists, enum shop_kind kind, size_t index)
{
    return lists->of[kind].things + index * things_kinds[kind].size;
}

struct thing *lists_thing(const struct lists *lists, enum shop_kind kind, size_t index)
{
    return lists_at(lists, kind, index);
}

void lists_free(struct lists *lists)
{
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        free(lists->of[kind].things);
    }
    *lists = (struct lists){.next_id = 1};
}

size_t lists_place(const struct lists *lists, enum shop_kind kind, const char *name)
{
    size_t index = 0;
    while (index < lists->of[kind].count &&
           strcmp(lists_thing(lists, kind, index)->name, name) < 0) {
        index++;
    }
    return index;
}

bool lists_is_at(const struct lists *lists, enum shop_kind kind, size_t index, const char *name)
{
    return index < lists->of[kind].count &&
           strcmp(lists_thing(lists, kind, index)->name, name) == 0;
}

const void *lists_find_id(const struct lists *lists, enum shop_kind kind, uint32_t id)
{
    for (size_t i = 0; i < lists->of[kind].count; i++) {
        if (lists_thing(lists, kind, i)->id == id) {
            return lists_at(lists, kind, i);
        }
    }
    return NULL;
}

bool lists_insert(struct lists *lists, enum shop_kind kind, const void *thing)
{
    struct list *list = &lists->of[kind];
    size_t size = things_kinds[kind].size;
    const struct thing *names = thing;
    size_t index = lists_place(lists, kind, names->name);
    char *things = realloc(list->things, (list->count + 1) * size);
    if (!things) {
        return false;
    }
    list->things = things;
    memmove(things + (index + 1) * size, things + index * size, (list->count - index) * size);
    memcpy(things + index * size, thing, size);
    list->count++;
    if (names->id >= lists->next_id) {
        lists->next_id = names->id + 1;
    }
    return true;
}

void lists_take_out(struct lists *lists, enum shop_kind kind, size_t index)
{
    struct list *list = &lists->of[kind];
    size_t size = things_kinds[kind].size;
    list->count--;
    memmove(list->things + index * size, list->things + (index + 1) * size,
            (list->count - index) * size);
}

bool lists_copy(struct lists *to, const struct lists *from)
{
    *to = (struct lists){.next_id = from->next_id};
    memcpy(to->unit, from->unit, sizeof to->unit);
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        size_t size = from->of[kind].count * things_kinds[kind].size;
        to->of[kind].things = malloc(size + 1);
        if (!to->of[kind].things) {
            lists_free(to);
            return false;
        }
        if (size > 0) {
            memcpy(to->of[kind].things, from->of[kind].things, size);
        }
        to->of[kind].count = from->of[kind].count;
    }
    return true;
}

/* --- The document --- */

static bool read_list(const cJSON *document, enum shop_kind kind, struct lists *lists, char *why,
                      size_t size)
{
    const cJSON *array = cJSON_GetObjectItemCaseSensitive(document, things_kinds[kind].words);
    const cJSON *item;
    int number = 0;
    if (array &&
        (!cJSON_IsArray(array) || (size_t)cJSON_GetArraySize(array) > things_kinds[kind].most)) {
        snprintf(why, size, "its %s are no list, or too many", things_kinds[kind].words);
        return false;
    }
    cJSON_ArrayForEach(item, array)
    {
        union things_any any;
        char detail[SHOP_WHY_SIZE];
        number++;
        if (!things_read(kind, item, &any, detail, sizeof detail)) {
            snprintf(why, size, "its %s number %d %s", things_kinds[kind].word, number, detail);
            return false;
        }
        const char *name = any.thing.name;
        if (lists_is_at(lists, kind, lists_place(lists, kind, name), name)) {
            snprintf(why, size, "it has two %s named %s", things_kinds[kind].words, name);
            return false;
        }
        if (lists_find_id(lists, kind, any.thing.id)) {
            snprintf(why, size, "it has two %s of the id %" PRIu32, things_kinds[kind].words,
                     any.thing.id);
            return false;
        }
        if (!lists_insert(lists, kind, &any)) {
            snprintf(why, size, "there is no memory left");
            return false;
        }
    }
    return true;
}

/* {"unit": "mm"}: it came with version 3, and may be left out. */
static bool read_display(const cJSON *document, struct lists *lists, char *why, size_t size)
{
    enum length_style style;
    const cJSON *display = cJSON_GetObjectItemCaseSensitive(document, "display");
    const cJSON *unit = cJSON_GetObjectItemCaseSensitive(display, "unit");
    if (!display) {
        return true;
    }
    if (cJSON_GetArraySize(display) != 1 || !cJSON_IsString(unit) ||
        !unit_style(unit->valuestring, &style)) {
        snprintf(why, size, "its display has no unit, or one that nobody knows");
        return false;
    }
    snprintf(lists->unit, sizeof lists->unit, "%s", unit_word(style));
    return true;
}

static bool print_display(const struct lists *lists, cJSON *document)
{
    if (lists->unit[0] == '\0') {
        return true;
    }
    cJSON *display = cJSON_AddObjectToObject(document, "display");
    return display && cJSON_AddStringToObject(display, "unit", lists->unit);
}

static bool known_member(const char *name, double version)
{
    bool known = strcmp(name, "version") == 0 || strcmp(name, "next_id") == 0 ||
                 (strcmp(name, "display") == 0 && version > 2);
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        known = known || strcmp(name, things_kinds[kind].words) == 0;
    }
    return known;
}

/* All of its lists, and nothing that would be gone with the next save. */
static bool check_members(const cJSON *document, char *why, size_t size)
{
    const cJSON *version = cJSON_GetObjectItemCaseSensitive(document, "version");
    for (const cJSON *item = document->child; item; item = item->next) {
        if (!known_member(item->string, version->valuedouble)) {
            snprintf(why, size, "it has a member '%.40s' that nobody knows", item->string);
            return false;
        }
    }
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        bool must = kind == SHOP_PRESET || version->valuedouble > 1;
        if (must && !cJSON_GetObjectItemCaseSensitive(document, things_kinds[kind].words)) {
            snprintf(why, size, "it has no list of %s", things_kinds[kind].words);
            return false;
        }
    }
    return true;
}

/* Version 1 had presets of a name and a height alone, which read as they are. */
bool lists_read(const cJSON *document, struct lists *lists, char *why, size_t size)
{
    const cJSON *next_id = cJSON_GetObjectItemCaseSensitive(document, "next_id");
    *lists = (struct lists){.next_id = 1};
    if (!cJSON_IsNumber(next_id) || next_id->valuedouble < 1 || next_id->valuedouble > UINT32_MAX ||
        next_id->valuedouble != trunc(next_id->valuedouble)) {
        snprintf(why, size, "it has no next_id that can be");
        return false;
    }
    if (!check_members(document, why, size)) {
        return false;
    }
    if (!read_display(document, lists, why, size)) {
        return false;
    }
    lists->next_id = (uint32_t)next_id->valuedouble;
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        if (!read_list(document, (enum shop_kind)kind, lists, why, size)) {
            lists_free(lists);
            return false;
        }
    }
    return true;
}

char *lists_print(const struct lists *lists)
{
    cJSON *document = cJSON_CreateObject();
    bool whole = cJSON_AddNumberToObject(document, "version", LISTS_VERSION) &&
                 cJSON_AddNumberToObject(document, "next_id", lists->next_id) &&
                 print_display(lists, document);
    for (int kind = 0; kind < SHOP_KINDS && whole; kind++) {
        cJSON *array = cJSON_AddArrayToObject(document, things_kinds[kind].words);
        whole = array != NULL;
        for (size_t i = 0; i < lists->of[kind].count && whole; i++) {
            cJSON *item =
                things_print((enum shop_kind)kind, lists_at(lists, (enum shop_kind)kind, i));
            whole = item && cJSON_AddItemToArray(array, item);
        }
    }
    char *text = whole ? cJSON_Print(document) : NULL;
    cJSON_Delete(document);
    return text;
}
