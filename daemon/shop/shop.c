/* SPDX-License-Identifier: MIT */
#include "daemon/shop/shop.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/document.h"

#define SHOP_FILE "shop.json"

struct list {
    char *things; /* in the order of their names */
    size_t count;
};

struct lists {
    struct list of[SHOP_KINDS];
    uint32_t next_id;
};

struct shop {
    struct keeper *keeper;
    struct lists now;
    struct lists next; /* on its way to the disk */
    bool changing;
    shop_done *done;
    void *owner;
};

static void *at(const struct lists *lists, enum shop_kind kind, size_t index)
{
    return lists->of[kind].things + index * things_kinds[kind].size;
}

static struct thing *thing_at(const struct lists *lists, enum shop_kind kind, size_t index)
{
    return at(lists, kind, index);
}

static void free_lists(struct lists *lists)
{
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        free(lists->of[kind].things);
    }
    *lists = (struct lists){.next_id = 1};
}

/* Where `name` is, or where it belongs. */
static size_t place(const struct lists *lists, enum shop_kind kind, const char *name)
{
    size_t index = 0;
    while (index < lists->of[kind].count && strcmp(thing_at(lists, kind, index)->name, name) < 0) {
        index++;
    }
    return index;
}

static bool is_at(const struct lists *lists, enum shop_kind kind, size_t index, const char *name)
{
    return index < lists->of[kind].count && strcmp(thing_at(lists, kind, index)->name, name) == 0;
}

/* False when memory is short. */
static bool insert(struct lists *lists, enum shop_kind kind, const void *thing)
{
    struct list *list = &lists->of[kind];
    size_t size = things_kinds[kind].size;
    const struct thing *names = thing;
    size_t index = place(lists, kind, names->name);
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

static void take_out(struct lists *lists, enum shop_kind kind, size_t index)
{
    struct list *list = &lists->of[kind];
    size_t size = things_kinds[kind].size;
    list->count--;
    memmove(list->things + index * size, list->things + (index + 1) * size,
            (list->count - index) * size);
}

static bool copy_lists(struct lists *to, const struct lists *from)
{
    *to = (struct lists){.next_id = from->next_id};
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        size_t size = from->of[kind].count * things_kinds[kind].size;
        to->of[kind].things = malloc(size + 1);
        if (!to->of[kind].things) {
            free_lists(to);
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

union any {
    struct bit bit;
    struct ring ring;
    struct stock stock;
    struct pair pair;
    struct preset preset;
};

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
        union any any;
        char detail[SHOP_WHY_SIZE];
        number++;
        if (!things_read(kind, item, &any, detail, sizeof detail)) {
            snprintf(why, size, "its %s number %d %s", things_kinds[kind].word, number, detail);
            return false;
        }
        const char *name = any.ring.thing.name;
        if (is_at(lists, kind, place(lists, kind, name), name)) {
            snprintf(why, size, "it has two %s named %s", things_kinds[kind].words, name);
            return false;
        }
        if (!insert(lists, kind, &any)) {
            snprintf(why, size, "there is no memory left");
            return false;
        }
    }
    return true;
}

/* Version 1 had presets of a name and a height alone, which read as they are. */
static bool read_lists(const cJSON *document, struct lists *lists, char *why, size_t size)
{
    const cJSON *next_id = cJSON_GetObjectItemCaseSensitive(document, "next_id");
    *lists = (struct lists){.next_id = 1};
    if (!cJSON_IsNumber(next_id) || next_id->valuedouble < 1 || next_id->valuedouble > UINT32_MAX ||
        !cJSON_IsArray(cJSON_GetObjectItemCaseSensitive(document, "presets"))) {
        snprintf(why, size, "it has no list of presets");
        return false;
    }
    lists->next_id = (uint32_t)next_id->valuedouble;
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        if (!read_list(document, (enum shop_kind)kind, lists, why, size)) {
            free_lists(lists);
            return false;
        }
    }
    return true;
}

static bool check(const cJSON *document, char *why, size_t size)
{
    struct lists lists;
    bool sound = read_lists(document, &lists, why, size);
    if (sound) {
        free_lists(&lists);
    }
    return sound;
}

static char *print_lists(const struct lists *lists)
{
    cJSON *document = cJSON_CreateObject();
    bool whole = cJSON_AddNumberToObject(document, "version", SHOP_VERSION) &&
                 cJSON_AddNumberToObject(document, "next_id", lists->next_id);
    for (int kind = 0; kind < SHOP_KINDS && whole; kind++) {
        cJSON *array = cJSON_AddArrayToObject(document, things_kinds[kind].words);
        whole = array != NULL;
        for (size_t i = 0; i < lists->of[kind].count && whole; i++) {
            cJSON *item = things_print((enum shop_kind)kind, at(lists, (enum shop_kind)kind, i));
            whole = item && cJSON_AddItemToArray(array, item);
        }
    }
    char *text = whole ? cJSON_Print(document) : NULL;
    cJSON_Delete(document);
    return text;
}

