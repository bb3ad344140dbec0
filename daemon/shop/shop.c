/* SPDX-License-Identifier: MIT */
#include "daemon/shop/shop.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/shop/lists.h"
#include "daemon/store/document.h"

#define SHOP_FILE "shop.json"

struct shop {
    struct keeper *keeper;
    struct lists now;
    struct lists next; /* on its way to the disk */
    bool changing;
    uint32_t changes;
    shop_done *done;
    void *owner;
};

static bool check(const cJSON *document, char *why, size_t size)
{
    struct lists lists;
    bool sound = lists_read(document, &lists, why, size);
    if (sound) {
        lists_free(&lists);
    }
    return sound;
}

/* What names something that is not there: said once, and left as it is. */
static void tell_dangling(const struct shop *shop)
{
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        for (size_t i = 0; i < shop->now.of[kind].count; i++) {
            const struct thing *thing = lists_thing(&shop->now, (enum shop_kind)kind, i);
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
    enum document_found found = document_load(keeper_files(keeper), SHOP_FILE, LISTS_VERSION, check,
                                              &document, why, why_size);
    if (found == DOCUMENT_NEWER || found == DOCUMENT_UNREADABLE) {
        free(shop);
        return NULL;
    }
    if (found == DOCUMENT_LAST_GOOD || found == DOCUMENT_LOST) {
        fprintf(stderr, "regletd: %s\n", why);
    }
    if (document && !lists_read(document, &shop->now, why, why_size)) {
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
        lists_free(&shop->now);
        lists_free(&shop->next);
        free(shop);
    }
}

uint32_t shop_changes(const struct shop *shop)
{
    return shop->changes;
}

size_t shop_count(const struct shop *shop, enum shop_kind kind)
{
    return shop->now.of[kind].count;
}

const void *shop_at(const struct shop *shop, enum shop_kind kind, size_t index)
{
    return lists_at(&shop->now, kind, index);
}

const void *shop_find(const struct shop *shop, enum shop_kind kind, const char *name)
{
    size_t index = lists_place(&shop->now, kind, name);
    return lists_is_at(&shop->now, kind, index, name) ? lists_at(&shop->now, kind, index) : NULL;
}

const void *shop_find_id(const struct shop *shop, enum shop_kind kind, uint32_t id)
{
    return lists_find_id(&shop->now, kind, id);
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
        lists_free(&shop->now);
        shop->now = shop->next;
        shop->next = (struct lists){.next_id = 1};
        shop->changes++;
    } else {
        lists_free(&shop->next);
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
    return lists_copy(&shop->next, &shop->now) || refuse_memory(refusal);
}

static bool commit(struct shop *shop, shop_done *done, void *owner, struct shop_refusal *refusal)
{
    char *text = lists_print(&shop->next);
    if (!text) {
        lists_free(&shop->next);
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
    union things_any any;
    const struct kind *k = &things_kinds[kind];
    memcpy(&any, thing, k->size);
    const char *name = any.thing.name;
    if (!begin(shop, refusal)) {
        return false;
    }
    size_t index = lists_place(&shop->next, kind, name);
    if (lists_is_at(&shop->next, kind, index, name)) {
        any.thing.id = lists_thing(&shop->next, kind, index)->id;
        memcpy(lists_at(&shop->next, kind, index), &any, k->size);
        return commit(shop, done, owner, refusal);
    }
    any.thing.id = shop->next.next_id;
    if (shop->next.of[kind].count >= k->most || any.thing.id == UINT32_MAX) {
        lists_free(&shop->next);
        return refuse(refusal, REASON_NOT_KEPT,
                      "The list of %s holds %zu and no more. Nothing has changed; forget some "
                      "first.",
                      k->words, k->most);
    }
    if (!lists_insert(&shop->next, kind, &any)) {
        lists_free(&shop->next);
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
            const struct thing *thing = lists_thing(lists, (enum shop_kind)kind, i - 1);
            if (!names_it((enum shop_kind)kind, thing, wanted, id)) {
                continue;
            }
            if (!with_others || kind == SHOP_BIT) {
                return thing;
            }
            lists_take_out(lists, (enum shop_kind)kind, i - 1);
        }
    }
    return NULL;
}

bool shop_no_such(enum shop_kind kind, struct shop_refusal *refusal)
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
        return shop_no_such(kind, refusal);
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
        lists_free(&shop->next);
        return false;
    }
    lists_take_out(&shop->next, kind, lists_place(&shop->next, kind, name));
    return commit(shop, done, owner, refusal);
}

bool shop_rename(struct shop *shop, enum shop_kind kind, const char *from, const char *to,
                 shop_done *done, void *owner, struct shop_refusal *refusal)
{
    union things_any any;
    const void *thing = shop_find(shop, kind, from);
    if (!thing) {
        return shop_no_such(kind, refusal);
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
    snprintf(any.thing.name, SHOP_NAME_SIZE, "%s", to);
    lists_take_out(&shop->next, kind, lists_place(&shop->next, kind, from));
    if (!lists_insert(&shop->next, kind, &any)) { /* there was room for it a line ago */
        lists_free(&shop->next);
        return refuse_memory(refusal);
    }
    return commit(shop, done, owner, refusal);
}

bool shop_grind(struct shop *shop, const char *bit, shop_done *done, void *owner,
                struct shop_refusal *refusal)
{
    const struct bit *found = shop_find(shop, SHOP_BIT, bit);
    if (!found) {
        return shop_no_such(SHOP_BIT, refusal);
    }
    uint32_t id = found->thing.id;
    if (!begin(shop, refusal)) {
        return false;
    }
    ((struct bit *)lists_at(&shop->next, SHOP_BIT, lists_place(&shop->next, SHOP_BIT, bit)))
        ->ground = true;
    for (size_t i = 0; i < shop->next.of[SHOP_PRESET].count; i++) {
        struct preset *preset = lists_at(&shop->next, SHOP_PRESET, i);
        preset->recompute = preset->recompute || preset->bit == id;
    }
    for (size_t i = 0; i < shop->next.of[SHOP_PAIR].count; i++) {
        struct pair *pair = lists_at(&shop->next, SHOP_PAIR, i);
        pair->recompute = pair->recompute || pair->first == id || pair->second == id;
    }
    return commit(shop, done, owner, refusal);
}

const char *shop_unit(const struct shop *shop)
{
    return shop->now.unit;
}

bool shop_set_unit(struct shop *shop, const char *unit, shop_done *done, void *owner,
                   struct shop_refusal *refusal)
{
    if (!begin(shop, refusal)) {
        return false;
    }
    snprintf(shop->next.unit, sizeof shop->next.unit, "%s", unit);
    return commit(shop, done, owner, refusal);
}

void shop_abandon(struct shop *shop, void *owner)
{
    if (shop->owner == owner) {
        shop->done = NULL;
        shop->owner = NULL;
    }
}
