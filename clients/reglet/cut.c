/* SPDX-License-Identifier: MIT */
#include "clients/common/stories.h"
#include "clients/reglet/run.h"

static enum client_exit carry_out(struct run *run)
{
    return run_status(run, "cut", NULL, stories_show);
}

const struct command command_cut = {
    "cut",
    NULL,
    "count a piece as cut at this mark",
    "Say it after each piece: 'where' then says how many are left. Nothing moves by it.",
    carry_out,
    NULL};
