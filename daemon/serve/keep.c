/* SPDX-License-Identifier: MIT */
/* What a request says of a thing, put over what there is, and kept; for every kind alike. */
#include <stdio.h>
#include <string.h>

#include "daemon/serve/things.h"
#include "protocol/length.h"

/* What keep takes of each kind, from its fields: filled once, by things_prepare. */
struct local_param things_params[SHOP_KINDS][CALL_PARAMS_MAX + 1];
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
        struct local_param *param = things_params[kind];
        *param++ = (struct local_param){"name", LOCAL_STRING, true};
        *param++ = (struct local_param){"replace", LOCAL_BOOLEAN, false};
        for (const struct field *field = things_kinds[kind].fields; field->name; field++) {
            *param++ = (struct local_param){field->name, type_of(field), false};
            if (field->type == FIELD_LENGTH) {
                char *name = nm_names[kind][param - things_params[kind]];
                snprintf(name, sizeof nm_names[kind][0], "%s_nm", field->name);
                *param++ = (struct local_param){name, LOCAL_INTEGER, false};
            }
        }
    }
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
        method_invalid(call, "Found both '%s' and '%s_nm'; one of the two would do.", field->name,
                       field->name);
        return false;
    }
    const cJSON *item = found[0] ? found[0] : found[1];
    if (field->type == FIELD_THING) {
        return find_named(call, field, item, thing);
    }
    if (!things_take(field, item, found[1] != NULL, thing, why, sizeof why)) {
        method_invalid(call, "%s", why);
        return false;
    }
    return true;
}

static bool needs(struct call *call, enum shop_kind kind, const struct field *field)
{
    method_invalid(call, "Found a %s without '%s'; one that has it would do.",
                   things_kinds[kind].word, field->name);
    return false;
}

/* What the request gives goes over what there is. False, and answered, when it cannot. */
static bool take_fields(struct call *call, enum shop_kind kind, bool new, void *thing)
{
    size_t at = 2;
    for (const struct field *field = things_kinds[kind].fields; field->name; field++) {
        bool length = field->type == FIELD_LENGTH;
        const cJSON *found[2] = {call->found[at], length ? call->found[at + 1] : NULL};
        bool given = found[0] || found[1];
        at += length ? 2 : 1;
        if (given && !take_field(call, field, found, thing)) {
            return false;
        }
        bool nothing = field->type == FIELD_THING ? things_id(field, thing) == 0 : !given && new;
        if (nothing && field->required && kind != SHOP_PRESET) {
            return needs(call, kind, field);
        }
    }
    return true;
}

/* Is the length of that name given, in either form? */
static bool is_given(const struct call *call, enum shop_kind kind, const char *length)
{
    const struct local_param *param = things_params[kind];
    bool given = false;
    for (size_t i = 0; param[i].name; i++) {
        given = given || (call->found[i] && strncmp(param[i].name, length, strlen(length)) == 0);
    }
    return given;
}

/* A preset gets a height now; a bit may get a size, a pair a difference. */
static void forget_marks(const struct call *call, enum shop_kind kind, union things_any *any)
{
    if (kind == SHOP_PRESET) {
        any->preset.recompute = false;
    } else if (kind == SHOP_BIT && is_given(call, kind, "diameter")) {
        any->bit.ground = false;
    } else if (kind == SHOP_PAIR && is_given(call, kind, "difference")) {
        any->pair.recompute = false;
    }
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

/* False, and answered, when its parts do not go together. */
static bool goes_together(struct call *call, enum shop_kind kind, const union things_any *any)
{
    int64_t nm;
    const struct shop *shop = call_shop(call);
    const struct bit *bit = &any->bit;
    if (kind == SHOP_PAIR && any->pair.first == any->pair.second) {
        method_invalid(call, "Found one bit twice in the pair; two different bits would do.");
        return false;
    }
    if (kind == SHOP_BIT && bit->cutting_nm == 0 && bit->point != POINT_LOWER_EDGE &&
        bit_lowest(bit, shop_find_id(shop, SHOP_RING, bit->ring), &nm)) {
        method_invalid(call, "Found a bit that is wider than its ring's opening less 1/8in, "
                             "without 'cutting_length', so that nobody knows how low it may go; "
                             "the length of its cutting edges, or a wider ring, would do.");
        return false;
    }
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

/* What touch says by itself would never reach a preset of that name. */
static bool is_touch_word(const char *name)
{
    return strcmp(name, "flush") == 0 || strcmp(name, "block") == 0 || strcmp(name, "plate") == 0;
}

bool things_name_usable(struct call *call, enum shop_kind kind, const char *name)
{
    if (!things_name_valid(name)) {
        method_invalid_name(call, name);
        return false;
    }
    if (kind == SHOP_PRESET && is_touch_word(name)) {
        method_invalid(call,
                       "Found \"%s\" for the name of a preset, which is a word by which a bit is "
                       "touched off (flush, block, plate); any other would do.",
                       name);
        return false;
    }
    return true;
}

void things_keep(struct call *call, enum shop_kind kind)
{
    union things_any any;
    struct shop_refusal refusal;
    const char *name = call->found[0]->valuestring;
    const void *old = shop_find(call_shop(call), kind, name);
    memset(&any, 0, sizeof any);
    things_default(kind, &any);
    if (!things_name_usable(call, kind, name)) {
        return;
    }
    if (old) {
        memcpy(&any, old, things_kinds[kind].size);
    }
    snprintf(any.thing.name, SHOP_NAME_SIZE, "%s", name);
    forget_marks(call, kind, &any);
    if ((kind == SHOP_PRESET && !take_present(call, !old, &any.preset)) ||
        !take_fields(call, kind, !old, &any) || !goes_together(call, kind, &any)) {
        return;
    }
    if (old && !cJSON_IsTrue(call->found[1])) {
        refuse_taken(call, kind, old, &any);
        return;
    }
    call->kind = (int)kind;
    snprintf(call->name, sizeof call->name, "%s", name);
    if (!shop_put(call_shop(call), kind, &any, things_kept, call, &refusal)) {
        method_refuse(call, refusal.reason, refusal.sentence);
    }
}
