/* SPDX-License-Identifier: MIT */
#include "clients/reglet/step.h"

const struct command command_next = {"next",    NULL,     "go to the next mark of the story",
                                     step_more, step_run, NULL};
