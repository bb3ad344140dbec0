/* SPDX-License-Identifier: MIT */
/* A kept story's own joint or passes, worked out again from what it says that it was made by. */
#ifndef REGLET_CLIENTS_REMAKE_H
#define REGLET_CLIENTS_REMAKE_H

#include <stdbool.h>

#include "clients/reglet/plan.h"

enum remake {
    REMAKE_DONE = 1, /* *made is the plan, with the very marks of the story */
    REMAKE_NONE,     /* nothing that makes stories made it: it was written by hand */
    REMAKE_OTHER,    /* what made it comes to other marks, or to none */
};

/* Stock and bits are looked up through `shop`, which is connected; a bit that was not named is the
 * story's own, whatever is fitted now, and the travel is what the story needs. *made borrows from
 * here and from the story. After REMAKE_OTHER shop->trouble may tell why. */
REGLET_MUST_CHECK enum remake remake_story(const struct story_file *story, struct plan_shop *shop,
                                           struct plan_made *made);

#endif
