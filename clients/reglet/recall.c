/* SPDX-License-Identifier: MIT */
#include "clients/common/words.h"
#include "clients/reglet/lookup.h"
#include "clients/reglet/motion.h"

/* The height that it goes to is shown before it moves. */
static enum client_exit show_understood(struct run *run, const char *name)
{
    struct say say = {0};
    say_add(&say, "recall ");
    enum client_exit code = lookup_say(run, name, &say);
    if (code == CLIENT_DONE) {
        say_add(&say, "; no work on or over the bit\n");
        run_print(&say);
    }
    return code;
}

static enum client_exit carry_out(struct run *run)
{
    char why[WORDS_WHY];
    const char *name = words_only_name(run->count, run->word, why);
    if (!name) {
        return run_usage(run, why);
    }
    enum client_exit code = run_connect(run);
    if (code == CLIENT_DONE && !run->json) {
        code = show_understood(run, name);
    }
    if (code != CLIENT_DONE) {
        return code;
    }
    cJSON *params = words_params_text("name", name);
    return params ? motion_go(run, "recall", params, show_rest)
                  : run_trouble(run, CLIENT_NO_MEMORY);
}

const struct command command_recall = {
    "recall",
    "NAME",
    "move the bit to a height that was kept",
    "'presets' lists the names; one of several words stands between quotes. It shows the height, "
    "then goes there as 'to' does. The height is over the table: it is right for the bit that is "
    "fitted only where that was touched off.",
    carry_out,
    NULL};
