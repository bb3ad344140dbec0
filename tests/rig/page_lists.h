/* SPDX-License-Identifier: MIT */
/* What protocol/LOCAL.md says of answers in words and in tables of names: lists, stories, marks. */
#ifndef REGLET_TESTS_RIG_PAGE_LISTS_H
#define REGLET_TESTS_RIG_PAGE_LISTS_H

#include "tests/rig/page.h"

static inline bool page_has_word(char word[][NAME_SIZE], int words, const char *wanted)
{
    bool found = false;
    for (int i = 0; i < words; i++) {
        found = found || strcmp(word[i], wanted) == 0;
    }
    return found;
}

/* NAME and NAME_nm, wherever the page takes it as a parameter: so it is a length. */
static inline bool page_takes_length(const char *page, const char *name)
{
    char pair[2 * NAME_SIZE];
    snprintf(pair, sizeof pair, "`%.40s` or `%.40s_nm`", name, name);
    return strstr(page, pair) != NULL;
}

/* A mark of a story: its height is there as nanometres too when it is answered. */
static inline void page_check_mark(const char *page, const cJSON *mark, bool answered)
{
    static struct table own;
    ck_assert(page_table(page_method(page, "keep-story"), "member of a mark", &own));
    const cJSON *height = cJSON_GetObjectItem(mark, "height");
    ck_assert(!height || page_is_length(mark, height, answered));
    ck_assert(answered || !cJSON_HasObjectItem(mark, "height_nm"));
    cJSON *copy = cJSON_Duplicate(mark, true);
    cJSON_DeleteItemFromObject(copy, "height_nm");
    page_check(copy, &own, false, "a mark");
    cJSON_Delete(copy);
}

/* The story in a status (NULL: none is loaded): its members are named in its row. */
static inline void page_check_story(const char *page, const cJSON *story, struct table *status)
{
    char word[NAMES_MAX][NAME_SIZE];
    int index = 0;
    const cJSON *item;
    if (!story) {
        return;
    }
    const struct row *row = page_row(status, "story", &index);
    const char *meaning = row->cell[2];
    int words = page_words(meaning, meaning + strlen(meaning), word, NAMES_MAX);
    cJSON_ArrayForEach(item, story)
    {
        ck_assert_msg(page_has_word(word, words, item->string), "story: %s is not on the page",
                      item->string);
        if (strcmp(item->string, "at") == 0 || strcmp(item->string, "next") == 0) {
            page_check_mark(page, item, true);
        } else {
            ck_assert(strcmp(item->string, "name") == 0 ? cJSON_IsString(item)
                                                        : page_is_whole(item));
        }
    }
    ck_assert(cJSON_HasObjectItem(story, "name") && cJSON_HasObjectItem(story, "mark") &&
              cJSON_HasObjectItem(story, "marks"));
}

/* Just these members, and what is in their arrays. */
static inline void page_check_words(const char *page, const cJSON *object, const char *names,
                                    const char *what)
{
    char copy[128];
    char *rest = NULL;
    int wanted = 0;
    snprintf(copy, sizeof copy, "%s", names);
    for (char *name = strtok_r(copy, " ", &rest); name; name = strtok_r(NULL, " ", &rest)) {
        char quoted[NAME_SIZE];
        ck_assert_msg(cJSON_HasObjectItem(object, name), "%s lacks %s", what, name);
        snprintf(quoted, sizeof quoted, "`%.40s`", name);
        ck_assert_msg(strstr(page, quoted) != NULL, "the page does not name %s", name);
        wanted++;
    }
    ck_assert_int_eq(cJSON_GetArraySize(object), wanted);
    const cJSON *item;
    cJSON_ArrayForEach(item, cJSON_GetObjectItem(object, "list"))
    {
        page_check_mark(page, item, true);
    }
    cJSON_ArrayForEach(item, cJSON_GetObjectItem(object, "stories"))
    {
        page_check_words(page, item, "name marks", "a story");
    }
    const cJSON *marks = cJSON_GetObjectItem(object, "marks");
    const cJSON *forgotten = cJSON_GetObjectItem(object, "forgotten");
    ck_assert((!marks || page_is_whole(marks)) && (!forgotten || cJSON_IsString(forgotten)));
}

