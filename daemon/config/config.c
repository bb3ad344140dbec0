/* SPDX-License-Identifier: MIT */
#include "daemon/config/config.h"

#include <stdio.h>
#include <string.h>

#include "daemon/config/check.h"
#include "daemon/config/fnv.h"
#include "protocol/json.h"

enum { NAMES_SIZE = 160 }; /* of all groups, or all keys of one */

struct names {
    char text[NAMES_SIZE];
    size_t used;
    unsigned left; /* names still to come */
};

static void add_name(struct names *names, const char *name)
{
    const char *before = names->used == 0 ? "" : names->left == 1 ? " or " : ", ";
    int wrote =
        snprintf(names->text + names->used, NAMES_SIZE - names->used, "%s\"%s\"", before, name);
    names->used += wrote > 0 ? (size_t)wrote : 0;
    names->used = names->used < NAMES_SIZE ? names->used : NAMES_SIZE - 1;
    names->left--;
}

static bool refuse_key(const struct sentence_source *source, enum table_group group,
                       struct locate_span name)
{
    struct names names = {.used = 0};
    char found[SENTENCE_FOUND_SIZE];
    for (size_t i = 0; i < TABLE_KEYS; i++) {
        names.left += table_entries[i].group == group;
    }
    for (size_t i = 0; i < TABLE_KEYS; i++) {
        if (table_entries[i].group == group) {
            add_name(&names, table_entries[i].name);
        }
    }
    return sentence_refuse(source, name.at, "found the unknown key %s in \"%s\"; %s would do",
                           sentence_found(source, name, found), table_headings[group].name,
                           names.text);
}

static bool refuse_group(const struct sentence_source *source, struct locate_span name)
{
    struct names names = {.left = TABLE_GROUPS};
    char found[SENTENCE_FOUND_SIZE];
    for (size_t i = 0; i < TABLE_GROUPS; i++) {
        add_name(&names, table_headings[i].name);
    }
    return sentence_refuse(source, name.at, "found the unknown group %s; %s would do",
                           sentence_found(source, name, found), names.text);
}

/* `name` is cJSON's, unescaped. */
static bool read_key(const struct sentence_source *source, enum table_group group,
                     const cJSON *item, const struct locate_member *member,
                     struct check_values *values)
{
    for (size_t i = 0; i < TABLE_KEYS; i++) {
        const struct table_entry *entry = &table_entries[i];
        if (entry->group == group && strcmp(entry->name, item->string) == 0) {
            return value_read(source, entry, item, member->value, &values->value[i]);
        }
    }
    return refuse_key(source, group, member->name);
}

static bool read_keys(const struct sentence_source *source, enum table_group group,
                      const cJSON *object, const struct locate_member *member,
                      struct check_values *values)
{
    const struct table_heading *heading = &table_headings[group];
    if (!cJSON_IsObject(object)) {
        char found[SENTENCE_FOUND_SIZE];
        return sentence_refuse(
            source, member->value.at, "found %s for \"%s\"; a group in braces, as in %s, would do",
            sentence_found(source, member->value, found), heading->name, heading->example);
    }
    values->group_at[group] = member->name.at;
    size_t at = member->value.at;
    struct locate_member key;
    for (const cJSON *item = object->child; item != NULL; item = item->next) {
        if (!locate_next(source->text, &at, &key) || !read_key(source, group, item, &key, values)) {
            return false;
        }
    }
    return true;
}

static bool read_group(const struct sentence_source *source, const cJSON *object,
                       const struct locate_member *member, struct check_values *values)
{
    for (size_t i = 0; i < TABLE_GROUPS; i++) {
        if (strcmp(table_headings[i].name, object->string) == 0) {
            return read_keys(source, i, object, member, values);
        }
    }
    return refuse_group(source, member->name);
}

