/* SPDX-License-Identifier: MIT */
#include <argp.h>
#include <stdio.h>

#include "clients/common/words.h"
#include "clients/reglet/motion.h"

#define TOUCH_MOST_NM INT64_C(101600000) /* 4 in */

/* What the words ask for. */
struct wish {
    struct words_touch touch;
    bool most_given; /* with the plate alone */
    int64_t most_nm;
};

/* Millimetres that were read as inches, most often; common practice, no source: a bit stands a few
 * inches over its collet at the most. */
static bool is_plausible(const struct run *run, const struct words_touch *touch, char *why)
{
    char text[SAY_LENGTH_SIZE];
    bool length = touch->by == WORDS_TOUCH_HEIGHT || touch->by == WORDS_TOUCH_BLOCK;
    if (!length || (touch->nm <= TOUCH_MOST_NM && touch->nm >= -TOUCH_MOST_NM)) {
        return true;
    }
    say_both(touch->nm, run->style, text, sizeof text);
    (void)snprintf(why, WORDS_WHY,
                   "%s is further from the table than a bit can stand; say the unit with it, as in "
                   "10mm",
                   text);
    return false;
}

static bool read_words(const struct run *run, struct wish *wish, char *why)
{
    char *most = run->most;
    if (!words_touch(run->count, run->word, words_bare(run->style), &wish->touch, why) ||
        !is_plausible(run, &wish->touch, why)) {
        return false;
    }
    wish->most_given = most != NULL;
    if (!most) {
        return true;
    }
    if (wish->touch.by != WORDS_TOUCH_PLATE) {
        (void)snprintf(why, WORDS_WHY, "--most belongs to 'plate': how far up it is searched for");
        return false;
    }
    return words_length(1, &most, words_bare(run->style), "a length", &wish->most_nm, why);
}

static cJSON *plate_params(const struct wish *wish)
{
    cJSON *params = cJSON_CreateObject();
    if (!cJSON_AddTrueToObject(params, "plate") ||
        (wish->most_given && !words_add_length(params, "most", wish->most_nm))) {
        cJSON_Delete(params);
        return NULL;
    }
    return params;
}

static cJSON *readout_params(void)
{
    cJSON *params = cJSON_CreateObject();
    if (!cJSON_AddTrueToObject(params, "readout")) {
        cJSON_Delete(params);
        return NULL;
    }
    return params;
}

static cJSON *params_of(const struct wish *wish)
{
    switch (wish->touch.by) {
    case WORDS_TOUCH_PLATE:
        return plate_params(wish);
    case WORDS_TOUCH_READOUT:
        return readout_params();
    case WORDS_TOUCH_PRESET:
        return words_params_text("preset", wish->touch.name);
    case WORDS_TOUCH_BLOCK:
        return words_params("block", wish->touch.nm);
    case WORDS_TOUCH_HEIGHT:
        break;
    }
    return words_params("height", wish->touch.nm);
}

static void show_understood(const struct run *run, const struct wish *wish)
{
    struct say say = {0};
    char text[SAY_LENGTH_SIZE];
    say_exact(wish->touch.nm, run->style, text, sizeof text);
    switch (wish->touch.by) {
    case WORDS_TOUCH_PLATE:
        say_add(&say, "touch plate: the bit comes up to it three times; hands away\n");
        break;
    case WORDS_TOUCH_READOUT:
        say_add(&say, "touch: at what the digital scale shows\n");
        break;
    case WORDS_TOUCH_PRESET:
        say_add(&say, "touch: snug in the kept sample of ");
        say_harmless(&say, wish->touch.name);
        say_add(&say, "\n");
        break;
    case WORDS_TOUCH_BLOCK:
        say_add(&say, "touch block %s\n", text);
        break;
    case WORDS_TOUCH_HEIGHT:
        say_add(&say, "touch %s\n", wish->touch.nm == 0 ? "flush" : text);
        break;
    }
    say_wrap(&say, "", 0, "%s", run_caution);
    run_print(&say);
}

static enum client_exit carry_out(struct run *run)
{
    struct wish wish;
    char why[WORDS_WHY];
    if (!read_words(run, &wish, why)) {
        return run_usage(run, why);
    }
    if (!run->json) {
        show_understood(run, &wish);
    }
    enum client_exit code = run_connect(run);
    if (code != CLIENT_DONE) {
        return code;
    }
    cJSON *params = params_of(&wish);
    return !params ? run_trouble(run, CLIENT_NO_MEMORY)
           : wish.touch.by == WORDS_TOUCH_PLATE
               ? motion_go(run, "touch", params, show_touched)
               : run_call_status(run, "touch", params, show_touched);
}

static const struct argp_option options[] = {
    {"most", RUN_MOST, "LENGTH", 0, "How far up the plate is searched for (default: 1/2in)", 0},
    {0}};

const struct command command_touch = {
    "touch",
    "flush|HEIGHT|block THICKNESS|PRESET|plate|readout",
    "tell the lift how high the bit stands now",
    "Unplug the router first: switched off is not enough while your hands are near the bit. Come "
    "up to the height, so that the lash is taken up. 'touch flush' when the bit is level with the "
    "table; 'touch 1/4' when it stands at 1/4in; 'touch block 1/4' when it just meets a setup "
    "block of 1/4in, where the list of bits says; 'touch drawer-groove' when it stands snug in the "
    "kept sample of that preset; 'touch plate' for the touch plate, which the bit comes up to "
    "by itself: first close and open its contact by hand; 'touch readout' at what the digital "
    "scale shows, when its own zero was set with the bit flush. It says how far the zero has "
    "moved. It "
    "counts until that bit is taken out.",
    carry_out,
    options};
