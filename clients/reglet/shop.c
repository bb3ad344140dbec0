/* SPDX-License-Identifier: MIT */
#include "clients/reglet/shop.h"

#include <stdio.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/ask.h"

static const char *name_of(const cJSON *item)
{
    const cJSON *name = cJSON_GetObjectItemCaseSensitive(item, "name");
    return cJSON_IsString(name) ? name->valuestring : "";
}

const cJSON *shop_named(const cJSON *array, const char *name)
{
    const cJSON *item;
    cJSON_ArrayForEach(item, array)
    {
        if (strcmp(name_of(item), name) == 0) {
            return item;
        }
    }
    return NULL;
}

/* Moves the items of one page into the array. False: it is no such list. */
static bool take_page(cJSON *array, struct client_answer *page, const char *list, bool *more)
{
    cJSON *items = cJSON_GetObjectItemCaseSensitive(page->result, list);
    *more = cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(page->result, "more")) &&
            cJSON_GetArraySize(items) > 0;
    if (!cJSON_IsArray(items)) {
        return false;
    }
    while (items->child) {
        (void)cJSON_AddItemToArray(array, cJSON_DetachItemViaPointer(items, items->child));
    }
    return true;
}

static enum client_exit add_page(struct run *run, const char *list, cJSON *array, bool *more)
{
    struct client_answer page = {0};
    cJSON *params = NULL;
    int count = cJSON_GetArraySize(array);
    if (count > 0 &&
        !(params = words_params_text("after", name_of(cJSON_GetArrayItem(array, count - 1))))) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    enum client_exit code = run_call(run, list, params, &page);
    if (code == CLIENT_DONE && page.error) {
        code = run_tell(run, &page);
    } else if (code == CLIENT_DONE && !take_page(array, &page, list, more)) {
        code = run_trouble(run, CLIENT_GARBLED);
    }
    client_answer_free(&page);
    return code;
}

enum client_exit shop_all(struct run *run, const struct shop_items *items, cJSON **array)
{
    bool more = true;
    enum client_exit code = CLIENT_DONE;
    *array = cJSON_CreateArray();
    while (code == CLIENT_DONE && more) {
        code = add_page(run, items->list, *array, &more);
    }
    if (code != CLIENT_DONE) {
        cJSON_Delete(*array);
        *array = NULL;
    }
    return code;
}

static void print_json(const cJSON *value)
{
    char *text = cJSON_PrintUnformatted(value);
    (void)printf("%s\n", text ? text : "null");
    cJSON_free(text);
}

static enum client_exit show_list(struct run *run, const struct shop_items *items,
                                  const cJSON *array)
{
    const cJSON *item;
    struct say none = {0};
    if (run->json) {
        print_json(array);
        return CLIENT_DONE;
    }
    if (cJSON_GetArraySize(array) == 0) {
        say_wrap(&none, "", 0,
                 "There is no %s on the list yet. '%s %s --help' says how to keep one.",
                 items->word, run_name(run), items->list);
        run_print(&none);
    }
    cJSON_ArrayForEach(item, array)
    {
        struct say say = {0};
        shop_items_line(&say, items, item, run->style);
        run_print(&say);
    }
    return CLIENT_DONE;
}

static enum client_exit show_none(const struct run *run, const struct shop_items *items,
                                  const char *name)
{
    char sentence[256];
    (void)snprintf(sentence, sizeof sentence,
                   "There is no %s named '%.80s'. Nothing has changed. '%s %s' lists them.",
                   items->word, name, run_name(run), items->list);
    run_say(sentence);
    return CLIENT_REFUSED;
}

static enum client_exit show_one(struct run *run, const struct shop_items *items,
                                 const cJSON *array)
{
    struct say say = {0};
    const cJSON *item = shop_named(array, run->word[0]);
    if (!item) {
        return show_none(run, items, run->word[0]);
    }
    if (run->json) {
        print_json(item);
        return CLIENT_DONE;
    }
    shop_items_all(&say, items, item, run->style);
    run_print(&say);
    return CLIENT_DONE;
}

