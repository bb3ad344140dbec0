/* SPDX-License-Identifier: MIT */
#include <argp.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/ask.h"

/* Without a height in the words: the lift's own is shown, and asked about. What was said yes to is
 * what goes out, so that a move meanwhile is found out. */
static enum client_exit ask_about(struct run *run, const struct show_lift *lift)
{
    struct say say = {0};
    if (!show_stands(lift)) {
        say_wrap(&say, "", 0, "%s", "That cannot be confirmed now, and nothing has changed:");
        show_status(&say, lift, run->style);
        run_complain(&say);
        return CLIENT_REFUSED;
    }
    show_head(&say, lift, run->style);
    say_wrap(&say, "", 0, "%s", run_caution);
    say_wrap(&say, "", 0, "%s", "Compare the bit with a rule or a setup block.");
    run_complain(&say);
    return ask_yes(run,
                   lift->asks_bit ? "Is it the same bit, untouched, and does it stand there?"
                                  : "Does the bit stand there?",
                   "Nothing has changed. Measure it and touch off, or find the top.");
}

static enum client_exit ask_and_confirm(struct run *run)
{
    struct show_lift lift;
    struct client_answer answer = {0};
    enum client_exit code = run_ask(run, "status", NULL, &answer);
    if (code == CLIENT_DONE && answer.error) {
        code = run_tell(run, &answer);
    } else if (code == CLIENT_DONE && !show_read(answer.result, &lift)) {
        code = run_trouble(run, CLIENT_GARBLED);
    } else if (code == CLIENT_DONE) {
        code = ask_about(run, &lift);
    }
    int64_t nm = code == CLIENT_DONE ? lift.height_nm : 0;
    client_answer_free(&answer);
    if (code != CLIENT_DONE) {
        return code;
    }
    cJSON *params = words_params("height", nm);
    return params ? run_call_status(run, "confirm", params, show_rest)
                  : run_trouble(run, CLIENT_NO_MEMORY);
}

static enum client_exit confirm_height(struct run *run)
{
    int64_t nm;
    struct say say = {0};
    char why[WORDS_WHY];
    char text[SAY_LENGTH_SIZE];
    if (!words_length(run->count, run->word, words_bare(run->style), "a height", &nm, why)) {
        return run_usage(run, why);
    }
    cJSON *params = words_params("height", nm);
    if (!params) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    say_exact(nm, run->style, text, sizeof text);
    say_add(&say, "confirm %s\n", text);
    say_wrap(&say, "", 0, "%s", run_caution);
    if (!run->json) {
        run_print(&say);
    }
    return run_status(run, "confirm", params, show_rest);
}

/* The digital scale is compared with the count; nobody has to look. */
static enum client_exit confirm_by_readout(struct run *run)
{
    cJSON *params = cJSON_CreateObject();
    if (!cJSON_AddTrueToObject(params, "readout")) {
        cJSON_Delete(params);
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    return run_status(run, "confirm", params, show_rest);
}

static enum client_exit carry_out(struct run *run)
{
    if (run->count == 1 && strcmp(run->word[0], "readout") == 0) {
        return confirm_by_readout(run);
    }
    if (run->count > 0) {
        return confirm_height(run);
    }
    if (run->yes) {
        return run_status(run, "confirm", NULL, show_rest);
    }
    if (!ask_possible(run)) {
        return run_usage(run,
                         "nobody can be asked whether the bit was compared; say --yes, or give "
                         "the height that you have measured");
    }
    return ask_and_confirm(run);
}

static const struct argp_option options[] = {
    {"yes", RUN_YES, 0, 0, "I have compared the bit with the height shown: do not ask", 0}, {0}};

const struct command command_confirm = {
    "confirm",
    "[HEIGHT|readout]",
    "say that the bit stands at the height shown",
    "For when the height is unchecked: the power was off, and the screw may have turned. Unplug "
    "the router, compare the bit with a rule or a setup block, then confirm. HEIGHT is what you "
    "have measured; where it differs from the lift's own, nothing is taken over, and you touch off "
    "or find the top. 'confirm readout': the digital scale still agrees with the count; whether it "
    "is the same bit is asked all the same.",
    carry_out,
    options};
