/* SPDX-License-Identifier: MIT */
/* The shop's lists as a joint asks for them: stock and bits by name, the fitted bit, and how far
 * the lift reaches with it. Over the connection that there is. */
#ifndef REGLET_CLIENTS_PLAN_SHOP_H
#define REGLET_CLIENTS_PLAN_SHOP_H

#include "clients/bench/joint_job.h"
#include "clients/reglet/run.h"

/* What was seen. Begins as {.run = run}. */
struct plan_shop {
    struct run *run;
    bool connected;
    bool reach_known; /* of the fitted bit */
    int64_t lowest_nm;
    int64_t highest_nm;
    char fitted[JOINT_NAME_SIZE]; /* "": it has no name */
    enum client_exit trouble;     /* why nothing could be asked, and was told; else CLIENT_DONE */
};

/* Connects, and looks at what is fitted. */
REGLET_MUST_CHECK enum client_exit plan_shop_open(struct plan_shop *shop);

/* Looks names up in `shop`; without a connection it refuses them. */
struct joint_shelf plan_shop_shelf(struct plan_shop *shop);

/* The travel for a plan of that bit: the lift's where it is the fitted one (an empty name is),
 * else all there is, since nobody knows how far that one will stand out of the collet. */
struct joint_shop plan_shop_travel(const struct plan_shop *shop, const char *bit, bool second,
                                   enum length_style style);

#endif
