/* SPDX-License-Identifier: MIT */
#include "clients/reglet/motion.h"

static enum client_exit carry_out(struct run *run)
{
    return motion_nudge(run, -1);
}

const struct command command_down = {
    "down",
    "[DISTANCE]",
    "nudge the bit down, .002in unless you say more",
    "For example: down, down 1/64, down .1mm. It may dip below and come up again, so that the lash "
    "is taken up. While the height is not known a nudge is short.",
    carry_out,
    NULL};
