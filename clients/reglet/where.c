/* SPDX-License-Identifier: MIT */
#include "clients/common/stories.h"
#include "clients/reglet/run.h"

static enum client_exit carry_out(struct run *run)
{
    return run_status(run, "status", NULL, stories_show);
}

const struct command command_where = {
    "where",
    NULL,
    "say which mark of the story this is",
    "The mark of how many, its height, what to cut there, how many pieces of it are cut, and what "
    "comes next. Nothing moves by it.",
    carry_out,
    NULL};