static bool read_document(const struct sentence_source *source, const cJSON *document,
                          struct check_values *values)
{
    size_t at = locate_root(source->text);
    if (!cJSON_IsObject(document)) {
        char found[SENTENCE_FOUND_SIZE];
        struct locate_span span = {at, source->size - at};
        return sentence_refuse(source, at,
                               "found %s as the whole; groups in braces { }, as in the annotated "
                               "example reglet.json, would do",
                               sentence_found(source, span, found));
    }
    memset(values, 0, sizeof *values);
    for (size_t i = 0; i < TABLE_GROUPS; i++) {
        values->group_at[i] = SENTENCE_WHOLE_FILE;
    }
    struct locate_member member;
    for (const cJSON *object = document->child; object != NULL; object = object->next) {
        if (!locate_next(source->text, &at, &member) ||
            !read_group(source, object, &member, values)) {
            return false;
        }
    }
    return true;
}

/* Other programs' comments are what people try. */
static bool refuse_grammar(const struct sentence_source *source, const struct json_fault *fault)
{
    const char *text = source->text + fault->at;
    size_t left = source->size - fault->at;
    bool block = left > 1 && text[0] == '/' && text[1] == '*';
    if (block || (left > 0 && text[0] == '#')) {
        return sentence_refuse(source, fault->at,
                               "found a comment that begins with %s; one from // to the end of "
                               "its line would do",
                               block ? "/*" : "#");
    }
    return sentence_refuse(source, fault->at, "%s", fault->text);
}

/* What json_scan would refuse too, but cannot say as well. */
static bool check_text(const struct sentence_source *source)
{
    size_t blank = 0;
    while (blank < source->size && strchr(" \t\r\n", source->text[blank]) != NULL) {
        blank++;
    }
    if (blank == source->size) {
        return sentence_refuse(source, SENTENCE_WHOLE_FILE,
                               "found no settings in it; a copy of the annotated example "
                               "reglet.json, fitted to your lift, would do");
    }
    return true;
}

/* Before the comments go: an editor's UTF-16 is full of them, and so is a file after a power cut.
 */
static bool check_bytes(const struct sentence_source *source)
{
    const char *nul = memchr(source->text, 0, source->size);
    if (nul != NULL) {
        return sentence_refuse(source, (size_t)(nul - source->text),
                               "found a NUL byte; plain text, saved as UTF-8, would do");
    }
    return true;
}

bool config_read(char *text, size_t size, const char *name, struct config *config,
                 struct config_fault *fault)
{
    struct sentence_source source = {.name = name, .text = text, .size = size, .fault = fault};
    if (size > CONFIG_SIZE_MAX) {
        return sentence_refuse(&source, SENTENCE_WHOLE_FILE,
                               "found more than %d bytes; a file of at most that would do",
                               CONFIG_SIZE_MAX);
    }
    if (!check_bytes(&source)) {
        return false;
    }
    json_blank_comments(text, size);
    if (!check_text(&source)) {
        return false;
    }
    struct json_fault json_fault;
    cJSON *document = json_parse(text, size, &json_fault);
    if (document == NULL) {
        return refuse_grammar(&source, &json_fault);
    }
    struct check_values values; /* its paths belong to the document */
    bool good = read_document(&source, document, &values) && check_all(&source, &values, config);
    cJSON_Delete(document);
    return good;
}

static uint64_t greatest_common_divisor(uint64_t a, uint64_t b)
{
    while (b != 0) {
        uint64_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

uint32_t config_screw_digest(const struct screw *screw)
{
    uint64_t ratio[2] = {(uint64_t)screw->steps_per_turn * (uint64_t)screw->lead_den,
                         (uint64_t)screw->lead_num_nm};
    uint64_t common = greatest_common_divisor(ratio[0], ratio[1]);
    unsigned char bytes[16];
    for (size_t i = 0; i < sizeof bytes; i++) {
        bytes[i] = (unsigned char)(ratio[i / 8] / common >> i % 8 * 8);
    }
    return fnv1a_32(bytes, sizeof bytes);
}
