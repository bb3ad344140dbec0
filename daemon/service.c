/* SPDX-License-Identifier: MIT */
#include "daemon/service.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { FIRST_PASSED_FD = 3 }; /* SD_LISTEN_FDS_START of sd_listen_fds(3) */

/* A whole number from 0 on in plain digits; else -1. */
static int read_number(const char *text)
{
    char *end = NULL;
    if (!text || text[0] < '0' || text[0] > '9') {
        return -1;
    }
    errno = 0;
    long number = strtol(text, &end, 10);
    return errno == 0 && *end == '\0' && number <= INT_MAX - FIRST_PASSED_FD ? (int)number : -1;
}

static int option_of(int fd, int option)
{
    int value = -1;
    socklen_t size = sizeof value;
    return getsockopt(fd, SOL_SOCKET, option, &value, &size) == 0 ? value : -1;
}

static bool take_passed(struct service *service, int count, char *why, size_t why_size)
{
    int fd = FIRST_PASSED_FD;
    if (count != 1) {
        snprintf(why, why_size,
                 "the service manager passed %d sockets, and the daemon serves one. Let the socket "
                 "unit name one ListenStream, and start the daemon again",
                 count);
        return false;
    }
    if (option_of(fd, SO_DOMAIN) != AF_UNIX || option_of(fd, SO_TYPE) != SOCK_STREAM ||
        option_of(fd, SO_ACCEPTCONN) != 1) {
        snprintf(why, why_size,
                 "what the service manager passed is not a Unix stream socket that listens, so "
                 "nobody could be served. Let the socket unit name a path as ListenStream, with "
                 "Accept=no, and start the daemon again");
        return false;
    }
    if (fcntl(fd, F_SETFD, FD_CLOEXEC) != 0) {
        snprintf(why, why_size,
                 "the socket that the service manager passed cannot be kept from "
                 "other programs: %s",
                 strerror(errno));
        return false;
    }
    service->listener_fd = fd;
    return true;
}

static bool read_passed(struct service *service, bool practice, char *why, size_t why_size)
{
    const char *count_text = getenv("LISTEN_FDS");
    if (!count_text || read_number(getenv("LISTEN_PID")) != getpid()) {
        return true; /* nothing, or it was meant for another process */
    }
    int count = read_number(count_text);
    if (count < 0) {
        snprintf(why, why_size,
                 "LISTEN_FDS is '%.20s', which is no number of sockets. The service manager sets "
                 "it; a daemon started by hand needs none",
                 count_text);
        return false;
    }
    if (practice) {
        for (int i = 0; i < count && close(FIRST_PASSED_FD + i) == 0; i++) {
        }
        return true;
    }
    return count == 0 || take_passed(service, count, why, why_size);
}

/* A path, or '@' and a name that is in no folder (unix(7), abstract). */
static void read_notify(struct service *service)
{
    const char *name = getenv("NOTIFY_SOCKET");
    if (!name || name[0] == '\0') {
        return;
    }
    size_t size = strlen(name);
    if ((name[0] != '/' && name[0] != '@') || size >= sizeof service->notify.sun_path) {
        fprintf(stderr,
                "regletd: NOTIFY_SOCKET is '%.20s', which is neither a path nor an abstract name "
                "of at most %zu bytes. The service manager is not told anything\n",
                name, sizeof service->notify.sun_path - 1);
        return;
    }
    service->notify.sun_family = AF_UNIX;
    memcpy(service->notify.sun_path, name, size);
    if (name[0] == '@') {
        service->notify.sun_path[0] = '\0';
    }
    service->notify_size = (socklen_t)(offsetof(struct sockaddr_un, sun_path) + size);
}

bool service_open(struct service *service, bool practice, char *why, size_t why_size)
{
    static const char *const names[] = {"NOTIFY_SOCKET", "LISTEN_PID", "LISTEN_FDS",
                                        "LISTEN_FDNAMES"};
    *service = (struct service){.listener_fd = -1};
    read_notify(service);
    bool sound = read_passed(service, practice, why, why_size);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        unsetenv(names[i]);
    }
    return sound;
}

/* Never waits: a manager that does not read must not hold up a lift that brakes. */
static void tell(const struct service *service, const char *words)
{
    if (service->notify_size == 0) {
        return;
    }
    int fd = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    size_t size = strlen(words);
    if (fd < 0 ||
        sendto(fd, words, size, MSG_DONTWAIT | MSG_NOSIGNAL,
               (const struct sockaddr *)&service->notify, service->notify_size) != (ssize_t)size) {
        fprintf(stderr,
                "regletd: the service manager could not be told %s: %s. The lift is served all "
                "the same, unless the manager ends the daemon for it\n",
                words, strerror(errno));
    }
    if (fd >= 0) {
        close(fd);
    }
}

void service_ready(const struct service *service)
{
    tell(service, "READY=1");
}

void service_stopping(const struct service *service)
{
    tell(service, "STOPPING=1");
}
