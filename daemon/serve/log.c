/* SPDX-License-Identifier: MIT */
/* What happened: the log's lines with their names, and where the table's surface was found. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/serve/method.h"

enum { PAGE_BYTES = 6000 /* as they lie in the log; names and lengths in words come to them */ };

/* One page on its way from the disk. */
struct reading {
    struct server *server;
    struct call *call; /* NULL: nobody waits for it any more */
    struct reading *next;
};

/* The number of what was fitted or sent to then, by the name that it has now. */
static void put_name(const struct server *server, cJSON *line, const char *member,
                     enum shop_kind kind)
{
    cJSON *id = cJSON_DetachItemFromObjectCaseSensitive(line, member);
    if (!id) {
        return;
    }
    const struct thing *thing = shop_find_id(server->shop, kind, (uint32_t)id->valuedouble);
    cJSON_AddStringToObject(line, member, thing ? thing->name : "?");
    cJSON_Delete(id);
}

/* Every NAME_nm gets its NAME. */
static void put_lengths(cJSON *line)
{
    static const char *const lengths[] = {"height", "position", "riding", "by", "moved"};
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++) {
        char name[24];
        snprintf(name, sizeof name, "%s_nm", lengths[i]);
        cJSON *nm = cJSON_DetachItemFromObjectCaseSensitive(line, name);
        if (nm) {
            method_add_length(line, lengths[i], (int64_t)nm->valuedouble);
        }
        cJSON_Delete(nm);
    }
}

static cJSON *page_object(const struct server *server, const struct log_page *page)
{
    cJSON *object = cJSON_CreateObject();
    cJSON *array = cJSON_AddArrayToObject(object, "lines");
    for (const char *at = page->lines; *at != '\0'; at += strcspn(at, "\n") + 1) {
        cJSON *line = cJSON_ParseWithLength(at, strcspn(at, "\n"));
        if (cJSON_IsObject(line)) {
            put_name(server, line, "bit", SHOP_BIT);
            put_name(server, line, "preset", SHOP_PRESET);
            put_lengths(line);
            cJSON_AddItemToArray(array, line);
        } else { /* pieces that a power cut has left: they count, so that the next page begins right
                  */
            cJSON_Delete(line);
            cJSON_AddItemToArray(array, cJSON_CreateObject());
        }
    }
    cJSON_AddBoolToObject(object, "more", page->more);
    return object;
}

static void end_reading(struct reading *reading)
{
    struct reading **at = &reading->server->readings;
    while (*at != reading) {
        at = &(*at)->next;
    }
    *at = reading->next;
    free(reading);
}

static void on_page(void *owner, const struct log_page *page, const char *why)
{
    struct reading *reading = owner;
    struct call *call = reading->call;
    if (call && page) {
        call_result(call, page_object(reading->server, page));
    } else if (call) {
        call_error(call, LOCAL_INTERNAL_ERROR, why, NULL);
    }
    end_reading(reading);
}

void log_abandon(struct server *server, const struct call *call)
{
    for (struct reading *reading = server->readings; reading; reading = reading->next) {
        if (reading->call == call) {
            reading->call = NULL;
        }
    }
}

static void read_log(struct call *call)
{
    struct server *server = call->exchange->session->server;
    const char *from = call->found[0] ? call->found[0]->valuestring : "";
    double skip = call->found[1] ? call->found[1]->valuedouble : 0;
    if (strlen(from) >= 32 || skip < 0) {
        method_invalid(call,
                       "Found \"%.40s\" for 'from' and %.0f for 'skip'; a time such as "
                       "2026-01-31T09:30:00Z and a number of lines would do.",
                       from, skip);
        return;
    }
    struct reading *reading = malloc(sizeof *reading);
    if (!reading) {
        call_error(call, LOCAL_INTERNAL_ERROR, "There is no memory left.", NULL);
        return;
    }
    *reading = (struct reading){server, call, server->readings};
    server->readings = reading;
    keeper_read_log(server->keeper, from, (size_t)skip, PAGE_BYTES, on_page, reading);
}

static void surface(struct call *call)
{
    const struct surface *s = call->exchange->session->server->surface;
    cJSON *object = cJSON_CreateObject();
    cJSON *array = cJSON_AddArrayToObject(object, "points");
    for (size_t i = 0; i < surface_count(s); i++) {
        const struct surface_point *point = surface_at(s, i);
        cJSON *item = cJSON_CreateObject();
        cJSON_AddStringToObject(item, "time", point->time);
        cJSON_AddStringToObject(item, "pin", point->pin);
        method_add_length(item, "position", point->position_nm);
        cJSON_AddItemToArray(array, item);
    }
    call_result(call, object);
}

static const struct local_param log_params[] = {
    {"from", LOCAL_STRING, false}, {"skip", LOCAL_INTEGER, false}, {NULL, 0, false}};

const struct method methods_log[] = {{"log", log_params, read_log, false},
                                     {"surface", method_no_params, surface, true},
                                     {NULL, NULL, NULL, false}};
