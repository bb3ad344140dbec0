/* SPDX-License-Identifier: MIT */
#include "clients/reglet/step.h"

const struct command command_again = {"again",   NULL,     "go to the same mark again",
                                      step_more, step_run, NULL};
