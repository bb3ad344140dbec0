/* SPDX-License-Identifier: MIT */
/* The shop's lists as a joint asks for them: stock and bits by name, the fitted bit, and how far
 * the lift reaches with it. Over the connection that there is. */
#ifndef REGLET_CLIENTS_SHOP_H
#define REGLET_CLIENTS_SHOP_H

#include "clients/bench/joint_job.h"
#include "clients/reglet/run.h"

/* What was seen. Begins as {.run = run}. */
struct shop {
    struct run *run;
    bool connected;
    bool reach_known; /* of the fitted bit */
    int64_t lowest_nm;
    int64_t highest_nm;
    char fitted[JOINT_NAME_SIZE]; /* "": it has no name */
    enum client_exit trouble;     /* why nothing could be asked, and was told; else CLIENT_DONE */
};

/* Connects, and looks at what is fitted. */
REGLET_MUST_CHECK enum client_exit shop_open(struct shop *shop);

/* Looks names up in `shop`; without a connection it refuses them. */
struct joint_shelf shop_shelf(struct shop *shop);

/* The travel for a plan of that bit: the lift's where it is the fitted one (an empty name is),
 * else all there is, since nobody knows how far that one will stand out of the collet. */
struct joint_shop shop_travel(const struct shop *shop, const char *bit, bool second,
                              enum length_style style);

#endif
