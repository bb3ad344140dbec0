/* SPDX-License-Identifier: MIT */
#include "daemon/shop/things.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "protocol/length.h"

#define IN LENGTH_NM_PER_IN

static const char *const shapes[] = {"straight",
                                     "spiral",
                                     "slot-cutter",
                                     "rabbet",
                                     "round-over",
                                     "cove",
                                     "chamfer",
                                     "v-groove",
                                     "bowl",
                                     "dovetail",
                                     "t-slot",
                                     "keyhole",
                                     "lock-mitre",
                                     "stile-rail",
                                     "raiser",
                                     "raiser-back-cutter",
                                     "vertical-raiser",
                                     "pin",
                                     "other",
                                     NULL};
static const char *const points[] = {"top-edge", "lower-edge", "shoulder", "centre", NULL};
static const char *const meets[] = {"edge", "tooth", "bearing", "screw", "nut", NULL};

/* clang-format off */
static const struct field preset_fields[] = {
    {.name = "height", .type = FIELD_LENGTH, .at = offsetof(struct preset, height_nm),
     .required = true, .low = -40 * IN, .high = 40 * IN},
    {.name = "bit", .type = FIELD_THING, .at = offsetof(struct preset, bit), .kind = SHOP_BIT},
    {.name = "riding", .type = FIELD_LENGTH, .at = offsetof(struct preset, riding_nm),
     .low = 0, .high = 10 * IN},
    {.name = "recompute", .type = FIELD_FLAG, .at = offsetof(struct preset, recompute)},
    {.name = "ring", .type = FIELD_TEXT, .at = offsetof(struct preset, ring)},
    {.name = "fence", .type = FIELD_TEXT, .at = offsetof(struct preset, fence)},
    {.name = "speed", .type = FIELD_TEXT, .at = offsetof(struct preset, speed)},
    {.name = "wood", .type = FIELD_TEXT, .at = offsetof(struct preset, wood)},
    {.name = "sample", .type = FIELD_TEXT, .at = offsetof(struct preset, sample)},
    {.name = NULL},
};

static const struct field bit_fields[] = {
    {.name = "kind", .type = FIELD_WORD, .at = offsetof(struct bit, shape), .required = true,
     .words = shapes},
    {.name = "diameter", .type = FIELD_LENGTH, .at = offsetof(struct bit, diameter_nm),
     .required = true, .low = IN / 64, .high = 8 * IN},
    {.name = "point", .type = FIELD_WORD, .at = offsetof(struct bit, point), .words = points,
     .otherwise = POINT_TOP_EDGE},
    {.name = "meets", .type = FIELD_WORD, .at = offsetof(struct bit, meets), .words = meets,
     .otherwise = MEETS_EDGE},
    {.name = "offset", .type = FIELD_LENGTH, .at = offsetof(struct bit, offset_nm),
     .low = -4 * IN, .high = 4 * IN},
    {.name = "cutting_length", .type = FIELD_LENGTH, .at = offsetof(struct bit, cutting_nm),
     .low = 0, .high = SHOP_CUTTING_MOST_NM},
    {.name = "shank", .type = FIELD_LENGTH, .at = offsetof(struct bit, shank_nm),
     .low = 0, .high = IN},
    {.name = "plunging", .type = FIELD_FLAG, .at = offsetof(struct bit, plunging)},
    {.name = "speed_most", .type = FIELD_COUNT, .at = offsetof(struct bit, speed_most),
     .low = 0, .high = 60000},
    {.name = "ring", .type = FIELD_THING, .at = offsetof(struct bit, ring), .kind = SHOP_RING},
    {.name = "ground", .type = FIELD_FLAG, .at = offsetof(struct bit, ground)},
    {.name = "note", .type = FIELD_TEXT, .at = offsetof(struct bit, note)},
    {.name = NULL},
};

