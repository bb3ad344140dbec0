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
#include "daemon/shop/shop.h"
#include "protocol/attributes.h"

struct server;

/* Listens at `path` (mode 0600). The caller holds the lock of the folder, so that a socket which
 * lies there is a dead one's and is taken away. NULL, and a sentence in `why`, when it cannot. */
REGLET_MUST_CHECK struct server *server_open(uv_loop_t *loop, struct lift *lift, struct shop *shop,
                                             const char *path, bool practice, char *why,
                                             size_t why_size);

/* Closes all connections; motions that they asked for are braked. */
void server_close(struct server *server);
void server_free(struct server *server);

#endif
