/* SPDX-License-Identifier: MIT */
#include "protocol/story.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "protocol/length.h"

static const char *const routers[] = {"", "off", "on"};
static const char *const dusts[] = {"", "auto", "on", "off"};

/* Where a fault is said. */
struct fault {
    size_t number;
    char *why;
    size_t size;
};

REGLET_PRINTF(2, 3)
static bool refuse(const struct fault *fault, const char *format, ...)
{
    va_list arguments;
    int used = snprintf(fault->why, fault->size, "Mark %zu: ", fault->number);
    if (used > 0 && (size_t)used < fault->size) {
        va_start(arguments, format);
        vsnprintf(fault->why + used, fault->size - (size_t)used, format, arguments);
        va_end(arguments);
    }
    return false;
}

static bool read_text(const cJSON *item, char *text, size_t size, const struct fault *fault)
{
    if (!cJSON_IsString(item) || strlen(item->valuestring) >= size ||
        strpbrk(item->valuestring, "\n\r\t")) {
        return refuse(fault,
                      "its \"%s\" is no text of one line; at most %zu bytes in quotes would "
                      "do.",
                      item->string, size - 1);
    }
    strcpy(text, item->valuestring);
    return true;
}

static bool read_height(const cJSON *item, struct story_mark *mark, const struct fault *fault)
{
    struct length_fault length;
    if (!cJSON_IsString(item)) {
        return refuse(fault, "its \"height\" is no text; a length with its unit in quotes, as in "
                             "\"3/8in\", would do.");
    }
    if (!length_parse(item->valuestring, LENGTH_BARE_REFUSED, &mark->height_nm, &length)) {
        return refuse(fault, "its \"height\" is \"%.40s\": %s.", item->valuestring, length.text);
    }
    mark->has_height = true;
    return true;
}

static bool read_pieces(const cJSON *item, struct story_mark *mark, const struct fault *fault)
{
    double pieces = cJSON_IsNumber(item) ? item->valuedouble : 0;
    if (pieces < 1 || pieces > STORY_PIECES_MAX || pieces != (double)(int)pieces) {
        return refuse(
            fault, "its \"pieces\" is no number of pieces; a whole number from 1 to %d would do.",
            STORY_PIECES_MAX);
    }
    mark->pieces = (uint16_t)pieces;
    return true;
}

static bool read_router(const cJSON *item, struct story_mark *mark, const struct fault *fault)
{
    for (int i = STORY_ROUTER_OFF; i <= STORY_ROUTER_ON && cJSON_IsString(item); i++) {
        if (strcmp(item->valuestring, routers[i]) == 0) {
            mark->router = (enum story_router)i;
            return true;
        }
    }
    return refuse(fault, "its \"router\" is neither \"off\" nor \"on\"; one of them would do.");
}

static bool read_dust(const cJSON *item, struct story_mark *mark, const struct fault *fault)
{
    for (int i = STORY_DUST_AUTO; i <= STORY_DUST_OFF && cJSON_IsString(item); i++) {
        if (strcmp(item->valuestring, dusts[i]) == 0) {
            mark->dust = (enum story_dust)i;
            return true;
        }
    }
    return refuse(fault, "its \"dust\" is neither \"on\", \"off\" nor \"auto\"; one of them would "
                         "do.");
}

static bool read_lock(const cJSON *item, struct story_mark *mark, const struct fault *fault)
{
    mark->lock = cJSON_IsString(item) && strcmp(item->valuestring, "on") == 0;
    return mark->lock ||
           refuse(fault, "its \"lock\" is not \"on\"; that would do, or none: the clamp "
                         "is loosened for each move by itself.");
}

static bool read_member(const cJSON *item, struct story_mark *mark, const struct fault *fault)
{
    if (strcmp(item->string, "height") == 0) {
        return read_height(item, mark, fault);
    }
    if (strcmp(item->string, "bit") == 0) {
        return read_text(item, mark->bit, sizeof mark->bit, fault);
    }
    if (strcmp(item->string, "words") == 0) {
        return read_text(item, mark->words, sizeof mark->words, fault);
    }
    if (strcmp(item->string, "fence") == 0) {
        return read_text(item, mark->fence, sizeof mark->fence, fault);
    }
    if (strcmp(item->string, "part") == 0) {
        return read_text(item, mark->part, sizeof mark->part, fault);
    }
    if (strcmp(item->string, "pieces") == 0) {
        return read_pieces(item, mark, fault);
    }
    if (strcmp(item->string, "router") == 0) {
        return read_router(item, mark, fault);
    }
    if (strcmp(item->string, "dust") == 0) {
        return read_dust(item, mark, fault);
    }
    if (strcmp(item->string, "lock") == 0) {
        return read_lock(item, mark, fault);
    }
    return refuse(fault,
                  "nobody knows its \"%.40s\"; height, bit, words, fence, part, pieces, router, "
                  "dust or lock would do.",
                  item->string);
}

bool story_member_read(const cJSON *member, size_t number, struct story_mark *mark, char *why,
                       size_t why_size)
{
    const struct fault fault = {number, why, why_size};
    return read_member(member, mark, &fault);
}

bool story_mark_read(const cJSON *object, size_t number, struct story_mark *mark, char *why,
                     size_t why_size)
{
    const struct fault fault = {number, why, why_size};
    *mark = (struct story_mark){.has_height = false};
    if (!cJSON_IsObject(object)) {
        return refuse(&fault,
                      "it is no group in braces; one such as {\"height\": \"3/8in\"} would do.");
    }
    for (const cJSON *item = object->child; item; item = item->next) {
        if (!read_member(item, mark, &fault)) {
            return false;
        }
    }
    if (!mark->has_height && mark->words[0] == '\0' && mark->fence[0] == '\0') {
        return refuse(&fault, "it has no \"height\", and no \"words\" or \"fence\" either; one of "
                              "them would do.");
    }
    return true;
}

const char *story_router_word(enum story_router router)
{
    return routers[router];
}

const char *story_dust_word(enum story_dust dust)
{
    return dusts[dust];
}

const char *story_lock_word(bool lock)
{
    return lock ? "on" : "";
}

static bool add_text(cJSON *object, const char *name, const char *text)
{
    return text[0] == '\0' || cJSON_AddStringToObject(object, name, text);
}

cJSON *story_mark_print(const struct story_mark *mark, bool both)
{
    char height[LENGTH_TEXT_SIZE];
    cJSON *object = cJSON_CreateObject();
    bool whole = object != NULL;
    if (whole && mark->has_height) {
        length_print_exact(mark->height_nm, height, sizeof height);
        whole = cJSON_AddStringToObject(object, "height", height) &&
                (!both || cJSON_AddNumberToObject(object, "height_nm", (double)mark->height_nm));
    }
    whole = whole && add_text(object, "bit", mark->bit) && add_text(object, "words", mark->words) &&
            add_text(object, "fence", mark->fence) && add_text(object, "part", mark->part) &&
            (mark->pieces == 0 || cJSON_AddNumberToObject(object, "pieces", mark->pieces)) &&
            add_text(object, "router", story_router_word(mark->router)) &&
            add_text(object, "dust", story_dust_word(mark->dust)) &&
            add_text(object, "lock", story_lock_word(mark->lock));
    if (!whole) {
        cJSON_Delete(object);
        return NULL;
    }
    return object;
}
