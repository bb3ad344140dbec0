/* SPDX-License-Identifier: MIT */
/* A story of which nothing but its marks is known, as a story stick to scale. Pure. */
#ifndef REGLET_DRAWING_VIEW_STORY_H
#define REGLET_DRAWING_VIEW_STORY_H

#include "clients/drawing/view.h"
#include "clients/story/story_file.h"
#include "protocol/attributes.h"

/* Each mark with a height is a line over the stick, of part A over its left half, of part B over
 * its right one. False: no mark has a height, so there is nothing to draw. `story` is borrowed as
 * long as the view is used. */
REGLET_MUST_CHECK bool view_story(const struct story_file *story, struct view *view);

#endif
