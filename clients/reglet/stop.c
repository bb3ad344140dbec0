/* SPDX-License-Identifier: MIT */
#include "clients/reglet/run.h"

static enum client_exit carry_out(struct run *run)
{
    return run_status(run, "stop", NULL, show_rest);
}

const struct command command_stop = {
    "stop",
    NULL,
    "brake the lift and wait for its rest",
    "It brakes at the motor's own pace and keeps the height. It is no emergency stop and no safety "
    "device: for those the lift has its stop circuit, and the router its own switch and plug.",
    carry_out,
    NULL};
