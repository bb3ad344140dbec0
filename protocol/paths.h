/* SPDX-License-Identifier: MIT */
/*
 * Where the daemon listens and the clients look. The practice lift has a folder of its own, never
 * the real lift's.
 */
#ifndef REGLET_PROTOCOL_PATHS_H
#define REGLET_PROTOCOL_PATHS_H

#include <stdbool.h>
#include <stddef.h>

#include "protocol/attributes.h"

enum { PATHS_SIZE = 100 }; /* what a socket's name may take, less than sun_path */

/* $REGLET_PRACTICE, or reglet-practice in $XDG_RUNTIME_DIR, or /tmp/reglet-practice-UID. False
 * when it would be too long. */
REGLET_MUST_CHECK bool paths_practice(char *folder, size_t size);

/* $REGLET_SOCKET names the socket of a real lift's daemon, for the daemon and its clients alike. */
bool paths_socket_named(void);

/* The socket of a daemon: in the practice folder, or $REGLET_SOCKET, or /run/reglet/reglet.sock.
 * The daemon itself looks into its configuration for the last of these. */
REGLET_MUST_CHECK bool paths_socket(bool practice, char *path, size_t size);

/* A folder of one's own: made when it is not there (0700); refused when it belongs to somebody
 * else or others may write into it. The sentence goes into `why`. */
REGLET_MUST_CHECK bool paths_make_private(const char *folder, char *why, size_t why_size);

#endif
