/* SPDX-License-Identifier: MIT */
#include "daemon/machine/surface.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/document.h"
#include "protocol/length.h"

#define SURFACE_FILE "surface.json"

struct surface {
    struct keeper *keeper;
    size_t count;
    struct surface_point point[SURFACE_MOST];
};

static const char *text_of(const cJSON *object, const char *name, size_t size)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    bool fits =
        cJSON_IsString(item) && item->valuestring[0] != '\0' && strlen(item->valuestring) < size;
    return fits ? item->valuestring : NULL;
}

static bool read_point(const cJSON *object, struct surface_point *point)
{
    struct length_fault fault;
    const char *time = text_of(object, "time", SURFACE_TIME_SIZE);
    const char *pin = text_of(object, "pin", SURFACE_NAME_SIZE);
    const char *position = text_of(object, "position", LENGTH_TEXT_SIZE);
    if (!time || !pin || !position ||
        !length_parse(position, LENGTH_BARE_REFUSED, &point->position_nm, &fault)) {
        return false;
    }
    snprintf(point->time, sizeof point->time, "%s", time);
    snprintf(point->pin, sizeof point->pin, "%s", pin);
    return true;
}

static bool read_points(const cJSON *document, struct surface_point *point, size_t *count,
                        char *why, size_t size)
{
    const cJSON *item;
    const cJSON *points = cJSON_GetObjectItemCaseSensitive(document, "points");
    *count = 0;
    cJSON_ArrayForEach(item, points)
    {
        if (*count == SURFACE_MOST || !read_point(item, &point[*count])) {
            snprintf(why, size, "one of its points has no time, pin or position");
            return false;
        }
        ++*count;
    }
    if (!cJSON_IsArray(points)) {
        snprintf(why, size, "it has no points");
    }
    return cJSON_IsArray(points);
}

static bool check(const cJSON *document, char *why, size_t size)
{
    static struct surface_point scratch[SURFACE_MOST];
    size_t count;
    return read_points(document, scratch, &count, why, size);
}

struct surface *surface_open(struct keeper *keeper, char *why, size_t why_size)
{
    cJSON *document = NULL;
    struct surface *surface = calloc(1, sizeof *surface);
    if (!surface) {
        snprintf(why, why_size, "there is no memory for the table's surface");
        return NULL;
    }
    surface->keeper = keeper;
    enum document_found found = document_load(keeper_files(keeper), SURFACE_FILE, SURFACE_VERSION,
                                              check, &document, why, why_size);
    if (found == DOCUMENT_NEWER || found == DOCUMENT_UNREADABLE) {
        free(surface);
        return NULL;
    }
    if (found == DOCUMENT_LAST_GOOD || found == DOCUMENT_LOST) {
        fprintf(stderr, "regletd: %s\n", why);
    }
    if (document && !read_points(document, surface->point, &surface->count, why, why_size)) {
        surface->count = 0; /* it was checked: that cannot be */
    }
    cJSON_Delete(document);
    return surface;
}

void surface_free(struct surface *surface)
{
    free(surface);
}

size_t surface_count(const struct surface *surface)
{
    return surface->count;
}

const struct surface_point *surface_at(const struct surface *surface, size_t index)
{
    return &surface->point[index];
}

static char *print_points(const struct surface *surface)
{
    cJSON *document = cJSON_CreateObject();
    cJSON_AddNumberToObject(document, "version", SURFACE_VERSION);
    cJSON *points = cJSON_AddArrayToObject(document, "points");
    bool whole = points != NULL;
    for (size_t i = 0; whole && i < surface->count; i++) {
        char position[LENGTH_TEXT_SIZE];
        cJSON *object = cJSON_CreateObject();
        length_print_exact(surface->point[i].position_nm, position, sizeof position);
        whole = cJSON_AddItemToArray(points, object) &&
                cJSON_AddStringToObject(object, "time", surface->point[i].time) &&
                cJSON_AddStringToObject(object, "pin", surface->point[i].pin) &&
                cJSON_AddStringToObject(object, "position", position);
    }
    char *text = whole ? cJSON_Print(document) : NULL;
    cJSON_Delete(document);
    return text;
}

void surface_add(struct surface *surface, const char *pin, int64_t position_nm)
{
    if (surface->count == SURFACE_MOST) {
        memmove(&surface->point[1], &surface->point[2],
                (SURFACE_MOST - 2) * sizeof surface->point[0]);
        surface->count--;
    }
    struct surface_point *point = &surface->point[surface->count++];
    keeper_time(surface->keeper, point->time, sizeof point->time);
    snprintf(point->pin, sizeof point->pin, "%s", pin);
    point->position_nm = position_nm;
    char *text = print_points(surface);
    if (!text) {
        fprintf(stderr, "regletd: there was no memory to write down where the table's surface was "
                        "found. The touch-off holds; the next one with a pin is written again\n");
        return;
    }
    keeper_document(surface->keeper, SURFACE_FILE, text, NULL, NULL);
}
