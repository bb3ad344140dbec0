/* SPDX-License-Identifier: MIT */
#include <argp.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/reglet/ask.h"
#include "clients/reglet/shelf.h"
#include "clients/reglet/shop.h"
#include "protocol/json.h"

enum { FILE_SIZE_MAX = 16 * 1024 * 1024, WHY_SIZE = 640 };

/* The whole import: what is in the file, and what of it would change anything. */
struct import {
    cJSON *document;
    cJSON *wanted[SHOP_LISTS]; /* arrays of items to be kept */
    cJSON *stories;            /* the same of stories */
    int added;
    int changed;
    int same;
};

static char *read_file(const char *path, size_t *size)
{
    FILE *file = fopen(path, "re");
    char *text = file ? malloc(FILE_SIZE_MAX + 1) : NULL;
    *size = text ? fread(text, 1, FILE_SIZE_MAX + 1, file) : 0;
    bool failed = !text || ferror(file) || *size > FILE_SIZE_MAX;
    int error = errno;
    if (file) {
        (void)fclose(file);
    }
    if (failed) {
        free(text);
        errno = error;
        return NULL;
    }
    return text;
}

static bool has_lists(const cJSON *document)
{
    const cJSON *version = cJSON_GetObjectItemCaseSensitive(document, "reglet_shop");
    bool whole = cJSON_IsNumber(version) && version->valuedouble == SHOP_ITEMS_VERSION;
    for (int i = 0; i < SHOP_LISTS && whole; i++) {
        whole = cJSON_IsArray(cJSON_GetObjectItemCaseSensitive(document, shop_items[i].list));
    }
    const cJSON *stories = cJSON_GetObjectItemCaseSensitive(document, SHELF_LIST);
    return whole && (!stories || cJSON_IsArray(stories)); /* older files have none */
}

static enum client_exit refuse_file(const char *path, const char *why)
{
    char sentence[900];
    (void)snprintf(sentence, sizeof sentence, "%.200s %.600s. Nothing has changed.", path, why);
    run_say(sentence);
    return CLIENT_USAGE;
}

static enum client_exit open_file(const char *path, cJSON **document)
{
    size_t size;
    char why[200];
    struct json_fault fault = {0};
    char *text = read_file(path, &size);
    if (!text) {
        (void)snprintf(why, sizeof why, "could not be read: %s", strerror(errno));
        return refuse_file(path, why);
    }
    *document = json_parse(text, size, &fault);
    free(text);
    if (!*document) {
        (void)snprintf(why, sizeof why, "is no JSON, line %u: %s", fault.line, fault.text);
        return refuse_file(path, why);
    }
    if (!has_lists(*document)) {
        return refuse_file(path, "is no file of 'reglet export', or of a newer one");
    }
    return CLIENT_DONE;
}

/* Is it new, another, or the same? What would change is shown. */
static void compare(struct import *import, int list, const cJSON *item, const cJSON *there,
                    struct say *say)
{
    const struct shop_items *items = &shop_items[list];
    const cJSON *name = cJSON_GetObjectItemCaseSensitive(item, "name");
    const cJSON *old = cJSON_IsString(name) ? shop_named(there, name->valuestring) : NULL;
    cJSON *now = old ? shop_items_plain(items, old) : NULL;
    if (now && shop_items_same(items, now, item)) {
        import->same++;
    } else {
        say_add(say, "  %s %s ", now ? "changed:" : "new:    ", items->word);
        say_harmless(say, cJSON_IsString(name) ? name->valuestring : "without a name");
        say_add(say, "\n");
        if (now) {
            shop_items_changes(say, items, now, item);
        }
        import->added += now ? 0 : 1;
        import->changed += now ? 1 : 0;
        (void)cJSON_AddItemToArray(import->wanted[list], cJSON_Duplicate(item, true));
    }
    cJSON_Delete(now);
}

static enum client_exit compare_list(struct run *run, struct import *import, int list)
{
    cJSON *there;
    const cJSON *item;
    enum client_exit code = shop_all(run, &shop_items[list], &there);
    if (code != CLIENT_DONE) {
        return code;
    }
    import->wanted[list] = cJSON_CreateArray();
    cJSON_ArrayForEach(item,
                       cJSON_GetObjectItemCaseSensitive(import->document, shop_items[list].list))
    {
        struct say say = {0};
        compare(import, list, item, there, &say);
        if (!run->json) {
            run_print(&say);
        }
    }
    cJSON_Delete(there);
    return CLIENT_DONE;
}

static bool has_name(const cJSON *names, const char *wanted)
{
    const cJSON *name;
    cJSON_ArrayForEach(name, names)
    {
        if (strcmp(name->valuestring, wanted) == 0) {
            return true;
        }
    }
    return false;
}

