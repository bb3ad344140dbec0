/* SPDX-License-Identifier: MIT */
/* The shop's lists over the socket: listed, kept, forgotten, renamed; for every kind alike. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/serve/method.h"
#include "protocol/length.h"

enum { PAGE_BYTES = 12000 /* of one answer; a line has 16384 */ };

union any {
    struct bit bit;
    struct ring ring;
    struct stock stock;
    struct pair pair;
    struct preset preset;
};

/* What keep takes of each kind, from its fields: filled once, by things_prepare. */
static struct local_param keep_params[SHOP_KINDS][CALL_PARAMS_MAX + 1];
static char nm_names[SHOP_KINDS][CALL_PARAMS_MAX][24];

static enum local_type type_of(const struct field *field)
{
    switch (field->type) {
    case FIELD_COUNT:
        return LOCAL_INTEGER;
    case FIELD_FLAG:
        return LOCAL_BOOLEAN;
    default:
        return LOCAL_STRING;
    }
}

/* name, replace, and each field; of a length two, as text and as _nm. */
void things_prepare(void)
{
    for (int kind = 0; kind < SHOP_KINDS; kind++) {
        struct local_param *param = keep_params[kind];
        *param++ = (struct local_param){"name", LOCAL_STRING, true};
        *param++ = (struct local_param){"replace", LOCAL_BOOLEAN, false};
        for (const struct field *field = things_kinds[kind].fields; field->name; field++) {
            if (field->ours) {
                continue;
            }
            *param++ = (struct local_param){field->name, type_of(field), false};
            if (field->type == FIELD_LENGTH) {
                char *name = nm_names[kind][param - keep_params[kind]];
                snprintf(name, sizeof nm_names[kind][0], "%s_nm", field->name);
                *param++ = (struct local_param){name, LOCAL_INTEGER, false};
            }
        }
    }
}

/* --- Answers --- */

static void add_bit_facts(const struct bit *bit, cJSON *object)
{
    cJSON_AddBoolToObject(object, "steps", bit_steps(bit));
    cJSON_AddNumberToObject(object, "speed_advice", bit_speed_most(bit));
}

static cJSON *thing_object(const struct shop *shop, enum shop_kind kind, const void *thing)
{
    cJSON *object = cJSON_CreateObject();
    things_answer(kind, thing, object);
    for (const struct field *field = things_kinds[kind].fields; field->name; field++) {
        const struct thing *named = field->type == FIELD_THING && things_id(field, thing) != 0
                                        ? shop_find_id(shop, field->kind, things_id(field, thing))
                                        : NULL;
        if (named) {
            cJSON_AddStringToObject(object, field->name, named->name);
        }
    }
    if (kind == SHOP_BIT) {
        add_bit_facts(thing, object);
    }
    return object;
}

/* Of another bit than the one that is asked for? */
static bool left_out(const struct shop *shop, enum shop_kind kind, const void *thing,
                     const cJSON *bit)
{
    if (kind != SHOP_PRESET || !bit) {
        return false;
    }
    const struct thing *wanted = shop_find(shop, SHOP_BIT, bit->valuestring);
    return !wanted || ((const struct preset *)thing)->bit != wanted->id;
}

static void list(struct call *call, enum shop_kind kind)
{
    const struct shop *shop = call_shop(call);
    const char *after = call->found[0] ? call->found[0]->valuestring : "";
    const cJSON *bit = kind == SHOP_PRESET ? call->found[1] : NULL;
    cJSON *object = cJSON_CreateObject();
    cJSON *array = cJSON_AddArrayToObject(object, things_kinds[kind].words);
    size_t bytes = 0;
    bool more = false;
    for (size_t i = 0; i < shop_count(shop, kind) && !more; i++) {
        const struct thing *thing = shop_at(shop, kind, i);
        if (strcmp(thing->name, after) <= 0 || left_out(shop, kind, thing, bit)) {
            continue;
        }
        cJSON *item = thing_object(shop, kind, thing);
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

/* --- Keeping --- */

static void on_kept(void *owner, enum reason reason, const char *sentence)
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
        cJSON_AddItemToArray(array, thing_object(shop, kind, thing));
    }
    call_result(call, object);
}

