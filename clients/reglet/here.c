/* SPDX-License-Identifier: MIT */
#include <argp.h>

#include "clients/reglet/run.h"

static void show_understood(void)
{
    struct say say = {0};
    say_add(&say, "here --top: the lift stands at its mechanical top; nothing moves by it\n");
    say_wrap(&say, "", 0, "%s", run_caution);
    run_print(&say);
}

static enum client_exit carry_out(struct run *run)
{
    if (run->count > 0) {
        return run_usage(run, "it takes no words; the height of the bit is told by 'touch'");
    }
    if (!run->top) {
        return run_usage(run, "expected --top, which says that the lift stands at its mechanical "
                              "top now; the height of the bit is told by 'touch'");
    }
    if (!run->json) {
        show_understood();
    }
    return run_status(run, "here-top", NULL, show_top);
}

static const struct argp_option options[] = {
    {"top", RUN_TOP, 0, 0, "The lift stands at its mechanical top now", 0}, {0}};

const struct command command_here = {
    "here",
    "--top",
    "tell the lift that it stands at its top end",
    "For a lift without a top switch: nudge it up to the end of its travel, gently, with the "
    "router unplugged and the table clear; then say it, and the lift knows its travel. Touch off "
    "after "
    "that: a motor that was pushed against the end may have lost steps. Where there is a switch, "
    "'find-top' does it.",
    carry_out,
    options};
