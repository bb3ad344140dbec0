/* SPDX-License-Identifier: MIT */
#include "clients/common/words.h"
#include "clients/reglet/motion.h"

static enum client_exit carry_out(struct run *run)
{
    int64_t nm;
    char why[WORDS_WHY];
    if (!words_length(run->count, run->word, words_bare(run->style), "a height, such as 3/8", &nm,
                      why)) {
        return run_usage(run, why);
    }
    return motion_run(run, &(struct motion){"to", "to", "height", nm, nm});
}

const struct command command_to = {
    "to",
    "HEIGHT",
    "move the bit to a height over the table",
    "Heights: 3/8, 1-7/16 or 1 7/16, .375in, 9.5mm, 23/64 + .003, -1/8 (below the table). A "
    "fraction is inches; where the unit is mm, its 'in' is typed as well: 3/8in. It waits until "
    "the bit is there; Ctrl-C stops the lift.",
    carry_out,
    NULL};