/* A thing that is named: its id, 0 for the empty name. */
static bool find_named(struct call *call, const struct field *field, const cJSON *found,
                       void *thing)
{
    const struct thing *named = shop_find(call_shop(call), field->kind, found->valuestring);
    if (!named && found->valuestring[0] != '\0') {
        char sentence[SHOP_SENTENCE];
        snprintf(sentence, sizeof sentence,
                 "There is no %s named '%.63s'. Nothing has changed. Keep that first.",
                 things_kinds[field->kind].word, found->valuestring);
        method_refuse(call, field->kind == SHOP_BIT ? REASON_NO_SUCH_BIT : REASON_NO_SUCH_THING,
                      sentence);
        return false;
    }
    things_set_id(field, thing, named ? named->id : 0);
    return true;
}

static bool take_field(struct call *call, const struct field *field, const cJSON *const found[2],
                       void *thing)
{
    char why[SHOP_WHY_SIZE];
    if (found[0] && found[1]) {
        call_error(call, LOCAL_INVALID_PARAMS,
                   "Give a length once: as text with its unit, or as _nm.", NULL);
        return false;
    }
    const cJSON *item = found[0] ? found[0] : found[1];
    if (field->type == FIELD_THING) {
        return find_named(call, field, item, thing);
    }
    if (!things_take(field, item, found[1] != NULL, thing, why, sizeof why)) {
        call_error(call, LOCAL_INVALID_PARAMS, why, NULL);
        return false;
    }
    return true;
}

/* What the request gives goes over what there is. False, and answered, when it cannot. */
static bool take_fields(struct call *call, enum shop_kind kind, bool new, void *thing)
{
    size_t at = 2;
    for (const struct field *field = things_kinds[kind].fields; field->name; field++) {
        if (field->ours) {
            continue;
        }
        bool length = field->type == FIELD_LENGTH;
        const cJSON *found[2] = {call->found[at], length ? call->found[at + 1] : NULL};
        at += length ? 2 : 1;
        if (found[0] || found[1]) {
            if (!take_field(call, field, found, thing)) {
                return false;
            }
        } else if (new && field->required && kind != SHOP_PRESET) {
            char why[SHOP_WHY_SIZE];
            snprintf(why, sizeof why, "A %s needs its %s.", things_kinds[kind].word, field->name);
            call_error(call, LOCAL_INVALID_PARAMS, why, NULL);
            return false;
        }
    }
    return true;
}

/* Of a preset: where the bit stands, that bit, and what the work rides on, unless they are said. */
static bool take_present(struct call *call, bool new, struct preset *preset)
{
    struct lift_status status;
    bool height = call->found[2] || call->found[3];
    lift_status(call_lift(call), &status);
    if (new || !height) {
        preset->bit = status.bit;
        preset->riding_nm = status.riding_nm;
    }
    if (height) {
        return true;
    }
    if (status.table_zero != TRUST_SURE || status.activity == LIFT_MOVING ||
        status.activity == LIFT_BRAKING || status.activity == LIFT_UNPLUGGED) {
        method_refuse(call, REASON_HEIGHT_UNKNOWN,
                      "Where the bit stands is not sure now, so it cannot be kept. Nothing has "
                      "changed. Touch off or confirm first, or give the height.");
        return false;
    }
    preset->height_nm = status.height_nm;
    return true;
}

static void refuse_taken(struct call *call, enum shop_kind kind, const void *old, const void *new)
{
    char sentence[SHOP_SENTENCE];
    char was[LENGTH_TEXT_SIZE];
    char is[LENGTH_TEXT_SIZE];
    if (kind == SHOP_PRESET) {
        length_print_exact(((const struct preset *)old)->height_nm, was, sizeof was);
        length_print_exact(((const struct preset *)new)->height_nm, is, sizeof is);
        snprintf(sentence, sizeof sentence,
                 "There is a preset of that name at %s already; the new height would be %s. "
                 "Nothing has changed. Say to replace it, or take another name.",
                 was, is);
    } else {
        snprintf(sentence, sizeof sentence,
                 "There is a %s of that name already. Nothing has changed. Say to replace it, or "
                 "take another name.",
                 things_kinds[kind].word);
    }
    method_refuse(call, REASON_NAME_TAKEN, sentence);
}

static void keep(struct call *call, enum shop_kind kind)
{
    union any any = {.bit = {.shape = 0}};
    struct shop_refusal refusal;
    const char *name = call->found[0]->valuestring;
    const void *old = shop_find(call_shop(call), kind, name);
    memset(&any, 0, sizeof any);
    things_default(kind, &any);
    if (!things_name_valid(name)) {
        call_error(call, LOCAL_INVALID_PARAMS,
                   "A name is 1 to 63 bytes long, without control characters and without spaces "
                   "at its ends.",
                   NULL);
        return;
    }
    if (old) {
        memcpy(&any, old, things_kinds[kind].size);
    }
    snprintf(any.ring.thing.name, SHOP_NAME_SIZE, "%s", name);
    if ((kind == SHOP_PRESET && !take_present(call, !old, &any.preset)) ||
        !take_fields(call, kind, !old, &any)) {
        return;
    }
    if (old && !cJSON_IsTrue(call->found[1])) {
        refuse_taken(call, kind, old, &any);
        return;
    }
    call->kind = (int)kind;
    snprintf(call->name, sizeof call->name, "%s", name);
    if (!shop_put(call_shop(call), kind, &any, on_kept, call, &refusal)) {
        method_refuse(call, refusal.reason, refusal.sentence);
    }
}

