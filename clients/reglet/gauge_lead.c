/* SPDX-License-Identifier: MIT */
/* Through the targets, up and down, with a reading at each. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/ask.h"
#include "clients/reglet/clear.h"
#include "clients/reglet/gauge.h"
#include "clients/reglet/motion.h"

enum { REPLY_SIZE = 80, FAR_NM = 2000000 /* 2 mm off what was expected: looked at again */ };

struct lead {
    struct run *run;
    bool by_readout;
    struct gauge_readings *readings;
    bool first_known; /* reading less target, of the first one */
    int64_t first_nm;
};

struct place {
    int side;
    int target;
    int run;
};

static enum client_exit approach(struct lead *lead, const struct place *place,
                                 struct client_answer *answer)
{
    cJSON *params =
        clear_params(words_params("position", lead->readings->target_nm[place->target]));
    if (!params ||
        !cJSON_AddStringToObject(params, "from", place->side == GAUGE_UP ? "below" : "above")) {
        cJSON_Delete(params);
        return run_trouble(lead->run, CLIENT_NO_MEMORY);
    }
    return motion_quietly(lead->run, "approach", params, answer);
}

/* --- The readout --- */

static enum client_exit take_readout(struct lead *lead, const cJSON *status, int64_t *nm)
{
    const cJSON *readout = cJSON_GetObjectItemCaseSensitive(status, "readout");
    const cJSON *state = cJSON_GetObjectItemCaseSensitive(readout, "state");
    const cJSON *reading = cJSON_GetObjectItemCaseSensitive(readout, "reading_nm");
    const char *word = cJSON_IsString(state) ? state->valuestring : "absent";
    if (cJSON_IsNumber(reading) && strcmp(word, "reads") == 0) {
        *nm = (int64_t)reading->valuedouble;
        return CLIENT_DONE;
    }
    struct say say = {0};
    say_wrap(
        &say, "", 0,
        "The readout is %s here, so there is nothing to gauge by. Nothing was changed. Look at "
        "the scale, its battery and its cable; or gauge with an indicator: '%s gauge by "
        "typed'.",
        word, run_name(lead->run));
    run_complain(&say);
    return CLIENT_REFUSED;
}

/* --- An indicator --- */

static void ask_words(const struct lead *lead, const struct place *place, char *text, size_t size)
{
    char target[SAY_LENGTH_SIZE];
    const struct gauge_readings *readings = lead->readings;
    say_both(readings->target_nm[place->target], lead->run->style, target, sizeof target);
    (void)snprintf(text, size, "run %d of %d, %s, target %d of %d, at %s: the indicator reads?",
                   place->run + 1, readings->runs,
                   place->side == GAUGE_UP ? "come up" : "come down", place->target + 1,
                   readings->targets, target);
}

/* Is it where the others would have it? A slip of the pen is far off; so is an indicator that has
 * come to the end of its travel. */
static bool likely(struct lead *lead, const struct place *place, int64_t nm)
{
    int64_t target_nm = lead->readings->target_nm[place->target];
    if (!lead->first_known) {
        lead->first_known = true;
        lead->first_nm = nm - target_nm;
        return true;
    }
    int64_t first_nm = lead->readings->target_nm[0];
    int64_t start_nm = lead->first_nm + first_nm;
    int64_t way_nm = target_nm - first_nm;
    return llabs(nm - start_nm - way_nm) < FAR_NM || llabs(nm - start_nm + way_nm) < FAR_NM;
}

static void say_again(const char *why)
{
    struct say say = {0};
    say_wrap(&say, "", 0, "%s. Give the reading, such as 12.503mm; 'stop' ends the gauging.", why);
    run_complain(&say);
}

static enum client_exit take_typed(struct lead *lead, const struct place *place, int64_t *nm)
{
    char question[2 * SAY_LENGTH_SIZE];
    char reply[REPLY_SIZE];
    char why[WORDS_WHY];
    int64_t doubted_nm = INT64_MIN;
    ask_words(lead, place, question, sizeof question);
    for (;;) {
        bool ended;
        char *word = reply;
        enum client_exit code = ask_line(lead->run, question, reply, sizeof reply, &ended);
        if (code != CLIENT_DONE) {
            return code;
        }
        if (ended || strcmp(reply, "stop") == 0) {
            run_say("The gauging was ended. Nothing was changed; the readings so far are dropped.");
            return CLIENT_BROKEN_OFF;
        }
        if (!words_length(1, &word, words_bare(lead->run->style), "a reading", nm, why)) {
            say_again(why);
        } else if (!likely(lead, place, *nm) && *nm != doubted_nm) {
            doubted_nm = *nm;
            say_again("That is over 2mm off where the lift should be. If it is so, "
                      "give it once more");
        } else {
            return CLIENT_DONE;
        }
    }
}

/* --- All of them --- */

static enum client_exit visit(struct lead *lead, const struct place *place)
{
    struct client_answer answer = {0};
    int64_t nm = 0;
    enum client_exit code = approach(lead, place, &answer);
    if (code == CLIENT_DONE) {
        code = lead->by_readout ? take_readout(lead, answer.result, &nm)
                                : take_typed(lead, place, &nm);
    }
    client_answer_free(&answer);
    lead->readings->reached_nm[place->side][place->target][place->run] = nm;
    return code;
}

static void show_run(const struct lead *lead, int run)
{
    if (lead->by_readout && ask_possible(lead->run)) {
        (void)fprintf(stderr, "run %d of %d\n", run + 1, lead->readings->runs);
    }
}

enum client_exit gauge_lead(struct run *run, bool by_readout, struct gauge_readings *readings)
{
    struct lead lead = {.run = run, .by_readout = by_readout, .readings = readings};
    enum client_exit code = CLIENT_DONE;
    for (int round = 0; round < readings->runs; round++) {
        show_run(&lead, round);
        for (int i = 0; code == CLIENT_DONE && i < 2 * readings->targets; i++) {
            bool up = i < readings->targets;
            struct place place = {.side = up ? GAUGE_UP : GAUGE_DOWN,
                                  .target = up ? i : 2 * readings->targets - 1 - i,
                                  .run = round};
            code = visit(&lead, &place);
        }
    }
    return code;
}