static enum client_exit look(struct run *run, const struct shop_items *items)
{
    cJSON *array;
    enum client_exit code = run_connect(run);
    if (code == CLIENT_DONE) {
        code = shop_all(run, items, &array);
    }
    if (code == CLIENT_DONE) {
        code = run->count == 0 ? show_list(run, items, array) : show_one(run, items, array);
        cJSON_Delete(array);
    }
    return code;
}

/* --- Changes --- */

/* What a preset has is kept with it: left out, its height and bit would be those of now. */
static enum client_exit add_present(struct run *run, const struct shop_items *items, cJSON *params)
{
    static const char *const kept[] = {"height", "bit", "riding", "recompute"};
    cJSON *array;
    if (items != &shop_items[SHOP_PRESETS]) {
        return CLIENT_DONE;
    }
    enum client_exit code = shop_all(run, items, &array);
    if (code != CLIENT_DONE) {
        return code;
    }
    const cJSON *item = shop_named(array, run->word[0]);
    cJSON *plain = item ? shop_items_plain(items, item) : NULL;
    for (size_t i = 0; plain && i < sizeof kept / sizeof *kept; i++) {
        if (!cJSON_GetObjectItemCaseSensitive(params, kept[i])) {
            cJSON *value = cJSON_DetachItemFromObjectCaseSensitive(plain, kept[i]);
            (void)(value && cJSON_AddItemToObject(params, kept[i], value));
        }
    }
    code = item ? CLIENT_DONE : show_none(run, items, run->word[0]);
    cJSON_Delete(plain);
    cJSON_Delete(array);
    return code;
}

/* The answer to what changes one item: that item. */
static enum client_exit tell_changed(struct run *run, const struct shop_items *items,
                                     const struct client_answer *answer)
{
    struct say say = {0};
    enum client_exit code = run_tell(run, answer);
    const cJSON *list = cJSON_GetObjectItemCaseSensitive(answer->result, items->list);
    const cJSON *forgotten = cJSON_GetObjectItemCaseSensitive(answer->result, "forgotten");
    if (code != CLIENT_DONE || run->json) {
        return code;
    }
    if (cJSON_IsArray(list) && list->child) {
        say_add(&say, "Kept: ");
        shop_items_all(&say, items, list->child, run->style);
    } else if (cJSON_IsString(forgotten)) {
        say_add(&say, "Forgotten: ");
        say_harmless(&say, forgotten->valuestring);
        say_add(&say, "\n");
    }
    run_print(&say);
    return code;
}

/* Sends it, `params` taken over. */
static enum client_exit change(struct run *run, const struct shop_items *items, const char *method,
                               cJSON *params)
{
    struct client_answer answer = {0};
    enum client_exit code = run_call(run, method, params, &answer);
    if (code == CLIENT_DONE) {
        code = tell_changed(run, items, &answer);
    }
    client_answer_free(&answer);
    return code;
}

/* Would something that is known of it become something else? What is only added takes nothing
 * away. */
static bool takes_away(const struct shop_items *items, const cJSON *item, const cJSON *params)
{
    const cJSON *one;
    bool other = false;
    cJSON *plain = shop_items_plain(items, item);
    cJSON_ArrayForEach(one, params)
    {
        const cJSON *now = cJSON_GetObjectItemCaseSensitive(plain, one->string);
        other = other || (now && !cJSON_Compare(now, one, true));
    }
    other = other || !plain;
    cJSON_Delete(plain);
    return other;
}

