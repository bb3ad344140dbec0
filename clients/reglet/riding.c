/* SPDX-License-Identifier: MIT */
#include "clients/common/words.h"
#include "clients/reglet/run.h"

static enum client_exit tell(struct run *run, int64_t nm)
{
    struct say say = {0};
    char text[SAY_LENGTH_SIZE];
    cJSON *params = words_params("thickness", nm);
    if (!params) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    say_exact(nm, run->style, text, sizeof text);
    if (nm == 0) {
        say_add(&say, "riding 0: the work lies on the table itself\n");
    } else {
        say_add(&say, "riding %s: added to every height until 'riding 0'\n", text);
    }
    if (!run->json) {
        run_print(&say);
    }
    return run_status(run, "riding", params, show_rest);
}

/* Without a word: what there is. */
static void show_riding(struct say *say, const struct show_lift *lift, enum length_style style)
{
    if (!lift->riding_known) {
        say_add(say, "Nothing rides on the table: heights are over the table itself.\n");
    }
    show_head(say, lift, style);
}

static enum client_exit carry_out(struct run *run)
{
    int64_t nm;
    char why[WORDS_WHY];
    if (run->count == 0) {
        return run_status(run, "status", NULL, show_riding);
    }
    if (!words_length(run->count, run->word, words_bare(run->style), "a thickness, such as 3/8",
                      &nm, why)) {
        return run_usage(run, why);
    }
    if (nm < 0) {
        return run_usage(run, "a thickness is not below zero; 'riding 0' when it is taken away");
    }
    return tell(run, nm);
}

const struct command command_riding = {
    "riding",
    "[THICKNESS|0]",
    "say what carries the work: a sled, an auxiliary top",
    "Its thickness is added to every height, so that heights are over it, until 'riding 0'. "
    "Nothing "
    "moves by it. Without a word it says what there is. It is asked about again after 'fit' and "
    "when regletd was started again.",
    carry_out,
    NULL};
