/* SPDX-License-Identifier: MIT */
/* Loaded into the daemon (LD_PRELOAD): kills it just before or just after the disk write that
 * $REGLET_CRASH_AT counts. Writes are counted by the calls that make them durable. */
#include <dlfcn.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdlib.h>
#include <unistd.h>

int fdatasync(int fd);
int fsync(int fd);

static int sync_or_die(const char *name, int fd)
{
    static atomic_int calls;
    const char *at = getenv("REGLET_CRASH_AT");
    const char *after = getenv("REGLET_CRASH_AFTER");
    bool now = at && atomic_fetch_add(&calls, 1) + 1 == atoi(at);
    union {
        void *found;
        int (*call)(int);
    } real = {.found = dlsym(RTLD_NEXT, name)};
    if (now && !(after && *after == '1')) {
        raise(SIGKILL);
    }
    int result = real.call(fd);
    if (now) {
        raise(SIGKILL);
    }
    return result;
}

int fdatasync(int fd)
{
    return sync_or_die("fdatasync", fd);
}

int fsync(int fd)
{
    return sync_or_die("fsync", fd);
}
