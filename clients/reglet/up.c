/* SPDX-License-Identifier: MIT */
#include "clients/reglet/motion.h"

static enum client_exit carry_out(struct run *run)
{
    return motion_nudge(run, 1);
}

const struct command command_up = {
    "up",
    "[DISTANCE]",
    "nudge the bit up, .002in unless you say more",
    "For example: up, up 1/64, up .1mm. While the height is not known a nudge is short.",
    carry_out,
    NULL};
