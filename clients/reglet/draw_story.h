/* SPDX-License-Identifier: MIT */
/* The drawing of a story that is kept. */
#ifndef REGLET_CLIENTS_DRAW_STORY_H
#define REGLET_CLIENTS_DRAW_STORY_H

#include "clients/reglet/run.h"

/* "FILE story NAME": the joint or the passes that made it; else its marks as a story stick. */
REGLET_MUST_CHECK enum client_exit draw_story(struct run *run);

#endif
