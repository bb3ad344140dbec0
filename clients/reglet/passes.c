/* SPDX-License-Identifier: MIT */
#include <argp.h>

#include "clients/common/words.h"
#include "clients/reglet/plan.h"
#include "clients/reglet/plan_passes.h"

static struct joint_plan plan; /* too large for the stack */

static enum client_exit read_words(struct run *run, struct plan_shop *shop, struct joint_passes *in,
                                   char *bit)
{
    char why[JOINT_JOB_WHY];
    if (!plan_passes_read(run, in, why)) {
        return run_usage(run, why);
    }
    enum client_exit code = plan_passes_sized(run) ? CLIENT_DONE : plan_shop_open(shop);
    if (code != CLIENT_DONE || plan_passes_bit(run, shop, in, bit, why)) {
        return code;
    }
    return shop->trouble != CLIENT_DONE ? shop->trouble : run_usage(run, why);
}

static enum client_exit carry_out(struct run *run)
{
    char bit[JOINT_NAME_SIZE] = "";
    char made_by[STORY_MADE_SIZE];
    struct joint_passes in;
    struct plan_shop shop = {.run = run};
    enum client_exit code = read_words(run, &shop, &in, bit);
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
