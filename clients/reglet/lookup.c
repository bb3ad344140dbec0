/* SPDX-License-Identifier: MIT */
#include "clients/reglet/lookup.h"

#include <stdio.h>

#include "clients/common/words.h"

enum client_exit lookup_none(const struct run *run, const char *name)
{
    char sentence[256];
    (void)snprintf(sentence, sizeof sentence,
                   "There is no preset named '%.80s'. Nothing has moved, and nothing has changed. "
                   "'%s presets' lists them.",
                   name, run_name(run));
    run_say(sentence);
    return CLIENT_REFUSED;
}

enum client_exit lookup_page(struct run *run, const char *after, struct client_answer *answer,
                             const cJSON **list, bool *more)
{
    cJSON *params = cJSON_CreateObject();
    if (!params || (after && !cJSON_AddStringToObject(params, "after", after)) ||
        (run->bit && !cJSON_AddStringToObject(params, "bit", run->bit))) {
        cJSON_Delete(params);
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    enum client_exit code = run_call(run, "presets", params, answer);
    if (code != CLIENT_DONE) {
        return code;
    }
    if (answer->error) {
        return run_tell(run, answer);
    }
    *list = presets_list(answer->result);
    *more = cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(answer->result, "more")) &&
            cJSON_GetArraySize(*list) > 0;
    return *list ? CLIENT_DONE : run_trouble(run, CLIENT_GARBLED);
}

/* The name behind which the next page begins. */
static const char *last_of(const cJSON *list)
{
    return preset_of(cJSON_GetArrayItem(list, cJSON_GetArraySize(list) - 1)).name;
}

enum client_exit lookup(struct run *run, const char *name, struct client_answer *answer,
                        struct preset *preset)
{
    const cJSON *list;
    bool more;
    enum client_exit code = lookup_page(run, NULL, answer, &list, &more);
    while (code == CLIENT_DONE && !presets_find(list, name, preset)) {
        struct client_answer page = *answer;
        if (!more) {
            return lookup_none(run, name);
        }
        *answer = (struct client_answer){0};
        code = lookup_page(run, last_of(list), answer, &list, &more);
        client_answer_free(&page);
    }
    return code;
}

enum client_exit lookup_say(struct run *run, const char *name, struct say *say)
{
    struct preset preset;
    struct client_answer answer = {0};
    enum client_exit code = lookup(run, name, &answer, &preset);
    if (code == CLIENT_DONE) {
        presets_one(say, &preset, run->style);
    }
    client_answer_free(&answer);
    return code;
}
