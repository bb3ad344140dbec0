/* SPDX-License-Identifier: MIT */
/* The bare echo beside the daemon of a rig, and connections to either that do not wait in turn. */
#ifndef REGLET_TESTS_BENCH_PEERS_H
#define REGLET_TESTS_BENCH_PEERS_H

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>

#include "tests/bench/measure.h"

enum { PEERS_MOST = 64, PEER_LINE = 65536, PATH_SIZE = 512 };

/* One connection; what of a line has come so far. */
struct peer {
    int fd;
    size_t size;
    char text[PEER_LINE];
};

/* Ends with us; its socket is PATH. */
static inline pid_t echo_start(const char *path)
{
    char program[PATH_SIZE];
    ssize_t length = readlink("/proc/self/exe", program, sizeof program - 32);
    ck_assert_int_gt(length, 0);
    program[length] = '\0';
    strcpy(strrchr(program, '/') + 1, "reglet-bench-echo");
    unlink(path);
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        prctl(PR_SET_PDEATHSIG, SIGKILL);
        execl(program, program, path, (char *)NULL);
        _exit(127);
    }
    return child;
}

static inline void echo_end(pid_t echo)
{
    ck_assert_int_eq(kill(echo, SIGKILL), 0);
    ck_assert_int_eq(waitpid(echo, NULL, 0), echo);
}

static inline int peer_try(const char *path)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    ck_assert_int_ge(fd, 0);
    ck_assert_uint_lt(strlen(path), sizeof address.sun_path);
    strcpy(address.sun_path, path);
    if (connect(fd, (struct sockaddr *)&address, sizeof address) != 0) {
        close(fd);
        return -1;
    }
    return fd;
}

static inline void peer_open(struct peer *peer, const char *path)
{
    peer->size = 0;
    peer->fd = -1;
    for (int turn = 0; turn < 20000 && peer->fd < 0; turn++) {
        peer->fd = peer_try(path);
        if (peer->fd < 0) {
            usleep(500);
        }
    }
    ck_assert_msg(peer->fd >= 0, "nothing listens at %s", path);
}

/* For what is measured: Check's own assertions write a line to a file each time they hold. */
static inline void peer_require(bool held, const char *what)
{
    if (!held) {
        ck_abort_msg("%s", what);
    }
}

static inline void peer_say(const struct peer *peer, const char *line)
{
    size_t size = strlen(line);
    peer_require(write(peer->fd, line, size) == (ssize_t)size, "a line was not taken whole");
}

/* Reads what has come; how many whole lines that is. `each` is called for each, without its
 * newline. */
static inline int peer_take(struct peer *peer, void (*each)(void *owner, const char *line),
                            void *owner)
{
    int lines = 0;
    ssize_t got = read(peer->fd, peer->text + peer->size, sizeof peer->text - peer->size);
    peer_require(got > 0, "the other side hung up");
    peer->size += (size_t)got;
    char *from = peer->text;
    char *newline;
    while ((newline = memchr(from, '\n', peer->size)) != NULL) {
        *newline = '\0';
        if (each) {
            each(owner, from);
        }
        peer->size -= (size_t)(newline + 1 - from);
        from = newline + 1;
        lines++;
    }
    memmove(peer->text, from, peer->size);
    return lines;
}

static inline void peer_await_line(struct peer *peer)
{
    while (peer_take(peer, NULL, NULL) == 0) {
    }
}

#endif
