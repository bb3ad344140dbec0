/* SPDX-License-Identifier: MIT */
/* The plan of a joint as a story. Pure. */
#ifndef REGLET_CLIENTS_STORY_PLAN_H
#define REGLET_CLIENTS_STORY_PLAN_H

#include "clients/bench/joint.h"
#include "clients/story/story_file.h"

/* Marks of `bit` and `second` (names of the list, "" where they have none) in the order of the
 * plan; the story's name and what it was made by stay empty. A plan has as many marks as a story
 * may have, and words of the same length. */
void story_of_plan(const struct joint_plan *plan, const char *bit, const char *second,
                   struct story_file *story);

#endif
