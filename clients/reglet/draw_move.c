/* SPDX-License-Identifier: MIT */
#include <argp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/drawing/sheet.h"
#include "clients/reglet/draw_story.h"
#include "clients/reglet/file.h"
#include "clients/reglet/plan.h"

extern const struct command command_joint;

/* As long as nobody says more: half an inch a second, two inches a second a second, 1/32 in. */
static const struct sheet_move usual = {
    .rate_nm_s = 12700000, .gain_nm_s2 = 50800000, .take_up_nm = 793750};

struct word {
    const char *word;
    int64_t *nm;
    bool said;
};

enum { WORDS = 5 };

/* "from 1/8 to 3/8 speed 1/2 gain 2 take-up 1/32" */
static bool read_move(const struct run *run, struct sheet_move *move, char *why)
{
    struct word words[WORDS] = {{"from", &move->from_nm, false},
                                {"to", &move->to_nm, false},
                                {"speed", &move->rate_nm_s, false},
                                {"gain", &move->gain_nm_s2, false},
                                {"take-up", &move->take_up_nm, false}};
    for (int i = 2; i + 1 < run->count; i += 2) {
        struct word *word = words;
        while (word < words + WORDS && strcmp(word->word, run->word[i]) != 0) {
            word++;
        }
        if (word == words + WORDS) {
            (void)snprintf(why, WORDS_WHY,
                           "'%.40s' is none of: from, to, speed, gain, take-up; a height of "
                           "several words stands between quotes",
                           run->word[i]);
            return false;
        }
        word->said = true;
        if (!words_length(1, &run->word[i + 1], words_bare(run->style), word->word, word->nm,
                          why)) {
            return false;
        }
    }
    if (run->count % 2 != 0 || !words[0].said || !words[1].said) {
        (void)snprintf(why, WORDS_WHY,
                       "expected both heights, as in: draw move.svg move from 1/8 to 3/8");
        return false;
    }
    return true;
}

static enum client_exit draw_move(struct run *run)
{
    char why[WORDS_WHY];
    char made_by[STORY_MADE_SIZE];
    struct sheet_leg leg[SHEET_LEGS_MAX];
    struct sheet_move move = usual;
    int legs;
    if (!read_move(run, &move, why)) {
        return run_usage(run, why);
    }
    if (!sheet_legs(&move, leg, &legs)) {
        return run_usage(run, "nothing moves by that; expected two heights that differ, and a "
                              "speed and a gain above 0");
    }
    plan_made_by(run, made_by, sizeof made_by);
    const struct sheet_text text = {.title = "A move",
                                    .made_by = made_by,
                                    .note = "Speed and gain are those that were said, or the usual "
                                            "ones; the lift's own are in its configuration.",
                                    .style = run->style};
    char *svg = sheet_move(&text, &move);
    if (!svg) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    bool good = file_write(run->word[0], svg, run->replace);
    free(svg);
    if (good && strcmp(run->word[0], "-") != 0) {
        struct say say = {0};
        say_wrap(&say, "Drawn:", SAY_INDENT, "%.200s", run->word[0]);
        run_print(&say);
    }
    return good ? CLIENT_DONE : CLIENT_USAGE;
}

/* The rest of the line is that word's own. */
static enum client_exit draw_joint(struct run *run)
{
    run->draw = run->word[0];
    run->count -= 2;
    memmove(run->word, run->word + 2, (size_t)run->count * sizeof *run->word);
    run->command = &command_joint;
    return run->command->carry_out(run);
}

static enum client_exit carry_out(struct run *run)
{
    if (run->count >= 2 && strcmp(run->word[1], "move") == 0) {
        return draw_move(run);
    }
    if (run->count > 3 && strcmp(run->word[1], "joint") == 0) {
        return draw_joint(run);
    }
    if (run->count >= 2 && strcmp(run->word[1], "story") == 0) {
        return draw_story(run);
    }
    return run_usage(run, "expected a file, and then 'joint KIND ...', 'story NAME' or 'move from "
                          "... to ...'; 'passes' draws with its --draw");
}

static const struct argp_option options[] = {PLAN_OPTIONS, {0}};

const struct command command_draw = {
    "draw",
    "FILE joint KIND ... | FILE story NAME | FILE move from HEIGHT to HEIGHT",
    "draw a joint, a story or a move on one page, as SVG",
    "For example: draw box.svg joint stepped width 3/4 thick 1/2 kerf 1/8; draw move.svg move from "
    "1/8 to 3/8 speed 1/2 gain 2 take-up 1/32 (a second, and a second a second). A kept story is "
    "drawn as the joint or the passes that made it, one written by hand as a stick with its "
    "heights. 'passes DEPTH --draw FILE' draws a pass plan. To scale, dimensioned in your unit. "
    "Nothing moves by it.",
    carry_out,
    options};