static const struct field ring_fields[] = {
    {.name = "opening", .type = FIELD_LENGTH, .at = offsetof(struct ring, opening_nm),
     .required = true, .low = IN / 8, .high = 12 * IN},
    {.name = NULL},
};

static const struct field stock_fields[] = {
    {.name = "size", .type = FIELD_LENGTH, .at = offsetof(struct stock, size_nm),
     .required = true, .low = 1, .high = 40 * IN},
    {.name = NULL},
};

static const struct field pair_fields[] = {
    {.name = "first", .type = FIELD_THING, .at = offsetof(struct pair, first), .required = true,
     .kind = SHOP_BIT},
    {.name = "second", .type = FIELD_THING, .at = offsetof(struct pair, second), .required = true,
     .kind = SHOP_BIT},
    {.name = "difference", .type = FIELD_LENGTH, .at = offsetof(struct pair, difference_nm),
     .required = true, .low = -4 * IN, .high = 4 * IN},
    {.name = "recompute", .type = FIELD_FLAG, .at = offsetof(struct pair, recompute)},
    {.name = NULL},
};

const struct kind things_kinds[SHOP_KINDS] = {
    [SHOP_PRESET] = {"preset", "presets", sizeof(struct preset), 1000, preset_fields},
    [SHOP_BIT] = {"bit", "bits", sizeof(struct bit), 500, bit_fields},
    [SHOP_RING] = {"ring", "rings", sizeof(struct ring), 50, ring_fields},
    [SHOP_STOCK] = {"stock", "stock", sizeof(struct stock), 500, stock_fields},
    [SHOP_PAIR] = {"pair", "pairs", sizeof(struct pair), 200, pair_fields},
};
/* clang-format on */

/* A line that fits: no control characters. */
static bool text_valid(const char *text, size_t size)
{
    size_t length = 0;
    while (text[length] != '\0') {
        if ((unsigned char)text[length] < 0x20 || text[length] == 0x7f || ++length >= size) {
            return false;
        }
    }
    return true;
}

bool things_name_valid(const char *name)
{
    size_t size = strlen(name);
    return size > 0 && name[0] != ' ' && name[size - 1] != ' ' && text_valid(name, SHOP_NAME_SIZE);
}

static void *place(const struct field *field, void *thing)
{
    return (char *)thing + field->at;
}

static const void *look(const struct field *field, const void *thing)
{
    return (const char *)thing + field->at;
}

void things_set_id(const struct field *field, void *thing, uint32_t id)
{
    *(uint32_t *)place(field, thing) = id;
}

uint32_t things_id(const struct field *field, const void *thing)
{
    return *(const uint32_t *)look(field, thing);
}

void things_default(enum shop_kind kind, void *thing)
{
    for (const struct field *field = things_kinds[kind].fields; field->name; field++) {
        if (field->type == FIELD_WORD) {
            things_set_id(field, thing, field->otherwise);
        }
    }
}

static uint32_t word_of(const struct field *field, const char *word)
{
    for (uint32_t i = 0; field->words[i]; i++) {
        if (strcmp(field->words[i], word) == 0) {
            return i + 1;
        }
    }
    return 0;
}

static bool take_length(const struct field *field, const cJSON *found, bool nm, void *thing,
                        char *why, size_t size)
{
    int64_t value = nm ? (int64_t)found->valuedouble : 0;
    struct length_fault fault = {0, ""};
    char given[LENGTH_TEXT_SIZE];
    char low[LENGTH_TEXT_SIZE];
    char high[LENGTH_TEXT_SIZE];
    if (!nm && !length_parse(found->valuestring, LENGTH_BARE_REFUSED, &value, &fault)) {
        snprintf(why, size, "Found \"%.40s\" for '%s': %s.", found->valuestring, field->name,
                 fault.text);
        return false;
    }
    if (value < field->low || value > field->high) {
        length_print(field->low, LENGTH_STYLE_MM, low, sizeof low);
        length_print(field->high, LENGTH_STYLE_MM, high, sizeof high);
        length_print(value, LENGTH_STYLE_MM, given, sizeof given);
        snprintf(why, size, "Found %s for '%s'; from %s to %s would do.", given, field->name, low,
                 high);
        return false;
    }
    *(int64_t *)place(field, thing) = value;
    return true;
}

