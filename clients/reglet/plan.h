/* SPDX-License-Identifier: MIT */
/* What becomes of a plan, whatever made it: it is shown, drawn, kept, loaded. */
#ifndef REGLET_CLIENTS_PLAN_H
#define REGLET_CLIENTS_PLAN_H

#include <argp.h>

#include "clients/bench/joint.h"
#include "clients/reglet/plan_shop.h"
#include "clients/story/story_file.h"

/* --keep, --load, --replace: for the words that make plans; to be followed by their own. */
#define PLAN_OPTIONS                                                                               \
    {"keep", RUN_KEEP, "NAME", 0, "Keep it as a story of that name", 0},                           \
        {"draw", RUN_DRAW, "FILE", 0, "Draw it to scale on one page, as SVG; '-' is stdout", 0},   \
        {"load", RUN_LOAD, 0, 0, "And begin that story: 'next' then goes to its first mark", 0},   \
    {                                                                                              \
        "replace", RUN_REPLACE, 0, 0, "Take the place of a story or file of that name", 0          \
    }

/* A plan and what it is called. */
struct plan_made {
    const struct joint_plan *plan;
    const char *title;
    const char *bit;    /* names, or "" */
    const char *second; /* of JOINT_SECOND_BIT */
    const char *made_by;
    const struct joint_job *job; /* what is drawn; NULL: passes of a bit so wide */
    int64_t width_nm;
};

/* Why it cannot be cut. CLIENT_REFUSED. */
enum client_exit plan_refused(const struct joint_plan *plan);

/* Shows the plan; keeps and loads it where the options say so, connecting when that was not done.
 */
REGLET_MUST_CHECK enum client_exit plan_use(struct run *run, struct plan_shop *shop,
                                            const struct plan_made *made);

/* Draws it into run->draw. */
REGLET_MUST_CHECK enum client_exit plan_draw(const struct run *run, const struct plan_made *made);

/* The words of the run as one line, behind that of its command; cut off at the room there is. */
void plan_made_by(const struct run *run, char *text, size_t size);

#endif
