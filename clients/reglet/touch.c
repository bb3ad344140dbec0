/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/run.h"

static void show_understood(const struct run *run, int64_t nm)
{
    struct say say = {0};
    char text[SAY_LENGTH_SIZE];
    say_exact(nm, run->style, text, sizeof text);
    say_add(&say, "touch %s\n", nm == 0 ? "flush" : text);
    say_wrap(&say, "", 0, "%s", run_caution);
    run_print(&say);
}

static enum client_exit carry_out(struct run *run)
{
    int64_t nm;
    char why[WORDS_WHY];
    if (!words_touch(run->count, run->word, words_bare(run->style), &nm, why)) {
        return run_usage(run, why);
    }
    cJSON *params = words_params("height", nm);
    if (!params) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    if (!run->json) {
        show_understood(run, nm);
    }
    return run_status(run, "touch", params, show_rest);
}

const struct command command_touch = {
    "touch",
    "flush|HEIGHT",
    "tell the lift how high the bit stands now",
    "Unplug the router first: switched off is not enough while your hands are near the bit. Come "
    "up to the height, so that the lash is taken up. 'touch flush' when the bit is level with the "
    "table; 'touch 1/4' when it just meets a setup block of 1/4in. It counts until that bit is "
    "taken out.",
    carry_out,
    NULL};
