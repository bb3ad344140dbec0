/* SPDX-License-Identifier: MIT */
#include "clients/reglet/lookup.h"

#include <stdio.h>

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

enum client_exit lookup(struct run *run, const char *name, struct client_answer *answer,
                        struct preset *preset)
{
    enum client_exit code = run_call(run, "presets", NULL, answer);
    if (code != CLIENT_DONE) {
        return code;
    }
    if (answer->error) {
        return run_tell(run, answer);
    }
    const cJSON *list = presets_list(answer->result);
    if (!list) {
        return run_trouble(run, CLIENT_GARBLED);
    }
    return presets_find(list, name, preset) ? CLIENT_DONE : lookup_none(run, name);
}
