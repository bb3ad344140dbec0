/* SPDX-License-Identifier: MIT */
/*
 * The Unix socket: who is connected, lines in, answers out. What a request means is dispatch's.
 */
#ifndef REGLET_DAEMON_SERVE_SERVER_H
#define REGLET_DAEMON_SERVE_SERVER_H

#include <stdbool.h>
#include <stddef.h>
#include <uv.h>

#include "daemon/lift/lift.h"
#include "daemon/machine/calibration.h"
#include "daemon/machine/surface.h"
#include "daemon/shop/shop.h"
#include "daemon/story/stories.h"
#include "protocol/attributes.h"

struct server;

struct server_config {
    uv_loop_t *loop;
    struct clock *clock;
    struct lift *lift;
    struct shop *shop;
    struct calibration *calibration;
    struct stories *stories;
    struct surface *surface;
    struct keeper *keeper;
    const char *path;
    int listener_fd; /* a socket that listens already, from the service manager; -1: none */
    bool practice;   /* mode 0600; else 0666, and the kernel says who is there */
};

/* Listens at the path. The caller holds the lock of the state folder, so that a socket which lies
 * there is a dead one's and is taken away. NULL, and a sentence in `why`, when it cannot. */
REGLET_MUST_CHECK struct server *server_open(const struct server_config *config, char *why,
                                             size_t why_size);

/* Closes all connections; motions that they asked for are braked. */
void server_close(struct server *server);
void server_free(struct server *server);

#endif
