/* SPDX-License-Identifier: MIT */
#include <argp.h>
#include <stdio.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/ask.h"
#include "clients/reglet/lookup.h"

/* What the words said. */
struct wish {
    const char *name;
    bool height_given;
    int64_t height_nm;
};

static bool read_words(const struct run *run, struct wish *wish, char *why)
{
    wish->name = words_new_name(run->count, run->word, why);
    wish->height_given = run->count > 1;
    if (!wish->name || !wish->height_given) {
        return wish->name != NULL;
    }
    if (!words_is_height(run->word[1])) {
        (void)snprintf(why, WORDS_WHY,
                       "'%.64s' is no height; put a name of several words between quotes",
                       run->word[1]);
        return false;
    }
    return words_length(run->count - 1, run->word + 1, words_bare(run->style), "a height",
                        &wish->height_nm, why);
}

static cJSON *params_of(const struct wish *wish, bool replace)
{
    cJSON *params = words_params_text("name", wish->name);
    if ((wish->height_given && !words_add_length(params, "height", wish->height_nm)) ||
        (replace && !cJSON_AddTrueToObject(params, "replace"))) {
        cJSON_Delete(params);
        return NULL;
    }
    return params;
}

static enum client_exit ask(struct run *run, const struct wish *wish, bool replace,
                            struct client_answer *answer)
{
    cJSON *params = params_of(wish, replace);
    return params ? run_call(run, "keep", params, answer) : run_trouble(run, CLIENT_NO_MEMORY);
}

/* Without a height in the words it is where the bit stood when it was asked: what is shown is what
 * goes out, wherever the bit has gone by then. */
static bool settle_height(struct wish *wish, const struct client_answer *refusal)
{
    if (!wish->height_given) {
        wish->height_given = client_error_height(refusal, &wish->height_nm);
    }
    return wish->height_given;
}

static enum client_exit show_both(struct run *run, const struct wish *wish)
{
    struct say say = {0};
    struct preset old;
    struct client_answer answer = {0};
    enum client_exit code = lookup(run, wish->name, &answer, &old);
    if (code == CLIENT_DONE) {
        presets_taken(&say, &old, wish->height_nm, run->style);
        run_complain(&say);
    }
    client_answer_free(&answer);
    return code;
}

/* The name is taken: shows both heights, and replaces the old one only when told to. */
static enum client_exit ask_again(struct run *run, struct wish *wish, struct client_answer *answer)
{
    if (run->json || !settle_height(wish, answer)) {
        return run_tell(run, answer);
    }
    enum client_exit code = show_both(run, wish);
    if (code == CLIENT_DONE && !ask_possible(run)) {
        run_say("Nothing has changed. Say --replace if the new height is to take the place of the "
                "old one, or take another name.");
        return CLIENT_REFUSED;
    }
    if (code == CLIENT_DONE) {
        code = ask_yes(run, "Replace it?", "Nothing has changed: the old height is kept.");
    }
    if (code == CLIENT_DONE) {
        client_answer_free(answer);
        code = ask(run, wish, true, answer);
    }
    return code == CLIENT_DONE ? run_tell(run, answer) : code;
}

/* As it stands in the list now: without a height in the words it is news. */
static enum client_exit show_kept(const struct run *run, const struct client_answer *answer,
                                  const char *name)
{
    struct say say = {0};
    struct preset preset;
    const cJSON *list = presets_list(answer->result);
    if (!list || !presets_find(list, name, &preset)) {
        return run_trouble(run, CLIENT_GARBLED);
    }
    say_add(&say, "Kept ");
    presets_one(&say, &preset, run->style);
    say_add(&say, "\n");
    run_print(&say);
    return CLIENT_DONE;
}

static enum client_exit carry_out(struct run *run)
{
    char why[WORDS_WHY];
    struct wish wish = {0};
    struct client_answer answer = {0};
    if (!read_words(run, &wish, why)) {
        return run_usage(run, why);
    }
    enum client_exit code = run_connect(run);
    if (code == CLIENT_DONE) {
        code = ask(run, &wish, run->replace, &answer);
    }
    if (code == CLIENT_DONE) {
        code = client_refused_for(&answer, REASON_NAME_TAKEN) ? ask_again(run, &wish, &answer)
                                                              : run_tell(run, &answer);
    }
    if (code == CLIENT_DONE && !run->json) {
        code = show_kept(run, &answer, wish.name);
    }
    client_answer_free(&answer);
    return code;
}

static const struct argp_option options[] = {
    {"replace", RUN_REPLACE, 0, 0, "Take the place of a height of that name, without asking", 0},
    {0}};

const struct command command_keep = {
    "keep",
    "NAME [HEIGHT]",
    "keep a height by a name",
    "Without HEIGHT: the one at which the bit stands now. For example: keep drawer-groove, keep "
    "drawer-groove 1/4. A name of several words stands between quotes. Where the name is taken it "
    "shows both heights, and asks. 'recall' goes back to it, 'presets' lists all. Nothing moves "
    "by it.",
    carry_out,
    options};