/* What names something that is not there: said once, and left as it is. */
static void tell_dangling(const struct shop *shop)
{
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        for (size_t i = 0; i < shop->now.of[kind].count; i++) {
            const struct thing *thing = thing_at(&shop->now, (enum shop_kind)kind, i);
            for (const struct field *f = things_kinds[kind].fields; f->name; f++) {
                if (f->type == FIELD_THING && things_id(f, thing) != 0 &&
                    !shop_find_id(shop, f->kind, things_id(f, thing))) {
                    fprintf(stderr,
                            "regletd: the %s '%s' names a %s that is not in the shop's list any "
                            "more. It is kept as it is; keep it again with another\n",
                            things_kinds[kind].word, thing->name, things_kinds[f->kind].word);
                }
            }
        }
    }
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
    if (document && !read_lists(document, &shop->now, why, why_size)) {
        cJSON_Delete(document);
        free(shop);
        return NULL; /* it was checked: only memory can be short here */
    }
    cJSON_Delete(document);
    tell_dangling(shop);
    return shop;
}

void shop_free(struct shop *shop)
{
    if (shop) {
        free_lists(&shop->now);
        free_lists(&shop->next);
        free(shop);
    }
}

size_t shop_count(const struct shop *shop, enum shop_kind kind)
{
    return shop->now.of[kind].count;
}

const void *shop_at(const struct shop *shop, enum shop_kind kind, size_t index)
{
    return at(&shop->now, kind, index);
}

const void *shop_find(const struct shop *shop, enum shop_kind kind, const char *name)
{
    size_t index = place(&shop->now, kind, name);
    return is_at(&shop->now, kind, index, name) ? at(&shop->now, kind, index) : NULL;
}

const void *shop_find_id(const struct shop *shop, enum shop_kind kind, uint32_t id)
{
    for (size_t i = 0; i < shop->now.of[kind].count; i++) {
        if (thing_at(&shop->now, kind, i)->id == id) {
            return at(&shop->now, kind, i);
        }
    }
    return NULL;
}

/* --- Changes --- */

REGLET_PRINTF(3, 4)
static bool refuse(struct shop_refusal *refusal, enum reason reason, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    refusal->reason = reason;
    vsnprintf(refusal->sentence, sizeof refusal->sentence, format, arguments);
    va_end(arguments);
    return false;
}

static bool refuse_memory(struct shop_refusal *refusal)
{
    return refuse(refusal, REASON_NOT_KEPT, "There is no memory left. Nothing has changed.");
}

static void on_kept(void *owner, bool kept, const char *why)
{
    struct shop *shop = owner;
    char sentence[300] = "";
    shop->changing = false;
    if (kept) {
        free_lists(&shop->now);
        shop->now = shop->next;
        shop->next = (struct lists){.next_id = 1};
    } else {
        free_lists(&shop->next);
        snprintf(sentence, sizeof sentence,
                 "The shop's list is as it was: %s. See to the disk, then say it again.", why);
    }
    if (shop->done) {
        shop->done(shop->owner, kept ? REASON_NONE : REASON_NOT_KEPT, sentence);
    }
}

/* A copy of all lists, to be changed. */
static bool begin(struct shop *shop, struct shop_refusal *refusal)
{
    if (shop->changing) {
        return refuse(refusal, REASON_BUSY,
                      "Another change of the shop's list is being written. Nothing has changed; "
                      "say it again.");
    }
    return copy_lists(&shop->next, &shop->now) || refuse_memory(refusal);
}

static bool commit(struct shop *shop, shop_done *done, void *owner, struct shop_refusal *refusal)
{
    char *text = print_lists(&shop->next);
    if (!text) {
        free_lists(&shop->next);
        return refuse_memory(refusal);
    }
    shop->changing = true;
    shop->done = done;
    shop->owner = owner;
    keeper_document(shop->keeper, SHOP_FILE, text, on_kept, shop);
    return true;
}

bool shop_put(struct shop *shop, enum shop_kind kind, const void *thing, shop_done *done,
              void *owner, struct shop_refusal *refusal)
{
    union any any;
    const struct kind *k = &things_kinds[kind];
    memcpy(&any, thing, k->size);
    const char *name = any.ring.thing.name;
    if (!begin(shop, refusal)) {
        return false;
    }
    size_t index = place(&shop->next, kind, name);
    if (kind == SHOP_BIT) {
        any.bit.ground = false;
    } else if (kind == SHOP_PRESET) {
        any.preset.recompute = false;
    }
    if (is_at(&shop->next, kind, index, name)) {
        any.ring.thing.id = thing_at(&shop->next, kind, index)->id;
        memcpy(at(&shop->next, kind, index), &any, k->size);
        return commit(shop, done, owner, refusal);
    }
    any.ring.thing.id = shop->next.next_id;
    if (shop->next.of[kind].count >= k->most) {
        free_lists(&shop->next);
        return refuse(refusal, REASON_NOT_KEPT,
                      "The list of %s holds %zu and no more. Nothing has changed; forget some "
                      "first.",
                      k->words, k->most);
    }
    if (!insert(&shop->next, kind, &any)) {
        free_lists(&shop->next);
        return refuse_memory(refusal);
    }
    return commit(shop, done, owner, refusal);
}

