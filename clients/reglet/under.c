/* SPDX-License-Identifier: MIT */
#include "clients/reglet/motion.h"

static enum client_exit carry_out(struct run *run)
{
    struct say say = {0};
    enum client_exit code = run_connect(run);
    if (code != CLIENT_DONE) {
        return code;
    }
    if (!run->json) {
        say_add(&say, "under; no work on or over the bit\n");
        run_print(&say);
    }
    return motion_go(run, "under", NULL, show_rest);
}

const struct command command_under = {
    "under",
    NULL,
    "move the bit to just below the table",
    "All of it, as far as the list of bits knows its size. A bit that is wider than the opening of "
    "its ring cannot be hidden, and the lift says so.",
    carry_out,
    NULL};
