/* SPDX-License-Identifier: MIT */
#include "clients/common/words.h"
#include "clients/reglet/motion.h"

static enum client_exit carry_out(struct run *run)
{
    int64_t nm;
    char why[WORDS_WHY];
    if (!words_length(run->count, run->word, words_bare(run->style), "a distance, such as -1/64",
                      &nm, why)) {
        return run_usage(run, why);
    }
    return motion_run(run, &(struct motion){"by", "by", "distance", nm, nm});
}

const struct command command_by = {
    "by",
    "DISTANCE",
    "move the bit by a distance; below zero is down",
    "For scripts; by hand 'up' and 'down' read better. It counts from where the bit was last told "
    "to be, so that many small ones do not drift.",
    carry_out,
    NULL};
