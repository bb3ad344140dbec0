/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/shop.h"

static enum client_exit carry_out(struct run *run)
{
    char why[WORDS_WHY];
    struct say say = {0};
    struct client_answer answer = {0};
    const char *name = words_only_name(run->count, run->word, why);
    if (!name) {
        return run_usage(run, "ground wants the name of a bit");
    }
    cJSON *params = words_params_text("bit", name);
    enum client_exit code =
        params ? run_ask(run, "ground", params, &answer) : run_trouble(run, CLIENT_NO_MEMORY);
    if (code == CLIENT_DONE) {
        code = run_tell(run, &answer);
    }
    if (code == CLIENT_DONE && !run->json) {
        say_wrap(&say, "", 0,
                 "Its size is void, and so are its presets, until they are kept again. Measure it, "
                 "with the router unplugged: '%s bits %s diameter SIZE'.",
                 run_name(run), strchr(name, ' ') ? "NAME" : name);
        run_print(&say);
    }
    client_answer_free(&answer);
    return code;
}

const struct command command_ground = {
    "ground",
    "BIT",
    "say that a bit was sharpened",
    "Its size means nothing then until it is measured and kept again, and its presets are refused "
    "until they are. Nothing moves by it.",
    carry_out,
    NULL};
