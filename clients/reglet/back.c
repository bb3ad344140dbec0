/* SPDX-License-Identifier: MIT */
#include "clients/reglet/step.h"

const struct command command_back = {"back",    NULL,     "go back to the mark before",
                                     step_more, step_run, NULL};
