/* SPDX-License-Identifier: MIT */
#include "clients/bench/passes.h"

#include <stdio.h>
#include <stdlib.h>

#include "clients/common/words.h"
#include "clients/reglet/plan.h"

static struct joint_plan plan; /* too large for the stack */

static bool length(const struct run *run, char *word, const char *what, int64_t *nm, char *why)
{
    return !word || words_length(1, &word, words_bare(run->style), what, nm, why);
}

static bool read_pieces(const struct run *run, int *pieces, char *why)
{
    char *end = NULL;
    long number = run->pieces ? strtol(run->pieces, &end, 10) : 1;
    *pieces = number > 0 && number <= JOINT_PIECES_MAX ? (int)number : 0;
    bool good = *pieces > 0 && (!run->pieces || (end != run->pieces && *end == '\0'));
    if (!good) {
        (void)snprintf(why, WORDS_WHY, "'--pieces %.40s': expected a whole number, such as 8",
                       run->pieces);
    }
    return good;
}

static bool read_words(const struct run *run, struct joint_passes *in, char *why)
{
    return words_length(run->count, run->word, words_bare(run->style),
                        "how deep the cut is to be in the end, such as 3/4", &in->passes.total_nm,
                        why) &&
           length(run, run->from, "--from", &in->passes.from_nm, why) &&
           length(run, run->most, "--most", &in->passes.most_nm, why) &&
           length(run, run->last, "--last", &in->passes.last_nm, why) &&
           read_pieces(run, &in->pieces, why);
}

/* The bit's name, its width, or neither: the fitted one. */
static enum client_exit read_bit(struct run *run, struct plan_shop *shop, struct joint_passes *in,
                                 char *name)
{
    char why[JOINT_JOB_WHY];
    const struct joint_shelf shelf = plan_shop_shelf(shop);
    bool sized = run->bit && words_is_height(run->bit);
    in->cutter = (struct joint_cutter){.kind = JOINT_STRAIGHT, .reference = JOINT_TOP};
    if (sized) {
        return length(run, run->bit, "--bit", &in->cutter.width_nm, why) ? CLIENT_DONE
                                                                         : run_usage(run, why);
    }
    enum client_exit code = plan_shop_open(shop);
    if (code != CLIENT_DONE) {
        return code;
    }
    if (!run->bit && shop->fitted[0] == '\0' && in->passes.most_nm > 0) {
        in->cutter.width_nm = 2 * in->passes.most_nm; /* whatever it is, the pass was said */
        return CLIENT_DONE;
    }
    (void)snprintf(name, JOINT_NAME_SIZE, "%.63s", run->bit ? run->bit : "");
    bool found =
        shelf.bit(shelf.owner, run->bit, JOINT_STRAIGHT, &in->cutter, run->bit ? NULL : name, why);
    return found ? CLIENT_DONE : shop->trouble != CLIENT_DONE ? shop->trouble : run_usage(run, why);
}

static enum client_exit carry_out(struct run *run)
{
    char why[WORDS_WHY];
    char bit[JOINT_NAME_SIZE] = "";
    char made_by[STORY_MADE_SIZE];
    struct joint_passes in = {.pieces = 1};
    struct plan_shop shop = {.run = run};
    if (!read_words(run, &in, why)) {
        return run_usage(run, why);
    }
    enum client_exit code = read_bit(run, &shop, &in, bit);
    if (code != CLIENT_DONE) {
        return code;
    }
    struct joint_shop travel = plan_shop_travel(&shop, bit, false, run->style);
    if (!joint_passes(&in, &travel, &plan)) {
        return plan_refused(&plan);
    }
    plan_made_by(run, made_by, sizeof made_by);
    return plan_use(run, &shop,
                    &(struct plan_made){.plan = &plan,
                                        .title = "Passes",
                                        .bit = bit,
                                        .second = "",
                                        .made_by = made_by,
                                        .width_nm = in.cutter.width_nm});
}

static const struct argp_option options[] = {
    {"most", RUN_MOST, "LENGTH", 0,
     "Deepest pass; not said: half the bit's diameter, at most 1/8in, or 1/4in with a stout shank",
     0},
    {"last", RUN_LAST, "LENGTH", 0, "Last, light pass, such as 1/32", 0},
    {"from", RUN_FROM, "LENGTH", 0, "So deep it is cut already", 0},
    {"bit", RUN_BIT, "NAME|WIDTH", 0, "Not said: the fitted one", 0},
    {"pieces", RUN_PIECES, "N", 0, "How many are cut so", 0},
    PLAN_OPTIONS,
    {0}};

const struct command command_passes = {
    "passes",
    "DEPTH",
    "divide a deep cut into passes",
    "For example: passes 3/4 --most 1/4 --last 1/32. It shows the height of each pass; --keep "
    "makes a story of it. Bits that cannot be stepped by height are refused, with what to do "
    "instead. Nothing moves by it.",
    carry_out,
    options};
