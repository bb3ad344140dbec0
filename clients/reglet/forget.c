/* SPDX-License-Identifier: MIT */
#include <argp.h>

#include "clients/common/words.h"
#include "clients/reglet/ask.h"
#include "clients/reglet/lookup.h"

static enum client_exit ask_whether(struct run *run, const char *name)
{
    struct say say = {0};
    enum client_exit code = lookup_say(run, name, &say);
    if (code == CLIENT_DONE) {
        say_add(&say, "\n");
        run_complain(&say);
        code = ask_yes(run, "Forget it?", "It is still on the list; nothing has changed.");
    }
    return code;
}

static enum client_exit forget(struct run *run, const char *name)
{
    struct say say = {0};
    struct client_answer answer = {0};
    cJSON *params = words_params_text("name", name);
    if (!params) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    enum client_exit code = run_call(run, "forget", params, &answer);
    if (code == CLIENT_DONE) {
        bool none = !run->json && client_refused_for(&answer, REASON_NO_SUCH_PRESET);
        code = none ? lookup_none(run, name) : run_tell(run, &answer);
        say_add(&say, "Forgotten: ");
        say_harmless(&say, name);
        say_add(&say, "\n");
    }
    if (code == CLIENT_DONE && !run->json) {
        run_print(&say);
    }
    client_answer_free(&answer);
    return code;
}

static enum client_exit carry_out(struct run *run)
{
    char why[WORDS_WHY];
    const char *name = words_only_name(run->count, run->word, why);
    if (!name) {
        return run_usage(run, why);
    }
    if (!run->yes && !ask_possible(run)) {
        return run_usage(run, "nobody can be asked whether you mean it; say --yes");
    }
    enum client_exit code = run_connect(run);
    if (code == CLIENT_DONE && !run->yes) {
        code = ask_whether(run, name);
    }
    return code == CLIENT_DONE ? forget(run, name) : code;
}

static const struct argp_option options[] = {
    {"yes", RUN_YES, 0, 0, "Do not ask whether you mean it", 0}, {0}};

const struct command command_forget = {
    "forget",
    "NAME",
    "take a kept height off the list",
    "On a terminal it shows the height, and asks. Nothing moves by it.",
    carry_out,
    options};
