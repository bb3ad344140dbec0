/* SPDX-License-Identifier: MIT */
#include "clients/common/stories.h"
#include "clients/reglet/run.h"

static void show(struct say *say, const struct show_lift *lift, enum length_style style)
{
    (void)style;
    say_add(say, "%s\n", lift->story ? "A story is loaded still." : "No story is loaded any more.");
}

static enum client_exit carry_out(struct run *run)
{
    return run_status(run, "abandon", NULL, show);
}

const struct command command_abandon = {
    "abandon",
    NULL,
    "let the loaded story go",
    "It stays in the list, and its place in it is forgotten. Nothing moves by it.",
    carry_out,
    NULL};
