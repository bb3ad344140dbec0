/* SPDX-License-Identifier: MIT */
/*
 * What a service manager gives a daemon, and what it wants to be told. Spoken without its library:
 * both protocols are documented as stable, in sd_listen_fds(3) (a socket that listens already, as
 * descriptor 3, with LISTEN_PID and LISTEN_FDS in the environment) and in sd_notify(3) (datagrams
 * to the socket named by NOTIFY_SOCKET). Started by hand, none of this does anything.
 */
#ifndef REGLET_DAEMON_SERVICE_H
#define REGLET_DAEMON_SERVICE_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/socket.h>
#include <sys/un.h>

#include "protocol/attributes.h"

struct service {
    int listener_fd; /* the passed socket, which listens; -1: none. Whoever serves it closes it */
    struct sockaddr_un notify;
    socklen_t notify_size; /* 0: nobody wants to be told */
};

/* Takes what the environment holds, and takes it out of there, so that no child takes it for its
 * own. False, and a sentence in `why`, when something other than one listening Unix stream socket
 * was passed. The practice lift has a socket of its own, always: what is passed is closed. To be
 * called before any other descriptor is opened or thread started. */
REGLET_MUST_CHECK bool service_open(struct service *service, bool practice, char *why,
                                    size_t why_size);

/* It listens; it is about to end. That the manager cannot be told goes to standard error: the lift
 * is none the worse for it. */
void service_ready(const struct service *service);
void service_stopping(const struct service *service);

#endif