static bool take_word(const struct field *field, const cJSON *found, void *thing, char *why,
                      size_t size)
{
    uint32_t word = word_of(field, found->valuestring);
    if (word == 0) {
        int used =
            snprintf(why, size, "Found \"%.40s\" for '%s';", found->valuestring, field->name);
        for (size_t i = 0; field->words[i] && used > 0 && (size_t)used < size; i++) {
            used += snprintf(why + used, size - (size_t)used, "%s%s", i == 0 ? " " : ", ",
                             field->words[i]);
        }
        if (used > 0 && (size_t)used < size) {
            snprintf(why + used, size - (size_t)used, " would do.");
        }
        return false;
    }
    things_set_id(field, thing, word);
    return true;
}

bool things_take(const struct field *field, const cJSON *found, bool nm, void *thing, char *why,
                 size_t size)
{
    switch (field->type) {
    case FIELD_LENGTH:
        return take_length(field, found, nm, thing, why, size);
    case FIELD_WORD:
        return take_word(field, found, thing, why, size);
    case FIELD_FLAG:
        *(bool *)place(field, thing) = cJSON_IsTrue(found);
        return true;
    case FIELD_COUNT:
        if (found->valuedouble < (double)field->low || found->valuedouble > (double)field->high) {
            snprintf(why, size, "Found %.0f for '%s'; from %" PRId64 " to %" PRId64 " would do.",
                     found->valuedouble, field->name, field->low, field->high);
            return false;
        }
        things_set_id(field, thing, (uint32_t)found->valuedouble);
        return true;
    case FIELD_TEXT:
        if (!text_valid(found->valuestring, SHOP_TEXT_SIZE)) {
            snprintf(why, size, "Found %zu bytes for '%s'; one line of at most %d bytes would do.",
                     strlen(found->valuestring), field->name, SHOP_TEXT_SIZE - 1);
            return false;
        }
        strcpy(place(field, thing), found->valuestring);
        return true;
    default:
        return false;
    }
}

/* 0: it is none. The highest of all is not used, so that there is always a next one. */
static uint32_t read_id(const cJSON *item)
{
    bool fits = cJSON_IsNumber(item) && item->valuedouble >= 1 && item->valuedouble < UINT32_MAX &&
                item->valuedouble == trunc(item->valuedouble);
    return fits ? (uint32_t)item->valuedouble : 0;
}

/* As the document has it. */
static bool read_field(const struct field *field, const cJSON *item, void *thing, char *why,
                       size_t size)
{
    bool text =
        field->type == FIELD_LENGTH || field->type == FIELD_WORD || field->type == FIELD_TEXT;
    bool flag = field->type == FIELD_FLAG;
    if (text ? !cJSON_IsString(item) : flag ? !cJSON_IsBool(item) : !cJSON_IsNumber(item)) {
        return false;
    }
    if (field->type == FIELD_THING) {
        uint32_t id = read_id(item);
        things_set_id(field, thing, id);
        return id != 0;
    }
    if (field->type == FIELD_COUNT && item->valuedouble != trunc(item->valuedouble)) {
        return false;
    }
    return things_take(field, item, false, thing, why, size);
}

static const struct field *field_of(enum shop_kind kind, const char *name)
{
    for (const struct field *field = things_kinds[kind].fields; field->name; field++) {
        if (strcmp(field->name, name) == 0) {
            return field;
        }
    }
    return NULL;
}

