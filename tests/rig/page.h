/* SPDX-License-Identifier: MIT */
/* protocol/LOCAL.md as tests read it: its sections, the rows of its tables, its examples. */
#ifndef REGLET_TESTS_RIG_PAGE_H
#define REGLET_TESTS_RIG_PAGE_H

#include <check.h>
#include <cjson/cJSON.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PAGE_SIZE = 200000, CELL_SIZE = 640, NAME_SIZE = 48, NAMES_MAX = 24, ROWS_MAX = 64 };

struct row {
    char name[NAMES_MAX][NAME_SIZE]; /* what its first cell has in backticks */
    int names;
    char cell[4][CELL_SIZE]; /* the cells behind it */
    bool seen[NAMES_MAX];    /* by page_check, in any object */
};

struct table {
    struct row row[ROWS_MAX];
    int rows;
};

struct part {
    const char *start;
    const char *end;
};

static inline char *page_read(void)
{
    static char text[PAGE_SIZE];
    char path[512];
    const char *root_end = strstr(__FILE__, "tests/rig/");
    ck_assert_ptr_nonnull(root_end);
    snprintf(path, sizeof path, "%.*sprotocol/LOCAL.md", (int)(root_end - __FILE__), __FILE__);
    FILE *file = fopen(path, "re");
    ck_assert_msg(file != NULL, "cannot read %s", path);
    size_t size = fread(text, 1, sizeof text - 1, file);
    fclose(file);
    ck_assert_uint_gt(size, 0);
    ck_assert_uint_lt(size, sizeof text - 1);
    text[size] = '\0';
    return text;
}

/* From its heading ("## Errors") to the next heading of any depth, or to the end. */
static inline struct part page_section(const char *page, const char *heading)
{
    char line[80];
    snprintf(line, sizeof line, "\n%.76s\n", heading);
    const char *found = strstr(page, line);
    ck_assert_msg(found != NULL, "there is no %s on the page", heading);
    struct part part = {.start = found + strlen(line)};
    part.end = strstr(part.start, "\n#");
    if (!part.end) {
        part.end = part.start + strlen(part.start);
    }
    return part;
}

/* The section of a method, which may share it with others ("### load, next, back"). */
static inline struct part page_method(const char *page, const char *method)
{
    for (const char *at = strstr(page, "\n### "); at; at = strstr(at + 1, "\n### ")) {
        char heading[80];
        char *rest = NULL;
        snprintf(heading, sizeof heading, "%.*s", (int)strcspn(at + 1, "\n"), at + 1);
        char whole[80];
        memcpy(whole, heading, sizeof whole);
        for (char *word = strtok_r(heading + 4, ", ", &rest); word;
             word = strtok_r(NULL, ", ", &rest)) {
            if (strcmp(word, method) == 0) {
                return page_section(page, whole);
            }
        }
    }
    ck_abort_msg("the page has no section of %s", method);
    return (struct part){NULL, NULL};
}

/* It is that of several methods. */
static inline bool page_is_shared(struct part part)
{
    bool comma = false;
    for (const char *at = part.start - 2; *at != '\n'; at--) { /* back through the heading */
        comma = comma || *at == ',';
    }
    return comma;
}

/* The words in backticks from `text` on, up to `end`. */
static inline int page_words(const char *text, const char *end, char word[][NAME_SIZE], int most)
{
    int count = 0;
    for (const char *open = text; count < most && (open = strchr(open, '`')) && open < end;) {
        const char *close = strchr(open + 1, '`');
        ck_assert(close && close < end);
        snprintf(word[count++], NAME_SIZE, "%.*s", (int)(close - open - 1), open + 1);
        open = close + 1;
    }
    return count;
}

static inline void page_read_row(const char *line, const char *end, struct row *row)
{
    *row = (struct row){.names = 0};
    const char *at = line + 2;
    for (int i = 0; i < 5 && at < end; i++) {
        const char *bar = strstr(at, " |");
        ck_assert_msg(bar && bar <= end, "a row without its end: %.60s", line);
        if (i == 0) {
            row->names = page_words(at, bar, row->name, NAMES_MAX);
        } else {
            ck_assert_int_lt(bar - at, CELL_SIZE);
            snprintf(row->cell[i - 1], CELL_SIZE, "%.*s", (int)(bar - at), at);
        }
        at = bar + 3;
    }
}

/* The table of a section whose first column has this name; false when there is none. */
static inline bool page_table(struct part part, const char *column, struct table *table)
{
    char header[64];
    snprintf(header, sizeof header, "| %s |", column);
    const char *line = strstr(part.start, header);
    *table = (struct table){.rows = 0};
    if (!line || line >= part.end) {
        return false;
    }
    line = strchr(strchr(line, '\n') + 1, '\n') + 1; /* behind the line under the header */
    for (; line[0] == '|'; line = strchr(line, '\n') + 1) {
        ck_assert_int_lt(table->rows, ROWS_MAX);
        page_read_row(line, strchr(line, '\n'), &table->row[table->rows++]);
    }
    ck_assert_int_gt(table->rows, 0);
    return true;
}

static inline struct row *page_row(struct table *table, const char *name, int *index)
{
    for (int r = 0; r < table->rows; r++) {
        for (int n = 0; n < table->row[r].names; n++) {
            if (strcmp(table->row[r].name[n], name) == 0) {
                *index = n;
                return &table->row[r];
            }
        }
    }
    return NULL;
}

