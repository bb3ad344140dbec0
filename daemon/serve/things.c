/* SPDX-License-Identifier: MIT */
/* The shop's lists over the socket: listed, forgotten, renamed; for every kind alike. keep.c keeps.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/serve/things.h"

enum { PAGE_BYTES = 12000 /* of one answer; a line has 16384 */ };

/* --- Answers --- */

static void add_bit_facts(const struct bit *bit, cJSON *object)
{
    cJSON_AddBoolToObject(object, "steps", bit_steps(bit));
    cJSON_AddNumberToObject(object, "speed_advice", bit_speed_most(bit));
}

/* The name of what it names; or that this is gone, which is not the same as naming nothing. */
static void add_named(const struct shop *shop, const struct field *field, const void *thing,
                      cJSON *object)
{
    const struct thing *named = shop_find_id(shop, field->kind, things_id(field, thing));
    if (named) {
        cJSON_AddStringToObject(object, field->name, named->name);
        return;
    }
    cJSON *gone = cJSON_GetObjectItemCaseSensitive(object, "gone");
    gone = gone ? gone : cJSON_AddArrayToObject(object, "gone");
    cJSON_AddItemToArray(gone, cJSON_CreateString(field->name));
}

cJSON *things_object(const struct shop *shop, enum shop_kind kind, const void *thing)
{
    cJSON *object = cJSON_CreateObject();
    things_answer(kind, thing, object);
    for (const struct field *field = things_kinds[kind].fields; field->name; field++) {
        if (field->type == FIELD_THING && things_id(field, thing) != 0) {
            add_named(shop, field, thing, object);
        }
    }
    if (kind == SHOP_BIT) {
        add_bit_facts(thing, object);
    }
    return object;
}

static void list(struct call *call, enum shop_kind kind)
{
    const struct shop *shop = call_shop(call);
    const char *after = call->found[0] ? call->found[0]->valuestring : "";
    uint32_t bit = 0;
    if (kind == SHOP_PRESET && !fitted_find(call, call->found[1], &bit)) {
        return;
    }
    cJSON *object = cJSON_CreateObject();
    cJSON *array = cJSON_AddArrayToObject(object, things_kinds[kind].words);
    size_t bytes = 0;
    bool more = false;
    for (size_t i = 0; i < shop_count(shop, kind) && !more; i++) {
        const struct thing *thing = shop_at(shop, kind, i);
        if (strcmp(thing->name, after) <= 0 ||
            (bit != 0 && ((const struct preset *)(const void *)thing)->bit != bit)) {
            continue;
        }
        cJSON *item = things_object(shop, kind, thing);
        char *text = cJSON_PrintUnformatted(item);
        bytes += text ? strlen(text) : PAGE_BYTES;
        cJSON_free(text);
        more = bytes > PAGE_BYTES && cJSON_GetArraySize(array) > 0;
        if (more) {
            cJSON_Delete(item);
        } else {
            cJSON_AddItemToArray(array, item);
        }
    }
    cJSON_AddBoolToObject(object, "more", more);
    call_result(call, object);
}

/* --- Changes --- */

void things_kept(void *owner, enum reason reason, const char *sentence)
{
    struct call *call = owner;
    enum shop_kind kind = (enum shop_kind)call->kind;
    const struct shop *shop = call_shop(call);
    if (reason != REASON_NONE) {
        method_refuse(call, reason, sentence);
        return;
    }
    cJSON *object = cJSON_CreateObject();
    cJSON *array = cJSON_AddArrayToObject(object, things_kinds[kind].words);
    const void *thing = shop_find(shop, kind, call->name);
    if (thing) {
        cJSON_AddItemToArray(array, things_object(shop, kind, thing));
    }
    call_result(call, object);
}

static void on_gone(void *owner, enum reason reason, const char *sentence)
{
    struct call *call = owner;
    if (reason != REASON_NONE) {
        method_refuse(call, reason, sentence);
        return;
    }
    cJSON *object = cJSON_CreateObject();
    cJSON_AddStringToObject(object, "forgotten", call->name);
    call_result(call, object);
}

static void refuse_unknown(struct call *call, enum shop_kind kind)
{
    struct shop_refusal refusal;
    shop_no_such(kind, &refusal);
    method_refuse(call, refusal.reason, refusal.sentence);
}