static bool read_names(const cJSON *object, struct thing *thing)
{
    uint32_t id = read_id(cJSON_GetObjectItemCaseSensitive(object, "id"));
    const cJSON *name = cJSON_GetObjectItemCaseSensitive(object, "name");
    if (id == 0 || !cJSON_IsString(name) || !things_name_valid(name->valuestring)) {
        return false;
    }
    thing->id = id;
    strcpy(thing->name, name->valuestring);
    return true;
}

bool things_read(enum shop_kind kind, const cJSON *object, void *thing, char *why, size_t size)
{
    char detail[SHOP_WHY_SIZE] = "";
    memset(thing, 0, things_kinds[kind].size);
    things_default(kind, thing);
    if (!cJSON_IsObject(object) || !read_names(object, thing)) {
        snprintf(why, size, "has no id or no name that can be");
        return false;
    }
    for (const cJSON *item = object->child; item; item = item->next) {
        const struct field *field = field_of(kind, item->string);
        bool names = strcmp(item->string, "id") == 0 || strcmp(item->string, "name") == 0;
        if (!names && (!field || !read_field(field, item, thing, detail, sizeof detail))) {
            snprintf(why, size, "has a member '%.40s' that %s", item->string,
                     field ? "cannot be so" : "nobody knows");
            return false;
        }
    }
    for (const struct field *field = things_kinds[kind].fields; field->name; field++) {
        if (field->required && !cJSON_HasObjectItem(object, field->name)) {
            snprintf(why, size, "has no %s", field->name);
            return false;
        }
    }
    return true;
}

/* Whether it says more than leaving it out would. */
static bool says_something(const struct field *field, const void *thing)
{
    switch (field->type) {
    case FIELD_LENGTH:
        return field->required || *(const int64_t *)look(field, thing) != 0;
    case FIELD_FLAG:
        return *(const bool *)look(field, thing);
    case FIELD_TEXT:
        return *(const char *)look(field, thing) != '\0';
    default:
        return things_id(field, thing) != 0;
    }
}

static bool print_field(const struct field *field, const void *thing, bool answer, cJSON *object)
{
    char text[LENGTH_TEXT_SIZE];
    char name_nm[48];
    switch (field->type) {
    case FIELD_LENGTH:
        length_print_exact(*(const int64_t *)look(field, thing), text, sizeof text);
        snprintf(name_nm, sizeof name_nm, "%s_nm", field->name);
        return cJSON_AddStringToObject(object, field->name, text) &&
               (!answer || cJSON_AddNumberToObject(object, name_nm,
                                                   (double)*(const int64_t *)look(field, thing)));
    case FIELD_WORD:
        return cJSON_AddStringToObject(object, field->name,
                                       field->words[things_id(field, thing) - 1]) != NULL;
    case FIELD_FLAG:
        return cJSON_AddBoolToObject(object, field->name, *(const bool *)look(field, thing)) !=
               NULL;
    case FIELD_TEXT:
        return cJSON_AddStringToObject(object, field->name, look(field, thing)) != NULL;
    default:
        return cJSON_AddNumberToObject(object, field->name, things_id(field, thing)) != NULL;
    }
}

cJSON *things_print(enum shop_kind kind, const void *thing)
{
    const struct thing *names = thing;
    cJSON *object = cJSON_CreateObject();
    bool whole = cJSON_AddNumberToObject(object, "id", names->id) &&
                 cJSON_AddStringToObject(object, "name", names->name);
    for (const struct field *field = things_kinds[kind].fields; whole && field->name; field++) {
        whole = !says_something(field, thing) || print_field(field, thing, false, object);
    }
    if (!whole) {
        cJSON_Delete(object);
        return NULL;
    }
    return object;
}

void things_answer(enum shop_kind kind, const void *thing, cJSON *object)
{
    const struct thing *names = thing;
    cJSON_AddStringToObject(object, "name", names->name);
    for (const struct field *field = things_kinds[kind].fields; field->name; field++) {
        if (field->type != FIELD_THING && says_something(field, thing)) {
            (void)print_field(field, thing, true, object);
        }
    }
}
