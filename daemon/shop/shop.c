/* SPDX-License-Identifier: MIT */
#include "daemon/shop/shop.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/document.h"
#include "protocol/length.h"

#define SHOP_FILE "shop.json"

struct list {
    struct preset *preset; /* in the order of their names */
    size_t count;
    uint32_t next_id;
};

struct shop {
    struct keeper *keeper;
    struct list now;
    struct list next; /* on its way to the disk */
    bool changing;
    shop_done *done;
    void *owner;
};

bool shop_name_valid(const char *name)
{
    size_t size = strlen(name);
    if (size == 0 || size >= SHOP_NAME_SIZE || name[0] == ' ' || name[size - 1] == ' ') {
        return false;
    }
    for (size_t i = 0; i < size; i++) {
        if ((unsigned char)name[i] < 0x20 || name[i] == 0x7f) {
            return false;
        }
    }
    return true;
}

static const cJSON *member(const cJSON *object, const char *name)
{
    return cJSON_GetObjectItemCaseSensitive(object, name);
}

static bool read_preset(const cJSON *item, struct preset *preset)
{
    const cJSON *id = member(item, "id");
    const cJSON *name = member(item, "name");
    const cJSON *height = member(item, "height");
    if (!cJSON_IsNumber(id) || !cJSON_IsString(name) || !cJSON_IsString(height) ||
        !shop_name_valid(name->valuestring) || id->valuedouble < 1 ||
        id->valuedouble > UINT32_MAX) {
        return false;
    }
    preset->id = (uint32_t)id->valuedouble;
    snprintf(preset->name, sizeof preset->name, "%s", name->valuestring);
    return length_parse(height->valuestring, LENGTH_BARE_REFUSED, &preset->height_nm, NULL);
}

/* Where `name` is, or where it belongs. */
static size_t place(const struct list *list, const char *name)
{
    size_t at = 0;
    while (at < list->count && strcmp(list->preset[at].name, name) < 0) {
        at++;
    }
    return at;
}

static bool is_at(const struct list *list, size_t at, const char *name)
{
    return at < list->count && strcmp(list->preset[at].name, name) == 0;
}

/* There is room: the caller has seen to it. */
static void insert(struct list *list, size_t at, const struct preset *preset)
{
    memmove(&list->preset[at + 1], &list->preset[at], (list->count - at) * sizeof *preset);
    list->preset[at] = *preset;
    list->count++;
    if (preset->id >= list->next_id) {
        list->next_id = preset->id + 1;
    }
}

static bool read_list(const cJSON *document, struct list *list, char *why, size_t size)
{
    const cJSON *presets = member(document, "presets");
    const cJSON *next_id = member(document, "next_id");
    const cJSON *item;
    int index = 0;
    if (!cJSON_IsArray(presets) || cJSON_GetArraySize(presets) > SHOP_PRESETS_MAX ||
        !cJSON_IsNumber(next_id) || next_id->valuedouble < 1 || next_id->valuedouble > UINT32_MAX) {
        snprintf(why, size, "it has no list of presets");
        return false;
    }
    list->next_id = (uint32_t)next_id->valuedouble;
    list->preset = calloc((size_t)cJSON_GetArraySize(presets) + 1, sizeof *list->preset);
    cJSON_ArrayForEach(item, presets)
    {
        struct preset preset;
        index++;
        if (!list->preset || !read_preset(item, &preset)) {
            snprintf(why, size, "its preset number %d has no id, name or height with a unit",
                     index);
            return false;
        }
        size_t at = place(list, preset.name);
        if (is_at(list, at, preset.name)) {
            snprintf(why, size, "it has two presets named %s", preset.name);
            return false;
        }
        insert(list, at, &preset);
    }
    return list->preset != NULL;
}

static bool check(const cJSON *document, char *why, size_t size)
{
    struct list list = {.count = 0};
    bool sound = read_list(document, &list, why, size);
    free(list.preset);
    return sound;
}

struct shop *shop_open(struct keeper *keeper, char *why, size_t why_size)
{
    cJSON *document = NULL;
    struct shop *shop = calloc(1, sizeof *shop);
    if (!shop) {
        snprintf(why, why_size, "there is no memory for the shop's list");
        return NULL;
    }
    shop->keeper = keeper;
    shop->now.next_id = 1;
    enum document_found found = document_load(keeper_files(keeper), SHOP_FILE, SHOP_VERSION, check,
                                              &document, why, why_size);
    if (found == DOCUMENT_NEWER || found == DOCUMENT_UNREADABLE) {
        free(shop);
        return NULL;
    }
    if (found == DOCUMENT_LAST_GOOD || found == DOCUMENT_LOST) {
        fprintf(stderr, "regletd: %s\n", why);
    }
    if (document && !read_list(document, &shop->now, why, why_size)) {
        cJSON_Delete(document);
        shop_free(shop);
        return NULL; /* it was checked: only memory can be short here */
    }
    cJSON_Delete(document);
    return shop;
}

void shop_free(struct shop *shop)
{
    if (shop) {
        free(shop->now.preset);
        free(shop->next.preset);
        free(shop);
    }
}

size_t shop_count(const struct shop *shop)
{
    return shop->now.count;
}

const struct preset *shop_preset(const struct shop *shop, size_t index)
{
    return &shop->now.preset[index];
}