static void drop(struct call *call)
{
    struct shop_refusal refusal;
    if (!shop_drop(call_shop(call), (enum shop_kind)call->kind, call->name, call->with_others,
                   on_gone, call, &refusal)) {
        method_refuse(call, refusal.reason, refusal.sentence);
    }
}

/* The journal knows no more of the preset: now the shop. */
static void on_journal_forgot(void *owner, const struct lift_refusal *refusal)
{
    struct call *call = owner;
    if (refusal) {
        call_refused(call, refusal);
    } else {
        drop(call);
    }
}

/* Of what goes, the preset at whose height the lift stands, which the journal names; else 0. */
static uint32_t preset_that_goes(const struct call *call, const struct thing *thing)
{
    struct lift_status status;
    lift_status(call_lift(call), &status);
    if (call->kind == SHOP_PRESET) {
        return thing->id;
    }
    const struct preset *preset =
        status.preset != 0 ? shop_find_id(call_shop(call), SHOP_PRESET, status.preset) : NULL;
    bool goes = preset && call->kind == SHOP_BIT && call->with_others && preset->bit == thing->id;
    return goes ? preset->thing.id : 0;
}

/* A story that names the bit keeps it: what one cuts by is not thrown away by the way. */
static bool in_story(struct call *call, enum shop_kind kind, const char *name)
{
    char sentence[SHOP_SENTENCE];
    const struct story *story =
        kind == SHOP_BIT ? stories_of_bit(call->exchange->session->server->stories, name) : NULL;
    if (story) {
        snprintf(sentence, sizeof sentence,
                 "The story '%s' has marks of it. Nothing has changed; forget that story first.",
                 story->name);
        method_refuse(call, REASON_IN_USE, sentence);
    }
    return story != NULL;
}

static void forget(struct call *call, enum shop_kind kind)
{
    struct lift_status status;
    const struct thing *thing = shop_find(call_shop(call), kind, call->found[0]->valuestring);
    call->kind = (int)kind;
    call->with_others = cJSON_IsTrue(call->found[1]);
    lift_status(call_lift(call), &status);
    if (!thing) {
        refuse_unknown(call, kind);
        return;
    }
    snprintf(call->name, sizeof call->name, "%s", thing->name);
    if (kind == SHOP_BIT && status.bit == thing->id) {
        method_refuse(call, REASON_IN_USE,
                      "It is in the collet. Nothing has changed. Fit another one first.");
        return;
    }
    if (in_story(call, kind, thing->name)) {
        return;
    }
    uint32_t preset = preset_that_goes(call, thing);
    if (preset != 0) {
        lift_forget_preset(call_lift(call), preset, on_journal_forgot, call);
    } else {
        drop(call);
    }
}

static bool kind_of(struct call *call, const char *word, enum shop_kind *kind)
{
    for (int i = 0; i < SHOP_KINDS; i++) {
        if (strcmp(things_kinds[i].word, word) == 0) {
            *kind = (enum shop_kind)i;
            return true;
        }
    }
    method_invalid(call, "Found \"%.40s\" for 'what'; preset, bit, ring, stock or pair would do.",
                   word);
    return false;
}

static void rename_in_shop(struct call *call, const char *from)
{
    struct shop_refusal refusal;
    if (!shop_rename(call_shop(call), (enum shop_kind)call->kind, from, call->name, things_kept,
                     call, &refusal)) {
        method_refuse(call, refusal.reason, refusal.sentence);
    }
}

/* The marks have the bit's new name. If it cannot be given to the bit now, the same request does it
 * later. */
static void on_marks_renamed(void *owner, enum reason reason, const char *sentence)
{
    struct call *call = owner;
    if (reason != REASON_NONE) {
        method_refuse(call, reason, sentence);
    } else {
        rename_in_shop(call, call->old_name);
    }
}

static bool can_rename(const struct shop *shop, enum shop_kind kind, const char *from,
                       const char *to)
{
    return shop_find(shop, kind, from) && !shop_find(shop, kind, to);
}

static void rename_thing(struct call *call)
{
    enum shop_kind kind;
    struct shop_refusal refusal;
    struct stories *stories = call->exchange->session->server->stories;
    const char *from = call->found[1]->valuestring;
    const char *to = call->found[2]->valuestring;
    if (!kind_of(call, call->found[0]->valuestring, &kind) || !things_name_usable(call, kind, to)) {
        return;
    }
    call->kind = (int)kind;
    snprintf(call->name, sizeof call->name, "%s", to);
    if (kind != SHOP_BIT || !can_rename(call_shop(call), kind, from, to) ||
        !stories_of_bit(stories, from)) {
        rename_in_shop(call, from);
        return;
    }
    snprintf(call->old_name, sizeof call->old_name, "%s", from);
    if (!stories_rename_bit(stories, from, to, on_marks_renamed, call, &refusal)) {
        method_refuse(call, refusal.reason, refusal.sentence);
    }
}