/* There is one of that name: is it to be changed? */
static enum client_exit ask_change(struct run *run, const struct shop_items *items,
                                   const cJSON *params)
{
    cJSON *array;
    struct say say = {0};
    enum client_exit code = shop_all(run, items, &array);
    if (code != CLIENT_DONE) {
        return code;
    }
    const cJSON *item = shop_named(array, run->word[0]);
    if (item && !run->replace && takes_away(items, item, params)) {
        say_add(&say, "It is on the list already:\n");
        shop_items_line(&say, items, item, run->style);
        run_complain(&say);
        if (!ask_possible(run)) {
            run_say("Nothing has changed. Say --replace if it is to be changed.");
            code = CLIENT_REFUSED;
        } else {
            code = ask_yes(run, "Change it?", "Nothing has changed.");
        }
    }
    cJSON_Delete(array);
    return code;
}

static enum client_exit keep(struct run *run, const struct shop_items *items)
{
    char why[SHOP_ITEMS_WHY];
    cJSON *params = words_params_text("name", run->word[0]);
    if (!params ||
        !shop_items_take(items, run->count - 1, run->word + 1, run->style, params, why)) {
        cJSON_Delete(params);
        return params ? run_usage(run, why) : run_trouble(run, CLIENT_NO_MEMORY);
    }
    enum client_exit code = run_connect(run);
    if (code == CLIENT_DONE) {
        code = ask_change(run, items, params);
    }
    if (code == CLIENT_DONE) {
        code = add_present(run, items, params);
    }
    if (code != CLIENT_DONE || !cJSON_AddTrueToObject(params, "replace")) {
        cJSON_Delete(params);
        return code == CLIENT_DONE ? run_trouble(run, CLIENT_NO_MEMORY) : code;
    }
    return change(run, items, items->keep, params);
}

static enum client_exit forget(struct run *run, const struct shop_items *items)
{
    bool others = run->with_others && items != &shop_items[SHOP_PRESETS];
    if (!run->yes && !ask_possible(run)) {
        return run_usage(run, "nobody can be asked whether you mean it; say --yes");
    }
    cJSON *params = words_params_text("name", run->word[0]);
    if (!params || (others && !cJSON_AddTrueToObject(params, "with_others"))) {
        cJSON_Delete(params);
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    enum client_exit code = run_connect(run);
    if (code == CLIENT_DONE && !run->yes) {
        code = ask_yes(run, "Forget it?", "It is still on the list; nothing has changed.");
    }
    if (code != CLIENT_DONE) {
        cJSON_Delete(params);
        return code;
    }
    return change(run, items, items->forget, params);
}

static enum client_exit rename_item(struct run *run, const struct shop_items *items)
{
    cJSON *params = words_params_text("name", run->word[0]);
    if (!params || !cJSON_AddStringToObject(params, "what", items->word) ||
        !cJSON_AddStringToObject(params, "to", run->rename)) {
        cJSON_Delete(params);
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    enum client_exit code = run_connect(run);
    if (code != CLIENT_DONE) {
        cJSON_Delete(params);
        return code;
    }
    return change(run, items, "rename", params);
}

enum client_exit shop_carry_out(struct run *run, const struct shop_items *items)
{
    bool one = run->count == 1;
    if ((run->forget || run->rename) && (!one || (run->forget && run->rename))) {
        return run_usage(run, "--forget and --rename want one name, and nothing else");
    }
    if (run->forget) {
        return forget(run, items);
    }
    if (run->rename) {
        return rename_item(run, items);
    }
    return run->count > 1 ? keep(run, items) : look(run, items);
}

const struct argp_option shop_options[] = {
    {"replace", RUN_REPLACE, 0, 0, "Change what is on the list already, without asking", 0},
    {"forget", RUN_FORGET, 0, 0, "Take it off the list", 0},
    {"with-others", RUN_WITH_OTHERS, 0, 0, "And the presets and pairs that name it", 0},
    {"rename", RUN_RENAME, "NEW", 0, "Give it another name", 0},
    {"yes", RUN_YES, 0, 0, "Do not ask whether you mean it", 0},
    {0}};