const struct preset *shop_find(const struct shop *shop, const char *name)
{
    size_t at = place(&shop->now, name);
    return is_at(&shop->now, at, name) ? &shop->now.preset[at] : NULL;
}

const struct preset *shop_find_id(const struct shop *shop, uint32_t id)
{
    for (size_t i = 0; i < shop->now.count; i++) {
        if (shop->now.preset[i].id == id) {
            return &shop->now.preset[i];
        }
    }
    return NULL;
}

static char *print_list(const struct list *list)
{
    cJSON *document = cJSON_CreateObject();
    cJSON_AddNumberToObject(document, "version", SHOP_VERSION);
    cJSON_AddNumberToObject(document, "next_id", list->next_id);
    cJSON *presets = cJSON_AddArrayToObject(document, "presets");
    bool whole = presets != NULL;
    for (size_t i = 0; i < list->count && whole; i++) {
        char height[LENGTH_TEXT_SIZE];
        cJSON *item = cJSON_CreateObject();
        length_print_exact(list->preset[i].height_nm, height, sizeof height);
        whole = cJSON_AddNumberToObject(item, "id", list->preset[i].id) &&
                cJSON_AddStringToObject(item, "name", list->preset[i].name) &&
                cJSON_AddStringToObject(item, "height", height) &&
                cJSON_AddItemToArray(presets, item);
    }
    char *text = whole ? cJSON_Print(document) : NULL;
    cJSON_Delete(document);
    return text;
}

static void on_kept(void *owner, bool kept, const char *why)
{
    struct shop *shop = owner;
    char sentence[300] = "";
    shop->changing = false;
    if (kept) {
        free(shop->now.preset);
        shop->now = shop->next;
    } else {
        free(shop->next.preset);
        snprintf(sentence, sizeof sentence,
                 "The shop's list is as it was: %s. See to the disk, then say it again.", why);
    }
    shop->next = (struct list){.count = 0};
    if (shop->done) {
        shop->done(shop->owner, kept ? REASON_NONE : REASON_NOT_KEPT, sentence);
    }
}

/* A copy of the list with room for one more. */
static bool begin(struct shop *shop, enum reason *reason, char *sentence, size_t size)
{
    if (shop->changing) {
        *reason = REASON_BUSY;
        snprintf(sentence, size,
                 "Another change of the shop's list is being written. Nothing has "
                 "changed; say it again.");
        return false;
    }
    shop->next = shop->now;
    shop->next.preset = calloc(shop->now.count + 1, sizeof *shop->next.preset);
    if (!shop->next.preset) {
        *reason = REASON_NOT_KEPT;
        snprintf(sentence, size, "There is no memory left. Nothing has changed.");
        return false;
    }
    if (shop->now.count > 0) {
        memcpy(shop->next.preset, shop->now.preset, shop->now.count * sizeof *shop->now.preset);
    }
    return true;
}

static bool commit(struct shop *shop, shop_done *done, void *owner, enum reason *reason,
                   char *sentence, size_t size)
{
    char *text = print_list(&shop->next);
    if (!text) {
        free(shop->next.preset);
        shop->next = (struct list){.count = 0};
        *reason = REASON_NOT_KEPT;
        snprintf(sentence, size, "There is no memory left. Nothing has changed.");
        return false;
    }
    shop->changing = true;
    shop->done = done;
    shop->owner = owner;
    keeper_document(shop->keeper, SHOP_FILE, text, on_kept, shop);
    return true;
}

bool shop_keep(struct shop *shop, const char *name, int64_t height_nm, shop_done *done, void *owner,
               enum reason *reason, char *sentence, size_t size)
{
    if (shop->now.count >= SHOP_PRESETS_MAX && !shop_find(shop, name)) {
        *reason = REASON_NOT_KEPT;
        snprintf(sentence, size,
                 "The list holds %d presets and no more. Nothing has changed; "
                 "forget some first.",
                 SHOP_PRESETS_MAX);
        return false;
    }
    if (!begin(shop, reason, sentence, size)) {
        return false;
    }
    struct list *list = &shop->next;
    size_t at = place(list, name);
    if (is_at(list, at, name)) {
        list->preset[at].height_nm = height_nm;
    } else {
        struct preset preset = {.id = list->next_id, .height_nm = height_nm};
        snprintf(preset.name, sizeof preset.name, "%s", name);
        insert(list, at, &preset);
    }
    return commit(shop, done, owner, reason, sentence, size);
}

bool shop_forget(struct shop *shop, const char *name, shop_done *done, void *owner,
                 enum reason *reason, char *sentence, size_t size)
{
    if (!shop_find(shop, name)) {
        *reason = REASON_NO_SUCH_PRESET;
        snprintf(sentence, size, "There is no preset of that name. Nothing has changed.");
        return false;
    }
    if (!begin(shop, reason, sentence, size)) {
        return false;
    }
    struct list *list = &shop->next;
    size_t at = place(list, name);
    list->count--;
    memmove(&list->preset[at], &list->preset[at + 1], (list->count - at) * sizeof *list->preset);
    return commit(shop, done, owner, reason, sentence, size);
}

void shop_abandon(struct shop *shop, void *owner)
{
    if (shop->owner == owner) {
        shop->done = NULL;
        shop->owner = NULL;
    }
}
