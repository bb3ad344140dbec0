/* SPDX-License-Identifier: MIT */
#include "clients/pedal/map.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "clients/pedal/map_parts.h"
#include "clients/pedal/place.h"
#include "protocol/json.h"
#include "protocol/unit.h"

bool map_refuse(const struct map_source *source, const cJSON *item, const char *format, ...)
{
    int used = item ? snprintf(source->fault, MAP_FAULT_SIZE, "%.200s:%u: ", source->file,
                               place_line(source->text, source->document, item))
                    : snprintf(source->fault, MAP_FAULT_SIZE, "%.200s: ", source->file);
    size_t start = used > 0 ? (size_t)used : 0;
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(source->fault + start, MAP_FAULT_SIZE - start, format, arguments);
    va_end(arguments);
    return false;
}

static bool read_unit(const struct map_source *source, const cJSON *item, struct map *map)
{
    if (!cJSON_IsString(item) || !unit_style(item->valuestring, &map->style)) {
        return map_refuse(source, item,
                          "found another unit than \"in\", \"mm\", \"32\", \"64\" or \"128\"; one "
                          "of these, in quotes, would do");
    }
    map->has_style = true;
    return true;
}

static bool read_debounce(const struct map_source *source, const cJSON *item, struct map *map)
{
    double ms = cJSON_IsNumber(item) ? item->valuedouble : -1;
    if (ms < 0 || ms > MAP_DEBOUNCE_MOST_MS || ms != (int)ms) {
        return map_refuse(source, item,
                          "found another \"debounce_ms\" than a whole number from 0 to %d; 20, "
                          "without quotes, would do",
                          MAP_DEBOUNCE_MOST_MS);
    }
    map->debounce_ms = (int)ms;
    return true;
}

static bool read_devices(const struct map_source *source, const cJSON *list, struct map *map)
{
    const cJSON *item;
    if (!cJSON_IsArray(list) || cJSON_GetArraySize(list) == 0) {
        return map_refuse(source, list,
                          "found no device in \"devices\"; a list [ ] of groups in braces { }, "
                          "one a device, would do");
    }
    cJSON_ArrayForEach(item, list)
    {
        if (map->devices == MAP_DEVICES_MAX) {
            return map_refuse(source, item, "found more than %d devices; fewer would do",
                              MAP_DEVICES_MAX);
        }
        if (!map_read_device(source, item, &map->device[map->devices])) {
            return false;
        }
        map->devices++;
    }
    return true;
}

static bool read_document(const struct map_source *source, struct map *map)
{
    const cJSON *item;
    if (!cJSON_IsObject(source->document)) {
        return map_refuse(source, source->document,
                          "found something else than one group in braces { } as the whole; a copy "
                          "of the annotated example pedal.json would do");
    }
    cJSON_ArrayForEach(item, source->document)
    {
        bool good = strcmp(item->string, "unit") == 0          ? read_unit(source, item, map)
                    : strcmp(item->string, "debounce_ms") == 0 ? read_debounce(source, item, map)
                    : strcmp(item->string, "devices") == 0
                        ? read_devices(source, item, map)
                        : map_refuse(source, item,
                                     "found the unknown word \"%.40s\"; \"unit\", "
                                     "\"debounce_ms\" or \"devices\" would do",
                                     item->string);
        if (!good) {
            return false;
        }
    }
    return map->devices > 0 ||
           map_refuse(source, NULL, "found no \"devices\"; a list [ ] of them would do");
}

bool map_read(char *text, size_t size, const char *file, struct map *map, char *fault)
{
    struct json_fault json_fault;
    struct map_source source = {.file = file, .text = text, .fault = fault};
    memset(map, 0, sizeof *map);
    map->debounce_ms = MAP_DEBOUNCE_MS;
    if (size > MAP_FILE_MAX) {
        return map_refuse(&source, NULL, "found more than %d bytes; a shorter file would do",
                          MAP_FILE_MAX);
    }
    json_blank_comments(text, size);
    source.document = json_parse(text, size, &json_fault);
    if (!source.document) {
        (void)snprintf(fault, MAP_FAULT_SIZE, "%.200s:%u: %s", file, json_fault.line,
                       json_fault.text);
        return false;
    }
    bool good = read_document(&source, map);
    cJSON_Delete(source.document);
    return good;
}

const struct action *map_action(const struct map_device *device, unsigned code)
{
    for (size_t i = 0; i < device->keys; i++) {
        if (device->key[i].code == code) {
            return &device->key[i].action;
        }
    }
    return NULL;
}
