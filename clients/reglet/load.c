/* SPDX-License-Identifier: MIT */
#include "clients/common/stories.h"
#include "clients/common/words.h"
#include "clients/reglet/run.h"

static enum client_exit carry_out(struct run *run)
{
    char why[WORDS_WHY];
    const char *name = words_only_name(run->count, run->word, why);
    if (!name) {
        return run_usage(run, run->count == 0 ? "expected the name of a story; 'reglet story' "
                                                "lists them"
                                              : why);
    }
    cJSON *params = words_params_text("name", name);
    return params ? run_status(run, "load", params, stories_show)
                  : run_trouble(run, CLIENT_NO_MEMORY);
}

const struct command command_load = {
    "load",
    "STORY",
    "begin a story, from before its first mark",
    "'story' lists them. 'next' then goes to the first mark; 'abandon' lets it go. Nothing moves "
    "by it.",
    carry_out,
    NULL};
