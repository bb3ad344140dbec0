/* SPDX-License-Identifier: MIT */
#include "clients/bench/correct.h"

#include <argp.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/common/words.h"
#include "clients/reglet/ask.h"
#include "clients/reglet/motion.h"

#define KINDS "depth, left, tongue, groove, lap, lower, dovetail, proud or proud-turned"

/* False: it is no kind of test cut. */
static bool kind_of(const char *word, enum correct_kind *kind)
{
    if (strcmp(word, "lower") == 0) {
        *kind = CORRECT_LOWER_WALL;
        return true;
    }
    for (int i = CORRECT_DEPTH; i <= CORRECT_FINGER; i++) {
        *kind = (enum correct_kind)i;
        if (strcmp(word, correct_name(*kind)) == 0) {
            return true;
        }
    }
    return false;
}

/* --- A test cut --- */

static bool read_length(const struct run *run, char *word, const char *what, int64_t *nm, char *why)
{
    return words_length(word ? 1 : 0, &word, words_bare(run->style), what, nm, why);
}

static bool read_slope(const struct run *run, struct correct *cut, char *why)
{
    char *end;
    if (cut->kind != CORRECT_DOVETAIL) {
        (void)snprintf(why, WORDS_WHY, "--slope belongs to 'dovetail'");
        return !run->slope;
    }
    double degrees = run->slope ? strtod(run->slope, &end) : NAN;
    if (!(degrees >= 0 && degrees <= 90) || *end != '\0') {
        (void)snprintf(why, WORDS_WHY,
                       "expected --slope, the degrees of the dovetail bit, such as --slope 14");
        return false;
    }
    cut->slope_mdeg = (int32_t)lround(degrees * 1000);
    return true;
}

/* What stands proud is wanted not to. */
static bool read_cut(const struct run *run, struct correct *cut, char *why)
{
    bool proud = cut->kind == CORRECT_PROUD_TURNED || cut->kind == CORRECT_PROUD_AS_CUT;
    if (run->count > 1) {
        (void)snprintf(why, WORDS_WHY,
                       "'%.64s' is one word too many; the lengths stand behind --measured and "
                       "--wanted",
                       run->word[1]);
        return false;
    }
    cut->one_stays = run->one;
    return read_length(run, run->measured, "--measured, such as --measured .250", &cut->measured_nm,
                       why) &&
           ((proud && !run->wanted) ||
            read_length(run, run->wanted, "--wanted, such as --wanted .246", &cut->wanted_nm,
                        why)) &&
           read_slope(run, cut, why);
}

static enum client_exit cannot(const char *words)
{
    run_say(words);
    run_say("Nothing was asked of the lift.");
    return CLIENT_USAGE;
}

static enum client_exit by_cut(struct run *run, struct correct *cut, struct correction *out)
{
    char why[WORDS_WHY];
    bool shared = cut->kind == CORRECT_LAP || cut->kind == CORRECT_PROUD_TURNED ||
                  cut->kind == CORRECT_PROUD_AS_CUT;
    if (cut->kind != CORRECT_FINGER && !read_cut(run, cut, why)) {
        return run_usage(run, why);
    }
    if (run->one && !shared) {
        return run_usage(run, "--one belongs to 'lap' and 'proud': of two parts that were cut at "
                              "one height only one is cut again");
    }
    return correct_work_out(cut, say_small_style(run->style), out) ? CLIENT_DONE
                                                                   : cannot(out->words);
}

/* --- The raise itself --- */

