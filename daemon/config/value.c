/* SPDX-License-Identifier: MIT */
#include "daemon/config/value.h"

#include <stdio.h>
#include <string.h>

#include "protocol/length.h"

enum { LENGTH_MAX = 64 }; /* characters of a length; nobody needs more */

bool value_refuse(const struct sentence_source *source, const struct table_entry *entry,
                  const struct value *value, const char *why, const char *wanted)
{
    char found[SENTENCE_FOUND_SIZE];
    return sentence_refuse(source, value->span.at, "found %s for \"%s\" in \"%s\"%s; %s would do",
                           sentence_found(source, value->span, found), entry->name,
                           table_headings[entry->group].name, why, wanted);
}

/* For whatever the key itself rules out. */
static bool refuse(const struct sentence_source *source, const struct table_entry *entry,
                   const struct value *value, const char *why)
{
    char wanted[SENTENCE_WANTED_SIZE];
    return value_refuse(source, entry, value, why, sentence_wanted(entry, value->in_mm, wanted));
}

/* A length, and behind it `per` and nothing else. */
static bool read_length(const struct sentence_source *source, const struct table_entry *entry,
                        const cJSON *item, const char *per, struct value *value)
{
    if (!cJSON_IsString(item)) {
        return refuse(source, entry, value, "");
    }
    const char *text = item->valuestring;
    size_t size = strlen(text);
    size_t tail = strlen(per);
    value->in_mm = strstr(text, "mm") != NULL;
    char length[LENGTH_MAX + 1];
    if (size < tail || size - tail > LENGTH_MAX || strcmp(text + size - tail, per) != 0) {
        return refuse(source, entry, value, "");
    }
    memcpy(length, text, size - tail);
    length[size - tail] = '\0';
    struct length_fault fault;
    if (!length_parse(length, LENGTH_BARE_REFUSED, &value->number, &fault)) {
        char why[sizeof fault.text + 3];
        (void)snprintf(why, sizeof why, " (%s)", fault.text);
        return refuse(source, entry, value, why);
    }
    return true;
}

static bool within(const struct sentence_source *source, const struct table_entry *entry,
                   const struct value *value)
{
    if (value->number < entry->least || value->number > entry->most) {
        return refuse(source, entry, value, "");
    }
    return true;
}

/* Every number that the scan lets through fits an int64_t. */
static bool read_whole(const struct sentence_source *source, const struct table_entry *entry,
                       const cJSON *item, struct value *value)
{
    value->number = cJSON_IsNumber(item) ? (int64_t)item->valuedouble : 0;
    if (!cJSON_IsNumber(item) || (double)value->number != item->valuedouble) {
        return refuse(source, entry, value, "");
    }
    return true;
}

static bool read_choice(const struct sentence_source *source, const struct table_entry *entry,
                        const cJSON *item, struct value *value)
{
    if (!read_whole(source, entry, item, value)) {
        return false;
    }
    for (const int64_t *choice = entry->choices; *choice != 0; choice++) {
        if (*choice == value->number) {
            return true;
        }
    }
    return refuse(source, entry, value, "");
}

static bool read_word(const struct sentence_source *source, const struct table_entry *entry,
                      const cJSON *item, struct value *value)
{
    for (size_t i = 0; cJSON_IsString(item) && entry->words[i]; i++) {
        if (strcmp(item->valuestring, entry->words[i]) == 0) {
            value->number = (int64_t)i + 1;
            return true;
        }
    }
    return refuse(source, entry, value, "");
}

/* No control characters: they are a slip of the keyboard, and no folder is named so on purpose. */
static bool read_path(const struct sentence_source *source, const struct table_entry *entry,
                      const cJSON *item, struct value *value)
{
    value->path = cJSON_IsString(item) ? item->valuestring : "";
    size_t size = strlen(value->path);
    if (value->path[0] != '/' || value->path[size - 1] == '/') {
        return refuse(source, entry, value, "");
    }
    if (size > (size_t)entry->most) {
        char why[32];
        (void)snprintf(why, sizeof why, ", %zu bytes", size);
        return refuse(source, entry, value, why);
    }
    for (size_t i = 0; i < size; i++) {
        if ((unsigned char)value->path[i] < 0x20 || value->path[i] == 0x7f) {
            return refuse(source, entry, value, ", with a control character in it");
        }
    }
    return true;
}

bool value_read(const struct sentence_source *source, const struct table_entry *entry,
                const cJSON *item, struct locate_span span, struct value *value)
{
    *value = (struct value){.given = true, .span = span};
    switch (entry->kind) {
    case TABLE_IS_LENGTH:
        return read_length(source, entry, item, "", value) && within(source, entry, value);
    case TABLE_IS_SPEED:
        return read_length(source, entry, item, "/s", value);
    case TABLE_IS_ACCELERATION:
        return read_length(source, entry, item, "/s2", value);
    case TABLE_IS_WHOLE:
        return read_whole(source, entry, item, value) && within(source, entry, value);
    case TABLE_IS_CHOICE:
        return read_choice(source, entry, item, value);
    case TABLE_IS_WORD:
        return read_word(source, entry, item, value);
    case TABLE_IS_PATH:
        return read_path(source, entry, item, value);
    }
    return false;
}