/* One thing of a list. `words` is what the page says that each has: up to the first semicolon
 * always; types and words are those of the method that keeps such a thing, if they are in a table.
 */
static inline void page_check_thing(const char *page, const cJSON *thing, const char *words,
                                    struct table *kept)
{
    char word[NAMES_MAX][NAME_SIZE];
    const cJSON *item;
    int index = 0;
    const char *always_end = words + strcspn(words, ";");
    int count = page_words(words, always_end, word, NAMES_MAX);
    for (int i = 0; i < count; i++) {
        ck_assert_msg(cJSON_HasObjectItem(thing, word[i]), "a thing lacks %s", word[i]);
    }
    count = page_words(words, words + strlen(words), word, NAMES_MAX);
    cJSON_ArrayForEach(item, thing)
    {
        char base[NAME_SIZE];
        size_t size = strlen(item->string);
        bool nm = size > 3 && strcmp(item->string + size - 3, "_nm") == 0;
        snprintf(base, sizeof base, "%.*s", (int)(nm ? size - 3 : size), item->string);
        ck_assert_msg(page_has_word(word, count, base), "a thing has %s, which the page has not",
                      item->string);
        const struct row *row = page_row(kept, item->string, &index);
        if (page_takes_length(page, base)) {
            ck_assert_msg(page_is_length(thing, item, true), "%s is no length", item->string);
        } else if (row) {
            ck_assert(page_is_of_type(thing, item, row->cell[1], true));
            if (cJSON_IsString(item)) {
                page_check_word(row, item);
            }
        } else if (strcmp(base, "gone") == 0) {
            ck_assert(page_is_text_array(item));
        } else {
            ck_assert(cJSON_IsString(item) || cJSON_IsBool(item) || page_is_whole(item));
        }
    }
}

/* A page of a list, or (`one`) the thing that was kept. */
static inline void page_check_list(const char *page, const cJSON *object, const char *list,
                                   bool one)
{
    static const char *const keepers[][2] = {
        {"presets", "keep"}, {"bits", "keep-bit"}, {"rings", ""}, {"stock", ""}, {"pairs", ""}};
    static struct table lists;
    static struct table kept;
    int index = 0;
    bool presets = strcmp(list, "presets") == 0;
    ck_assert(page_table(page_method(page, list), presets ? "member" : "list", &lists));
    const struct row *row = page_row(&lists, list, &index);
    ck_assert_msg(row != NULL, "the page has no list of %s", list);
    kept.rows = 0;
    for (size_t i = 0; i < sizeof keepers / sizeof *keepers; i++) {
        if (strcmp(keepers[i][0], list) == 0 && keepers[i][1][0] != '\0') {
            ck_assert(page_table(page_method(page, keepers[i][1]), "parameter", &kept));
        }
    }
    const cJSON *array = cJSON_GetObjectItem(object, list);
    ck_assert_msg(cJSON_IsArray(array), "there is no list of %s", list);
    ck_assert_int_eq(cJSON_GetArraySize(object), one ? 1 : 2);
    ck_assert(one ? cJSON_GetArraySize(array) == 1
                  : cJSON_IsBool(cJSON_GetObjectItem(object, "more")));
    if (presets && !one) {
        page_check(object, &lists, true, list);
    }
    const cJSON *thing;
    cJSON_ArrayForEach(thing, array)
    {
        page_check_thing(page, thing, presets ? row->cell[2] : row->cell[0], &kept);
    }
}

/* Parameters of methods that share a table of names: by a cell that names them, besides those that
 * all of that kind have. */
static inline void page_check_named(const cJSON *params, struct table *methods, const char *method)
{
    char word[NAMES_MAX][NAME_SIZE];
    const cJSON *item;
    int index = 0;
    const struct row *row = page_row(methods, method, &index);
    const char *cell = row ? row->cell[0] : "";
    int words = page_words(cell, cell + strlen(cell), word, NAMES_MAX);
    bool keeps = strncmp(method, "keep-", 5) == 0;
    cJSON_ArrayForEach(item, params)
    {
        bool common = strcmp(item->string, "name") == 0 || strcmp(item->string, "replace") == 0;
        ck_assert_msg(page_has_word(word, words, item->string) || (keeps && common),
                      "%s has a parameter %s that the page does not have", method, item->string);
    }
}

#endif