/* The same for one story. */
static enum client_exit compare_story(struct run *run, struct import *import, const cJSON *item,
                                      const cJSON *names)
{
    static struct story_file story;
    static struct story_file now;
    char why[WHY_SIZE];
    struct say say = {0};
    enum client_exit code = CLIENT_DONE;
    if (!shelf_item(item, &story, why, sizeof why)) {
        return refuse_file(run->word[0], why);
    }
    bool there = has_name(names, story.name);
    if (there) {
        code = shelf_read(run, story.name, &now);
    }
    if (code == CLIENT_DONE && there && shelf_same(&now, &story)) {
        import->same++;
    } else if (code == CLIENT_DONE) {
        say_add(&say, "  %s story ", there ? "changed:" : "new:    ");
        say_harmless(&say, story.name);
        if (there) {
            say_add(&say, ": %zu marks, and in the file %zu", now.count, story.count);
        }
        say_add(&say, "\n");
        import->added += there ? 0 : 1;
        import->changed += there ? 1 : 0;
        (void)cJSON_AddItemToArray(import->stories, cJSON_Duplicate(item, true));
    }
    if (!run->json) {
        run_print(&say);
    }
    return code;
}

static enum client_exit compare_stories(struct run *run, struct import *import)
{
    cJSON *names;
    const cJSON *item;
    enum client_exit code = shelf_names(run, &names);
    import->stories = cJSON_CreateArray();
    cJSON_ArrayForEach(item, cJSON_GetObjectItemCaseSensitive(import->document, SHELF_LIST))
    {
        if (code == CLIENT_DONE) {
            code = compare_story(run, import, item, names);
        }
    }
    cJSON_Delete(names);
    return code;
}

/* `item` is taken over. */
static enum client_exit keep(struct run *run, const struct shop_items *items, cJSON *item)
{
    struct client_answer answer = {0};
    struct say say = {0};
    const cJSON *name = cJSON_GetObjectItemCaseSensitive(item, "name");
    say_add(&say, "The %s ", items->word);
    say_harmless(&say, cJSON_IsString(name) ? name->valuestring : "without a name");
    say_add(&say, " was not taken; what was shown before it was:\n");
    (void)cJSON_AddTrueToObject(item, "replace");
    enum client_exit code = run_call(run, items->keep, item, &answer);
    if (code == CLIENT_DONE && answer.error) {
        run_complain(&say);
        code = run_tell(run, &answer);
    }
    client_answer_free(&answer);
    return code;
}

static enum client_exit keep_story(struct run *run, const cJSON *item)
{
    static struct story_file story;
    struct say say = {0};
    char why[WHY_SIZE];
    if (!shelf_item(item, &story, why, sizeof why)) { /* it was read before */
        return refuse_file(run->word[0], why);
    }
    enum client_exit code = shelf_keep(run, &story, true);
    if (code != CLIENT_DONE) {
        say_add(&say, "So the story ");
        say_harmless(&say, story.name);
        say_add(&say, " was not taken; what was shown before it was.\n");
        run_complain(&say);
    }
    return code;
}

static enum client_exit keep_all(struct run *run, struct import *import)
{
    enum client_exit code = CLIENT_DONE;
    for (int i = 0; i < SHOP_LISTS; i++) {
        while (code == CLIENT_DONE && import->wanted[i]->child) {
            cJSON *item = cJSON_DetachItemViaPointer(import->wanted[i], import->wanted[i]->child);
            code = keep(run, &shop_items[i], item);
        }
    }
    const cJSON *item;
    cJSON_ArrayForEach(item, import->stories)
    {
        if (code == CLIENT_DONE) {
            code = keep_story(run, item);
        }
    }
    return code;
}

static enum client_exit bring(struct run *run, struct import *import)
{
    enum client_exit code = CLIENT_DONE;
    for (int i = 0; i < SHOP_LISTS && code == CLIENT_DONE; i++) {
        code = compare_list(run, import, i);
    }
    if (code == CLIENT_DONE) {
        code = compare_stories(run, import);
    }
    if (code != CLIENT_DONE) {
        return code;
    }
    (void)printf("%d new, %d changed, %d the same. What is not in the file stays as it is.\n",
                 import->added, import->changed, import->same);
    (void)fflush(stdout);
    if (import->added + import->changed == 0) {
        return CLIENT_DONE;
    }
    if (!run->yes && !ask_possible(run)) {
        run_say("Nothing has changed. Say --yes if this is to be taken over.");
        return CLIENT_REFUSED;
    }
    if (!run->yes) {
        code = ask_yes(run, "Take it over?", "Nothing has changed.");
    }
    return code == CLIENT_DONE ? keep_all(run, import) : code;
}

static enum client_exit carry_out(struct run *run)
{
    static struct import import;
    if (run->count != 1) {
        return run_usage(run, "import wants one file, as 'export' has written it");
    }
    enum client_exit code = open_file(run->word[0], &import.document);
    if (code == CLIENT_DONE) {
        code = run_connect(run);
    }
    if (code == CLIENT_DONE) {
        code = bring(run, &import);
    }
    for (int i = 0; i < SHOP_LISTS; i++) {
        cJSON_Delete(import.wanted[i]);
    }
    cJSON_Delete(import.stories);
    cJSON_Delete(import.document);
    return code;
}

static const struct argp_option options[] = {
    {"yes", RUN_YES, 0, 0, "Take it over without asking", 0}, {0}};

const struct command command_import = {
    "import",
    "FILE",
    "bring the shop's lists from a file",
    "Shows what is new and what would change, and asks. What is not in the file stays as it is. "
    "A height belongs to a bit on a lift: touch off before you trust one that was brought.",
    carry_out,
    options};
