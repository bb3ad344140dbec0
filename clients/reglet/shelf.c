/* SPDX-License-Identifier: MIT */
#include "clients/reglet/shelf.h"

#include <stdio.h>
#include <string.h>

#include "clients/common/stories.h"
#include "clients/common/words.h"

enum { BATCH_BYTES = 12000 };

/* --- Reading --- */

static cJSON *page_params(const char *name, size_t from)
{
    cJSON *params = words_params_text("name", name);
    if (params && !cJSON_AddNumberToObject(params, "from", (double)from)) {
        cJSON_Delete(params);
        return NULL;
    }
    return params;
}

static bool take_page(struct story_file *story, const cJSON *result, bool *more)
{
    const cJSON *item;
    const cJSON *list = stories_list(result, "list");
    cJSON_ArrayForEach(item, list)
    {
        if (story->count == STORY_MARKS_MAX) {
            return false;
        }
        story->mark[story->count++] = stories_mark(item);
    }
    *more = cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(result, "more"));
    return list && (cJSON_GetArraySize(list) > 0 || !*more);
}

enum client_exit shelf_read(struct run *run, const char *name, struct story_file *story)
{
    bool more = true;
    enum client_exit code = CLIENT_DONE;
    memset(story, 0, sizeof *story);
    (void)snprintf(story->name, sizeof story->name, "%s", name);
    while (code == CLIENT_DONE && more) {
        struct client_answer page = {0};
        cJSON *params = page_params(name, story->count + 1);
        code = params ? run_call(run, "marks", params, &page) : run_trouble(run, CLIENT_NO_MEMORY);
        if (code == CLIENT_DONE && page.error) {
            code = run_tell(run, &page);
        } else if (code == CLIENT_DONE && !take_page(story, page.result, &more)) {
            code = run_trouble(run, CLIENT_GARBLED);
        }
        client_answer_free(&page);
    }
    return code;
}

/* --- Keeping --- */

/* As many of the marks from *at on as one line holds. NULL when memory is short. */
static cJSON *batch(const struct story_file *story, size_t *at, bool replace)
{
    size_t bytes = 0;
    bool behind = *at > 0;
    cJSON *params = words_params_text("name", story->name);
    cJSON *marks = params ? cJSON_AddArrayToObject(params, "marks") : NULL;
    bool good = marks != NULL;
    while (good && *at < story->count && bytes < BATCH_BYTES) {
        cJSON *mark = story_mark_print(&story->mark[*at], false);
        char *text = mark ? cJSON_PrintUnformatted(mark) : NULL;
        good = text && cJSON_AddItemToArray(marks, mark);
        bytes += text ? strlen(text) : 0;
        cJSON_free(text);
        (*at)++;
    }
    good = good && (!behind || cJSON_AddTrueToObject(params, "behind")) &&
           (!replace || behind || cJSON_AddTrueToObject(params, "replace"));
    if (!good) {
        cJSON_Delete(params);
        return NULL;
    }
    return params;
}

enum client_exit shelf_keep(struct run *run, const struct story_file *story, bool replace)
{
    size_t at = 0;
    enum client_exit code = CLIENT_DONE;
    while (code == CLIENT_DONE && at < story->count) {
        struct client_answer answer = {0};
        cJSON *params = batch(story, &at, replace);
        code = params ? run_call(run, "keep-story", params, &answer)
                      : run_trouble(run, CLIENT_NO_MEMORY);
        if (code == CLIENT_DONE && (answer.error || (run->json && at == story->count))) {
            code = run_tell(run, &answer);
        }
        client_answer_free(&answer);
    }
    return code;
}
