/* SPDX-License-Identifier: MIT */
#include "clients/reglet/run.h"

static enum client_exit carry_out(struct run *run)
{
    return run_status(run, "status", NULL, show_status);
}

const struct command command_status = {"", NULL, "say where the bit is", NULL, carry_out, NULL};