/* --- What an object has against what the page says of it --- */

static inline bool page_is_whole(const cJSON *item)
{
    return cJSON_IsNumber(item) && floor(item->valuedouble) == item->valuedouble;
}

static inline bool page_is_text_array(const cJSON *item)
{
    const cJSON *entry;
    bool all = cJSON_IsArray(item);
    cJSON_ArrayForEach(entry, item)
    {
        all = all && cJSON_IsString(entry);
    }
    return all;
}

/* NAME_nm is whole nanometres. In an answer NAME is there too, and says the same in exact text. */
static inline bool page_is_length(const cJSON *object, const cJSON *item, bool answered)
{
    char other[NAME_SIZE];
    size_t size = strlen(item->string);
    if (size > 3 && strcmp(item->string + size - 3, "_nm") == 0) {
        snprintf(other, sizeof other, "%.*s", (int)(size - 3), item->string);
        return page_is_whole(item) && (!answered || cJSON_HasObjectItem(object, other));
    }
    if (!cJSON_IsString(item) || !answered) {
        return cJSON_IsString(item);
    }
    char *unit = NULL;
    snprintf(other, sizeof other, "%.40s_nm", item->string);
    const cJSON *nm = cJSON_GetObjectItemCaseSensitive(object, other);
    double text_nm = strtod(item->valuestring, &unit) * 1e6;
    return strcmp(unit, "mm") == 0 && nm && fabs(text_nm - nm->valuedouble) < 0.5;
}

static inline bool page_is_of_type(const cJSON *object, const cJSON *item, const char *type,
                                   bool answered)
{
    if (strcmp(type, "string") == 0) {
        return cJSON_IsString(item) && item->valuestring[0] != '\0';
    }
    if (strcmp(type, "boolean") == 0) {
        return cJSON_IsBool(item);
    }
    if (strcmp(type, "integer") == 0) {
        return page_is_whole(item);
    }
    if (strcmp(type, "length") == 0) {
        return page_is_length(object, item, answered);
    }
    if (strcmp(type, "array") == 0) {
        return cJSON_IsArray(item);
    }
    if (strcmp(type, "object") == 0) {
        return cJSON_IsObject(item);
    }
    ck_assert_msg(strcmp(type, "array of strings") == 0, "a type that no test knows: %s", type);
    return page_is_text_array(item);
}

/* Members whose every value stands in backticks in the row's meaning. */
static inline void page_check_word(const struct row *row, const cJSON *value)
{
    static const char *const closed[] = {
        "activity",  "reference", "table_zero", "play", "may",   "inputs", "stage", "asks",
        "direction", "lead_from", "lash_from",  "kind", "point", "meets",  "what",  "router"};
    char word[NAMES_MAX][NAME_SIZE];
    const char *meaning = row->cell[2];
    int words = page_words(meaning, meaning + strlen(meaning), word, NAMES_MAX);
    for (size_t i = 0; i < sizeof closed / sizeof *closed; i++) {
        bool known = strcmp(row->name[0], closed[i]) != 0;
        for (int w = 0; w < words; w++) {
            known = known || strcmp(word[w], value->valuestring) == 0;
        }
        ck_assert_msg(known, "%s is '%s', which is not on the page", row->name[0],
                      value->valuestring);
    }
}

/* Rows of "yes": every name is there. Rows of "one of ...": one name of all of them. */
static inline void page_check_there(const cJSON *object, const struct table *table,
                                    const char *what)
{
    bool choice = false;
    int chosen = 0;
    for (int r = 0; r < table->rows; r++) {
        const struct row *row = &table->row[r];
        bool one = strncmp(row->cell[0], "one of ", 7) == 0;
        int there = 0;
        for (int n = 0; n < row->names; n++) {
            there += cJSON_HasObjectItem(object, row->name[n]) ? 1 : 0;
        }
        ck_assert_msg(strcmp(row->cell[0], "yes") != 0 || there == row->names,
                      "%s lacks %s, which is always there", what, row->name[0]);
        choice = choice || one;
        chosen += one ? there : 0;
    }
    ck_assert_msg(!choice || chosen == 1, "%s has %d of those of which it has one", what, chosen);
}

/* Every member is in the table and of its type; every member that is always there is there.
 * Cells behind the name: always?, type, meaning, example. */
static inline void page_check(const cJSON *object, struct table *table, bool answered,
                              const char *what)
{
    const cJSON *item;
    int index = 0;
    ck_assert_msg(cJSON_IsObject(object), "%s is no object", what);
    cJSON_ArrayForEach(item, object)
    {
        struct row *row = page_row(table, item->string, &index);
        ck_assert_msg(row != NULL, "%s has a member %s that the page does not have", what,
                      item->string);
        ck_assert_msg(page_is_of_type(object, item, row->cell[1], answered),
                      "%s: %s is not of the type '%s'", what, item->string, row->cell[1]);
        row->seen[index] = true;
        if (cJSON_IsString(item)) {
            page_check_word(row, item);
        }
        const cJSON *entry;
        cJSON_ArrayForEach(entry, item)
        {
            if (cJSON_IsString(entry)) {
                page_check_word(row, entry);
            }
        }
    }
    page_check_there(object, table, what);
}

#endif
