/* SPDX-License-Identifier: MIT */
#include "clients/reglet/run.h"

static enum client_exit carry_out(struct run *run)
{
    return run_status(run, "all-clear", NULL, show_status);
}

const struct command command_all_clear = {
    "all-clear",
    NULL,
    "permit motion again after it was barred",
    "For when the stop circuit is closed again, its cause is put right, and hands and work are "
    "clear of the bit. Nothing moves by it.",
    carry_out,
    NULL};
