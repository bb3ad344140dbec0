/* SPDX-License-Identifier: MIT */
#include "clients/common/presets.h"

#include <string.h>

static const cJSON *member(const cJSON *object, const char *name)
{
    return cJSON_GetObjectItemCaseSensitive(object, name);
}

const cJSON *presets_list(const cJSON *result)
{
    const cJSON *item;
    const cJSON *list = member(result, "presets");
    if (!cJSON_IsArray(list)) {
        return NULL;
    }
    cJSON_ArrayForEach(item, list)
    {
        if (!cJSON_IsString(member(item, "name")) || !cJSON_IsNumber(member(item, "height_nm"))) {
            return NULL;
        }
    }
    return list;
}

struct preset preset_of(const cJSON *item)
{
    return (struct preset){.name = member(item, "name")->valuestring,
                           .height_nm = (int64_t)member(item, "height_nm")->valuedouble};
}

bool presets_find(const cJSON *list, const char *name, struct preset *preset)
{
    const cJSON *item;
    cJSON_ArrayForEach(item, list)
    {
        *preset = preset_of(item);
        if (strcmp(preset->name, name) == 0) {
            return true;
        }
    }
    return false;
}

static size_t greater(size_t one, size_t other)
{
    return one > other ? one : other;
}

struct presets_widths presets_measure(const cJSON *list, enum length_style style)
{
    struct presets_widths widths = {0, 0};
    const cJSON *item;
    cJSON_ArrayForEach(item, list)
    {
        char text[SAY_LENGTH_SIZE];
        struct preset preset = preset_of(item);
        size_t columns = say_columns(preset.name);
        say_length(preset.height_nm, style, text, sizeof text);
        widths.height = greater(widths.height, strlen(text));
        if (columns <= PRESETS_NAME_COLUMNS) {
            widths.name = greater(widths.name, columns);
        }
    }
    return widths;
}

void presets_line(struct say *say, const struct preset *preset, const struct presets_widths *widths,
                  enum length_style style)
{
    char text[SAY_LENGTH_SIZE];
    char other[SAY_LENGTH_SIZE];
    size_t columns = say_columns(preset->name);
    say_length(preset->height_nm, style, text, sizeof text);
    say_other(preset->height_nm, style, other, sizeof other);
    say_add(say, "  ");
    say_harmless(say, preset->name);
    if (columns > PRESETS_NAME_COLUMNS) {
        say_add(say, "\n  ");
        columns = 0;
    }
    say_add(say, "%*s   ", (int)(greater(widths->name, columns) - columns), "");
    if (say_is_zero(preset->height_nm)) {
        say_add(say, "%s\n", text);
    } else {
        say_add(say, "%-*s   (%s)\n", (int)widths->height, text, other);
    }
}

void presets_one(struct say *say, const struct preset *preset, enum length_style style)
{
    char text[SAY_LENGTH_SIZE];
    say_exact(preset->height_nm, style, text, sizeof text);
    say_harmless(say, preset->name);
    say_add(say, ": %s", text);
}

void presets_taken(struct say *say, const struct preset *old, int64_t new_nm,
                   enum length_style style)
{
    char now[SAY_LENGTH_SIZE];
    char then[SAY_LENGTH_SIZE];
    say_exact(old->height_nm, style, now, sizeof now);
    say_exact(new_nm, style, then, sizeof then);
    say_harmless(say, old->name);
    say_add(say, " is kept already:\n  now   %s\n  new   %s\n", now, then);
}
