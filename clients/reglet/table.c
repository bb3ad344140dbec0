/* SPDX-License-Identifier: MIT */
/* All subcommands, in the order in which the help names them. */
#include <stddef.h>

#include "clients/reglet/run.h"

extern const struct command command_to;
extern const struct command command_up;
extern const struct command command_down;
extern const struct command command_by;
extern const struct command command_touch;
extern const struct command command_stop;
extern const struct command command_all_clear;

const struct command *const command_table[] = {
    &command_to,    &command_up,   &command_down,      &command_by,
    &command_touch, &command_stop, &command_all_clear, NULL,
};
