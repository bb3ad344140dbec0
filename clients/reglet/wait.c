/* SPDX-License-Identifier: MIT */
#include <argp.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/watching.h"

#define WAIT_MOST_S 1e6

static const char *const states[] = {"still",     "moving", "braking",
                                     "unpowered", "barred", "unplugged"};

static bool is_state(const char *word)
{
    for (size_t i = 0; i < sizeof states / sizeof *states; i++) {
        if (strcmp(word, states[i]) == 0) {
            return true;
        }
    }
    return strcmp(word, "sure") == 0;
}

static bool is_there(const struct show_lift *lift, const char *state)
{
    bool sure = strcmp(state, "sure") == 0;
    return strcmp(lift->activity, sure ? "still" : state) == 0 &&
           (!sure || strcmp(lift->trust, "sure") == 0);
}

/* -1 without --timeout. */
static bool read_words(const struct run *run, double *timeout_s, char *why)
{
    char *end = NULL;
    *timeout_s = run->timeout ? strtod(run->timeout, &end) : -1;
    if (run->count != 1 || !is_state(run->word[0])) {
        (void)snprintf(
            why, WORDS_WHY,
            "expected one of still, moving, braking, unpowered, barred, unplugged, sure");
        return false;
    }
    if (run->timeout && (end == run->timeout || *end != '\0' || !isfinite(*timeout_s) ||
                         *timeout_s < 0 || *timeout_s > WAIT_MOST_S)) {
        (void)snprintf(why, WORDS_WHY, "'%.40s' is no number of seconds", run->timeout);
        return false;
    }
    return true;
}

/* Where it has got to instead. */
static enum client_exit time_is_up(const struct watching *watching)
{
    struct say say = {0};
    const struct run *run = watching->run;
    say_wrap(&say, "", 0,
             "The lift was not '%s' within %.40s s. Nothing was asked of it. It is:", run->word[0],
             run->timeout);
    show_change(&say, &watching->lift, run->style);
    say_add(&say, "\n");
    run_complain(&say);
    return CLIENT_REFUSED;
}

static enum client_exit wait_for(struct watching *watching, double timeout_s)
{
    struct run *run = watching->run;
    struct say say = {0};
    int64_t deadline_ms = timeout_s < 0 ? -1 : client_now_ms() + (int64_t)(timeout_s * 1e3);
    while (!is_there(&watching->lift, run->word[0])) {
        enum watching_heard heard = watching_next(watching, deadline_ms, NULL, NULL);
        if (heard == WATCHING_OVER || heard == WATCHING_TIME) {
            return heard == WATCHING_OVER ? watching->code : time_is_up(watching);
        }
    }
    if (run->json) {
        return run_tell(run, &watching->status);
    }
    show_rest(&say, &watching->lift, run->style);
    run_print(&say);
    return CLIENT_DONE;
}

static enum client_exit carry_out(struct run *run)
{
    char why[WORDS_WHY];
    double timeout_s;
    struct watching watching = {.run = run};
    if (!read_words(run, &timeout_s, why)) {
        return run_usage(run, why);
    }
    enum client_exit code = watching_begin(&watching);
    if (code == CLIENT_DONE) {
        code = wait_for(&watching, timeout_s);
    }
    watching_end(&watching);
    return code;
}

static const struct argp_option options[] = {
    {"timeout", RUN_TIMEOUT, "SECONDS", 0, "Give up after so long (exit code 1)", 0}, {0}};

const struct command command_wait = {
    "wait",
    "STATE",
    "wait until the lift is in a state",
    "STATE is what it does: still, moving, braking, unpowered, barred, unplugged; or 'sure': it is "
    "still, and its height may be believed. For scripts; it asks nothing of the lift, and says "
    "nothing until it ends.",
    carry_out,
    options};
