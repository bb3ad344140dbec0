/* SPDX-License-Identifier: MIT */
/* Who is at the other end of a connection, as the kernel has it (unix(7), socket(7)). */
#include <errno.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <unistd.h>

#include "daemon/serve/session.h"

#ifndef SO_PEERGROUPS
#define SO_PEERGROUPS 59 /* Linux 4.13 */
#endif

/* The groups that he has besides his own. */
static bool is_member(int fd, gid_t wanted)
{
    socklen_t size = 0;
    bool member = false;
    if (getsockopt(fd, SOL_SOCKET, SO_PEERGROUPS, NULL, &size) == 0 || errno != ERANGE) {
        return false; /* none, or a kernel that cannot tell */
    }
    gid_t *group = malloc(size);
    if (group && getsockopt(fd, SOL_SOCKET, SO_PEERGROUPS, group, &size) == 0) {
        for (size_t i = 0; i < size / sizeof *group; i++) {
            member = member || group[i] == wanted;
        }
    }
    free(group);
    return member;
}

bool peer_may_command(int fd, uid_t *uid)
{
    struct ucred peer;
    socklen_t size = sizeof peer;
    if (getsockopt(fd, SOL_SOCKET, SO_PEERCRED, &peer, &size) != 0) {
        *uid = (uid_t)-1;
        return false;
    }
    *uid = peer.uid;
    return peer.uid == 0 || peer.uid == geteuid() || peer.gid == getegid() ||
           is_member(fd, getegid());
}