static void ground(struct call *call)
{
    struct shop_refusal refusal;
    const struct thing *bit = shop_find(call_shop(call), SHOP_BIT, call->found[0]->valuestring);
    if (!bit) {
        refuse_unknown(call, SHOP_BIT);
        return;
    }
    call->kind = SHOP_BIT;
    snprintf(call->name, sizeof call->name, "%s", bit->name);
    if (!shop_grind(call_shop(call), call->name, things_kept, call, &refusal)) {
        method_refuse(call, refusal.reason, refusal.sentence);
    }
}

/* One line a method; a table of functions has no room for the kind. */
static void list_presets(struct call *call)
{
    list(call, SHOP_PRESET);
}
static void list_bits(struct call *call)
{
    list(call, SHOP_BIT);
}
static void list_rings(struct call *call)
{
    list(call, SHOP_RING);
}
static void list_stock(struct call *call)
{
    list(call, SHOP_STOCK);
}
static void list_pairs(struct call *call)
{
    list(call, SHOP_PAIR);
}
static void keep_preset(struct call *call)
{
    things_keep(call, SHOP_PRESET);
}
static void keep_bit(struct call *call)
{
    things_keep(call, SHOP_BIT);
}
static void keep_ring(struct call *call)
{
    things_keep(call, SHOP_RING);
}
static void keep_stock(struct call *call)
{
    things_keep(call, SHOP_STOCK);
}
static void keep_pair(struct call *call)
{
    things_keep(call, SHOP_PAIR);
}
static void forget_preset(struct call *call)
{
    forget(call, SHOP_PRESET);
}
static void forget_bit(struct call *call)
{
    forget(call, SHOP_BIT);
}
static void forget_ring(struct call *call)
{
    forget(call, SHOP_RING);
}
static void forget_stock(struct call *call)
{
    forget(call, SHOP_STOCK);
}
static void forget_pair(struct call *call)
{
    forget(call, SHOP_PAIR);
}

static const struct local_param page_params[] = {{"after", LOCAL_STRING, false}, {NULL, 0, false}};
static const struct local_param presets_params[] = {
    {"after", LOCAL_STRING, false}, {"bit", LOCAL_STRING, false}, {NULL, 0, false}};
static const struct local_param forget_params[] = {
    {"name", LOCAL_STRING, true}, {"with_others", LOCAL_BOOLEAN, false}, {NULL, 0, false}};
static const struct local_param preset_params[] = {{"name", LOCAL_STRING, true}, {NULL, 0, false}};
static const struct local_param rename_params[] = {{"what", LOCAL_STRING, true},
                                                   {"name", LOCAL_STRING, true},
                                                   {"to", LOCAL_STRING, true},
                                                   {NULL, 0, false}};
static const struct local_param ground_params[] = {{"bit", LOCAL_STRING, true}, {NULL, 0, false}};

const struct method methods_shop[] = {{"bits", page_params, list_bits, true},
                                      {"forget", preset_params, forget_preset, false},
                                      {"forget-bit", forget_params, forget_bit, false},
                                      {"forget-pair", forget_params, forget_pair, false},
                                      {"forget-ring", forget_params, forget_ring, false},
                                      {"forget-stock", forget_params, forget_stock, false},
                                      {"ground", ground_params, ground, false},
                                      {"keep", things_params[SHOP_PRESET], keep_preset, false},
                                      {"keep-bit", things_params[SHOP_BIT], keep_bit, false},
                                      {"keep-pair", things_params[SHOP_PAIR], keep_pair, false},
                                      {"keep-ring", things_params[SHOP_RING], keep_ring, false},
                                      {"keep-stock", things_params[SHOP_STOCK], keep_stock, false},
                                      {"pairs", page_params, list_pairs, true},
                                      {"presets", presets_params, list_presets, true},
                                      {"rename", rename_params, rename_thing, false},
                                      {"rings", page_params, list_rings, true},
                                      {"stock", page_params, list_stock, true},
                                      {NULL, NULL, NULL, false}};