/* --- Forgetting, renaming --- */

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

static void forget(struct call *call, enum shop_kind kind)
{
    struct lift_status status;
    const struct thing *thing = shop_find(call_shop(call), kind, call->found[0]->valuestring);
    call->kind = (int)kind;
    call->with_others = cJSON_IsTrue(call->found[1]);
    snprintf(call->name, sizeof call->name, "%s", call->found[0]->valuestring);
    lift_status(call_lift(call), &status);
    if (kind == SHOP_BIT && thing && status.bit == thing->id) {
        method_refuse(call, REASON_IN_USE,
                      "It is in the collet. Nothing has changed. Fit another one first.");
    } else if (kind == SHOP_PRESET && thing) {
        lift_forget_preset(call_lift(call), thing->id, on_journal_forgot, call);
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
    call_error(call, LOCAL_INVALID_PARAMS, "It can be a preset, bit, ring, stock or pair.", NULL);
    return false;
}

static void rename_thing(struct call *call)
{
    enum shop_kind kind;
    struct shop_refusal refusal;
    const char *to = call->found[2]->valuestring;
    if (!kind_of(call, call->found[0]->valuestring, &kind)) {
        return;
    }
    if (!things_name_valid(to)) {
        call_error(call, LOCAL_INVALID_PARAMS,
                   "A name is 1 to 63 bytes long, without control characters and without spaces "
                   "at its ends.",
                   NULL);
        return;
    }
    call->kind = (int)kind;
    snprintf(call->name, sizeof call->name, "%s", to);
    if (!shop_rename(call_shop(call), kind, call->found[1]->valuestring, to, on_kept, call,
                     &refusal)) {
        method_refuse(call, refusal.reason, refusal.sentence);
    }
}

static void ground(struct call *call)
{
    struct shop_refusal refusal;
    call->kind = SHOP_BIT;
    snprintf(call->name, sizeof call->name, "%s", call->found[0]->valuestring);
    if (!shop_grind(call_shop(call), call->name, on_kept, call, &refusal)) {
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
    keep(call, SHOP_PRESET);
}
static void keep_bit(struct call *call)
{
    keep(call, SHOP_BIT);
}
static void keep_ring(struct call *call)
{
    keep(call, SHOP_RING);
}
static void keep_stock(struct call *call)
{
    keep(call, SHOP_STOCK);
}
static void keep_pair(struct call *call)
{
    keep(call, SHOP_PAIR);
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
static const struct local_param rename_params[] = {{"what", LOCAL_STRING, true},
                                                   {"name", LOCAL_STRING, true},
                                                   {"to", LOCAL_STRING, true},
                                                   {NULL, 0, false}};
static const struct local_param ground_params[] = {{"bit", LOCAL_STRING, true}, {NULL, 0, false}};

const struct method methods_shop[] = {{"bits", page_params, list_bits, true},
                                      {"forget", forget_params, forget_preset, false},
                                      {"forget-bit", forget_params, forget_bit, false},
                                      {"forget-pair", forget_params, forget_pair, false},
                                      {"forget-ring", forget_params, forget_ring, false},
                                      {"forget-stock", forget_params, forget_stock, false},
                                      {"ground", ground_params, ground, false},
                                      {"keep", keep_params[SHOP_PRESET], keep_preset, false},
                                      {"keep-bit", keep_params[SHOP_BIT], keep_bit, false},
                                      {"keep-pair", keep_params[SHOP_PAIR], keep_pair, false},
                                      {"keep-ring", keep_params[SHOP_RING], keep_ring, false},
                                      {"keep-stock", keep_params[SHOP_STOCK], keep_stock, false},
                                      {"pairs", page_params, list_pairs, true},
                                      {"presets", presets_params, list_presets, true},
                                      {"rename", rename_params, rename_thing, false},
                                      {"rings", page_params, list_rings, true},
                                      {"stock", page_params, list_stock, true},
                                      {NULL, NULL, NULL, false}};