static enum client_exit by_raise(const struct run *run, struct correction *out)
{
    char why[WORDS_WHY];
    char text[SAY_LENGTH_SIZE];
    if (run->measured || run->wanted || run->one || run->slope) {
        return run_usage(run, "expected what was measured before the options: " KINDS);
    }
    if (!words_length(
            run->count, run->word, words_bare(run->style),
            "by how much the bit is to be raised, such as .002, or what was measured: " KINDS,
            &out->raise_nm, why)) {
        return run_usage(run, why);
    }
    int64_t nm = out->raise_nm < 0 ? -out->raise_nm : out->raise_nm;
    out->ask = nm > CORRECT_ASK_NM;
    say_exact(nm, say_small_style(run->style), text, sizeof text);
    (void)snprintf(out->words, sizeof out->words, "%s %s.%s", out->raise_nm < 0 ? "Lower" : "Raise",
                   text,
                   out->ask ? " That is a large step; measure again before you say yes." : "");
    return CLIENT_DONE;
}

/* --- What it will do, and whether it is meant so --- */

static void show_understood(const struct run *run, const struct correction *correction)
{
    struct say say = {0};
    say_wrap(&say, "", 0, "%s No work on or over the bit.", correction->words);
    if (run->yes) {
        run_print(&say);
    } else {
        run_complain(&say);
    }
}

static enum client_exit ask(struct run *run, const struct correction *correction)
{
    static const char otherwise[] = "Nothing has changed, and nothing has moved.";
    enum client_exit code = ask_yes(run, "Correct by that?", otherwise);
    if (code == CLIENT_DONE && correction->ask) {
        code = ask_yes(run, "That is over 1/32in. Correct by so much?", otherwise);
    }
    return code;
}

static enum client_exit correct(struct run *run, const struct correction *correction)
{
    if (!run->yes && !ask_possible(run)) {
        return run_usage(run, "nobody can be asked whether it is meant so; say --yes");
    }
    enum client_exit code = run_connect(run);
    if (code == CLIENT_DONE && !run->json) {
        show_understood(run, correction);
    }
    if (code == CLIENT_DONE && !run->yes) {
        code = ask(run, correction);
    }
    if (code != CLIENT_DONE) {
        return code;
    }
    cJSON *params = words_params("raise", correction->raise_nm);
    return params ? motion_go(run, "correct", params, show_rest)
                  : run_trouble(run, CLIENT_NO_MEMORY);
}

static enum client_exit carry_out(struct run *run)
{
    struct correct cut = {0};
    struct correction correction = {0};
    bool by = run->count > 0 && kind_of(run->word[0], &cut.kind);
    enum client_exit code = by ? by_cut(run, &cut, &correction) : by_raise(run, &correction);
    if (code == CLIENT_DONE && correction.raise_nm == 0) {
        return run_usage(run, "that is no correction: the bit stands as it was wanted");
    }
    return code == CLIENT_DONE ? correct(run, &correction) : code;
}

static const struct argp_option options[] = {
    {"measured", RUN_MEASURED, "LENGTH", 0, "What the test cut measures", 0},
    {"wanted", RUN_WANTED, "LENGTH", 0, "What it should measure", 0},
    {"one", RUN_ONE, 0, 0, "Of two parts only one is cut again, and takes all of it", 0},
    {"slope", RUN_SLOPE, "DEGREES", 0, "Of a dovetail bit", 0},
    {"yes", RUN_YES, 0, 0, "Do not ask whether it is meant so", 0},
    {0}};

const struct command command_correct = {
    "correct",
    "RAISE|KIND",
    "correct the height by a test cut",
    "For example: correct tongue --measured .250 --wanted .246. KIND is what was measured: 'depth' "
    "of a cut; 'left': what a cut from one face leaves; 'tongue', or anything cut from both faces; "
    "'groove' cut from both faces with a flip; 'lap': two half-laps together; 'lower': the lower "
    "wall of a slot, over the table; 'dovetail': the gap at the sides of a tail; 'proud', "
    "'proud-turned': how far a piece of a lock mitre stands proud that was used as it was cut, or "
    "turned over. Or RAISE itself: correct .002, correct -.002. The zero moves, and the bit goes "
    "to the same height again. It says what it will do, and asks; 'undo' takes it back.",
    carry_out,
    options};
