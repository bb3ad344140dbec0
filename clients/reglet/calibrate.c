/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/run.h"

static int64_t number(const cJSON *object, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    return cJSON_IsNumber(item) ? (int64_t)item->valuedouble : 0;
}

static const char *word(const cJSON *object, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    return cJSON_IsString(item) ? item->valuestring : "?";
}

static void show(const struct run *run, const cJSON *result)
{
    struct say say = {0};
    char length[SAY_LENGTH_SIZE];
    say_exact(number(result, "lead_nm"), run->style, length, sizeof length);
    say_wrap(&say, "Lead", SAY_INDENT, "%s for one turn of the motor (%s)", length,
             word(result, "lead_from"));
    say_exact(number(result, "lash_nm"), run->style, length, sizeof length);
    say_wrap(&say, "Lash", SAY_INDENT, "%s (%s)", length, word(result, "lash_from"));
    say_exact(number(result, "take_up_nm"), run->style, length, sizeof length);
    say_wrap(&say, "Take-up", SAY_INDENT, "a move dips %s below its height, and comes up to it",
             length);
    if (cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(result, "back"))) {
        say_wrap(&say, "", 0, "'%s calibrate back' returns to the values before.", run_name(run));
    }
    run_print(&say);
}

/* What the words ask for; NULL, and the reason in `why`. *method is what to call. */
static cJSON *params_of(const struct run *run, const char **method, char *why)
{
    int64_t nm;
    cJSON *params;
    *method = "calibrate";
    if (run->count == 1 && strcmp(run->word[0], "back") == 0) {
        params = cJSON_CreateObject();
        cJSON_AddTrueToObject(params, "back");
        return params;
    }
    bool lead = strcmp(run->word[0], "lead") == 0;
    if (!lead && strcmp(run->word[0], "lash") != 0) {
        (void)snprintf(why, WORDS_WHY, "'%.40s' can be lead, lash or back", run->word[0]);
        return NULL;
    }
    if (!words_length(run->count - 1, run->word + 1, words_bare(run->style),
                      "what was measured, such as 2.006mm", &nm, why)) {
        return NULL;
    }
    return words_params(lead ? "lead" : "lash", nm);
}

static enum client_exit carry_out(struct run *run)
{
    struct client_answer answer = {0};
    const char *method = "calibration";
    char why[WORDS_WHY] = "there is no memory left";
    cJSON *params = NULL;
    if (run->count > 0 && !(params = params_of(run, &method, why))) {
        return run_usage(run, why);
    }
    run->asked = params ? CLIENT_ASKED_CHANGE : CLIENT_ASKED_NOTHING;
    enum client_exit code = run_ask(run, method, params, &answer);
    if (code == CLIENT_DONE) {
        code = run->json || answer.error ? run_tell(run, &answer) : CLIENT_DONE;
        if (!run->json && !answer.error) {
            show(run, answer.result);
        }
    }
    client_answer_free(&answer);
    return code;
}

const struct command command_calibrate = {
    "calibrate",
    "[lead LENGTH | lash LENGTH | back]",
    "show or set what was measured of the screw",
    "Without words: what the lift goes by. 'lead': the rise for one turn of the motor; raise the "
    "lift by many turns, measure, and divide. 'lash': how far the screw turns back before the "
    "carriage follows, by a dial indicator. 'back': to the values before. With another lead every "
    "height means another place: find the top and touch off again. Measure with the router "
    "unplugged and no bit in the collet.",
    carry_out,
    NULL};
