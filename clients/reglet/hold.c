/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "clients/common/words.h"
#include "clients/reglet/holding.h"

static bool read_words(const struct run *run, struct holding *holding, char *why)
{
    holding->direction = run->count > 0 ? run->word[0] : "";
    holding->speed = run->count > 1 ? run->word[1] : "slow";
    if (strcmp(holding->direction, "up") != 0 && strcmp(holding->direction, "down") != 0) {
        (void)snprintf(why, WORDS_WHY, "expected the way, up or down");
    } else if (strcmp(holding->speed, "slow") != 0 && strcmp(holding->speed, "fast") != 0) {
        (void)snprintf(why, WORDS_WHY, "'%.40s' can be slow or fast", holding->speed);
    } else if (run->count > 2) {
        (void)snprintf(why, WORDS_WHY, "'%.40s' is one word too many", run->word[2]);
    } else {
        return true;
    }
    return false;
}

static enum client_exit show_start(struct holding *holding)
{
    struct say say = {0};
    struct run *run = holding->run;
    struct client_answer answer = {0};
    enum client_exit code = run_call(run, "status", NULL, &answer);
    if (code == CLIENT_DONE && answer.error) {
        code = run_tell(run, &answer);
    } else if (code == CLIENT_DONE && !holding_keep_status(holding, &answer)) {
        code = run_trouble(run, CLIENT_GARBLED);
    }
    if (code == CLIENT_DONE) {
        holding->from_known = holding->lift.position_known;
        holding->from_nm = holding->lift.position_nm;
        show_head(&say, &holding->lift, run->style);
        if (strcmp(holding->lift.stage, "changing") == 0) {
            say_wrap(&say, "", 0,
                     "The bit is being changed, with hands at the collet: nothing moves until '%s "
                     "fit'.",
                     run_name(run));
            run_complain(&say);
            client_answer_free(&answer);
            return CLIENT_REFUSED;
        }
        say_wrap(&say, "", 0,
                 "Hold the space bar: the bit goes %s, %s. Let go and it stops; so it does by any "
                 "other key. q, Enter or Ctrl-C ends.",
                 holding->direction, holding->speed);
        say_wrap(&say, "", 0, "No work on or over the bit. %s", run_caution);
        run_complain(&say);
    }
    client_answer_free(&answer);
    return code;
}

static enum client_exit carry_out(struct run *run)
{
    char why[WORDS_WHY];
    struct holding holding = {.run = run};
    if (!read_words(run, &holding, why)) {
        return run_usage(run, why);
    }
    if (isatty(STDIN_FILENO) != 1) {
        return run_usage(run, "it needs a terminal, whose key is held; for a pedal there is "
                              "reglet-pedal");
    }
    enum client_exit code = run_connect(run);
    if (code == CLIENT_DONE) {
        code = show_start(&holding);
    }
    if (code == CLIENT_DONE) {
        code = holding_run(&holding);
    }
    client_answer_free(&holding.status);
    return code;
}

const struct command command_hold = {
    "hold",
    "up|down [slow|fast]",
    "move while a key is held",
    "Hold the space bar, or any key but q and Enter: the lift moves from its first repeat on, and "
    "brakes when no repeat has come for 150 ms, so a key that does not repeat moves nothing. "
    "Another key stops it as well, and another press goes on, until q, Enter or Ctrl-C ends it. It "
    "needs no touch-off; where the lift does not know its travel it goes slowly. It ends where it "
    "brakes, so a 'hold down' leaves the lash open. A pedal knows press and release: see "
    "reglet-pedal.",
    carry_out,
    NULL};