static bool names_it(enum shop_kind kind, const void *thing, enum shop_kind wanted, uint32_t id)
{
    for (const struct field *field = things_kinds[kind].fields; field->name; field++) {
        if (field->type == FIELD_THING && field->kind == wanted && things_id(field, thing) == id) {
            return true;
        }
    }
    return false;
}

/* Takes out all that names it, or tells the first that does. */
static const struct thing *others(struct lists *lists, enum shop_kind wanted, uint32_t id,
                                  bool with_others)
{
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        for (size_t i = lists->of[kind].count; i > 0; i--) {
            const struct thing *thing = thing_at(lists, (enum shop_kind)kind, i - 1);
            if (!names_it((enum shop_kind)kind, thing, wanted, id)) {
                continue;
            }
            if (!with_others || kind == SHOP_BIT) {
                return thing;
            }
            take_out(lists, (enum shop_kind)kind, i - 1);
        }
    }
    return NULL;
}

static bool no_such(enum shop_kind kind, struct shop_refusal *refusal)
{
    enum reason reason = kind == SHOP_PRESET ? REASON_NO_SUCH_PRESET
                         : kind == SHOP_BIT  ? REASON_NO_SUCH_BIT
                                             : REASON_NO_SUCH_THING;
    return refuse(refusal, reason, "There is no %s of that name. Nothing has changed.",
                  things_kinds[kind].word);
}

bool shop_drop(struct shop *shop, enum shop_kind kind, const char *name, bool with_others,
               shop_done *done, void *owner, struct shop_refusal *refusal)
{
    const struct thing *thing = shop_find(shop, kind, name);
    if (!thing) {
        return no_such(kind, refusal);
    }
    if (!begin(shop, refusal)) {
        return false;
    }
    const struct thing *user = others(&shop->next, kind, thing->id, with_others);
    if (user) {
        refuse(refusal, REASON_IN_USE,
               "'%s' names it. Nothing has changed; forget that first, or say that what names it "
               "goes too.",
               user->name);
        free_lists(&shop->next);
        return false;
    }
    take_out(&shop->next, kind, place(&shop->next, kind, name));
    return commit(shop, done, owner, refusal);
}

bool shop_rename(struct shop *shop, enum shop_kind kind, const char *from, const char *to,
                 shop_done *done, void *owner, struct shop_refusal *refusal)
{
    union any any;
    const void *thing = shop_find(shop, kind, from);
    if (!thing) {
        return no_such(kind, refusal);
    }
    if (shop_find(shop, kind, to)) {
        return refuse(refusal, REASON_NAME_TAKEN,
                      "There is a %s of that name already. Nothing has changed; take another name.",
                      things_kinds[kind].word);
    }
    if (!begin(shop, refusal)) {
        return false;
    }
    memcpy(&any, thing, things_kinds[kind].size);
    snprintf(any.ring.thing.name, SHOP_NAME_SIZE, "%s", to);
    take_out(&shop->next, kind, place(&shop->next, kind, from));
    if (!insert(&shop->next, kind, &any)) { /* there was room for it a line ago */
        free_lists(&shop->next);
        return refuse_memory(refusal);
    }
    return commit(shop, done, owner, refusal);
}

bool shop_grind(struct shop *shop, const char *bit, shop_done *done, void *owner,
                struct shop_refusal *refusal)
{
    const struct bit *found = shop_find(shop, SHOP_BIT, bit);
    if (!found) {
        return no_such(SHOP_BIT, refusal);
    }
    uint32_t id = found->thing.id;
    if (!begin(shop, refusal)) {
        return false;
    }
    ((struct bit *)at(&shop->next, SHOP_BIT, place(&shop->next, SHOP_BIT, bit)))->ground = true;
    for (size_t i = 0; i < shop->next.of[SHOP_PRESET].count; i++) {
        struct preset *preset = at(&shop->next, SHOP_PRESET, i);
        preset->recompute = preset->recompute || preset->bit == id;
    }
    return commit(shop, done, owner, refusal);
}

void shop_abandon(struct shop *shop, void *owner)
{
    if (shop->owner == owner) {
        shop->done = NULL;
        shop->owner = NULL;
    }
}
